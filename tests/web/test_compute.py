"""Processes that compute: one that never answers holds nobody up for long."""

from __future__ import annotations

import asyncio
import os
import time

import psutil
import pytest
from processes import WAIT_S, left

from lobewright.errors import PlatformFault
from lobewright.web import compute
from lobewright.web.compute import Computer, Lane


@pytest.fixture
def computer():
    one = Computer()
    yield one
    one.end()


def limited(monkeypatch, seconds: float) -> None:
    """Calls that are asked from now on may take so long."""
    monkeypatch.setitem(compute.LIMIT_S, Lane.QUICK, seconds)


def test_a_look_without_end_is_ended_and_others_go_on(computer, monkeypatch):
    async def asked():
        first = await computer.run(os.getpid)
        limited(monkeypatch, 1.0)
        endless = asyncio.create_task(computer.run(time.sleep, 600))
        await asyncio.sleep(0.3)
        limited(monkeypatch, WAIT_S)
        behind = asyncio.create_task(computer.run(os.getpid))
        with pytest.raises(PlatformFault, match="not answered in time"):
            await endless
        return first, await behind, await computer.run(os.getpid)

    first, behind, after = asyncio.run(asked())
    assert behind == after != first, "what waited behind it is answered by a new process"
    assert not psutil.pid_exists(first) or not left([psutil.Process(first)])


def test_waiting_for_others_is_not_counted(computer, monkeypatch):
    async def asked():
        first = await computer.run(os.getpid)
        limited(monkeypatch, 2.0)
        await asyncio.gather(*(computer.run(time.sleep, 0.5) for _ in range(5)))
        return first == await computer.run(os.getpid)

    assert asyncio.run(asked())
