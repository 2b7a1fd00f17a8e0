"""The moving page of a strain wave drive: its parameters, its pose at an angle, its HTML file.

Everything drawn follows from one rule. Seen from the wave generator the neutral line stands still and the material
runs along it; every toothed row passes teeth at the same rate (derived: a tooth of one row is always answered by a
tooth of the other). With members turning ``turns`` times while the generator turns once, that reads

    (turns_r − turns_g) · Z_r = (turns_f − turns_g) · Z_row          for each rigid ring r and its row.

`Motion` refuses parameters that break it. `pose` is the Python twin of the page module's function of that name; both
are held to the same kept vectors by the tests.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import Fault, MotionFault
from lobewright.make.moving_loads import Loads, loads_json
from lobewright.picture.page import moving_page, rounded

Floats = NDArray[np.float64]
COORDINATE_PLACES = 6
"""Coordinates go into the page to 1e-6 mm."""
RATE_TOLERANCE = 1e-9
"""Relative difference of tooth rates that float arithmetic may leave."""
LINED_UP = 0.1
"""Tooth pitches that a tooth may stand off the middle of its space and still count as lined up."""
GENERATOR = "generator"
FLEXIBLE = "flexible"


@dataclass(frozen=True)
class NeutralShape:
    """The closed neutral line in the generator's frame, x along a major axis.

    Arrays of shape (N,), sampled uniformly in arc length over the whole turn without repeating the first point:
    ``x_mm``, ``y_mm``, ``normal_angle_rad`` (direction of the outward normal). The arc length of sample k is
    2π·``radius_mm``·k/N.
    """

    x_mm: Floats
    y_mm: Floats
    normal_angle_rad: Floats
    radius_mm: float
    lobes: int


@dataclass(frozen=True)
class FlexibleRow:
    """One toothed row of the flexible ring. ``outline_mm``: shape (k, 2), one pitch from mid-land to mid-land; x along
    the neutral line (anticlockwise), y outward from it."""

    teeth: int
    outline_mm: Floats


@dataclass(frozen=True)
class RigidRing:
    """A rigid ring. ``outline_mm``: shape (k, 2), one tooth space from mid-land to mid-land in ring coordinates, its
    centre at angle 0. ``row`` is the index of the flexible row it meshes with, ``turns`` its signed turns in the fixed
    frame while the generator turns once."""

    name: str
    teeth: int
    row: int
    outline_mm: Floats
    tip_radius_mm: float
    root_radius_mm: float
    outer_radius_mm: float
    turns: float


@dataclass(frozen=True)
class Wheel:
    """A body of the wave generator in its frame: a circle (roller, disc) with ``radius_mm``, or a closed outline (cam)
    with ``outline_mm`` of shape (k, 2) and radius 0."""

    x_mm: float = 0.0
    y_mm: float = 0.0
    radius_mm: float = 0.0
    outline_mm: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Motion:
    """Everything the moving page shows. ``held``, ``driven``, ``read`` name members: ``generator``, ``flexible`` or the
    name of a ring. ``generator_turns`` is 1 unless the generator is held (then 0, and every ``turns`` is counted
    per turn of the driven member).

    Raises MotionFault for parameters that do not fit together.
    """

    shape: NeutralShape
    rows: tuple[FlexibleRow, ...]
    inner_offset_mm: float
    flexible_turns: float
    rings: tuple[RigidRing, ...]
    wheels: tuple[Wheel, ...]
    held: str
    driven: str
    read: str
    ratio_text: str
    generator_turns: float = 1.0
    generator_name: str = "Wave generator"
    flexible_name: str = "Flexible ring"

    def __post_init__(self) -> None:
        faults = [*_shape_faults(self.shape), *_member_faults(self), *_rate_faults(self)]
        if faults:
            raise MotionFault(faults)

    def turns(self, member: str) -> float:
        """Signed turns of a member in the fixed frame while the picture's angle goes once round."""
        if member == GENERATOR:
            return self.generator_turns
        if member == FLEXIBLE:
            return self.flexible_turns
        return next(ring.turns for ring in self.rings if ring.name == member)


@dataclass(frozen=True)
class Pose:
    """Where everything is. ``rings_rad`` has one angle a ring, ``shift_rad`` is how far the material has run along the
    neutral line (as a material label), ``teeth`` one array of shape (Z_row, 3) a row: x mm, y mm and normal angle rad
    of every tooth in the generator's frame."""

    generator_rad: float
    flexible_rad: float
    rings_rad: tuple[float, ...]
    shift_rad: float
    teeth: tuple[Floats, ...]


def _shape_faults(shape: NeutralShape) -> list[Fault]:
    size = len(shape.x_mm)
    faults = []
    if size < 24 or any(len(array) != size for array in (shape.y_mm, shape.normal_angle_rad)):
        faults.append(Fault("the neutral line needs arrays of one length", "shape", allowed="24 points or more"))
    elif not all(np.isfinite(array).all() for array in (shape.x_mm, shape.y_mm, shape.normal_angle_rad)):
        faults.append(Fault("the neutral line has a number that is not finite", "shape", allowed="finite mm and rad"))
    if not 0.0 < shape.radius_mm < math.inf:
        faults.append(Fault("the neutral radius", "shape.radius_mm", 0, str(shape.radius_mm), "more than 0 mm"))
    return faults


def _member_faults(motion: Motion) -> list[Fault]:
    names = [GENERATOR, FLEXIBLE, *(ring.name for ring in motion.rings)]
    faults = []
    if not motion.rings or len(set(names)) != len(names):
        faults.append(Fault("rings need names of their own", "rings", 0, ", ".join(names), "one ring or more"))
    for role in ("held", "driven", "read"):
        if getattr(motion, role) not in names:
            faults.append(Fault("no such member", role, 0, getattr(motion, role), "one of " + ", ".join(names)))
    for place, ring in enumerate(motion.rings):
        if not 0 <= ring.row < len(motion.rows):
            faults.append(Fault("no such row", f"rings[{place}].row", 0, str(ring.row), f"0 to {len(motion.rows) - 1}"))
    return faults


def _rate_faults(motion: Motion) -> list[Fault]:
    faults = []
    for place, ring in enumerate(motion.rings):
        if not 0 <= ring.row < len(motion.rows):
            continue
        row_rate = (motion.flexible_turns - motion.generator_turns) * motion.rows[ring.row].teeth
        ring_rate = (ring.turns - motion.generator_turns) * ring.teeth
        if abs(ring_rate - row_rate) > RATE_TOLERANCE * max(abs(row_rate), abs(ring_rate), 1.0):
            faults.append(
                Fault(
                    "ring and flexible ring do not pass the same count of teeth",
                    f"rings[{place}].turns",
                    0,
                    f"{ring_rate:.6g} against {row_rate:.6g} teeth a turn",
                    "equal counts",
                )
            )
    return faults


def along(shape: NeutralShape, arc_mm: Floats) -> Floats:
    """Points of the neutral line at arc lengths of any size: shape (k, 3), x mm, y mm, normal angle rad (unwrapped per
    sample pair only). Straight between samples; with 384 samples that is off by about 3e-5 of the radius."""
    size = len(shape.x_mm)
    place = np.mod(arc_mm / (2.0 * math.pi * shape.radius_mm), 1.0) * size
    first = np.minimum(np.floor(place).astype(np.int64), size - 1)
    part = place - first
    second = (first + 1) % size
    x = shape.x_mm[first] + part * (shape.x_mm[second] - shape.x_mm[first])
    y = shape.y_mm[first] + part * (shape.y_mm[second] - shape.y_mm[first])
    step = shape.normal_angle_rad[second] - shape.normal_angle_rad[first]
    step = step - 2.0 * math.pi * np.round(step / (2.0 * math.pi))
    return np.stack([x, y, shape.normal_angle_rad[first] + part * step], axis=-1)


def pose(motion: Motion, angle_rad: float) -> Pose:
    """Where everything is when the picture's angle (the generator's, unless it is held) stands at ``angle_rad``.

    Tooth k carries the material label 2πk/Z_row and sits at arc R_n·(label + shift), shift = (turns_f − turns_g)·angle.
    At angle 0 tooth 0 stands at lobe 0 in space 0 of every ring.
    """
    shift = (motion.flexible_turns - motion.generator_turns) * angle_rad
    teeth = tuple(
        along(motion.shape, motion.shape.radius_mm * (2.0 * math.pi * np.arange(row.teeth) / row.teeth + shift))
        for row in motion.rows
    )
    return Pose(
        motion.generator_turns * angle_rad,
        motion.flexible_turns * angle_rad,
        tuple(ring.turns * angle_rad for ring in motion.rings),
        shift,
        teeth,
    )


def line_up(motion: Motion, ring: int) -> NDArray[np.int64]:
    """For each sample of the neutral line, shape (N,): 0 the racks do not line up there, 1 they do but the teeth are
    apart, 2 they do and the teeth are in mesh.

    Lined up: Z_r·β/2π − Z_f·s/(2πR_n) within `LINED_UP` of a whole number, β the polar angle of the tooth halfway up.
    In mesh: its tip stands beyond the ring's tip radius. The places stand still in the generator's frame while the
    racks run through them.
    """
    shape, rigid = motion.shape, motion.rings[ring]
    row = motion.rows[rigid.row]
    tip = row.outline_mm[:, 1].max()
    half = (row.outline_mm[0, 1] + tip) / 2.0
    size = len(shape.x_mm)
    tooth = shape.x_mm + 1j * shape.y_mm
    outward = np.exp(1j * shape.normal_angle_rad)
    turn = np.arange(size) / size
    polar = np.angle(tooth + half * outward) / (2.0 * math.pi)
    ahead = rigid.teeth * (polar + np.round(turn - polar)) - row.teeth * turn
    lined = np.abs(ahead - np.round(ahead)) <= LINED_UP
    deep = np.abs(tooth + tip * outward) > rigid.tip_radius_mm
    return np.where(lined, np.where(deep, 2, 1), 0)


def _pairs(points: Sequence[Sequence[float]] | Floats) -> list[float]:
    return [float(number) for point in points for number in point]


def motion_json(motion: Motion) -> dict[str, Any]:
    """The parameters as the page module takes them; coordinates to 1e-6 mm, points as flat lists."""
    shape = motion.shape
    data = {
        "shape": {
            "x_mm": [float(x) for x in shape.x_mm],
            "y_mm": [float(y) for y in shape.y_mm],
            "normal_angle_rad": [float(angle) for angle in shape.normal_angle_rad],
            "radius_mm": float(shape.radius_mm),
            "lobes": shape.lobes,
        },
        "rows": [{"teeth": row.teeth, "outline_mm": _pairs(row.outline_mm)} for row in motion.rows],
        "inner_offset_mm": float(motion.inner_offset_mm),
        "rings": [
            {
                "name": ring.name,
                "teeth": ring.teeth,
                "row": ring.row,
                "outline_mm": _pairs(ring.outline_mm),
                "tip_radius_mm": float(ring.tip_radius_mm),
                "root_radius_mm": float(ring.root_radius_mm),
                "outer_radius_mm": float(ring.outer_radius_mm),
            }
            for ring in motion.rings
        ],
        "wheels": [
            {
                "x_mm": float(wheel.x_mm),
                "y_mm": float(wheel.y_mm),
                "radius_mm": float(wheel.radius_mm),
                "outline_mm": _pairs(wheel.outline_mm),
            }
            for wheel in motion.wheels
        ],
    }
    exact = {
        "turns": {
            "generator": float(motion.generator_turns),
            "flexible": float(motion.flexible_turns),
            "rings": [float(ring.turns) for ring in motion.rings],
        },
        "names": {"generator": motion.generator_name, "flexible": motion.flexible_name},
        "roles": {"held": motion.held, "driven": motion.driven, "read": motion.read},
        "ratio_text": motion.ratio_text,
    }
    return rounded(data, COORDINATE_PLACES) | exact


def _check_loads(motion: Motion, loads: Loads) -> None:
    """Raise MotionFault when the loads do not belong to this motion."""
    teeth = [motion.rows[ring.row].teeth for ring in motion.rings]
    faults = []
    for place, case in enumerate(loads.cases):
        given = [len(ring.along_n) for ring in case.rings]
        if given != teeth or [len(ring.out_n) for ring in case.rings] != teeth:
            faults.append(Fault("forces for other teeth", f"loads[{place}]", 0, str(given), f"one a tooth: {teeth}"))
        if any(len(ring.wheels_n) not in (0, len(motion.wheels)) for ring in case.rings):
            faults.append(Fault("forces for other wheels", f"loads[{place}]", 0, "", f"{len(motion.wheels)} or none"))
    if loads.member not in (GENERATOR, FLEXIBLE, *(ring.name for ring in motion.rings)):
        faults.append(Fault("no such member", "loads.member", 0, loads.member, "a member of the page"))
    if faults:
        raise MotionFault(faults)


def drive_page(
    motion: Motion, title: str, before: Sequence[str] = (), after: Sequence[str] = (), loads: Loads | None = None
) -> str:
    """The whole page as HTML text; the same motion gives the same bytes. ``before`` and ``after`` are paragraphs of
    plain text (design name, what is invented, how the shape was computed); ``loads`` adds contact forces and a control
    for their torque. Raises MotionFault for loads of another drive."""
    parameters = motion_json(motion)
    if loads is not None:
        _check_loads(motion, loads)
        parameters["loads"] = loads_json(loads)
    return moving_page(title, {"parameters": parameters}, before, after)
