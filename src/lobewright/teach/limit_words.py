"""What says no before a drive lets go, in words: the first limit when it is turned once, and when its duty is run through."""

from __future__ import annotations

import math
from statistics import NormalDist

from lobewright.assessment.limits import Limit, Limits
from lobewright.assessment.warmth import warm_share
from lobewright.design import model as m
from lobewright.design.catalogue_strength import ROOM_K
from lobewright.strength.items import Span
from lobewright.strength.remark import Weak
from lobewright.teach.language import Language
from lobewright.teach.reasons import Why
from lobewright.torque.interval import NORMAL_95
from lobewright.units import ZERO_CELSIUS_K

PART = "limits"
KINDS = {
    "ring_yield": "ring_yield",
    "ring_fatigue": "ring_fatigue",
    "rigid_tooth": "rigid_tooth",
    "rigid_rim": "rigid_rim",
    "bolt_shear": "pins",
    "bolt_pressure": "pins",
    "dowel_shear": "pins",
    "dowel_pressure": "pins",
    "generator_discs": "carrier",
    "generator_cam": "carrier",
    "carrier": "carrier",
    "carrier_arm": "carrier",
    "carrier_axle": "carrier",
    "carrier_axle_hole": "carrier",
    "carrier_hub": "carrier",
    "roller_bearing_static": "bearing",
    "roller_bearing": "bearing_life",
    "thin_race": "race",
    "thin_race_inner": "race",
    "thin_bearing": "bearing_life",
    "thin_bearing_static": "bearing",
    "belt_bend_radius": "belt_bend",
    "belt_cord_tension": "belt_tension",
    "belt_tooth_shear": "belt_shear",
    "belt_life": "belt_life",
}
"""Which sentence tells of a check, by the first word of its name."""
PLACES = ("rim_root", "rim_inside", "mid_barrel", "transition", "corner", "diaphragm", "boss")
"""Places of the flexible ring that stress is known of."""


def torque_words(torque_nmm: float, language: Language) -> str:
    """A torque in N·m with about three figures."""
    return language.number(float(f"{torque_nmm / 1000.0:.3g}"), torque_places(torque_nmm))


def about(torque_nmm: float, language: Language) -> str:
    """A limit in N·m with two figures: its band is wider than that."""
    torque = float(f"{torque_nmm / 1000.0:.2g}")
    return language.number(torque, max(0, 1 - math.floor(math.log10(torque))) if torque > 0.0 else 0)


def warm(design: m.Design, language: Language) -> str:
    """That a drive in warm air is softer than it was solved, as a sentence to append; empty where it is not."""
    share = warm_share(design)
    if share is None:
        return ""
    room, ambient = (language.number(one, 0) for one in (ROOM_K - ZERO_CELSIUS_K, design.ambient_temperature_C))
    return " " + language.say("torque", "warm", room=room, ambient=ambient, share=language.number(share, 2))


def torque_places(torque_nmm: float) -> int:
    """Decimals of a torque in N·m."""
    return 2 if torque_nmm < 1e4 else 1 if torque_nmm < 1e5 else 0


def first(found: Limits | Why) -> Limit | None:
    """What says no first when the output is turned once, before the drive lets go; None where nothing does or is known."""
    if isinstance(found, Why) or not found.once:
        return None
    limit = found.once[0]
    return limit if math.isfinite(limit.torque_nmm.middle) else None


def first_passed(found: Limits | Why) -> Limit | None:
    """The same where it is passed on the way; None also where something says no at any torque."""
    limit = first(found)
    return limit if limit is not None and limit.torque_nmm.middle > 0.0 else None


def limit_points(found: Limits | Why, design: m.Design, language: Language) -> tuple[str, ...]:
    """What there is to know of limits, as sentences."""
    if isinstance(found, Why):
        return (language.say(PART, "missed", list=language.say(PART, "missed_all")),)
    return (*_once(found, language), *_lasting(found, language), _missed(found, design, language))


def first_short(found: Limits | Why, language: Language) -> tuple[str, str] | None:
    """What says no first in two or three words, and its torque (empty: at any); None where nothing does or is known."""
    limit = first(found)
    if limit is None:
        return None
    named = language.say(PART, f"short_{_sentence(limit)}")
    torque = limit.torque_nmm.middle
    return named, about(torque, language) if torque > 0.0 else ""


def short_limits(found: Limits | Why, language: Language) -> list[tuple[str, float]]:
    """What says no before the drive lets go when it is turned once, each kind in two or three words with its torque [N·mm]."""
    if isinstance(found, Why):
        return []
    told: dict[str, float] = {}
    for one in found.once:
        key = _sentence(one)
        if 0.0 < one.torque_nmm.middle < math.inf and key not in told:
            told[key] = one.torque_nmm.middle
    return [(language.say(PART, f"short_{key}"), torque) for key, torque in told.items()]


def first_kinds(found: Limits) -> list[Limit]:
    """The first limit of every kind when the drive is turned once, those that are none at any torque last."""
    told: dict[str, Limit] = {}
    for one in found.once:
        told.setdefault(_sentence(one), one)
    return list(told.values())


def _sentence(limit: Limit) -> str:
    return KINDS[limit.name.partition(":")[0]]


def first_said(limit: Limit, language: Language) -> str:
    """What is said when the torque passes a limit."""
    return language.say(
        PART, "said_first", torque=torque_words(limit.torque_nmm.middle, language), what=what(limit, language)
    )


def what(limit: Limit, language: Language) -> str:
    """What happens at a limit, as a clause."""
    head, _, place = limit.name.partition(":")
    if head not in ("ring_yield", "ring_fatigue"):
        return language.say(PART, KINDS[head], ring=place)
    return language.say(PART, head, place=language.say(PART, f"place_{_place(place)}"))


def _place(name: str) -> str:
    """A place of the ring, whatever row it belongs to and however its stress lies."""
    return next(one for one in PLACES if name.startswith(one))


def _once(found: Limits, language: Language) -> tuple[str, ...]:
    limit = first(found)
    if limit is None:
        return _none(found, language)
    if limit.torque_nmm.middle <= 0.0:
        return (language.say(PART, "first_always", what=what(limit, language)),)
    return (language.say(PART, "first", what=what(limit, language), **_numbers(limit, "band", language)),)


def _none(found: Limits, language: Language) -> tuple[str, ...]:
    """Where nothing says no before the drive lets go: how much was asked, and what is nearest."""
    if not found.once:
        return ()
    own = sum(one.part in ("ring", "belt") for one in found.once)
    told = [language.say(PART, "first_none", count=len(found.once), own=own)]
    near = min(found.once, key=lambda one: one.torque_nmm.low)
    if math.isfinite(near.torque_nmm.low):
        told.append(
            language.say(
                PART,
                "nearest",
                what=what(near, language),
                low=about(near.torque_nmm.low, language),
                limit=torque_words(found.solved_nmm, language),
                share=max(1, round(10.0 * below_one(near.at_end))),
            )
        )
    return tuple(told)


def below_one(band: Span) -> float:
    """Share of drives in which a check with this 90 % band says no: logarithms normal on either side of the middle."""
    side = band.low if band.middle >= 1.0 else band.high
    if band.middle == 1.0 or side == band.middle:
        return 0.5 if band.middle == 1.0 else float(band.middle < 1.0)
    spread = abs(math.log(band.middle / side)) / NORMAL_95
    return NormalDist().cdf(-math.log(band.middle) / spread)


def _lasting(found: Limits, language: Language) -> tuple[str, ...]:
    if not found.lasting or found.rated_nmm is None:
        return ()
    limit, duty = found.lasting[0], torque_words(found.rated_nmm, language)
    if not math.isfinite(limit.torque_nmm.middle):
        # a good word for the drive only where the life of the ring itself was asked
        if not any(one.lasting and one.part == "ring" for one in found.lasting):
            return ()
        most = torque_words(found.solved_nmm / found.peak_share, language)
        return (language.say(PART, "lasting_none", limit=most, duty=duty),)
    if limit.torque_nmm.middle <= 0.0:
        return (language.say(PART, "lasting_always", what=what(limit, language)),)
    peak = about(found.peak_share * limit.torque_nmm.middle, language)
    key = "lasting" if limit.lasting else "lasting_peak"
    told = first(found)
    again = told is not None and told.torque_nmm.low > 0.0 and math.isfinite(told.torque_nmm.high)
    put = _numbers(limit, "band_again" if again else "band", language)
    return (language.say(PART, key, what=what(limit, language), duty=duty, peak=peak, **put),)


def _numbers(limit: Limit, key: str, language: Language) -> dict[str, str]:
    """Torque and band of a limit, and how weak it is."""
    band = limit.torque_nmm
    put = {"low": about(band.low, language)}
    if math.isfinite(band.high):
        put["high"] = about(band.high, language)
    else:
        key = "band_open" if band.low > 0.0 else "band_without"
    weak = [language.say(PART, f"remark_{word}") for word in Weak if word in limit.weak]
    return {
        "torque": about(band.middle, language),
        "band": "; ".join((language.say(PART, key, **put), *weak)),
    }


def _missed(found: Limits, design: m.Design, language: Language) -> str:
    """What was not computed: what no room computes, and checks that lack a figure."""
    keys = [] if isinstance(design.flexible_ring, m.MetalCup) else ["creep"]
    keys += ["wear", *(["boss"] if design.is_cup else []), *(["rigid_fatigue"] if found.lasting else [])]
    keys += [_kind(one.name) for one in found.not_made]
    keys += ["flanks", "shafts", "output", "made"]
    listed = [language.say(PART, f"missed_{key}") for key in dict.fromkeys(keys)]
    return language.say(PART, "missed", list="; ".join(listed))


def _kind(name: str) -> str:
    """Of a check that was not made; stress that could not be had is named by its place alone."""
    return KINDS.get(name.partition(":")[0], "ring_yield")
