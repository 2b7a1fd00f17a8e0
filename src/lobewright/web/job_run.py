"""What a job does, in a process of its own; it tells its progress through a pipe and leaves its result as a file.

A job stands for one command of the same name. It ends with the server that began it: a thread looks whether the other end of
the pipe is still there, and ends the job with all its processes where it is not. What it had half written then is taken away
by the server: at once where it stopped the job, else when it is next started.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from lobewright.design.model import Design
from lobewright.errors import Fault, LobewrightError, PlatformFault

Data = dict[str, Any]
Progress = Callable[[str, float], None]
RESULT = "result.json"
PROCESS = "process"
"""File beside a job's result: the number of the process that does it."""


@dataclass(frozen=True)
class Order:
    """What a job is to do: its kind, the design as it stood then, the project's folder. ``wants``: what else was chosen."""

    kind: str
    text: str
    file: str
    folder: Path
    wants: Data = field(default_factory=dict)

    @property
    def design(self) -> Design:
        """The design. Raises DesignFault or FileFault."""
        from lobewright.web.look import design_of

        return design_of(self.text, self.file, self.folder)

    @property
    def out(self) -> Path:
        """Where a job writes that writes a folder."""
        return out_folder(self.kind, self.file, self.folder)


def out_folder(kind: str, file: str, folder: Path) -> Path:
    """Where ``build``, ``make`` and ``lesson`` write: a folder of the project, named by design and command."""
    return folder / f"{Path(file).stem}_{kind}"


def _load(order: Order, progress: Progress, mapper: Any) -> Data:
    from lobewright.asking import ask_load
    from lobewright.load_words import load_json

    return load_json(*ask_load(order.design, progress, mapper))


def _life(order: Order, progress: Progress, mapper: Any) -> Data:
    from lobewright.asking import ask_life
    from lobewright.life_words import life_json

    return life_json(*ask_life(order.design, progress, mapper))


def _build(order: Order, progress: Progress, mapper: Any) -> Data:
    from lobewright.build_folder import build

    build(order.design, order.out, progress, mapper)
    return {"folder": order.out.name}


def _make(order: Order, progress: Progress, mapper: Any) -> Data:
    from lobewright.make_folder import make
    from lobewright.make_words import make_text

    found, made = make(order.design, order.out, progress, mapper)
    return {"folder": order.out.name, "text": make_text(found, made, order.out)}


def _lesson(order: Order, progress: Progress, mapper: Any) -> Data:
    from lobewright.lesson_folder import write_lesson
    from lobewright.web.lessons import lesson_of

    lesson = lesson_of(order.wants, order.folder, order.file)
    made = write_lesson(order.design, lesson, order.out, progress, mapper)
    return {"folder": order.out.name, "not_shown": [list(one) for one in made.not_shown]}


KINDS: dict[str, Callable[[Order, Progress, Any], Data]] = {
    "load": _load,
    "life": _life,
    "build": _build,
    "make": _make,
    "lesson": _lesson,
}


def end_group() -> None:
    """End this process and all that it has started."""
    with contextlib.suppress(OSError):
        if hasattr(os, "killpg"):
            os.killpg(os.getpgid(0), signal.SIGKILL)
    os._exit(1)


def _watch(pipe: Connection) -> None:
    """Ends the job when the server goes away: nothing is ever sent to it, so reading ends only then."""
    with contextlib.suppress(EOFError, OSError):
        pipe.recv_bytes()
    end_group()


def found_by(work: Callable[[], Data], text: str, file: str, lesson: str = "") -> str:
    """What work on a design finds, or its faults, as JSON; also those that are the program's own. Faults of a ``lesson`` file
    keep its name and lines, all others are the design's."""
    from lobewright.design.files import locate_in

    try:
        return json.dumps({"ok": True, **work()}, allow_nan=False)
    except LobewrightError as error:
        if not lesson or error.file != lesson:
            locate_in(error, text, file)
        fault = error
    except MemoryError:
        fault = PlatformFault("there was not enough memory")
    except Exception as error:
        traceback.print_exc()  # for whoever mends the program
        words = f"{type(error).__name__}: {error}"
        fault = PlatformFault([Fault("the program itself has failed at this; the design is kept", value=words)])
    return json.dumps({"ok": False, **fault.as_json()})


def job_main(order: Order, place: str, pipe: Connection) -> None:
    """Run a job to its end; its result, or its faults, stand in a file of the folder ``place`` afterwards."""
    if hasattr(os, "setsid"):
        os.setsid()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_watch, args=(pipe,), daemon=True).start()
    from lobewright.design.writing import write_whole
    from lobewright.workers import all_cores

    def progress(word: str, share: float) -> None:
        pipe.send((word, float(share)))

    def work() -> Data:
        with all_cores() as mapper:
            return KINDS[order.kind](order, progress, mapper)

    with contextlib.suppress(LobewrightError):  # only what it leaves behind when it is killed is not found then
        write_whole(Path(place) / PROCESS, str(os.getpid()))
    write_whole(Path(place) / RESULT, found_by(work, order.text, order.file, order.wants.get("file", "")))
    sys.stdout.flush()
    os._exit(0)
