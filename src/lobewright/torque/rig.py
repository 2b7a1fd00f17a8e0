"""A flexible ring on a test rig: rollers on arms, a rigid ring that is turned or a smooth circle, the wall held as a whole.

It is the loaded ring of this room in a set-up that any other code can be given exactly, so that the two can be compared:
a slice of unit width, nothing set beforehand, no play taken out. The rollers stand inside the ring and are pushed along x
through arms that give along x; the rigid ring is turned about the origin. Nothing holds the flexible ring but one
condition: the mean displacement of its wall along the undeformed tangent is zero, kept by equal dead tangential loads, as a
long soft barrel would.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import SimpleNamespace
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.ring.beam_element import element_terms
from lobewright.torque import kernel
from lobewright.torque.ask import follow, retreat_mm
from lobewright.torque.barrel import Barrel
from lobewright.torque.field import distance_field, field_full, field_value
from lobewright.torque.foretold import settle
from lobewright.torque.model import ROLLER_POINTS, Drive, State
from lobewright.torque.path import Place, Winder
from lobewright.torque.rest import loose_extras
from lobewright.torque.results import sealed
from lobewright.torque.ring_view import even_ring
from lobewright.torque.solver import Outcome, Workspace

Array = NDArray[np.float64]

FEELERS = 384
"""Points of an outline that feel the rigid ring: apart by less than a narrow contact is wide."""
ROUGH = 1e6
"""Force, in EI/R², over which unbalanced forces are told while a ring is only on its way."""
OPENING_STEPS = 6
TURN_STEP_RAD = math.radians(0.125)
"""Longest step of the rigid ring's turn between two states."""
HOLD = 1e6
"""Stiffness that keeps the mean tangential displacement, over EI/R³: its give is not felt."""
MOST_ITERATIONS = 300
PATCH_LOG = 1.2315
"""Mean over itself of −ln|x − y| under the weight (1 − z²)², z −1 … 1: the dent that a tooth cell's patch holds."""


@dataclass(frozen=True)
class Teeth:
    """Teeth of the flexible ring, one a pitch, and the rigid ring they meet. Heights are above the neutral line.

    ``outline_mm``: one pitch, left to right; ``space_mm``: one space of the rigid ring from mid-land to mid-land round +x,
    clockwise end first. ``shift_stiffness_n_per_mm2``: force across a tooth over its shift as a whole, per unit width.
    ``modulus_mpa``, ``edge_radius_mm``, ``patch_half_mm``: of the touching flanks, see :func:`line_bed_n_per_mm3`.
    """

    outline_mm: tuple[tuple[float, float], ...]
    space_mm: tuple[tuple[float, float], ...]
    ring_teeth: int
    shift_stiffness_n_per_mm2: float
    modulus_mpa: float
    edge_radius_mm: float
    patch_half_mm: float


@dataclass(frozen=True)
class Fence:
    """A smooth rigid circle about the origin, ``radius_mm``, outside a plain ring whose outer surface lies ``outer_mm`` above
    the neutral line."""

    radius_mm: float
    outer_mm: float
    bed_n_per_mm3: float


@dataclass(frozen=True)
class Rollers:
    """Rollers inside the ring. ``at_deg`` (B,): where they touch the round ring; ``travel_mm`` (B,): how far along x a rigid arm
    would carry each from there; ``arm_n_per_mm2``: of each arm along x, per unit width."""

    at_deg: tuple[float, ...]
    radius_mm: float
    travel_mm: tuple[float, ...]
    arm_n_per_mm2: float
    bed_n_per_mm3: float


@dataclass(frozen=True)
class Rig:
    """Ring, rollers and what stands round it; everything per unit width.

    ``pitches`` equal ones round the ring, the first one's middle at φ = 0; ``bending_shares``: stiffness of equal parts of a
    pitch over the mean, from one middle to the next. ``mid_wall_mm`` and ``inner_mm``: how far mid-wall and inner surface lie
    below the neutral line.
    """

    pitches: int
    radius_mm: float
    mid_wall_mm: float
    inner_mm: float
    bending_stiffness_nmm: float
    axial_stiffness_n_per_mm: float
    bending_shares: tuple[float, ...]
    rollers: Rollers
    around: Teeth | Fence | None = None

    @property
    def nodes(self) -> int:
        """Nodes on the ring."""
        return self.pitches * len(self.bending_shares)


@dataclass(frozen=True)
class RigState:
    """One settled state. Forces per unit width; arrays by node (N,) at ``label_rad`` unless said.

    ``torque_n``: of the rigid ring's drive, N·mm/mm. ``roller_n`` (B, 2): force (x, y) of each roller on the ring,
    ``arm_mm`` (B,) how far its arm is pressed in. ``tooth_n`` (rigid teeth, 2): force of every rigid tooth on the ring, along
    and across the radius through its middle at (k + ½) pitches plus the turn; ``fence_n`` (2, 2): of the halves of a circle
    with x above and below 0, (x, y). ``moved_mm`` (N, 2): radial and tangential displacement of mid-wall.
    ``section_force_n_per_mm``, ``section_moment_n``: moment about mid-wall, positive for tension outside.
    ``residual`` over the acting forces.
    """

    turn_rad: float
    torque_n: float
    roller_n: Array
    arm_mm: Array
    tooth_n: Array
    fence_n: Array
    label_rad: Array
    moved_mm: Array
    section_force_n_per_mm: Array
    section_moment_n: Array
    residual: float


@dataclass(frozen=True)
class RigSkip:
    """The largest torque before it falls by a tenth. ``at_peak``: the state there; ``rigid_tooth``: the one whose force across
    lost most in the fall; ``retreat_mm``: parts of the loaded teeth's inward retreat at the peak."""

    at_peak: RigState
    rigid_tooth: int
    retreat_mm: dict[str, float]


def line_bed_n_per_mm3(modulus_mpa: float, edge_radius_mm: float, patch_half_mm: float) -> float:
    """Elastic bed that dents under a rounded edge as two alike half planes do, beyond the dent of a tooth cell's patch.

    ``edge_radius_mm``: relative radius of the touching flanks; ``patch_half_mm``: half height of the patch whose mean dent the
    tooth's give already holds. Met at the force that makes the contact a tenth of the radius half wide: a bed's dent grows
    with force to the power 2/3, the half plane's almost in proportion, so the bed is a fifth off at a third of the force.
    Plane stress. Source: line contact of cylinders (Hertz), remembered; comparison derived.
    """
    half = 0.1 * edge_radius_mm
    force = math.pi * modulus_mpa * half**2 / (4.0 * edge_radius_mm)
    dent = 2.0 * force / (math.pi * modulus_mpa) * (math.log(patch_half_mm / half) + math.log(2.0) + 0.5 - PATCH_LOG)
    return force / (4.0 / 3.0 * math.sqrt(2.0 * edge_radius_mm) * dent**1.5)


def turn_rig(rig: Rig, turns_rad: Sequence[float]) -> tuple[RigState, ...]:
    """The states at the given turns of the rigid ring, rising; a turn of 0 is the opened ring before the two meet.

    The same rig is solved once and kept. Raises ConvergenceFault where a turn does not settle.
    """
    return _kept_turns(rig, tuple(float(turn) for turn in turns_rad))


@lru_cache(maxsize=4)
def _kept_turns(rig: Rig, turns_rad: tuple[float, ...]) -> tuple[RigState, ...]:
    drive, opened = _opened(rig)
    winder, place, states = None, None, []
    for turn in turns_rad:
        if turn == 0.0:
            states.append(_read(rig, drive, opened.state, opened.outcome))
            continue
        winder = winder or Winder(drive)
        place = _on_to(winder, place, opened, turn)
        states.append(_read(rig, drive, place.state, place.outcome))
    return tuple(states)


@lru_cache(maxsize=4)
def skip_rig(rig: Rig, step_rad: float = TURN_STEP_RAD, most_rad: float = 0.2) -> RigSkip:
    """Turn the rigid ring on until the torque has fallen by a tenth; past the last stable turn by arc length.

    Raises DesignFault for a ring without teeth, ConvergenceFault where the torque does not fall within ``most_rad`` or the
    path is lost.
    """
    if not isinstance(rig.around, Teeth):
        raise DesignFault([Fault("only a ring with teeth skips", "around", 0, type(rig.around).__name__, "Teeth")])
    drive, opened = _opened(rig)
    winder, step = Winder(drive), step_rad
    places = [_on_to(winder, None, opened, step_rad)]
    rest = places[0]
    while step > step_rad / 100.0:
        last = places[-1]
        if last.windup_rad > most_rad:
            raise ConvergenceFault([Fault("the torque does not fall", "most_rad", 0, f"up to {most_rad:g} rad")], last)
        place = _settled(winder, last, places[-2] if len(places) > 1 else last, last.windup_rad + step)
        if place.outcome.settled and place.torque_nmm >= 0.99 * last.torque_nmm:
            places.append(place)
        else:
            step *= 0.25
    onward = follow(winder, places, 1, 0.1)
    top = max(range(len(onward)), key=lambda i: onward[i].torque_nmm)
    if onward[-1].torque_nmm > 0.9 * onward[top].torque_nmm:
        found = f"{onward[top].torque_nmm:.6g} N·mm/mm reached"
        raise ConvergenceFault([Fault("the path was lost before the torque fell", "torque_nmm", 0, found)], onward[-1])
    peak, fallen = (_read(rig, drive, place.state, place.outcome) for place in (onward[top], onward[-1]))
    lost = (peak.tooth_n - fallen.tooth_n)[:, 1]
    return RigSkip(peak, int(np.argmax(lost)), retreat_mm(drive, rest, onward[top]))


def _on_to(winder: Winder, place: Place | None, opened: Place, turn_rad: float) -> Place:
    """The place at a turn, walked to in steps."""
    before, last = opened, opened if place is None else place
    steps = max(1, math.ceil((turn_rad - last.windup_rad) / TURN_STEP_RAD - 1e-9))
    for wanted in np.linspace(last.windup_rad, turn_rad, steps + 1)[1:]:
        before, last = last, _settled(winder, last, before, float(wanted))
        if not last.outcome.settled:
            raise ConvergenceFault(_words(f"the rig at {wanted:.4g} rad", last.outcome), before)
    return last


def _settled(winder: Winder, last: Place, before: Place, turn_rad: float) -> Place:
    """The place at a turn, found from the last two carried on in a straight line."""
    state, step = last.state.copy(), last.windup_rad - before.windup_rad
    if step > 0.0:
        share = (turn_rad - last.windup_rad) / step
        state.q += share * (last.state.q - before.state.q)
        state.lean += share * (last.state.lean - before.state.lean)
        state.extra += share * (last.state.extra - before.state.extra)
    state.extra[winder.at] = turn_rad
    unit = winder.drive.torque_unit_nmm
    force = 1.0 + abs(last.torque_nmm) / unit
    none = np.zeros_like(state.extra)
    state, outcome = settle(winder.drive, state, winder.loose, none, force, winder.work, MOST_ITERATIONS)
    return Place(turn_rad, float(winder.work.system.extra[winder.at]) * unit, math.nan, state, outcome)


def _words(what: str, outcome: Outcome) -> list[Fault]:
    found = f"force residual {outcome.residual:.2g} of the acting forces after {outcome.iterations} iterations"
    return [Fault(f"{what} did not settle", "rig", 0, found)]


def _opened(rig: Rig) -> tuple[Drive, Place]:
    """The ring opened by its rollers, out of touch with what stands round it; the drive then has that too."""
    if len(rig.bending_shares) < 2 or not all(share > 0.0 for share in rig.bending_shares):
        what = "a pitch of the rig's ring needs two parts or more of positive stiffness"
        raise DesignFault([Fault(what, "bending_shares", 0, str(len(rig.bending_shares)), "2 or more, above 0")])
    for name in ("bending_stiffness_nmm", "axial_stiffness_n_per_mm"):
        if not getattr(rig, name) > 0.0:
            found = f"{getattr(rig, name):g}"
            raise DesignFault([Fault("a rig's ring needs a positive stiffness", name, 0, found, "above 0")])
    drive = _drive(rig)
    whole, state = drive.numbers, drive.rest
    travel = np.array(rig.rollers.travel_mm) * whole.body_direction[:, 0] / rig.radius_mm
    none = np.zeros_like(state.extra)
    outcome, work = None, Workspace(drive)
    for number in range(1, OPENING_STEPS + 1):
        pushed = whole.arm_stiffness * travel * (number / OPENING_STEPS)
        drive.numbers = whole._replace(arm_preload=pushed, teeth=np.zeros_like(whole.teeth))
        # what is only a start for the next step need not be settled to the last digit
        last = number == OPENING_STEPS and not isinstance(rig.around, Fence)
        state, outcome = settle(drive, state, loose_extras(drive), none, 1.0 if last else ROUGH, work, MOST_ITERATIONS)
        if not outcome.settled:
            raise ConvergenceFault(_words("the ring opened by its rollers", outcome), None)
    drive.numbers = whole._replace(arm_preload=whole.arm_stiffness * travel)
    if isinstance(rig.around, Fence):
        state, outcome = settle(drive, state, loose_extras(drive), none, 1.0, work, MOST_ITERATIONS)
        if not outcome.settled:
            raise ConvergenceFault(_words("the ring in its circle", outcome), None)
    assert outcome is not None
    return drive, Place(0.0, 0.0, 0.0, state, outcome)


def _drive(rig: Rig) -> Drive:
    unit = rig.bending_stiffness_nmm / rig.radius_mm**2
    count = len(rig.rollers.at_deg)
    pitch = 2.0 * math.pi / (rig.around.ring_teeth if isinstance(rig.around, Teeth) else rig.pitches)
    row = SimpleNamespace(name="rigid", space=SimpleNamespace(pitch_rad=pitch))
    numbers = _numbers(rig, unit)
    leans = np.zeros(numbers.tooth_node.shape)
    near = np.zeros((1, count, rig.nodes), dtype=np.int64)
    return Drive(
        # the solver asks a drive only for its rows and its slow member: this one was never designed
        drive=SimpleNamespace(rows=(row,), slow_member="rigid"),  # type: ignore[arg-type]
        inputs=None,  # type: ignore[arg-type]  # nor has it inputs
        numbers=numbers,
        nodes=rig.nodes,
        turn_rad=0.0,
        radius_mm=rig.radius_mm,
        force_unit_n=unit,
        barrel=_hold(rig.nodes),
        rest=State(np.zeros((rig.nodes, 3)), leans, np.zeros(4 + count), near),
        push=np.ones(count),
    )


def _numbers(rig: Rig, unit: float) -> kernel.Numbers:
    radius, rollers = rig.radius_mm, rig.rollers
    count = len(rollers.at_deg)
    at = np.radians(rollers.at_deg)
    centre = (radius - rig.inner_mm - rollers.radius_mm) * np.column_stack((np.cos(at), np.sin(at)))
    sides = np.column_stack((np.sign(centre[:, 0]), np.zeros(count)))
    return kernel.Numbers(
        axial=np.array([rig.axial_stiffness_n_per_mm * radius**2 / rig.bending_stiffness_nmm]),
        share=np.ones(1),
        web=np.zeros(2),
        body_kind=np.full(count, kernel.ROUND),
        body_centre=centre / radius,
        body_radius=np.full(count, (rollers.radius_mm + rig.inner_mm) / radius),
        body_direction=sides,
        body_arm=np.arange(count),
        body_points=np.full(count, ROLLER_POINTS),
        body_stiffness=np.full((count, 1), rollers.bed_n_per_mm3 * radius**2 / unit),
        arm_stiffness=np.full(count, rollers.arm_n_per_mm2 * radius / unit),
        arm_preload=np.zeros(count),
        table=np.zeros((16, 7)),
        carrier_stiffness=HOLD,
        carrier_home=np.zeros(2),
        uneven=np.tile(rig.bending_shares, rig.pitches)[None],
        **(_teeth(rig, rig.around, unit) if isinstance(rig.around, Teeth) else _fence(rig, unit)),
        **even_ring(1),
    )


def _teeth(rig: Rig, teeth: Teeth, unit: float) -> dict[str, NDArray[Any]]:
    """The toothed part of the solver's numbers."""
    radius, outline = rig.radius_mm, np.array(teeth.outline_mm)
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(outline, axis=0).T))))
    length = float(along[-1]) / FEELERS
    at = (np.arange(FEELERS) + 0.5) * length
    points = np.column_stack([np.interp(at, along, outline[:, k]) for k in (0, 1)])
    height = float(np.ptp(outline[:, 1]))
    on_tooth = points[:, 1] > outline[:, 1].min() + 1e-3 * height
    space = SimpleNamespace(
        pitch_rad=2.0 * math.pi / teeth.ring_teeth,
        tip_radius_mm=math.hypot(*teeth.space_mm[0]),
        root_radius_mm=max(math.hypot(*point) for point in teeth.space_mm),
        outline_mm=lambda: np.array(teeth.space_mm),
    )
    bed = line_bed_n_per_mm3(teeth.modulus_mpa, teeth.edge_radius_mm, teeth.patch_half_mm)
    # the field asks a space for these four only
    field = distance_field(space, 1.5 * height, 0.5 * height)  # type: ignore[arg-type]
    return {
        "teeth": np.array([rig.pitches]),
        "tooth_node": np.arange(rig.pitches)[None] * len(rig.bending_shares),
        "tooth_place": np.zeros((1, rig.pitches, 3)),
        "feeler": np.column_stack((points / radius, on_tooth))[None],
        "feeler_stiffness": np.full((1, FEELERS), bed * length * radius / unit),
        # a shift moves all points of a tooth alike
        "feeler_step": np.full((1, FEELERS), 1.01 * length / radius),
        "lean_stiffness": np.array([teeth.shift_stiffness_n_per_mm2 * radius / unit]),
        "field": field.samples_mm[None] / radius,
        "field_grid": np.array([[field.first_radius_mm, field.radius_step_mm, field.angle_step_rad * radius]]) / radius,
    }


def _fence(rig: Rig, unit: float) -> dict[str, NDArray[Any]]:
    """A smooth circle as a rigid ring without teeth, felt by one point a node on the outer surface; no circle: no points."""
    radius, fence = rig.radius_mm, rig.around
    wall = fence if isinstance(fence, Fence) else Fence(2.0 * radius, 0.0, 0.0)
    levels = np.linspace(0.8 * wall.radius_mm, 1.1 * wall.radius_mm, 8) / radius
    samples = np.tile((wall.radius_mm / radius - levels)[:, None], (1, 4))
    points = rig.nodes if isinstance(fence, Fence) else 0
    part = 2.0 * math.pi / rig.nodes
    return {
        "teeth": np.array([points]),
        "tooth_node": np.arange(rig.nodes)[None],
        "tooth_place": np.zeros((1, rig.nodes, 3)),
        "feeler": np.array([[[0.0, wall.outer_mm / radius, 0.0]]]),
        "feeler_stiffness": np.array([[wall.bed_n_per_mm3 * part * radius**2 / unit]]),
        "feeler_step": np.array([[part]]),
        "lean_stiffness": np.ones(1),
        "field": samples[None],
        "field_grid": np.array([[levels[0], levels[1] - levels[0], 2.0 * math.pi / 4.0]]),
    }


def _hold(nodes: int) -> Barrel:
    """A barrel that resists nothing but the mean tangential displacement."""
    label = np.arange(nodes) * (2.0 * math.pi / nodes)
    column = np.column_stack((-np.sin(label), np.cos(label), np.zeros(nodes))) / nodes
    return Barrel(np.array([[2.0 * math.pi * HOLD]]), column[:, :, None], np.array([2.0 * math.pi * HOLD]), (), ())


def _read(rig: Rig, drive: Drive, state: State, outcome: Outcome) -> RigState:
    radius, unit, numbers = drive.radius_mm, drive.force_unit_n, drive.numbers
    q, label = state.q, np.arange(drive.nodes, dtype=np.float64) * (2.0 * math.pi / drive.nodes)
    place = np.column_stack((np.cos(label) + q[:, 0], np.sin(label) + q[:, 1]))
    normal = np.column_stack((np.cos(label + q[:, 2]), np.sin(label + q[:, 2])))
    out = np.column_stack((np.cos(label), np.sin(label)))
    moved = radius * (place - out) - rig.mid_wall_mm * (normal - out)
    round_moved = np.column_stack(((moved * out).sum(axis=1), moved[:, 1] * out[:, 0] - moved[:, 0] * out[:, 1]))
    push, _, _ = kernel.body_forces(q, state.extra, state.near, numbers)
    felt = kernel.tooth_forces(q, state.lean, state.extra, numbers)[0]
    torque, by_ring, halves = 0.0, np.zeros((0, 2)), np.zeros((2, 2))
    if isinstance(rig.around, Teeth):
        torque = float(felt[:, 2].sum()) * unit * radius
        by_ring = _by_rigid_tooth(q, state.lean, state.extra, numbers, rig.around.ring_teeth)
    else:
        halves = np.array([felt[side, :2].sum(axis=0) for side in (out[:, 0] > 0, out[:, 0] < 0)])
    force, moment = _sections(q, normal, numbers.axial[0], numbers.uneven[0])
    arms = len(rig.rollers.at_deg)
    given = np.array(rig.rollers.travel_mm) * numbers.body_direction[:, 0]
    return RigState(
        turn_rad=float(state.extra[-1]),
        torque_n=torque,
        roller_n=sealed(push[:, 0] * unit),
        arm_mm=sealed(given - state.extra[2 : 2 + arms] * radius),
        tooth_n=sealed(by_ring * unit),
        fence_n=sealed(halves * unit),
        label_rad=sealed(label),
        moved_mm=sealed(round_moved),
        section_force_n_per_mm=sealed(force * unit),
        section_moment_n=sealed((moment * radius + force * rig.mid_wall_mm) * unit),
        residual=outcome.residual,
    )


@njit(cache=True, error_model="numpy")
def _sections(q, normal, axial, uneven):
    """Hoop force and moment about the neutral line at every node (N,), dimensionless: means of the elements on both sides."""
    count = q.shape[0]
    arc = 2.0 * math.pi / count
    force, moment = np.zeros(count), np.zeros(count)
    for i in range(count):
        j = i + 1 if i + 1 < count else 0
        share = uneven[i]
        angle = (i + 0.5) * arc + 0.5 * math.pi
        (_, _, chord, ex, ey), (u_l, u_psi, u_a), _ = element_terms(q[i], q[j], angle, arc, axial / share)
        across, along = u_l * ex + u_a / chord * ey, u_l * ey - u_a / chord * ex
        force[i] += 0.5 * share * (along * normal[i, 0] - across * normal[i, 1])
        force[j] += 0.5 * share * (along * normal[j, 0] - across * normal[j, 1])
        moment[i] += 0.5 * share * (u_psi - 0.5 * u_a)
        moment[j] += 0.5 * share * (u_psi + 0.5 * u_a)
    return force, moment


@njit(cache=True, error_model="numpy")
def _by_rigid_tooth(q, lean, extra, numbers, ring_teeth):
    """Force (rigid teeth, 2) on the flexible ring along and across the radius through the middle of each rigid tooth."""
    out = np.zeros((ring_teeth, 2))
    pitch, turn = 2.0 * math.pi / ring_teeth, extra[-1]
    first, step_r, step_a = numbers.field_grid[0, 0], numbers.field_grid[0, 1], numbers.field_grid[0, 2]
    for tooth in range(numbers.teeth[0]):
        _, _, _, fx, fy, c, s = kernel.tooth_frame(q, 0, tooth, numbers)
        for n in range(numbers.feeler.shape[1]):
            x = numbers.feeler[0, n, 0] + numbers.feeler[0, n, 2] * lean[0, tooth]
            y = numbers.feeler[0, n, 1]
            wx, wy = fx + y * c - x * s, fy + y * s + x * c
            rad, angle = math.hypot(wx, wy), math.atan2(wy, wx) - turn
            level = (rad - first) / step_r
            if field_value(numbers.field[0], 1.0, level, angle / step_a) >= 0.0:
                continue
            d, d_r, d_c, _, _, _ = field_full(numbers.field[0], level, angle / step_a)
            d_r, side = d_r / step_r, d_c / step_a / rad
            k = numbers.feeler_stiffness[0, n]
            px, py = -k * d * (d_r * wx - side * wy) / rad, -k * d * (d_r * wy + side * wx) / rad
            number = math.floor(angle / pitch) % ring_teeth
            middle = turn + (number + 0.5) * pitch
            cm, sm = math.cos(middle), math.sin(middle)
            out[number, 0] += px * cm + py * sm
            out[number, 1] += py * cm - px * sm
    return out
