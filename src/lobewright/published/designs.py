"""The drives that cases are computed on. Invented, except where a case names the source of a size."""

from __future__ import annotations

from functools import cache
from typing import Any

from lobewright.design.files import design_from_data
from lobewright.design.model import Design, OutlineTooth, Rollers

Data = dict[str, Any]

PRINTER: Data = {
    "kind": "printer",
    "nozzle_mm": 0.4,
    "extrusion_width_mm": 0.42,
    "layer_mm": 0.2,
    "bed_mm": [220.0, 220.0, 250.0],
}
TWO_RINGS: Data = {"fixed": "base", "driven": "generator", "read": "output"}
CUP: Data = {"fixed": "housing", "driven": "generator", "read": "flexible_ring"}


@cache
def belt_drive(designation: str, teeth: int) -> Design:
    """A belt between a held ring with two teeth more and an output ring with as many, on paired rollers at ±25°."""
    data: Data = {
        "schema_version": 1,
        "name": "evidence: belt drive",
        "flexible_ring": {"kind": "belt", "designation": designation, "teeth": teeth, "width_mm": 15.0},
        "tooth": {"form": "belt"},
        "generator": {"kind": "paired_rollers", "bearing": "625", "design_deflection_factor": 1.0},
        "rigid_ring": [
            {"name": "base", "teeth": teeth + 2, "width_mm": 7.0, "clearance_mm": 0.12},
            {"name": "output", "teeth": teeth, "width_mm": 7.0, "offset_mm": 8.0, "clearance_mm": 0.12},
        ],
        "motion": TWO_RINGS,
        "process": PRINTER,
    }
    return design_from_data(data)


@cache
def two_roller_belt(designation: str, teeth: int) -> Design:
    """The same with one roller a lobe."""
    rollers = Rollers(kind="rollers", bearing="625", design_deflection_factor=1.0)
    return belt_drive(designation, teeth).model_copy(update={"generator": rollers})


@cache
def three_lobe_ring() -> Design:
    """A printed ring with double-arc teeth on a three-lobe cosine cam, 72 teeth in 75."""
    data: Data = {
        "schema_version": 1,
        "name": "evidence: three lobes",
        "flexible_ring": _printed_ring(1.25, 72, 1.6),
        "tooth": {"form": "double_arc"},
        "generator": {
            "kind": "cam",
            "curve": "cosine",
            "under": "thin_bearing",
            "lobes": 3,
            "race_height_mm": 4.0,
            "design_deflection_factor": 1.0,
        },
        "rigid_ring": [
            {"name": "base", "teeth": 75, "width_mm": 7.0, "clearance_mm": 0.15},
            {"name": "output", "teeth": 72, "width_mm": 7.0, "offset_mm": 8.0, "clearance_mm": 0.15},
        ],
        "motion": TWO_RINGS,
        "process": PRINTER,
    }
    return design_from_data(data)


@cache
def steel_cup() -> Design:
    """A steel cup with involute teeth, 160 in 162, on an ellipse cam under a thin bearing."""
    data: Data = {
        "schema_version": 1,
        "name": "evidence: steel cup",
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
        },
        "rigid_ring": [{"name": "housing", "teeth": 162, "width_mm": 8.0, "offset_mm": 1.0, "clearance_mm": 0.05}],
        "motion": CUP,
        "process": {"kind": "machined", "tolerance_mm": 0.01},
    }
    return design_from_data(data)


@cache
def module_ring(module_mm: float, teeth: int, wall_mm: float, dedendum_factor: float) -> Design:
    """A printed ring of given module, tooth count, wall and dedendum on two rollers, for its radii."""
    data: Data = {
        "schema_version": 1,
        "name": "evidence: radii of a toothed ring",
        "flexible_ring": _printed_ring(module_mm, teeth, wall_mm),
        "tooth": {"form": "involute", "dedendum_factor": dedendum_factor},
        "generator": {"kind": "rollers", "bearing": "625", "design_deflection_factor": 1.0},
        "rigid_ring": [
            {"name": "base", "teeth": teeth + 2, "width_mm": 7.0, "clearance_mm": 0.1},
            {"name": "output", "teeth": teeth, "width_mm": 7.0, "offset_mm": 8.0, "clearance_mm": 0.1},
        ],
        "motion": TWO_RINGS,
        "process": PRINTER,
    }
    return design_from_data(data)


@cache
def leaning_tooth_ring() -> Design:
    """A printed ring of 80 teeth whose drawn tooth leans to one side, so that left and right cannot be mixed up."""
    points = ((-1.2, 0.8), (-1.0, 0.8), (-0.25, 2.2), (0.15, 2.4), (0.5, 2.2), (0.75, 0.8), (1.2, 0.8))
    tooth = OutlineTooth(form="outline", file="drawn here", points=points)
    return module_ring(1.0, 80, 1.6, 0.9).model_copy(update={"tooth": tooth})


def _printed_ring(module_mm: float, teeth: int, wall_mm: float) -> Data:
    return {
        "kind": "printed_ring",
        "module_mm": module_mm,
        "teeth": teeth,
        "wall_mm": wall_mm,
        "width_mm": 16.0,
        "material": "petg_printed",
    }
