"""`build`: everything that follows from a design, in one folder that is either whole or not there.

All is written into a new folder beside the target, which takes the target's place only when it is complete. An earlier
build (known by its ``results.json``) is swapped whole; any other folder that is not empty is left alone.
"""

from __future__ import annotations

import datetime
import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from lobewright.advice import suggestions
from lobewright.assessment.life import Life, life
from lobewright.assessment.load import Loads, judged, load
from lobewright.assessment.loaded_states import states_of
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.bench.sheets import FOLDER, write_sheets
from lobewright.design.model import Design
from lobewright.errors import Fault, LobewrightError, OutputFault
from lobewright.life_advice import WhatIf, life_suggestions, what_ifs
from lobewright.load_advice import load_suggestions
from lobewright.make.bom import bom_text
from lobewright.make.moving_scene import moving_html
from lobewright.make.parts import make_parts, require_cad
from lobewright.report.page import report_page
from lobewright.report.results_json import read_results, results_text
from lobewright.torque.bands import Mapper

Progress = Callable[[str, float], None]
RESULTS = "results.json"
LATEST_TIME = 253402300799
"""Last second of the year 9999, in seconds since 1970."""


def _is_build(folder: Path) -> bool:
    try:
        read_results(folder / RESULTS)
    except LobewrightError:
        return False
    return True


def check_target(out: Path) -> None:
    """Refuse a target that must not be replaced. Raises OutputFault."""
    try:
        if out.is_symlink() or (out.exists() and not out.is_dir()):
            raise OutputFault("this is not a folder; a folder for the results is wanted", str(out))
        if out.is_dir() and any(out.iterdir()) and not _is_build(out):
            raise OutputFault("the folder is not empty and holds no earlier build; it is left alone", str(out))
        here, there = Path.cwd(), out.resolve()
        if there == here or there in here.parents:
            raise OutputFault("you stand in this folder; name another, it is replaced whole", str(out))
    except OSError as error:
        raise OutputFault(f"the folder cannot be used: {error.strerror or error}", str(out)) from None


def _swap(fresh: Path, out: Path) -> None:
    """Put the finished folder in place; the earlier one goes only when the new one stands."""
    if not out.exists():
        os.replace(fresh, out)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{out.name}.old.", dir=out.parent))
    earlier = old / "earlier"
    try:
        os.replace(out, earlier)
        os.replace(fresh, out)
    except BaseException:  # a key pressed in between must not cost the earlier build either
        if earlier.exists() and not out.exists():
            os.replace(earlier, out)
        raise
    finally:
        if out.exists():
            shutil.rmtree(old, ignore_errors=True)


def time_stamp() -> str:
    """Time of making in UTC, to the second; ``SOURCE_DATE_EPOCH`` sets it, as reproducible builds do.

    Raises OutputFault when that is not a time.
    """
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    moment = datetime.datetime.now(datetime.UTC)
    if epoch:
        if not (epoch.isascii() and epoch.isdecimal() and len(epoch) <= 12 and int(epoch) <= LATEST_TIME):
            allowed = f"whole seconds since 1970, at most {LATEST_TIME}"
            raise OutputFault([Fault("this is not a time", "SOURCE_DATE_EPOCH", 0, epoch, allowed)])
        moment = datetime.datetime.fromtimestamp(int(epoch), datetime.UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


def _under_torque(found: Assessment, progress: Progress, mapper: Mapper) -> Loads | str:
    """The drive under torque, or the sentence that says why it was not computed."""
    try:
        return load(found, progress, mapper)
    except LobewrightError as error:
        return error.sentences()[0]


def _lasting(
    found: Assessment, loads: Loads | str, progress: Progress, mapper: Mapper
) -> tuple[Life | str, tuple[WhatIf, ...]]:
    """Strength and life with what one change would do, or the sentence that says why they were not computed."""
    if isinstance(loads, str):
        return loads, ()
    try:
        lasting = life(found, states_of(loads))
    except LobewrightError as error:
        return error.sentences()[0], ()
    return lasting, what_ifs(found, loads, lasting, progress, mapper)


def build(design: Design, out: Path, progress: Progress | None = None, mapper: Mapper = map) -> Assessment:
    """Assess a design and write results, report, moving page, parts list, measuring sheets and parts into ``out``.

    ``mapper`` maps the runs of the bands under torque (a process pool's ``map``). A drive that cannot be solved under torque
    is built all the same, and its verdict says why. Raises OutputFault (target not to be replaced, not writable, disk full),
    PlatformFault (no CAD extra), or what :func:`lobewright.assessment.run.assess` raises. Whatever happens, ``out`` is as
    before or complete.
    """
    say = progress or (lambda word, share: None)
    check_target(out)
    stamp = time_stamp()
    require_cad()
    found = assess(design, lambda word, share: say(word, 0.05 * share))
    say("advice", 0.05)
    advice = suggestions(found)
    loads = _under_torque(found, lambda word, share: say(word, 0.1 + 0.45 * share), mapper)
    lasting, tried = _lasting(found, loads, lambda word, share: say(word, 0.55 + 0.05 * share), mapper)
    found = judged(found, loads, lasting.verdicts if isinstance(lasting, Life) else ())
    if isinstance(loads, Loads):
        advice += load_suggestions(found, loads, lambda word, share: say(word, 0.6 + 0.05 * share))
    if isinstance(lasting, Life):
        advice += life_suggestions(lasting, tried)
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{out.name}.new.", dir=out.parent) as room:
            fresh = Path(room) / "build"
            fresh.mkdir()
            say("pages", 0.65)
            shares = loads.shares if isinstance(loads, Loads) else ()
            (fresh / "motion.html").write_text(moving_html(found, shares), encoding="utf-8")
            (fresh / "report.html").write_text(
                report_page(found, stamp, advice, loads, lasting, tried), encoding="utf-8"
            )
            write_sheets(found, fresh / FOLDER)
            rows = make_parts(found, fresh / "parts", lambda word, share: say(word, 0.7 + 0.28 * share))
            (fresh / "bom.csv").write_text(bom_text(found, rows), encoding="utf-8")
            (fresh / RESULTS).write_text(results_text(found, stamp, loads, lasting), encoding="utf-8")
            say("done", 1.0)
            _swap(fresh, out)
    except OSError as error:
        raise OutputFault(f"the results cannot be written: {error.strerror or error}", str(out)) from None
    return found
