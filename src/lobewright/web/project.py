"""A project: a folder with designs, one of them open. The one place where what the page shows is kept.

Every change is written at once, so that nothing is lost whenever anything ends: first the design file itself, whole or not at
all, then the file of earlier states beside it. Where the two do not agree (the program ended between them, or a person edited
the file) the design file is right and its text becomes the newest state.
"""

from __future__ import annotations

import json
import threading
from dataclasses import dataclass
from pathlib import Path

from lobewright.design.files import read_text
from lobewright.design.writing import write_new, write_whole
from lobewright.errors import Fault, FileFault, LobewrightError
from lobewright.web.confine import DESIGN_NAME, design_path

KEPT_STATES = 200
KEPT_FOLDER = ".lobewright"


@dataclass(frozen=True)
class State:
    """What is open. ``revision`` rises with every change, by whomever, while the program runs."""

    file: str
    text: str
    revision: int
    can_undo: bool
    can_redo: bool


class Project:
    """The folder and the design that is open in it. Methods may be called from any thread."""

    def __init__(self, folder: Path, file: str = "") -> None:
        self.folder = folder.resolve()
        self._lock = threading.RLock()
        self._revision = 0
        self._file = ""
        self._texts: list[str] = []
        self._at = 0
        if file:
            self.open(file)

    def state(self) -> State | None:
        """What is open now, read anew where the file was changed by others; None before anything is open."""
        with self._lock:
            if not self._file:
                return None
            self._follow_file()
            return State(self._file, self._texts[self._at], self._revision, self._at > 0,
                         self._at + 1 < len(self._texts))  # fmt: skip

    def designs(self) -> tuple[str, ...]:
        """File names of the folder's TOML files that may be opened."""
        return tuple(sorted(path.name for path in self.folder.glob("*.toml") if DESIGN_NAME.fullmatch(path.name)))

    def open(self, file: str) -> None:
        """Open a design of the folder. Raises FileFault."""
        path = design_path(self.folder, file)
        text = read_text(path)
        with self._lock:
            self._file = file
            self._texts, self._at = self._kept()
            if not self._texts or self._texts[self._at] != text:
                self._push(text)
            self._revision += 1

    def add(self, file: str, text: str) -> None:
        """A new design in the folder, then open. Raises FileFault, or OutputFault where there is one of this name."""
        write_new(design_path(self.folder, file), text)
        self.open(file)

    def change(self, text: str) -> None:
        """The open design says this from now on. Raises OutputFault where it cannot be written; then nothing is changed."""
        with self._lock:
            self._need_open()
            self._follow_file(writing=True)
            if text == self._texts[self._at]:
                return
            write_whole(design_path(self.folder, self._file), text)
            self._push(text)
            self._revision += 1
            self._keep()

    def step(self, by: int) -> None:
        """Go back (−1) or forth (+1) among the states. Raises FileFault at the end of them."""
        with self._lock:
            self._need_open()
            self._follow_file(writing=True)
            at = self._at + by
            if not 0 <= at < len(self._texts):
                raise FileFault("there is nothing to take back" if by < 0 else "there is nothing to bring back")
            write_whole(design_path(self.folder, self._file), self._texts[at])
            self._at = at
            self._revision += 1
            self._keep()

    def _push(self, text: str) -> None:
        """A new newest state; what was taken back before it is gone."""
        self._texts = [*self._texts[: self._at + 1], text][-KEPT_STATES:]
        self._at = len(self._texts) - 1

    def _need_open(self) -> None:
        if not self._file:
            raise FileFault([Fault("no design is open", "file", allowed="open or begin one first")])

    def _follow_file(self, writing: bool = False) -> None:
        """Take up what a person or another program has written into the file; what cannot be read is left alone.

        Raises FileFault where it is about to be written over something that cannot be read.
        """
        try:
            text = read_text(design_path(self.folder, self._file))
        except LobewrightError:
            if writing and (self.folder / self._file).exists():
                raise
            return
        if text != self._texts[self._at]:
            self._push(text)
            self._revision += 1

    def _kept_path(self) -> Path:
        return self.folder / KEPT_FOLDER / f"{self._file}.states.json"

    def _kept(self) -> tuple[list[str], int]:
        """States of earlier runs, and which of them is the newest; nothing where they cannot be read."""
        try:
            data = json.loads(self._kept_path().read_text("utf-8"))
            texts, at = data["texts"], data["at"]
        except (OSError, ValueError, KeyError, TypeError):
            return [], 0
        whole = isinstance(texts, list) and all(isinstance(one, str) for one in texts) and isinstance(at, int)
        return (texts, at) if whole and 0 <= at < len(texts) else ([], 0)

    def _keep(self) -> None:
        path = self._kept_path()
        try:
            if path.parent.is_symlink():
                return  # it may lead out of the folder
            path.parent.mkdir(exist_ok=True)
            write_whole(path, json.dumps({"texts": self._texts, "at": self._at}))
        except (OSError, LobewrightError):
            return  # the design itself is saved; only the way back beyond this run is not
