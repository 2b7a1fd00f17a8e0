"""Processes that compute looks, so that the server answers while they do."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import signal
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Any


def _begin() -> None:
    """A process of the pool leaves the stop key to the server, and loads what it computes with."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from lobewright.web import look

    assert look.look


class Computer:
    """One process for what must be quick, one for what may take seconds. Each is started anew should it die."""

    def __init__(self) -> None:
        self._pools: dict[bool, ProcessPoolExecutor] = {}

    def begin(self) -> None:
        """Start both processes, without waiting for them."""
        for slow in (False, True):
            self._pool(slow).submit(os.getpid)

    def _pool(self, slow: bool) -> ProcessPoolExecutor:
        if slow not in self._pools:
            context = multiprocessing.get_context("spawn")
            self._pools[slow] = ProcessPoolExecutor(1, mp_context=context, initializer=_begin)
        return self._pools[slow]

    async def run(self, call: Callable[..., Any], *arguments: Any, slow: bool = False) -> Any:
        """A call in one of the processes; asked once more in a new process where the first one died."""
        for again in (True, False):
            pool = self._pool(slow)
            try:
                return await asyncio.get_running_loop().run_in_executor(pool, call, *arguments)
            except BrokenProcessPool:
                if self._pools.get(slow) is pool:
                    del self._pools[slow]
                if not again:
                    raise
        raise AssertionError("never reached")

    def end(self) -> None:
        """End both processes, whatever they are at."""
        for pool in self._pools.values():
            for process in list((pool._processes or {}).values()):
                process.terminate()
            pool.shutdown(wait=False, cancel_futures=True)
        self._pools.clear()
