"""From the drawer: what the assembly asks for, held against what the workshop file says is there.

Things that fit exactly are used first; a screw may also be longer than asked, when it stands out no farther than
``STANDS_OUT_MM`` and its end may stand out at all. One thing in the drawer serves one need only.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.owned import owned_belts
from lobewright.design.workshop import Workshop
from lobewright.errors import CatalogueFault
from lobewright.make.bodies import Group
from lobewright.make.placing import Placed
from lobewright.ring.geometry import belt_heights

STANDS_OUT_MM = 10.0
"""How much longer than asked a screw of the drawer may be (common practice: it clears what turns, or is cut)."""
SCREW = re.compile(r"^ISO 4762 (M\d+(?:\.\d+)?)×(\d+(?:\.\d+)?)$")
BELT = "closed timing belt"


@dataclass(frozen=True)
class Need:
    """A bought thing, how often it is needed, and how many of the drawer's serve.

    ``longer``: of ``have``, those that are longer than asked, as (designation, how many). ``sunk``: uses in which its nut or head
    lies in a pocket, among ``uses``. ``no_longer``: no longer screw serves. ``may_skip``: how many the drive runs without.
    """

    item: str
    designation: str
    need: int
    have: int = 0
    longer: tuple[tuple[str, int], ...] = ()
    note: str = ""
    uses: tuple[str, ...] = ()
    sunk: tuple[str, ...] = ()
    no_longer: bool = False
    may_skip: int = 0

    @property
    def lacking(self) -> int:
        return self.need - self.have

    @property
    def words(self) -> str:
        """What the drawer says: nothing, all of it, or a share."""
        if self.have <= 0:
            return ""
        whole = "you own this" if self.have >= self.need else f"you own {self.have} of {self.need}"
        long = ", ".join(f"{count} as {name}" for name, count in self.longer)
        return f"{whole} ({long})" if long else whole


def belt_words(design: m.Design) -> str:
    """How the design's belt is asked for in a shop; empty for other rings."""
    ring = design.flexible_ring
    if not isinstance(ring, m.Belt):
        return ""
    profile, *_ = belt_heights(ring)
    length = profile.pitch_mm * ring.teeth
    return f"{profile.designation}, {ring.teeth} teeth, {length:g} mm long, {ring.width_mm:g} mm wide"


def bearing_of(designation: str) -> str | None:
    """The catalogue's name of a bearing; None for what is no bearing of the catalogue."""
    try:
        return catalogue.bearing(designation).designation
    except CatalogueFault:
        return None


Joint = tuple[str, str, int]
"""What joins the pieces of parts larger than the bed: designation, words, how many."""


def needs(a: Assessment, placed: Sequence[Placed], joints: Sequence[Joint] = ()) -> tuple[Need, ...]:
    """All bought things of an assembly, alike ones together, with what the drawer has of each; the belt first.

    A belt is always among them where the design has one, whether it is placed or not. ``joints``: what joins split parts.
    """
    design = a.design
    asked: dict[str, Need] = {}
    if belt := belt_words(design):
        asked[belt] = Need(BELT, belt, 1, note="worn teeth outward")
    for one in placed:
        part = one.part
        if not part.designation or part.group is Group.FLEXIBLE_RING:
            continue  # the belt stands there already
        count = len(one.places)
        uses = (part.words,)
        new = Need(part.words, part.designation, count, note=part.note, uses=uses, sunk=uses if part.sunk else (),
                   no_longer=part.no_longer, may_skip=count if part.may_skip else 0)  # fmt: skip
        asked[part.designation] = _together(asked[part.designation], new) if part.designation in asked else new
    for designation, words, count in joints:
        new = Need(words, designation, count, uses=(words,))
        asked[designation] = _together(asked[designation], new) if designation in asked else new
    return _served(tuple(asked.values()), design)


def _together(first: Need, second: Need) -> Need:
    """Both needs of one designation."""
    uses = tuple(dict.fromkeys((*first.uses, *second.uses)))
    notes = dict.fromkeys(note for note in (first.note, second.note) if note)
    return Need(
        ", ".join(uses),
        first.designation,
        first.need + second.need,
        note="; ".join(notes),
        uses=uses,
        sunk=tuple(dict.fromkeys((*first.sunk, *second.sunk))),
        no_longer=first.no_longer or second.no_longer,
        may_skip=first.may_skip + second.may_skip,
    )


def _served(asked: Sequence[Need], design: m.Design) -> tuple[Need, ...]:
    owned = design.owned or Workshop(schema_version=1)
    bearings: dict[str, int] = defaultdict(int)
    for row in owned.bearings:
        bearings[bearing_of(row.designation) or row.designation] += row.count
    left: dict[tuple[str, float], int] = defaultdict(int)
    for bolt in owned.bolts:
        left[bolt.size.upper(), bolt.length_mm] += bolt.count
    exact: dict[str, int] = {}
    for need in asked:  # what fits exactly is given out before what is too long
        if screw := SCREW.match(need.designation):
            exact[need.designation] = _take(left, (screw[1], float(screw[2])), need.need)
    out = []
    for need in asked:
        have, longer = 0, []
        if need.item == BELT:
            have = min(need.need, owned_belts(design))
        elif (name := bearing_of(need.designation)) is not None:
            have = min(need.need, bearings[name])
        elif screw := SCREW.match(need.designation):
            have = exact[need.designation]
            for key in () if need.no_longer else sorted(left):
                if key[0] == screw[1] and 0 < key[1] - float(screw[2]) <= STANDS_OUT_MM and have < need.need:
                    count = _take(left, key, need.need - have)
                    have += count
                    longer += [(f"{key[0]}×{key[1]:g}", count)] if count else []
        out.append(replace(need, have=have, longer=tuple(longer)))
    return tuple(out)


def _take(left: dict[tuple[str, float], int], key: tuple[str, float], wanted: int) -> int:
    count = min(left.get(key, 0), wanted)
    if count:
        left[key] -= count
    return count
