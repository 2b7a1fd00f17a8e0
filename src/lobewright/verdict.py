"""What a check says: pass, warn, fail, or not made, with the number, the limit and the working behind it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum


class State(StrEnum):
    """Outcome of a check, in words that are printed as they stand."""

    PASS = "pass"
    WARN = "warn"
    FAIL = "fail"
    NOT_MADE = "not made"


class Bound(StrEnum):
    """Which side of the limit is good."""

    AT_LEAST = "at least"
    AT_MOST = "at most"


@dataclass(frozen=True)
class Working:
    """How a headline number came about: the equation, the numbers put in, and the source keys behind them."""

    equation: str
    numbers: str
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class Verdict:
    """One check.

    ``name`` is stable and machine-readable (``ring_land:output``), ``title`` is what people read. ``value`` and ``limit``
    share ``unit``; both are None when the check was not made. ``margin`` is positive on the good side.
    """

    name: str
    title: str
    state: State
    sentence: str
    working: Working
    unit: str = ""
    value: float | None = None
    limit: float | None = None
    bound: Bound = Bound.AT_LEAST

    @property
    def margin(self) -> float | None:
        """Distance from the limit to the good side, in ``unit``; None when the check was not made."""
        if self.value is None or self.limit is None:
            return None
        signed = self.value - self.limit
        return signed if self.bound is Bound.AT_LEAST else -signed


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]


def judge(value: float, fail_limit: float, warn_limit: float | None = None, bound: Bound = Bound.AT_LEAST) -> State:
    """Grade a number against a fail limit and an optional stricter warn limit.

    A number that is not finite is a failure of the caller, not a grade.
    """
    if not math.isfinite(value):
        raise ValueError(f"cannot grade {value!r}")
    sign = 1.0 if bound is Bound.AT_LEAST else -1.0
    if sign * value < sign * fail_limit:
        return State.FAIL
    if warn_limit is not None and sign * value < sign * warn_limit:
        return State.WARN
    return State.PASS


def worst(verdicts: tuple[Verdict, ...], strict: bool = False) -> State:
    """The outcome of many verdicts: fail over not made (when ``strict``) over warn over pass."""
    states = {v.state for v in verdicts}
    if State.FAIL in states:
        return State.FAIL
    if strict and State.NOT_MADE in states:
        return State.NOT_MADE
    return State.WARN if State.WARN in states else State.PASS
