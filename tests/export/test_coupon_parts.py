"""Coupons are closed, nominal, flat on the bed and quick."""

from itertools import pairwise
from pathlib import Path

import pytest
import shapely

from lobewright.design.files import read_workshop
from lobewright.make.bodies import Part, Slab
from lobewright.make.calibration import STEPS_MM
from lobewright.make.coupon_parts import MOST_MINUTES, coupons
from lobewright.make.coupon_sheet import rows
from lobewright.make.print_set import Allowance, printed, slab_area
from lobewright.make.trial import BEAD_SPEED_MM_S

PRINTER = read_workshop(Path(__file__).parents[2] / "examples" / "workshop.toml").printer
assert PRINTER is not None
PARTS = {part.name: part for part in coupons(PRINTER)}


@pytest.mark.parametrize("part", PARTS.values(), ids=lambda part: part.name)
def test_a_coupon_is_watertight_and_of_its_nominal_volume(part: Part) -> None:
    mesh = printed(part, Allowance(layer_mm=PRINTER.layer_mm))
    assert mesh.open_edges == 0
    assert mesh.volume_mm3 == pytest.approx(part.body.volume_mm3, rel=2e-3)
    assert "nothing compensated" in part.note


def test_the_set_takes_less_than_the_promised_time() -> None:
    rate = PRINTER.extrusion_width_mm * PRINTER.layer_mm * BEAD_SPEED_MM_S * 60
    assert sum(part.body.volume_mm3 for part in PARTS.values()) / rate < MOST_MINUTES


@pytest.mark.parametrize("axis", ["x", "y"])
def test_the_sheet_names_the_lengths_that_the_comb_has(axis: str) -> None:
    top = max((p for p in PARTS[f"lengths_{axis}"].body.pieces if isinstance(p, Slab)), key=lambda slab: slab.top_mm)
    area = slab_area(top)
    line = shapely.LineString([(0, 9), (99, 9)] if axis == "x" else [(-9, 0), (-9, 99)])
    posts = sorted(piece.bounds[0 if axis == "x" else 1 :: 2] for piece in area.intersection(line).geoms)
    outside = [end - posts[0][0] for _, end in posts]
    inside = [b[0] - a[1] for a, b in pairwise(posts)]
    named = [(feature, float(n)) for _, feature, n, _ in rows(0.42) if n]
    assert [n for feature, n in named if feature == f"outside_{axis}"] == pytest.approx(outside)
    assert [n for feature, n in named if feature == f"inside_{axis}"] == pytest.approx(inside)


def test_a_tooth_fits_its_space_with_the_clearance_of_the_step() -> None:
    space = slab_area(next(p for p in PARTS["tooth_spaces"].body.pieces if isinstance(p, Slab)))
    tooth = slab_area(next(p for p in PARTS["tooth"].body.pieces if isinstance(p, Slab)))
    for k, clearance in enumerate(STEPS_MM):
        turned = shapely.affinity.rotate(tooth, 180, origin=(0, 0))
        here = shapely.affinity.translate(turned, (k + 0.5) * 6.0, 2.0 + 1e-9)
        aside = shapely.affinity.translate(here, clearance / 2 + 0.02)
        assert here.intersection(space).area < 1e-4
        assert aside.intersection(space).area > 1e-3
