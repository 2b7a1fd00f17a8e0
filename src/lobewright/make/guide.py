"""Assembly instructions as a PDF with pictures rendered from the model: one step, one picture, few words.

::

    guide.pdf         cover, parts by step, steps, how to see that the mesh is right, grease, first run, check sheet
    guide/*.png       the pictures, to use elsewhere

The same assembly gives the same bytes. The font is the free one that ships with the PDF library, embedded.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from lobewright import __version__
from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.errors import Fault, LobewrightError, PlatformFault
from lobewright.make import guide_pictures as pictures
from lobewright.make.guide_pictures import Lot
from lobewright.make.guide_words import (
    Section,
    cautions,
    centred,
    check_sheet,
    clean,
    first_run,
    lubrication,
    member,
    step_lines,
    step_title,
    turns,
)
from lobewright.make.placing import Placed
from lobewright.make.render import png
from lobewright.picture.palette import PALETTE, Role, Theme

Progress = Callable[[str, float], None]
PLAIN, STRONG = "LobewrightGuide", "LobewrightGuideStrong"
INSIDE_MM = 174.0
STEP_PICTURE_MM = 104.0
"""Most height of a step's picture: two steps stand on a page."""
NAME, FOLDER = "guide.pdf", "guide"


def _library() -> Any:
    """The PDF library with the fonts known to it. Raises PlatformFault when it is not installed."""
    try:
        import reportlab
        from reportlab.pdfbase import pdfmetrics, ttfonts
    except ImportError as error:
        what = f"instructions need the library reportlab, which cannot be loaded here ({error})"
        allowed = 'install the extra "cad": python start.py, or pip install "lobewright[cad]"'
        raise PlatformFault([Fault(what, allowed=allowed)]) from None
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
        "cell": ParagraphStyle("cell", plain, fontSize=7.8, leading=9.8, spaceAfter=0),
        "head": ParagraphStyle("head", plain, fontSize=7.4, leading=9, textColor=quiet, spaceAfter=0),
        "quiet": ParagraphStyle("quiet", plain, textColor=quiet),
        "h1": ParagraphStyle("h1", plain, fontName=STRONG, fontSize=19, leading=23, spaceAfter=4),
        "h2": ParagraphStyle("h2", plain, fontName=STRONG, fontSize=11.5, leading=15, spaceBefore=9, spaceAfter=3),
        "care": ParagraphStyle("care", plain, fontName=STRONG, fontSize=9.5, leading=13, textColor=warn, spaceAfter=2),
        "small": ParagraphStyle("small", plain, fontSize=8, leading=10.4, spaceAfter=2),
    }


def _checked_letters(text: str) -> str:
    """Text that the page's font can set. Raises LobewrightError for a letter that it does not have."""
    from reportlab.pdfbase import pdfmetrics

    known = pdfmetrics.getFont(PLAIN).face.charToGlyph
    said = clean(text)
    for letter in said:
        if ord(letter) >= 32 and ord(letter) not in known:
            what = "the font of the instructions lacks a letter"
            raise LobewrightError([Fault(what, "guide", value=repr(letter), allowed="letters of Latin scripts")])
    return said


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


def steps_of(lots: Sequence[Lot]) -> list[list[Lot]]:
    """The lots of each step, in the order of work."""
    order = sorted({lot.step for lot in lots})
    return [[lot for lot in lots if lot.step == step] for step in order]


def _numbers(placed: Sequence[Placed]) -> list[int]:
    """A number for each placed part: alike bought parts share one, counted in the order of work."""
    order = sorted(range(len(placed)), key=lambda k: (placed[k].step, bool(placed[k].part.designation), k))
    known: dict[str, int] = {}
    for k in order:
        part = placed[k].part
        known.setdefault(f"{part.name} {part.designation}", len(known) + 1)
    return [known[f"{one.part.name} {one.part.designation}"] for one in placed]


def write_guide(
    a: Assessment, placed: Sequence[Placed], folder: Path, stamp: str = "", progress: Progress | None = None
) -> tuple[Path, ...]:
    """Write the instructions of an assembly into ``folder``: guide.pdf and its pictures; the paths written.

    ``stamp`` stands as the date on every page. Raises PlatformFault (a library of the extra "cad" is missing),
    LobewrightError (nothing placed, a letter that the font lacks), OSError (cannot write).
    """
    say = progress or (lambda word, share: None)
    if not placed:
        raise LobewrightError(
            [Fault("instructions need an assembly", "guide", value="no part", allowed="placed parts")]
        )
    _library()
    say("pictures of the assembly", 0.0)
    all_lots = pictures.in_order(pictures.lots(placed, _numbers(placed), {}))
    steps = steps_of(all_lots)
    images = {"whole": pictures.whole(all_lots), "apart": pictures.apart(all_lots)}
    for k, new in enumerate(steps, 1):
        say(f"picture of step {k}", 0.1 + 0.8 * k / len(steps))
        there = [lot for some in steps[: k - 1] for lot in some]
        images[f"step_{k}"] = pictures.step(new, there, all_lots)
    files = {name: png(image) for name, image in images.items()}
    sizes = {name: (image.shape[1], image.shape[0]) for name, image in images.items()}
    say("instructions", 0.92)
    document = _document(a, placed, steps, files, sizes, stamp)
    inside = folder / FOLDER
    inside.mkdir(parents=True, exist_ok=True)
    paths = [folder / NAME, *(inside / f"{name}.png" for name in files)]
    for path, data in zip(paths, (document, *files.values()), strict=True):
        path.write_bytes(data)
    return tuple(paths)


def _document(
    a: Assessment,
    placed: Sequence[Placed],
    steps: Sequence[Sequence[Lot]],
    files: dict[str, bytes],
    sizes: dict[str, tuple[int, int]],
    stamp: str,
) -> bytes:
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.units import mm
    from reportlab.platypus import PageBreak, SimpleDocTemplate

    pages = _Pages()
    _cover(pages, a, files, sizes)
    pages.flow.append(PageBreak())
    _parts(pages, steps)
    _care(pages, a)
    pages.flow.append(PageBreak())
    _steps(pages, steps, files, sizes)
    pages.flow.append(PageBreak())
    for one in (centred(a), lubrication(a), first_run(a)):
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


def _cover(pages: _Pages, a: Assessment, files: dict[str, bytes], sizes: dict[str, tuple[int, int]]) -> None:
    design = a.design
    pages.flow += [
        pages.words(f"Putting together: {escape(design.name)}", "h1"),
        pages.words(escape(design.about), "quiet"),
        pages.words(
            f"One turn of {member(a.motion.read)} takes {turns(a)} turns of {member(a.motion.driven)}; "
            f"{member(a.motion.fixed)} is held. Read all steps once before you begin."
        ),
        pages.image(files["whole"], sizes["whole"], 108.0),
        pages.image(files["apart"], sizes["apart"], 96.0),
        pages.words(
            "Drawn apart along the axis, a large assembly without its fasteners, input and arms; the numbers are those of the "
            "list of parts.",
            "quiet",
        ),
    ]


def _material(name: str) -> str:
    return catalogue.material(name).words if name else "material of your choice"


def _parts(pages: _Pages, steps: Sequence[Sequence[Lot]]) -> None:
    rows: list[list[Any]] = [[pages.words(word, "head") for word in ("step", "no.", "pieces", "part", "what it is")]]
    for k, new in enumerate(steps, 1):
        counts: dict[int, int] = {}
        for lot in new:
            counts[lot.number] = counts.get(lot.number, 0) + len(lot.places)
        for number in sorted(counts):
            part = next(lot.part for lot in new if lot.number == number)
            what = part.designation or _material(part.material)
            cells = (str(k), f"<b>{number}</b>", str(counts[number]), escape(part.words), escape(what))
            rows.append([pages.words(cell, "cell") for cell in cells])
    pages.flow += [pages.words("Parts by step", "h2"), pages.table(rows, (12, 12, 16, 68, 66))]


def _care(pages: _Pages, a: Assessment) -> None:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Spacer, Table

    inside = [pages.words("Care", "care"), *(pages.words(f"• {escape(line)}", "small") for line in cautions(a))]
    frame = ("BOX", (0, 0), (-1, -1), 1, HexColor(PALETTE[Theme.LIGHT][Role.WARN]))
    pages.flow += [Spacer(1, 10), Table([[inside]], style=[frame], hAlign="LEFT")]


def _steps(
    pages: _Pages, steps: Sequence[Sequence[Lot]], files: dict[str, bytes], sizes: dict[str, tuple[int, int]]
) -> None:
    from reportlab.platypus import KeepTogether

    told: set[str] = set()
    for k, new in enumerate(steps, 1):
        name = f"step_{k}"
        block = [
            pages.words(escape(f"Step {k}: {step_title(new)}"), "h2"),
            pages.image(files[name], sizes[name], STEP_PICTURE_MM - 22.0),
            *(pages.words(line) for line in step_lines(new, told)),
        ]
        pages.flow.append(KeepTogether(block))


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
