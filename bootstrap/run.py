"""The two things start.py is asked for: the demonstration and the tests."""

import argparse
import errno
import os
import time
import webbrowser
from collections.abc import Sequence
from pathlib import Path

from bootstrap import machine
from bootstrap.install import ensure, room_needed_mb
from bootstrap.runner import run_shown
from bootstrap.state import Place
from bootstrap.words import CANNOT_START, Fault, complain, say

EXAMPLES = ("azimuth_belt", "elevation_printed", "focus_steel")
OUT = "demo-out"


def parse(arguments: Sequence[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="start.py",
        allow_abbrev=False,
        description="Sets Lobewright up in this folder (in .venv) and runs it.",
    )
    jobs = parser.add_subparsers(dest="job", required=True, metavar="demo|test")
    for name, words in (("demo", "set up, judge and build the examples"), ("test", "set up and run the tests")):
        job = jobs.add_parser(name, help=words, description=words, allow_abbrev=False)
        job.add_argument("--wheels", metavar="DIR", type=Path, help="install from this folder, without network")
    found, rest = parser.parse_known_args(arguments)
    if rest and found.job != "test":
        parser.error(f"demo does not take {' '.join(rest)}")
    found.rest = rest[1:] if rest[:1] == ["--"] else rest
    return found


def step(place: Place, words: str, command: Sequence[str]) -> None:
    """Runs one command whose output is shown. Raises Fault with the command's exit code when it fails."""
    say(f"\n-- {words}")
    start = time.monotonic()
    code = run_shown(command, place.root)
    if code != 0:
        raise Fault(f"`{' '.join(command)}` ended with exit code {code}; its own message is above.", code)
    say(f"-- done in {time.monotonic() - start:.1f} s")


def lobewright(place: Place, words: str, *arguments: str) -> None:
    step(place, f"{words}: lobewright {' '.join(arguments)}", [str(place.command), *arguments])


def warm(place: Place) -> None:
    step(place, "compiling the number kernels (once)", [str(place.python), "-m", "lobewright.compile_kernels"])


def show(page: Path, facts: machine.Facts, env: dict[str, str]) -> None:
    """Says where a page is and opens it where somebody can see it. Raises Fault when the page was not made."""
    if not page.is_file():
        raise Fault(f"The page {page} was not made, although the command before ended well.", 1)
    say(f"   page: {page}")
    if machine.screen_exists(facts.system, env):
        webbrowser.open(page.as_uri())


def demo(place: Place, wheels: Path | None, facts: machine.Facts, env: dict[str, str]) -> int:
    ensure(place, "core", wheels, facts)
    warm(place)
    for name in EXAMPLES:
        lobewright(place, "verdicts", "check", f"examples/{name}.toml")
    page = place.root / OUT / f"moving_{EXAMPLES[0]}.html"
    script = place.root / "bootstrap" / "moving_page.py"
    step(place, "moving picture", [str(place.python), str(script), f"examples/{EXAMPLES[0]}.toml", str(page)])
    show(page, facts, env)
    say("")
    ensure(place, "cad", wheels, facts)
    for name in EXAMPLES:
        lobewright(place, "build", "build", f"examples/{name}.toml", "--out", f"{OUT}/{name}")
    say("\nThe demonstration is complete. Results:")
    for name in EXAMPLES:
        say(f"   {place.root / OUT / name}")
    show(place.root / OUT / EXAMPLES[0] / "report.html", facts, env)
    return 0


def test(place: Place, wheels: Path | None, facts: machine.Facts, rest: Sequence[str]) -> int:
    ensure(place, "test", wheels, facts)
    warm(place)
    # two workers, and a file's tests stay together because they share slow fixtures; later arguments win
    arguments = ["-n", "2", "--dist", "loadfile", *rest]
    say(f"\n-- pytest {' '.join(arguments)}")
    return run_shown([str(place.python), "-m", "pytest", *arguments], place.root)


def check_machine(place: Place, stage: str) -> machine.Facts:
    facts = machine.look(place.root)
    if sentence := machine.first_fault(facts, room_needed_mb(place, stage), place.root):
        raise Fault(sentence)
    return facts


def main(arguments: Sequence[str]) -> int:
    """Runs start.py's command line and returns its exit code; foreseeable failures become one sentence."""
    place = Place(Path(__file__).resolve().parent.parent)
    try:
        asked = parse(arguments)
        wheels = asked.wheels.resolve() if asked.wheels else None
        if wheels and not wheels.is_dir():
            raise Fault(f"--wheels names {wheels}, which is not a folder: give the folder that holds the wheels.")
        facts = check_machine(place, "test" if asked.job == "test" else "cad")
        if asked.job == "test":
            return test(place, wheels, facts, asked.rest)
        return demo(place, wheels, facts, dict(os.environ))
    except Fault as fault:
        complain(fault.sentence)
        return fault.exit_code
    except KeyboardInterrupt:
        complain("Stopped. Run start.py again to go on from here.")
        return 130
    except BrokenPipeError:  # whoever read our lines has gone
        return 1
    except OSError as error:
        if error.errno == errno.ENOSPC:
            complain("The disk is full: make room and run start.py again.")
        else:
            complain(f"{error.filename or place.root} could not be used: {error.strerror}.")
        return CANNOT_START
