"""Contact forces for the moving page: how hard each tooth pushes on its rigid ring and each wheel on the flexible ring.

Forces are known for one position of the generator, at the teeth as they stood there. Seen from the generator the load
stands still while the teeth run through it, to first order: what a tooth carries is read off at its place between the
known ones. Read so, the sum over all teeth is the same at every angle (derived: linear weights of equally spaced teeth
add up to one). `pushes_at` is the Python twin of the page module's `pushesAt`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lobewright.errors import Fault, MotionFault

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class RingPush:
    """Pushes of one tooth row on its rigid ring. ``along_n`` and ``out_n`` (Z,): along the flexible ring (anticlockwise)
    and outward, seen from the tooth whose place is ``first_label_rad`` + 2πk/Z from the lobe. ``wheels_n`` (W, 2): of
    every wheel on this row, x and y in the generator's frame; no rows where the generator bears all along (a cam)."""

    along_n: Floats
    out_n: Floats
    wheels_n: Floats
    first_label_rad: float = 0.0


@dataclass(frozen=True)
class LoadCase:
    """All pushes at one torque of the slow member, anticlockwise positive; one `RingPush` a ring, in the page's order."""

    torque_nmm: float
    rings: tuple[RingPush, ...]


@dataclass(frozen=True)
class Loads:
    """Cases at several torques of ``member`` (a name of the page); forces act ``height_mm`` above the neutral line.

    Raises MotionFault when there is no case, a number is not finite, or torques repeat.
    """

    member: str
    height_mm: float
    cases: tuple[LoadCase, ...]

    def __post_init__(self) -> None:
        torques = [case.torque_nmm for case in self.cases]
        numbers = [number for case in self.cases for ring in case.rings for number in (ring.along_n, ring.out_n)]
        faults = []
        if not torques or len(set(torques)) != len(torques):
            faults.append(Fault("torques of the moving page", "loads", 0, str(torques), "one or more, all different"))
        if not all(np.isfinite(array).all() for array in numbers) or not all(map(math.isfinite, torques)):
            faults.append(Fault("a force of the moving page is not finite", "loads", allowed="finite N and N·mm"))
        if faults:
            raise MotionFault(faults)


def pushes_at(loads: Loads, case: int, ring: int, teeth: Floats, shift_rad: float) -> Floats:
    """Pushes (Z, 4) of all teeth on a ring: x, y in mm, force x, y in N, in the generator's frame.

    ``teeth`` (Z, 3) and ``shift_rad`` are those of the pose. Between known places the force is straight.
    """
    push = loads.cases[case].rings[ring]
    count = len(teeth)
    place = np.arange(count) + (shift_rad - push.first_label_rad) * count / (2.0 * math.pi)
    first = np.floor(place).astype(np.int64)
    part = place - first
    along, out = (
        (1.0 - part) * known[first % count] + part * known[(first + 1) % count] for known in (push.along_n, push.out_n)
    )
    c, s = np.cos(teeth[:, 2]), np.sin(teeth[:, 2])
    return np.column_stack(
        (
            teeth[:, 0] + loads.height_mm * c,
            teeth[:, 1] + loads.height_mm * s,
            out * c - along * s,
            out * s + along * c,
        )
    )


def _short(values: Floats) -> list[float]:
    """Numbers to three figures, minus zero as zero."""
    return [float(f"{value:.3g}") + 0.0 for value in values.ravel()]


def loads_json(loads: Loads) -> dict[str, Any]:
    """The loads as the page module takes them, cases by rising torque, forces to three figures."""
    cases = [
        {
            "torque_nm": float(f"{case.torque_nmm / 1000.0:.3g}"),
            "rings": [
                {
                    "along_n": _short(ring.along_n),
                    "out_n": _short(ring.out_n),
                    "wheels_n": _short(ring.wheels_n),
                    "first_label_rad": round(ring.first_label_rad, 9),
                }
                for ring in case.rings
            ],
        }
        for case in sorted(loads.cases, key=lambda case: case.torque_nmm)
    ]
    return {"member": loads.member, "height_mm": round(loads.height_mm, 6), "cases": cases}
