"""A toothed ring opened by two rollers inside a rigid toothed ring, then turned: cases c and d of :mod:`ring_cases`.

Set-up, so that a planar ring model can mirror it exactly. The rollers are rigid circles whose centres are moved out and
then stay. The rigid ring turns about the origin by a prescribed angle. The flexible ring is free to move and turn, but
the mean, over the points in the middle of the wall under each tooth, of the displacement along the undeformed tangent
is held at zero: the force of that constraint is a dead tangential load, equal under every tooth, and it is what the
rigid ring's torque works against (a long soft barrel would act like it). No friction.
"""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
from ring_deck import SLICE_MM, Model, Run, Step, section, solve
from ring_mesh import Fineness, Tooth, ToothedRing, rigid_teeth, roller, toothed_ring

HERE = Path(__file__).parent
MATERIAL = {"modulus_mpa": 2000.0, "poisson": 0.35}
OPENING_STEPS = 4
SHIFT_MM = 0.02
"""Both rollers stand this much toward +x, so that one lobe gives way first."""
ARM_N_PER_MM2 = 20.0
"""Stiffness of each roller's arm along x, per millimetre of width."""
HOLD_N_PER_MM2 = 1e5
"""Spring that takes the constraint's force: the solver's reactions leave out what equations pass on."""
BESIDE_ROLLERS = ("0", "18", "20")
"""Sections within a wall or so of a roller: no surface stress is compared there."""
PATHS: dict[str, tuple[tuple[str, ...], list[float], int, bool]] = {
    # meshes, turns [deg], steps at rest after each, with fields
    "c": (("coarser", "coarse", "fine", "finer"), [0.5, 1.0, 1.5, 2.0], 2, True),
    "d": (
        ("coarse", "fine"),
        [0.5, 1, 1.5, 2, 2.4, 2.7, 2.8, 2.9, 2.95, 3, 3.05, 3.1, 3.15],
        1,
        False,
    ),
}
MESHES = {
    "coarser": Fineness(wall=1, land=1, base=4, flank=2, rounding=1, roller_face_mm=0.4),
    "coarse": Fineness(wall=2, land=1, base=4, flank=3, rounding=1, roller_face_mm=0.4),
    "fine": Fineness(wall=3, land=2, base=8, flank=5, rounding=2, roller_face_mm=0.2),
    "finer": Fineness(wall=4, land=3, base=12, flank=8, rounding=3, roller_face_mm=0.2),
}


@dataclass(frozen=True)
class Toothed:
    """The model and what is needed to load it and to read it; a roller: its node, its arm's end, centre, travel."""

    model: Model
    ring: ToothedRing
    rigid: list[list[int]]
    rollers: dict[str, tuple[int, int, float, float]]
    under_teeth: list[int]
    holds: dict[str, int]
    data: dict
    fine: Fineness


def build(fine: Fineness) -> Toothed:
    data = json.loads((HERE / "ring_outlines.json").read_text())
    model = Model(**MATERIAL)
    neutral, wall, teeth = data["neutral_radius_mm"], data["wall_mm"], data["flexible_teeth"]
    half = {k: tuple(v) if isinstance(v, list) else v for k, v in data["tooth_right_half"].items() if k != "about"}
    bounds = (neutral - wall / 2, neutral + wall / 2)
    ring = toothed_ring(model, teeth, bounds, neutral, Tooth(**half), fine)
    model.surfaces["SINSIDE"], model.surfaces["SOUTSIDE"] = ring.inside, ring.outside
    rigid = rigid_teeth(model, np.array(data["rigid_space"]["points_mm"]), data["rigid_teeth"], 44.0, 10.0)
    rollers = {}
    radius = data["roller_radius_mm"]
    travel = data["roller_centre_mm"] + radius - bounds[0]
    for name, side in (("ROLL0", 1.0), ("ROLL1", -1.0)):
        at = 0.0 if side > 0 else math.pi
        nodes = roller(
            model, name, (side * (bounds[0] - radius), 0.0), radius, at, math.radians(45), fine.roller_face_mm
        )
        centre, arm = model.node(side * 20.0, 0.0), model.node(side * 60.0, 0.0)
        rollers[name] = (centre, arm, side * (bounds[0] - radius), side * travel + SHIFT_MM)
        model.equations += [([(n, 1, 1.0), (centre, 1, -1.0)], name) for n in nodes]
        model.springs.append((centre, arm))
        model.spring_n_per_mm.append(ARM_N_PER_MM2)
        model.sets["C" + name], model.sets["A" + name] = [centre], [arm]
        model.fixed += [("N" + name, 2), ("C" + name, 2), ("C" + name, 3), ("A" + name, 3)]
        model.pairs.append(("S" + name, "SINSIDE"))
    model.pairs.append(("SOUTSIDE", "SRIGID"))
    under = [ring.wall[2 * (k * ring.columns + ring.columns // 2), fine.wall] for k in range(teeth)]
    lands = [ring.wall[2 * k * ring.columns, fine.wall] for k in range(teeth)]
    holds = {"turn": model.node(0.0, 0.0), "shift": model.node(1.0, 0.0)}
    tangents = [2 * math.pi * k / teeth for k in range(teeth)]
    turn = [(n, 2, math.cos(a) / teeth) for n, a in zip(under, tangents, strict=True)]
    turn += [(n, 1, -math.sin(a) / teeth) for n, a in zip(under, tangents, strict=True) if abs(math.sin(a)) > 1e-9]
    model.equations.append(([*turn, (holds["turn"], 1, -1.0)], "turn"))
    for axis in (1, 2):
        model.equations.append(([*((n, axis, 1.0 / teeth) for n in lands), (holds["shift"], axis, -1.0)], "shift"))
    model.springs.append((holds["turn"],))
    model.spring_n_per_mm.append(HOLD_N_PER_MM2)
    model.sets["HOLDTURN"] = [holds["turn"]]
    model.fixed += [("HOLDTURN", 2), ("HOLDTURN", 3)]
    model.sets["UNDER"], model.sets["HOLDS"] = under, [*holds.values(), *(r[0] for r in rollers.values())]
    return Toothed(model, ring, rigid, rollers, under, holds, data, fine)


def moves(body: Toothed, share: float, turn: float, hold_shift: bool) -> dict[int, tuple[float, float]]:
    """Prescribed displacements with the rollers at a share of their travel and the rigid ring turned (rad)."""
    out = {}
    for _, arm, _, travel in body.rollers.values():
        out[arm] = (share * travel, 0.0)
    c, s = math.cos(turn), math.sin(turn)
    for n in body.model.sets["NRIGID"]:
        x, y = body.model.nodes[n - 1]
        out[n] = (c * x - s * y - x, s * x + c * y - y)
    if hold_shift:
        out[body.holds["shift"]] = (0.0, 0.0)
    return out


def path(body: Toothed, turns_deg: list[float], settle: int) -> list[Step]:
    """Opening with the rigid ring out of touch, then in touch, then the given turns, each followed by steps at rest."""
    off = ("*MODEL CHANGE,TYPE=CONTACT PAIR,REMOVE", "SOUTSIDE,SRIGID")
    on = ("*MODEL CHANGE,TYPE=CONTACT PAIR,ADD", "SOUTSIDE,SRIGID")
    shares = np.linspace(0, 1, OPENING_STEPS + 1)[1:]
    steps = [Step(moves(body, float(v), 0.0, True), off if k == 0 else ()) for k, v in enumerate(shares)]
    steps += [Step(moves(body, 1.0, 0.0, False))]
    for k, turn in enumerate(turns_deg):
        there = moves(body, 1.0, math.radians(turn), False)
        steps += [Step(there, on if k == 0 else ())] + [Step(there)] * settle
    return steps


PRINTED = {"NRIGID": "RF", "NROLL0": "RF", "NROLL1": "RF", "UNDER": "U", "HOLDS": "U"}


def read(body: Toothed, step: dict, fields: dict | None, turn_deg: float) -> dict:
    """One state: torque, roller forces, force of every touching rigid tooth, balance, displacements, sections."""
    model, turn = body.model, math.radians(turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    pushed = {n: v[:2] / SLICE_MM for n, v in step["NRIGID", "forces"].items()}

    def place(n: int) -> tuple[float, float]:
        x, y = model.nodes[n - 1]
        return c * x - s * y, s * x + c * y

    torque = sum(place(n)[0] * f[1] - place(n)[1] * f[0] for n, f in pushed.items())
    teeth = {}
    pitch = 2 * math.pi / len(body.rigid)
    for k, nodes in enumerate(body.rigid):
        total = sum(pushed[n] for n in nodes)
        if float(np.hypot(*total)) > 1e-4:
            a = turn + (k + 0.5) * pitch
            teeth[str(k)] = [
                round(float(total[0] * math.cos(a) + total[1] * math.sin(a)), 5),
                round(float(total[1] * math.cos(a) - total[0] * math.sin(a)), 5),
            ]
    rollers: dict[str, list[float]] = {}
    roller_torque = 0.0
    sprung = step["HOLDS", "displacements"]
    centres = {}
    for name, (centre, _, at, travel) in body.rollers.items():
        moved = float(sprung[centre][0])
        across = sum(float(f[1]) for f in step["N" + name, "forces"].values()) / SLICE_MM
        rollers[name] = [round(ARM_N_PER_MM2 * (travel - moved), 5), round(across, 5)]
        centres[name] = round(at + moved, 6)
        roller_torque += (at + moved) * across
    hold = -HOLD_N_PER_MM2 * float(sprung[body.holds["turn"]][0])
    count, wall_torque, moved = len(body.under_teeth), 0.0, {}
    for k, n in enumerate(body.under_teeth):
        ux, uy, _ = step["UNDER", "displacements"][n]
        a = 2 * math.pi * k / count
        radial, tangential = ux * math.cos(a) + uy * math.sin(a), uy * math.cos(a) - ux * math.sin(a)
        wall_torque += hold / count * (body.data["neutral_radius_mm"] + radial)
        moved[str(k)] = [round(float(radial), 6), round(float(tangential), 6)]
    out = {
        "turn_deg": turn_deg,
        "torque_n": round(float(torque), 5),
        "load_under_each_tooth_n_per_mm": round(hold / count, 6),
        "unbalanced_torque_n": round(float(torque + roller_torque + wall_torque), 5),
        "force_on_ring_n_per_mm": rollers,
        "roller_centre_mm": centres,
        "tooth_radial_tangential_n_per_mm": teeth,
        "radial_tangential_mm": moved,
    }
    if fields is not None:
        out["sections"] = sections(body, fields)
    return out


def sections(body: Toothed, fields: dict) -> dict[str, dict[str, float]]:
    """Wall sections in the middle of lands; land k lies clockwise of tooth k."""
    out = {}
    for k in range(0, len(body.under_teeth), 2):
        column = [body.ring.wall[2 * k * body.ring.columns, j] for j in range(2 * body.fine.wall + 1)]
        found = section(body.model, column, fields)
        # The outside of a land lies within a wall of two sharp roots, and the shear of few rows is poor: not kept.
        out[str(k)] = {key: round(found[key], 5) for key in ("force_n_per_mm", "moment_n", "inside_mpa")}
    return out


def states(body: Toothed, found: Run, turns_deg: list[float], settle: int) -> list[dict]:
    """The opened ring before it meets the rigid ring (turn 0), then every settled turn, as far as the solver came."""
    first, each = OPENING_STEPS + 1, 1 + settle
    wanted = [(0.0, OPENING_STEPS)] + [(turn, first + k * each + settle) for k, turn in enumerate(turns_deg)]
    out = []
    for turn, at in wanted:
        if at < len(found.printed):
            fields = found.fields[at] if at < len(found.fields) else None
            out.append(
                {**read(body, found.printed[at], fields, turn), "penetration_mm": round(found.penetration_mm[at], 7)}
            )
    return out


def turn(fine: Fineness, turns_deg: list[float], folder: Path, settle: int, fields: bool) -> dict:
    """One mesh along one path; ``finished`` is false when the solver gave up, and the states end there."""
    body = build(fine)
    steps = path(body, turns_deg, settle)
    found = solve(body.model, steps, PRINTED, folder, fields, keep_going=True)
    return {
        "mesh": {"nodes": len(body.model.nodes), "elements": body.model.count, **asdict(fine)},
        "seconds": round(found.seconds, 2),
        "iterations": found.iterations,
        "finished": len(found.printed) == len(steps),
        "states": states(body, found, turns_deg, settle),
    }


def numbers(state: dict, keys: list[str]) -> dict[str, np.ndarray]:
    """Results of one state by kind; ``keys`` are the touching teeth of both sides of a comparison."""
    none = [0.0, 0.0]
    out = {
        "torque": [state["torque_n"]],
        "roller_forces": list(state["force_on_ring_n_per_mm"].values()),
        "tooth_forces": [state["tooth_radial_tangential_n_per_mm"].get(k, none) for k in keys],
        "displacements": list(state["radial_tangential_mm"].values()),
    }
    for key in ("force_n_per_mm", "moment_n", "inside_mpa"):
        if "sections" in state:
            away = {k: v for k, v in state["sections"].items() if k not in BESIDE_ROLLERS or key != "inside_mpa"}
            out["section_" + key] = [row[key] for row in away.values()]
    return {k: np.array(v, dtype=float) for k, v in out.items()}


def differences(one: dict, other: dict) -> list[dict[str, float]]:
    """By state: largest difference of each kind as a share of the largest of that kind in ``other``."""
    out = []
    for mine, yours in zip(one["states"], other["states"], strict=False):
        keys = sorted({*mine["tooth_radial_tangential_n_per_mm"], *yours["tooth_radial_tangential_n_per_mm"]})
        a, b = numbers(mine, keys), numbers(yours, keys)
        rows = {
            k: round(float(np.abs(a[k] - b[k]).max() / np.abs(b[k]).max()), 5) for k in b if np.any(b[k]) and k in a
        }
        out.append({"turn_deg": yours["turn_deg"], **rows})
    return out


def worst(rows: list[dict[str, float]]) -> float:
    """Largest difference of any kind in any state."""
    return max(v for row in rows for k, v in row.items() if k != "turn_deg")


def skip(found: dict) -> dict:
    """Largest torque before the first fall of 10 %, where it lies, and the rigid tooth whose force across lost most."""
    rows = found["states"]
    top = 0
    for k, row in enumerate(rows):
        if row["torque_n"] > rows[top]["torque_n"]:
            top = k
        elif row["torque_n"] < 0.9 * rows[top]["torque_n"]:
            before, after = (r["tooth_radial_tangential_n_per_mm"] for r in (rows[top], row))
            lost = {tooth: across - after.get(tooth, [0.0, 0.0])[1] for tooth, (_, across) in before.items()}
            return {
                "peak_torque_n": rows[top]["torque_n"],
                "at_deg": rows[top]["turn_deg"],
                "fallen_by_10_percent_at_deg": row["turn_deg"],
                "rigid_tooth_that_lost_most": max(lost, key=lost.get),
            }
    return {
        "peak_torque_n": None,
        "largest_torque_n": rows[top]["torque_n"],
        "at_deg": rows[top]["turn_deg"],
        "why": "no fall of 10 % within the turns that were solved",
    }


def inputs() -> dict:
    return {
        **MATERIAL,
        **json.loads((HERE / "ring_outlines.json").read_text()),
        "travel": "each roller starts touching the undeformed ring; its arm's outer end is moved so far that a rigid arm "
        "would bring its centre to roller_centre_mm, plus shift_mm toward +x",
        "shift_mm": SHIFT_MM,
        "arm_n_per_mm_per_mm": ARM_N_PER_MM2,
        "held": "mean displacement along the undeformed tangent of the 38 points in the middle of the wall under the teeth "
        "is zero; no friction; rigid ring turned anticlockwise about the origin",
        "signs": "torque and forces per mm of width; torque on the rigid ring; roller forces x, y on the ring; tooth forces on "
        "the flexible ring along and across the radius through rigid tooth k, which lies at (k + 1/2) pitches plus the turn; "
        "section k: middle of the land half a pitch clockwise of flexible tooth k; moment positive for tension outside",
    }


def assemble(name: str, runs: dict[str, dict]) -> dict:
    """The kept file of a case from its runs by mesh; the last mesh is the reference."""
    *others, last = runs
    out: dict = {"inputs": inputs(), "reference": runs[last], "next_coarser": runs[others[-1]]}
    out["differences_from_reference"] = {
        mesh: {
            "seconds": runs[mesh]["seconds"],
            "mesh": runs[mesh]["mesh"],
            "states": differences(runs[mesh], runs[last]),
        }
        for mesh in others
    }
    if name == "c":
        out["within_1_percent"] = {
            mesh: worst(out["differences_from_reference"][mesh]["states"]) <= 0.01 for mesh in others
        }
    if name == "d":
        for run in runs.values():
            for state in run["states"]:
                state.pop("radial_tangential_mm")
        out["skip"] = {mesh: skip(run) for mesh, run in runs.items()}
    return out


def case(name: str, folder: Path) -> dict:
    """Solve case c or d on its meshes."""
    meshes, turns_deg, settle, fields = PATHS[name]
    return assemble(name, {mesh: turn(MESHES[mesh], turns_deg, folder, settle, fields) for mesh in meshes})
