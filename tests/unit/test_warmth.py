"""A drive that stands warm is told how much softer its ring is than what it was solved with."""

from __future__ import annotations

import pytest

from lobewright.assessment.warmth import warmth_words
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data


def said(kind: str, celsius: float) -> str:
    return warmth_words(design_from_data(starter_data(kind) | {"ambient_temperature_C": celsius}))


def test_a_warm_print_is_softer_and_a_cool_one_needs_no_word() -> None:
    warm, warmer = said("printed_cup", 45.0), said("printed_cup", 60.0)
    for text, celsius in ((warm, "45 °C"), (warmer, "60 °C")):
        assert text.startswith("Moduli are those of 23 °C") and celsius in text and text.endswith("as much.")
    factors = [float(text.split("about ")[1].split(" times")[0]) for text in (warm, warmer)]
    assert 0.3 < factors[1] < factors[0] < 0.97
    assert said("printed_cup", 23.0) == ""


@pytest.mark.parametrize(("kind", "celsius"), [("belt", 60.0), ("metal_cup", 60.0), ("printed_cup", 149.0)])
def test_belts_steel_and_what_is_not_known_so_warm_say_nothing(kind: str, celsius: float) -> None:
    assert said(kind, celsius) == ""
