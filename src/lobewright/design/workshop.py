"""The workshop file: what a person owns and has measured. Designs may name it; results record its hash."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, ValidationInfo, field_validator, model_validator
from pydantic_core import PydanticCustomError

from lobewright.design import catalogue
from lobewright.design.base import Frozen, Printer
from lobewright.errors import CatalogueFault

Count = Annotated[int, Field(ge=0, le=10_000)]
Positive = Annotated[float, Field(gt=0, le=1e9)]
Spread = Annotated[float, Field(ge=0, le=1e9)]


def _refuse(what: str, found: str, allowed: str) -> PydanticCustomError:
    return PydanticCustomError("readings", "{what}", {"what": what, "found": found, "allowed": allowed})


def _known(find: Callable[[str], object]) -> Callable[[str], str]:
    """A check that the catalogue has a row of this name; an empty name passes."""

    def check(name: str) -> str:
        try:
            if name:
                find(name)
        except CatalogueFault as error:
            fault = error.faults[0]
            raise _refuse(fault.what, fault.value, fault.allowed) from None
        return name

    return check


KnownBelt = Annotated[str, AfterValidator(_known(catalogue.belt_profile))]
KnownBearing = Annotated[str, AfterValidator(_known(catalogue.bearing))]
KnownMaterial = Annotated[str, AfterValidator(_known(catalogue.material))]
Cycles = Annotated[float, Field(ge=1, le=1e12)]
LEAST_PIECES = 3
"""Fatigue pieces that make a line with a spread."""


class OwnedBearings(Frozen):
    """Bearings in the drawer, and what their data sheet or your own count says of their inside."""

    designation: str
    count: Count
    dynamic_rating_N: Positive | None = None
    static_rating_N: Positive | None = None
    balls: Annotated[int, Field(ge=3, le=200)] | None = None
    ball_mm: Annotated[float, Field(gt=0.3, le=100)] | None = None


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


class Laser(Frozen):
    """A laser cutter or a shop that has one: how wide it burns, and the sheet that is there."""

    kerf_mm: Annotated[float, Field(ge=0, le=1)]
    sheet_mm: Annotated[float, Field(ge=0.5, le=20)]


class MeasuredBeltStiffness(Frozen):
    """Figures of one belt measured by its owner; each with its standard uncertainty."""

    designation: str
    width_mm: Annotated[float, Field(ge=1, le=200)]
    bending_stiffness_Nmm2: Positive
    bending_stiffness_uncertainty_Nmm2: Spread
    axial_stiffness_N: Positive
    axial_stiffness_uncertainty_N: Spread


class MeasuredSkip(Frozen):
    """Torque at which a drive that was built has skipped; what was predicted for it corrects later designs."""

    design: str
    torque_Nm: Positive
    uncertainty_Nm: Spread
    predicted_Nm: Positive | None = None
    flexible_ring: Literal["belt", "printed_ring", "printed_cup", "metal_cup"] | None = None
    designation: str = ""
    material: str = ""


# --- coupons: what a piece of the owner's own material bore ----------------------------------------------------------


class Coupon(Frozen):
    """Your own test pieces of one material in one direction; each figure replaces the catalogue's, with its uncertainty.

    Uncertainties are standard ones. ``fatigue_amplitude_MPa`` and ``fatigue_cycles`` are pairs of one piece each, at the ratio
    ``fatigue_ratio`` of smallest to largest stress; ``temperature_C`` is that of the tests.
    """

    material: KnownMaterial
    direction: Literal["in_layers", "across_layers"] = "in_layers"
    temperature_C: Annotated[float, Field(ge=-40, le=200)] = 22.0
    strength_MPa: Positive | None = None
    strength_uncertainty_MPa: Spread = 0.0
    yield_MPa: Positive | None = None
    yield_uncertainty_MPa: Spread = 0.0
    modulus_MPa: Positive | None = None
    modulus_uncertainty_MPa: Spread = 0.0
    fatigue_amplitude_MPa: Annotated[tuple[Positive, ...], Field(max_length=200)] = ()
    fatigue_cycles: Annotated[tuple[Cycles, ...], Field(max_length=200)] = ()
    fatigue_ratio: Annotated[float, Field(ge=-5, lt=1)] = -1.0

    @model_validator(mode="after")
    def _told(self) -> Self:
        pairs = (len(self.fatigue_amplitude_MPa), len(self.fatigue_cycles))
        if pairs[0] != pairs[1]:
            raise _refuse("there is not one number of cycles for each amplitude", f"{pairs[1]}", f"{pairs[0]} cycles")
        if 0 < pairs[0] < LEAST_PIECES:
            raise _refuse("these are too few fatigue pieces", f"{pairs[0]}", f"at least {LEAST_PIECES}")
        if not pairs[0] and self.strength_MPa is None and self.yield_MPa is None and self.modulus_MPa is None:
            allowed = "a strength, a yield stress, a modulus or fatigue pieces"
            raise _refuse("this coupon tells nothing", "nothing", allowed)
        return self


class BeltToothTest(Frozen):
    """Force at which one tooth of a belt sheared off its body, over the belt's width."""

    designation: KnownBelt
    width_mm: Annotated[float, Field(ge=1, le=200)]
    shear_force_N: Positive
    shear_force_uncertainty_N: Spread


# --- raw readings: a load hung or pressed on, and what gave way by how much --------------------------------------

Readings = Annotated[tuple[float, ...], Field(min_length=2, max_length=200)]
LARGEST_LOAD_G, LARGEST_SHIFT_MM = 1e6, 1000.0


class LoadTest(Frozen):
    """Loads and shifts in the order they were read; a resolution is the smallest step that the instrument shows.

    Only the slope counts: the weight of a plate, of the sample, and where the gauge was set to zero drop out.
    """

    load_g: Readings
    shift_mm: Readings
    load_resolution_g: Annotated[float, Field(gt=0, le=1e5)]
    shift_resolution_mm: Annotated[float, Field(gt=0, le=10)]

    @field_validator("load_g")
    @classmethod
    def _loads(cls, loads: tuple[float, ...]) -> tuple[float, ...]:
        for load in loads:
            if not 0.0 <= load <= LARGEST_LOAD_G:
                raise _refuse("a load is out of range", f"{load:g}", f"0 to {LARGEST_LOAD_G:,.0f} g")
        if max(loads) == min(loads):
            raise _refuse("all loads are the same", f"{loads[0]:g}", "at least two different loads in g")
        return loads

    @field_validator("shift_mm")
    @classmethod
    def _shifts(cls, shifts: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        loads = info.data.get("load_g")
        for shift in shifts:
            if not abs(shift) <= LARGEST_SHIFT_MM:
                raise _refuse(
                    "a shift is out of range", f"{shift:g}", f"−{LARGEST_SHIFT_MM:g} to {LARGEST_SHIFT_MM:g} mm"
                )
        if loads is None:
            return shifts
        if len(loads) != len(shifts):
            raise _refuse("there is not one shift for each load", f"{len(shifts)}", f"{len(loads)} readings in mm")
        middle = math.fsum(loads) / len(loads)
        if math.fsum((load - middle) * shift for load, shift in zip(loads, shifts, strict=True)) <= 0.0:
            found = " ".join(f"{shift:g}" for shift in shifts[:4])
            raise _refuse("the shift does not grow with the load", found, "shifts in mm that grow with load_g")
        return shifts


class SqueezeTest(LoadTest):
    """A closed ring on edge, its axis level, between two flat plates; shift is the round ring's height less the height read.

    So what its own weight and the plate squeeze stands in shift, though not in load. ``neutral_diameter_mm`` is the diameter of
    the neutral line, of a belt teeth · pitch / π. A belt names its designation, any other ring the design that it was made for.
    """

    designation: KnownBelt = ""
    design: str = ""
    width_mm: Annotated[float, Field(ge=1, le=200)]
    neutral_diameter_mm: Annotated[float, Field(gt=5, le=1000)]

    @model_validator(mode="after")
    def _named(self) -> Self:
        if bool(self.designation) == bool(self.design):
            found = "both" if self.design else "neither"
            raise _refuse(
                "whose ring this was is not told", found, "either designation (a belt) or design (any other ring)"
            )
        if max(self.shift_mm) - min(self.shift_mm) > 0.15 * self.neutral_diameter_mm:
            found = f"{max(self.shift_mm) - min(self.shift_mm):g}"
            allowed = f"at most {0.15 * self.neutral_diameter_mm:.3g} mm, 15 % of the diameter"
            raise _refuse("the ring was squeezed too far", found, allowed)
        return self


class StretchTest(LoadTest):
    """A straight strand of belt, pulled; shift is how much the stated span becomes longer. ``strands``: 2 for a loop."""

    designation: KnownBelt
    width_mm: Annotated[float, Field(ge=1, le=200)]
    span_mm: Annotated[float, Field(gt=5, le=10_000)]
    strands: Literal[1, 2] = 1


class SkewTest(LoadTest):
    """One edge of a belt held fast, the other edge pulled along it; shift is that of the pulled edge along the belt.

    ``free_width_mm``: of the belt between what holds and what pulls; ``held_length_mm``: length of belt so held.
    """

    designation: KnownBelt
    held_length_mm: Annotated[float, Field(gt=1, le=10_000)]
    free_width_mm: Annotated[float, Field(gt=0.5, le=200)]


class ToothPush(LoadTest):
    """One tooth pushed along the ring, the ring held flat; shift is that of the tooth at the height of the push.

    ``push_height_mm``: of the push above the land between teeth.
    """

    designation: KnownBelt
    width_mm: Annotated[float, Field(ge=1, le=200)]
    push_height_mm: Annotated[float, Field(gt=0.05, le=20)]


class ArmPush(LoadTest):
    """One roller or disc of a wave generator pushed inward along its arm, the shaft held; shift is that of the roller."""

    generator: Literal["rollers", "paired_rollers", "discs"]
    bearing: KnownBearing
    design: str = ""


class Workshop(Frozen):
    schema_version: Literal[1]
    name: str = ""
    printer: Printer | None = None
    bearings: tuple[OwnedBearings, ...] = ()
    bolts: tuple[OwnedBolts, ...] = ()
    belts: tuple[OwnedBelt, ...] = ()
    motors: tuple[OwnedMotor, ...] = ()
    laser: Laser | None = None
    belt_stiffness: tuple[MeasuredBeltStiffness, ...] = ()
    skip_torque: tuple[MeasuredSkip, ...] = ()
    squeeze_test: tuple[SqueezeTest, ...] = ()
    stretch_test: tuple[StretchTest, ...] = ()
    skew_test: tuple[SkewTest, ...] = ()
    tooth_push: tuple[ToothPush, ...] = ()
    arm_push: tuple[ArmPush, ...] = ()
    coupon: tuple[Coupon, ...] = ()
    belt_tooth_shear: tuple[BeltToothTest, ...] = ()
