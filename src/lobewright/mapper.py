"""What spreads runs that need nothing of each other: ``map`` itself, or that of a pool of processes."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Protocol, TypeVar

Asked = TypeVar("Asked")
Answer = TypeVar("Answer")


class Mapper(Protocol):
    """Maps a function over what it is asked, answers in order."""

    def __call__(self, run: Callable[[Asked], Answer], over: Iterable[Asked], /) -> Iterable[Answer]: ...
