"""Start from what is known: a belt in the drawer, a wanted ratio, a bearing, or a starter. One question, one whole design.

The design is a starter with the answer put in; where a verdict fails, edits that were tried and help are made, one after the
other. What comes with it are the two verdicts with the least room, for these break first when numbers are changed. The choices
(which kind of drive for which question, sizes) are ours: common practice, no source.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from lobewright.advice import suggest
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.command_words import verdict_json
from lobewright.design import catalogue, starters
from lobewright.design import model as m
from lobewright.design.edits import Edit, edit_text
from lobewright.design.key_words import edits_words
from lobewright.errors import CatalogueFault, Fault, FileFault, LobewrightError
from lobewright.verdict import State, Verdict
from lobewright.web.confine import inside
from lobewright.web.form import plain_number
from lobewright.web.look import design_of

Data = dict[str, Any]
MOST_REPAIRS = 6
USUAL_BEARINGS = ("608", "625")
"""Sizes that most people have or find, the first where the drawer has neither."""
LEAST_RATIO, MOST_RATIO = 20, 200
CUP_DIAMETER_MM = 100.0
"""Pitch circle of a cup that is begun from a ratio: it fits the beds of most printers."""
BELT_GAP_MM = 1.0
"""Between the two rings on a belt."""
ROLLER_SHARE = 0.55
"""A roller's diameter over the radius inside the ring, at most: two of them and an axle find room."""


def _made(kind: str, edits: list[Edit], name: str) -> str:
    return edit_text(starters.starter(kind, name), tuple(edits), dict)


def from_belt(designation: str, teeth: int, width_mm: float, bearing: str = "") -> str:
    """A two-ring drive round a belt; ``bearing`` names its rollers, without it the largest usual one that fits.

    Raises CatalogueFault for a profile or bearing that is not known, FileFault for sizes of no use.
    """
    profile = catalogue.belt_profile(designation)
    if not 16 <= teeth <= 600:
        raise FileFault([Fault("a belt with so many teeth makes no drive here", "teeth", 0, str(teeth), "16 to 600")])
    if not 4 <= width_mm <= 100:
        raise FileFault(
            [Fault("a belt of this width holds no two rings", "width_mm", 0, f"{width_mm:g} mm", "4 to 100 mm")]
        )
    half = round((width_mm - BELT_GAP_MM) / 2, 2)
    edits = [
        Edit("flexible_ring.designation", profile.designation),
        Edit("flexible_ring.teeth", teeth),
        Edit("flexible_ring.width_mm", width_mm),
        Edit("rigid_ring[1].teeth", teeth + 2),
        Edit("rigid_ring[2].teeth", teeth),
        Edit("rigid_ring[1].width_mm", half),
        Edit("rigid_ring[2].width_mm", half),
        Edit("rigid_ring[2].offset_mm", round(half + BELT_GAP_MM, 2)),
        Edit("generator.bearing", bearing or _roller_for(profile.pitch_mm * teeth / math.tau).designation),
    ]
    on = f" on bearings {bearing}" if bearing else ""
    return _made("belt-paired_rollers", edits, f"drive round a belt {profile.designation} with {teeth} teeth{on}")


def _roller_for(radius_mm: float) -> catalogue.Bearing:
    """The largest usual bearing that finds room in a ring of this radius."""
    fits = [one for one in catalogue.bearings() if one.outer_mm <= ROLLER_SHARE * radius_mm and 4 <= one.bore_mm <= 10]
    return max(fits or catalogue.bearings(), key=lambda one: one.outer_mm if fits else -one.outer_mm)


def from_ratio(ratio: float) -> str:
    """A printed cup with the nearest ratio that two lobes give. Raises FileFault for ratios that it cannot have."""
    if not LEAST_RATIO <= ratio <= MOST_RATIO:
        allowed = f"{LEAST_RATIO} to {MOST_RATIO}; less bends the ring too far, more has teeth too fine to print"
        raise FileFault([Fault("no drive of one stage is begun with this ratio", "ratio", 0, f"{ratio:g}", allowed)])
    teeth = 2 * round(ratio)
    edits = [
        Edit("flexible_ring.teeth", teeth),
        Edit("flexible_ring.module_mm", round(CUP_DIAMETER_MM / teeth, 2)),
        Edit("rigid_ring[1].teeth", teeth + 2),
    ]
    return _made("printed_cup", edits, f"cup drive, ratio {teeth // 2}")


def from_bearing(designation: str) -> str:
    """A belt drive with this bearing as rollers, on a belt that is sold. Raises CatalogueFault, or FileFault where none fits."""
    bearing = catalogue.bearing(designation)
    sold = [t for t in catalogue.stocked_teeth("C3M") if 16 <= t <= 600]
    wide = [t for t in sold if 3.0 * t / math.tau * ROLLER_SHARE >= bearing.outer_mm]
    if not wide:
        what = "this bearing is too large for a roller in any belt that is sold"
        raise FileFault([Fault(what, "bearing", 0, f"{bearing.designation}, ø{bearing.outer_mm:g} mm")])
    return from_belt("C3M", min(wide, key=lambda t: abs(t - 100)), 15.0, bearing.designation)


def weakest(a: Assessment, count: int = 2) -> list[Verdict]:
    """What fails, then what warns; filled up to ``count`` with what has the least room over its limit. Verdicts that pass a limit
    of 0 have none to compare it with.
    """

    def room(verdict: Verdict) -> float:
        return (verdict.margin or 0.0) / abs(verdict.limit or 1.0)

    told = [v for state in (State.FAIL, State.WARN) for v in a.verdicts if v.state is state]
    rest = [v for v in a.verdicts if v.state is State.PASS and v.margin is not None and v.limit]
    return [*told, *sorted(rest, key=room)[: max(0, count - len(told))]]


def begun(basis: str, answer: Data, folder: str) -> Data:
    """A whole design from one answer, as data: its text, what it is, what was mended, the weakest verdicts; ``notes`` say
    what of the answer stands in it.

    ``basis``: belt, ratio, bearing or starter. Faults come back in the shape of the command.
    """
    try:
        text = _text(basis, answer)
        mended: list[str] = []
        a = assess(design_of(text, "", Path(folder)))
        for _ in range(MOST_REPAIRS):
            failed = next((v for v in a.verdicts if v.state is State.FAIL), None)
            found = suggest(a, failed) if failed else None
            if found is None:
                break
            mended.append(edits_words(found.edits, a.design))
            text = edit_text(text, found.edits, lambda: a.design.process.model_dump(mode="json"))  # noqa: B023 - used at once
            a = assess(design_of(text, "", Path(folder)))
    except LobewrightError as error:
        return {"ok": False, **error.as_json()}
    return {
        "ok": True,
        "text": text,
        "name": a.design.name,
        "state": a.state.value,
        "ratio_text": a.motion.ratio_text,
        "notes": _notes(basis, answer, a),
        "mended": mended,
        "weakest": [verdict_json(one) for one in weakest(a)],
    }


def _text(basis: str, answer: Data) -> str:
    if basis == "belt":
        teeth = _number(answer, "teeth", "how many teeth the belt has", "a whole number, 16 to 600")
        if teeth != round(teeth):
            raise _no_answer("teeth", "how many teeth the belt has", answer, "a whole number, 16 to 600")
        width = _number(answer, "width_mm", "how wide the belt is", "4 to 100 mm")
        return from_belt(
            _name(answer, "designation", "which profile the belt has", "one of the list"), int(teeth), width
        )
    if basis == "ratio":
        return from_ratio(asked_ratio(answer))
    if basis == "bearing":
        return from_bearing(_name(answer, "designation", "which bearing it is", "one of the list"))
    if basis == "starter":
        kind = _name(answer, "kind", "which kind of drive it is", "one of the list")
        return starters.starter(kind, kind.replace("-", " on ").replace("_", " "))
    raise FileFault([Fault("nothing is begun from this", "basis", 0, basis, "belt, ratio, bearing or starter")])


def asked_ratio(answer: Data) -> float:
    """The ratio that is wanted, as a number or as people write it: 60, −60, 60:1, 1:60. Its sign says which way the output turns,
    which follows from the kind of drive. Raises FileFault for what is none.
    """
    said = answer.get("ratio")
    if isinstance(said, str):
        pieces = [piece.strip() for piece in said.split(":")]
        if len(pieces) == 2 and "1" in pieces:
            pieces.remove("1")
        said = pieces[0] if len(pieces) == 1 else said
    allowed = f"{LEAST_RATIO} to {MOST_RATIO}, as 60 or 60:1"
    return abs(_number({"ratio": said}, "ratio", "how often the generator turns for one turn of the output", allowed))


def _no_answer(key: str, asked: str, answer: Data, allowed: str) -> FileFault:
    said = answer.get(key)
    shown = "" if said is None else str(said)
    return FileFault([Fault(f"this does not say {asked}", key, 0, shown, allowed)])


def _number(answer: Data, key: str, asked: str, allowed: str) -> float:
    """A finite number of an answer. Raises FileFault."""
    said = answer.get(key)
    try:
        number = plain_number(said) if isinstance(said, str) else float(said)  # type: ignore[arg-type]  # what is no number is told below
    except (TypeError, ValueError, OverflowError):
        raise _no_answer(key, asked, answer, allowed) from None
    if not math.isfinite(number):
        raise _no_answer(key, asked, answer, allowed)
    return number


def _name(answer: Data, key: str, asked: str, allowed: str) -> str:
    """A text of an answer. Raises FileFault."""
    said = answer.get(key)
    if not isinstance(said, str) or not said:
        raise _no_answer(key, asked, answer, allowed)
    return said


def _notes(basis: str, answer: Data, a: Assessment) -> list[str]:
    """What of the answer stands in the drive, where that is not plain to see."""
    notes = []
    if basis == "ratio":
        asked, made = asked_ratio(answer), abs(float(a.motion.ratio))
        if abs(asked - made) > 1e-9:
            notes.append(f"Asked for {asked:g}; {made:g} is the nearest that can be made with two lobes.")
    generator = a.design.generator
    if basis in ("belt", "bearing") and isinstance(generator, m.PairedRollers):
        size = catalogue.bearing(generator.bearing)
        notes.append(
            f"Four bearings {size.designation} (ø{size.outer_mm:g} mm) are the rollers that bend the belt from inside, "
            "two at each lobe."
        )
    return notes


def usual_bearing(owned: list[Data]) -> str:
    """The bearing that the question begins with: a usual size, one of the drawer's first."""
    mine = {str(one["designation"]) for one in owned}
    return next((name for name in USUAL_BEARINGS if name in mine), USUAL_BEARINGS[0])


def choices(folder: Path) -> Data:
    """What there is to begin from: belts, bearings and kinds, the drawer's first."""
    belts, owned = [], _drawer(folder)
    for profile in catalogue.belt_profiles():
        try:
            belts.append(
                {"designation": profile.designation, "teeth": list(catalogue.stocked_teeth(profile.designation))}
            )
        except CatalogueFault:
            continue
    bearings = [
        {"designation": b.designation, "bore_mm": b.bore_mm, "outer_mm": b.outer_mm} for b in catalogue.bearings()
    ]
    return {
        "belts": belts,
        "bearings": bearings,
        "kinds": list(starters.KINDS),
        "owned": owned,
        "bearing": usual_bearing(owned["bearings"]),
    }


def _drawer(folder: Path) -> Data:
    """Belts and bearings of the workshop files in the folder, each as it is named there."""
    from lobewright.design.files import read_workshop

    belts: list[Data] = []
    bearings: list[Data] = []
    for path in sorted(folder.glob("*.toml")):
        try:
            workshop = read_workshop(inside(folder, path.name))
        except LobewrightError:
            continue  # a design, or a workshop that is not whole, told where it is opened; or a link that leads away
        belts += [one.model_dump(mode="json") for one in workshop.belts]
        bearings += [one.model_dump(mode="json") for one in workshop.bearings]
    return {"belts": belts, "bearings": bearings}
