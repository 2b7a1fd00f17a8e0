"""Rings for the tests of rim stress: section loads and tooth forces given, not solved."""

from __future__ import annotations

import math

import numpy as np

from lobewright.torque.results import Health, LoadShare, RowLoad

Array = np.ndarray


def row_load(
    teeth: int,
    radius_mm: float,
    moment_nmm: Array,
    normal_n: Array,
    force_n: Array | None = None,
    arm_mm: Array | None = None,
) -> RowLoad:
    """A round row with sections by node (N,) and forces by tooth (T, 2), tangential and outward, that act at (x, height)."""
    force = np.zeros((teeth, 2)) if force_n is None else force_n
    arm = np.zeros((teeth, 2)) if arm_mm is None else arm_mm
    nodes = len(moment_nmm)
    angle = np.arange(nodes) * (2.0 * math.pi / nodes)
    label = np.degrees(np.mod(angle + math.pi, 2.0 * math.pi) - math.pi)
    none = np.zeros(nodes)
    return RowLoad(
        name="ring",
        label_deg=np.degrees(np.mod(np.arange(teeth) * (2.0 * math.pi / teeth) + math.pi, 2.0 * math.pi) - math.pi),
        force_n=np.hypot(*force.T),
        tangential_n=force[:, 0],
        outward_n=force[:, 1],
        torque_nmm=(radius_mm + arm[:, 1]) * force[:, 0] - arm[:, 0] * force[:, 1],
        pressure_mpa=np.zeros(teeth),
        place=("",) * teeth,
        lean_mm=np.zeros(teeth),
        section_label_deg=label,
        moment_nmm=moment_nmm,
        normal_n=normal_n,
        inner_stress_mpa=none,
        outer_stress_mpa=none,
        positions_mm=radius_mm * np.column_stack((np.cos(angle), np.sin(angle))),
    )


def share(torque_nmm: float, rows: tuple[RowLoad, ...]) -> LoadShare:
    """A settled drive of which only torque and rows matter."""
    none = np.zeros(0)
    return LoadShare(
        torque_nmm=torque_nmm,
        windup_rad=0.0,
        member_torque_nmm={},
        rows=rows,
        body_force_n=np.zeros((0, len(rows), 2)),
        arm_mm=none,
        carrier_force_n=np.zeros(2),
        carrier_mm=np.zeros(2),
        skew_mm=none,
        roll_mm=none,
        rim_mm=np.zeros((len(rows), 0)),
        health=Health(0, 0, 0, 0.0, 0.0, 0.0, 0.0),
    )
