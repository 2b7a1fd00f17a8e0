"""`lobewright lesson`: what cannot be done is told before the work; asked to end, it leaves nothing half-written."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
from pathlib import Path

import psutil
import pytest

from lobewright import cli
from lobewright.web import network

EXAMPLES = Path(__file__).parents[2] / "examples"
SHORT = ("--scene", "racks", "--no-paper", "--no-stills")
NOTES = "# Before\n"
WAIT_S = 300


@pytest.fixture
def design(tmp_path: Path) -> Path:
    shutil.copy(EXAMPLES / "workshop.toml", tmp_path)
    return Path(shutil.copy(EXAMPLES / "azimuth_belt.toml", tmp_path / "mirror.toml"))


@pytest.fixture
def no_work(monkeypatch: pytest.MonkeyPatch) -> None:
    def works(*_: object) -> None:
        raise AssertionError("the work was begun")

    monkeypatch.setattr("lobewright.lesson_folder.assess", works)


def kept(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_lesson_file_changed_where_it_was_written_is_kept(
    design: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "less"
    assert cli.main(["lesson", str(design), "--out", str(out), *SHORT]) == 0
    written = out / "teacher" / "lesson.toml"
    text = written.read_text("utf-8").replace('"mirror.toml"', '"../../mirror.toml"')
    written.write_text(f'{text}\n[[part]]\ntext = "before.md"\n', "utf-8")
    (out / "teacher" / "before.md").write_text(NOTES, "utf-8")
    (out / "my_notes.txt").write_text(NOTES, "utf-8")
    (out / "names.txt").write_text("Ada\n", "utf-8")
    before = kept(tmp_path)
    capsys.readouterr()
    assert cli.main(["lesson", str(written), "--out", str(out), "--students", str(out / "names.txt")]) == 2
    told = capsys.readouterr().err
    for name in ("teacher/lesson.toml", "teacher/before.md", "names.txt"):
        assert (
            f"{out}: this file is read now and lies in the folder less, which would be replaced whole (found {name})"
            in told
        )
    assert cli.main(["lesson", str(design), "--out", str(out), *SHORT]) == 2
    told = capsys.readouterr().err
    assert "(found my_notes.txt, names.txt, teacher/before.md and 1 more)" in told and "left alone" in told
    assert kept(tmp_path) == before
    for name in ("my_notes.txt", "names.txt", "teacher/before.md", "teacher/lesson.toml"):
        (out / name).rename(tmp_path / Path(name).name)
    assert cli.main(["lesson", str(design), "--out", str(out), *SHORT]) == 0, "what was taken out is missed by nobody"


@pytest.mark.parametrize("port", ["99999", "80", "-1", "taken"])
def test_a_port_that_cannot_be_had_is_told_before_the_work(
    design: Path, tmp_path: Path, port: str, no_work: None, capsys: pytest.CaptureFixture[str]
) -> None:
    with socket.socket() as other:
        other.bind(((network.local_addresses() or ("127.0.0.1",))[0], 0))
        other.listen()
        asked = str(other.getsockname()[1]) if port == "taken" else port
        status = cli.main(["lesson", str(design), "--out", str(tmp_path / "o"), "--share", "--port", asked])
    told = capsys.readouterr()
    assert status == 2 and told.out == "" and "--port: th" in told.err and f"(found {asked})" in told.err
    assert not (tmp_path / "o").exists()


def test_a_file_behind_share_is_told_as_what_it_is(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main(["lesson", "--share", str(design), "--out", "o"])
    told = capsys.readouterr().err
    assert ended.value.code == 2 and f"--share: {design} is a file" in told and "name the file first" in told


@pytest.mark.parametrize("asked", ["-5", "1e3", "0", "2.5", "201", "1" * 60])
def test_what_is_no_count_of_students_is_told_with_what_is(
    design: Path, tmp_path: Path, asked: str, no_work: None, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["lesson", str(design), "--out", str(tmp_path / "o"), "--students", asked]) == 2
    told = capsys.readouterr().err
    assert (
        f"--students: this is no count of students (found {asked}); allowed: 1 to 200, a whole number; or a text"
        in told
    )


def test_a_list_of_students_that_is_not_there_is_told_with_its_key(
    design: Path, tmp_path: Path, no_work: None, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["lesson", str(design), "--out", str(tmp_path / "o"), "--students", "twenty"]) == 2
    assert "twenty: --students: there is no such file; allowed: 1 to 200, a whole" in capsys.readouterr().err


def test_a_ring_whose_name_cannot_be_is_one_fault(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = design.read_text("utf-8")
    assert text.count('name = "base"') == 1
    first, *rest = text.replace('name = "base"', 'name = "gehäuse"').split("[[rigid_ring]]")
    design.write_text(f"{first}[[rigid_ring]]{rest[0]}", "utf-8")
    assert cli.main(["check", str(design)]) == 2
    told = capsys.readouterr().err
    assert "rigid_ring[1].name: this name cannot be used" in told and "too little" not in told
    design.write_text(f"rigid_ring = []\n{first}", "utf-8")
    assert cli.main(["check", str(design)]) == 2
    assert "rigid_ring: there is too little here (found ()); allowed: at least 1 entries" in capsys.readouterr().err


@pytest.mark.skipif(os.name != "posix", reason="elsewhere nobody is asked to end, programs are ended")
def test_asked_to_end_in_a_film_it_leaves_nothing_behind(design: Path, tmp_path: Path) -> None:
    (tmp_path / "room").mkdir()
    command = [sys.executable, "-m", "lobewright.cli", "lesson", str(design), *SHORT, "--film", "1080p60"]
    command += ["--out", str(tmp_path / "room" / "outf")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        try:
            told = ""
            while "film racks" not in told:
                line = process.stderr.readline()
                assert line, told
                told += line
            assert len(os.listdir(tmp_path / "room")) == 1, "there is something to be taken away"
            others = psutil.Process(process.pid).children(recursive=True)
            process.send_signal(signal.SIGTERM)
            out, told = process.communicate(timeout=WAIT_S)
        finally:
            process.kill()
    assert process.returncode == 128 + signal.SIGTERM and out == ""
    assert told.splitlines()[-1] == "Stopped; nothing was left half-written." and "Traceback" not in told
    assert os.listdir(tmp_path / "room") == []
    assert psutil.wait_procs(others, timeout=WAIT_S)[1] == []


@pytest.mark.skipif(os.name != "posix", reason="elsewhere nobody is asked to end, programs are ended")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_who_is_asked_to_end_is_answered_as_before_afterwards(
    design: Path, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    number = getattr(signal, name)

    def asks(*_: object) -> None:
        os.kill(os.getpid(), number)
        os.kill(os.getpid(), number)  # in haste

    monkeypatch.setattr("lobewright.lesson_folder.assess", asks)
    before = signal.signal(number, signal.SIG_DFL)  # whoever began the tests may have it ignored
    try:
        assert cli.main(["lesson", str(design), "--out", str(tmp_path / "o"), *SHORT]) == 128 + number
        assert signal.getsignal(number) == signal.SIG_DFL and not (tmp_path / "o").exists()
    finally:
        signal.signal(number, before)
