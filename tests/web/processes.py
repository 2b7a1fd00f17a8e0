"""Which processes still run."""

from __future__ import annotations

import time

import psutil


def family(pid: int) -> list[psutil.Process]:
    """All that a process has started, and what those have."""
    return psutil.Process(pid).children(recursive=True)


def left(processes: list[psutil.Process], seconds: float) -> list[psutil.Process]:
    """Which of the processes still run after so long; not those that have ended and wait to be counted, nor the helper of
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
