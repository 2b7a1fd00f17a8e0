"""The sheet of the rack model: what to expect at every mark, a lesson in five steps, cautions. One page A4 as HTML."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from fractions import Fraction
from html import escape

from lobewright.assessment.results import Assessment
from lobewright.make.rack_design import RackRow
from lobewright.make.rack_mesh import play_mm
from lobewright.make.rack_parts import Kit
from lobewright.make.rack_scene import close_up, overview
from lobewright.motion import FLEXIBLE
from lobewright.picture.palette import PALETTE, Role, Theme
from lobewright.picture.paper_page import paper_page
from lobewright.picture.score import Marks, ratio_figures
from lobewright.picture.svg import svg

WIDTH_PX = 182.0 * 96.0 / 25.4
MARKS = 5
NEAR_MM = 46.0
"""Half of what the close-ups show together, about."""
EYE_MM = 0.25
"""Reading of a mark against a scale of millimetres by eye: half of 90 % (assumed)."""

_STYLE = """
figure{margin:2mm 0;border-top:.5pt solid RULE}
figure img{display:block;width:182mm}
figure.near{display:grid;grid-template-columns:repeat(auto-fit,minmax(60mm,1fr));gap:4mm;border:0}
figure.near img{width:100%}
figcaption{font-size:8pt;color:QUIET;margin-top:.6mm}
.two{display:grid;grid-template-columns:1fr 92mm;gap:6mm}
th,td{border:.5pt solid RULE;padding:.7mm 1.4mm;text-align:right;height:6.4mm;line-height:1.12}
th{font-size:8.2pt;height:auto}
td.write{width:19mm}
.big{font-size:13pt;line-height:1.25;margin:0 0 1.6mm}
"""


@dataclass(frozen=True)
class Expected:
    """At one mark of the roller: what has moved by how much (signed, mm), and what has gone past the nose."""

    way_mm: Fraction
    travel_mm: Fraction
    teeth: Fraction


def expected(k: Kit) -> tuple[Expected, ...]:
    """The figures at evenly spaced marks, from 0 to the whole way; exact. ``teeth`` counts those of the held side's row."""
    numbers = k.racks
    teeth, _ = numbers.passed(counted_row(k))
    rows = []
    for mark in range(MARKS + 1):
        share = Fraction(mark, MARKS)
        way = numbers.travel_in_mm * share
        rows.append(Expected(way, way / numbers.ratio, teeth * share))
    return tuple(rows)


def counted_row(k: Kit) -> RackRow:
    """The row whose teeth are counted: that of the held rack, else the first."""
    return next((row for row in k.racks.rows if row.name == k.racks.fixed), k.racks.rows[0])


def total_play_mm(k: Kit) -> float:
    """Free play of what is read, mm, to each side: of every mesh on the way from the held member to it."""
    names = {k.racks.fixed, k.racks.read} - {FLEXIBLE}
    rows = [(row, chain) for row, chain in zip(k.racks.rows, k.chains, strict=True) if row.name in names]
    return sum(play_mm(k.strip, row, chain) for row, chain in rows)


def text_of(value: Fraction, places: int = 2) -> str:
    """A number with no more places than it needs."""
    shown = f"{float(value):.{places}f}"
    shown = shown.rstrip("0").rstrip(".") if "." in shown else shown
    return shown.replace("-", "−") if shown not in ("-0", "") else "0"


def named(member: str) -> str:
    return "the toothed strip" if member == FLEXIBLE else f"the rack of ring “{member}”"


def ratio_text(value: Fraction) -> str:
    return ratio_figures(value, Marks())


def why(k: Kit) -> str:
    """How the model's ratio stands to the design's."""
    numbers = k.racks
    if not numbers.fewer_teeth:
        return f"The ratio is that of the drive, {ratio_text(numbers.own_ratio)}, with the drive's own tooth counts."
    return (
        f"The drive itself has {ratio_text(numbers.own_ratio)}; here {numbers.fewer_teeth} teeth are taken off every count and "
        "the differences are kept, because else less than 1 mm would come out."
    )


def _table(k: Kit) -> str:
    rows = "".join(
        f"<tr><td>{text_of(one.way_mm)}</td><td><b>{text_of(one.travel_mm)}</b></td><td>{text_of(one.teeth)}</td>"
        + '<td class="write"></td>' * 2
        + "</tr>\n"
        for one in expected(k)
    )
    row = counted_row(k)
    return (
        '<table><thead><tr><th scope="col">roller,<br>mm</th><th scope="col">expect,<br>mm</th>'
        f'<th scope="col">spaces of “{escape(row.name)}”<br>passed</th><th scope="col">read there,<br>mm</th>'
        f'<th scope="col">read on the<br>way back, mm</th></tr></thead><tbody>\n{rows}</tbody></table>\n'
    )


def _steps(k: Kit) -> tuple[str, ...]:
    numbers, row = k.racks, counted_row(k)
    spaces, _ = numbers.passed(row)
    way, out = text_of(numbers.travel_in_mm), text_of(numbers.travel_out_mm)
    wave = (
        f"After {way} mm the teeth stand as at the start: {text_of(spaces)} spaces were passed."
        if numbers.waves.denominator == 1
        else f"{way} mm are {text_of(numbers.waves, 3)} of a wave: {text_of(spaces)} spaces are passed."
    )
    return (
        f"Look: hold a ruler to {text_of(Fraction(10))} spaces of the rack and to 10 teeth of the strip. Which is longer, and by "
        "how much?",
        "Guess first: how far will it move while the roller goes to the end? Which way? Write it down.",
        f"Roller to 0, push {named(numbers.read)} lightly against the roller's way to take up the play, set its mark to the long "
        "line or note where it stands.",
        f"Move the roller mark by mark and read. Count the spaces that the nose passes. {wave}",
        f"Divide: {way} mm in, {out} mm out. Then explain: a tooth that is pressed home must find a space, and spaces are "
        f"{row.rack_pitch_mm:.3f} mm apart, teeth {row.strip_pitch_mm:.3f} mm.",
    )


def _cautions(k: Kit) -> tuple[str, ...]:
    return (
        "Fingers out from between strip and rack; the tips of printed teeth are sharp: break them with a file.",
        "Screw slotted parts down only so far that they slide; a washer under each head.",
        "Do not leave the nose in one place for weeks: the strip takes a set there.",
        f"Teeth {row_pitches(k)} mm apart need a calibrated printer. If they bind, print with 0.05 mm more compensation.",
    )


def row_pitches(k: Kit) -> str:
    return f"{min(row.rack_pitch_mm for row in k.racks.rows):.2f}"


def _image(text: str, words: str) -> str:
    data = base64.b64encode(text.encode()).decode()
    return f'<img alt="{escape(words)}" src="data:image/svg+xml;base64,{data}">'


def _figures(k: Kit) -> str:
    paper = PALETTE[Theme.LIGHT][Role.PAPER]
    whole = overview(k, k.way_mm * 0.4)
    first = _image(svg(whole, WIDTH_PX, Theme.LIGHT).replace(paper, "#ffffff"), whole.description)
    near = ""
    for index in k.order:
        picture = close_up(k, index, k.way_mm * 0.4, NEAR_MM / len(k.order))
        drawn = svg(picture, WIDTH_PX / len(k.order), Theme.LIGHT).replace(paper, "#ffffff")
        near += f"<div>{_image(drawn, picture.description)}<figcaption>{escape(picture.title)}</figcaption></div>"
    return f'<figure>{first}</figure>\n<figure class="near">{near}</figure>\n'


def _items(lines: tuple[str, ...]) -> str:
    return "".join(f"<li>{escape(line)}</li>\n" for line in lines)


def _needs(k: Kit) -> str:
    upper = len(k.screws_mm)
    stack = k.heights.base + k.racks_top_mm
    return (
        f"You need, beside the parts: {2 * upper + 2} screws M3, {upper} of them for {stack:.0f} mm (racks), {upper} for "
        f"{k.heights.base + k.heights.rail:.0f} mm (rail), 2 for {k.heights.base + k.strip_top_mm:.0f} mm (tabs of the strip), "
        "washers, a drop of oil."
    )


def sheet(a: Assessment, k: Kit) -> str:
    """The sheet as an HTML page that prints on one side of A4 and asks for nothing from anywhere."""
    numbers = k.racks
    way = "the same way as the roller" if numbers.same_sense else "against the roller"
    play = total_play_mm(k)
    title = f"The drive laid flat: {a.design.name}"
    inside = (
        f"<header><h1>The drive laid flat</h1>\n<p>{escape(a.design.name)}. {escape(named(numbers.fixed).capitalize())} is held, "
        f"{escape(named(numbers.read))} is read. "
        "The nose of the carriage stands for the roller.</p></header>\n"
        f"{_figures(k)}"
        f'<p class="big">Roller <b>{text_of(numbers.travel_in_mm)} mm</b> along, {escape(named(numbers.read))} moves '
        f"<b>{text_of(numbers.travel_out_mm)} mm</b> {way}: <b>{ratio_text(numbers.ratio)}</b></p>\n"
        f'<div class="two">\n<section>\n<h2>A lesson in five steps</h2>\n<ol>\n{_items(_steps(k))}</ol>\n'
        f"<p>{escape(_needs(k))}</p>\n</section>\n<section>\n<h2>Expect, and write here</h2>\n{_table(k)}"
        f"<p>Signs: + with the roller, − against it. Expect is exact for teeth without play; play is up to {play:.2f} mm to "
        f"each side, reading by eye ± {EYE_MM:g} mm.</p>\n"
        f'<div class="care"><h2>Care</h2>\n<ul>\n{_items(_cautions(k))}</ul></div>\n</section>\n</div>\n'
        f"<footer>{escape(why(k))} Travel is derived from counting teeth; flanks, heights and play are those of the "
        "model, not of the drive.</footer>\n"
    )
    return paper_page(title, inside, _STYLE, images=True)
