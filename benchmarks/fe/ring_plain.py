"""Plain rings for :mod:`ring_cases`: the proof against the closed form, case a (two rollers), case b (four and a circle)."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from ring_deck import SLICE_MM, Model, Run, Step, section, solve
from ring_mesh import Grid, annulus, roller

NAMED_DEG = (0, 15, 30, 45, 60, 75, 90)
RING = {"neutral_radius_mm": 48.0, "wall_mm": 1.2, "modulus_mpa": 2000.0, "poisson": 0.35}
INPUTS = {
    "proof": {**RING, "roller_radius_mm": 8.0, "roller_at_deg": 0.0, "travel_mm": 0.02},
    "a": {**RING, "roller_radius_mm": 8.0, "roller_at_deg": 0.0, "travel_mm": 1.2},
    "b": {**RING, "roller_radius_mm": 8.0, "roller_at_deg": 30.0, "travel_mm": 0.8, "circle_radius_mm": 49.7},
}
SECTIONS_DEG = {"proof": (15, 30, 45, 60, 75, 90), "a": (15, 30, 45, 60, 75, 90), "b": (0, 15, 45, 60, 75, 90)}


def build(
    inputs: dict, columns: int, rows: int, face: float, whole: bool
) -> tuple[Model, Grid, dict[str, tuple[float, float]]]:
    """A quarter (or the whole) of a plain ring with its rollers; the rollers' directions of travel."""
    model = Model(modulus_mpa=inputs["modulus_mpa"], poisson=inputs["poisson"])
    radius, wall = inputs["neutral_radius_mm"], inputs["wall_mm"]
    span = 2 * math.pi if whole else math.pi / 2
    count = columns * (4 if whole else 1)
    bounds = (radius - wall / 2, radius + wall / 2)
    grid, elements = annulus(model, "RING", (0.0, 0.0), bounds, np.linspace(0.0, span, count + 1), rows)
    model.surfaces["SINSIDE"] = [(elements[i, 0], 4) for i in range(count)]
    model.surfaces["SOUTSIDE"] = [(elements[i, rows - 1], 2) for i in range(count)]
    reach = bounds[0] - inputs["roller_radius_mm"]
    at = inputs["roller_at_deg"]
    places = sorted({at % 360, -at % 360, (180 - at) % 360, (180 + at) % 360}) if whole else [at]
    travel: dict[str, tuple[float, float]] = {}
    for number, degrees in enumerate(places):
        name, turn = f"ROLL{number}", math.radians(degrees)
        centre = (reach * math.cos(turn), reach * math.sin(turn))
        cut = 0.0 if not whole and at == 0 else None
        roller(model, name, centre, inputs["roller_radius_mm"], turn, math.radians(20), face, cut=cut)
        travel[name] = (math.copysign(inputs["travel_mm"], centre[0]), 0.0)
        model.pairs.append(("S" + name, "SINSIDE"))
    if inputs.get("circle_radius_mm"):
        for number, turn in enumerate((0.0, math.pi) if whole else (0.0,)):
            name = f"CIRCLE{number}"
            cut = None if whole else 0.0
            roller(model, name, (0.0, 0.0), inputs["circle_radius_mm"], turn, math.radians(12), 2 * face, False, cut)
            travel[name] = (0.0, 0.0)
            model.pairs.append(("S" + name, "SOUTSIDE"))
    model.sets["MIDDLE"] = [grid[i, rows] for i in range(0, 2 * count + (0 if whole else 1), 2)]
    on_x = [grid[i, j] for i in ((0, 2 * count // 2) if whole else (0,)) for j in range(2 * rows + 1)]
    on_y = [grid[i, j] for i in ((count // 2, 3 * count // 2) if whole else (2 * count,)) for j in range(2 * rows + 1)]
    model.sets["ONX"], model.sets["ONY"] = on_x, on_y
    model.fixed = [("ONX", 2), ("ONY", 1)]
    return model, grid, travel


def run(
    name: str, folder: Path, columns: int, rows: int, face: float, whole: bool = False, inputs: dict | None = None
) -> dict:
    """Solve one plain ring and reduce it to the kept numbers (a quarter; forces of a whole roller)."""
    inputs = inputs or INPUTS[name]
    model, grid, travel = build(inputs, columns, rows, face, whole)
    moves = {n: by for group, by in travel.items() for n in model.sets["N" + group]}
    printed = {"MIDDLE": "U", **{"N" + group: "RF" for group in travel}, "ONX": "RF", "ONY": "RF"}
    # The solver keeps contact directions from the start of an increment: two steps at rest bring them up to date
    # (without them the sideways roller force of case b is 7 % off).
    found = solve(model, [Step(moves), Step(moves), Step(moves)], printed, folder)
    return reduce(name, inputs, model, grid, (columns, rows), found, whole)


def reduce(name: str, inputs: dict, model: Model, grid: Grid, mesh: tuple[int, int], found: Run, whole: bool) -> dict:
    columns, rows = mesh
    step, fields = found.printed[-1], found.fields[-1]
    moved = {}
    for degrees in NAMED_DEG:
        ux, uy, _ = step["MIDDLE", "displacements"][grid[2 * columns * degrees // 90, rows]]
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        moved[str(degrees)] = [round(float(c * ux + s * uy), 8), round(float(c * uy - s * ux), 8)]
    # In a quarter a plane of symmetry through a body carries half its force.
    forces = {}
    for key, rows_read in step.items():
        if key[0].startswith(("NROLL", "NCIRCLE")):
            split = 2.0 if not whole and (inputs["roller_at_deg"] == 0 or key[0].startswith("NCIRCLE")) else 1.0
            total = sum(rows_read.values()) / SLICE_MM
            sideways = 0.0 if split == 2.0 else total[1]
            forces[key[0][1:]] = [round(split * float(total[0]), 8), round(float(sideways), 8)]
    sections = {}
    for degrees in SECTIONS_DEG[name]:
        column = [grid[2 * columns * degrees // 90, j] for j in range(2 * rows + 1)]
        under_contact = degrees == 0
        found_here = section(model, column, fields)
        sections[str(degrees)] = {
            k: round(v, 8) for k, v in found_here.items() if not (under_contact and k.endswith("mpa"))
        }
    return {
        "mesh": {
            "columns_in_a_quarter": columns,
            "rows": rows,
            "nodes": len(model.nodes),
            "elements": model.count,
            "model": "whole ring" if whole else "quarter",
        },
        "seconds": round(found.seconds, 2),
        "iterations": found.iterations,
        "deepest_penetration_mm": round(found.penetration_mm[-1], 7),
        "radial_tangential_mm": moved,
        "force_on_ring_n_per_mm": {k: v for k, v in sorted(forces.items())},
        "sections": sections,
    }
