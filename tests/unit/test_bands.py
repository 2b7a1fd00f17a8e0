"""Bands: known answers of cheap questions, coverage of invented truths, what failed is said, and the factors' effects."""

import math

import numpy as np
import pytest

from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive, stiffnesses
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.design.workshop import MeasuredSkip, Workshop
from lobewright.errors import ConvergenceFault, DesignFault, Fault
from lobewright.mesh.clearance import clear
from lobewright.ring.shell import CupMaterial, cup_geometry, rim_stiffness
from lobewright.sources import Flag
from lobewright.torque.ask import Walk, load_share
from lobewright.torque.bands import ROLLER, SKIP, STIFFNESS, TEETH, WINDUP, LoadQuestion, Reply, bands, curve
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.interval import NORMAL_95, Interval
from lobewright.torque.model_spread import model_spread
from lobewright.torque.over_arms import over_arms
from lobewright.torque.path import Winder
from lobewright.torque.rest import prepare
from lobewright.torque.skip_correction import TRANSFER, corrected, skip_correction, updated
from lobewright.torque.weak import inputs_at, stiffer_rim, weak_inputs


@pytest.fixture(scope="module")
def printed(assessed_starter):
    """The printed ring on two rollers, its stiffnesses and its weak inputs by name."""
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    base = estimated_inputs(drive)
    return drive, base, {one.name: one for one in weak_inputs(drive, base)}


def exact(name):
    return {name: Interval(name, 1.0, 1.0, 1.0, False, "memory", Flag.REMEMBERED)}


@pytest.fixture(scope="module")
def cup(assessed_starter):
    """The printed cup on paired rollers, its stiffnesses and its weak inputs by name."""
    drive = loaded_drive(assessed_starter("printed_cup-paired_rollers"))
    base = stiffnesses(drive).inputs
    return drive, base, {one.name: one for one in weak_inputs(drive, base)}


# --- the weak inputs --------------------------------------------------------------------------------------------------


def test_factors_meet_their_interval_at_the_ends_and_in_the_middle(printed):
    for one in printed[2].values():
        ends = [one.at(-NORMAL_95), one.at(0.0), one.at(NORMAL_95)]
        assert ends == pytest.approx([one.factor.low, one.factor.middle, one.factor.high])
        assert one.at(-3.0) > 0.0
    assert {"modulus", "arm", "tooth", "web", "set_deflection", "clearance", "ring_length"} <= set(printed[2])
    assert printed[2]["arm"].factor.low < 0.5 and not printed[2]["arm"].measured


def test_all_stiffnesses_together_scale_torque_and_leave_windup(cup):
    drive, base, _ = cup
    before = load_share(drive, base, 1000.0)
    same, stiffer = inputs_at(drive, base, {"modulus": 1.3, "arm": 1.3, "carrier": 1.3, "rim": 1.3})
    after = load_share(same, stiffer, 1300.0)
    assert after.windup_rad == pytest.approx(before.windup_rad, rel=1e-6)
    assert after.body_force_n == pytest.approx(1.3 * before.body_force_n, rel=1e-4, abs=1e-6)


def test_a_barrel_is_as_stiff_as_its_material(assessed_starter):
    cup = cup_geometry(assessed_starter("printed_cup-paired_rollers").design)
    soft, stiff = (rim_stiffness(cup, CupMaterial(e, 0.3), (0, 2, 4), 5.0) for e in (2000.0, 2600.0))
    told = stiffer_rim(soft, 1.3)
    assert told.matrix == pytest.approx(stiff.matrix, rel=1e-9)
    assert told.compliance == pytest.approx(stiff.compliance, rel=1e-9)


def test_a_set_deflection_is_the_design_set_so(printed):
    drive, base, _ = printed
    data = starter_data("printed_ring-rollers")
    before = drive.shape.deflection_mm
    data["generator"]["set_deflection_mm"] = 1.03 * before
    wanted = assess(design_from_data(data))
    moved, _ = inputs_at(drive, base, {"set_deflection": 1.03})
    assert moved.setting == wanted.setting
    assert moved.shape.x_mm == pytest.approx(wanted.set_shape.x_mm, abs=1e-9)


def test_clearance_opens_the_mesh_as_an_independent_distance_says(printed):
    drive, base, _ = printed
    row = drive.rows[0]
    gap = min(ring.clearance_mm for ring in drive.design.rigid_ring)
    wide, _ = inputs_at(drive, base, {"clearance": 1.0 + 0.05 / gap})
    gaps = [clear("as set", row.space, one.rows[0].outline, (one.shape,)).smallest_gap_mm for one in (drive, wide)]
    assert gaps[1] - gaps[0] == pytest.approx(0.05, abs=0.002)


def test_a_longer_ring_is_longer(printed):
    drive, base, weak = printed
    longer, _ = inputs_at(drive, base, {"ring_length": weak["ring_length"].factor.high})
    assert longer.geometry.length_mm - drive.geometry.length_mm == pytest.approx(
        drive.design.flexible_ring.length_tolerance_mm
    )
    assert longer.shape.radius_mm == pytest.approx(longer.geometry.neutral_radius_mm)


def test_unknown_names_and_factors_are_refused(printed):
    drive, base, _ = printed
    with pytest.raises(DesignFault, match="no weak input"):
        inputs_at(drive, base, {"colour": 1.0})
    with pytest.raises(DesignFault, match="positive"):
        inputs_at(drive, base, {"arm": 0.0})


# --- bands of questions whose answer is known ---------------------------------------------------------------------------


def product(drive, inputs):
    """An answer whose logarithm is linear in two inputs."""
    return Reply({"product": inputs.arm_stiffness_n_per_mm * inputs.carrier_stiffness_n_per_mm**0.5})


def test_a_product_has_the_band_of_a_log_normal(printed):
    drive, base, weak = printed
    some = [weak["arm"], weak["carrier"], weak["tooth"]]
    band = bands(drive, base, some, (product,), model=exact("product")).of("product")
    # arm ×/÷ 3.0 … 1/0.3 lies nearly even, so a plain log-normal is a check to a hundredth
    down, up = math.log(0.3), math.log(3.0)
    carrier = 0.5 * math.log(3.0)
    assert math.log(band.low / band.middle) == pytest.approx(-math.hypot(down, carrier), abs=0.03)
    assert math.log(band.high / band.middle) == pytest.approx(math.hypot(up, carrier), abs=0.03)
    assert band.widest_input == "arm"
    assert band.shares["tooth"] == 0.0
    assert band.shares["numerical"] < 1e-3
    assert sum(band.shares.values()) == pytest.approx(1.0)
    assert band.share_below(band.low) == pytest.approx(0.05, abs=0.003)
    assert band.share_below(0.1 * band.low) < 0.01


def series(drive, inputs):
    """Three springs one after the other: saturates in each, and they act on each other."""
    parts = (
        inputs.arm_stiffness_n_per_mm / 1000.0,
        inputs.flank_bed_n_per_mm3 / 1500.0,
        inputs.carrier_stiffness_n_per_mm / 5000.0,
    )
    return Reply({"series": 1.0 / sum(1.0 / part for part in parts)})


def coverage(found, name, truths, shrink=1.0):
    """Share of truths inside a band whose logarithmic width is shrunk about its middle."""
    band = found.of(name)
    low = band.middle * (band.low / band.middle) ** shrink
    high = band.middle * (band.high / band.middle) ** shrink
    return float(np.mean([(low <= truth <= high) for truth in truths]))


def test_ninety_percent_of_invented_truths_of_springs_in_series_lie_inside(printed):
    drive, base, weak = printed
    some = [weak[name] for name in ("arm", "flank_bed", "carrier")]
    found = bands(drive, base, some, (series,), model=exact("series"))
    rng = np.random.default_rng(1)
    truths = []
    for _ in range(2000):
        factors = {one.name: one.at(float(rng.standard_normal())) for one in some}
        truths.append(series(*inputs_at(drive, base, factors)).values["series"])
    # three standard deviations of a share of 2000 are 2 %; the surface may cost as much again
    assert 0.86 <= coverage(found, "series", truths) <= 0.94
    assert coverage(found, "series", truths, shrink=0.5) < 0.75


def held_at(torque_nmm):
    """Windup of the full model at a torque, straight from rest: a cup's generator has no play to cross."""

    def ask(drive, inputs):
        winder = Winder(prepare(drive, inputs))
        place = winder.load_to(torque_nmm, winder.drive.rest.copy())
        assert place.outcome.settled
        return Reply({"windup": place.windup_rad})

    return ask


def test_ninety_percent_of_invented_drives_lie_inside(cup):
    """The full model, model spread on top: of 60 truths at a true share of 0.9, 47 to 59 come in 99 of 100 trials."""
    drive, base, weak = cup
    some = [weak[name] for name in ("modulus", "arm", "set_deflection", "clearance")]
    spread = Interval("windup", 1 / 1.03, 1.0, 1.03, False, "memory", Flag.REMEMBERED)
    ask = held_at(1000.0)
    found = bands(drive, base, some, (ask,), model={"windup": spread}, checks=2)
    rng = np.random.default_rng(3)
    truths = []
    for _ in range(60):
        factors = {one.name: one.at(float(rng.standard_normal())) for one in some}
        value = ask(*inputs_at(drive, base, factors)).values["windup"]
        truths.append(value * math.exp(spread.log_spread * rng.standard_normal()))
    assert 47 <= 60 * coverage(found, "windup", truths) <= 59
    assert 60 * coverage(found, "windup", truths, shrink=0.5) < 47


def test_interactions_are_told_as_numerical_spread(printed):
    drive, base, weak = printed

    def crossed(_, inputs):
        arm = math.log(inputs.arm_stiffness_n_per_mm / base.arm_stiffness_n_per_mm)
        carrier = math.log(inputs.carrier_stiffness_n_per_mm / base.carrier_stiffness_n_per_mm)
        return Reply({"crossed": math.exp(arm * carrier)})

    band = bands(drive, base, [weak["arm"], weak["carrier"]], (crossed,), model=exact("crossed")).of("crossed")
    assert band.shares["numerical"] > 0.9


def test_the_curve_goes_through_its_ends_and_never_overshoots():
    z = np.linspace(-NORMAL_95, NORMAL_95, 201)
    for down, up in ((-0.8, 0.05), (-0.2, 0.3), (0.4, -0.1), (0.3, 0.2), (0.0, 0.5)):
        value = curve(z, down, up)
        assert value[[0, 100, 200]] == pytest.approx([down, 0.0, up], abs=1e-12)
        assert value.max() <= max(down, up, 0.0) + 1e-12
        assert value.min() >= min(down, up, 0.0) - 1e-12


# --- nothing is dropped in silence -------------------------------------------------------------------------------------


def test_runs_that_fail_or_are_lower_bounds_are_said(printed):
    drive, base, weak = printed

    def fragile(_, inputs):
        share = inputs.arm_stiffness_n_per_mm / base.arm_stiffness_n_per_mm
        if share < 0.5:
            raise ConvergenceFault([Fault("the drive skips before", "torque_nmm")])
        return Reply({"answer": share}, frozenset({"answer"} if share > 2.0 else ()))

    found = bands(drive, base, [weak["arm"]], (fragile,), model=exact("answer"), checks=0)
    band = found.of("answer")
    assert band.incomplete and band.at_least
    assert any("0.3 times arm" in note and "skips before" in note for note in band.notes)
    assert any("3 times arm" in note and "lower bound" in note for note in band.notes)
    assert set(band.notes) == set(found.failed)


def test_an_answer_without_a_middle_is_not_made(printed):
    drive, base, weak = printed

    def never(_, inputs):
        raise ConvergenceFault([Fault("nothing settles", "loaded ring")])

    found = bands(drive, base, [weak["arm"]], (never,), model={})
    assert found.bands == ()
    assert "nothing settles" in found.not_made[""]
    assert len(found.failed) > 1
    with pytest.raises(DesignFault):
        found.of("answer")


def test_load_answers_are_those_of_the_separate_questions(cup):
    drive, base, _ = cup
    reply = LoadQuestion(1000.0)(drive, base)
    part, full = (load_share(drive, base, torque) for torque in (600.0, 1000.0))
    assert reply.values[WINDUP] == pytest.approx(full.windup_rad, rel=1e-6)
    assert reply.values[STIFFNESS] == pytest.approx(400.0 / (full.windup_rad - part.windup_rad), rel=1e-4)
    assert reply.values[TEETH] == full.rows[0].teeth_in_load
    assert reply.values[ROLLER] == pytest.approx(np.hypot(*full.body_force_n[:, 0].T).max(), rel=1e-4)


def test_a_load_that_the_drive_does_not_carry_is_missing_with_the_reason(cup, monkeypatch):
    drive, base, _ = cup
    monkeypatch.setattr(
        "lobewright.torque.bands.wind", lambda winder, *_: Walk([winder.turn_to(0.0, winder.drive.rest.copy())], "fall")
    )
    reply = LoadQuestion(1e7)(drive, base)
    assert not reply.values
    assert "stiffness_nmm_per_rad" in reply.missing
    assert all("carries less" in why and "1e+07" in why for why in reply.missing.values())


# --- the curve over the arms ---------------------------------------------------------------------------------------------


def test_ratcheting_torque_rises_strictly_with_the_arms_stiffness(cup):
    drive, base, _ = cup
    found = over_arms(drive, base)
    assert list(found.stiffness_n_per_mm) == [300.0, 1000.0, 3000.0, 10000.0]
    assert found.rises and found.torque_nmm[-1] > 1.5 * found.torque_nmm[0]
    assert (np.diff(found.generator_share) < 0.0).all()
    assert found.generator_share[0] > 0.9 and found.gives_way[0] == "arm gives"
    assert not found.failed


def test_arms_that_fail_are_said_and_cams_have_none(cup, assessed_starter, monkeypatch):
    drive, base, _ = cup

    def soft_ones_fail(_, inputs):
        if inputs.arm_stiffness_n_per_mm < 500.0:
            raise ConvergenceFault([Fault("the path was lost", "torque_nmm")])
        raise DesignFault([Fault("no load path", "rigid_ring")])

    monkeypatch.setattr("lobewright.torque.over_arms.skip", soft_ones_fail)
    found = over_arms(drive, base, (300.0, 1000.0))
    assert len(found.torque_nmm) == 0
    assert "300 N/mm" in found.failed[0] and "path was lost" in found.failed[0] and "no load path" in found.failed[1]
    with pytest.raises(DesignFault, match="rise"):
        over_arms(drive, base, (1000.0, 300.0))
    with pytest.raises(DesignFault, match="cam"):
        over_arms(loaded_drive(assessed_starter("printed_cup-cam_plain")), base)


# --- what a measured skip torque says ------------------------------------------------------------------------------------


def skip_band(drive, base, weak):
    """A band whose spread is of the process (arm, modulus) and, less, of the tolerance of a build (clearance)."""
    height = drive.rows[0].outline.points_mm[:, 1].max()

    def torque(built, inputs):
        share = built.rows[0].outline.points_mm[:, 1].max() / height
        return Reply({SKIP: 20.0 * inputs.arm_stiffness_n_per_mm * share**8})

    some = [weak["arm"], weak["modulus"], weak["clearance"]]
    return bands(drive, base, some, (torque,), checks=0, model=model_spread()).of(SKIP)


def measured(torque, predicted=20.0, material="petg_printed", uncertainty=0.5):
    return MeasuredSkip(
        design="first",
        torque_Nm=torque,
        uncertainty_Nm=uncertainty,
        predicted_Nm=predicted,
        flexible_ring="printed_ring",
        material=material,
    )


def owning(design, *rows):
    return design.model_copy(update={"owned": Workshop(schema_version=1, skip_torque=rows)})


def test_a_measured_skip_shifts_and_narrows_the_band_of_the_same_process(printed):
    drive, base, weak = printed
    band = skip_band(drive, base, weak)
    material = drive.design.flexible_ring.material
    one = skip_correction(owning(drive.design, measured(30.0, material=material)), band)
    assert one.measurements == 1 and 1.35 < one.factor.middle < 1.5 and one.factor.measured
    after = corrected(band, one)
    assert after.middle == pytest.approx(band.middle * one.factor.middle)
    assert after.high / after.low < 0.5 * band.high / band.low
    many = skip_correction(owning(drive.design, *[measured(30.0, material=material)] * 4), band)
    assert many.factor.log_spread < 0.6 * one.factor.log_spread
    assert corrected(band, many).low > after.low


def test_a_skip_of_another_process_is_not_used_and_said(printed):
    drive, base, weak = printed
    band = skip_band(drive, base, weak)
    rows = (measured(30.0, material="tpu_printed"), MeasuredSkip(design="old", torque_Nm=3.0, uncertainty_Nm=0.1))
    found = skip_correction(owning(drive.design, *rows), band)
    assert found.measurements == 0
    assert corrected(band, found) is band
    assert len(found.not_used) == 2
    assert "tpu_printed" in found.not_used[0] and "predicted" in found.not_used[1]


def test_readings_that_disagree_say_less():
    _, agreeing = updated(0.5, [(0.3, 0.1), (0.3, 0.1)])
    _, apart = updated(0.5, [(0.0, 0.1), (0.6, 0.1)])
    assert apart > 1.5 * agreeing


def test_corrected_bands_hold_nine_in_ten_of_simulated_workshops(printed):
    """Factor of the process from its prior, two builds measured with tolerance and reading error, a third one built."""
    drive, base, weak = printed
    band = skip_band(drive, base, weak)
    shared = math.sqrt(band.log_sd**2 - band.tolerance_log_sd**2)
    rng = np.random.default_rng(11)
    inside = halved = 0
    for _ in range(600):
        process = shared * rng.standard_normal()
        rows = []
        for _ in range(2):
            build = process + band.tolerance_log_sd * rng.standard_normal() + TRANSFER * rng.standard_normal()
            torque = 20.0 * math.exp(build)
            rows.append(measured(torque * (1.0 + 0.05 * rng.standard_normal()), 20.0, "petg_printed", 0.05 * torque))
        design = owning(
            drive.design, *(row.model_copy(update={"material": drive.design.flexible_ring.material}) for row in rows)
        )
        found = corrected(band, skip_correction(design, band))
        truth = math.log(band.middle) + process + band.tolerance_log_sd * rng.standard_normal()
        inside += math.log(found.low) <= truth <= math.log(found.high)
        halved += abs(truth - math.log(found.middle)) <= 0.5 * math.log(found.high / found.middle)
    assert 0.86 <= inside / 600 <= 0.95
    assert halved / 600 < 0.75


def test_shares_told_rise_to_the_end_of_all_runs(printed):
    drive, base, weak = printed
    told = []

    class Cheap:
        """Moved by one input alone, so that few other ends are asked."""

        def __call__(self, drive, inputs):
            return Reply({SKIP: sum(inputs.tooth_stiffness_n_per_mm2)})

    few = [weak["tooth"], weak["arm"], weak["clearance"]]
    bands(drive, base, few, [Cheap()], model=exact(SKIP), progress=lambda word, share: told.append((word, share)))
    shares = [share for _, share in told]
    assert shares == sorted(shares) and shares[-1] == 1.0
    before = max(share for word, share in told if word == "one end of every input")
    assert before < 0.5  # other ends and all inputs at once are still to come
