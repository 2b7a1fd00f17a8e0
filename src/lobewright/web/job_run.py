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
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from lobewright.errors import LobewrightError

Data = dict[str, Any]
Progress = Callable[[str, float], None]


def _load(text: str, file: str, folder: Path, progress: Progress, mapper: Any) -> Data:
    from lobewright.assessment.load import judged, load
    from lobewright.assessment.run import assess
    from lobewright.load_advice import load_suggestions
    from lobewright.load_words import load_json
    from lobewright.web.look import design_of

    found = assess(design_of(text, file, folder), progress)
    loads = load(found, progress, mapper)
    found = judged(found, loads)
    return load_json(found, loads, load_suggestions(found, loads, progress))


def _life(text: str, file: str, folder: Path, progress: Progress, mapper: Any) -> Data:
    from lobewright.assessment.life import check_materials, life
    from lobewright.assessment.load import judged, load
    from lobewright.assessment.loaded_states import states_of
    from lobewright.assessment.run import assess
    from lobewright.life_advice import life_suggestions, what_ifs
    from lobewright.life_words import life_json
    from lobewright.web.look import design_of

    found = assess(design_of(text, file, folder), progress)
    check_materials(found.design)
    loads = load(found, progress, mapper)
    lasting = life(found, states_of(loads))
    tried = what_ifs(found, loads, lasting, progress, mapper)
    found = judged(found, loads, lasting.verdicts)
    return life_json(found, lasting, tried, life_suggestions(lasting, tried))


def out_folder(kind: str, file: str, folder: Path) -> Path:
    """Where ``build`` and ``make`` write: a folder of the project, named by design and command."""
    return folder / f"{Path(file).stem}_{kind}"


def _build(text: str, file: str, folder: Path, progress: Progress, mapper: Any) -> Data:
    from lobewright.build_folder import build
    from lobewright.web.look import design_of

    out = out_folder("build", file, folder)
    build(design_of(text, file, folder), out, progress, mapper)
    return {"folder": out.name}


def _make(text: str, file: str, folder: Path, progress: Progress, mapper: Any) -> Data:
    from lobewright.make_folder import make
    from lobewright.make_words import make_text
    from lobewright.web.look import design_of

    out = out_folder("make", file, folder)
    found, made = make(design_of(text, file, folder), out, progress, mapper)
    return {"folder": out.name, "text": make_text(found, made, out)}


KINDS: dict[str, Callable[[str, str, Path, Progress, Any], Data]] = {
    "load": _load,
    "life": _life,
    "build": _build,
    "make": _make,
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


def job_main(kind: str, text: str, file: str, folder: str, result: str, pipe: Connection) -> None:
    """Run a job to its end; its result, or its faults, stand in the file ``result`` afterwards."""
    if hasattr(os, "setsid"):
        os.setsid()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_watch, args=(pipe,), daemon=True).start()
    from lobewright.design.files import locate_in
    from lobewright.design.writing import write_whole
    from lobewright.workers import all_cores

    def progress(word: str, share: float) -> None:
        pipe.send((word, float(share)))

    try:
        with all_cores() as mapper:
            found = {"ok": True, **KINDS[kind](text, file, Path(folder), progress, mapper)}
    except LobewrightError as error:
        locate_in(error, text, file)
        found = {"ok": False, **error.as_json()}
    write_whole(Path(result), json.dumps(found, allow_nan=False))
    sys.stdout.flush()
    os._exit(0)
