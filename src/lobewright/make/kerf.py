"""Paths for a laser: outlines moved by half the width it burns, and parts nested on one sheet.

The beam's middle runs along the path and burns half its width to both sides. So an outside outline is grown and an inside
one shrunk by half that width, and the piece comes out at its size. Elementary; the width itself is measured (see the
workshop file's ``[laser]``).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.make.outlines import Contour, polygon

CUT_OUTSIDE, CUT_INSIDE, ENGRAVE = "CUT_OUTSIDE", "CUT_INSIDE", "ENGRAVE"
USUAL_KERF_MM, USUAL_SHEET_MM = 0.15, 3.0
"""Where the workshop file has no ``[laser]`` (assumed)."""
GAP_MM = 4.0
"""Between parts on a sheet."""
CHORD_MM, SIMPLER_MM = 0.002, 0.002


def laser_of(design: m.Design) -> tuple[float, float, bool]:
    """Kerf and sheet thickness in mm, and whether they are the owner's; else usual ones."""
    laser = design.owned.laser if design.owned else None
    if laser:
        return laser.kerf_mm, laser.sheet_mm, True
    return USUAL_KERF_MM, USUAL_SHEET_MM, False


def cut_path(contour: Contour, kerf_mm: float, inside: bool) -> Contour:
    """The path of the beam's middle for an outline whose waste lies inside (a hole) or outside.

    Raises DesignFault where a hole is narrower than the kerf.
    """
    shift = -kerf_mm / 2 if inside else kerf_mm / 2
    if contour.is_circle:
        middle = contour.points_mm.mean(axis=0)
        ray = contour.points_mm - middle
        radius = float(np.hypot(*ray[0]))
        if radius + shift <= 0:
            raise _too_narrow(2 * radius, kerf_mm)
        return Contour(middle + ray * (1 + shift / radius), contour.bulges)
    moved = contour.polygon(CHORD_MM).buffer(shift, join_style="mitre", mitre_limit=3.0)
    if not isinstance(moved, shapely.Polygon) or moved.is_empty:
        raise _too_narrow(2 * contour.polygon(CHORD_MM).area / contour.polygon(CHORD_MM).length, kerf_mm)
    points = np.array(shapely.simplify(moved, SIMPLER_MM).exterior.coords)[:-1]
    return polygon(points).anticlockwise()


def _too_narrow(width_mm: float, kerf_mm: float) -> DesignFault:
    what = "an outline is narrower than the laser burns"
    return DesignFault(
        [Fault(what, "laser.kerf_mm", value=f"about {width_mm:.2f} mm", allowed=f"more than {kerf_mm:g} mm")]
    )


@dataclass(frozen=True)
class Cut:
    """One piece of sheet: its layers and paths, kerf already in them."""

    name: str
    paths: tuple[tuple[str, Contour], ...]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1 in mm of all paths."""
        points = np.vstack([contour.sampled(0.01) for _, contour in self.paths])
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def moved(self, x_mm: float, y_mm: float) -> Cut:
        shift = (x_mm, y_mm)
        return Cut(self.name, tuple((layer, Contour(c.points_mm + shift, c.bulges)) for layer, c in self.paths))


def nested(cuts: tuple[Cut, ...], width_mm: float) -> tuple[Cut, ...]:
    """Pieces laid in rows from the corner (0, 0), the deepest first, none nearer to another than 4 mm.

    A piece longer than the width has a row of its own.
    """
    sizes = {id(cut): cut.bounds for cut in cuts}
    x, y, row, placed = GAP_MM, GAP_MM, 0.0, []
    for cut in sorted(cuts, key=lambda one: -(sizes[id(one)][3] - sizes[id(one)][1])):
        x0, y0, x1, y1 = sizes[id(cut)]
        if x > GAP_MM and x + x1 - x0 + GAP_MM > width_mm:
            x, y, row = GAP_MM, y + row + GAP_MM, 0.0
        placed.append(cut.moved(x - x0, y - y0))
        x, row = x + x1 - x0 + GAP_MM, max(row, y1 - y0)
    return tuple(placed)
