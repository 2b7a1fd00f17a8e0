"""The one tree of errors that a user of Lobewright can meet.

Every error is one or more :class:`Fault` rows. A fault says in one sentence what is wrong, where it stands, which
value was found, and what is allowed with its unit. The command prints the sentences and leaves with exit status 2;
the API offers the same rows as data (:meth:`LobewrightError.as_json`).

::

    LobewrightError
      FileFault          a file cannot be used at all (missing, folder, binary, too large, not TOML)
      ChangedMeanwhile   another design, or another state of it, is open than was meant (a FileFault)
      DesignFault        a design or workshop file is read, but what it says cannot be built on
      CatalogueFault     a name that no catalogue row bears
      UnitFault          text that is not a number with a fitting unit
      MotionFault        held, driven and read members that give no unique ratio
      ConvergenceFault   a computation that did not settle; carries the last good state
      OutputFault        a result folder that cannot be written or must not be replaced
      PlatformFault      a piece of the installation that this command needs is missing
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

MOST_FAULTS_SHOWN = 20
LONGEST_VALUE = 80
LONGEST_PATH = 240


def clipped(text: str, most: int = LONGEST_VALUE) -> str:
    """Text of a file on one line, short enough to be read."""
    line = "".join(letter if letter.isprintable() else repr(letter)[1:-1] for letter in text[: most + 1])
    return line if len(line) <= most else line[: most - 3] + "..."


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong.

    ``place`` is a dotted key (``rigid_ring[1].teeth``) or empty, ``line`` the line in the file where known (1-based,
    0 = not known), ``value`` the value as text, ``allowed`` what would be right, with its unit.
    """

    what: str
    place: str = ""
    line: int = 0
    value: str = ""
    allowed: str = ""

    def sentence(self, file: str = "") -> str:
        """The fault as one sentence, the form that people read."""
        head = clipped(file, LONGEST_PATH)
        if self.line:
            head = f"{head}, line {self.line}" if file else f"line {self.line}"
        parts = [p for p in (head, self.place) if p]
        text = ": ".join([*parts, self.what])
        if self.value:
            text += f" (found {clipped(self.value)})"
        if self.allowed:
            text += f"; allowed: {self.allowed}"
        return text.rstrip(".") + "."


class LobewrightError(Exception):
    """Base of all errors; holds every fault found, not only the first."""

    def __init__(self, faults: Iterable[Fault] | str, file: str = "") -> None:
        self.faults = (Fault(faults),) if isinstance(faults, str) else tuple(faults)
        self.file = file
        super().__init__("\n".join(self.sentences()))

    def sentences(self) -> list[str]:
        """At most 20 sentences; a last line counts the rest."""
        shown = [f.sentence(self.file) for f in self.faults[:MOST_FAULTS_SHOWN]]
        rest = len(self.faults) - len(shown)
        if rest > 0:
            shown.append(f"{rest} more fault{'s' if rest > 1 else ''} not shown.")
        return shown

    def as_json(self) -> dict[str, object]:
        """The one JSON shape of an error, the same in the command and the API."""
        return {
            "error": type(self).__name__,
            "file": self.file,
            "faults": [
                {
                    "what": f.what,
                    "place": f.place,
                    "line": f.line,
                    "value": f.value,
                    "allowed": f.allowed,
                    "sentence": f.sentence(self.file),
                }
                for f in self.faults
            ],
        }


class FileFault(LobewrightError):
    """A file that cannot be used at all."""


class ChangedMeanwhile(FileFault):
    """What was asked is about another design, or another state of it, than what is open now; nothing was done."""


class DesignFault(LobewrightError):
    """A design or workshop file whose content cannot be built on."""


class CatalogueFault(LobewrightError):
    """A name that no row of the catalogue bears."""


class UnitFault(LobewrightError):
    """Text that is not a number with a fitting unit."""


class MotionFault(LobewrightError):
    """A choice of held, driven and read members that gives no unique ratio."""


class ConvergenceFault(LobewrightError):
    """A computation that did not settle. ``last_good`` is the last state that did, or None."""

    def __init__(self, faults: Iterable[Fault] | str, last_good: object = None) -> None:
        super().__init__(faults)
        self.last_good = last_good


class OutputFault(LobewrightError):
    """A result folder that cannot be written or must not be replaced."""


class PlatformFault(LobewrightError):
    """A library or system piece that this command needs is not there."""


def lacking(needs: str, error: ImportError, extra: str = "cad") -> PlatformFault:
    """What to raise where a library of an extra is missing; ``needs``: what needs which library, in words."""
    allowed = f'install the extra "{extra}": python start.py, or pip install "lobewright[{extra}]"'
    return PlatformFault([Fault(f"{needs}, which cannot be loaded here ({error})", allowed=allowed)])


def nearest(name: str, known: Iterable[str]) -> str:
    """``did you mean …?`` for the nearest known names, or the whole list when it is short."""
    names = sorted(known)
    close = difflib.get_close_matches(name, names, n=3, cutoff=0.55)
    if close:
        return "nearest: " + ", ".join(close)
    return "one of " + ", ".join(names) if len(names) <= 12 else f"{len(names)} names, none is near"
