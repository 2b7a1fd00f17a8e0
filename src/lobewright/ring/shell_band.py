"""A toothed rim as an equivalent band of the shell: what its tooth cell and its outline make of the plain wall."""

from __future__ import annotations

import numpy as np

from lobewright.ring.cell import Outline, ToothCell
from lobewright.ring.shell_mesh import BandFactors


def band_factors(cell: ToothCell, outline: Outline) -> BandFactors:
    """A toothed rim as an equivalent band: round the ring by the cell, along the teeth by the section's second moment.

    Along the axis teeth and wall are straight bars side by side, so their stiffness is E times the second moment of the area
    of one pitch about its own centroid (beam theory, derived); plane state effects of the ribs are left out.
    """
    x, y = outline.points_mm.T
    bottom = cell.mid_wall_mm - 0.5 * cell.wall_mm
    edge_x = np.concatenate((x, [x[-1], x[0]]))
    edge_y = np.concatenate((y, [bottom, bottom]))
    cross = edge_x * np.roll(edge_y, -1) - np.roll(edge_x, -1) * edge_y
    next_y = np.roll(edge_y, -1)
    area = 0.5 * cross.sum()
    first = (cross * (edge_y + next_y)).sum() / 6.0
    second = (cross * (edge_y**2 + edge_y * next_y + next_y**2)).sum() / 12.0
    moment = abs(second - first**2 / area) / cell.pitch_mm
    return BandFactors(cell.axial_ratio, cell.bending_ratio, float(moment / (cell.wall_mm**3 / 12.0)), cell.twist_ratio)
