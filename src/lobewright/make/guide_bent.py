"""The flexible ring as its generator bends it, for pictures: the round ring's mesh, moved with the neutral line."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.make.collisions import FLEXIBLE_NAMES
from lobewright.make.placing import Placed
from lobewright.make.render import placed_corners, plain_mesh
from lobewright.make.solids import Mesh

Array = np.ndarray


def bent_rings(a: Assessment, placed: Sequence[Placed]) -> dict[str, Mesh]:
    """The flexible ring of an assembly, the generator at angle 0, by part name, in assembly coordinates."""
    found = {}
    for one in placed:
        if one.part.name in FLEXIBLE_NAMES:
            round_one = plain_mesh(one.part)
            bent = Mesh(_bent(a, round_one.corners_mm), round_one.triangles)
            found[one.part.name] = Mesh(placed_corners(bent, one.places[0]), bent.triangles)
    return found


def _bent(a: Assessment, corners_mm: Array) -> Array:
    """Corners (N, 3) of the round ring, its open edge at z = 0, moved as rigid sections on the neutral line as it is set.

    In a cup the departure from the circle fades in proportion to the distance from the closed end, as everywhere.
    """
    shape, cup = a.set_shape, a.design.flexible_ring
    x, y, z = corners_mm.T
    share = np.ones(len(z))
    if isinstance(cup, m.Cup):
        ring = a.design.rigid_ring[0]
        share = (cup.length_mm - z) / (cup.length_mm - ring.offset_mm - ring.width_mm / 2)
    count, radius = len(shape.arc_mm), shape.radius_mm
    own = np.arange(count) * (2 * math.pi / count)
    label = np.mod(np.arctan2(y, x), 2 * math.pi)

    def there(values: Array) -> Array:
        return share * np.interp(label, np.append(own, 2 * math.pi), np.append(values, values[0]))

    normal = label + there(shape.normal_rad - own)
    height = np.hypot(x, y) - radius
    line_x = radius * np.cos(label) + there(shape.x_mm - radius * np.cos(own))
    line_y = radius * np.sin(label) + there(shape.y_mm - radius * np.sin(own))
    return np.column_stack((line_x + height * np.cos(normal), line_y + height * np.sin(normal), z))
