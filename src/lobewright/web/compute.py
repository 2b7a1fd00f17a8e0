"""Processes that compute looks, so that the server answers while they do."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from enum import StrEnum
from typing import Any

from lobewright.errors import Fault, PlatformFault


class Lane(StrEnum):
    """Which process a call goes to: looks must be quick, a look under torque takes longer and keeps the drive that it has wound
    up, and what is slow may take seconds."""

    QUICK = "quick"
    PUSH = "push"
    SLOW = "slow"


def _watch() -> None:
    """Ends the process when the server goes away: waiting for its next call, a process of a pool never notices."""
    server = multiprocessing.parent_process()
    if server is not None:
        server.join()
        os._exit(1)


def _begin(lane: Lane) -> None:
    """A process of the pool leaves the stop key to the server, and loads what it computes with."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_watch, daemon=True).start()
    if lane is Lane.PUSH:
        from lobewright.web import push

        assert push.push
    else:
        from lobewright.web import look

        assert look.look


class Computer:
    """A process for each lane, started anew should it die."""

    def __init__(self) -> None:
        self._pools: dict[Lane, ProcessPoolExecutor] = {}
        self._ended = False

    def begin(self) -> None:
        """Start the processes, without waiting for them."""
        for lane in Lane:
            self._pool(lane).submit(os.getpid)

    def _pool(self, lane: Lane) -> ProcessPoolExecutor:
        if lane not in self._pools:
            context = multiprocessing.get_context("spawn")
            self._pools[lane] = ProcessPoolExecutor(1, mp_context=context, initializer=_begin, initargs=(lane,))
        return self._pools[lane]

    async def run(self, call: Callable[..., Any], *arguments: Any, lane: Lane = Lane.QUICK) -> Any:
        """A call in one of the processes; asked once more in a new process where the first one died.

        Raises PlatformFault where that one died too, or where the program is ending.
        """
        for again in (True, False):
            if self._ended:
                break
            pool = self._pool(lane)
            try:
                return await asyncio.get_running_loop().run_in_executor(pool, call, *arguments)
            except BrokenProcessPool:
                if self._pools.get(lane) is pool:
                    del self._pools[lane]
                if not again:
                    break
        what = (
            "the program is ending" if self._ended else "a process that computed this has ended before its time, twice"
        )
        raise PlatformFault([Fault(what, allowed="" if self._ended else "enough memory, about 300 MB a process")])

    def end(self) -> None:
        """End the processes, whatever they are at, and begin no others."""
        self._ended = True
        for pool in self._pools.values():
            # no call is cancelled first: a pool whose processes end stumbles over cancelled calls and never ends itself
            for process in list((pool._processes or {}).values()):
                process.terminate()
            pool.shutdown(wait=False)
        self._pools.clear()
