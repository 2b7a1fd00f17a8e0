"""Writing files so that they are there whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from collections.abc import Iterator
from pathlib import Path

from lobewright.errors import OutputFault

OWNERS_ONLY = 0o600


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file through a neighbour that is renamed into place; who may read it stays as it was, and is the system's usual
    for a new file. Raises OutputFault with the system's reason.

    A program that is killed leaves the file before or the file after. A computer that loses its power may not: the system is not
    asked to bring the bytes to the disk at once, which would take longer than a change on the live page may.
    """
    with _beside(path, content) as fresh:
        os.replace(fresh, path)


def write_new(path: Path, content: str) -> None:
    """Write a text file that does not exist yet; of two that write one name at once, one does. Raises OutputFault when there is
    one already."""
    with _beside(path, content) as fresh:
        try:
            _put_new(fresh, path)
        except FileExistsError:
            raise OutputFault("there is a file of this name already; it is left alone", str(path)) from None


def _put_new(fresh: Path, path: Path) -> None:
    try:
        os.link(fresh, path)
    except FileExistsError:
        raise
    except OSError:  # a disk without links: the name is taken first
        with path.open("xb"):
            pass
        os.replace(fresh, path)


@contextlib.contextmanager
def _beside(path: Path, content: str | bytes) -> Iterator[Path]:
    """A whole file beside ``path`` that says this, gone after the block. Raises OutputFault, also for what the block raises."""
    fresh = path.with_name(f".new.{secrets.token_hex(8)}")
    try:
        before = _rights(path)
        first = (
            0o666 if before is None else OWNERS_ONLY
        )  # less what the system takes away; nobody else reads it half made
        with open(fresh, "xb", opener=lambda name, flags: os.open(name, flags, first)) as file:
            file.write(content.encode() if isinstance(content, str) else content)
        if before is not None:
            os.chmod(fresh, before)
        yield fresh
    except OSError as error:
        raise OutputFault(f"the file cannot be written: {error.strerror}", str(path)) from None
    finally:
        with contextlib.suppress(OSError):
            fresh.unlink(missing_ok=True)


def _rights(path: Path) -> int | None:
    """Who may read and write a file; None where there is none."""
    try:
        return stat.S_IMODE(path.stat().st_mode)
    except FileNotFoundError:
        return None
