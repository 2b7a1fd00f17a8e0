"""A whole drive, warm and cold: ``python benchmarks/bench_drive.py``.

Warm, one thread: motion, ring shape, both tooth spaces and the whole-turn check of both as designed, for a two-ring drive with
120 teeth; 30 ms is wanted. Then the full assessment with all off-nominal cases, for comparison. Cold: ``lobewright check`` on
a file in a new process, with the peak memory of that process; the compiled kernels are in the cache, as after set-up.
Numbers are printed, nothing is judged by the exit status.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numba
import numpy as np

from lobewright.assessment.mesh import Shapes, tip_rule
from lobewright.assessment.run import assess
from lobewright.design.model import Design
from lobewright.design.starters import KINDS, starter
from lobewright.mesh.clearance import clear
from lobewright.mesh.space import tooth_space
from lobewright.mesh.teeth import tooth_outline
from lobewright.motion import motion
from lobewright.published.designs import belt_drive
from lobewright.ring.generator import design_deflection_mm, sections
from lobewright.ring.geometry import ring_geometry

TEETH = 120
WANTED_MS = 30.0


def drive_once(design: Design) -> int:
    """Motion, shape, both spaces and their whole-turn checks; returns how many poses were checked."""
    motion(design)
    geometry = ring_geometry(design)
    shapes = Shapes(design, geometry)
    wanted = design_deflection_mm(design, geometry)
    checked = 0
    for ring in design.rigid_ring:
        outline = tooth_outline(design, ring.row)
        made_for = shapes.over(sections(design, ring), wanted)
        rule = tip_rule(design, ring.clearance_mm)
        space = tooth_space(ring.name, ring.teeth, outline, made_for, ring.clearance_mm, rule)
        checked += clear("as designed", space, outline, made_for).poses_checked
    return checked


def times_ms(work: Callable[[], object], runs: int) -> np.ndarray:
    """Times of repeated calls after one warm call."""
    work()
    found = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        found.append(1e3 * (time.perf_counter() - start))
    return np.array(found)


def cold_check(file: Path) -> tuple[float, float]:
    """Seconds of ``lobewright check`` in a new process, and the largest memory of any child so far in MB."""
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "lobewright.cli", "check", str(file)], capture_output=True, check=False
    )
    seconds = time.perf_counter() - start
    if done.returncode not in (0, 1):
        raise SystemExit(f"check gave up with status {done.returncode}: {done.stderr.decode()}")
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return seconds, peak / (1e6 if sys.platform == "darwin" else 1e3)


def main() -> None:
    """Print all numbers."""
    options = argparse.ArgumentParser(description="Time a whole drive.")
    options.add_argument("--runs", type=int, default=30)
    runs = options.parse_args().runs
    numba.set_num_threads(1)
    design = belt_drive("C2M", TEETH)
    found = times_ms(lambda: drive_once(design), runs)
    state = "kept" if np.median(found) <= WANTED_MS else "missed"
    print(
        f"two-ring drive, {TEETH} teeth, {drive_once(design)} poses checked: least {found.min():.1f} ms, middle "
        f"{np.median(found):.1f} ms; wanted {WANTED_MS:g} ms in the middle: {state}"
    )
    whole = times_ms(lambda: assess(design), max(3, runs // 6))
    cases = sum(len(ring.cases) for ring in assess(design).rings)
    print(f"full assessment of it, {cases} mesh states: least {whole.min():.1f} ms, middle {np.median(whole):.1f} ms")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "starter.toml"
        file.write_text(starter(KINDS[1], "bench"), encoding="utf-8")
        cold = [cold_check(file) for _ in range(3)]
    print(
        f"lobewright check of the starter {KINDS[1]} in a new process: least {min(s for s, _ in cold):.2f} s, first "
        f"{cold[0][0]:.2f} s; peak memory {max(peak for _, peak in cold):.0f} MB"
    )


if __name__ == "__main__":
    main()
