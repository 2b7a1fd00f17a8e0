"""Evidence for the ring, its elements and its cup under load: handbooks, printed tables and numbers derived here.

Rings: forces of fixed direction, contact that lifts off, large deflection. Cups: tubes, plates and cylinders, held and
loaded at their ends as the handbooks have them. Units of rings are those in which R and EI are 1.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache, partial

import numpy as np

from lobewright.published.case import CaseMaker, Room
from lobewright.published.measures import open_chain
from lobewright.published.model import Model
from lobewright.ring.beam import CircleBody, RingSection
from lobewright.ring.beam_state import RingState
from lobewright.ring.shell import CupMaterial
from lobewright.ring.shell_mesh import Line
from lobewright.ring.shell_model import AXIAL, RADIAL, TANGENTIAL, TURN, TWIST
from lobewright.ring.shell_piece import End
from lobewright.sources import Flag

Array = np.ndarray
UNIT = RingSection(1.0, 1.0, 1e7)
STRAIGHT = 1e-6
"""Arc of a chain of ring elements that stands for a straight beam."""
STEEL = CupMaterial(206e3, 0.3)
Ends = dict[tuple[End, int], float]
CLAMPED = {(End.START, kind): 0.0 for kind in range(5)}


# --- rings -----------------------------------------------------------------------------------------------------------


def _equal_loads(model: Model, loads: int, read: Callable[[Array, Array], float]) -> float:
    """``read(moved, moment)`` of a ring under equal outward forces of ± 1e-4, what is even in them taken off."""
    angle = 2.0 * math.pi * np.arange(loads) / loads
    found = []
    for force in (1e-4, -1e-4):
        push = force * np.column_stack((np.cos(angle), np.sin(angle)))
        line = model.solve_ring_loads(UNIT, angle, push, 120 * loads).line
        out = (line.positions_mm * np.column_stack((np.cos(line.label_rad), np.sin(line.label_rad)))).sum(axis=1) - 1.0
        found.append(np.stack((out, line.moment_nmm)) / force)
    return float(read(*(0.5 * (found[0] + found[1]))))


def _pinched(model: Model) -> float:
    """Displacement of a loaded point, mm: radius 100 mm, section 10 × 5 mm, E 200 GPa, two forces of 10 N."""
    return _equal_loads(model, 2, lambda moved, _: moved[0]) * 10.0 * 100.0**3 / (200e3 * 10 * 5**3 / 12)


OFFSET, PUSHED = 0.1, 0.05


def _two_discs(model: Model, read: Callable[[RingState], float]) -> float:
    """Two discs of 0.9 R whose lobes stand 1.05 R out; the touch shrinks from both sides until the ring leaves them free."""
    bodies = [CircleBody(side * (OFFSET + PUSHED), 0.0, 1.0 - OFFSET) for side in (1.0, -1.0)]
    return float(read(model.solve_ring(UNIT, bodies, 480)))


def _rolled(model: Model, place: int) -> float:
    """Displacement along the beam at a tenth of its length times ``place``, over the length, of a beam rolled to a circle."""
    q = open_chain(model.element_force_tangent, 10, STRAIGHT, (2.0 * math.pi - STRAIGHT) / STRAIGHT, (0.0, 0.0), 1e4)
    return float(q[place, 1]) / STRAIGHT


@cache
def _bent(element: object) -> Array:
    """A straight cantilever under a dead force of 10 EI/L² square to it at its end: its end's (x, y, turn), over L."""
    end = open_chain(element, 16, STRAIGHT, 0.0, (-10.0 / STRAIGHT**2, 0.0), 1e7)[-1]
    return end / (STRAIGHT, STRAIGHT, 1.0)


def _bent_end(model: Model, read: tuple[int, float]) -> float:
    """A number of that end by its place, times a factor."""
    place, factor = read
    return factor * float(_bent(model.element_force_tangent)[place])


# --- tubes, plates, cylinders ----------------------------------------------------------------------------------------


def _edge(model: Model, load: int, read: int) -> float:
    """Edge of a long thin tube, R 25 mm, wall 0.005 mm, under 1 N/mm or 1 N·mm/mm."""
    tube = Line("tube", (25.0, 0.0), (25.0, 3.5), 0.005)
    return float(model.solve_piece([tube], STEEL, 0, CLAMPED, {(End.FINISH, load): 1.0}).moved_mm[1, read])


def _twisted_tube(model: Model) -> float:
    """Outer fibre in the middle of a tube R 25 mm, wall 0.5 mm, length 30 mm under 50 N·m."""
    shear = {(End.FINISH, TANGENTIAL): 50e3 / (2.0 * math.pi * 25.0**2)}
    found = model.solve_piece([Line("tube", (25.0, 0.0), (25.0, 30.0), 0.5)], STEEL, 0, CLAMPED, shear)
    return float(found.stress_mpa[len(found.arc_mm) // 2, 1, 2])


def _guided(model: Model) -> float:
    """Annulus 40/16 mm, wall 0.02 mm, outer edge clamped, rigid boss pushed: w D/(P a²)."""
    held = {(End.FINISH, kind): 0.0 for kind in range(5)}
    held |= {(End.START, kind): 0.0 for kind in (RADIAL, TANGENTIAL, TURN, TWIST)}
    push = {(End.START, AXIAL): 1.0 / (2.0 * math.pi * 16.0)}
    found = model.solve_piece([Line("plate", (16.0, 0.0), (40.0, 0.0), 0.02)], STEEL, 0, held, push)
    stiffness = STEEL.modulus_mpa * 0.02**3 / (12.0 * (1.0 - STEEL.poisson**2))
    return float(found.moved_mm[0, AXIAL]) * stiffness / 40.0**2


def _warped(model: Model) -> float:
    """Edge load of an annulus 40/20 mm, wall 0.02 mm, whose outer edge is warped by cos 2φ, in D/a³."""
    plate = Line("plate", (20.0, 0.0), (40.0, 0.0), 0.02)
    found = model.solve_piece([plate], STEEL, 2, CLAMPED | {(End.FINISH, AXIAL): 1.0}, {}, 2.0)
    stiffness = STEEL.modulus_mpa * 0.02**3 / (12.0 * (1.0 - STEEL.poisson**2))
    return float(found.reaction_n_per_mm[1, AXIAL]) * 40.0**3 / stiffness


def _two_lobed(model: Model, order: int, load: Ends, held: Ends) -> Array:
    """Motion of the free edge of a thin cylinder (R 25, L 40, wall 0.02 mm, ν 0) on an end that only keeps its circle."""
    start = {(End.START, RADIAL): 0.0, (End.START, TANGENTIAL): 0.0}
    tube = Line("tube", (25.0, 0.0), (25.0, 40.0), 0.02)
    return model.solve_piece([tube], CupMaterial(206e3, 0.0), order, start | held, load).moved_mm[1]


EDGE = {(End.FINISH, RADIAL): 1.0}
"""As a load 1 N/mm outward, as a motion 1 mm."""


# --- rows ------------------------------------------------------------------------------------------------------------


_loaded, _cup = CaseMaker("load", Room.LOADED), CaseMaker("load", Room.CUP)

PINCHED = ("timoshenko_young_1968", Flag.READ_SECOND)
ROLLED = ("simo_vu_quoc_1986", Flag.READ_SECOND)
TABLE = ("mattiasson_1981", Flag.READ_SECOND)
SHELLS = ("timoshenko_woinowsky_1959", Flag.REMEMBERED)
TRADE = ("memory", Flag.REMEMBERED)
OURS = ("derived_here", Flag.DERIVED)
LAST_DIGIT = "half of the last printed digit"
BEAM = "cantilever under 10 EI/L² square to it"

CASES = (
    _loaded(
        "pinched_deflection",
        "ring of radius 100 mm, section 10 × 5 mm, E 200 GPa, two opposite dead forces of 10 N: displacement of a loaded point",
        "mm",
        PINCHED,
        (3.57e-2, 5e-5),
        LAST_DIGIT,
        _pinched,
    ),
    _loaded(
        "three_loads_deflection",
        "three equal dead radial forces W: displacement at a force in WR³/EI",
        "",
        OURS,
        (0.015939, 2e-6),
        "six printed digits of the closed form; stretch is 1e-7 of it",
        lambda model: _equal_loads(model, 3, lambda moved, _: moved[0]),
    ),
    _loaded(
        "three_loads_moment",
        "three equal dead radial forces W: moment midway in WR",
        "",
        OURS,
        (-0.099885, 1e-5),
        "six printed digits of the closed form, and the elements' second order",
        lambda model: _equal_loads(model, 3, lambda _, moment: moment[60]),
    ),
    _loaded(
        "two_discs_force",
        "ring on two discs of 0.9 R, lobes at 1.05 R (it lifts off 44° from the lobe): force of a disc in EI/R²",
        "",
        OURS,
        (2.433213, 3e-3),
        "the end of the touch is known to a node, the force to second order of that",
        lambda model: _two_discs(model, lambda state: state.body_force_n[0, 0]),
    ),
    _loaded(
        "two_discs_minor",
        "the same ring: how far it is drawn in on the minor axis, in R",
        "",
        OURS,
        (0.0616242, 1e-5),
        "as above",
        lambda model: _two_discs(model, lambda state: 1.0 - state.line.positions_mm[120, 1]),
    ),
    *(
        _loaded(
            f"rolled_{key}",
            f"straight beam rolled to a full circle by an end moment: displacement along it {words}, in L",
            "",
            ROLLED,
            (expected, 1e-5),
            f"{LAST_DIGIT}, and Newton's iteration",
            partial(_rolled, place=place),
        )
        for key, words, place, expected in (
            ("four_tenths", "at 0.4 L", 4, -0.30645),
            ("six_tenths", "at 0.6 L", 6, -0.69355),
            ("end", "at its end", 10, -1.0),
        )
    ),
    *(
        _loaded(
            f"elastica_{key}",
            f"{BEAM}: {words}",
            unit,
            TABLE,
            (expected, 2e-5),
            "five printed digits; 16 elements are 5e-6 off",
            partial(_bent_end, read=read),
        )
        for key, words, unit, expected, read in (
            ("deflection", "deflection of its end, in L", "", 0.81061, (0, -1.0)),
            ("shortening", "its end moves toward the clamp by, in L", "", 0.55500, (1, -1.0)),
            ("turn", "turn of its end", "rad", 1.43029, (2, 1.0)),
        )
    ),
    _cup(
        "edge_shear",
        "long tube R 25 mm, wall 0.005 mm, E 206 GPa, edge shear 1 N/mm: deflection of the edge",
        "mm",
        SHELLS,
        (4.412233, 4e-3),
        "thin-shell form, off by about h/R; the mesh less",
        lambda model: _edge(model, RADIAL, RADIAL),
    ),
    _cup(
        "edge_moment",
        "the same tube, edge moment 1 N·mm/mm: turn of the edge",
        "rad",
        SHELLS,
        (116.64329, 0.1),
        "thin-shell form, off by about h/R; the mesh less",
        lambda model: _edge(model, TURN, TURN),
    ),
    _cup(
        "tube_torsion",
        "tube R 25 mm, wall 0.5 mm under 50 N·m: shear stress of the outer fibre",
        "MPa",
        TRADE,
        (25.717, 1e-3),
        "five digits of the exact form",
        _twisted_tube,
    ),
    _cup(
        "guided_annulus",
        "annular plate 40/16 mm, outer edge clamped, rigid boss pushed along the axis: w D/(P a²)",
        "",
        OURS,
        (0.003985108, 1e-7),
        "closed form; shear adds (h/a)² of it",
        _guided,
    ),
    _cup(
        "warped_annulus",
        "annular plate 40/20 mm, inner edge clamped, outer edge warped by cos 2φ: edge load in D/a³",
        "",
        OURS,
        (25.0211, 0.03),
        "thin-plate form, off by about h/a",
        _warped,
    ),
    _cup(
        "inextensional_force",
        "thin cylinder R 25, L 40, wall 0.02 mm on an end that keeps only its circle: line load at the free edge for two lobes",
        "10⁻⁶ N/mm²",
        OURS,
        (66.9088, 0.2),
        "inextensional form, off by about √(Rh)/L of a third",
        lambda model: 1e6 / float(_two_lobed(model, 2, EDGE, {})[RADIAL]),
    ),
    _cup(
        "inextensional_axial",
        "the same cylinder: axial displacement of the edge over its radial one, −R/(4L)",
        "",
        OURS,
        (-0.15625, 3e-4),
        "as above",
        lambda model: float(_two_lobed(model, 2, {}, EDGE)[AXIAL]),
    ),
    _cup(
        "inextensional_three_lobes",
        "the same cylinder with three lobes: tangential displacement of the edge over its radial one, −1/3",
        "",
        OURS,
        (-1.0 / 3.0, 7e-4),
        "as above",
        lambda model: float(_two_lobed(model, 3, {}, EDGE)[TANGENTIAL]),
    ),
)
