"""Write the pages of the documentation that follow from the code: `python docs/generate.py`.

`--check` writes nothing and ends with status 1 where a page is out of date. `--sessions` also runs the commands shown in
README, tutorial and how-to, and puts what they print now in place of what the pages say (see `sessions.py`). Words about
keys stand in `design/meanings.toml`; all else comes from the models, rules, grammar and data themselves.
"""

from __future__ import annotations

import argparse
import datetime
import enum
import inspect
import json
import sys
import types
import typing
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import annotated_types
import numpy as np
from pydantic.fields import FieldInfo

from lobewright import cli, errors
from lobewright.assessment import life_verdicts
from lobewright.assessment.load_verdicts import FEW_A_LOBE, FEWEST_A_LOBE, MOST_PINCH, MOST_WRONG, SOME_WRONG, SPARE
from lobewright.assessment.load_verdicts import TITLE as SKIP_TITLE
from lobewright.assessment.run import assess
from lobewright.design import base, catalogue, model, rules, starters, workshop
from lobewright.design.catalogue_strength import ROOM_K, strength_row
from lobewright.design.files import FILLED_BY_READER, design_from_data, unit_of
from lobewright.design.starters import starter_data
from lobewright.motion import motion
from lobewright.sources import source
from lobewright.strength.material import WORDS as FIGURES
from lobewright.strength.material import Direction
from lobewright.strength.material_data import strength_data
from lobewright.strength.parked import LASTING as LASTING_SET
from lobewright.strength.parked import SET
from lobewright.teach.films import KINDS
from lobewright.teach.language import LANGUAGES
from lobewright.teach.lesson_file import LessonFile, Part
from lobewright.teach.scenes import SCENES
from lobewright.torque.pinch import FELT_SHARE
from lobewright.units import ZERO_CELSIUS_K
from lobewright.verdict import Verdict
from lobewright.web.form import meanings

DOCS = Path(__file__).parent
ROOT = DOCS.parent
MADE = "<!-- Made by docs/generate.py from the code. Edit there, not here. -->\n\n"
NO_UNIT = {"as a factor", "as a share of the pitch"}

# Heading and classes of each section; a class shows the keys that it declares itself.
DESIGN_SECTIONS: tuple[tuple[str, str, tuple[type, ...]], ...] = (
    ("Top of the file", "Keys that stand before the first table; then the tables.", (model.Design,)),
    ("`[flexible_ring]`: a belt", "", (model.Belt,)),
    ("`[flexible_ring.measured]`", "", (model.MeasuredBelt,)),
    ("`[flexible_ring]`: printed and metal", "", (model.ModuleRing,)),
    ("`[flexible_ring]`: a printed ring", "The keys of printed and metal rings, and these.", (model.PrintedRing,)),
    ("`[flexible_ring.second_row]`", "", (model.SecondRow,)),
    (
        "`[flexible_ring]`: cups",
        "The keys of printed and metal rings, and these.",
        (model.PrintedCup, model.MetalCup, model.Cup),
    ),
    ("`[tooth]`: of a belt", "", (model.BeltTooth,)),
    ("`[tooth]`: by module", "Involute, trapezoid and double arc share these.", (model.ModuleTooth,)),
    ("`[tooth]`: involute", "", (model.InvoluteTooth,)),
    ("`[tooth]`: trapezoid", "", (model.TrapezoidTooth,)),
    ("`[tooth]`: double arc", "", (model.DoubleArcTooth,)),
    ("`[tooth]`: an outline of your own", "", (model.OutlineTooth,)),
    ("`[generator]`: what all have", "", (model.GeneratorBase,)),
    ("`[generator]`: rollers", "", (model.Rollers,)),
    ("`[generator]`: paired rollers", "", (model.PairedRollers,)),
    ("`[generator]`: discs", "", (model.Discs,)),
    ("`[generator]`: cam", "", (model.Cam,)),
    ("`[[rigid_ring]]`", "", (model.RigidRing,)),
    ("`[motion]`", "", (model.Motion,)),
    ("`[process]`: printer", "", (base.Printer,)),
    ("`[process]`: machined", "", (model.Machined,)),
    ("`[[duty]]`", "", (model.DutyStep,)),
    ("`[recorded_motion]`", "", (model.RecordedMotion,)),
    ("`[output_bearing]`", "", (model.OutputBearing,)),
    ("`[strength]`", "", (model.Strength,)),
    ("`[assembly]`", "", (model.Assembly,)),
)
WORKSHOP_SECTIONS: tuple[tuple[str, str, tuple[type, ...]], ...] = (
    ("Workshop: top of the file", "", (workshop.Workshop,)),
    ("Workshop: `[[bearings]]`", "", (workshop.OwnedBearings,)),
    ("Workshop: `[[bolts]]`", "", (workshop.OwnedBolts,)),
    ("Workshop: `[[belts]]`", "", (workshop.OwnedBelt,)),
    ("Workshop: `[[motors]]`", "", (workshop.OwnedMotor,)),
    ("Workshop: `[laser]`", "", (workshop.Laser,)),
    ("Workshop: `[[belt_stiffness]]`", "", (workshop.MeasuredBeltStiffness,)),
    ("Workshop: `[[skip_torque]]`", "", (workshop.MeasuredSkip,)),
    (
        "Workshop: what all readings have",
        "Each of the tables of readings below has these keys too.",
        (workshop.LoadTest,),
    ),
    ("Workshop: `[[squeeze_test]]`", "", (workshop.SqueezeTest,)),
    ("Workshop: `[[stretch_test]]`", "", (workshop.StretchTest,)),
    ("Workshop: `[[skew_test]]`", "", (workshop.SkewTest,)),
    ("Workshop: `[[tooth_push]]`", "", (workshop.ToothPush,)),
    ("Workshop: `[[arm_push]]`", "", (workshop.ArmPush,)),
    ("Workshop: `[[coupon]]`", "", (workshop.Coupon,)),
    ("Workshop: `[[belt_tooth_shear]]`", "", (workshop.BeltToothTest,)),
)


def table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A Markdown table; bars in cells are escaped."""
    heads = tuple(heads)
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    lines += ["| " + " | ".join(str(cell).replace("|", "\\|") for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


# --- design and workshop files -----------------------------------------------------------------------------------


def own_keys(one: type) -> tuple[str, ...]:
    """Keys that a class declares itself and that a person may write."""
    return tuple(k for k in one.__annotations__ if k in one.model_fields and k not in FILLED_BY_READER)


def _number(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 1e4 else f"{value:g}".replace("-", "−")


def _range(metadata: Iterable[Any]) -> str:
    low = high = ""
    for item in metadata:
        if isinstance(item, annotated_types.Ge):
            low = _number(item.ge)
        elif isinstance(item, annotated_types.Gt):
            low = f"more than {_number(item.gt)}"
        elif isinstance(item, annotated_types.Le):
            high = f"to {_number(item.le)}"
        elif isinstance(item, annotated_types.Lt):
            high = f"less than {_number(item.lt)}"
    comma = "," if low and "than" in low + high else ""
    return f"{low}{comma} {high}".strip()


def _text(metadata: Iterable[Any]) -> str:
    for item in metadata:
        if isinstance(item, annotated_types.MaxLen):
            return f"text, at most {item.max_length} letters"
        if getattr(item, "pattern", None):
            return "a name"
    return "text"


def allowed(annotation: Any, metadata: tuple[Any, ...] = (), unit: str = "") -> str:
    """What a key accepts, in words, with its unit."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        more = [m for extra in arguments[1:] for m in (extra.metadata if isinstance(extra, FieldInfo) else (extra,))]
        return allowed(arguments[0], (*metadata, *more), unit)
    if origin in (typing.Union, types.UnionType):
        some = [a for a in arguments if a is not type(None)]
        return allowed(some[0], metadata, unit) if len(some) == 1 else "a table"
    if origin is typing.Literal:
        return ", ".join(f'`"{v}"`' if isinstance(v, str) else str(v) for v in arguments)
    if origin is dict:
        return 'lines such as `ring_life = "reason"`'
    if origin is tuple:
        if arguments[-1] is Ellipsis:
            sizes = [f"at most {m.max_length}" for m in metadata if isinstance(m, annotated_types.MaxLen)]
            kind = typing.get_args(arguments[0])[0] if typing.get_args(arguments[0]) else arguments[0]
            if kind is str:
                return ", ".join(["texts, in square brackets", *sizes])
            if arguments[0] is float or typing.get_origin(arguments[0]) is typing.Annotated:
                least = "".join(f"at least {m.min_length} " for m in metadata if isinstance(m, annotated_types.MinLen))
                return ", ".join([f"{least}numbers{f' in {unit}' if unit else ''}, in square brackets", *sizes])
            return ", ".join(["tables", *sizes])
        return f"{len(arguments)} numbers, each {allowed(arguments[0], (), unit)}"
    if isinstance(annotation, type) and issubclass(annotation, enum.Enum):
        return ", ".join(f'`"{one.value}"`' for one in annotation)
    if isinstance(annotation, type) and issubclass(annotation, base.Frozen):
        return "a table"
    if annotation is str:
        return _text(metadata)
    if annotation is bool:
        return "`true` or `false`"
    if annotation is datetime.date:
        return "a day, such as 2026-12-07"
    number = _range(metadata) or "a number"
    whole = " (whole)" if annotation is int else ""
    return f"{number} {unit}".strip() + whole


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "needed"
    value = field.get_default(call_default_factory=True)
    if value is None or value == () or value == {} or isinstance(value, base.Frozen):
        return "–"
    if isinstance(value, enum.Enum):
        value = value.value
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    return f'`"{value}"`' if isinstance(value, str) else f"{value:g}"


def key_table(one: type, meaning: dict[str, str] | None = None) -> str:
    """The keys that a class declares: what is allowed, default, meaning (of the design's classes where none is given)."""
    words, rows = meanings()[one.__name__] if meaning is None else meaning, []
    for key in own_keys(one):
        field = one.model_fields[key]
        unit = unit_of(key)
        text = allowed(field.annotation, tuple(field.metadata), "" if unit in NO_UNIT else unit)
        if field.discriminator:
            text = "a table"
        rows.append((f"`{key}`", text, _default(field), words[key]))
    return table(("key", "allowed", "without it", "meaning"), rows)


def _sections(sections: tuple[tuple[str, str, tuple[type, ...]], ...]) -> str:
    text = ""
    for heading, note, classes in sections:
        text += f"## {heading}\n\n"
        intro = [note] if note else []
        if classes[0].__doc__ and len(classes) == 1 and classes[0] is not model.Design:
            intro.insert(0, inspect.cleandoc(classes[0].__doc__).replace("``", "`"))
        text += "".join(f"{line}\n\n" for line in intro)
        text += "\n".join(key_table(one) for one in classes) + "\n"
    return text


def design_file() -> str:
    """Reference of design and workshop files."""
    return (
        MADE
        + "# Design file and workshop file\n\n"
        + "A design file is TOML text that says all there is to say about one drive. `lobewright new` writes a starter with "
        + "comments. Lengths are in mm, angles in degrees, torque in N·m, temperature in °C; the unit is in the key's "
        + "name. A key that is not listed here is refused, with the nearest known name.\n\n"
        + "Ranges catch slips of a decimal point. That a number is allowed does not mean that it works: the verdicts "
        + "tell that. Rules that join several tables (a ring that cannot be assembled, faces that overlap) are checked "
        + "too, and all faults are told at once.\n\n"
        + "The workshop file holds what you own and have measured. A design names it; the printer in it stands in for "
        + "a missing `[process]`.\n\n"
        + _sections(DESIGN_SECTIONS)
        + _sections(WORKSHOP_SECTIONS)
    ).rstrip() + "\n"


# --- lesson files ------------------------------------------------------------------------------------------------

LESSON_WORDS = {
    "lesson_version": "version of this file format; 1 is the only one",
    "design": "path of the design, seen from this file",
    "language": "of everything that is written: " + ", ".join(LANGUAGES),
    "title": "of the page; the drive's name without it",
    "date": "day of the lesson; the plan counts back from it",
    "groups": "groups of students that work beside each other, for the plan",
    "students": "names; each gets a hand-out with other numbers",
    "part": "one table for each part, in their order",
}
PART_WORDS = {
    "scene": "a scene: " + ", ".join(f"`{name}`" for name in SCENES),
    "text": "a Markdown file between scenes, in the folder of this file or below; a part is a scene or a text",
    "takes": "names of the scene's takes that are shown; all without it",
    "stills": "moments that are kept as pictures; every moment without it, none with `[]`",
    "stops": "moments at which films stand still",
    "stop_seconds": "how long, in seconds",
    "films": "kinds of films of every shown take: " + ", ".join(f"`{name}`" for name in KINDS),
}


def lesson_page() -> str:
    """Reference of lesson files."""
    return (
        MADE
        + "# Lesson file\n\nA lesson file is TOML text that says which scenes, texts, pictures and films a lesson has "
        + "([how to use it](../how-to/lessons.md)). Names of takes and moments stand in the `teacher/lesson.toml` that "
        + "`lobewright lesson DESIGN` writes; `start` and `end` are moments of every take. A key that is not listed here is "
        + "refused, and all faults are told at once; names of takes and moments are looked up when the scenes have been "
        + "computed, and then told together.\n\n## Top of the file\n\n"
        + key_table(LessonFile, LESSON_WORDS)
        + "\n## `[[part]]`\n\n"
        + key_table(Part, PART_WORDS)
        + "\n## Films\n\n"
        + table(
            ("name", "pixels", "pictures a second", "file"),
            (
                (f"`{n}`", f"{k.width_px} × {k.height_px}", k.rate, k.ending or "PNG in a folder")
                for n, k in KINDS.items()
            ),
        )
    )


# --- the command -------------------------------------------------------------------------------------------------


def _argument(action: argparse.Action) -> tuple[str, str]:
    name = ", ".join(action.option_strings) or action.dest.upper()
    if action.option_strings and action.nargs != 0:
        value = "|".join(action.choices) if action.choices else str(action.metavar or action.dest.upper())
        name += f" [{value}]" if action.nargs == "?" else f" {value}"
    needed = "needed: " if action.option_strings and action.required else ""
    return f"`{name}`", needed + (action.help or "a design file")


def command() -> str:
    """Reference of the command, from its grammar."""
    top = cli.parser()
    text = MADE + "# The command\n\n" + f"{top.description}\n\n"
    text += "| exit status | meaning |\n|---|---|\n"
    text += "| 0 | done, and no verdict failed |\n"
    text += "| 1 | a verdict failed; with `--strict` also when a check was not made and the design does not say why |\n"
    text += "| 2 | the input cannot be used: one sentence for each fault, on standard error |\n\n"
    text += "With `--json` the result, or the faults ([shape](errors.md)), are printed as data on standard output. "
    text += "A command that runs longer than a second tells on standard error what it is doing.\n\n"
    subs = next(a for a in top._actions if isinstance(a, argparse._SubParsersAction))
    for name, one in subs.choices.items():
        actions = [a for a in one._actions if a.dest != "help"]
        usage = " ".join(["lobewright", name, *(a.dest.upper() for a in actions if not a.option_strings)])
        usage += "".join(f" {a.option_strings[0]} {a.dest.upper()}" for a in actions if a.option_strings and a.required)
        text += f"## {name}\n\n{one.description}\n\n```text\n{usage}\n```\n\n"
        text += table(("argument", "meaning"), map(_argument, actions)) + "\n"
    return text.rstrip() + "\n"


# --- pairs -------------------------------------------------------------------------------------------------------

RING_WORDS = {"belt": "belt", "printed_ring": "printed ring", "printed_cup": "printed cup", "metal_cup": "metal cup"}
LOBE_ROWS = (
    ("rollers", "rollers"),
    ("paired_rollers", "paired_rollers"),
    ("discs", "discs"),
    ("cam, ellipse", "cam_ellipse"),
    ("cam, cosine", "cam_cosine"),
)


def pairs() -> str:
    """Every flexible ring with every generator."""
    rows = []
    for ring in starters.RINGS:
        for generator in starters.GENERATORS:
            reason = rules.PAIRS_REFUSED.get((ring, generator))
            cell = f"no: {reason}" if reason else f"`lobewright new {ring}-{generator} FILE`"
            if starters.USUAL_GENERATOR[ring] == generator:
                cell += f" or, as the usual one, `new {ring}`"
            rows.append((RING_WORDS[ring], generator.replace("_", " "), cell))
    lobes = [
        (name, f"no: {rules.LOBES_REFUSED[key]}" if key in rules.LOBES_REFUSED else "yes") for name, key in LOBE_ROWS
    ]
    ratios = []
    for kind in starters.USUAL_GENERATOR:
        design = design_from_data(starter_data(kind))
        moves = motion(design)
        ratios.append((f"`{kind}`", moves.fixed, moves.driven, moves.read, moves.ratio_text))
    return (
        MADE
        + "# Which ring goes with which generator\n\n"
        + table(("flexible ring", "wave generator", "starter, or why not"), rows)
        + "\nA pair that can be built is not yet a good drive: the verdicts say how it does.\n\n"
        + "## Three lobes\n\nTwo lobes always work. Three:\n\n"
        + table(("generator", "3 lobes"), lobes)
        + "\n## What the starters do\n\n"
        + table(("starter", "held", "driven", "read", "ratio"), ratios)
    )


# --- errors ------------------------------------------------------------------------------------------------------


def error_example() -> dict[str, Any]:
    """A real fault as data: a starter with two slips."""
    data = starter_data("belt")
    data["flexible_ring"]["teeth"] = 106
    data["generator"]["bearing"] = "62S"
    try:
        design_from_data(data, name="my_drive.toml")
    except errors.DesignFault as fault:
        return fault.as_json()
    raise AssertionError("the example must be refused")


def error_classes() -> list[type[errors.LobewrightError]]:
    """Every class of the tree, base first."""
    found, todo = [], [errors.LobewrightError]
    while todo:
        one = todo.pop(0)
        found.append(one)
        todo += one.__subclasses__()
    return found


def error_page() -> str:
    """Reference of the error tree and its JSON shape."""
    rows = [(f"`{one.__name__}`", (inspect.getdoc(one) or "").replace("``", "`")) for one in error_classes()]
    fields = (
        ("`error`", "name of the class"),
        ("`file`", "file at fault, empty where there is none"),
        ("`faults[].what`", "what is wrong"),
        ("`faults[].place`", "dotted key; rows count from 1"),
        ("`faults[].line`", "line in the file, 0 where not known"),
        ("`faults[].value`", "what was found, as text"),
        ("`faults[].allowed`", "what would be right, with its unit"),
        ("`faults[].sentence`", "all of it as people read it"),
    )
    return (
        MADE
        + "# Errors\n\nThe command prints one sentence for each fault and ends with status 2; nobody sees a stack of calls. "
        + "At most "
        + f"{errors.MOST_FAULTS_SHOWN} sentences are shown, the rest is counted. In Python all of it is one tree:\n\n"
        + table(("class", "when"), rows)
        + "\n## As data\n\nOne shape for all, printed by `--json` and returned by `as_json()`:\n\n"
        + table(("field", "meaning"), fields)
        + "\nExample: the belt starter with two slips.\n\n```json\n"
        + json.dumps(error_example(), indent=2, ensure_ascii=False)
        + "\n```\n"
    )


# --- catalogue ---------------------------------------------------------------------------------------------------


def _stock(designation: str) -> str:
    try:
        teeth = catalogue.belt_stock(designation).teeth
    except errors.CatalogueFault:
        return "not known"
    return f"{min(teeth)} to {max(teeth)} ({len(teeth)} lengths)"


def _span(low: float, high: float, digits: int) -> str:
    return " to ".join(f"{float(f'{end:.{digits}g}'):g}" for end in (low, high))


def strengths() -> list[tuple[str, ...]]:
    """One row a material: what it bears at 23 °C along and across the layers, and how well that is founded."""
    design = design_from_data(starter_data("printed_ring"))
    rows = []
    for name in (m.name for m in catalogue.materials()):
        along, across = (strength_data(design, name, lying, ROOM_K) for lying in Direction)
        known, curve, creep = strength_row(name), along.curve, along.creep
        at_million = "–"
        if curve is not None:
            middle = float(curve.amplitude_at(np.array(1e6)))
            at_million = _span(middle / curve.spread, middle * curve.spread, 2)
        warm = f"{known.coldest_k - ZERO_CELSIUS_K:.0f} to {known.hottest_k - ZERO_CELSIUS_K:.0f}".replace("-", "−")
        rows.append(
            (
                f"`{name}`",
                *(_span(one.ultimate_mpa.low, one.ultimate_mpa.high, 3) for one in (along, across)),
                "–" if along.yield_mpa is None else _span(along.yield_mpa.low, along.yield_mpa.high, 3),
                at_million,
                "–" if creep is None else _span(creep.exponent.low, creep.exponent.high, 2),
                warm,
                along.remark_on(*FIGURES).words or "–",
            )
        )
    return rows


def catalogue_page() -> str:
    """What can be named in a design: belts, bearings, bolts, materials."""
    belts = [
        (
            f"`{b.designation}`",
            b.tooth.value,
            f"{b.pitch_mm:g}",
            f"{b.tooth_height_mm:g}",
            f"{b.total_thickness_mm:g}",
            "no" if b.form is catalogue.ToothForm.UNKNOWN else "yes",
            _stock(b.designation),
            b.row_origin.flag.label,
        )
        for b in catalogue.belt_profiles()
    ]
    bearings = [
        (f"`{b.designation}`", f"{b.bore_mm:g}", f"{b.outer_mm:g}", f"{b.width_mm:g}", b.row_origin.flag.label)
        for b in catalogue.bearings()
    ]
    materials = [
        (
            f"`{m.name}`",
            m.words,
            f"{m.bending_strain[0]:.2%} to {m.bending_strain[1]:.2%}",
            f"{m.service_k - 273.15:.0f}",
            m.origin("bending_strain").flag.label,
        )
        for m in catalogue.materials()
    ]
    return (
        MADE
        + "# Catalogue\n\nNames that a design may use, with the numbers that matter most. All numbers and their "
        + "sources stand in the data files under `src/lobewright/design/catalogue_data`; what the flags mean stands in "
        + "[sources](../sources.md).\n\n"
        + "## Belts\n\nLengths in mm. Where the outline is not known, bring [your own]"
        + "(../how-to/own_tooth_outline.md).\n\n"
        + table(("name", "tooth", "pitch", "height", "thickness", "outline", "stocked teeth", "flag"), belts)
        + "\n## Ball bearings\n\nmm.\n\n"
        + table(("name", "bore", "outer", "width", "flag"), bearings)
        + "\n## Bolts\n\n"
        + ", ".join(f"`{b.size}`" for b in catalogue.bolts())
        + ".\n\n## Materials\n\nThe strain is the amplitude taken as bearable for about a million bends, as a range; °C is the "
        + "highest usual temperature under load.\n\n"
        + table(("name", "what", "bending strain", "°C", "flag of the strain"), materials)
        + "\n## What materials bear\n\nIntervals of nine in ten at 23 °C, MPa, along the layers unless it says across. Fatigue "
        + "is the amplitude of a smooth piece, to and fro, of which half break within a million cycles; creep the exponent of "
        + "time; °C where the figures hold. A dash: not known. How they come about and what each rests on: [what materials bear]"
        + "(../theory/materials.md); your own: [test pieces](../how-to/coupons.md).\n\n"
        + table(("name", "strength", "strength across", "yield", "fatigue", "creep", "°C", "remark"), strengths())
    )


# --- verdicts ----------------------------------------------------------------------------------------------------


def verdict_kinds() -> dict[str, Verdict]:
    """One verdict of every kind that the starters meet, by the name before the colon."""
    found: dict[str, Verdict] = {}
    for kind in starters.USUAL_GENERATOR:
        for verdict in assess(design_from_data(starter_data(kind))).verdicts:
            found.setdefault(verdict.name.split(":")[0], verdict)
    return found


UNDER_TORQUE = (
    (
        "`skip_torque`",
        SKIP_TITLE,
        "at least the limit",
        f"fails below the duty's peak torque, warns below {SPARE:g} times it; not made without a duty",
    ),
    (
        "`teeth_in_load`",
        "Teeth that carry load at the peak",
        "at least the limit",
        f"fails below {FEWEST_A_LOBE:g} a lobe, warns below {FEW_A_LOBE:g}",
    ),
    (
        "`wrong_flank`",
        "Contact on the wrong flank at the peak",
        "at most the limit",
        f"fails above {MOST_WRONG:.0%} of the force that carries, warns above {SOME_WRONG:.0%}",
    ),
    (
        "`pinch`",
        "Pinch of wall and teeth without torque",
        "at most the limit",
        f"fails above {MOST_PINCH:.0%} of the free ring's push, warns above {FELT_SHARE:.0%}",
    ),
)


LASTING = (
    *((name, title, "weakest life over the duty") for name, title in life_verdicts.LIFE.values()),
    *((name, title, "weakest strength over the largest load") for name, title in life_verdicts.STRENGTH.values()),
)


def verdict_page() -> str:
    """Every kind of verdict: question, equation, sources."""
    rows = []
    for name, one in verdict_kinds().items():
        title = one.title.split(", ring ")[0]
        keys = ", ".join(source(key).text for key in one.working.sources) or "–"
        question = title if one.value is not None else f"{title} (not made yet)"
        good = f"{one.bound} the limit" if one.value is not None else "–"
        rows.append((f"`{name}`", question, good, one.working.equation, keys))
    return (
        MADE
        + "# Verdicts\n\nA verdict grades one number: `pass`, `warn`, `fail`, or `not made`. Its name may carry the "
        + "ring after a colon (`flank_gap:output`). The names are stable: `results.json` and the table "
        + "`[checks_not_expected]` of a design use them. `check --json` prints the numbers put in and "
        + "the sources behind each.\n\n"
        + table(("name", "question", "good side", "equation", "source of the limit"), rows)
        + f"\n`load` and `build` ask the drive under torque and add four (limits: {source('trade_practice').text}):\n\n"
        + table(("name", "question", "good side", "graded"), UNDER_TORQUE)
        + "\n`life` and `build` ask strength and life and add these. They fail where the middle of the band is below 1 and "
        + "warn where its low end is; `parked_set` warns where the low end is and never fails. They are not made without a "
        + "duty, or where a figure is missing, and say which.\n\n"
        + table(
            ("name", "question", "graded, at least 1"),
            (
                *((f"`{name}`", title, graded) for name, title, graded in LASTING),
                (f"`{SET[0]}`", SET[1], f"{LASTING_SET:.0%} over what it keeps of its bend for now"),
            ),
        )
        + "\nWhat a source's flag means stands in [sources](../sources.md).\n"
    )


PAGES = {
    "reference/design_file.md": design_file,
    "reference/lesson_file.md": lesson_page,
    "reference/command.md": command,
    "reference/pairs.md": pairs,
    "reference/errors.md": error_page,
    "reference/catalogue.md": catalogue_page,
    "reference/verdicts.md": verdict_page,
}


def main(arguments: list[str] | None = None) -> int:
    words = argparse.ArgumentParser(description="Write the generated pages of the documentation.")
    words.add_argument("--check", action="store_true", help="write nothing, say what is out of date")
    words.add_argument("--sessions", action="store_true", help="also renew the output shown under commands")
    asked = words.parse_args(arguments)
    stale = 0
    for name, page in PAGES.items():
        path, text = DOCS / name, page()
        if path.is_file() and path.read_text("utf-8") == text:
            continue
        stale += 1
        print(f"{'out of date' if asked.check else 'written'}: {name}")
        if not asked.check:
            path.write_text(text, "utf-8")
    if asked.sessions:
        sys.path[:0] = [str(DOCS), str(DOCS.parent)]  # for sessions, and for the set-up that it asks
        import sessions

        for path in sessions.pages():
            sessions.renew(path)
    return 1 if asked.check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
