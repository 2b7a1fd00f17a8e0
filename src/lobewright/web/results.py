"""Result folders of a project: which there are, their files, everything in one archive."""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from lobewright.assessment.run import content_hash
from lobewright.errors import Fault, FileFault, OutputFault
from lobewright.report.results_json import LARGEST_FILE_BYTES
from lobewright.web.confine import design_names
from lobewright.web.job_run import out_folder
from lobewright.whole_folder import RESULTS

APART = "sandbox allow-scripts allow-downloads; default-src 'self' 'unsafe-inline' data: blob:; connect-src 'none'"
"""What may run scripts runs apart from the live page: it cannot ask the server anything in its name."""
STILL = "frame-ancestors 'none'"
"""Browsers show no PDF that is kept apart, and what runs no scripts of its own need not be."""
MAY_RUN = {".html": "text/html; charset=utf-8", ".svg": "image/svg+xml"}
SHOWN = {
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".gif": "image/gif",
    ".mp4": "video/mp4",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".txt": "text/plain; charset=utf-8",
    ".md": "text/plain; charset=utf-8",
    ".vtt": "text/vtt; charset=utf-8",
}
"""What a browser may show; all else it only stores."""
COMMANDS = ("build", "make", "lesson")
LARGEST_ARCHIVE_BYTES = 500_000_000
CHUNK_BYTES = 1 << 16


@dataclass(frozen=True)
class Written:
    """A result folder; ``files`` are its files by their path in it, without links and hidden ones. The two hashes tell what it
    was made from, as in a look; empty where the folder does not say."""

    design: str
    command: str
    folder: str
    files: tuple[str, ...]
    design_sha256: str
    workshop_sha256: str


def written(folder: Path) -> tuple[Written, ...]:
    """The result folders of the project's designs."""
    found = []
    for design in design_names(folder):
        for command in COMMANDS:
            out = out_folder(command, design, folder)
            if out.is_dir() and not out.is_symlink():
                found.append(Written(design, command, out.name, tuple(sorted(_files(out))), *_made_from(out)))
    return tuple(found)


def _made_from(out: Path) -> tuple[str, str]:
    """Hashes of the design and the workshop that a folder was made from, as its results say; without a workshop, that of none."""
    path = out / RESULTS
    try:
        if path.is_symlink() or path.stat().st_size > LARGEST_FILE_BYTES:
            return "", ""
        data = json.loads(path.read_bytes())
        design, workshop = data["design"]["sha256"], data["workshop"]["sha256"]
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return "", ""
    return str(design), str(content_hash(None) if workshop is None else workshop)


def _files(out: Path) -> Iterator[str]:
    """Files of a folder; one that is swapped meanwhile gives those that were met."""
    for place, folders, names in os.walk(out):
        folders[:] = [one for one in folders if not one.startswith(".")]
        for path in (Path(place, name) for name in names if not name.startswith(".")):
            if path.is_file() and not path.is_symlink():
                yield path.relative_to(out).as_posix()


def result_path(folder: Path, name: str) -> Path:
    """A file of a result folder. Raises FileFault for any other place."""
    if not any(name == f"{one.folder}/{file}" for one in written(folder) for file in one.files):
        raise FileFault([Fault("there is no such result", "name", 0, name)])
    return folder / name


def heads(path: Path) -> dict[str, str]:
    """Headers with which a result is sent: its type, what it may do, and whether a browser may show it."""
    suffix = path.suffix.lower()
    kind = MAY_RUN.get(suffix) or SHOWN.get(suffix)
    return {
        "content-type": kind or "application/octet-stream",
        "content-disposition": "inline" if kind else "attachment",
        "content-security-policy": STILL if suffix in SHOWN else APART,
    }


def packed(folder: Path) -> IO[bytes]:
    """All designs, tables and results of the project as a ZIP archive in a file of no name, to be closed by the caller.

    Links, hidden files and what goes meanwhile are left out. Raises FileFault where they are larger than an archive should be,
    OutputFault where there is no room for it.
    """
    with os.scandir(folder) as rows:
        names = [one.name for one in rows if one.is_file(follow_symlinks=False) and not one.name.startswith(".")]
    chosen = [name for name in names if name.endswith((".toml", ".csv"))]
    chosen += [f"{one.folder}/{file}" for one in written(folder) for file in one.files]
    size = sum(_size(folder / name) for name in chosen)
    if size > LARGEST_ARCHIVE_BYTES:
        allowed = f"at most {LARGEST_ARCHIVE_BYTES // 10**6} MB; take the folders themselves"
        raise FileFault(
            [Fault("the project is too large for one archive", "download", 0, f"{size // 10**6} MB", allowed)]
        )
    try:
        with contextlib.ExitStack() as room:
            out = room.enter_context(tempfile.TemporaryFile())
            with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, strict_timestamps=False) as archive:
                for name in sorted(chosen):
                    with contextlib.suppress(FileNotFoundError):
                        archive.write(folder / name, name)
            room.pop_all()
            return out
    except OSError as error:
        raise OutputFault(f"the archive cannot be made: {error.strerror or error}", "project.zip") from None


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


def chunks(file: IO[bytes]) -> Iterator[bytes]:
    """A file from its beginning, piece by piece; it is closed at the end, or when nobody wants more."""
    with file:
        file.seek(0)
        while piece := file.read(CHUNK_BYTES):
            yield piece
