"""Arrows and numbers on a picture: lines show only where nothing stands before them, each number's line ends on what it names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from lobewright.make.render import Drawn, Frame
from lobewright.picture.palette import PALETTE, Role, Theme

Array = np.ndarray
INK, MARK = PALETTE[Theme.LIGHT][Role.INK], PALETTE[Theme.LIGHT][Role.TOOTH_MARK]
BADGE_PX, WORD_PX, EDGE_PX = 25, 20, 4
LINE_PX, ARROW_PX, HEAD_PX = 2, 5, 22.0
GRID_PX = 12
"""Badges stand on a grid this wide."""
ANCHORS = 60
"""Visible points of a part that are tried as ends of its line."""
MOST_FAR_PX = 420.0
COVERED_COST, CROSSING_COST, CLOSE_PX = 900.0, 250.0, 45.0
NEAR_MM = 0.8
"""How far behind the surface a line may lie and still be seen."""


@dataclass(frozen=True)
class Label:
    """A number or a few words, and the things of the drawing that it names."""

    text: str
    owners: frozenset[int]


@dataclass(frozen=True)
class Way:
    """A line from a part to its seat along the axis, from and to in mm; the arrow stands at its beginning."""

    start_mm: tuple[float, float, float]
    end_mm: tuple[float, float, float]


@cache
def _font(size_px: int) -> Any:
    from PIL import ImageFont
    from reportlab.pdfbase.ttfonts import TTFont

    # The PDF library ships a free font; the pictures use the same one as the page.
    return ImageFont.truetype(TTFont("LobewrightBadge", "VeraBd.ttf").face.filename, size_px)


def annotated(
    seen: Drawn, where: Frame, labels: Sequence[Label], ways: Sequence[Way], solid: frozenset[int]
) -> tuple[Array, tuple[str, ...]]:
    """The picture with arrows and badges, and the labels of what cannot be seen in it.

    ``solid``: numbers of the things that hide lines and that badges keep off; the others are faded.
    """
    from PIL import Image, ImageDraw

    canvas = Image.fromarray(seen.image)
    draw = ImageDraw.Draw(canvas)
    hiding = np.isin(seen.owner, list(solid))
    for way in ways:
        _way(draw, seen, where, way, hiding)
    hidden = _badges(draw, seen, labels, hiding)
    return np.asarray(canvas), hidden


# --- lines and arrows ------------------------------------------------------------------------------------------------


def visible_share(seen: Drawn, where: Frame, way: Way, hiding: Array) -> float:
    """Which share of a line is seen."""
    return float(np.mean(_seen_along(seen, where, way, hiding)[1]))


def _seen_along(seen: Drawn, where: Frame, way: Way, hiding: Array) -> tuple[Array, Array]:
    """Points along a line in pixels (N, 2), every two pixels or so, and whether each is seen (N,)."""
    start, end = np.asarray(way.start_mm), np.asarray(way.end_mm)
    ends = np.array([where.at(start), where.at(end)])
    count = max(2, int(np.hypot(*(ends[1] - ends[0])) / 2))
    share = np.linspace(0.0, 1.0, count)[:, None]
    pixels = ends[0] + share * (ends[1] - ends[0])
    depth = (start + share * (end - start)) @ where.axes[2]
    high, wide = seen.owner.shape
    inside = (pixels >= 0).all(axis=1) & (pixels < (wide, high)).all(axis=1)
    x, y = np.where(inside[:, None], pixels, 0.0).astype(int).T
    return pixels, inside & ~(hiding[y, x] & (seen.depth_mm[y, x] > depth + NEAR_MM))


def _way(draw: Any, seen: Drawn, where: Frame, way: Way, hiding: Array) -> None:
    """A thin line where it is seen, with one arrow near its beginning."""
    pixels, clear = _seen_along(seen, where, way, hiding)
    whole = float(np.hypot(*(pixels[-1] - pixels[0])))
    if whole < 1.5 * HEAD_PX:
        return
    for k in range(len(pixels) - 1):
        if clear[k] and clear[k + 1]:
            draw.line((*pixels[k], *pixels[k + 1]), fill=MARK, width=LINE_PX)
    # The first stretch that is seen and long enough carries the arrow; where none is, it stands at the seat.
    run, need = 0, int(1.6 * HEAD_PX / 2)
    for k, free in enumerate(clear):
        run = run + 1 if free else 0
        if run >= need:
            tip = min(k + int(HEAD_PX), len(pixels) - 1)
            while tip > k and not clear[k : tip + 1].all():
                tip -= 1
            _head(draw, pixels[k - run + 1], pixels[tip])
            return


def _head(draw: Any, start: Array, tip: Array) -> None:
    length = float(np.hypot(*(tip - start)))
    u = (tip - start) / length
    back = tip - HEAD_PX * u
    side = 0.42 * HEAD_PX * np.array([-u[1], u[0]])
    draw.line((*start, *back), fill=MARK, width=ARROW_PX)
    draw.polygon([tuple(tip), tuple(back + side), tuple(back - side)], fill=MARK)


# --- numbers ---------------------------------------------------------------------------------------------------------


def _size_px(text: str) -> tuple[float, float]:
    """Half the width and half the height of a badge: a circle for numbers, a box for words."""
    if len(text) <= 3:
        return float(BADGE_PX), float(BADGE_PX)
    return _font(WORD_PX).getlength(text) / 2 + 10.0, 0.72 * BADGE_PX


def _anchors(owner: Array, owners: frozenset[int]) -> Array:
    """Visible points of things, inside their outline where they are wide enough; (N, 2) as x, y, empty if none is seen."""
    mask = np.isin(owner, list(owners))
    inner = mask.copy()
    for shift in (-4, 4):
        for axis in (0, 1):
            inner &= np.roll(mask, shift, axis=axis)
    y, x = np.nonzero(inner if inner.any() else mask)
    pick = np.linspace(0, len(x) - 1, min(len(x), ANCHORS)).astype(int) if len(x) else np.zeros(0, int)
    return np.column_stack((x[pick], y[pick])).astype(float)


def _sums(mask: Array) -> Array:
    """Of a mask, how many are True above and left of each pixel, (h + 1, w + 1)."""
    total = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1), np.int32)
    total[1:, 1:] = np.cumsum(np.cumsum(mask, axis=0, dtype=np.int32), axis=1)
    return total


def _boxes(total: Array, x: Array, y: Array, half_wide: float, half_high: float) -> Array:
    """Share of True in the box round each point, from a mask's sums."""
    high, wide = total.shape[0] - 1, total.shape[1] - 1
    x0, x1 = (np.clip(x + s * half_wide, 0, wide).astype(int) for s in (-1, 1))
    y0, y1 = (np.clip(y + s * half_high, 0, high).astype(int) for s in (-1, 1))
    area = np.maximum((x1 - x0) * (y1 - y0), 1)
    return (total[y1, x1] - total[y0, x1] - total[y1, x0] + total[y0, x0]) / area


def _badges(draw: Any, seen: Drawn, labels: Sequence[Label], hiding: Array) -> tuple[str, ...]:
    high, wide = seen.owner.shape
    solid, covered = _sums(hiding), _sums(seen.owner >= 0)
    taken: list[tuple[float, float, float, float]] = []
    drawn_lines: list[tuple[Array, Array]] = []
    hidden, jobs = [], []
    for label in labels:
        points = _anchors(seen.owner, label.owners)
        if len(points):
            jobs.append((label, points))
        else:
            hidden.append(label.text)
    for label, points in sorted(jobs, key=lambda job: float(job[1][:, 0].mean())):
        a, b = _size_px(label.text)
        xs = np.arange(a + EDGE_PX, wide - a - EDGE_PX, GRID_PX)
        ys = np.arange(b + EDGE_PX, high - b - EDGE_PX, GRID_PX)
        x, y = (grid.ravel() for grid in np.meshgrid(xs, ys))
        far = np.hypot(x[:, None] - points[:, 0], y[:, None] - points[:, 1])
        near = far.argmin(axis=1)
        reach = far[np.arange(len(x)), near]
        cost = reach + np.maximum(0.0, CLOSE_PX - reach) * 4.0
        cost = cost + COVERED_COST * _boxes(solid, x, y, a + EDGE_PX, b + EDGE_PX)
        cost = cost + 0.12 * COVERED_COST * _boxes(covered, x, y, a, b)
        cost[reach > MOST_FAR_PX] += COVERED_COST
        for u, v, c, d in taken:
            clash = (np.abs(x - u) < a + c + EDGE_PX) & (np.abs(y - v) < b + d + EDGE_PX)
            cost[clash] += 10 * COVERED_COST
        ends, spots = points[near], np.column_stack((x, y))
        for p, q in drawn_lines:
            cost = cost + CROSSING_COST * _cross(spots, ends, p, q)
            cost = cost + CROSSING_COST * (_off(spots, p[None], q[None]) < a + EDGE_PX)
        for u, v, c, _ in taken:
            cost = cost + CROSSING_COST * (_off(np.array([[u, v]]), spots, ends) < c + EDGE_PX)
        best = int(cost.argmin())
        spot, end = np.array([x[best], y[best]]), ends[best]
        taken.append((spot[0], spot[1], a, b))
        drawn_lines.append((spot, end))
        _badge(draw, label.text, spot, end, (a, b))
    return tuple(hidden)


def _cross(a: Array, b: Array, p: Array, q: Array) -> Array:
    """Whether the lines from each a to its b cross the line from p to q; (N,)."""

    def side(u: Array, v: Array, w: Array) -> Array:
        return np.sign(
            (v[..., 0] - u[..., 0]) * (w[..., 1] - u[..., 1]) - (v[..., 1] - u[..., 1]) * (w[..., 0] - u[..., 0])
        )

    return (side(a, b, p) != side(a, b, q)) & (side(p, q, a) != side(p, q, b))


def _off(points: Array, a: Array, b: Array) -> Array:
    """How far points lie from the lines from a to b, px; points or lines may be one for all."""
    along = b - a
    share = ((points - a) * along).sum(axis=1) / np.maximum((along**2).sum(axis=1), 1e-9)
    return np.hypot(*(points - a - np.clip(share, 0.0, 1.0)[:, None] * along).T)


def _badge(draw: Any, text: str, spot: Array, end: Array, half: tuple[float, float]) -> None:
    x, y = spot
    draw.line((x, y, *end), fill=INK, width=2)
    draw.ellipse((end[0] - 4, end[1] - 4, end[0] + 4, end[1] + 4), fill=INK, outline="#ffffff")
    box = (x - half[0], y - half[1], x + half[0], y + half[1])
    number = len(text) <= 3
    (draw.ellipse if number else draw.rectangle)(box, fill="#ffffff", outline=INK, width=3)
    draw.text((x, y), text, fill=INK, font=_font(BADGE_PX if number else WORD_PX), anchor="mm")
