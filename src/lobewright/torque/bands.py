"""Every answer of a loaded drive as a 90 % band over its weak inputs: full runs one input at a time, then a cheap surface.

The full model is run at the middle of all inputs and at the ends of each one's 90 % interval; between them the logarithm of an
answer is a monotone curve in each input's standard deviations, and inputs add up. A few joint runs tell what the sum misses:
that is the numerical part. What the model itself leaves out is a part of its own. The band is the 5 and 95 % points of all
parts together, drawn with a fixed seed. See docs/theory/bands.md.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import ConvergenceFault, DesignFault, Fault, LobewrightError
from lobewright.mapper import Mapper
from lobewright.torque.ask import FALL, Walk, settle_at, skip, wind
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.interval import NORMAL_95, Interval
from lobewright.torque.model_spread import model_spread
from lobewright.torque.path import Winder
from lobewright.torque.rest import prepare
from lobewright.torque.results import load_share_of, sealed
from lobewright.torque.weak import Weak, inputs_at

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]

SKIP, STIFFNESS, WINDUP = "skip_torque_nmm", "stiffness_nmm_per_rad", "windup_at_peak_rad"
ROLLER, TEETH, PRESSURE = "largest_roller_force_n", "teeth_in_load", "largest_flank_pressure_mpa"
SLOPE_FROM = 0.6
"""Share of the peak torque from which to the peak the stiffness is told."""
SMALL = 0.1
"""An input whose first end moves every answer by less than this share of the answer's spread so far is not run at its other
end: the other half is taken as the mirror image, and half of it counts as numerical spread."""
CHECKS = 4
"""Joint runs, all inputs drawn at once."""
SAMPLES, SEED = 40_000, 20_251
CHECK_SEED = 7
QUANTILES = 199


@dataclass(frozen=True)
class Reply:
    """What a question answers at one place: positive ``values`` by name; ``at_least``: names whose value is only a lower
    bound; ``missing``: why a value could not be had, by name ("" for all)."""

    values: Mapping[str, float]
    at_least: frozenset[str] = frozenset()
    missing: Mapping[str, str] = field(default_factory=dict)


Question = Callable[[DriveInput, LoadInputs], Reply]
Point = tuple[tuple[str, float], ...]
"""Standard deviations from the middle by name of input."""


@dataclass(frozen=True)
class Run:
    """One full run to be made; it can be sent to another process and called there."""

    question: Question
    drive: DriveInput
    base: LoadInputs
    factors: tuple[tuple[str, float], ...]

    def __call__(self) -> Reply:
        """The reply; a drive that cannot be made or solved is a reply without values and with the reason."""
        try:
            return self.question(*inputs_at(self.drive, self.base, dict(self.factors)))
        except LobewrightError as error:
            return Reply({}, frozenset(), {"": str(error)})


def make_run(run: Run) -> Reply:
    """Make one run: what a mapper of processes is given."""
    return run()


@dataclass(frozen=True)
class Band:
    """One answer: its 90 % interval ``low`` … ``high`` and its value ``middle`` at the middles of all inputs.

    ``shares``: part of the variance of the logarithm by input, and under "numerical" (what the sum over inputs misses) and
    "model" (what the model leaves out); they sum to one. ``log_sd``: standard deviation of the logarithm, ``tolerance_log_sd``
    that of the stated tolerances and the numerical part alone. ``widest_input``: the input with the largest share.
    ``at_least``: some runs gave a lower bound only (teeth break first), so ``high`` may be higher. ``incomplete``: some runs
    gave no value, so the band holds for drives that have one. ``notes`` says which. ``quantiles`` (199,): 0.5 … 99.5 %.
    """

    name: str
    low: float
    middle: float
    high: float
    widest_input: str
    shares: Mapping[str, float]
    log_sd: float
    tolerance_log_sd: float
    at_least: bool
    incomplete: bool
    notes: tuple[str, ...]
    quantiles: Array

    def share_below(self, value: float) -> float:
        """Probability that the true answer lies below a value, by the band; 0.0025 and 0.9975 stand for less and more."""
        levels = (np.arange(QUANTILES) + 1.0) / (QUANTILES + 1.0)
        return float(np.interp(value, self.quantiles, levels, left=0.5 * levels[0], right=1.0 - 0.5 * levels[0]))


@dataclass(frozen=True)
class Bands:
    """Bands of all answers; ``not_made``: answers without a value at the middle, with the reason, by name; ``failed``: a
    sentence for every run that failed or gave a lower bound; ``runs``: how many full runs were made."""

    bands: tuple[Band, ...]
    weak: tuple[Weak, ...]
    not_made: Mapping[str, str]
    failed: tuple[str, ...]
    runs: int

    def of(self, name: str) -> Band:
        """The band of an answer. Raises DesignFault where it was not made."""
        for band in self.bands:
            if band.name == name:
                return band
        raise DesignFault([Fault("this band was not made", name, 0, self.not_made.get(name, ""))])


# --- questions --------------------------------------------------------------------------------------------------------


def skip_question(drive: DriveInput, inputs: LoadInputs) -> Reply:
    """The ratcheting torque anticlockwise."""
    try:
        found = skip(drive, inputs)
    except ConvergenceFault as error:
        return Reply({}, frozenset(), {SKIP: str(error)})
    bound = frozenset({SKIP}) if found.lower_bound else frozenset()
    return Reply({SKIP: found.torque_nmm}, bound)


@dataclass(frozen=True)
class LoadQuestion:
    """Stiffness, windup and forces at a torque of the slow member, anticlockwise; it can be sent to another process.

    Stiffness is the slope between :data:`SLOPE_FROM` and all of the torque on this side; windup counts from no torque, half
    of the free play included.
    """

    torque_nmm: float

    def __call__(self, drive: DriveInput, inputs: LoadInputs) -> Reply:
        """All answers but the skip; without values where the drive skips before."""
        winder = Winder(prepare(drive, inputs))
        walk = wind(winder, 1, self.torque_nmm, FALL)
        try:
            if walk.ended != "torque":
                raise ConvergenceFault([_carries_less(walk, self.torque_nmm)], walk.places)
            part, place = (settle_at(winder, walk, share * self.torque_nmm) for share in (SLOPE_FROM, 1.0))
        except ConvergenceFault as error:
            return Reply({}, frozenset(), {name: str(error) for name in (STIFFNESS, WINDUP, TEETH, PRESSURE)})
        full = load_share_of(winder.drive, place, winder.solves, winder.iterations, self.torque_nmm)
        values = {
            STIFFNESS: (place.torque_nmm - part.torque_nmm) / (place.windup_rad - part.windup_rad),
            WINDUP: full.windup_rad,
            TEETH: float(min(row.teeth_in_load for row in full.rows)),
            PRESSURE: max(float(row.pressure_mpa.max()) for row in full.rows),
        }
        if len(full.arm_mm):
            values[ROLLER] = full.largest_push_n
        return Reply({name: value for name, value in values.items() if value > 0.0})


def _carries_less(walk: Walk, wanted_nmm: float) -> Fault:
    most = max(place.torque_nmm for place in walk.places)
    what = "the drive carries less than this torque: it skips before, or no state was found"
    return Fault(what, "torque_nmm", 0, f"{wanted_nmm:.6g} N·mm", f"up to about {most:.6g} N·mm")


# --- the bands --------------------------------------------------------------------------------------------------------


def bands(
    drive: DriveInput,
    base: LoadInputs,
    weak: Sequence[Weak],
    questions: Sequence[Question],
    *,
    mapper: Mapper = map,
    model: Mapping[str, Interval] | None = None,
    checks: int = CHECKS,
    progress: Progress | None = None,
) -> Bands:
    """The 90 % band of every answer of the questions over the weak inputs.

    ``mapper`` maps :func:`make_run` over runs in order (a process pool's ``map`` uses all cores). ``model``: what the model
    itself is off by, a factor by answer; :func:`model_spread` where none is given. Failed runs are said, never dropped.
    """
    plan = _Plan(drive, base, tuple(weak), tuple(questions), mapper, progress or (lambda word, share: None), checks)
    each, ends = len(plan.questions), len(plan.weak) * len(plan.questions)
    joint = checks * each
    plan.run([((), q) for q in range(each)], "the middle of all inputs", 2 * ends + joint)
    first: list[Point] = [((one.name, _first_end(one)),) for one in plan.weak]
    plan.run([(point, q) for point in first for q in range(each)], "one end of every input", ends + joint)
    plan.run(list(_other_ends(plan)), "the other end of inputs that matter", joint)
    plan.run([(point, q) for point in _joint(plan) for q in range(len(plan.questions))], "all inputs at once", 0)
    spread = model_spread() if model is None else model
    names = plan.all_names()
    made = [name for name in names if plan.value((), name) is not None]
    not_made = {name: plan.why((), name) for name in names if name not in made}
    # a question that no run has answered has no names to its answers
    silent = [plan.why((), "") for q in range(len(plan.questions)) if not plan.names(q)]
    if silent:
        not_made[""] = silent[0]
    rng = np.random.default_rng(SEED)
    deviations = rng.standard_normal((len(plan.weak), SAMPLES))
    rest = rng.standard_normal((2, SAMPLES))
    found = tuple(_band(plan, name, deviations, rest, spread[name]) for name in made)
    return Bands(found, plan.weak, not_made, plan.sentences(), len(plan.replies))


@dataclass
class _Plan:
    """The runs of one set of bands and their replies."""

    drive: DriveInput
    base: LoadInputs
    weak: tuple[Weak, ...]
    questions: tuple[Question, ...]
    mapper: Mapper
    say: Progress
    checks: int
    replies: dict[tuple[Point, int], Reply] = field(default_factory=dict)

    def run(self, wanted: list[tuple[Point, int]], word: str, after: int) -> None:
        """Make runs that are not made yet, telling which share of all is done; ``after``: how many come after them at most."""
        most = len(self.replies) + len(wanted) + after
        by_name = {one.name: one for one in self.weak}
        runs = []
        for point, q in wanted:
            deviations = dict(point)
            factors = tuple((name, one.at(deviations.get(name, 0.0))) for name, one in by_name.items())
            runs.append(Run(self.questions[q], self.drive, self.base, factors))
        self.say(word, len(self.replies) / most)
        for key, reply in zip(wanted, self.mapper(make_run, runs), strict=True):
            self.replies[key] = reply
            self.say(word, len(self.replies) / most)

    def names(self, question: int) -> tuple[str, ...]:
        """Names that a question has answered or missed anywhere."""
        found: dict[str, None] = {}
        for (_, q), reply in self.replies.items():
            if q == question:
                found |= dict.fromkeys([*reply.values, *(name for name in reply.missing if name)])
        return tuple(found)

    def all_names(self) -> tuple[str, ...]:
        """Names of all answers."""
        return tuple(dict.fromkeys(name for q in range(len(self.questions)) for name in self.names(q)))

    def value(self, point: Point, name: str) -> float | None:
        """Logarithm of an answer at a point, None where it was not had or not asked."""
        for q in range(len(self.questions)):
            reply = self.replies.get((point, q))
            if reply is not None and name in reply.values:
                return math.log(reply.values[name])
        return None

    def why(self, point: Point, name: str) -> str:
        """Why an answer is missing at a point."""
        found = [self.replies[point, q].missing for q in range(len(self.questions)) if (point, q) in self.replies]
        return next((one.get(name, one.get("", "")) for one in found if name in one or "" in one), "")

    def troubles(self, name: str) -> Iterator[tuple[Point, str, bool]]:
        """Points at which an answer is a lower bound (True) or missing (False), with the sentence."""
        for (point, q), reply in self.replies.items():
            if name in reply.at_least:
                yield point, "teeth break before it skips, so the torque is a lower bound", True
            elif name not in reply.values and name in self.names(q):
                yield point, self.why(point, name), False

    def where(self, point: Point) -> str:
        """A point in words."""
        if not point:
            return "at the middle of all inputs"
        if len(point) > 1:
            return f"at {len(point)} inputs drawn at once"
        (name, deviation) = point[0]
        factor = next(one for one in self.weak if one.name == name).at(deviation)
        return f"at {factor:.3g} times {name}"

    def sentences(self) -> tuple[str, ...]:
        """What failed or is a lower bound, each once."""
        names = self.all_names()
        told = [(point, words) for name in names for point, words, _ in self.troubles(name)]
        if not names:
            told = [(point, reply.missing.get("", "")) for (point, _), reply in self.replies.items()]
        said = dict.fromkeys(f"{self.where(point)}: {words}" for point, words in told)
        return tuple(said)


def _first_end(one: Weak) -> float:
    """The end that lies farther from the middle; the low one, which skips first, where they lie alike."""
    down, up = math.log(one.factor.middle / one.factor.low), math.log(one.factor.high / one.factor.middle)
    return NORMAL_95 if up > 1.02 * down else -NORMAL_95


def _other_ends(plan: _Plan) -> Iterator[tuple[Point, int]]:
    """Runs at the second end of every input that moves an answer noticeably, or failed at its first end."""
    for q in range(len(plan.questions)):
        names = [name for name in plan.names(q) if plan.value((), name) is not None]
        effect = {
            (one.name, name): _difference(plan, ((one.name, _first_end(one)),), name)
            for one in plan.weak
            for name in names
        }
        total = {name: math.sqrt(sum((effect[one.name, name] or 0.0) ** 2 for one in plan.weak)) for name in names}
        for one in plan.weak:
            moves = [effect[one.name, name] for name in names]
            large = any(e is not None and abs(e) > SMALL * total[name] for e, name in zip(moves, names, strict=True))
            if large or None in moves:
                yield (((one.name, -_first_end(one)),), q)


def _difference(plan: _Plan, point: Point, name: str) -> float | None:
    here, middle = plan.value(point, name), plan.value((), name)
    return None if here is None or middle is None else here - middle


def _joint(plan: _Plan) -> Iterator[Point]:
    """Joint points: every input drawn within its 90 % interval."""
    rng = np.random.default_rng(CHECK_SEED)
    for _ in range(plan.checks):
        drawn = np.clip(rng.standard_normal(len(plan.weak)), -NORMAL_95, NORMAL_95)
        yield tuple((one.name, float(z)) for one, z in zip(plan.weak, drawn, strict=True))


def _band(plan: _Plan, name: str, deviations: Array, rest: Array, model: Interval) -> Band:
    """The band of one answer."""
    middle = plan.value((), name)
    assert middle is not None
    effects: dict[str, Array] = {}
    halved, sides = 0.0, {}
    for one, z in zip(plan.weak, deviations, strict=True):
        sides[one.name] = [_difference(plan, ((one.name, end),), name) for end in (-NORMAL_95, NORMAL_95)]
        down, up = sides[one.name]
        if (down is None) != (up is None):
            halved += (0.5 * ((up if down is None else down) or 0.0) / NORMAL_95) ** 2
        effects[one.name] = curve(z, *_both(down, up))
    misses = []
    for point in _joint(plan):
        there = _difference(plan, point, name)
        if there is not None:
            told = sum(float(curve(np.array([z]), *_both(*sides[key]))[0]) for key, z in point)
            misses.append(there - told)
    numerical = math.sqrt(halved + (float(np.mean(np.square(misses))) if misses else 0.0))
    inputs = np.sum(list(effects.values()), axis=0) if effects else np.zeros(rest.shape[1])
    parts = {key: float(np.var(effect)) for key, effect in effects.items()}
    widest = max(parts, key=lambda key: parts[key]) if parts else ""
    tolerance = sum(parts[one.name] for one in plan.weak if one.tolerance) + numerical**2
    parts |= {"numerical": numerical**2, "model": model.log_spread**2}
    whole = middle + inputs + numerical * rest[0] + model.log_spread * rest[1] + math.log(model.middle)
    low, high = np.exp(np.quantile(whole, [0.05, 0.95]))
    total = sum(parts.values())
    troubles = list(plan.troubles(name))
    return Band(
        name=name,
        low=float(low),
        middle=math.exp(middle) * model.middle,
        high=float(high),
        widest_input=widest,
        shares={key: part / total if total > 0.0 else 0.0 for key, part in parts.items()},
        log_sd=float(np.std(whole)),
        tolerance_log_sd=math.sqrt(tolerance),
        at_least=any(bound for _, _, bound in troubles),
        incomplete=any(not bound for _, _, bound in troubles),
        notes=tuple(dict.fromkeys(f"{plan.where(p)}: {words}" for p, words, _ in troubles)),
        quantiles=sealed(np.exp(np.quantile(whole, (np.arange(QUANTILES) + 1.0) / (QUANTILES + 1.0)))),
    )


def _both(down: float | None, up: float | None) -> tuple[float, float]:
    """Effects at both ends, a missing one as the mirror image of the other."""
    if down is None and up is None:
        return 0.0, 0.0
    if down is None:
        assert up is not None
        return -up, up
    return down, -down if up is None else up


def curve(deviation: Array, down: float, up: float) -> Array:
    """Effect of an input at deviations (S,), through ``down``, 0 and ``up`` at −1.645, 0 and 1.645 standard deviations.

    Two cubic pieces that rise where their ends do and so never overshoot; straight beyond the ends.
    """
    before, after = -down / NORMAL_95, up / NORMAL_95
    middle = 2.0 * before * after / (before + after) if before * after > 0.0 else 0.0
    out = np.empty_like(deviation)
    for side, slope in ((deviation < 0.0, before), (deviation >= 0.0, after)):
        u = np.abs(deviation[side]) / NORMAL_95
        rise = slope * NORMAL_95
        start = middle * NORMAL_95
        end = float(np.clip(1.5 * rise - 0.5 * start, min(0.0, 3.0 * rise), max(0.0, 3.0 * rise)))
        v = np.minimum(u, 1.0)
        inside = start * v * (1.0 - v) ** 2 + rise * v * v * (3.0 - 2.0 * v) - end * v * v * (1.0 - v)
        value = inside + end * np.maximum(u - 1.0, 0.0)
        out[side] = np.where(deviation[side] < 0.0, -value, value)
    return out
