"""The parts list as a page that prints well on A4: what is made, what is bought, what the drawer has instead."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.make.bom import ESTIMATED, BomRow, shown, total
from lobewright.make.substitutes import Substitute, motor_words
from lobewright.picture.paper_page import paper_page

A_PAGE_OF_MADE = 16
"""Made parts beyond which what is bought has a page of its own."""

_STYLE = """
@page{size:A4 portrait;margin:9mm 14mm}
body{font-size:8.2pt;line-height:1.22}
h1{font-size:17pt}
h2{font-size:10pt;margin:2.6mm 0 .5mm;break-after:avoid}
th,td{border-bottom:.5pt solid RULE;padding:.42mm 1.6mm .42mm 0;text-align:left;vertical-align:top}
thead th{font-size:8pt;border-bottom:.8pt solid INK;vertical-align:bottom}
tr{break-inside:avoid}
.n{text-align:right;white-space:nowrap;padding-right:3mm}
th.n{padding-right:3mm}
td.box{width:6mm}
td.box::before{content:"";display:inline-block;width:2.4mm;height:2.4mm;border:.6pt solid INK;vertical-align:-.3mm}
small{display:block;font-size:7pt;line-height:1.15}
.file{font-size:7pt;line-height:1.3;color:QUIET;white-space:nowrap}
.of td{color:QUIET;font-size:7.6pt;padding-top:1.2mm}
.buy td:nth-child(5){white-space:nowrap}
.buy td:nth-child(6){min-width:19mm}
.buy td:nth-child(7){min-width:38mm}
h2.next{break-before:page}
.own{color:PASS;font-weight:600}
.some{color:WARN;font-weight:600}
tfoot{display:table-row-group}
tfoot td{font-weight:600;border-bottom:0}
tfoot tr+tr td{font-weight:400;padding-top:0}
footer{font-size:7.2pt}
"""


def hours(minutes: float) -> str:
    """A printing time as people say it."""
    return f"{minutes:.0f} min" if minutes < 90 else f"{minutes / 60:.1f} h"


def _grams(mass_g: float | None) -> str:
    return "" if mass_g is None else f"{shown(mass_g, 0 if mass_g >= 10 else 1)} g"


def _small(text: str) -> str:
    return f"<small>{escape(text)}</small>" if text else ""


def _number(row: BomRow) -> str:
    return f'<td class="box"></td><td class="n"><b>{row.number or ""}</b></td><td class="n">{row.quantity}</td>'


def _files(row: BomRow) -> str:
    return "<br>".join(escape(file.removeprefix("parts/")) for file in row.files)


def _sum_rows(rows: Sequence[BomRow]) -> str:
    """All together, and where something may be skipped, the rest without it."""
    lines = ""
    choices = (True, False) if any(row.may_skip for row in rows) else (True,)
    for with_skipped in choices:
        one = total(rows, with_skipped)
        words = "together" if with_skipped else "without what may be skipped"
        time = hours(one.minutes) if one.minutes else ""
        lines += (
            f'<tr><td colspan="5">{words}</td><td class="n">{_grams(one.mass_g)}</td><td class="n">{time}</td></tr>'
        )
    return lines


def _made_table(rows: Sequence[BomRow]) -> str:
    lines = ""
    for group in dict.fromkeys((row.designation, row.how) for row in rows):
        lines += f'<tr class="of"><td></td><td colspan="6">{escape(", ".join(group))}</td></tr>\n'
        for row in rows:
            if (row.designation, row.how) != group:
                continue
            time = "" if row.minutes is None else hours(row.minutes)
            lines += (
                f"<tr>{_number(row)}<td>{escape(row.item)}{_small(row.note)}</td>"
                f'<td class="file">{_files(row)}</td><td class="n">{_grams(row.mass_g)}</td><td class="n">{time}</td></tr>\n'
            )
    time = "print time" if any(row.minutes for row in rows) else ""
    head = (
        '<th></th><th class="n">no.</th><th class="n">pieces</th><th>part</th><th>file in parts/</th>'
        f'<th class="n">mass of all</th><th class="n">{time}</th>'
    )
    foot = _sum_rows(rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>\n{lines}</tbody><tfoot>{foot}</tfoot></table>\n"


def _bought_table(rows: Sequence[BomRow]) -> str:
    lines = ""
    for row in rows:
        kind = "own" if row.drawer.startswith("you own this") else "some"
        own = f'<span class="{kind}">{escape(row.drawer)}</span>' if row.drawer else "buy"
        lines += (
            f"<tr>{_number(row)}<td>{escape(row.item)}{_small(row.note)}</td>"
            f"<td>{escape(row.designation)}</td><td>{own}</td><td>{escape(row.substitute)}</td></tr>\n"
        )
    head = (
        '<th></th><th class="n">no.</th><th class="n">pieces</th><th>item</th><th>standard designation</th>'
        "<th>drawer</th><th>or else</th>"
    )
    return f'<table class="buy"><thead><tr>{head}</tr></thead><tbody>\n{lines}</tbody></table>\n'


def materials_line(a: Assessment, rows: Sequence[BomRow]) -> str:
    """What the short names of materials in the list stand for."""
    there = {row.designation for row in rows if row.made}
    return ". ".join(f"{one.short}: {one.words}" for one in catalogue.materials() if one.short in there)


def _drawer(a: Assessment, found: Sequence[Substitute]) -> str:
    lines = [one.sentence for one in found] + [f"Motor: {words}" for words in motor_words(a.design, a)]
    if not lines:
        return ""
    inside = "".join(f"<li>{escape(line)}.</li>\n" for line in lines)
    return f"<h2>From the drawer instead</h2>\n<ul>\n{inside}</ul>\n"


def bom_html(a: Assessment, rows: Sequence[BomRow], found: Sequence[Substitute] = (), not_assembled: str = "") -> str:
    """The parts list as one HTML page. ``not_assembled``: why no assembly is laid out, where none is."""
    made, bought = [row for row in rows if row.made], [row for row in rows if not row.made]
    next_page = ' class="next"' if len(made) > A_PAGE_OF_MADE else ""
    reason = (
        f"<p>Only the drive's own parts are listed, neither frame nor what holds it: {escape(not_assembled)}</p>\n"
        if not_assembled
        else ""
    )
    owner = f" Drawer: {escape(a.design.owned.name)}." if a.design.owned and a.design.owned.name else ""
    printed = any(row.minutes for row in made)
    notes = (
        materials_line(a, rows),
        ESTIMATED if printed else "",
        f"Files: {'print/… as .stl and .3mf, ' if printed else ''}nominal/… as .step and more",
        "Numbers are those of the guide",
        "Standard parts: take the same designation from any maker",
        f"Design {a.design_hash[:12]}",
    )
    inside = (
        f"<header><h1>Parts list</h1>\n<p>{escape(a.design.name)}. {escape(a.design.about)}{owner}</p></header>\n{reason}"
        f"<h2>To make</h2>\n{_made_table(made)}"
        f"<h2{next_page}>To buy, or from the drawer</h2>\n{_bought_table(bought)}"
        f"{_drawer(a, found)}"
        f"<footer>{escape(' '.join(note.rstrip('.') + '.' for note in notes if note))}</footer>\n"
    )
    return paper_page(f"Parts list: {a.design.name}", inside, _STYLE)
