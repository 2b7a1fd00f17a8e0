"""The shape of ``results.json``, version 1, typed once: the JSON Schema beside this module is made from it.

Every key that holds a number with a unit names the unit. ``null`` stands where a number does not exist for this kind
of drive or was not made; no number is ever not finite. Fields are only added in later versions, never changed.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from lobewright.design.base import Frozen
from lobewright.report.life_model import LifePart
from lobewright.report.load_model import LoadPart
from lobewright.sources import Flag
from lobewright.verdict import Bound, State

RESULTS_VERSION = 1

Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Exact = Annotated[str, Field(pattern=r"^-?[0-9]+/[1-9][0-9]*$", description="an exact fraction")]
StateWord = Annotated[State, Field(strict=False)]
BoundWord = Annotated[Bound, Field(strict=False)]
FlagWord = Annotated[Flag, Field(strict=False)]


class DesignPart(Frozen):
    """Which design was assessed. ``invented`` is true where the design itself says that it is made up."""

    name: str
    about: str
    invented: bool
    sha256: Sha256
    lobes: int
    flexible_ring_kind: Literal["belt", "printed_ring", "printed_cup", "metal_cup"]
    generator_kind: Literal["rollers", "paired_rollers", "discs", "cam"]
    rated_torque_Nm: float | None
    checks_not_expected: dict[str, str]


class WorkshopPart(Frozen):
    """The workshop file that the design names; ``null`` in both where it names none."""

    name: str | None
    sha256: Sha256 | None


class MemberTurns(Frozen):
    """Signed turns of one member (anticlockwise positive, seen from the output side)."""

    member: str
    per_driven_turn: float
    per_driven_turn_exact: Exact
    per_generator_turn: float | None
    per_generator_turn_exact: Exact | None


class MotionPart(Frozen):
    """``ratio`` is driven speed over read speed, signed: negative where they turn opposite ways."""

    fixed: str
    driven: str
    read: str
    ratio: float
    ratio_exact: Exact
    ratio_text: str
    same_sense: bool
    members: tuple[MemberTurns, ...]
    load_cycles_per_generator_turn: float | None


class DeflectionPart(Frozen):
    """Outward displacement of the neutral line at the major axis."""

    nominal_mm: float
    design_mm: float
    design_factor: float
    set_mm: float
    set_tolerance_mm: float


class FlexiblePart(Frozen):
    """The flexible ring before it is bent; heights are outward from the neutral line."""

    teeth: int
    neutral_radius_mm: float
    inner_radius_mm: float
    length_mm: float
    length_tolerance_mm: float
    land_height_mm: float


class GeneratorPart(Frozen):
    """Where the wave generator stands. ``null`` where this kind has no such number.

    ``curve_a_mm`` and ``curve_b_mm`` describe the neutral line on a cam: semi-axes of an ellipse, or A and B of
    r = A + B·cos nθ.
    """

    contact: str
    centre_distance_mm: float | None
    roller_radius_mm: float | None
    pair_half_angle_deg: float | None
    curve_a_mm: float | None
    curve_b_mm: float | None
    fit_mm: float
    fit_tolerance_mm: float
    run_out_mm: float


class ShapePart(Frozen):
    """The bent neutral line. ``contact_deg`` is the material label from the lobe where it touches or lifts off.

    ``force_factor`` and ``tension_factor`` are in EI/R²: the push of one roller (0 for spread contact) and the tension
    at the minor axis. ``stretch`` is the hoop strain of a ring tighter than its cam.
    """

    deflection_mm: float
    minor_deflection_mm: float
    contact_deg: float
    lifts_off: bool
    force_factor: float
    tension_factor: float
    stretch: float
    closure_mm: float
    residual: float
    iterations: int


class ShapesPart(Frozen):
    """As the teeth were generated, as set, and at both ends of the generator's fit."""

    design: ShapePart
    as_set: ShapePart
    loosest_fit: ShapePart
    tightest_fit: ShapePart


class StrainPart(Frozen):
    """Bending strain of the plain wall (an estimate), and change of curvature at the axes in w0/R²."""

    amplitude: float
    largest: float
    least: float
    most: float
    curvature_factor_major: float
    curvature_factor_minor: float


class EdgePart(Frozen):
    """Mesh at one axial section of the face."""

    from_open_edge_mm: float
    deflection_mm: float
    engagement_mm: float
    minor_gap_mm: float


class CasePart(Frozen):
    """One state of the drive in which a whole turn was checked; a negative gap is an overlap."""

    case: str
    smallest_gap_mm: float
    at_label_deg: float
    teeth_close: float
    minor_gap_mm: float
    poses_checked: int


class FreePlayPart(Frozen):
    """Free rotation of this ring against the held flexible ring, no torque: a lower bound."""

    forward_rad: float
    backward_rad: float
    total_rad: float
    total_arcmin: float


class RingPart(Frozen):
    """One rigid ring with the tooth row that it meshes with."""

    name: str
    teeth: int
    flexible_teeth: int
    clearance_mm: float
    tip_radius_mm: float
    root_radius_mm: float
    outer_radius_mm: float
    tip_limited_by: str
    least_land_mm: float
    flexible_tooth_height_mm: float
    edges: tuple[EdgePart, ...]
    cases: tuple[CasePart, ...]
    free_play: FreePlayPart


class SourcePart(Frozen):
    """A source: ``line`` is all of it on one line, with its flag."""

    key: str
    text: str
    year: int | None
    place: str
    flag: FlagWord
    line: str


class WorkingPart(Frozen):
    equation: str
    numbers: str


class VerdictPart(Frozen):
    """One check. ``margin`` is positive on the good side; the three numbers are ``null`` where it was not made."""

    name: str
    title: str
    state: StateWord
    value: float | None
    limit: float | None
    bound: BoundWord
    unit: str
    margin: float | None
    sentence: str
    working: WorkingPart
    sources: tuple[SourcePart, ...]


class Results(Frozen):
    """``results.json`` of Lobewright: everything computed of one design. ``made_at`` is the only field that may differ
    between two runs on one design with one version of the program."""

    schema_version: Literal[1]
    program: Literal["lobewright"]
    program_version: str
    made_at: str | None
    design: DesignPart
    workshop: WorkshopPart
    outcome: StateWord
    cautions: tuple[str, ...]
    motion: MotionPart
    deflection: DeflectionPart
    flexible_ring: FlexiblePart
    generator: GeneratorPart
    shapes: ShapesPart
    strain: StrainPart
    output_free_play_rad: float
    output_free_play_arcmin: float
    rings: tuple[RingPart, ...]
    load: LoadPart | None = None
    life: LifePart | None = None
    verdicts: tuple[VerdictPart, ...]
    sources: tuple[SourcePart, ...]


def results_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of ``results.json``; the shipped file holds just this."""
    schema = Results.model_json_schema()
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:lobewright:results:{RESULTS_VERSION}",
        **schema,
    }
