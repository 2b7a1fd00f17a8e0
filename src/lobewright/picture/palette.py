"""The colours of every picture, sheet and page: one table, two themes.

A picture names a *role* (what a thing is), never a colour; the painter looks the colour up for the theme it paints
in. The six member colours were found by a random search of our own that pushed the smallest distance between any two
of them up, as seen with normal sight and with the three kinds of missing cone, while each stays at least 3 : 1
against the paper. `tests/unit/test_picture.py` holds them to it: contrast after W3C, Web Content Accessibility
Guidelines 2.2 (2023), 1.4.3 and 1.4.11; missing cones after Machado, Oliveira and Fernandes, "A physiologically-based
model for simulation of color vision deficiency", IEEE Trans. Visualization and Computer Graphics 15 (2009).
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

SOFT_SHARE = 0.26
"""Share of the member's own colour in its soft tint, the rest is paper; light enough for dark text on it."""


class Theme(StrEnum):
    """What the paper is like."""

    LIGHT = "light"
    DARK = "dark"


class Role(StrEnum):
    """What a colour stands for. ``*_soft`` is the tint that fills a body whose edge has the full colour."""

    PAPER = "paper"
    PANEL = "panel"
    INK = "ink"
    QUIET = "quiet"
    RULE = "rule"
    FLEXIBLE = "flexible"
    FLEXIBLE_SOFT = "flexible_soft"
    GENERATOR = "generator"
    GENERATOR_SOFT = "generator_soft"
    RING_A = "ring_a"
    RING_A_SOFT = "ring_a_soft"
    RING_B = "ring_b"
    RING_B_SOFT = "ring_b_soft"
    TOOTH_MARK = "tooth_mark"
    LOBE_MARK = "lobe_mark"
    PASS = "pass"
    WARN = "warn"
    FAIL = "fail"
    NOT_MADE = "not_made"
    LEVEL_1 = "level_1"
    LEVEL_2 = "level_2"
    LEVEL_3 = "level_3"
    LEVEL_4 = "level_4"
    OVERLAP = "overlap"


MEMBERS = (Role.FLEXIBLE, Role.GENERATOR, Role.RING_A, Role.RING_B, Role.TOOTH_MARK, Role.LOBE_MARK)
"""The roles that must be told apart from each other by colour."""
VERDICTS = (Role.PASS, Role.WARN, Role.FAIL, Role.NOT_MADE)
"""Used for words, so they keep the contrast of text; the word itself always stands beside the colour."""

LEVELS = (Role.LEVEL_1, Role.LEVEL_2, Role.LEVEL_3, Role.LEVEL_4)
"""From weak to strong: each stands out more from the paper than the one before. Beside them `Role.OVERLAP`."""

_SOFT = (Role.FLEXIBLE, Role.GENERATOR, Role.RING_A, Role.RING_B)

_LIGHT = {
    Role.PAPER: "#f6f7f3",
    Role.PANEL: "#e9ece6",
    Role.INK: "#1d262b",
    Role.QUIET: "#56626a",
    Role.RULE: "#aab4b4",
    Role.FLEXIBLE: "#c07a0b",
    Role.GENERATOR: "#46193f",
    Role.RING_A: "#22967b",
    Role.RING_B: "#33479f",
    Role.TOOTH_MARK: "#b1072b",
    Role.LOBE_MARK: "#807db9",
    Role.PASS: "#0d6a76",
    Role.WARN: "#875502",
    Role.FAIL: "#8c0a20",
    Role.NOT_MADE: "#565f7c",
    Role.LEVEL_1: "#b3cee1",
    Role.LEVEL_2: "#7798b0",
    Role.LEVEL_3: "#30627e",
    Role.LEVEL_4: "#00344a",
    Role.OVERLAP: "#8144e9",
}
_DARK = {
    Role.PAPER: "#12171c",
    Role.PANEL: "#1e262d",
    Role.INK: "#e9edea",
    Role.QUIET: "#a3afb4",
    Role.RULE: "#4c5961",
    Role.FLEXIBLE: "#f1b243",
    Role.GENERATOR: "#97658f",
    Role.RING_A: "#59cfa2",
    Role.RING_B: "#3e85e1",
    Role.TOOTH_MARK: "#d3553f",
    Role.LOBE_MARK: "#ced2fd",
    Role.PASS: "#7de3da",
    Role.WARN: "#efb757",
    Role.FAIL: "#f4736c",
    Role.NOT_MADE: "#a9b0cf",
    Role.LEVEL_1: "#145b59",
    Role.LEVEL_2: "#598684",
    Role.LEVEL_3: "#64bbbb",
    Role.LEVEL_4: "#98ede3",
    Role.OVERLAP: "#f59560",
}


def mix(colour: str, paper: str, share: float) -> str:
    """``share`` of a colour laid on paper, channel by channel in sRGB; both as ``#rrggbb``."""
    pairs = zip(bytes.fromhex(colour[1:]), bytes.fromhex(paper[1:]), strict=True)
    return "#" + "".join(f"{round(share * a + (1.0 - share) * b):02x}" for a, b in pairs)


def _with_soft(own: dict[Role, str]) -> Mapping[Role, str]:
    soft = {Role(f"{role}_soft"): mix(own[role], own[Role.PAPER], SOFT_SHARE) for role in _SOFT}
    return MappingProxyType({role: (own | soft)[role] for role in Role})


PALETTE: Mapping[Theme, Mapping[Role, str]] = MappingProxyType(
    {Theme.LIGHT: _with_soft(_LIGHT), Theme.DARK: _with_soft(_DARK)}
)


def palette_json() -> dict[str, dict[str, str]]:
    """Theme → role → ``#rrggbb``, as the moving page takes it."""
    return {str(theme): {str(role): colour for role, colour in roles.items()} for theme, roles in PALETTE.items()}


def css_variables(prefix: str = "lw") -> str:
    """The palette as custom properties on ``:root``, dark under ``prefers-color-scheme: dark``."""

    def rows(theme: Theme) -> str:
        return "".join(f"--{prefix}-{str(role).replace('_', '-')}:{colour};" for role, colour in PALETTE[theme].items())

    return (
        f":root{{color-scheme:light dark;{rows(Theme.LIGHT)}}}\n"
        f"@media (prefers-color-scheme:dark){{:root{{{rows(Theme.DARK)}}}}}\n"
    )
