"""The player of scores and its Python twin: the same pictures, and figures written alike."""

from __future__ import annotations

import json
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented_score import PLACES_TOLD, VECTORS, invented_score, vectors_text

from lobewright.errors import LobewrightError
from lobewright.picture.page import module_text
from lobewright.picture.score import Drag, Marks, figure


def test_the_player_passes_its_own_tests(passed):
    assert passed("score.test.mjs") >= 5


def test_the_painter_passes_its_own_tests(passed):
    assert passed("painter.test.mjs") >= 1


def test_kept_vectors_are_what_python_finds_now():
    assert json.loads(VECTORS.read_text(encoding="utf-8")) == json.loads(vectors_text())


def test_the_vectors_reach_all_that_scores_can_do():
    kept = VECTORS.read_text(encoding="utf-8")
    for one in ('"l": 1', '"stages"', '"fade"', '"words"', '"loops"', '"placements"', '"row"', "ring_arc", "arrow"):
        assert one in kept
    assert len({len(invented_score().at(u).items) for u in PLACES_TOLD}) == 2  # a group that is faded away is not there


def test_the_module_is_one_piece_that_asks_for_nothing():
    text = module_text("player.js")
    assert "class Painter" in text and not re.search(r"^\s*import\b|\bimport\s*\(", text, re.MULTILINE)
    assert not [word for word in ("fetch(", "XMLHttpRequest", "eval(", "innerHTML +=", "</script") if word in text]


@pytest.mark.parametrize(
    ("value", "places", "words"),
    [
        (2.5, 0, "3"),
        (-2.5, 0, "−3"),
        (0.125, 2, "0.13"),
        (-0.04, 1, "0.0"),
        (1e22, 0, "1" + 22 * "0"),
        (0.175, 2, "0.18"),
        (0.275 - 2**-54, 2, "0.28"),
        (-1.005, 2, "−1.01"),
        (0.1749, 2, "0.17"),
    ],
)
def test_figures_round_ties_away_from_zero(value, places, words):
    assert figure(value, places, Marks()) == words


@pytest.mark.parametrize("size", [0.0, math.inf, math.nan])
def test_a_hand_must_get_somewhere(size):
    with pytest.raises(LobewrightError, match=r"drag\.size"):
        Drag("the wheel", size)


@given(st.floats(-1e9, 1e9), st.integers(0, 6))
def test_a_figure_is_within_half_of_its_last_place(value, places):
    read = float(figure(value, places, Marks()).replace("−", "-"))
    assert abs(read - value) <= 0.5 * 10**-places * (1 + 1e-9) + 1e-6
