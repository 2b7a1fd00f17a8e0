"""What is open, and that nothing of it is lost."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys

import pytest

from lobewright.errors import FileFault, OutputFault
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


def test_what_a_person_writes_into_the_file_is_taken_up(project, folder):
    before = project.state()
    (folder / "azimuth_belt.toml").write_text(before.text + "# by hand\n", "utf-8")
    after = project.state()
    assert after.text.endswith("# by hand\n") and after.revision > before.revision and after.can_undo
    project.step(-1)
    assert (folder / "azimuth_belt.toml").read_text("utf-8") == before.text


def test_broken_states_are_left_aside(project, folder):
    project.change(project.state().text + "# one\n")
    kept = folder / ".lobewright" / "azimuth_belt.toml.states.json"
    for broken in ("", "[]", '{"texts": 3, "at": 0}', '{"texts": ["a"], "at": 7}', '{"texts": ["a"], "at": "b"}'):
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
