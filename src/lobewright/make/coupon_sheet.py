"""The coupons' sheet (one page that prints on A4) and the table to fill in (CSV)."""

from __future__ import annotations

import csv
import io
from html import escape

from lobewright.make.bodies import Part, Slab
from lobewright.make.calibration import HEAD, STEPS_MM
from lobewright.make.coupon_parts import BLOCK_MM, BOLTS, GAPS_MM, NUT, SEAT_BEARING, outsides_mm

Row = tuple[str, str, str, str]
"""Coupon, feature, nominal in mm (empty for a ladder), and where to measure."""


def rows(width_mm: float) -> tuple[Row, ...]:
    """Everything that is read, for lines of ``width_mm``."""
    found: list[Row] = []
    for axis in "xy":
        near = "left" if axis == "x" else "lower"
        for k, nominal in enumerate(outsides_mm()):
            where = f"over the {near} post" if k == 0 else f"over posts 1 to {k + 1}"
            found.append((f"lengths_{axis}", f"outside_{axis}", f"{nominal:g}", where))
        for k, gap in enumerate(GAPS_MM):
            found.append((f"lengths_{axis}", f"inside_{axis}", f"{gap:g}", f"between posts {k + 1} and {k + 2}"))
    found += [
        ("walls", "wall", f"{(k + 1) * width_mm:g}", "wall of 1 line" if k == 0 else f"wall of {k + 1} lines")
        for k in range(4)
    ]
    depth = f"{BLOCK_MM[1]:g}"
    found.append(("foot", "foot", depth, "short side at the bed, half without lead-in, three places"))
    found.append(("foot", "foot", depth, "the same, three other places"))
    found.append(("foot", "upper", depth, "short side near the top, three places"))
    found.append(("foot", "upper", depth, "the same, three other places"))
    found.append(("seats", "seat_snug", "", f"step where bearing {SEAT_BEARING} goes in by hand and stays"))
    found += [("bolts", "bolt_passes", "", f"first step where {bolt} falls through") for bolt in BOLTS]
    found.append(("bolts", "nut_fits", "", f"first step where a nut {NUT} goes in by hand"))
    found.append(("tooth_spaces", "tooth_free", "", "first step where the tooth slides freely"))
    return tuple(found)


def template(width_mm: float) -> str:
    """The table to fill in."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEAD)
    for coupon, feature, nominal, _ in rows(width_mm):
        writer.writerow((coupon, feature, nominal, "", "", "", ""))
    return text.getvalue()


def _picture(part: Part) -> str:
    """Seen from above; raised figures dark."""
    x, y = _box(part)
    shapes = []
    slabs = sorted((p for p in part.body.pieces if isinstance(p, Slab)), key=lambda slab: slab.top_mm)
    ground = min(slab.bottom_mm for slab in slabs)
    for slab in slabs:
        way = " ".join(
            "M" + " L".join(f"{a:.2f},{-b:.2f}" for a, b in loop.contour.sampled(0.02)) + "Z"
            for loop in (slab.outer, *slab.holes)
        )
        fill = "#2f6f7a" if slab.bottom_mm > ground + 0.5 else "#c9dfe3"
        shapes.append(f'<path d="{way}" fill="{fill}" fill-rule="evenodd" stroke="#234" stroke-width="0.15"/>')
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


def sheet(parts: tuple[Part, ...], width_mm: float, minutes: float) -> str:
    """The page. Pictures are in true size where it is printed at 100 %."""
    cells = "".join(
        f"<figure>{_picture(part)}<figcaption><b>{part.name}</b> {escape(part.words)}</figcaption></figure>"
        for part in parts
    )
    body = "".join(
        f"<tr><td>{coupon}</td><td>{feature}</td><td>{nominal or '–'}</td><td>{escape(where)}</td>"
        f"{'<td></td>' * 3 if nominal else '<td colspan=3>step:</td>'}</tr>"
        for coupon, feature, nominal, where in rows(width_mm)
    )
    steps = ", ".join(f"{k + 1}: +{extra:g}" for k, extra in enumerate(STEPS_MM))
    return (
        '<!doctype html><html lang="en"><meta charset="utf-8"><title>Calibrate first</title><style>'
        "@page{size:A4;margin:9mm}body{font:8.2pt/1.15 sans-serif;margin:0 auto;max-width:192mm;color:#123}h1{font-size:13pt;"
        "margin:0}p{margin:1mm 0}.all{display:flex;flex-wrap:wrap;gap:1.5mm 4mm;align-items:flex-end}figure{margin:0}"
        "table{border-collapse:collapse;width:100%;margin-top:1mm}td,th{border:.2mm solid #9ab;padding:.25mm 1mm;"
        "text-align:left}td:nth-child(n+5){min-width:17mm}</style>"
        "<h1>Calibrate first</h1><p>Print all pieces at 100 %, solid, in the material of your drive, every size "
        f"compensation of the slicer off: about {minutes:.0f} minutes. The pieces are at nominal size, nothing is compensated. "
        "Let them cool, then read each place up to three times in mm, the caliper taken off in between. Keep x and y as on "
        f"the bed. Steps of the ladders add, in mm: {steps}; write 0 where no step does.</p>"
        f'<div class="all">{cells}</div><table><tr><th>coupon</th><th>feature</th><th>nominal</th><th>where</th>'
        f'<th colspan="3">readings, mm</th></tr>{body}</table></html>\n'
    )
