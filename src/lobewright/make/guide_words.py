"""Words of the assembly instructions, put together from the design's numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from lobewright.assessment.headline import ARCMIN_PER_RAD
from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.assembling import assembly_cautions
from lobewright.make.bodies import Part
from lobewright.make.guide_tools import tool_lines
from lobewright.make.parts import prints

PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Section:
    """A headed piece of the instructions; ``flag`` tells where its words come from when they are not the design's numbers."""

    title: str
    lines: tuple[str, ...]
    flag: str = ""


@dataclass(frozen=True)
class Expected:
    """One row of the check sheet."""

    what: str
    expected: str


def count_of(number: int) -> str:
    """Small numbers as words."""
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
    return words[number] if number < len(words) else str(number)


def member(name: str) -> str:
    """A member of the drive, as it is called in a sentence."""
    known = {"generator": "the generator", "flexible_ring": "the flexible ring"}
    return known.get(name, f"ring {name}")


def _lobe_count(teeth: int, lobes: int) -> str:
    """Teeth from one lobe to the next, as they can be counted."""
    share = Fraction(teeth, lobes)
    low = math.floor(share)
    return f"{low}" if share.denominator == 1 else f"{low} or {low + 1}"


def middle_edge(ring: RingMesh) -> float:
    """Radial gap of tips midway between lobes in the middle of the face, as set, mm."""
    return ring.edges[len(ring.edges) // 2].minor_gap_mm


def centred(a: Assessment) -> Section:
    """How to see that the mesh sits centred and not a tooth off."""
    lobes = a.design.lobes
    word = count_of(lobes)
    lines = [
        f"The generator has {word} lobes. Mark the flexible tooth at the middle of each lobe, and the space of "
        f"the rigid ring "
        "that it sits in (turn a lobe to the notch first: it marks one). Count along both ways round from mark to mark:"
    ]
    for ring in a.rings:
        less = ring.space.teeth - ring.flexible_teeth
        meant = (
            f"the ring has {less} teeth more, {Fraction(less, lobes)} a lobe"
            if less
            else "both have the same number, so that they turn together"
        )
        lines.append(
            f"Ring {ring.name}: {_lobe_count(ring.space.teeth, lobes)} spaces of the rigid ring "
            f"({ring.space.teeth} in all) and "
            f"{_lobe_count(ring.flexible_teeth, lobes)} teeth of the flexible ring ({ring.flexible_teeth} in "
            f"all): {meant}."
        )
    gaps = ", ".join(f"{middle_edge(ring):.2f} mm at ring {ring.name}" for ring in a.rings)
    lines += [
        "One more on one side and one less on the other: it sits a tooth off. Draw the rings apart along the "
        "axis, bring the "
        "flexible ring to the middle by hand, and push them together again squarely, all teeth at once.",
        f"Midway between the lobes the tips must clear by the same gap on all sides (computed: {gaps}). Look "
        f"through against a "
        "light.",
        "It feels right when the drag is even all the way round. A tooth off, the flexible ring is pushed to "
        "one side: the drag "
        "comes and goes as the generator turns, and at one lobe the teeth hardly go in.",
    ]
    return Section("See that the mesh sits centred", tuple(lines))


def lubrication(a: Assessment) -> Section:
    """What to grease with, by what the ring is made of."""
    ring, printed = a.design.flexible_ring, isinstance(a.design.process, m.Printer)
    if isinstance(ring, m.Belt):
        lines = [
            "Teeth: run the belt dry, or with a breath of silicone grease or dry PTFE. Keep mineral oil and "
            "solvents off: "
            "rubber swells in them.",
        ]
    elif isinstance(ring, m.MetalCup):
        lines = [
            "While it is put together: the thin bearing before it goes on the cam, the teeth of ring and cup before the cup "
            "goes on. Nothing of it can be reached once the front plate is on.",
            "Teeth: a film of lithium or calcium soap grease of class NLGI 1 or 2 with additives for high "
            "pressure, pressed into "
            "the spaces all round. Wipe off and renew it when it turns dark.",
            "Thin bearing: the same grease, a third of its free space.",
        ]
    else:
        lines = [
            "Teeth: silicone grease, or grease with PTFE, as thin as it covers. Try it on a scrap of the same "
            "plastic for a "
            "week first: mineral oil cracks some plastics under stress.",
        ]
    generator = a.design.generator
    if not isinstance(generator, m.Cam):
        lines.append(
            "Ball bearings with seals or shields: nothing. Wipe off grease that creeps out to where it can throw."
        )
    elif generator.under is m.CamUnder.THIN_BEARING and not isinstance(ring, m.MetalCup):
        lines.append("Thin bearing: a third of its free space with lithium soap grease, before it goes on the cam.")
    elif not isinstance(ring, m.MetalCup):
        lines.append("Between cam and ring: the same grease, renewed when it squeaks.")
    if printed and not isinstance(ring, m.MetalCup):
        lines.append(
            "Do not grease for the first run of a printed drive: first listen to it dry, by hand, a few turns; then the front "
            "plate and the output come off once more for it."
        )
    return Section("Grease", tuple(lines), PRACTICE)


def turns(a: Assessment) -> str:
    """Turns of the driven member for one of the member that is read, as a number."""
    ratio = abs(a.motion.ratio)
    return f"{float(ratio):.3f}".rstrip("0").rstrip(".")


def first_run(a: Assessment) -> Section:
    """The first run, by hand."""
    sense = "the same way as" if a.motion.same_sense else "against"
    degrees = 360 / abs(float(a.motion.ratio))
    hand = (
        "a hand on the crank"
        if a.design.assembly.input is m.Input.CRANK
        else "the motor unplugged, a hand on its coupling"
    )
    lines = (
        f"Nothing on the output, the power off, {hand}. Mark the output and what it stands on.",
        f"One turn moves the output by {degrees:.2f}°, {sense} the generator. {turns(a)} turns bring the mark "
        f"round once. A mark "
        "that comes early or late tells of a wrong tooth count, or of skipping.",
        "Turn ten turns one way, ten the other, ear close: an even rustle is good. A click that comes once a "
        "turn is a burr or a "
        "high tooth: look where it is, clean it. Clicks in bunches under load are skipping: stop. A squeak asks "
        "for grease, a "
        "growl for a look at the bearings.",
        "Then hold the generator and rock the output: that is the free play. Note it, and again after a month.",
        "Only then a motor, the crank taken off, its current set low: a minute each way without load, hands "
        "away. Then power off "
        "and unplugged, wait until it stands, and only now feel the ring: warm is good, hot to the touch is not.",
    )
    return Section("First run, by hand", lines)


def before(a: Assessment, parts: Sequence[Part]) -> Section:
    """What has to lie ready, and how made parts are readied, by how each was made."""
    made = [part for part in parts if not part.designation]
    printed = isinstance(a.design.process, m.Printer) and any(prints(part) for part in made)
    kinds = {catalogue.material(part.material).kind for part in made if part.material}
    lines = []
    if printed:
        lines.append(
            "Printed parts: knock off strings and burrs, push a drill through holes that one layer closes, run "
            "every screw through "
            "its hole once. Keep to one printer and one spool for parts that fit each other."
        )
    if catalogue.MaterialKind.POWDER_BED in kinds:
        lines.append(
            "Parts from a powder bed: blow and brush the powder out of teeth and holes; their skin stays a "
            "little rough."
        )
    if not printed:
        lines.append("Cut parts: break all sharp edges, wash off chips and oil, run every screw through its hole once.")
    lines.append(
        'Lay all parts out and count them against the list. Parts marked "may be skipped" are for measuring or for comfort.'
    )
    return Section("Before you begin", (*tool_lines(a, parts), *lines), PRACTICE)


def check_sheet(a: Assessment) -> tuple[Expected, ...]:
    """What to write down at the first run."""
    lobes = a.design.lobes
    rows = []
    for ring in a.rings:
        spaces, teeth = _lobe_count(ring.space.teeth, lobes), _lobe_count(ring.flexible_teeth, lobes)
        rows.append(
            Expected(f"Spaces of ring {ring.name} / flexible teeth, lobe to lobe, one way", f"{spaces} / {teeth}")
        )
        rows.append(Expected("the same, other way", f"{spaces} / {teeth}"))
    rows += [
        Expected(f"Gap of tips midway, ring {ring.name}, on all sides alike", f"{middle_edge(ring):.2f} mm")
        for ring in a.rings
    ]
    play, arm = a.output_free_play_rad, a.design.assembly.arm_mm
    rows += [
        Expected("Turns of the generator for one of the output", turns(a)),
        Expected("Sense of the output, against the generator's", "same" if a.motion.same_sense else "opposite"),
        Expected("Drag of the generator over one turn", "even"),
        Expected(
            f"Free play of the output, to and fro, at {arm:g} mm from the axis",
            f"at least {play * arm:.2f} mm ({play * ARCMIN_PER_RAD:.0f} arcmin)",
        ),
        Expected("Skipping or clicks in ten turns each way", "none"),
    ]
    if isinstance(a.design.process, m.Printer):
        rows += [Expected(f"All screws and nuts tightened again after a {when}", "tick") for when in ("day", "month")]
    else:
        most = a.design.generator.run_out_mm
        rows.append(Expected("Lobes of the generator under a dial gauge, alike within", f"{most:g} mm"))
        rows.append(Expected("All screws and nuts tightened again after the first hours", "tick"))
    return tuple(rows)


NOT_JUDGED = "hub of the output not judged"
"""How a caution begins that tells the maker of one part what to make it of: it stands in that part's row."""


def told_with(part: Part) -> str:
    """What the maker of a part has to know besides its material; empty for nothing."""
    return next((text for text in part.note.split("; ") if text.startswith(NOT_JUDGED)), "")


def cautions(a: Assessment) -> tuple[str, ...]:
    """The assessment's cautions, those of putting together, of a first run and of tests, and those of this assembly.

    What only the maker of one part has to know stands with that part (:func:`told_with`).
    """
    of_assembly = [text for text in assembly_cautions(a) if not text.startswith(NOT_JUDGED)]
    found = (
        *a.cautions,
        "Before a hand goes near the mesh: power off and unplugged, the load propped. A motor that only stands "
        "still can start.",
        "Energy is stored in a lifted load and in a wound-up drive: let both down slowly before a screw is loosened.",
        "Tests with weights: the drive screwed down, a box of sand below, feet and face away, weights added slowly; stop at the "
        "first click.",
        *(f"{text[:1].upper()}{text[1:]}{'' if text.endswith('.') else '.'}" for text in of_assembly),
    )
    return tuple(dict.fromkeys(found))
