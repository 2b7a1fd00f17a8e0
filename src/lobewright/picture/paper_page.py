"""A page of HTML that prints on A4 and asks for nothing from anywhere; paper is white in every theme."""

from __future__ import annotations

import base64
import hashlib
from html import escape

from lobewright.picture.palette import PALETTE, Role, Theme

_STYLE = """
@page{size:A4 portrait;margin:10mm 14mm}
:root{color-scheme:light only}
*{box-sizing:border-box}
body{margin:0;background:#fff;color:INK;font:9pt/1.28 Optima,Candara,"Noto Sans","DejaVu Sans",sans-serif}
main{width:182mm;margin:0 auto}
h1{font-size:19pt;line-height:1.1;font-weight:600;margin:0}
h2{font-size:10.5pt;line-height:1.2;font-weight:600;margin:0 0 1mm}
p{margin:0 0 1.3mm}
header p{color:QUIET;margin:.8mm 0 0}
ol{margin:0;padding-left:4.6mm}
ul{margin:0;padding-left:4.2mm}
li{margin:0 0 .8mm}
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}
th{font-weight:400;color:QUIET;vertical-align:bottom}
small{color:QUIET}
.care{border:1pt solid WARN;padding:1.4mm 2mm 1mm;margin-top:2.5mm}
.care h2{color:WARN}
footer{margin-top:2mm;color:QUIET;font-size:8pt}
"""
_SCREEN = """
@media screen{body{background:#dfe3df}main{background:#fff;padding:12mm 14mm;width:210mm;min-height:297mm;margin:6mm auto}}
@media screen and (max-width:215mm){main{width:auto;margin:0;padding:5mm}}
"""
ROLES = (Role.INK, Role.QUIET, Role.RULE, Role.PASS, Role.WARN)


def paper_page(title: str, inside: str, style: str = "", images: bool = False) -> str:
    """The whole page. ``inside`` is HTML; ``style``: rules after those that all such pages share, in which the names of roles
    (INK, QUIET, RULE, PASS, WARN) stand for their colours. ``images``: pictures within the page are shown."""
    text = _STYLE + style + _SCREEN
    for role in ROLES:
        text = text.replace(role.name, PALETTE[Theme.LIGHT][role])
    digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
    pictures = "img-src data:; " if images else ""
    policy = f"default-src 'none'; {pictures}style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{text}</style>\n</head>\n<body>\n<main>\n{inside}</main>\n</body>\n</html>\n"
    )
