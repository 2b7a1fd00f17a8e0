"""What cases do with the model's answers: lengths, energies, polygons. Calls nothing of the physics rooms."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
import shapely

Array = np.ndarray


def chord_length_mm(x_mm: Array, y_mm: Array, curvature_1_per_mm: Array) -> float:
    """Length of the closed curve from its chords, each lengthened to the arc of the local curvature.

    Good to the fourth order of the spacing also where the curvature has kinks (under rollers, at lift-off).
    """
    chord = np.hypot(np.roll(x_mm, -1) - x_mm, np.roll(y_mm, -1) - y_mm)
    bend = 0.5 * (curvature_1_per_mm + np.roll(curvature_1_per_mm, -1)) * chord
    return float(np.sum(chord * (1 + bend**2 / 24)))


def ring_frequency_hz(shape: Any, bending_stiffness_nmm2: float, mass_t_per_mm: float) -> float:
    """Natural frequency of a free ring whose mode is the shape's small departure from its circle; units N, mm, t, s.

    In a mode cos nφ bending and radial displacement go together, Δκ = c·w with c = (n² − 1)/R², and the radial load is
    EI c² w: frequency² = EI c² ⟨w²⟩ / (mass ⟨w² + v²⟩) / 4π². c is read from the shape by least squares, so a wrong sign of
    curvature or displacement gives a negative frequency.
    """
    label = shape.arc_mm / shape.radius_mm
    moved = (shape.x_mm + 1j * shape.y_mm) * np.exp(-1j * label) - shape.radius_mm
    bent = shape.curvature_1_per_mm - 1 / shape.radius_mm
    radial = np.mean(moved.real**2)
    stiffening = np.mean(bent * moved.real) / radial
    share = radial / np.mean(np.abs(moved) ** 2)
    return float(stiffening * math.sqrt(bending_stiffness_nmm2 * share / mass_t_per_mm)) / (2 * math.pi)


def in_ring_frame(points_mm: Array, poses: Any, flexible_teeth: int, ring_teeth: int) -> Array:
    """Body points (N, 2) of every pose as complex numbers (P, N) in the ring's frame, the tooth space near angle 0."""
    turned = poses.turned_rad(flexible_teeth, ring_teeth)
    centre = (poses.x_mm + 1j * poses.y_mm) * np.exp(-1j * turned)
    pitch = 2 * math.pi / ring_teeth
    fold = np.exp(-1j * pitch * np.round(np.angle(centre) / pitch))
    outward = np.exp(1j * (poses.normal_rad - turned)) * fold
    body = points_mm[:, 1] + 1j * points_mm[:, 0]
    return (centre * fold)[:, None] + outward[:, None] * body[None, :]


def _plane(values: Array) -> Array:
    return np.stack((values.real, values.imag), axis=-1)


def tooth_bodies(outline: Any, poses: Any, ring_teeth: int) -> Array:
    """One polygon a pose: the tooth on a strip of rim, in the ring's frame."""
    points = outline.points_mm
    deep = outline.land_height_mm - 1.5 * outline.height_mm
    closed = np.vstack((points, [[points[-1, 0], deep], [points[0, 0], deep]]))
    return shapely.polygons(_plane(in_ring_frame(closed, poses, outline.teeth, ring_teeth)))


def distance_from_union_mm(space: Any, outline: Any, all_poses: Iterable[Any]) -> float:
    """Two-sided Hausdorff distance of a tooth space's outline and the union of all poses grown by the clearance.

    Only what lies outside the space's tip circle is compared. NaN for a space that lies on no side of the axis.
    """
    if not 0.0 < space.tip_radius_mm < space.root_radius_mm:
        return math.nan
    bodies = np.concatenate([tooth_bodies(outline, poses, space.teeth) for poses in all_poses])
    swept = shapely.union_all(bodies).buffer(space.clearance_mm, quad_segs=64)
    tip, top = space.tip_radius_mm, space.root_radius_mm + outline.height_mm
    turn = np.linspace(-1.5, 1.5, 1201) * space.pitch_rad
    around = np.exp(1j * turn)
    zone = shapely.Polygon(_plane(np.concatenate((tip * around, (top * around)[::-1]))))
    edge = shapely.intersection(swept.boundary, zone)
    return float(shapely.hausdorff_distance(shapely.LineString(space.outline_mm()), edge, densify=0.01))


def crossing(place: Array, value: Array, low: float, high: float) -> float:
    """Where ``value`` first changes sign between two places, by a straight line between samples; NaN where it does not."""
    inside = np.flatnonzero((place[:-1] >= low) & (place[1:] <= high) & (value[:-1] * value[1:] <= 0.0))
    if len(inside) == 0:
        return math.nan
    i = int(inside[0])
    return float(place[i] - value[i] * (place[i + 1] - place[i]) / (value[i + 1] - value[i]))


def normal_speed_share(space: Any, outline: Any, poses: Any, low: float, high: float) -> float:
    """Worst share of the relative velocity that points along the common normal where tooth and space touch.

    For levels between the shares ``low`` and ``high`` of the way from tip to root circle: the pose whose tooth touches the
    space's right edge there is found by distance; the tooth's velocity is a central difference of its poses, the normal one
    of the edge.
    ``space`` must be made without clearance. A right answer is 0; NaN when no pose touches.
    """
    depth = (space.radius_mm - space.tip_radius_mm) / (space.root_radius_mm - space.tip_radius_mm)
    edge = space.radius_mm * np.exp(1j * space.right_rad)
    bodies = shapely.get_exterior_ring(tooth_bodies(outline, poses, space.teeth))
    frame = in_ring_frame(np.array([[0.0, 0.0], [0.0, 1.0]]), poses, outline.teeth, space.teeth)
    origin, outward = frame[:, 0], frame[:, 1] - frame[:, 0]
    levels = np.flatnonzero((depth > low) & (depth < high))[:-1]
    worst = 0.0 if len(levels) else math.nan
    for level in levels:
        place = edge[level]
        gaps = shapely.distance(bodies, shapely.Point(place.real, place.imag))
        at = int(np.argmin(gaps))
        if not 2 <= at <= len(gaps) - 3 or gaps[at] > 0.05:
            return math.nan
        normal = 1j * (edge[level + 1] - edge[level - 1])
        normal /= abs(normal)
        speeds = np.array([_speed(origin, outward, poses.label_rad, i, place) for i in (at - 1, at, at + 1)])
        before, here, after = gaps[at - 1 : at + 2]
        between = 0.5 * (before - after) / (before - 2 * here + after)
        along = (speeds * normal.conjugate()).real
        worst = max(worst, abs(along[1] + between * (along[2] - along[0]) / 2) / abs(speeds[1]))
    return worst


def _speed(origin: Array, outward: Array, label_rad: Array, at: int, place: complex) -> complex:
    """Velocity, mm per radian of material label, of the body point that stands at ``place`` in pose ``at``."""
    body = (place - origin[at]) / outward[at]
    moved = origin[at + 1] + outward[at + 1] * body - origin[at - 1] - outward[at - 1] * body
    return complex(moved / (label_rad[at + 1] - label_rad[at - 1]))


def open_chain(
    element: Any, elements: int, length: float, moment: float, force: tuple[float, float], stretch: float
) -> Array:
    """Unknowns (elements + 1, 3) of a clamped chain of ring elements, EI = 1, R = 1, loaded at its free end in steps.

    ``length`` is the arc of the chain in radians of the round ring: a small one is a straight beam. It starts along +y.
    ``stretch``: EA·L²/EI, large for a beam as good as unstretchable. NaN where Newton's iteration does not settle.
    """
    arc, axial, steps = length / elements, stretch / length**2, 20
    load = np.array([*force, moment])
    q = np.zeros((elements + 1, 3))
    for number in range(1, steps + 1):
        for _ in range(30):
            residual = np.zeros(3 * elements + 3)
            tangent = np.zeros((len(residual), len(residual)))
            for i in range(elements):
                _, grad, block = element(q[i], q[i + 1], (i + 0.5) * arc + 0.5 * math.pi, arc, axial)
                residual[3 * i : 3 * i + 6] += grad
                tangent[3 * i : 3 * i + 6, 3 * i : 3 * i + 6] += block
            residual[-3:] -= load * number / steps
            try:
                change = np.linalg.solve(tangent[3:, 3:], residual[3:])
            except np.linalg.LinAlgError:
                return np.full_like(q, math.nan)
            q[1:] -= change.reshape(-1, 3)
            if np.abs(change.reshape(-1, 3) / (length, length, 1.0)).max() < 1e-9:
                break
        else:
            return np.full_like(q, math.nan)
    return q
