"""Long work in the background: begun, told of, stopped, kept. Closing the page changes nothing of it."""

from __future__ import annotations

import contextlib
import json
import multiprocessing
import os
import re
import shutil
import signal
import threading
import time
from dataclasses import asdict, dataclass, field, replace
from enum import StrEnum
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from lobewright.design.writing import write_whole
from lobewright.errors import Fault, FileFault, OutputFault, PlatformFault
from lobewright.web.job_run import KINDS, PROCESS, RESULT, Order, job_main, out_folder
from lobewright.web.project import KEPT_FOLDER, State
from lobewright.whole_folder import tidy

NUMBER = re.compile(r"[0-9]{1,9}")
WRITERS = ("build", "make", "lesson")
"""Kinds that write a folder of results."""
KEPT_JOBS = 20
FIRST_TOLD, LAST_TOLD = 0.02, 0.9
"""Shares done between which it is told how long a job still takes: before and after, it would be a guess."""
GRACE_S = 3.0
"""Time that a job that is stopped gets to be gone, and what it had half written with it."""
OWNER = "owner"
"""File beside a job's own: the number of the program's process. Another program may have the same folder open."""
CUT_OFF = "it ended before its time: is there enough memory, and room on the disk?"


class Phase(StrEnum):
    """Where a job stands."""

    RUNNING = "running"
    DONE = "done"
    STOPPED = "stopped"
    FAULT = "fault"


@dataclass(frozen=True)
class Job:
    """One job. ``revision`` is that of the design it was begun with, 0 for jobs of an earlier run of the program.

    ``share`` is between 0 and 1; ``left_s`` is what it may still take by the time so far, None while nobody can tell.
    """

    number: int
    kind: str
    file: str
    revision: int
    phase: Phase
    word: str
    share: float
    seconds: float
    left_s: float | None


@dataclass(frozen=True)
class Running:
    """What the server holds of a job that runs; ``began_s`` by the clock that only goes forward, ``before`` tells the folder
    that stood in the place of what it writes."""

    process: BaseProcess
    pipe: Connection
    began_s: float
    before: int
    unwanted: threading.Event = field(default_factory=threading.Event)
    ended: threading.Event = field(default_factory=threading.Event)


class Jobs:
    """The jobs of a project folder. Methods may be called from any thread."""

    def __init__(self, folder: Path) -> None:
        self.project = folder
        self.folder = folder / KEPT_FOLDER / "jobs"
        self._lock = threading.RLock()
        self._processes: dict[int, Running] = {}
        self._jobs: dict[int, Job] = {job.number: job for job in self._kept()}

    def all(self) -> tuple[Job, ...]:
        """Every job, the newest first."""
        with self._lock:
            return tuple(self._now(self._jobs[number]) for number in sorted(self._jobs, reverse=True))

    def get(self, number: int) -> Job:
        """One job. Raises FileFault where there is none of this number."""
        with self._lock:
            if number not in self._jobs:
                raise FileFault([Fault("there is no such job", "job", 0, str(number))])
            return self._now(self._jobs[number])

    def begin(self, kind: str, state: State, wants: dict[str, Any] | None = None) -> Job:
        """Begin a job on what the open design says now; ``wants`` is what else was chosen for it.

        Raises FileFault for an unknown kind, or while one of it runs, OutputFault where its folder cannot be written.
        """
        if kind not in KINDS:
            raise FileFault([Fault("no such job", "kind", 0, kind, ", ".join(KINDS))])
        with self._lock:
            for one in self._jobs.values():
                if one.phase is Phase.RUNNING and one.kind == kind:
                    raise FileFault([Fault(f"a job of this kind is running: number {one.number}", "kind", 0, kind)])
            number = self._new_place()
            place = self._place(number)
            ours, theirs = multiprocessing.get_context("spawn").Pipe()
            order = Order(kind, state.text, state.file, self.project, wants or {})
            arguments = (order, str(place), theirs)
            process = multiprocessing.get_context("spawn").Process(target=job_main, args=arguments, daemon=False)
            before = _which(order.out)
            process.start()
            theirs.close()
            job = Job(number, kind, state.file, state.revision, Phase.RUNNING, "beginning", 0.0, 0.0, None)
            self._jobs[number] = job
            self._processes[number] = Running(process, ours, time.monotonic(), before)
            threading.Thread(target=self._listen, args=(number,), daemon=True).start()
            self._keep(job)
            self._forget_old()
            return job

    def stop(self, number: int) -> Job:
        """Stop a job that runs, with all its processes; others are left as they are, also one that is done just now."""
        with self._lock:
            job = self.get(number)
            if job.phase is not Phase.RUNNING:
                return job
            running = self._processes[number]
            running.unwanted.set()
        _end(running.process)
        if not running.ended.wait(GRACE_S):
            with self._lock:
                if self._jobs[number].phase is Phase.RUNNING:
                    self._set(number, phase=Phase.STOPPED, word="stopped")
        return self.get(number)

    def stop_all(self) -> None:
        """Stop whatever runs; for the end of the program."""
        for job in self.all():
            self.stop(job.number)

    def result(self, number: int) -> dict[str, Any]:
        """What a job that is done, or met a fault, has left. Raises FileFault before that."""
        self.get(number)
        found = self._left(number)
        if found is None:
            raise FileFault([Fault("this job has left no result", "job", 0, str(number))])
        return found

    def _left(self, number: int) -> dict[str, Any] | None:
        try:
            return json.loads((self._place(number) / RESULT).read_text("utf-8"))
        except (OSError, ValueError):
            return None

    def _listen(self, number: int) -> None:
        running = self._processes[number]
        with contextlib.suppress(EOFError, OSError):
            while True:
                word, share = running.pipe.recv()
                with self._lock:
                    if self._jobs[number].phase is Phase.RUNNING:
                        self._set(number, word=word, share=max(share, self._jobs[number].share))
        running.process.join()
        _end(running.process)  # one that was ended from outside may have left processes of its own
        running.pipe.close()
        with self._lock:
            job = self._jobs[number]
            self._tidy(job, running.process.pid)
            if job.phase is Phase.RUNNING:
                self._finish(job, running)
            del self._processes[number]
        running.ended.set()

    def _finish(self, job: Job, running: Running) -> None:
        """How a job ended whose process is gone."""
        left = self._left(job.number)
        if left is not None:
            good = left.get("ok") is True
            word, phase = ("done", Phase.DONE) if good else ("a fault", Phase.FAULT)
            self._set(job.number, phase=phase, word=word, share=1.0 if good else None)
        elif running.unwanted.is_set():
            written = _which(out_folder(job.kind, job.file, self.project)) not in (0, running.before)
            word = "its folder had just been written anew" if written else "stopped"
            self._set(job.number, phase=Phase.STOPPED, word=word)
        else:
            found = {"ok": False, **PlatformFault(CUT_OFF).as_json()}
            with contextlib.suppress(OutputFault):
                write_whole(self._place(job.number) / RESULT, json.dumps(found))
            self._set(job.number, phase=Phase.FAULT, word=CUT_OFF)

    def _tidy(self, job: Job, process: int | None) -> None:
        if job.kind in WRITERS and process is not None:
            with contextlib.suppress(OSError):
                tidy(out_folder(job.kind, job.file, self.project), process)

    def _set(self, number: int, **changes: Any) -> None:
        changes = {name: value for name, value in changes.items() if value is not None}
        job = self._now(self._jobs[number])
        self._jobs[number] = replace(job, **changes)
        if "phase" in changes:
            self._jobs[number] = replace(self._jobs[number], left_s=None)
            self._keep(self._jobs[number])

    def _now(self, job: Job) -> Job:
        """A running job with its time brought up to date."""
        if job.phase is not Phase.RUNNING or job.number not in self._processes:
            return job
        seconds = time.monotonic() - self._processes[job.number].began_s
        left = seconds * (1 - job.share) / job.share if FIRST_TOLD < job.share < LAST_TOLD else None
        return replace(job, seconds=seconds, left_s=left)

    def _place(self, number: int) -> Path:
        return self.folder / str(number)

    def _keep(self, job: Job) -> None:
        with contextlib.suppress(OutputFault):  # it is told all the same while the program runs
            write_whole(self._place(job.number) / "job.json", json.dumps(asdict(job)))

    def _new_place(self) -> int:
        """A number whose folder nobody has yet, and that folder. Raises OutputFault."""
        number = max(self._jobs, default=0) + 1
        try:
            if self.folder.parent.is_symlink() or self.folder.is_symlink():
                raise OutputFault("jobs are kept in a folder, and this is a link", str(self.folder))
            self.folder.parent.mkdir(mode=0o700, exist_ok=True)  # designs that only their owner may read are kept there
            self.folder.mkdir(exist_ok=True)
            while self._place(number).exists():
                number += 1
            self._place(number).mkdir()
            write_whole(self._place(number) / OWNER, str(os.getpid()))
        except OSError as error:
            raise OutputFault(f"no job can be begun here: {error.strerror}", str(self.folder)) from None
        return number

    def _kept(self) -> list[Job]:
        """Jobs of earlier runs; one that ran when its program ended is stopped now, and what it had half written goes."""
        found = []
        for place in self.folder.glob("*"):
            try:
                job = KEPT.validate_json((place / "job.json").read_bytes())
                if str(job.number) != place.name or not NUMBER.fullmatch(place.name):
                    continue
                if job.phase is Phase.RUNNING:
                    if _runs((place / OWNER).read_text("utf-8")):
                        continue
                    self._tidy(job, _number_in(place / PROCESS))
                    job = replace(job, phase=Phase.STOPPED, word="the program ended")
            except (OSError, ValueError):
                continue
            found.append(replace(job, revision=0, left_s=None))
        return found

    def _forget_old(self) -> None:
        old = [one for one in sorted(self._jobs, reverse=True) if self._jobs[one].phase is not Phase.RUNNING]
        for number in old[KEPT_JOBS:]:
            del self._jobs[number]
            shutil.rmtree(self._place(number), ignore_errors=True)


KEPT = TypeAdapter(Job)


def _which(folder: Path) -> int:
    """A number that tells a folder from the one that is swapped in for it; 0 where there is none."""
    try:
        return folder.stat().st_ino
    except OSError:
        return 0


def _number_in(file: Path) -> int | None:
    """The number that a file holds; None where it holds none."""
    try:
        text = file.read_text("utf-8")
    except (OSError, ValueError):
        return None
    return int(text) if NUMBER.fullmatch(text) else None


def _runs(number: str) -> bool:
    """Whether the process of this number runs here and is another than this one."""
    if not NUMBER.fullmatch(number) or int(number) == os.getpid() or os.name != "posix":
        return False
    try:
        os.kill(int(number), 0)
    except PermissionError:
        return True
    except OSError:
        return False
    return True


def _end(process: BaseProcess) -> None:
    """End a job's process and all that it has started, at once: what it leaves half-written is tidied afterwards."""
    if process.pid is None:
        return
    with contextlib.suppress(OSError):
        if hasattr(os, "killpg"):
            os.killpg(process.pid, signal.SIGKILL)
            return
    with contextlib.suppress(OSError, ValueError):
        process.kill()  # it has no group of its own yet, or the system has no groups
