"""Painter: display lists as pixels, for films and pictures of them.

Paints with a raster library, without window or graphics card, so that the same picture gives the same pixels on the same
version of it. Letters are of the free font that the PDF library ships; one that it lacks (an arrow, a Greek letter) is taken
from the fonts of the system, and refused where none has it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path as FilePath
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import Fault, LobewrightError, PlatformFault, lacking
from lobewright.picture.display import Anchor, Arrow, Disc, Group, Item, Path, Picture, Point, RingArc, Text
from lobewright.picture.palette import PALETTE, Role, Theme
from lobewright.picture.svg import HATCH_STEP_PX, arrow_loops

Pixels = NDArray[np.uint8]
"""Shape (height, width, 4): red, green, blue, opacity; colours are not multiplied with the opacity."""
FONT_FILES = {False: "Vera.ttf", True: "VeraBd.ttf"}
LARGEST_PX = 16384


@dataclass(frozen=True)
class Placed:
    """A picture on a sheet of pixels: its window is fitted into ``box_px`` (left, top, right, bottom; y down), in the middle.

    ``line_scale``: pixels of the sheet for a pixel of line width and text size.
    """

    picture: Picture
    box_px: tuple[float, float, float, float]
    line_scale: float = 1.0

    @property
    def scale(self) -> float:
        """Pixels a drawing unit."""
        (x0, y0, x1, y1), (left, top, right, bottom) = self.picture.view, self.box_px
        return min((right - left) / (x1 - x0), (bottom - top) / (y1 - y0))

    def pixel(self, point: Point) -> Point:
        """Where a point of the drawing lies on the sheet, in pixels from its upper left corner."""
        (x0, y0, x1, y1), (left, top, right, bottom) = self.picture.view, self.box_px
        across, down = (left + right) / 2, (top + bottom) / 2
        return across + self.scale * (point[0] - (x0 + x1) / 2), down - self.scale * (point[1] - (y0 + y1) / 2)


@cache
def _skia() -> Any:
    try:
        import skia
    except ImportError as error:
        raise lacking("Pixels need the library skia-python", error, "lesson") from None
    return skia


@cache
def _face(strong: bool) -> Any:
    """The shipped font. Raises PlatformFault where the PDF library is missing."""
    found = find_spec("reportlab")
    if found is None or not found.submodule_search_locations:
        raise lacking("Pixels need the fonts of the library reportlab", ImportError("no such module"), "lesson")
    file = FilePath(found.submodule_search_locations[0]) / "fonts" / FONT_FILES[strong]
    face = _skia().FontMgr.New_Custom_Empty().makeFromFile(str(file))  # asks the system for no fonts
    if face is None:
        raise PlatformFault([Fault("the font cannot be read", value=str(file), allowed="install the extra again")])
    return face


@cache
def _other_face(letter: str, strong: bool) -> Any:
    """A font of the system that has a letter. Raises LobewrightError where there is none."""
    skia = _skia()
    style = skia.FontStyle.Bold() if strong else skia.FontStyle.Normal()
    face = skia.FontMgr().matchFamilyStyleCharacter("", style, [], ord(letter))
    if face is None or face.unicharToGlyph(ord(letter)) == 0:
        what = f"no font here has the letter {letter!r}"
        raise LobewrightError([Fault(what, "text.text", allowed="letters of the shipped font or of an installed one")])
    return face


@cache
def _font(letter: str, strong: bool, size: float) -> Any:
    skia = _skia()
    face = _face(strong)
    if face.unicharToGlyph(ord(letter)) == 0:
        face = _other_face(letter, strong)
    font = skia.Font(face, size)
    font.setSubpixel(True)
    font.setEdging(skia.Font.Edging.kAntiAlias)
    font.setHinting(skia.FontHinting.kNone)
    return font


@cache
def _in_face(letter: str, strong: bool) -> bool:
    return _face(strong).unicharToGlyph(ord(letter)) != 0


def _runs(text: str, strong: bool, size: float) -> Iterator[tuple[str, Any]]:
    """Pieces of a text, each with a font that has its letters."""
    piece = ""
    for letter in text:
        if _in_face(letter, strong):
            piece += letter
            continue
        if piece:
            yield piece, _font(" ", strong, size)
        piece = ""
        yield letter, _font(letter, strong, size)
    if piece:
        yield piece, _font(" ", strong, size)


def text_width(text: str, size_px: float, strong: bool = False) -> float:
    """How wide a line of text is, in pixels. Raises PlatformFault, LobewrightError (no font has a letter)."""
    return float(sum(font.measureText(piece) for piece, font in _runs(text, strong, size_px)))


class _Painter:
    """Paints one picture. The canvas has drawing units with y up; ``px`` is drawing units a pixel of line width."""

    def __init__(self, canvas: Any, px: float, colours: dict[Role, int]) -> None:
        self.skia, self.canvas, self.px, self.colours = _skia(), canvas, px, colours
        self.runs: dict[tuple[int, bool], Any] = {}

    def fill(self, role: Role) -> Any:
        return self.skia.Paint(Color=self.colours[role], AntiAlias=True)

    def stroke(self, role: Role, line_px: float, dash_px: float = 0.0) -> Any:
        paint = self.skia.Paint(Color=self.colours[role], AntiAlias=True, Style=self.skia.Paint.kStroke_Style)
        paint.setStrokeWidth(line_px * self.px)
        paint.setStrokeJoin(self.skia.Paint.kRound_Join)
        if dash_px:
            paint.setPathEffect(self.skia.DashPathEffect.Make([dash_px * self.px] * 2, 0.0))
        return paint

    def dressed(self, run: Any, fill: Role | None, line: Role | None, line_px: float, dash_px: float = 0.0) -> None:
        if fill:
            self.canvas.drawPath(run, self.fill(fill))
        if line and line_px > 0.0:
            self.canvas.drawPath(run, self.stroke(line, line_px, dash_px))

    def run(self, loops: Sequence[Sequence[Point]], closed: bool) -> Any:
        path = self.skia.Path()
        for loop in loops:
            path.addPoly([self.skia.Point(x, y) for x, y in loop], closed)
        path.setFillType(self.skia.PathFillType.kEvenOdd)
        return path

    def kept_run(self, path: Path) -> Any:
        """The same, made once for a path that is painted in many places; the picture keeps its loops alive."""
        key = id(path.loops), path.closed
        if key not in self.runs:
            self.runs[key] = self.run(path.loops, path.closed)
        return self.runs[key]

    def item(self, item: Item) -> None:
        match item:
            case Path():
                self.path(item)
            case Disc():
                if item.fill:
                    self.canvas.drawCircle(*item.centre, item.radius, self.fill(item.fill))
                if item.line and item.line_px > 0.0:
                    self.canvas.drawCircle(*item.centre, item.radius, self.stroke(item.line, item.line_px))
            case RingArc():
                self.ring_arc(item)
            case Text():
                self.text(item)
            case Arrow():
                shaft, head = arrow_loops(item, self.px)
                self.dressed(self.run((shaft,), False), None, item.colour, item.line_px)
                self.dressed(self.run((head,), True), item.colour, None, 0.0)
            case Group():
                self.group(item)

    def path(self, path: Path) -> None:
        run = self.kept_run(path)
        if path.fill:
            self.canvas.drawPath(run, self.fill(path.fill))
        if path.hatch:
            self.hatch(run, path.hatch)
        if path.line and path.line_px > 0.0:
            self.canvas.drawPath(run, self.stroke(path.line, path.line_px, path.dash_px))

    def hatch(self, run: Any, role: Role) -> None:
        """Lines at 45° through the box of the loops, clipped to them."""
        box = run.getBounds()
        self.canvas.save()
        self.canvas.clipPath(run, self.skia.ClipOp.kIntersect, True)
        step = HATCH_STEP_PX * self.px * math.sqrt(2)
        paint = self.stroke(role, 1.0)
        x0, x1, y0, y1 = box.left(), box.right(), box.top(), box.bottom()
        ends = [
            self.skia.Point(x, x + k * step)
            for k in range(math.floor((y0 - x1) / step), math.ceil((y1 - x0) / step) + 1)
            for x in (x0, x1)
        ]
        self.canvas.drawPoints(self.skia.Canvas.kLines_PointMode, ends, paint)
        self.canvas.restore()

    def ring_arc(self, arc: RingArc) -> None:
        skia = self.skia
        sweep = math.degrees(max(-2 * math.pi, min(2 * math.pi, arc.sweep_rad)))
        start = math.degrees(arc.start_rad)
        outer, inner = (
            skia.Rect(arc.centre[0] - r, arc.centre[1] - r, arc.centre[0] + r, arc.centre[1] + r)
            for r in (arc.outer, arc.inner)
        )
        path = skia.Path()
        if abs(sweep) >= 360.0:
            path.addOval(outer)
            path.addOval(inner)
        else:
            path.arcTo(outer, start, sweep, True)
            path.arcTo(inner, start + sweep, -sweep, False)
            path.close()
        path.setFillType(skia.PathFillType.kEvenOdd)
        self.dressed(path, arc.fill, arc.line, arc.line_px)

    def text(self, text: Text) -> None:
        size = text.size(self.px) / self.px
        if not text.text or size <= 0.0:
            return
        width = text_width(text.text, size, text.strong)
        at = {Anchor.START: 0.0, Anchor.MIDDLE: -width / 2, Anchor.END: -width}[text.anchor]
        self.canvas.save()
        self.canvas.translate(*text.at)
        self.canvas.rotate(math.degrees(text.angle_rad))
        self.canvas.scale(self.px, -self.px)  # letters stand upright, in pixels
        paint = self.fill(text.colour)
        for piece, font in _runs(text.text, text.strong, size):
            self.canvas.drawString(piece, at, 0.0, font, paint)
            at += font.measureText(piece)
        self.canvas.restore()

    def group(self, group: Group) -> None:
        skia = self.skia
        for place in group.placements:
            self.canvas.save()
            if group.clip:
                x0, y0, x1, y1 = group.clip
                self.canvas.clipRect(skia.Rect(x0, y0, x1, y1), skia.ClipOp.kIntersect, True)
            if group.fade < 1.0:
                self.canvas.saveLayerAlpha(None, round(255 * group.fade))
            self.canvas.translate(place.x, place.y)
            self.canvas.rotate(math.degrees(place.angle_rad))
            for item in group.items:
                self.item(item)
            if group.fade < 1.0:
                self.canvas.restore()
            self.canvas.restore()


def pixels(
    placed: Sequence[Placed],
    width_px: int,
    height_px: int,
    theme: Theme = Theme.LIGHT,
    transparent: bool = False,
) -> Pixels:
    """Pictures on one sheet of pixels, painted in order, on the theme's paper or on nothing.

    Raises PlatformFault (no raster library), LobewrightError (a size that cannot be, a letter that no font has).
    """
    for name, size in (("width_px", width_px), ("height_px", height_px)):
        if not 1 <= size <= LARGEST_PX:
            what = "a sheet of pixels cannot have this size"
            raise LobewrightError([Fault(what, name, value=str(size), allowed=f"1 to {LARGEST_PX} px")])
    skia = _skia()
    array = np.zeros((height_px, width_px, 4), dtype=np.uint8)
    opaque = {role: skia.Color(*bytes.fromhex(colour[1:])) for role, colour in PALETTE[theme].items()}
    info = skia.ImageInfo.Make(
        width_px,
        height_px,
        skia.ColorType.kRGBA_8888_ColorType,
        skia.AlphaType.kPremul_AlphaType,
        skia.ColorSpace.MakeSRGB(),
    )
    surface = skia.Surface.MakeRasterDirect(info, array)
    with surface as canvas:
        if not transparent:
            canvas.clear(opaque[Role.PAPER])
        for one in placed:
            x0, y0, x1, y1 = one.picture.view
            scale = one.scale
            left, top = one.pixel((x0, y1))
            canvas.save()
            canvas.clipRect(skia.Rect(left, top, left + scale * (x1 - x0), top + scale * (y1 - y0)))
            canvas.translate(left - scale * x0, top + scale * y1)
            canvas.scale(scale, -scale)
            painter = _Painter(canvas, one.line_scale / scale, opaque)
            for item in one.picture.items:
                painter.item(item)
            canvas.restore()
    return _plain(array) if transparent else array


def _plain(array: Pixels) -> Pixels:
    """Colours that were multiplied with the opacity, divided by it again."""
    opacity = array[..., 3:].astype(np.uint16)
    colour = (array[..., :3].astype(np.uint16) * 255 + opacity // 2) // np.maximum(opacity, 1)
    return np.concatenate((np.minimum(colour, 255).astype(np.uint8), array[..., 3:]), axis=-1)
