"""The part of ``results.json`` on the drive under torque: torque in N·m, angles in arc-minutes or degrees, force in N."""

from __future__ import annotations

from lobewright.design.base import Frozen


class BandPart(Frozen):
    """A number with its 90 % band. ``widest_input`` is the input that makes the band wide; ``shares`` are shares of the variance
    of its logarithm; ``at_least``: some runs gave a lower bound only; ``incomplete``: some gave none."""

    name: str
    unit: str
    low: float
    middle: float
    high: float
    widest_input: str
    shares: dict[str, float]
    at_least: bool
    incomplete: bool
    notes: tuple[str, ...]


class SlopePart(Frozen):
    """Mean stiffness between two shares of the largest torque of the curve."""

    from_share: float
    to_share: float
    stiffness_Nm_per_rad: float


class WindupPart(Frozen):
    """Torque against windup without friction, both ascending."""

    reach_Nm: float
    windup_arcmin: tuple[float, ...]
    torque_Nm: tuple[float, ...]
    slopes: tuple[SlopePart, ...]
    free_play_arcmin: float
    lost_motion_arcmin: float
    lost_motion_share: float


class LoopPart(Frozen):
    """Torque to and fro with friction."""

    flank_friction: float
    cam_friction: float
    windup_arcmin: tuple[float, ...]
    torque_Nm: tuple[float, ...]
    hysteresis_arcmin: float
    friction_width_arcmin: float
    lost_motion_arcmin: float
    dissipated_mJ: float


class RowLoadPart(Frozen):
    """Teeth of one row by material label from the first lobe; ``place``: "" (free), right, left, tip or land."""

    ring: str
    label_deg: tuple[float, ...]
    force_N: tuple[float, ...]
    tangential_N: tuple[float, ...]
    outward_N: tuple[float, ...]
    pressure_MPa: tuple[float, ...]
    place: tuple[str, ...]
    teeth_in_load: int
    largest_share: float
    largest_moment_Nmm: float
    largest_surface_stress_MPa: float


class SharePart(Frozen):
    """The drive at one torque. ``contact_N`` (x, y) of every roller, disc or cam, summed over the rows."""

    torque_Nm: float
    windup_arcmin: float
    member_torque_Nm: dict[str, float]
    rows: tuple[RowLoadPart, ...]
    contact_N: tuple[tuple[float, float], ...]
    carrier_N: tuple[float, float]
    largest_skew_mm: float
    largest_roll_mm: float
    balance_error_share: float


class SkipPart(Frozen):
    """Ratcheting torque at the middle of all inputs. ``first_fall_Nm``: where the torque first falls by a tenth at held
    rotation. ``lower_bound``: a tooth breaks before. ``measured_factor``: truth over prediction from ``measurements`` of the
    same process (``null`` where no band was made)."""

    torque_Nm: float
    first_fall_Nm: float
    windup_arcmin: float
    gives_way: str
    lower_bound: bool
    retreat_mm: dict[str, float]
    generator_share: float
    path_windup_arcmin: tuple[float, ...]
    path_torque_Nm: tuple[float, ...]
    measured_factor: float | None
    measurements: int


class TransmissionPart(Frozen):
    """Output angle less the ideal one at a steady torque; ``orders`` of the generator's turn."""

    torque_Nm: float
    peak_to_peak_arcmin: float
    generator_turn_deg: tuple[float, ...]
    error_arcmin: tuple[float, ...]
    orders: tuple[float, ...]
    amplitude_arcmin: tuple[float, ...]
    sampled: str


class TurningPart(Frozen):
    """Torque to start the generator, and to drive it back from the slow member: ``null`` where friction locks it up to
    ``searched_Nm``. Means over a mesh period; friction of flanks, plain cam and bearings, to first order."""

    load_Nm: float
    unloaded_start_Nm: float
    loaded_start_Nm: float
    frictionless_Nm: float
    back_driving_Nm: float | None
    searched_Nm: float
    loss_Nmm_per_rad: dict[str, float]


class PinchPart(Frozen):
    """Without torque: inward force of every ring at each lobe, push of every roller, disc or cam lobe, and the push without
    teeth."""

    pinched: bool
    force_N: tuple[tuple[float, ...], ...]
    contact_push_N: tuple[float, ...]
    free_push_N: tuple[float, ...]


class AssembledPart(Frozen):
    """One way the drive can be assembled, without torque."""

    eccentricity_mm: float
    uneven_pushes: float
    tooth_force_N: tuple[float, ...]
    lost_motion_arcmin: float | None
    torque_swing_Nm: float | None
    angle_swing_arcmin: float | None


class OffCentrePart(Frozen):
    """The drive one tooth off at a lobe beside its centred mesh; ``off`` is ``null`` where no such state holds."""

    centred: AssembledPart
    off: AssembledPart | None
    sentence: str


class ArmCurvePart(Frozen):
    """Skip torque over the stiffness of the generator's arms, and the generator's share of the give."""

    arm_N_per_mm: tuple[float, ...]
    skip_torque_Nm: tuple[float, ...]
    generator_share: tuple[float, ...]


class StiffnessPart(Frozen):
    """Middle stiffnesses that the drive was solved from; tuples one a row."""

    bending_Nmm2: tuple[float, ...]
    axial_N: tuple[float, ...]
    tooth_N_per_mm2: tuple[float, ...]
    flank_bed_N_per_mm3: float
    arm_N_per_mm: float
    bed_N_per_mm3: float
    carrier_N_per_mm: float
    web_tangential_N_per_mm2: float
    web_radial_N_per_mm2: float


class LoadPart(Frozen):
    """The drive under torque. ``null`` stands for an analysis that was not made; ``not_made`` gives its reason."""

    rated_Nm: float
    peak_Nm: float
    torques_from_duty: bool
    told_Nm: float
    stiffness: StiffnessPart
    bands: tuple[BandPart, ...]
    windup: WindupPart
    friction: LoopPart | None
    at_rated: SharePart
    at_peak: SharePart
    skip: SkipPart
    transmission: TransmissionPart | None
    turning: TurningPart | None
    pinch: PinchPart | None
    off_centre: OffCentrePart | None
    over_arms: ArmCurvePart | None
    not_made: dict[str, str]
