"""Small results under torque for the picture tests: computed for a printed ring, invented where computing takes long."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.assessment.stiffness import loaded_drive
from lobewright.torque.ask import load_share, windup
from lobewright.torque.bands import ROLLER, SKIP, STIFFNESS, Band, Bands
from lobewright.torque.friction_loop import Loop
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.results import LoadShare, RowLoad, Skip, Windup
from lobewright.torque.transmission import TransmissionError


def computed(a: Assessment, torque_nmm: float) -> tuple[Windup, LoadShare]:
    """Windup and load share of an open-ring drive."""
    drive = loaded_drive(a)
    inputs = estimated_inputs(drive)
    return windup(drive, inputs, torque_nmm), load_share(drive, inputs, torque_nmm)


def filled(kind: type, **values: Any) -> Any:
    """A result with the fields that matter here; those added later by others stand at zero."""
    return kind(**{field.name: values.get(field.name, 0) for field in fields(kind)})


def invented_skip(share: LoadShare, **changes: Any) -> Skip:
    """A path that rises to 12 N·m and falls."""
    turn = np.linspace(0.0, 0.03, 31)
    torque = 12_000.0 * np.sin(np.pi * turn / 0.05)
    values = {
        "torque_nmm": 12_000.0,
        "windup_rad": 0.025,
        "direction": 1,
        "fall": 0.1,
        "gives_way": "arm gives",
        "lower_bound": False,
        "retreat_mm": {"arm gives": 0.31, "carrier shifts": 1e-9, "rim gives": -0.08, "teeth lean": 0.05},
        "generator_share": 0.86,
        "path_windup_rad": turn,
        "path_torque_nmm": torque,
        "at_limit": share,
    }
    return filled(Skip, **{**values, **changes})


def invented_cup_share(a: Assessment) -> LoadShare:
    """Load share of a cup on a cam: a few teeth near the lobes pushed, the unloaded shape a little larger."""
    teeth, nodes = a.rings[0].flexible_teeth, 240
    label = np.degrees(np.mod(np.arange(teeth) * 2 * np.pi / teeth + np.pi, 2 * np.pi) - np.pi)
    force = np.maximum(0.0, np.cos(2 * np.radians(label)) - 0.9) * 100.0
    node_label = np.degrees(np.mod(np.arange(nodes) * 2 * np.pi / nodes + np.pi, 2 * np.pi) - np.pi)
    shape = a.set_shape
    arc = np.arange(nodes) * len(shape.arc_mm) / nodes
    points = np.column_stack((shape.x_mm, shape.y_mm))[arc.astype(int)]
    places = ("right", "left", "tip", "land")
    row = filled(
        RowLoad,
        name=a.rings[0].name,
        label_deg=label,
        force_n=force,
        tangential_n=-0.8 * force,
        outward_n=-0.6 * force,
        torque_nmm=-0.8 * force * shape.radius_mm,
        pressure_mpa=force / 10.0,
        place=tuple(places[k % 4] if force[k] > 0 else "" for k in range(teeth)),
        lean_mm=force / 1e4,
        section_label_deg=node_label,
        moment_nmm=20.0 * np.cos(2 * np.radians(node_label)),
        normal_n=np.ones(nodes),
        inner_stress_mpa=-30.0 * np.cos(2 * np.radians(node_label)),
        outer_stress_mpa=30.0 * np.cos(2 * np.radians(node_label)),
        positions_mm=points * 1.002,
    )
    torque = float(row.torque_nmm.sum())
    return filled(
        LoadShare,
        torque_nmm=-torque,
        windup_rad=0.004,
        member_torque_nmm={row.name: torque, "flexible_ring": -torque, "generator": 0.0},
        rows=(row,),
        body_force_n=np.array([[[3.0, 4.0]]]),
        arm_mm=np.zeros(0),
        carrier_force_n=np.array([3.0, 4.0]),
        carrier_mm=np.zeros(2),
        skew_mm=np.zeros(nodes),
        roll_mm=np.zeros(nodes),
    )


def invented_transmission(places: int) -> TransmissionError:
    """One pitch of 102 in 12 positions, or so many pitches round the turn."""
    pitch = 2 * np.pi / 102
    starts = np.rint(np.arange(places) * 102 / places) * pitch
    turn = (starts[:, None] + np.arange(12) / 12 * pitch).ravel()
    error = 2e-4 * np.sin(2 * turn) + 1e-4 * np.cos(102 * turn)
    return filled(
        TransmissionError,
        torque_nmm=1500.0,
        generator_turn_rad=turn,
        error_rad=error - error.mean(),
        orders=np.array([1.0, 2.0, 100.0, 102.0, 204.0]) if places > 1 else np.array([102.0, 204.0]),
        amplitude_rad=np.array([1e-6, 2e-4, 2e-6, 1e-4, 1e-7]) if places > 1 else np.array([1e-4, 1e-7]),
        mesh_order=102.0,
        places=places,
        sampled="an invented sweep",
    )


def invented_loop() -> Loop:
    """First loading, back and forth with a band of friction 1 mrad wide."""
    up = np.linspace(-1500.0, 1500.0, 41)
    torque = np.concatenate((np.linspace(0.0, 1500.0, 21), up[::-1][1:], up[1:]))
    branch = np.repeat([0, 1, 2], [21, 40, 40])
    turn = torque * 4e-6 + np.where(branch == 1, 5e-4, -5e-4)
    return filled(
        Loop,
        windup_rad=turn,
        torque_nmm=torque,
        branch=branch,
        reach_nmm=1500.0,
        flank_friction=0.2,
        hysteresis_rad=1e-3,
        free_play_rad=4e-4,
        dissipated_nmm=3.0,
    )


def invented_bands() -> Bands:
    """Three answers, one of them known only to one side."""
    shares = {"arm": 0.7, "model": 0.2, "numerical": 0.1}
    rows = ((SKIP, 6e3, 12e3, 2e4), (STIFFNESS, 8e5, 1e6, 1.3e6), (ROLLER, 10.0, 12.0, 14.0))
    made = tuple(
        filled(
            Band,
            name=name,
            low=low,
            middle=middle,
            high=high,
            widest_input="arm",
            shares=shares,
            at_least=name == SKIP,
            notes=(),
        )
        for name, low, middle, high in rows
    )
    return filled(Bands, bands=made, weak=(), not_made={}, failed=())
