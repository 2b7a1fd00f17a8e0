"""Processes that compute looks, so that the server answers while they do."""

from __future__ import annotations

import asyncio
import importlib
import multiprocessing
import os
import signal
import threading
import time
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


LIMIT_S = {Lane.QUICK: 30.0, Lane.PUSH: 120.0, Lane.SLOW: 120.0}
"""Time that a process may take for one call; then it is ended, for others wait behind it."""
FIRST_S = 240.0
"""The same until a lane has answered once: what it computes with may have to be compiled, once after it was installed."""

BEHIND = 10
"""Steps of priority by which the other lanes stand back, so that on few cores the quick one and the browser come first."""


def _watch() -> None:
    """Ends the process when the server goes away: waiting for its next call, a process of a pool never notices."""
    server = multiprocessing.parent_process()
    if server is not None:
        server.join()
        os._exit(1)


def _begin(lane: Lane) -> None:
    """A process of the pool leaves the stop key to the server, and loads what it computes with."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if lane is not Lane.QUICK and os.name == "posix":
        os.nice(BEHIND)
    threading.Thread(target=_watch, daemon=True).start()
    importlib.import_module("lobewright.web.push" if lane is Lane.PUSH else "lobewright.web.look")


class Computer:
    """A process for each lane, started anew should it die or never answer."""

    def __init__(self) -> None:
        self._pools: dict[Lane, ProcessPoolExecutor] = {}
        self._heard: dict[Lane, float] = {}
        """When each lane last answered or was started anew, by the clock that only goes forward."""
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

        Raises PlatformFault where that one died too, where it takes too long, or where the program is ending.
        """
        for again in (True, False):
            if self._ended:
                break
            pool = self._pool(lane)
            try:
                return await self._answer(lane, pool, call, *arguments)
            except BrokenProcessPool:
                if self._pools.get(lane) is pool:
                    del self._pools[lane]
                if not again:
                    break
        what = (
            "the program is ending" if self._ended else "a process that computed this has ended before its time, twice"
        )
        raise PlatformFault([Fault(what, allowed="" if self._ended else "enough memory, about 300 MB a process")])

    async def _answer(self, lane: Lane, pool: ProcessPoolExecutor, call: Callable[..., Any], *arguments: Any) -> Any:
        """What a call gives. Its time counts from the answer before, for it may have to wait for that."""
        asked = time.monotonic()
        found = asyncio.get_running_loop().run_in_executor(pool, call, *arguments)
        limit = LIMIT_S[lane] if lane in self._heard else FIRST_S
        while (left := max(asked, self._heard.get(lane, asked)) + limit - time.monotonic()) > 0:
            done, _ = await asyncio.wait({found}, timeout=left)  # unlike others, this does not cancel it
            if done:
                self._heard[lane] = time.monotonic()
                return found.result()
        found.add_done_callback(lambda late: late.cancelled() or late.exception())  # nobody waits for it any more
        if self._pools.get(lane) is pool:
            del self._pools[lane]
            self._heard[lane] = time.monotonic()
            _end(pool, by_force=True)
        raise PlatformFault([Fault("this was not answered in time and was ended", "", 0, f"{limit:g} s and no answer")])

    def end(self) -> None:
        """End the processes, whatever they are at, and begin no others."""
        self._ended = True
        for pool in self._pools.values():
            _end(pool)
        self._pools.clear()


def _end(pool: ProcessPoolExecutor, by_force: bool = False) -> None:
    # no call is cancelled first: a pool whose processes end stumbles over cancelled calls and never ends itself
    for process in list((pool._processes or {}).values()):
        if by_force:
            process.kill()
        else:
            process.terminate()
    pool.shutdown(wait=False)
