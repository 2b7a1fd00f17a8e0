"""Exact closed shape of the unstretched neutral line on a wave generator.

All curves are solved in units of R_n with total length 2π, on one half lobe (from a major to the next minor axis), and
laid out round the whole ring by symmetry. Two families:

* **Cam contact** (ring tight on the cam): the neutral line *is* the cam's parallel curve, an ellipse or the polar
  cosine curve r = A + B·cos nθ, with exactly the ring's length.
* **Free elastica** between contacts (rollers, paired rollers, discs, a loose cam). A ring that is circular when
  free, inextensible, planar, without shear, obeys with arc length s, tangent angle θ and curvature κ

      κ' = f_x sin θ − f_y cos θ,   θ' = κ,   (x, y)' = (cos θ, sin θ)

  where f is the section force over EI, constant in each free span. At a minor axis the shear is zero, so f lies along
  the tangent there. A frictionless contact turns f by a normal jump and leaves κ continuous. On an extended contact
  (disc, cam) the ring has the generator's curvature and leaves it with continuous κ at an unknown place.

Assumptions: plane, slender, frictionless, elastic, length kept; weight ignored. Validity: the teeth's stiffening and
the stretch under hoop tension are left out (below 0.1 % of the length for the rings here). Sources: Euler's elastica
with initial curvature, derived; first-order limits are checked against handbook ring formulas in the evidence.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numba import njit

from lobewright.errors import ConvergenceFault, DesignFault, Fault

Array = np.ndarray
PLACES = 24
"""Places along a half lobe at which the end of contact is looked for before it is solved."""
STEPS = 128
"""Samples on one half lobe; the shape is laid out with 2·STEPS·lobes points."""


@dataclass(frozen=True)
class RingShape:
    """Neutral line in the generator frame (x along a major axis), uniformly sampled in material arc length.

    Arrays of shape (N,), read-only: ``arc_mm`` from 0 at a major axis, anticlockwise, of the unstretched ring;
    ``x_mm``, ``y_mm``; ``normal_rad`` the angle of the outward normal (continuous); ``curvature_1_per_mm``.

    ``contact_rad`` is the material label φ, counted from the lobe, of the contact: where the roller touches (0 for one
    roller a lobe), or where the ring leaves a disc or cam (π/lobes when it never does). ``lifts_off`` is False only for
    a cam whose curve the whole ring follows. ``force_factor`` is the contact force of one roller in EI/R² (0 for
    extended contact, whose pressure is distributed), ``tension_factor`` the section's tension at the minor axis in EI/R²
    (for a tight cam: the least hoop tension that keeps it in touch all round). ``stretch`` is the hoop strain of a ring
    tighter than its cam. ``closure_mm`` and ``residual`` tell how well length and boundary conditions are met.
    """

    radius_mm: float
    lobes: int
    arc_mm: Array
    x_mm: Array
    y_mm: Array
    normal_rad: Array
    curvature_1_per_mm: Array
    contact_rad: float
    lifts_off: bool
    force_factor: float
    tension_factor: float
    stretch: float
    closure_mm: float
    residual: float
    iterations: int

    @property
    def points_per_half_lobe(self) -> int:
        return len(self.arc_mm) // (2 * self.lobes)

    @property
    def deflection_mm(self) -> float:
        """Outward displacement of the neutral line at the major axis."""
        return float(self.x_mm[0]) - self.radius_mm

    @property
    def minor_deflection_mm(self) -> float:
        """Outward displacement (negative) at the minor axis."""
        at = self.points_per_half_lobe
        return float(math.hypot(self.x_mm[at], self.y_mm[at])) - self.radius_mm


@njit(cache=True)
def _advance(state: Array, fx: float, fy: float, length: float, steps: int) -> None:
    """Carry x, y, θ, κ along ``length`` of a free span, in place, with classical fourth-order steps."""
    if steps == 0:
        return
    h = length / steps
    for _ in range(steps):
        t, k = state[2], state[3]
        s1, c1 = math.sin(t), math.cos(t)
        k1 = fx * s1 - fy * c1
        t2 = t + 0.5 * h * k
        s2, c2 = math.sin(t2), math.cos(t2)
        kb = k + 0.5 * h * k1
        k2 = fx * s2 - fy * c2
        t3 = t + 0.5 * h * kb
        s3, c3 = math.sin(t3), math.cos(t3)
        kc = k + 0.5 * h * k2
        k3 = fx * s3 - fy * c3
        t4 = t + h * kc
        s4, c4 = math.sin(t4), math.cos(t4)
        kd = k + h * k3
        k4 = fx * s4 - fy * c4
        state[0] += h / 6.0 * (c1 + 2.0 * c2 + 2.0 * c3 + c4)
        state[1] += h / 6.0 * (s1 + 2.0 * s2 + 2.0 * s3 + s4)
        state[2] += h / 6.0 * (k + 2.0 * kb + 2.0 * kc + kd)
        state[3] += h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)


@njit(cache=True)
def _cam_radius(kind: int, a: float, b: float, lobes: int, u: float) -> tuple[float, float, float]:
    """Polar radius of the cam's neutral curve and its first two derivatives; kind 0 ellipse, 1 cosine, 2 circle."""
    if kind == 0:
        c, s = math.cos(u), math.sin(u)
        q = (c / a) ** 2 + (s / b) ** 2
        dq = 2.0 * c * s * (1.0 / b**2 - 1.0 / a**2)
        ddq = 2.0 * math.cos(2.0 * u) * (1.0 / b**2 - 1.0 / a**2)
        r = q**-0.5
        return r, -0.5 * q**-1.5 * dq, 0.75 * q**-2.5 * dq * dq - 0.5 * q**-1.5 * ddq
    if kind == 1:
        return (
            a + b * math.cos(lobes * u),
            -b * lobes * math.sin(lobes * u),
            -b * lobes * lobes * math.cos(lobes * u),
        )
    # Circle of radius b whose centre lies at distance a on the axis: used for discs and wide rollers.
    c, s = math.cos(u), math.sin(u)
    root = math.sqrt(b * b - (a * s) ** 2)
    r = a * c + root
    dr = -a * s - a * a * s * c / root
    ddr = -a * c - a * a * (c * c - s * s) / root - (a * a * s * c) ** 2 / root**3
    return r, dr, ddr


@njit(cache=True)
def _cam_point(kind: int, a: float, b: float, lobes: int, u: float, state: Array) -> float:
    """Fill x, y, θ, κ of the cam's neutral curve at polar angle u; returns ds/du."""
    r, dr, ddr = _cam_radius(kind, a, b, lobes, u)
    speed = math.sqrt(r * r + dr * dr)
    state[0], state[1] = r * math.cos(u), r * math.sin(u)
    state[2] = u + math.atan2(r, dr)
    state[3] = (r * r + 2.0 * dr * dr - r * ddr) / speed**3
    return speed


@njit(cache=True)
def _cam_arc(kind: int, a: float, b: float, lobes: int, start: float, end: float, steps: int) -> float:
    """Arc length of the cam's neutral curve between two polar angles (Simpson's rule, ``steps`` even)."""
    h = (end - start) / steps
    total = 0.0
    for i in range(steps + 1):
        r, dr, _ = _cam_radius(kind, a, b, lobes, start + i * h)
        weight = 1.0 if i == 0 or i == steps else (4.0 if i % 2 else 2.0)
        total += weight * math.sqrt(r * r + dr * dr)
    return total * h / 3.0


@njit(cache=True)
def _cam_walk(kind: int, a: float, b: float, lobes: int, arc: Array, out: Array) -> None:
    """Sample the cam's neutral curve at ascending arc lengths: rows x, y, θ, κ of ``out``."""
    u, s = 0.0, 0.0
    state = np.empty(4)
    for i in range(len(arc)):
        for _ in range(12):
            step = (arc[i] - s) / _cam_point(kind, a, b, lobes, u, state)
            if abs(step) < 1e-14:
                break
            s += _cam_arc(kind, a, b, lobes, u, u + step, 4)
            u += step
        _cam_point(kind, a, b, lobes, u, state)
        out[i, :] = state


@njit(cache=True)
def _paired_force(f0: float, theta: float, te: float) -> float:
    """Contact force that leaves no shear at the minor axis, from the lobe tension f0 and the tangent at contact."""
    nx, ny = math.sin(theta), -math.cos(theta)
    mx, my = math.sin(te), -math.cos(te)
    return f0 * my / (nx * mx + ny * my)


@njit(cache=True)
def _misfit(mode: int, unknown: Array, given: Array, lobes: int, steps: int) -> Array:
    """Boundary misfit at the end of a half lobe.

    POINT: unknown (κ0, N); given (lobe radius).
    PAIRED_BY_LOBE: unknown (κ0, f0, s_c, distance); given (lobe radius, β, contact radius).
    PAIRED_BY_DISTANCE: unknown (κ0, f0, s_c, lobe radius); given (distance, β, contact radius).
    CURVE: unknown (u_c, N); given (curve kind, a, b).
    """
    turn = math.pi / lobes
    te = 0.5 * math.pi + turn
    ex, ey = math.cos(te), math.sin(te)
    state = np.empty(4)
    if mode == 0 or mode == 3:
        length = turn
        if mode == 0:
            state[0], state[1], state[2], state[3] = given[0], 0.0, 0.5 * math.pi, unknown[0]
        else:
            kind = int(given[0])
            _cam_point(kind, given[1], given[2], lobes, unknown[0], state)
            length -= _cam_arc(kind, given[1], given[2], lobes, 0.0, unknown[0], 64)
        _advance(state, unknown[1] * ex, unknown[1] * ey, length, steps)
        return np.array([state[2] - te, state[0] * math.sin(turn) - state[1] * math.cos(turn)])
    lobe = given[0] if mode == 1 else unknown[3]
    distance = unknown[3] if mode == 1 else given[0]
    state[0], state[1], state[2], state[3] = lobe, 0.0, 0.5 * math.pi, unknown[0]
    _advance(state, 0.0, unknown[1], unknown[2], steps)
    nx, ny = math.sin(state[2]), -math.cos(state[2])
    miss_x = state[0] - given[2] * nx - distance * math.cos(given[1])
    miss_y = state[1] - given[2] * ny - distance * math.sin(given[1])
    force = _paired_force(unknown[1], state[2], te)
    _advance(state, -force * nx, unknown[1] - force * ny, turn - unknown[2], steps)
    across = state[0] * math.sin(turn) - state[1] * math.cos(turn)
    return np.array([state[2] - te, across, miss_x, miss_y])


@njit(cache=True)
def _lift_off(given: Array, lobes: int, tension: float, steps: int) -> Array:
    """Where the ring leaves a generator's curve and its tension there, roughly: a start for Newton's iteration.

    Walks the end of contact from the lobe to the minor axis; at each place the tension is the one that gives the free
    span the right end direction. The start lies where the span's end crosses the minor axis; where it never does, at
    the place where it comes nearest.
    """
    half = math.pi / lobes
    best = np.array([0.5 * half, tension])
    nearest = 1e300
    before = np.zeros(3)
    trial = np.array([0.0, tension])
    for i in range(PLACES):
        trial[0] = half * (i + 0.02) / PLACES
        miss = _misfit(3, trial, given, lobes, steps)
        for _ in range(12):
            if abs(miss[0]) < 1e-8:
                break
            kept = trial[1]
            h = 1e-5 * max(1.0, abs(kept))
            trial[1] = kept + h
            slope = (_misfit(3, trial, given, lobes, steps)[0] - miss[0]) / h
            trial[1] = kept - miss[0] / slope if slope != 0.0 else kept
            miss = _misfit(3, trial, given, lobes, steps)
        if abs(miss[0]) >= 1e-6:
            continue
        if before[0] > 0.0 and before[2] * miss[1] <= 0.0:
            share = before[2] / (before[2] - miss[1])
            return before[:2] + share * (trial - before[:2])
        if abs(miss[1]) < nearest:
            nearest = abs(miss[1])
            best[:] = trial
        before[:2] = trial
        before[2] = miss[1]
    return best


def _newton(mode: int, start: Array, given: Array, lobes: int, steps: int) -> tuple[Array, float, int]:
    """Damped Newton iteration with a difference Jacobian; returns (unknown, misfit norm, iterations)."""
    n = len(start)
    x = start.copy()
    r = _misfit(mode, x, given, lobes, steps)
    norm = np.sqrt(np.sum(r * r))
    jacobian = np.empty((n, n))
    count = 0
    while count < 40 and norm > 1e-13:
        count += 1
        for j in range(n):
            h = 1e-6 * max(1.0, abs(x[j]))
            y = x.copy()
            y[j] += h
            z = x.copy()
            z[j] -= h
            jacobian[:, j] = (_misfit(mode, y, given, lobes, steps) - _misfit(mode, z, given, lobes, steps)) / (2.0 * h)
        try:
            step = np.linalg.solve(jacobian, -r)
        except np.linalg.LinAlgError:
            break
        share = 1.0
        better = False
        for _ in range(10):
            trial = x + share * step
            inside = mode != 3 or (trial[0] > 0.0 and trial[0] < math.pi / lobes)
            if inside:
                rt = _misfit(mode, trial, given, lobes, steps)
                nt = np.sqrt(np.sum(rt * rt))
                if nt < norm:
                    x, r, norm, better = trial, rt, nt, True
                    break
            share *= 0.5
        if not better:
            break
    return x, norm, count


@njit(cache=True)
def _sample(mode: int, unknown: Array, given: Array, lobes: int, steps: int) -> Array:
    """States x, y, θ, κ at ``steps + 1`` uniform arc lengths of the half lobe, shape (steps + 1, 4)."""
    turn = math.pi / lobes
    te = 0.5 * math.pi + turn
    out = np.empty((steps + 1, 4))
    h = turn / steps
    state = np.empty(4)
    fx, fy = 0.0, 0.0
    change = 0.0
    if mode == 3:
        kind = int(given[0])
        change = _cam_arc(kind, given[1], given[2], lobes, 0.0, unknown[0], 64)
    elif mode == 0:
        state[0], state[1], state[2], state[3] = given[0], 0.0, 0.5 * math.pi, unknown[0]
    else:
        state[0] = given[0] if mode == 1 else unknown[3]
        state[1], state[2], state[3] = 0.0, 0.5 * math.pi, unknown[0]
        change, fy = unknown[2], unknown[1]
    if mode == 0 or mode == 3:
        fx, fy = unknown[1] * math.cos(te), unknown[1] * math.sin(te)
    first = 0
    if mode == 3:
        first = min(int(change / h) + 1, steps + 1)
        arcs = np.arange(first) * h
        _cam_walk(int(given[0]), given[1], given[2], lobes, arcs, out)
        _cam_point(int(given[0]), given[1], given[2], lobes, unknown[0], state)
    at = change if mode == 3 else 0.0
    turned = mode == 0 or mode == 3
    for i in range(first, steps + 1):
        s = i * h
        if not turned and s >= change:
            _advance(state, fx, fy, change - at, 1)
            force = _paired_force(unknown[1], state[2], te)
            fx, fy = -force * math.sin(state[2]), unknown[1] + force * math.cos(state[2])
            at, turned = change, True
        if s > at:
            _advance(state, fx, fy, s - at, 1)
            at = s
        out[i, :] = state
    return out


POINT, PAIRED_BY_LOBE, PAIRED_BY_DISTANCE, CURVE = 0, 1, 2, 3
ELLIPSE, COSINE, CIRCLE = 0, 1, 2


def half_lobe(radius_mm: float, lobes: int, rows: Array) -> Array:
    """Lay a half lobe (steps + 1, 4) in units of R out round the whole ring: shape (2·steps·lobes, 4), mm and rad."""
    steps = len(rows) - 1
    mirror = rows[1:-1][::-1].copy()
    turn = 2 * math.pi / lobes
    back = np.empty_like(mirror)
    c, s = math.cos(turn), math.sin(turn)
    back[:, 0] = c * mirror[:, 0] + s * mirror[:, 1]
    back[:, 1] = s * mirror[:, 0] - c * mirror[:, 1]
    back[:, 2] = turn + math.pi - mirror[:, 2]
    back[:, 3] = mirror[:, 3]
    lobe = np.vstack((rows, back))
    whole = np.empty((2 * steps * lobes, 4))
    for i in range(lobes):
        c, s = math.cos(i * turn), math.sin(i * turn)
        part = whole[2 * steps * i : 2 * steps * (i + 1)]
        part[:, 0] = c * lobe[:, 0] - s * lobe[:, 1]
        part[:, 1] = s * lobe[:, 0] + c * lobe[:, 1]
        part[:, 2] = lobe[:, 2] + i * turn
        part[:, 3] = lobe[:, 3]
    whole[:, :2] *= radius_mm
    whole[:, 3] /= radius_mm
    return whole


def _frozen(values: Array) -> Array:
    values = np.ascontiguousarray(values)
    values.setflags(write=False)
    return values


def _assemble(
    radius_mm: float,
    lobes: int,
    rows: Array,
    *,
    contact_rad: float,
    lifts_off: bool,
    force_factor: float,
    tension_factor: float,
    residual: float,
    iterations: int,
    stretch: float = 0.0,
) -> RingShape:
    whole = half_lobe(radius_mm, lobes, rows)
    turn = math.pi / lobes
    last = rows[-1]
    closure = abs(last[0] * math.sin(turn) - last[1] * math.cos(turn)) * radius_mm
    return RingShape(
        radius_mm=radius_mm,
        lobes=lobes,
        arc_mm=_frozen(np.arange(len(whole)) * (2 * math.pi * radius_mm / len(whole))),
        x_mm=_frozen(whole[:, 0]),
        y_mm=_frozen(whole[:, 1]),
        normal_rad=_frozen(whole[:, 2] - math.pi / 2),
        curvature_1_per_mm=_frozen(whole[:, 3]),
        contact_rad=contact_rad,
        lifts_off=lifts_off,
        force_factor=force_factor,
        tension_factor=tension_factor,
        stretch=stretch,
        closure_mm=float(closure),
        residual=float(residual),
        iterations=int(iterations),
    )


def _settled(residual: float, what: str, steps_tried: str) -> None:
    if not residual < 1e-9:
        what = f"the shape of the ring on {what} did not settle: no ring bends so, or none that this model can follow"
        raise ConvergenceFault([Fault(what, "generator", 0, steps_tried, "less deflection, or another generator")])


def _linear_load(w: float, lobes: int) -> float:
    """Force of one narrow contact a lobe in EI/R² for a small deflection ``w`` (over R), from linear ring theory."""
    half = math.pi / lobes
    s, c = math.sin(half), math.cos(half)
    return w / (0.5 * ((half - s * c) / (2 * s * s) + c / s - 1 / half))


def on_points(radius_mm: float, lobes: int, lobe_radius_mm: float) -> RingShape:
    """Ring pushed out by one narrow contact a lobe to ``lobe_radius_mm`` at the major axis.

    Raises ConvergenceFault when no such shape is found (far beyond any ring that can be made).
    """
    w = lobe_radius_mm / radius_mm - 1.0
    half = math.pi / lobes
    load = _linear_load(w, lobes)
    moment = 0.5 * (1 / half - math.cos(half) / math.sin(half))
    guess = np.array([1.0 + moment * load, load / (2 * math.sin(half))])
    given = np.array([1.0 + w])
    unknown, residual, count = _newton(POINT, guess, given, lobes, STEPS)
    _settled(residual, "rollers", f"deflection {w * radius_mm:.4g} mm on radius {radius_mm:.4g} mm")
    rows = _sample(POINT, unknown, given, lobes, STEPS)
    return _assemble(
        radius_mm,
        lobes,
        rows,
        contact_rad=0.0,
        lifts_off=True,
        force_factor=2 * unknown[1] * math.sin(half),
        tension_factor=unknown[1],
        residual=residual,
        iterations=count,
    )


def _paired_start(w: float, half_angle_rad: float) -> Array:
    """First guess for paired rollers on 2 lobes, from the radial-load Fourier series of a thin ring."""
    n = 2.0 * np.arange(1, 200)
    weight = np.cos(n * half_angle_rad) / (n * n - 1.0) ** 2
    give = float(np.sum(weight))
    if give <= 0:
        what = "rollers of a pair so far from their lobe pull the major axis in instead of pushing it out"
        value, allowed = f"{math.degrees(half_angle_rad):.4g}°", "less than about 43°; 22° to 30° bends the ring least"
        raise DesignFault([Fault(what, "generator.pair_half_angle_deg", 0, value, allowed)])
    load = w / give
    curvature = float(np.sum(load * np.cos(n * half_angle_rad) / (n * n - 1.0)))
    force = load * math.pi / 4.0
    return np.array([1.0 + curvature, -force * math.cos(math.pi / 2 - half_angle_rad), half_angle_rad, 0.0])


def on_paired(
    radius_mm: float,
    half_angle_rad: float,
    contact_radius_mm: float,
    *,
    lobe_radius_mm: float | None = None,
    distance_mm: float | None = None,
) -> tuple[RingShape, float]:
    """Ring on two rollers a lobe (2 lobes), by lobe radius or by the rollers' distance from the axis.

    ``contact_radius_mm`` is the roller's radius plus the ring's inner offset. Returns the shape and the rollers'
    distance in mm. Raises ConvergenceFault where the pair cannot push the ring so (β near 44° and beyond).
    """
    rho = contact_radius_mm / radius_mm
    by_lobe = lobe_radius_mm is not None
    if lobe_radius_mm is not None:
        w = asked = lobe_radius_mm / radius_mm - 1.0
    else:
        assert distance_mm is not None, "one of the two is given"
        w, asked = distance_mm / radius_mm + rho - 1.0, distance_mm / radius_mm - 1.0 + rho
        # The rollers' own push is known, not the bulge between them: scale the guess by the series at the rollers.
        n = 2.0 * np.arange(1, 200)
        at_roller = float(np.sum((np.cos(n * half_angle_rad) / (n * n - 1.0)) ** 2))
        at_lobe = float(np.sum(np.cos(n * half_angle_rad) / (n * n - 1.0) ** 2))
        w *= at_lobe / at_roller
    mode = PAIRED_BY_LOBE if by_lobe else PAIRED_BY_DISTANCE
    for parts in (1, 4, 16):
        before: Array | None = None
        for share in np.linspace(1.0 / parts, 1.0, parts):
            part_w = w * share
            start = _paired_start(part_w, half_angle_rad)
            if by_lobe:
                first = 1.0 + part_w
                start[3] = 1.0 + part_w * 0.5 - rho
            else:
                first = 1.0 - rho + asked * share
                start[3] = 1.0 + part_w
            if before is not None:
                start = before
            given = np.array([first, half_angle_rad, rho])
            unknown, residual, count = _newton(mode, start, given, 2, STEPS)
            before = unknown
        if residual < 1e-9:
            break
    tried = f"half angle {math.degrees(half_angle_rad):.4g}°, deflection {w * radius_mm:.4g} mm on radius {radius_mm:.4g} mm"
    _settled(residual, "paired rollers", tried)
    rows = _sample(mode, unknown, given, 2, STEPS)
    theta = float(np.interp(unknown[2], np.linspace(0, math.pi / 2, STEPS + 1), rows[:, 2]))
    shape = _assemble(
        radius_mm,
        2,
        rows,
        contact_rad=unknown[2],
        lifts_off=True,
        force_factor=_paired_force(unknown[1], theta, math.pi),
        tension_factor=abs(unknown[1] + _paired_force(unknown[1], theta, math.pi) * math.cos(theta)),
        residual=residual,
        iterations=count,
    )
    return shape, (unknown[3] if by_lobe else first) * radius_mm


def on_curve(radius_mm: float, lobes: int, kind: int, a_mm: float, b_mm: float) -> RingShape:
    """Ring on an extended contact: an ellipse (semi-axes a, b), a cosine curve (A, B) or a circle (distance, radius).

    The numbers describe the curve that the *neutral line* follows in contact. A curve as long as the ring or longer is
    followed all round (the ring is stretched by the difference); on a shorter one the ring lifts off.
    Raises ConvergenceFault when no lift-off place is found.
    """
    a, b = a_mm / radius_mm, b_mm / radius_mm
    half = math.pi / lobes
    steps = STEPS
    if kind != CIRCLE:
        length = _cam_arc(kind, a, b, lobes, 0.0, half, 512)
        if length >= half * (1 - 1e-9):
            rows = np.empty((steps + 1, 4))
            _cam_walk(kind, a, b, lobes, np.arange(steps + 1) * (length / steps), rows)
            need = _least_tension(rows[:, 3], length / steps)
            return _assemble(
                radius_mm,
                lobes,
                rows,
                contact_rad=half,
                lifts_off=False,
                force_factor=0.0,
                tension_factor=need,
                residual=0.0,
                iterations=0,
                stretch=length / half - 1.0,
            )
    if kind != CIRCLE:
        # A cam much shorter than the ring touches it only at the tip of the lobe, as a narrow roller would.
        tip = np.empty(4)
        _cam_point(kind, a, b, lobes, 0.0, tip)
        narrow = on_points(radius_mm, lobes, tip[0] * radius_mm)
        if narrow.curvature_1_per_mm[0] * radius_mm <= tip[3]:
            return narrow
    given = np.array([float(kind), a, b])
    lobe = (a + b) if kind != ELLIPSE else a
    start = _lift_off(given, lobes, _linear_load(lobe - 1.0, lobes) / (2 * math.sin(half)), steps)
    unknown, residual, count = _newton(CURVE, start, given, lobes, steps)
    _settled(residual, "its generator", f"contact to {math.degrees(unknown[0]):.4g}° from the lobe")
    rows = _sample(CURVE, unknown, given, lobes, steps)
    return _assemble(
        radius_mm,
        lobes,
        rows,
        contact_rad=_cam_arc(kind, a, b, lobes, 0.0, unknown[0], 64),
        lifts_off=True,
        force_factor=0.0,
        tension_factor=unknown[1],
        residual=residual,
        iterations=count,
    )


def _least_tension(curvature: Array, step: float) -> float:
    """Least hoop tension constant (EI/R²) that keeps a tight ring pressed on its cam all round.

    Contact pressure is q = (c − κ²/2) κ − κ″ with the section tension T = c − κ²/2; q ≥ 0 needs c ≥ κ²/2 + κ″/κ.
    Returns the largest tension T over the ring at that c, at least 0.
    """
    padded = np.concatenate(([curvature[1]], curvature, [curvature[-2]]))
    second = (padded[2:] - 2 * padded[1:-1] + padded[:-2]) / step**2
    c = float(np.max(curvature**2 / 2 + second / curvature))
    return max(0.0, float(np.max(c - curvature**2 / 2)))


def _between(rising: Callable[[float], float], low: float, high: float) -> float:
    """Root next below ``high``, where the function rises to a positive value, by false position (Illinois rule).

    Farther down it may have turned upward again: the lower end is first brought to where the function is negative. Raises
    ConvergenceFault where it nowhere is.
    """
    at_low, at_high = rising(low), rising(high)
    side = 0
    for _ in range(60):
        if at_low < 0.0:
            break
        low = 0.5 * (low + high)
        at_low = rising(low)
    else:
        what = "no cam of this curve has the ring's length at this deflection"
        raise ConvergenceFault([Fault(what, "generator", allowed="less deflection, or the other curve")])
    for _ in range(80):
        middle = high - at_high * (high - low) / (at_high - at_low)
        found = rising(middle)
        if abs(found) < 4e-16 or not low < middle < high:
            break
        if found < 0.0:
            low, at_low = middle, found
            at_high, side = (0.5 * at_high, -1) if side < 0 else (at_high, -1)
        else:
            high, at_high = middle, found
            at_low, side = (0.5 * at_low, 1) if side > 0 else (at_low, 1)
    return middle


def cam_parameters(radius_mm: float, lobes: int, kind: int, deflection_mm: float) -> tuple[float, float]:
    """Numbers (a, b) in mm of an ellipse or cosine curve with the ring's length and the wanted major-axis deflection."""
    target = math.pi / lobes
    lobe = 1.0 + deflection_mm / radius_mm

    def miss(number: float) -> float:
        a, b = (lobe, number) if kind == ELLIPSE else (number, lobe - number)
        return _cam_arc(kind, a, b, lobes, 0.0, target, 512) - target

    middle = _between(miss, *((0.2, lobe) if kind == ELLIPSE else (0.5 * lobe, lobe)))
    pair = (lobe, middle) if kind == ELLIPSE else (middle, lobe - middle)
    return pair[0] * radius_mm, pair[1] * radius_mm
