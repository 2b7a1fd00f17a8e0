"""The coupons' sheet (one page that prints on A4) and the table to fill in (CSV)."""

from __future__ import annotations

import csv
import io
import math
from html import escape

from lobewright.design.base import Printer
from lobewright.make.bodies import Part, Slab
from lobewright.make.calibration import BOLTS, HEAD, STEPS_MM
from lobewright.make.coupon_parts import (
    BLOCK_MM,
    BLOCKS,
    GAPS_MM,
    LEAD_IN_MM,
    NUT,
    SEAT_BEARING,
    TIP_LINES,
    foot_mm,
    minutes,
    module_mm,
    outsides_mm,
    posts,
)

Row = tuple[str, str, str, str]
"""Coupon, feature, nominal in mm (empty for a ladder), and where to measure."""
NEAR_MM = 1e-6


def rows() -> tuple[Row, ...]:
    """Everything that is read."""
    found: list[Row] = []
    for axis in "xy":
        first, *others = posts(axis)
        for number, nominal in zip(posts(axis), outsides_mm(), strict=True):
            where = f"across post {first}" if number == first else f"over posts {first} and {number}"
            found.append((f"lengths_{axis}", f"outside_{axis}", f"{nominal:g}", where))
        for number, gap in zip(others, GAPS_MM, strict=True):
            where = f"between posts {number - 1} and {number}"
            found.append((f"lengths_{axis}", f"inside_{axis}", f"{gap:g}", where))
    for number in range(1, BLOCKS + 1):
        for place, where in (("foot", "on the very bottom edge"), ("upper", "near the top")):
            found += [
                (
                    f"foot_{number}",
                    f"{place}_{axis}",
                    f"{BLOCK_MM:g}",
                    f"block {number}, figure upright, {way}, {where}",
                )
                for axis, way in (("x", "left to right"), ("y", "bottom to top"))
            ]
    found.append(("seats", "seat_snug", "", f"step where bearing {SEAT_BEARING} goes in by hand and stays"))
    found += [("bolts", f"{bolt}_passes", "", f"first step where a bolt {bolt} falls through") for bolt in BOLTS]
    found.append(("bolts", "nut_fits", "", f"first step where a nut {NUT} goes in by hand"))
    found.append(
        ("tooth_spaces", "tooth_seats", "", "both lying flat, first step where the tooth goes in to its shoulders")
    )
    return tuple(found)


def template() -> str:
    """The table to fill in."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEAD)
    for coupon, feature, nominal, _ in rows():
        writer.writerow((coupon, feature, nominal, "", "", "", ""))
    return text.getvalue()


def _path(slab: Slab) -> str:
    return " ".join(
        "M" + " L".join(f"{a:.2f},{-b:.2f}" for a, b in loop.contour.sampled(0.02)) + "Z"
        for loop in (slab.outer, *slab.holes)
    )


def _picture(part: Part, foot: float) -> str:
    """Seen from above, without the lead-in below; raised figures dark."""
    x, y = _box(part)
    slabs = [p for p in part.body.pieces if isinstance(p, Slab) and p.top_mm > foot + NEAR_MM]
    lowest = min(slab.bottom_mm for slab in slabs)
    shapes = []
    for slab in sorted(slabs, key=lambda slab: slab.top_mm):
        raised = slab.bottom_mm > lowest + NEAR_MM
        look = 'fill="#123"' if raised else 'fill="#c9dfe3" stroke="#234" stroke-width="0.15"'
        shapes.append(f'<path d="{_path(slab)}" fill-rule="evenodd" {look}/>')
    wide, high = x[1] - x[0] + 2, y[1] - y[0] + 2
    return (
        f'<svg width="{wide:.1f}mm" height="{high:.1f}mm" viewBox="{x[0] - 1:.2f} {-y[1] - 1:.2f} {wide:.2f} {high:.2f}" '
        f'role="img" aria-label="{escape(part.words)}">{"".join(shapes)}</svg>'
    )


def _box(part: Part) -> tuple[tuple[float, float], tuple[float, float]]:
    points = [loop.contour.sampled(0.02) for loop in part.body.loops]
    low = [min(float(p[:, k].min()) for p in points) for k in (0, 1)]
    high = [max(float(p[:, k].max()) for p in points) for k in (0, 1)]
    return (low[0], high[0]), (low[1], high[1])


STYLE = (
    "@page{size:A4;margin:9mm}body{font:8pt/1.15 sans-serif;margin:0 auto;max-width:192mm;color:#123}h1{font-size:13pt;"
    "margin:0}p{margin:1mm 0}.all{display:flex;gap:5mm;align-items:flex-end}.rest{display:flex;flex-wrap:wrap;gap:1.5mm 5mm;"
    "align-items:flex-end}figure{margin:0}table{border-collapse:collapse;width:100%;margin-top:1mm}td,th{border:.2mm solid #9ab;"
    "padding:.2mm 1mm;text-align:left}td:nth-child(n+5){min-width:17mm}"
)


def _advice(printer: Printer) -> str:
    steps = ", ".join(f"<b>{k + 1}</b> +{extra:g}" for k, extra in enumerate(STEPS_MM))
    pitch = math.pi * module_mm(printer.extrusion_width_mm)
    return (
        "<p>Print all pieces at 100 %, in walls only, in the material of your drive, every size compensation of the slicer off: "
        f"about {minutes(printer):.0f} minutes. They are at nominal size, nothing is compensated. Keep x and y as on the bed. "
        "Let them cool. Zero the closed caliper; read each place up to three times in mm, taken off in between. "
        "Grip the combs near the "
        f"top: their lowest {foot_mm(printer):g} mm are taken in by up to {LEAD_IN_MM:g} mm, so that a first layer that spreads "
        "does not rule; only the blocks are read on the bottom edge.</p>"
        f"<p>Steps of the ladders add to the width, in mm: {steps}. Write the step's figure, 0 where no step does. Tooth and "
        f"spaces have a pitch of {pitch:.2f} mm, flanks at 20°, a tip of {TIP_LINES} lines; finer teeth print otherwise, and the "
        "answer does not hold for them.</p>"
    )


def sheet(parts: tuple[Part, ...], printer: Printer) -> str:
    """The page. Pictures are in true size where it is printed at 100 %."""
    foot = foot_mm(printer)
    cells = {
        part.name: f"<figure>{_picture(part, foot)}<figcaption><b>{part.name}</b> {escape(part.words)}</figcaption></figure>"
        for part in parts
    }
    tall = cells.pop("lengths_y")
    body = "".join(
        f"<tr><td>{coupon}</td><td>{feature}</td><td>{nominal or '–'}</td><td>{escape(where)}</td>"
        f"{'<td></td>' * 3 if nominal else '<td colspan=3>step:</td>'}</tr>"
        for coupon, feature, nominal, where in rows()
    )
    return (
        f'<!doctype html><html lang="en"><meta charset="utf-8"><title>Calibrate first</title><style>{STYLE}</style>'
        f'<h1>Calibrate first</h1>{_advice(printer)}<div class="all">{tall}'
        f'<div class="rest">{"".join(cells.values())}</div></div>'
        "<table><tr><th>coupon</th><th>feature</th><th>nominal</th><th>where</th>"
        f'<th colspan="3">readings, mm</th></tr>{body}</table></html>\n'
    )
