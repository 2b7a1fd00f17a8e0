"""Any piece of a shell of revolution, held and loaded at its two ends, one harmonic at a time.

The cup's own element and solution for tubes, plates and cylinders, so that they can be held against handbooks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from lobewright.ring.shell_element import DOFS
from lobewright.ring.shell_mesh import Array, Segment
from lobewright.ring.shell_model import CupMaterial, build_model, forces, solve_held
from lobewright.ring.shell_stress import recover


class End(IntEnum):
    """The ends of a meridian."""

    START = 0
    FINISH = -1


@dataclass(frozen=True)
class PieceAnswer:
    """Amplitudes of one harmonic. ``moved_mm`` (2, 5): of both ends, radial, tangential, axial [mm], turn, twist [rad];
    ``reaction_n_per_mm`` (2, 5): line loads (turns: N·mm/mm) that hold or load them. Along the meridian, at the stations:
    ``arc_mm`` (S,), ``resultant`` (S, 6) and ``stress_mpa`` (S, 2, 3) as of :class:`lobewright.ring.shell_stress.Recovered`.
    """

    moved_mm: Array
    reaction_n_per_mm: Array
    arc_mm: Array
    resultant: Array
    stress_mpa: Array


def solve_piece(
    segments: Sequence[Segment],
    material: CupMaterial,
    harmonic: int,
    held: Mapping[tuple[End, int], float],
    loads: Mapping[tuple[End, int], float],
    refine: float = 1.0,
) -> PieceAnswer:
    """The piece with some motions of its ends ``held`` at given values and line ``loads`` [N/mm, N·mm/mm] on others.

    Keys are an end and one of RADIAL, TANGENTIAL, AXIAL, TURN, TWIST of :mod:`lobewright.ring.shell_model`; what is not named
    is free. An end at radius 0 can be held but not loaded. Raises ConvergenceFault where a rigid motion stays free.
    """
    model = build_model(tuple(segments), material, refine)
    line = model.meridian
    count = line.nodes
    radius = {End.START: float(line.place_mm[0, 0, 0]), End.FINISH: float(line.place_mm[-1, -1, 0])}
    fixed, given = np.zeros(line.unknowns, dtype=bool), np.zeros((2, 1, line.unknowns, 1))
    for (end, kind), value in held.items():
        row = DOFS * (end % count) + kind
        fixed[row], given[0, 0, row, 0] = True, value
    for (end, kind), value in loads.items():
        given[1, 0, DOFS * (end % count) + kind, 0] = value * radius[end]
    orders = np.array([harmonic])
    values, load = given
    x = solve_held(model, orders, fixed, values, load)
    pushed = forces(model, orders, x)[0, :, 0].reshape(-1, DOFS)
    found = recover(model, orders, x[:, :, 0][None])
    ends = np.array([End.START, End.FINISH])
    # an end on the axis has no length around it
    per_mm = np.array([1.0 / r if r > 0.0 else 0.0 for r in (radius[End.START], radius[End.FINISH])])
    return PieceAnswer(
        x[0, :, 0].reshape(-1, DOFS)[ends],
        pushed[ends] * per_mm[:, None],
        line.arc_mm.ravel(),
        found.resultant[0, 0],
        found.stress_mpa[0, 0],
    )
