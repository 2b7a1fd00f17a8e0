"""How many invented truths lie inside the 90 % bands: ``python benchmarks/bench_bands.py DESIGN.toml [TRUTHS] [PROCESSES]``.

The bands of a design are made as the command makes them. Then every weak input is drawn from its own distribution, the drive is
solved in full at what was drawn (no surface), and the model's own error is drawn and put on. Of 200 such truths 85 to 95 %
must lie inside each band; a band of half the width is told beside it, to show that the count can tell. Beside it stands the
share inside without the model's part on either side, which judges the surface alone.

Load answers are asked at the duty's largest steady torque. Truths that skip before it, or whose path is lost, have no such
answer; they are counted and told. Exit status 1 when a share is missed.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive, stiffnesses
from lobewright.design.files import read
from lobewright.torque.bands import TEETH, Band, LoadQuestion, Reply, Run, bands, make_run, skip_question
from lobewright.torque.interval import Interval
from lobewright.torque.model_spread import model_spread
from lobewright.torque.weak import Weak, weak_inputs

TRUTHS, PROCESSES, SEED = 200, 2, 2_025
LEAST, MOST = 0.85, 0.95


def drawn(weak: tuple[Weak, ...], rng: np.random.Generator) -> tuple[tuple[str, float], ...]:
    """One invented drive: a factor for every weak input."""
    return tuple((one.name, one.at(float(rng.standard_normal()))) for one in weak)


def inside(band: Band, values: Iterable[float], shrink: float = 1.0) -> float:
    """Share of values inside a band that is shrunk about its middle on the logarithm."""
    low, high = (band.middle * (end / band.middle) ** shrink for end in (band.low, band.high))
    return float(np.mean([low <= value <= high for value in values]))


def told(replies: list[Reply], total: int, started: float) -> None:
    """Progress on one line."""
    print(
        f"\r{len(replies)} of {total} runs, {time.perf_counter() - started:.0f} s", end="", file=sys.stderr, flush=True
    )


def main(arguments: list[str]) -> int:
    """Make bands and truths of a design and print the shares."""
    path = arguments[0]
    count = int(arguments[1]) if len(arguments) > 1 else TRUTHS
    processes = int(arguments[2]) if len(arguments) > 2 else PROCESSES
    design = read(path)
    drive = loaded_drive(assess(design))
    base = stiffnesses(drive).inputs
    weak = weak_inputs(drive, base)
    torque = 1000.0 * max(step.torque_Nm for step in design.duty)
    questions = (skip_question, LoadQuestion(torque))
    sure = {
        name: Interval(name, 1.0, 1.0, 1.0, False, one.source_key, one.flag) for name, one in model_spread().items()
    }
    started = time.perf_counter()
    with ProcessPoolExecutor(processes) as pool:
        found = bands(drive, base, weak, questions, mapper=pool.map)
        seconds = time.perf_counter() - started
        print(
            f"{path}: {len(weak)} weak inputs, bands by {found.runs} full runs in {seconds:.0f} s, {processes} processes"
        )
        rng = np.random.default_rng(SEED)
        factors = [drawn(weak, rng) for _ in range(count)]
        runs = [Run(question, drive, base, one) for one in factors for question in questions]
        replies: list[Reply] = []
        for reply in pool.map(make_run, runs):
            replies.append(reply)
            told(replies, len(runs), started)
        print(file=sys.stderr)
        surface = bands(drive, base, weak, questions, mapper=pool.map, model=sure)
    missed = False
    error = model_spread()
    for band in found.bands:
        values = [reply.values[band.name] for reply in replies if band.name in reply.values]
        truths = [value * math.exp(error[band.name].log_spread * rng.standard_normal()) for value in values]
        share, half = inside(band, truths), inside(band, truths, 0.5)
        # a count of whole teeth cannot hit a share to a few percent; it is told and not judged
        judged = band.name != TEETH
        missed |= judged and not LEAST <= share <= MOST
        print(
            f"  {band.name:<28} {band.low:10.4g} … {band.middle:10.4g} … {band.high:10.4g}  inside {share:6.1%} of {len(values)}"
            f"  half the width {half:6.1%}  without the model's part {inside(surface.of(band.name), values):6.1%}"
            f"  widest: {band.widest_input}  model's share of the variance {band.shares['model']:.0%}"
        )
    for name, why in found.not_made.items():
        print(f"  {name}: not made, {why}")
    for sentence in found.failed:
        print(f"  {sentence}")
    return int(missed)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
