"""The drive under torque as its part of ``results.json``."""

from __future__ import annotations

import numpy as np

from lobewright.assessment.headline import ARCMIN_PER_RAD as ARCMIN
from lobewright.assessment.load import Loads
from lobewright.report import load_model as r
from lobewright.torque.bands import PRESSURE, ROLLER, SKIP, STIFFNESS, TEETH, WINDUP, Band
from lobewright.torque.off_centre import MeshState
from lobewright.torque.results import LoadShare, RowLoad

UNITS: dict[str, tuple[str, str, float]] = {
    SKIP: ("skip_torque", "N·m", 1e-3),
    STIFFNESS: ("stiffness", "N·m/rad", 1e-3),
    WINDUP: ("windup_at_peak", "arcmin", ARCMIN),
    ROLLER: ("largest_roller_force", "N", 1.0),
    TEETH: ("teeth_in_load", "teeth", 1.0),
    PRESSURE: ("largest_flank_pressure", "MPa", 1.0),
}
"""Of every band: its name in the file, its unit there, and the factor to it."""
DIGITS = 6
"""Significant digits of curves and of forces by tooth: enough to draw and to sum."""


def load_part(loads: Loads) -> r.LoadPart:
    """Everything under torque, in people's units."""
    return r.LoadPart(
        rated_Nm=loads.rated_nmm / 1000,
        peak_Nm=loads.peak_nmm / 1000,
        torques_from_duty=loads.from_duty,
        told_Nm=loads.told_nmm / 1000,
        stiffness=_stiffness(loads),
        bands=tuple(_band(band) for band in (loads.bands.bands if loads.bands else ())),
        windup=_windup(loads),
        friction=_loop(loads),
        at_rated=_share(loads.at_rated),
        at_peak=_share(loads.at_peak),
        skip=_skip(loads),
        transmission=_transmission(loads),
        turning=_turning(loads),
        pinch=_pinch(loads),
        off_centre=_off_centre(loads),
        over_arms=_over_arms(loads),
        not_made={name: why for name, why in loads.not_made},
    )


def _few(values: np.ndarray, factor: float = 1.0) -> tuple[float, ...]:
    return tuple(float(f"{value * factor:.{DIGITS}g}") for value in values)


def _band(band: Band) -> r.BandPart:
    name, unit, factor = UNITS[band.name]
    return r.BandPart(
        name=name,
        unit=unit,
        low=band.low * factor,
        middle=band.middle * factor,
        high=band.high * factor,
        widest_input=band.widest_input,
        shares=dict(band.shares),
        at_least=band.at_least,
        incomplete=band.incomplete,
        notes=band.notes,
    )


def _stiffness(loads: Loads) -> r.StiffnessPart:
    inputs = loads.stiffness.inputs
    return r.StiffnessPart(
        bending_Nmm2=inputs.bending_stiffness_nmm2,
        axial_N=inputs.axial_stiffness_n,
        tooth_N_per_mm2=inputs.tooth_stiffness_n_per_mm2,
        flank_bed_N_per_mm3=inputs.flank_bed_n_per_mm3,
        arm_N_per_mm=inputs.arm_stiffness_n_per_mm,
        bed_N_per_mm3=inputs.bed_n_per_mm3,
        carrier_N_per_mm=inputs.carrier_stiffness_n_per_mm,
        web_tangential_N_per_mm2=inputs.web_tangential_n_per_mm2,
        web_radial_N_per_mm2=inputs.web_radial_n_per_mm2,
    )


def _windup(loads: Loads) -> r.WindupPart:
    found = loads.windup
    return r.WindupPart(
        reach_Nm=found.reach_nmm / 1000,
        windup_arcmin=_few(found.windup_rad, ARCMIN),
        torque_Nm=_few(found.torque_nmm, 1e-3),
        slopes=tuple(
            r.SlopePart(from_share=low, to_share=high, stiffness_Nm_per_rad=slope / 1000)
            for (low, high), slope in zip(found.bands, found.stiffness_nmm_per_rad, strict=True)
        ),
        free_play_arcmin=found.free_play_rad * ARCMIN,
        lost_motion_arcmin=found.lost_motion_rad * ARCMIN,
        lost_motion_share=found.lost_motion_share,
    )


def _loop(loads: Loads) -> r.LoopPart | None:
    found = loads.loop
    if found is None:
        return None
    return r.LoopPart(
        flank_friction=found.flank_friction,
        cam_friction=found.cam_friction,
        windup_arcmin=_few(found.windup_rad, ARCMIN),
        torque_Nm=_few(found.torque_nmm, 1e-3),
        hysteresis_arcmin=found.hysteresis_rad * ARCMIN,
        friction_width_arcmin=found.friction_width_rad * ARCMIN,
        lost_motion_arcmin=found.lost_motion_rad * ARCMIN,
        dissipated_mJ=found.dissipated_nmm,
    )


def _row(row: RowLoad) -> r.RowLoadPart:
    return r.RowLoadPart(
        ring=row.name,
        label_deg=_few(row.label_deg),
        force_N=_few(row.force_n),
        tangential_N=_few(row.tangential_n),
        outward_N=_few(row.outward_n),
        pressure_MPa=_few(row.pressure_mpa),
        place=row.place,
        teeth_in_load=row.teeth_in_load,
        largest_share=row.largest_share,
        largest_moment_Nmm=float(np.abs(row.moment_nmm).max()),
        largest_surface_stress_MPa=float(max(np.abs(row.inner_stress_mpa).max(), np.abs(row.outer_stress_mpa).max())),
    )


def _share(found: LoadShare) -> r.SharePart:
    contacts = found.body_force_n.sum(axis=1)
    return r.SharePart(
        torque_Nm=found.torque_nmm / 1000,
        windup_arcmin=found.windup_rad * ARCMIN,
        member_torque_Nm={name: torque / 1000 for name, torque in found.member_torque_nmm.items()},
        rows=tuple(_row(row) for row in found.rows),
        contact_N=tuple((float(x), float(y)) for x, y in contacts),
        carrier_N=(float(found.carrier_force_n[0]), float(found.carrier_force_n[1])),
        largest_skew_mm=float(np.abs(found.skew_mm).max(initial=0.0)),
        largest_roll_mm=float(np.abs(found.roll_mm).max(initial=0.0)),
        balance_error_share=found.health.torque_error_share,
    )


def _skip(loads: Loads) -> r.SkipPart:
    found = loads.skip
    return r.SkipPart(
        torque_Nm=found.torque_nmm / 1000,
        first_fall_Nm=found.first_fall_nmm / 1000,
        windup_arcmin=found.windup_rad * ARCMIN,
        gives_way=found.gives_way,
        lower_bound=found.lower_bound,
        retreat_mm={name: float(value) for name, value in found.retreat_mm.items()},
        generator_share=found.generator_share,
        path_windup_arcmin=_few(found.path_windup_rad, ARCMIN),
        path_torque_Nm=_few(found.path_torque_nmm, 1e-3),
        measured_factor=None if loads.correction is None else loads.correction.factor.middle,
        measurements=0 if loads.correction is None else loads.correction.measurements,
    )


def _transmission(loads: Loads) -> r.TransmissionPart | None:
    found = loads.transmission
    if found is None:
        return None
    return r.TransmissionPart(
        torque_Nm=found.torque_nmm / 1000,
        peak_to_peak_arcmin=found.peak_to_peak_rad * ARCMIN,
        generator_turn_deg=_few(np.degrees(found.generator_turn_rad)),
        error_arcmin=_few(found.error_rad, ARCMIN),
        orders=_few(found.orders),
        amplitude_arcmin=_few(found.amplitude_rad, ARCMIN),
        sampled=found.sampled,
    )


def _turning(loads: Loads) -> r.TurningPart | None:
    found = loads.starting
    if found is None:
        return None
    back = found.back_driving_nmm
    return r.TurningPart(
        load_Nm=found.load_nmm / 1000,
        unloaded_start_Nm=found.unloaded_nmm.mean / 1000,
        loaded_start_Nm=found.loaded_nmm.mean / 1000,
        frictionless_Nm=found.ideal_nmm / 1000,
        back_driving_Nm=None if back is None else back.mean / 1000,
        searched_Nm=found.searched_nmm / 1000,
        loss_Nmm_per_rad=found.loss_nmm,
    )


def _pinch(loads: Loads) -> r.PinchPart | None:
    found = loads.pinch
    if found is None:
        return None
    return r.PinchPart(
        pinched=found.pinched,
        force_N=tuple(_few(row) for row in found.force_n),
        contact_push_N=_few(found.body_force_n),
        free_push_N=_few(found.free_push_n),
    )


def _assembled(state: MeshState) -> r.AssembledPart:
    ripple = state.ripple
    return r.AssembledPart(
        eccentricity_mm=state.eccentricity_mm,
        uneven_pushes=state.uneven_bodies,
        tooth_force_N=_few(state.tooth_force_n),
        lost_motion_arcmin=None if state.lost_motion_rad is None else state.lost_motion_rad * ARCMIN,
        torque_swing_Nm=None if ripple is None else ripple.torque_swing_nmm / 1000,
        angle_swing_arcmin=None if ripple is None else ripple.angle_swing_rad * ARCMIN,
    )


def _off_centre(loads: Loads) -> r.OffCentrePart | None:
    found = loads.off_centre
    if found is None:
        return None
    off = None if found.off is None else _assembled(found.off)
    return r.OffCentrePart(centred=_assembled(found.centred), off=off, sentence=found.sentence)


def _over_arms(loads: Loads) -> r.ArmCurvePart | None:
    found = loads.over_arms
    if found is None:
        return None
    return r.ArmCurvePart(
        arm_N_per_mm=_few(found.stiffness_n_per_mm),
        skip_torque_Nm=_few(found.torque_nmm, 1e-3),
        generator_share=_few(found.generator_share),
    )
