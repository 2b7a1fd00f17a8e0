"""The public calls that the evidence judges, bundled so that a test can swap one for a wrong one.

Every field is the function of the same name that ``assess`` or the drive under torque uses, or that sets the same equations up
for a case of its own (rig, piece of a shell). A case may call nothing else of
the physics rooms: what it does with the answers (sums, finite differences, polygons) is its own and independent.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from lobewright import motion as motion_room
from lobewright.assessment import run as assess_room
from lobewright.design import catalogue_fits, motor_flange
from lobewright.mesh import over_pins, poses, space, teeth
from lobewright.ring import beam, beam_element, cell, generator, geometry, shape, shell, shell_piece, strain
from lobewright.strength import (
    bearing_life,
    bearing_rating,
    belt_life,
    counting,
    coupon,
    creep,
    criteria,
    cup_stress,
    damage,
    fasteners,
    marin,
    material_data,
    notch,
    recorded,
    rigid_tooth,
    rim_field,
    ring_life,
    shoulder,
    sn,
)
from lobewright.torque import rig

Call = Callable[..., Any]


@dataclass(frozen=True)
class Model:
    """One callable a public function; signatures are those of the functions in :data:`REAL`."""

    solve: Call
    unroll: Call
    rack_travel_mm: Call
    ring_geometry: Call
    on_points: Call
    on_paired: Call
    on_curve: Call
    cam_parameters: Call
    bending_strain: Call
    tooth_outline: Call
    one_lobe: Call
    tooth_space: Call
    assess: Call
    solve_ring: Call
    solve_ring_loads: Call
    element_force_tangent: Call
    cell_of_outline: Call
    turn_rig: Call
    skip_rig: Call
    allowed_tension_n: Call
    modulus_share: Call
    strain_under_loads: Call
    set_after_hold: Call
    respond: Call
    hold_driven: Call
    shoulder_factor: Call
    notched: Call
    solve_piece: Call
    stress_area_mm2: Call
    proof_load_n: Call
    pin_force_n: Call
    pin_pressure_mpa: Call
    tooth_stress: Call
    strength_data: Call
    reversed_amplitude: Call
    dynamic_rating_n: Call
    static_rating_n: Call
    rating_life_mrev: Call
    equivalent_load_n: Call
    mean_load_n: Call
    life_share: Call
    reliability_percent: Call
    fatigue_safety: Call
    equivalent_reversed_mpa: Call
    first_cycle_safety: Call
    largest_stress_mpa: Call
    neuber_sensitivity: Call
    peterson_sensitivity: Call
    fatigue_notch_factor: Call
    surface_factor: Call
    size_factor: Call
    sn_curve: Call
    damage_shares: Call
    count_cycles: Call
    count_repeated: Call
    steady_cycles: Call
    surface_answers: Call
    pitch_loads: Call
    hoop_stress_mpa: Call
    limits: Call
    pin_seat: Call
    motor_flange: Call
    setting_for: Call


REAL = Model(
    solve=motion_room.solve,
    unroll=motion_room.unroll,
    rack_travel_mm=motion_room.rack_travel_mm,
    ring_geometry=geometry.ring_geometry,
    on_points=shape.on_points,
    on_paired=shape.on_paired,
    on_curve=shape.on_curve,
    cam_parameters=shape.cam_parameters,
    bending_strain=strain.bending_strain,
    tooth_outline=teeth.tooth_outline,
    one_lobe=poses.one_lobe,
    tooth_space=space.tooth_space,
    assess=assess_room.assess,
    solve_ring=beam.solve_ring,
    solve_ring_loads=beam.solve_ring_loads,
    element_force_tangent=beam_element.element_force_tangent,
    cell_of_outline=cell.cell_of_outline,
    turn_rig=rig.turn_rig,
    skip_rig=rig.skip_rig,
    allowed_tension_n=belt_life.allowed_tension_n,
    modulus_share=creep.modulus_share,
    strain_under_loads=creep.strain_under_loads,
    set_after_hold=creep.set_after_hold,
    respond=shell.respond,
    hold_driven=shell.hold_driven,
    shoulder_factor=shoulder.shoulder_factor,
    notched=cup_stress.notched,
    solve_piece=shell_piece.solve_piece,
    stress_area_mm2=fasteners.stress_area_mm2,
    proof_load_n=fasteners.proof_load_n,
    pin_force_n=fasteners.pin_force_n,
    pin_pressure_mpa=fasteners.pin_pressure_mpa,
    tooth_stress=rigid_tooth.tooth_stress,
    strength_data=material_data.strength_data,
    reversed_amplitude=coupon.reversed_amplitude,
    dynamic_rating_n=bearing_rating.dynamic_rating_n,
    static_rating_n=bearing_rating.static_rating_n,
    rating_life_mrev=bearing_life.rating_life_mrev,
    equivalent_load_n=bearing_life.equivalent_load_n,
    mean_load_n=bearing_life.mean_load_n,
    life_share=bearing_life.LifeScatter.life_share,
    reliability_percent=bearing_life.LifeScatter.reliability_percent,
    fatigue_safety=criteria.fatigue_safety,
    equivalent_reversed_mpa=criteria.equivalent_reversed_mpa,
    first_cycle_safety=criteria.first_cycle_safety,
    largest_stress_mpa=ring_life.largest_stress_mpa,
    neuber_sensitivity=notch.neuber_sensitivity,
    peterson_sensitivity=notch.peterson_sensitivity,
    fatigue_notch_factor=notch.fatigue_notch_factor,
    surface_factor=marin.surface_factor,
    size_factor=marin.size_factor,
    sn_curve=sn.SnCurve,
    damage_shares=damage.damage_shares,
    count_cycles=counting.count_cycles,
    count_repeated=counting.count_repeated,
    steady_cycles=recorded.steady_cycles,
    surface_answers=rim_field.surface_answers,
    pitch_loads=rim_field.pitch_loads,
    hoop_stress_mpa=rim_field.hoop_stress_mpa,
    limits=catalogue_fits.limits,
    pin_seat=over_pins.pin_seat,
    motor_flange=motor_flange.motor_flange,
    setting_for=generator.setting_for,
)
"""The package as it is."""
