"""The workshop file: what a person owns and has measured. Designs may name it; results record its hash."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from lobewright.design.base import Frozen, Printer

Count = Annotated[int, Field(ge=0, le=10_000)]
Positive = Annotated[float, Field(gt=0, le=1e9)]
Spread = Annotated[float, Field(ge=0, le=1e9)]


class OwnedBearings(Frozen):
    designation: str
    count: Count


class OwnedBolts(Frozen):
    size: str
    length_mm: Annotated[float, Field(gt=0, le=500)]
    count: Count


class OwnedBelt(Frozen):
    designation: str
    teeth: Annotated[int, Field(ge=16, le=2000)]
    width_mm: Annotated[float, Field(ge=1, le=200)]
    count: Count = 1


class OwnedMotor(Frozen):
    name: str
    holding_torque_Nm: Positive
    shaft_mm: Annotated[float, Field(gt=0, le=50)]
    count: Count = 1


class MeasuredBeltStiffness(Frozen):
    """Figures of one belt measured by its owner; each with its standard uncertainty."""

    designation: str
    width_mm: Annotated[float, Field(ge=1, le=200)]
    bending_stiffness_Nmm2: Positive
    bending_stiffness_uncertainty_Nmm2: Spread
    axial_stiffness_N: Positive
    axial_stiffness_uncertainty_N: Spread


class MeasuredSkip(Frozen):
    """Torque at which a drive that was built has skipped."""

    design: str
    torque_Nm: Positive
    uncertainty_Nm: Spread


class Workshop(Frozen):
    schema_version: Literal[1]
    name: str = ""
    printer: Printer | None = None
    bearings: tuple[OwnedBearings, ...] = ()
    bolts: tuple[OwnedBolts, ...] = ()
    belts: tuple[OwnedBelt, ...] = ()
    motors: tuple[OwnedMotor, ...] = ()
    belt_stiffness: tuple[MeasuredBeltStiffness, ...] = ()
    skip_torque: tuple[MeasuredSkip, ...] = ()
