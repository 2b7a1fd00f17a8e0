"""What is open, and that nothing of it is lost."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time

import pytest

from lobewright.errors import ChangedMeanwhile, FileFault, OutputFault
from lobewright.web import project as projects
from lobewright.web.confine import design_path
from lobewright.web.project import Project

KILLS = 50
SAVER = """
import sys
from pathlib import Path
from lobewright.web.project import Project
project = Project(Path(sys.argv[1]), "azimuth_belt.toml")
count = int(sys.argv[2])
while True:
    count += 1
    text = project.state().text
    head = text.split("\\n# saved ")[0]
    project.change(f"{head}\\n# saved {count} " + "x" * 20000 + "\\n")
    print(count, flush=True)
"""


def test_every_change_is_in_the_file_and_can_be_taken_back(project, folder):
    path = folder / "azimuth_belt.toml"
    first = project.state().text
    project.change(first + "# one\n")
    project.change(first + "# two\n")
    assert path.read_text("utf-8") == first + "# two\n"
    project.step(-1)
    assert path.read_text("utf-8") == first + "# one\n" and project.state().can_redo
    project.step(-1)
    assert not project.state().can_undo
    with pytest.raises(FileFault, match="nothing to take back"):
        project.step(-1)
    project.step(1)
    project.change(first + "# three\n")
    assert not project.state().can_redo, "what was taken back is gone once something else is changed"


def test_states_outlive_the_program(folder):
    one = Project(folder, "azimuth_belt.toml")
    first = one.state().text
    one.change(first + "# one\n")
    one.change(first + "# two\n")
    one.step(-1)
    again = Project(folder, "azimuth_belt.toml").state()
    assert again.text == first + "# one\n" and again.can_undo and again.can_redo


def test_what_a_person_writes_into_the_file_is_taken_up(project, folder, monkeypatch):
    monkeypatch.setattr(projects, "HELD_S", 0.0)
    before = project.state()
    (folder / "azimuth_belt.toml").write_text(before.text + "# by hand\n", "utf-8")
    after = project.state()
    assert after.text.endswith("# by hand\n") and after.revision > before.revision and after.can_undo
    project.step(-1)
    assert (folder / "azimuth_belt.toml").read_text("utf-8") == before.text


def test_a_save_that_is_half_written_is_no_state(project, folder, monkeypatch):
    monkeypatch.setattr(projects, "HELD_S", 0.05)
    first = project.state().text
    project.change(first + "# one\n")
    project.step(-1)
    path, half = folder / "azimuth_belt.toml", first[: len(first) // 2]
    path.write_text(half, "utf-8")
    assert project.state().text == first
    path.write_text(first + "# by hand\n", "utf-8")  # the editor goes on
    time.sleep(0.06)
    assert project.state().can_redo, "it has not been seen to stay as it is"
    time.sleep(0.06)
    assert project.state().text == first + "# by hand\n"
    project.step(-1)
    assert project.state().text == first, "what was half-written is not among the states"
    path.write_text(first + "# once more\n", "utf-8")
    project.edit(lambda text: text + "# at once\n")
    assert project.state().text == first + "# once more\n# at once\n"


def test_edits_at_once_lose_none_of_each_other(project):
    def slowly(number):
        def made(text):
            time.sleep(0.01)
            return text + f"# {number}\n"

        return made

    threads = [threading.Thread(target=project.edit, args=(slowly(number),)) for number in range(8)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert sorted(project.state().text.splitlines()[-8:]) == [f"# {number}" for number in range(8)]


def test_what_is_meant_for_another_design_or_revision_is_not_done(project, folder):
    seen, other = project.state(), (folder / "focus_steel.toml").read_bytes()
    project.change(seen.text + "# one\n")
    with pytest.raises(ChangedMeanwhile, match="changed meanwhile"):
        project.step(-1, seen.file, seen.revision)
    project.step(-1, seen.file, project.state().revision)
    project.open("focus_steel.toml")
    for change in (
        lambda: project.edit(lambda text: text + "# lost?\n", seen.file),
        lambda: project.step(1, seen.file),
    ):
        with pytest.raises(ChangedMeanwhile, match=r"opened meanwhile, focus_steel\.toml"):
            change()
    assert (folder / "focus_steel.toml").read_bytes() == other


def test_a_file_that_the_design_names_raises_the_revision(project, folder):
    before = project.state()
    assert project.state() == before
    path = folder / "workshop.toml"
    path.write_text(path.read_text("utf-8") + "# another\n", "utf-8")
    after = project.state()
    assert after.revision > before.revision and after.text == before.text and not after.can_undo
    assert project.state() == after


def test_revisions_rise_from_one_run_to_the_next(folder):
    before = Project(folder, "azimuth_belt.toml").state().revision
    time.sleep(0.005)
    assert before + 1 < Project(folder, "azimuth_belt.toml").state().revision < 2**53


def test_a_text_too_large_to_be_read_again_is_not_written(project, folder):
    long = "# " + "é" * 600_000  # fewer letters than bytes
    for change in (project.change, lambda text: project.add("brought.toml", text)):
        with pytest.raises(FileFault, match="too large"):
            change(long)
    assert not (folder / "brought.toml").exists() and project.state().text != long


@pytest.mark.parametrize("at", ["the folder", "the file"])
def test_states_that_lie_elsewhere_are_not_read(folder, at):
    path = folder / ".lobewright" / "azimuth_belt.toml.states.json"
    now = (folder / "azimuth_belt.toml").read_text("utf-8")
    elsewhere = folder.parent / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / path.name).write_text(json.dumps({"texts": ["not for the page", now], "at": 1}), "utf-8")
    if at == "the folder":
        path.parent.symlink_to(elsewhere)
    else:
        path.parent.mkdir()
        path.symlink_to(elsewhere / path.name)
    assert not Project(folder, "azimuth_belt.toml").state().can_undo


def test_states_have_a_bound(folder, monkeypatch):
    monkeypatch.setattr(projects, "KEPT_BYTES", 50_000)
    monkeypatch.setattr(projects, "LARGEST_STATES_BYTES", 150_000)
    project = Project(folder, "azimuth_belt.toml")
    for number in range(5):
        project.change(f"# {number} " + "x" * 20_000)
    project.step(-1)
    assert not project.state().can_undo, "only two find room"
    kept = folder / ".lobewright" / "azimuth_belt.toml.states.json"
    assert kept.stat().st_size < 50_000
    kept.write_text(kept.read_text("utf-8") + " " * 150_000, "utf-8")
    assert not Project(folder, "azimuth_belt.toml").state().can_redo


def test_broken_states_are_left_aside(project, folder):
    project.change(project.state().text + "# one\n")
    kept = folder / ".lobewright" / "azimuth_belt.toml.states.json"
    for broken in (
        "",
        "[]",
        '{"texts": 3, "at": 0}',
        '{"texts": ["a"], "at": 7}',
        '{"texts": ["a"], "at": "b"}',
        '{"texts": ["\\ud800"], "at": 0}',
    ):
        kept.write_text(broken, "utf-8")
        state = Project(folder, "azimuth_belt.toml").state()
        assert state.text.endswith("# one\n") and not state.can_undo


@pytest.mark.skipif(os.geteuid() == 0, reason="root writes everywhere")
def test_a_folder_that_cannot_be_written_loses_nothing(project, folder):
    folder.chmod(0o500)
    try:
        before = project.state()
        with pytest.raises(OutputFault):
            project.change(before.text + "# lost?\n")
        assert project.state() == before
    finally:
        folder.chmod(0o700)


def test_a_full_disk_changes_nothing(project, monkeypatch):
    def full(path, content):
        raise OutputFault("the file cannot be written: No space left on device", str(path))

    before = project.state()
    monkeypatch.setattr("lobewright.web.project.write_whole", full)
    with pytest.raises(OutputFault, match="No space"):
        project.change(before.text + "# lost?\n")
    assert project.state() == before


def test_killed_while_it_saves_fifty_times(folder):
    """Whatever was told as saved is there afterwards, whole."""
    path, told = folder / "azimuth_belt.toml", 0
    began = path.read_text("utf-8").rstrip("\n")
    for number in range(KILLS):
        with subprocess.Popen([sys.executable, "-c", SAVER, str(folder), str(told)], stdout=subprocess.PIPE) as saver:
            for _ in range(1 + number % 3):
                told = int(saver.stdout.readline())
            saver.send_signal(signal.SIGKILL)
            told = max([told, *(int(one) for one in saver.stdout.read().split() if one)])
        text = path.read_text("utf-8")
        head, mark, rest = text.partition("\n# saved ")
        assert head.rstrip("\n") == began and mark and rest.endswith("x\n")
        assert int(rest.split()[0]) >= told
        kept = json.loads((folder / ".lobewright" / "azimuth_belt.toml.states.json").read_text("utf-8"))
        assert kept["texts"]


@pytest.mark.parametrize("name", ["con.toml", "NUL.toml", "Com1.toml", "lpt9 .toml"])
def test_names_of_devices_are_no_designs(folder, name):
    """Elsewhere they open a device, also with an ending."""
    with pytest.raises(FileFault, match="no device's name"):
        design_path(folder, name)
    assert design_path(folder, f"my {name.replace(' ', '')}").parent == folder.resolve()


def test_what_is_kept_is_its_owners(folder, project):
    project.change(project.state().text + "# one\n")
    assert (folder / ".lobewright").stat().st_mode & 0o077 == 0
