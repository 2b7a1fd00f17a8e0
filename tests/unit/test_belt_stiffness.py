"""Belts: ranges that are wide and say so, readings in their place, inputs of the loaded ring."""

import math
from dataclasses import fields

import numpy as np
import pytest

from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.files import design_from_data, read_workshop
from lobewright.design.starters import starter_data
from lobewright.design.workshop import MeasuredBeltStiffness, MeasuredSkip, SkewTest, SqueezeTest, ToothPush, Workshop
from lobewright.errors import DesignFault
from lobewright.mesh.teeth import tooth_outline
from lobewright.ring.geometry import ring_geometry
from lobewright.torque import belt, measured
from lobewright.torque.inputs import DriveInput, RowInput
from lobewright.torque.model import build_numbers, node_count

WIDTH = 15.0


def design(**owned) -> m.Design:
    made = design_from_data(starter_data("belt"))
    return made.model_copy(update={"owned": Workshop(schema_version=1, **owned)})


def with_belt(name: str) -> m.Design:
    made = design()
    ring = made.flexible_ring.model_copy(update={"designation": name})
    return made.model_copy(update={"flexible_ring": ring})


def squeeze(stiffness: float, width: float = WIDTH, name: str = "c3m") -> SqueezeTest:
    radius = 47.746
    force = stiffness * np.array([0.0, 1e-6, 2e-6])  # loses up to 0.1 % of the diameter
    loss = force * measured.SQUEEZE * radius**3 / stiffness
    return SqueezeTest(
        designation=name,
        width_mm=width,
        neutral_diameter_mm=2 * radius,
        load_g=tuple(force / measured.NEWTON_PER_GRAM),
        shift_mm=tuple(loss),
        load_resolution_g=1e-4,
        shift_resolution_mm=1e-4,
    )


@pytest.mark.parametrize("name", ["MXL", "T2.5", "T5", "T10", "AT5", "XL", "C2M", "C3M", "C5M", "H3M", "H5M"])
def test_every_belt_with_an_outline_has_all_figures_as_ranges(name: str) -> None:
    found = belt.belt_stiffness(with_belt(name))
    assert len(found.unmeasured) == len(fields(found)) == 7
    assert found.bending_nmm2_per_mm.high / found.bending_nmm2_per_mm.low == pytest.approx(16.0)
    assert found.tooth_n_per_mm2.high > 4.0 * found.tooth_n_per_mm2.low


def test_every_belt_of_the_catalogue_has_a_stretch_with_its_source() -> None:
    for profile in catalogue.belt_profiles():
        row = catalogue.belt_elasticity(profile.designation)
        low, middle, high = row.axial_n_per_mm
        assert 1.5 * low < middle < high / 1.5
        assert row.row_origin.line and catalogue.material(row.body).kind is catalogue.MaterialKind.BELT


def test_harder_bodies_and_thicker_belts_are_stiffer() -> None:
    two, three, five = (belt.belt_stiffness(with_belt(name)) for name in ("C2M", "C3M", "C5M"))
    bends = [one.bending_nmm2_per_mm.middle for one in (two, three, five)]
    assert bends == sorted(bends) and bends[2] > 4 * bends[0]
    assert belt.belt_stiffness(with_belt("T5")).tooth_n_per_mm2.middle > 3 * five.tooth_n_per_mm2.middle


def test_a_squeezed_belt_takes_the_place_of_the_range() -> None:
    found = belt.belt_stiffness(design(squeeze_test=(squeeze(300.0),)))
    one = found.bending_nmm2_per_mm
    assert one.measured and one.low < 300.0 / WIDTH < one.high
    assert one.middle == pytest.approx(300.0 / WIDTH, rel=2e-3)
    assert "bending_nmm2_per_mm" not in found.unmeasured and len(found.unmeasured) == 6


def test_readings_of_another_belt_change_nothing() -> None:
    assert belt.belt_stiffness(design(squeeze_test=(squeeze(300.0, name="C5M"),))) == belt.belt_stiffness(design())


def test_a_narrower_sample_is_scaled_to_the_width() -> None:
    wide, narrow = (design(squeeze_test=(squeeze(20.0 * w, w),)) for w in (15.0, 6.0))
    middles = [belt.belt_stiffness(one).bending_nmm2_per_mm.middle for one in (wide, narrow)]
    assert middles == pytest.approx([20.0, 20.0], rel=2e-3)


def test_figures_that_the_owner_worked_out_count_with_their_uncertainty() -> None:
    row = MeasuredBeltStiffness(
        designation="C3M",
        width_mm=10.0,
        bending_stiffness_Nmm2=200.0,
        bending_stiffness_uncertainty_Nmm2=20.0,
        axial_stiffness_N=50_000.0,
        axial_stiffness_uncertainty_N=1000.0,
    )
    found = belt.belt_stiffness(design(belt_stiffness=(row,)))
    assert found.bending_nmm2_per_mm.middle == pytest.approx(20.0)
    assert found.bending_nmm2_per_mm.high / 20.0 == pytest.approx(math.exp(1.6449 * 0.1), rel=1e-3)
    assert found.axial_n_per_mm.middle == pytest.approx(5000.0) and found.axial_n_per_mm.measured


def test_skew_and_tooth_readings_are_brought_to_this_design() -> None:
    lines = {"load_resolution_g": 0.1, "shift_resolution_mm": 1e-3}
    load = (0.0, 100.0, 200.0)
    skew = SkewTest(
        designation="C3M", held_length_mm=50.0, free_width_mm=6.0, load_g=load, shift_mm=(0.0, 0.02, 0.04), **lines
    )
    push = ToothPush(
        designation="C3M", width_mm=10.0, push_height_mm=1.14, load_g=load, shift_mm=(0.0, 0.05, 0.10), **lines
    )
    made = design(skew_test=(skew,), tooth_push=(push,))
    found = belt.belt_stiffness(made)
    newton = 100.0 * measured.NEWTON_PER_GRAM
    shear = newton * 6.0 / (50.0 * 0.02)
    assert found.web_tangential_n_per_mm2.middle == pytest.approx(shear / belt.rows_apart_mm(made), rel=1e-6)
    wider = math.hypot(found.web_tangential_n_per_mm2.log_spread, math.log(1.5) / 1.6448536)
    assert found.web_radial_n_per_mm2.log_spread == pytest.approx(wider, rel=1e-6)
    # pushed at the tip: at half the height the shift is half, and so is the force that does the same work
    assert found.tooth_n_per_mm2.middle == pytest.approx(4.0 * newton / 10.0 / 0.05, rel=1e-6)


def _drive(made: m.Design) -> DriveInput:
    """All of a drive that its stiffnesses need; the rest is not looked at."""
    outline = tooth_outline(made)
    rows = tuple(RowInput(ring.name, outline, None, ring.width_mm) for ring in made.rigid_ring)  # type: ignore[arg-type]
    return DriveInput(made, ring_geometry(made), None, None, rows)  # type: ignore[arg-type]


def test_inputs_share_the_whole_belt_between_the_rows_and_take_factors() -> None:
    made = design()
    stiff = belt.belt_stiffness(made)
    plain = belt.belt_inputs(_drive(made))
    assert sum(plain.bending_stiffness_nmm2) == pytest.approx(WIDTH * stiff.bending_nmm2_per_mm.middle)
    assert sum(plain.axial_stiffness_n) == pytest.approx(WIDTH * stiff.axial_n_per_mm.middle)
    names = {
        "bending": "bending_stiffness_nmm2",
        "axial": "axial_stiffness_n",
        "tooth": "tooth_stiffness_n_per_mm2",
        "flank_bed": "flank_bed_n_per_mm3",
        "back_bed": "bed_n_per_mm3",
        "web_tangential": "web_tangential_n_per_mm2",
        "web_radial": "web_radial_n_per_mm2",
        "arm": "arm_stiffness_n_per_mm",
        "carrier": "carrier_stiffness_n_per_mm",
    }
    assert set(names) == set(belt.FACTORS)
    for factor, field in names.items():
        changed = belt.belt_inputs(_drive(made), {factor: 3.0})
        for name in names.values():
            ratio = np.atleast_1d(getattr(changed, name)) / np.atleast_1d(getattr(plain, name))
            assert ratio == pytest.approx(3.0 if name == field else 1.0)
    with pytest.raises(
        DesignFault, match=r"no stiffness of a belt has this name \(found bend\); allowed: bending, axial"
    ):
        belt.belt_inputs(_drive(made), {"bend": 2.0})


def test_the_loaded_ring_counts_a_belt_tooths_lean_where_belt_inputs_takes_it() -> None:
    """The conversion of the tooth's stiffness rests on the height at which the loaded ring's lean is one."""
    a = assess(design())
    drive = loaded_drive(a)
    numbers, _ = build_numbers(drive, belt.belt_inputs(drive), node_count(drive, 2), 0.0)
    height, lean = a.geometry.neutral_radius_mm * numbers.feeler[0, :, 1], numbers.feeler[0, :, 2]
    above = height - drive.rows[0].outline.land_height_mm
    assert above[lean > 0] / lean[lean > 0] == pytest.approx(belt.LEVER_SHARE * drive.rows[0].outline.height_mm)


def test_other_rings_are_refused() -> None:
    with pytest.raises(DesignFault, match=r'flexible_ring.kind: the flexible ring is no belt .*allowed: "belt"'):
        belt.belt_stiffness(design_from_data(starter_data("printed_ring")))


# --- the workshop file --------------------------------------------------------------------------------------------

TABLE = """
schema_version = 1
[[arm_push]]
generator = "rollers"
bearing = "{bearing}"
load_g = {load}
shift_mm = {shift}
load_resolution_g = 1.0
shift_resolution_mm = {step}
"""


@pytest.mark.parametrize(
    ("load", "shift", "step", "says"),
    [
        ("[0.0]", "[0.0, 0.1]", "0.01", r"arm_push\[1\].load_g: there is too little here .* at least 2 entries"),
        ("[0.0, 9.0]", "[0.0]", "0.01", r"arm_push\[1\].shift_mm: there is too little here"),
        (
            "[0.0, 9.0]",
            "[0.0, 0.1, 0.2]",
            "0.01",
            r"there is not one shift for each load \(found 3\); allowed: 2 readings",
        ),
        (
            "[5.0, 5.0]",
            "[0.0, 0.1]",
            "0.01",
            r"all loads are the same \(found 5\); allowed: at least two different loads in g",
        ),
        ("[0.0, -9.0]", "[0.0, 0.1]", "0.01", r"a load is out of range \(found -9\); allowed: 0 to 1,000,000 g"),
        (
            "[0.0, 9.0]",
            "[0.1, 0.0]",
            "0.01",
            r"the shift does not grow with the load \(found 0.1 0\); allowed: shifts in mm",
        ),
        ("[0.0, 9.0]", "[0.0, 5e6]", "0.01", r"a shift is out of range .* mm"),
        ("[0.0, 9.0]", "[0.0, 0.1]", "0.0", r"arm_push\[1\].shift_resolution_mm: the value is out of range .* mm"),
        ("[0.0, 9.0]", "[0.0, nan]", "0.01", r"arm_push\[1\].shift_mm.*the number is not finite"),
    ],
)
def test_bad_readings_are_told_in_a_sentence(tmp_path, load: str, shift: str, step: str, says: str) -> None:
    path = tmp_path / "workshop.toml"
    path.write_text(TABLE.format(bearing="625", load=load, shift=shift, step=step), "utf-8")
    with pytest.raises(DesignFault, match=says):
        read_workshop(path)


def test_unknown_belts_and_bearings_are_told_where_they_stand(tmp_path) -> None:
    path = tmp_path / "workshop.toml"
    path.write_text(TABLE.format(bearing="62S", load="[0.0, 9.0]", shift="[0.0, 0.1]", step="0.01"), "utf-8")
    with pytest.raises(DesignFault, match=r'line 5: arm_push\[1\].bearing: the catalogue has no bearing .*"62S"'):
        read_workshop(path)
    with pytest.raises(ValueError, match="no belt of this name"):
        squeeze(300.0, name="Q7")


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"design": "greenhouse arm"}, "whose ring this was"),
        ({"designation": ""}, "whose ring this was"),
        ({"shift_mm": (0.0, 2.0, 15.0)}, "squeezed too far"),
    ],
)
def test_a_squeeze_must_say_of_what_and_stay_small(more, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        SqueezeTest(**{**squeeze(300.0).model_dump(), **more})


def test_older_workshop_files_and_skips_keep_loading() -> None:
    old = MeasuredSkip(design="azimuth", torque_Nm=1.2, uncertainty_Nm=0.1)
    assert old.predicted_Nm is None and old.flexible_ring is None
    assert Workshop(schema_version=1, skip_torque=(old,)).squeeze_test == ()
