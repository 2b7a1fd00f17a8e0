"""The drive under torque, timed: ``python benchmarks/bench_load.py [steps] [b] [c] [cups]`` (all when none is named).

steps: a load step of a two-ring drive with 120 teeth, and its cost against the number of teeth. b, c, cups: the same problem
solved here and by CalculiX (Debian package calculix-ccx) on the coarsest mesh that is within 1 % of its refinement, in one run,
both on one thread, path against path; what the finite element solver needs to start is taken off. The next coarser mesh
and by how much it misses stand beside it. c takes its peer minutes. All times are processor times, so that other work on the
machine hardly matters. Numbers are printed, nothing is judged by the exit status.
"""

from __future__ import annotations

import os

# before any numerical library is loaded
os.environ.update(OPENBLAS_NUM_THREADS="1", NUMBA_NUM_THREADS="1", OMP_NUM_THREADS="1")

import json
import math
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.published import fe_cases
from lobewright.published.fe_reference import box_load
from lobewright.published.model import REAL
from lobewright.ring.shell import CupGeometry, CupMaterial, RimLoad, respond
from lobewright.torque import rig
from lobewright.torque.ask import FALL, settle_at, wind
from lobewright.torque.inputs import DriveInput, estimated_inputs
from lobewright.torque.path import Winder, toward
from lobewright.torque.rest import prepare

FE = Path(__file__).parent / "fe"
sys.path.insert(0, str(FE))

import cup_solid  # noqa: E402
import ring_deck  # noqa: E402
import ring_plain  # noqa: E402
import ring_toothed  # noqa: E402

TEETH = (60, 120, 240, 480)
AIM_MS, LIMIT_MS, EXPONENT = 5.0, 10.0, 1.15
WANTED = {"b": 100.0, "c": 300.0, "cups": 50.0}
CUP_MS = 10.0
PLAIN_PARTS, PLAIN_FINE = 3, 20
"""Elements in a twenty-fourth of the plain ring of case b: well within 1 % of the fine ones, as its peer is of its own."""
RUNS = 15


def least(work: Callable[[], object], runs: int = RUNS) -> float:
    """Seconds of the quickest of several calls after a warm one."""
    work()
    found = []
    for _ in range(runs):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def spent() -> float:
    """Processor seconds of all ended child processes."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def peer_run(work: Callable[[], object]) -> tuple[object, float]:
    """What a run of the finite element solver gave, and its processor seconds less those of a start without work."""
    before = spent()
    subprocess.run(["ccx", "-v"], capture_output=True, check=False)
    start = spent()
    found = work()
    return found, spent() - start - (start - before)


def told(name: str, ours_s: float, theirs_s: float) -> None:
    """A ratio, and whether it is the one that is wanted."""
    ratio = theirs_s / ours_s
    state = "kept" if ratio >= WANTED[name] else "MISSED"
    print(
        f"  {name}: here {1e3 * ours_s:.1f} ms, finite elements {theirs_s:.2f} s: {ratio:.0f} times; "
        f"wanted {WANTED[name]:.0f}: {state}",
        flush=True,
    )


# --- load steps ------------------------------------------------------------------------------------------------------


def two_ring(teeth: int) -> DriveInput:
    """The printed starter drive on rollers with another number of teeth, its wall in proportion."""
    data = starter_data("printed_ring-rollers")
    data["flexible_ring"].update(teeth=teeth, wall_mm=round(0.012 * teeth, 3))
    data["rigid_ring"][0]["teeth"], data["rigid_ring"][1]["teeth"] = teeth + 2, teeth
    return loaded_drive(assess(design_from_data(data)))


def step_times_ms(teeth: int) -> np.ndarray:
    """Times of nine load steps of a tenth of the peak torque each, both rows solved, with tangent; the quicker of two walks."""
    drive = two_ring(teeth)
    made = prepare(drive, estimated_inputs(drive))
    part = 0.2 * teeth**2 / 10.0
    winder = Winder(made)
    first = settle_at(winder, wind(winder, 1, part, FALL), part)
    walks = []
    for _ in range(3):
        place, times = first, []
        for number in range(2, 11):
            start = time.process_time()
            place = winder.load_to(number * part, toward(place, number * part))
            times.append(1e3 * (time.process_time() - start))
            if not place.outcome.settled:
                raise SystemExit(f"{teeth} teeth: the step to {number * part:g} N·mm did not settle")
        walks.append(times)
    return np.array(walks).min(axis=0)


def steps() -> None:
    """Print the load step and the cost against teeth."""
    middle = {}
    for teeth in TEETH:
        times = step_times_ms(teeth)
        middle[teeth] = float(np.median(times))
        print(f"load step, two rows of {teeth} teeth: middle {middle[teeth]:.2f} ms, longest {times.max():.2f} ms")
    state = "aim kept" if middle[120] <= AIM_MS else "limit kept" if middle[120] <= LIMIT_MS else "MISSED"
    print(f"  120 teeth: aim {AIM_MS:g} ms, limit {LIMIT_MS:g} ms: {state}")
    slope = np.polyfit(np.log(list(middle)), np.log(list(middle.values())), 1)[0]
    print(
        f"  exponent of the cost in the teeth {slope:.2f}; at most {EXPONENT}: {'kept' if slope <= EXPONENT else 'MISSED'}"
    )


# --- rings -----------------------------------------------------------------------------------------------------------


def plain_rig(parts: int) -> rig.Rig:
    """Case b; on fewer elements than the evidence has, as its peer is on a coarser mesh."""
    found: list[rig.Rig] = []
    fe_cases._plain(replace(REAL, turn_rig=lambda asked, turns: (found.append(asked),)), "b")
    return replace(found[0], bending_shares=(1.0,) * parts)


def departure(one: rig.RigState, other: rig.RigState) -> float:
    """Largest difference of contact forces, of displacements at every 15° and of section forces and moments there but under the
    roller, as a share of the largest of its kind: as the peer's meshes are judged."""
    worst, away = 0.0, [0, 1, 3, 4, 5, 6]
    for read in (
        lambda state, at: np.append(state.roller_n[0], state.fence_n[0, 0]),
        lambda state, at: state.moved_mm[at],
        lambda state, at: state.section_force_n_per_mm[at[away]],
        lambda state, at: state.section_moment_n[at[away]],
    ):
        mine, yours = (read(state, np.arange(7) * len(state.label_rad) // 24) for state in (one, other))
        worst = max(worst, float(np.abs(mine - yours).max() / np.abs(yours).max()))
    return worst


def fresh(asked: rig.Rig, turns: tuple[float, ...]) -> tuple[rig.RigState, ...]:
    """The states of a rig, solved anew."""
    rig._kept_turns.cache_clear()
    return rig.turn_rig(asked, turns)


def ring_b(folder: Path) -> None:
    """Plain ring, four rollers, circle."""
    mine = plain_rig(PLAIN_PARTS)
    fine = fresh(plain_rig(PLAIN_FINE), (0.0,))[0]
    off = departure(fresh(mine, (0.0,))[0], fine)
    ours = least(lambda: fresh(mine, (0.0,)))
    quarter, whole = (
        min(peer_run(lambda whole=whole: ring_plain.run("b", folder, 12, 2, 0.4, whole))[1] for _ in range(3))
        for whole in (False, True)
    )
    ladder = json.loads((FE / "ring_b.json").read_text())["ladder"]
    coarser = max(v for k, v in ladder[1]["differences_from_reference"].items() if k != "shear_n_per_mm")
    print(
        f"ring b: {mine.nodes} nodes here, {100 * off:.2f} % off {fine.label_rad.size}; peer: "
        f"a quarter of the ring, 12 × 2 elements (12 × 1: {100 * coarser:.1f} % off)"
    )
    told("b", ours, quarter)
    print(f"  b: the whole ring, as it is solved here, takes the peer {whole:.2f} s: {whole / ours:.0f} times")


def ring_c(folder: Path) -> None:
    """Toothed ring under torque to 2°."""
    turns = ring_toothed.PATHS["c"][1]
    asked = fe_cases._rig(fe_cases._cell(REAL))
    path = (0.0, *(math.radians(turn) for turn in turns))
    torque = fresh(asked, path)[-1].torque_n
    ours = least(lambda: fresh(asked, path), 5)
    print("ring c: the peer is at work, some minutes", file=sys.stderr, flush=True)
    peer, theirs = peer_run(lambda: ring_toothed.turn(ring_toothed.MESHES["fine"], turns, folder, 2, True))
    kept = json.loads((FE / "ring_c.json").read_text())["differences_from_reference"]
    print(
        f"ring c: torque at {turns[-1]:g}° {torque:.1f} here, {peer['states'][-1]['torque_n']:.1f} N·mm/mm there; peer: fine, "
        f"{peer['mesh']['elements']} elements (coarse is {100 * coarse_misses(kept['coarse']):.1f} % off)"
    )
    told("c", ours, theirs)


def coarse_misses(kept: dict) -> float:
    """Largest difference in any kept row of numbers."""
    rows = next(value for value in kept.values() if isinstance(value, list))
    return ring_toothed.worst(rows)


# --- cups ------------------------------------------------------------------------------------------------------------


def peak_mpa(cup: CupGeometry, material: CupMaterial, highest: int) -> float:
    """Largest stress on the major axis under the narrow contact with harmonics up to ``highest``."""
    orders = np.arange(0, highest + 1, 2)
    even = np.zeros((len(orders), 4))
    even[:, 0] = box_load(cup_solid.PUSH_N_PER_MM, math.radians(cup_solid.CONTACT_DEG), orders)
    load = RimLoad(0.5 * cup.rim_width_mm, orders, even, np.zeros_like(even), cup_solid.SPREAD_MM)
    return float(np.abs(respond(cup, material, [load]).fields.stress_mpa[0].sum(axis=0)).max())


def cups() -> None:
    """Three plain cups under a narrow contact; the peer solves two loads from one elimination."""
    material = CupMaterial(cup_solid.MODULUS_MPA, cup_solid.POISSON)
    for name in ("steel", "printed", "thick"):
        cup = CupGeometry(**json.loads((FE / "cup_solid.json").read_text())["cases"][name]["cup"])
        peaks = {highest: peak_mpa(cup, material, highest) for highest in range(20, 141, 20)}
        last = peaks[140]
        highest = next(n for n in peaks if all(abs(peaks[k] / last - 1.0) < 0.01 for k in peaks if k >= n))
        ours = least(lambda cup=cup, highest=highest: peak_mpa(cup, material, highest))
        around, off, theirs = brick_peer(name)
        state = "kept" if 1e3 * ours < CUP_MS else "MISSED"
        print(
            f"cup {name}: harmonics to {highest} settle the peak stress; {1e3 * ours:.1f} ms, wanted {CUP_MS:g}: {state}; "
            f"peer: {around} bricks in a quarter ({'; '.join(off)})"
        )
        told("cups", ours, theirs)


def brick_peer(name: str) -> tuple[int, list[str], float]:
    """The coarsest of the meshes whose peak stress and deflection are within 1 % of the kept one, and its seconds."""
    kept = json.loads((FE / "cup_solid.json").read_text())["cases"][name]
    off, chosen, seconds = [], cup_solid.AROUND, math.nan
    for around in (cup_solid.AROUND, cup_solid.AROUND // 2, cup_solid.AROUND // 4):
        found, took = brick_run(name, around)
        worst = max(
            float(np.abs(np.array(found[load][key]) - np.array(kept[load][key])).max() / np.abs(kept[load][key]).max())
            for load in ("lobes", "contact")
            for key in ("radial_mm", "inside_mpa", "outside_mpa")
        )
        off.append(f"{around}: {100 * worst:.1f} % from the kept mesh")
        if worst > 0.01:
            break
        chosen, seconds = around, took
    return chosen, off, seconds


def brick_run(name: str, around: int) -> tuple[dict, float]:
    """Numbers of both loads on a mesh with ``around`` bricks in a quarter, and the solver's seconds."""
    grid = cup_solid.Grid(cup_solid.CASES[name])
    grid.around = around
    with tempfile.TemporaryDirectory() as folder:
        number = cup_solid.write_input(grid, Path(folder) / "cup.inp")
        single = dict(os.environ, OMP_NUM_THREADS="1", CCX_NPROC_STIFFNESS="1")
        solver = ["ccx", "cup"]
        _, seconds = peer_run(lambda: subprocess.run(solver, cwd=folder, capture_output=True, env=single, check=True))
        cases = cup_solid.read_results(Path(folder) / "cup.frd")
    rows = [cup_solid.along_major_axis(grid, number, case) for case in cases]
    return dict(zip(("lobes", "contact"), rows, strict=True)), seconds


def main(asked: list[str]) -> None:
    """Time what is asked."""
    asked = asked or ["steps", "b", "c", "cups"]
    # the peer runs at the priority of this process
    ring_deck.PRIORITY = []
    with tempfile.TemporaryDirectory() as folder:
        work = {
            "steps": steps,
            "b": lambda: ring_b(Path(folder)),
            "c": lambda: ring_c(Path(folder)),
            "cups": cups,
        }
        for name in asked:
            work[name]()


if __name__ == "__main__":
    main(sys.argv[1:])
