"""Files of one folder, to be read by others in the local network: a list that is fixed when it begins, and nothing else.

A question is looked up in the list letter for letter; no path is ever made from it. Each file is opened step by step without
following links, so that a link put there later leads nowhere either.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import re
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO
from urllib.parse import quote

from lobewright.errors import FileFault
from lobewright.web.guard import Receive, Scope, Send
from lobewright.web.network import is_local, is_loopback

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".gif": "image/gif",
    ".mp4": "video/mp4",
    ".vtt": "text/vtt; charset=utf-8",
    ".pdf": "application/pdf",
    ".txt": "text/plain; charset=utf-8",
}
"""What a browser may show; all else it only stores."""
CHUNK_BYTES = 1 << 18
HEAD_BYTES = 1 << 14
"""A page's own policy stands within its first bytes."""
OWN_POLICY = re.compile(rb'<meta http-equiv="Content-Security-Policy" content="([^"]*)">')
DIGEST = re.compile(r"'sha256-[A-Za-z0-9+/]{43}='")
RANGE = re.compile(r"bytes=(\d{0,15})-(\d{0,15})")
HEADERS = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-cache"),  # kept, and asked after before it is shown again
)
Heads = list[tuple[bytes, bytes]]


@dataclass(frozen=True)
class Entry:
    """The page at the address itself, and the policy that it is sent with."""

    body: bytes
    policy: str


def files_in(folder: Path, left_out: tuple[str, ...]) -> tuple[str, ...]:
    """Files of a folder and those below it, by their path in it, sorted. Links and what is hidden do not count, nor what has a
    name of ``left_out`` in the folder itself. Raises FileFault where there is no folder, or nothing in it."""
    found = []
    for place, folders, names in os.walk(folder):
        top = Path(place) == folder
        folders[:] = [one for one in folders if not one.startswith(".") and not (top and one in left_out)]
        for name in names:
            path = Path(place, name)
            if name.startswith(".") or (top and name in left_out) or path.is_symlink() or not path.is_file():
                continue
            found.append(path.relative_to(folder).as_posix())
    if not found:
        raise FileFault("there is no lesson in this folder", str(folder))
    return tuple(sorted(found))


def policy(own: bytes = b"") -> str:
    """What a page may do: run the scripts and styles whose digests its own policy names, and show files from here.

    ``own``: how the page begins. One that names no policy runs nothing.
    """
    met = OWN_POLICY.search(own)
    named = met.group(1).decode("latin-1") if met else ""
    parts = {name: " ".join(rest) for name, *rest in (one.split() for one in named.split(";") if one.strip())}
    script, style = (" ".join(DIGEST.findall(parts.get(name, ""))) or "'none'" for name in ("script-src", "style-src"))
    return (
        f"default-src 'none'; script-src {script}; style-src {style}; img-src 'self' data: blob:; media-src 'self'; "
        "connect-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


@contextlib.contextmanager
def opened(folder: Path, name: str) -> Iterator[BinaryIO]:
    """A plain file of the folder, to be read. Raises OSError where it is gone, or a link stands in the way."""
    with contextlib.ExitStack() as room:
        if os.open not in os.supports_dir_fd:
            path = folder.resolve() / name
            if path.resolve() != path:
                raise OSError("a link")
            file = room.enter_context(path.open("rb"))
        else:
            place = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
            room.callback(os.close, place)
            *above, last = name.split("/")
            for part in above:
                place = os.open(part, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW, dir_fd=place)
                room.callback(os.close, place)
            number = os.open(last, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK, dir_fd=place)
            file = room.enter_context(os.fdopen(number, "rb"))
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise OSError("not a plain file")
        yield file


class SharedFiles:
    """Answers GET and HEAD of the files named, and of the entry page; nothing else, and nobody outside local networks.

    Only questions for ``host``, address and port as they were told, are answered: a web page whose name was pointed here could
    else read the lesson through the browser of somebody who looks at it.
    """

    def __init__(self, folder: Path, names: tuple[str, ...], entry: Entry, host: str) -> None:
        self.folder = folder
        self.host = host.encode()
        self.names: Mapping[bytes, str] = {b"/" + quote(name).encode(): name for name in names}
        self.entry = entry

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return
        peer = scope["client"][0] if scope.get("client") else ""
        if not (is_local(peer) or is_loopback(peer)):
            await _tell(scope, send, 403, "This lesson is shown in its own network only.")
        elif [value for key, value in scope["headers"] if key == b"host"] != [self.host]:
            await _tell(scope, send, 403, f"This lesson is shown under http://{self.host.decode()}/ only.")
        elif scope["method"] not in ("GET", "HEAD"):
            await _tell(scope, send, 405, "This lesson can only be read.", [(b"allow", b"GET, HEAD")])
        elif scope["raw_path"] == b"/":
            await _whole(scope, send, 200, self.entry.body, TYPES[".html"], self.entry.policy)
        elif (name := self.names.get(scope["raw_path"])) is None:
            await _tell(scope, send, 404, "There is no such page here.")
        else:
            await self._file(name, scope, receive, send)

    async def _file(self, name: str, scope: Scope, receive: Receive, send: Send) -> None:
        asked = {key.decode("latin-1"): value.decode("latin-1") for key, value in scope["headers"]}
        with contextlib.ExitStack() as room:
            try:
                file = room.enter_context(opened(self.folder, name))
                status, heads, first, length = _reply(file, name, asked)
            except OSError:
                await _tell(scope, send, 404, "This page is gone.")
                return
            await send({"type": "http.response.start", "status": status, "headers": heads})
            if scope["method"] == "HEAD":
                length = 0
            file.seek(first)
            gone = asyncio.ensure_future(_gone(receive))
            while length > 0 and not gone.done():
                piece = await asyncio.to_thread(file.read, min(CHUNK_BYTES, length))
                if not piece:  # it has become shorter: what was promised cannot be kept
                    break
                length -= len(piece)
                await send({"type": "http.response.body", "body": piece, "more_body": True})
            gone.cancel()
            await send({"type": "http.response.body", "body": b""})


def _reply(file: BinaryIO, name: str, asked: Mapping[str, str]) -> tuple[int, Heads, int, int]:
    """Status and headers of the answer to what was asked of a file, and which bytes of it: the first, and how many."""
    found = os.fstat(file.fileno())
    tag = f'"{found.st_mtime_ns:x}-{found.st_size:x}"'
    suffix = Path(name).suffix.lower()
    own = file.read(HEAD_BYTES) if suffix == ".html" else b""
    heads: Heads = [
        (b"content-type", TYPES.get(suffix, "application/octet-stream").encode()),
        (b"content-disposition", b"inline" if suffix in TYPES else b"attachment"),
        (b"content-security-policy", policy(own).encode()),
        (b"etag", tag.encode()),
        (b"accept-ranges", b"bytes"),
        *HEADERS,
    ]
    if asked.get("if-none-match") == tag:
        return 304, heads, 0, 0
    first, length, status = 0, found.st_size, 200
    part = RANGE.fullmatch(asked.get("range", ""))
    if part and asked.get("if-range", tag) == tag:
        span = _span(part, found.st_size)
        if span is None:
            return 416, [*heads, _size(0), (b"content-range", f"bytes */{found.st_size}".encode())], 0, 0
        first, length = span
        status = 206
        heads.append((b"content-range", f"bytes {first}-{first + length - 1}/{found.st_size}".encode()))
    return status, [*heads, _size(length)], first, length


def _span(part: re.Match[str], size: int) -> tuple[int, int] | None:
    """First byte and number of bytes of a range that was asked for; None where the file has none of them."""
    begin, end = part.groups()
    if not begin:  # the last so many
        length = min(int(end or 0), size)
        return (size - length, length) if length else None
    first, last = int(begin), min(int(end or size), size - 1)
    return (first, last - first + 1) if first <= last else None


def _size(length: int) -> tuple[bytes, bytes]:
    return b"content-length", str(length).encode()


async def _gone(receive: Receive) -> None:
    """Ends when the one who asked wants no more."""
    while (await receive())["type"] != "http.disconnect":
        pass


async def _whole(
    scope: Scope, send: Send, status: int, body: bytes, kind: str, allowed: str, more: Heads | None = None
) -> None:
    heads = [
        (b"content-type", kind.encode()),
        (b"content-security-policy", allowed.encode()),
        _size(len(body)),
        *HEADERS,
    ]
    await send({"type": "http.response.start", "status": status, "headers": [*heads, *(more or [])]})
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})


async def _tell(scope: Scope, send: Send, status: int, words: str, more: Heads | None = None) -> None:
    await _whole(scope, send, status, words.encode(), TYPES[".txt"], policy(), more)
