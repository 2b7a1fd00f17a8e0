"""The whole drive as meshes for the page's cut-away picture: plain data in, bytes out.

The bytes (little-endian): the head's length as u32, the head as JSON in UTF-8 filled with blanks to a multiple of four, then
the head's arrays one after another in the order of its ``arrays`` (each with ``type`` and ``count``):

    stiff      f32 rows x, y, z in mm and one i8 row (normal x, y, z, 0 in 127ths) a corner of a stiff part, as made
    bent       f32 rows label in rad, across, up, z in mm, share, then the same i8 row in the label's frame
    triangles  u32 corners, three a triangle, counted from the first corner of their kind
    line       f32 rows: departure of the neutral line from its circle, x and y in mm and its normal in rad; the last is 0

Corners of the flexible ring do not stand anywhere: each knows the material label on which it rides, and the page sets it on the
neutral line at every angle. A tooth is a rigid body on the label of its middle, as in :mod:`lobewright.make.flexible_as_set`; in
a cup the departure fades in proportion to the distance from the closed end (``share``).
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from lobewright import motion as kinematics
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import locate_in
from lobewright.errors import DesignFault, Fault, LobewrightError
from lobewright.make.assembling import assembled, not_assembled
from lobewright.make.bodies import Group, Part
from lobewright.make.flexible_as_set import turns
from lobewright.make.numbering import kind_of, part_numbers
from lobewright.make.order import Step
from lobewright.make.parts_flexible import row_outline
from lobewright.make.placing import Member, Placed
from lobewright.make.render import COLOURS, plain_solid
from lobewright.picture.palette import PALETTE, Role, Theme, mix
from lobewright.web.look import design_of
from lobewright.web.named import NamedState, named_state

Array = np.ndarray
Data = dict[str, Any]
MEDIA_TYPE = "application/octet-stream"
REVISION = "lobewright-revision"
"""Header that tells of which revision of the design the bytes are."""
CHORD_ERROR_MM = 0.04
"""How far chords may lie from the arcs: less than a quarter of a pixel where a drive fills the picture."""
AROUND = 96
"""Chords of a turned profile."""
SHARP_DEG = 32.0
"""Surfaces that meet at a sharper angle have an edge between them, as in the printed pictures."""
LINE_POINTS = 384
KEPT = 4

DARK: dict[Group, str] = {
    group: mix(PALETTE[Theme.DARK][role], PALETTE[Theme.DARK][Role.PAPER], share)
    for group, role, share in (
        (Group.FLEXIBLE_RING, Role.FLEXIBLE, 0.72),
        (Group.RIGID_RING, Role.RING_A, 0.66),
        (Group.GENERATOR, Role.GENERATOR, 0.92),
        (Group.FRAME, Role.QUIET, 0.55),
        (Group.OUTPUT, Role.RING_B, 0.85),
        (Group.INPUT, Role.LOBE_MARK, 0.62),
        (Group.TEST, Role.TOOTH_MARK, 0.85),
        (Group.BOUGHT, Role.INK, 0.60),
    )
}
"""Colours of the groups on dark paper, the brightest dimmed so that the light lines show; on light paper they are those of the
printed pictures."""

WORDS: dict[Group, str] = {
    Group.FLEXIBLE_RING: "flexible ring",
    Group.RIGID_RING: "rigid rings",
    Group.GENERATOR: "wave generator",
    Group.FRAME: "frame",
    Group.OUTPUT: "output",
    Group.INPUT: "input",
    Group.TEST: "arms for the test",
    Group.BOUGHT: "bought parts",
}


@dataclass(frozen=True)
class Shaded:
    """A part as made: corners (N, 3) in mm, unit normals (N, 3), triangles (M, 3). Corners on edges stand there twice."""

    corners_mm: Array
    normals: Array
    triangles: Array


def shaded(part: Part) -> Shaded:
    """Surface of a part's nominal body. Raises PlatformFault without the mesh library of the extra "cad"."""
    made = plain_solid(part, CHORD_ERROR_MM, AROUND).calculate_normals(0, SHARP_DEG).to_mesh()
    rows = np.asarray(made.vert_properties, dtype=float)
    return Shaded(rows[:, :3], rows[:, 3:6], np.asarray(made.tri_verts, dtype=np.uint32))


@dataclass(frozen=True)
class Riding:
    """Corners of the flexible ring by the material on which they ride; (N,) each, normals (N, 3) along, outward, axial."""

    label_rad: Array
    across_mm: Array
    up_mm: Array
    z_mm: Array
    share: Array
    normals: Array


def riding(a: Assessment, surface: Shaded) -> Riding:
    """The round ring as made, its open edge at z = 0, told by the labels of its material."""
    ring = a.design.flexible_ring
    x, y, z = surface.corners_mm.T
    label, radius = np.arctan2(y, x), a.geometry.neutral_radius_mm
    for row, above, below in _rows(ring):
        outline = row_outline(a, row)
        pitch = 2 * math.pi / outline.teeth
        tooth = (np.hypot(x, y) > radius + outline.land_height_mm + 1e-3) & (z >= above - 1e-3) & (z <= below + 1e-3)
        label = np.where(tooth, pitch * np.round(label / pitch), label)
    c, s = np.cos(label), np.sin(label)
    share = np.ones(len(z))
    if isinstance(ring, m.Cup):
        rigid = a.design.rigid_ring[0]
        share = (ring.length_mm - z) / (ring.length_mm - rigid.offset_mm - rigid.width_mm / 2)
    n = surface.normals
    own = np.column_stack((n[:, 1] * c - n[:, 0] * s, n[:, 0] * c + n[:, 1] * s, n[:, 2]))
    return Riding(label, y * c - x * s, x * c + y * s - radius, z, share, own)


def _rows(ring: m.FlexibleRing) -> list[tuple[int, float, float]]:
    """Number, begin and end along the axis of each row of teeth."""
    second = getattr(ring, "second_row", None)
    rows = [(1, 0.0, ring.width_mm)]
    return [*rows, (2, ring.width_mm, ring.width_mm + second.width_mm)] if second else rows


def departures(a: Assessment) -> Array:
    """How the neutral line as set departs from its circle, (N, 4) float32, at even labels from a major axis on."""
    shape = a.set_shape
    step = max(1, len(shape.arc_mm) // LINE_POINTS)
    label = shape.arc_mm / shape.radius_mm
    rows = (shape.x_mm - shape.radius_mm * np.cos(label), shape.y_mm - shape.radius_mm * np.sin(label),
            shape.normal_rad - label, np.zeros(len(label)))  # fmt: skip
    return np.column_stack(rows)[::step].astype("<f4")


def member_turns(a: Assessment) -> dict[str, float]:
    """Signed turns of every member while the generator turns once against what is held."""
    found = turns(a, 1.0)
    return {
        Member.HELD.value: 0.0,
        Member.GENERATOR.value: found[kinematics.GENERATOR],
        Member.FLEXIBLE.value: found[kinematics.FLEXIBLE],
        Member.OUTPUT.value: found[a.design.motion.read],
    }


def _corners(floats: Sequence[Array], normals: Array) -> Array:
    """Rows of float32 followed by a normal in bytes, as u32 words (N, k + 1)."""
    words = np.column_stack(floats).astype("<f4").view("<u4")
    small = np.zeros((len(normals), 4), dtype=np.int8)
    small[:, :3] = np.round(127 * normals)
    return np.column_stack((words, small.view("<u4")))


def _group(one: Placed) -> Group:
    """What is put on for the test only is one group, screws and all, so that it can be left out."""
    return Group.TEST if one.step == Step.TEST else one.part.group


def _bodies(a: Assessment, placed: Sequence[Placed]) -> tuple[list[Data], list[tuple[str, str, Array]]]:
    """Rows of the head, one a part, and its arrays; parts of one body are stored once a name."""
    numbers = part_numbers(placed)
    rows: list[Data] = []
    parts: dict[str, list[Array]] = {"stiff": [], "bent": [], "triangles": []}
    first = {"stiff": 0, "bent": 0, "triangles": 0}
    for one in placed:
        surface, bent = shaded(one.part), one.member is Member.FLEXIBLE
        kind = "bent" if bent else "stiff"
        if bent:
            own = riding(a, surface)
            table = _corners((own.label_rad, own.across_mm, own.up_mm, own.z_mm, own.share), own.normals)
        else:
            table = _corners((surface.corners_mm,), surface.normals)
        rows.append({
            "name": one.part.name, "words": one.part.words, "designation": one.part.designation,
            "number": numbers[kind_of(one.part)], "group": _group(one).value, "member": one.member.value,
            "bent": bent, "first": first["triangles"], "count": surface.triangles.size,
            "places": [[p.x_mm, p.y_mm, p.z_mm, p.turn_rad, int(p.over)] for p in one.places],
        })  # fmt: skip
        parts["triangles"].append((surface.triangles + first[kind]).ravel())
        parts[kind].append(table)
        first[kind] += len(table)
        first["triangles"] += surface.triangles.size
    arrays = [(name, np.concatenate(found).astype("<u4")) for name, found in parts.items() if found]
    return rows, [(name, "u4", array) for name, array in arrays]


def _packed(head: Data, arrays: Sequence[tuple[str, str, Array]]) -> bytes:
    head = head | {"arrays": [{"name": name, "type": kind, "count": int(array.size)} for name, kind, array in arrays]}
    text = json.dumps(head, allow_nan=False).encode()
    text += b" " * (-len(text) % 4)
    return b"".join((len(text).to_bytes(4, "little"), text, *(array.tobytes() for _, _, array in arrays)))


def solid_of(a: Assessment) -> bytes:
    """The assembly of a drive as bytes.

    Raises DesignFault where none is laid out or a part cannot exist, PlatformFault without the extra "cad".
    """
    reason = not_assembled(a)
    if reason:
        raise DesignFault([Fault(f"no assembly is laid out: {reason}", "rigid_ring", 0)])
    placed = assembled(a)
    rows, arrays = _bodies(a, placed)
    groups = {group.value: WORDS[group] for group in Group if any(_group(one) is group for one in placed)}
    if a.design.is_cup:
        groups[Group.FLEXIBLE_RING.value] = "cup"
    head = {
        "name": a.design.name,
        "parts": rows,
        "groups": groups,
        "colours": {
            Theme.LIGHT.value: {group.value: colour for group, colour in COLOURS.items()},
            Theme.DARK.value: {group.value: colour for group, colour in DARK.items()},
        },
        "turns": member_turns(a),
        "ratio_text": a.motion.ratio_text,
        "radius_mm": a.set_shape.radius_mm,
    }
    return _packed(head, [*arrays, ("line", "f4", departures(a))])


@lru_cache(maxsize=KEPT)
def _solid(text: str, file: str, folder: Path, named: NamedState) -> bytes:
    """``named`` only tells states of the named files apart, which the design is read from."""
    return solid_of(assess(design_of(text, file, folder)))


def solid(text: str, file: str, folder: str) -> bytes | Data:
    """The drive of a text as bytes (see the top), or ``{"ok": false, "error": …, "faults": […]}``."""
    try:
        return _solid(text, file, Path(folder), named_state(text, Path(folder)))
    except LobewrightError as error:
        locate_in(error, text, file)
        return {"ok": False, **error.as_json()}
