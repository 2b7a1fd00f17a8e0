"""Cups pushed out at two lobes and turned by their teeth, in solid elements, to compare the driven shell with.

    python benchmarks/fe/cup_torque.py           # solves every case again and rewrites cup_torque.json beside this file

The bricks, walls and clamped boss are those of `cup_solid.py` (CalculiX, Debian package calculix-ccx). The push acts from
inside, evenly within ± 5° of both lobes; the teeth of one flank push sideways, evenly between 5° and 25° beside both lobes,
half on the inside and half on the outside of the rim so that they bend it by nothing. A load that repeats after half a turn is
the sum of one that is mirrored at the lobes and one that is mirrored with its sign turned, so a quarter of the cup is solved
twice and both are added: exact, because everything is linear. Kept are the deflection of the rim and the stresses of both
surfaces round the cup at eight places. Two cups more have a fillet at the step from barrel to rim, with four bricks through
the wall and eight along the fillet; of them the stresses of the outside are kept where the meridional one is largest.
A test and the evidence compare them.
"""

from __future__ import annotations

import itertools
import json
import math
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from cup_solid import (
    CASES,
    CONTACT_DEG,
    MODULUS_MPA,
    POISSON,
    PUSH_N_PER_MM,
    SPREAD_MM,
    Grid,
    bricks_in_words,
    face_shape,
    half,
    read_results,
)

HERE = Path(__file__).parent
NAMES = ("steel", "printed")
FILLETS = {"steel": 0.2, "printed": 0.25}
"""Radius [mm] of the fillet that is tried on a cup."""
LAYERS, ALONG = 4, 8
SIDEWAYS_N_PER_MM = 2.0
TEETH_DEG = (5.0, 25.0)
STEP_DEG = 5
Array = np.ndarray


class FilletGrid(Grid):
    """The same cup with one stack of bricks through its wall, which grows from barrel to rim over a fillet."""

    def __init__(self, shape: tuple[float, ...], fillet_mm: float) -> None:
        super().__init__(shape)
        self.layers, grow = LAYERS, self.rim_wall - self.barrel
        reach = math.sqrt(max(2.0 * fillet_mm * grow - grow**2, 0.0)) if grow < fillet_mm else fillet_mm
        step = float(self.rows[self.step_row][0][1])
        start = int(np.flatnonzero([row[1][0] == 1.0 for row in self.rows])[0])
        low, end = float(self.rows[start][0][1]), float(self.rows[-1][0][1])
        ends = [low, step - reach - self.barrel, step - reach, step, step + self.barrel, *self.band, end]
        ends = sorted({round(z, 9) for z in ends})
        parts = {low: 24, step - reach - self.barrel: 6, step - reach: ALONG, step: 6}
        rows = self.rows[:start]
        for first, last in itertools.pairwise(ends):
            many = next((n for z, n in parts.items() if abs(z - first) < 1e-6), 4)
            many = 10 if first >= self.band[0] - 1e-6 and last <= self.band[1] + 1e-6 else many
            for z in half(np.linspace(first, last, many + 1)):
                inside = step - reach < z < step
                wall = self.barrel if z <= step - reach else self.rim_wall
                if inside:
                    wall = self.barrel + fillet_mm - math.sqrt(fillet_mm**2 - (z - step + reach) ** 2)
                if not rows or abs(rows[-1][0][1] - z) > 1e-7 or len(rows) == start:
                    rows.append((np.array([self.inner, z]), np.array([1.0, 0.0]), wall, z >= step))
        self.rows = rows
        heights = np.array([row[0][1] if row[1][0] == 1.0 else -1.0 for row in rows])
        self.fillet_rows = [int(np.argmin(np.abs(heights - z))) for z in (step - reach, step)]
        self.step_row, self.fillet_mm, self.reach = self.fillet_rows[1], fillet_mm, reach

    def point(self, i: int, j: int, turn: int) -> Array:
        place, normal, wall, _ = self.rows[i]
        r, z = place + wall * j / (2 * self.layers) * normal
        angle = 0.5 * math.pi * turn / (2 * self.around)
        return np.array([r * math.cos(angle), r * math.sin(angle), z])

    def bricks(self) -> list[tuple[int, int, int]]:
        rows = range(0, len(self.rows) - 1, 2)
        return [(i, 2 * j, 2 * n) for i in rows for j in range(self.layers) for n in range(self.around)]


def outside_level(grid: Grid, in_rim: bool) -> int:
    """Half step of the outside of the wall."""
    return 2 * grid.layers + (2 if in_rim and not isinstance(grid, FilletGrid) else 0)


def spread(grid: Grid, number: dict, inside: bool, load) -> dict[int, Array]:
    """Nodal forces of a line load (radial, tangential) [N/mm at the rim's middle] by brick around, even over the band."""
    face = [(0, 0), (0, 2), (2, 2), (2, 0), (0, 1), (1, 2), (2, 1), (1, 0)]
    points, weights = np.polynomial.legendre.leggauss(4)
    middle = grid.inner + 0.5 * grid.rim_wall
    level = 0 if inside else outside_level(grid, True)
    radius = grid.inner if inside else grid.inner + grid.rim_wall
    forces: dict[int, Array] = {}
    for i in range(grid.step_row, len(grid.rows) - 1, 2):
        low, high = grid.rows[i][0][1], grid.rows[i + 2][0][1]
        if low < grid.band[0] - 1e-9 or high > grid.band[1] + 1e-9:
            continue
        for turn in range(0, 2 * grid.around, 2):
            out, around = load(90.0 * (turn + 1) / (2 * grid.around))
            if not (out or around):
                continue
            for x, a in zip(points, weights, strict=True):
                for y, b in zip(points, weights, strict=True):
                    angle = 0.5 * math.pi * (turn + 1 + x) / (2 * grid.around)
                    area = middle * 0.25 * math.pi / grid.around * 0.5 * (high - low) / SPREAD_MM * a * b
                    c, s = math.cos(angle), math.sin(angle)
                    # the torque of a sideways force counts
                    force = area * (out * np.array([c, s, 0.0]) + around * middle / radius * np.array([-s, c, 0.0]))
                    for (di, dl), share in zip(face, face_shape(x, y), strict=True):
                        node = number[i + di, level, turn + dl]
                        forces[node] = forces.get(node, 0.0) + share * force
    return forces


def write_input(grid: Grid, path: Path, mirrored: bool) -> dict:
    """Input file of the mirrored or the sign-turned half of the load; returns the node numbers by half step."""
    number, lines = bricks_in_words(grid)
    lines.append("*BOUNDARY")
    for (i, _, turn), n in number.items():
        if i == 0:
            lines.append(f"{n}, 1, 3")
        elif turn in (0, 2 * grid.around):
            square, along = (2, 1) if turn == 0 else (1, 2)
            lines += [f"{n}, {square}, {square}"] if mirrored else [f"{n}, {along}, {along}", f"{n}, 3, 3"]
    lines += ["*STEP", "*STATIC", "*CLOAD"]
    most = 0.5 * SIDEWAYS_N_PER_MM

    def sideways(degrees: float) -> float:
        return most if TEETH_DEG[0] < degrees < TEETH_DEG[1] else 0.0

    def push(degrees: float) -> float:
        return PUSH_N_PER_MM if mirrored and degrees < CONTACT_DEG else 0.0

    total: dict[int, Array] = {}
    for inside in (True, False):
        found = spread(grid, number, inside, lambda d, at=inside: (push(d) if at else 0.0, 0.5 * sideways(d)))
        for node, force in found.items():
            total[node] = total.get(node, 0.0) + force
    for node, force in sorted(total.items()):
        lines += [f"{node}, {k + 1}, {force[k]:.10g}" for k in range(2)]
    lines += ["*NODE FILE", "U", "*EL FILE", "S", "*END STEP"]
    path.write_text("\n".join(lines) + "\n")
    return number


def stations(grid: Grid) -> dict[str, int]:
    """Rows of the mesh (half steps) that are kept, by name."""
    place = np.array([row[0] for row in grid.rows])
    even = np.arange(0, len(grid.rows), 2)
    turn = int(np.flatnonzero(place[:, 1] > grid.rows[0][0][1] + 1e-9)[0]) - 1
    boss, flat = place[0, 0], place[turn, 0]
    upright = int(np.flatnonzero(np.abs(place[:, 0] - grid.inner) < 1e-9)[0])
    step = grid.step_row

    def near(rows: Array, value: Array, wanted: float) -> int:
        return int(rows[np.argmin(np.abs(value[rows] - wanted))])

    flats, walls = even[even <= turn], even[(even >= upright) & (even <= step)]
    rims = even[even >= step]
    floor = grid.rows[0][2]
    height = place[:, 1]
    return {
        "boss": near(flats, place[:, 0], boss + floor),
        "diaphragm": near(flats, place[:, 0], 0.25 * boss + 0.75 * flat),
        "corner": near(
            even[(even > turn) & (even < upright)], height, height[turn] + 0.3 * (height[upright] - height[turn])
        ),
        "low_barrel": near(walls, height, height[upright] + grid.barrel),
        "mid_barrel": near(walls, height, 0.5 * (height[upright] + height[step])),
        "near_step": near(walls, height, height[step] - grid.barrel),
        "step": step,
        "rim": near(rims, height, 0.5 * sum(grid.band)),
    }


def read(grid: Grid, number: dict, case: dict, rows: dict[str, int]) -> tuple[Array, Array]:
    """Deflection of the rim (2, A) (radial, tangential, mean over band and wall) on all steps of 2.5° of a quarter, and
    stresses (rows, A', 2, 3) of both surfaces on steps of 5°."""
    rim_side = outside_level(grid, True)
    band = [
        i
        for i in range(grid.step_row, len(grid.rows), 2)
        if grid.band[0] - 1e-9 <= grid.rows[i][0][1] <= grid.band[1] + 1e-9
    ]
    height = np.array([grid.rows[i][0][1] for i in band])
    moved = []
    for turn in range(0, 2 * grid.around + 1, 2):
        angle = 0.5 * math.pi * turn / (2 * grid.around)
        out = np.array([math.cos(angle), math.sin(angle), 0.0])
        side = np.array([-math.sin(angle), math.cos(angle), 0.0])
        both = np.array(
            [
                0.5
                * (case["DISP"][number[i, 0, turn]] + case["DISP"][number[i, rim_side, turn]])
                @ np.stack((out, side)).T
                for i in band
            ]
        )
        moved.append(np.trapezoid(both, height, axis=0) / (height[-1] - height[0]))
    each = round(STEP_DEG / 90.0 * grid.around) * 2
    stress = np.empty((len(rows), 90 // STEP_DEG + 1, 2, 3))
    for s, i in enumerate(rows.values()):
        normal = grid.rows[i][1]
        outer = outside_level(grid, grid.rows[i][3])
        for a, turn in enumerate(range(0, 2 * grid.around + 1, each)):
            angle = 0.5 * math.pi * turn / (2 * grid.around)
            c, sine = math.cos(angle), math.sin(angle)
            around = np.array([-sine, c, 0.0])
            for surface, j in enumerate((0, outer)):
                lean = leaning(grid, i) if j else 0.0
                rise = np.array([-normal[1], normal[0]]) * math.cos(lean) + normal * math.sin(lean)
                along = np.array([rise[0] * c, rise[0] * sine, rise[1]])
                xx, yy, zz, xy, yz, zx = case["STRESS"][number[i, j, turn]]
                full = np.array([[xx, xy, zx], [xy, yy, yz], [zx, yz, zz]])
                stress[s, a, surface] = along @ full @ along, around @ full @ around, along @ full @ around
    return np.array(moved).T, stress


def leaning(grid: Grid, row: int) -> float:
    """Angle of the outside of a fillet to the wall."""
    if not isinstance(grid, FilletGrid):
        return 0.0
    from_start = float(grid.rows[row][0][1] - grid.rows[grid.fillet_rows[0]][0][1])
    return math.asin(from_start / grid.fillet_mm) if 0.0 < from_start < grid.reach - 1e-9 else 0.0


def joined(mirrored: Array, turned: Array, odd: bool) -> Array:
    """Values on −90 … 90° from those on 0 … 90° of both halves of the load, angle first; ``odd``: of a quantity that a mirror
    turns round (sideways motion, shear)."""
    sign = -1.0 if odd else 1.0
    left = (sign * mirrored - sign * turned)[::-1]
    return np.concatenate((left[:-1], mirrored + turned))


def both_halves(name: str, grid: Grid, rows: dict[str, int]) -> tuple[Array, Array, Array]:
    """Radial and tangential deflection of the rim on −90 … 90°, and stresses (rows, A, 2, 3)."""
    found = []
    for mirrored in (True, False):
        with tempfile.TemporaryDirectory() as folder:
            number = write_input(grid, Path(folder) / "cup.inp", mirrored)
            run = subprocess.run(["ccx", "cup"], cwd=folder, capture_output=True, text=True, check=False)
            if run.returncode or not (Path(folder) / "cup.frd").exists():
                sys.exit(f"{name}: the solver stopped: {run.stdout[-500:]}")
            found.append(read(grid, number, read_results(Path(folder) / "cup.frd")[0], rows))
    (moved, stress), (moved_turned, stress_turned) = found
    parts = [joined(stress[..., k].swapaxes(0, 1), stress_turned[..., k].swapaxes(0, 1), k == 2) for k in range(3)]
    whole = np.moveaxis(np.stack(parts, -1), 0, 1)
    return joined(moved[0], moved_turned[0], False), joined(moved[1], moved_turned[1], True), whole


def solve_fillet(name: str, fillet_mm: float) -> dict:
    """The rim's deflection; the outside round the cup where the meridional stress of the fillet is largest; and the largest
    sizes of meridional, hoop and shear stress of the outside from one wall before the fillet to its end."""
    grid = FilletGrid(CASES[name], fillet_mm)
    first, last = grid.fillet_rows
    rows = {str(i): i for i in range(first - 12, last + 1, 2)}
    radial, _, stress = both_halves(name, grid, rows)
    most = np.abs(stress[:, :, 1]).max(axis=1)
    worst = int(most[:, 0].argmax())
    height = [round(float(grid.rows[i][0][1]), 6) for i in rows.values()]
    return {
        "fillet_mm": fillet_mm,
        "radial_mm": np.round(radial, 7).tolist(),
        "z_mm": height,
        "largest_mpa": np.round(most, 3).tolist(),
        "worst_z_mm": height[worst],
        "outside_mpa": np.round(stress[worst, :, 1], 3).tolist(),
    }


def solve(name: str) -> dict:
    """One cup: what is kept of it."""
    grid = Grid(CASES[name])
    rows = stations(grid)
    radial, tangential, whole = both_halves(name, grid, rows)
    keys = ("rim_radius_mm", "length_mm", "barrel_wall_mm", "rim_wall_mm", "rim_width_mm", "diaphragm_mm")
    keys += ("corner_radius_mm", "boss_radius_mm")
    places = {key: {"r_mm": grid.rows[i][0][0], "z_mm": grid.rows[i][0][1]} for key, i in rows.items()}
    return {
        "cup": dict(zip(keys, CASES[name], strict=True)),
        "radial_mm": np.round(radial, 7).tolist(),
        "tangential_mm": np.round(tangential, 7).tolist(),
        "places": {
            key: {**{k: round(float(v), 6) for k, v in place.items()}, "stress_mpa": np.round(values, 2).tolist()}
            for (key, place), values in zip(places.items(), whole, strict=True)
        },
        "fillet": solve_fillet(name, FILLETS[name]),
    }


def main() -> None:
    """Solve all cases and keep them."""
    version = subprocess.run(["ccx", "-v"], capture_output=True, text=True, check=False).stdout.split()
    kept = {
        "solver": f"CalculiX {version[-1] if version else '?'}, C3D20R",
        "modulus_mpa": MODULUS_MPA,
        "poisson": POISSON,
        "spread_mm": SPREAD_MM,
        "push_n_per_mm": PUSH_N_PER_MM,
        "contact_half_angle_deg": CONTACT_DEG,
        "sideways_n_per_mm": SIDEWAYS_N_PER_MM,
        "teeth_deg": TEETH_DEG,
        "rim_from_deg": -90.0,
        "rim_step_deg": 2.5,
        "stress_step_deg": STEP_DEG,
        "cases": {name: solve(name) for name in NAMES},
    }
    (HERE / "cup_torque.json").write_text(json.dumps(kept, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
