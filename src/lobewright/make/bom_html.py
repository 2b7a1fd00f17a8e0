"""The parts list as a page that prints well on A4: what is made, what is bought, what the drawer has instead."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from html import escape

from lobewright.assessment.results import Assessment
from lobewright.make.bom import BomRow, bom_rows
from lobewright.make.placing import Placed
from lobewright.make.substitutes import Substitute, motor_words
from lobewright.picture.palette import PALETTE, Role, Theme

A_PAGE_OF_MADE = 16
"""Made parts beyond which what is bought has a page of its own."""

_STYLE = """
@page{size:A4 portrait;margin:9mm 14mm}
:root{color-scheme:light only}
*{box-sizing:border-box}
body{margin:0;background:#fff;color:INK;font:8.2pt/1.22 Optima,Candara,"Noto Sans","DejaVu Sans",sans-serif}
main{width:182mm;margin:0 auto}
h1{font-size:17pt;line-height:1.1;font-weight:600;margin:0}
h2{font-size:10pt;font-weight:600;margin:2.6mm 0 .5mm;break-after:avoid}
p{margin:0 0 1.2mm}
header p{color:QUIET;margin:.8mm 0 0}
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}
th,td{border-bottom:.5pt solid RULE;padding:.42mm 1.6mm .42mm 0;text-align:left;vertical-align:top}
thead th{font-weight:400;color:QUIET;font-size:8pt;border-bottom:.8pt solid INK;vertical-align:bottom}
tr{break-inside:avoid}
.n{text-align:right;white-space:nowrap;padding-right:3mm}
th.n{padding-right:3mm}
td.box{width:6mm}
td.box::before{content:"";display:inline-block;width:2.4mm;height:2.4mm;border:.6pt solid INK;vertical-align:-.3mm}
small{display:block;font-size:7pt;line-height:1.15;color:QUIET}
.of td{color:QUIET;font-size:7.6pt;padding-top:1.2mm}
.buy td:nth-child(4),.buy td:nth-child(5),.buy td:nth-child(6){white-space:nowrap}
.buy tr:first-child td{white-space:normal}
h2.next{break-before:page}
.own{color:PASS;font-weight:600}
.some{color:WARN;font-weight:600}
tfoot td{font-weight:600;border-bottom:0}
ul{margin:0;padding-left:4.2mm}
li{margin:0 0 .8mm}
footer{margin-top:2mm;color:QUIET;font-size:7.2pt}
@media screen{body{background:#dfe3df}main{background:#fff;padding:12mm 14mm;width:210mm;min-height:297mm;margin:6mm auto}}
@media screen and (max-width:215mm){main{width:auto;margin:0;padding:5mm}}
"""


def _style() -> str:
    text = _STYLE
    for role in (Role.INK, Role.QUIET, Role.RULE, Role.PASS, Role.WARN):
        text = text.replace(role.name, PALETTE[Theme.LIGHT][role])
    return text


def hours(minutes: float) -> str:
    """A printing time as people say it."""
    return f"{minutes:.0f} min" if minutes < 90 else f"{minutes / 60:.1f} h"


def _grams(mass_g: float) -> str:
    return f"{mass_g:.0f} g" if mass_g >= 10 else f"{mass_g:.1f} g"


def _small(text: str) -> str:
    return f"<small>{escape(text)}</small>" if text else ""


def _made_table(rows: Sequence[BomRow]) -> str:
    lines = ""
    for material in dict.fromkeys(row.designation for row in rows):
        lines += f'<tr class="of"><td></td><td colspan="4">{escape(material)}</td></tr>\n'
        for row in rows:
            if row.designation != material:
                continue
            mass = "" if row.mass_g is None else _grams(row.mass_g)
            time = "" if row.minutes is None else hours(row.minutes)
            lines += (
                f'<tr><td class="box"></td><td class="n">{row.quantity}</td><td>{escape(row.item)}{_small(row.note)}</td>'
                f'<td class="n">{mass}</td><td class="n">{time}</td></tr>\n'
            )
    mass_g = sum(row.mass_g or 0.0 for row in rows)
    minutes = sum(row.minutes or 0.0 for row in rows)
    head = '<th></th><th class="n">pieces</th><th>part</th><th class="n">mass</th><th class="n">print time</th>'
    time = hours(minutes) if minutes else ""
    foot = f'<td colspan="3">together</td><td class="n">{_grams(mass_g)}</td><td class="n">{time}</td>'
    return f"<table><thead><tr>{head}</tr></thead><tbody>\n{lines}</tbody><tfoot><tr>{foot}</tr></tfoot></table>\n"


def _bought_table(rows: Sequence[BomRow]) -> str:
    lines = ""
    for row in rows:
        kind = "own" if row.drawer.startswith("you own this") else "some"
        own = f'<span class="{kind}">{escape(row.drawer)}</span>' if row.drawer else "buy"
        lines += (
            f'<tr><td class="box"></td><td class="n">{row.quantity}</td><td>{escape(row.item)}{_small(row.note)}</td>'
            f"<td>{escape(row.designation)}</td><td>{own}</td><td>{escape(row.substitute)}</td></tr>\n"
        )
    head = '<th></th><th class="n">pieces</th><th>item</th><th>standard designation</th><th>drawer</th><th>or else</th>'
    return f'<table class="buy"><thead><tr>{head}</tr></thead><tbody>\n{lines}</tbody></table>\n'


def drawer_rows(a: Assessment, found: Sequence[Substitute]) -> tuple[tuple[str, str, str], ...]:
    """The section "From the drawer" as plain rows: asked for, taken instead, and what it costs; motors last."""
    rows = [(one.asked, f"{one.taken} ({one.drawer})", one.cost) for one in found]
    rows += [("a motor", *words.split(": ", 1)) for words in motor_words(a.design, a)]
    return tuple((asked, taken, cost) for asked, taken, cost in rows)


def _drawer(a: Assessment, found: Sequence[Substitute]) -> str:
    rows = drawer_rows(a, found)
    if not rows:
        return ""
    lines = "".join(
        f"<li><b>{escape(asked)} → {escape(taken)}</b>: {escape(cost)}</li>\n"
        if asked != "a motor"
        else f"<li><b>{escape(taken)}</b>: {escape(cost)}</li>\n"
        for asked, taken, cost in rows
    )
    return f"<h2>From the drawer instead</h2>\n<ul>\n{lines}</ul>\n"


def bom_html(a: Assessment, placed: Sequence[Placed], found: Sequence[Substitute] = (), not_assembled: str = "") -> str:
    """The parts list as one HTML page. ``not_assembled``: why no assembly is laid out, where none is."""
    rows = bom_rows(a, placed, found)
    made, bought = [row for row in rows if row.made], [row for row in rows if not row.made]
    next_page = ' class="next"' if len(made) > A_PAGE_OF_MADE else ""
    style = _style()
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    title = f"Parts list: {a.design.name}"
    reason = f"<p>Housing, axle and screws are not listed: {escape(not_assembled)}.</p>\n" if not_assembled else ""
    owner = f" Drawer: {escape(a.design.owned.name)}." if a.design.owned and a.design.owned.name else ""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{style}</style>\n</head>\n<body>\n<main>\n"
        f"<header><h1>Parts list</h1>\n<p>{escape(a.design.name)}. {escape(a.design.about)}{owner}</p></header>\n{reason}"
        f"<h2>To make</h2>\n{_made_table(made)}"
        f"<h2{next_page}>To buy, or from the drawer</h2>\n{_bought_table(bought)}"
        f"{_drawer(a, found)}"
        "<footer>Masses and print times are for parts that are solid throughout; less filling takes less. Screws are as "
        "long as what they clamp and their nut ask for. Standard parts: take the same designation from any maker. "
        f"Design {escape(a.design_hash[:12])}.</footer>\n</main>\n</body>\n</html>\n"
    )
