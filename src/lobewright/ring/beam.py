"""The flexible ring as a closed planar beam on a generator that only pushes.

Full circle, extensible, shear-rigid, large displacements and turns, stress-free as a circle. Theory, accuracy and
limits: docs/theory/ring_beam.md. Lengths mm, forces N.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.ring.beam_bodies import CircleBody, CurveBody, enclosing_radius
from lobewright.ring.beam_contact import BodyContact, GeneratorContact
from lobewright.ring.beam_element import assemble_ring, line_point
from lobewright.ring.beam_linear import RingSystem
from lobewright.ring.beam_newton import Aim, DeadLoads, Outcome, Unknowns, mean_holds, newton
from lobewright.ring.beam_state import (
    Contacts,
    LoadedRing,
    RingLine,
    RingSection,
    RingState,
    SolveHealth,
    frozen,
    read_line,
)

__all__ = [
    "BeamSettings",
    "CircleBody",
    "Contacts",
    "CurveBody",
    "LoadedRing",
    "RingLine",
    "RingSection",
    "RingState",
    "SolveHealth",
    "solve_ring",
    "solve_ring_loads",
]

Array = NDArray[np.float64]
Progress = Callable[[float, str], None]

FEWEST_NODES = 24
ACTIVE_SHARE = 1e-6  # a station pushes when its force is more than this share of the largest
START_WORK = (
    1e3  # sum of slack × force at the start, over EI/R × (deflection/R)²: far above any answer, a central start
)
STATION_REACH = 0.5  # of R: nodes farther than this from a body at the start are never stations of it …
DEEP = 0.1  # … unless the deflection is more than this share of R
IDLE = 1e-6  # contact forces below this share of EI/R² × deflection/R bend nothing
PENETRATION = 1e-10  # of R: a node deeper than this in a body that should touch at one point is a second touch


@dataclass(frozen=True)
class BeamSettings:
    """Numerical choices. force_tolerance: residual over the sum of acting forces; largest_step: deflection taken in one
    load step, over R; iterations: most Newton iterations in one step."""

    force_tolerance: float = 1e-10
    largest_step: float = 0.04
    iterations: int = 80


def solve_ring(
    section: RingSection,
    bodies: Sequence[CircleBody | CurveBody],
    nodes: int = 480,
    settings: BeamSettings | None = None,
    progress: Progress | None = None,
) -> RingState:
    """Equilibrium of the ring around the bodies, frictionless, each body only pushing.

    The generator starts shrunk about its middle until it fits inside the round ring and grows to size in load steps.
    Node 0 has label φ = 0 and starts on the x axis; the mean turn of the sections stays zero.
    progress(share, words) is called after each load step.
    Raises DesignFault when the generator fits inside the round ring or lies outside it, ConvergenceFault when the
    equations do not settle (last_good: the last settled RingState, generator still shrunk, or None).
    """
    settings = settings or BeamSettings()
    _check_nodes(nodes)
    return _RingOnGenerator(section, bodies, nodes, settings, progress or _silent).solve()


def solve_ring_loads(
    section: RingSection,
    label_rad: ArrayLike,
    force_n: ArrayLike,
    nodes: int = 480,
    settings: BeamSettings | None = None,
) -> LoadedRing:
    """A free ring under forces (K, 2) [N] of fixed direction at material labels (K,) [rad], in balance.

    The ring is held by mean displacement and mean turn, which carry nothing when the forces balance.
    Raises DesignFault when they do not balance within 1e-9 of their sum, ConvergenceFault when it does not settle.
    """
    settings = settings or BeamSettings()
    _check_nodes(nodes)
    label, force = np.atleast_1d(np.asarray(label_rad, float)), np.atleast_2d(np.asarray(force_n, float))
    total = float(np.hypot(*force.T).sum())
    moment = np.cos(label) * force[:, 1] - np.sin(label) * force[:, 0]
    worst = max(abs(float(force[:, 0].sum())), abs(float(force[:, 1].sum())), abs(float(moment.sum())))
    if not total > 0.0 or worst > 1e-9 * total:
        raise DesignFault(
            [
                Fault(
                    "the loads on a free ring do not balance", "force_n", 0, f"{worst:g} N", "at most 1e-9 of their sum"
                )
            ]
        )
    unit = section.force_scale_n
    place = np.mod(label * nodes / (2.0 * math.pi) + 1e-12, nodes)
    x = Unknowns(np.zeros((nodes, 3)), np.zeros(3), np.zeros(0), np.zeros(0))
    hold = mean_holds(nodes, translation=True)
    steps = max(1, math.ceil(0.15 * total / unit / settings.largest_step / 2))
    aim = Aim(settings.force_tolerance, 1.0, 1.0, settings.iterations)
    used = 0
    for k in range(1, steps + 1):
        loads = DeadLoads(place, force / unit * (k / steps))
        outcome = newton(x, section.axial_ratio, (loads,), hold, None, k / steps * total / unit, aim)
        used += outcome.iterations
        if not outcome.settled:
            raise ConvergenceFault(_not_settled("ring under given loads", k / steps, outcome))
    return _read_loaded(section, x, loads, outcome, steps, used)


def _silent(_share: float, _words: str) -> None:
    """Progress that nobody watches."""


def _check_nodes(nodes: int) -> None:
    if nodes < FEWEST_NODES:
        raise DesignFault([Fault("too few nodes on the ring", "nodes", 0, str(nodes), f"at least {FEWEST_NODES}")])


def _not_settled(what: str, share: float, outcome: Outcome) -> list[Fault]:
    return [
        Fault(
            f"the {what} did not settle at {100 * share:.3g} % of its deflection after {outcome.iterations} iterations",
            "ring",
            0,
            f"force residual {outcome.force_error:.2g} of the acting forces",
        )
    ]


def _energy(section: RingSection, q: Array) -> float:
    scratch = RingSystem.zero(len(q))
    return assemble_ring(q, section.axial_ratio, scratch.residual, scratch.diagonal, scratch.upper, scratch.lower)


def _read_loaded(
    section: RingSection, x: Unknowns, loads: DeadLoads, outcome: Outcome, steps: int, iterations: int
) -> LoadedRing:
    shares = loads.shares(x.q)
    element = np.array([s[0] for s in shares])
    place = np.array([line_point(x.q, int(e), p % 1.0)[0][0] for e, p in zip(element, loads.place, strict=True)])
    line, moment = read_line(
        section, x.q, _energy(section, x.q), element, np.array([s[1] for s in shares]), place, np.zeros(len(x.q))
    )
    unit, radius = section.force_scale_n, section.radius_mm
    turn = place[:, 0] * loads.force[:, 1] - place[:, 1] * loads.force[:, 0]
    health = SolveHealth(
        nodes=len(x.q),
        load_steps=steps,
        iterations=iterations,
        force_residual_relative=outcome.force_error,
        gap_residual_mm=0.0,
        complementarity=0.0,
        force_balance_n=frozen((loads.force.sum(axis=0) - x.hold[1:]) * unit),
        moment_balance_nmm=float(turn.sum() - x.hold[0]) * unit * radius,
        holding_torque_nmm=-float(x.hold[0]) * unit * radius,
    )
    return LoadedRing(section, line, frozen(place * radius), frozen(moment), health)


class _RingOnGenerator:
    """One solve of a ring on a generator: load steps with stations, then touching points where arcs are none."""

    def __init__(
        self,
        section: RingSection,
        bodies: Sequence[CircleBody | CurveBody],
        nodes: int,
        settings: BeamSettings,
        progress: Progress,
    ) -> None:
        radius = section.radius_mm
        offset = section.inner_offset_mm / radius
        self.section, self.settings, self.progress = section, settings, progress
        bodies_here = [BodyContact(body, radius, offset) for body in bodies]
        if not bodies_here:
            raise DesignFault([Fault("a generator needs at least one body", "bodies", 0, "none", "1 or more")])
        self.contact = GeneratorContact(bodies_here)
        self.hold = mean_holds(nodes, translation=False)
        start = np.zeros((nodes, 3))
        self.centre = np.mean([body.middle for body in bodies_here], axis=0)
        reach = max(body.reach(self.centre) for body in bodies_here)
        room = 1.0 - offset - float(np.hypot(*self.centre))
        if not 0.0 < room < reach:
            self._check_needed()
            where = f"{float(np.hypot(*self.centre)) * radius:.6g} mm from its centre"
            raise DesignFault([Fault("the middle of the generator lies outside the ring", "bodies", 0, where)])
        self.first_size = room / reach
        self.deflection = reach - room
        self._resize(0.0)
        for body in bodies_here:
            body.set_stations(start, STATION_REACH if self.deflection < DEEP else math.inf)
        count = sum(len(body.nodes) for body in bodies_here)
        self.x = Unknowns(start, np.zeros(1), np.zeros(count), np.zeros(count))
        self.steps = self.iterations = 0

    def solve(self) -> RingState:
        """Load steps, halved when one does not settle; then the touching points."""
        share, step = 0.0, min(1.0, self.settings.largest_step / self.deflection)
        smallest = step / 64
        good: Outcome | None = None
        while share < 1.0:
            step = min(step, 1.0 - share)
            trial = self.x.copy()
            outcome = self._settle(trial, share + step)
            if outcome.settled:
                share, good, self.x = share + step, outcome, trial
                self.steps += 1
                self.progress(share, f"load step {self.steps}")
                continue
            step *= 0.5
            if step < smallest:
                self._check_needed()
                self._resize(share)
                state = self._read(self.x, good) if good is not None else None
                raise ConvergenceFault(_not_settled("ring on its generator", share + step, outcome), state)
        if outcome.force_scale < IDLE * self.deflection:
            self._check_needed()
        return self._sharpen(outcome)

    def _resize(self, share: float) -> None:
        """Shrink the whole generator about its middle: share 0 fits inside the round ring, share 1 is full size."""
        for body in self.contact.bodies:
            body.resize(self.centre, self.first_size + share * (1.0 - self.first_size))

    def _check_needed(self) -> None:
        """Raise DesignFault when the whole generator fits inside the round ring and at most pushes it aside."""
        section = self.section
        room = section.radius_mm - section.inner_offset_mm - enclosing_radius([b.body for b in self.contact.bodies])
        if room >= 0.0:
            raise DesignFault(
                [
                    Fault(
                        "the generator fits inside the round ring, so nothing bends it",
                        "bodies",
                        0,
                        f"a circle {room:.6g} mm smaller in radius than the ring's inside holds it",
                        "a generator that no circle of the ring's inner radius can hold",
                    )
                ]
            )

    def _settle(self, x: Unknowns, share: float, warm: float = 1.0) -> Outcome:
        """Newton at a share of the deflection, from x, in place; warm: how far from contact the path starts."""
        self._resize(share)
        gap = self.contact.gaps(x.q).gap
        typical = max(share * self.deflection, 1e-9)
        x.slack = np.maximum(x.slack, np.maximum(gap, warm * typical))
        x.force = np.maximum(x.force, warm * START_WORK * typical**2 / (x.slack * len(gap)))
        aim = Aim(self.settings.force_tolerance, 1e-13, 1e-13 * typical**2, self.settings.iterations)
        outcome = newton(x, self.section.axial_ratio, (), self.hold, self.contact, 0.0, aim)
        self.iterations += outcome.iterations
        return outcome

    def _sharpen(self, outcome: Outcome) -> RingState:
        """Let bodies that touch within one element touch at a free point; keep stations where that fails."""
        stations, stations_outcome = self.x, outcome
        places = {k: p for k in range(len(self.contact.bodies)) if (p := self._single_place(k)) is not None}
        saved = [(body.nodes, body.near.copy()) for body in self.contact.bodies]
        while places:
            self.x = self._with_points(stations, places)
            outcome = self._settle(self.x, 1.0, warm=1e-2)
            wrong = [k for k in places if not self._touches_once(k)] if outcome.settled else list(places)
            if not wrong:
                return self._read(self.x, outcome)
            places = {k: p for k, p in places.items() if k not in wrong}
            for body, (nodes, near) in zip(self.contact.bodies, saved, strict=True):
                body.nodes, body.near, body.place = nodes, near, None
        self.x = stations
        return self._read(self.x, stations_outcome)

    def _single_place(self, index: int) -> float | None:
        """Line parameter of a circle's contact if it lies within one element, else None."""
        body = self.contact.bodies[index]
        if not isinstance(body.body, CircleBody):
            return None
        force = self.x.force[self.contact.owner == index]
        active = np.flatnonzero(force > ACTIVE_SHARE * self.x.force.max())
        count = len(self.x.q)
        if len(active) == 1:
            return float(body.nodes[active[0]])
        if len(active) == 2:
            first, second = body.nodes[active]
            if (second - first) % count == 1:
                return float(first) + force[active[1]] / force[active].sum()
            if (first - second) % count == 1:
                return float(second) + force[active[0]] / force[active].sum()
        return None

    def _with_points(self, stations: Unknowns, places: dict[int, float]) -> Unknowns:
        """Unknowns for bodies at single points, from the unknowns with stations everywhere."""
        slack, force = [], []
        owner = np.repeat(np.arange(len(self.contact.bodies)), [len(b.nodes) for b in self.contact.bodies])
        for k, body in enumerate(self.contact.bodies):
            if k in places:
                body.place = places[k]
                slack.append(np.zeros(1))
                force.append(np.array([stations.force[owner == k].sum()]))
            else:
                slack.append(stations.slack[owner == k])
                force.append(stations.force[owner == k])
        return Unknowns(stations.q.copy(), stations.hold.copy(), np.concatenate(slack), np.concatenate(force))

    def _touches_once(self, index: int) -> bool:
        """Whether a body at a single point is touched nowhere else and the ring curves away from it."""
        body = self.contact.bodies[index]
        return body.relative_curvature > 0.0 and float(body.node_gaps(self.x.q).min()) > -PENETRATION

    def _spread(self, x: Unknowns, element: NDArray[np.int64], single: NDArray[np.bool_]) -> Array:
        """Part (N,) of the station forces that is pressure: the least of a node and its neighbours, so that the single
        forces at the ends of a contact arc stay single forces."""
        force = np.bincount(element[~single], weights=x.force[~single], minlength=len(x.q))
        return np.minimum(force, np.minimum(np.roll(force, 1), np.roll(force, -1)))

    def _read(self, x: Unknowns, outcome: Outcome) -> RingState:
        section, bodies = self.section, self.contact.bodies
        unit, radius = section.force_scale_n, section.radius_mm
        gaps = self.contact.gaps(x.q)
        owner = self.contact.owner
        single = np.array([bodies[k].place is not None for k in owner])
        active = single | (x.force > ACTIVE_SHARE * x.force.max())
        places = np.array(
            [bodies[k].place if one else float(e) for k, e, one in zip(owner, gaps.element, single, strict=True)]
        )
        at = np.array([line_point(x.q, int(p), p % 1.0)[0][0] for p in places])
        push = x.force[:, None] * (gaps.gradient[:, :2] + gaps.gradient[:, 3:5])
        share_in = x.force[:, None] * gaps.gradient * single[:, None]
        spread = self._spread(x, gaps.element, single)
        energy = _energy(section, x.q) + 0.5 * float((gaps.compliance * x.force**2).sum())
        line, moment = read_line(section, x.q, energy, gaps.element, share_in, at, spread)
        turn = at[:, 0] * push[:, 1] - at[:, 1] * push[:, 0]
        count = len(bodies)
        contacts = Contacts(
            body=frozen(owner[active]),
            label_rad=frozen(places[active] * (2.0 * math.pi / len(x.q))),
            positions_mm=frozen(at[active] * radius),
            force_n=frozen(push[active] * unit),
            gap_mm=frozen(x.slack[active] * radius),
            moment_nmm=frozen(np.where(single, moment, line.moment_nmm[gaps.element])[active]),
            single_point=frozen(single[active]),
        )
        clearance = np.min([body.node_gaps(x.q) for body in bodies], axis=0)
        health = SolveHealth(
            nodes=len(x.q),
            load_steps=self.steps,
            iterations=self.iterations,
            force_residual_relative=outcome.force_error,
            gap_residual_mm=outcome.gap_error * radius,
            complementarity=outcome.product / outcome.force_scale,
            force_balance_n=frozen(push.sum(axis=0) * unit),
            moment_balance_nmm=float(turn.sum() - x.hold[0]) * unit * radius,
            holding_torque_nmm=-float(x.hold[0]) * unit * radius,
        )
        return RingState(
            section=section,
            line=line,
            contacts=contacts,
            clearance_mm=frozen(clearance * radius),
            body_force_n=frozen(np.array([push[owner == k].sum(axis=0) for k in range(count)]) * unit),
            body_moment_nmm=frozen(np.array([turn[owner == k].sum() for k in range(count)]) * unit * radius),
            health=health,
        )
