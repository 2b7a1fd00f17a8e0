"""Running other commands: exit codes, log, sentences for what pip says when it fails."""

import sys
from pathlib import Path

import pytest

from bootstrap import install, run, runner, state
from bootstrap.machine import Facts
from bootstrap.words import INSTALL_FAILED, Fault

LOG = Path("install.log")
OFFLINE = (
    "WARNING: Retrying (Retry(total=0)) after connection broken by 'NewConnectionError: Failed to establish a new "
    "connection: [Errno -3] Temporary failure in name resolution'\n"
    "ERROR: Could not find a version that satisfies the requirement numpy==2.4.6\n"
    "ERROR: No matching distribution found for numpy==2.4.6\n"
)


@pytest.mark.parametrize(
    ("output", "wheels", "words"),
    [
        (OFFLINE, None, "could not be reached"),
        (
            "ERROR: No matching distribution found for ezdxf==1.4.5 (from -r x)",
            Path("w"),
            "no fitting wheel of ezdxf==1.4.5",
        ),
        ("OSError: [Errno 28] No space left on device", None, "disk became full"),
        ("ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.", None, "does not have the hash"),
        (
            "ERROR: Could not install packages due to an OSError: [Errno 13] Permission denied",
            None,
            "could not be written",
        ),
        ("something\nERROR: Strange thing", None, "pip could not install: Strange thing"),
        ("", None, "no message"),
    ],
)
def test_each_failure_of_pip_has_its_sentence(output, wheels, words):
    fault = runner.pip_fault(output, LOG, wheels)
    assert words in fault.sentence
    assert str(LOG) in fault.sentence
    assert "\n" not in fault.sentence
    assert fault.exit_code == INSTALL_FAILED


def test_logged_command_keeps_its_output_and_exit_code(tmp_path, capsys):
    log = tmp_path / "deep" / "log"
    code, output = runner.run_logged([sys.executable, "-c", "print('here'); raise SystemExit(7)"], tmp_path, log)
    assert (code, output) == (7, "here\n")
    assert log.read_text() == "here\n"
    assert capsys.readouterr().out == ""


def test_a_long_command_shows_that_it_goes_on(tmp_path, capsys):
    script = "import time; print('Collecting numpy==2.4.6', flush=True); time.sleep(0.6)"
    runner.run_logged([sys.executable, "-c", script], tmp_path, tmp_path / "log", heartbeat_s=0.02)
    shown = capsys.readouterr().out
    assert shown.count("\n") >= 2
    assert "collecting numpy\n" in shown


def test_a_command_that_does_not_exist_is_no_traceback(tmp_path):
    assert runner.run_asked([str(tmp_path / "none")], tmp_path)[0] == 127


@pytest.mark.parametrize(
    ("lines", "word"),
    [
        ([], "working"),
        (["  Downloading shapely-2.2.0-cp311-cp311-x.whl (3 MB)\n", "noise\n"], "downloading shapely"),
        (["Installing collected packages: a, b\n"], "unpacking"),
    ],
)
def test_progress_word(lines, word):
    assert runner.progress_word(lines) == word


def test_child_environment_leads_nowhere_else(monkeypatch):
    monkeypatch.setenv("PYTHONPATH", "/elsewhere")
    monkeypatch.setenv("PIP_TARGET", "/elsewhere")
    monkeypatch.setenv("HTTPS_PROXY", "kept")
    env = runner.child_env()
    assert "PYTHONPATH" not in env and "PIP_TARGET" not in env
    assert env["HTTPS_PROXY"] == "kept"


def test_test_passes_arguments_through_and_demo_takes_none():
    asked = run.parse(["test", "--wheels", "w", "tests/unit", "-k", "ring or mesh", "-x"])
    assert asked.rest == ["tests/unit", "-k", "ring or mesh", "-x"]
    assert asked.wheels == Path("w")
    assert run.parse(["test", "--", "--wheels"]).rest == ["--wheels"]
    with pytest.raises(SystemExit):
        run.parse(["demo", "more"])


def test_a_failing_step_gives_its_own_exit_code(tmp_path):
    with pytest.raises(Fault) as caught:
        run.step(state.Place(tmp_path), "a step", [sys.executable, "-c", "raise SystemExit(5)"])
    assert caught.value.exit_code == 5


def test_a_page_that_was_not_made_is_a_fault(tmp_path):
    facts = Facts("Linux", "x86_64", 64, False, ("glibc", (2, 36)), (), (3, 11), (), (), 1, "", False)
    with pytest.raises(Fault, match="was not made"):
        run.show(tmp_path / "motion.html", facts, {})


def test_what_stands_in_place_of_the_environment(tmp_path):
    place = state.Place(tmp_path)
    assert install.look_at_venv(place) is state.Venv.ABSENT
    place.venv.mkdir()
    assert install.look_at_venv(place) is state.Venv.ABSENT
    (place.venv / "notes.txt").write_text("mine")
    assert install.look_at_venv(place) is state.Venv.FOREIGN
    (place.venv / "pyvenv.cfg").write_text("home = /gone\n")
    assert install.look_at_venv(place) is state.Venv.UNUSABLE


def test_room_shrinks_with_what_is_installed(tmp_path):
    place = state.Place(tmp_path)
    (tmp_path / "requirements").mkdir()
    (tmp_path / "pyproject.toml").write_text("[project]\nname = 'x'\n")
    for stage in state.STAGES:
        place.lock(stage).write_text(f"{stage}==1\n")
    whole = install.room_needed_mb(place, "cad")
    place.venv.mkdir()
    state.write_stamp(place.stamp, install.wanted_stamp(place, "core", state.Stamp()))
    assert install.room_needed_mb(place, "cad") == whole - install.STAGE_MB["core"]
    state.write_stamp(place.stamp, install.wanted_stamp(place, "cad", state.Stamp()))
    assert install.room_needed_mb(place, "cad") == 100
