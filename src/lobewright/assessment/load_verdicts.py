"""Verdicts on the drive under torque. Limits that rest on custom say so."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from lobewright.design import model as m
from lobewright.torque.bands import Band
from lobewright.torque.pinch import FELT_SHARE, Pinch
from lobewright.torque.results import LoadShare, RowLoad, Skip
from lobewright.verdict import Bound, State, Verdict, Working, judge

PRACTICE = ("trade_practice",)
SPARE = 1.5
"""Times the duty's peak that the low end of the band of the skip torque should reach."""
FEWEST_A_LOBE, FEW_A_LOBE = 1.0, 3.0
"""Teeth in load a lobe: below the first the load hangs on single teeth, below the second it is shared by few."""
MOST_PINCH = 1.0
"""Pinch over the free push above which a drive is refused: the ring then bears as hard on its rigid ring as on its generator."""
MOST_WRONG, SOME_WRONG = 0.25, 0.05
"""Tangential force on flanks that push against the torque, over the force that carries it."""


GIVES_WAY = {
    "arm gives": "the arms of the generator",
    "carrier shifts": "the bearing that carries the generator",
    "rim gives": "the rim of the flexible ring",
    "teeth lean": "the teeth, which lean away",
    "teeth break": "a tooth, which breaks",
}
"""What gives way at a skip, in words."""
TITLE = "Torque at which it skips, low end of its 90 % band"


def skip_verdict(band: Band, peak_nmm: float | None, skip: Skip) -> Verdict:
    """The low end of the band of the skip torque against the duty's peak; answered and not graded where there is no duty."""
    low = band.low / 1000.0
    way = "teeth break before it skips" if skip.lower_bound else f"what gives way first: {GIVES_WAY[skip.gives_way]}"
    spread = f"{band.low / 1000:.3g} … {band.middle / 1000:.3g} … {band.high / 1000:.3g} N·m"
    equation = "largest torque on the path of equilibria before it falls for good, over the spread of the weak inputs"
    if peak_nmm is None:
        sentence = f"it skips at {spread}, and the design names no duty to hold that against; {way}."
        return Verdict("skip_torque", TITLE, State.NOT_MADE, sentence, Working(equation, spread, ("derived_here",)))
    limit = peak_nmm / 1000.0
    unknown = "whether ring, teeth or arms break before is asked of their strength"
    state = judge(low, limit, SPARE * limit)
    word = {
        State.PASS: "skipping is well above the duty's peak",
        State.WARN: f"at the low end of the band it skips at less than {SPARE:g} times the duty's peak",
        State.FAIL: "at the low end of the band it skips below the duty's peak",
    }[state]
    return Verdict(
        "skip_torque",
        TITLE,
        state,
        f"{word}; {way}; what makes the band wide: {band.widest_input.replace('_', ' ')}; {unknown}.",
        Working(
            equation,
            f"{spread}; peak of the duty {limit:g} N·m; warns below {SPARE:g} times the peak; no published formula or "
            "measurement of this torque was found",
            ("derived_here", *PRACTICE),
        ),
        "N·m",
        low,
        limit,
    )


def not_made(why: str) -> Verdict:
    """The skip torque where it could not be computed."""
    return Verdict("skip_torque", TITLE, State.NOT_MADE, why, Working("none", ""))


def pinch_verdict(found: Pinch) -> Verdict:
    """How hard a rigid ring presses wall and teeth on the generator at a lobe without torque."""
    press, free = max(0.0, float(found.force_n.max())), float(found.free_push_n.max())
    share = press / free if free > 0.0 else 0.0
    state = judge(share, MOST_PINCH, FELT_SHARE, Bound.AT_MOST)
    where = {
        "tip": "tips in the roots",
        "land": "the ring's tips on the land",
        "left": "flanks",
        "right": "flanks",
        "": "",
    }
    row, lobe = np.unravel_index(int(found.force_n.argmax()), found.force_n.shape)
    at = where[found.contact[row][lobe]]
    word = {
        State.PASS: "nothing presses without torque",
        State.WARN: f"wall and teeth are pinched between generator and ring ({at}): it turns hard and wears",
        State.FAIL: f"wall and teeth are pinched hard between generator and ring ({at}): set less deflection or give more room",
    }[state]
    return Verdict(
        "pinch",
        "Pinch of wall and teeth without torque",
        state,
        f"{word}.",
        Working(
            "inward force of a rigid ring at a lobe / push of the free ring on the generator there",
            f"{press:.3g} N / {free:.3g} N; warns above {FELT_SHARE:.0%}",
            PRACTICE,
        ),
        "%",
        100 * share,
        100 * MOST_PINCH,
        Bound.AT_MOST,
    )


def share_verdicts(design: m.Design, share: LoadShare) -> Iterator[Verdict]:
    """Teeth in load and wrong-flank contact of every row at the duty's peak."""
    for row in share.rows:
        yield _teeth(design, row, share.torque_nmm)
        yield _wrong_flank(row, share.torque_nmm)


def _teeth(design: m.Design, row: RowLoad, torque_nmm: float) -> Verdict:
    lobes = design.lobes
    count = float(row.teeth_in_load)
    state = judge(count, FEWEST_A_LOBE * lobes, FEW_A_LOBE * lobes)
    word = {
        State.PASS: "the load is shared by many teeth",
        State.WARN: "few teeth carry the load: expect wear and play to grow early",
        State.FAIL: "the load hangs on single teeth: they wear or break first",
    }[state]
    return Verdict(
        f"teeth_in_load:{row.name}",
        f"Teeth that carry load at the peak, ring {row.name}",
        state,
        f"{word}; the most loaded one takes {row.largest_share:.0%}.",
        Working(
            "teeth with at least a hundredth of the force of the most loaded one",
            f"{len(row.force_n)} teeth, {row.force_n.max():.3g} N on the most loaded at {abs(torque_nmm) / 1000:.3g} N·m; "
            f"fails below {FEWEST_A_LOBE * lobes:g}, warns below {FEW_A_LOBE * lobes:g}",
            PRACTICE,
        ),
        "teeth",
        count,
        FEWEST_A_LOBE * lobes,
    )


def _wrong_flank(row: RowLoad, torque_nmm: float) -> Verdict:
    total = float(row.tangential_n.sum())
    along = row.tangential_n * math.copysign(1.0, total)
    against = float(np.maximum(-along, 0.0).sum())
    carrying = float(np.maximum(along, 0.0).sum())
    share = against / carrying if carrying > 0.0 else 0.0
    state = judge(share, MOST_WRONG, SOME_WRONG, Bound.AT_MOST)
    word = {
        State.PASS: "next to no tooth pushes against the torque",
        State.WARN: "some teeth bear on the flank that works against the torque: friction and wear",
        State.FAIL: "many teeth bear on the flank that works against the torque: the mesh binds",
    }[state]
    return Verdict(
        f"wrong_flank:{row.name}",
        f"Contact on the wrong flank at the peak, ring {row.name}",
        state,
        f"{word}.",
        Working(
            "tangential force against the torque / tangential force that carries it",
            f"{against:.3g} N / {carrying:.3g} N at {abs(torque_nmm) / 1000:.3g} N·m",
            PRACTICE,
        ),
        "%",
        100 * share,
        100 * MOST_WRONG,
        Bound.AT_MOST,
    )
