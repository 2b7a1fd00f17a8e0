"""Faults as sentences and data, grades and margins, exit status."""

from __future__ import annotations

import json
import math

import pytest

from lobewright import errors
from lobewright.errors import ConvergenceFault, DesignFault, Fault, LobewrightError, clipped, nearest
from lobewright.verdict import Bound, State, Verdict, Working, judge, worst


def test_a_fault_is_one_sentence_with_all_that_is_known() -> None:
    fault = Fault("the value is out of range", "rigid_ring[1].teeth", 12, "7", "at least 16 teeth")
    assert fault.sentence("a.toml") == (
        "a.toml, line 12: rigid_ring[1].teeth: the value is out of range (found 7); allowed: at least 16 teeth."
    )
    assert fault.sentence() == "line 12: " + fault.sentence("a.toml").split("line 12: ")[1]
    assert Fault("nothing is there.").sentence() == "nothing is there."


def test_at_most_twenty_sentences() -> None:
    assert len(DesignFault(Fault(f"fault {i}") for i in range(20)).sentences()) == 20
    assert DesignFault(Fault(f"fault {i}") for i in range(21)).sentences()[-1] == "1 more fault not shown."
    assert DesignFault(Fault(f"fault {i}") for i in range(90)).sentences()[-1] == "70 more faults not shown."


def every_error(base: type[LobewrightError] = LobewrightError) -> list[type[LobewrightError]]:
    return [base, *(one for child in base.__subclasses__() for one in every_error(child))]


@pytest.mark.parametrize("kind", every_error(), ids=lambda kind: kind.__name__)
def test_all_errors_have_one_json_shape_and_stand_in_the_tree(kind: type[LobewrightError]) -> None:
    data = kind([Fault("what", "place", 3, "value", "allowed")]).as_json()
    assert set(data) == {"error", "file", "faults"}
    assert data["error"] == kind.__name__
    (fault,) = data["faults"]  # type: ignore[misc]
    assert set(fault) == {"what", "place", "line", "value", "allowed", "sentence"}
    json.dumps(data, allow_nan=False)
    assert kind.__name__ in (errors.__doc__ or "")
    assert kind("only words").sentences() == ["only words."]


def test_the_last_good_state_travels_with_a_computation_that_did_not_settle() -> None:
    assert ConvergenceFault("it did not settle", last_good=(1, 2)).last_good == (1, 2)


def test_values_are_clipped_to_one_line() -> None:
    assert clipped("a\nb\x07\u202e") == "a\\nb\\x07\\u202e"
    assert clipped("x" * 500) == "x" * 77 + "..."
    assert "\n" not in Fault("what", value="a\nb").sentence("c\nd.toml")


def test_nearest_names() -> None:
    assert nearest("tooth", ("teeth", "width_mm")) == "nearest: teeth"
    assert nearest("zzz", ("b", "a")) == "one of a, b"
    assert nearest("zzz", [f"name_{i}" for i in range(40)]) == "40 names, none is near"


def test_grades() -> None:
    assert [judge(v, 0.0, 1.0) for v in (-0.1, 0.0, 0.9, 1.0)] == [State.FAIL, State.WARN, State.WARN, State.PASS]
    at_most = [judge(v, 2.0, 1.0, Bound.AT_MOST) for v in (2.1, 2.0, 1.1, 1.0)]
    assert at_most == [State.FAIL, State.WARN, State.WARN, State.PASS]
    assert judge(0.5, 0.0) is State.PASS
    for bad in (math.nan, math.inf):
        with pytest.raises(ValueError, match="cannot grade"):
            judge(bad, 0.0)


def verdict(state: State, value: float | None = 1.0, bound: Bound = Bound.AT_LEAST) -> Verdict:
    limit = None if value is None else 3.0
    return Verdict("a:b", "A", state, "A.", Working("a", "b"), "mm", value, limit, bound)


def test_margins_are_positive_on_the_good_side() -> None:
    assert verdict(State.FAIL, 1.0).margin == -2.0
    assert verdict(State.PASS, 1.0, Bound.AT_MOST).margin == 2.0
    assert verdict(State.NOT_MADE, None).margin is None


def test_the_worst_of_many() -> None:
    ok, warn, fail, none = (verdict(s) for s in (State.PASS, State.WARN, State.FAIL, State.NOT_MADE))
    assert worst((ok, none)) is State.PASS
    assert worst((ok, none), strict=True) is State.NOT_MADE
    assert worst((ok, warn, none), strict=True) is State.NOT_MADE
    assert worst((ok, warn)) is State.WARN
    assert worst((none, fail, warn), strict=True) is State.FAIL
