"""The ratcheting torque over the stiffness of the generator's arms: the curve that says what a stiffer generator brings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault, LobewrightError
from lobewright.mapper import Mapper
from lobewright.torque.ask import skip
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.results import sealed

ARMS_N_PER_MM = (300.0, 1_000.0, 3_000.0, 10_000.0)
"""From a soft print to a metal arm."""


@dataclass(frozen=True)
class ArmCurve:
    """Arrays (K,) over rising ``stiffness_n_per_mm``: ``torque_nmm``; ``generator_share`` of arms and carrier in the retreat of
    the loaded teeth at the limit; ``gives_way`` and whether the torque is only a ``lower_bound``. ``failed``: a sentence for
    every stiffness without a torque (it is left out of the arrays)."""

    stiffness_n_per_mm: NDArray[np.float64]
    torque_nmm: NDArray[np.float64]
    generator_share: NDArray[np.float64]
    gives_way: tuple[str, ...]
    lower_bound: tuple[bool, ...]
    failed: tuple[str, ...]

    @property
    def rises(self) -> bool:
        """Whether the torque rises strictly over all stiffnesses."""
        return bool((np.diff(self.torque_nmm) > 0.0).all())


@dataclass(frozen=True)
class ArmPoint:
    """One stiffness to be asked; it can be sent to another process."""

    drive: DriveInput
    inputs: LoadInputs
    stiffness_n_per_mm: float


Answer = tuple[float, float, str, bool] | str


def ask_point(point: ArmPoint) -> Answer:
    """Torque, generator's share, what gives way, whether it is a lower bound; or why there is none."""
    inputs = replace(point.inputs, arm_stiffness_n_per_mm=point.stiffness_n_per_mm)
    try:
        found = skip(point.drive, inputs)
    except LobewrightError as error:
        return str(error)
    return found.torque_nmm, found.generator_share, found.gives_way, found.lower_bound


def over_arms(
    drive: DriveInput,
    inputs: LoadInputs,
    stiffnesses_n_per_mm: Sequence[float] = ARMS_N_PER_MM,
    *,
    mapper: Mapper = map,
) -> ArmCurve:
    """Ratcheting torque at several arm stiffnesses, all else as given. ``mapper`` maps :func:`ask_point` over points in order.

    Raises DesignFault for a cam, which has no arms, and for stiffnesses that do not rise.
    """
    if isinstance(drive.design.generator, m.Cam):
        raise DesignFault([Fault("a cam has no arms", "generator.kind", 0, "cam", "rollers, paired_rollers or discs")])
    if any(b <= a for a, b in pairwise(stiffnesses_n_per_mm)):
        found = ", ".join(f"{value:g}" for value in stiffnesses_n_per_mm)
        raise DesignFault([Fault("arm stiffnesses must rise", "stiffnesses_n_per_mm", 0, found, "rising, N/mm")])
    answers = list(mapper(ask_point, [ArmPoint(drive, inputs, value) for value in stiffnesses_n_per_mm]))
    failed = [f"{v:g} N/mm: {a}" for v, a in zip(stiffnesses_n_per_mm, answers, strict=True) if isinstance(a, str)]
    good = [(v, a) for v, a in zip(stiffnesses_n_per_mm, answers, strict=True) if not isinstance(a, str)]
    return ArmCurve(
        stiffness_n_per_mm=sealed(np.array([v for v, _ in good])),
        torque_nmm=sealed(np.array([a[0] for _, a in good])),
        generator_share=sealed(np.array([a[1] for _, a in good])),
        gives_way=tuple(a[2] for _, a in good),
        lower_bound=tuple(a[3] for _, a in good),
        failed=tuple(failed),
    )
