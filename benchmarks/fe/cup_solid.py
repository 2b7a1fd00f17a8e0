"""A quarter of a cup in solid elements, solved by CalculiX (Debian package calculix-ccx), to compare the shell with.

    python benchmarks/fe/cup_solid.py            # solves every case again and rewrites cup_solid.json beside this file
    python benchmarks/fe/cup_solid.py toothed    # only the cups named

The cup is built of quadratic bricks of its own, from boss to open edge: flush inside, corner with its inside radius and
a wall that tapers over the turn, a sharp step where the rim begins, no fillets; one of the cups has square teeth on its rim,
as wide as the gaps between them, the middle of one on each lobe. It is clamped at the boss and
pushed from inside over the middle 8 mm of the rim: once with a pressure that goes as cos 2φ, once evenly within ± 5° of
both lobes. Kept are the radial displacement and the surface stresses along the major axis; a test compares them.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
import tempfile
from itertools import product
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
AROUND = 36
"""Bricks in a quarter of a plain cup; 5° are two of them. A toothed one has four a pitch."""
CONTACT_DEG = 5.0
CASES = {
    # rim radius (middle of wall), length, barrel wall, rim wall, rim width, diaphragm, corner radius, boss radius [mm]
    "steel": (39.4, 45.0, 0.4, 0.5, 10.0, 0.6, 2.0, 20.0),
    "printed": (47.0, 50.0, 1.0, 1.2, 12.0, 2.0, 3.0, 20.0),
    "thick": (20.0, 30.0, 1.2, 1.4, 10.0, 1.6, 2.5, 9.0),
    "toothed": (20.0, 30.0, 1.2, 1.4, 10.0, 1.6, 2.5, 9.0),
}
TEETH = {"toothed": (72, 1.0)}
"""Teeth round the rim and their height [mm]."""
SPREAD_MM = 8.0
MODULUS_MPA, POISSON = 206e3, 0.3
PUSH_N_PER_MM = 1.0
"""Line load at the middle of the rim's wall: amplitude of cos 2φ, or even value over the contact."""

Array = np.ndarray


def graded(length: float, wall: float, parts: int) -> Array:
    """Shares 0 … 1, finer at both ends."""
    x = np.linspace(-1.0, 1.0, parts + 1)
    mixed = 0.55 * np.sin(0.5 * np.pi * x) + 0.45 * x
    assert length > wall / 4
    return 0.5 * (1.0 + mixed)


class Grid:
    """Half-step grid (along the meridian, through the wall, around) of quadratic bricks."""

    def __init__(self, shape: tuple[float, ...], teeth: int = 0, tooth_mm: float = 0.0) -> None:
        self.around, self.tooth_mm = (teeth if teeth else AROUND), tooth_mm
        rim, length, self.barrel, self.rim_wall, width, floor, corner, boss = shape
        self.inner = rim - 0.5 * self.rim_wall
        flat = (boss, floor), (self.inner - corner, floor)
        self.rows: list[tuple[Array, Array, float, bool]] = []  # inside point, normal, wall, in the rim
        centre = np.array([self.inner - corner, floor + corner])

        def line(
            start: tuple[float, float],
            end: tuple[float, float],
            normal: tuple[float, float],
            wall: float,
            parts: int,
            rim_part: bool,
        ) -> None:
            shares = graded(math.dist(start, end), wall, parts)
            self._add(
                [(np.array(start) + s * (np.array(end) - start), np.array(normal), wall) for s in half(shares)],
                rim_part,
            )

        line(*flat, (0.0, -1.0), floor, 16, False)
        turn = []
        for share in half(np.linspace(0.0, 1.0, 9)):
            angle = 0.5 * math.pi * (share - 1.0)
            normal = np.array([math.cos(angle), math.sin(angle)])
            turn.append((centre + corner * normal, normal, floor + share * (self.barrel - floor)))
        self._add(turn, False)
        step = length - width
        line((self.inner, floor + corner), (self.inner, step), (1.0, 0.0), self.barrel, 24, False)
        self.step_row = len(self.rows) - 1
        gap = 0.5 * (width - SPREAD_MM)
        cuts = [step, step + gap, length - gap, length]
        for low, high, parts in zip(cuts[:-1], cuts[1:], (3, 10, 3), strict=True):
            line((self.inner, low), (self.inner, high), (1.0, 0.0), self.barrel, parts, True)
        self.band = (cuts[1], cuts[2])
        self.layers = 2

    def _add(self, rows: list, rim_part: bool) -> None:
        if self.rows:
            rows = rows[1:]
        self.rows += [(place, normal, wall, rim_part) for place, normal, wall in rows]

    def point(self, i: int, j: int, turn: int) -> Array:
        """Place of a half-step point; beyond the base layers the wall goes on to the rim's thickness."""
        place, normal, wall, _ = self.rows[i]
        base = 2 * self.layers
        depth = wall * min(j, base) / base + (self.rim_wall - self.barrel) * min(max(0, j - base), 2) / 2
        depth += self.tooth_mm * max(0, j - base - 2) / 4
        r, z = place + depth * normal
        angle = 0.5 * math.pi * turn / (2 * self.around)
        return np.array([r * math.cos(angle), r * math.sin(angle), z])

    def bricks(self) -> list[tuple[int, int, int]]:
        """Lower corners (half steps) of all bricks."""
        out = []
        for i in range(0, len(self.rows) - 1, 2):
            layers = self.layers + (1 if i >= self.step_row else 0)
            out += [(i, 2 * j, 2 * n) for j in range(layers) for n in range(self.around)]
            if i >= self.step_row and self.tooth_mm:
                out += [(i, 2 * j, 2 * n) for j in (layers, layers + 1) for n in range(self.around) if n % 4 in (0, 3)]
        return out


def half(shares: Array) -> Array:
    """The shares and the middles between them."""
    out = np.empty(2 * len(shares) - 1)
    out[::2] = shares
    out[1::2] = 0.5 * (shares[1:] + shares[:-1])
    return out


def brick_nodes() -> list[tuple[int, int, int]]:
    """Half-step offsets (meridian, wall, around) of the 20 nodes in the solver's order; around, meridian, outward is
    right-handed."""
    low = [(0, 0, 0), (0, 0, 2), (2, 0, 2), (2, 0, 0)]
    high = [(a, 2, c) for a, _, c in low]

    def edge(p: tuple[int, int, int], q: tuple[int, int, int]) -> tuple[int, int, int]:
        return ((p[0] + q[0]) // 2, (p[1] + q[1]) // 2, (p[2] + q[2]) // 2)

    ring = [edge(low[n], low[(n + 1) % 4]) for n in range(4)]
    ring_high = [edge(high[n], high[(n + 1) % 4]) for n in range(4)]
    return low + high + ring + ring_high + [edge(low[n], high[n]) for n in range(4)]


def face_shape(x: float, y: float) -> Array:
    """Eight-node serendipity functions on (−1, 1)²: corners (−,−), (+,−), (+,+), (−,+), then middles between them."""
    corners = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    out = [0.25 * (1 + a * x) * (1 + b * y) * (a * x + b * y - 1) for a, b in corners]
    out += [
        0.5 * (1 - x * x) * (1 - y),
        0.5 * (1 + x) * (1 - y * y),
        0.5 * (1 - x * x) * (1 + y),
        0.5 * (1 - x) * (1 - y * y),
    ]
    return np.array(out)


def push(grid: Grid, number: dict, line_load) -> dict[int, Array]:
    """Nodal forces of a radial line load q(φ) [N/mm at the rim's middle] spread evenly over the band, from inside."""
    face = [(0, 0), (0, 2), (2, 2), (2, 0), (0, 1), (1, 2), (2, 1), (1, 0)]  # (meridian, around)
    points, weights = np.polynomial.legendre.leggauss(4)
    middle = grid.inner + 0.5 * grid.rim_wall
    forces: dict[int, Array] = {}
    for i, j, turn in grid.bricks():
        low, high = grid.rows[i][0][1], grid.rows[i + 2][0][1]
        if j or low < grid.band[0] - 1e-9 or high > grid.band[1] + 1e-9 or i < grid.step_row:
            continue
        for (x, a), (y, b) in product(zip(points, weights, strict=True), repeat=2):
            angle = 0.5 * math.pi * (turn + 1 + x) / (2 * grid.around)
            area = middle * 0.5 * math.pi / grid.around / 2 * 0.5 * (high - low) / SPREAD_MM
            amount = line_load(angle, turn) * area * a * b
            for (di, dl), share in zip(face, face_shape(x, y), strict=True):
                node = number[i + di, 0, turn + dl]
                direction = np.array([math.cos(angle), math.sin(angle), 0.0])
                forces[node] = forces.get(node, 0.0) + amount * share * direction
    return forces


def bricks_in_words(grid: Grid) -> tuple[dict, list[str]]:
    """Node numbers by half step, and the lines of an input file that tell nodes, bricks and material."""
    offsets, bricks = brick_nodes(), grid.bricks()
    used = sorted({tuple(np.add(b, o)) for b in bricks for o in offsets})
    number = {tuple(int(v) for v in key): n for n, key in enumerate(used, 1)}
    lines = ["*NODE, NSET=ALL"]
    lines += [f"{n}, " + ", ".join(f"{v:.10g}" for v in grid.point(*key)) for key, n in number.items()]
    lines.append("*ELEMENT, TYPE=C3D20R, ELSET=CUP")
    for e, brick in enumerate(bricks, 1):
        nodes = [number[tuple(int(v) for v in np.add(brick, o))] for o in offsets]
        lines += [f"{e}, " + ", ".join(map(str, nodes[:15])) + ",", ", ".join(map(str, nodes[15:]))]
    lines += ["*MATERIAL, NAME=M", "*ELASTIC", f"{MODULUS_MPA}, {POISSON}", "*SOLID SECTION, ELSET=CUP, MATERIAL=M"]
    return number, lines


def write_input(grid: Grid, path: Path) -> dict:
    """Input file with two load cases; returns the node numbers by half step."""
    number, lines = bricks_in_words(grid)
    lines.append("*BOUNDARY")
    for (i, _, turn), n in number.items():
        if i == 0:
            lines.append(f"{n}, 1, 3")
        elif turn == 0:
            lines.append(f"{n}, 2, 2")
        elif turn == 2 * grid.around:
            lines.append(f"{n}, 1, 1")
    inside = round(CONTACT_DEG / 90.0 * grid.around) * 2
    loads = (
        lambda angle, turn: PUSH_N_PER_MM * math.cos(2.0 * angle),
        lambda angle, turn: PUSH_N_PER_MM if turn < inside else 0.0,
    )
    for line_load in loads:
        lines += ["*STEP", "*STATIC", "*CLOAD, OP=NEW"]
        for node, force in sorted(push(grid, number, line_load).items()):
            lines += [f"{node}, {k + 1}, {force[k]:.10g}" for k in range(2)]
        lines += ["*NODE FILE", "U", "*EL FILE", "S", "*END STEP"]
    path.write_text("\n".join(lines) + "\n")
    return number


def read_results(path: Path) -> list[dict[str, dict[int, Array]]]:
    """Displacements and stresses (xx, yy, zz, xy, yz, zx) by node, one entry a load case."""
    cases: list[dict[str, dict[int, Array]]] = []
    name = ""
    for line in path.read_text().splitlines():
        if line.startswith(" -4"):
            name = line.split()[1]
            if name == "DISP":
                cases.append({})
            cases[-1][name] = {}
        elif line.startswith(" -1") and name in ("DISP", "STRESS"):
            values = [float(line[13 + 12 * k : 25 + 12 * k]) for k in range((len(line) - 13) // 12)]
            cases[-1][name][int(line[3:13])] = np.array(values)
        elif line.startswith(" -3"):
            name = ""
    return cases


def along_major_axis(grid: Grid, number: dict, case: dict) -> dict[str, list]:
    """Rows at φ = 0 on whole steps: place of the inside, radial displacement, meridional and hoop stress in and out."""
    rows: dict[str, list] = {k: [] for k in ("r_mm", "z_mm", "radial_mm", "axial_mm", "inside_mpa", "outside_mpa")}
    base = 2 * grid.layers
    for i in range(0, len(grid.rows), 2):
        place, normal, _, rim = grid.rows[i]
        outer = base + 2 if rim or i == grid.step_row else base
        tangent = np.array([-normal[1], 0.0, normal[0]])
        rows["r_mm"].append(place[0])
        rows["z_mm"].append(place[1])
        moved = 0.5 * (case["DISP"][number[i, 0, 0]] + case["DISP"][number[i, outer, 0]])
        rows["radial_mm"].append(moved[0])
        rows["axial_mm"].append(moved[2])
        for j, key in ((0, "inside_mpa"), (outer, "outside_mpa")):
            xx, yy, zz, _, _, zx = case["STRESS"][number[i, j, 0]]
            full = np.array([[xx, 0, zx], [0, yy, 0], [zx, 0, zz]])
            rows[key].append([tangent @ full @ tangent, yy])
    return {
        k: np.round(np.array(v), 9).tolist() if "mpa" not in k else np.round(v, 5).tolist() for k, v in rows.items()
    }


def solve(name: str) -> dict:
    """One cup: kept numbers of both load cases."""
    grid = Grid(CASES[name], *TEETH.get(name, ()))
    with tempfile.TemporaryDirectory() as folder:
        number = write_input(grid, Path(folder) / "cup.inp")
        run = subprocess.run(["ccx", "cup"], cwd=folder, capture_output=True, text=True, check=False)
        if run.returncode or not (Path(folder) / "cup.frd").exists():
            sys.exit(f"{name}: the solver stopped: {run.stdout[-500:]}")
        cases = read_results(Path(folder) / "cup.frd")
    kept = {load: along_major_axis(grid, number, case) for load, case in zip(("lobes", "contact"), cases, strict=True)}
    keys = (
        "rim_radius_mm",
        "length_mm",
        "barrel_wall_mm",
        "rim_wall_mm",
        "rim_width_mm",
        "diaphragm_mm",
        "corner_radius_mm",
        "boss_radius_mm",
    )
    return {
        "cup": dict(zip(keys, CASES[name], strict=True)),
        **({"teeth": TEETH[name][0], "tooth_mm": TEETH[name][1]} if name in TEETH else {}),
        "nodes": len(number),
        "bricks": len(grid.bricks()),
        **kept,
    }


def main(names: list[str]) -> None:
    """Solve the cases named (all when none is) and keep them."""
    version = subprocess.run(["ccx", "-v"], capture_output=True, text=True, check=False).stdout.split()
    cases = json.loads((HERE / "cup_solid.json").read_text())["cases"] if names else {}
    kept = {
        "solver": f"CalculiX {version[-1] if version else '?'}, C3D20R",
        "modulus_mpa": MODULUS_MPA,
        "poisson": POISSON,
        "spread_mm": SPREAD_MM,
        "line_load_n_per_mm": PUSH_N_PER_MM,
        "contact_half_angle_deg": CONTACT_DEG,
        "cases": cases | {name: solve(name) for name in names or CASES},
    }
    (HERE / "cup_solid.json").write_text(json.dumps(kept, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
