"""Print parts laid on as few beds as a simple rule finds: boxes in shelves, the deepest first.

A bed holds one material, and what is filled alike: one setting of the slicing program does for it. Each bed becomes one 3MF
file in which every object stands once and is built as often as it is needed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lobewright.errors import DesignFault, Fault
from lobewright.make.formats import Item, write_3mf_plate
from lobewright.make.solids import Mesh
from lobewright.make.splitting import lies_on

BETWEEN_MM = 5.0
"""Between two parts; the bed is taken as what the printer reaches, up to its edge."""


@dataclass(frozen=True)
class Wanted:
    """A print mesh, how often it is needed, of which material, and whether it prints solid."""

    name: str
    mesh: Mesh
    quantity: int
    material: str = ""
    solid: bool = True


@dataclass(frozen=True)
class Laid:
    """One part on a bed: the box's low corner and size, mm; ``turned`` by a quarter."""

    name: str
    x_mm: float
    y_mm: float
    width_mm: float
    depth_mm: float
    turned: bool


@dataclass(frozen=True)
class Plate:
    """What is printed at once, all of one material, all of it solid or none of it."""

    laid: tuple[Laid, ...]
    material: str = ""
    solid: bool = True


@dataclass
class _Shelf:
    low_mm: float
    depth_mm: float
    used_mm: float


def _lying(name: str, size: tuple[float, float, float], bed: tuple[float, float]) -> tuple[float, float, bool]:
    """Width and depth as the part is laid, wider than deep where the bed allows, and whether it is turned by a quarter."""
    x, y, _ = size
    if not lies_on(x, y, bed):
        what, value = f"{name} does not fit on the bed", f"{x:.1f} × {y:.1f} mm"
        allowed = f"at most {bed[0]:g} × {bed[1]:g} mm"
        raise DesignFault([Fault(what, "process.bed_mm", value=value, allowed=allowed)])
    width, depth = max(x, y), min(x, y)
    wide = width <= bed[0] and depth <= bed[1]
    return (width, depth, y > x) if wide else (depth, width, x > y)


def plates(wanted: Sequence[Wanted], bed_mm: tuple[float, float], between_mm: float = BETWEEN_MM) -> tuple[Plate, ...]:
    """Lay all parts, those of one material and filling together, materials in the order of their names, what is solid first.

    The same parts give the same plates. Raises DesignFault for a part that no bed holds.
    """
    kinds = sorted({(one.material, not one.solid) for one in wanted})
    return tuple(
        Plate(laid, material, not thin)
        for material, thin in kinds
        for laid in _beds(
            [one for one in wanted if (one.material, not one.solid) == (material, thin)], bed_mm, between_mm
        )
    )


def _beds(wanted: Sequence[Wanted], bed_mm: tuple[float, float], between_mm: float) -> list[tuple[Laid, ...]]:
    boxes = []
    for one in wanted:
        width, depth, turned = _lying(one.name, one.mesh.size_mm, bed_mm)
        boxes += [(depth, width, one.name, turned)] * one.quantity
    boxes.sort(key=lambda row: (-row[0], -row[1], row[2]))
    beds: list[tuple[list[_Shelf], list[Laid]]] = []
    for depth, width, name, turned in boxes:
        place = next((spot for spot in (_spot(bed, width, depth, bed_mm, between_mm) for bed in beds) if spot), None)
        if place is None:
            beds.append(([], []))
            place = _spot(beds[-1], width, depth, bed_mm, between_mm)
            assert place is not None
        laid, x, y = place
        laid.append(Laid(name, x, y, width, depth, turned))
    return [tuple(laid) for _, laid in beds]


def _spot(
    bed: tuple[list[_Shelf], list[Laid]], width: float, depth: float, size: tuple[float, float], between: float
) -> tuple[list[Laid], float, float] | None:
    """The first free place of a bed, taken: its list and the box's low corner; None where it is full."""
    shelves, laid = bed
    for shelf in shelves:
        if depth <= shelf.depth_mm and shelf.used_mm + width <= size[0]:
            x = shelf.used_mm
            shelf.used_mm += width + between
            return laid, x, shelf.low_mm
    low = shelves[-1].low_mm + shelves[-1].depth_mm + between if shelves else 0.0
    if low + depth > size[1] or width > size[0]:
        return None
    shelves.append(_Shelf(low, depth, width + between))
    return laid, 0.0, low


def write_plate(path: Path, plate: Plate, wanted: Sequence[Wanted], title: str, about: str = "") -> None:
    """Write one plate as 3MF: each object once, lying as it prints, and an item for each time it is built.

    ``title`` and ``about`` stand in the file, where a slicing program shows them.
    """
    names = sorted({laid.name for laid in plate.laid})
    meshes = {one.name: one.mesh for one in wanted}
    items = []
    for laid in plate.laid:
        low = meshes[laid.name].corners_mm.min(axis=0)
        high = meshes[laid.name].corners_mm.max(axis=0)
        # Turned by a quarter, (x, y) goes to (−y, x).
        corner = np.array([-high[1], low[0]]) if laid.turned else low[:2]
        x, y = laid.x_mm - corner[0], laid.y_mm - corner[1]
        items.append(Item(names.index(laid.name), float(x), float(y), math.pi / 2 if laid.turned else 0.0))
    write_3mf_plate(path, [(name, meshes[name]) for name in names], items, title, about)
