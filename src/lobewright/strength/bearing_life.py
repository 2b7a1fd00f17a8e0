"""Life of ball bearings by ISO 281: rating life, its scatter, loads that change, swings, and what is not in it.

Lubrication and dirt (a_ISO) are not counted: with grease in a home workshop they may shorten or lengthen a life several times.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import DesignFault, Fault
from lobewright.strength.items import Span

Array = NDArray[np.float64]

EXPONENT = 3.0
RADIAL_FACTOR = 0.56
AXIAL_ROWS = (
    (0.172, 0.19, 2.30),
    (0.345, 0.22, 1.99),
    (0.689, 0.26, 1.71),
    (1.03, 0.28, 1.55),
    (1.38, 0.30, 1.45),
    (2.07, 0.34, 1.31),
    (3.45, 0.38, 1.15),
    (5.17, 0.42, 1.04),
    (6.89, 0.44, 1.00),
)
"""f0·F_a/C_0r, e, Y: ISO 281:2007, Table 3, radial contact ball bearings, as told on public pages (read second)."""
GREASE_MM2_S = 100.0
"""Viscosity of a usual grease's oil at work: common practice."""
NO_FILM = 0.1
"""Viscosity over that which ISO 281 asks for, below which its a_ISO ends: metal runs on metal."""
HARD_LOAD = 0.5
"""Load over rating above which ISO 281 holds no more (its clause 5, remembered)."""
NODES, HALVINGS = 201, 45
LONG_HOURS = 1e6


@dataclass(frozen=True)
class LifeScatter:
    """How lives of like bearings scatter: life over rating life is least + scale·(−ln R)^(1/slope), R the share that lives on."""

    name: str
    least_share: float
    scale_factor: float
    slope_factor: float

    def life_share(self, reliability_percent: float) -> float:
        """a1: life over rating life that this share of bearings reaches. Raises DesignFault beyond 0 … 100 %."""
        if not 0.0 < reliability_percent < 100.0:
            found = f"{reliability_percent:g}"
            raise DesignFault(
                [Fault("no bearing is so reliable", "reliability_percent", 0, found, "between 0 and 100")]
            )
        return self.least_share + self.scale_factor * (-math.log(reliability_percent / 100.0)) ** (
            1.0 / self.slope_factor
        )

    def reliability_percent(self, life_share: float) -> float:
        """Share of bearings that reach a life, over the rating life."""
        over = max(0.0, life_share - self.least_share) / self.scale_factor
        return 100.0 * math.exp(-(over**self.slope_factor))


_TENTH = (-math.log(0.9)) ** (1.0 / 1.5)
ISO_1990 = LifeScatter("the set before 2007", 0.0, 1.0 / _TENTH, 1.5)
"""a1 0.62, 0.53, 0.44, 0.33, 0.21 at 95 to 99 %."""
ISO_2007 = LifeScatter("ISO 281:2007", 0.05, 0.95 / _TENTH, 1.5)
"""a1 0.64, 0.55, 0.47, 0.37, 0.25: no bearing fails before a twentieth of its rating life. Used here."""


def rating_life_mrev(dynamic_rating_n: float, equivalent_load_n: float) -> float:
    """L10 = (C/P)³ in millions of turns, endless without load. Raises DesignFault for a negative load or no rating."""
    _not_negative("equivalent_load_n", equivalent_load_n)
    if not dynamic_rating_n > 0.0:
        raise DesignFault(
            [Fault("a bearing without rating", "dynamic_rating_n", 0, f"{dynamic_rating_n:g}", "above 0 N")]
        )
    return math.inf if equivalent_load_n == 0.0 else (dynamic_rating_n / equivalent_load_n) ** EXPONENT


def equivalent_load_n(radial_n: float, axial_n: float, static_rating_n: float, static_factor: float) -> float:
    """P = X F_r + Y F_a of a deep groove ball bearing, e and Y straight between the rows of the table, held at its ends."""
    _not_negative("radial_n", radial_n)
    _not_negative("axial_n", axial_n)
    if axial_n == 0.0:
        return radial_n
    asked, limit, axial = np.array(AXIAL_ROWS).T
    at = static_factor * axial_n / static_rating_n
    if axial_n <= float(np.interp(at, asked, limit)) * radial_n:
        return radial_n
    return RADIAL_FACTOR * radial_n + float(np.interp(at, asked, axial)) * axial_n


def static_equivalent_n(radial_n: float, axial_n: float) -> float:
    """P_0 = 0.6 F_r + 0.5 F_a, not less than F_r (ISO 76, deep groove)."""
    _not_negative("radial_n", radial_n)
    _not_negative("axial_n", axial_n)
    return max(radial_n, 0.6 * radial_n + 0.5 * axial_n)


def mean_load_n(load_n: Array, turns: Array) -> float:
    """The steady load that does the same harm: (Σ P³ n / Σ n)^(1/3) over turns ``n``; 0 without turns."""
    load, weight = np.asarray(load_n, dtype=float), np.asarray(turns, dtype=float)
    _not_negative("load_n", float(load.min(initial=0.0)))
    _not_negative("turns", float(weight.min(initial=0.0)))
    total = float(weight.sum())
    return float((load**EXPONENT @ weight / total) ** (1.0 / EXPONENT)) if total > 0.0 else 0.0


def film_fails_below_rpm(pitch_mm: float) -> float:
    """Speed below which grease (100 mm²/s) keeps no film: κ = 0.1 of ν₁ = 45 000 n^−0.83 D_pw^−0.5 (ISO 281, remembered)."""
    return (NO_FILM * 45_000.0 / (GREASE_MM2_S * math.sqrt(pitch_mm))) ** (1.0 / 0.83)


def least_swing_rad(balls: int) -> float:
    """Swing of one ring against the other below which the tracks of neighbouring balls do not meet: 4π/Z, as a ball follows
    with half of the turn (derived; the ball's size left out)."""
    return 4.0 * math.pi / balls


def band_of(lives: Array, log_sd: float, scatter: LifeScatter = ISO_2007) -> Span:
    """5, 50, 95 % quantiles of the first failure among like bearings of rating lives ``lives`` (B,), any unit, that share
    load and rating, whose cubed ratio is log-normal with ``log_sd``. Quadrature over that and the scatter itself."""
    low, middle, high = (quantile(lives, log_sd, share, scatter) for share in (0.05, 0.5, 0.95))
    return Span(low, middle, high)


def quantile(lives: Array, log_sd: float, failed_share: float, scatter: LifeScatter = ISO_2007) -> float:
    """Life by which a share of such sets has had its first failure; see :func:`band_of`."""
    lives = np.asarray(lives, dtype=float)
    finite = lives[np.isfinite(lives)]
    if not len(finite):
        return math.inf
    least = float(finite.min())
    ratios = tuple(round(float(ratio), 12) for ratio in np.sort(finite / least))
    return least * _first_failure(ratios, log_sd, failed_share, scatter)


@lru_cache(maxsize=4096)
def _first_failure(ratios: tuple[float, ...], log_sd: float, failed_share: float, scatter: LifeScatter) -> float:
    """The quantile for lives ``ratios`` times the least; a map of lives asks for the same ones again and again."""
    z = np.linspace(-7.0, 7.0, NODES)
    weight = np.exp(-0.5 * z**2)
    weight /= weight.sum()
    nominal = np.exp(log_sd * z)[:, None] * np.array(ratios)

    def failed(life: float) -> float:
        over = np.maximum(life / nominal - scatter.least_share, 0.0) / scatter.scale_factor
        return float(-np.expm1(-(over**scatter.slope_factor).sum(axis=1)) @ weight)

    bottom, top = -12.0 - 8.0 * log_sd, 12.0 + 8.0 * log_sd
    for _ in range(HALVINGS):
        half = 0.5 * (bottom + top)
        bottom, top = (half, top) if failed(math.exp(half)) < failed_share else (bottom, half)
    return math.exp(0.5 * (bottom + top))


def _not_negative(place: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise DesignFault([Fault("a bearing's load or turns are out of range", place, 0, f"{value:g}", "0 or more")])
