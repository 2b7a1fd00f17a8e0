"""Curves of the drive under torque: windup, the path to the skip, what retreats, transmission error, hysteresis, arms.

Every function takes a finished result (or its arrays) and returns a picture; nothing is computed here but places on paper.
Torques are shown in N·m, windup in arc-minutes, forces in N.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.headline import ARCMIN_PER_RAD
from lobewright.assessment.load_verdicts import GIVES_WAY
from lobewright.picture.display import Anchor, Disc, Group, Item, Path, Picture, Placement, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import PLAIN_PX, SMALL_PX, Frame, box, line, round_ticks, x_axis, y_axis
from lobewright.report.figures import signed
from lobewright.torque.friction_loop import Loop
from lobewright.torque.results import Skip, Windup
from lobewright.torque.transmission import TransmissionError

Array = NDArray[np.float64]

"""Arc-minutes in one radian."""
PART_ROLES = {
    "arm gives": Role.GENERATOR,
    "carrier shifts": Role.LOBE_MARK,
    "rim gives": Role.FLEXIBLE,
    "teeth lean": Role.TOOTH_MARK,
}
PART_WORDS = {
    "arm gives": "arms give",
    "carrier shifts": "carrier shifts",
    "rim gives": "rim bends inward",
    "teeth lean": "teeth lean away",
}


def three(value: float) -> str:
    """Three figures without an exponent, thousands in full, with a true minus sign and no minus zero."""
    if abs(value) < 1e-12:
        return "0"
    rounded = float(f"{value:.3g}") if abs(value) < 1000.0 else value
    places = max(0, 2 - math.floor(math.log10(abs(rounded)) + 1e-9))
    text = f"{rounded:.{min(places, 9)}f}"
    return text.replace("-", "−") if float(text) else "0"


def newton_metres(torque_nmm: float) -> str:
    """A torque in N·m with three figures."""
    return f"{three(torque_nmm / 1000.0)} N·m"


def slope_nm(stiffness_nmm_per_rad: float) -> float:
    """A stiffness in N·m per arc-minute."""
    return stiffness_nmm_per_rad / 1000.0 / ARCMIN_PER_RAD


def _span(values: Array, room: float = 0.06) -> tuple[float, float]:
    """Lowest and highest of zero and the values, with room beyond both."""
    low, high = min(0.0, float(values.min())), max(0.0, float(values.max()))
    wide = (high - low) or 1.0
    return low - room * wide, high + room * wide


def _axes(frame: Frame, x_title: str, y_title: str) -> list[Item]:
    return [
        *y_axis(frame, y_title, round_ticks(frame.y_low, frame.y_high)),
        *x_axis(frame, x_title, round_ticks(frame.x_low, frame.x_high)),
    ]


def _drawn(frame: Frame, x: Array, y: Array, role: Role = Role.FLEXIBLE, px: float = 2.5, dash: float = 0.0) -> Item:
    path = Path((frame.curve(x, y),), closed=False, line=role, line_px=px, dash_px=dash)
    return Group((path,), (Placement(),), clip=frame.clip())


def _measure(frame: Frame, low: float, high: float, y: float, role: Role) -> list[Item]:
    """A measured width: a bar with a stop at both ends."""
    x0, x1 = frame.x(low), frame.x(high)
    stops: list[Item] = [line((x, y - 5), (x, y + 5), role, 1.5) for x in (x0, x1)]
    return [line((x0, y), (x1, y), role, 3.0), *stops]


def windup_chart(found: Windup, width_px: float) -> Picture:
    """Figure: torque against windup from −T to T, with free play, lost motion and the slopes of its bands."""
    turn = found.windup_rad * ARCMIN_PER_RAD
    torque = found.torque_nmm / 1000.0
    reach = found.reach_nmm / 1000.0
    wide = 1.06 * float(np.abs(turn).max())
    frame = Frame(58.0, 52.0, width_px - 14.0, 330.0, -wide, wide, -1.12 * reach, 1.12 * reach)

    def at(share: float) -> float:
        return float(np.interp(share * reach, torque, turn))

    lost = found.lost_motion_share
    items: list[Item] = [
        *_axes(frame, "windup, arc-minutes", "torque, N·m"),
        line(frame.at(-wide, 0.0), frame.at(wide, 0.0), Role.INK, 1.0),
        line(frame.at(0.0, frame.y_low), frame.at(0.0, frame.y_high), Role.RULE, 1.0),
        _drawn(frame, turn, torque),
    ]
    for low, high in found.bands:
        for side in (-1, 1):
            for share in (low, high):
                items.append(Disc(frame.at(at(side * share), side * share * reach), 3.2, fill=Role.FLEXIBLE))
    play, moved = found.free_play_rad * ARCMIN_PER_RAD, found.lost_motion_rad * ARCMIN_PER_RAD
    middle, shifted = 0.5 * (at(1e-4) + at(-1e-4)), 0.5 * (at(lost) + at(-lost))
    y_play, y_lost = frame.y(0.0) - 40.0, frame.y(0.0) - 80.0
    for centre, size, y in ((middle, play, y_play), (shifted, moved, y_lost)):
        for end in (centre - size / 2, centre + size / 2):
            items.append(line((frame.x(end), frame.y(0.0)), (frame.x(end), y), Role.TOOTH_MARK, 1.0, 3.0))
        items += _measure(frame, centre - size / 2, centre + size / 2, y, Role.TOOTH_MARK)
    x = max(frame.x(shifted), frame.x(0.0)) + 8.0
    items += [
        *_label((x, y_play - 17.0), f"free play {three(play)}′"),
        *_label((x, y_lost - 17.0), f"lost motion {three(moved)}′ (± {100 * lost:g} %)"),
        *_slopes(found, frame),
        frame.box(),
    ]
    slopes = ", ".join(three(slope_nm(k)) for k in found.stiffness_nmm_per_rad)
    return Picture(
        (0.0, 6.0, width_px, 360.0),
        tuple(items),
        "Torque against windup",
        f"From −{three(reach)} to {three(reach)} N·m; free play {three(play)} arc-minutes, lost motion {three(moved)} "
        f"arc-minutes; slopes {slopes} N·m per arc-minute.",
    )


def _label(at: tuple[float, float], text: str, anchor: Anchor = Anchor.START, role: Role = Role.INK) -> list[Item]:
    return [Text(at, text, SMALL_PX, role, anchor)]


def _slopes(found: Windup, frame: Frame) -> list[Item]:
    """Stiffness by band, written into the corner that the curve leaves empty."""
    x, y = frame.left + 10.0, frame.top - 18.0
    items: list[Item] = [Text((x, y), "slope, N·m per arc-minute", SMALL_PX, Role.QUIET)]
    for row, ((low, high), slope) in enumerate(zip(found.bands, found.stiffness_nmm_per_rad, strict=True)):
        y_row = y - 18.0 * (row + 1)
        items.append(Text((x, y_row), f"{100 * low:g} to {100 * high:g} %", SMALL_PX, Role.INK))
        items.append(Text((x + 150.0, y_row), three(slope_nm(slope)), SMALL_PX, Role.INK, Anchor.END, strong=True))
    return items


def skip_chart(
    found: Skip,
    width_px: float,
    *,
    needed_nmm: float | None = None,
    low_nmm: float | None = None,
    high_nmm: float | None = None,
) -> Picture:
    """Figure: torque along the path to the skip and past it, with the limit, the torque that is needed and a band.

    ``needed_nmm``: the largest torque asked of the drive; ``low_nmm`` and ``high_nmm``: the skip torque's band.
    """
    turn = found.direction * found.path_windup_rad * ARCMIN_PER_RAD
    torque = found.direction * found.path_torque_nmm / 1000.0
    limit, there = found.torque_nmm / 1000.0, found.direction * found.windup_rad * ARCMIN_PER_RAD
    top = 1.16 * max(limit, (high_nmm or 0.0) / 1000.0, (needed_nmm or 0.0) / 1000.0)
    low, high = _span(turn)
    frame = Frame(58.0, 52.0, width_px - 14.0, 330.0, min(low, 0.0), high, min(0.0, float(torque.min())), top)
    items = _axes(frame, "windup, arc-minutes", "torque, N·m")
    if low_nmm is not None and high_nmm is not None:
        y0, y1 = frame.y(low_nmm / 1000.0), frame.y(high_nmm / 1000.0)
        items.append(Group((box(frame.left, y0, frame.right, y1, fill=Role.GENERATOR_SOFT),), fade=0.6))
        words = f"90 % band {three(low_nmm / 1000)} to {three(high_nmm / 1000)} N·m"
        items += _label((frame.left + 8.0, y1 - 16.0 if y1 - y0 > 20.0 else y1 + 5.0), words)
    spot = frame.at(there, limit)
    if needed_nmm is not None:
        y = frame.y(needed_nmm / 1000.0)
        items.append(line((frame.left, y), (frame.right, y), Role.INK, 1.2, 6.0))
        # where the curve has left the line well below it, else where it has not yet reached it
        at, anchor = (
            (spot[0] - 8.0, Anchor.END) if needed_nmm < 0.5 * found.torque_nmm else (frame.left + 8.0, Anchor.START)
        )
        items += _label((at, y + 5.0), f"asked of it {newton_metres(needed_nmm)}", anchor)
    word = "at least" if found.lower_bound else "skips at"
    name = f"{word} {newton_metres(found.torque_nmm)}, {three(there)}′"
    beyond = spot[0] > 0.5 * (frame.left + frame.right)
    items += [
        _drawn(frame, turn, torque),
        line((spot[0], frame.bottom), spot, Role.TOOTH_MARK, 1.0, 3.0),
        Disc(spot, 5.0, fill=Role.TOOTH_MARK, line=Role.PAPER),
        Text(
            (spot[0] + (4.0 if beyond else 10.0), spot[1] + 12.0),
            name,
            PLAIN_PX,
            Role.TOOTH_MARK,
            Anchor.END if beyond else Anchor.START,
            strong=True,
        ),
        frame.box(),
    ]
    return Picture(
        (0.0, 6.0, width_px, 360.0),
        tuple(items),
        "Torque on the way to the skip",
        f"The torque is largest, {newton_metres(found.torque_nmm)}, at {three(there)} arc-minutes of windup; what gives "
        f"way is {GIVES_WAY.get(found.gives_way, found.gives_way)}.",
    )


def retreat_chart(found: Skip, width_px: float) -> Picture:
    """Figure: by how much each part lets the loaded teeth retreat at the limit, in mm."""
    names = list(found.retreat_mm)
    values = np.array([found.retreat_mm[name] for name in names], dtype=float)
    low, high = _span(values, 0.0)
    room = 0.2 * ((high - low) or 1.0)
    step = 30.0
    tall = step * len(names)
    frame = Frame(
        132.0, 52.0, width_px - 14.0, 52.0 + tall, low - (room if low < 0 else 0.0), (high or 1.0) + room, 0, tall
    )
    items: list[Item] = [*x_axis(frame, "retreat of the loaded teeth, mm", round_ticks(frame.x_low, frame.x_high))]
    for row, (name, value) in enumerate(zip(names, values, strict=True)):
        top = frame.top - step * row - 5.0
        zero, end = frame.x(0.0), frame.x(float(value))
        most = name == found.gives_way
        role = PART_ROLES.get(name, Role.NOT_MADE)
        look = box(min(zero, end), top - 20.0, max(zero, end), top)
        items.append(Path(look.loops, fill=role if most else None, hatch=None if most else role, line=role))
        words = PART_WORDS.get(name, name) if value >= 0.0 or name != "rim gives" else "rim bulges outward"
        items.append(Text((frame.left - 8.0, top - 14.0), words, SMALL_PX, Role.INK, Anchor.END, strong=most))
        away, anchor = (6.0, Anchor.START) if value >= 0.0 else (-6.0, Anchor.END)
        items.append(Text((end + away, top - 14.0), signed(float(value)), SMALL_PX, Role.INK, anchor, strong=most))
    items += [line((frame.x(0.0), frame.bottom), (frame.x(0.0), frame.top), Role.INK, 1.5), frame.box()]
    parts = "; ".join(
        f"{PART_WORDS.get(name, name)} {signed(float(v))} mm" for name, v in zip(names, values, strict=True)
    )
    return Picture(
        (0.0, 6.0, width_px, frame.top + 12.0), tuple(items), "What lets the teeth go", f"At the limit: {parts}."
    )


def sampled_pieces(turn_rad: Array) -> list[slice]:
    """Runs of positions that follow each other: where the generator was moved on to another place a new one begins."""
    steps = np.diff(turn_rad)
    if not len(steps):
        return [slice(0, len(turn_rad))]
    breaks = np.flatnonzero(steps > 1.5 * float(np.median(steps))) + 1
    ends = [0, *(int(at) for at in breaks), len(turn_rad)]
    return [slice(first, last) for first, last in itertools.pairwise(ends)]


def transmission_chart(found: TransmissionError, width_px: float) -> Picture:
    """Figure: error of the output's angle over turns of the generator, in arc-minutes, position by position."""
    degrees, error = np.degrees(found.generator_turn_rad), found.error_rad * ARCMIN_PER_RAD
    low, high = _span(error, 0.1)
    left, right = float(degrees.min()), float(degrees.max())
    room = 0.02 * ((right - left) or 1.0)
    frame = Frame(58.0, 52.0, width_px - 14.0, 250.0, left - room, right + room, low, high)
    items = _axes(frame, "turn of the generator, degrees", "error of the output, arc-minutes")
    items.append(line(frame.at(frame.x_low, 0.0), frame.at(frame.x_high, 0.0), Role.INK, 1.0))
    pieces = sampled_pieces(found.generator_turn_rad)
    if len(pieces) > 1:
        middles = np.array([(degrees[piece].mean(), error[piece].mean()) for piece in pieces])
        items.append(_drawn(frame, middles[:, 0], middles[:, 1], role=Role.QUIET, px=1.2, dash=4.0))
    for piece in pieces:
        if piece.stop - piece.start > 1:
            items.append(_drawn(frame, degrees[piece], error[piece], px=1.8))
        if len(pieces) == 1:
            items += [Disc(spot, 2.6, fill=Role.FLEXIBLE) for spot in frame.curve(degrees[piece], error[piece])]
    for k in (int(np.argmax(error)), int(np.argmin(error))):
        items.append(Disc(frame.at(float(degrees[k]), float(error[k])), 4.0, fill=Role.TOOTH_MARK))
    items.append(frame.box())
    return Picture(
        (0.0, 6.0, width_px, 280.0),
        tuple(items),
        "Transmission error",
        f"From its lowest to its highest place the error spans {three(found.peak_to_peak_rad * ARCMIN_PER_RAD)} arc-minutes.",
    )


def spectrum_chart(found: TransmissionError, width_px: float, named: int = 3) -> Picture:
    """Figure: amplitude of the transmission error by order (times a turn of the generator); the largest are named."""
    orders, size = found.orders, found.amplitude_rad * ARCMIN_PER_RAD
    most = float(size.max(initial=0.0)) or 1.0
    frame = Frame(58.0, 52.0, width_px - 14.0, 230.0, 0.0, 1.06 * float(orders.max(initial=1.0)), 0.0, 1.28 * most)
    items = _axes(frame, "order: times a turn of the generator", "amplitude, arc-minutes")
    wide = float(np.clip(0.3 * (frame.right - frame.left) / max(len(orders), 1), 2.0, 8.0))
    for order, value in zip(orders, size, strict=True):
        x, y = frame.at(float(order), float(value))
        items.append(box(x - wide / 2, frame.bottom, x + wide / 2, max(y, frame.bottom + 0.5), fill=Role.FLEXIBLE))
    first = np.argsort(-size, kind="stable")[:named]
    taken: list[float] = []
    for k in first:
        x, y = frame.at(float(orders[k]), float(size[k]))
        if size[k] < 0.02 * most or any(abs(x - other) < 44.0 for other in taken):
            continue
        taken.append(x)
        spot = (float(np.clip(x, frame.left + 18.0, frame.right - 18.0)), y + 5.0)
        items.append(Text(spot, f"{float(orders[k]):.5g} ×", SMALL_PX, Role.INK, Anchor.MIDDLE, strong=True))
    items.append(frame.box())
    told = "; ".join(f"order {float(orders[k]):.5g}: {three(float(size[k]))} arc-minutes" for k in first)
    return Picture((0.0, 6.0, width_px, 260.0), tuple(items), "Transmission error by order", f"Largest: {told}.")


def hysteresis_chart(found: Loop, width_px: float) -> Picture:
    """Figure: torque against windup with friction, first loading dashed, then back and forth; wedges tell the way."""
    turn, torque = found.windup_rad * ARCMIN_PER_RAD, found.torque_nmm / 1000.0
    x0, x1 = _span(turn)
    y0, y1 = _span(torque, 0.1)
    frame = Frame(58.0, 52.0, width_px - 14.0, 310.0, x0, x1, y0, y1)
    items: list[Item] = [
        *_axes(frame, "windup, arc-minutes", "torque, N·m"),
        line(frame.at(x0, 0.0), frame.at(x1, 0.0), Role.INK, 1.0),
        line(frame.at(0.0, y0), frame.at(0.0, y1), Role.RULE, 1.0),
    ]
    for branch in np.unique(found.branch):
        on = np.flatnonzero(found.branch == branch)
        if branch > 0 and on[0] > 0:
            on = np.concatenate(([on[0] - 1], on))
        if len(on) < 2:
            continue
        first = branch == 0
        items.append(
            _drawn(
                frame, turn[on], torque[on], Role.QUIET if first else Role.FLEXIBLE, 1.4 if first else 2.4, 4.0 * first
            )
        )
        if not first:
            items += _ways(np.array(frame.curve(turn[on], torque[on])), (0.25, 0.6))
    items.append(frame.box())
    return Picture(
        (0.0, 6.0, width_px, 340.0),
        tuple(items),
        "Torque against windup, to and fro with friction",
        f"Friction takes {three(found.dissipated_nmm)} mJ in one cycle; at no torque the two ways are "
        f"{three(found.hysteresis_rad * ARCMIN_PER_RAD)} arc-minutes apart.",
    )


def _ways(points: Array, marks: Sequence[float]) -> list[Item]:
    """Arrow heads on a curve that tell which way it is run."""
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    items: list[Item] = []
    for mark in marks:
        place = [np.interp(np.array([mark * run[-1] - 5.0, mark * run[-1] + 5.0]), run, points[:, k]) for k in (0, 1)]
        (xa, xb), (ya, yb) = place
        size = math.hypot(xb - xa, yb - ya)
        if size < 1e-6:
            continue
        ux, uy = (xb - xa) / size, (yb - ya) / size
        x, y = (xa + xb) / 2, (ya + yb) / 2
        head = (
            (x + 7 * ux, y + 7 * uy),
            (x - 5 * ux - 5 * uy, y - 5 * uy + 5 * ux),
            (x - 5 * ux + 5 * uy, y - 5 * uy - 5 * ux),
        )
        items.append(Path((head,), fill=Role.GENERATOR))
    return items


def arm_chart(arm_n_per_mm: Array, torque_nmm: Array, own_n_per_mm: float, width_px: float) -> Picture:
    """Figure: skip torque over the stiffness of the generator's arms (logarithmic), the design's own arm marked."""
    stiff, torque = np.log10(np.asarray(arm_n_per_mm)), np.asarray(torque_nmm) / 1000.0
    own = math.log10(own_n_per_mm)
    low, high = min(float(stiff.min()), own) - 0.05, max(float(stiff.max()), own) + 0.05
    frame = Frame(58.0, 52.0, width_px - 14.0, 290.0, low, high, 0.0, 1.2 * float(torque.max()))
    ticks = [
        math.log10(size * 10.0**power)
        for power in range(math.floor(low) - 1, math.ceil(high) + 1)
        for size in (1.0, 2.0, 5.0)
        if low <= math.log10(size * 10.0**power) <= high
    ]
    names = [f"{10.0 ** (tick - 3.0):.3g}" for tick in ticks]
    here = float(np.interp(own, stiff, torque))
    inside = float(stiff.min()) - 1e-9 <= own <= float(stiff.max()) + 1e-9
    items: list[Item] = [
        *y_axis(frame, "skip torque, N·m", round_ticks(0.0, frame.y_high)),
        *x_axis(frame, "stiffness of one arm, kN/mm", ticks, names),
        _drawn(frame, stiff, torque),
        *(Disc(spot, 3.4, fill=Role.FLEXIBLE) for spot in frame.curve(stiff, torque)),
        line((frame.x(own), frame.bottom), (frame.x(own), frame.y(here)), Role.TOOTH_MARK, 1.5, 4.0),
    ]
    if inside:
        right = own < 0.6 * low + 0.4 * high
        spot = frame.at(own, here)
        items += [
            Disc(spot, 5.0, fill=Role.TOOTH_MARK, line=Role.PAPER),
            Text(
                (spot[0] + (10.0 if right else -10.0), spot[1] + (-18.0 if right else 10.0)),
                f"this drive: {three(here)} N·m",
                PLAIN_PX,
                Role.TOOTH_MARK,
                Anchor.START if right else Anchor.END,
                strong=True,
            ),
        ]
    items.append(frame.box())
    return Picture(
        (0.0, 6.0, width_px, 320.0),
        tuple(items),
        "Skip torque over the stiffness of the arms",
        f"From {three(float(torque.min()))} to {three(float(torque.max()))} N·m; this drive's arms have "
        f"{three(own_n_per_mm / 1000.0)} kN/mm.",
    )
