"""Assessed drives of every kind, invented, shared by the report tests."""

from __future__ import annotations

from typing import Any

import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data

ABOUT = "Invented for the tests of a school roof garden."
PRINTER = {
    "kind": "printer",
    "nozzle_mm": 0.4,
    "extrusion_width_mm": 0.42,
    "layer_mm": 0.2,
    "bed_mm": [220.0, 220.0, 250.0],
}
TWO_RING = {"fixed": "base", "driven": "generator", "read": "output"}
CUP_MOTION = {"fixed": "housing", "driven": "generator", "read": "flexible_ring"}
COMMON = {"schema_version": 1, "about": ABOUT, "process": PRINTER}

BELT: dict[str, Any] = {
    **COMMON,
    "name": "Mirror azimuth, belt",
    "load": "mirror",
    "flexible_ring": {"kind": "belt", "designation": "C3M", "teeth": 100, "width_mm": 15.0},
    "tooth": {"form": "belt"},
    "generator": {"kind": "paired_rollers", "bearing": "625", "design_deflection_factor": 1.0},
    "rigid_ring": [
        {"name": "base", "teeth": 102, "width_mm": 7.0, "clearance_mm": 0.15},
        {"name": "output", "teeth": 100, "width_mm": 7.0, "offset_mm": 8.0, "clearance_mm": 0.15},
    ],
    "motion": TWO_RING,
    "duty": [{"name": "track", "torque_Nm": 1.0, "peak_torque_Nm": 2.0, "speed_rpm": 0.5, "hours": 500.0}],
}
PRINTED_RING: dict[str, Any] = {
    **COMMON,
    "name": "Class model 40/38",
    "flexible_ring": {
        "kind": "printed_ring",
        "module_mm": 2.0,
        "teeth": 38,
        "wall_mm": 1.6,
        "width_mm": 22.0,
        "material": "petg_printed",
    },
    "tooth": {"form": "trapezoid"},
    "generator": {"kind": "rollers", "bearing": "608", "design_deflection_factor": 1.0},
    "rigid_ring": [
        {"name": "base", "teeth": 40, "width_mm": 10.0, "clearance_mm": 0.2},
        {"name": "output", "teeth": 38, "width_mm": 10.0, "offset_mm": 11.0, "clearance_mm": 0.2},
    ],
    "motion": TWO_RING,
}
DISC_RING: dict[str, Any] = {
    **COMMON,
    "name": "Fine ring 182/180 on discs",
    "flexible_ring": {**PRINTED_RING["flexible_ring"], "module_mm": 0.7, "teeth": 180, "wall_mm": 1.2},
    "tooth": {"form": "involute"},
    "generator": {"kind": "discs", "bearing": "6000", "disc_radius_mm": 45.0, "design_deflection_factor": 1.0},
    "rigid_ring": [
        {"name": "base", "teeth": 182, "width_mm": 10.0, "clearance_mm": 0.15},
        {"name": "output", "teeth": 180, "width_mm": 10.0, "offset_mm": 11.0, "clearance_mm": 0.15},
    ],
    "motion": TWO_RING,
}
PRINTED_CUP: dict[str, Any] = {
    **COMMON,
    "name": "Greenhouse arm, printed cup",
    "load": "arm",
    "flexible_ring": {
        "kind": "printed_cup",
        "module_mm": 0.8,
        "teeth": 120,
        "wall_mm": 1.2,
        "width_mm": 12.0,
        "material": "petg_printed",
        "length_mm": 50.0,
        "barrel_wall_mm": 1.0,
        "diaphragm_mm": 2.0,
        "corner_radius_mm": 3.0,
        "boss_diameter_mm": 40.0,
        "bore_mm": 8.0,
    },
    "tooth": {
        "form": "involute",
        "pressure_angle_deg": 25.0,
        "addendum_factor": 0.6,
        "dedendum_factor": 0.75,
        "thickness_share": 0.42,
    },
    "generator": {
        "kind": "cam",
        "curve": "cosine",
        "under": "thin_bearing",
        "race_height_mm": 4.0,
        "design_deflection_factor": 1.15,
    },
    "rigid_ring": [{"name": "housing", "teeth": 122, "width_mm": 10.0, "offset_mm": 1.0, "clearance_mm": 0.15}],
    "motion": CUP_MOTION,
}
METAL_CUP: dict[str, Any] = {
    **COMMON,
    "name": "Steel cup 162/160",
    "flexible_ring": {
        "kind": "metal_cup",
        "module_mm": 0.5,
        "teeth": 160,
        "wall_mm": 0.5,
        "width_mm": 10.0,
        "material": "steel_40CrNiMoA",
        "length_mm": 45.0,
        "barrel_wall_mm": 0.4,
        "diaphragm_mm": 0.6,
        "corner_radius_mm": 2.0,
        "boss_diameter_mm": 40.0,
        "bore_mm": 10.0,
    },
    "tooth": {
        "form": "involute",
        "addendum_factor": 0.5,
        "dedendum_factor": 0.7,
        "thickness_share": 0.46,
        "tip_round_factor": 0.1,
    },
    "generator": {
        "kind": "cam",
        "curve": "ellipse",
        "under": "thin_bearing",
        "race_height_mm": 5.0,
        "design_deflection_factor": 1.1,
        "set_deflection_tolerance_mm": 0.01,
        "fit_tolerance_mm": 0.02,
        "run_out_mm": 0.01,
    },
    "rigid_ring": [{"name": "housing", "teeth": 162, "width_mm": 8.0, "offset_mm": 1.0, "clearance_mm": 0.05}],
    "motion": CUP_MOTION,
    "process": {"kind": "machined", "tolerance_mm": 0.01, "smallest_land_mm": 0.1},
}
THREE_LOBES: dict[str, Any] = {
    **COMMON,
    "name": "Three lobes 75/72",
    "flexible_ring": {**PRINTED_RING["flexible_ring"], "module_mm": 1.25, "teeth": 72},
    "tooth": {"form": "double_arc"},
    "generator": {"kind": "cam", "curve": "cosine", "under": "plain", "lobes": 3, "design_deflection_factor": 1.0},
    "rigid_ring": [
        {"name": "base", "teeth": 75, "width_mm": 10.0, "clearance_mm": 0.15},
        {"name": "output", "teeth": 72, "width_mm": 10.0, "offset_mm": 11.0, "clearance_mm": 0.15},
    ],
    "motion": TWO_RING,
}
TWO_ROWS: dict[str, Any] = {
    **COMMON,
    "name": "Two tooth rows",
    "flexible_ring": {
        **PRINTED_RING["flexible_ring"],
        "module_mm": 1.0,
        "teeth": 100,
        "width_mm": 11.0,
        "second_row": {"teeth": 104, "width_mm": 11.0},
    },
    "tooth": {"form": "trapezoid", "thickness_share": 0.4},
    "generator": {"kind": "rollers", "bearing": "608", "design_deflection_factor": 1.0},
    "rigid_ring": [
        {"name": "base", "teeth": 102, "width_mm": 10.0, "clearance_mm": 0.15},
        {"name": "output", "teeth": 106, "row": 2, "width_mm": 10.0, "offset_mm": 11.0, "clearance_mm": 0.15},
    ],
    "motion": TWO_RING,
}
DRIVES = {
    "belt": BELT,
    "printed_ring": PRINTED_RING,
    "disc_ring": DISC_RING,
    "printed_cup": PRINTED_CUP,
    "metal_cup": METAL_CUP,
    "three_lobes": THREE_LOBES,
    "two_rows": TWO_ROWS,
}


@pytest.fixture(scope="session")
def assessed() -> dict[str, Assessment]:
    """Every drive above, assessed once."""
    return {kind: assess(design_from_data(data)) for kind, data in DRIVES.items()}


@pytest.fixture(scope="session", params=sorted(DRIVES))
def drive(request: pytest.FixtureRequest, assessed: dict[str, Assessment]) -> Assessment:
    """One assessed drive of each kind."""
    return assessed[request.param]
