"""Pictures of the flexible ring's stress: round the rim at rest and at the peak, and along a cup from boss to open edge."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lobewright.picture.display import Anchor, Disc, Item, Path, Picture, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import SMALL_PX, Frame, line, round_ticks, x_axis, y_axis
from lobewright.report.life_numbers import fitted
from lobewright.report.life_plots_axes import Names, curve, key, overlap, text_box
from lobewright.report.load_figures import newton_metres, three
from lobewright.strength.course import CupProfile, StressCourse

Array = NDArray[np.float64]
HOOP = 1
ROUND_TICKS = (-180.0, -90.0, 0.0, 90.0, 180.0)
INSIDE, OUTSIDE = 0, 1
SEGMENTS = {"diaphragm": "diaphragm", "corner": "corner", "barrel": "barrel", "rim": "toothed rim"}


def _limits(values: Sequence[Array]) -> tuple[float, float]:
    """Lowest and highest of zero and the values, with room beyond both."""
    low, high = min(0.0, *(float(v.min()) for v in values)), max(0.0, *(float(v.max()) for v in values))
    room = 0.16 * ((high - low) or 1.0)
    return low - (room if low < 0.0 else 0.0), high + room


def closed(course: StressCourse, torque_nmm: float) -> tuple[Array, Array]:
    """Labels from −180 to 180 and the hoop stress there, the circle closed."""
    label, hoop = course.label_deg, course.at(torque_nmm)[:, HOOP]
    order = np.argsort(label, kind="stable")
    label, hoop = label[order], hoop[order]
    return np.append(label, label[0] + 360.0), np.append(hoop, hoop[0])


def lobe_labels(lobes: int) -> tuple[float, ...]:
    """Labels of the lobes within −180 … 180; one at the seam stands at both ends."""
    places = (360.0 * k / lobes + turn for k in range(lobes) for turn in (-360.0, 0.0))
    return tuple(sorted(place for place in places if -180.0 <= place <= 180.0))


def _lobe_marks(frame: Frame, lobes: int, named: bool) -> list[Item]:
    items: list[Item] = []
    for label in lobe_labels(lobes):
        x = frame.x(label)
        wedge = ((x - 5.0, frame.bottom), (x + 5.0, frame.bottom), (x, frame.bottom + 9.0))
        items += [
            line((x, frame.bottom), (x, frame.top), Role.LOBE_MARK, 1.2, 3.0),
            Path((wedge,), fill=Role.LOBE_MARK),
        ]
        if named:
            anchor = Anchor.END if label >= 180.0 else Anchor.START if label <= -180.0 else Anchor.MIDDLE
            items.append(Text((x, frame.top + 4.0), "lobe", SMALL_PX, Role.QUIET, anchor))
    return items


def rim_chart(courses: Sequence[StressCourse], peak_nmm: float, lobes: int, width_px: float) -> Picture:
    """Figure: hoop stress round the rim, one panel for each of ``courses``, at rest (dashed) and at ``peak_nmm``."""
    drawn = [(course, closed(course, 0.0), closed(course, peak_nmm)) for course in courses]
    low, high = _limits([hoop for _, rest, peak in drawn for hoop in (rest[1], peak[1])])
    tall, step = 150.0, 206.0
    items: list[Item] = []
    told = []
    for row, (course, rest, peak) in enumerate(reversed(drawn)):
        bottom = 52.0 + step * row
        frame = Frame(58.0, bottom, width_px - 14.0, bottom + tall, -180.0, 180.0, low, high)
        names = Names(frame)
        for found in (rest, peak):
            names.keep_clear(frame.curve(*found))
        for label in lobe_labels(lobes):
            names.keep_clear((frame.at(label, low), frame.at(label, high)))
        texts = [f"{tick:.0f}".replace("-", "−") for tick in ROUND_TICKS]
        foot = "place round the ring, counted from a lobe, degrees"
        title = f"{fitted(course.title, 42)}, {course.surface}: hoop stress, MPa"
        items += [
            *_axes_of(frame, low, high),
            Text((frame.left - 44.0, frame.top + 24.0), title, SMALL_PX, Role.INK, strong=True),
            *(x_axis(frame, foot, ROUND_TICKS, texts) if row == 0 else []),
            line(frame.at(-180.0, 0.0), frame.at(180.0, 0.0), Role.INK, 1.0),
            *_lobe_marks(frame, lobes, True),
            curve(frame, *rest, role=Role.QUIET, line_px=1.8, dash_px=5.0),
            curve(frame, *peak),
        ]
        for k in sorted({int(peak[1].argmax()), int(peak[1].argmin())}):
            spot = frame.at(float(peak[0][k]), float(peak[1][k]))
            items.append(Disc(spot, 3.6, fill=Role.TOOTH_MARK))
            items += names.put(spot, three(float(peak[1][k])), Role.TOOTH_MARK, strong=True)
        items.append(frame.box())
        told.append(
            f"{course.title}, {course.surface}: {three(float(peak[1].min()))} to {three(float(peak[1].max()))} MPa at the peak, "
            f"{three(float(rest[1].min()))} to {three(float(rest[1].max()))} MPa at rest"
        )
    top = 52.0 + step * (len(drawn) - 1) + tall
    entries = [(Role.FLEXIBLE, 0.0, f"at {newton_metres(peak_nmm)}"), (Role.QUIET, 5.0, "at rest")]
    items += key(entries, 14.0, top + 48.0)
    view = (0.0, 6.0, width_px, top + 66.0)
    return Picture(view, tuple(items), "Stress round the rim", f"{'; '.join(reversed(told))}.")


def _axes_of(frame: Frame, low: float, high: float) -> list[Item]:
    return y_axis(frame, "", round_ticks(low, high))[1:]


def _starts(profile: CupProfile) -> list[int]:
    """First station of every segment, and one past the last station."""
    names = profile.segment
    return [0, *(k for k in range(1, len(names)) if names[k] != names[k - 1]), len(names)]


def segments(profile: CupProfile) -> list[tuple[str, float, float]]:
    """Runs of stations of one name: (name, first arc, last arc), borders half way between stations."""
    arc, names = profile.arc_mm, profile.segment
    starts = _starts(profile)
    edges = [float(arc[0])]
    edges += [float(arc[k - 1] + arc[k]) / 2 for k in starts[1:-1]]
    edges.append(float(arc[-1]))
    return [(names[starts[k]], edges[k], edges[k + 1]) for k in range(len(starts) - 1)]


def _segment_marks(frame: Frame, profile: CupProfile, named: bool) -> list[Item]:
    """Borders of the segments; their names above the frame, a second line where one would run into the other."""
    items: list[Item] = []
    taken: list[tuple[float, float, float, float]] = []
    for name, start, end in segments(profile):
        if start > frame.x_low:
            items.append(line((frame.x(start), frame.bottom), (frame.x(start), frame.top), Role.RULE, 1.2, 3.0))
        if not named:
            continue
        middle = frame.x((start + end) / 2)
        for up in (6.0, 20.0, 34.0):
            text = Text((middle, frame.top + up), SEGMENTS.get(name, name), SMALL_PX, Role.INK, Anchor.MIDDLE)
            box = text_box(text)
            beyond = max(0.0, box[2] - frame.right) + min(0.0, box[0] - frame.left)
            text = replace(text, at=(middle - beyond, text.at[1]))
            box = text_box(text)
            if not any(overlap(box, other) > 0.0 for other in taken):
                break
        taken.append((box[0] - 6.0, box[1], box[2] + 6.0, box[3]))
        items.append(text)
        if up > 6.0:
            items.append(line((middle, frame.top), (middle, frame.top + up - 4.0), Role.QUIET, 0.8))
    return items


def cup_chart(profile: CupProfile, width_px: float) -> Picture:
    """Figure: equivalent and alternating stress along a cup, inside (dashed) and outside, over the arc from the boss."""
    arc = profile.arc_mm
    x_low, x_high = float(arc.min()), float(arc.max())
    panels = (
        ("alternating stress, MPa", profile.alternating_mpa, 52.0, 182.0),
        ("largest equivalent stress, MPa", profile.equivalent_mpa, 236.0, 396.0),
    )
    # from one segment to the next the wall, and with it the stress, may jump
    runs = [slice(first, last) for first, last in itertools.pairwise(_starts(profile))]
    items: list[Item] = []
    for title, values, bottom, top in panels:
        high = 1.18 * (float(values.max()) or 1.0)
        frame = Frame(58.0, bottom, width_px - 14.0, top, x_low, x_high, 0.0, high)
        upper = bottom > 60.0
        names = Names(frame)
        for side in (INSIDE, OUTSIDE):
            names.keep_clear(frame.curve(arc, values[:, side]))
        items += [
            *y_axis(frame, title, round_ticks(0.0, high, 4)),
            *([] if upper else x_axis(frame, "way along the wall from the boss, mm", round_ticks(x_low, x_high))),
            *_segment_marks(frame, profile, False),
            *(curve(frame, arc[run], values[run, OUTSIDE]) for run in runs),
            *(curve(frame, arc[run], values[run, INSIDE], Role.RING_B, 2.0, 5.0) for run in runs),
        ]
        most, station = float(values.max()), int(values.max(axis=1).argmax())
        spot = frame.at(float(arc[station]), most)
        items.append(Disc(spot, 4.0, fill=Role.TOOTH_MARK))
        items += names.put(spot, three(most), Role.TOOTH_MARK, strong=True)
        items.append(frame.box())
    frame = Frame(58.0, 52.0, width_px - 14.0, 418.0, x_low, x_high, 0.0, 1.0)
    items += [item for item in _segment_marks(frame, profile, True) if isinstance(item, Text)]
    items += key([(Role.FLEXIBLE, 0.0, "outside"), (Role.RING_B, 5.0, "inside")], 14.0, 458.0)
    items += [
        Text((frame.left, 14.0), "← boss", SMALL_PX, Role.QUIET),
        Text((frame.right, 14.0), "open edge →", SMALL_PX, Role.QUIET, Anchor.END),
    ]
    return Picture(
        (0.0, 6.0, width_px, 478.0),
        tuple(items),
        "Stress along the cup",
        f"Largest equivalent stress {three(float(profile.equivalent_mpa.max()))} MPa, largest alternating stress "
        f"{three(float(profile.alternating_mpa.max()))} MPa, at {newton_metres(profile.torque_nmm)}.",
    )
