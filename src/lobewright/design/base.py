"""What the design and the workshop models are made of."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field


class Frozen(BaseModel):
    """Base of every design model: immutable, no unknown keys, no silent conversion of text to numbers."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,30}$")]
Teeth = Annotated[int, Field(ge=16, le=600)]
Length = Annotated[float, Field(gt=0, le=1000)]


class Printer(Frozen):
    """A filament printer, as calibrated.

    ``xy_compensation_mm``: how far it lays outlines too fat, each side. ``seat_allowance_mm`` and ``bolt_hole_allowance_mm``:
    added to the diameter of bearing seats and of bolt holes in print files, beyond that. ``first_layer_mm``: how far the
    first layer spreads, each side. ``least_clearance_mm``: gap that its printed flanks need, 0: none told. Uncertainties are
    standard ones. ``bridge_mm``: the longest gap it bridges without support;
    ``overhang_deg``: the flattest overhang, from the upright. Defaults are common practice.
    """

    kind: Literal["printer"]
    nozzle_mm: Annotated[float, Field(ge=0.1, le=2)]
    extrusion_width_mm: Annotated[float, Field(ge=0.1, le=3)]
    layer_mm: Annotated[float, Field(ge=0.02, le=1)]
    xy_compensation_mm: Annotated[float, Field(ge=-0.5, le=0.5)] = 0.0
    xy_compensation_uncertainty_mm: Annotated[float, Field(ge=0, le=0.5)] = 0.03
    seat_allowance_mm: Annotated[float, Field(ge=-0.5, le=1)] = 0.0
    seat_allowance_uncertainty_mm: Annotated[float, Field(ge=0, le=0.5)] = 0.05
    bolt_hole_allowance_mm: Annotated[float, Field(ge=-0.5, le=1)] = 0.0
    bolt_hole_allowance_uncertainty_mm: Annotated[float, Field(ge=0, le=0.5)] = 0.05
    first_layer_mm: Annotated[float, Field(ge=0, le=1)] = 0.2
    first_layer_uncertainty_mm: Annotated[float, Field(ge=0, le=0.5)] = 0.1
    least_clearance_mm: Annotated[float, Field(ge=0, le=0.5)] = 0.0
    least_clearance_uncertainty_mm: Annotated[float, Field(ge=0, le=0.5)] = 0.05
    bridge_mm: Annotated[float, Field(gt=0, le=100)] = 10.0
    overhang_deg: Annotated[float, Field(ge=0, le=80)] = 45.0
    tolerance_mm: Annotated[float, Field(ge=0, le=1)] = 0.05
    bed_mm: tuple[Length, Length, Length]
    material: str = "petg_printed"
