"""Energy, forces and stiffness of the loaded ring. Dimensionless: length over R, force over EI/R² (EI of all rows).

Unknowns: nodes q (N, 3·rows): u, v, turn of each row; the lean of every tooth (condensed at its node); the extras e:
generator translation (2), arms (A), for a cup the turn of its boss, turns of the rigid rings (rows). Every contact has
the energy ½ k gap² where the gap is negative, so all forces follow from one energy that is once continuously
differentiable.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from lobewright.ring.beam_element import element_into
from lobewright.torque.field import field_full, field_value
from lobewright.torque.kernel_bodies import CURVE as CURVE
from lobewright.torque.kernel_bodies import ROUND as ROUND
from lobewright.torque.kernel_bodies import add_round, add_stations
from lobewright.torque.kernel_bodies import body_centre as body_centre
from lobewright.torque.kernel_bodies import body_forces as body_forces
from lobewright.torque.kernel_bodies import station_gap as station_gap
from lobewright.torque.ring_view import centre_of, offset_slopes, offsets, rim_place, rim_shapes, warp_of

Array = NDArray[np.float64]
Indices = NDArray[np.int64]


class Numbers(NamedTuple):
    """All constants of one drive, dimensionless; R rows of teeth, T teeth at most, F feelers, B bodies.

    axial (R,) EA·R²/EI of a row; share (R,) its part of EI; web (2,) tangential and radial stiffness between two rows per
    radian; body_*: kind, centre (B, 2), radius, direction (B, 2), number of its arm or −1, points of an
    element at which it bears, stiffness (B, R) of the bed
    per radian; arm_stiffness, arm_preload (A,); table: spline of a cam;
    carrier_stiffness; carrier_home (2,); teeth (R,); tooth_node (R, T); tooth_place (R, T, 3): offset and turn from node
    to tooth; feeler (R, F, 3): tangential place, height, share of the lean; feeler_stiffness (R, F); feeler_step (R, F):
    distance to the next; lean_stiffness (R,); field (R, rows, columns), field_grid (R, 3): first radius and the two steps.
    uneven (R, N): bending stiffness of each element over the row's mean.
    Of rigid rings with errors (see ring_view): ring_uneven (R,) whether there are any; ring_centre (R, 2), ring_wave
    (R, 5, 4), ring_spaces (R, 2): teeth (0: none) and half the flat part of a space over the pitch, ring_shift (R, S) turn of
    every space; rim_stiffness (R, 5), or (R, 0) where rims are stiff, rim_turn (R, 2).
    """

    axial: Array
    share: Array
    web: Array
    body_kind: Indices
    body_centre: Array
    body_radius: Array
    body_direction: Array
    body_arm: Indices
    body_points: Indices
    body_stiffness: Array
    arm_stiffness: Array
    arm_preload: Array
    table: Array
    carrier_stiffness: float
    carrier_home: Array
    teeth: Indices
    tooth_node: Indices
    tooth_place: Array
    feeler: Array
    feeler_stiffness: Array
    feeler_step: Array
    lean_stiffness: Array
    field: Array
    field_grid: Array
    uneven: Array
    ring_uneven: Indices
    ring_centre: Array
    ring_wave: Array
    ring_spaces: Array
    ring_shift: Array
    rim_stiffness: Array
    rim_turn: Array


class System(NamedTuple):
    """Gradient and tangent at one state: nodes (N, B), blocks (N, B, B), coupling (N, B, E) of nodes and extras, extras
    (E,), (E, E); of each tooth's lean its gradient, stiffness and coupling to (u, v, turn, ring's turn and, where it
    gives, its rim's amplitudes) (R, T, 4 or 9)."""

    residual: Array
    diagonal: Array
    upper: Array
    coupling: Array
    extra: Array
    extra_block: Array
    lean_residual: Array
    lean_stiffness: Array
    lean_coupling: Array


def empty_system(numbers: Numbers, nodes: int, extras: int) -> System:
    """Room for a system."""
    rows, teeth = numbers.tooth_node.shape
    size = 3 * rows
    return System(
        np.zeros((nodes, size)),
        np.zeros((nodes, size, size)),
        np.zeros((nodes, size, size)),
        np.zeros((nodes, size, extras)),
        np.zeros(extras),
        np.zeros((extras, extras)),
        np.zeros((rows, teeth)),
        np.ones((rows, teeth)),
        np.zeros((rows, teeth, 4 + numbers.rim_stiffness.shape[1])),
    )


@njit(cache=True, error_model="numpy")
def assemble(q, lean, extra, near, numbers, floor, system):
    """Fill the system at a state; returns the energy. near (R, B, N): knots from which cam distances are sought;
    floor: least stiffness of a lean, over its own, for which a tooth's tangent is taken as it is (−inf: always)."""
    return assemble_held(q, lean, extra, near, np.zeros((0, 0, 0, 4)), False, numbers, floor, system)


@njit(cache=True, error_model="numpy")
def assemble_held(q, lean, extra, near, held, foretold, numbers, floor, system):
    """As :func:`assemble`; of a cam's contacts held (R, B, N, 4) is given the normal (x, y) and the true gap, and where they
    are foretold its first number is the gap that decides whether a node bears."""
    system.residual[:] = 0.0
    system.diagonal[:] = 0.0
    system.upper[:] = 0.0
    system.coupling[:] = 0.0
    system.extra[:] = 0.0
    system.extra_block[:] = 0.0
    energy = _add_elastic(q, numbers, system)
    if numbers.share.shape[0] == 2:
        energy += _add_web(q, numbers, system)
    energy += _add_carrier(extra, numbers, system)
    for body in range(numbers.body_kind.shape[0]):
        for row in range(numbers.share.shape[0]):
            if numbers.body_kind[body] == ROUND:
                energy += add_round(q, extra, body, row, numbers, system)
            else:
                energy += add_stations(q, extra, near, held, foretold, body, row, numbers, system)
    return energy + _add_teeth(q, lean, extra, numbers, floor, system)


@njit(cache=True, error_model="numpy")
def _add_elastic(q, numbers, system):
    count = q.shape[0]
    arc = 2.0 * math.pi / count
    total = 0.0
    grad, tangent = np.empty(6), np.empty((6, 6))
    for row in range(numbers.share.shape[0]):
        o = 3 * row
        for i in range(count):
            s = numbers.share[row] * numbers.uneven[row, i]
            j = i + 1 if i + 1 < count else 0
            angle = (i + 0.5) * arc + 0.5 * math.pi
            axial = numbers.axial[row] / numbers.uneven[row, i]
            total += s * element_into(q[i, o : o + 3], q[j, o : o + 3], angle, arc, axial, grad, tangent)
            for a in range(3):
                system.residual[i, o + a] += s * grad[a]
                system.residual[j, o + a] += s * grad[3 + a]
                for b in range(3):
                    system.diagonal[i, o + a, o + b] += s * tangent[a, b]
                    system.diagonal[j, o + a, o + b] += s * tangent[3 + a, 3 + b]
                    system.upper[i, o + a, o + b] += s * tangent[a, 3 + b]
    return total


@njit(cache=True, error_model="numpy")
def _add_web(q, numbers, system):
    """Springs between the nodes of the two rows, along and across the mean section."""
    count = q.shape[0]
    arc = 2.0 * math.pi / count
    kt, kr = arc * numbers.web[0], arc * numbers.web[1]
    total = 0.0
    grad = np.empty(3)
    hess = np.empty((3, 3))
    for i in range(count):
        turn = i * arc + 0.5 * (q[i, 2] + q[i, 5])
        c, s = math.cos(turn), math.sin(turn)
        dx, dy = q[i, 3] - q[i, 0], q[i, 4] - q[i, 1]
        dn, dt = dx * c + dy * s, -dx * s + dy * c
        total += 0.5 * (kr * dn * dn + kt * dt * dt)
        grad[0], grad[1] = kr * dn * c - kt * dt * s, kr * dn * s + kt * dt * c
        grad[2] = (kr - kt) * dn * dt
        hess[0, 0], hess[1, 1] = kr * c * c + kt * s * s, kr * s * s + kt * c * c
        hess[0, 1] = hess[1, 0] = (kr - kt) * c * s
        hess[0, 2] = hess[2, 0] = (kr - kt) * (-dn * s + dt * c)
        hess[1, 2] = hess[2, 1] = (kr - kt) * (dn * c + dt * s)
        hess[2, 2] = (kr - kt) * (dt * dt - dn * dn)
        for p in range(2):
            sp = 1.0 if p else -1.0
            for a in range(3):
                fa = sp if a < 2 else 0.5
                system.residual[i, 3 * p + a] += fa * grad[a]
                for r in range(2):
                    sr = 1.0 if r else -1.0
                    for b in range(3):
                        fb = sr if b < 2 else 0.5
                        system.diagonal[i, 3 * p + a, 3 * r + b] += fa * fb * hess[a, b]
    return total


@njit(cache=True, error_model="numpy")
def _add_carrier(extra, numbers, system):
    """The generator's carrier on its bearing, and the arms with their preload."""
    total = 0.0
    k = numbers.carrier_stiffness
    for a in range(2):
        off = extra[a] - numbers.carrier_home[a]
        total += 0.5 * k * off * off
        system.extra[a] += k * off
        system.extra_block[a, a] += k
    for a in range(numbers.arm_stiffness.shape[0]):
        k, out = numbers.arm_stiffness[a], extra[2 + a]
        total += 0.5 * k * out * out - numbers.arm_preload[a] * out
        system.extra[2 + a] += k * out - numbers.arm_preload[a]
        system.extra_block[2 + a, 2 + a] += k
    return total


@njit(cache=True, error_model="numpy", inline="always")
def tooth_frame(q, row, tooth, numbers):
    """Node, foot of a tooth (x, y) on the neutral line and its outward direction (cos, sin)."""
    count = q.shape[0]
    node = numbers.tooth_node[row, tooth]
    o = 3 * row
    label = node * 2.0 * math.pi / count
    turn = label + q[node, o + 2]
    c, s = math.cos(turn), math.sin(turn)
    px, py = math.cos(label) + q[node, o], math.sin(label) + q[node, o + 1]
    along, out = numbers.tooth_place[row, tooth, 0], numbers.tooth_place[row, tooth, 1]
    fx, fy = px + out * c - along * s, py + out * s + along * c
    turn += numbers.tooth_place[row, tooth, 2]
    return node, px, py, fx, fy, math.cos(turn), math.sin(turn)


@njit(cache=True, error_model="numpy")
def _add_teeth(q, lean, extra, numbers, floor, system):
    """Teeth of all rows against their rigid rings; the lean of each tooth is condensed."""
    rows = numbers.share.shape[0]
    extras = extra.shape[0]
    rims = numbers.rim_stiffness.shape[1]
    size = 5 + rims
    total = 0.0
    grad = np.empty(size)
    block = np.empty((size, size))
    bent = np.empty((size, size))
    room = np.empty(size), np.empty((size, size)), np.empty((rims, 4))
    # where a tooth's ring turn and rim amplitudes stand among the extras
    place = np.empty(1 + rims, dtype=np.int64)
    for row in range(rows):
        o = 3 * row
        place[0] = extras - rows + row
        warp = warp_of(row, extra, numbers)
        for a in range(rims):
            place[1 + a] = rim_place(row, extras, numbers) + a
            k, out = numbers.rim_stiffness[row, a], extra[place[1 + a]]
            total += 0.5 * k * out * out
            system.extra[place[1 + a]] += k * out
            system.extra_block[place[1 + a], place[1 + a]] += k
        k_lean = numbers.lean_stiffness[row]
        for tooth in range(numbers.teeth[row]):
            energy, touching = _tooth_terms(
                q, lean[row, tooth], extra[place[0]], warp, row, tooth, numbers, grad, block, bent, room
            )
            own = 0.5 * k_lean * lean[row, tooth] ** 2
            total += energy + own
            system.lean_residual[row, tooth] = k_lean * lean[row, tooth]
            system.lean_stiffness[row, tooth] = k_lean
            for a in range(4 + rims):
                system.lean_coupling[row, tooth, a] = 0.0
            if not touching:
                continue
            system.lean_residual[row, tooth] += grad[3]
            stiff = k_lean + block[3, 3] + bent[3, 3]
            if stiff >= floor * k_lean:
                block += bent
            else:
                # a snapping tooth: without the bend of the contact its stiffness is positive and the step finite
                stiff = k_lean + block[3, 3]
            system.lean_stiffness[row, tooth] = stiff
            for a in range(3):
                system.lean_coupling[row, tooth, a] = block[a, 3]
            for a in range(1 + rims):
                system.lean_coupling[row, tooth, 3 + a] = block[4 + a, 3]
            node = numbers.tooth_node[row, tooth]
            side = block[:, 3].copy()
            for a in range(3):
                system.residual[node, o + a] += grad[a]
                for b in range(1 + rims):
                    system.coupling[node, o + a, place[b]] += block[a, 4 + b] - side[a] * side[4 + b] / stiff
                for b in range(3):
                    system.diagonal[node, o + a, o + b] += block[a, b] - side[a] * side[b] / stiff
            for a in range(1 + rims):
                system.extra[place[a]] += grad[4 + a]
                for b in range(1 + rims):
                    system.extra_block[place[a], place[b]] += block[4 + a, 4 + b] - side[4 + a] * side[4 + b] / stiff
    return total


@njit(cache=True, error_model="numpy", inline="always")
def _tooth_terms(q, lean, turn, warp, row, tooth, numbers, grad, block, bent, room):
    """Contact energy of one tooth, its gradient and second derivatives in (u, v, turn, lean, ring's turn, rim's five
    amplitudes): the contact's stiffness in block, what the bend of distance and motion adds in bent."""
    _, px, py, fx, fy, c, s = tooth_frame(q, row, tooth, numbers)
    first, step_r, step_a = numbers.field_grid[row, 0], numbers.field_grid[row, 1], numbers.field_grid[row, 2]
    samples = numbers.field[row]
    feelers = numbers.feeler.shape[1]
    rims = numbers.rim_stiffness.shape[1]
    uneven = numbers.ring_uneven[row] != 0 or rims > 0
    mx, my = centre_of(row, turn, numbers)
    touching = False
    energy = rho = tau = r1 = r2 = t1 = t2 = 0.0
    g, h, shapes = room
    n = 0
    while n < feelers:
        x = numbers.feeler[row, n, 0] + numbers.feeler[row, n, 2] * lean
        y = numbers.feeler[row, n, 1]
        eta = numbers.feeler[row, n, 2]
        wx, wy = fx + y * c - x * s, fy + y * s + x * c
        vx, vy = wx - mx, wy - my
        rad = math.hypot(vx, vy)
        angle = math.atan2(vy, vx) - turn
        if uneven:
            rho, tau = offsets(row, angle, warp, numbers)
        column = (angle - tau) / step_a
        level = (rad - rho - first) / step_r
        d = field_value(samples, first + step_r - rad + rho + step_r, level, column)
        if d >= 0.0:
            # no point nearer along the outline than the distance itself can touch
            far = numbers.feeler_step[row, n]
            n += 1
            while n < feelers and far < d:
                far += numbers.feeler_step[row, n]
                n += 1
            continue
        if not touching:
            touching = True
            grad[:] = 0.0
            block[:] = 0.0
            bent[:] = 0.0
        d, f_r, f_a, f_rr, f_ra, f_aa = field_full(samples, level, column)
        f_r, f_a = f_r / step_r, f_a / step_a
        f_rr, f_ra, f_aa = f_rr / step_r**2, f_ra / (step_r * step_a), f_aa / step_a**2
        if uneven:
            r1, r2, t1, t2 = offset_slopes(row, angle, warp, numbers)
        # derivatives in radius and angle about the ring's centre, through the warp
        run = 1.0 - t1
        d_r, d_a, d_rr = f_r, f_a * run - f_r * r1, f_rr
        d_ra = f_ra * run - f_rr * r1
        d_aa = f_aa * run * run - 2.0 * f_ra * run * r1 + f_rr * r1 * r1 - f_a * t2 - f_r * r2
        ux, uy = vx / rad, vy / rad
        side = d_a / rad
        gx, gy = d_r * ux - side * uy, d_r * uy + side * ux
        a_tt = d_aa / rad**2 + d_r / rad
        a_rt = d_ra / rad - d_a / rad**2
        hxx = d_rr * ux * ux + a_tt * uy * uy - 2.0 * a_rt * ux * uy
        hyy = d_rr * uy * uy + a_tt * ux * ux + 2.0 * a_rt * ux * uy
        hxy = (d_rr - a_tt) * ux * uy + a_rt * (ux * ux - uy * uy)
        lx, ly = wx - px, wy - py
        # directions of the point's motion: turn (−ly, lx), lean η (−s, c)
        tx, ty, bx, by = -ly, lx, -eta * s, eta * c
        # turning the ring on is turning the point back about the axis
        g[0], g[1], g[2], g[3], g[4] = gx, gy, gx * tx + gy * ty, gx * bx + gy * by, gx * wy - gy * wx
        h[0, 0], h[1, 1], h[0, 1] = hxx, hyy, hxy
        h[0, 2], h[1, 2] = hxx * tx + hxy * ty, hxy * tx + hyy * ty
        h[0, 3], h[1, 3] = hxx * bx + hxy * by, hxy * bx + hyy * by
        h[2, 2] = tx * h[0, 2] + ty * h[1, 2] - (gx * lx + gy * ly)
        h[2, 3] = tx * h[0, 3] + ty * h[1, 3] - eta * (gx * c + gy * s)
        h[3, 3] = bx * h[0, 3] + by * h[1, 3]
        bax, bay = hxx * wy - hxy * wx, hxy * wy - hyy * wx
        ax, ay = bax - gy, bay + gx
        h[0, 4], h[1, 4] = ax, ay
        h[2, 4], h[3, 4] = ax * tx + ay * ty, ax * bx + ay * by
        h[4, 4] = wy * bax - wx * bay - (gx * wx + gy * wy)
        if rims > 0:
            rim_shapes(row, angle, numbers, shapes)
        for j in range(rims):
            w, v, w1, v1 = shapes[j, 0], shapes[j, 1], shapes[j, 2], shapes[j, 3]
            g[5 + j] = -f_r * w - f_a * v
            a_r = -f_rr * w - f_ra * v
            a_a = -(f_ra * run - f_rr * r1) * w - f_r * w1 - (f_aa * run - f_ra * r1) * v - f_a * v1
            ax, ay = a_r * ux - a_a / rad * uy, a_r * uy + a_a / rad * ux
            h[0, 5 + j], h[1, 5 + j] = ax, ay
            h[2, 5 + j], h[3, 5 + j] = ax * tx + ay * ty, ax * bx + ay * by
            h[4, 5 + j] = ax * wy - ay * wx
            for i in range(j + 1):
                p, z = shapes[i, 0], shapes[i, 1]
                h[5 + i, 5 + j] = f_rr * p * w + f_ra * (p * v + z * w) + f_aa * z * v
        k = numbers.feeler_stiffness[row, n]
        energy += 0.5 * k * d * d
        for a in range(5 + rims):
            grad[a] += k * d * g[a]
            for b in range(a, 5 + rims):
                block[a, b] += k * g[a] * g[b]
                bent[a, b] += k * d * h[a, b]
                if a != b:
                    block[b, a] = block[a, b]
                    bent[b, a] = bent[a, b]
        n += 1
    return energy, touching


@njit(cache=True, error_model="numpy")
def condensed(system, numbers, right, extra):
    """Take the leans out of the right-hand sides: right (N, B) ← minus the gradient of the nodes, extra (E,) in place."""
    for i in range(right.shape[0]):
        for a in range(right.shape[1]):
            right[i, a] = -system.residual[i, a]
    rims = numbers.rim_stiffness.shape[1]
    for row in range(numbers.share.shape[0]):
        for tooth in range(numbers.teeth[row]):
            push = system.lean_residual[row, tooth] / system.lean_stiffness[row, tooth]
            node = numbers.tooth_node[row, tooth]
            for a in range(3):
                right[node, 3 * row + a] += system.lean_coupling[row, tooth, a] * push
            extra[extra.shape[0] - numbers.share.shape[0] + row] -= system.lean_coupling[row, tooth, 3] * push
            for a in range(rims):
                extra[rim_place(row, extra.shape[0], numbers) + a] -= system.lean_coupling[row, tooth, 4 + a] * push


@njit(cache=True, error_model="numpy")
def lean_change(system, numbers, dq, de, unmet):
    """Change of the leans (R, T) that goes with a change of nodes and extras and meets a share of their own residual."""
    out = np.zeros_like(system.lean_residual)
    rims = numbers.rim_stiffness.shape[1]
    for row in range(numbers.share.shape[0]):
        for tooth in range(numbers.teeth[row]):
            node = numbers.tooth_node[row, tooth]
            moved = unmet * system.lean_residual[row, tooth]
            for a in range(3):
                moved += system.lean_coupling[row, tooth, a] * dq[node, 3 * row + a]
            moved += system.lean_coupling[row, tooth, 3] * de[de.shape[0] - numbers.share.shape[0] + row]
            for a in range(rims):
                moved += system.lean_coupling[row, tooth, 4 + a] * de[rim_place(row, de.shape[0], numbers) + a]
            out[row, tooth] = -moved / system.lean_stiffness[row, tooth]
    return out


@njit(cache=True, error_model="numpy")
def tooth_forces(q, lean, extra, numbers):
    """Of every tooth (R, T, 8): force of the ring on it (x, y), moment about the axis, force and moment arm: normal sum,
    deepest contact, feeler there, force along and across the tooth (outward, tangential)."""
    rows, teeth = numbers.tooth_node.shape
    extras = extra.shape[0]
    out = np.zeros((rows, teeth, 8))
    for row in range(rows):
        turn = extra[extras - rows + row]
        warp = warp_of(row, extra, numbers)
        uneven = numbers.ring_uneven[row] != 0 or numbers.rim_stiffness.shape[1] > 0
        mx, my = centre_of(row, turn, numbers)
        rho = tau = r1 = t1 = 0.0
        first, step_r, step_a = numbers.field_grid[row, 0], numbers.field_grid[row, 1], numbers.field_grid[row, 2]
        for tooth in range(numbers.teeth[row]):
            _, _, _, fx, fy, c, s = tooth_frame(q, row, tooth, numbers)
            out[row, tooth, 5] = -1.0
            for n in range(numbers.feeler.shape[1]):
                x = numbers.feeler[row, n, 0] + numbers.feeler[row, n, 2] * lean[row, tooth]
                y = numbers.feeler[row, n, 1]
                wx, wy = fx + y * c - x * s, fy + y * s + x * c
                vx, vy = wx - mx, wy - my
                rad = math.hypot(vx, vy)
                angle = math.atan2(vy, vx) - turn
                if uneven:
                    rho, tau = offsets(row, angle, warp, numbers)
                level = (rad - rho - first) / step_r
                column = (angle - tau) / step_a
                if field_value(numbers.field[row], 1.0, level, column) >= 0.0:
                    continue
                d, d_r, d_c, _, _, _ = field_full(numbers.field[row], level, column)
                if uneven:
                    r1, _, t1, _ = offset_slopes(row, angle, warp, numbers)
                d_r /= step_r
                side = (d_c / step_a * (1.0 - t1) - d_r * r1) / rad
                ux, uy = vx / rad, vy / rad
                k = numbers.feeler_stiffness[row, n]
                px, py = -k * d * (d_r * ux - side * uy), -k * d * (d_r * uy + side * ux)
                out[row, tooth, 0] += px
                out[row, tooth, 1] += py
                out[row, tooth, 2] += wx * py - wy * px
                out[row, tooth, 3] += -k * d
                out[row, tooth, 6] += px * c + py * s
                out[row, tooth, 7] += py * c - px * s
                if -d > out[row, tooth, 4]:
                    out[row, tooth, 4] = -d
                    out[row, tooth, 5] = n
    return out
