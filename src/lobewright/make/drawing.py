"""Dimensioned drawings of all parts that are made: one sheet each, as SVG and together as one PDF.

They are drawn from the parts' data, never from a solid. Sizes are nominal ones; what the process may depart from them stands
on the sheet. Sizes over pins tell whether teeth came out right.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.catalogue_fits import limits
from lobewright.design.holding import SHAFT_MM
from lobewright.make import drawing_cut as cut
from lobewright.make.bodies import Group, Part
from lobewright.make.drawing_calls import curve_table
from lobewright.make.drawing_dims import PX
from lobewright.make.drawing_mesh import Detail, corner_detail, flexible_rows, mesh_detail, rigid_rows
from lobewright.make.drawing_sheets import Content, Heading, sheet, size_tables
from lobewright.make.drawing_views import views
from lobewright.make.fits import CONTOUR_SPREAD, SPREADS, Z90, assumed, has_class, seats, signed
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
TEST_SECTION = re.compile(r", (\d+) mm blank")
WALL_SHARE = 0.05
"""Of a wall that bends, for its limits."""
BORE_CLASS = "H7"
FINE = (Group.FLEXIBLE_RING, Group.GENERATOR)
"""Groups whose sizes keep hundredths: the mesh hangs on them."""
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


def tolerance_words(
    process: m.Printer | m.Machined, material: catalogue.Material | None = None, thin: bool = False
) -> str:
    """What sizes without a tolerance of their own may depart. ``thin``: a cup, whose walls have limits in its table."""
    if material and material.kind is catalogue.MaterialKind.POWDER_BED:
        return (
            f"Printed in a powder bed: contours of teeth ±{process.tolerance_mm:g} mm a side by the design; ask the service "
            "what it holds elsewhere, and for walls measured on a piece of this thickness. Blow out all powder."
        )
    if isinstance(process, m.Machined):
        teeth = f"contours of teeth ±{process.tolerance_mm:g} mm a side"
        if thin:
            return f"Walls, inside and bore as tabled; other sizes ISO 2768-f; {teeth}. Edges only freed of burr, not broken."
        return f"General tolerances ISO 2768-m; {teeth}. Edges broken 0.2."
    spread = Z90 * process.xy_compensation_uncertainty_mm
    origin = "assumed, not calibrated" if assumed(process, CONTOUR_SPREAD) else "as calibrated"
    holes = (
        "" if not any(assumed(process, name) for name in SPREADS.values()) else " ± at seats and holes: assumed too."
    )
    return (
        f"Printed: contours ±{process.tolerance_mm:g} mm a side by the design; nine of ten within ±{spread:.2f} mm a side "
        f"({origin}).{holes} Heights in whole layers of {process.layer_mm:g} mm."
    )


def _known(part: Part) -> catalogue.Material | None:
    return catalogue.material(part.material) if part.material else None


def _material(part: Part) -> str:
    """The material without the section of the test pieces, which is none of the part's sizes."""
    known = _known(part)
    return TEST_SECTION.sub("", known.words) if known else part.advised_material or "of your choice"


def _wall(thickness_mm: float, process: m.Printer | m.Machined) -> str:
    """A wall with its limits where it is cut: a share of it, as the stress of bending goes with the wall."""
    if not isinstance(process, m.Machined):
        return f"{thickness_mm:g} mm"
    limit = max(process.tolerance_mm, math.floor(WALL_SHARE * thickness_mm / 0.005 + 1e-9) * 0.005)
    return f"{thickness_mm:g} ±{limit:g} mm"


def _cup_rows(a: Assessment, ring: m.Cup) -> tuple[tuple[str, str], ...]:
    """Sizes of a cup's walls, too thin to be drawn to, with the limits that its strength asks for."""
    process = a.design.process
    inside = 2 * a.geometry.inner_radius_mm
    rows = [
        ("length", f"{ring.length_mm:g} mm"),
        ("width of the toothed rim", f"{ring.width_mm:g} mm"),
        ("wall under the teeth", _wall(ring.wall_mm, process)),
        ("wall of the barrel", _wall(ring.barrel_wall_mm, process)),
        ("diaphragm", _wall(ring.diaphragm_mm, process)),
        ("corner, inside radius", f"R{ring.corner_radius_mm:g} mm"),
        ("corner, outside radius", f"R{ring.corner_radius_mm + min(ring.barrel_wall_mm, ring.diaphragm_mm):g} mm"),
        ("boss with diaphragm", f"ø{ring.boss_diameter_mm:g} mm, {boss_height_mm(ring):g} mm high"),
        ("bore", _bore(ring.bore_mm, process)),
    ]
    if isinstance(ring, m.MetalCup):
        off = ring.length_tolerance_mm / math.pi
        rows += [
            (
                "inside of the rim",
                f"ø{inside:.3f} ±{off:.3f} mm: the design's ±{ring.length_tolerance_mm:g} mm round it over π",
            ),
            (
                "why limits of walls",
                f"{100 * WALL_SHARE:g} % of the wall is {100 * WALL_SHARE:g} % of the stress it bends with",
            ),
            ("surface of walls", f"{SURFACES[ring.surface]}; no marks round the corner, fatigue starts there"),
            ("heat treatment", _hardening(ring)),
            *cut.cup_rows(a, ring),
        ]
    return tuple(rows)


def _bore(bore_mm: float, process: m.Printer | m.Machined) -> str:
    if not bore_mm:
        return "none"
    if not isinstance(process, m.Machined) or not has_class(bore_mm):
        return f"ø{bore_mm:g} mm"
    upper, lower = limits(BORE_CLASS, bore_mm)
    return f"ø{bore_mm:g} {BORE_CLASS} ({signed(upper)} / {signed(lower)}), it centres the cup"


def _hardening(ring: m.Cup) -> str:
    """When it is heat-treated: the strength in the catalogue is that of a bar as thin as its test pieces."""
    found = TEST_SECTION.search(catalogue.material(ring.material).words)
    when = "before the last cut of walls and bore, as agreed with the shop"
    if not found:
        return when
    return f"{when}, on a roughed cup: its strength is reckoned from pieces of {found[1]} mm, a thicker bar hardens less deep"


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
        cam = a.design.generator
        return (("contour of the cam", (*_cam_rows(a, cam), *cut.cam_rows(a, cam))),)
    mesh = next((mesh for mesh in a.rings if part.name == f"ring_{mesh.name}"), None)
    return (("teeth", (*rigid_rows(a, mesh), *cut.ring_rows(a, mesh))),) if mesh else ()


def _note_table(text: str) -> tuple[Table, ...]:
    return (("notes", tuple((str(k + 1), one) for k, one in enumerate(text.split("; ")))),)


def drawn_parts(placed: tuple[Placed, ...]) -> tuple[Part, ...]:
    """Parts that get a sheet: what is made, each once, with how many there are in the whole drive."""
    made = [one for one in placed if not one.part.designation and one.part.group is not Group.BOUGHT]
    counts = Counter[str]()
    for one in made:
        counts[one.part.name] += len(one.places)
    seen = {one.part.name: one.part for one in made}
    return tuple(replace(part, quantity=counts[name]) for name, part in seen.items())


def drawing_pages(a: Assessment, placed: tuple[Placed, ...], stamp: str) -> tuple[SheetPage, ...]:
    """One sheet for each part that is made. ``stamp``: the date that stands on it, as text.

    Raises DesignFault where a tooth form cannot be drawn, CatalogueFault for a material that is not known.
    """
    parts, found = drawn_parts(placed), seats(placed)
    pages = []
    for k, part in enumerate(parts):
        shown, title, *more = views(part), *part.words.split("; ")
        known = _known(part)
        thin = part.group is Group.FLEXIBLE_RING and isinstance(a.design.flexible_ring, m.Cup)
        tolerance = tolerance_words(a.design.process, known, thin)
        mine = found.get(part.name, ())
        said = "; ".join(
            [
                *more,
                *([part.note] if part.note else []),
                *(seat.words for seat in mine if isinstance(_process(a, part), m.Machined)),
            ]
        )
        long = len(said) > MOST_NOTE
        notes = tuple(note for note in (f"{said}." if said and not long else "", part.support, tolerance) if note)
        fine = part.group in FINE or thin
        content = Content(shown, _process(a, part), SHAFT_MM, (), notes, _detail(a, part), mine, fine)
        own = _tables(a, part)
        tables = (
            *own,
            *size_tables(content),
            *(() if own else curve_table(shown)),
            *(_note_table(said) if long else ()),
        )
        date = stamp.split("T")[0]
        head = Heading(
            title, part.name, a.design.name, part.quantity, _material(part), date, k + 1, len(parts), tolerance
        )
        picture, paper, scale = sheet(replace(content, tables=tables), head)
        pages.append(SheetPage(part.name, picture, paper.width_mm, paper.height_mm, scale))
    return tuple(pages)


def _process(a: Assessment, part: Part) -> m.Printer | m.Machined | None:
    """What makes the part; None for a printing service, of whose limits nothing is known."""
    known = _known(part)
    return None if known and known.kind is catalogue.MaterialKind.POWDER_BED else a.design.process


def _detail(a: Assessment, part: Part) -> Detail | None:
    """The mesh of a rigid ring, the corner of a cup."""
    rims = {ring.name: ring.rim_mm for ring in a.design.rigid_ring}
    mesh = next((one for one in a.rings if part.name == f"ring_{one.name}"), None)
    if mesh:
        return mesh_detail(a, mesh, rims[mesh.name], DETAIL_MM)
    if part.name == "flexible_cup" and isinstance(a.design.flexible_ring, m.Cup):
        return corner_detail(a, a.design.flexible_ring, DETAIL_MM)
    return None


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
