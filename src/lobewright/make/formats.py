"""Parts written to files. The same part gives the same bytes: no clock, no random numbers, fixed order.

STEP (ISO 10303-21) through the CAD kernel with the header set from a given stamp; STL binary; 3MF by the core
specification (a zip with fixed dates); DXF with outlines as light polylines whose bulges are the arcs.
"""

from __future__ import annotations

import io
import math
import re
import struct
import tempfile
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import numpy as np

from lobewright import __version__
from lobewright.errors import lacking
from lobewright.make.outlines import Contour
from lobewright.make.solids import Mesh, kernel

ZIP_DATE = (1980, 1, 1, 0, 0, 0)
"""The first date a zip can hold: the files carry no clock."""
# Names that the 3MF core specification fixes.
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
MODEL_TYPE = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
MODEL_RELATION = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"

QUOTE = {'"': "&quot;"}


def step_text(shape: Any, name: str, about: str, stamp: str) -> str:
    """A solid or an assembly as STEP text (AP214), mm, with a header of our own. ``stamp`` stands as the date of the file."""
    cad = kernel()
    with tempfile.TemporaryDirectory() as folder:
        raw = Path(folder) / "part.step"
        cad.export_step(shape, raw, write_pcurves=False, timestamp=stamp)
        text = raw.read_text("ascii")
    when = re.sub(r"[^0-9A-Za-z:+.-]", "", stamp)
    head = (
        f"HEADER;\nFILE_DESCRIPTION(('{about}, mm'),'2;1');\n"
        f"FILE_NAME('{plain(name)}','{when}',(''),(''),'Lobewright {__version__}','Lobewright {__version__}','');\n"
    )
    start, end = text.index("HEADER;"), text.index("FILE_SCHEMA")
    return text[:start] + head + text[end:]


def plain(name: str) -> str:
    """A name in the letters that every reader of STEP takes."""
    return re.sub(r"[^A-Za-z0-9 _.:+-]", " ", name)


def write_step(path: Path, solid: Any, name: str, stamp: str) -> None:
    """Write a solid as STEP. ``stamp`` stands as the date of the file."""
    path.write_text(step_text(solid, name, "strain wave drive part", stamp), "ascii", newline="\n")


def write_stl(path: Path, mesh: Mesh, name: str) -> None:
    """Write a mesh as binary STL; the header names part and unit."""
    triangles = mesh.corners_mm[mesh.triangles]
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    rows = np.zeros(len(triangles), dtype=[("xyz", "<f4", 12), ("spare", "<u2")])
    rows["xyz"] = np.concatenate((normal / np.where(length > 0, length, 1.0), triangles.reshape(-1, 9)), axis=1)
    head = f"Lobewright {name}, mm".encode("ascii", "replace")[:80].ljust(80)
    path.write_bytes(head + struct.pack("<I", len(rows)) + rows.tobytes())


@dataclass(frozen=True)
class Item:
    """One object laid into a build: which one, turned about z by ``turn_rad`` and then moved."""

    index: int
    x_mm: float = 0.0
    y_mm: float = 0.0
    turn_rad: float = 0.0


def write_3mf(path: Path, mesh: Mesh, name: str, about: str = "") -> None:
    """Write a mesh as 3MF, unit millimetre. ``about`` stands in it as its description."""
    write_3mf_plate(path, [(name, mesh)], [Item(0)], name, about)


def _object_3mf(number: int, name: str, mesh: Mesh) -> str:
    corners = "".join(f'<vertex x="{x:.6f}" y="{y:.6f}" z="{z:.6f}"/>' for x, y, z in mesh.corners_mm.tolist())
    rows = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist())
    label = escape(name, QUOTE)
    inside = f"<mesh><vertices>{corners}</vertices><triangles>{rows}</triangles></mesh>"
    return f'<object id="{number}" type="model" name="{label}">{inside}</object>'


def _item_3mf(item: Item) -> str:
    if not (item.x_mm or item.y_mm or item.turn_rad):
        return f'<item objectid="{item.index + 1}"/>'
    c, s = round(math.cos(item.turn_rad), 9) + 0.0, round(math.sin(item.turn_rad), 9) + 0.0
    # Points are rows there: three rows of the turn, then the shift.
    numbers = (c, s, 0, -s + 0.0, c, 0, 0, 0, 1, round(item.x_mm, 6), round(item.y_mm, 6), 0)
    return f'<item objectid="{item.index + 1}" transform="{" ".join(f"{v:g}" for v in numbers)}"/>'


def write_3mf_plate(
    path: Path, objects: Sequence[tuple[str, Mesh]], items: Sequence[Item], title: str, about: str = ""
) -> None:
    """Write several named objects, each once, and the items that are built of them, as 3MF, unit millimetre.

    ``title`` and ``about`` become the metadata Title and Description of the core specification.
    """
    described = f'<metadata name="Description">{escape(about, QUOTE)}</metadata>' if about else ""
    resources = "".join(_object_3mf(k + 1, name, mesh) for k, (name, mesh) in enumerate(objects))
    build = "".join(_item_3mf(item) for item in items)
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xml:lang="en" xmlns="{CORE}">'
        f'<metadata name="Title">{escape(title, QUOTE)}</metadata>{described}'
        f'<metadata name="Application">Lobewright {__version__}</metadata>'
        f"<resources>{resources}</resources><build>{build}</build></model>\n"
    )
    types = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<Types xmlns="{TYPES}"><Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Default Extension="model" ContentType="{MODEL_TYPE}"/></Types>\n'
    )
    relations = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<Relationships xmlns="{RELATIONS}"><Relationship Id="rel0" '
        f'Target="/3D/3dmodel.model" Type="{MODEL_RELATION}"/></Relationships>\n'
    )
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as pack:
        for inside, text in (("[Content_Types].xml", types), ("_rels/.rels", relations), ("3D/3dmodel.model", model)):
            entry = zipfile.ZipInfo(inside, ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3
            pack.writestr(entry, text)
    path.write_bytes(buffer.getvalue())


def write_dxf(path: Path, outlines: Iterable[tuple[str, Contour]], name: str) -> None:
    """Write outlines, each with its layer, as a drawing in mm. Raises PlatformFault when the library is missing."""
    try:
        import ezdxf
        from ezdxf import units
    except ImportError as error:
        raise lacking("drawings need the library ezdxf", error) from None
    fixed = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        drawing = ezdxf.new("R2000", setup=False, units=units.MM)
        space = drawing.modelspace()
        for layer, contour in outlines:
            if layer not in drawing.layers:
                drawing.layers.add(layer)
            if contour.is_circle:
                middle = contour.points_mm.mean(axis=0)
                radius = float(np.hypot(*(contour.points_mm[0] - middle)))
                space.add_circle(tuple(middle.tolist()), radius, dxfattribs={"layer": layer})
                continue
            rows = [(*p, b) for p, b in zip(contour.points_mm.tolist(), contour.bulges.tolist(), strict=True)]
            space.add_lwpolyline(rows, format="xyb", close=True, dxfattribs={"layer": layer})
        drawing.header["$PROJECTNAME"] = name
        text = io.StringIO()
        drawing.write(text)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = fixed
    path.write_text(text.getvalue(), "utf-8", newline="\n")
