"""A pool of processes for runs that do not depend on each other."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any

from lobewright.errors import Fault, PlatformFault


@contextlib.contextmanager
def all_cores() -> Iterator[Callable[..., Any]]:
    """A ``map`` over as many processes as this process may use cores; plain ``map`` on a single one.

    Runs begin when they are mapped and come back in order. Processes are started afresh, so the calling program must be
    importable without running (the command is). Leaving early, by a key pressed or a fault, ends runs that are under way.
    A process that dies is a PlatformFault.
    """
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    if cores < 2:
        yield map
        return
    pool = _started(cores)

    def mapper(run: Callable[[Any], Any], over: Iterable[Any]) -> Iterator[Any]:
        return _told([pool.submit(run, one) for one in over])

    try:
        yield mapper
    except BaseException:
        # nothing is cancelled first: a pool whose processes end stumbles over cancelled runs and then never ends itself
        for process in multiprocessing.active_children():
            process.terminate()
        pool.shutdown(wait=False)
        raise
    pool.shutdown()


def _started(cores: int) -> ProcessPoolExecutor:
    """A pool whose processes have been started deaf to the key that stops the command: the first process answers for all."""
    pool = ProcessPoolExecutor(cores, mp_context=multiprocessing.get_context("spawn"))
    main = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, signal.SIG_IGN) if main else None
    try:
        for _ in range(cores):
            pool.submit(os.getpid)
    finally:
        if main:
            signal.signal(signal.SIGINT, before)
    return pool


def _told(runs: list[Future[Any]]) -> Iterator[Any]:
    try:
        for one in runs:
            yield one.result()
    except BrokenProcessPool:
        what = "a process that computed for this one has ended before its time"
        raise PlatformFault([Fault(what, allowed="enough memory, about 300 MB a core")]) from None
