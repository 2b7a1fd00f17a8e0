"""`make`: what is needed to build a drive on the bench, in one folder that is either whole or not there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.model import Design
from lobewright.make.cache import user_cache
from lobewright.make.everything import Made, plan, write_all
from lobewright.make.parts import require_cad
from lobewright.mapper import Mapper
from lobewright.report.results_json import results_text
from lobewright.whole_folder import RESULTS, check_target, replacing, time_stamp

LEFT_OUT = "left out by make; ask load, life or build"


def make(
    design: Design,
    out: Path,
    progress: Callable[[str, float], None] | None = None,
    mapper: Mapper = map,
    read: Iterable[Path] = (),
) -> tuple[Assessment, Made]:
    """Write parts, assembly, drawings, instructions, parts list and rack model of a design into ``out``.

    ``mapper`` spreads the parts over processes; ``read``: files that the design was read from, which must not lie in ``out``. All
    checks that need no CAD come first. Raises OutputFault (target not to be replaced, not writable, disk full), PlatformFault (no
    CAD extra), DesignFault (cannot be made, parts run into each other), or what :func:`lobewright.assessment.run.assess` raises.
    Whatever happens, ``out`` is as before or complete.
    """
    say = progress or (lambda word, share: None)
    check_target(out, read)
    stamp = time_stamp()
    require_cad()
    found = assess(design, lambda word, share: say(word, 0.05 * share))
    say("parts in their places", 0.05)
    planned = plan(found)
    with replacing(out) as fresh:
        made = write_all(
            found, planned, fresh, stamp, lambda word, share: say(word, 0.1 + 0.9 * share), mapper, user_cache()
        )
        (fresh / RESULTS).write_text(results_text(found, stamp, LEFT_OUT, LEFT_OUT), encoding="utf-8")
    return found, made
