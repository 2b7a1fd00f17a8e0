"""Which processes still run, and waiting for what comes."""

from __future__ import annotations

import time
from collections.abc import Callable

import psutil

WAIT_S = 120.0
"""What does not come in this time never comes, however slow the computer; for nothing to which a promise gives less time."""


def until(true: Callable[[], object], seconds: float = WAIT_S) -> object:
    """What is true, as soon as it is."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := true():
            return found
        time.sleep(0.02)
    raise AssertionError(f"not so in {seconds:g} s")


def family(pid: int) -> list[psutil.Process]:
    """All that a process has started, and what those have."""
    return psutil.Process(pid).children(recursive=True)


def left(processes: list[psutil.Process], seconds: float = WAIT_S) -> list[psutil.Process]:
    """Which of the processes still run after so long at most; not those that have ended and wait to be counted, nor the helper of
    ``multiprocessing`` that ends with its program."""
    end = time.monotonic() + seconds
    while True:
        now = [one for one in processes if _runs(one)]
        if not now or time.monotonic() > end:
            return now
        time.sleep(0.02)


def _runs(process: psutil.Process) -> bool:
    try:
        return process.status() != psutil.STATUS_ZOMBIE and not any(
            "resource_tracker" in one for one in process.cmdline()
        )
    except psutil.NoSuchProcess:
        return False
