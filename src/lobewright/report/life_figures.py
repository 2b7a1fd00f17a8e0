"""The figures of strength and life in reading order, each with its caption."""

from __future__ import annotations

import math

import numpy as np

from lobewright.assessment.life import Life
from lobewright.assessment.results import Assessment
from lobewright.design.model import Criterion
from lobewright.report.captions import WIDTH_PX, Figure
from lobewright.report.life_numbers import ENDLESS, few, one_line
from lobewright.report.life_plain import lives_of, strengths_of
from lobewright.report.life_plots_budget import FARTHEST, Bar, bar_chart
from lobewright.report.life_plots_sn import NAMED, below_axis, shown_steps, sn_chart
from lobewright.report.life_plots_stress import closed, cup_chart, rim_chart, segments
from lobewright.report.life_plots_time import (
    MOST_SPEEDS,
    above_axis,
    at_time,
    drawn_parts,
    duty_torques,
    map_chart,
    outlasts_all,
    parked_chart,
    percent_words,
)
from lobewright.report.load_figures import newton_metres, three
from lobewright.strength.course import CupProfile, StressCourse
from lobewright.strength.parked import Parked, time_words
from lobewright.strength.point import LifeMap, PointLife
from lobewright.verdict import capital

CRITERIA = {
    Criterion.MODIFIED_GOODMAN: "modified Goodman",
    Criterion.GERBER: "Gerber",
    Criterion.ASME_ELLIPTIC: "ASME elliptic",
    Criterion.SODERBERG: "Soderberg",
}
RIM = ("rim_root", "rim_inside")
"""Names (or their beginnings) of the courses that are drawn round the rim."""
MOST_PANELS = 4
MOST_BARS = 8
"""Rows of a picture of bars, the weakest; the table has them all."""


def rim_courses(life: Life) -> tuple[StressCourse, ...]:
    """The courses drawn round the rim: root of the teeth, then inner face, of every row."""
    return tuple(course for name in RIM for course in life.courses if course.name.startswith(name))[:MOST_PANELS]


def shown_peak_nmm(life: Life) -> float:
    """The largest torque of the duty, or the largest solved one where there is no duty or the duty goes beyond it."""
    solved = float(life.courses[0].torque_nmm[-1])
    return solved if life.duty is None else min(solved, life.duty.peak_nmm)


def worst_point(life: Life) -> PointLife | None:
    """The place of the ring that bears the duty least often by the low end of its band; among the endless, by its safety."""
    if not life.points:
        return None
    return min(life.points, key=lambda one: (one.duties.low, one.duties.middle, _safety_low(one)))


def _safety_low(point: PointLife) -> float:
    found = point.safety.get(point.criterion)
    return math.inf if found is None else found.low


def life_bars(life: Life) -> tuple[Bar, ...]:
    """Rows of the life budget as they are drawn."""
    return tuple(Bar(one.title, one.part, one.duties, one.remark) for one in lives_of(life))


def safety_bars(life: Life) -> tuple[Bar, ...]:
    """Rows of the strength at the peak as they are drawn."""
    return tuple(Bar(one.title, one.part, one.safety, one.remark) for one in strengths_of(life))


BARS = "Each bar holds the true answer nine times in ten, the notch is its middle; the thin mark at 1 is just enough."
CUT = " Bars are cut where they leave the scale, wedges stand for those beyond it."


def _left_away(bars: tuple[Bar, ...]) -> str:
    more = len(bars) - MOST_BARS
    return f" Drawn are the {MOST_BARS} weakest of {len(bars)}; remarks stand in full in the table." if more > 0 else ""


def _cut(bars: tuple[Bar, ...]) -> str:
    ends = [end for bar in bars[:MOST_BARS] for end in (bar.times.low, bar.times.high)]
    far = any(end < 10.0**-FARTHEST or 10.0**FARTHEST < end < math.inf for end in ends)
    return CUT if far else ""


def _budget_figure(bars: tuple[Bar, ...]) -> Figure:
    first = bars[0]
    caption = f"{BARS} The weakest: {one_line(first.title)}, {_times(first, 'the duty')}.{_cut(bars)}{_left_away(bars)}"
    picture = bar_chart(bars[:MOST_BARS], "life, times the duty", "Life budget", WIDTH_PX)
    return Figure("life-budget", picture, WIDTH_PX, "How often the duty is borne, the weakest first", caption)


def _strength_figure(bars: tuple[Bar, ...]) -> Figure:
    first = bars[0]
    caption = (
        f"{BARS} The weakest: {one_line(first.title)}, {_times(first, 'its load', 3)}.{_cut(bars)}{_left_away(bars)}"
    )
    picture = bar_chart(bars[:MOST_BARS], "strength, times the load", "Strength at the peak", WIDTH_PX, 3)
    return Figure("life-strength", picture, WIDTH_PX, "Strength over load, the weakest first", caption)


def _times(bar: Bar, what: str, figures: int = 2) -> str:
    low, middle = few(bar.times.low, figures), few(bar.times.middle, figures)
    return f"{middle} times {what}" + (f" (low end {low})" if middle != low else "")


def _rim_figure(a: Assessment, life: Life) -> Figure:
    courses = rim_courses(life)
    peak = shown_peak_nmm(life)
    most = max(courses, key=lambda course: float(np.ptp(closed(course, peak)[1])))
    hoop = closed(most, peak)[1]
    caption = (
        "A point of the ring runs through this curve once for each turn of the generator against the ring. Above zero the "
        f"material is pulled, below it is pressed. The widest swing at {newton_metres(peak)}: {three(float(hoop.min()))} to "
        f"{three(float(hoop.max()))} MPa ({one_line(most.title)})"
    )
    caption += f", raised {most.notch_factor:.2f} times by its notch." if most.notch_factor > 1.0 else "."
    if life.duty is not None and life.duty.peak_nmm > 1.001 * peak:
        caption += f" The duty goes to {newton_metres(life.duty.peak_nmm)}; the ring was solved no further than drawn."
    picture = rim_chart(courses, peak, a.design.lobes, WIDTH_PX)
    return Figure("life-rim", picture, WIDTH_PX, "Stress round the rim", caption)


def _cup_figure(profile: CupProfile) -> Figure:
    station, side = np.unravel_index(int(profile.equivalent_mpa.argmax()), profile.equivalent_mpa.shape)
    where = segments(profile)
    arc = float(profile.arc_mm[station])
    name = next(words for words, start, end in where if start - 1e-9 <= arc <= end + 1e-9)
    caption = (
        f"At {newton_metres(profile.torque_nmm)}, the worst over all angles at each place of the wall. Largest: "
        f"{three(float(profile.equivalent_mpa.max()))} MPa on the {('inside', 'outside')[int(side)]} of the {name}, "
        f"{three(arc)} mm from the boss. The lower picture is the part that swings to and fro and tires the wall. Teeth and "
        "fillets are not in it."
    )
    return Figure("life-cup", cup_chart(profile, WIDTH_PX), WIDTH_PX, "Stress along the cup", caption)


def _sn_figure(point: PointLife) -> Figure:
    curve = point.curve
    caption = (
        f"The curve is that of {one_line(point.data.words)} with the surface, size and warmth of this place; shaded its 90 % "
        "band. Numbers are the steps of the duty, the most harmful first, their stress set back to ratio −1 by the "
        f"{CRITERIA[point.criterion]} line; upright bars are the 90 % band of that stress. A step under the curve is borne "
        f"longer than it is asked for. Tests reach {few(curve.tested_to_cycles)} cycles; the dashed line beyond is drawn on."
    )
    steps = shown_steps(point)
    caption += _left_out(point, steps)
    title = f"The place of the ring that bears the duty least often: {one_line(point.course.title)}"
    return Figure("life-sn", sn_chart(point, WIDTH_PX), WIDTH_PX, title, caption)


def _left_out(point: PointLife, steps: list[int]) -> str:
    """What the picture of the curve cannot show, in sentences."""
    text = ""
    hopeless = [point.steps[k] for k in steps if math.isinf(point.equivalent_mpa[k])]
    if hopeless:
        text += f" Wedge at the top: in {_listed(hopeless)} the mean stress alone is more than the line allows."
    tiny = [k for k in steps if math.isfinite(point.equivalent_mpa[k]) and below_axis(point, k)]
    if tiny:
        text += " Wedges at the bottom stand for steps with even less stress."
    idle = [name for k, name in enumerate(point.steps) if k not in steps]
    if idle:
        text += f" Without cycles or without stress to and fro, so not drawn: {_listed(idle)}."
    if len(steps) > NAMED:
        text += f" Of {len(steps)} steps the {NAMED} most harmful are numbered."
    return text


def _listed(names: list[str], most: int = 5) -> str:
    shown = ", ".join(one_line(name) for name in names[:most])
    return shown if len(names) <= most else f"{shown} and {len(names) - most} more"


def _map_figure(found: LifeMap, life: Life) -> Figure:
    caption = (
        "How long each part would last if the drive ran on and on at one torque and speed; shaded its 90 % band. Beyond the "
        "axis curves are cut."
    )
    if np.isinf(found.hours).any():
        caption += f" A curve in the strip on top is {ENDLESS}."
    above = above_axis(found)
    if above:
        caption += f" Above the picture at every torque: {_listed([found.names[w].replace('_', ' ') for w in above])}."
    if duty_torques(life.duty):
        caption += " Dashed upright: torques that the duty asks for."
    parts = drawn_parts(found)
    if len(parts) < len(found.names):
        left = [found.names[w].replace("_", " ") for w in range(len(found.names)) if w not in parts]
        caption += f" Longer lived and not drawn: {_listed(left)}."
    if len(found.speed_rpm) > MOST_SPEEDS:
        caption += f" {MOST_SPEEDS} of {len(found.speed_rpm)} speeds are drawn."
    return Figure("life-map", map_chart(found, life.duty, WIDTH_PX), WIDTH_PX, "Life over torque and speed", caption)


def _parked_figure(parked: Parked) -> Figure:
    caption = (
        "A printed ring that stands bent loses stress and keeps part of the bend when it is let go. Stress is counted from "
        "one minute after bending; shaded: 90 % bands."
    )
    asked = parked.asked_hours
    left = at_time(parked, parked.stress_left, asked) if asked > 0.0 else None
    kept = at_time(parked, parked.set_share, asked) if asked > 0.0 else None
    if left is not None and kept is not None:
        caption += f" After {time_words(asked)} {percent_words(left)} of the stress is left"
        caption += f" and {percent_words(kept)} of the bend stays."
    elif asked > 0.0:
        caption += f" The {time_words(asked)} asked for lie outside the times computed."
    if parked.remark:
        caption += f" {capital(one_line(parked.remark).rstrip('.'))}."
    return Figure("life-parked", parked_chart(parked, WIDTH_PX), WIDTH_PX, "Parked, and bent", caption)


def life_figures(a: Assessment, life: Life) -> tuple[Figure, ...]:
    """The figures of what was made, in reading order; small beside small, tall beside tall."""
    found: list[Figure] = []
    budget, strength = life_bars(life), safety_bars(life)
    # bars that all lie beyond the scale show nothing that the table does not
    if any(bar.times.low < 10.0**FARTHEST for bar in budget):
        found.append(_budget_figure(budget))
    if any(bar.times.low < 10.0**FARTHEST for bar in strength):
        found.append(_strength_figure(strength))
    point = worst_point(life)
    if rim_courses(life):
        found.append(_rim_figure(a, life))
    if life.profile is not None:
        found.append(_cup_figure(life.profile))
    if point is not None:
        found.append(_sn_figure(point))
    if life.life_map is not None and not outlasts_all(life.life_map):
        found.append(_map_figure(life.life_map, life))
    if life.parked is not None:
        found.append(_parked_figure(life.parked))
    return tuple(found)
