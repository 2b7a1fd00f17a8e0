"""What checks of ball bearings have in common: what the duty asks, bodies under load, and the items made of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import LobewrightError
from lobewright.strength import bearing_life as life
from lobewright.strength.bearing_load import Forces
from lobewright.strength.duty import Duty
from lobewright.strength.items import Item, LifeItem, NotMade, SafetyItem, Span
from lobewright.strength.remark import NOTHING, Remark, joined
from lobewright.torque.interval import NORMAL_95, Interval
from lobewright.verdict import Working

Array = NDArray[np.float64]

SIDE_BY_SIDE = 0.7
"""Power of the number of bearings that run as one in their rating (ISO 281, cl. 5; remembered)."""
USUAL_BALLS = 7
NO_DUTY = "the design names no duty"
LIFE_EQUATION = "1/L10 = Σ turns·(P/C)³/10⁶; first failure among them by the scatter of ISO 281:2007"
STATIC_EQUATION = "safety = C0/P0 by ISO 76; 1 is the usual least, 2 for quiet running (common practice)"


@dataclass(frozen=True)
class Asked:
    """Stretches of the duty with one torque each: ``torque_nmm`` signed, ``turns`` of the generator against the ring."""

    torque_nmm: Array
    turns: Array
    hours: float
    peak_nmm: float
    swing_rad: float | None


@dataclass(frozen=True)
class Loaded:
    """Bodies under ``load_n`` (T, B) for ``turns`` (T,) in ``hours``, and what they bear: ``log_sd`` of (C/P)³, in words."""

    load_n: Array
    turns: Array
    hours: float
    pitch_mm: float
    capacity_n: float
    log_sd: float
    words: str
    source_key: str
    remarks: tuple[Remark | str, ...]
    counted: str = "turns of a roller"


def asked_of(duty: Duty) -> Asked:
    """Steps and recorded motion of a duty, one after the other."""
    torque = [np.array([part.torque_nmm for part in duty.parts])]
    turns = [np.array([part.bends / duty.lobes for part in duty.parts])]
    record = duty.record
    if record is not None:
        torque.append(0.5 * (record.torque_nmm[1:] + record.torque_nmm[:-1]))
        turns.append(record.repeats * np.abs(np.diff(record.bend_rad)) / (2.0 * math.pi))
    swings = [part.swing_rad for part in duty.parts if part.swing_rad is not None and part.bends > 0.0]
    return Asked(
        np.concatenate(torque), np.concatenate(turns), duty.hours, duty.peak_nmm, min(swings) if swings else None
    )


def capacity_n(dynamic: Interval, count: int) -> float:
    """Dynamic rating of like bearings side by side on one axle."""
    return dynamic.middle * count**SIDE_BY_SIDE


def force_log_sd(factor: Span) -> float:
    """Standard deviation of the logarithm of a force, from the band of its factor."""
    return math.log(factor.high / factor.low) / (2.0 * NORMAL_95)


def cubed_log_sd(dynamic: Interval, factor: Span) -> float:
    """The same of (C/P)³."""
    return life.EXPONENT * math.hypot(dynamic.log_spread, force_log_sd(factor))


def beyond(forces: Forces, torque_nmm: float) -> str:
    """A remark where a torque lies beyond the last that was solved, else empty."""
    last = float(forces.torque_nmm[-1])
    if torque_nmm <= last * (1.0 + 1e-6):
        return ""
    return f"forces beyond the last state solved, {last / 1000.0:.4g} N·m, go on as they came"


def swing_remark(swing_rad: float | None, balls: int | None) -> str:
    """A remark where one ring swings so little against the other that neighbouring tracks do not meet, else empty."""
    least = life.least_swing_rad(balls or USUAL_BALLS)
    if swing_rad is None or swing_rad >= least:
        return ""
    return (
        f"swings by {math.degrees(swing_rad):.3g}° only: below {math.degrees(least):.0f}° balls wear hollows (false brinelling), "
        "which is not computed"
    )


def life_item(name: str, title: str, loaded: Loaded, reliability_percent: float) -> LifeItem:
    """Life over the duty: L10 of each body from the sum of turns·(P/C)³ at the duty's torques, and the first failure of all."""
    turns, load = float(loaded.turns.sum()), loaded.load_n
    harm = (loaded.turns[:, None] * (load / loaded.capacity_n) ** life.EXPONENT).sum(axis=0) / 1e6
    lives = np.array([1.0 / one if one > 0.0 else math.inf for one in harm])
    band = life.band_of(lives, loaded.log_sd)
    mean = life.mean_load_n(load[:, int(np.argmax(harm))], loaded.turns)
    so_sure = life.quantile(lives, loaded.log_sd, 1.0 - reliability_percent / 100.0)
    numbers = (
        f"{loaded.words}; {turns:.4g} {loaded.counted}, cube-mean load of the hardest {mean:.4g} N, rating life "
        f"L10 {float(lives.min()):.4g} duties; {reliability_percent:g} % of drives have no failure before {so_sure:.4g} duties"
    )
    remarks = list(loaded.remarks)
    if load.max(initial=0.0) > life.HARD_LOAD * loaded.capacity_n:
        remarks.append("loaded beyond half of its rating, where ISO 281 holds no more")
    speed, slow = turns / (60.0 * loaded.hours), life.film_fails_below_rpm(loaded.pitch_mm)
    if 0.0 < speed < slow:
        remarks.append(
            f"turns at {speed:.2g}/min: below some {slow:.0f}/min grease keeps no film, which is not counted"
        )
    if math.isfinite(band.middle) and band.middle * loaded.hours > life.LONG_HOURS:
        remarks.append("over a million hours: dirt and age end it before")
    sources = tuple(dict.fromkeys((loaded.source_key, "iso_281_2007")))
    working = Working(LIFE_EQUATION, numbers, sources)
    return LifeItem(name, title, "bearing", band, turns, loaded.counted, working, joined(*remarks))


def safety_item(
    name: str,
    title: str,
    load: float,
    strength: float,
    unit: str,
    log_sd: float,
    working: Working,
    noted: Remark = NOTHING,
) -> SafetyItem:
    """Strength over load with a band from the standard deviation of the logarithm of their ratio."""
    middle = strength / load if load > 0.0 else math.inf
    wide = math.exp(NORMAL_95 * log_sd)
    band = Span(middle / wide, middle, middle * wide)
    return SafetyItem(name, title, "bearing", band, load, strength, unit, working, noted)


def attempt(named: Sequence[tuple[str, str, bool]], make: Callable[[], tuple[Item, ...]]) -> tuple[Item, ...]:
    """What ``make`` gives; where it refuses, its sentence as the reason."""
    try:
        return make()
    except LobewrightError as error:
        why = error.sentences()[0].rstrip(".")
        return tuple(NotMade(name, title, "bearing", why, of_life) for name, title, of_life in named)
