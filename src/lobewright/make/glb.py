"""Named, coloured meshes in their places as binary glTF 2.0: one file that a browser or a viewer opens.

Lengths are metres, as the format demands; its y is up and its front faces z, as an assembly stands here. Normals are left out, so
viewers shade flat. The same input gives the same bytes.
"""

from __future__ import annotations

import json
import math
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from lobewright import __version__
from lobewright.make.placing import Place
from lobewright.make.solids import Mesh

Array = np.ndarray
MAGIC, VERSION, JSON_CHUNK, BINARY_CHUNK = 0x46546C67, 2, 0x4E4F534A, 0x004E4942
FLOAT, UNSIGNED = 5126, 5125
CORNERS, INDICES = 34962, 34963
M_PER_MM = 1e-3
ROUGHNESS = 0.7


@dataclass(frozen=True)
class Shown:
    """One mesh (mm) as often as it stands, its name and its colour ``#rrggbb``."""

    name: str
    mesh: Mesh
    places: tuple[Place, ...]
    colour: str


def matrix(place: Place) -> Array:
    """The place as a 4 × 4 matrix, lengths in mm."""
    c, s = math.cos(place.turn_rad), math.sin(place.turn_rad)
    flip = -1.0 if place.over else 1.0
    return np.array(
        [
            [c, -s * flip, 0.0, place.x_mm],
            [s, c * flip, 0.0, place.y_mm],
            [0.0, 0.0, flip, place.z_mm],
            [0.0, 0.0, 0.0, 1.0],
        ]
    )


def linear_rgb(colour: str) -> tuple[float, float, float]:
    """A colour of the screen as linear light (IEC 61966-2-1), which glTF's colour factors are."""
    shares = [one / 255 for one in bytes.fromhex(colour[1:])]
    r, g, b = (x / 12.92 if x <= 0.04045 else ((x + 0.055) / 1.055) ** 2.4 for x in shares)
    return round(r, 6), round(g, 6), round(b, 6)


def _node(name: str, mesh: int, place: Place) -> dict[str, Any]:
    placed = matrix(place)
    placed[:3, 3] *= M_PER_MM
    return {"name": name, "mesh": mesh, "matrix": [round(float(x), 9) + 0.0 for x in placed.T.ravel()]}


def _pack(shown: Sequence[Shown]) -> tuple[bytes, list[dict[str, Any]], list[dict[str, Any]]]:
    """All corners and triangles one after the other, with their views and accessors."""
    data, views, accessors = bytearray(), [], []
    for one in shown:
        corners = (one.mesh.corners_mm * M_PER_MM).astype("<f4")
        rows = one.mesh.triangles.astype("<u4").ravel()
        for block, target in ((corners.tobytes(), CORNERS), (rows.tobytes(), INDICES)):
            views.append({"buffer": 0, "byteOffset": len(data), "byteLength": len(block), "target": target})
            data += block
        accessors.append(
            {
                "bufferView": len(views) - 2,
                "componentType": FLOAT,
                "count": len(corners),
                "type": "VEC3",
                "min": [float(x) for x in corners.min(axis=0)],
                "max": [float(x) for x in corners.max(axis=0)],
            }
        )
        accessors.append(
            {"bufferView": len(views) - 1, "componentType": UNSIGNED, "count": len(rows), "type": "SCALAR"}
        )
    return bytes(data), views, accessors


def write_glb(path: Path, shown: Sequence[Shown], name: str, about: Mapping[str, str] | None = None) -> None:
    """Write meshes in their places. ``about`` goes into the file as extra words. Raises OSError where it cannot be written."""
    data, views, accessors = _pack(shown)
    colours = list(dict.fromkeys(one.colour for one in shown))
    nodes: list[dict[str, Any]] = []
    for k, one in enumerate(shown):
        many = len(one.places) > 1
        nodes += [_node(f"{one.name}_{j + 1}" if many else one.name, k, place) for j, place in enumerate(one.places)]
    tree = {
        "asset": {"version": "2.0", "generator": f"Lobewright {__version__}", "extras": dict(about or {})},
        "scene": 0,
        "scenes": [{"name": name, "nodes": [len(nodes)]}],
        "nodes": [*nodes, {"name": name, "children": list(range(len(nodes)))}],
        "meshes": [
            {
                "name": one.name,
                "primitives": [
                    {"attributes": {"POSITION": 2 * k}, "indices": 2 * k + 1, "material": colours.index(one.colour)}
                ],
            }
            for k, one in enumerate(shown)
        ],
        "materials": [
            {
                "name": colour,
                "pbrMetallicRoughness": {
                    "baseColorFactor": [*linear_rgb(colour), 1.0],
                    "metallicFactor": 0.0,
                    "roughnessFactor": ROUGHNESS,
                },
            }
            for colour in colours
        ],
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(data)}],
    }
    text = json.dumps(tree, separators=(",", ":"), ensure_ascii=True).encode("ascii")
    text += b" " * (-len(text) % 4)
    data += b"\0" * (-len(data) % 4)
    whole = 12 + 8 + len(text) + 8 + len(data)
    path.write_bytes(
        struct.pack("<III", MAGIC, VERSION, whole)
        + struct.pack("<II", len(text), JSON_CHUNK)
        + text
        + struct.pack("<II", len(data), BINARY_CHUNK)
        + data
    )
