"""Words of the trade that lessons use, each with one plain sentence; in the order in which they are met."""

from __future__ import annotations

from lobewright.teach.language import Language

PART = "terms"
TERMS = (
    *("wave_generator", "flexible", "rigid", "lobe", "wave", "space", "mesh", "rack", "strip", "pitch", "flank"),
    *("clearance", "member", "roles", "ratio", "senses", "newton", "torque", "normal", "friction", "friction_angle"),
    *("play", "spring", "windup", "skip", "overlap", "stress", "strain", "cord", "cycle", "wear", "micron"),
)


def title(language: Language) -> str:
    """What the list is called."""
    return language.say(PART, "title")


def terms(language: Language) -> tuple[tuple[str, str], ...]:
    """Each word, and what it means."""
    return tuple((language.say(PART, name), language.say(PART, f"{name}_is")) for name in TERMS)
