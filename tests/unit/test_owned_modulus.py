"""A modulus of the owner's own test pieces stands in for the catalogue's, in the loaded drive and in its band."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.stiffness import loaded_drive, stiffnesses
from lobewright.design import catalogue
from lobewright.design.model import Design
from lobewright.design.workshop import Coupon, Workshop
from lobewright.torque.inputs import DriveInput
from lobewright.torque.measured import modulus_range, owned_modulus
from lobewright.torque.weak import weak_inputs

MIDDLE, UNCERTAINTY = 2600.0, 50.0


def owning(design: Design, **more: object) -> Design:
    coupon = Coupon(
        material=design.flexible_ring.material,  # type: ignore[union-attr]
        modulus_MPa=MIDDLE,
        modulus_uncertainty_MPa=UNCERTAINTY,
        **more,
    )
    return design.model_copy(update={"owned": Workshop(schema_version=1, coupon=(coupon,))})


@pytest.fixture
def drive(assessed_starter: Callable[[str], Assessment]) -> DriveInput:
    return loaded_drive(assessed_starter("printed_ring"))


def test_the_drive_is_as_stiff_as_the_pieces_and_its_band_is_theirs(drive: DriveInput) -> None:
    low, high = catalogue.material(drive.design.flexible_ring.material).modulus_mpa
    own = DriveInput(owning(drive.design), drive.geometry, drive.setting, drive.shape, drive.rows)
    times = MIDDLE / (0.5 * (low + high))
    before, after = stiffnesses(drive).inputs, stiffnesses(own).inputs
    assert after.bending_stiffness_nmm2[0] == pytest.approx(times * before.bending_stiffness_nmm2[0], rel=1e-9)
    assert after.wall_modulus_mpa[0] == pytest.approx(times * before.wall_modulus_mpa[0], rel=1e-9)
    modulus = next(one for one in weak_inputs(own, after) if one.name == "modulus")
    assert modulus.measured and "your own test pieces" in modulus.words
    assert modulus.factor.middle == pytest.approx(1.0)
    assert modulus.factor.high == pytest.approx(1.0 + 1.645 * UNCERTAINTY / MIDDLE, rel=1e-3)


def test_pieces_pulled_across_their_layers_and_of_other_materials_say_nothing_here(drive: DriveInput) -> None:
    material = drive.design.flexible_ring.material
    across = owning(drive.design, direction="across_layers")
    assert owned_modulus(across, material) is None
    assert modulus_range(across, material) == catalogue.material(material).modulus_mpa
    assert owned_modulus(owning(drive.design), "pp_printed") is None
