"""What the ring and its bodies feel, over the place round the ring: section moment, stress, skew and roll, body forces."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.picture.display import Anchor, Group, Item, Path, Picture, Placement, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import SMALL_PX, Frame, box, line, round_ticks, x_axis, y_axis
from lobewright.report.drive_scene import ring_roles, wheel_centres
from lobewright.report.figures import short_name
from lobewright.report.load_figures import three
from lobewright.report.load_rose import body_pushes
from lobewright.torque.results import LoadShare

Array = NDArray[np.float64]

ROUND_TICKS = (-180.0, -90.0, 0.0, 90.0, 180.0)
PLACE_TITLE = "place along the ring, counted from a lobe, degrees"


def _by_label(label_deg: Array, values: Array) -> tuple[Array, Array]:
    """Values over rising labels, the circle closed at both ends."""
    order = np.argsort(label_deg, kind="stable")
    label, sorted_values = label_deg[order], values[order]
    seam = float(np.interp(180.0, label, sorted_values, period=360.0))
    return np.concatenate(([-180.0], label, [180.0])), np.concatenate(([seam], sorted_values, [seam]))


def _limits(curves: Sequence[Array], room: float = 0.1) -> tuple[float, float]:
    low = min(0.0, *(float(curve.min()) for curve in curves))
    high = max(0.0, *(float(curve.max()) for curve in curves))
    wide = (high - low) or 1.0
    return low - room * wide, high + room * wide


def _curve(frame: Frame, x: Array, y: Array, role: Role, dash: float) -> Item:
    path = Path((frame.curve(x, y),), closed=False, line=role, line_px=2.2, dash_px=dash)
    return Group((path,), (Placement(),), clip=frame.clip())


def _names(share: LoadShare) -> list[tuple[Role, str]]:
    """Colour and name of each row's curve; a cup has one, of the flexible ring."""
    if len(share.rows) == 1:
        return [(Role.FLEXIBLE, "")]
    return [(ring_roles(i)[0], f"at ring {short_name(row.name)}") for i, row in enumerate(share.rows)]


def _body_marks(a: Assessment, frame: Frame) -> list[Item]:
    """Small wedges under the frame's floor where rollers or discs stand."""
    if isinstance(a.design.generator, m.Cam):
        return []
    items: list[Item] = []
    for x, y in wheel_centres(a):
        label = math.degrees(math.atan2(y, x))
        for place in (label, label + 360.0, label - 360.0):
            if -180.0 - 1e-6 <= place <= 180.0 + 1e-6:
                at = frame.x(place)
                items.append(
                    Path(
                        (((at - 5, frame.bottom), (at + 5, frame.bottom), (at, frame.bottom + 9)),), fill=Role.GENERATOR
                    )
                )
    return items


def _key(entries: Sequence[tuple[Role, float, str]], right: float, y: float) -> list[Item]:
    """Line samples with their names, side by side, ending at ``right``."""
    items: list[Item] = []
    for role, dash, words in reversed(entries):
        items.append(Text((right, y), words, SMALL_PX, Role.INK, Anchor.END))
        right -= 6.5 * len(words) + 7.0
        items.append(line((right - 28.0, y + 4.0), (right, y + 4.0), role, 2.2, dash))
        right -= 44.0
    return items


def _row_chart(
    a: Assessment, curves: Sequence[tuple[Array, Array, Role, float]], frame: Frame, y_title: str, foot: bool
) -> list[Item]:
    texts = [f"{tick:.0f}".replace("-", "−") for tick in ROUND_TICKS]
    axis = x_axis(frame, PLACE_TITLE, ROUND_TICKS, texts) if foot else []
    return [
        *y_axis(frame, y_title, round_ticks(frame.y_low, frame.y_high)),
        *axis,
        line(frame.at(-180.0, 0.0), frame.at(180.0, 0.0), Role.INK, 1.0),
        *_body_marks(a, frame),
        *(_curve(frame, *_by_label(x, y), role, dash) for x, y, role, dash in curves),
        frame.box(),
    ]


def section_chart(a: Assessment, share: LoadShare, width_px: float) -> Picture:
    """Figure: section moment and stress of both faces of the plain wall round the ring."""
    names = _names(share)
    moments = [
        (row.section_label_deg, row.moment_nmm, role, 0.0) for row, (role, _) in zip(share.rows, names, strict=True)
    ]
    stresses = [
        (row.section_label_deg, values, role, dash)
        for row, (role, _) in zip(share.rows, names, strict=True)
        for values, dash in ((row.outer_stress_mpa, 0.0), (row.inner_stress_mpa, 5.0))
    ]
    low, high = _limits([curve[1] for curve in stresses])
    lower = Frame(58.0, 52.0, width_px - 14.0, 232.0, -180.0, 180.0, low, high)
    low, high = _limits([curve[1] for curve in moments])
    upper = Frame(58.0, 292.0, width_px - 14.0, 452.0, -180.0, 180.0, low, high)
    items = [
        *_row_chart(a, stresses, lower, "stress, MPa", True),
        *_row_chart(a, moments, upper, "section moment, N·mm", False),
        *_key([(Role.INK, 0.0, "outer face"), (Role.INK, 5.0, "inner face")], lower.right, lower.top + 12.0),
    ]
    if len(share.rows) > 1:
        items += _key([(role, 0.0, words) for role, words in names], upper.right, upper.top + 12.0)
    most = max(float(np.abs(curve[1]).max()) for curve in stresses)
    bend = max(float(np.abs(curve[1]).max()) for curve in moments)
    return Picture(
        (0.0, 6.0, width_px, upper.top + 32.0),
        tuple(items),
        "Moment and stress round the ring",
        f"Largest section moment {three(bend)} N·mm, largest stress of the plain wall {three(most)} MPa.",
    )


def skew_roll_chart(a: Assessment, share: LoadShare, width_px: float) -> Picture:
    """Figure: how far the second row of a two-ring drive lies along (skew) and outward (roll) of the first."""
    label = share.rows[0].section_label_deg
    micro = [1000.0 * share.skew_mm, 1000.0 * share.roll_mm]
    low, high = _limits(micro)
    frame = Frame(58.0, 52.0, width_px - 14.0, 250.0, -180.0, 180.0, low, high)
    curves = [(label, micro[0], Role.FLEXIBLE, 0.0), (label, micro[1], Role.RING_B, 6.0)]
    items = [
        *_row_chart(a, curves, frame, "shift of the second row, µm", True),
        *_key([(Role.FLEXIBLE, 0.0, "along"), (Role.RING_B, 6.0, "outward")], frame.right, frame.top + 12.0),
    ]
    skew, roll = (float(np.abs(values).max()) for values in micro)
    return Picture(
        (0.0, 6.0, width_px, 282.0),
        tuple(items),
        "Skew and roll between the two rows",
        f"Largest shift along the ring {three(skew)} µm, outward {three(roll)} µm.",
    )


def body_names(a: Assessment) -> list[str]:
    """What each body of the generator is called, in the order of the results."""
    generator = a.design.generator
    if isinstance(generator, m.Cam):
        return ["cam, net"]
    word = "disc" if isinstance(generator, m.Discs) else "roller"
    places = [math.degrees(math.atan2(y, x)) for x, y in wheel_centres(a)]
    return [f"{word} at {round(place) + 0:.0f}°".replace("-", "−") for place in places]


def body_chart(a: Assessment, share: LoadShare, width_px: float) -> Picture:
    """Figure: force of every roller, disc or cam on each row, and of the bearing that carries the generator."""
    names = [*body_names(a), "carrier's bearing"]
    forces = [np.hypot(*body_pushes(share, i).T) for i in range(len(share.rows))]
    carrier = float(np.hypot(*share.carrier_force_n))
    most = max(carrier, *(float(values.max()) for values in forces)) or 1.0
    bar = 14.0
    step = bar * len(forces) + 12.0
    tall = step * (len(names) - 1) + bar + 12.0
    frame = Frame(122.0, 52.0, width_px - 14.0, 52.0 + tall, 0.0, 1.18 * most, 0.0, tall)
    items: list[Item] = [*x_axis(frame, "force, N", round_ticks(0.0, frame.x_high))]
    for k, name in enumerate(names):
        top = frame.top - step * k - 6.0
        rows = [values[k] for values in forces] if k < len(names) - 1 else [carrier]
        items.append(Text((frame.left - 8.0, top - bar * len(rows) / 2 - 4.0), name, SMALL_PX, Role.INK, Anchor.END))
        for i, value in enumerate(rows):
            edge, soft = (
                ring_roles(i) if k < len(names) - 1 and len(forces) > 1 else (Role.GENERATOR, Role.GENERATOR_SOFT)
            )
            y = top - bar * i
            end = frame.x(float(value))
            items.append(
                Path(box(frame.left, y - bar + 2.0, max(end, frame.left + 0.5), y).loops, fill=soft, line=edge)
            )
            items.append(Text((end + 6.0, y - bar / 2 - 3.5), three(float(value)), SMALL_PX, Role.INK))
    items.append(frame.box())
    if len(forces) > 1:
        items += _key([(role, 0.0, words) for role, words in _names(share)], frame.right, frame.top + 9.0)
    told = "; ".join(
        f"{name} {' and '.join(three(float(v[k])) for v in forces)} N" for k, name in enumerate(names[:-1])
    )
    return Picture(
        (0.0, 6.0, width_px, frame.top + 28.0),
        tuple(items),
        "Forces of the generator",
        f"{told}; carrier's bearing {three(carrier)} N.",
    )
