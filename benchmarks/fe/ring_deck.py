"""Plane-stress decks for CalculiX (Debian package calculix-ccx): write, solve on one thread, read back.

The solver expands plane elements to bricks of the section's thickness and leaves them free across it, so a slice as
thick as the wall stiffens itself (2.2 % at 1 mm on a wall of 1.2 mm with a Poisson ratio of 0.35). Every deck here is
0.1 mm thick (0.03 %), and every force that is read is divided by that: all forces are per millimetre of width.
"""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

Array = np.ndarray
SLICE_MM = 0.1
PRIORITY = ["nice", "-n", "10"]
"""What the solver is run under: others may be at work on the machine. A race clears it."""
CONTACT_N_PER_MM3 = 1e5
"""Contact stiffness (linear pressure over penetration); the deepest penetration is read back and kept."""


class SolverStopped(Exception):
    """The solver gave up; ``run`` holds what it had finished."""

    def __init__(self, said: str, run: Run) -> None:
        super().__init__(said)
        self.run = run


@dataclass
class Step:
    """One static load step: total displacements by node; contact pairs switched on or off, as input lines."""

    moves: dict[int, tuple[float, float]]
    also: tuple[str, ...] = ()


@dataclass
class Model:
    """Nodes, plane elements by set, surfaces, equations; node and element numbers start at 1."""

    nodes: list[tuple[float, float]] = field(default_factory=list)
    elements: dict[str, list[tuple[int, list[int]]]] = field(default_factory=dict)
    surfaces: dict[str, list[tuple[int, int]]] = field(default_factory=dict)
    sets: dict[str, list[int]] = field(default_factory=dict)
    fixed: list[tuple[str, int]] = field(default_factory=list)
    equations: list[tuple[list[tuple[int, int, float]], str]] = field(default_factory=list)
    pairs: list[tuple[str, str]] = field(default_factory=list)
    modulus_mpa: float = 2000.0
    poisson: float = 0.35
    springs: list[tuple[int, ...]] = field(default_factory=list)
    spring_n_per_mm: list[float] = field(default_factory=list)
    count: int = 0

    def node(self, x: float, y: float) -> int:
        self.nodes.append((x, y))
        return len(self.nodes)

    def element(self, group: str, nodes: list[int]) -> int:
        self.count += 1
        self.elements.setdefault(group, []).append((self.count, nodes))
        return self.count

    def block(
        self, group: str, grid: dict[tuple[int, int], int], columns: int, rows: int
    ) -> dict[tuple[int, int], int]:
        """Eight-node quadrilaterals on a half-step grid: columns anticlockwise, rows outward; element by column and row.

        Face 1 looks clockwise, 2 outward, 3 anticlockwise, 4 inward.
        """
        around = ((0, 0), (0, 2), (2, 2), (2, 0), (0, 1), (1, 2), (2, 1), (1, 0))
        return {
            (i // 2, j // 2): self.element(group, [grid[i + a, j + b] for a, b in around])
            for i in range(0, 2 * columns, 2)
            for j in range(0, 2 * rows, 2)
        }


def _lines(values: Iterable[int], each: int = 12) -> list[str]:
    values = list(values)
    return [",".join(map(str, values[k : k + each])) + "," for k in range(0, len(values), each)]


def deck(model: Model, steps: list[Step], printed: dict[str, str], fields: bool = True) -> str:
    """Input text. ``printed`` names node sets and what is printed of them (U, RF) at the end of each step."""
    out = ["*NODE,NSET=ALL"]
    out += [f"{n},{x:.12g},{y:.12g},0" for n, (x, y) in enumerate(model.nodes, 1)]
    for group, items in model.elements.items():
        kind = "CPS8R" if len(items[0][1]) == 8 else "CPS4"
        out.append(f"*ELEMENT,TYPE={kind},ELSET={group}")
        out += [f"{e}," + ",".join(map(str, nodes)) for e, nodes in items]
    for name, nodes in model.sets.items():
        out += [f"*NSET,NSET={name}", *_lines(nodes)]
    for name, faces in model.surfaces.items():
        out += [f"*SURFACE,NAME={name}", *(f"{e},S{face}" for e, face in faces)]
    out += ["*MATERIAL,NAME=M", "*ELASTIC", f"{model.modulus_mpa},{model.poisson}"]
    for group in model.elements:
        out += [f"*SOLID SECTION,ELSET={group},MATERIAL=M", f"{SLICE_MM}"]
    out += ["*SURFACE INTERACTION,NAME=I", "*SURFACE BEHAVIOR,PRESSURE-OVERCLOSURE=LINEAR", f"{CONTACT_N_PER_MM3}"]
    for k, (ends, rate) in enumerate(zip(model.springs, model.spring_n_per_mm, strict=True), model.count + 1):
        kind, freedom = ("SPRINGA", [""]) if len(ends) == 2 else ("SPRING1", ["1"])
        out += [f"*ELEMENT,TYPE={kind},ELSET=SPR{k}", f"{k}," + ",".join(map(str, ends))]
        out += [f"*SPRING,ELSET=SPR{k}", *freedom, f"{rate * SLICE_MM:.6f}"]
    for slave, master in model.pairs:
        out += ["*CONTACT PAIR,INTERACTION=I,TYPE=SURFACE TO SURFACE", f"{slave},{master}"]
    for terms, _ in model.equations:
        out += ["*EQUATION", str(len(terms)), *(f"{n},{k},{v:.12g}" for n, k, v in terms)]
    out += ["*BOUNDARY", *(f"{name},{k},{k}" for name, k in model.fixed)] if model.fixed else []
    for step in steps:
        out += _step(model, step, printed, fields)
    return "\n".join(out) + "\n"


def _step(model: Model, step: Step, printed: dict[str, str], fields: bool) -> list[str]:
    out = ["*STEP,NLGEOM,INC=400", "*STATIC", "1.,1.,1e-6,1."]
    out += step.also
    out.append("*BOUNDARY,OP=NEW")
    out += [f"{name},{k},{k}" for name, k in model.fixed]
    for n, (x, y) in step.moves.items():
        out += [f"{n},1,1,{x:.12g}", f"{n},2,2,{y:.12g}"]
    for name, what in printed.items():
        out += [f"*NODE PRINT,NSET={name},FREQUENCY=100000", what]
    out += ["*CONTACT PRINT,FREQUENCY=100000", "CDIS"] if model.pairs else []
    if fields:
        out += ["*NODE FILE,OUTPUT=2D,FREQUENCY=100000", "U", "*EL FILE,OUTPUT=2D,FREQUENCY=100000", "S"]
    return [*out, "*END STEP"]


@dataclass
class Run:
    """What one run left: per step the printed sets {(set, what): {node: values}}, fields, times."""

    printed: list[dict[tuple[str, str], dict[int, Array]]]
    fields: list[dict[str, dict[int, Array]]]
    penetration_mm: list[float]
    seconds: float
    iterations: int


def solve(
    model: Model,
    steps: list[Step],
    printed: dict[str, str],
    folder: Path,
    fields: bool = True,
    keep_going: bool = False,
) -> Run:
    """Write the deck, run the solver on one thread at low priority, read what it left.

    Raises SolverStopped when not all steps were finished, unless ``keep_going``.
    """
    (folder / "ring.inp").write_text(deck(model, steps, printed, fields))
    start = time.perf_counter()
    single = dict(os.environ, OMP_NUM_THREADS="1", CCX_NPROC_STIFFNESS="1")
    with (folder / "ring.log").open("w") as log:
        done = subprocess.run([*PRIORITY, "ccx", "ring"], cwd=folder, stdout=log, stderr=log, env=single, check=False)
    seconds = time.perf_counter() - start
    log_text = (folder / "ring.log").read_text()
    found, depth = read_dat(folder / "ring.dat")
    run = Run(found, read_frd(folder / "ring.frd") if fields else [], depth, seconds, log_text.count("\n iteration "))
    if (done.returncode or len(found) < len(steps)) and not keep_going:
        raise SolverStopped(log_text[-600:], run)
    return run


def read_dat(path: Path) -> tuple[list[dict[tuple[str, str], dict[int, Array]]], list[float]]:
    """Printed sets by step (a new step when the time grows) and the deepest penetration of each step."""
    steps: list[dict[tuple[str, str], dict[int, Array]]] = []
    depth: list[float] = []
    last, rows, contact = "", None, False
    for line in path.read_text().splitlines() if path.exists() else []:
        words = line.split()
        if "and time" in line:
            now = words[-1]
            if now != last:
                steps.append({})
                depth.append(0.0)
                last = now
            contact = "contact" in line
            name = words[words.index("set") + 1] if "set" in words else ""
            rows = steps[-1].setdefault((name, words[0]), {}) if not contact else None
        elif words and contact and words[0].isdigit():
            depth[-1] = max(depth[-1], -float(words[-3]))
        elif words and rows is not None and words[0].isdigit():
            rows[int(words[0])] = np.array([float(v) for v in words[1:4]])
        elif len(words) == 1 and rows is not None:
            rows[0] = np.array([float(words[0])])
    return steps, depth


def read_frd(path: Path) -> list[dict[str, dict[int, Array]]]:
    """Displacements (DISP) and stresses xx, yy, zz, xy, yz, zx (STRESS) by node, one entry a step."""
    steps: list[dict[str, dict[int, Array]]] = []
    name = ""
    for line in path.read_text().splitlines():
        if line.startswith(" -4"):
            name = line.split()[1]
            if name == "DISP":
                steps.append({})
            if name in ("DISP", "STRESS"):
                steps[-1][name] = {}
        elif line.startswith(" -1") and name in ("DISP", "STRESS"):
            values = [float(line[13 + 12 * k : 25 + 12 * k]) for k in range((len(line) - 13) // 12)]
            steps[-1][name][int(line[3:13])] = np.array(values)
        elif line.startswith(" -3"):
            name = ""
    return steps


def section(model: Model, nodes: list[int], fields: dict[str, dict[int, Array]]) -> dict[str, float]:
    """Section force, shear, moment (tension at the outside positive) and surface stresses of a column of nodes, inside out.

    Cauchy stresses at the nodes are taken on the deformed section, as wide as plane stress leaves it (without that the
    small force in a bent wall is 0.8 % off), and integrated by Simpson's rule about the middle of the column.
    """
    place = np.array([model.nodes[n - 1] for n in nodes]) + np.array([fields["DISP"][n][:2] for n in nodes])
    along = place[-1] - place[0]
    depth = float(np.hypot(*along))
    out = along / depth
    tangent = np.array([-out[1], out[0]])
    stress = np.array([fields["STRESS"][n] for n in nodes])
    full = np.stack([stress[:, [0, 3]], stress[:, [3, 1]]], axis=1)
    normal = np.einsum("i,nij,j->n", tangent, full, tangent)
    shear = np.einsum("i,nij,j->n", tangent, full, out)
    height = (place - 0.5 * (place[0] + place[-1])) @ out
    weight = np.zeros(len(nodes))
    for k in range(0, len(nodes) - 2, 2):
        weight[k : k + 3] += (height[k + 2] - height[k]) / 6 * np.array([1.0, 4.0, 1.0])
    weight *= 1.0 - model.poisson / model.modulus_mpa * (stress[:, 0] + stress[:, 1])
    return {
        "force_n_per_mm": float(weight @ normal),
        "shear_n_per_mm": float(weight @ shear),
        "moment_n": float(weight @ (normal * height)),
        "inside_mpa": float(normal[0]),
        "outside_mpa": float(normal[-1]),
    }


def solver_version() -> str:
    words = subprocess.run(["ccx", "-v"], capture_output=True, text=True, check=False).stdout.split()
    return words[-1] if words else "?"
