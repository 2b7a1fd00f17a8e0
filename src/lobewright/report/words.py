"""Numbers and states of the report in people's words."""

from __future__ import annotations

import math
from fractions import Fraction

from lobewright.assessment.headline import Headline, headlines
from lobewright.assessment.results import Assessment
from lobewright.design import model as m
from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.report.drive_scene import cam_outlines
from lobewright.report.figures import signed
from lobewright.verdict import State, Verdict, Working

SHOWN_KEYS = ("deflection", "centre_distance", "free_play", "bends", "neutral_radius", "strain")
PLACES = {"mm": 3, "%": 3, "°C": 0, "teeth": 0}


def member_words(name: str) -> str:
    """A member of the drive as people say it."""
    return {GENERATOR: "the wave generator", FLEXIBLE: "the flexible ring"}.get(name, f"ring {name}")


def count_words(value: Fraction) -> str:
    """A number of turns, exact where it is whole, else to three decimals."""
    return str(value.numerator) if value.denominator == 1 else f"{float(value):.3f}"


def motion_sentence(a: Assessment) -> str:
    """Ratio and direction in one sentence."""
    motion = a.motion
    size = abs(motion.ratio)
    driven, read = member_words(motion.driven), member_words(motion.read)
    way = "the same way round" if motion.same_sense else "the other way round"
    if size >= 1:
        text = f"{count_words(size)} turns of {driven} make one turn of {read}, {way}"
    else:
        text = f"One turn of {driven} makes {count_words(1 / size)} turns of {read}, {way}"
    return f"{text}; {member_words(motion.fixed)} is held."


def show(value: float, unit: str) -> str:
    """A verdict's number with its unit and as many places as help."""
    if unit == "of the height":
        return f"{signed(100 * value, 0)} % of the height"
    places = 0 if value == 0 else PLACES.get(unit, 3)
    if unit == "mm" and abs(value) >= 10:
        places = 1
    return f"{signed(value, places)} {unit}".strip()


def margin_words(verdict: Verdict) -> str:
    """What is left to the limit; empty when the check was not made."""
    if verdict.margin is None:
        return ""
    if verdict.unit == "of the height":
        return f"{signed(100 * verdict.margin, 0)} %"
    return show(verdict.margin, verdict.unit)


def ratio_words(a: Assessment) -> str:
    """The ratio the other way about: what one driven turn does."""
    motion = a.motion
    turns = float(motion.turns[motion.read])
    moved = f"{signed(360 * turns)}°" if abs(turns) < 1 else f"{signed(turns)} turns"
    return (
        f"One turn of {member_words(motion.driven)} moves {member_words(motion.read)} by {moved}. "
        "The sign is the direction, seen from the output side."
    )


def limit_words(verdict: Verdict) -> str:
    """The limit as people say it: ``at least 0.420 mm``."""
    if verdict.limit is None:
        return ""
    return f"{verdict.bound.value} {show(verdict.limit, verdict.unit)}"


def free_play_words(a: Assessment) -> str:
    """What the free play means at the output, or that there is none."""
    if a.output_free_play_rad <= 0:
        return "The teeth overlap as set: the drive binds, there is no free play."
    at_100 = 100.0 * a.output_free_play_rad
    return (
        f"At 100 mm from the axis that is {at_100:.2f} mm. A lower bound: rigid teeth, no torque, no wear; "
        "windup comes on top."
    )


def headlines_shown(a: Assessment) -> tuple[Headline, ...]:
    """Headline numbers of the report in its order. A belt's cord has no strain that a plain wall could tell."""
    rows = {row.key: row for row in headlines(a)}
    belt = isinstance(a.design.flexible_ring, m.Belt)
    return tuple(rows[key] for key in SHOWN_KEYS if key in rows and not (belt and key == "strain"))


def full_working(a: Assessment, row: Headline) -> Working:
    """The working of a headline number with every number that went in."""
    ring, radius = a.design.flexible_ring, a.geometry.neutral_radius_mm
    if isinstance(ring, m.Belt):
        pitch = a.geometry.neutral_pitch_mm(ring.teeth)
        size = f"pitch {pitch:.4f} mm, {ring.teeth} teeth"
    else:
        pitch = math.pi * ring.module_mm
        size = f"module {ring.module_mm:g} mm, {ring.teeth} teeth, wall {ring.wall_mm:g} mm"
        size += f", pitch circle {a.geometry.pitch_height_mm:.3f} mm above the neutral line"
    most = max(mesh.space.teeth - mesh.flexible_teeth for mesh in a.rings)
    per_turn = a.motion.turns_in_generator_turn.get(FLEXIBLE)
    more = {
        "deflection": f"p {pitch:.4f} mm, Z_c − Z_f {most}",
        "neutral_radius": size,
        "centre_distance": f"neutral radius {radius:.4f} mm, deflection {a.set_deflection_mm:.4f} mm",
        "bends": "" if per_turn is None else f"ω_flexible/ω_generator {per_turn}",
    }.get(row.key, "")
    numbers = "; ".join(part for part in (row.working.numbers, more) if part)
    return Working(row.working.equation, numbers, row.working.sources)


def headline_words(a: Assessment, row: Headline) -> str:
    """What a headline number means, in one or two plain sentences."""
    tolerance = a.design.generator.set_deflection_tolerance_mm
    factor = a.set_deflection_mm / a.nominal_deflection_mm
    words = {
        "deflection": f"How far the lobes push the neutral line outward: {factor:.2f} of the nominal deflection. "
        f"Set it to ± {tolerance:g} mm.",
        "centre_distance": "Measure this from the generator's axis to each centre when you set it.",
        "free_play": free_play_words(a),
        "bends": "What wears the flexible ring out: every one of these is a full bend to and fro.",
        "neutral_radius": "Radius of the line in the flexible ring that keeps its length, before bending.",
        "strain": "On the plain wall, teeth left out.",
    }
    return words[row.key]


def cam_headline(a: Assessment) -> tuple[str, str, str, Working] | None:
    """Number, title, words and working of the cam's size at lobe and minor axis; None for rollers and discs."""
    generator = a.design.generator
    if not isinstance(generator, m.Cam):
        return None
    outside, inside = cam_outlines(a)
    lobe = float(math.hypot(*inside[0]))
    at = len(inside) // (2 * a.design.lobes)
    minor = float(math.hypot(*inside[at]))
    race = float(math.hypot(*outside[0])) - lobe
    number = f"{lobe:.3f} mm"
    under = "under the thin bearing" if generator.under is m.CamUnder.THIN_BEARING else "under the ring"
    words = f"And {minor:.3f} mm at the minor axis. Check both when the cam is made."
    working = Working(
        "neutral line on the cam − depth of the ring's inner face − height of the thin bearing",
        f"neutral line {lobe + race + a.geometry.inner_offset_mm:.3f} mm at the lobe, inner face "
        f"{a.geometry.inner_offset_mm:.3f} mm below it, bearing {race:.3f} mm high",
        ("derived_here",),
    )
    return number, f"Radius of the cam at the lobe, {under}", words, working


STATE_ORDER = (State.FAIL, State.WARN, State.PASS, State.NOT_MADE)
STATE_COUNT_WORDS = {
    State.FAIL: ("1 check fails", "{} checks fail"),
    State.WARN: ("1 check warns", "{} checks warn"),
    State.PASS: ("1 check passes", "{} checks pass"),
    State.NOT_MADE: ("1 check is not made", "{} checks are not made"),
}


def state_counts(a: Assessment) -> tuple[tuple[State, str], ...]:
    """How many verdicts have each state, in words, worst first; states without any left out."""
    found = []
    for state in STATE_ORDER:
        count = sum(verdict.state is state for verdict in a.verdicts)
        if count:
            one, many = STATE_COUNT_WORDS[state]
            found.append((state, one if count == 1 else many.format(count)))
    return tuple(found)


def sorted_verdicts(a: Assessment) -> tuple[Verdict, ...]:
    """Verdicts with the worst first, otherwise in the order in which a builder meets them."""
    return tuple(sorted(a.verdicts, key=lambda verdict: STATE_ORDER.index(verdict.state)))
