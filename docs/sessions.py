"""Run what the documentation shows: every command and every Python example, page by page, each page in a fresh folder.

A fenced block marked `console` holds lines that begin with `$ ` (run) and what they print; a line with nothing but `…`
stands for any number of lines left out. A block marked `python` is executed; a `text` block right after it is what it
prints. Comments right before a block steer it and are invisible to readers:

    <!-- file NAME -->                write the block's text to this file
    <!-- edit FILE place=value … -->  make these edits first (the block shows the result to people)
    <!-- status 1 -->                 the last command of the block ends with this status
    <!-- not run: why -->             leave the block alone

`lobewright build` and `make` need the CAD kernel, `load` and `lesson` take their time; other tests make them for real: their
words are parsed and the design is read. `start.py` is parsed too. A page that speaks of `out/results.json` finds one there, of
the first example.
"""

from __future__ import annotations

import contextlib
import difflib
import inspect
import io
import os
import re
import shlex
import shutil
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lobewright import cli
from lobewright.design.edits import Edit, edit_file

DOCS = Path(__file__).parent
ROOT = DOCS.parent
LEFT_OUT = "…"
RESULTS = "out/results.json"
NUMBER = re.compile(r"[−-]?\d+(?:\.\d+)?")


@dataclass(frozen=True)
class Block:
    """A fenced block of a page; ``first`` and ``last`` are the line numbers of its content (0-based, last excluded)."""

    language: str
    lines: tuple[str, ...]
    first: int
    last: int
    marks: tuple[str, ...]

    def mark(self, name: str) -> str | None:
        """What follows a mark's name, or None."""
        for text in self.marks:
            if text.startswith(name):
                return text[len(name) :].strip(" :")
        return None


@dataclass
class Step:
    """One command of a block with the output that the page shows (page lines first to last)."""

    words: list[str]
    shown: tuple[str, ...]
    first: int
    last: int
    status: int = 0


@dataclass
class Difference:
    """Where a page and the program disagree."""

    page: Path
    line: int
    text: str
    step: Step | None = None
    printed: list[str] = field(default_factory=list)


def pages() -> list[Path]:
    """Every hand-written and generated page that may show commands."""
    return [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]


def blocks(text: str) -> Iterator[Block]:
    """The fenced blocks of a page with the marks right before them."""
    lines = text.splitlines()
    marks: list[str] = []
    number = 0
    while number < len(lines):
        line = lines[number]
        fence = re.match(r"^\s*```(\w*)\s*$", line)
        if fence:
            end = next(i for i in range(number + 1, len(lines)) if lines[i].strip() == "```")
            yield Block(fence.group(1), tuple(lines[number + 1 : end]), number + 1, end, tuple(marks))
            marks, number = [], end + 1
            continue
        comment = re.match(r"^<!-- (.*) -->$", line)
        if comment:
            marks.append(comment.group(1))
        elif line.strip():
            marks = []
        number += 1


def steps(block: Block) -> list[Step]:
    """The commands of a console block."""
    starts = [i for i, line in enumerate(block.lines) if line.startswith("$ ")]
    found = []
    for at, end in zip(starts, [*starts[1:], len(block.lines)], strict=True):
        words = shlex.split(block.lines[at][2:], comments=True)
        found.append(Step(words, block.lines[at + 1 : end], block.first + at + 1, block.first + end))
    if found and block.mark("status") is not None:
        found[-1].status = int(block.mark("status") or 0)
    return found


def _same_line(shown: str, printed: str) -> bool:
    """Equal text, and numbers equal to one unit of their last place (another machine may round the other way)."""
    if NUMBER.sub("#", shown.rstrip()) != NUMBER.sub("#", printed.rstrip()):
        return False
    for a, b in zip(NUMBER.findall(shown), NUMBER.findall(printed), strict=True):
        places = len(a.partition(".")[2])
        if places != len(b.partition(".")[2]):
            return False
        apart = abs(float(a.replace("−", "-")) - float(b.replace("−", "-")))
        if apart > (1.01 * 10.0**-places if places else 0.0):
            return False
    return True


def _pieces(shown: tuple[str, ...]) -> list[list[str]]:
    """What a page shows, cut where lines are left out."""
    pieces: list[list[str]] = [[]]
    for line in shown:
        if line.strip() == LEFT_OUT:
            pieces.append([])
        else:
            pieces[-1].append(line)
    return pieces


def mismatch(shown: tuple[str, ...], printed: list[str]) -> str:
    """Why the shown output is not what was printed; empty when it is."""
    pieces = _pieces(shown)
    at = 0
    for number, piece in enumerate(pieces):
        first, last = number == 0, number == len(pieces) - 1
        room = len(printed) - len(piece)
        places = range(at, room + 1) if not first else range(0, 1)
        if last and piece and not first:
            places = range(max(at, room), room + 1)
        hit = next((p for p in places if all(map(_same_line, piece, printed[p : p + len(piece)]))), None)
        if hit is None or hit + len(piece) > len(printed):
            near = difflib.get_close_matches(piece[0], printed, n=1) if piece else []
            return f"shown but not printed so: {piece[0] if piece else ''!r}; nearest printed line: {near}"
        at = hit + len(piece)
    if len(pieces) == 1 and at != len(printed):
        return f"{len(printed) - at} more lines are printed than shown, from {printed[at]!r}"
    return ""


PARSED_ONLY = ("build", "lesson", "life", "load", "make")


def _command(words: list[str]) -> tuple[list[str], int]:
    """Run `lobewright …` in this process: printed lines and exit status."""
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            if words[0] in PARSED_ONLY:
                asked = cli.parser().parse_args(words)
                from lobewright.design.files import read

                read(asked.file)
                return [], 0
            status = cli.main(words)
        except SystemExit as end:
            status = int(end.code or 0)
    return [line for line in said.getvalue().splitlines() if not line.startswith("… ")], status


def run_step(step: Step) -> tuple[list[str], int] | None:
    """Run one command line; None for those that are parsed only."""
    program, *rest = step.words
    if program == "lobewright":
        parsed_only = rest[:1] and rest[0] in PARSED_ONLY
        done = _command(rest)
        return None if parsed_only and done[1] == 0 else done
    if Path(program).name in {"python3", "py"} and rest[:1] == ["start.py"]:
        from bootstrap.run import parse

        parse(rest[1:])
        return None
    raise AssertionError(f"the docs may only show lobewright and start.py as commands, not {program}")


def _value(text: str) -> Any:
    return None if text == "none" else tomllib.loads(f"x = {text}")["x"]


def _edit(mark: str) -> None:
    file, *changes = shlex.split(mark, posix=False)
    edits = tuple(Edit(place, _value(value)) for place, value in (change.split("=", 1) for change in changes))
    path = Path(file)
    path.write_text(edit_file(path, edits), "utf-8")


def _python(block: Block, names: dict[str, Any]) -> list[str]:
    """Run a Python example; `lobewright.build` is replaced by a check of its arguments."""
    import lobewright

    def stand_in(*arguments: Any, **named: Any) -> Any:
        inspect.signature(real).bind(*arguments, **named)
        return lobewright.assess(arguments[0])

    real: Callable[..., Any] = lobewright.build
    said = io.StringIO()
    lobewright.build = stand_in  # type: ignore[assignment]
    try:
        with contextlib.redirect_stdout(said):
            exec(compile("\n".join(block.lines), "example", "exec"), names)
    finally:
        lobewright.build = real  # type: ignore[assignment]
    return said.getvalue().splitlines()


@contextlib.contextmanager
def _fresh_folder() -> Iterator[Path]:
    """A folder with the examples in it, stood in for as long as the page runs."""
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as name:
        shutil.copytree(ROOT / "examples", Path(name) / "examples")
        os.chdir(name)
        try:
            yield Path(name)
        finally:
            os.chdir(before)


def _write_results(path: Path) -> None:
    """The results file of a build of the first example, without its parts."""
    from lobewright.assessment.run import assess
    from lobewright.design.files import read
    from lobewright.report.results_json import results_text

    path.parent.mkdir()
    path.write_text(results_text(assess(read("examples/azimuth_belt.toml")), None), "utf-8")


def run_page(path: Path) -> list[Difference]:
    """Run a page from top to bottom; everything in which it differs from what it shows."""
    found: list[Difference] = []
    names: dict[str, Any] = {}
    printed_by_python: list[str] | None = None
    text = path.read_text("utf-8")
    with _fresh_folder() as folder:
        if RESULTS in text:
            _write_results(folder / RESULTS)
        for block in blocks(text):
            if block.mark("not run") is not None:
                continue
            if (file := block.mark("file")) is not None:
                Path(file).write_text("\n".join(block.lines) + "\n", "utf-8")
            if (edit := block.mark("edit")) is not None:
                _edit(edit)
            if block.language == "console":
                found += _run_console(path, block)
            shown = block.language == "text" and printed_by_python is not None
            if shown and (why := mismatch(block.lines, printed_by_python or [])):
                step = Step([], block.lines, block.first, block.last)
                found.append(Difference(path, block.first + 1, why, step, printed_by_python or []))
            printed_by_python = _python(block, names) if block.language == "python" else None
    return found


def _run_console(path: Path, block: Block) -> list[Difference]:
    found = []
    for step in steps(block):
        done = run_step(step)
        if done is None:
            continue
        printed, status = done
        said = " ".join(step.words)
        if status != step.status:
            found.append(
                Difference(path, step.first, f"`{said}` ended with {status}, not {step.status}: {printed[-5:]}")
            )
        why = mismatch(step.shown, printed)
        if why:
            found.append(Difference(path, step.first, f"`{said}`: {why}", step, printed))
    return found


def _renewed(shown: tuple[str, ...], printed: list[str]) -> list[str]:
    """Shown output with every piece replaced by the lines printed where it fits best."""
    pieces, lines, at = _pieces(shown), [], 0
    if len(pieces) == 1:
        return printed
    for number, piece in enumerate(pieces):
        if number:
            lines.append(LEFT_OUT)
        if not piece:
            continue
        blank = NUMBER.sub("#", "\n".join(piece))
        places = range(at, max(at, len(printed) - len(piece)) + 1)
        if number == 0:
            places = range(0, 1)
        elif number == len(pieces) - 1:
            places = range(max(0, len(printed) - len(piece)), max(0, len(printed) - len(piece)) + 1)
        best = max(
            places,
            key=lambda p: difflib.SequenceMatcher(
                None,
                blank,
                NUMBER.sub("#", "\n".join(printed[p : p + len(piece)])),
            ).ratio(),
        )
        lines += printed[best : best + len(piece)]
        at = best + len(piece)
    return lines


def renew(path: Path) -> None:
    """Put what the commands print now in place of what the page shows; says what else differs."""
    differences = run_page(path)
    lines = path.read_text("utf-8").splitlines()
    for one in reversed(differences):
        if one.step is None:
            print(f"{path.name}, line {one.line}: {one.text}")
            continue
        lines[one.step.first : one.step.last] = _renewed(one.step.shown, one.printed)
        print(f"{path.name}, line {one.line}: output renewed")
    if differences:
        path.write_text("\n".join(lines) + "\n", "utf-8")
