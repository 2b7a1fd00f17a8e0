"""What stands round the questions under torque: edits that are offered, the pool of processes, the command's refusals."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from lobewright import load_advice
from lobewright.assessment.load_verdicts import SPARE
from lobewright.assessment.results import Assessment
from lobewright.cli import main
from lobewright.design.starters import starter
from lobewright.errors import ConvergenceFault, Fault, PlatformFault
from lobewright.load_advice import load_suggestions
from lobewright.torque.bands import SKIP, Reply
from lobewright.verdict import State
from lobewright.workers import all_cores


@dataclass
class Asked:
    """Loads as far as the advice looks at them: skips at 2 N·m, low end 1 N·m, the duty's peak 1 N·m."""

    state: State = State.WARN
    peak_nmm: float = 1000.0
    skip_band: Any = field(default_factory=lambda: SimpleNamespace(low=1000.0, middle=2000.0))
    correction: Any = None

    @property
    def verdicts(self) -> tuple[Any, ...]:
        return (SimpleNamespace(name="skip_torque", state=self.state),)


@pytest.fixture
def cup(assessed_starter: Any) -> Assessment:
    found = assessed_starter("printed_cup")
    assert isinstance(found, Assessment)
    return found


def answers(monkeypatch: pytest.MonkeyPatch, torque_of: Any) -> list[Any]:
    """Skip torques by design in place of the solver's; returns the designs that were asked."""
    seen: list[Any] = []
    monkeypatch.setattr(load_advice, "stiffnesses", lambda drive: SimpleNamespace(inputs=None))

    def asked(drive: Any, _inputs: None) -> Reply:
        seen.append(drive.design)
        return Reply({SKIP: torque_of(drive.design)})

    monkeypatch.setattr(load_advice, "skip_question", asked)
    return seen


def test_the_first_edit_that_lifts_the_low_end_enough_is_offered(
    cup: Assessment, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = cup.design.flexible_ring.wall_mm
    # the low end is half the middle, so the middle must reach twice the peak with its spare
    enough = 2.0 * SPARE * 1000.0
    seen = answers(monkeypatch, lambda design: enough if design.flexible_ring.wall_mm > usual else 0.99 * enough)
    (offer,) = load_suggestions(cup, Asked())
    assert offer.verdict == "skip_torque"
    assert any(edit.place == "flexible_ring.wall_mm" for edit in offer.edits)
    assert len(seen) > 1


def test_nothing_is_offered_where_nothing_helps_or_nothing_is_wrong(
    cup: Assessment, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = answers(monkeypatch, lambda design: 100.0)
    assert load_suggestions(cup, Asked()) == ()
    assert seen
    seen.clear()
    assert load_suggestions(cup, Asked(state=State.PASS)) == ()
    assert load_suggestions(cup, Asked(skip_band=None)) == ()
    assert not seen


def test_a_candidate_that_cannot_be_solved_is_passed_over(cup: Assessment, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_design: Any) -> float:
        raise ConvergenceFault([Fault("no state was found", "loaded ring")])

    answers(monkeypatch, refuse)
    assert load_suggestions(cup, Asked()) == ()


@pytest.fixture
def two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a single core there is no pool, and what ends one of its processes would end the tests."""
    monkeypatch.setattr("lobewright.workers.os.sched_getaffinity", lambda pid: {0, 1}, raising=False)


@pytest.mark.usefixtures("two_cores")
def test_a_pool_answers_in_order() -> None:
    with all_cores() as mapper:
        assert list(mapper(abs, [-3, 2, -1])) == [3, 2, 1]


def test_a_missing_file_and_a_drive_without_a_load_path_are_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["load", str(tmp_path / "none.toml")]) == 2
    assert "no such file" in capsys.readouterr().err


def die(_number: int) -> None:
    """End the process that runs this, as a system out of memory does."""
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.usefixtures("two_cores")
def test_a_process_that_dies_is_one_sentence() -> None:
    with pytest.raises(PlatformFault, match="ended before its time"), all_cores() as mapper:
        list(mapper(die, [1]))


@pytest.mark.skipif(os.name == "nt", reason="interrupts are sent otherwise there")
def test_a_key_stops_it_within_seconds_and_without_a_traceback(tmp_path: Path) -> None:
    path = tmp_path / "drive.toml"
    path.write_text(starter("printed_cup", "drive"), "utf-8")
    words = [sys.executable, "-m", "lobewright.cli", "load", str(path)]
    # a test run in the background may have been started deaf to this key, and would hand that on
    running = subprocess.Popen(
        words,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    assert running.stderr is not None
    said = b""
    while b"skip torque over arms" not in said:  # the pool is at work
        line = running.stderr.readline()
        assert line, said
        said += line
    os.killpg(running.pid, signal.SIGINT)
    began = time.monotonic()
    _, rest = running.communicate(timeout=30)
    assert running.returncode == 130
    assert b"Stopped; nothing was left half-written." in rest
    assert b"Traceback" not in rest
    assert time.monotonic() - began < 10
