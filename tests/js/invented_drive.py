"""Makes an invented two-ring belt drive for the picture tests, and the kept vectors that JavaScript reads.

All figures are invented: a 100-tooth belt ring of 2 mm pitch with a plain trapezoid for a tooth, a cosine neutral line,
rings of 102 and 100 teeth whose spaces are the swept tooth grown by 0.08 mm, read off as radius over angle. Nothing
here is a design; it only has to look and move like one.

    python tests/js/invented_drive.py       writes tests/js/vectors.json anew
"""

from __future__ import annotations

import dataclasses
import json
import math
from pathlib import Path

import numpy as np
from shapely import Polygon, affinity, union_all

from lobewright.make.moving_gaps import tooth_gaps
from lobewright.make.moving_loads import LoadCase, Loads, RingPush, loads_json, pushes_at
from lobewright.make.moving_page import (
    FlexibleRow,
    Motion,
    NeutralShape,
    RigidRing,
    Wheel,
    along,
    line_up,
    motion_json,
    pose,
)

VECTORS = Path(__file__).with_name("vectors.json")
PITCH_MM = 2.0
TEETH = 100
TOOTH_MM = np.array([(-1.0, 0.25), (-0.62, 0.25), (-0.36, 1.0), (0.36, 1.0), (0.62, 0.25), (1.0, 0.25)])
GAP_MM = 0.08
SWOLLEN = 1.006
"""The neutral line so many times as large makes the teeth overlap the rings."""
ANGLES_RAD = (0.0, 0.3, -1.7, 2.0 * math.pi, 40.0, -513.25)


def cosine_shape(radius_mm: float, deflection_mm: float, lobes: int, samples: int = 384) -> NeutralShape:
    """A closed line r = c (R + w0 cos nφ), c such that its length is 2πR, resampled uniformly in arc length."""
    angle = np.linspace(0.0, 2.0 * math.pi, 40_001)
    radius = radius_mm + deflection_mm * np.cos(lobes * angle)
    line = radius * np.exp(1j * angle)
    run = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(line)))])
    line *= 2.0 * math.pi * radius_mm / run[-1]
    at = np.interp(np.arange(samples) / samples * run[-1], run, angle)
    slope = -lobes * deflection_mm * np.sin(lobes * at)
    here = radius_mm + deflection_mm * np.cos(lobes * at)
    normal = at - np.arctan2(slope, here)
    x = np.interp(at, angle, line.real)
    y = np.interp(at, angle, line.imag)
    return NeutralShape(np.round(x, 6), np.round(y, 6), np.round(normal, 6), round(radius_mm, 6), lobes)


def swept_space(shape: NeutralShape, teeth: int, tip_radius_mm: float) -> np.ndarray:
    """Outline of one space of a ring with ``teeth`` spaces that lets the tooth of this shape through."""
    tooth = Polygon([(-0.62, -0.4), *TOOTH_MM[1:5], (0.62, -0.4)])
    pieces = []
    for run in np.linspace(-0.25, 0.25, 161) * 2.0 * math.pi:
        x, y, normal = along(shape, np.array([shape.radius_mm * run]))[0]
        placed = affinity.rotate(tooth, normal - math.pi / 2, origin=(0, 0), use_radians=True)
        placed = affinity.translate(placed, x, y)
        pieces.append(affinity.rotate(placed, -run * TEETH / teeth, origin=(0, 0), use_radians=True))
    region = union_all(pieces).buffer(GAP_MM)
    angles = np.linspace(-1.0, 1.0, 81) * math.pi / teeth
    points = []
    for angle in angles:
        ray = Polygon([(0, 0), *(50 * np.array([math.cos(a), math.sin(a)]) for a in (angle - 1e-5, angle + 1e-5))])
        cut = region.intersection(ray)
        far = 0.0 if cut.is_empty else max(math.hypot(*p) for p in cut.convex_hull.exterior.coords)
        radius = max(far, tip_radius_mm)
        points.append((radius * math.cos(angle), radius * math.sin(angle)))
    return np.round(np.array(points), 6)


def invented_motion(name_a: str = "Fixed ring", name_b: str = "Output ring") -> Motion:
    """Ring of 102 held, generator driven, ring of 100 read: −50 to 1."""
    radius = TEETH * PITCH_MM / (2.0 * math.pi)
    shape = cosine_shape(radius, 0.73, 2)
    rings = tuple(
        RigidRing(name, teeth, 0, swept_space(shape, teeth, tip), tip, tip + 0.95, 38.0, turns)
        for name, teeth, tip, turns in ((name_a, 102, 32.75, 0.0), (name_b, 100, 32.6, -0.02))
    )
    roller = 8.0
    far = round(float(shape.x_mm[0]) - 0.65 - roller, 6)
    wheels = (Wheel(far, 0.0, roller), Wheel(-far, 0.0, roller))
    return Motion(
        shape, (FlexibleRow(TEETH, TOOTH_MM),), 0.65, -0.02, rings, wheels, name_a, "generator", name_b, "−50 : 1"
    )


def invented_loads() -> Loads:
    """Pushes near both lobes at −1, 1 and 2 N·m of the output ring; the first tooth stood half a pitch ahead."""
    first = math.pi / TEETH
    label = first + 2.0 * math.pi * np.arange(TEETH) / TEETH
    shape = np.maximum(0.0, np.cos(2.0 * label) - 0.95) * np.where(np.arange(TEETH) % 2, 100.0, 60.0)
    cases = []
    for torque in (1000.0, -1000.0, 2000.0):
        size = torque / 1000.0
        rings = tuple(
            RingPush(
                side * size * shape, 0.4 * abs(size) * shape, abs(size) * np.array([[8.0, side], [-8.0, -side]]), first
            )
            for side in (-1.0, 1.0)
        )
        cases.append(LoadCase(torque, rings))
    return Loads("Output ring", 0.6, tuple(cases))


def rounded_loads() -> Loads:
    """The loads as they stand in the page: cases by rising torque, forces to three figures."""
    data = loads_json(invented_loads())
    cases = tuple(
        LoadCase(
            1000.0 * case["torque_nm"],
            tuple(
                RingPush(
                    np.array(ring["along_n"]),
                    np.array(ring["out_n"]),
                    np.array(ring["wheels_n"]).reshape(-1, 2),
                    ring["first_label_rad"],
                )
                for ring in case["rings"]
            ),
        )
        for case in data["cases"]
    )
    return Loads(data["member"], data["height_mm"], cases)


def push_vectors(motion: Motion) -> list[dict[str, object]]:
    """Pushes of a few teeth that Python finds at a few angles."""
    loads, rows = rounded_loads(), []
    for angle in ANGLES_RAD:
        found = pose(motion, angle)
        for case, ring in ((0, 0), (2, 1)):
            pushes = pushes_at(loads, case, ring, found.teeth[0], found.shift_rad)
            chosen = [pushes[k].tolist() for k in (0, 1, 27, 99)]
            total = np.hypot(pushes[:, 2], pushes[:, 3]).sum()
            rows.append({"angle_rad": angle, "case": case, "ring": ring, "pushes": chosen, "total_n": float(total)})
    return rows


def swollen(motion: Motion) -> Motion:
    """The drive with a neutral line that is too large for its rings."""
    shape = motion.shape
    return dataclasses.replace(
        motion, shape=dataclasses.replace(shape, x_mm=shape.x_mm * SWOLLEN, y_mm=shape.y_mm * SWOLLEN)
    )


def gap_vectors(motion: Motion) -> list[dict[str, object]]:
    """Gaps that Python finds for a few teeth of the drive and of the swollen one."""
    rows: list[dict[str, object]] = []
    for size, drive in ((1.0, motion), (SWOLLEN, swollen(motion))):
        for angle in ANGLES_RAD[:4]:
            for ring, tooth in ((0, 0), (1, 1), (0, 27), (1, 99)):
                found = tooth_gaps(drive, ring, tooth, angle)
                rows.append(
                    {
                        "size": size,
                        "angle_rad": angle,
                        "ring": ring,
                        "tooth": tooth,
                        "points_mm": found.points_mm.tolist(),
                        "smallest_mm": found.smallest_mm,
                    }
                )
    return rows


def vectors() -> dict[str, object]:
    """Parameters and the poses Python finds for them."""
    motion = invented_motion()
    rows = []
    for angle in ANGLES_RAD:
        found = pose(motion, angle)
        rows.append(
            {
                "angle_rad": angle,
                "generator_rad": found.generator_rad,
                "flexible_rad": found.flexible_rad,
                "rings_rad": list(found.rings_rad),
                "shift_rad": found.shift_rad,
                "teeth": [found.teeth[0][k].tolist() for k in (0, 1, 27, 99)],
            }
        )
    return {
        "parameters": motion_json(motion),
        "teeth_shown": [0, 1, 27, 99],
        "poses": rows,
        "loads": loads_json(invented_loads()),
        "pushes": push_vectors(motion),
        "gaps": gap_vectors(motion),
        "line_up": [line_up(motion, ring).tolist() for ring in range(2)],
    }


def vectors_text() -> str:
    """The vectors as they are kept."""
    return json.dumps(vectors(), sort_keys=True, separators=(",", ":")) + "\n"


if __name__ == "__main__":
    VECTORS.write_text(vectors_text(), encoding="utf-8")
