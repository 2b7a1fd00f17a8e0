"""Hexagon pockets that are milled: a round cutter leaves no sharp corner, so each corner is cleared by a round one beyond it.

The circle of the cutter passes through the hexagon's corner and takes its radius off either flat beside it; beyond the flats it
reaches by 0.13 of that radius. The middle of every flat stays, and on it the nut or the hexagon bears. Common practice, no
source.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from lobewright.design import model as m
from lobewright.make.bodies import Loop, Part, Slab, exact
from lobewright.make.drawing_sizes import Kind, shape
from lobewright.make.outlines import Contour, bulge_of

CUTTER_SHARE, CUTTER_STEP_MM = 1 / 7, 0.25
"""Radius of the cutter over the width across flats, and the steps in which cutters are sold."""


def cutter_radius_mm(across_flats_mm: float) -> float:
    """Radius of the cutter that clears the corners: at most a quarter of a flat is taken at either end."""
    return CUTTER_STEP_MM * max(1, math.floor(CUTTER_SHARE * across_flats_mm / CUTTER_STEP_MM))


def relieved(loop: Loop) -> Loop:
    """A hexagon with its corners cleared; anything else as it is."""
    one = shape(loop)
    if one.kind is not Kind.HEXAGON or len(loop.contour.points_mm) != 6:
        return loop
    corners, radius = loop.contour.points_mm, cutter_radius_mm(one.size_mm)
    side = float(np.hypot(*(corners[1] - corners[0])))
    points = []
    for before, corner, after in zip(np.roll(corners, 1, axis=0), corners, np.roll(corners, -1, axis=0), strict=True):
        points += [corner + radius / side * (before - corner), corner + radius / side * (after - corner)]
    return exact(Contour(np.array(points), np.array([bulge_of(2 * math.pi / 3), 0.0] * 6)), loop.feature)


def _cleared(slab: Slab) -> Slab:
    return replace(slab, holes=tuple(relieved(hole) for hole in slab.holes))


def as_cut(part: Part, process: m.Printer | m.Machined) -> Part:
    """A part with the inside corners of its hexagons cleared where it is cut; printed and bought ones as they are."""
    if part.designation or not isinstance(process, m.Machined):
        return part
    body = part.body
    pieces = tuple(_cleared(piece) if isinstance(piece, Slab) else piece for piece in body.pieces)
    pockets = tuple(replace(pocket, outer=relieved(pocket.outer)) for pocket in body.pockets)
    return replace(part, body=replace(body, pieces=pieces, pockets=pockets))
