"""Geometry of a cup as a shell: diaphragm, corner, barrel, toothed rim as an equivalent band."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.ring.geometry import ring_geometry
from lobewright.ring.shell_mesh import PLAIN, BandFactors, Corner, Line, Segment

DIAPHRAGM, CORNER, BARREL, RIM = "diaphragm", "corner", "barrel", "rim"


@dataclass(frozen=True)
class CupGeometry:
    """A cup with a flush inside, held at its boss. Lengths in mm.

    ``rim_radius_mm`` is the middle of the rim's plain wall, ``length_mm`` runs from the open edge to the outer face of
    the diaphragm, ``corner_radius_mm`` is that of the inside. ``teeth`` are the stiffness factors of the rim as an
    equivalent band over its plain wall. Raises DesignFault where the parts do not leave room for each other.
    """

    rim_radius_mm: float
    length_mm: float
    barrel_wall_mm: float
    rim_wall_mm: float
    rim_width_mm: float
    diaphragm_mm: float
    corner_radius_mm: float
    boss_radius_mm: float
    teeth: BandFactors = PLAIN

    def __post_init__(self) -> None:
        faults = [
            Fault("this length of a cup must be positive", name, 0, f"{value:g} mm", "above 0 mm")
            for name, value in vars(self).items()
            if name.endswith("_mm") and name != "corner_radius_mm" and not value > 0.0
        ]
        if self.corner_radius_mm < 0.0:
            found = f"{self.corner_radius_mm:g} mm"
            faults.append(Fault("the corner's radius is negative", "corner_radius_mm", 0, found, "0 mm or more"))
        if faults:
            raise DesignFault(faults)
        least = self.rim_width_mm + self.diaphragm_mm + self.corner_radius_mm
        if not self.length_mm > least:
            found, allowed = f"{self.length_mm:g} mm", f"more than {least:g} mm (rim + diaphragm + corner)"
            faults.append(Fault("the cup is too short for its parts", "length_mm", 0, found, allowed))
        most = self.inner_radius_mm - self.corner_radius_mm
        if not self.boss_radius_mm < most:
            found, allowed = f"{self.boss_radius_mm:g} mm", f"less than {most:.6g} mm (inside less the corner)"
            faults.append(Fault("the boss leaves no diaphragm", "boss_radius_mm", 0, found, allowed))
        if faults:
            raise DesignFault(faults)

    @property
    def inner_radius_mm(self) -> float:
        return self.rim_radius_mm - 0.5 * self.rim_wall_mm

    @property
    def barrel_radius_mm(self) -> float:
        """Middle of the barrel's wall."""
        return self.inner_radius_mm + 0.5 * self.barrel_wall_mm

    def height_mm(self, from_edge_mm: float) -> float:
        """Height above the outer face of the diaphragm of a place counted from the open edge."""
        return self.length_mm - from_edge_mm


def cup_geometry(design: m.Design, teeth: BandFactors = PLAIN) -> CupGeometry:
    """The shell of a design with a printed or metal cup; `teeth` stiffen its rim. Raises DesignFault for other rings."""
    cup = design.flexible_ring
    if not isinstance(cup, m.Cup):
        allowed = "printed_cup or metal_cup"
        raise DesignFault([Fault("this flexible ring is no cup", "flexible_ring.kind", 0, cup.kind, allowed)])
    return CupGeometry(
        rim_radius_mm=ring_geometry(design).neutral_radius_mm,
        length_mm=cup.length_mm,
        barrel_wall_mm=cup.barrel_wall_mm,
        rim_wall_mm=cup.wall_mm,
        rim_width_mm=cup.width_mm,
        diaphragm_mm=cup.diaphragm_mm,
        corner_radius_mm=cup.corner_radius_mm,
        boss_radius_mm=0.5 * cup.boss_diameter_mm,
        teeth=teeth,
    )


def check_in_rim(cup: CupGeometry, low_mm: float, high_mm: float) -> None:
    """Raise DesignFault unless the band between two places from the open edge lies on the rim."""
    slack = 1e-9 * cup.rim_width_mm
    if not -slack <= low_mm <= high_mm <= cup.rim_width_mm + slack:
        found = f"{low_mm:g} mm" if low_mm == high_mm else f"{low_mm:g} to {high_mm:g} mm"
        allowed = f"0 to {cup.rim_width_mm:g} mm from the open edge"
        raise DesignFault([Fault("the load does not act on the rim", "place_from_edge_mm", 0, found, allowed)])


def cup_segments(
    cup: CupGeometry, marks_from_edge_mm: tuple[float, ...] = (), finest_mm: float = math.inf
) -> tuple[Segment, ...]:
    """The meridian from the boss to the open edge, with element ends at marks on the rim.

    `finest_mm` bounds the elements beside the marks.
    """
    corner = cup.inner_radius_mm - cup.corner_radius_mm
    floor, end = cup.diaphragm_mm, cup.length_mm
    turn = floor + cup.corner_radius_mm
    flat = Line(DIAPHRAGM, (cup.boss_radius_mm, 0.5 * floor), (corner, 0.5 * floor), floor)
    bend = Corner(CORNER, (corner, turn), cup.corner_radius_mm, floor, cup.barrel_wall_mm)
    step = end - cup.rim_width_mm
    barrel = Line(BARREL, (cup.barrel_radius_mm, turn), (cup.barrel_radius_mm, step), cup.barrel_wall_mm)
    rims = [Line(RIM, (cup.rim_radius_mm, step), (cup.rim_radius_mm, end), cup.rim_wall_mm, cup.teeth, finest_mm)]
    slack = 1e-9 * cup.rim_width_mm
    for mark in sorted(marks_from_edge_mm, reverse=True):
        last = rims[-1]
        beyond = cup.height_mm(mark) - last.start_mm[1]
        if slack < beyond < last.length_mm - slack:
            rims[-1:] = last.cut(beyond / last.length_mm)
    return (flat, bend, barrel, *rims)
