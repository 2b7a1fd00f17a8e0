"""What says no before a drive skips: every check of strength and life asked again and again up to the torque at which it lets go.

Two questions, kept apart. *Once*: the output is turned by hand against a generator that is held, one time; checks of strength
answer. *Lasting*: the whole duty is run through with all its torques in proportion, so that its largest steady one is the torque
asked for, up to where its largest peak reaches the last torque solved; checks of life answer, and checks of strength at that
peak. Outside loads stay as the duty names them. The checks are those of :mod:`lobewright.assessment.life`, with their bands; what
does not hang on the torque is no limit of it and left out, unless it is not enough at any torque.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.life import checks, ring_places
from lobewright.assessment.loaded_states import LoadedStates
from lobewright.assessment.results import Assessment
from lobewright.strength.duty import Duty, DutyPart, duty_of
from lobewright.strength.items import Item, LifeItem, NotMade, SafetyItem, Span
from lobewright.strength.remark import Weak

Array = NDArray[np.float64]
STEPS = 24
"""Torques between none and the largest solved at which the checks are asked; between two of them their logarithm is straight."""
SAME = 1e-6
"""Share by which a check must change over the torque to hang on it."""
ENDLESS = 1e12
"""What an endless life or safety counts as between two torques."""
MINUTE_H = 1.0 / 60.0
OUTSIDE = ("output_bearing", "output_bearing_static")
"""Checks that hang on outside loads, which stay."""
ENDURED = ("thin_race",)
"""Strengths against being bent again and again: one push does not ask them."""


@dataclass(frozen=True)
class Limit:
    """One check over the torque. ``name``, ``title``, ``part``, ``weak`` as the check has them.

    ``torque_nmm``: where it is just enough, with the check's own 90 % band; 0 where it is not enough at any torque,
    ``math.inf`` where it is enough at every torque that was asked about. ``lasting``: a life over the duty, else a strength.
    ``at_end``: the check itself at the largest of these torques.
    """

    name: str
    title: str
    part: str
    lasting: bool
    torque_nmm: Span
    weak: frozenset[Weak]
    at_end: Span


@dataclass(frozen=True)
class Limits:
    """``once`` and ``lasting``, each by rising torque, strengths at the duty's peak among the latter; ``not_made``: checks that
    could not be made at any torque, with the reason. ``solved_nmm``: the largest torque that was asked about once; ``rated_nmm``:
    the duty's own that ``lasting`` stands for, None without a duty; ``peak_share``: its largest peak over that."""

    once: tuple[Limit, ...]
    lasting: tuple[Limit, ...]
    not_made: tuple[NotMade, ...]
    solved_nmm: float
    rated_nmm: float | None
    peak_share: float = 1.0


def limits(a: Assessment, states: LoadedStates, rated_nmm: float) -> Limits:
    """Limits of a drive whose states are solved from no torque up to where it lets go.

    ``rated_nmm``: the duty's torque that is taken for the one asked for. Raises DesignFault as
    :func:`lobewright.assessment.life.life`.
    """
    places = ring_places(states)
    asked = duty_of(a.design, a.motion)
    torque = np.linspace(0.0, states.told_nmm, STEPS + 1)
    lobes = a.design.lobes
    once = [checks(a, states, places, push(lobes, float(one)))[0] for one in torque]
    found = [one for one in _over(torque, once, SafetyItem) if one.name not in ENDURED]
    missed = _missed(once, of_life=False)
    if asked is None:
        return Limits(_rising(found), (), tuple(missed), states.told_nmm, None)
    peak_share = max(asked.peak_nmm / rated_nmm, 1.0)
    steady = torque / peak_share
    every = [checks(a, states, places, scaled(asked, float(one) / rated_nmm))[0] for one in steady]
    lasting = [*_over(steady, every, LifeItem), *_over(steady, every, SafetyItem)]
    missed += _missed(every, of_life=True)
    return Limits(_rising(found), _rising(lasting), tuple(missed), states.told_nmm, rated_nmm, peak_share)


def push(lobes: int, torque_nmm: float) -> Duty:
    """A duty that is one push: a torque and nothing that turns."""
    part = DutyPart("push", torque_nmm, torque_nmm, MINUTE_H, 0.0, 0.0, 0.0, 0.0, None, 0.0, 0.0, 0.0)
    return Duty(lobes, (part,), None)


def scaled(duty: Duty, factor: float) -> Duty:
    """A duty with all its torques times a factor; outside loads, turns and times as before."""
    parts = tuple(
        replace(part, torque_nmm=factor * part.torque_nmm, peak_nmm=factor * part.peak_nmm) for part in duty.parts
    )
    record = None if duty.record is None else replace(duty.record, torque_nmm=factor * duty.record.torque_nmm)
    return Duty(duty.lobes, parts, record)


def _over(torque_nmm: Array, asked: Sequence[Sequence[Item]], kind: type[LifeItem] | type[SafetyItem]) -> list[Limit]:
    """Limits from the checks of a kind at every torque; one is left out where it is not made (beyond what was solved, or where
    nothing is loaded yet)."""
    rows: dict[str, list[tuple[float, LifeItem | SafetyItem]]] = {}
    for torque, items in zip(torque_nmm, asked, strict=True):
        for item in items:
            if isinstance(item, kind) and item.name not in OUTSIDE:
                rows.setdefault(item.name, []).append((float(torque), item))
    return [_limit(row, kind is LifeItem) for row in rows.values() if _is_limit([one for _, one in row])]


def _rising(found: Sequence[Limit]) -> tuple[Limit, ...]:
    return tuple(sorted(found, key=lambda one: (one.torque_nmm.middle, one.torque_nmm.low)))


def _is_limit(items: Sequence[LifeItem | SafetyItem]) -> bool:
    """Whether a check hangs on the torque, or is not enough at any."""
    values = np.array([min(one.band.middle, ENDLESS) for one in items])
    return bool(np.ptp(values) > SAME * values.max() or values.max() < 1.0)


def _limit(row: Sequence[tuple[float, LifeItem | SafetyItem]], lasting: bool) -> Limit:
    torque = np.array([one for one, _ in row])
    bands = [item.band for _, item in row]
    ends = [crossing(torque, [getattr(band, name) for band in bands]) for name in ("low", "middle", "high")]
    last = row[-1][1]
    return Limit(last.name, last.title, last.part, lasting, Span(*ends), last.noted.weak, last.band)


def crossing(torque_nmm: Array, values: Sequence[float]) -> float:
    """First torque at which a value falls below 1, its logarithm straight between two torques; 0 where it is below at the
    first of them, ``math.inf`` where it never is."""
    logs = np.log(np.clip(values, 1.0 / ENDLESS, ENDLESS))
    below = np.flatnonzero(logs < 0.0)
    if not len(below):
        return math.inf
    after = int(below[0])
    if after == 0:
        return 0.0
    share = logs[after - 1] / (logs[after - 1] - logs[after])
    return float(torque_nmm[after - 1] + share * (torque_nmm[after] - torque_nmm[after - 1]))


def _missed(asked: Sequence[Sequence[Item]], of_life: bool) -> list[NotMade]:
    """Checks that were made at no torque."""
    made = {item.name for items in asked for item in items if not isinstance(item, NotMade)}
    missed = {
        item.name: item for items in asked for item in items if isinstance(item, NotMade) and item.of_life is of_life
    }
    return [item for name, item in missed.items() if name not in made and name not in OUTSIDE]
