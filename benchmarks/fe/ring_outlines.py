"""Outlines for the toothed cases: taken from a design, reduced to few points, kept, so that nothing else is needed later."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
Array = np.ndarray
DESIGN = {
    "schema_version": 1,
    "name": "coarse ring of the reference cases",
    "flexible_ring": {
        "kind": "printed_ring",
        "module_mm": 2.0,
        "teeth": 38,
        "wall_mm": 1.6,
        "width_mm": 22.0,
        "material": "petg_printed",
    },
    "tooth": {
        "form": "trapezoid",
        "addendum_factor": 0.4,
        "dedendum_factor": 0.55,
        "half_angle_deg": 30.0,
        "root_round_factor": 0.0,
        "tip_round_factor": 0.15,
    },
    "generator": {"kind": "rollers", "bearing": "608", "design_deflection_factor": 1.0},
    "rigid_ring": [
        {"name": "rigid", "teeth": 40, "width_mm": 10.0, "clearance_mm": 0.1},
        {"name": "other", "teeth": 38, "width_mm": 10.0, "offset_mm": 11.0, "clearance_mm": 0.1},
    ],
    "motion": {"fixed": "rigid", "driven": "generator", "read": "other"},
    "process": {
        "kind": "printer",
        "nozzle_mm": 0.4,
        "extrusion_width_mm": 0.42,
        "layer_mm": 0.2,
        "bed_mm": [220.0, 220.0, 250.0],
    },
}
RIGID_TIP_ROUND_MM = 0.3
SIMPLIFIED_MM = 0.01


def rigid_space(space: Array, teeth: int) -> Array:
    """One space of the rigid ring from mid-land to mid-land, its tooth tips rounded, in few points (clockwise end first)."""
    import shapely

    pitch = 2 * math.pi / teeth
    turned = []
    for k in range(teeth):
        c, s = math.cos(k * pitch), math.sin(k * pitch)
        turned.append(space @ np.array([[c, s], [-s, c]]))
    hole = shapely.Polygon(np.vstack(turned))
    body = shapely.Point(0, 0).buffer(1.2 * float(np.hypot(*space.T).max()), quad_segs=64).difference(hole)
    body = body.buffer(-RIGID_TIP_ROUND_MM, quad_segs=6).buffer(RIGID_TIP_ROUND_MM, quad_segs=6)
    edge = shapely.get_coordinates(shapely.get_interior_ring(body, 0))
    line = edge[np.abs(np.arctan2(edge[:, 1], edge[:, 0])) < 0.6 * pitch]
    line = line[np.argsort(np.arctan2(line[:, 1], line[:, 0]))]
    upper = line[line[:, 1] > 1e-9]
    angle = np.arctan2(upper[:, 1], upper[:, 0])
    inside = upper[angle < pitch / 2]
    tip = float(np.hypot(*inside[-1]))
    end = tip * np.array([math.cos(pitch / 2), math.sin(pitch / 2)])
    root = np.array([[float(line[np.abs(line[:, 1]).argmin(), 0]), 0.0]])
    half = shapely.get_coordinates(shapely.LineString(np.vstack((root, inside, end))).simplify(SIMPLIFIED_MM))
    return np.vstack((half[:0:-1] * (1, -1), half))


def write() -> None:
    """Read the design's outlines and keep them."""
    from lobewright.assessment.run import assess
    from lobewright.design.files import design_from_data
    from lobewright.mesh.teeth import tooth_outline

    design = design_from_data(DESIGN)
    found, outline = assess(design), tooth_outline(design)
    radius = found.geometry.neutral_radius_mm
    wall = DESIGN["flexible_ring"]["wall_mm"]
    right = outline.points_mm[outline.points_mm[:, 0] >= 0]
    tip = outline.tip_height_mm
    tip_half = float(right[np.abs(right[:, 1] - tip) < 1e-9][:, 0].max())
    round_mm = DESIGN["tooth"]["tip_round_factor"] * DESIGN["flexible_ring"]["module_mm"]
    land = outline.land_height_mm
    top = right[right[:, 1] > tip - round_mm - 1e-9]
    steep = top[(np.hypot(top[:, 0] - tip_half, top[:, 1] - tip + round_mm) - round_mm) ** 2 < 1e-8]
    begin = steep[steep[:, 0].argmax()]
    foot = right[(right[:, 1] < land + 1e-6)][:, 0].min()
    slope = (begin[0] - foot) / (begin[1] - land)
    height = land
    for _ in range(50):  # the flank goes on to the wall's outer circle
        across = foot + slope * (height - land)
        height = math.sqrt((radius + wall / 2) ** 2 - across**2) - radius
    setting = found.setting
    kept = {
        "neutral_radius_mm": radius,
        "wall_mm": wall,
        "flexible_teeth": outline.teeth,
        "rigid_teeth": found.rings[0].space.teeth,
        "tooth_right_half": {
            "about": "x along the ring, y above mid-wall; foot on the wall's outer circle, straight flank, arc, flat tip",
            "tip_half_mm": round(tip_half, 6),
            "tip_mm": round(tip, 6),
            "flank_top": [round(float(v), 6) for v in begin],
            "flank_foot": [round(float(across), 6), round(float(height), 6)],
            "round_centre": [round(tip_half, 6), round(tip - round_mm, 6)],
            "round_mm": round_mm,
        },
        "rigid_space": {
            "about": "one space around +x from mid-land to mid-land, straight between points; space 0 at angle 0",
            "points_mm": np.round(
                rigid_space(found.rings[0].space.outline_mm(), found.rings[0].space.teeth), 5
            ).tolist(),
        },
        "roller_radius_mm": setting.contact_radius_mm - wall / 2,
        "roller_centre_mm": setting.distance_mm,
    }
    (HERE / "ring_outlines.json").write_text(json.dumps(kept, indent=1) + "\n")
