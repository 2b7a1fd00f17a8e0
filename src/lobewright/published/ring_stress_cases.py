"""Evidence for the stress of toothed rims: whole rings solved by a general finite element code, and fillets of single teeth.

The rings and their loads are in ``rim_reference.json``. Section moments and tensions of the round ring under the same loads
come from statics here (force method on a thin ring), not from the package, so a row judges the tooth cell's answers, the mean
over the pitch, and the way a tooth's own force is counted.

No published stress of a toothed flexible ring came with its whole geometry, deflection and load, so none is a row here: what is
in print is a trend only (docs/theory/cup_stress.md).
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

from lobewright.published.case import Case, Room
from lobewright.published.model import Model
from lobewright.ring.cell_solve import Plane
from lobewright.sources import Flag
from lobewright.torque.results import RowLoad

Array = np.ndarray
NODES_A_TOOTH = 8
POINTS = 16
"""Points a pitch over which the even push is spread."""
HEIGHT_MM, HALF_ROOT_MM, ROUND_MM, RACK_PITCH_MM, RACK_WALL_MM = 1.8, 0.8, 0.45, 8.0, 6.0
"""Single teeth: straight flanks that meet the land 1.6 mm apart, root rounding, apart on a thick wall."""
FILLETS = {14.5: (0.22, 0.20, 0.40), 20.0: (0.18, 0.15, 0.45)}
"""Fillet factor K = a + (t/r)^b (t/h)^c by the angle between a tooth's normal force and the line across it."""


@cache
def rim_reference() -> dict[str, Any]:
    """The kept finite element results as plain data."""
    return json.loads(resources.files("lobewright.published").joinpath("rim_reference.json").read_text("utf-8"))


def ring_statics(
    radius_mm: float, bending_over_stretch_mm2: float, at_rad: Array, force_n: Array, couple_nmm: Array, nodes: int
) -> tuple[Array, Array]:
    """Moment (tension outside positive) and tension of a thin round ring at ``nodes`` even places, from loads in balance.

    Loads at angles (L,): ``force_n`` (L, 2) tangential (anticlockwise) and outward, ``couple_nmm`` (L,), all on the line of
    radius R; ``bending_over_stretch_mm2``: EI over EA. The ring is cut at angle 0 and closed again with the least energy of
    bending and stretch (force method, derived). A place where a load acts has the mean of both its sides.
    """
    parts = 6
    theta = (np.arange(nodes * parts) + 0.5) * (2.0 * math.pi / (nodes * parts))
    start = -1e-9
    at = np.mod(at_rad - start, 2.0 * math.pi) + start

    def section(angle: Array) -> tuple[Array, Array]:
        """Moment and tension by the loads alone, then by a unit of moment, tension, shear at the cut: (K, 4) each."""
        moment, tension = np.zeros((len(angle), 4)), np.zeros((len(angle), 4))
        radial = np.column_stack((np.cos(angle), np.sin(angle)))
        along = np.column_stack((-np.sin(angle), np.cos(angle)))
        where = radius_mm * radial
        out = np.column_stack((np.cos(at), np.sin(at)))
        side = np.column_stack((-np.sin(at), np.cos(at)))
        push = force_n[:, :1] * side + force_n[:, 1:] * out
        passed = np.where(at[None] < angle[:, None] - 1e-9, 1.0, np.where(at[None] < angle[:, None] + 1e-9, 0.5, 0.0))
        # what the part from the cut to here needs from beyond: minus its loads
        need = -passed @ push
        arm = radius_mm * out[None] - where[:, None]
        turn = -(passed * (arm[..., 0] * push[:, 1] - arm[..., 1] * push[:, 0] + couple_nmm)).sum(axis=1)
        tension[:, 0], moment[:, 0] = (need * along).sum(axis=1), turn
        # beyond the cut acts on its start: unit moment, then unit forces along and across there, reversed on the part
        moment[:, 1] = 1.0
        for k, unit in ((2, np.array([0.0, 1.0])), (3, np.array([1.0, 0.0]))):
            tension[:, k] = along @ unit
            lever = np.array([radius_mm, 0.0]) - where
            moment[:, k] = lever[:, 0] * unit[1] - lever[:, 1] * unit[0]
        return moment, tension

    moment, tension = section(theta)
    rows = np.vstack((moment, tension * math.sqrt(bending_over_stretch_mm2)))
    redundant = np.linalg.lstsq(rows[:, 1:], -rows[:, 0], rcond=None)[0]
    moment, tension = section(np.arange(nodes) * (2.0 * math.pi / nodes))
    share = np.concatenate(([1.0], redundant))
    return moment @ share, tension @ share


def _loads(ring: dict[str, Any], name: str) -> tuple[Array, Array, Array, Array, Array]:
    """Angles, forces and couples of a load of the reference on the ring's line; forces and moments about the axis by tooth."""
    given, load = ring["inputs"], ring[name]
    teeth, radius = given["teeth"], given["radius_mm"]
    force, torque = np.zeros((teeth, 2)), np.zeros(teeth)
    if name == "pushed":
        pitch = 2.0 * math.pi / teeth
        spread = ((np.arange(POINTS) + 0.5) / POINTS - 0.5) * pitch
        at = np.concatenate((spread, math.pi + spread))
        push = np.column_stack((np.zeros(len(at)), np.full(len(at), load["force_n_per_mm"] / POINTS)))
        return at, push, np.zeros(len(at)), force, torque
    every = np.arange(teeth) * (2.0 * math.pi / teeth)
    some = slice(None, None, teeth // load["loaded"])
    (along, out), (x, y) = load["force_n_per_mm"], load["arm_mm"]
    hold, (_, hold_y) = load["hold_n_per_mm"], load["hold_mm"]
    at = np.concatenate((every[some], every))
    push = np.vstack((np.tile((along, out), (load["loaded"], 1)), np.tile((hold, 0.0), (teeth, 1))))
    couple = np.concatenate((np.full(load["loaded"], y * along - x * out), np.full(teeth, hold_y * hold)))
    force[some] = along, out
    torque[some] = (radius + y) * along - x * out
    return at, push, couple, force, torque


def row_load(ring: dict[str, Any], name: str, wall_mm: float) -> RowLoad:
    """The round ring of the reference as the loaded ring would tell it, per unit width; it stretches hardly, as its wall does."""
    teeth, radius = ring["inputs"]["teeth"], ring["inputs"]["radius_mm"]
    at, push, couple, force, torque = _loads(ring, name)
    nodes = NODES_A_TOOTH * teeth
    moment, normal = ring_statics(radius, wall_mm**2 / 12.0, at, push, couple, nodes)
    angle = np.arange(nodes) * (2.0 * math.pi / nodes)
    label = np.degrees(np.mod(angle + math.pi, 2.0 * math.pi) - math.pi)
    none = np.zeros(teeth)
    return RowLoad(
        name=name,
        label_deg=label[::NODES_A_TOOTH],
        force_n=np.hypot(*force.T),
        tangential_n=force[:, 0],
        outward_n=force[:, 1],
        torque_nmm=torque,
        pressure_mpa=none,
        place=("",) * teeth,
        lean_mm=none,
        section_label_deg=label,
        moment_nmm=moment,
        normal_n=normal,
        inner_stress_mpa=np.zeros(nodes),
        outer_stress_mpa=np.zeros(nodes),
        positions_mm=radius * np.column_stack((np.cos(angle), np.sin(angle))),
    )


def hollows(model: Model, ring_name: str, load: str) -> tuple[Array, Array]:
    """Stress in left hollow, right hollow and inside of the reference's teeth, (teeth, 3): here, and there."""
    reference = rim_reference()
    ring = reference["rings"][ring_name]
    given, kept = ring["inputs"], ring[load]["teeth"]
    points = np.array(given["outline_mm"])
    land = float(points[:, 1].min())
    middle = land + 0.6 * float(np.ptp(points[:, 1]))
    cell = model.cell_of_outline(points, given["teeth"], given["inner_mm"], middle, reference["poisson"], Plane.STRESS)
    loads = model.pitch_loads(row_load(ring, load, land - given["inner_mm"]), cell)
    order = np.argsort(np.mod(np.round(loads.label_deg, 6), 360.0))
    outer, inner = model.surface_answers(cell, points)
    root, inside = (model.hoop_stress_mpa(one, loads, 1.0, 1.0)[0][order] for one in (outer, inner))
    x = outer.points_mm[:, 0]
    rows = []
    for key in kept:
        here = root[int(key)]
        sides = [here[side * x > 0.0] for side in (-1.0, 1.0)]
        rows.append([*(float(one[np.abs(one).argmax()]) for one in sides), float(inside[int(key), 0])])
    return np.array(rows), np.array(list(kept.values()))


def _farthest(ring: str, load: str) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        mine, theirs = hollows(model, ring, load)
        return float(np.abs(mine - theirs).max() / np.abs(theirs).max())

    return compute


# --- single teeth ----------------------------------------------------------------------------------------------------


def rack_tooth_mm(angle_rad: float) -> tuple[Array, float]:
    """One pitch (N, 2) with a straight-sided tooth whose flanks lean by an angle, and where the centre of its rounding is."""
    centre = HALF_ROOT_MM + ROUND_MM * (1.0 / math.cos(angle_rad) - math.tan(angle_rad))
    turn = np.linspace(angle_rad - math.pi, -0.5 * math.pi, 24)
    arc = np.column_stack((centre + ROUND_MM * np.cos(turn), ROUND_MM * (1.0 + np.sin(turn))))
    tip = [(HALF_ROOT_MM - HEIGHT_MM * math.tan(angle_rad), HEIGHT_MM)]
    right = np.vstack((tip, arc, [(0.5 * RACK_PITCH_MM, 0.0)]))
    return np.vstack((right[::-1] * (-1.0, 1.0), right)), centre


def weakest_section(angle_rad: float, centre_mm: float, apex_mm: float) -> tuple[float, float]:
    """Thickness t and distance h from the apex of the load of the section where a beam's tension is largest."""
    y = np.linspace(0.0, 0.7 * apex_mm, 4000)
    round_part = centre_mm - np.sqrt(np.maximum(ROUND_MM**2 - (ROUND_MM - y) ** 2, 0.0))
    inside = y < ROUND_MM * (1.0 - math.sin(angle_rad))
    thick = 2.0 * np.where(inside, round_part, HALF_ROOT_MM - y * math.tan(angle_rad))
    worst = int(_beam_tension(angle_rad, thick, apex_mm - y).argmax())
    return float(thick[worst]), float(apex_mm - y[worst])


def _beam_tension(angle_rad: float, thick: Array | float, arm: Array | float) -> Array:
    """Tension in a tooth as a beam under a normal force of one, its pressure taken off."""
    return np.asarray(6.0 * math.cos(angle_rad) * arm / thick**2 - math.sin(angle_rad) / thick)


def _fillet(angle_deg: float) -> Callable[[Model], float]:
    """Largest tension in the loaded fillet over a beam's, as a share of the published factor."""
    angle = math.radians(angle_deg)

    def compute(model: Model) -> float:
        points, centre = rack_tooth_mm(angle)
        level = 0.75 * HEIGHT_MM
        cell = model.cell_of_outline(points, 40, -RACK_WALL_MM, level, 0.3, Plane.STRESS)
        answer = model.surface_answers(cell, points)[0]
        flank = answer.right
        x, y = flank.arm_mm[-1]
        thick, arm = weakest_section(angle, centre, y - x * math.tan(angle))
        stress = flank.per_force[-1] @ (-math.cos(angle), -math.sin(angle))
        a, b, c = FILLETS[angle_deg]
        factor = a + (thick / ROUND_MM) ** b * (thick / arm) ** c
        loaded = answer.points_mm[:, 0] > 0.0
        return float(stress[loaded].max() / _beam_tension(angle, thick, arm) / factor)

    return compute


# --- rows ------------------------------------------------------------------------------------------------------------

RINGS = {"coarse": "ring of 40 teeth of 2 mm module", "fine": "ring of 100 teeth of 0.8 mm module"}
LOADS = {
    "pushed": (
        "pushed outward under two teeth",
        0.05,
        "as for surface stresses elsewhere; the reference is within 2 % of its refinement",
    ),
    "turned": (
        "pressed on one flank of ten teeth",
        0.12,
        "a pitch cut from its neighbours knows a loaded tooth's surroundings only by their sections: 5 to 10 %; set after the "
        "first comparison",
    ),
}

CASES = (
    *(
        Case(
            f"rim.{ring}_{load}",
            Room.STRENGTH,
            f"{words}, {how}: stress of root hollows and inside, largest difference over the largest",
            "",
            "fe_solved_here",
            Flag.DERIVED,
            0.0,
            allowed,
            reason,
            _farthest(ring, load),
        )
        for ring, words in RINGS.items()
        for load, (how, allowed, reason) in LOADS.items()
    ),
    *(
        Case(
            f"rim.fillet_{angle:g}",
            Room.STRENGTH,
            f"single tooth, {angle:g}° force at three quarters of its height: tension in the loaded fillet over the formula's",
            "",
            "dolan_broghamer_1942",
            Flag.REMEMBERED,
            1.0,
            0.08,
            "a formula through photoelastic readings; sharper fillets lie up to 20 % above it",
            _fillet(angle),
        )
        for angle in FILLETS
    ),
)
