"""Pictures of parts: meshes seen along parallel rays, flat shading, dark edges, white paper.

Every pixel keeps the nearest triangle. An edge is drawn where neighbouring pixels belong to different things, where the
surface bends sharply, or where depth jumps by more than both surfaces' slopes explain. All is computed at twice the size and
averaged down. No clock, no chance: the same things give the same bytes.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit

from lobewright.errors import Fault, LobewrightError, lacking
from lobewright.make.bodies import Drill, Group, Part, Slab, Turned
from lobewright.make.placing import Place
from lobewright.make.solids import Mesh, mesh_library
from lobewright.picture.palette import PALETTE, Role, Theme, mix

Array = np.ndarray
Thing = tuple[Mesh, Place, str, bool]
"""Mesh, where it stands, colour as ``#rrggbb``, and whether it is faded."""

CHORD_ERROR_MM = 0.008
FINER = 2
"""Pixels computed for one pixel shown, each way."""
MARGIN_SHARE = 0.03
SHARP_COSINE = math.cos(math.radians(32.0))
"""Surfaces that meet at a sharper angle have an edge between them."""
LIGHT = np.array([0.22, 0.62, 0.75]) / np.linalg.norm([0.22, 0.62, 0.75])
"""Where the light comes from, as seen: right, up, towards the eye."""
SHADE, GLOW = 0.58, 0.48
"""Brightness of a face out of the light, and what full light adds."""
FADED_SHARE = 0.30
"""Of its colour that a faded thing keeps; the rest is paper."""
WHITE = "#ffffff"
MOST_PX = 6000

COLOURS: dict[Group, str] = {
    Group.FLEXIBLE_RING: PALETTE[Theme.LIGHT][Role.FLEXIBLE],
    Group.RIGID_RING: PALETTE[Theme.LIGHT][Role.RING_A],
    Group.GENERATOR: mix(PALETTE[Theme.LIGHT][Role.GENERATOR], WHITE, 0.62),
    Group.FRAME: mix(PALETTE[Theme.LIGHT][Role.RULE], WHITE, 0.80),
    Group.OUTPUT: mix(PALETTE[Theme.LIGHT][Role.RING_B], WHITE, 0.72),
    Group.INPUT: PALETTE[Theme.LIGHT][Role.LOBE_MARK],
    Group.TEST: mix(PALETTE[Theme.LIGHT][Role.TOOTH_MARK], WHITE, 0.70),
    Group.BOUGHT: PALETTE[Theme.LIGHT][Role.RULE],
}
"""Colour of each group of parts: the palette's members, the darkest of them lightened so that edges show."""


@dataclass(frozen=True)
class View:
    """From where the drive is seen: degrees to the right of its front and degrees above its axis."""

    right_deg: float = -42.0
    above_deg: float = 26.0

    @property
    def axes(self) -> Array:
        """Rows: right, up and towards the eye, in assembly coordinates; (3, 3), orthonormal."""
        a, e = math.radians(self.right_deg), math.radians(self.above_deg)
        right = (math.cos(a), 0.0, -math.sin(a))
        up = (-math.sin(e) * math.sin(a), math.cos(e), -math.sin(e) * math.cos(a))
        eye = (math.cos(e) * math.sin(a), math.sin(e), math.cos(e) * math.cos(a))
        return np.array((right, up, eye))


@dataclass(frozen=True)
class Frame:
    """How assembly coordinates fall on a picture of ``width_px`` × ``height_px``."""

    axes: Array
    px_per_mm: float
    left_mm: float
    top_mm: float
    width_px: int
    height_px: int

    def at(self, point_mm: Sequence[float] | Array) -> tuple[float, float]:
        """Pixels from the left and from the top at which a point (x, y, z) is seen."""
        x, y = (self.axes[:2] @ np.asarray(point_mm, dtype=float)).tolist()
        return (x - self.left_mm) * self.px_per_mm, (self.top_mm - y) * self.px_per_mm


def plain_mesh(part: Part) -> Mesh:
    """A part's nominal body as triangles, without the CAD kernel; arcs to ``CHORD_ERROR_MM``.

    Raises PlatformFault when the mesh library of the extra "cad" is missing.
    """
    made = plain_solid(part).to_mesh()
    corners = np.asarray(made.vert_properties[:, :3], dtype=float)
    return Mesh(corners, np.asarray(made.tri_verts, dtype=np.int64))


def plain_solid(part: Part, chord_error_mm: float = CHORD_ERROR_MM, around: int = 180) -> Any:
    """A part's nominal body as a solid of the mesh library; ``around`` chords stand for a whole turn of turned profiles.

    Raises PlatformFault when that library is missing.
    """
    kit = mesh_library()
    body = part.body
    whole = kit.Manifold.batch_boolean(
        [_solid(kit, one, chord_error_mm, around) for one in body.pieces], kit.OpType.Add
    )
    cuts: tuple[Slab | Drill, ...] = (*body.pockets, *body.drills)
    for away in cuts:
        whole = whole - _solid(kit, away, chord_error_mm, around)
    return whole


def _solid(library: Any, piece: Slab | Turned | Drill, chord_error_mm: float, around: int) -> Any:
    if isinstance(piece, Slab):
        loops = [one.contour.sampled(chord_error_mm) for one in (piece.outer, *piece.holes)]
        flat = library.CrossSection(loops, library.FillRule.EvenOdd)
        return flat.extrude(piece.top_mm - piece.bottom_mm).translate((0.0, 0.0, piece.bottom_mm))
    if isinstance(piece, Turned):
        flat = library.CrossSection([piece.profile.sampled(chord_error_mm)], library.FillRule.EvenOdd)
        return flat.revolve(around)
    round_bar = library.Manifold.cylinder(piece.length_mm, piece.diameter_mm / 2, circular_segments=48)
    return round_bar.rotate((0.0, 90.0, math.degrees(piece.direction_rad))).translate(piece.start_mm)


def placed_corners(mesh: Mesh, place: Place) -> Array:
    """The mesh's corners in assembly coordinates, (N, 3)."""
    points = mesh.corners_mm * ((1.0, -1.0, -1.0) if place.over else (1.0, 1.0, 1.0))
    c, s = math.cos(place.turn_rad), math.sin(place.turn_rad)
    x, y = c * points[:, 0] - s * points[:, 1], s * points[:, 0] + c * points[:, 1]
    return np.column_stack((x + place.x_mm, y + place.y_mm, points[:, 2] + place.z_mm))


def frame(things: Sequence[Thing], view: View, width_px: int, most_high: float = 0.80) -> Frame:
    """The frame that shows all things, ``width_px`` wide and at most ``most_high`` times as high.

    Raises LobewrightError where there is nothing to show, or the picture's size cannot be.
    """
    if not things or not 16 <= width_px <= MOST_PX:
        what, allowed = "a picture needs things and a size", f"at least one thing, 16 to {MOST_PX} pixels"
        raise LobewrightError([Fault(what, value=f"{len(things)} things, {width_px} pixels", allowed=allowed)])
    axes = view.axes
    seen = [placed_corners(mesh, place) @ axes[:2].T for mesh, place, _, _ in things]
    low = np.min([one.min(axis=0) for one in seen], axis=0)
    high = np.max([one.max(axis=0) for one in seen], axis=0)
    size = (high - low) * (1 + 2 * MARGIN_SHARE) + 1e-6
    px_per_mm = min(width_px / size[0], most_high * width_px / size[1])
    height_px = math.ceil(size[1] * px_per_mm)
    middle = (low + high) / 2
    left, top = middle[0] - width_px / px_per_mm / 2, middle[1] + height_px / px_per_mm / 2
    return Frame(axes, float(px_per_mm), float(left), float(top), width_px, height_px)


@dataclass(frozen=True)
class Drawn:
    """A picture with what is seen where: ``owner`` is the number of the thing in each pixel, −1 for none; ``depth_mm`` how near.

    Image (h, w, 3) uint8, owner (h, w) int, depth (h, w) along the axis towards the eye.
    """

    image: Array
    owner: Array
    depth_mm: Array


def picture(things: Sequence[Thing], view: View, width_px: int, on: Frame | None = None) -> Array:
    """Things as they are seen, (h, w, 3) uint8; ``on`` gives a frame of the caller's own instead of the closest one."""
    return drawn(things, on or frame(things, view, width_px)).image


def drawn(things: Sequence[Thing], where: Frame) -> Drawn:
    """Things as they are seen in a frame, with what is seen where."""
    points, normals, owner, colours = _triangles(things, where)
    wide, high = FINER * where.width_px, FINER * where.height_px
    nearest, depth = _raster(points, normals, wide, high)
    tints = np.array(colours)
    # A face that lies edge-on still has a thickness of light: its shade is clipped, not its sign.
    shade = SHADE + GLOW * np.clip(normals @ LIGHT, 0.0, 1.0)
    lit = np.minimum(tints[owner, 0] * shade[:, None], 255.0)
    faces = np.round(np.vstack((lit, [[255.0, 255.0, 255.0]]))).astype(np.uint8)
    inks = tints[:, 1].astype(np.uint8)
    step_mm = 1.0 / (FINER * where.px_per_mm)
    lines = _edges(nearest, depth, normals, owner, step_mm, SHARP_COSINE)
    image = _averaged(nearest, lines, faces, inks)
    seen = nearest[::FINER, ::FINER]
    return Drawn(image, np.where(seen >= 0, owner[seen], -1), depth[::FINER, ::FINER])


def _rgb(colour: str) -> tuple[int, ...]:
    return tuple(bytes.fromhex(colour[1:]))


def _triangles(things: Sequence[Thing], where: Frame) -> tuple[Array, Array, Array, list[Any]]:
    """Corners (T, 3, 3) in fine pixels with depth in mm, normals (T, 3) as seen, owners (T,), and (face, ink) of owners.

    Only triangles that face the eye are kept: the bodies are closed.
    """
    ink = PALETTE[Theme.LIGHT][Role.INK]
    points, normals, owners, colours = [], [], [], []
    for number, (mesh, place, colour, faded) in enumerate(things):
        seen = placed_corners(mesh, place) @ where.axes.T
        corner = seen[mesh.triangles]
        normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
        length = np.linalg.norm(normal, axis=1)
        front = (length > 0) & (normal[:, 2] > 1e-6 * np.maximum(length, 1e-12))
        corner, normal = corner[front], normal[front] / length[front, None]
        fine = FINER * where.px_per_mm
        x, y = (corner[..., 0] - where.left_mm) * fine, (where.top_mm - corner[..., 1]) * fine
        points.append(np.stack((x, y, corner[..., 2]), axis=-1))
        normals.append(normal)
        owners.append(np.full(len(corner), number, dtype=np.int64))
        face, line = (mix(colour, WHITE, FADED_SHARE), mix(ink, WHITE, 0.38)) if faded else (colour, ink)
        colours.append((_rgb(face), _rgb(line)))
    return np.concatenate(points), np.concatenate(normals), np.concatenate(owners), colours


@njit(cache=True)
def _raster(points, normals, wide, high):
    """Nearest triangle of each pixel (high, wide), −1 for none, and its depth in mm (larger is nearer)."""
    nearest = np.full((high, wide), -1, np.int64)
    depth = np.full((high, wide), -1e30)
    for t in range(points.shape[0]):
        ax, ay, az = points[t, 0]
        bx, by, bz = points[t, 1]
        cx, cy, cz = points[t, 2]
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        if abs(area) < 1e-12:
            continue
        # Shares of the corners a, b, c are linear: share = start + x·by_x + y·by_y; a row's span is where none is negative.
        by_x = ((by - cy) / area, (cy - ay) / area, (ay - by) / area)
        by_y = ((cx - bx) / area, (ax - cx) / area, (bx - ax) / area)
        start = ((bx * cy - by * cx) / area, (cx * ay - cy * ax) / area, (ax * by - ay * bx) / area)
        z_x = by_x[0] * az + by_x[1] * bz + by_x[2] * cz
        first_y, last_y = max(0, math.ceil(min(ay, by, cy) - 0.5)), min(high - 1, int(max(ay, by, cy) - 0.5))
        for py in range(first_y, last_y + 1):
            y = py + 0.5
            low, top = min(ax, bx, cx), max(ax, bx, cx)
            for k in range(3):
                share = start[k] + y * by_y[k]
                if by_x[k] > 1e-15:
                    low = max(low, -share / by_x[k])
                elif by_x[k] < -1e-15:
                    top = min(top, -share / by_x[k])
            z_0 = (start[0] + y * by_y[0]) * az + (start[1] + y * by_y[1]) * bz + (start[2] + y * by_y[2]) * cz
            for px in range(max(0, math.ceil(low - 0.5 - 1e-9)), min(wide - 1, math.floor(top - 0.5 + 1e-9)) + 1):
                z = z_0 + (px + 0.5) * z_x
                if z > depth[py, px]:
                    depth[py, px] = z
                    nearest[py, px] = t
    return nearest, depth


@njit(cache=True)
def _edges(nearest, depth, normals, owner, step_mm, sharp):
    """Thing whose line runs through each pixel, −1 for none. It covers both neighbours and is that of the nearer one."""
    high, wide = nearest.shape
    lines = np.full((high, wide), -1, np.int64)
    for y in range(high):
        for x in range(wide):
            for down, right in ((0, 1), (1, 0)):
                y2, x2 = y + down, x + right
                if y2 >= high or x2 >= wide:
                    continue
                a, b = nearest[y, x], nearest[y2, x2]
                if a == b:
                    continue
                near = a if b < 0 or (a >= 0 and depth[y, x] >= depth[y2, x2]) else b
                if a < 0 or b < 0 or owner[a] != owner[b]:
                    lines[y, x] = lines[y2, x2] = owner[near]
                    continue
                dot = normals[a, 0] * normals[b, 0] + normals[a, 1] * normals[b, 1] + normals[a, 2] * normals[b, 2]
                if dot < sharp:
                    lines[y, x] = lines[y2, x2] = owner[near]
                    continue
                # Depth along a surface changes by −n_x/n_z to the right and by +n_y/n_z downward.
                k = 1 if down else 0
                slope_a, slope_b = abs(normals[a, k] / normals[a, 2]), abs(normals[b, k] / normals[b, 2])
                if abs(depth[y2, x2] - depth[y, x]) > (1.5 * max(slope_a, slope_b) + 2.0) * step_mm:
                    lines[y, x] = lines[y2, x2] = owner[near]
    return lines


@njit(cache=True)
def _averaged(nearest, lines, faces, inks):
    """Colours of the pixels shown, (h, w, 3) uint8: the mean of the fine ones, a line's ink before a face's shade."""
    high, wide = nearest.shape[0] // FINER, nearest.shape[1] // FINER
    image = np.empty((high, wide, 3), np.uint8)
    for y in range(high):
        for x in range(wide):
            red = green = blue = 0
            for j in range(FINER):
                for i in range(FINER):
                    line = lines[y * FINER + j, x * FINER + i]
                    colour = inks[line] if line >= 0 else faces[nearest[y * FINER + j, x * FINER + i]]
                    red += int(colour[0])
                    green += int(colour[1])
                    blue += int(colour[2])
            image[y, x, 0] = red // FINER**2
            image[y, x, 1] = green // FINER**2
            image[y, x, 2] = blue // FINER**2
    return image


def png(image: Array) -> bytes:
    """A picture as PNG, the same bytes for the same picture. Raises PlatformFault without the picture library."""
    try:
        from PIL import Image
    except ImportError as error:
        raise lacking("pictures need the library Pillow", error) from None
    out = io.BytesIO()
    Image.fromarray(image).save(out, "PNG", compress_level=3)
    return out.getvalue()
