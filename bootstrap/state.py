"""What is installed in `.venv`, what ought to be, and what has to be done. No changes are made here."""

import csv
import hashlib
import json
import os
import re
import sysconfig
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path

STAGES = ("core", "cad", "test")  # each lock holds all of the one before
STAMP_VERSION = 1


@dataclass(frozen=True)
class Place:
    """The folders and files of one working copy."""

    root: Path

    @property
    def venv(self) -> Path:
        return self.root / ".venv"

    @property
    def stamp(self) -> Path:
        return self.venv / "lobewright-stamp.json"

    @property
    def log(self) -> Path:
        return self.root / ".start" / "install.log"

    @property
    def scripts(self) -> Path:
        return self.venv / ("Scripts" if os.name == "nt" else "bin")

    @property
    def python(self) -> Path:
        return self.scripts / ("python.exe" if os.name == "nt" else "python")

    @property
    def command(self) -> Path:
        return self.scripts / ("lobewright.exe" if os.name == "nt" else "lobewright")

    @property
    def site(self) -> Path:
        base = str(self.venv)
        return Path(sysconfig.get_path("purelib", "venv", {"base": base, "platbase": base}))

    def lock(self, stage: str) -> Path:
        return self.root / "requirements" / f"{stage}.txt"


class Venv(Enum):
    """What stands where `.venv` belongs."""

    ABSENT = "absent"
    WHOLE = "whole"
    UNUSABLE = "unusable"
    FOREIGN = "foreign"


class Action(Enum):
    """What has to be done before a stage can be used."""

    NOTHING = "nothing"
    MAKE = "make"
    REMAKE = "remake"
    INSTALL = "install"
    MEND = "mend"


@dataclass(frozen=True)
class Stamp:
    """What was last installed to the end: keys of stages, the package's own key, Python and folder."""

    python: str = ""
    root: str = ""
    package: str = ""
    stages: Mapping[str, str] = field(default_factory=dict)
    parts: Mapping[str, str] = field(default_factory=dict)  # normal name to version, of all stages

    def key(self, stage: str) -> str:
        return self.stages.get(stage, "")


def normal(name: str) -> str:
    """A distribution's name as package tools compare it."""
    return re.sub(r"[-_.]+", "-", name).lower()


def lock_key(lock: bytes) -> str:
    """A hash of what a lock asks for; line ends do not count, so that a checkout on Windows gives the same."""
    return hashlib.sha256(lock.replace(b"\r\n", b"\n")).hexdigest()


def package_key(pyproject: str) -> str:
    """A hash of the parts of pyproject.toml that installing in place reads."""
    tables = tomllib.loads(pyproject)
    read = {name: tables.get(name) for name in ("build-system", "project")}
    read["flit"] = tables.get("tool", {}).get("flit")
    return hashlib.sha256(json.dumps(read, sort_keys=True).encode()).hexdigest()


def parse_lock(text: str) -> dict[str, str]:
    """The blocks of a lock file by normal name: each block is a requirement line with its hashes."""
    blocks: dict[str, str] = {}
    name = ""
    for line in text.splitlines():
        start = re.match(r"([A-Za-z0-9][\w.-]*)==", line)
        if start:
            name = normal(start.group(1))
            blocks[name] = line
        elif name and line.lstrip().startswith("--hash="):
            blocks[name] += "\n" + line
    return blocks


def locked_version(block: str) -> str:
    return re.split(r"[\s;\\]", block.split("==", 1)[1], maxsplit=1)[0]


def read_stamp(path: Path) -> Stamp:
    """The stamp of the last install; an empty one when there is none or it cannot be read."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data["version"] != STAMP_VERSION:
            return Stamp()
        stages, parts = dict(data["stages"].items()), dict(data["parts"].items())
        return Stamp(str(data["python"]), str(data["root"]), str(data["package"]), stages, parts)
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return Stamp()


def write_stamp(path: Path, stamp: Stamp) -> None:
    """Writes the stamp so that an interruption leaves the old one or none, never half of one."""
    data = {
        "version": STAMP_VERSION,
        "python": stamp.python,
        "root": stamp.root,
        "package": stamp.package,
        "stages": dict(stamp.stages),
        "parts": dict(stamp.parts),
    }
    part = path.with_suffix(".part")
    part.write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    os.replace(part, path)


def installed(site: Path) -> dict[str, list[tuple[str, Path]]]:
    """Version and metadata folder of each distribution in a site-packages folder, by normal name."""
    found: dict[str, list[tuple[str, Path]]] = {}
    if site.is_dir():
        for folder in sorted(site.glob("*.dist-info")):
            name, _, version = folder.name.removesuffix(".dist-info").partition("-")
            found.setdefault(normal(name), []).append((version, folder))
    return found


def is_whole(folder: Path) -> bool:
    """Whether every file that an installed distribution recorded is there with its recorded size."""
    try:
        with open(folder / "RECORD", newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
    except (OSError, ValueError, csv.Error):
        return False
    if not rows:
        return False
    for row in rows:
        if len(row) != 3:
            return False
        name, _hash, size = row
        if name.endswith(".pyc"):  # compiled on the way, replaced at will
            continue
        try:
            there = os.stat(folder.parent / name).st_size
        except OSError:
            return False
        if size and there != int(size):
            return False
    return True


def broken_parts(site: Path, parts: Mapping[str, str]) -> list[str]:
    """Names out of `parts` (normal name to version) that are missing, of another version, double or damaged."""
    found = installed(site)
    broken = []
    for name, version in parts.items():
        here = found.get(name, [])
        if len(here) != 1 or here[0][0] != version or not is_whole(here[0][1]):
            broken.append(name)
    return broken


def stages_up_to(stage: str) -> tuple[str, ...]:
    return STAGES[: STAGES.index(stage) + 1]


def decide(venv: Venv, stamp: Stamp, wanted: Stamp, stage: str, broken: Iterable[str]) -> Action:
    """What has to be done for `stage`. `wanted` is the stamp that a complete install of it would leave."""
    if venv is Venv.ABSENT:
        return Action.MAKE
    if venv is not Venv.WHOLE:
        return Action.REMAKE
    if stamp.root and (stamp.python, stamp.root) != (wanted.python, wanted.root):
        return Action.REMAKE
    if any(stamp.key(name) != wanted.key(name) for name in stages_up_to(stage)):
        return Action.INSTALL
    if stamp.package != wanted.package:
        return Action.INSTALL
    return Action.MEND if list(broken) else Action.NOTHING
