"""Painter: display lists as pages of one PDF, in vectors and at true size.

A page has a width and a height in millimetres; the window of its picture fills it. Line widths and text sizes are in
pixels of 1/96 inch, the same as in a browser. The font is the free one that the library ships, embedded; a letter that it
does not have is refused, so that nothing prints as a box. The same pages give the same bytes: no clock is in the file.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path as FilePath
from typing import Any

from lobewright.errors import Fault, LobewrightError, lacking
from lobewright.picture.display import Anchor, Arrow, Disc, Group, Item, Path, Picture, Point, RingArc, Text
from lobewright.picture.palette import PALETTE, Role, Theme
from lobewright.picture.svg import HATCH_STEP_PX, arrow_loops

POINT_MM = 72.0 / 25.4
"""Points of the page a millimetre."""
PX_MM = 25.4 / 96.0
"""Millimetres a pixel."""
PLAIN, STRONG = "LobewrightPlain", "LobewrightStrong"
FILES = {PLAIN: "Vera.ttf", STRONG: "VeraBd.ttf"}


@dataclass(frozen=True)
class Page:
    """A picture on a sheet of paper; its window is stretched to the sheet, whose sides must keep its proportion."""

    picture: Picture
    width_mm: float
    height_mm: float

    @property
    def unit_mm(self) -> float:
        """Millimetres of paper a drawing unit. Raises LobewrightError where the sides are not those of the window."""
        x0, y0, x1, y1 = self.picture.view
        if not (0 < self.width_mm < math.inf and 0 < self.height_mm < math.inf):
            size = f"{self.width_mm:g} × {self.height_mm:g} mm"
            raise LobewrightError([Fault("a page needs a size", "page", value=size, allowed="more than 0 mm")])
        across, down = self.width_mm / (x1 - x0), self.height_mm / (y1 - y0)
        if abs(across / down - 1) > 1e-6:
            what = f"the page of “{self.picture.title}” has not the proportion of its picture"
            value, allowed = f"{self.width_mm:g} × {self.height_mm:g} mm", f"{x1 - x0:g} : {y1 - y0:g}"
            raise LobewrightError([Fault(what, "page", value=value, allowed=allowed)])
        return across


def _library() -> Any:
    """The PDF library with both fonts known to it. Raises PlatformFault when it is not installed."""
    try:
        import reportlab
        from reportlab.pdfbase import pdfmetrics, ttfonts
        from reportlab.pdfgen import canvas
    except ImportError as error:
        raise lacking("PDF sheets need the library reportlab", error) from None
    folder = FilePath(reportlab.__file__).parent / "fonts"
    for name, file in FILES.items():
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(ttfonts.TTFont(name, folder / file))
    return canvas


@cache
def _letters() -> frozenset[int]:
    from reportlab.pdfbase import pdfmetrics

    _library()
    return frozenset(pdfmetrics.getFont(PLAIN).face.charToGlyph) & frozenset(
        pdfmetrics.getFont(STRONG).face.charToGlyph
    )


def unprintable(text: str) -> str:
    """Letters of a text that the embedded font does not have; empty for a text that prints. Raises PlatformFault."""
    return "".join(dict.fromkeys(letter for letter in text if ord(letter) not in _letters()))


def known_letters() -> frozenset[int]:
    """Code points of the letters that the embedded font has, plain and strong. Raises PlatformFault."""
    return _letters()


def text_width_px(text: str, size_px: float, strong: bool = False) -> float:
    """How wide a line of text is on the page, in pixels. Raises PlatformFault."""
    from reportlab.pdfbase import pdfmetrics

    _library()
    return float(pdfmetrics.stringWidth(text, STRONG if strong else PLAIN, size_px))


class _Painter:
    """Paints one page. Lengths handed to the canvas are drawing units; the page's transform makes points of them."""

    def __init__(self, canvas: Any, unit_mm: float, colours: dict[Role, str]) -> None:
        self.canvas = canvas
        self.px = PX_MM / unit_mm
        self.colours = colours

    def colour(self, role: Role) -> tuple[float, float, float]:
        red, green, blue = bytes.fromhex(self.colours[role][1:])
        return red / 255, green / 255, blue / 255

    def ink(self, fill: Role | None, line: Role | None, line_px: float, dash_px: float = 0.0) -> dict[str, int]:
        if fill:
            self.canvas.setFillColorRGB(*self.colour(fill))
        if line:
            self.canvas.setStrokeColorRGB(*self.colour(line))
            self.canvas.setLineWidth(line_px * self.px)
            self.canvas.setDash([dash_px * self.px] * 2 if dash_px else [])
        return {"stroke": int(bool(line)), "fill": int(bool(fill))}

    def run(self, loops: Sequence[Sequence[Point]], closed: bool) -> Any:
        path = self.canvas.beginPath()
        for loop in loops:
            path.moveTo(*loop[0])
            for point in loop[1:]:
                path.lineTo(*point)
            if closed:
                path.close()
        return path

    def item(self, item: Item) -> None:
        match item:
            case Path():
                self.path(item)
            case Disc():
                ink = self.ink(item.fill, item.line, item.line_px)
                self.canvas.circle(*item.centre, item.radius, **ink)
            case RingArc():
                self.ring_arc(item)
            case Text():
                self.text(item)
            case Arrow():
                shaft, head = arrow_loops(item, self.px)
                self.canvas.drawPath(self.run((shaft,), False), **self.ink(None, item.colour, item.line_px))
                self.canvas.drawPath(self.run((head,), True), **self.ink(item.colour, None, 0.0))
            case Group():
                self.group(item)

    def path(self, path: Path) -> None:
        if path.fill:
            self.canvas.drawPath(self.run(path.loops, path.closed), fillMode=0, **self.ink(path.fill, None, 0.0))
        if path.hatch:
            self.hatch(path)
        if path.line:
            ink = self.ink(None, path.line, path.line_px, path.dash_px)
            self.canvas.drawPath(self.run(path.loops, path.closed), **ink)

    def hatch(self, path: Path) -> None:
        """Lines at 45° through the box of the loops, clipped to them."""
        assert path.hatch is not None
        xs, ys = zip(*(point for loop in path.loops for point in loop), strict=True)
        x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)
        self.canvas.saveState()
        self.canvas.clipPath(self.run(path.loops, True), stroke=0, fill=0, fillMode=0)
        self.ink(None, path.hatch, 0.7)
        step = HATCH_STEP_PX * self.px * math.sqrt(2)
        # Seen from the page's corner, so that neighbouring regions share their lines.
        first, last = math.floor((y0 - x1) / step), math.ceil((y1 - x0) / step)
        for k in range(first, last + 1):
            self.canvas.line(x0, x0 + k * step, x1, x1 + k * step)
        self.canvas.restoreState()

    def ring_arc(self, arc: RingArc) -> None:
        sweep = max(-2 * math.pi, min(2 * math.pi, arc.sweep_rad))
        box = [
            (arc.centre[0] - r, arc.centre[1] - r, arc.centre[0] + r, arc.centre[1] + r) for r in (arc.outer, arc.inner)
        ]
        start, extent = math.degrees(arc.start_rad), math.degrees(sweep)
        path = self.canvas.beginPath()
        path.arc(*box[0], start, extent)
        if abs(sweep) >= 2 * math.pi:
            path.close()
            path.arc(*box[1], start + extent, -extent)
        else:
            path.arcTo(*box[1], start + extent, -extent)
        path.close()
        self.canvas.drawPath(path, fillMode=0, **self.ink(arc.fill, arc.line, arc.line_px))

    def text(self, text: Text) -> None:
        missing = unprintable(text.text)
        if missing:
            what = f"the sheet's font has no letter {missing!r}"
            raise LobewrightError([Fault(what, "text.text", value=repr(text.text), allowed="letters of the font")])
        self.canvas.saveState()
        self.canvas.translate(*text.at)
        self.canvas.rotate(math.degrees(text.angle_rad))
        self.canvas.setFillColorRGB(*self.colour(text.colour))
        self.canvas.setFont(STRONG if text.strong else PLAIN, text.size(self.px))
        draw = {
            Anchor.START: self.canvas.drawString,
            Anchor.MIDDLE: self.canvas.drawCentredString,
            Anchor.END: self.canvas.drawRightString,
        }
        draw[text.anchor](0.0, 0.0, text.text)
        self.canvas.restoreState()

    def group(self, group: Group) -> None:
        for place in group.placements:
            self.canvas.saveState()
            if group.clip:
                x0, y0, x1, y1 = group.clip
                corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
                self.canvas.clipPath(self.run((corners,), True), stroke=0, fill=0)
            if group.fade < 1.0:
                self.canvas.setFillAlpha(group.fade)
                self.canvas.setStrokeAlpha(group.fade)
            self.canvas.translate(place.x, place.y)
            self.canvas.rotate(math.degrees(place.angle_rad))
            for item in group.items:
                self.item(item)
            self.canvas.restoreState()


def pdf(pages: Sequence[Page], title: str = "", theme: Theme = Theme.LIGHT) -> bytes:
    """The pages as one PDF document. The paper is left bare, so that ink prints on what lies in the printer.

    Raises PlatformFault (no PDF library), LobewrightError (no pages, a page of another proportion, a letter that the font
    does not have).
    """
    if not pages:
        raise LobewrightError([Fault("a document needs a page", "pages", value="0", allowed="1 or more")])
    out = io.BytesIO()
    sheet = _library().Canvas(out, invariant=1, pageCompression=1)
    sheet.setTitle(title or pages[0].picture.title)
    sheet.setProducer("Lobewright")
    colours = dict(PALETTE[theme]) | ({Role.PAPER: "#ffffff"} if theme is Theme.LIGHT else {})
    for page in pages:
        unit = page.unit_mm
        sheet.setPageSize((page.width_mm * POINT_MM, page.height_mm * POINT_MM))
        sheet.saveState()
        sheet.scale(unit * POINT_MM, unit * POINT_MM)
        sheet.translate(-page.picture.view[0], -page.picture.view[1])
        sheet.setLineJoin(1)
        painter = _Painter(sheet, unit, colours)
        for item in page.picture.items:
            painter.item(item)
        sheet.restoreState()
        sheet.showPage()
    sheet.save()
    return out.getvalue()
