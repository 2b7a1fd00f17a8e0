"""A result folder that is either whole or not there.

All is written into a new folder beside the target, which takes the target's place only when it is complete. An earlier
build (known by its ``results.json``) is swapped whole, unless it holds files of somebody's own; any other folder that is not
empty is left alone.
"""

from __future__ import annotations

import contextlib
import datetime
import errno
import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from lobewright.errors import Fault, LobewrightError, OutputFault
from lobewright.own_files import keep_apart, note_written, refuse_own_files
from lobewright.report.results_json import read_results

RESULTS = "results.json"
LATEST_TIME = 253402300799
"""Last second of the year 9999, in seconds since 1970."""


def _is_build(folder: Path) -> bool:
    try:
        read_results(folder / RESULTS)
    except LobewrightError:
        return False
    return True


def check_target(out: Path, read: Iterable[Path] = ()) -> None:
    """Refuse a target that must not be replaced or cannot be written; ``read``: what the run reads. Raises OutputFault."""
    try:
        keep_apart(out, read)
        if out.is_symlink() or (out.exists() and not out.is_dir()):
            raise OutputFault("this is not a folder; a folder for the results is wanted", str(out))
        if out.is_dir() and any(out.iterdir()) and not _is_build(out):
            raise OutputFault("the folder is not empty and holds no earlier build; it is left alone", str(out))
        here, there = Path.cwd(), out.resolve()
        if there == here or there in here.parents:
            raise OutputFault("you stand in this folder; name another, it is replaced whole", str(out))
        refuse_own_files(out)
        _try_writing(out)
    except OSError as error:
        raise OutputFault(f"the folder cannot be used: {error.strerror or error}", str(out)) from None


def _try_writing(out: Path) -> None:
    """Make and remove a folder where the results will be made: what cannot be written is told before the work. Raises OSError."""
    above = next(one for one in out.absolute().parents if os.path.lexists(one))
    with tempfile.TemporaryDirectory(prefix=_beside(out, "new", os.getpid()), dir=above):
        pass
    if out.exists() and not os.access(out, os.W_OK):  # it is moved, and what is in it removed
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))


def _swap(fresh: Path, out: Path) -> None:
    """Put the finished folder in place; the earlier one goes only when the new one stands."""
    if not out.exists():
        os.replace(fresh, out)
        return
    old = Path(tempfile.mkdtemp(prefix=_beside(out, "old", os.getpid()), dir=out.parent))
    earlier = old / "earlier"
    try:
        os.replace(out, earlier)
        os.replace(fresh, out)
    except BaseException:  # a key pressed in between must not cost the earlier build either
        if earlier.exists() and not out.exists():
            os.replace(earlier, out)
        raise
    finally:
        if out.exists():
            shutil.rmtree(old, ignore_errors=True)


def _beside(out: Path, what: str, process: int) -> str:
    """How the name of a folder begins that a process keeps beside ``out`` while it writes; others may write there too."""
    return f".{out.name}.{what}.{process}."


def tidy(out: Path, process: int) -> None:
    """Put right what a process that was killed left beside ``out``: its half-written folder goes, an earlier build that it had
    moved aside comes back. What other processes have there is left alone.
    """
    starts = (_beside(out, "old", process), _beside(out, "new", process))
    for half in sorted(one for one in out.parent.iterdir() if one.name.startswith(starts)):  # new before old
        with contextlib.suppress(OSError):
            if half.is_symlink() or not half.is_dir():
                continue
            if (half / "earlier").exists() and not out.exists():
                os.replace(half / "earlier", out)
            shutil.rmtree(half)


def time_stamp() -> str:
    """Time of making in UTC, to the second; ``SOURCE_DATE_EPOCH`` sets it, as reproducible builds do.

    Raises OutputFault when that is not a time.
    """
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    moment = datetime.datetime.now(datetime.UTC)
    if epoch:
        if not (epoch.isascii() and epoch.isdecimal() and len(epoch) <= 12 and int(epoch) <= LATEST_TIME):
            allowed = f"whole seconds since 1970, at most {LATEST_TIME}"
            raise OutputFault([Fault("this is not a time", "SOURCE_DATE_EPOCH", 0, epoch, allowed)])
        moment = datetime.datetime.fromtimestamp(int(epoch), datetime.UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


@contextlib.contextmanager
def replacing(out: Path) -> Iterator[Path]:
    """A fresh folder to write into, which takes the place of ``out`` when the block ends well.

    Raises OutputFault where it cannot be written. Whatever happens, ``out`` is as before or complete.
    """
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=_beside(out, "new", os.getpid()), dir=out.parent) as room:
            fresh = Path(room) / "build"
            fresh.mkdir()
            yield fresh
            if (fresh / RESULTS).exists():  # only such a folder is ever replaced
                note_written(fresh)
            if out.is_dir():
                refuse_own_files(out)  # the work took its time
            _swap(fresh, out)
    except OSError as error:
        raise OutputFault(f"the results cannot be written: {error.strerror or error}", str(out)) from None
