"""Questions to a loaded drive, each a plain function from drive and stiffnesses to one frozen result."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.torque import kernel
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.model import NODES_A_TOOTH, Drive, State
from lobewright.torque.path import QUIET, Place, Winder, ahead, toward
from lobewright.torque.rest import prepare
from lobewright.torque.results import LoadShare, Skip, Windup, health_of, load_share_of, sealed

Progress = Callable[[str, float], None]

BANDS = ((0.03, 0.3), (0.3, 0.6), (0.6, 1.0))
"""Shares of the torque between which slopes are told."""
NO_TORQUE = 1e-4
FIRST_STEP, LONGEST_STEP, SHORTEST_STEP = 1 / 64, 1 / 24, 1 / 2**18
"""Steps of windup, in pitches of the moving ring; steel teeth need the shortest."""
SNAP_STEP = 1 / 96
"""Step over which a snap is walked through."""
FINE_STEP = 1 / 1024
"""Shortest step toward a place where no state lies near: beyond it lies a limit or a snap."""
FIRST_ARC = 1 / 2**13
"""First step past a limit, in pitches."""
HOP = 0.01
"""Departure of the torque from what the slopes say, over the largest, above which a step is taken as a snap."""
ASTRAY = 0.8
"""Departure of a state from where it was foretold, over the step, above which it is sought by a shorter step."""
FARTHEST = 4.0
"""Pitches of windup after which a drive that carries nothing is given up."""
FALL = 0.1
"""Share of its largest value by which the torque falls before the drive is asked whether it has skipped."""
LOOK_AHEAD, SKIPPED = 48, 0.5
"""Steps in a pitch of windup in which a fallen torque may rise again, and the share of it below which it has skipped."""
PASSED = 0.75
"""Pitches by which a loaded tooth has moved against its ring when it has skipped: half is the top of the ring's tooth."""
SNAP_ITERATIONS = 300
MOST_ARC_STEPS, LEAST_ARC = 60, 1e-7
"""Steps by arc length in one stretch, and the shortest, in pitches."""
MOST_SNAPS = 60
MOST_TRIES, NEAR_LIMIT = 6, 1e-4
"""Steps toward the limit of a tooth's lean, and the share of it within which it is met."""
MOST_HALVINGS, NEAR = 60, 0.05
"""Steps toward a given torque, and the share of it within which torque control takes over."""


@dataclass(frozen=True)
class Walk:
    """Settled places in order, and why the walk ended: "torque", "fall" (a limit was passed), "lost" (no state near) or
    "far" (nothing carries)."""

    places: list[Place]
    ended: str


def windup(
    drive: DriveInput,
    inputs: LoadInputs,
    reach_nmm: float,
    *,
    turn_rad: float = 0.0,
    lost_motion_share: float = 0.03,
    per_tooth: int = NODES_A_TOOTH,
    progress: Progress | None = None,
) -> Windup:
    """Torque against rotation of the slow member from −reach to reach.

    Frictionless, so both ways of the walk are one curve. Raises DesignFault (no load path, reach not above 0) and
    ConvergenceFault where the drive skips before the torque is reached (last_good: the places walked so far).
    """
    check_torque(reach_nmm)
    made = prepare(drive, inputs, turn_rad=turn_rad, per_tooth=per_tooth)
    winder = Winder(made)
    say = progress or (lambda word, share: None)
    walks = []
    for side in (-1, 1):
        say("windup", 0.5 * (side > 0))
        walks.append(wind(winder, side, reach_nmm, FALL))
        if walks[-1].ended != "torque":
            raise ConvergenceFault(_skips(walks[-1], reach_nmm), walks[-1].places)
    return windup_of(winder, walks[0], walks[1], reach_nmm, lost_motion_share)


def windup_of(winder: Winder, back: Walk, forth: Walk, reach_nmm: float, lost_motion_share: float) -> Windup:
    """Windup from the walks to −reach and to reach, or beyond them."""
    shares = sorted({NO_TORQUE, lost_motion_share, *(s for band in BANDS for s in band)})
    angle: list[float] = []
    torque: list[float] = []
    at: dict[float, float] = {}
    snaps = 0
    targets: list[Place] = []
    for side, walk in ((-1, back), (1, forth)):
        targets = [settle_at(winder, walk, side * share * reach_nmm) for share in shares]
        for share, place in zip(shares, targets, strict=True):
            at[side * share] = place.windup_rad
        reached = int(np.argmax([side * place.torque_nmm >= reach_nmm for place in walk.places]))
        snaps += _snaps(walk.places[: reached + 1])
        for place in [*walk.places[:reached], *targets]:
            angle.append(place.windup_rad)
            torque.append(place.torque_nmm)
    order = np.argsort(np.array(angle), kind="stable")
    slopes = []
    for low, high in BANDS:
        gain = (high - low) * reach_nmm
        slopes.append(0.5 * sum(gain / abs(at[s * high] - at[s * low]) for s in (-1, 1)))
    return Windup(
        windup_rad=sealed(np.array(angle)[order]),
        torque_nmm=sealed(np.array(torque)[order]),
        reach_nmm=reach_nmm,
        bands=BANDS,
        stiffness_nmm_per_rad=tuple(slopes),
        free_play_rad=at[NO_TORQUE] - at[-NO_TORQUE],
        lost_motion_rad=at[lost_motion_share] - at[-lost_motion_share],
        lost_motion_share=lost_motion_share,
        snaps=snaps,
        health=health_of(winder.drive, targets[-1], winder.solves, winder.iterations, reach_nmm),
    )


def load_share(
    drive: DriveInput,
    inputs: LoadInputs,
    torque_nmm: float,
    *,
    turn_rad: float = 0.0,
    per_tooth: int = NODES_A_TOOTH,
) -> LoadShare:
    """Forces on teeth, rollers and carrier, sections and stresses at one torque of the slow member (its sign counts).

    Raises DesignFault and ConvergenceFault as :func:`windup`.
    """
    check_torque(abs(torque_nmm))
    made = prepare(drive, inputs, turn_rad=turn_rad, per_tooth=per_tooth)
    winder = Winder(made)
    walk = wind(winder, 1 if torque_nmm > 0 else -1, abs(torque_nmm), FALL)
    if walk.ended != "torque":
        raise ConvergenceFault(_skips(walk, torque_nmm), walk.places)
    place = settle_at(winder, walk, torque_nmm)
    return load_share_of(made, place, winder.solves, winder.iterations, torque_nmm)


def skip(
    drive: DriveInput,
    inputs: LoadInputs,
    *,
    direction: int = 1,
    turn_rad: float = 0.0,
    fall: float = FALL,
    per_tooth: int = NODES_A_TOOTH,
    progress: Progress | None = None,
) -> Skip:
    """Ratcheting torque of the slow member in one direction (+1 anticlockwise, −1).

    The path is followed past its limit until the torque has fallen by ``fall`` for good (see :func:`wind`): by rotation as
    long as states lie near each other, by arc length from where they do not. Raises DesignFault, and ConvergenceFault where
    the path is lost (last_good: the places so far).
    """
    if direction not in (1, -1):
        raise DesignFault([Fault("no such direction", "direction", 0, str(direction), "1 or -1")])
    say = progress or (lambda word, share: None)
    made = prepare(drive, inputs, turn_rad=turn_rad, per_tooth=per_tooth)
    winder = Winder(made)
    say("winding up", 0.1)
    places, ended = past_the_limit(winder, direction, fall, say)
    return skip_of(winder, places, ended, direction, fall)


def skip_of(winder: Winder, places: list[Place], ended: str, direction: int, fall: float) -> Skip:
    """The ratcheting torque from the places of a path past its limit."""
    made = winder.drive
    limit = max(places, key=lambda place: direction * place.torque_nmm)
    parts = retreat_mm(made, winder.rest(), limit)
    total = sum(max(part, 0.0) for part in parts.values())
    force, _, _ = kernel.body_forces(limit.state.q, limit.state.extra, limit.state.near, made.numbers)
    reference = abs(limit.torque_nmm)
    return Skip(
        torque_nmm=reference,
        windup_rad=limit.windup_rad,
        direction=direction,
        fall=fall,
        gives_way="teeth break" if ended == "crushed" else max(parts, key=lambda name: parts[name]),
        lower_bound=ended == "crushed",
        retreat_mm=parts,
        generator_share=max(0.0, parts["arm gives"] + parts["carrier shifts"]) / total if total > 0.0 else 0.0,
        lifted_bodies=int((np.hypot(force[..., 0], force[..., 1]) <= 0.0).sum()),
        path_windup_rad=sealed(np.array([place.windup_rad for place in places])),
        path_torque_nmm=sealed(np.array([place.torque_nmm for place in places])),
        by_arc_length=ended == "arc",
        snaps=_snaps(places),
        at_limit=load_share_of(made, limit, winder.solves, winder.iterations, reference),
    )


def wind(winder: Winder, direction: int, reach_nmm: float, fall: float, start: list[Place] | None = None) -> Walk:
    """A walk from rest, or from where ``start`` ends, until the torque is reached ("torque") or the drive skips ("fall").

    A fall of the torque by ``fall`` is a skip only when no torque above the one it fell from is found before the ring has
    gone on by a pitch, its torque has fallen to half or a loaded tooth has passed into another space: a slack ring settles into
    its mesh tooth by tooth, and each such step is a small fall. Ends "crushed", "far" or "lost" as :func:`walk_to`.
    """
    walk = Walk(list(start) if start else [winder.rest()], "lost")
    for _ in range(MOST_SNAPS):
        walk = walk_to(winder, direction, reach_nmm, fall, walk.places, through=True)
        if _passed(winder, walk.places[0], walk.places[-1]):
            return Walk(walk.places, "fall")
        more: list[Place] = []
        if walk.ended == "lost" and (place := _snap(winder, walk.places[-1], direction)):
            more = [place]
        if walk.ended == "fall" or (more and _fallen([*walk.places, *more], direction, fall, winder)):
            more += _look_ahead(winder, [*walk.places, *more], direction)
            if (
                not more
                or direction * more[-1].torque_nmm <= max(direction * p.torque_nmm for p in walk.places)
                or _passed(winder, walk.places[0], more[-1])
            ):
                return Walk([*walk.places, *more], "fall")
        if not more:
            break
        walk = Walk([*walk.places, *more], "lost")
    return walk


def past_the_limit(
    winder: Winder, direction: int, fall: float, say: Progress, start: list[Place] | None = None
) -> tuple[list[Place], str]:
    """Places until the drive has skipped, and how they ended ("fall", "arc" or "crushed").

    From the highest place of a walk in long steps on, the limit is approached in short ones, and followed past itself by arc
    length where no state lies near at held rotation. Raises ConvergenceFault when the path is lost.
    """
    return approached(winder, wind(winder, direction, math.inf, fall, start), direction, fall, say)


def approached(winder: Winder, walk: Walk, direction: int, fall: float, say: Progress) -> tuple[list[Place], str]:
    """:func:`past_the_limit` of a walk in long steps that has been made."""
    if walk.ended == "fall":
        say("past the limit", 0.6)
        highest = max(range(len(walk.places)), key=lambda i: direction * walk.places[i].torque_nmm)
        beyond = walk.places[highest + 1 :]
        walk = walk_to(winder, direction, math.inf, fall, walk.places[: highest + 1])
        if walk.ended == "lost":
            onward = follow(winder, walk.places, direction, fall)
            fallen = _fallen(onward, direction, fall, winder)
            return (onward, "arc") if fallen else ([*walk.places, *beyond], "fall")
    if walk.ended in ("far", "lost", "torque"):
        most = max(direction * place.torque_nmm for place in walk.places)
        what = "the path was lost before the torque had fallen from its largest"
        raise ConvergenceFault([Fault(what, "torque_nmm", 0, f"{most:.6g} N·mm reached")], walk.places)
    return walk.places, walk.ended


def _snaps(places: list[Place]) -> int:
    """How often a drive fell into another state at held rotation."""
    most, count = 0.0, 0
    for last, place in pairwise(places):
        most = max(most, abs(place.torque_nmm))
        count += _hop(last, place) > max(HOP * most, 0.2 * abs(place.torque_nmm - last.torque_nmm))
    return count


def _passed(winder: Winder, rest: Place, place: Place) -> bool:
    """Whether a loaded tooth has moved on against its rigid ring by so much that it lies in another space."""
    drive, numbers = winder.drive, winder.drive.numbers
    force = kernel.tooth_forces(place.state.q, place.state.lean, place.state.extra, numbers)
    for row, at in enumerate(drive.ring_at):
        count = int(numbers.teeth[row])
        node = numbers.tooth_node[row, :count]
        label = np.exp(2j * math.pi * node / drive.nodes)
        turned = [
            (label + p.state.q[node, 3 * row] + 1j * p.state.q[node, 3 * row + 1]) * np.exp(-1j * p.state.extra[at])
            for p in (rest, place)
        ]
        moved = np.abs(np.angle(turned[1] / turned[0]))
        loaded = np.hypot(force[row, :count, 0], force[row, :count, 1]) > 0.0
        if (moved[loaded] > PASSED * drive.drive.rows[row].space.pitch_rad).any():
            return True
    return False


def _look_ahead(winder: Winder, places: list[Place], direction: int) -> list[Place]:
    """States beyond a fall, by held rotation, up to the first that carries more than the drive did before it fell.

    Empty when the torque falls to half or a pitch is passed first: then the drive has skipped.
    """
    pitch = winder.drive.drive.rows[winder.ring].space.pitch_rad
    most = max(direction * place.torque_nmm for place in places)
    last, found = places[-1], []
    for number in range(1, LOOK_AHEAD + 1):
        if direction * last.torque_nmm < SKIPPED * most:
            return []
        wanted = places[-1].windup_rad + direction * number * pitch / LOOK_AHEAD
        place = winder.near_to(wanted, ahead(last, wanted))
        if not place.outcome.settled:
            place = winder.fall_to(wanted, last.state.copy(), SNAP_ITERATIONS)
        if not place.outcome.settled:
            continue
        last = place
        found.append(place)
        if direction * place.torque_nmm > most:
            return found
    return []


def lean_share(winder: Winder, place: Place) -> float:
    """Largest lean of a tooth over its height."""
    heights = np.array([row.outline.height_mm for row in winder.drive.drive.rows])
    return float((np.abs(place.state.lean).max(axis=1) * winder.drive.radius_mm / heights).max())


def _fallen(places: list[Place], direction: int, fall: float, winder: Winder) -> bool:
    most = max(direction * place.torque_nmm for place in places)
    return most > QUIET * winder.drive.torque_unit_nmm and direction * places[-1].torque_nmm < (1.0 - fall) * most


def follow(winder: Winder, places: list[Place], direction: int, fall: float) -> list[Place]:
    """The places carried on by arc length until the torque has fallen, the path is lost or a stretch is done."""
    places = list(places)
    most = max(direction * place.torque_nmm for place in places)
    pitch = winder.drive.drive.rows[winder.ring].space.pitch_rad
    length = FIRST_ARC * pitch
    for _ in range(MOST_ARC_STEPS):
        place, length = _arc_step(winder, places[-1], direction, length, 0.05 * most)
        if place is None:
            break
        places.append(place)
        most = max(most, direction * place.torque_nmm)
        if _fallen(places, direction, fall, winder):
            break
        if place.outcome.iterations <= 6:
            length = min(1.6 * length, LONGEST_STEP * pitch)
    return places


def _snap(winder: Winder, last: Place, direction: int) -> Place | None:
    """The stable state that the drive falls into when it is turned on a little from a place."""
    pitch = winder.drive.drive.rows[winder.ring].space.pitch_rad
    for step in (FINE_STEP, 8.0 * FINE_STEP, 32.0 * FINE_STEP):
        place = winder.fall_to(last.windup_rad + direction * step * pitch, last.state.copy(), SNAP_ITERATIONS)
        if place.outcome.settled:
            return place
    return None


def _arc_step(
    winder: Winder, last: Place, direction: int, length: float, most_change: float
) -> tuple[Place | None, float]:
    """The next place by arc length, and the length that found it.

    Where the path kinks (a contact opens or closes) it may turn back so sharply that no plane across the old direction
    meets it: then the direction is taken from just beyond the kink.
    """
    pitch = winder.drive.drive.rows[winder.ring].space.pitch_rad
    heading = _signed(winder.tangent(last.state), direction)
    least = LEAST_ARC * pitch
    while length > least:
        place = winder.arc_to(last, heading, length)
        if place is not None and abs(place.torque_nmm - last.torque_nmm) <= most_change:
            return place, length
        length *= 0.4
    for beyond in (4.0, 32.0, 256.0):
        probe = last.state.copy()
        probe.q += beyond * least * heading[0]
        probe.extra[winder.free] += beyond * least * heading[1]
        turned = _signed(winder.tangent(probe), direction)
        for size in (1024.0, 128.0, 16.0, 2.0):
            place = winder.arc_to(last, turned, size * least)
            if place is not None and abs(place.torque_nmm - last.torque_nmm) <= most_change:
                return place, size * least
    return None, length


def _signed(heading: tuple[np.ndarray, np.ndarray], direction: int) -> tuple[np.ndarray, np.ndarray]:
    return direction * heading[0], direction * heading[1]


def retreat_mm(made: Drive, rest: Place, loaded: Place) -> dict[str, float]:
    """Parts of the inward retreat of the loaded teeth against the rest, weighted by their forces."""
    numbers, radius = made.numbers, made.radius_mm
    state = loaded.state
    forces = kernel.tooth_forces(state.q, state.lean, state.extra, numbers)
    total = arm = carrier = lean = weight = 0.0
    for row in range(made.rows):
        o = 3 * row
        for tooth in range(int(numbers.teeth[row])):
            force = float(np.hypot(forces[row, tooth, 0], forces[row, tooth, 1]))
            if force <= 0.0:
                continue
            node = numbers.tooth_node[row, tooth]
            label = 2.0 * math.pi * node / made.nodes
            before = np.array([math.cos(label), math.sin(label)]) + rest.state.q[node, o : o + 2]
            after = np.array([math.cos(label), math.sin(label)]) + state.q[node, o : o + 2]
            outward = after / np.hypot(*after)
            weight += force
            total += force * float(np.hypot(*before) - np.hypot(*after))
            carrier -= force * float((state.extra[:2] - rest.state.extra[:2]) @ outward)
            if len(numbers.arm_stiffness):
                near = int(np.argmax(numbers.body_direction @ outward))
                arm -= force * float(state.extra[2 + near] - rest.state.extra[2 + near])
            across, out = abs(forces[row, tooth, 7]), abs(forces[row, tooth, 6])
            lean += force * abs(float(state.lean[row, tooth])) * min(across / max(out, 1e-9), 20.0)
    scale = radius / weight if weight > 0.0 else 0.0
    return {
        "arm gives": arm * scale,
        "carrier shifts": carrier * scale,
        "rim gives": (total - arm - carrier) * scale,
        "teeth lean": lean * scale,
    }


def walk_to(
    winder: Winder,
    side: int,
    reach_nmm: float,
    fall: float = FALL,
    start: list[Place] | None = None,
    through: bool = False,
) -> Walk:
    """Wind up step by step until the torque (size) is reached or has fallen by a share from its largest.

    Steps shorten where the torque changes much or a state is not found, and where a step falls at once. A snap into
    another state ends the walk as "lost", or is walked ``through`` where it costs less torque than the fall.
    """
    pitch = winder.drive.drive.rows[winder.ring].space.pitch_rad
    places = start or [winder.rest()]
    if not places[0].outcome.settled:
        return Walk(places, "lost")
    step, most = FIRST_STEP * pitch, max(side * place.torque_nmm for place in places)
    bound = reach_nmm if math.isfinite(reach_nmm) else 0.0
    quiet = QUIET * winder.drive.torque_unit_nmm
    while abs(places[-1].torque_nmm) < reach_nmm or side * places[-1].torque_nmm < 0.0:
        last = places[-1]
        if abs(last.windup_rad) > FARTHEST * pitch:
            return Walk(places, "far")
        wanted = last.windup_rad + side * step
        foretold = ahead(last, wanted)
        place = winder.near_to(wanted, foretold)
        if not place.outcome.settled and step <= FINE_STEP * pitch:
            place = winder.fall_to(wanted, last.state.copy(), SNAP_ITERATIONS)
        gain = side * (place.torque_nmm - last.torque_nmm)
        scale = max(bound, most)
        found = place.outcome.settled and not (
            most > quiet and step > FINE_STEP * pitch and _strays(last, foretold, place)
        )
        hopped = found and most > quiet and _hop(last, place) > 0.2 * abs(gain) + HOP * scale
        steep = bound > 0.0 and gain > 0.34 * scale
        if not found or hopped or steep:
            least = pitch * (SHORTEST_STEP if found and not hopped else SNAP_STEP if found and through else FINE_STEP)
            if step > least:
                step = max(0.25 * step, least)
                continue
        if not found or (hopped and not through):
            return Walk(places, "lost")
        places.append(place)
        most = max(most, side * place.torque_nmm)
        if most > quiet and side * place.torque_nmm < (1.0 - fall) * most:
            return Walk(places, "fall")
        if lean_share(winder, place) > winder.drive.inputs.lean_limit_share:
            return Walk([*places[:-1], _at_lean_limit(winder, last, place)], "crushed")
        few = place.outcome.iterations <= 8
        if few and gain < (0.1 if bound > 0.0 else 0.25) * max(scale, quiet):
            step = min(1.5 * step, LONGEST_STEP * pitch)
    return Walk(places, "torque")


def _at_lean_limit(winder: Winder, last: Place, place: Place) -> Place:
    """The place between two at which the largest lean meets its limit, so that a lower bound does not hang on steps."""
    limit = winder.drive.inputs.lean_limit_share
    for _ in range(MOST_TRIES):
        before, after = lean_share(winder, last), lean_share(winder, place)
        wanted = last.windup_rad + (limit - before) / (after - before) * (place.windup_rad - last.windup_rad)
        found = winder.near_to(wanted, ahead(place, wanted))
        if not found.outcome.settled:
            break
        lean = lean_share(winder, found)
        if abs(lean / limit - 1.0) < NEAR_LIMIT:
            return found
        last, place = (found, place) if lean < limit else (last, found)
    return place


def _strays(last: Place, start: State, place: Place) -> bool:
    """Whether a place lies as far from where it was foretold as that from the last place: on another branch, as a rule."""
    moved = float(np.abs(start.q - last.state.q).max())
    return float(np.abs(place.state.q - start.q).max()) > ASTRAY * moved


def _hop(last: Place, place: Place) -> float:
    """By how much the torque gained between two places lies outside what their slopes say: large where the drive has snapped,
    none where a contact has closed and the slope with it."""
    step = place.windup_rad - last.windup_rad
    low, high = sorted((last.slope_nmm_per_rad * step, place.slope_nmm_per_rad * step))
    gain = place.torque_nmm - last.torque_nmm
    return max(low - gain, gain - high, 0.0)


def settle_at(winder: Winder, walk: Walk, torque_nmm: float) -> Place:
    """The place of a torque on a walk: by windup along the slopes until the torque is near, then by torque control.

    Raises ConvergenceFault where none is found.
    """
    size = np.abs([place.torque_nmm for place in walk.places])
    after = int(np.argmax(size >= abs(torque_nmm)))
    pair = walk.places[max(after - 1, 0)], walk.places[after]
    slack = 0.5 * abs(pair[1].windup_rad - pair[0].windup_rad) + 1e-9
    for _ in range(MOST_HALVINGS):
        nearest = min(pair, key=lambda place: abs(place.torque_nmm - torque_nmm))
        if abs(nearest.torque_nmm - torque_nmm) <= NEAR * abs(torque_nmm):
            place = winder.load_to(torque_nmm, toward(nearest, torque_nmm))
            low, high = sorted(p.windup_rad for p in pair)
            if place.outcome.settled and low - slack <= place.windup_rad <= high + slack:
                return place
            if abs(nearest.torque_nmm - torque_nmm) <= 1e-9 * abs(torque_nmm):
                return nearest
        place = _inside(winder, pair, _guess(pair, torque_nmm))
        if not place.outcome.settled:
            break
        before = (place.torque_nmm - torque_nmm) * (pair[0].torque_nmm - torque_nmm) > 0.0
        pair = (place, pair[1]) if before else (pair[0], place)
    what = "no equilibrium was found at this torque although torques below and above it have one"
    raise ConvergenceFault([Fault(what, "torque_nmm", 0, f"{torque_nmm:.6g} N·mm")], pair[0])


def _inside(winder: Winder, pair: tuple[Place, Place], windup_rad: float) -> Place:
    """A place between two: at the given windup where a state lies near it, else nearer to one of them, else where the drive
    falls to."""
    ends = sorted(pair, key=lambda place: abs(place.windup_rad - windup_rad))
    for share in (1.0, 0.5, 0.25, 0.125, 0.03):
        for end in ends:
            wanted = end.windup_rad + share * (windup_rad - end.windup_rad)
            place = winder.near_to(wanted, ahead(end, wanted))
            if place.outcome.settled:
                return place
    return winder.fall_to(windup_rad, ends[0].state.copy(), SNAP_ITERATIONS)


def _guess(pair: tuple[Place, Place], torque_nmm: float) -> float:
    """A windup for a torque between two places: where the slope of the nearer one, else of the other, leads well inside."""
    low, high = sorted(place.windup_rad for place in pair)
    inset = 0.02 * (high - low)
    for place in sorted(pair, key=lambda place: abs(place.torque_nmm - torque_nmm)):
        if place.slope_nmm_per_rad > 0.0:
            wanted = place.windup_rad + (torque_nmm - place.torque_nmm) / place.slope_nmm_per_rad
            if low < wanted < high:
                return min(max(wanted, low + inset), high - inset)
    return 0.5 * (low + high)


def check_torque(torque_nmm: float) -> None:
    """Raise DesignFault unless a torque is finite and above 0."""
    if not (math.isfinite(torque_nmm) and torque_nmm > 0.0):
        raise DesignFault([Fault("the torque must be positive", "torque_nmm", 0, f"{torque_nmm:g}", "above 0 N·mm")])


def _skips(walk: Walk, wanted_nmm: float) -> list[Fault]:
    most = max(abs(place.torque_nmm) for place in walk.places)
    what = "the drive carries less than this torque: it skips, or nothing near holds it"
    return [Fault(what, "torque_nmm", 0, f"{abs(wanted_nmm):.6g} N·mm", f"up to about {most:.6g} N·mm")]
