"""Every standard size that the examples use, measured in a STEP file by the plain reader against the standard's table.

Which sizes are used is read from the designations of bought parts; which made part shows a size, from the parts' data. What is
measured comes from the file that Open CASCADE wrote, what it should be from the tables here, typed again. Sources: ISO 273 fine
and medium series, ISO 4032 (nuts), ISO 4762 (heads), ISO 7089 (washers) and ISO 15 (bearings), remembered.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest
from step_text import StepText

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.make.assembling import assembled
from lobewright.make.bodies import Feature, Loop, Part, Slab
from lobewright.make.formats import write_step
from lobewright.make.solids import solid

pytestmark = pytest.mark.cad

EXAMPLES = Path(__file__).parents[2] / "examples"
EXAMPLE_NAMES = ("azimuth_belt", "elevation_printed", "focus_steel")
ISO_273 = {"M3": (3.2, 3.4), "M4": (4.3, 4.5), "M5": (5.3, 5.5), "M6": (6.4, 6.6), "M8": (8.4, 9.0)}
"""Fine and medium, mm."""
ISO_4032 = {"M3": (5.5, 2.4), "M4": (7.0, 3.2), "M5": (8.0, 4.7), "M6": (10.0, 5.2), "M8": (13.0, 6.8)}
"""Across flats and height at most, mm."""
ISO_4762 = {"M3": (5.5, 3.0), "M4": (7.0, 4.0), "M5": (8.5, 5.0), "M6": (10.0, 6.0), "M8": (13.0, 8.0)}
"""Head's diameter and height, mm."""
ISO_7089 = {"M3": (3.2, 7.0, 0.5), "M4": (4.3, 9.0, 0.8), "M5": (5.3, 10.0, 1.0), "M8": (8.4, 16.0, 1.6)}
"""Inside, outside, thickness, mm."""
ISO_15 = {
    "MR105": (5.0, 10.0, 4.0),
    "625": (5.0, 16.0, 5.0),
    "607": (7.0, 19.0, 6.0),
    "608": (8.0, 22.0, 7.0),
    "6001": (12.0, 28.0, 8.0),
    "61804": (20.0, 32.0, 7.0),
    "61806": (30.0, 42.0, 7.0),
    "61808": (40.0, 52.0, 7.0),
}
"""Bore, outside, width, mm; small ones by their usual designation."""
SUNK_DEEP = {"M6"}
"""Nuts of the output flange lie deep in its back, so that short screws reach them: only their pockets' width is measured."""
POCKET_PLAY_MM = 0.3
"""Play of a nut in a pocket, across and in depth, at most: far less than what lets it turn or stand out."""


@cache
def parts() -> tuple[Part, ...]:
    """All parts of the three examples."""
    rows = [assembled(assess(read(EXAMPLES / f"{name}.toml"))) for name in EXAMPLE_NAMES]
    return tuple(one.part for row in rows for one in row)


def used(pattern: str) -> dict[str, Part]:
    """Bought parts by the size in their designation."""
    found = {}
    for part in parts():
        hit = re.fullmatch(pattern, part.designation)
        if hit:
            found.setdefault(hit.group(1), part)
    return found


def loops(part: Part, feature: Feature) -> Iterator[Loop]:
    slabs = [one for one in (*part.body.pieces, *part.body.pockets) if isinstance(one, Slab)]
    return (one for slab in slabs for one in (slab.outer, *slab.holes) if one.feature is feature)


def across(loop: Loop) -> float:
    """Diameter of a circle; of other outlines 0."""
    return math.dist(*loop.contour.points_mm[:2]) if loop.contour.is_circle else 0.0


def flats_of(loop: Loop) -> float:
    """Across flats of a hexagon; of other outlines 0."""
    points = loop.contour.points_mm
    return math.dist(points[0], points[3]) * math.cos(math.pi / 6) if len(points) == 6 else 0.0


def lightest(feature: Feature, measure: Callable[[Loop], float], low: float, high: float) -> Part | None:
    """The made part with the fewest corners that has such a feature of a size between two."""
    fits = [
        part
        for part in parts()
        if not part.designation and any(low <= measure(one) <= high for one in loops(part, feature))
    ]
    return min(fits, key=lambda part: sum(len(loop.contour.points_mm) for loop in part.body.loops), default=None)


@pytest.fixture(scope="module")
def file_of(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Part], StepText]:
    folder, known = tmp_path_factory.mktemp("standard"), dict[int, StepText]()

    def write(part: Part) -> StepText:
        name = id(part)
        if name not in known:
            path = folder / f"{len(known)}.step"
            write_step(path, solid(part.body, part.name), part.name, "1980-01-01T00:00:00")
            known[name] = StepText(path)
        return known[name]

    return write


def high(step: StepText, name: str) -> list[float]:
    return sorted({round(z, 6) for z, _ in step.levels(name)})


def hexagons(step: StepText, name: str, low: float, most: float) -> list[float]:
    """Widths between opposite upright planes, in mm: negative where they look at each other, as in a pocket."""
    planes = step.upright_planes(name)
    widths = [
        one + other
        for k, (nx, ny, one) in enumerate(planes)
        for mx, my, other in planes[k + 1 :]
        if nx * mx + ny * my < -1 + 1e-9
    ]
    return [width for width in widths if low <= abs(width) <= most]


def test_screws_nuts_and_washers_have_their_sizes(file_of: Callable[[Part], StepText]) -> None:
    screws, nuts, washers = used(r"ISO 4762 (M\d+)×.*"), used(r"ISO 4032 (M\d+)"), used(r"ISO 7089 (\d+)")
    assert set(screws) >= {"M3", "M4"} and set(nuts) >= {"M3", "M4", "M5", "M8"} and set(washers) >= {"5", "8"}
    for size, part in screws.items():
        step = file_of(part)
        diameter, height = ISO_4762[size]
        assert {one for one, _, _ in step.cylinders(part.name)} == {diameter, float(size[1:])}
        assert high(step, part.name)[1] == height
    for size, part in nuts.items():
        flats, height = ISO_4032[size]
        step = file_of(part)
        assert hexagons(step, part.name, 1.0, 50.0) == pytest.approx([flats] * 3, abs=1e-5)
        levels = high(step, part.name)
        assert levels[-1] - levels[0] == pytest.approx(height)
    for size, part in washers.items():
        inside, outside, thick = ISO_7089[f"M{size}"]
        step = file_of(part)
        assert {one for one, _, _ in step.cylinders(part.name)} == {inside, outside}
        assert high(step, part.name) == pytest.approx([0.0, thick])


def test_bearings_and_their_seats(file_of: Callable[[Part], StepText]) -> None:
    bearings = used(rf"({'|'.join(ISO_15)})")
    assert set(bearings) >= {"625", "608", "61806"}
    seats = 0
    for name, part in bearings.items():
        bore, outer, width = ISO_15[name]
        step = file_of(part)
        assert {one for one, _, _ in step.cylinders(part.name)} == {bore, outer}
        assert high(step, part.name) == pytest.approx([0.0, width])
        holder = lightest(Feature.SEAT, across, outer - 0.01, outer + 0.01)
        if holder:
            seats += 1
            seat = file_of(holder)
            assert outer in {one for one, _, _ in seat.cylinders(holder.name)}, holder.name
            levels = high(seat, holder.name)
            assert levels[-1] - levels[0] >= width
    assert seats >= 2


@pytest.mark.parametrize("size", ["M3", "M4", "M5", "M6", "M8"])
def test_a_hole_of_every_used_bolt_is_iso_273(file_of: Callable[[Part], StepText], size: str) -> None:
    fine, medium = ISO_273[size]
    holder = lightest(Feature.BOLT_HOLE, across, fine - 0.05, medium + 0.05)
    assert holder is not None
    found = {one for one, _, _ in file_of(holder).cylinders(holder.name)}
    assert found & {fine, medium}, (holder.name, found)


def test_every_nut_pocket_takes_its_nut_and_holds_it(file_of: Callable[[Part], StepText]) -> None:
    """Across flats and depth of pockets for nuts: they drop in, cannot turn, and do not stand out."""
    seen = set()
    for size, (flats, height) in ISO_4032.items():
        holder = lightest(Feature.NUT, flats_of, flats, flats + 0.9)
        if holder is None:
            continue
        seen.add(size)
        step = file_of(holder)
        widths = [width for width in hexagons(step, holder.name, flats, flats + 0.9) if width < 0.0]
        assert len(widths) >= 3 and all(-flats - POCKET_PLAY_MM < width < -flats for width in widths), (size, widths)
        levels = high(step, holder.name)
        depths = [b - a for k, a in enumerate(levels) for b in levels[k + 1 :]]
        flush = any(0.0 <= depth - height <= POCKET_PLAY_MM for depth in depths)
        assert flush or size in SUNK_DEEP, (size, holder.name, levels)
    assert seen >= {"M3", "M8"}
