"""Painter: a display list as SVG text.

The same picture gives the same bytes on every machine: numbers have a fixed count of places, names of definitions are
counted, nothing depends on clocks or on the order of a set. Title and description are inside for screen readers.
"""

from __future__ import annotations

import math
from xml.sax.saxutils import escape, quoteattr

from lobewright.errors import Fault, LobewrightError
from lobewright.picture.display import Arrow, Disc, Group, Item, Path, Picture, Point, RingArc, Text
from lobewright.picture.palette import PALETTE, Role, Theme

HATCH_STEP_PX = 6.0
FONT = "Optima, Candara, 'Noto Sans', 'DejaVu Sans', sans-serif"


def arrow_loops(arrow: Arrow, unit: float) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """Shaft (open) and head (closed triangle) of an arrow; ``unit`` is drawing units a pixel.

    The bow is a parabola through tail, middle and head; the head lies along its end tangent. The canvas painter
    does the same.
    """
    (x0, y0), (x1, y1) = arrow.tail, arrow.head
    dx, dy = x1 - x0, y1 - y0
    length = math.hypot(dx, dy)
    if length == 0.0:
        return ((x0, y0), (x1, y1)), ((x0, y0), (x1, y1), (x1, y1))
    left = (-dy / length, dx / length)
    control = (x0 + dx / 2 + 2 * arrow.bow * left[0], y0 + dy / 2 + 2 * arrow.bow * left[1])
    end = math.atan2(y1 - control[1], x1 - control[0])
    size = (5.0 + 2.5 * arrow.line_px) * unit
    back = (x1 - size * math.cos(end), y1 - size * math.sin(end))
    half = (-0.38 * size * math.sin(end), 0.38 * size * math.cos(end))
    steps = 1 if arrow.bow == 0.0 else 24
    shaft = []
    for step in range(steps + 1):
        t = step / steps
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        # The shaft ends inside the head, so that its blunt end never shows at the tip.
        shaft.append(
            (a * x0 + b * control[0] + c * (x1 + back[0]) / 2, a * y0 + b * control[1] + c * (y1 + back[1]) / 2)
        )
    head = ((x1, y1), (back[0] + half[0], back[1] + half[1]), (back[0] - half[0], back[1] - half[1]))
    return tuple(shaft), head


class _Painter:
    """Collects elements and definitions of one picture."""

    def __init__(self, unit: float, colours: dict[str, str]) -> None:
        self.unit = unit
        self.colours = colours
        self.definitions: list[str] = []
        self.hatches: dict[Role, str] = {}
        places = max(0, 2 - math.floor(math.log10(unit)))
        self.places = min(places, 9)

    def number(self, value: float) -> str:
        text = f"{value:.{self.places}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text == "-0" else text

    def point(self, point: Point) -> str:
        return f"{self.number(point[0])} {self.number(-point[1])}"

    def run(self, loop: tuple[Point, ...], closed: bool) -> str:
        return "M" + "L".join(self.point(point) for point in loop) + ("Z" if closed else "")

    def ink(self, fill: Role | None, line: Role | None, line_px: float, dash_px: float = 0.0) -> str:
        text = f' fill="{self.colours[fill] if fill else "none"}"'
        if line:
            text += f' stroke="{self.colours[line]}" stroke-width="{self.number(line_px * self.unit)}"'
            text += ' stroke-linejoin="round"'
            if dash_px:
                text += f' stroke-dasharray="{self.number(dash_px * self.unit)}"'
        return text

    def hatch(self, role: Role) -> str:
        if role not in self.hatches:
            name = f"hatch{len(self.hatches) + 1}"
            step = self.number(HATCH_STEP_PX * self.unit)
            self.hatches[role] = name
            self.definitions.append(
                f'<pattern id="{name}" width="{step}" height="{step}" patternUnits="userSpaceOnUse"'
                f' patternTransform="rotate(45)"><path d="M0 0V{step}" stroke="{self.colours[role]}"'
                f' stroke-width="{self.number(self.unit)}"/></pattern>'
            )
        return self.hatches[role]

    def item(self, item: Item) -> str:
        match item:
            case Path():
                return self.path(item)
            case Disc():
                x, y = self.number(item.centre[0]), self.number(-item.centre[1])
                ink = self.ink(item.fill, item.line, item.line_px)
                return f'<circle cx="{x}" cy="{y}" r="{self.number(item.radius)}"{ink}/>'
            case RingArc():
                return self.ring_arc(item)
            case Text():
                return self.text(item)
            case Arrow():
                return self.arrow(item)
            case Group():
                return self.group(item)

    def path(self, path: Path) -> str:
        runs = "".join(self.run(loop, path.closed) for loop in path.loops)
        ink = self.ink(path.fill, path.line, path.line_px, path.dash_px)
        out = f'<path d="{runs}" fill-rule="evenodd"{ink}/>'
        if path.hatch:
            out += f'<path d="{runs}" fill-rule="evenodd" fill="url(#{self.hatch(path.hatch)})"/>'
        return out

    def ring_arc(self, arc: RingArc) -> str:
        sweep = max(-2 * math.pi, min(2 * math.pi, arc.sweep_rad))
        steps = max(2, math.ceil(abs(sweep) / (math.pi / 2)) + 1)
        angles = [arc.start_rad + sweep * step / (steps - 1) for step in range(steps)]

        def way(radius: float, order: list[float], turn: float) -> str:
            flag = 0 if turn > 0 else 1
            spots = [(arc.centre[0] + radius * math.cos(a), arc.centre[1] + radius * math.sin(a)) for a in order]
            size = self.number(radius)
            return self.point(spots[0]) + "".join(f"A{size} {size} 0 0 {flag} {self.point(p)}" for p in spots[1:])

        whole = abs(sweep) >= 2 * math.pi
        joint = "ZM" if whole else "L"
        run = f"M{way(arc.outer, angles, sweep)}{joint}{way(arc.inner, angles[::-1], -sweep)}Z"
        return f'<path d="{run}" fill-rule="evenodd"{self.ink(arc.fill, arc.line, arc.line_px)}/>'

    def text(self, text: Text) -> str:
        turn = ""
        weight = ' font-weight="bold"' if text.strong else ""
        if text.angle_rad:
            turn = f' transform="rotate({-math.degrees(text.angle_rad):.3f} {self.point(text.at)})"'
        return (
            f'<text x="{self.number(text.at[0])}" y="{self.number(-text.at[1])}"{turn} text-anchor="{text.anchor}"'
            f' font-size="{self.number(text.size(self.unit))}" fill="{self.colours[text.colour]}"'
            f"{weight}>{escape(text.text)}</text>"
        )

    def arrow(self, arrow: Arrow) -> str:
        shaft, head = arrow_loops(arrow, self.unit)
        return (
            f'<path d="{self.run(shaft, False)}"{self.ink(None, arrow.colour, arrow.line_px)}/>'
            f'<path d="{self.run(head, True)}"{self.ink(arrow.colour, None, 0.0)}/>'
        )

    def group(self, group: Group) -> str:
        inner = "".join(self.item(item) for item in group.items)
        moves = [
            f"translate({self.point((place.x, place.y))}) rotate({-math.degrees(place.angle_rad):.4f})"
            for place in group.placements
        ]
        if len(moves) == 1:
            body = f'<g transform="{moves[0]}">{inner}</g>'
        else:
            name = f"part{len(self.definitions) + 1}"
            self.definitions.append(f'<g id="{name}">{inner}</g>')
            body = "".join(f'<use href="#{name}" transform="{move}"/>' for move in moves)
        dress = f' opacity="{group.fade:.3f}"' if group.fade < 1.0 else ""
        if group.clip:
            x0, y0, x1, y1 = group.clip
            name = f"clip{len(self.definitions) + 1}"
            box = f'x="{self.number(x0)}" y="{self.number(-y1)}" width="{self.number(x1 - x0)}"'
            self.definitions.append(f'<clipPath id="{name}"><rect {box} height="{self.number(y1 - y0)}"/></clipPath>')
            dress += f' clip-path="url(#{name})"'
        return f"<g{dress}>{body}</g>" if dress else body


def svg(picture: Picture, width_px: float = 720.0, theme: Theme = Theme.LIGHT) -> str:
    """The picture as one SVG document, ``width_px`` wide, on the paper of the theme.

    Raises LobewrightError when the width is not a positive number. The identifiers inside are unique within one
    document only, so two of them are put on a page as two files or ``img`` elements.
    """
    if not 0.0 < width_px < math.inf:
        raise LobewrightError(
            [Fault("a picture needs a width", place="width_px", value=repr(width_px), allowed="more than 0 px")]
        )
    x0, y0, x1, y1 = picture.view
    unit = (x1 - x0) / width_px
    painter = _Painter(unit, {str(role): colour for role, colour in PALETTE[theme].items()})
    body = "\n".join(painter.item(item) for item in picture.items)
    definitions = "\n".join(painter.definitions)
    number = painter.number
    box = f"{number(x0)} {number(-y1)} {number(x1 - x0)} {number(y1 - y0)}"
    paper = PALETTE[theme][Role.PAPER]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_px:g}" height="{(y1 - y0) / unit:.6g}"'
        f' viewBox="{box}" role="img" aria-labelledby="title description" font-family={quoteattr(FONT)}>\n'
        f'<title id="title">{escape(picture.title)}</title>\n'
        f'<desc id="description">{escape(picture.description)}</desc>\n'
        f"<defs>{definitions}</defs>\n"
        f'<rect x="{number(x0)}" y="{number(-y1)}" width="{number(x1 - x0)}" height="{number(y1 - y0)}"'
        f' fill="{paper}"/>\n{body}\n</svg>\n'
    )
