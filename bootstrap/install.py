"""Keeps `.venv` whole: makes it, installs a stage from its lock, mends what is damaged, leaves a stamp."""

import shutil
import sys
import time
import tomllib
from dataclasses import replace
from pathlib import Path

from bootstrap import machine
from bootstrap.runner import pip_fault, run_asked, run_logged
from bootstrap.state import (
    Action,
    Place,
    Stamp,
    Venv,
    broken_parts,
    decide,
    installed,
    is_whole,
    lock_key,
    locked_version,
    package_key,
    parse_lock,
    read_stamp,
    stages_up_to,
    write_stamp,
)
from bootstrap.words import INSTALL_FAILED, Fault, say

# Room that .venv takes when a stage is complete (measured on Linux: 326, 1410 and 1800 MB), and pip's downloads.
STAGE_MB = {"core": 500, "cad": 1900, "test": 2300}
STAGE_WORDS = {
    "core": "the light core",
    "cad": "the CAD kernel, finite elements and films (a download of about 290 MB)",
    "test": "the test tools",
}
PROBES = {
    "core": "import flit_core, numba, numpy, pydantic, shapely, tomlkit",
    "cad": "import OCP.gp, av, build123d, ezdxf, lib3mf, scipy.sparse, skfem, skia, trimesh",
    "test": "import hypothesis, importlinter, jsonschema, playwright, pytest, pytest_timeout, xdist",
}


def python_name() -> str:
    return f"{sys.version_info.major}.{sys.version_info.minor}"


def wanted_stamp(place: Place, stage: str, before: Stamp) -> Stamp:
    """The stamp after a complete install of `stage`, other stages as they were; parts are filled in later."""
    stages = dict(before.stages)
    for name in stages_up_to(stage):
        stages[name] = lock_key(place.lock(name).read_bytes())
    package = package_key((place.root / "pyproject.toml").read_text(encoding="utf-8"))
    return Stamp(python_name(), str(place.root), package, stages, before.parts)


def look_at_venv(place: Place) -> Venv:
    """Runs the Python in `.venv` to see what it is."""
    if not place.venv.exists() and not place.venv.is_symlink():
        return Venv.ABSENT
    if not (place.venv / "pyvenv.cfg").is_file():
        empty = place.venv.is_dir() and not any(place.venv.iterdir())
        return Venv.ABSENT if empty else Venv.FOREIGN
    ask = "import sys; print(sys.version_info[0], sys.version_info[1], sys.prefix, sep='|')"
    code, answer = run_asked([str(place.python), "-I", "-c", ask], place.root)
    expected = f"{sys.version_info.major}|{sys.version_info.minor}|"
    if code != 0 or not answer.startswith(expected):
        return Venv.UNUSABLE
    prefix = Path(answer.strip().split("|", 2)[2])
    return Venv.WHOLE if prefix.resolve() == place.venv.resolve() else Venv.UNUSABLE


def make_venv(place: Place, action: Action) -> None:
    """Makes `.venv`, after taking away an unusable one. Raises Fault when that cannot be done."""
    if action is Action.REMAKE:
        if Path(sys.prefix).resolve() == place.venv.resolve():
            raise Fault(
                "The environment .venv has to be made anew but start.py runs from it: type `deactivate`, then again."
            )
        say("-- .venv cannot be used as it is (another Python, another folder, or damaged): making it anew")
        try:
            shutil.rmtree(place.venv)
        except OSError as error:
            raise Fault(
                f"The folder {place.venv} could not be removed ({error.strerror}): remove it by hand."
            ) from error
    say(f"-- making the environment .venv with Python {python_name()}")
    base = getattr(sys, "_base_executable", None) or sys.executable
    code, output = run_logged([base, "-m", "venv", str(place.venv)], place.root, place.log)
    if code != 0:
        if "No space left" in output:
            raise Fault("The disk became full while making .venv: make room and run start.py again.", INSTALL_FAILED)
        last = (output.strip().splitlines() or ["no message"])[-1]
        raise Fault(f"Python could not make the environment .venv: {last} (all of it: {place.log}).", INSTALL_FAILED)


def pip(place: Place, arguments: list[str], wheels: Path | None) -> None:
    """Runs pip in `.venv` with its output in the log. Raises Fault with one sentence when it fails."""
    source = ["--no-index", "--find-links", str(wheels)] if wheels else ["--retries", "3"]
    start = [str(place.python), "-m", "pip", "--disable-pip-version-check", "--no-input", "install"]
    code, output = run_logged([*start, "--no-deps", *source, *arguments], place.root, place.log)
    if code != 0:
        raise pip_fault(output, place.log, wheels)


def pip_works(place: Place) -> bool:
    return run_asked([str(place.python), "-m", "pip", "--version"], place.root)[0] == 0


def stage_blocks(place: Place, stage: str) -> dict[str, str]:
    return parse_lock(place.lock(stage).read_text(encoding="utf-8"))


def present_parts(place: Place, stage: str) -> dict[str, str]:
    """Name and locked version of those parts of a stage's lock that are installed here.

    A lock also names parts for other systems; pip has judged that, so after it succeeded what is here is the list.
    """
    here = installed(place.site)
    return {name: locked_version(block) for name, block in stage_blocks(place, stage).items() if name in here}


def mend(place: Place, names: list[str], stage: str, wheels: Path | None) -> None:
    """Installs damaged parts anew, whatever their metadata claim."""
    say(f"-- mending {', '.join(names) if len(names) <= 6 else f'{len(names)} parts'}")
    blocks = stage_blocks(place, stage)
    here = installed(place.site)
    for name in names:
        folders = [folder for _version, folder in here.get(name, [])]
        # pip refuses to replace what has no complete record, and does not see doubles
        if len(folders) > 1 or any(
            not (folder / file).is_file() for folder in folders for file in ("RECORD", "METADATA")
        ):
            for folder in folders:
                shutil.rmtree(folder)
    subset = place.log.parent / "mend.txt"
    subset.parent.mkdir(parents=True, exist_ok=True)
    subset.write_text("\n".join(blocks[name] for name in names) + "\n", encoding="utf-8")
    pip(place, ["--require-hashes", "--only-binary=:all:", "--force-reinstall", "-r", str(subset)], wheels)


def install_package(place: Place) -> None:
    """Installs Lobewright itself in place; its build tool is part of the core, so no network is needed."""
    pip(place, ["--no-build-isolation", "--no-index", "--editable", str(place.root)], None)


def package_is_whole(place: Place) -> bool:
    here = installed(place.site).get("lobewright", [])
    version = tomllib.loads((place.root / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    return len(here) == 1 and here[0][0] == version and is_whole(here[0][1])


def probe(place: Place, stage: str) -> str | None:
    """Imports what the stage is for, in `.venv`. None when all came, otherwise what Python said."""
    lines = "; ".join(PROBES[name] for name in stages_up_to(stage))
    code, output = run_asked([str(place.python), "-W", "ignore", "-c", lines], place.root)
    return None if code == 0 else output


def probe_fault(output: str, facts: machine.Facts) -> Fault | None:
    """The fault when an import failed for a missing system library, otherwise None."""
    library = machine.library_in_message(output)
    if library is None:
        return None
    cure = machine.library_cure(facts, (library,))
    return Fault(f"An installed part needs the system library {library}: {cure}, then run start.py again.")


def check_parts(place: Place, stage: str, wheels: Path | None, facts: machine.Facts) -> None:
    """Looks at every installed part and imports the heavy ones; mends once; raises Fault when that did not help."""
    broken = broken_parts(place.site, present_parts(place, stage))
    if broken:
        mend(place, broken, stage, wheels)
        broken = broken_parts(place.site, present_parts(place, stage))
    if broken:
        names = ", ".join(broken)
        raise Fault(
            f"After installing, {names} is still not whole: remove the folder .venv and run again.", INSTALL_FAILED
        )
    trouble = probe(place, stage)
    if trouble and probe_fault(trouble, facts) is None:
        mend(place, list(present_parts(place, stage)), stage, wheels)
        trouble = probe(place, stage)
    if trouble:
        with open(place.log, "a", encoding="utf-8") as log:
            log.write(trouble)
        last = (trouble.strip().splitlines() or ["no message"])[-1]
        unknown = Fault(f"The installed parts cannot be used: {last} (all of it: {place.log}).", INSTALL_FAILED)
        raise probe_fault(trouble, facts) or unknown


def room_needed_mb(place: Place, stage: str) -> int:
    """How much room has to be free before `stage` is installed, beside what the stamp says is there."""
    stamp = read_stamp(place.stamp)
    wanted = wanted_stamp(place, stage, stamp)
    done = [STAGE_MB[name] for name in stages_up_to(stage) if stamp.key(name) == wanted.key(name)]
    return max(STAGE_MB[stage] - max(done, default=0), 100)


def ensure(place: Place, stage: str, wheels: Path | None, facts: machine.Facts) -> None:
    """Makes sure that `stage` is installed and usable; quick and without network when it already is.

    Raises Fault with a sentence for every foreseeable failure.
    """
    start = time.monotonic()
    words = STAGE_WORDS[stage].split(" (")[0]
    venv = look_at_venv(place)
    if venv is Venv.FOREIGN:
        raise Fault(f"{place.venv} exists and is not a Python environment: rename it, start.py needs that name.")
    stamp = read_stamp(place.stamp)
    wanted = wanted_stamp(place, stage, stamp)
    known = {name: stamp.parts[name] for name in stage_blocks(place, stage) if name in stamp.parts}
    broken = broken_parts(place.site, known)
    action = decide(venv, stamp, wanted, stage, broken)
    if action is Action.NOTHING and package_is_whole(place) and probe(place, stage) is None:
        say(f"-- {words}: installed and whole")
        return
    if action in (Action.INSTALL, Action.MEND, Action.NOTHING) and not pip_works(place):
        action = Action.REMAKE
    if action in (Action.MAKE, Action.REMAKE):
        make_venv(place, action)
        stamp, broken = Stamp(), []
    fill(place, stage, wheels, facts, stamp, broken if action in (Action.MEND, Action.NOTHING) else None)
    say(f"-- {words}: ready after {time.monotonic() - start:.0f} s")


def fill(
    place: Place, stage: str, wheels: Path | None, facts: machine.Facts, stamp: Stamp, broken: list[str] | None
) -> None:
    """Brings a working `.venv` to a complete `stage`: by mending `broken`, or from the lock when that is None."""
    wanted = wanted_stamp(place, stage, stamp)
    # From here on an interruption must leave no claim that this stage is complete.
    unfinished = {name: key for name, key in stamp.stages.items() if name not in stages_up_to(stage)}
    write_stamp(place.stamp, replace(wanted, package="", stages=unfinished))
    if broken is None:
        where = f"the folder {wheels}" if wheels else "the package index"
        say(f"-- installing {STAGE_WORDS[stage]} from {where}")
        pip(place, ["--require-hashes", "--only-binary=:all:", "-r", str(place.lock(stage))], wheels)
    elif broken:
        mend(place, broken, stage, wheels)
    check_parts(place, stage, wheels, facts)
    say("-- installing lobewright in place")
    install_package(place)
    write_stamp(place.stamp, replace(wanted, parts={**stamp.parts, **present_parts(place, stage)}))
