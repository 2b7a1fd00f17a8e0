"""Root stress of toothed rings by a general finite element code: whole round rings, teeth with rounded roots, small loads.

    python benchmarks/fe/rim_root.py          # solve again and rewrite src/lobewright/published/rim_reference.json
    python benchmarks/fe/rim_root.py --check  # the coarse meshes only, against the kept numbers

One pitch is meshed straight and bent round: a point at (x, y) of the straight pitch goes to the angle x/R and the radius
R + y, so teeth stand on a curved wall. Plane stress (CalculiX, CPS8), linear. Two loads a ring: "pushed", an even outward
push on the inner surface under two opposite teeth; "turned", a force on one flank of ten teeth, against equal tangential
forces in mid-wall under every tooth. Stress along the surface is E times the strain of its nodes' displacements.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import subprocess
import tempfile
from pathlib import Path

import numpy as np
from ring_deck import SLICE_MM, Model, read_dat, solver_version

from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.mesh.teeth import tooth_outline
from lobewright.ring.cell_mesh import CellMesh, plan_cell
from lobewright.ring.geometry import ring_geometry

KEPT = Path(__file__).parents[2] / "src/lobewright/published/rim_reference.json"
MODULUS_MPA, POISSON = 2000.0, 0.35
PUSH_N_PER_MM = 1.0
FLANK_N_PER_MM = (-1.0, -0.5)
LEVEL, PATCH_LEVEL = 0.7, 0.12
"""Middle and half height of the loaded part of the flank, over the tooth's height."""
RINGS = {
    "coarse": {"module_mm": 2.0, "teeth": 40, "wall_mm": 1.6},
    "fine": {"module_mm": 0.8, "teeth": 100, "wall_mm": 1.2},
}
READ = 4
"""Every so many teeth of the pushed ring are kept; always a loaded one with its neighbours."""
LOADED = 10
"""Loaded teeth of the turned ring."""


class Ring:
    """A meshed ring: nodes by pitch and half-step, and what is needed to load and read it."""

    def __init__(self, given: dict, cut: int) -> None:
        self.teeth, self.radius = given["teeth"], given["radius_mm"]
        self.mesh: CellMesh = plan_cell(np.array(given["outline_mm"]), given["inner_mm"]).mesh(cut)
        self.model = Model(modulus_mpa=MODULUS_MPA, poisson=POISSON)
        self.node: list[dict[tuple[int, int], int]] = []
        ends = {tuple(r): tuple(a) for r, a in zip(self.mesh.right, self.mesh.left, strict=True)}
        # x runs anticlockwise and y outward, so elements are listed the other way round
        corners = ((0, 0), (0, 2), (2, 2), (2, 0), (0, 1), (1, 2), (2, 1), (1, 0))
        halves = [[(2 * i + a, 2 * j + b) for a, b in corners] for i, j in self.mesh.cells]
        for pitch in range(self.teeth):
            here: dict[tuple[int, int], int] = {}
            for key in dict.fromkeys(key for one in halves for key in one):
                if pitch and key in ends.values():
                    here[key] = self.node[-1][next(r for r, a in ends.items() if a == key)]
                elif pitch == self.teeth - 1 and key in ends:
                    here[key] = self.node[0][ends[key]]
                else:
                    here[key] = self.model.node(*self.place(pitch, self.mesh.places_mm[key]))
            self.node.append(here)
            for one in halves:
                self.model.element("RING", [here[key] for key in one])
        self.load: dict[int, np.ndarray] = {}

    def place(self, pitch: int, straight: np.ndarray) -> tuple[float, float]:
        angle = 2.0 * math.pi * pitch / self.teeth + straight[0] / self.radius
        return ((self.radius + straight[1]) * math.cos(angle), (self.radius + straight[1]) * math.sin(angle))

    def push(self, pitch: int, keys: list[tuple[int, int]], weights: np.ndarray, local: tuple[float, float]) -> None:
        """A force (tangential, outward) of a pitch, shared by nodes."""
        angle = 2.0 * math.pi * pitch / self.teeth
        out, along = (np.array([math.cos(angle), math.sin(angle)]), np.array([-math.sin(angle), math.cos(angle)]))
        force = local[0] * along + local[1] * out
        for key, weight in zip(keys, weights / weights.sum(), strict=True):
            node = self.node[pitch][key]
            self.load[node] = self.load.get(node, np.zeros(2)) + weight * force

    def resultant(self, pitch: int, keys: list[tuple[int, int]], weights: np.ndarray) -> list[float]:
        """Where the force of :meth:`push` acts: its mean place, tangential and outward of the neutral point of the pitch."""
        angle = 2.0 * math.pi * pitch / self.teeth
        places = np.array([self.model.nodes[self.node[pitch][key] - 1] for key in keys])
        mean = (weights / weights.sum()) @ places - self.radius * np.array([math.cos(angle), math.sin(angle)])
        return [
            float(-mean[0] * math.sin(angle) + mean[1] * math.cos(angle)),
            float(mean[0] * math.cos(angle) + mean[1] * math.sin(angle)),
        ]

    def solved(self, folder: Path) -> np.ndarray:
        """Displacements (nodes, 2) per unit width; held at three freedoms, the loads being in balance."""
        first, opposite = self.node[0][tuple(self.mesh.inner[0])], self.node[self.teeth // 2][tuple(self.mesh.inner[0])]
        lines = ["*NODE,NSET=ALL", *(f"{n},{x:.12g},{y:.12g},0" for n, (x, y) in enumerate(self.model.nodes, 1))]
        lines += ["*ELEMENT,TYPE=CPS8,ELSET=RING"]
        lines += [f"{e}," + ",".join(map(str, nodes)) for e, nodes in self.model.elements["RING"]]
        lines += ["*MATERIAL,NAME=M", "*ELASTIC", f"{MODULUS_MPA},{POISSON}", "*SOLID SECTION,ELSET=RING,MATERIAL=M"]
        lines += [f"{SLICE_MM}", "*BOUNDARY", f"{first},1,2", f"{opposite},2,2", "*STEP", "*STATIC", "*CLOAD"]
        lines += [f"{n},{k + 1},{v[k] * SLICE_MM:.12g}" for n, v in self.load.items() for k in (0, 1)]
        lines += ["*NODE PRINT,NSET=ALL", "U", "*END STEP"]
        (folder / "rim.inp").write_text("\n".join(lines) + "\n")
        single = dict(os.environ, OMP_NUM_THREADS="1", CCX_NPROC_STIFFNESS="1")
        subprocess.run(["nice", "-n", "10", "ccx", "rim"], cwd=folder, check=True, capture_output=True, env=single)
        (found,), _ = read_dat(folder / "rim.dat")
        moved = next(iter(found.values()))
        return np.array([moved[n][:2] for n in range(1, len(self.model.nodes) + 1)])

    def surface(self, pitch: int, track: np.ndarray, moved: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Straight places (2E, 2) and stresses (2E,) at two points of every side along a track."""
        nodes = np.array([self.node[pitch][tuple(key)] for key in track]) - 1
        straight = np.array([self.mesh.places_mm[tuple(key)] for key in track])
        gauss = np.array([-1.0, 1.0]) / math.sqrt(3.0)
        shape = np.column_stack((gauss * (gauss - 1) / 2, 1 - gauss**2, gauss * (gauss + 1) / 2))
        slope = np.column_stack((gauss - 0.5, -2 * gauss, gauss + 0.5))

        def at(values: np.ndarray, weights: np.ndarray) -> np.ndarray:
            return np.einsum(
                "gk,ekc->egc", weights, np.stack((values[:-2:2], values[1:-1:2], values[2::2]), 1)
            ).reshape(-1, 2)

        along, gone = at(np.array(self.model.nodes)[nodes], slope), at(moved[nodes], slope)
        return at(straight, shape), MODULUS_MPA * (along * gone).sum(axis=1) / (along**2).sum(axis=1)


def given_of(ring: dict) -> dict:
    """Inputs of one ring, plain data."""
    data = starter_data("printed_ring")
    data["flexible_ring"] |= ring
    data["tooth"] |= {"tip_round_factor": 0.15, "root_round_factor": 0.3}
    # what stands round and inside the ring has no part in it, but a design names it
    data["generator"]["disc_radius_mm"] = 0.4 * ring["module_mm"] * ring["teeth"]
    for k, rigid in enumerate(data["rigid_ring"]):
        rigid["teeth"] = ring["teeth"] + 2 - 2 * k
    design = design_from_data(data)
    geometry, outline = ring_geometry(design), tooth_outline(design)
    return {
        "teeth": ring["teeth"],
        "radius_mm": geometry.neutral_radius_mm,
        "inner_mm": -geometry.inner_offset_mm,
        "outline_mm": [[round(float(v), 7) for v in point] for point in outline.points_mm],
    }


def solve(given: dict, cut: int) -> dict:
    """Both loads of one ring."""
    out = {}
    teeth = given["teeth"]
    heights = np.array(given["outline_mm"])[:, 1]
    land, tip = heights.min(), heights.max()
    for name in ("pushed", "turned"):
        ring = Ring(given, cut)
        inner = [tuple(key) for key in ring.mesh.inner]
        places = ring.mesh.places_mm
        size = np.abs(np.diff([places[key][0] for key in inner[::2]]))
        weight = np.zeros(len(inner))
        for k, length in enumerate(size):
            weight[2 * k : 2 * k + 3] += length * np.array([1.0, 4.0, 1.0]) / 6.0
        kept: dict = {}
        if name == "pushed":
            for pitch in (0, teeth // 2):
                # radial everywhere: shared by angle
                for key, part in zip(inner, weight / weight.sum(), strict=True):
                    node = ring.node[pitch][key]
                    place = np.array(ring.model.nodes[node - 1])
                    ring.load[node] = ring.load.get(node, 0.0) + part * PUSH_N_PER_MM * place / np.hypot(*place)
            kept["force_n_per_mm"] = PUSH_N_PER_MM
        else:
            outer = [tuple(key) for key in ring.mesh.outer]
            middle = land + LEVEL * (tip - land)
            near = [
                key
                for key in outer
                if places[key][0] > 0.0 and abs(places[key][1] - middle) < PATCH_LEVEL * (tip - land)
            ]
            share = np.array([1.0 - ((places[key][1] - middle) / (PATCH_LEVEL * (tip - land))) ** 2 for key in near])
            for pitch in range(0, teeth, teeth // LOADED):
                ring.push(pitch, near, share, FLANK_N_PER_MM)
            arm = ring.resultant(0, near, share)
            wall = min(ring.node[0], key=lambda key: float(np.hypot(*places[key])))
            torque = LOADED * (FLANK_N_PER_MM[0] * (ring.radius + arm[1]) - FLANK_N_PER_MM[1] * arm[0])
            hold = ring.resultant(0, [wall], np.ones(1))
            back = -torque / (teeth * (ring.radius + hold[1]))
            for pitch in range(teeth):
                ring.push(pitch, [wall], np.ones(1), (back, 0.0))
            kept |= {
                "loaded": LOADED,
                "force_n_per_mm": list(FLANK_N_PER_MM),
                "arm_mm": arm,
                "hold_n_per_mm": back,
                "hold_mm": hold,
            }
        with tempfile.TemporaryDirectory() as folder:
            moved = ring.solved(Path(folder))
        every = range(0, teeth // 2, READ) if name == "pushed" else ()
        kept["teeth"] = read(ring, moved, {*every, 0, 1, 2, teeth - 1, teeth - 2}, land, tip)
        out[name] = kept
    return out


def read(ring: Ring, moved: np.ndarray, chosen: set[int], land: float, tip: float) -> dict:
    """Of some teeth the stress that is largest in size in the left and right hollow, and inside in the middle of the land
    clockwise of the tooth."""
    out = {}
    for pitch in sorted(chosen):
        place, stress = ring.surface(pitch, ring.mesh.outer, moved)
        low = place[:, 1] < land + 0.2 * (tip - land)
        hollows = [stress[low & (side * place[:, 0] > 0.0)] for side in (-1.0, 1.0)]
        _, inside = ring.surface(pitch, ring.mesh.inner, moved)
        out[str(pitch)] = [round(float(one[np.abs(one).argmax()]), 5) for one in (*hollows, inside[:1])]
    return out


def largest_change(a: dict, b: dict) -> float:
    """Largest difference of two solutions' stresses over the largest stress of its load."""
    worst = 0.0
    for name in ("pushed", "turned"):
        first, second = (np.array(list(one[name]["teeth"].values())) for one in (a, b))
        worst = max(worst, float(np.abs(first - second).max() / np.abs(second).max()))
    return worst


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--check", action="store_true")
    check = parser.parse_args().check
    kept = json.loads(KEPT.read_text()) if check else {}
    out = {"solver": f"CalculiX {solver_version()}, CPS8", "modulus_mpa": MODULUS_MPA, "poisson": POISSON, "rings": {}}
    for name, ring in RINGS.items():
        given = given_of(ring)
        coarse = solve(given, 1)
        if check:
            print(name, "off the kept numbers by", f"{largest_change(coarse, kept['rings'][name]):.4f}")
            continue
        fine = solve(given, 2)
        change = largest_change(coarse, fine)
        print(name, "two meshes differ by", f"{change:.4f}")
        out["rings"][name] = {"inputs": given, "refined_by": round(change, 5), **fine}
    if not check:
        KEPT.write_text(json.dumps(out, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
