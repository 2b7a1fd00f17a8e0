"""A project: a folder with designs, one of them open. The one place where what the page shows is kept.

Every change is written at once, so that nothing is lost whenever anything ends: first the design file itself, whole or not at
all, then the file of earlier states beside it. Where the two do not agree (the program ended between them, or a person edited
the file) the design file is right and its text becomes the newest state.
"""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lobewright.design.files import LARGEST_FILE_BYTES, read_text
from lobewright.design.writing import write_new, write_whole
from lobewright.errors import ChangedMeanwhile, Fault, FileFault, LobewrightError
from lobewright.web.confine import design_names, design_path
from lobewright.web.named import NamedState, named_state

KEPT_STATES = 200
KEPT_BYTES = 20_000_000
"""Of all states of a design together; the oldest are left out first."""
LARGEST_STATES_BYTES = 3 * KEPT_BYTES
"""Of their file: quotes, line ends and backslashes of a text take two bytes in it."""
KEPT_FOLDER = ".lobewright"
HELD_S = 0.5
"""A file that others write is taken up when it has stayed as it is for so long: an editor may be half-way through saving it."""


@dataclass(frozen=True)
class State:
    """What is open. ``revision`` rises with every change, by whomever, also from one run of the program to the next."""

    file: str
    text: str
    revision: int
    can_undo: bool
    can_redo: bool


def meant(file: str, revision: int, now: State) -> None:
    """Raises ChangedMeanwhile where another design, or another state of it, is open than was meant; an empty ``file`` and a
    ``revision`` of 0 mean any."""
    if file and file != now.file:
        raise ChangedMeanwhile([Fault(f"another design was opened meanwhile, {now.file}; nothing was done")])
    if revision and revision != now.revision:
        raise ChangedMeanwhile([Fault("the design was changed meanwhile; nothing was done")])


class Project:
    """The folder and the design that is open in it. Methods may be called from any thread.

    Changes say which ``file`` and ``revision`` they mean, see :func:`meant`, and raise ChangedMeanwhile where that is not open.
    """

    def __init__(self, folder: Path, file: str = "") -> None:
        self.folder = folder.resolve()
        self._lock = threading.RLock()
        self._revision = time.time_ns() // 10**6  # a page that outlives this run must not take a later one for the same
        self._file = ""
        self._texts: list[str] = []
        self._at = 0
        self._named: NamedState = ()
        self._seen: tuple[tuple[int, int], float] | None = None  # size and time of a file by others, and since when
        if file:
            self.open(file)

    def state(self) -> State | None:
        """What is open now, read anew where the files were changed by others; None before anything is open."""
        with self._lock:
            if not self._file:
                return None
            self._follow_file()
            self._follow_named()
            return self._state()

    def _state(self) -> State:
        return State(self._file, self._texts[self._at], self._revision, self._at > 0, self._at + 1 < len(self._texts))

    def designs(self) -> tuple[str, ...]:
        """File names of the folder's TOML files that may be opened."""
        return design_names(self.folder)

    def open(self, file: str) -> None:
        """Open a design of the folder. Raises FileFault."""
        with self._lock:
            text = read_text(design_path(self.folder, file))
            self._file, self._seen = file, None
            self._texts, self._at = self._kept()
            if not self._texts or self._texts[self._at] != text:
                self._push(text)
            self._raised()

    def add(self, file: str, text: str) -> None:
        """A new design in the folder, then open. Raises FileFault, or OutputFault where there is one of this name."""
        _fits(text)
        write_new(design_path(self.folder, file), text)
        self.open(file)

    def change(self, text: str) -> None:
        """The open design says this from now on. Raises FileFault or OutputFault; then nothing is changed."""
        self.edit(lambda _: text)

    def edit(self, make: Callable[[str], str], file: str = "", revision: int = 0) -> None:
        """The open design says from now on what ``make`` makes of its text, in one step with reading and writing it.

        Raises what ``make`` raises, FileFault, or OutputFault where it cannot be written; then nothing is changed.
        """
        with self._lock:
            self._take_up(file, revision)
            text = make(self._texts[self._at])
            if text == self._texts[self._at]:
                return
            _fits(text)
            write_whole(design_path(self.folder, self._file), text)
            self._push(text)
            self._raised()
            self._keep()

    def step(self, by: int, file: str = "", revision: int = 0) -> None:
        """Go back (−1) or forth (+1) among the states. Raises FileFault at the end of them."""
        with self._lock:
            self._take_up(file, revision)
            at = self._at + by
            if not 0 <= at < len(self._texts):
                raise FileFault("there is nothing to take back" if by < 0 else "there is nothing to bring back")
            write_whole(design_path(self.folder, self._file), self._texts[at])
            self._at = at
            self._raised()
            self._keep()

    def _take_up(self, file: str, revision: int) -> None:
        """Before a change: what others wrote is taken up, and it must be what was meant."""
        if not self._file:
            raise FileFault([Fault("no design is open", "file", allowed="open or begin one first")])
        self._follow_file(at_once=True)
        meant(file, revision, self._state())

    def _raised(self) -> None:
        """Another revision, which says what the named files say now."""
        self._revision += 1
        self._named = named_state(self._texts[self._at], self.folder)

    def _push(self, text: str) -> None:
        """A new newest state; what was taken back before it is gone."""
        self._texts = [*self._texts[: self._at + 1], text][-KEPT_STATES:]
        while len(self._texts) > 1 and sum(len(one.encode()) for one in self._texts) > KEPT_BYTES:
            del self._texts[0]
        self._at = len(self._texts) - 1

    def _follow_named(self) -> None:
        """Numbers and checks follow from the named files too: what they say anew is another revision."""
        if named_state(self._texts[self._at], self.folder) != self._named:
            self._raised()

    def _follow_file(self, at_once: bool = False) -> None:
        """Take up what a person or another program has written into the file, ``at_once`` or when it has stayed as it is for
        a while; what cannot be read is left alone.

        Raises FileFault where it is about to be written over (``at_once``) something that cannot be read.
        """
        path = self.folder / self._file
        try:
            text = read_text(design_path(self.folder, self._file))
        except LobewrightError:
            if at_once and path.exists():
                raise
            return
        if text == self._texts[self._at]:
            self._seen = None
        elif at_once or self._held(path):
            self._seen = None
            self._push(text)
            self._raised()

    def _held(self, path: Path) -> bool:
        """Whether size and time of a file by others have stayed as they are since an earlier look at it."""
        try:
            found = path.stat()
        except OSError:
            return False
        mark, now = (found.st_size, found.st_mtime_ns), time.monotonic()
        if self._seen is None or self._seen[0] != mark:
            self._seen = (mark, now)
        return now - self._seen[1] >= HELD_S

    def _kept_path(self) -> Path:
        return self.folder / KEPT_FOLDER / f"{self._file}.states.json"

    def _kept(self) -> tuple[list[str], int]:
        """States of earlier runs, and which of them is the newest; nothing where they cannot be read, or lie elsewhere."""
        path = self._kept_path()
        try:
            if path.parent.is_symlink() or path.is_symlink() or not path.is_file():
                return [], 0
            if path.stat().st_size > LARGEST_STATES_BYTES:
                return [], 0
            data = json.loads(path.read_text("utf-8"))
            texts, at = data["texts"], data["at"]
            "".join(texts).encode()  # all of them text, and text that a file can hold
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            return [], 0
        whole = isinstance(texts, list) and isinstance(at, int)
        return (texts, at) if whole and 0 <= at < len(texts) else ([], 0)

    def _keep(self) -> None:
        path = self._kept_path()
        try:
            if path.parent.is_symlink():
                return  # it may lead out of the folder
            path.parent.mkdir(mode=0o700, exist_ok=True)  # also designs that only their owner may read
            write_whole(path, json.dumps({"texts": self._texts, "at": self._at}, ensure_ascii=False))
        except (OSError, LobewrightError):
            return  # the design itself is saved; only the way back beyond this run is not


def _fits(text: str) -> None:
    """Raises FileFault where a text is larger than a design file may be read again."""
    size = len(text.encode())
    if size > LARGEST_FILE_BYTES:
        allowed = f"at most {LARGEST_FILE_BYTES} bytes"
        raise FileFault([Fault("the text is too large for a design", "text", 0, f"{size} bytes", allowed)])
