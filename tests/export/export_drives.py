"""Small invented drives, each assessed and written once for all export tests of a worker."""

from __future__ import annotations

import pickle
import time
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.make.parts import PartRow, make_parts

PRINTER = {
    "kind": "printer",
    "nozzle_mm": 0.4,
    "extrusion_width_mm": 0.42,
    "layer_mm": 0.2,
    "bed_mm": [220.0, 220.0, 250.0],
    "xy_compensation_mm": 0.05,
}
TWO_RINGS = {"fixed": "base", "driven": "generator", "read": "output"}
TRAPEZOID = {"form": "trapezoid", "thickness_share": 0.42}


def _two(more: int, same: int, width: float, clearance: float, **rest: Any) -> list[dict[str, Any]]:
    return [
        {"name": "base", "teeth": more, "width_mm": width, "clearance_mm": clearance, **rest},
        {"name": "output", "teeth": same, "width_mm": width, "offset_mm": width + 1, "clearance_mm": clearance, **rest},
    ]


def _printed(**rest: Any) -> dict[str, Any]:
    return {"kind": "printed_ring", "module_mm": 1.0, "teeth": 48, "wall_mm": 1.2, "material": "petg_printed", **rest}


DRIVES: dict[str, dict[str, Any]] = {
    "belt": {
        "flexible_ring": {"kind": "belt", "designation": "C3M", "teeth": 60, "width_mm": 9.0},
        "tooth": {"form": "belt"},
        "generator": {"kind": "paired_rollers", "bearing": "MR105", "design_deflection_factor": 1.0},
        "rigid_ring": _two(62, 60, 4.0, 0.12),
        "motion": TWO_RINGS,
    },
    "discs": {
        "flexible_ring": _printed(width_mm=16.0),
        "tooth": TRAPEZOID,
        "generator": {"kind": "discs", "bearing": "61804", "disc_radius_mm": 19.0, "design_deflection_factor": 0.9},
        "rigid_ring": _two(50, 48, 7.0, 0.15, rim_mm=3.0),
        "motion": TWO_RINGS,
    },
    "two_rows": {
        "flexible_ring": _printed(width_mm=6.0, second_row={"teeth": 50, "width_mm": 5.0}),
        "tooth": TRAPEZOID,
        "generator": {"kind": "rollers", "bearing": "607", "design_deflection_factor": 0.9},
        "rigid_ring": [
            {"name": "base", "teeth": 50, "width_mm": 5.0, "clearance_mm": 0.15},
            {"name": "output", "teeth": 52, "row": 2, "width_mm": 4.0, "offset_mm": 6.0, "clearance_mm": 0.15},
        ],
        "motion": TWO_RINGS,
        "process": {**PRINTER, "xy_compensation_mm": -0.04, "bed_mm": [50.0, 220.0, 250.0]},
    },
    "cup": {
        "flexible_ring": {
            "kind": "printed_cup",
            "module_mm": 1.0,
            "teeth": 48,
            "wall_mm": 1.2,
            "width_mm": 8.0,
            "material": "petg_printed",
            "length_mm": 30.0,
            "barrel_wall_mm": 1.0,
            "diaphragm_mm": 1.6,
            "corner_radius_mm": 2.0,
            "boss_diameter_mm": 24.0,
            "bore_mm": 6.0,
        },
        "tooth": TRAPEZOID,
        "generator": {
            "kind": "cam",
            "curve": "ellipse",
            "under": "thin_bearing",
            "race_height_mm": 3.0,
            "design_deflection_factor": 0.9,
            "fit_mm": 0.2,
        },
        "rigid_ring": [{"name": "housing", "teeth": 50, "width_mm": 6.0, "offset_mm": 1.0, "clearance_mm": 0.15}],
        "motion": {"fixed": "housing", "driven": "generator", "read": "flexible_ring"},
    },
}
STEEL = {
    **DRIVES["cup"]["flexible_ring"],
    "kind": "metal_cup",
    "material": "steel_40CrNiMoA",
    "wall_mm": 0.6,
    "barrel_wall_mm": 0.5,
    "diaphragm_mm": 0.8,
}
DRIVES["steel"] = {
    **DRIVES["cup"],
    "flexible_ring": STEEL,
    "generator": {**DRIVES["cup"]["generator"], "fit_mm": 0.0},
    "process": {"kind": "machined", "tolerance_mm": 0.02},
}


@dataclass(frozen=True)
class Made:
    """A drive with what was written for it."""

    assessment: Assessment
    folder: Path
    rows: tuple[PartRow, ...]

    def row(self, name: str, folder: str = "nominal") -> PartRow:
        return next(row for row in self.rows if row.name == name and row.folder == folder)

    def file(self, name: str, ending: str, folder: str = "nominal") -> Path:
        found = [file for file in self.row(name, folder).files if file.endswith(ending)]
        assert len(found) == 1
        return self.folder / found[0]


@cache
def assessed(name: str) -> Assessment:
    return assess(
        design_from_data({"schema_version": 1, "name": f"invented {name}", "process": PRINTER} | DRIVES[name])
    )


def written_once(folder: Path, name: str) -> tuple[PartRow, ...]:
    """Parts of a drive, written by the first worker that asks; the others wait for it."""
    done = folder.with_suffix(".rows")
    try:
        folder.mkdir()
    except FileExistsError:
        for _ in range(2000):
            if done.exists():
                return pickle.loads(done.read_bytes())
            time.sleep(0.05)
        raise TimeoutError(f"no other worker finished {name}") from None
    rows = make_parts(assessed(name), folder)
    half = folder.with_suffix(".half")
    half.write_bytes(pickle.dumps(rows))
    half.replace(done)
    return rows


def arcs_to_points(rows: list[tuple[float, float, float]], parts: int = 24) -> np.ndarray:
    """Points on a closed light polyline (x, y, bulge), by rotating half chords: not how the package does it."""
    points = []
    for (x0, y0, bulge), (x1, y1, _) in zip(rows, [*rows[1:], rows[0]], strict=True):
        if bulge == 0:
            points.append((x0, y0))
            continue
        a, b = complex(x0, y0), complex(x1, y1)
        turn = 4 * np.arctan(bulge)
        centre = a + (b - a) / (1 - np.exp(1j * turn))
        for k in range(parts):
            point = centre + (a - centre) * np.exp(1j * turn * k / parts)
            points.append((point.real, point.imag))
    return np.array(points)
