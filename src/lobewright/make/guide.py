"""Assembly instructions as a PDF with pictures rendered from the model: one step, one picture, few words.

::

    guide.pdf         cautions, parts with their files, tools, grease, steps, whether the mesh is right, first run, check sheet
    guide/*.png       the pictures, to use elsewhere

The same assembly gives the same bytes. The font is the free one that ships with the PDF library, embedded.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from lobewright import __version__
from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import Fault, LobewrightError, lacking
from lobewright.make import guide_pictures as pictures
from lobewright.make.bodies import Part
from lobewright.make.filling import filling_short, is_printed, prints_solid
from lobewright.make.guide_bent import bent_rings
from lobewright.make.guide_how import Facts, sentences, title
from lobewright.make.guide_letters import in_known_letters
from lobewright.make.guide_lots import Lot, lots
from lobewright.make.guide_stages import Stage, stages
from lobewright.make.guide_words import (
    Section,
    before,
    cautions,
    centred,
    check_sheet,
    first_run,
    lubrication,
    member,
    told_with,
    turns,
)
from lobewright.make.parts import on_the_bed, prints
from lobewright.make.placing import Placed
from lobewright.make.render import png
from lobewright.picture.palette import PALETTE, Role, Theme

Progress = Callable[[str, float], None]
PLAIN, STRONG = "LobewrightGuide", "LobewrightGuideStrong"
INSIDE_MM = 174.0
STEP_WIDE_MM, BESIDE_MM = 128.0, 46.0
"""Width of a step's picture, and of the list of its parts beside it."""
MADE_OF = re.compile(r"make it of ([a-z][^;:,.(]*[a-z])")
"""What a part's note says where its material is free."""
WAY_OF_MAKING = re.compile(r", (material extrusion|\d+ mm blank)")
NAME, FOLDER = "guide.pdf", "guide"


def _library() -> Any:
    """The PDF library with the fonts known to it. Raises PlatformFault when it is not installed."""
    try:
        import reportlab
        from reportlab import rl_config
        from reportlab.pdfbase import pdfmetrics, ttfonts
    except ImportError as error:
        raise lacking("instructions need the library reportlab", error) from None
    rl_config.useA85 = (
        0  # pictures go in as they are: in printable letters they are larger by a quarter, and slow to write
    )
    for name, file in ((PLAIN, "Vera.ttf"), (STRONG, "VeraBd.ttf")):
        pdfmetrics.registerFont(ttfonts.TTFont(name, file))
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=STRONG, italic=PLAIN, boldItalic=STRONG)
    return reportlab


def _styles() -> dict[str, Any]:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.styles import ParagraphStyle

    colours = {role: HexColor(PALETTE[Theme.LIGHT][role]) for role in Role}
    ink, quiet, warn = colours[Role.INK], colours[Role.QUIET], colours[Role.WARN]
    plain = ParagraphStyle("plain", fontName=PLAIN, fontSize=8.6, leading=11.8, textColor=ink, spaceAfter=3)
    return {
        "plain": plain,
        "cell": ParagraphStyle("cell", plain, fontSize=7.6, leading=9.6, spaceAfter=2),
        "head": ParagraphStyle("head", plain, fontSize=7.4, leading=9, textColor=quiet, spaceAfter=0),
        "quiet": ParagraphStyle("quiet", plain, textColor=quiet),
        "h1": ParagraphStyle("h1", plain, fontName=STRONG, fontSize=19, leading=23, spaceAfter=4),
        "h2": ParagraphStyle("h2", plain, fontName=STRONG, fontSize=11.5, leading=15, spaceBefore=9, spaceAfter=3),
        "care": ParagraphStyle("care", plain, fontName=STRONG, fontSize=9.5, leading=13, textColor=warn, spaceAfter=2),
        "small": ParagraphStyle("small", plain, fontSize=8, leading=10.4, spaceAfter=2),
    }


def _checked_letters(text: str) -> str:
    """Text that the page's font can set. Raises LobewrightError for a letter that it cannot be written in."""
    from reportlab.pdfbase import pdfmetrics

    known = pdfmetrics.getFont(PLAIN).face.charToGlyph
    return in_known_letters(text, known)


class _Pages:
    """The flow of the document, and the words for it."""

    def __init__(self) -> None:
        self.styles = _styles()
        self.flow: list[Any] = []

    def words(self, text: str, style: str = "plain") -> Any:
        from reportlab.platypus import Paragraph

        return Paragraph(_checked_letters(text), self.styles[style])

    def image(self, data: bytes, size_px: tuple[int, int], most_high_mm: float) -> Any:
        from reportlab.lib.units import mm
        from reportlab.platypus import Image

        wide = min(INSIDE_MM, most_high_mm * size_px[0] / size_px[1])
        return Image(io.BytesIO(data), wide * mm, wide * size_px[1] / size_px[0] * mm)

    def table(self, rows: Sequence[Sequence[Any]], widths_mm: Sequence[float], boxed: bool = False) -> Any:
        from reportlab.lib.colors import HexColor
        from reportlab.lib.units import mm
        from reportlab.platypus import Table

        rule, ink = (HexColor(PALETTE[Theme.LIGHT][role]) for role in (Role.RULE, Role.INK))
        lines = ("GRID", (0, 0), (-1, -1), 0.5, rule) if boxed else ("LINEBELOW", (0, 1), (-1, -1), 0.4, rule)
        style = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.8, ink),
            ("LEFTPADDING", (0, 0), (-1, -1), 4 if boxed else 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 5),
            ("TOPPADDING", (0, 0), (-1, -1), 4.5 if boxed else 2.2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 4.5 if boxed else 2.4),
            lines,
        ]
        return Table(rows, [wide * mm for wide in widths_mm], style=style, repeatRows=1, hAlign="LEFT")

    def section(self, one: Section) -> None:
        self.flow.append(self.words(escape(one.title), "h2"))
        self.flow += [self.words(escape(line)) for line in one.lines]
        if one.flag:
            self.flow.append(self.words(escape(f"({one.flag})"), "quiet"))


@dataclass(frozen=True)
class _Shot:
    """One picture as it stands on the page and in the folder."""

    name: str
    data: bytes
    size_px: tuple[int, int]
    from_rear: bool = False


def _shot(name: str, image: Any, from_rear: bool = False) -> _Shot:
    return _Shot(name, png(image), (image.shape[1], image.shape[0]), from_rear)


def write_guide(
    a: Assessment,
    placed: Sequence[Placed],
    folder: Path,
    stamp: str = "",
    progress: Progress | None = None,
    width_px: int = pictures.WIDTH_PX,
) -> tuple[Path, ...]:
    """Write the instructions of an assembly into ``folder``: guide.pdf and its pictures; the paths written.

    ``stamp`` stands as the date on every page, ``width_px`` is that of the pictures. Every part needs its step
    (:class:`lobewright.make.order.Step`). Raises PlatformFault (a library of the extra "cad" is missing), LobewrightError
    (nothing placed, a letter that the font lacks), OSError (cannot write).
    """
    say = progress or (lambda word, share: None)
    if not placed:
        raise LobewrightError(
            [Fault("instructions need an assembly", "guide", value="no part", allowed="placed parts")]
        )
    _library()
    say("pictures of the assembly", 0.0)
    all_lots = lots(placed, bent_rings(a, placed))
    work = stages(all_lots)
    shots = [
        _shot("whole", pictures.whole(all_lots, width_px)),
        _shot("apart", pictures.apart(all_lots, width_px).image),
    ]
    for k, stage in enumerate(work, 1):
        say(f"picture of step {stage.name}", 0.1 + 0.8 * k / len(work))
        seen = pictures.of_stage(stage, width_px)
        shots.append(_shot(f"step_{stage.number:02d}{stage.letter}", seen.image, seen.from_rear))
    say("instructions", 0.92)
    document = _document(a, all_lots, work, shots, stamp)
    inside = folder / FOLDER
    inside.mkdir(parents=True, exist_ok=True)
    paths = [folder / NAME, *(inside / f"{shot.name}.png" for shot in shots)]
    for path, data in zip(paths, (document, *(shot.data for shot in shots)), strict=True):
        path.write_bytes(data)
    return tuple(paths)


def _document(
    a: Assessment, all_lots: Sequence[Lot], work: Sequence[Stage], shots: Sequence[_Shot], stamp: str
) -> bytes:
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.units import mm
    from reportlab.platypus import PageBreak, SimpleDocTemplate

    pages = _Pages()
    whole, apart, *steps = shots
    _cover(pages, a, whole)
    pages.flow.append(PageBreak())
    _parts(pages, a, all_lots, work, apart)
    pages.section(before(a, [lot.part for lot in all_lots]))
    pages.section(lubrication(a))
    pages.flow.append(PageBreak())
    _steps(pages, Facts(a, all_lots), work, steps)
    pages.flow.append(PageBreak())
    for one in (centred(a), first_run(a)):
        pages.section(one)
    _check(pages, a)
    out = io.BytesIO()
    name = _checked_letters(a.design.name)

    def edge(canvas: Any, document: Any) -> None:
        canvas.setFont(PLAIN, 7)
        canvas.setFillColor(PALETTE[Theme.LIGHT][Role.QUIET])
        canvas.drawString(18 * mm, 9 * mm, f"{name}   design {a.design_hash[:12]}   {stamp[:10]}")
        canvas.drawRightString(192 * mm, 9 * mm, f"{document.page}")

    made = SimpleDocTemplate(
        out, pagesize=A4, leftMargin=18 * mm, rightMargin=18 * mm, topMargin=15 * mm, bottomMargin=16 * mm,
        title=f"Assembly of {name}", author="", creator=f"Lobewright {__version__}", invariant=1,
    )  # fmt: skip
    made.build(pages.flow, onFirstPage=edge, onLaterPages=edge)
    return out.getvalue()


def _cover(pages: _Pages, a: Assessment, whole: _Shot) -> None:
    from reportlab.platypus import Spacer

    design = a.design
    pages.flow += [
        pages.words(f"Putting together: {escape(design.name)}", "h1"),
        pages.words(escape(design.about), "quiet"),
        pages.words(
            f"One turn of {member(a.motion.read)} takes {turns(a)} turns of {member(a.motion.driven)}; "
            f"{member(a.motion.fixed)} is held. Read the cautions and all steps once before you begin."
        ),
    ]
    _care(pages, a)
    pages.flow += [Spacer(1, 8), pages.image(whole.data, whole.size_px, 112.0)]


def _care(pages: _Pages, a: Assessment) -> None:
    from reportlab.lib.colors import HexColor
    from reportlab.lib.units import mm
    from reportlab.platypus import Spacer, Table

    inside = [pages.words("Care", "care"), *(pages.words(f"• {escape(line)}", "small") for line in cautions(a))]
    frame = ("BOX", (0, 0), (-1, -1), 1, HexColor(PALETTE[Theme.LIGHT][Role.WARN]))
    pages.flow += [Spacer(1, 6), Table([[inside]], [INSIDE_MM * mm], style=[frame], hAlign="LEFT")]


def _material(part: Part) -> str:
    if part.material:
        # How it is laid stands in the column of files, and a blank's size belongs to the strength, not to the part.
        return WAY_OF_MAKING.sub("", catalogue.material(part.material).words)
    if part.advised_material:
        return part.advised_material
    asked = MADE_OF.search(part.note)
    return asked[1] if asked else "material of your choice"


def _made_of(a: Assessment, part: Part) -> str:
    """Its material, and how it is filled where it is printed."""
    filled = f", {filling_short(prints_solid(part))}" if is_printed(a.design, part.material) else ""
    return _material(part) + filled


def _what(a: Assessment, part: Part) -> str:
    known = told_with(part)
    return part.designation or (f"{_made_of(a, part)}; {known}" if known else _made_of(a, part))


def part_file(a: Assessment, part: Part) -> str:
    """Where a made part's file lies, under parts/; of a part in pieces that of the first, and how many there are."""
    printer = a.design.process
    if not isinstance(printer, m.Printer) or not prints(part):
        return f"nominal/{part.name}.step"
    pieces = on_the_bed(a, part, printer)
    more = f" and {len(pieces) - 1} more" if len(pieces) > 1 else ""
    return f"print/{pieces[0].name}_print.3mf{more}"


def _parts(pages: _Pages, a: Assessment, all_lots: Sequence[Lot], work: Sequence[Stage], apart: _Shot) -> None:
    rows: list[list[Any]] = [
        [pages.words(word, "head") for word in ("no.", "pieces", "part", "what it is", "step", "file in parts/")]
    ]
    for number, some in groupby(sorted(all_lots, key=lambda lot: lot.number), key=lambda lot: lot.number):
        same = list(some)
        part = same[0].part
        words = ", ".join(dict.fromkeys(lot.part.words for lot in same))
        skip = " (may be skipped)" if all(lot.part.may_skip for lot in same) else ""
        places = sum(len(lot.places) for lot in same)
        steps = dict.fromkeys(stage.name for stage in work if any(lot.number == number for lot in stage.lots))
        cells = (
            f"<b>{number}</b>", str(places), escape(words + skip), escape(_what(a, part)),
            ", ".join(steps), "bought" if part.designation else escape(part_file(a, part)),
        )  # fmt: skip
        rows.append([pages.words(cell, "cell") for cell in cells])
    pages.flow += [
        pages.words("Parts", "h2"),
        pages.image(apart.data, apart.size_px, 88.0),
        pages.words(
            "Drawn apart along the axis, rear on the left, without fasteners, input and arms. The numbers are "
            "those of the list below, "
            "of the steps and of the parts list, in the order in which parts go in.",
            "quiet",
        ),
        pages.table(rows, (9, 12, 48, 35, 17, 53)),
    ]


def _steps(pages: _Pages, facts: Facts, work: Sequence[Stage], shots: Sequence[_Shot]) -> None:
    from reportlab.lib.units import mm
    from reportlab.platypus import KeepTogether, Table

    style = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
    ]
    for k, (stage, shot) in enumerate(zip(work, shots, strict=True)):
        of_step = [one for one in work if one.step is stage.step]
        index = of_step.index(stage)
        here = title(stage, facts)
        more = ", continued" if index and here == title(of_step[0], facts) else ""
        image = pages.image(shot.data, shot.size_px, STEP_WIDE_MM * shot.size_px[1] / shot.size_px[0])
        seen = [pages.words("Seen from behind.", "quiet")] if shot.from_rear else []
        beside = [*(pages.words(line, "cell") for line in _going_in(stage)), *seen]
        block = [
            pages.words(escape(f"Step {stage.name}: {here}{more}"), "h2"),
            Table([[image, beside]], [STEP_WIDE_MM * mm, BESIDE_MM * mm], style=style, hAlign="LEFT"),
            *(pages.words(escape(line)) for line in sentences(facts, of_step, index)),
        ]
        if k == 0:
            block.insert(1, pages.words(
                "What stands already is pale. What is hidden shines through. What goes in comes along its red line.", "quiet"
            ))  # fmt: skip
        pages.flow.append(KeepTogether(block))


def _going_in(stage: Stage) -> list[str]:
    """What goes in, one line for each number, in the order of work."""
    counts: dict[int, int] = {}
    words: dict[int, list[str]] = {}
    lines: dict[int, str] = {}
    for piece in stage.new:
        if piece.whole:
            lines[-piece.of] = f"what was put together in step {piece.of}"
            continue
        lot = piece.lots[0]
        counts[lot.number] = counts.get(lot.number, 0) + len(lot.places)
        words.setdefault(lot.number, [])
        if lot.part.words not in words[lot.number]:
            words[lot.number].append(lot.part.words)
        lines.setdefault(lot.number, lot.part.designation)
    found = []
    for number, name in lines.items():
        if number < 0:
            found.append(escape(name))
            continue
        times = f"{counts[number]} × " if counts[number] > 1 else ""
        designation = f" ({name})" if name else ""
        found.append(f"<b>{number}</b>  {times}{escape(', '.join(words[number]) + designation)}")
    return found


def _check(pages: _Pages, a: Assessment) -> None:
    from reportlab.platypus import KeepTogether, Spacer

    rows = [[pages.words(word, "head") for word in ("look at", "expected", "found", "again after a month")]]
    rows += [
        [pages.words(escape(one.what), "cell"), pages.words(escape(one.expected), "cell"), "", ""]
        for one in check_sheet(a)
    ]
    block = [
        pages.words("Check sheet", "h2"),
        pages.table(rows, (78, 40, 28, 28), boxed=True),
        Spacer(1, 6),
        pages.words("Date, who: " + "_" * 60, "quiet"),
    ]
    pages.flow.append(KeepTogether(block))
