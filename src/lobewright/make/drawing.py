"""Dimensioned drawings of all parts that are made: one sheet each, as SVG and together as one PDF.

They are drawn from the parts' data, never from a solid. Sizes are nominal ones; what the process may depart from them stands
on the sheet. Sizes over pins tell whether teeth came out right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import SHAFT_MM
from lobewright.make.bodies import Group, Part
from lobewright.make.drawing_dims import PX
from lobewright.make.drawing_mesh import corner_detail, flexible_rows, mesh_detail, rigid_rows
from lobewright.make.drawing_sheets import Content, Heading, sheet, size_text
from lobewright.make.drawing_views import Views, views
from lobewright.make.fits import Z90
from lobewright.make.parts_flexible import boss_height_mm
from lobewright.make.parts_generator import cam_curve_mm
from lobewright.make.placing import Placed
from lobewright.picture.display import Picture
from lobewright.picture.pdf import Page, pdf
from lobewright.picture.svg import svg

DOCUMENT = "drawings.pdf"
SURFACES = {
    m.Surface.GROUND: "ground",
    m.Surface.MACHINED: "turned or milled",
    m.Surface.ROLLED: "as rolled",
}
DETAIL_MM = 150.0
CAM_ROWS = 12
MOST_NOTE = 320
"""Letters of a note that stand beside the title block; longer ones become a table."""


@dataclass(frozen=True)
class SheetPage:
    """One sheet: the part's name, the picture in mm of paper, the paper's size in mm and the scale of its views."""

    name: str
    picture: Picture
    width_mm: float
    height_mm: float
    scale: float


Table = tuple[str, tuple[tuple[str, str], ...]]


def tolerance_words(process: m.Printer | m.Machined) -> str:
    """What sizes without a tolerance of their own may depart."""
    if isinstance(process, m.Machined):
        return (
            f"General tolerances ISO 2768-m; contours of teeth ±{process.tolerance_mm:g} mm a side. Edges broken 0.2."
        )
    spread = Z90 * process.xy_compensation_uncertainty_mm
    return (
        f"Printed: contours ±{process.tolerance_mm:g} mm a side by the design; by calibration nine of ten lie within "
        f"±{spread:.2f} mm a side. Heights in whole layers of {process.layer_mm:g} mm."
    )


def _material(part: Part) -> str:
    return catalogue.material(part.material).words if part.material else "of your choice"


def _cup_rows(a: Assessment, ring: m.Cup) -> tuple[tuple[str, str], ...]:
    """Sizes of a cup's walls, too thin to be drawn to."""
    rows = [
        ("length", f"{ring.length_mm:g} mm"),
        ("width of the toothed rim", f"{ring.width_mm:g} mm"),
        ("wall under the teeth", f"{ring.wall_mm:g} mm"),
        ("wall of the barrel", f"{ring.barrel_wall_mm:g} mm"),
        ("diaphragm", f"{ring.diaphragm_mm:g} mm"),
        ("corner, inside radius", f"R{ring.corner_radius_mm:g} mm"),
        ("corner, outside radius", f"R{ring.corner_radius_mm + min(ring.barrel_wall_mm, ring.diaphragm_mm):g} mm"),
        ("boss with diaphragm", f"ø{ring.boss_diameter_mm:g} mm, {boss_height_mm(ring):g} mm high"),
        ("bore", f"ø{ring.bore_mm:g} mm" if ring.bore_mm else "none"),
    ]
    if isinstance(ring, m.MetalCup):
        rows += [
            ("surface of walls", f"{SURFACES[ring.surface]}; no marks round the corner, fatigue starts there"),
            ("heat treatment", "as agreed with the shop, before the last cut of walls and bore"),
            ("bore and inside", "concentric as agreed with the shop; the rim's run-out counts against the clearance"),
        ]
    return tuple(rows)


def _cam_rows(a: Assessment, cam: m.Cam) -> tuple[tuple[str, str], ...]:
    """Radii of a cam's outline by angle from a major axis; it repeats and is the same both ways."""
    setting = a.setting.shrunk(cam.fit_mm / (2 * math.pi))
    curve = cam_curve_mm(setting, a.geometry.inner_offset_mm + cam.race_height_mm)
    angle, radius = np.degrees(np.arctan2(curve[:, 1], curve[:, 0])), np.hypot(*curve.T)
    step = 180 / setting.lobes / CAM_ROWS
    rows = [(f"{k * step:g}°", f"{float(np.interp(k * step, angle, radius)):.3f} mm") for k in range(CAM_ROWS + 1)]
    return (("angle from a major axis", "radius"), *rows)


def _tables(a: Assessment, part: Part) -> tuple[Table, ...]:
    ring = a.design.flexible_ring
    if part.group is Group.FLEXIBLE_RING or part.name in ("flexible_ring", "flexible_cup"):
        rows = [1, 2] if getattr(ring, "second_row", None) else [1]
        out = [("teeth" if len(rows) == 1 else f"teeth of row {row}", tuple(flexible_rows(a, row))) for row in rows]
        return (*out, ("cup", _cup_rows(a, ring))) if isinstance(ring, m.Cup) else tuple(out)
    if part.name == "cam" and isinstance(a.design.generator, m.Cam):
        return (("contour of the cam", _cam_rows(a, a.design.generator)),)
    mesh = next((mesh for mesh in a.rings if part.name == f"ring_{mesh.name}"), None)
    return (("teeth", tuple(rigid_rows(a, mesh))),) if mesh else ()


def _hole_table(shown: Views) -> tuple[Table, ...]:
    """Round holes of a part that has no axis: where they are, from its lower left corner."""
    if shown.diameters or not shown.holes:
        return ()
    x0, y0, *_ = shown.box_mm
    rows = [
        (f"ø{size_text(row.diameter_mm)}", f"x {size_text(x - x0)}, y {size_text(y - y0)}")
        for row in shown.holes
        for x, y in row.places_mm
    ]
    return (("holes, from the lower left corner", tuple(rows)),)


def _note_table(text: str) -> tuple[Table, ...]:
    return (("notes", tuple((str(k + 1), one) for k, one in enumerate(text.split("; ")))),)


def drawn_parts(placed: tuple[Placed, ...]) -> tuple[Part, ...]:
    """Parts that get a sheet: what is made, each once."""
    seen = {
        one.part.name: one.part for one in placed if not one.part.designation and one.part.group is not Group.BOUGHT
    }
    return tuple(seen.values())


def drawing_pages(a: Assessment, placed: tuple[Placed, ...], stamp: str) -> tuple[SheetPage, ...]:
    """One sheet for each part that is made. ``stamp``: the date that stands on it, as text.

    Raises DesignFault where a tooth form cannot be drawn, CatalogueFault for a material that is not known.
    """
    parts = drawn_parts(placed)
    pages = []
    for k, part in enumerate(parts):
        made = {ring.name: ring for ring in a.design.rigid_ring}
        mesh = next((one for one in a.rings if part.name == f"ring_{one.name}"), None)
        detail = mesh_detail(a, mesh, made[mesh.name].rim_mm, DETAIL_MM) if mesh else None
        if part.name == "flexible_cup" and isinstance(a.design.flexible_ring, m.Cup):
            detail = corner_detail(a, a.design.flexible_ring, DETAIL_MM)
        tolerance = tolerance_words(a.design.process)
        shown, title, *more = views(part), *part.words.split("; ")
        said = "; ".join([*more, *([part.note] if part.note else [])])
        long = len(said) > MOST_NOTE
        tables = (*_tables(a, part), *_hole_table(shown), *(_note_table(said) if long else ()))
        notes = tuple(note for note in (f"{said}." if said and not long else "", part.support, tolerance) if note)
        content = Content(shown, a.design.process, SHAFT_MM, tables, notes, detail)
        date = stamp.split("T")[0]
        head = Heading(
            title, part.name, a.design.name, part.quantity, _material(part), date, k + 1, len(parts), tolerance
        )
        picture, paper, scale = sheet(content, head)
        pages.append(SheetPage(part.name, picture, paper.width_mm, paper.height_mm, scale))
    return tuple(pages)


def write_drawings(a: Assessment, placed: tuple[Placed, ...], folder: Path, stamp: str) -> tuple[str, ...]:
    """Write ``drawings/<part>.svg`` and ``drawings/drawings.pdf`` into a folder; the names written, relative to it.

    Raises PlatformFault (no PDF library), DesignFault, CatalogueFault, OSError (cannot write).
    """
    pages = drawing_pages(a, placed, stamp)
    where = folder / "drawings"
    where.mkdir(parents=True, exist_ok=True)
    names = []
    for page in pages:
        (where / f"{page.name}.svg").write_text(svg(page.picture, page.width_mm * PX), "utf-8", newline="\n")
        names.append(f"drawings/{page.name}.svg")
    sheets = [Page(page.picture, page.width_mm, page.height_mm) for page in pages]
    (where / DOCUMENT).write_bytes(pdf(sheets, f"{a.design.name}: drawings"))
    return (*names, f"drawings/{DOCUMENT}")
