"""The drive without torque: arms and contacts set so that the ring stands at the set deflection."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.torque import kernel
from lobewright.torque.errors_in import NO_ERRORS, DriveErrors, check_errors, ring_errors
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.model import (
    NODES_A_TOOTH,
    Drive,
    State,
    barrel_for,
    blank_state,
    build_numbers,
    check_rows,
    home_turns,
    node_count,
    turned_numbers,
)
from lobewright.torque.solver import Outcome, newton


def prepare(
    drive: DriveInput,
    inputs: LoadInputs,
    *,
    turn_rad: float = 0.0,
    per_tooth: int = NODES_A_TOOTH,
    errors: DriveErrors = NO_ERRORS,
) -> Drive:
    """A drive with its generator turned by ``turn_rad``, settled without torque and with the rings where they mesh.

    Arms and contacts are taken as set under the push of the unloaded ring: the ring stands at the set deflection. Errors
    of making come on top of that setting.
    Raises DesignFault (no load path, wrong number of values) and ConvergenceFault.
    """
    check_rows(drive)
    check_errors(drive, errors)
    rows = len(drive.rows)
    for name in (
        "bending_stiffness_nmm2",
        "axial_stiffness_n",
        "wall_modulus_mpa",
        "tooth_stiffness_n_per_mm2",
        "rims",
    ):
        if len(getattr(inputs, name)) != rows and not (name == "rims" and not inputs.rims):
            found = str(len(getattr(inputs, name)))
            raise DesignFault([Fault("one value a row of teeth is needed", f"LoadInputs.{name}", 0, found, str(rows))])
    nodes = node_count(drive, per_tooth)
    numbers, unit = build_numbers(drive, inputs, nodes, turn_rad)
    made = Drive(
        drive=drive,
        inputs=inputs,
        numbers=numbers,
        nodes=nodes,
        turn_rad=turn_rad,
        radius_mm=drive.geometry.neutral_radius_mm,
        force_unit_n=unit,
        barrel=barrel_for(drive, inputs, nodes, unit),
        rest=blank_state(drive, numbers, nodes, turn_rad),
        push=np.zeros(len(numbers.body_kind)),
    )
    return _settle(made, errors)


def turned(drive: Drive, turn_rad: float) -> Drive:
    """The same drive, set as it is, with its generator turned on to ``turn_rad`` and the rings' homes with it; the nodes of
    its rest are not settled there."""
    rest = drive.rest.copy()
    for at, home in zip(drive.ring_at, home_turns(drive.drive, turn_rad), strict=True):
        rest.extra[at] = home
    numbers = turned_numbers(drive.numbers, drive.drive, drive.inputs, turn_rad, drive.errors)
    return replace(drive, numbers=numbers, turn_rad=turn_rad, rest=rest)


def _settle(drive: Drive, errors: DriveErrors) -> Drive:
    """Lay the ring on the generator without teeth, arms held; set preloads and contacts by the push found."""
    with_teeth = drive.numbers
    bare = replace(drive, numbers=with_teeth._replace(teeth=np.zeros_like(with_teeth.teeth)))
    state = drive.rest
    free = np.zeros(0, dtype=np.int64)
    pull = np.zeros_like(state.extra)
    push = np.zeros(len(with_teeth.body_kind))
    radius = with_teeth.body_radius.copy()
    for _ in range(3):
        bare.numbers = bare.numbers._replace(body_radius=radius)
        outcome = newton(bare, state, free, pull, 1.0)
        if not outcome.settled:
            raise ConvergenceFault(_words("the unloaded ring on its generator", outcome), None)
        push, depth = body_push(bare, state)
        if with_teeth.body_kind[0] == kernel.CURVE:
            break
        radius = with_teeth.body_radius + depth
    preload = push if len(with_teeth.arm_stiffness) else np.zeros(0)
    numbers = with_teeth._replace(body_radius=radius, arm_preload=preload)
    if errors != NO_ERRORS:
        uneven = ring_errors(numbers, drive.drive, errors)
        numbers = turned_numbers(uneven, drive.drive, drive.inputs, drive.turn_rad, errors)
    made = replace(drive, numbers=numbers, rest=state, push=push, errors=errors)
    # the carrier finds its place beside the even one; still no teeth, so that play is not used up
    bare = replace(made, numbers=numbers._replace(teeth=np.zeros_like(with_teeth.teeth)))
    outcome = newton(bare, state, loose_extras(made), pull, 1.0 + float(push.sum()))
    if not outcome.settled:
        raise ConvergenceFault(_words("the unloaded ring with its carrier free", outcome), None)
    return made


def loose_extras(drive: Drive) -> np.ndarray:
    """The extras that always find their own place: carrier, arms and rims."""
    rims = [at for row in range(drive.rows) for at in drive.lean_extras(row)[1:]]
    return np.append(np.arange(2 + len(drive.numbers.arm_stiffness)), np.array(rims, dtype=np.int64))


def body_push(drive: Drive, state: State) -> tuple[np.ndarray, np.ndarray]:
    """Outward push (B,) of the bodies on the ring along their directions, and the deepest contact (B,)."""
    force, depth, _ = kernel.body_forces(state.q, state.extra, state.near, drive.numbers)
    total = force.sum(axis=1)
    return np.einsum("bc,bc->b", total, drive.numbers.body_direction), depth.max(axis=1)


def _words(what: str, outcome: Outcome) -> list[Fault]:
    return [
        Fault(
            f"{what} did not settle after {outcome.iterations} iterations",
            "loaded ring",
            0,
            f"force residual {outcome.residual:.2g} of the acting forces",
        )
    ]
