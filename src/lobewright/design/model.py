"""What a drive *is*: frozen, typed, complete. Nothing computed is stored here.

The models are read from the design TOML (see :mod:`lobewright.design.files`). Each field declares its unit in its name
and its allowed range in its type, so that a wrong value can be answered with what is allowed. Ranges are the sizes a
home workshop or a small machine shop could meet; they catch slips of a decimal point, they are not physics.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field

from lobewright.design.base import Frozen, Length, Name, Printer, Teeth
from lobewright.design.workshop import Workshop

MakingError = Annotated[float, Field(ge=0, le=2)]
"""An error of making that a design may name, as a size."""

# --- the flexible ring -------------------------------------------------------------------------------------------


class MeasuredBelt(Frozen):
    """Caliper readings that replace catalogue figures of a belt."""

    tooth_height_mm: Annotated[float, Field(gt=0.1, le=20)] | None = None
    total_thickness_mm: Annotated[float, Field(gt=0.3, le=40)] | None = None
    cord_offset_mm: Annotated[float, Field(ge=0, le=5)] | None = None


class Belt(Frozen):
    """A closed timing belt turned teeth-outward. Its neutral line is the cord."""

    kind: Literal["belt"]
    designation: str
    teeth: Teeth
    width_mm: Annotated[float, Field(ge=2, le=100)]
    length_tolerance_mm: Annotated[float, Field(ge=0, le=5)] = 0.4
    pitch_error_mm: MakingError = 0.0
    measured: MeasuredBelt = MeasuredBelt()


class SecondRow(Frozen):
    """A second tooth row of its own count on the same flexible body."""

    teeth: Teeth
    width_mm: Annotated[float, Field(ge=1, le=200)]


class ModuleRing(Frozen):
    """What printed and metal flexible rings share: teeth by module on a wall of even thickness."""

    module_mm: Annotated[float, Field(ge=0.1, le=10)]
    teeth: Teeth
    wall_mm: Annotated[float, Field(gt=0.05, le=20)]
    width_mm: Annotated[float, Field(ge=1, le=200)]
    material: str
    length_tolerance_mm: Annotated[float, Field(ge=0, le=5)] = 0.1
    pitch_error_mm: MakingError = 0.0


class Layers(StrEnum):
    """How the layers of a printed part lie to its axis."""

    ACROSS_AXIS = "across_axis"
    ALONG_AXIS = "along_axis"


Lying = Annotated[Layers, Field(strict=False)]


class PrintedRing(ModuleRing):
    """A short printed ring, open at both ends."""

    kind: Literal["printed_ring"]
    layers: Lying = Layers.ACROSS_AXIS
    second_row: SecondRow | None = None


class Cup(ModuleRing):
    """A toothed rim on a thin barrel that is closed by a diaphragm with a boss."""

    length_mm: Annotated[float, Field(gt=1, le=500)]
    barrel_wall_mm: Annotated[float, Field(gt=0.05, le=20)]
    diaphragm_mm: Annotated[float, Field(gt=0.05, le=30)]
    corner_radius_mm: Annotated[float, Field(ge=0, le=30)]
    boss_diameter_mm: Annotated[float, Field(gt=1, le=500)]
    bore_mm: Annotated[float, Field(ge=0, le=400)]


class PrintedCup(Cup):
    """A printed cup."""

    kind: Literal["printed_cup"]
    layers: Lying = Layers.ACROSS_AXIS


class Surface(StrEnum):
    """How the surface of a metal part was finished."""

    GROUND = "ground"
    MACHINED = "machined"
    ROLLED = "rolled"


class MetalCup(Cup):
    """A turned steel cup."""

    kind: Literal["metal_cup"]
    surface: Annotated[Surface, Field(strict=False)] = Surface.MACHINED


FlexibleRing = Annotated[Belt | PrintedRing | PrintedCup | MetalCup, Field(discriminator="kind")]


# --- the tooth form ----------------------------------------------------------------------------------------------


class BeltTooth(Frozen):
    """The belt's own profile, from its designation."""

    form: Literal["belt"]


class ModuleTooth(Frozen):
    """Depths of a tooth in modules, measured from the pitch circle of the undeformed ring."""

    addendum_factor: Annotated[float, Field(gt=0.1, le=2)] = 0.7
    dedendum_factor: Annotated[float, Field(gt=0.1, le=2)] = 0.9
    thickness_share: Annotated[float, Field(gt=0.2, lt=0.8)] = 0.5
    tip_round_factor: Annotated[float, Field(ge=0, le=0.5)] = 0.15
    root_round_factor: Annotated[float, Field(ge=0, le=1)] = 0.3


class InvoluteTooth(ModuleTooth):
    """Involute flanks of the undeformed ring."""

    form: Literal["involute"]
    pressure_angle_deg: Annotated[float, Field(ge=10, le=35)] = 20.0


class TrapezoidTooth(ModuleTooth):
    """Straight flanks; the half angle is the angle of a flank to the tooth's centre line."""

    form: Literal["trapezoid"]
    half_angle_deg: Annotated[float, Field(ge=5, le=40)] = 25.0


class DoubleArcTooth(ModuleTooth):
    """A convex arc above and a concave arc below the pitch circle, joined by their common tangent."""

    form: Literal["double_arc"]
    tangent_angle_deg: Annotated[float, Field(ge=4, le=30)] = 10.0
    convex_radius_factor: Annotated[float, Field(gt=0.3, le=6)] = 1.6
    concave_radius_factor: Annotated[float, Field(gt=0.3, le=6)] = 1.8


class OutlineTooth(Frozen):
    """A tooth outline from a CSV file: columns x_mm (tangential), y_mm (height above the neutral line)."""

    form: Literal["outline"]
    file: str
    points: tuple[tuple[float, float], ...] = ()


Tooth = Annotated[
    BeltTooth | InvoluteTooth | TrapezoidTooth | DoubleArcTooth | OutlineTooth, Field(discriminator="form")
]


# --- the wave generator ------------------------------------------------------------------------------------------


class GeneratorBase(Frozen):
    """What all generators share.

    ``design_deflection_factor`` (times the nominal deflection) makes the rigid rings' teeth;
    ``set_deflection_mm`` is what is screwed in when the drive is used, the design deflection where it is not named.
    ``fit_mm`` is the ring's inner length minus the generator's outer length: positive is loose.
    """

    design_deflection_factor: Annotated[float, Field(ge=0.3, le=2)] | None = None
    set_deflection_mm: Annotated[float, Field(gt=0, le=50)] | None = None
    set_deflection_tolerance_mm: Annotated[float, Field(ge=0, le=2)] = 0.05
    fit_mm: Annotated[float, Field(ge=-2, le=10)] = 0.0
    fit_tolerance_mm: Annotated[float, Field(ge=0, le=2)] = 0.1
    run_out_mm: Annotated[float, Field(ge=0, le=2)] = 0.03
    unequal_lobes_mm: MakingError = 0.0


class Rollers(GeneratorBase):
    """One roller a lobe; the roller is a catalogue ball bearing."""

    kind: Literal["rollers"]
    lobes: Literal[2, 3] = 2
    bearing: str
    roller_centre_distance_mm: Length | None = None


class PairedRollers(GeneratorBase):
    """Two rollers a lobe, at ± the pair's half angle from the major axis."""

    kind: Literal["paired_rollers"]
    lobes: Literal[2, 3] = 2
    bearing: str
    pair_half_angle_deg: Annotated[float, Field(ge=3, le=60)] = 25.0
    roller_centre_distance_mm: Length | None = None


class Discs(GeneratorBase):
    """Two discs side by side, one pushed out toward each lobe."""

    kind: Literal["discs"]
    lobes: Literal[2, 3] = 2
    disc_radius_mm: Length
    bearing: str
    roller_centre_distance_mm: Length | None = None


class CamCurve(StrEnum):
    """Curve that the neutral line takes on the cam."""

    ELLIPSE = "ellipse"
    COSINE = "cosine"


class CamUnder(StrEnum):
    """What runs between the cam and the flexible ring."""

    THIN_BEARING = "thin_bearing"
    PLAIN = "plain"


class Cam(GeneratorBase):
    """A cam whose outline makes the neutral line an ellipse or a cosine curve."""

    kind: Literal["cam"]
    lobes: Literal[2, 3] = 2
    curve: Annotated[CamCurve, Field(strict=False)]
    under: Annotated[CamUnder, Field(strict=False)]
    race_height_mm: Annotated[float, Field(ge=0, le=50)] = 0.0
    race_wall_mm: Annotated[float, Field(gt=0.05, le=20)] | None = None
    race_balls: Annotated[int, Field(ge=3, le=200)] | None = None
    race_ball_mm: Annotated[float, Field(gt=0.3, le=50)] | None = None


Generator = Annotated[Rollers | PairedRollers | Discs | Cam, Field(discriminator="kind")]


# --- rigid rings, motion, process, duty --------------------------------------------------------------------------


class BoltClass(StrEnum):
    """Property class of a bolt: a hundredth of its tensile strength in MPa, and the share of it at which it yields."""

    CLASS_4_6 = "4.6"
    CLASS_5_6 = "5.6"
    CLASS_8_8 = "8.8"
    CLASS_10_9 = "10.9"
    CLASS_12_9 = "12.9"
    A2_70 = "A2-70"


class RigidRing(Frozen):
    """A rigid ring with internal teeth.

    ``offset_mm`` is where its face begins, measured along the axis from the flexible ring's open edge. ``outline``
    names a CSV file of one given tooth space; without it the tooth space is generated. ``material``: of the catalogue;
    without it what the process prints, else the flexible ring's.
    """

    name: Name
    teeth: Teeth
    width_mm: Annotated[float, Field(ge=0.5, le=200)]
    offset_mm: Annotated[float, Field(ge=0, le=500)] = 0.0
    row: Literal[1, 2] = 1
    material: str | None = None
    layers: Lying = Layers.ACROSS_AXIS
    clearance_mm: Annotated[float, Field(ge=0, le=3)]
    rim_mm: Annotated[float, Field(ge=0.5, le=100)] = 8.0
    bolt: str = "M3"
    bolts: Annotated[int, Field(ge=0, le=48)] = 6
    bolt_class: Annotated[BoltClass, Field(strict=False)] = BoltClass.CLASS_8_8
    dowels: Annotated[int, Field(ge=0, le=12)] = 0
    dowel_mm: Annotated[float, Field(ge=1, le=20)] = 3.0
    run_out_mm: MakingError = 0.0
    ovality_mm: MakingError = 0.0
    pitch_error_mm: MakingError = 0.0
    outline: str | None = None
    outline_points: tuple[tuple[float, float], ...] = ()


class Motion(Frozen):
    """Which member is held, which is driven, which is read. Members: ``generator``, ``flexible_ring``, ring names."""

    fixed: Name
    driven: Name
    read: Name


class Machined(Frozen):
    """Cut from metal or plastic with a stated tolerance on a contour."""

    kind: Literal["machined"]
    tolerance_mm: Annotated[float, Field(gt=0, le=1)]
    smallest_land_mm: Annotated[float, Field(gt=0, le=5)] = 0.1


Process = Annotated[Printer | Machined, Field(discriminator="kind")]


class DutyStep(Frozen):
    """One step of what the drive has to do; torque, speed and outside loads at the member that is read.

    ``peak_torque_Nm`` comes on top for moments that do not count for life. ``travel_deg``: how far it swings to and fro; it
    turns on and on where it is not named.
    """

    name: str
    torque_Nm: Annotated[float, Field(ge=0, le=1e5)]
    peak_torque_Nm: Annotated[float, Field(ge=0, le=1e5)]
    speed_rpm: Annotated[float, Field(ge=0, le=1e5)]
    hours: Annotated[float, Field(gt=0, le=1e6)]
    overturning_moment_Nm: Annotated[float, Field(ge=0, le=1e5)] = 0.0
    axial_force_N: Annotated[float, Field(ge=0, le=1e6)] = 0.0
    radial_force_N: Annotated[float, Field(ge=0, le=1e6)] = 0.0
    travel_deg: Annotated[float, Field(gt=0, le=1e6)] | None = None


class RecordedMotion(Frozen):
    """A motion that was recorded or simulated: a CSV file of time, turn and torque of the member that is read.

    Columns time_s, turn_deg, torque_Nm, time rising; torque is signed, positive anticlockwise on the drive. ``repeats``: how
    often it is run in the life asked for.
    """

    file: str
    repeats: Annotated[float, Field(gt=0, le=1e9)]
    points: tuple[tuple[float, float, float], ...] = ()


class OutputBearing(Frozen):
    """Ball bearings that carry the member that is read: one, or a pair whose centres stand ``spacing_mm`` apart."""

    bearing: str
    count: Literal[1, 2] = 2
    spacing_mm: Annotated[float, Field(ge=0, le=1000)] = 0.0


class Criterion(StrEnum):
    """How mean stress lowers the alternating stress that a material bears."""

    MODIFIED_GOODMAN = "modified_goodman"
    GERBER = "gerber"
    ASME_ELLIPTIC = "asme_elliptic"
    SODERBERG = "soderberg"


class Strength(Frozen):
    """What is asked of life and strength, and how it is judged."""

    criterion: Annotated[Criterion, Field(strict=False)] = Criterion.MODIFIED_GOODMAN
    reliability_percent: Annotated[float, Field(ge=50, le=99)] = 90.0
    parked_days: Annotated[float, Field(ge=0, le=36500)] = 30.0


class Input(StrEnum):
    """What turns the generator."""

    CRANK = "crank"
    CLAMP = "clamp"
    STEPPER_17 = "stepper_17"
    STEPPER_23 = "stepper_23"


class View(StrEnum):
    """How the mesh can be seen from the side of the held ring."""

    CLOSED = "closed"
    WINDOW = "window"
    OPEN = "open"


class Assembly(Frozen):
    """What the drive is built into: a rear plate that holds a rigid ring, a front plate with the output, and what turns it.

    ``view``: closed, with windows for a clear sheet, or open. ``adjustable``: a roller generator with set screws and a scale.
    ``crush_ribs``: bearing seats hold by thin ribs. ``input_bearing``: of the axle; without it one of the drawer, else 608.
    ``arm_mm``: of the arms that weights hang from.
    """

    input: Annotated[Input, Field(strict=False)] = Input.CRANK
    view: Annotated[View, Field(strict=False)] = View.CLOSED
    adjustable: bool = False
    crush_ribs: bool = False
    input_bearing: str | None = None
    arm_mm: Annotated[float, Field(ge=30, le=500)] = 120.0


class Load(StrEnum):
    """What the read member carries; it chooses the cautions."""

    ARM = "arm"
    MIRROR = "mirror"
    TURNTABLE = "turntable"
    NONE = "none"


Reason = Annotated[str, Field(min_length=3)]


class Design(Frozen):
    """The only description of a drive."""

    schema_version: Literal[1]
    name: Annotated[str, Field(min_length=1, max_length=80)]
    about: Annotated[str, Field(max_length=2000)] = ""
    workshop: str | None = None
    load: Annotated[Load, Field(strict=False)] = Load.NONE
    ambient_temperature_C: Annotated[float, Field(ge=-40, le=150)] = 22.0
    flexible_ring: FlexibleRing
    tooth: Tooth
    generator: Generator
    rigid_ring: Annotated[tuple[RigidRing, ...], Field(min_length=1, max_length=4)]
    motion: Motion
    process: Process
    duty: Annotated[tuple[DutyStep, ...], Field(max_length=100)] = ()
    recorded_motion: RecordedMotion | None = None
    output_bearing: OutputBearing | None = None
    strength: Strength = Strength()
    assembly: Assembly = Assembly()
    checks_not_expected: dict[str, Reason] = Field(default_factory=dict)
    owned: Workshop | None = None

    @property
    def lobes(self) -> int:
        return self.generator.lobes

    @property
    def is_cup(self) -> bool:
        return isinstance(self.flexible_ring, Cup)

    @property
    def rated_torque_Nm(self) -> float | None:
        """The largest steady torque of the duty, None without a duty."""
        return max((step.torque_Nm for step in self.duty), default=None)

    def row_teeth(self, row: int) -> int:
        """Tooth count of a tooth row of the flexible ring."""
        ring = self.flexible_ring
        if row == 1:
            return ring.teeth
        second = getattr(ring, "second_row", None)
        if second is None:
            raise KeyError("the flexible ring has one tooth row")
        return second.teeth
