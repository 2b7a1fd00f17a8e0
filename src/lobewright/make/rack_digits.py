"""Figures and marks as rectangles that do not touch: pockets to print, lines to engrave, shapes to draw."""

from __future__ import annotations

Box = tuple[float, float, float, float]
"""x0, y0, x1, y1 in mm."""

_SEGMENTS = {
    "0": "abcdef",
    "1": "bc",
    "2": "abged",
    "3": "abgcd",
    "4": "fgbc",
    "5": "afgcd",
    "6": "afgedc",
    "7": "abc",
    "8": "abcdefg",
    "9": "abcdfg",
    " ": "",
}
STROKE_SHARE, WIDTH_SHARE, PART_SHARE, STEP_SHARE = 0.15, 0.56, 0.035, 0.84
"""Of a figure's height: stroke, width, gap between strokes, way to the next figure."""


def _strokes(high: float) -> dict[str, Box]:
    s, w, g = STROKE_SHARE * high, WIDTH_SHARE * high, PART_SHARE * high
    half = high / 2
    flat = (s + g, w - s - g)
    low, up = (g + s / 2, half - g), (half + g, high - g - s / 2)
    return {
        "a": (flat[0], high - s, flat[1], high),
        "g": (flat[0], half - s / 2, flat[1], half + s / 2),
        "d": (flat[0], 0.0, flat[1], s),
        "f": (0.0, up[0], s, up[1]),
        "b": (w - s, up[0], w, up[1]),
        "e": (0.0, low[0], s, low[1]),
        "c": (w - s, low[0], w, low[1]),
    }


def width_mm(text: str, high_mm: float) -> float:
    return ((len(text) - 1) * STEP_SHARE + WIDTH_SHARE) * high_mm


def figures(text: str, middle_x_mm: float, y_mm: float, high_mm: float) -> tuple[Box, ...]:
    """Boxes of digits, minus, colon and space, standing on y, centred about x. Raises KeyError for other letters."""
    boxes = []
    x = middle_x_mm - width_mm(text, high_mm) / 2
    strokes = _strokes(high_mm)
    dot = STROKE_SHARE * high_mm
    for letter in text:
        if letter == ":":
            left = x + (WIDTH_SHARE * high_mm - dot) / 2
            shapes = [(left, share * high_mm, left + dot, share * high_mm + dot) for share in (0.22, 0.62)]
            boxes += shapes
        elif letter == "-":
            boxes.append((x, (high_mm - dot) / 2, x + WIDTH_SHARE * high_mm, (high_mm + dot) / 2))
        else:
            boxes += [(x + a, y0, x + b, y1) for a, y0, b, y1 in (strokes[one] for one in _SEGMENTS[letter])]
        x += STEP_SHARE * high_mm
    return tuple((a, y_mm + y0, b, y_mm + y1) for a, y0, b, y1 in boxes)


def mark(x_mm: float, y0_mm: float, y1_mm: float, wide_mm: float) -> Box:
    """An upright stroke."""
    return (x_mm - wide_mm / 2, y0_mm, x_mm + wide_mm / 2, y1_mm)
