"""Words of the assembly instructions, put together from the design's numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from lobewright.assessment.headline import ARCMIN_PER_RAD
from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import model as m
from lobewright.make.bodies import Group, Part
from lobewright.make.drawer import SCREW, bearing_of
from lobewright.make.guide_pictures import Lot
from lobewright.make.placing import Member

PRACTICE = "common practice, no source"
TITLES: tuple[tuple[Group, str], ...] = (
    (Group.FLEXIBLE_RING, "the flexible ring"),
    (Group.RIGID_RING, "the rigid ring"),
    (Group.OUTPUT, "the output"),
    (Group.INPUT, "what turns it"),
    (Group.FRAME, "the frame"),
    (Group.GENERATOR, "the wave generator"),
    (Group.TEST, "arms for weights"),
    (Group.BOUGHT, "bearings and fasteners"),
)
"""What a step is called, by the first of these groups that it holds."""


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


def clean(text: str) -> str:
    """Text in letters that the page's font has."""
    return text.replace("→", "to").replace("\u202f", " ")


def count_of(number: int) -> str:
    """Small numbers as words."""
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
    return words[number] if number < len(words) else str(number)


def step_title(new: Sequence[Lot]) -> str:
    """What a step is called: the group that it holds, and its largest part."""
    groups = {lot.part.group for lot in new}
    main = max(new, key=lambda lot: lot.mesh.volume_mm3)
    if groups == {Group.BOUGHT} and {lot.member for lot in new} == {Member.GENERATOR}:
        groups = {Group.GENERATOR}
    found = next(title for group, title in TITLES if group in groups)
    return f"{found} ({main.part.words})"


def step_lines(new: Sequence[Lot], told: set[str]) -> tuple[str, ...]:
    """What to do in a step. ``told`` holds hints that were given already, and takes those given here."""
    counts: dict[int, int] = {}
    parts: dict[int, Part] = {}
    for lot in new:
        counts[lot.number] = counts.get(lot.number, 0) + len(lot.places)
        parts[lot.number] = lot.part
    lines = [_put_in(number, counts[number], part) for number, part in parts.items()]
    for part in parts.values():
        for key, hint in hints(part):
            if key not in told:
                told.add(key)
                lines.append(hint)
    return tuple(lines)


def _put_in(number: int, count: int, part: Part) -> str:
    name = f" ({part.designation})" if part.designation else ""
    times = "" if count == 1 else f"{count} × "
    return f"<b>{number}</b> {times}{part.words}{name}."


def hints(part: Part) -> tuple[tuple[str, str], ...]:
    """How a part is handled, each hint under a key so that it is told once (common practice)."""
    name = part.designation
    if part.group is Group.FLEXIBLE_RING:
        return _flexible_hints(part)
    if part.group is Group.RIGID_RING:
        text = "The notch in the rim marks the middle of a tooth space: turn it to the right-hand side, seen from the front."
        return (("notch", text),)
    if part.group is Group.GENERATOR and not name:
        text = "Before it goes in: knock off strings and burrs, run every screw through its hole once."
        return (("burr", text),)
    if name and bearing_of(name):
        text = (
            "Press a bearing into a seat by its outer ring, onto an axle by its inner ring; never push through the balls. "
            "It must turn freely afterwards."
        )
        return (("bearing", text),)
    if name.startswith("threaded rod"):
        return (("rod", "Cut the rod to length, file a chamfer on both ends and run a nut over them."),)
    if SCREW.match(name):
        text = "Tighten screws crosswise in two rounds; in plastic stop when the head sits firm, a quarter turn more splits it."
        return (("screw", text),)
    if name.startswith("ISO 4032"):
        text = (
            "Secure nuts that turn with the drive: self-locking ones, or a second nut. Thread lock harms some plastics."
        )
        return (("nut", text),)
    return ()


def _flexible_hints(part: Part) -> tuple[tuple[str, str], ...]:
    if part.designation:
        text = (
            "Turn the belt inside out, so that its worn teeth look outward. Lay it over the generator at one lobe and walk it "
            "on round the others, evenly, without a tool that has an edge."
        )
        return (("belt", text),)
    text = (
        "The ring is round until it is on the generator: squeeze it oval by hand, slip it over the lobes squarely and keep "
        "your face away, it springs. Then turn the generator half a turn by hand until the teeth fall into their spaces."
    )
    return (("flexible", text),)


def member(name: str) -> str:
    """A member of the drive, as it is called in a sentence."""
    known = {"generator": "the generator", "flexible_ring": "the flexible ring"}
    return known.get(name, f"ring {name}")


def _lobe_count(teeth: int, lobes: int) -> str:
    """Teeth from one lobe to the next, as they can be counted."""
    share = Fraction(teeth, lobes)
    low = math.floor(share)
    return f"{low}" if share.denominator == 1 else f"{low} or {low + 1}"


def _middle_edge(ring: RingMesh) -> float:
    """Radial gap of tips midway between lobes in the middle of the face, as set, mm."""
    return ring.edges[len(ring.edges) // 2].minor_gap_mm


def centred(a: Assessment) -> Section:
    """How to see that the mesh sits centred and not a tooth off."""
    lobes = a.design.lobes
    word = count_of(lobes)
    lines = [
        f"The generator has {word} lobes. Mark the flexible tooth at the middle of each lobe, and the space of the rigid ring "
        "that it sits in (the notch marks one). Count along both ways round from mark to mark:"
    ]
    for ring in a.rings:
        less = ring.space.teeth - ring.flexible_teeth
        meant = (
            f"the ring has {less} teeth more, {Fraction(less, lobes)} a lobe"
            if less
            else "both have the same number, so that they turn together"
        )
        lines.append(
            f"Ring {ring.name}: {_lobe_count(ring.space.teeth, lobes)} spaces of the rigid ring ({ring.space.teeth} in all) and "
            f"{_lobe_count(ring.flexible_teeth, lobes)} teeth of the flexible ring ({ring.flexible_teeth} in all): {meant}."
        )
    gaps = ", ".join(f"{_middle_edge(ring):.2f} mm at ring {ring.name}" for ring in a.rings)
    lines += [
        "One more on one side and one less on the other: it sits a tooth off. Draw the rings apart along the axis, bring the "
        "flexible ring to the middle by hand, and push them together again squarely, all teeth at once.",
        f"Midway between the lobes the tips must clear by the same gap on all sides (computed: {gaps}). Look through against a "
        "light.",
        "It feels right when the drag is even all the way round. A tooth off, the flexible ring is pushed to one side: the drag "
        "comes and goes as the generator turns, and at one lobe the teeth hardly go in.",
    ]
    return Section("See that the mesh sits centred", tuple(lines))


def lubrication(a: Assessment) -> Section:
    """What to grease with, by what the ring is made of."""
    ring = a.design.flexible_ring
    if isinstance(ring, m.Belt):
        lines = [
            "Teeth: run the belt dry, or with a breath of silicone grease or dry PTFE. Keep mineral oil and solvents off: "
            "rubber swells in them.",
        ]
    elif isinstance(ring, m.MetalCup):
        lines = [
            "Teeth: a film of lithium or calcium soap grease of class NLGI 1 or 2 with additives for high pressure, pressed into "
            "the spaces all round. Wipe off and renew it when it turns dark.",
            "Thin bearing: the same grease, a third of its free space.",
        ]
    else:
        lines = [
            "Teeth: silicone grease, or grease with PTFE, as thin as it covers. Try it on a scrap of the same plastic for a "
            "week first: mineral oil cracks some plastics under stress.",
        ]
    if not isinstance(a.design.generator, m.Cam):
        lines.append(
            "Ball bearings with seals or shields: nothing. Wipe off grease that creeps out to where it can throw."
        )
    elif not isinstance(ring, m.MetalCup):
        lines.append("Between cam and ring: the same grease, renewed when it squeaks.")
    lines.append("Do not grease for the first run of a printed drive: first listen to it dry, by hand, a few turns.")
    if isinstance(ring, m.MetalCup):
        lines.pop()
    return Section("Grease", tuple(lines), PRACTICE)


def turns(a: Assessment) -> str:
    """Turns of the driven member for one of the member that is read, as a number."""
    ratio = abs(a.motion.ratio)
    return f"{float(ratio):.3f}".rstrip("0").rstrip(".")


def first_run(a: Assessment) -> Section:
    """The first run, by hand."""
    sense = "the same way as" if a.motion.same_sense else "against"
    degrees = 360 / abs(float(a.motion.ratio))
    lines = (
        "Nothing on the output, the power off, a hand on the crank or on the motor's shaft. Mark the output and what it "
        "stands on.",
        f"One turn moves the output by {degrees:.2f}°, {sense} the crank. {turns(a)} turns bring the mark round once. A mark "
        "that comes early or late tells of a wrong tooth count, or of skipping.",
        "Turn ten turns one way, ten the other, ear close: an even rustle is good. A click that comes once a turn is a burr or a "
        "high tooth: look where it is, clean it. Clicks in bunches under load are skipping: stop. A squeak asks for grease, a "
        "growl for a look at the bearings.",
        "Then hold the generator and rock the output: that is the free play. Note it, and again after a month.",
        "Only then couple a motor, with its current set low, and let it run a minute each way without load. Feel the ring: warm "
        "is good, hot to the touch is not.",
    )
    return Section("First run, by hand", lines)


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
        Expected(f"Gap of tips midway, ring {ring.name}, on all sides alike", f"{_middle_edge(ring):.2f} mm")
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
    return tuple(rows)


def cautions(a: Assessment) -> tuple[str, ...]:
    """The assessment's cautions, and those of putting together and of a first run."""
    return (
        *a.cautions,
        "Before a hand goes near the mesh: power off and unplugged, the load propped. A motor that only stands still can start.",
        "Energy is stored in a lifted load and in a wound-up drive: let both down slowly before a screw is loosened.",
    )
