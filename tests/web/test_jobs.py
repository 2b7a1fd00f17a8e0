"""Long work: begun, told of, stopped, kept, and what it leaves when something ends before its time."""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import psutil
import pytest
from processes import WAIT_S, family, left, until

from lobewright.asking import LOADED
from lobewright.cli import main
from lobewright.errors import FileFault, OutputFault
from lobewright.web import jobs as jobs_module
from lobewright.web.app import LessonWanted
from lobewright.web.job_run import KINDS, PROCESS, Order, found_by
from lobewright.web.jobs import FIRST_TOLD, LAST_TOLD, Job, Jobs, Phase
from lobewright.web.look import assessment_json
from lobewright.web.project import Project
from lobewright.whole_folder import replacing, tidy

LESSON = LessonWanted(scenes=["racks"], films=["1080p60"]).model_dump()


@pytest.fixture
def jobs(folder):
    kept = Jobs(folder)
    yield kept
    kept.stop_all()


def working(jobs: Jobs) -> list[psutil.Process]:
    """The process of the first job, and those that it has started, once there are some; on a single core it starts none."""
    head = psutil.Process(int((jobs._place(1) / PROCESS).read_text("utf-8")))
    alone = hasattr(os, "sched_getaffinity") and len(os.sched_getaffinity(0)) < 2
    return until(lambda: [head, *started] if (started := family(head.pid)) or alone else None)


def earlier_build(out: Path) -> bytes:
    """A folder of results as an earlier run left it."""
    text = json.dumps({"schema": "none"}).encode()
    out.mkdir()
    (out / "kept.txt").write_bytes(text)
    return text


def hidden(folder: Path) -> list[str]:
    return [one.name for one in folder.iterdir() if one.name.startswith(".") and one.name != ".lobewright"]


def test_no_time_left_is_told_while_it_would_be_a_guess(jobs, project):
    jobs.begin("load", project.state())
    for share, known in ((0.01, False), (0.5, True), (0.95, False)):
        with jobs._lock:
            now = jobs._now(replace(jobs._jobs[1], share=share, phase=Phase.RUNNING))
        assert (now.left_s is not None) is known
    jobs.stop(1)


def test_progress_rises_time_left_is_told_and_stopping_ends_every_process(jobs, project, monkeypatch):
    told: list[Job] = []
    take = jobs._set

    def noted(number, **changes):
        take(number, **changes)
        told.append(jobs.get(number))

    monkeypatch.setattr(jobs, "_set", noted)
    begun = jobs.begin("load", project.state())
    assert begun.phase is Phase.RUNNING and begun.left_s is None
    with pytest.raises(FileFault, match="a job of this kind is running: number 1"):
        jobs.begin("load", project.state())
    until(lambda: told and told[-1].share > FIRST_TOLD)
    seen = tuple(told)
    assert len({one.share for one in seen}) > 3
    for before, after in pairwise(seen):
        assert before.seconds < after.seconds and before.share <= after.share
    for one in seen:
        assert one.word and (one.left_s is not None and one.left_s > 0) is (FIRST_TOLD < one.share < LAST_TOLD)
    processes = working(jobs)
    asked = time.monotonic()
    assert jobs.stop(1).phase is Phase.STOPPED
    assert not left(processes, asked + 4 - time.monotonic())
    assert time.monotonic() - asked < 4
    assert jobs.stop(1).word == "stopped", "once more changes nothing"
    with pytest.raises(FileFault, match="no result"):
        jobs.result(1)
    assert Jobs(jobs.project).get(1).phase is Phase.STOPPED


def test_a_load_job_tells_what_the_command_prints(folder, monkeypatch, capsys):
    """Both solve, judge and advise on the same drive and hand the same to the one function that makes data of it."""
    solved = []

    def load(found, progress, mapper):
        solved.append(found)
        progress("solved", 1.0)
        return f"{len(found.verdicts)} checks"

    monkeypatch.setattr("lobewright.assessment.load.load", load)
    monkeypatch.setattr("lobewright.assessment.load.judged", lambda found, loads: found)
    monkeypatch.setattr("lobewright.load_advice.load_suggestions", lambda found, loads, progress: ["advice on", loads])
    monkeypatch.setattr("lobewright.load_words.load_json",
                        lambda found, loads, advice: {**assessment_json(found), "loads": loads, "advice": advice})  # fmt: skip
    assert main(["load", str(folder / "azimuth_belt.toml"), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    told: list[float] = []
    text = (folder / "azimuth_belt.toml").read_text("utf-8")
    found = KINDS["load"](Order("load", text, "azimuth_belt.toml", folder), lambda word, share: told.append(share), map)
    assert json.loads(json.dumps(found)) == printed and printed["advice"] == ["advice on", printed["loads"]]
    assert told[-1] == LOADED, "what is tried afterwards, which tells of itself, is left out here"
    assert len(solved) == 2 and solved[0].design == solved[1].design


@pytest.mark.parametrize(("kind", "wants"), [("make", {}), ("lesson", LESSON)])
def test_what_writes_a_folder_leaves_no_half_of_it_when_it_is_stopped(jobs, project, folder, kind, wants):
    jobs.begin(kind, project.state(), wants)
    until(lambda: any(one.startswith(f".azimuth_belt_{kind}.new.") for one in hidden(folder)))
    another = folder / f".azimuth_belt_{kind}.new.99999999.abc"  # the command at the same, in another window
    another.mkdir()
    jobs.stop(1)
    until(lambda: hidden(folder) == [another.name])
    assert not (folder / f"azimuth_belt_{kind}").exists()


class Invented:
    """Stands in for a job's process: it leaves in its folder what the test tells, and ends when it is killed."""

    leaves: Callable[[Path], None] = staticmethod(lambda place: None)
    lasts_s = 0.0

    def __init__(self, target: object, args: tuple, daemon: bool) -> None:
        self.place, self.pid = Path(args[1]), None
        self.gone = threading.Event()

    def start(self) -> None:
        self.leaves(self.place)

    def join(self) -> None:
        self.gone.wait(self.lasts_s)

    def kill(self) -> None:
        self.gone.set()


@pytest.fixture
def invented(monkeypatch):
    """Jobs whose processes are not started; pipes are there, and closed at once."""
    kind = type("Invented", (Invented,), {})
    context = SimpleNamespace(Process=kind, Pipe=multiprocessing.Pipe)
    monkeypatch.setattr("lobewright.web.jobs.multiprocessing.get_context", lambda name: context)
    monkeypatch.setattr("lobewright.web.jobs._end", lambda process: process.kill())
    monkeypatch.setattr("lobewright.web.jobs.GRACE_S", WAIT_S)
    return kind


def ended(jobs: Jobs) -> Job:
    return until(lambda: job if (job := jobs.get(1)).phase is not Phase.RUNNING else None)


def test_a_job_is_followed_to_its_end_also_where_nothing_can_be_kept(jobs, project, invented, monkeypatch):
    """The disk may be full by now; the job runs all the same, and it must be told and be stopped."""
    write = jobs_module.write_whole

    def full(path: Path, text: str) -> None:
        if path.name == "job.json":
            raise OutputFault("no space left", str(path))
        write(path, text)

    monkeypatch.setattr(jobs_module, "write_whole", full)
    invented.leaves = staticmethod(lambda place: (place / "result.json").write_text('{"ok": true}', "utf-8"))
    jobs.begin("load", project.state())
    assert ended(jobs).phase is Phase.DONE
    assert jobs.folder.parent.stat().st_mode & 0o077 == 0, "designs are kept there too"


def test_a_job_that_is_done_as_it_is_stopped_is_done(jobs, project, invented):
    invented.lasts_s = WAIT_S / 2
    jobs.begin("make", project.state())
    (jobs._place(1) / "result.json").write_text('{"ok": true}', "utf-8")
    assert jobs.stop(1).phase is Phase.DONE and jobs.result(1) == {"ok": True}


@pytest.mark.parametrize("kind", ["make", "load"])
def test_a_folder_that_was_swapped_in_as_its_job_is_stopped_is_told(jobs, project, folder, invented, kind):
    invented.lasts_s = WAIT_S / 2
    jobs.begin(kind, project.state())
    (folder / "azimuth_belt_make").mkdir()
    job = jobs.stop(1)
    assert job.phase is Phase.STOPPED and ("written anew" in job.word) is (kind == "make")


@pytest.mark.parametrize(
    ("error", "told"),
    [(KeyError("tooth"), "KeyError: 'tooth'"), (MemoryError(), "not enough memory"), (OutputFault("disk full"), "disk full")],
)  # fmt: skip
def test_whatever_goes_wrong_in_a_job_is_named(error, told):
    def work():
        raise error

    found = json.loads(found_by(work, "", "drive.toml"))
    assert found["ok"] is False and told in found["faults"][0]["sentence"]
    assert json.loads(found_by(lambda: {"number": float("nan")}, "", "drive.toml"))["ok"] is False


@pytest.mark.parametrize("text", ["teeth = = 3\n", "schema_version = 1\nteeth = 3\n"])
@pytest.mark.parametrize("kind", ["load", "make"])
def test_a_job_on_no_design_gives_its_faults(jobs, folder, text, kind):
    (folder / "draft.toml").write_text(text, "utf-8")
    jobs.begin(kind, Project(folder, "draft.toml").state())
    job = ended(jobs)
    assert job.phase is Phase.FAULT and job.word == "a fault" and job.left_s is None
    found = jobs.result(1)
    assert found["ok"] is False and found["faults"][0]["sentence"].startswith("draft.toml")


def test_a_job_that_is_killed_is_told_and_leaves_no_process(jobs, project):
    jobs.begin("load", project.state())
    until(lambda: jobs.get(1).share > 0)
    processes = working(jobs)
    processes[0].send_signal(signal.SIGKILL)
    job = ended(jobs)
    assert job.phase is Phase.FAULT and "memory" in job.word
    assert "memory" in jobs.result(1)["faults"][0]["sentence"]
    assert not left(processes)


def test_a_job_whose_program_was_killed_is_shown_as_stopped(folder):
    words = f"""
import time
from pathlib import Path
from lobewright.web.look import assessment_json
from lobewright.web.jobs import Jobs
from lobewright.web.project import Project
if __name__ == "__main__":
    folder = Path({str(folder)!r})
    Jobs(folder).begin("make", Project(folder, "azimuth_belt.toml").state())
    print("begun", flush=True)
    time.sleep(100)
"""
    script = folder.parent / "program.py"
    script.write_text(words, "utf-8")
    with subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE) as program:
        try:
            assert program.stdout.readline() == b"begun\n"
            until(lambda: hidden(folder))
            assert not Jobs(folder).all(), "a job of another program that runs is not ours to tell of, or to tidy"
            assert hidden(folder)
            processes = family(program.pid)
        finally:
            program.kill()
    assert len(processes) >= 2
    assert not left(processes, 3)
    kept = Jobs(folder).get(1)
    assert kept.phase is Phase.STOPPED and kept.word == "the program ended" and kept.revision == 0
    assert not hidden(folder) and not (folder / "azimuth_belt_make").exists()


def test_what_a_killed_process_left_is_put_right(tmp_path):
    out = tmp_path / "drive_make"
    text = earlier_build(out)
    aside = tmp_path / ".drive_make.old.123.abc"
    aside.mkdir()
    out.rename(aside / "earlier")  # it was killed between the two moves
    (tmp_path / ".drive_make.new.123.abc" / "build").mkdir(parents=True)
    others = [".drive_make.new.1234.abc", ".drive_make.new.12.abc", ".drive_make.old.4.abc", ".other_make.new.123.abc"]
    for name in others:
        (tmp_path / name).mkdir()
    os.symlink(tmp_path / ".other_make.new.123.abc", tmp_path / ".drive_make.new.123.link")
    tidy(out, 12345)
    assert aside.exists(), "of another process"
    tidy(out, 123)
    assert (out / "kept.txt").read_bytes() == text
    assert {one.name for one in tmp_path.iterdir()} == {*others, ".drive_make.new.123.link", "drive_make"}


def test_what_is_being_written_names_its_process(tmp_path):
    out = tmp_path / "drive_make"
    with replacing(out) as fresh:
        assert fresh.parent.name.startswith(f".drive_make.new.{os.getpid()}.")
        tidy(out, os.getpid() + 1)
        assert fresh.is_dir()


def test_kept_jobs_that_are_none_are_left_aside(folder):
    place = folder / ".lobewright" / "jobs"
    whole = {"number": 1, "kind": "load", "file": "a.toml", "revision": 1, "phase": "done", "word": "done", "share": 1.0,
             "seconds": 1.0, "left_s": None}  # fmt: skip
    for name, data in (("1", whole), ("2", whole), ("x", whole), ("3", {**whole, "number": 3, "phase": "odd"}),
                       ("4", {**whole, "number": "4a"}), ("5", []), ("6", {**whole, "number": 6, "share": "much"})):  # fmt: skip
        (place / name).mkdir(parents=True)
        (place / name / "job.json").write_text(json.dumps(data), "utf-8")
    (place / "7").mkdir()
    (place / "7" / "job.json").write_bytes(b"\xff")
    assert [job.number for job in Jobs(folder).all()] == [1]


def test_jobs_are_not_kept_elsewhere(folder, project):
    elsewhere = folder.parent / "elsewhere"
    elsewhere.mkdir()
    os.symlink(elsewhere, folder / ".lobewright")
    with pytest.raises(OutputFault, match="this is a link"):
        Jobs(folder).begin("load", project.state())
    project.change(project.state().text + "# one\n")
    assert not list(elsewhere.iterdir())


def test_a_look_whose_process_was_killed_is_asked_again(client):
    assert client.post("/api/look", json={"edits": [], "coarse": True}).json()["ok"]
    computing = client.app.state.service.computer
    for pool in computing._pools.values():
        for process in pool._processes.values():
            process.kill()
    assert client.post("/api/look", json={"edits": [], "coarse": True}).json()["ok"]
