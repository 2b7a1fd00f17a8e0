"""Contacts that rub: where they stand, how hard they press, and what their shear adds to the system.

A rubbing contact has the shear x = τ·w − base along a frozen direction τ of the body it rubs on, and the energy of a
spring that yields at the force μN: ½ k x² up to there, μN|x| − (μN)²/2k beyond. Normal forces and directions are frozen
while the equations are solved, so that this is an energy like all others. Dimensionless as in
:mod:`lobewright.torque.kernel`.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from lobewright.torque.field import field_full, field_value
from lobewright.torque.kernel import body_centre, station_gap, tooth_frame
from lobewright.torque.ring_view import offset_slopes, rim_place, seen_by_ring, warp_of

ROOM = 256
"""Contacts that room is made for at first: memory for all that might touch costs more than finding those that do."""


@njit(cache=True, error_model="numpy")
def _more_room(index, value):
    """The arrays twice as long."""
    count = index.shape[0]
    longer, wider = np.empty((2 * count, 3), dtype=np.int64), np.empty((2 * count, 6))
    longer[:count], wider[:count] = index, value
    return longer, wider


@njit(cache=True, error_model="numpy")
def flank_contacts(q, lean, extra, numbers):
    """Feelers that touch: row, tooth, feeler (C, 3); normal force, direction along the flank (x, y) and place (x, y) as the
    rigid ring sees them, and penetration (C, 6)."""
    rows = numbers.share.shape[0]
    extras = extra.shape[0]
    feelers = numbers.feeler.shape[1]
    index, value = np.empty((ROOM, 3), dtype=np.int64), np.empty((ROOM, 6))
    found = 0
    for row in range(rows):
        turn = extra[extras - rows + row]
        first, step_r, step_a = numbers.field_grid[row, 0], numbers.field_grid[row, 1], numbers.field_grid[row, 2]
        warp = warp_of(row, extra, numbers)
        off_axis = numbers.ring_centre[row, 0] != 0.0 or numbers.ring_centre[row, 1] != 0.0
        uneven = numbers.ring_uneven[row] != 0 or numbers.rim_stiffness.shape[1] > 0 or off_axis
        samples, feeler, feeler_step = numbers.field[row], numbers.feeler[row], numbers.feeler_step[row]
        for tooth in range(numbers.teeth[row]):
            _, _, _, fx, fy, c, s = tooth_frame(q, row, tooth, numbers)
            n = 0
            while n < feelers:
                x = feeler[n, 0] + feeler[n, 2] * lean[row, tooth]
                y = feeler[n, 1]
                wx, wy = fx + y * c - x * s, fy + y * s + x * c
                rad = math.hypot(wx, wy)
                angle = math.atan2(wy, wx) - turn
                radius, about, rho, tau = rad, angle, 0.0, 0.0
                if uneven:
                    radius, about, rho, tau = seen_by_ring(rad, angle, row, warp, numbers)
                level, column = (radius - rho - first) / step_r, (about - tau) / step_a
                d = field_value(samples, first + 2.0 * step_r - radius + rho, level, column)
                if d >= 0.0:
                    # no point nearer along the outline than the distance itself can touch
                    far = feeler_step[n]
                    n += 1
                    while n < feelers and far < d:
                        far += feeler_step[n]
                        n += 1
                    continue
                d, d_r, d_c, _, _, _ = field_full(samples, level, column)
                r1, _, t1, _ = offset_slopes(row, about, warp, numbers)
                d_r /= step_r
                side = (d_c / step_a * (1.0 - t1) - d_r * r1) / radius
                size = math.hypot(d_r, side)
                ux, uy = math.cos(about), math.sin(about)
                gx, gy = (d_r * ux - side * uy) / size, (d_r * uy + side * ux) / size
                if found == index.shape[0]:
                    index, value = _more_room(index, value)
                index[found, 0], index[found, 1], index[found, 2] = row, tooth, n
                # the bed's force is k d times the slope of the distance, which corners make less than one
                value[found, 0] = -numbers.feeler_stiffness[row, n] * d * size
                value[found, 1], value[found, 2] = -gy, gx
                value[found, 3], value[found, 4] = rad * math.cos(angle), rad * math.sin(angle)
                value[found, 5] = -d
                found += 1
                n += 1
    return index[:found], value[:found]


@njit(cache=True, error_model="numpy")
def flank_places(q, lean, extra, numbers, index):
    """Place (x, y) of given feelers as their rigid ring sees them, and their gap (C, 3)."""
    rows = numbers.share.shape[0]
    extras = extra.shape[0]
    out = np.empty((index.shape[0], 3))
    for i in range(index.shape[0]):
        row, tooth, n = index[i, 0], index[i, 1], index[i, 2]
        first, step_r, step_a = numbers.field_grid[row, 0], numbers.field_grid[row, 1], numbers.field_grid[row, 2]
        _, _, _, fx, fy, c, s = tooth_frame(q, row, tooth, numbers)
        x = numbers.feeler[row, n, 0] + numbers.feeler[row, n, 2] * lean[row, tooth]
        y = numbers.feeler[row, n, 1]
        wx, wy = fx + y * c - x * s, fy + y * s + x * c
        rad = math.hypot(wx, wy)
        angle = math.atan2(wy, wx) - extra[extras - rows + row]
        warp = warp_of(row, extra, numbers)
        radius, about, rho, tau = seen_by_ring(rad, angle, row, warp, numbers)
        level, column = (radius - rho - first) / step_r, (about - tau) / step_a
        out[i, 0], out[i, 1] = rad * math.cos(angle), rad * math.sin(angle)
        out[i, 2] = field_value(numbers.field[row], first + 2.0 * step_r - radius + rho, level, column)
    return out


@njit(cache=True, error_model="numpy")
def cam_contacts(q, extra, near, numbers):
    """Nodes that bear on a plain cam: body, row, node (C, 3); normal force, direction along the cam (x, y) and place (x, y)
    as the carrier sees them, and penetration (C, 6)."""
    bodies, rows, count = numbers.body_kind.shape[0], numbers.share.shape[0], q.shape[0]
    arc = 2.0 * math.pi / count
    index, value = np.empty((ROOM, 3), dtype=np.int64), np.empty((ROOM, 6))
    found = 0
    for body in range(bodies):
        cx, cy = body_centre(extra, body, numbers)
        sx, sy = cx - numbers.body_centre[body, 0], cy - numbers.body_centre[body, 1]
        for row in range(rows):
            k = arc * numbers.body_stiffness[body, row]
            for i in range(count):
                gap, nx, ny, _, _ = station_gap(q, i, row, sx, sy, near[row, body, i], numbers)
                if gap >= 0.0:
                    continue
                if found == index.shape[0]:
                    index, value = _more_room(index, value)
                index[found, 0], index[found, 1], index[found, 2] = body, row, i
                value[found, 0] = -k * gap
                value[found, 1], value[found, 2] = -ny, nx
                value[found, 3] = math.cos(i * arc) + q[i, 3 * row] - sx
                value[found, 4] = math.sin(i * arc) + q[i, 3 * row + 1] - sy
                value[found, 5] = -gap
                found += 1
    return index[:found], value[:found]


@njit(cache=True, error_model="numpy")
def cam_places(q, extra, near, numbers, index):
    """Place (x, y) of given nodes as the carrier sees them, and their gap to the cam (C, 3)."""
    arc = 2.0 * math.pi / q.shape[0]
    out = np.empty((index.shape[0], 3))
    for j in range(index.shape[0]):
        body, row, i = index[j, 0], index[j, 1], index[j, 2]
        cx, cy = body_centre(extra, body, numbers)
        sx, sy = cx - numbers.body_centre[body, 0], cy - numbers.body_centre[body, 1]
        out[j, 0] = math.cos(i * arc) + q[i, 3 * row] - sx
        out[j, 1] = math.sin(i * arc) + q[i, 3 * row + 1] - sy
        out[j, 2], _, _, _, _ = station_gap(q, i, row, sx, sy, near[row, body, i], numbers)
    return out


@njit(cache=True, error_model="numpy", inline="always")
def _yield(x, stiff, limit):
    """Energy, force and stiffness of a spring that yields at a force."""
    if abs(stiff * x) <= limit:
        return 0.5 * stiff * x * x, stiff * x, stiff
    return limit * abs(x) - 0.5 * limit * limit / stiff, math.copysign(limit, x), 0.0


@njit(cache=True, error_model="numpy")
def add_flanks(q, lean, extra, numbers, index, frozen, system):
    """Add the shear of frozen flank contacts, sorted by tooth, to an assembled system; returns their energy.

    frozen (C, 5): stiffness, limit, direction (x, y), base. The leans are condensed already: they are taken out again with
    the shear's share.
    """
    rows, extras = numbers.share.shape[0], extra.shape[0]
    total = 0.0
    grad = np.zeros(5)
    block = np.zeros((5, 5))
    g = np.empty(5)
    h = np.zeros((5, 5))
    count = index.shape[0]
    for i in range(count):
        row, tooth, n = index[i, 0], index[i, 1], index[i, 2]
        turn = extra[extras - rows + row]
        _, px, py, fx, fy, c, s = tooth_frame(q, row, tooth, numbers)
        eta = numbers.feeler[row, n, 2]
        x = numbers.feeler[row, n, 0] + eta * lean[row, tooth]
        y = numbers.feeler[row, n, 1]
        wx, wy = fx + y * c - x * s, fy + y * s + x * c
        ct, st = math.cos(turn), math.sin(turn)
        tx, ty = ct * frozen[i, 2] - st * frozen[i, 3], st * frozen[i, 2] + ct * frozen[i, 3]
        lx, ly = wx - px, wy - py
        energy, force, stiff = _yield(tx * wx + ty * wy - frozen[i, 4], frozen[i, 0], frozen[i, 1])
        total += energy
        g[0], g[1], g[2], g[3] = tx, ty, ty * lx - tx * ly, eta * (ty * c - tx * s)
        g[4] = tx * wy - ty * wx
        # second derivatives of the shear in (u, v, turn, lean, ring's turn)
        h[2, 2] = -(tx * lx + ty * ly)
        h[2, 3] = h[3, 2] = -eta * (tx * c + ty * s)
        h[0, 4] = h[4, 0] = -ty
        h[1, 4] = h[4, 1] = tx
        h[2, 4] = h[4, 2] = tx * lx + ty * ly
        h[3, 4] = h[4, 3] = eta * (ty * s + tx * c)
        h[4, 4] = -(tx * wx + ty * wy)
        for a in range(5):
            grad[a] += force * g[a]
            for b in range(5):
                block[a, b] += stiff * g[a] * g[b] + force * h[a, b]
        if i + 1 == count or index[i + 1, 1] != tooth or index[i + 1, 0] != row:
            _add_tooth(row, tooth, extras - rows + row, numbers, grad, block, system)
            grad[:] = 0.0
            block[:] = 0.0
    return total


@njit(cache=True, error_model="numpy")
def _add_tooth(row, tooth, at, numbers, grad, block, system):
    """Add gradient and tangent of a tooth in (u, v, turn, lean, ring's turn) with its lean condensed anew."""
    o, node = 3 * row, numbers.tooth_node[row, tooth]
    before, old = system.lean_stiffness[row, tooth], system.lean_coupling[row, tooth].copy()
    stiff = before + block[3, 3]
    side = old.copy()
    for a in range(3):
        side[a] += block[a, 3]
    side[3] += block[4, 3]
    system.lean_residual[row, tooth] += grad[3]
    system.lean_stiffness[row, tooth] = stiff
    system.lean_coupling[row, tooth] = side
    for a in range(3):
        system.residual[node, o + a] += grad[a]
        system.coupling[node, o + a, at] += block[a, 4]
        for b in range(3):
            system.diagonal[node, o + a, o + b] += block[a, b] + old[a] * old[b] / before - side[a] * side[b] / stiff
    system.extra[at] += grad[4]
    system.extra_block[at, at] += block[4, 4]
    # the ring's turn, and the amplitudes of its rim where that gives
    for a in range(3, old.shape[0]):
        end = at if a == 3 else rim_place(row, system.extra.shape[0], numbers) + a - 4
        for b in range(3):
            system.coupling[node, o + b, end] += old[b] * old[a] / before - side[b] * side[a] / stiff
        for b in range(3, old.shape[0]):
            other = at if b == 3 else rim_place(row, system.extra.shape[0], numbers) + b - 4
            system.extra_block[end, other] += old[a] * old[b] / before - side[a] * side[b] / stiff


@njit(cache=True, error_model="numpy")
def add_cam(q, extra, numbers, index, frozen, system):
    """Add the shear of frozen contacts on a plain cam to an assembled system; returns their energy."""
    arc = 2.0 * math.pi / q.shape[0]
    total = 0.0
    for j in range(index.shape[0]):
        body, row, i = index[j, 0], index[j, 1], index[j, 2]
        cx, cy = body_centre(extra, body, numbers)
        x = math.cos(i * arc) + q[i, 3 * row] - (cx - numbers.body_centre[body, 0])
        y = math.sin(i * arc) + q[i, 3 * row + 1] - (cy - numbers.body_centre[body, 1])
        tx, ty = frozen[j, 2], frozen[j, 3]
        energy, force, stiff = _yield(tx * x + ty * y - frozen[j, 4], frozen[j, 0], frozen[j, 1])
        total += energy
        o = 3 * row
        t = (tx, ty)
        # a cam stands on the carrier, whose two translations are the first extras
        for a in range(2):
            system.residual[i, o + a] += force * t[a]
            system.extra[a] -= force * t[a]
            for b in range(2):
                k = stiff * t[a] * t[b]
                system.diagonal[i, o + a, o + b] += k
                system.coupling[i, o + a, b] -= k
                system.extra_block[a, b] += k
    return total
