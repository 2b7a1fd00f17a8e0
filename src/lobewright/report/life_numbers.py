"""Numbers of lives and safeties as people read them: few figures, powers of ten where they are large, endless said in words."""

from __future__ import annotations

import math

from lobewright.strength.items import Span

ENDLESS = "endless"
GAP = "\u00a0"
"""No-break space: between groups of thousands and around ×, so that no number is torn over two lines."""
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def power(exponent: int) -> str:
    """A power of ten: ``10⁶``."""
    return f"10{str(exponent).translate(_RAISED)}"


def few(value: float, figures: int = 2) -> str:
    """So many figures: ``0.30``, ``12``, ``1200``, ``45 000``, ``1.4 × 10⁶``; ``endless`` for infinity."""
    if math.isinf(value):
        return ENDLESS if value > 0.0 else f"−{ENDLESS}"
    if value == 0.0:
        return "0"
    if value < 0.0:
        return f"−{few(-value, figures)}"
    rounded = float(f"{value:.{figures - 1}e}")
    exponent = math.floor(math.log10(rounded) + 1e-9)
    if not -3 <= exponent < 6:
        return f"{rounded / 10.0**exponent:.{figures - 1}f}{GAP}×{GAP}{power(exponent)}"
    text = f"{rounded:.{max(0, figures - 1 - exponent)}f}"
    return f"{rounded:,.0f}".replace(",", GAP) if rounded >= 10_000.0 else text


def band(span: Span, figures: int = 2) -> str:
    """The ends of a band: ``0.080 … 1.1``; one word where both are endless."""
    low, high = few(span.low, figures), few(span.high, figures)
    return ENDLESS if low == high == ENDLESS else f"{low} … {high}"


def one_line(text: str) -> str:
    """A text from a design with every letter that cannot stand in a line of a picture made a space."""
    return "".join(" " if ord(letter) < 32 or 0xD800 <= ord(letter) < 0xE000 else letter for letter in text)


def fitted(text: str, most: int) -> str:
    """At most so many letters in one line, cut at a word with ``…`` where there are more."""
    text = one_line(text)
    if len(text) <= most:
        return text
    kept = text[: most - 1]
    return f"{kept.rsplit(' ', 1)[0] if ' ' in kept[most // 2 :] else kept}…"
