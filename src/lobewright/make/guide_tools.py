"""Tools and what is used up in putting a drive together, found from the parts that go in. Common practice, no source."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.bodies import Group, Part
from lobewright.make.drawer import bearing_of

SCREW = re.compile(r"^ISO 4762 (M\d+(?:\.\d+)?)×")
NUT = re.compile(r"^ISO 4032 (M\d+(?:\.\d+)?)$")
DOWEL = re.compile(r"^(?:ISO 8734 |ground rod ø)(\d+(?:\.\d+)?)[× ]")
RODS = ("threaded rod", "ground rod")
WOOD_SCREW = "wood screws ø5 mm for the feet and a board to screw them to"


def listed(sizes: Iterable[float]) -> str:
    """Sizes as people say them, the smallest first: "2.5, 3 and 4"."""
    words = [f"{size:g}" for size in sorted(set(sizes))]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _sizes(parts: Sequence[Part], kind: re.Pattern[str]) -> list[catalogue.Bolt]:
    found = (kind.match(part.designation) for part in parts)
    return [catalogue.bolt(one[1]) for one in found if one]


def bearings(parts: Sequence[Part]) -> list[catalogue.Bearing]:
    """Bearings that are pressed into a seat; rollers are not."""
    seated = [part for part in parts if part.group is Group.BOUGHT and "roller" not in part.words]
    return [catalogue.bearing(name) for name in (bearing_of(part.designation) for part in seated) if name]


def _by_hand(parts: Sequence[Part]) -> Iterator[str]:
    if screws := _sizes(parts, SCREW):
        yield f"hexagon keys of {listed(one.key_mm for one in screws)} mm"
    if nuts := _sizes(parts, NUT):
        yield f"spanners of {listed(one.nut_across_flats_mm for one in nuts)} mm, two of the largest, one of them a ring spanner"
    names = {part.name for part in parts}
    if "boss_nut" in names:
        (nut,) = {one.nut_across_flats_mm for one in _sizes([p for p in parts if p.name == "boss_nut"], NUT)}
        yield f"a {nut:g} mm socket on an extension"
    if any(part.designation.startswith(RODS) for part in parts):
        yield "a hacksaw and a file for the rods"
    if seats := bearings(parts):
        yield f"pieces of tube or sockets to push bearings in, a little under {listed(one.outer_mm for one in seats)} mm outside"
    yield "tweezers, a caliper, a pencil"


def tool_lines(a: Assessment, parts: Sequence[Part]) -> tuple[str, ...]:
    """What has to lie ready: tools, then what is used up. Nothing where no fastener is among the parts."""
    if not _sizes(parts, SCREW) and not _sizes(parts, NUT):
        return ()
    printed = isinstance(a.design.process, m.Printer)
    tools = list(_by_hand(parts))
    dowels = sorted({float(one[1]) for one in (DOWEL.match(part.designation) for part in parts) if one})
    ream = [f"ø{size:g} mm for dowels" for size in dowels]
    if isinstance(a.design.generator, m.Rollers | m.PairedRollers):
        axles = {one.diameter_mm for one in _sizes([p for p in parts if p.name == "axle_screw"], SCREW)}
        ream += [f"ø{size:g} mm for the rollers' axles" for size in sorted(axles)]
    if ream:
        tools.append(f"reamers or new drills of {', '.join(ream)}")
    if printed:
        tools.append(
            f"drills of {listed(one.hole_medium_mm for one in _sizes(parts, SCREW))} mm to open screw holes by hand"
        )
    else:
        tools.append("a dial gauge with its stand, fine cloth")
    used = ["grease (see Grease)"]
    if not printed and any(part.name == "boss_nut" for part in parts):
        used.append("thread lock of medium strength")
    if any(part.name == "foot" for part in parts):
        used.append(WOOD_SCREW)
    used.append("tape, rags, gloves and eye protection")
    return f"Tools: {'; '.join(tools)}.", f"Used up, not in the list: {'; '.join(used)}."
