"""A picture as SVG that stands inside a page: colours from the page's variables, names of its own.

The painter writes one document with the colours of one theme. Inside a page several pictures share one space of names,
and the page changes theme with the reader's setting, so both are put right here.
"""

from __future__ import annotations

import re

from lobewright.picture.display import Picture
from lobewright.picture.palette import PALETTE, Theme
from lobewright.picture.svg import svg

_ROLE_OF = {colour: str(role).replace("_", "-") for role, colour in PALETTE[Theme.LIGHT].items()}
_COLOUR = re.compile(r'\b(fill|stroke)="(#[0-9a-f]{6})"')
_NAME = re.compile(r'(\bid="|\bhref="#|url\(#)([a-z]+[0-9]*)')


def inline_svg(picture: Picture, prefix: str, width_px: float) -> str:
    """The picture as an ``svg`` element; ``prefix`` must differ for every picture of a page."""
    text = svg(picture, width_px, Theme.LIGHT)
    text = _COLOUR.sub(lambda found: f'{found[1]}="var(--lw-{_ROLE_OF[found[2]]})"', text)
    text = _NAME.sub(lambda found: f"{found[1]}{prefix}-{found[2]}", text)
    return text.replace('aria-labelledby="title description"', f'aria-labelledby="{prefix}-title {prefix}-description"')
