"""Evidence for the stress of toothed rims: whole rings with rounded tooth roots, solved by a general finite element code.

The rings and their loads are in ``rim_reference.json``. Section moments and tensions of the round ring under the same loads
come from statics here (force method on a thin ring), not from the package, so a row judges the tooth cell's answers, the mean
over the pitch, and the way a tooth's own force is counted.
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


@cache
def rim_reference() -> dict[str, Any]:
    """The kept finite element results as plain data."""
    return json.loads(resources.files("lobewright.published").joinpath("rim_reference.json").read_text("utf-8"))


def ring_statics(
    radius_mm: float, stiffness: tuple[float, float], at_rad: Array, force_n: Array, couple_nmm: Array, nodes: int
) -> tuple[Array, Array]:
    """Moment (tension outside positive) and tension of a thin round ring at ``nodes`` even places, from loads in balance.

    Loads at angles (L,): ``force_n`` (L, 2) tangential (anticlockwise) and outward, ``couple_nmm`` (L,), all on the line of
    radius R; ``stiffness``: EI and EA. The ring is cut at angle 0 and closed again with the least energy of bending and
    stretch (force method, derived). A place where a load acts has the mean of both its sides.
    """
    parts = 48
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
    bending, area = stiffness
    rows = np.vstack((moment / math.sqrt(bending), tension / math.sqrt(area)))
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
    hold, (hold_x, hold_y) = load["hold_n_per_mm"], load["hold_mm"]
    at = np.concatenate((every[some], every))
    push = np.vstack((np.tile((along, out), (load["loaded"], 1)), np.tile((hold, 0.0), (teeth, 1))))
    couple = np.concatenate((np.full(load["loaded"], y * along - x * out), np.full(teeth, hold_y * hold)))
    force[some] = along, out
    torque[some] = (radius + y) * along - x * out
    return at, push, couple, force, torque


def row_load(ring: dict[str, Any], name: str, stiffness: tuple[float, float]) -> RowLoad:
    """The round ring of the reference as the loaded ring would tell it, per unit width."""
    teeth, radius = ring["inputs"]["teeth"], ring["inputs"]["radius_mm"]
    at, push, couple, force, torque = _loads(ring, name)
    nodes = NODES_A_TOOTH * teeth
    moment, normal = ring_statics(radius, stiffness, at, push, couple, nodes)
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
    cell = model.cell_of_outline(
        points, given["teeth"], given["inner_mm"], middle, reference["poisson"], Plane.STRESS
    )
    modulus = reference["modulus_mpa"]
    stiffness = (cell.bending_stiffness_nmm2(modulus, 1.0), cell.axial_stiffness_n(modulus, 1.0))
    loads = model.pitch_loads(row_load(ring, load, stiffness), cell)
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
