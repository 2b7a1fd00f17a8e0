"""What is said beside a number that is weak: the words, and by what kind of weakness others may ask for it.

Words and kind are made together here, so that neither can change without the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Weak(StrEnum):
    """How little is known of a figure that a number rests on."""

    REMEMBERED = "memory"
    """From memory, in no source that was read."""
    BROUGHT = "brought"
    """Measured, and brought to another temperature by shares from memory."""
    ESTIMATED = "estimated"
    """From another figure of the same material, by a rule."""
    ROUGH = "rough"
    """By a law outside its range: an order of magnitude only."""


@dataclass(frozen=True)
class Remark:
    """What stands beside a number, empty where it is well founded; ``weak``: what of it is a lack of knowledge."""

    words: str = ""
    weak: frozenset[Weak] = frozenset()


NOTHING = Remark()


def remembered(what: str) -> Remark:
    """That a figure is from memory."""
    return Remark(f"{what} remembered", frozenset({Weak.REMEMBERED}))


def brought(what: str, where: str) -> Remark:
    """That a figure of the owner's was brought to another temperature by shares that are from memory."""
    return Remark(f"{what} brought to {where} by remembered shares", frozenset({Weak.BROUGHT}))


def estimated(what: str, of: str) -> Remark:
    """That a figure follows from another by a rule."""
    return Remark(f"{what} estimated from {of}", frozenset({Weak.ESTIMATED}))


def rough(why: str) -> Remark:
    """That a law is used where it does not hold."""
    return Remark(f"{why}: an order of magnitude only", frozenset({Weak.ROUGH}))


def joined(*remarks: Remark | str) -> Remark:
    """Remarks as one, empty ones and repeated ones left out; a plain sentence tells no lack of knowledge."""
    every = [Remark(one) if isinstance(one, str) else one for one in remarks]
    words = dict.fromkeys(one.words for one in every if one.words)
    return Remark("; ".join(words), frozenset().union(*(one.weak for one in every)))
