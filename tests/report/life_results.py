"""Invented strength and life for the tests of pictures and words: plausible numbers, none of them computed."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from lobewright.assessment.life import Life
from lobewright.design.model import Criterion
from lobewright.sources import Flag
from lobewright.strength.course import CupProfile, StressCourse
from lobewright.strength.duty import Duty, DutyPart
from lobewright.strength.items import Item, LifeItem, NotMade, SafetyItem, Span
from lobewright.strength.material import REMEMBERED, Direction, StrengthData
from lobewright.strength.parked import Parked
from lobewright.strength.point import LifeMap, PointLife
from lobewright.strength.remark import Remark
from lobewright.strength.sn import SnCurve
from lobewright.torque.interval import Interval
from lobewright.verdict import State, Verdict, Working

WORKING = Working("an invented equation", "an invented number 3", ("derived_here",))
MAINLY = "mainly remembered: no published curve of this print was found"
BEYOND = "its cycles lie beyond every test"
ENDLESS = Span(math.inf, math.inf, math.inf)


def invented_duty() -> Duty:
    """Five steps of the mirror on the school roof: a day's tracking, returns, gusts, a storm, and holding still."""
    rows = (
        ("track the sun, a school year", 900.0, 1200.0, 4000.0, 1.2e6, 5.0, 4.8e6),
        ("return at night", 600.0, 600.0, 120.0, 2.2e5, 30.0, 8.7e5),
        ("gusts", 2400.0, 3000.0, 60.0, 9000.0, 2.5, 3.6e4),
        ("storm, run home", 3600.0, 4200.0, 2.0, 400.0, 3.0, 1600.0),
        ("stand parked", 1500.0, 1500.0, 4000.0, 0.0, 0.0, 0.0),
    )
    parts = tuple(
        DutyPart(name, torque, peak, hours, turns, rpm, bends, turns / 50.0, None, 0.0, 0.0, 0.0)
        for name, torque, peak, hours, turns, rpm, bends in rows
    )
    return Duty(2, parts, None)


def invented_course(name: str, title: str, surface: str, size_mpa: float, **changes: Any) -> StressCourse:
    """A wave of twice the lobes that leans over and grows as the torque grows."""
    label = np.arange(-180.0, 180.0, 3.0)
    turn = np.radians(label)
    torque = np.array([0.0, 1500.0, 3000.0, 4200.0])
    rows = []
    for t in torque / 4200.0:
        hoop = size_mpa * (np.cos(2 * turn) + 0.35 * t * np.sin(2 * turn) + 0.2 * t * np.cos(6 * turn + 0.6) + 0.1 * t)
        rows.append(np.column_stack((0.3 * hoop, hoop, 0.2 * t * size_mpa * np.sin(4 * turn))))
    values: dict[str, Any] = {
        "name": name,
        "title": title,
        "surface": surface,
        "from_edge_mm": 6.0,
        "torque_nmm": torque,
        "label_deg": label,
        "stress_mpa": np.array(rows),
        "notch_factor": 1.8 if "root" in name else 1.0,
        "notch_radius_mm": 0.25 if "root" in name else math.inf,
        "direction": Direction.IN_LAYERS,
        "model_spread": 1.25,
        "model_words": "invented",
    }
    return StressCourse(**{**values, **changes})


def invented_curve(**changes: Any) -> SnCurve:
    """A print's curve, tested to a million cycles."""
    values: dict[str, Any] = {
        "cycles": np.array([1e3, 1e4, 1e6]),
        "amplitude_mpa": np.array([19.0, 15.0, 8.5]),
        "beyond_slope": 12.0,
        "spread": 1.3,
        "tested_to_cycles": 1e6,
    }
    return SnCurve(**{**values, **changes})


def invented_data(**changes: Any) -> StrengthData:
    """A print with all figures but its yield stress."""
    modulus = Interval("modulus_mpa", 1700.0, 2000.0, 2300.0, False, "derived_here", Flag.DERIVED)
    values: dict[str, Any] = {
        "material": "petg_printed",
        "words": "printed PETG, layers across the axis",
        "direction": Direction.IN_LAYERS,
        "temperature_k": 298.0,
        "metal": False,
        "modulus_mpa": modulus,
        "ultimate_mpa": None,
        "yield_mpa": None,
        "curve": invented_curve(),
        "curve_words": "an invented curve of printed bars, 5 Hz, ratio −1",
        "creep": None,
        "lacking": (("yield", "a print has no yield stress that was found"),),
        "remarks": (("curve", REMEMBERED), ("ultimate", REMEMBERED)),
        "source_keys": ("derived_here",),
    }
    return StrengthData(**{**values, **changes})


def invented_point(course: StressCourse, factor: float = 1.0, **changes: Any) -> PointLife:
    """A place over the invented duty; ``factor`` scales its stresses."""
    duty = invented_duty()
    alternating = factor * np.array([5.2, 4.9, 7.4, 10.4, 6.0])
    values: dict[str, Any] = {
        "course": course,
        "data": invented_data(),
        "fatigue_notch_factor": 1.8,
        "steps": tuple(part.name for part in duty.parts),
        "cycles": np.array([part.bends for part in duty.parts]),
        "alternating_mpa": alternating,
        "mean_mpa": 0.3 * alternating,
        "equivalent_mpa": 1.15 * alternating,
        "damage": np.array([0.31, 0.04, 0.012, 0.009, 0.0]),
        "curve": invented_curve(),
        "stress_spread": 1.28,
        "criterion": Criterion.MODIFIED_GOODMAN,
        "duties": Span(0.3, 2.7, 31.0),
        "safety": {
            Criterion.MODIFIED_GOODMAN: Span(0.7, 1.04, 1.5),
            Criterion.GERBER: Span(0.8, 1.12, 1.7),
            Criterion.ASME_ELLIPTIC: Span(0.8, 1.15, 1.7),
            Criterion.SODERBERG: Span(0.6, 0.96, 1.4),
        },
        "first_cycle": None,
        "beyond_evidence": BEYOND,
    }
    return PointLife(**{**values, **changes})


def invented_profile() -> CupProfile:
    """A thin cup: 14 mm of diaphragm, a corner, a barrel, a rim."""
    spans = (("diaphragm", 0.0, 14.0), ("corner", 14.0, 18.5), ("barrel", 18.5, 52.0), ("rim", 52.0, 64.0))
    arc, names = [], []
    for name, start, end in spans:
        places = np.linspace(start, end, 15)
        arc += list(places)
        names += [name] * len(places)
    s = np.array(arc)
    outside = 12.0 + 42.0 * np.exp(-(((s - 16.0) / 3.0) ** 2)) + 30.0 * (s / 64.0) ** 2 + 9.0 * np.exp(-s / 3.0)
    inside = 10.0 + 30.0 * np.exp(-(((s - 15.0) / 4.0) ** 2)) + 38.0 * (s / 64.0) ** 3
    equivalent = np.column_stack((inside, outside))
    return CupProfile(4200.0, s, np.maximum(0.0, 64.0 - s), tuple(names), equivalent, 0.7 * equivalent - 5.0)


def invented_map(speeds: tuple[float, ...] = (1.0, 5.0, 30.0)) -> LifeMap:
    """Ring, rollers and the generator's own bearing; lives fall with the third and twelfth power of the torque."""
    torque = np.linspace(200.0, 4200.0, 21)
    hours = np.empty((3, len(speeds), len(torque), 3))
    for s, speed in enumerate(speeds):
        ring = np.where(torque < 1100.0, np.inf, 3e4 / speed * (3000.0 / torque) ** 9)
        rollers = 9e4 / speed * (3000.0 / torque) ** 3
        carrier = np.full(len(torque), np.inf)
        for w, middle in enumerate((ring, rollers, carrier)):
            spread = (12.0, 4.0, 1.0)[w]
            hours[w, s] = np.column_stack((middle / spread, middle, middle * spread))
        # where the middle is endless the low end is not yet
        hours[0, s, :, 0] = 3e4 / speed / 12.0 * (3000.0 / np.maximum(torque, 600.0)) ** 9
    return LifeMap(("ring", "rollers", "bearing of the generator"), torque, np.array(speeds), hours)


def invented_parked(**changes: Any) -> Parked:
    """A print that keeps two thirds of its stress over a month."""
    hours = np.geomspace(1.0 / 60.0, 5.0 * 8766.0, 60)
    share = (hours * 60.0) ** -0.04
    left = np.column_stack((share**1.7, share, share**0.6))
    values: dict[str, Any] = {
        "hours": hours,
        "stress_left": left,
        "set_share": 1.0 - left[:, ::-1],
        "asked_hours": 720.0,
        "advice": "turn the generator by half a turn every week, or take it out before the holidays",
        "noted": Remark("beyond a thousand hours no test stands behind it"),
    }
    return Parked(**{**values, **changes})


def invented_items() -> tuple[Item, ...]:
    """Lives and safeties, the weakest first, and two checks that were not made."""
    return (
        LifeItem(
            "ring_root",
            "Flexible ring, root of the teeth",
            "ring",
            Span(0.3, 2.7, 31.0),
            5.7e6,
            "bends",
            WORKING,
            Remark(MAINLY),
        ),
        LifeItem(
            "rollers",
            "Rollers of the generator, 608",
            "bearing",
            Span(3.1, 12.0, 48.0),
            2.9e6,
            "turns of a roller",
            WORKING,
        ),
        LifeItem(
            "ring_inside",
            "Flexible ring, inner face under the rollers",
            "ring",
            Span(40.0, 1.4e6, math.inf),
            5.7e6,
            "bends",
            WORKING,
            Remark(BEYOND),
        ),
        LifeItem("carrier", "Bearing of the generator", "bearing", ENDLESS, 1.4e6, "turns", WORKING),
        SafetyItem(
            "layers",
            "Layers of the ring against tearing apart",
            "ring",
            Span(0.8, 1.37, 2.2),
            9.1,
            12.5,
            "MPa",
            WORKING,
            Remark(MAINLY),
        ),
        SafetyItem(
            "bolts", "Bolts of the base against slipping", "rigid", Span(2.1, 3.4, 5.0), 140.0, 476.0, "N", WORKING
        ),
        SafetyItem(
            "static", "Rollers at rest, static load", "bearing", Span(8.0, 9.5, 11.0), 145.0, 1370.0, "N", WORKING
        ),
        NotMade("belt_teeth", "Teeth of the belt", "belt", "this drive has no belt"),
        NotMade("first_cycle", "Yielding at the first turn", "ring", "no yield stress of <this print> was found"),
    )


def invented_verdicts() -> tuple[Verdict, ...]:
    """One that fails and one that was not made."""
    sentence = "the ring may crack before the duty is over: the low end of its band is 0.3 times the duty."
    return (
        Verdict("life:ring", "Life of the flexible ring", State.FAIL, sentence, WORKING, "duties", 0.3, 1.0),
        Verdict("yield:ring", "Yielding of the ring", State.NOT_MADE, "no yield stress was found", WORKING),
    )


def invented_life(**changes: Any) -> Life:
    """All of it; ``changes`` by field of Life."""
    root = invented_course("rim_root", "Root of the teeth", "outside", 9.0)
    inside = invented_course("rim_inside", "Inner face under the rollers", "inside", 6.0)
    easy = replace(invented_point(inside, 0.6), duties=Span(40.0, 1.4e6, math.inf), damage=np.zeros(5))
    values: dict[str, Any] = {
        "duty": invented_duty(),
        "items": invented_items(),
        "courses": (root, inside),
        "points": (easy, invented_point(root)),
        "profile": invented_profile(),
        "life_map": invented_map(),
        "parked": invented_parked(),
        "verdicts": invented_verdicts(),
    }
    return Life(**{**values, **changes})
