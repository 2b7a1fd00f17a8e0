"""Made files kept by what they were made of, so that an unchanged part is not made again.

The name of an entry is a digest of all that its bytes depend on. An entry is one zip file; the folder may be deleted at any time.
A store that cannot be read or written is as if it were empty: it saves time and decides nothing.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import tempfile
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np

from lobewright import __version__

WRITERS = ("build123d", "cadquery-ocp-novtk", "ezdxf", "manifold3d", "numpy", "shapely")
"""Libraries whose versions decide what is written."""
MOST_BYTES = 256 * 1024 * 1024
SQUEEZED = (zipfile.ZIP_DEFLATED, True, 1)
"""Method, entries beyond 4 GB allowed, level."""
VARIABLE = "LOBEWRIGHT_CACHE"


def cache_folder() -> Path:
    """Where made files are kept: ``LOBEWRIGHT_CACHE``, else the system's folder for what can be made again."""
    if named := os.environ.get(VARIABLE):
        return Path(named)
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA") or str(Path.home() / "AppData" / "Local")
        return Path(base) / "lobewright" / "cache"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "lobewright"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "lobewright"


def _told(value: Any) -> Iterable[bytes]:
    """All that a value says, in a fixed order: dataclasses by field, arrays by their bytes, numbers exactly."""
    if is_dataclass(value) and not isinstance(value, type):
        yield f"({type(value).__name__}".encode()
        for field in fields(value):
            yield f" {field.name}=".encode()
            yield from _told(getattr(value, field.name))
        yield b")"
    elif isinstance(value, np.ndarray):
        yield f"<{value.dtype.str} {value.shape}>".encode()
        yield np.ascontiguousarray(value).tobytes()
    elif isinstance(value, tuple | list):
        yield b"["
        for one in value:
            yield from _told(one)
            yield b","
        yield b"]"
    elif isinstance(value, Enum):
        yield repr(value.value).encode()
    elif value is None or isinstance(value, bool | int | float | str | bytes):
        # A float of the numeric library prints with its type; the plain one is meant.
        yield repr(float(value) if isinstance(value, float) else value).encode()
    else:
        raise TypeError(f"{type(value).__name__} has no fixed form")


def _version(name: str) -> str:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return "none"


@cache
def maker() -> str:
    """SHA-256 of what makes files: the package's version, the sources of this room, and the libraries that write."""
    digest = hashlib.sha256(__version__.encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.name.encode() + path.read_bytes())
    digest.update(" ".join(f"{name} {_version(name)}" for name in WRITERS).encode())
    return digest.hexdigest()


def key_of(*values: Any) -> str:
    """SHA-256 over :func:`maker` and what the values say; raises TypeError for what has no fixed form."""
    digest = hashlib.sha256(maker().encode())
    for value in values:
        digest.update(b"|")
        for piece in _told(value):
            digest.update(piece)
    return digest.hexdigest()


@dataclass(frozen=True)
class Cache:
    """A folder of entries, each a set of named bytes; the longest unused go when it holds more than ``most_bytes``."""

    folder: Path
    most_bytes: int = MOST_BYTES

    def _path(self, key: str) -> Path:
        return self.folder / f"{key}.zip"

    def get(self, key: str) -> dict[str, bytes] | None:
        """The entry, or None where there is none that can be read whole."""
        path = self._path(key)
        try:
            with zipfile.ZipFile(path) as pack:
                found = {name: pack.read(name) for name in pack.namelist()}
            os.utime(path)
        except (OSError, zipfile.BadZipFile, zlib.error, ValueError, EOFError, NotImplementedError, RuntimeError):
            return None
        return found

    def put(self, key: str, files: Mapping[str, bytes]) -> None:
        """Keep an entry; whoever reads meanwhile sees the old one or the whole new one. A full or locked disk is no error."""
        with contextlib.suppress(OSError):
            self.folder.mkdir(parents=True, exist_ok=True)
            handle, half = tempfile.mkstemp(dir=self.folder, suffix=".half")
            try:
                with (
                    os.fdopen(handle, "wb") as stream,
                    zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as pack,
                ):
                    for name, data in files.items():
                        pack.writestr(name, data)
                os.replace(half, self._path(key))
            except BaseException:
                with contextlib.suppress(OSError):
                    os.unlink(half)
                raise
            self.trim()

    def trim(self) -> None:
        """Let the longest unused entries go until the rest is within bounds."""
        with contextlib.suppress(OSError):
            rows = []
            for path in self.folder.glob("*.zip"):
                told = path.stat()
                rows.append((told.st_mtime_ns, path.name, told.st_size, path))
            total = sum(row[2] for row in rows)
            for _, _, size, path in sorted(rows):
                if total <= self.most_bytes:
                    break
                path.unlink(missing_ok=True)
                total -= size


def user_cache() -> Cache:
    """The store of whoever runs the program."""
    return Cache(cache_folder())
