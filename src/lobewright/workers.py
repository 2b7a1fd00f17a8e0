"""A pool of processes for runs that do not depend on each other."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from typing import Any


@contextlib.contextmanager
def all_cores() -> Iterator[Callable[..., Any]]:
    """A ``map`` over as many processes as this process may use cores; plain ``map`` on a single one.

    Processes are started afresh, so the calling program must be importable without running (the command is).
    """
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    if cores < 2:
        yield map
        return
    with ProcessPoolExecutor(cores, mp_context=multiprocessing.get_context("spawn")) as pool:
        try:
            yield pool.map
        except BaseException:
            # a key pressed or a fault: what has not begun shall not begin
            pool.shutdown(wait=False, cancel_futures=True)
            raise
