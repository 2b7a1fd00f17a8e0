"""Sheets to print: one page A4 a test, with drawing, loads, a table to fill in and the lines for the workshop file.

Each is one HTML file that asks for nothing from anywhere. Paper is white in every theme, for these pages are printed.
"""

from __future__ import annotations

import math
from html import escape
from pathlib import Path

from lobewright.assessment.results import Assessment
from lobewright.bench.plan import Plan, Row, plans
from lobewright.bench.scenes import PX_PER_MM, WIDTH_MM, picture
from lobewright.bench.words import WORDS
from lobewright.design import model as m
from lobewright.picture.palette import PALETTE, Role, Theme
from lobewright.picture.paper_page import paper_page
from lobewright.picture.svg import svg
from lobewright.sources import source

FOLDER = "measure"
WHITE = "#ffffff"
LIGHT_G = 20.0
"""Below this last load the sheet tells how to cut weights from paper."""

_STYLE = """
main>h2,.next{margin-top:3mm}
figure{margin:1.6mm 0 2mm;border-top:.5pt solid RULE;border-bottom:.5pt solid RULE}
figure svg{display:block;width:182mm;height:82mm}
.two{display:grid;grid-template-columns:1fr 88mm;gap:6mm}
th,td{border:.5pt solid RULE;padding:.7mm 1.4mm;text-align:right;height:8mm;line-height:1.12}
th{font-size:8.4pt;line-height:1.15;height:auto}
td.write{width:16mm}
small{font-size:8pt}
td.load{font-weight:600;white-space:nowrap}
td.band,th.band{white-space:nowrap}
pre{margin:0;padding:1.6mm 2mm;border:.5pt solid RULE;white-space:pre-wrap;overflow-wrap:anywhere;
 font:7.8pt/1.3 "DejaVu Sans Mono",Consolas,monospace}
pre i{font-style:normal;color:QUIET}
"""


def show(value: float, places: int = 3) -> str:
    """A number with so many significant figures and no exponent, thousands parted."""
    if value == 0.0:
        return "0"
    decimals = max(0, places - 1 - math.floor(math.log10(abs(value))))
    return f"{value:,.{decimals}f}".replace(",", "\u202f")


def _mm(value: float, step: float) -> str:
    """A shift to a tenth of the gauge's step at most, three figures at most."""
    decimals = max(0, min(1 - math.floor(math.log10(step)), 3))
    return f"{value:.{decimals}f}"


def _load(row: Row) -> str:
    return "none" if row.load_g == 0.0 else f"{row.load_g:,.6g}".replace(",", "\u202f") + " g"


def _table(plan: Plan, reading: str) -> str:
    step = plan.shift_resolution_mm
    rows = ""
    for row in plan.rows:
        most = "stop" if row.most_mm is None else _mm(row.most_mm, step)
        band = f"<b>{_mm(row.middle_mm, step)}</b><br><small>{_mm(row.least_mm, step)} … {most}</small>"
        if row.most_mm == 0.0:
            band = "<b>0</b>"
        rows += (
            f'<tr><td class="load">{_load(row)}</td><td class="band">{band}</td>'
            + '<td class="write"></td>' * 3
            + "</tr>\n"
        )
    return (
        '<table><thead><tr><th scope="col">load</th><th scope="col" class="band">shift to expect, mm<br>middle, stiff … soft</th>'
        f'<th scope="col">{reading}<br>up, mm</th><th scope="col">{reading}<br>down, mm</th>'
        f'<th scope="col">mean shift,<br>mm</th></tr></thead><tbody>\n{rows}</tbody></table>\n'
    )


def toml_lines(plan: Plan) -> str:
    """The table for the workshop file, ready to be parsed; its shifts and resolutions are to be replaced."""
    lines = [f"[[{plan.key}]]"]
    lines += [f"{key} = {value}  # {words}" for key, value, words in plan.given]
    lines.append(f"load_g = [{', '.join(f'{row.load_g:.6g}' for row in plan.rows)}]")
    lines.append(f"shift_mm = [{', '.join('0.0' for _ in plan.rows)}]  # your mean shifts")
    lines.append(f"load_resolution_g = {plan.load_resolution_g:g}  # smallest step of your scale")
    lines.append(f"shift_resolution_mm = {plan.shift_resolution_mm:g}  # smallest step of your gauge")
    return "\n".join(lines) + "\n"


def _lines_html(plan: Plan) -> str:
    found = []
    for line in toml_lines(plan).splitlines():
        left, mark, right = line.partition("  # ")
        found.append(escape(left) + (f"  <i># {escape(right)}</i>" if mark else ""))
    return "\n".join(found)


def _expect(design: m.Design, plan: Plan) -> str:
    words, one = WORDS[plan.key], plan.stiffness
    middle = f"{show(one.low)} … <b>{show(one.middle)}</b> … {show(one.high)} {words.unit}"
    known = "from your earlier readings" if one.measured else "not measured: a range from what is known"
    quantity = words.quantity[:1].upper() + words.quantity[1:]
    text = f"<p>{escape(quantity)}: {middle} ({known}; 9 of 10 should lie inside)."
    notes = []
    if plan.key == "squeeze_test":
        notes.append(
            f"The ring weighs about {show(plan.figures['own_weight_g'], 2)} g; what that squeezes is in the shifts to expect."
        )
        teeth, own = plan.figures["teeth"], plan.figures["design_teeth"]
        if teeth < own:
            notes.append(
                f"Take a shorter belt of this profile, {teeth} teeth: one of {own} would sink under its own weight."
            )
        if isinstance(design.flexible_ring, m.Belt):
            notes.append("A belt that cannot stand is softer than this test can read.")
    if plan.rows[-1].load_g < LIGHT_G:
        notes.append("Weights from copy paper of 80 g/m²: 10 × 10 cm weigh 0.8 g.")
    return text + " " + " ".join(notes) + "</p>\n"


def _tools(plan: Plan) -> str:
    gauge = "calliper or height gauge" if plan.key == "squeeze_test" else "dial gauge"
    return (
        f"<p>You need: {gauge} that shows {plan.shift_resolution_mm:g} mm, weights known to {plan.load_resolution_g:g} g "
        f"(a scale that shows it), up to {_load(plan.rows[-1])}.</p>\n"
    )


def sheet(design: m.Design, plan: Plan) -> str:
    """One test as an HTML page that prints on one side of A4."""
    words = WORDS[plan.key]
    drawing = svg(picture(plan.key, plan.figures, words.title), WIDTH_MM * PX_PER_MM, Theme.LIGHT)
    drawing = drawing.replace(PALETTE[Theme.LIGHT][Role.PAPER], WHITE)
    stop = f"{plan.stop_mm:.2g} mm" if plan.stop_mm < 10.0 else f"{plan.stop_mm:.0f} mm"
    steps = "".join(f"<li>{escape(line.format(stop=stop))}</li>\n" for line in words.steps)
    care = "".join(f"<li>{escape(line)}</li>\n" for line in words.cautions)
    title = f"{words.title}: {design.name}"
    inside = (
        f"<header><h1>{escape(words.title)}</h1>\n<p>{escape(design.name)}. This test {escape(words.purpose)}.</p></header>\n"
        f'<figure>{drawing}</figure>\n<div class="two">\n<section>\n<h2>Do this</h2>\n{_tools(plan)}<ol>\n{steps}</ol>\n'
        f'<h2 class="next">Expect</h2>\n{_expect(design, plan)}</section>\n<section>\n<h2>Write here</h2>\n'
        f'{_table(plan, words.reading)}<div class="care"><h2>Care</h2>\n<ul>\n{care}</ul></div>\n</section>\n</div>\n'
        "<h2>Put this into your workshop file, with your numbers; then run <code>lobewright load</code> again</h2>\n"
        f"<pre>{_lines_html(plan)}</pre>\n"
        f"<footer>Date, sample, who: {'_' * 70}<br>Print at 100 %: the rule must be 150 mm long. Only the slope of shift over "
        f"load counts. {escape(_source_line(plan))}</footer>\n"
    )
    return paper_page(title, inside, _STYLE)


def _source_line(plan: Plan) -> str:
    return f"Expected range: {source(plan.stiffness.source_key).line}."


def write_sheets(assessment: Assessment, folder: Path | str) -> list[Path]:
    """Write a sheet for every measurement that narrows this design into ``folder`` (made if need be); their paths.

    The list is empty, and no folder is made, where no test fits. Raises OSError as files do, and what plans() raises.
    """
    design = assessment.design
    found = [(plan.key, sheet(design, plan)) for plan in plans(design)]
    folder = Path(folder)
    paths = []
    for key, text in found:
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"{key}.html"
        path.write_text(text, encoding="utf-8")
        paths.append(path)
    return paths
