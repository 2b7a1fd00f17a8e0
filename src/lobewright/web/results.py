"""Result folders of a project: which there are, their files, everything in one archive."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from pathlib import Path

from lobewright.errors import Fault, FileFault
from lobewright.web.confine import DESIGN_NAME, inside
from lobewright.web.job_run import out_folder

POLICY = "sandbox allow-scripts allow-downloads; default-src 'self' 'unsafe-inline' data: blob:; connect-src 'none'"
"""A result page runs apart from the live page: its scripts cannot ask the server anything in its name."""
COMMANDS = ("build", "make")
LARGEST_ARCHIVE_BYTES = 500_000_000


@dataclass(frozen=True)
class Written:
    """A result folder; ``files`` are its files by their path in it, without links and hidden ones."""

    design: str
    command: str
    folder: str
    files: tuple[str, ...]


def written(folder: Path) -> tuple[Written, ...]:
    """The result folders of the project's designs."""
    found = []
    for design in sorted(path.name for path in folder.glob("*.toml") if DESIGN_NAME.fullmatch(path.name)):
        for command in COMMANDS:
            out = out_folder(command, design, folder)
            if out.is_dir() and not out.is_symlink():
                paths = (one.relative_to(out) for one in out.rglob("*") if one.is_file() and not one.is_symlink())
                files = tuple(sorted(one.as_posix() for one in paths if not any(p.startswith(".") for p in one.parts)))
                found.append(Written(design, command, out.name, files))
    return tuple(found)


def result_path(folder: Path, name: str) -> Path:
    """A file of a result folder. Raises FileFault for any other place."""
    path = inside(folder, name, "name")
    known = {one.folder for one in written(folder)}
    parts = path.relative_to(folder.resolve()).parts
    if len(parts) < 2 or parts[0] not in known or not path.is_file():
        raise FileFault([Fault("there is no such result", "name", 0, name)])
    return path


def packed(folder: Path) -> bytes:
    """All designs and results of the project as a ZIP archive, without links and hidden files.

    Raises FileFault where they are larger than an archive in memory should be.
    """
    root = folder.resolve()
    tops = {one.folder for one in written(folder)}
    chosen = []
    for path in sorted(root.rglob("*")):
        parts = path.relative_to(root).parts
        if path.is_symlink() or not path.is_file() or any(part.startswith(".") for part in parts):
            continue
        if parts[0] in tops or (len(parts) == 1 and path.suffix in (".toml", ".csv")):
            chosen.append(path)
    size = sum(path.stat().st_size for path in chosen)
    if size > LARGEST_ARCHIVE_BYTES:
        allowed = f"at most {LARGEST_ARCHIVE_BYTES // 10**6} MB; take the folders themselves"
        raise FileFault(
            [Fault("the project is too large for one archive", "download", 0, f"{size // 10**6} MB", allowed)]
        )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in chosen:
            archive.write(path, path.relative_to(root).as_posix())
    return out.getvalue()
