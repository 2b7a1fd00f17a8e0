"""Contact of the flexible ring with its generator: rollers and discs on the smooth line, a cam on the nodes.

Arguments and units as in :mod:`lobewright.torque.kernel`, of which this is a part.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from lobewright.ring.beam_bodies import circle_distance, curve_distance
from lobewright.ring.beam_element import line_bend, line_ends, line_place, line_point

ROUND, CURVE = 0, 1


@njit(cache=True, error_model="numpy")
def body_centre(extra, body, numbers):
    """Where a body's centre stands, with the carrier's shift and its arm's."""
    x, y = numbers.body_centre[body, 0] + extra[0], numbers.body_centre[body, 1] + extra[1]
    arm = numbers.body_arm[body]
    if arm >= 0:
        x += extra[2 + arm] * numbers.body_direction[body, 0]
        y += extra[2 + arm] * numbers.body_direction[body, 1]
    return x, y


@njit(cache=True, error_model="numpy")
def _add_body_terms(gx, gy, hxx, hxy, hyy, body, numbers, system):
    """Gradient (gx, gy) and stiffness of a contact energy in the centre of a body, into the extras."""
    arm = numbers.body_arm[body]
    system.extra[0] += gx
    system.extra[1] += gy
    system.extra_block[0, 0] += hxx
    system.extra_block[0, 1] += hxy
    system.extra_block[1, 0] += hxy
    system.extra_block[1, 1] += hyy
    if arm >= 0:
        dx, dy = numbers.body_direction[body, 0], numbers.body_direction[body, 1]
        at = 2 + arm
        system.extra[at] += gx * dx + gy * dy
        ax, ay = hxx * dx + hxy * dy, hxy * dx + hyy * dy
        system.extra_block[0, at] += ax
        system.extra_block[at, 0] += ax
        system.extra_block[1, at] += ay
        system.extra_block[at, 1] += ay
        system.extra_block[at, at] += ax * dx + ay * dy


@njit(cache=True, error_model="numpy")
def _near_body(q, row, cx, cy, radius, near):
    """Mark elements (N,) of a row that may touch a round body: an end nearer to it than an element is long."""
    count = q.shape[0]
    arc = 2.0 * math.pi / count
    reach = (radius + arc) ** 2
    for i in range(count):
        near[i] = False
    for i in range(count):
        dx = q[i, 3 * row] - cx
        dy = q[i, 3 * row + 1] - cy
        label = i * arc
        dx += math.cos(label)
        dy += math.sin(label)
        if dx * dx + dy * dy < reach:
            near[i] = True
            near[i - 1 if i > 0 else count - 1] = True


@njit(cache=True, error_model="numpy")
def add_round(q, extra, body, row, numbers, system):
    """A roller or disc that bears on points of the smooth line between the nodes as an elastic bed."""
    count = q.shape[0]
    arc = 2.0 * math.pi / count
    points = numbers.body_points[body]
    k = arc * numbers.body_stiffness[body, row] / points
    o = 3 * row
    cx, cy = body_centre(extra, body, numbers)
    arm = numbers.body_arm[body]
    bx, by = numbers.body_direction[body, 0], numbers.body_direction[body, 1]
    near = np.empty(count, dtype=np.bool_)
    _near_body(q, row, cx, cy, numbers.body_radius[body], near)
    line = np.ascontiguousarray(q[:, o : o + 3])
    total = sx = sy = hxx = hxy = hyy = 0.0
    grad = np.empty(6)
    along = np.empty(6)
    hess = np.empty((6, 6))
    for i in range(count):
        if not near[i]:
            continue
        j = i + 1 if i + 1 < count else 0
        hang = line_ends(line, i)
        p = 0
        while p < points:
            xi = (p + 0.5) / points
            x, y = line_place(hang, xi)
            gap, nx, ny, factor = circle_distance(cx, cy, numbers.body_radius[body], x, y)
            # no point nearer along the line than the gap itself can touch
            p += 1 if gap < 0.0 else 1 + int(0.8 * gap * points / arc)
            if gap >= 0.0:
                continue
            _, jac, ends = line_point(line, i, xi)
            f = k * gap
            total += 0.5 * f * gap
            bend = line_bend(nx, ny, ends)
            for a in range(6):
                grad[a] = nx * jac[0, 0, a] + ny * jac[0, 1, a]
                along[a] = nx * jac[0, 1, a] - ny * jac[0, 0, a]
            for a in range(6):
                for b in range(6):
                    hess[a, b] = k * grad[a] * grad[b] + f * (factor * along[a] * along[b] + bend[a, b])
            for a in range(3):
                system.residual[i, o + a] += f * grad[a]
                system.residual[j, o + a] += f * grad[3 + a]
                for b in range(3):
                    system.diagonal[i, o + a, o + b] += hess[a, b]
                    system.diagonal[j, o + a, o + b] += hess[3 + a, 3 + b]
                    system.upper[i, o + a, o + b] += hess[a, 3 + b]
            for a in range(6):
                node, at = (i, o + a) if a < 3 else (j, o + a - 3)
                # moving the centre is moving both nodes the other way
                hx, hy = -(hess[a, 0] + hess[a, 3]), -(hess[a, 1] + hess[a, 4])
                system.coupling[node, at, 0] += hx
                system.coupling[node, at, 1] += hy
                if arm >= 0:
                    system.coupling[node, at, 2 + arm] += hx * bx + hy * by
            sx -= f * (grad[0] + grad[3])
            sy -= f * (grad[1] + grad[4])
            hxx += hess[0, 0] + hess[0, 3] + hess[3, 0] + hess[3, 3]
            hxy += hess[0, 1] + hess[0, 4] + hess[3, 1] + hess[3, 4]
            hyy += hess[1, 1] + hess[1, 4] + hess[4, 1] + hess[4, 4]
    _add_body_terms(sx, sy, hxx, hxy, hyy, body, numbers, system)
    return total


@njit(cache=True, error_model="numpy")
def _round_force(q, extra, body, row, numbers):
    """Force (x, y) of a roller or disc on a row, its moment about the axis, and the deepest contact."""
    count = q.shape[0]
    points = numbers.body_points[body]
    k = 2.0 * math.pi / count * numbers.body_stiffness[body, row] / points
    cx, cy = body_centre(extra, body, numbers)
    near = np.empty(count, dtype=np.bool_)
    _near_body(q, row, cx, cy, numbers.body_radius[body], near)
    line = np.ascontiguousarray(q[:, 3 * row : 3 * row + 3])
    fx = fy = deep = 0.0
    for i in range(count):
        if near[i]:
            hang = line_ends(line, i)
            for p in range(points):
                x, y = line_place(hang, (p + 0.5) / points)
                gap, nx, ny, _ = circle_distance(cx, cy, numbers.body_radius[body], x, y)
                if gap < 0.0:
                    fx -= k * gap * nx
                    fy -= k * gap * ny
                    deep = max(deep, -gap)
    # the force of a round body passes through its centre
    return fx, fy, cx * fy - cy * fx, deep


@njit(cache=True, error_model="numpy")
def station_gap(q, i, row, sx, sy, near, numbers):
    """Gap of one node to a cam shifted by (sx, sy): (gap, normal x, normal y, second-derivative factor, nearest knot)."""
    arc = 2.0 * math.pi / q.shape[0]
    px, py = math.cos(i * arc) + q[i, 3 * row], math.sin(i * arc) + q[i, 3 * row + 1]
    d, nx, ny, factor, near = curve_distance(numbers.table, near, px - sx, py - sy)
    return d, nx, ny, factor, near


@njit(cache=True, error_model="numpy")
def add_stations(q, extra, near, held, foretold, body, row, numbers, system):
    """A cam that bears on the nodes as an elastic bed. A held contact bears by its foretold gap, and bends the tangent by
    the force of that gap; its force is that of the true gap, also where it pulls."""
    count = q.shape[0]
    arc = 2.0 * math.pi / count
    k = arc * numbers.body_stiffness[body, row]
    o = 3 * row
    cx, cy = body_centre(extra, body, numbers)
    sx, sy = cx - numbers.body_centre[body, 0], cy - numbers.body_centre[body, 1]
    arm = numbers.body_arm[body]
    total = gx = gy = hxx = hxy = hyy = 0.0
    for i in range(count):
        gap, nx, ny, factor, near[row, body, i] = station_gap(q, i, row, sx, sy, near[row, body, i], numbers)
        deep = gap
        if held.shape[2] > 0:
            if foretold:
                deep = held[row, body, i, 0]
            held[row, body, i, 1], held[row, body, i, 2], held[row, body, i, 3] = nx, ny, gap
        if deep >= 0.0:
            continue
        total += 0.5 * k * gap * gap
        fx, fy = k * gap * nx, k * gap * ny
        bend = deep * factor
        kxx = k * (nx * nx + bend * ny * ny)
        kyy = k * (ny * ny + bend * nx * nx)
        kxy = k * nx * ny * (1.0 - bend)
        system.residual[i, o] += fx
        system.residual[i, o + 1] += fy
        system.diagonal[i, o, o] += kxx
        system.diagonal[i, o, o + 1] += kxy
        system.diagonal[i, o + 1, o] += kxy
        system.diagonal[i, o + 1, o + 1] += kyy
        system.coupling[i, o, 0] -= kxx
        system.coupling[i, o, 1] -= kxy
        system.coupling[i, o + 1, 0] -= kxy
        system.coupling[i, o + 1, 1] -= kyy
        if arm >= 0:
            dx, dy = numbers.body_direction[body, 0], numbers.body_direction[body, 1]
            system.coupling[i, o, 2 + arm] -= kxx * dx + kxy * dy
            system.coupling[i, o + 1, 2 + arm] -= kxy * dx + kyy * dy
        gx -= fx
        gy -= fy
        hxx += kxx
        hxy += kxy
        hyy += kyy
    _add_body_terms(gx, gy, hxx, hxy, hyy, body, numbers, system)
    return total


@njit(cache=True, error_model="numpy")
def body_forces(q, extra, near, numbers):
    """Force (B, R, 2) of every body on every row, deepest contact (B, R), and moment (B, R) about the axis."""
    bodies, rows = numbers.body_kind.shape[0], numbers.share.shape[0]
    count = q.shape[0]
    arc = 2.0 * math.pi / count
    force = np.zeros((bodies, rows, 2))
    depth = np.zeros((bodies, rows))
    moment = np.zeros((bodies, rows))
    for body in range(bodies):
        cx, cy = body_centre(extra, body, numbers)
        for row in range(rows):
            k = numbers.body_stiffness[body, row]
            if numbers.body_kind[body] == ROUND:
                fx, fy, turn, deep = _round_force(q, extra, body, row, numbers)
                force[body, row, 0], force[body, row, 1] = fx, fy
                moment[body, row], depth[body, row] = turn, deep
                continue
            sx, sy = cx - numbers.body_centre[body, 0], cy - numbers.body_centre[body, 1]
            for i in range(count):
                gap, nx, ny, _, _ = station_gap(q, i, row, sx, sy, near[row, body, i], numbers)
                if gap < 0.0:
                    fx, fy = -k * arc * gap * nx, -k * arc * gap * ny
                    px, py = math.cos(i * arc) + q[i, 3 * row], math.sin(i * arc) + q[i, 3 * row + 1]
                    force[body, row, 0] += fx
                    force[body, row, 1] += fy
                    moment[body, row] += px * fy - py * fx
                    depth[body, row] = max(depth[body, row], -gap)
    return force, depth, moment
