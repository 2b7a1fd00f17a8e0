"""Why something of a drive is not shown, in the language of the lesson.

Lower rooms speak English. Kinds of faults that lessons meet have sentences of their own in every language; of others the
English sentence is told, and in another language marked as such, so that a page can tell its language to those who read aloud.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from lobewright.errors import ConvergenceFault, LobewrightError
from lobewright.make.rack_design import GENERATOR_HELD, NO_FIGURES
from lobewright.make.rack_paper import TWO_MOVE
from lobewright.make.rack_parts import THIN_TIPS
from lobewright.teach.language import Language
from lobewright.teach.numbers import short
from lobewright.torque.model import ONE_RING, TOO_MANY_TEETH, TWO_RINGS

PART = "reasons"
KNOWN = {
    GENERATOR_HELD: "generator_held",
    NO_FIGURES: "no_figures",
    TWO_MOVE: "two_move",
    THIN_TIPS: "thin_tips",
    ONE_RING: "one_ring",
    TWO_RINGS: "two_rings",
    TOO_MANY_TEETH: "too_many_teeth",
}
"""Kinds of faults by what lower rooms say of them."""


@dataclass(frozen=True)
class Why:
    """A reason: ``key`` of a sentence of lessons, and the ``english`` one of a lower room where that tells more. ``limit_nm`` and
    ``asked_nm`` [N·m] stand in sentences that tell what a drive carries and what its duty asks."""

    key: str
    english: str = ""
    limit_nm: float = 0.0
    asked_nm: float = 0.0

    def words(self, language: Language) -> str:
        """The reason as a sentence."""
        limit, asked = (
            short(Fraction(torque).limit_denominator(1000), language) for torque in (self.limit_nm, self.asked_nm)
        )
        return language.say(PART, self.key, told=in_english(self.english, language), limit=limit, asked=asked)


NOTHING = Why("nothing_holds")
APART = Why("apart")


def why(error: LobewrightError) -> Why:
    """The reason that an error gives: that of its first fault."""
    sentence = error.sentences()[0]
    if known := KNOWN.get(error.faults[0].what):
        return Why(known)
    return Why("not_settled" if isinstance(error, ConvergenceFault) else "other", sentence)


def in_english(sentence: str, language: Language) -> str:
    """An English sentence as it stands in a text of a language."""
    return language.say(PART, "english", told=sentence) if sentence else ""


def parted(text: str, language: Language) -> list[tuple[str, bool]]:
    """A text in its pieces, and whether a piece is an English sentence in a text of another language."""
    before, after = language.say(PART, "english", told="\n").split("\n")
    if not before:
        return [(text, False)]
    pieces = re.split(f"{re.escape(before)}(.*?){re.escape(after)}", text)
    out = [(pieces[0], False)]
    for inside, outside in zip(pieces[1::2], pieces[2::2], strict=True):
        out[-1] = out[-1][0] + before, False
        out += [(inside, True), (after + outside, False)]
    return out
