"""The command. A thin door: it reads words, calls the rooms, prints, and sets the exit status.

Exit status: 0 done and no verdict failed; 1 a verdict failed (or, with ``--strict``, one was not made); 2 the input
cannot be used, with one sentence a fault.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import FrameType
from typing import Any

from lobewright import __version__
from lobewright.errors import ConvergenceFault, DesignFault, LobewrightError, MotionFault

SLOW_SECONDS = 1.0


def _progress() -> Callable[[str, float], None]:
    """A callback that stays silent for the first second, then tells on standard error what is being done, each line once."""
    start, last = time.monotonic(), ""

    def tell(word: str, share: float) -> None:
        nonlocal last
        line = f"… {word} ({share:.0%})"
        if line != last and time.monotonic() - start >= SLOW_SECONDS:
            last = line
            print(line, file=sys.stderr, flush=True)

    return tell


def _say(data: dict[str, Any]) -> None:
    print(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))


@contextlib.contextmanager
def _faults_of(path: str) -> Iterator[None]:
    """Faults of a design that only its computation finds name its file and line too."""
    try:
        yield
    except (DesignFault, MotionFault, ConvergenceFault) as error:
        if not error.file:
            from lobewright.design.files import locate

            locate(error, path)
        raise


def _new(words: argparse.Namespace) -> int:
    from lobewright.design.starters import starter
    from lobewright.design.writing import write_new

    path = Path(words.file)
    write_new(path, starter(words.kind, words.name or path.stem.replace("_", " ")))
    step = "name it in a design" if words.kind == "workshop" else f"lobewright check {path}"
    print(f"{path}: a starter for {words.kind}. Next: {step}")
    return 0


def _check(words: argparse.Namespace) -> int:
    from lobewright.advice import suggestions
    from lobewright.assessment.run import assess
    from lobewright.command_words import check_json, check_text, exit_status
    from lobewright.design.files import read

    progress = _progress()
    with _faults_of(words.file):
        found = assess(read(words.file), progress)
    advice = suggestions(found, progress)
    if words.json:
        _say(check_json(found, advice))
    else:
        print(check_text(found, advice))
    return exit_status(found, words.strict)


def _build(words: argparse.Namespace) -> int:
    from lobewright.build_folder import build
    from lobewright.command_words import exit_status, verdict_lines
    from lobewright.design.files import read
    from lobewright.design.named import files_of
    from lobewright.workers import all_cores

    out = Path(words.out)
    with _faults_of(words.file), all_cores() as mapper:
        found = build(read(words.file), out, _progress(), mapper, files_of(Path(words.file)))
    print("\n".join(verdict_lines(found)))
    print(f"\nEverything is in {out}: begin with {out / 'report.html'} and {out / 'motion.html'}.")
    return exit_status(found, words.strict)


def _load(words: argparse.Namespace) -> int:
    from lobewright.asking import ask_load
    from lobewright.command_words import exit_status
    from lobewright.design.files import read
    from lobewright.load_words import load_json, load_text
    from lobewright.workers import all_cores

    progress = _progress()
    with _faults_of(words.file), all_cores() as mapper:
        found, loads, advice = ask_load(read(words.file), progress, mapper)
    if words.json:
        _say(load_json(found, loads, advice))
    else:
        print(load_text(found, loads, advice))
    return exit_status(found, words.strict)


def _life(words: argparse.Namespace) -> int:
    from lobewright.asking import ask_life
    from lobewright.command_words import exit_status
    from lobewright.design.files import read
    from lobewright.life_words import life_json, life_text
    from lobewright.workers import all_cores

    progress = _progress()
    with _faults_of(words.file), all_cores() as mapper:
        found, lasting, tried, advice = ask_life(read(words.file), progress, mapper)
    if words.json:
        _say(life_json(found, lasting, tried, advice))
    else:
        print(life_text(found, lasting, tried, advice))
    return exit_status(found, words.strict)


def _make(words: argparse.Namespace) -> int:
    from lobewright.command_words import exit_status
    from lobewright.design.files import read
    from lobewright.design.named import files_of
    from lobewright.make_folder import make
    from lobewright.make_words import make_text
    from lobewright.workers import all_cores

    out = Path(words.out)
    with _faults_of(words.file), all_cores() as mapper:
        found, made = make(read(words.file), out, _progress(), mapper, files_of(Path(words.file)))
    print(make_text(found, made, out))
    return exit_status(found, words.strict)


def _lesson(words: argparse.Namespace) -> int:
    from dataclasses import replace

    from lobewright.command_words import exit_status
    from lobewright.design.files import read
    from lobewright.lesson_folder import write_lesson
    from lobewright.lesson_words import asked_lesson, lesson_text
    from lobewright.workers import all_cores

    out = Path(words.out)
    lesson = asked_lesson(words.file, words.language, words.scene, words.film, words.students, words.date)
    lesson = replace(lesson, paper=not words.no_paper, stills=not words.no_stills)
    if words.share is not None:
        from lobewright.web.share import ready

        ready(words.share, words.port)  # said before the work, not after it
    with _faults_of(str(lesson.design)), all_cores() as mapper:
        design = read(lesson.design)
        made = write_lesson(design, lesson, out, _progress(), mapper)
    print(lesson_text(made, out), flush=True)
    if words.share is not None:
        from lobewright.teach.language import Language
        from lobewright.web.share import share

        title, language = lesson.title or design.name, Language(lesson.language)
        share(out, title, language, words.share, words.port, lambda line: print(line, flush=True))
    return exit_status(made.found, words.strict)


def _address(word: str) -> str:
    """What stands behind ``--share``. Raises ArgumentTypeError for a file: it was meant to be taught, and was taken for this."""
    if word.endswith(".toml") or Path(word).is_file():
        told = f"{word} is a file, and an address of this computer may stand here: name the file first, then --share"
        raise argparse.ArgumentTypeError(told)
    return word


def _compare(words: argparse.Namespace) -> int:
    from lobewright.assessment.compare import compare
    from lobewright.assessment.run import assess
    from lobewright.command_words import comparison_json, comparison_text
    from lobewright.design.files import read

    progress = _progress()
    with _faults_of(words.first):
        first = assess(read(words.first), progress)
    with _faults_of(words.second):
        second = assess(read(words.second), progress)
    rows = compare(first, second)
    if words.json:
        _say(comparison_json(rows))
    else:
        print(comparison_text(words.first, words.second, rows))
    return 0


def _calibrate(words: argparse.Namespace) -> int:
    from lobewright.calibrate_words import write_coupons, write_readings

    if words.out is not None:
        print(write_coupons(words.file, words.out))
    else:
        print(write_readings(words.file, words.readings))
    return 0


def _belts(words: argparse.Namespace) -> int:
    from lobewright.command_words import belts_json, belts_text
    from lobewright.design.catalogue import nearest_belts

    found = nearest_belts(words.pitch, words.thickness, words.tooth)
    if words.json:
        _say(belts_json(found))
    else:
        print(belts_text(found))
    return 0


def _evidence(words: argparse.Namespace) -> int:
    from lobewright.published import as_json, as_text, run_cases

    rows = run_cases()
    if words.json:
        _say(as_json(rows))
    else:
        print(as_text(rows))
    return 1 if any(row.failed for row in rows) else 0


def _open(words: argparse.Namespace) -> int:
    from lobewright.web.serve import serve

    serve(words.file, words.port, not words.no_browser, lambda line: print(line, flush=True))
    return 0


def parser() -> argparse.ArgumentParser:
    """The command's grammar; the reference page in the docs is made from it."""
    top = argparse.ArgumentParser(
        prog="lobewright", description="Design, make, prove, teach and keep strain wave drives."
    )
    top.add_argument("--version", action="version", version=f"lobewright {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")

    def command(name: str, action: Callable[[argparse.Namespace], int], text: str) -> argparse.ArgumentParser:
        one = commands.add_parser(name, help=text, description=text)
        one.set_defaults(action=action)
        return one

    new = command("new", _new, "Write a commented starter design.")
    new.add_argument(
        "kind", help="belt, printed_ring, printed_cup, metal_cup, a pair such as belt-rollers, or workshop"
    )
    new.add_argument("file", help="the file to write; an existing one is never replaced")
    new.add_argument("--name", help="name of the drive; the file's name without it")
    check = command("check", _check, "Compute a design and print its verdicts, with edits that would help.")
    check.add_argument("file", help="a design file")
    check.add_argument("--strict", action="store_true", help="a check that is not made counts as failed")
    check.add_argument("--json", action="store_true", help="print data")
    load = command("load", _load, "Compute a design under torque: stiffness, load share, skipping, each with its band.")
    load.add_argument("file", help="a design file")
    load.add_argument("--strict", action="store_true", help="a check that is not made counts as failed")
    load.add_argument("--json", action="store_true", help="print data")
    life = command("life", _life, "Ask what breaks or wears out first in the duty, and when, each with its band.")
    life.add_argument("file", help="a design file")
    life.add_argument("--strict", action="store_true", help="a check that is not made counts as failed")
    life.add_argument("--json", action="store_true", help="print data")
    make = command(
        "make", _make, "Make what the bench needs: parts, assembly, drawings, instructions, parts list, racks."
    )
    make.add_argument("file", help="a design file")
    make.add_argument(
        "--out",
        required=True,
        help="folder for the results; an earlier one there is replaced, unless files of your own are in it",
    )
    make.add_argument("--strict", action="store_true", help="a check that is not made counts as failed")
    make.set_defaults(json=False)
    build = command("build", _build, "Make everything: numbers, report, moving picture, parts list and parts.")
    build.add_argument("file", help="a design file")
    build.add_argument(
        "--out",
        required=True,
        help="folder for the results; an earlier build there is replaced, unless files of your own are in it",
    )
    build.add_argument("--strict", action="store_true", help="a check that is not made counts as failed")
    build.set_defaults(json=False)
    lesson = command(
        "lesson",
        _lesson,
        "Make a lesson: moving pages, pictures, captions, hand-outs with answers, films where asked for.",
    )
    lesson.add_argument("file", help="a design file, or a lesson file that names one")
    lesson.add_argument(
        "--out",
        required=True,
        help="folder for the results; an earlier one there is replaced, unless files of your own are in it",
    )
    lesson.add_argument("--language", help="en or de; without it what the lesson file says, or en")
    lesson.add_argument(
        "--scene", action="append", default=[], help="this scene only; may be given several times, all without it"
    )
    lesson.add_argument(
        "--film",
        action="append",
        default=[],
        help="also films of all scenes: 1080p60 or 4k30 (MP4), gif, frames (PNG without background); may be given several times",
    )
    lesson.add_argument(
        "--students", help="a hand-out of its own for each: how many, or a text file with one name a line"
    )
    lesson.add_argument("--date", help="day of the lesson, as 2026-12-07; the plan counts back from it")
    lesson.add_argument("--no-stills", action="store_true", help="leave out pictures of chosen moments")
    lesson.add_argument("--no-paper", action="store_true", help="leave out hand-outs, questions and plan")
    lesson.add_argument(
        "--share",
        nargs="?",
        const="",
        type=_address,
        metavar="ADDRESS",
        help="then let the local network read the class's part of it until you press Ctrl+C",
    )
    lesson.add_argument("--port", type=int, default=0, help="port for --share; a free one without it")
    lesson.add_argument("--strict", action="store_true", help="a check that is not made counts as failed")
    lesson.set_defaults(json=False)
    compare = command("compare", _compare, "Say what changed between two designs in every headline number.")
    compare.add_argument("first")
    compare.add_argument("second")
    compare.add_argument("--json", action="store_true", help="print data")
    live = command(
        "open", _open, "Open the live page: every number, picture and verdict follows as you change the design."
    )
    live.add_argument(
        "file", nargs="?", default="", help="a design file or a folder of them; the current folder without it"
    )
    live.add_argument("--port", type=int, default=0, help="port on this computer; a free one without it")
    live.add_argument("--no-browser", action="store_true", help="print the address only")
    calibrate = command(
        "calibrate", _calibrate, "Make coupons for a printer, or set its allowances from their readings."
    )
    calibrate.add_argument("file", help="a workshop file")
    task = calibrate.add_mutually_exclusive_group(required=True)
    task.add_argument("--out", help="folder for the coupons, their sheet and the table to fill in")
    task.add_argument("--readings", help="the filled-in table; what it tells goes into the workshop file")
    belts = command("belts", _belts, "Find the catalogue belts nearest to caliper readings.")
    belts.add_argument(
        "--pitch", type=float, required=True, help="mm from tooth to tooth: measure over ten, divide by ten"
    )
    belts.add_argument("--thickness", type=float, required=True, help="mm over a tooth, back to tip")
    belts.add_argument("--tooth", choices=("round", "trapezoid"), required=True, help="how the tooth looks")
    belts.add_argument("--json", action="store_true", help="print data")
    evidence = command("evidence", _evidence, "Run the published checks and print a row each.")
    evidence.add_argument("--json", action="store_true", help="print data")
    return top


class _Ended(KeyboardInterrupt):
    """The system, or somebody else's program, asks this one to end: it does so as at a key pressed."""


@contextlib.contextmanager
def _ending_well() -> Iterator[None]:
    """While it lasts, being asked to end takes away what is half-written, as the stop key does; asking again hurries nothing."""
    asked = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    if threading.current_thread() is not threading.main_thread():
        asked = []
    ours = [one for one in asked if signal.getsignal(one) is signal.SIG_DFL]  # who started us may want it ignored

    def end(number: int, frame: FrameType | None) -> None:
        for one in ours:
            signal.signal(one, signal.SIG_IGN)
        raise _Ended(number)

    for one in ours:
        signal.signal(one, end)
    try:
        yield
    finally:
        for one in ours:
            signal.signal(one, signal.SIG_DFL)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; returns the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and stream.encoding.lower().replace("-", "") != "utf8":
            stream.reconfigure(encoding="utf-8")  # minus signs and Greek letters are not in every code page
    words = parser().parse_args(arguments)
    try:
        with _ending_well():
            status: int = words.action(words)
        sys.stdout.flush()  # a reader that has gone away shows here, not after the last line of ours
        return status
    except LobewrightError as error:
        if getattr(words, "json", False):
            _say(error.as_json())
        print("\n".join(error.sentences()), file=sys.stderr)
        return 2
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt as error:
        print("Stopped; nothing was left half-written.", file=sys.stderr)
        return 128 + (error.args[0] if isinstance(error, _Ended) else signal.SIGINT)


if __name__ == "__main__":
    sys.exit(main())
