"""Words of the card model, as one record: English here; who makes sheets in another language hands over its own.

``{name}`` stands for what is put in. Numbers are written with ``marks``.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from lobewright.picture.score import Marks, figure, ratio_figures

POINT = Marks()


@dataclass(frozen=True)
class CardWords:
    """Everything that is printed on a sheet of the card model."""

    marks: Marks = POINT

    title: str = "The drive laid flat: {design}"
    same: str = "The drive's own ratio and tooth counts."
    fewer: str = "The drive has {own}; {fewer} teeth fewer on every count here."
    description: str = (
        "Parts of a card model to cut out, true to scale: held strip, moving strip, ledge, wedge card; ratio {ratio}."
    )

    held_rack: str = "HELD: rack {name}, spaces {pitch} mm apart"
    held_strip: str = "HELD: flexible strip, teeth {pitch} mm apart"
    moves_rack: str = "MOVES: rack {name}, spaces {pitch} mm apart"
    moves_strip: str = "MOVES: flexible strip, teeth {pitch} mm apart"
    space_number: str = "space no."
    tooth_number: str = "tooth no."
    wedge_scale: str = "wedge, mm"
    wedge: str = "wedge"
    read_here: str = "read its travel here"
    travel_scale: str = "travel of the moving strip, mm"
    ledge: str = "LEDGE: the moving strip slides along its upper edge; glue or pin it down"
    fold: str = "fold back"
    window_1: str = "cut the window out; tape a thread"
    window_2: str = "over it where the red line is"
    check: str = "{bar} mm: measure it. If it is not, print again at 100 %."

    step_1: str = "Print at 100 % on card, cut along full lines, fold along dashed ones."
    step_2: str = (
        "Pin the held strip to a board with two pins. "
        "Butt the moving strip to it from below, zeros together, then the ledge."
    )
    step_3: str = (
        "Hang the wedge card over the held strip, its upper red mark on 0 mm. A tooth faces a space under the thread."
    )
    step_4: str = (
        "Move the wedge some spaces on. "
        "Shift the moving strip until tooth and space face each other under the thread again."
    )
    step_5: str = "Go on to {into} mm, tooth by tooth, never skipping one. Expect: the strip has gone {out} mm {way}."
    with_wedge: str = "to the right, with the wedge"
    against_wedge: str = "to the left, against the wedge"

    def number(self, value: float, places: int | None = None) -> str:
        """A number as it is printed; a whole one without a place and any other with one, as a ruler is read, where ``places`` is
        None."""
        if places is not None:
            return figure(value, places, self.marks)
        return figure(value, 1, self.marks).removesuffix(f"{self.marks.decimal}0")

    def ratio(self, value: Fraction) -> str:
        """A ratio as it is printed: exact."""
        return ratio_figures(value, self.marks)


ENGLISH = CardWords()
