"""Load ratings of single-row radial ball bearings: typed, from counted balls, as printed, from the catalogue's balls.

ISO 281:2007, clause 5, and ISO 76:2006, clause 5, both remembered and held to printed ratings by the evidence: grooves as usual
(radius 0.52 of the ball), balls in a cage, good steel. Full complements, hybrid and stainless bearings are not in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.workshop import OwnedBearings
from lobewright.errors import CatalogueFault, DesignFault, Fault
from lobewright.sources import Flag
from lobewright.torque.interval import Interval

MATERIAL_FACTOR = 1.3
"""b_m of ISO 281 for radial ball bearings of today's steel."""
GROOVE_CONSTANT = 38.197
"""Of f_c: with it the formula meets the standard's whole table within 0.2 %."""
LARGE_BALL_MM = 25.4
STATIC_SHARES = (0.0, 0.05, 0.09, 0.10, 0.15, 0.20, 0.25, 0.26, 0.27, 0.30, 0.35, 0.40)
STATIC_FACTORS = (14.7, 15.7, 16.5, 16.4, 15.2, 14.0, 12.8, 12.5, 12.3, 11.6, 10.5, 9.4)
"""f0 of ISO 76 over ball diameter / pitch diameter."""
TYPED_SPREAD, COUNTED_SPREAD, PRINTED_SPREAD = 1.05, 1.10, 1.10
"""90 % bands as factors either way: of a data sheet, of a count with a caliper, of printed ratings of common series: two prints
differ by 2 % there."""
THIN_DYNAMIC, THIN_STATIC = 1.4, 1.6
"""The same of one printed rating of a thin series: prints of 61800 to 61901 and 61804 differ by 1.3 to 1.5, static 1.5 to 1.7."""
USUAL_BALL = 0.3
"""Ball diameter over outer diameter less bore: common practice."""


@dataclass(frozen=True)
class BearingRating:
    """Ratings of one bearing with their 90 % intervals, None where unknown. ``static_factor``: f0 of ISO 76, estimated where the
    balls are not known. ``balls``: None where not known. ``pitch_mm``: diameter through the balls' centres. ``words``: where
    the ratings come from."""

    designation: str
    dynamic_n: Interval | None
    static_n: Interval | None
    static_factor: float
    balls: int | None
    pitch_mm: float
    words: str


def geometry_factor(ball_share: float, inner_groove_share: float = 0.52, outer_groove_share: float = 0.52) -> float:
    """f_c of ISO 281 for one row of balls: ``ball_share`` is D_w·cos α/D_pw, groove radii are over the ball's diameter.

    Raises DesignFault where balls or grooves are impossible.
    """
    _positive("ball_share", ball_share, "more than 0, less than 1", ball_share < 1.0)
    for name, share in (("inner_groove_share", inner_groove_share), ("outer_groove_share", outer_groove_share)):
        _positive(name, share, "more than 0.5, up to 1", 0.5 < share <= 1.0)
    inner, outer, g = 2.0 * inner_groove_share - 1.0, 2.0 * outer_groove_share - 1.0, ball_share
    grooves = (inner_groove_share * outer / (outer_groove_share * inner)) ** 0.41
    rings = (1.0 + (1.04 * ((1.0 - g) / (1.0 + g)) ** 1.72 * grooves) ** (10.0 / 3.0)) ** -0.3
    curve = g**0.3 * (1.0 - g) ** 1.39 / (1.0 + g) ** (1.0 / 3.0)
    return GROOVE_CONSTANT * rings * curve * (2.0 * inner_groove_share / inner) ** 0.41


def static_factor(ball_share: float) -> float:
    """f0 of ISO 76, straight between the table's rows; DesignFault beyond 0 … 0.4."""
    _positive("ball_share", ball_share, "more than 0, up to 0.4", ball_share <= STATIC_SHARES[-1])
    return float(np.interp(ball_share, STATIC_SHARES, STATIC_FACTORS))


def dynamic_rating_n(
    balls: int,
    ball_mm: float,
    pitch_mm: float,
    contact_deg: float = 0.0,
    inner_groove_share: float = 0.52,
    outer_groove_share: float = 0.52,
) -> float:
    """Basic dynamic radial rating C_r = b_m f_c (cos α)^0.7 Z^(2/3) D_w^1.8 [N], with 3.647 D_w^1.4 above 25.4 mm.

    Raises DesignFault for balls that are none or have no room.
    """
    cosine = _checked(balls, ball_mm, pitch_mm, contact_deg)
    size = ball_mm**1.8 if ball_mm <= LARGE_BALL_MM else 3.647 * ball_mm**1.4
    factor = geometry_factor(ball_mm * cosine / pitch_mm, inner_groove_share, outer_groove_share)
    return MATERIAL_FACTOR * factor * cosine**0.7 * balls ** (2.0 / 3.0) * size


def static_rating_n(balls: int, ball_mm: float, pitch_mm: float, contact_deg: float = 0.0) -> float:
    """Basic static radial rating C_0r = f0 Z D_w² cos α [N]; DesignFault as :func:`dynamic_rating_n`."""
    cosine = _checked(balls, ball_mm, pitch_mm, contact_deg)
    return static_factor(ball_mm * cosine / pitch_mm) * balls * ball_mm**2 * cosine


def rating_of(design: m.Design, designation: str) -> BearingRating:
    """Ratings of a bearing in a design: what its workshop types, else balls that it counted, else as printed, else from the
    catalogue's balls. Raises CatalogueFault for an unknown designation, DesignFault for balls that have no room."""
    bearing = catalogue.bearing(designation)
    owned = _owned(design, bearing)
    pitch = 0.5 * (bearing.bore_mm + bearing.outer_mm)
    counted = owned is not None and (owned.balls is not None or owned.ball_mm is not None)
    balls = bearing.balls if owned is None or owned.balls is None else owned.balls
    ball = bearing.ball_diameter_mm if owned is None or owned.ball_mm is None else owned.ball_mm
    dynamic = static = None
    words = f"no rating of a bearing {bearing.designation} is known"
    printed = catalogue.bearing_ratings(designation)
    if balls is not None and ball is not None and (counted or printed is None):
        dynamic, static = _of_balls(balls, ball, pitch, counted)
        words = f"{balls} balls of {ball:g} mm, {'counted by you' if counted else 'from the catalogue'}"
    elif printed is not None:
        dynamic, static = _printed(printed, "dynamic_rating_n"), _printed(printed, "static_rating_n")
        words = "as printed in public tables"
    if owned is not None and (owned.dynamic_rating_N is not None or owned.static_rating_N is not None):
        dynamic = _typed("dynamic_rating_n", owned.dynamic_rating_N) or dynamic
        static = _typed("static_rating_n", owned.static_rating_N) or static
        typed = [name for name in ("dynamic", "static") if getattr(owned, f"{name}_rating_N") is not None]
        words = "typed in your workshop file" if len(typed) == 2 else f"{typed[0]} typed, else {words}"
    share = (ball if ball is not None else USUAL_BALL * (bearing.outer_mm - bearing.bore_mm)) / pitch
    return BearingRating(bearing.designation, dynamic, static, static_factor(min(share, 0.4)), balls, pitch, words)


def lacking(rating: BearingRating) -> str:
    """What to do about a rating that is not known."""
    return (
        f"no load rating of bearing {rating.designation} is known: type dynamic_rating_N and static_rating_N of its data sheet, "
        "or balls and ball_mm, in the workshop's [[bearings]]"
    )


def _owned(design: m.Design, bearing: catalogue.Bearing) -> OwnedBearings | None:
    """The workshop's entry for a bearing that tells most of it."""
    found = [one for one in (design.owned.bearings if design.owned else ()) if _same(one.designation, bearing)]
    told = [one for one in found if one.dynamic_rating_N or one.static_rating_N or one.balls or one.ball_mm]
    return told[0] if told else None


def _same(designation: str, bearing: catalogue.Bearing) -> bool:
    try:
        return catalogue.bearing(designation).designation == bearing.designation
    except CatalogueFault:
        return False


def _spread(name: str, middle: float, factor: float, measured: bool, source_key: str, flag: Flag) -> Interval:
    return Interval(name, middle / factor, middle, middle * factor, measured, source_key, flag)


def _typed(name: str, value: float | None) -> Interval | None:
    if value is None:
        return None
    return _spread(name, value, TYPED_SPREAD, True, "trade_practice", Flag.COMMON_PRACTICE)


def _of_balls(balls: int, ball_mm: float, pitch_mm: float, counted: bool) -> tuple[Interval, Interval]:
    values = (dynamic_rating_n(balls, ball_mm, pitch_mm), static_rating_n(balls, ball_mm, pitch_mm))
    dynamic, static = (
        _spread(name, value, COUNTED_SPREAD, counted, key, Flag.REMEMBERED)
        for name, value, key in zip(
            ("dynamic_rating_n", "static_rating_n"), values, ("iso_281_2007", "iso_76_2006"), strict=True
        )
    )
    return dynamic, static


def _printed(row: catalogue.BearingRatings, name: str) -> Interval:
    origin = row.origin(name)
    prints = (getattr(row, name), *origin.others)
    thin = row.designation[:2] in ("61", "68", "69", "MR") or "/" in row.designation
    spread = PRINTED_SPREAD
    if thin and len(prints) == 1:
        spread = THIN_DYNAMIC if name == "dynamic_rating_n" else THIN_STATIC
    low, high = min(prints), max(prints)
    return Interval(name, low / spread, math.sqrt(low * high), high * spread, False, origin.source.key, origin.flag)


def _checked(balls: int, ball_mm: float, pitch_mm: float, contact_deg: float) -> float:
    """Cosine of the contact angle, once all of it can be."""
    _positive("balls", balls, "at least 3", balls >= 3)
    _positive("ball_mm", ball_mm, "more than 0 mm, less than the pitch diameter", 0.0 < ball_mm < pitch_mm)
    _positive("contact_deg", 1.0 + contact_deg, "0° to 45°", 0.0 <= contact_deg <= 45.0)
    room = math.pi / math.asin(ball_mm / pitch_mm)
    _positive(
        "balls", balls, f"at most {int(room + 1e-9)} balls of {ball_mm:g} mm on {pitch_mm:g} mm", balls <= room + 1e-9
    )
    return math.cos(math.radians(contact_deg))


def _positive(place: str, value: float, allowed: str, good: bool) -> None:
    if not (math.isfinite(value) and value > 0.0 and good):
        raise DesignFault([Fault("this ball bearing cannot be", place, 0, f"{value:g}", allowed)])
