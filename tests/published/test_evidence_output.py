"""What the command prints and what the documentation shows: the cases, counted by where they come from."""

from __future__ import annotations

import json
import math
import re
from functools import cache
from pathlib import Path

import pytest

from lobewright.errors import ConvergenceFault, Fault, PlatformFault
from lobewright.published import ALL_CASES, as_json, as_text, run_cases
from lobewright.published.case import Case, CaseResult, Room
from lobewright.published.page import page
from lobewright.published.run import count
from lobewright.sources import Flag, complete, source

HERE = Path(__file__).parent
DOCS = HERE.parents[1] / "docs" / "validation" / "evidence.md"


@cache
def results() -> tuple[CaseResult, ...]:
    return run_cases()


def test_there_are_enough_rows_of_every_kind() -> None:
    counts = count(results())
    assert counts.rows == len(ALL_CASES) >= 24
    assert counts.by_room["motion"] <= 6
    assert counts.by_room["ring"] >= 6
    assert counts.by_room["tooth space"] >= 5
    assert counts.by_room["belt"] >= 3
    assert counts.by_room["under torque"] >= 20
    assert counts.by_room["cup"] >= 15
    assert counts.read >= 10
    assert sum(counts.by_flag.values()) == counts.rows


def test_keys_are_unique_and_every_source_has_its_test_file() -> None:
    assert len({case.key for case in ALL_CASES}) == len(ALL_CASES)
    for key in {case.source_key for case in ALL_CASES}:
        assert (HERE / f"test_{key}.py").exists()


def test_a_row_is_never_worth_more_than_its_source() -> None:
    for case in ALL_CASES:
        if case.flag in (Flag.READ, Flag.READ_SECOND):
            one = source(case.source_key)
            assert complete(one.text.split(",")[0], one.text, one.year, one.place)
    remembered = Case("x", Room.RING, "q", "", "memory", Flag.READ, 1.0, 0.1, "r", lambda model: 1.0)
    assert remembered.flag is Flag.REMEMBERED


def test_text_names_each_row_s_numbers_source_and_outcome() -> None:
    text = as_text(results())
    assert len(re.findall(r"^(PASS|FAIL)  ", text, flags=re.M)) == len(ALL_CASES)
    for word in ("expected −45", "allowed ±", "computed", "difference", "[edf_v2_03_109] read;", "common practice"):
        assert word in text
    assert re.search(rf"{len(ALL_CASES)} rows: \d+ pass, \d+ fail", text)
    assert max(len(line) for line in text.splitlines()) < 220


def test_json_holds_the_same_rows() -> None:
    data = json.loads(json.dumps(as_json(results()), allow_nan=False))
    assert [line["key"] for line in data["rows"]] == [case.key for case in ALL_CASES]
    first = data["rows"][0]
    assert first["difference"] == pytest.approx(first["computed"] - first["expected"])
    assert {line["outcome"] for line in data["rows"]} <= {"pass", "fail"}
    assert {line["source"] for line in data["rows"]} == set(data["sources"])
    assert data["counts"]["by_flag"]["read"] == count(results()).read


def test_a_row_without_a_number_is_shown_as_failed() -> None:
    def refuse(_: object) -> float:
        raise ConvergenceFault("the ring did not settle")

    case = Case("x", Room.RING, "q", "mm", "memory", Flag.READ, 1.0, 0.1, "r", refuse)
    broken = (case.run(None), CaseResult(ALL_CASES[0], math.nan))  # type: ignore[arg-type]
    assert "FAIL" in as_text(broken) and "did not settle" in as_text(broken) and "no number computed" in as_text(broken)
    rows = json.loads(json.dumps(as_json(broken), allow_nan=False))["rows"]
    assert [line["computed"] for line in rows] == [None, None]
    assert [line["outcome"] for line in rows] == ["fail", "fail"]


def test_the_validation_page_is_made_from_these_cases() -> None:
    def without_numbers(text: str) -> list[str]:
        """The page without what was computed, which a change of the model may move within what is allowed."""
        lines = [line for line in text.splitlines() if not line.startswith("- ")]
        return [re.sub(r"^(\| [^|]*\| [^|]*\|)[^|]*\|", r"\1 |", line) for line in lines]

    shown, made = DOCS.read_text("utf-8"), page(results())
    assert without_numbers(shown) == without_numbers(made), "run python -m lobewright.published.page"


def test_a_row_that_needs_what_is_not_installed_is_not_made() -> None:
    """It neither passes nor fails, and says what is missing."""

    def missing(_: object) -> float:
        raise PlatformFault([Fault("the tooth cell needs scikit-fem", allowed='install the extra "fe"')])

    case = Case("x", Room.LOADED, "q", "mm", "memory", Flag.REMEMBERED, 1.0, 0.1, "r", missing)
    row = case.run(None)  # type: ignore[arg-type]
    assert not row.passed and not row.failed
    counts = count((row,))
    assert (counts.passed, counts.failed, counts.not_made) == (0, 0, 1)
    assert "NOT MADE" in as_text((row,)) and "scikit-fem" in as_text((row,)) and "1 not made" in as_text((row,))
    assert json.loads(json.dumps(as_json((row,)), allow_nan=False))["rows"][0]["outcome"] == "not made"
