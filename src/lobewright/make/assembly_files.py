"""The whole drive in one file: STEP with part names and colours, and glTF for a browser.

Every part is one solid that is placed as often as it stands. The flexible ring is shown as it is set, bent by the generator, as
``flexible_ring_as_set``: levels with straight sides whose chords lie up to 0.01 mm off the bent outline; a cup's rim is
one step, its barrel four. It is there to be looked at. The ring to make is the round one among the nominal parts.
"""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from lobewright.assessment.results import Assessment
from lobewright.make.bodies import Body, Group, Slab, exact
from lobewright.make.collisions import FLEXIBLE_NAMES
from lobewright.make.flexible_as_set import INNER_POINTS, BentRing, flexible_levels
from lobewright.make.formats import plain, step_text
from lobewright.make.glb import Shown, write_glb
from lobewright.make.levels import Level
from lobewright.make.outlines import Contour, polygon
from lobewright.make.placing import Place, Placed
from lobewright.make.render import COLOURS
from lobewright.make.solids import kernel, mesh, solid

AS_SET = "flexible_ring_as_set"
USE = "NEXT_ASSEMBLY_USAGE_OCCURRENCE"
PRODUCT_OR_SOLID = re.compile(
    r"PRODUCT\('([^']*)'|ADVANCED_BREP_SHAPE_REPRESENTATION\(\s*'',\s*\(#\d+,\s*#(\d+)\),\s*#(\d+)\)"
)
"""A product stands before its solid in the kernel's files; of the solid its number and that of its units."""
THINNED_MM = 0.01
"""How far the chords of the bent ring's outline may lie off it: a picture of it, not a part to make."""
ARC_POINTS = 8
"""Points of a smooth curve from one end of an arc to the next."""
RIM_STEPS, BARREL_STEPS = 1, 4
GLB_CHORD_MM = 0.02


@dataclass(frozen=True)
class Standing:
    """One solid of the CAD library with its name, colour and places."""

    name: str
    solid: Any
    places: tuple[Place, ...]
    colour: str


def _contour(ring: shapely.LinearRing) -> Contour:
    """Arcs for the smooth curves of the ring, thinned chords for its teeth."""
    points = shapely.get_coordinates(ring)[:-1]
    if len(points) != INNER_POINTS:
        return polygon(shapely.get_coordinates(shapely.simplify(ring, THINNED_MM))[:-1])
    start, middle, end = (
        points[::ARC_POINTS],
        points[ARC_POINTS // 2 :: ARC_POINTS],
        np.roll(points[::ARC_POINTS], -1, axis=0),
    )
    chord, rise = end - start, middle - start
    cross = chord[:, 0] * rise[:, 1] - chord[:, 1] * rise[:, 0]
    return Contour(start, -2 * cross / (chord**2).sum(axis=1))


def _slabs(level: Level) -> list[Slab]:
    return [
        Slab(
            exact(_contour(part.exterior)),
            tuple(exact(_contour(hole)) for hole in part.interiors),
            level.bottom_mm,
            level.top_mm,
        )
        for part in shapely.get_parts(level.area)
    ]


def as_set_bodies(a: Assessment, ring: Placed) -> tuple[tuple[Body, Place], ...]:
    """The bent ring, the generator at angle 0, in pieces where they stand: its levels, and a cup's closed end as made."""
    bent, (place,) = BentRing(a, RIM_STEPS, BARREL_STEPS), ring.places
    slabs = [slab for one in flexible_levels(bent, place, 0.0) for slab in _slabs(one.level)]
    end = bent.closed_end(ring.part.body)
    return (*((Body((slab,)), Place()) for slab in slabs), *(((end, place),) if end else ()))


def standing(a: Assessment, placed: Sequence[Placed], solids: Mapping[str, Any] | None = None) -> tuple[Standing, ...]:
    """Solids in their places. ``solids``: by part name, made before; others are made here.

    Raises PlatformFault without the CAD library, ConvergenceFault where the kernel makes no valid solid.
    """
    known = dict(solids or {})
    found: list[Standing] = []
    at: dict[str, int] = {}
    for one in placed:
        name, colour = one.part.name, COLOURS[one.part.group]
        if name in FLEXIBLE_NAMES:
            pieces = as_set_bodies(a, one)
            for k, (body, place) in enumerate(pieces):
                label = f"{AS_SET}_{k + 1}" if len(pieces) > 1 else AS_SET
                found.append(Standing(label, solid(body, label), (place,), COLOURS[Group.FLEXIBLE_RING]))
            continue
        if name not in known:
            known[name] = solid(one.part.body, name)
        if name in at:  # the same part goes in in several steps
            found[at[name]] = replace(found[at[name]], places=found[at[name]].places + one.places)
            continue
        at[name] = len(found)
        found.append(Standing(name, known[name], one.places, colour))
    return tuple(found)


def _location(place: Place) -> Any:
    cad = kernel()
    along = (math.cos(place.turn_rad), math.sin(place.turn_rad), 0.0)
    axis = (0.0, 0.0, -1.0 if place.over else 1.0)
    return cad.Location(cad.Plane((place.x_mm, place.y_mm, place.z_mm), along, axis))


def write_assembly_step(path: Path, name: str, stands: Sequence[Standing], stamp: str) -> None:
    """Write an assembly as STEP (AP214), mm: a product for each part, placed as often as it stands, with its colour.

    ``stamp`` stands as the date of the file; the same input gives the same bytes. Raises OSError where it cannot be written.
    """
    cad = kernel()
    leaves = []
    for one in stands:
        for place in one.places:
            leaf = copy.copy(one.solid)
            leaf.label = one.name
            leaves.append(leaf.moved(_location(place)))
    whole = cad.Compound(label=plain(name), children=leaves)
    text = step_text(whole, name, "strain wave drive, assembly", stamp)
    text = _coloured(_numbered(text), {one.name: one.colour for one in stands})
    path.write_text(text, "ascii", newline="\n")


def _numbered(text: str) -> str:
    """Places numbered from 1: the kernel goes on counting from the file that it wrote before, and wraps lines by it."""
    counted = iter(range(1, text.count(USE) + 1))

    def again(found: re.Match[str]) -> str:
        rest = re.sub(r"\n *", "", found.group(2))
        return f"{USE}('{next(counted)}'{rest};"

    return re.sub(USE + r"\(\s*'(\d+)'([^;]*);", again, text)


def _coloured(text: str, colours: Mapping[str, str]) -> str:
    """A colour laid on the solid of every product.

    The kernel can do that too, but in an order that follows addresses in memory, so that no two files were equal.
    """
    number = max(int(found) for found in re.findall(r"^#(\d+) =", text, re.MULTILINE))
    name, rows = "", []
    for found in re.finditer(PRODUCT_OR_SOLID, text):
        if found.group(1):
            name = found.group(1)
            continue
        share = ",".join(f"{channel / 255:.9f}" for channel in bytes.fromhex(colours[name][1:]))
        steps = (
            f"COLOUR_RGB('',{share})",
            "FILL_AREA_STYLE_COLOUR('',#{0})",
            "FILL_AREA_STYLE('',(#{0}))",
            "SURFACE_STYLE_FILL_AREA(#{0})",
            "SURFACE_SIDE_STYLE('',(#{0}))",
            "SURFACE_STYLE_USAGE(.BOTH.,#{0})",
            "PRESENTATION_STYLE_ASSIGNMENT((#{0}))",
            f"STYLED_ITEM('color',(#{{0}}),#{found.group(2)})",
            f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',(#{{0}}),#{found.group(3)})",
        )
        for step in steps:
            rows.append(f"#{number + 1} = {step.format(number)};\n")
            number += 1
    end = text.rindex("ENDSEC;")
    return text[:end] + "".join(rows) + text[end:]


def write_assembly_glb(path: Path, name: str, stands: Sequence[Standing]) -> None:
    """Write an assembly as binary glTF. Raises ConvergenceFault where a solid cannot be meshed, OSError on writing."""
    shown = [Shown(one.name, mesh(one.solid, one.name, GLB_CHORD_MM), one.places, one.colour) for one in stands]
    about = {"unit": "metre", "flexible_ring": "bent as set; the ring to make is round"}
    write_glb(path, shown, plain(name), about)
