"""Rings solved by CalculiX (Debian package calculix-ccx) as reference cases for the ring model.

    python benchmarks/fe/ring_cases.py a           # one case (proof, a, b, c, d) again, rewriting ring_<case>.json
    python benchmarks/fe/ring_cases.py --check     # the smallest case against what is kept
    python benchmarks/fe/ring_cases.py outlines    # the tooth outlines of c and d again, from a design

proof: plain ring, small deflection, against the closed form. a: opened by two rollers. b: four rollers at ± 30°, bulge
limited by a circle. c: toothed ring under torque. d: the same turned past its skip. Every kept file names all inputs,
results on two or more meshes, their differences, run times and the solver's version; docs/validation/fe_ring_cases.md
says how the cases are set up and what they showed.
"""

from __future__ import annotations

import json
import math
import sys
import tempfile
from pathlib import Path
from typing import Any

import ring_outlines
import ring_plain
import ring_toothed
from ring_deck import CONTACT_N_PER_MM3, SLICE_MM, solver_version

HERE = Path(__file__).parent
MESHES: dict[str, list[tuple[int, int, float]]] = {
    # columns in a quarter, rows, length of the rollers' faces [mm]; the last is the reference
    "proof": [(12, 1, 0.4), (24, 2, 0.1), (48, 4, 0.05)],
    "a": [(6, 1, 0.4), (12, 1, 0.4), (12, 2, 0.4), (24, 2, 0.1), (48, 4, 0.05)],
    "b": [(6, 1, 0.4), (12, 1, 0.4), (12, 2, 0.4), (24, 2, 0.1), (48, 4, 0.05)],
}
KEPT = ("radial_tangential_mm", "force_on_ring_n_per_mm", "sections")


def leaves(data: Any, key: str = "") -> dict[str, list[float]]:
    """Numbers grouped by what they are: displacements and forces by group, section results by kind."""
    if isinstance(data, dict):
        out: dict[str, list[float]] = {}
        for name, value in data.items():
            for kind, numbers in leaves(value, name if isinstance(value, float | int) else key).items():
                out.setdefault(kind, []).extend(numbers)
        return out
    return {key: [float(v) for v in (data if isinstance(data, list) else [data])]}


def differences(one: dict, other: dict) -> dict[str, float]:
    """Largest difference of each kind of result as a share of the largest of that kind in ``other``; stresses as one kind."""
    out = {}
    for group in KEPT:
        mine, yours = leaves(one[group], group), leaves(other[group], group)
        mine["surface_mpa"] = mine.pop("inside_mpa", []) + mine.pop("outside_mpa", [])
        yours["surface_mpa"] = yours.pop("inside_mpa", []) + yours.pop("outside_mpa", [])
        for kind in yours:
            if yours[kind]:
                top = max(abs(v) for v in yours[kind])
                out[kind] = round(max(abs(a - b) for a, b in zip(mine[kind], yours[kind], strict=True)) / top, 5)
    return out


def within(found: dict[str, float], share: float = 0.01) -> bool:
    """True when all but the shear agree: a parabola drawn through stresses carried to the surface is a poor shear."""
    return max(v for kind, v in found.items() if kind != "shear_n_per_mm") <= share


def plain(name: str, folder: Path) -> dict:
    """A plain ring on its meshes, each compared with the last, and the coarsest good one as a whole ring for its time."""
    runs = [ring_plain.run(name, folder, *mesh) for mesh in MESHES[name]]
    ladder = [
        {"mesh": run["mesh"], "seconds": run["seconds"], "differences_from_reference": differences(run, runs[-1])}
        for run in runs[:-1]
    ]
    good = [k for k, row in enumerate(ladder) if within(row["differences_from_reference"])]
    out: dict = {"inputs": ring_plain.INPUTS[name], "reference": runs[-1], "next_coarser": runs[-2], "ladder": ladder}
    if good:
        whole = ring_plain.run(name, folder, *MESHES[name][good[0]], whole=True)
        out["coarsest_within_1_percent"] = {
            "mesh": ladder[good[0]]["mesh"],
            "seconds": ladder[good[0]]["seconds"],
            "next_coarser_misses": good[0] > 0,
            "seconds_as_whole_ring": whole["seconds"],
        }
    if name == "proof":
        out["against_closed_form"] = closed_form(runs[-1])
    return out


def closed_form(run: dict) -> dict:
    """Thin ring under two opposite outward point loads: P = δ EI/(0.148779 R³) with δ the growth of the diameter."""
    given = ring_plain.INPUTS["proof"]
    radius, wall = given["neutral_radius_mm"], given["wall_mm"]
    stiffness = given["modulus_mpa"] * wall**3 / 12
    at_axis = math.pi / 4 - 2 / math.pi
    load = 2 * given["travel_mm"] * stiffness / (at_axis * radius**3)
    ratio = (2 / math.pi - 0.5) / (math.pi / 4 - 2 / math.pi)
    low = load * radius * (0.5 - 1 / math.pi)
    return {
        "load_n_per_mm": [run["force_on_ring_n_per_mm"]["ROLL0"][0], round(load, 7)],
        "minor_over_major": [
            round(-run["radial_tangential_mm"]["90"][0] / run["radial_tangential_mm"]["0"][0], 5),
            round(ratio, 5),
        ],
        "moment_at_90_n": [run["sections"]["90"]["moment_n"], round(-low, 7)],
        "force_at_90_n_per_mm": [run["sections"]["90"]["force_n_per_mm"], round(load / 2, 7)],
        "columns": "finite elements, closed form",
    }


def keep(name: str, found: dict) -> None:
    head = {
        "solver": f"CalculiX {solver_version()}",
        "element": "CPS8R",
        "slice_mm": SLICE_MM,
        "contact_n_per_mm3": CONTACT_N_PER_MM3,
        "forces": "per millimetre of width",
    }
    (HERE / f"ring_{name}.json").write_text(json.dumps({**head, **found}, separators=(",", ":")) + "\n")


def check() -> int:
    """The smallest case against the kept file; 1 when anything moved by more than a part in ten thousand."""
    kept = json.loads((HERE / "ring_a.json").read_text())
    with tempfile.TemporaryDirectory() as folder:
        again = ring_plain.run("a", Path(folder), *MESHES["a"][-2])
    moved = differences(again, kept["next_coarser"])
    print("case a, largest differences as shares:", moved)
    return int(max(moved.values()) > 1e-4)


def main(arguments: list[str]) -> int:
    """Run what is named."""
    if arguments == ["--check"]:
        return check()
    if len(arguments) != 1 or arguments[0] not in (*MESHES, "c", "d", "outlines"):
        print(__doc__, file=sys.stderr)
        return 2
    name = arguments[0]
    with tempfile.TemporaryDirectory() as folder:
        if name in MESHES:
            keep(name, plain(name, Path(folder)))
        else:
            if name == "outlines":
                ring_outlines.write()
            else:
                keep(name, ring_toothed.case(name, Path(folder)))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
