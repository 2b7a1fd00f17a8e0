"""The stress along a printed cup from its solved drive at rest against its shell pushed out by four equal rollers."""

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive, stiffnesses
from lobewright.design import catalogue
from lobewright.ring.shell import CupMaterial, cup_geometry, hold_on_rollers, surface_stress
from lobewright.ring.shell_band import band_factors
from lobewright.ring.shell_stress import von_mises
from lobewright.strength.cup_stress import cup_profile
from lobewright.strength.rim_waves import rim_waves
from lobewright.torque.ask import load_share


def test_a_drive_at_rest_is_a_shell_on_rollers(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_cup-paired_rollers"))
    made = stiffnesses(drive)
    inputs, cells = made.inputs, made.cells
    # one newton millimetre is nothing to a cup that carries thousands
    share = load_share(drive, inputs, 1.0)
    profile = cup_profile(drive, inputs, cells, share)
    cup = cup_geometry(drive.design, band_factors(cells[0], drive.rows[0].outline))
    waves = rim_waves(share, inputs, cup.rim_radius_mm)
    half = drive.setting.half_angle_rad
    at = np.outer([half, -half, np.pi + half, np.pi - half], waves.harmonics)
    out = np.cos(at) @ waves.radial_mm[0] + np.sin(at) @ waves.radial_mm[1]
    rigid, material = drive.design.rigid_ring[0], catalogue.material(drive.design.flexible_ring.material)
    rolled = hold_on_rollers(
        cup,
        CupMaterial(0.5 * sum(material.modulus_mpa), 0.5 * sum(material.poisson)),
        rigid.offset_mm + 0.5 * rigid.width_mm,
        float(out.mean()),
        2,
        1.0,
        half,
        rigid.width_mm,
    )
    stress = von_mises(surface_stress(rolled.response, np.radians(np.arange(360.0)))).max(axis=(0, 2))
    # the ring is solved at full size, 1.4 % of its radius out, and its rollers do not bear quite alike; the shell is linear
    for name, allowed in (("diaphragm", 0.02), ("corner", 0.02), ("barrel", 0.05)):
        mine = profile.equivalent_mpa[np.array(profile.segment) == name].max()
        assert mine == pytest.approx(stress[np.array(rolled.response.segment) == name].max(), rel=allowed)
