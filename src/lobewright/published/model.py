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
from lobewright.mesh import poses, space, teeth
from lobewright.ring import beam, beam_element, cell, geometry, shape, shell, shell_piece, strain
from lobewright.strength import belt_life, coupon, creep, fasteners, material_data, rigid_tooth
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
    solve_piece: Call
    stress_area_mm2: Call
    proof_load_n: Call
    pin_force_n: Call
    pin_pressure_mpa: Call
    tooth_stress: Call
    strength_data: Call
    reversed_amplitude: Call


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
    solve_piece=shell_piece.solve_piece,
    stress_area_mm2=fasteners.stress_area_mm2,
    proof_load_n=fasteners.proof_load_n,
    pin_force_n=fasteners.pin_force_n,
    pin_pressure_mpa=fasteners.pin_pressure_mpa,
    tooth_stress=rigid_tooth.tooth_stress,
    strength_data=material_data.strength_data,
    reversed_amplitude=coupon.reversed_amplitude,
)
"""The package as it is."""
