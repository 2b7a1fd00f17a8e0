"""`build`: everything that follows from a design, in one folder that is either whole or not there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from lobewright.advice import suggestions
from lobewright.assessment.life import Life, life
from lobewright.assessment.load import Loads, judged, load
from lobewright.assessment.loaded_states import states_of
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.bench.sheets import FOLDER, write_sheets
from lobewright.design.model import Design
from lobewright.errors import LobewrightError
from lobewright.life_advice import WhatIf, life_suggestions, what_ifs
from lobewright.load_advice import load_suggestions
from lobewright.make.cache import user_cache
from lobewright.make.everything import plan, write_all
from lobewright.make.moving_scene import moving_html
from lobewright.make.parts import require_cad
from lobewright.mapper import Mapper
from lobewright.report.page import report_page
from lobewright.report.results_json import results_text
from lobewright.whole_folder import RESULTS, check_target, replacing, time_stamp

Progress = Callable[[str, float], None]


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


def build(
    design: Design, out: Path, progress: Progress | None = None, mapper: Mapper = map, read: Iterable[Path] = ()
) -> Assessment:
    """Assess a design and write results, report, moving page, measuring sheets and all that `make` writes into ``out``.

    ``mapper`` maps the runs of the bands under torque and the parts (a process pool's ``map``); ``read``: files that the design
    was read from, which must not lie in ``out``. A drive that cannot be solved under torque is built all the same, and its
    verdict says why. Raises OutputFault (target not to be replaced, not writable, disk full), PlatformFault (no CAD extra),
    DesignFault (cannot be made as asked), or what :func:`lobewright.assessment.run.assess` raises. Whatever happens, ``out`` is
    as before or complete.
    """
    say = progress or (lambda word, share: None)
    check_target(out, read)
    stamp = time_stamp()
    require_cad()
    found = assess(design, lambda word, share: say(word, 0.05 * share))
    planned = plan(found)
    say("advice", 0.05)
    advice = suggestions(found)
    loads = _under_torque(found, lambda word, share: say(word, 0.1 + 0.45 * share), mapper)
    lasting, tried = _lasting(found, loads, lambda word, share: say(word, 0.55 + 0.05 * share), mapper)
    found = judged(found, loads, lasting.verdicts if isinstance(lasting, Life) else ())
    if isinstance(loads, Loads):
        advice += load_suggestions(found, loads, lambda word, share: say(word, 0.6 + 0.05 * share))
    if isinstance(lasting, Life):
        advice += life_suggestions(lasting, tried)
    with replacing(out) as fresh:
        say("pages", 0.65)
        shares = loads.shares if isinstance(loads, Loads) else ()
        (fresh / "motion.html").write_text(moving_html(found, shares), encoding="utf-8")
        (fresh / "report.html").write_text(report_page(found, stamp, advice, loads, lasting, tried), encoding="utf-8")
        write_sheets(found, fresh / FOLDER)
        write_all(found, planned, fresh, stamp, lambda word, share: say(word, 0.7 + 0.28 * share), mapper, user_cache())
        (fresh / RESULTS).write_text(results_text(found, stamp, loads, lasting), encoding="utf-8")
        say("done", 1.0)
    return found
