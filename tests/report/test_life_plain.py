"""What gives first is said in one sentence with its band; words of the trade are explained where they stand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from life_results import WORKING, invented_items, invented_life

from lobewright.assessment.life import Life
from lobewright.assessment.life_verdicts import SET
from lobewright.assessment.results import Assessment
from lobewright.life_words import life_text
from lobewright.report.life_figures import safety_bars
from lobewright.report.life_plain import SKIP, TERMS, curves_used, gives_first, reasons, strengths_of, words_used
from lobewright.report.life_section import beyond_doubt, life_section
from lobewright.strength.items import LifeItem, NotMade, SafetyItem, Span
from lobewright.strength.point import PointLife
from lobewright.strength.remark import Remark
from lobewright.verdict import State, Verdict


@pytest.fixture(scope="module")
def life() -> Life:
    return invented_life()


def told(life: Life) -> str:
    return " ".join(gives_first(life)).replace("\u00a0", " ")


def test_the_weakest_is_told_in_its_own_count(life: Life) -> None:
    text = told(life)
    assert (
        "Wears out first: Flexible ring, root of the teeth, after 1.5 × 10⁷ bends (90 % band 1.7 × 10⁶ … 1.8 × 10⁸)"
        in text
    )
    assert "the duty asks for 5.70 × 10⁶. Most likely it lasts, but not surely." in text
    assert "Layers of the ring against tearing apart, which bears 1.37 times its load (90 % band 0.800 … 2.20)" in text
    assert "2 checks were not made" in text


@pytest.mark.parametrize(
    ("times", "said"),
    [
        (Span(0.1, 0.9, 3.0), "Most likely it does not hold."),
        (Span(0.9, 1.1, 3.0), "Most likely it holds, but not surely."),
        (Span(1.0, 1.1, 3.0), "Even at the low end it holds."),
    ],
)
def test_the_grade_is_that_of_the_verdicts(times: Span, said: str) -> None:
    item = SafetyItem("bolts", "Bolts", "rigid", times, 140.0, 476.0, "N", WORKING)
    assert told(invented_life(items=(item,))).endswith(said)


def test_what_lasts_for_ever_and_what_nobody_asked(life: Life) -> None:
    first = next(one for one in life.items if isinstance(one, LifeItem))
    assert told(replace(life, items=(replace(first, duties=Span(1000.0, 2e4, 1e9)),))).startswith(
        "Nothing that was checked"
    )
    assert gives_first(replace(life, items=())) == ()
    assert gives_first(replace(life, items=life.items[-2:])) == ()  # nothing was made, nothing may hide behind it


def test_a_ring_without_a_life_is_named_among_the_missing(life: Life) -> None:
    cracks = NotMade("cracks", "Fatigue of the ring", "ring", "no S–N curve of the print", of_life=True)
    told_ring = replace(life, items=(*life.items, cracks))
    assert "3 checks were not made and may" in told(told_ring)
    bare = replace(
        life, items=tuple(one for one in told_ring.items if not isinstance(one, LifeItem) or one.part != "ring")
    )
    assert "3 checks were not made, the life of the flexible ring among them, and may" in told(bare)
    one = replace(life, items=(life.items[4], life.items[-1]))
    assert told(one).endswith("1 check was not made and may hide something weaker: see “Not made”.")


def test_checks_of_one_reason_stand_together() -> None:
    one, two, three = (
        NotMade(name, name, "ring", why) for name, why in (("root", "no S–N"), ("barrel", "no S–N."), ("set", "x"))
    )
    assert reasons((one, three, two)) == ("Root; barrel: no S–N", "Set: x")
    assert words_used((one,))[0].startswith("No S–N curve: break pieces of your own")


def test_words_are_explained_where_they_stand() -> None:
    item = SafetyItem(
        "bend",
        "Tightest bend",
        "belt",
        Span(1.0, 2.0, 3.0),
        33.3,
        16.7,
        "mm radius",
        WORKING,
        Remark("limit remembered"),
    )
    assert [said.partition(":")[0] for said in words_used((item,))] == ["Remembered", "mm radius"]
    assert words_used((replace(item, noted=Remark(), unit="N"),)) == ()
    assert len({word for word, _ in TERMS}) == len(TERMS)


def test_a_set_is_no_strength(life: Life, assessed: dict[str, Assessment]) -> None:
    bent = SafetyItem(SET, "Set of the ring", "ring", Span(0.5, 0.8, 2.0), 62.0, 50.0, "%", WORKING)
    found = replace(life, items=(bent, *life.items))
    assert strengths_of(found) == strengths_of(life) and safety_bars(found) == safety_bars(life)
    assert "Set of the ring" not in life_section(assessed["printed_cup"], found)


def test_those_beyond_doubt_are_told_by_their_least() -> None:
    lives = [one for one in invented_items() if isinstance(one, LifeItem)]
    assert beyond_doubt(lives[2:]) == "40 times or more even at the low end"
    assert beyond_doubt(lives[3:]) == "endless even at the low end"


def test_curves_say_where_they_come_from_once(life: Life) -> None:
    point = life.points[0]

    def made(words: str) -> PointLife:
        return replace(point, data=replace(point.data, words="the print", curve_words=words))

    points = tuple(
        made(words) for words in ("by custom", "by custom; across by a share", "your own 6 pieces", "by custom")
    )
    assert curves_used(replace(life, points=points)) == (
        "S–N curve of the print: by custom; across by a share.",
        "S–N curve of the print: your own 6 pieces.",
    )
    assert curves_used(replace(life, points=())) == ()


@pytest.mark.parametrize("state", [State.FAIL, State.WARN, State.PASS])
def test_a_drive_that_skips_below_the_peak_is_told_so_before_all_else(
    life: Life, assessed: dict[str, Assessment], state: State
) -> None:
    cup = assessed["printed_cup"]
    verdict = Verdict(SKIP, "Torque at which it skips", state, "it skips.", WORKING, "N·m", 0.4321, 2.0)
    found = replace(cup, verdicts=(*cup.verdicts, verdict))
    section, text = life_section(found, life), life_text(found, life, (), ())
    said = "Skips before all that:" in section and "Skips before all that:" in text
    assert said == (state is State.FAIL)
    if said:
        assert "is 2 N·m" in section and "at 0.432 N·m" in section
        assert text.index("Skips before") < text.index("Wears out first")
