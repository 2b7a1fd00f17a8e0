"""What in a result folder is somebody's own: files that were put there or changed since a run wrote it, files that are read now.

A result folder is replaced whole. So that nothing of anybody's goes with it, every run notes what it wrote, and what does not
fit the note is told before the folder is touched.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from lobewright.errors import Fault, OutputFault, clipped

NOTE = ".written.sha256"
"""Sums of the files that a run wrote, in the form that ``sha256sum --check`` reads."""
OF_SYSTEMS = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})
"""What systems put into folders that somebody looks into."""
MOST_NAMED = 3


def _sum(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _files(folder: Path) -> Iterator[str]:
    """Names of all files of a folder and below, and of links, which are not followed."""
    for place, folders, names in os.walk(folder):
        links = [name for name in folders if Path(place, name).is_symlink()]
        for name in (*names, *links):
            yield Path(place, name).relative_to(folder).as_posix()


def note_written(folder: Path) -> None:
    """Note in a finished folder what stands in it. Raises OSError."""
    rows = [f"{_sum(folder / name)}  {name}\n" for name in sorted(_files(folder))]
    (folder / NOTE).write_bytes("".join(rows).encode())


def own_files(folder: Path) -> tuple[str, ...]:
    """Files of a result folder that the run did not write, or that were changed since, sorted. Of a folder without a note, made
    by an earlier version, nothing is known. Raises OSError."""
    note = folder / NOTE
    if not note.is_file():
        return ()
    rows = (line.partition("  ") for line in note.read_bytes().decode("utf-8", "replace").split("\n"))
    written = {name: digest for digest, _, name in rows}
    return tuple(
        sorted(
            name
            for name in _files(folder)
            if name != NOTE and Path(name).name not in OF_SYSTEMS and not _as_written(folder / name, written.get(name))
        )
    )


def _as_written(path: Path, digest: str | None) -> bool:
    return digest is not None and path.is_file() and not path.is_symlink() and _sum(path) == digest


def refuse_own_files(out: Path) -> None:
    """Refuse to replace a folder that holds own files. Raises OutputFault, or OSError where it cannot be read."""
    found = own_files(out)
    if found:
        rest = f" and {len(found) - MOST_NAMED} more" if len(found) > MOST_NAMED else ""
        what = f"files were put into {_name(out)} or changed there since it was written, and it would be replaced whole"
        allowed = "another folder; or move these files elsewhere, they are left alone"
        raise OutputFault([Fault(what, value=", ".join(found[:MOST_NAMED]) + rest, allowed=allowed)], str(out))


def keep_apart(out: Path, read: Iterable[Path]) -> None:
    """Refuse a target that holds files which are read now: they would go with what is replaced. Raises OutputFault with all of
    them, or OSError where it cannot be looked at."""
    if not out.exists():
        return
    inside = [path for path in dict.fromkeys(read) if any(_same(one, out) for one in _above(path))]
    if inside:
        what = f"this file is read now and lies in {_name(out)}, which would be replaced whole"
        allowed = "files outside that folder, or another folder"
        raise OutputFault([Fault(what, "", 0, _within(path, out), allowed) for path in inside], str(out))


def _name(folder: Path) -> str:
    """The folder's own name, for where its whole one is not told."""
    return f"the folder {clipped(folder.absolute().name)}"


def _within(path: Path, folder: Path) -> str:
    """A file as it is named in a folder; its whole name where it is in it by a link."""
    full, top = Path(os.path.abspath(path)), Path(os.path.abspath(folder))
    return full.relative_to(top).as_posix() if full.is_relative_to(top) else str(path)


def _above(path: Path) -> Iterator[Path]:
    """Folders that a file stands in, as it is named and where links lead."""
    yield from Path(os.path.abspath(path)).parents
    with contextlib.suppress(RuntimeError, ValueError):  # a link that leads back to itself is read by nobody
        yield from path.resolve().parents


def _same(one: Path, other: Path) -> bool:
    return one.exists() and one.samefile(other)
