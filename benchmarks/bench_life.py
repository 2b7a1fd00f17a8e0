"""How long strength and life take once the loaded states are known: ``python benchmarks/bench_life.py``.

Every example: the whole section (checks of all parts and the HTML with its figures), wanted under 1 s. The printed cup again with
an invented recorded motion of 10,000 rows, wanted under 5 s. Beside the recorded motion stands a peer that is as simple as can
be: the rim root's stress is read at every degree of the same path, for one start, and counted by the same rainflow library
without leaving anything out; its Miner's sum must not exceed ours by more than a tenth, for ours tries several starts.
Exit status 1 when a time or that is missed.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from lobewright.assessment.life import Life, life
from lobewright.assessment.loaded_states import LoadedStates, solve_states
from lobewright.assessment.results import Assessment
from lobewright.assessment.ring_places import surface_of, wall_at
from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.design.model import RecordedMotion
from lobewright.report.life_section import life_section
from lobewright.strength.counting import count_repeated
from lobewright.strength.duty import duty_of
from lobewright.strength.recorded import with_harmful_mean
from lobewright.strength.ring_life import judged_place
from lobewright.strength.swing import largest_swing

EXAMPLES = Path(__file__).parents[1] / "examples"
NAMES = ("azimuth_belt", "elevation_printed", "focus_steel")
SECTION_S, RECORD_S = 1.0, 5.0
ROWS, SEED = 10_000, 11
REPEATS = 5


def timed(call: Callable[[], object]) -> tuple[float, object]:
    """Median time of a few calls [s] and the last answer."""
    call()
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        answer = call()
        times.append(time.perf_counter() - start)
    return sorted(times)[REPEATS // 2], answer


def solved(name: str) -> tuple[Assessment, LoadedStates]:
    found = assess(read(EXAMPLES / f"{name}.toml"))
    steady, peak = (
        1000.0 * max(getattr(step, key) for step in found.design.duty) for key in ("torque_Nm", "peak_torque_Nm")
    )
    return found, solve_states(found, steady, peak)


def invented_motion() -> RecordedMotion:
    """An arm that wanders and is jerked about, sampled ten times a second."""
    rng = np.random.default_rng(SEED)
    turn = 40.0 * np.sin(np.arange(ROWS) / 300.0) + np.cumsum(rng.normal(0.0, 0.4, ROWS))
    torque = np.clip(1.5 + 1.2 * np.sin(np.arange(ROWS) / 170.0) + rng.normal(0.0, 0.3, ROWS), -4.0, 4.0)
    rows = zip(0.1 * np.arange(ROWS), turn, torque, strict=True)
    return RecordedMotion(
        file="invented", repeats=1.0, points=tuple((float(t), float(a), float(m)) for t, a, m in rows)
    )


def peer(found: Assessment, lasting: Life) -> tuple[float, float]:
    """Time [s] and Miner's sum of the plain way for the rim root, one start, the labels run one way."""
    point = next(one for one in lasting.points if one.course.name == "rim_root")
    course, duty = point.course, duty_of(found.design, found.motion)
    assert duty is not None and duty.record is not None
    start = time.perf_counter()
    bend, torque = duty.record.bend_rad, duty.record.torque_nmm
    way = np.concatenate(([0.0], np.cumsum(np.abs(np.diff(bend)))))
    fine = np.arange(0.0, way[-1], math.radians(1.0))
    place = np.degrees(np.interp(fine, way, bend))
    load = np.interp(fine, way, torque)
    swing = largest_swing(np.concatenate([course.at(float(torque.max())), course.at(float(torque.min()))]))
    labels = len(course.label_deg)
    levels = np.linspace(load.min(), load.max(), 200)
    tables = np.stack([swing.along_mpa(course.at(float(level))) for level in levels])
    at = (np.round(-place * labels / 360.0).astype(int)) % labels
    level = np.round((load - levels[0]) / (levels[1] - levels[0])).astype(int)
    judged = judged_place(course, point.data, point.criterion, surface_of(found.design), wall_at(found.design, course))
    across = max(swing.across_mpa(course.at(float(end))) for end in (torque.max(), torque.min()))
    damage = judged.damage(with_harmful_mean(count_repeated(tables[level, at]), across))
    return time.perf_counter() - start, float(damage)


def main() -> int:
    missed = False
    for name in NAMES:
        found, states = solved(name)
        took, lasting = timed(lambda found=found, states=states: life(found, states))
        shown, _ = timed(lambda found=found, lasting=lasting: life_section(found, lasting))
        missed |= took + shown >= SECTION_S
        print(
            f"{name}: checks {1e3 * took:.0f} ms, section with figures {1e3 * shown:.0f} ms (wanted: {SECTION_S:g} s together)"
        )
    found, states = solved("elevation_printed")
    design = found.design.model_copy(update={"duty": (), "recorded_motion": invented_motion()})
    found = replace(found, design=design)
    took, lasting = timed(lambda: life(found, states))
    assert isinstance(lasting, Life)
    ours = next(float(one.damage.sum()) for one in lasting.points if one.course.name == "rim_root")
    plain_s, theirs = peer(found, lasting)
    missed |= took >= RECORD_S or theirs > 1.1 * ours
    print(
        f"recorded motion of {ROWS} rows, {len(lasting.points)} places of the cup: {took:.2f} s (wanted: {RECORD_S:g} s); "
        f"plain count of one place and one start: {plain_s:.2f} s; Miner's sum ours {ours:.3g}, plain {theirs:.3g}, "
        f"ratio {theirs / ours:.2f}"
    )
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
