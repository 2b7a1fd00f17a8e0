"""What materials bear: every row holds together, test pieces replace it, what is missing says so."""

from __future__ import annotations

import math
import subprocess
import sys
from itertools import pairwise

import numpy as np
import pytest

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.catalogue import MaterialKind
from lobewright.design.catalogue_strength import strength_row, strength_rows
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.design.workshop import Coupon, Workshop
from lobewright.errors import CatalogueFault, DesignFault
from lobewright.sources import Flag, all_sources
from lobewright.strength.coupon import fitted, reversed_amplitude
from lobewright.strength.material import Direction, StrengthData
from lobewright.strength.material_data import joined, rigid_strength, ring_strength, scaled, strength_data
from lobewright.strength.remark import Weak
from lobewright.torque.interval import NORMAL_95, Interval
from lobewright.torque.measured import owned_figure, student_95

IN, ACROSS = Direction.IN_LAYERS, Direction.ACROSS_LAYERS
ROOM_K = 296.15
NAMES = tuple(row.name for row in catalogue.materials())
EVERY = pytest.mark.parametrize("name", NAMES)
PRINTED = design_from_data(starter_data("printed_ring"))


def data(name: str, direction: Direction = IN, temperature_k: float = ROOM_K, *coupons: Coupon) -> StrengthData:
    return strength_data(owning(*coupons), name, direction, temperature_k)


def owning(*coupons: Coupon) -> m.Design:
    return PRINTED.model_copy(update={"owned": Workshop(schema_version=1, coupon=coupons)})


def amplitude(found: StrengthData, cycles: float) -> float:
    curve = found.curve
    assert curve is not None
    return math.exp(np.interp(math.log(cycles), np.log(curve.cycles), np.log(curve.amplitude_mpa)))


# --- rows -----------------------------------------------------------------------------------------------------------


def test_every_material_has_its_strength_row_and_no_other() -> None:
    assert tuple(row.name for row in strength_rows()) == NAMES
    with pytest.raises(CatalogueFault, match="no material of this name"):
        strength_row("cheese")


@EVERY
def test_a_row_is_whole(name: str) -> None:
    row = strength_row(name)
    assert row.coldest_k < ROOM_K < row.hottest_k
    table = row.temperature
    assert table.warm_k[0] == ROOM_K
    assert table.warm_k[-1] == pytest.approx(row.hottest_k)
    for shares in (table.modulus_share, table.strength_share):
        assert shares[0] == 1.0
        assert all(0.0 < later <= former for former, later in pairwise(shares))
    for figure, known in (("yield", row.yield_share), ("curve", row.curve), ("creep", row.creep)):
        assert (known is None) == (figure in row.lacking), figure


@EVERY
@pytest.mark.parametrize("direction", [IN, ACROSS])
def test_figures_stand_in_order(name: str, direction: Direction) -> None:
    found = data(name, direction)
    assert found.ultimate_mpa is not None
    assert found.metal == (catalogue.material(name).kind is MaterialKind.STEEL)
    if found.yield_mpa is not None:
        assert found.yield_mpa.middle <= found.ultimate_mpa.middle
    if found.curve is not None:
        assert found.curve_words
        assert found.curve.amplitude_mpa[0] < found.ultimate_mpa.middle
        assert found.curve.tested_to_cycles >= 1e5
    for figure in ("yield", "curve", "creep"):
        known = getattr(found, figure if figure in ("curve", "creep") else f"{figure}_mpa")
        assert (known is None) == (figure in dict(found.lacking))
    assert found.source_keys
    assert not set(found.source_keys) - {one.key for one in all_sources()}


@EVERY
def test_across_the_layers_is_no_stronger(name: str) -> None:
    along, across = data(name), data(name, ACROSS)
    same = catalogue.material(name).z_ratio == (1.0, 1.0)
    for figure in ("ultimate_mpa", "yield_mpa"):
        one, other = getattr(along, figure), getattr(across, figure)
        if one is not None:
            assert other.middle == one.middle if same else other.middle < one.middle
            assert other.low == one.low if same else other.low < one.low
    if along.curve is not None and across.curve is not None:
        assert np.all(across.curve.amplitude_mpa <= along.curve.amplitude_mpa)
        assert across.curve.spread == along.curve.spread if same else across.curve.spread > along.curve.spread


def test_a_steel_line_follows_the_textbook() -> None:
    found = data("steel_40CrNiMoA", IN, ROOM_K, strong("steel_40CrNiMoA", 689.4757))
    assert amplitude(found, 1e6) == pytest.approx(344.74, rel=1e-4)
    assert amplitude(found, 1e3) == pytest.approx(0.849 * 689.4757, rel=1e-4)  # 100 kpsi: the figure shows 0.845
    assert found.curve is not None
    assert found.curve.beyond_slope == math.inf
    hard = data("steel_40CrNiMoA", IN, ROOM_K, strong("steel_40CrNiMoA", 1800.0))
    assert amplitude(hard, 1e6) == pytest.approx(700.0)  # no limit grows beyond that
    soft = data("steel_40CrNiMoA", IN, ROOM_K, strong("steel_40CrNiMoA", 400.0))
    assert amplitude(soft, 1e3) == pytest.approx(0.898 * 400.0, rel=1e-3)


def test_what_is_remembered_or_estimated_is_said() -> None:
    assert data("petg_printed").remark_on("curve").words == "S–N curve remembered"
    assert data("asa_printed").remark_on("ultimate", "yield").words == "tensile strength and yield stress remembered"
    assert data("steel_40CrNiMoA").remark_on("curve").words == "S–N curve estimated from the tensile strength"
    assert (
        data("pa12_powder_bed").remark_on("curve", "ultimate", "yield").words
        == "tensile strength and yield stress remembered"
    )
    assert (
        data("petg_printed", IN, ROOM_K, pieces("petg_printed")).remark_on("yield", "creep").words
        == "yield stress and creep remembered"
    )
    kinds = {
        name: data(name).remark_on("curve").weak for name in ("petg_printed", "steel_40CrNiMoA", "pa12_powder_bed")
    }
    assert kinds == {
        "petg_printed": {Weak.REMEMBERED},
        "steel_40CrNiMoA": {Weak.ESTIMATED},
        "pa12_powder_bed": set(),
    }
    assert "ratio 0.1 brought to −1" in data("pa12_powder_bed").curve_words
    assert "room air" in data("pa6_printed").words


def test_what_is_missing_says_so() -> None:
    found = data("asa_printed")
    assert found.curve is None
    assert found.why_not("curve").startswith("no S–N data for asa_printed")
    assert found.creep is None
    assert data("pla_printed").why_not("creep").startswith("no creep data for pla_printed")
    assert data("tpu_printed").why_not("yield") == "tpu_printed has no yield point"


def test_creep_of_two_moduli_is_a_power_of_time() -> None:
    law = data("pom_bulk").creep
    assert law is not None
    assert 2500.0 * 1000.0**-law.exponent.middle == pytest.approx(1300.0)
    assert (law.from_h, law.to_h) == (1.0, 1000.0)
    warm = data("pom_bulk", IN, 320.0)
    assert warm.creep is not None
    assert warm.creep.exponent.middle == law.exponent.middle
    assert warm.creep.exponent.low < law.exponent.low < law.exponent.high < warm.creep.exponent.high
    assert warm.remark_on("creep").words == "creep remembered; creep measured at 23 °C"


# --- warmth ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("celsius", "found"), [(-21.0, "−21 °C"), (51.0, "51 °C")])
def test_a_temperature_out_of_range_is_refused(celsius: float, found: str) -> None:
    design = PRINTED.model_copy(update={"ambient_temperature_C": celsius})
    with pytest.raises(DesignFault) as caught:
        strength_data(design, "pla_printed", IN, celsius + 273.15)
    (fault,) = caught.value.faults
    assert (fault.place, fault.value) == ("ambient_temperature_C", found)
    assert fault.allowed == "−20 to 50 °C for pla_printed"


def test_warmth_takes_what_the_table_says_and_widens() -> None:
    cold, hot = data("petg_printed"), data("petg_printed", IN, 273.15 + 65.0)
    assert hot.ultimate_mpa.middle == pytest.approx(0.50 * cold.ultimate_mpa.middle)
    assert hot.modulus_mpa.middle == pytest.approx(0.70 * cold.modulus_mpa.middle)
    assert amplitude(hot, 1e6) == pytest.approx(0.50 * amplitude(cold, 1e6))
    wide = math.hypot(cold.ultimate_mpa.log_spread * NORMAL_95, math.log(1.4))
    assert hot.ultimate_mpa.log_spread * NORMAL_95 == pytest.approx(wide, rel=1e-9)
    assert hot.curve.spread > cold.curve.spread
    half = data("petg_printed", IN, 273.15 + 36.5)
    assert half.ultimate_mpa.middle == pytest.approx(0.875 * cold.ultimate_mpa.middle)


# --- your own pieces --------------------------------------------------------------------------------------------------


def strong(name: str, strength_mpa: float, **more: float) -> Coupon:
    return Coupon(material=name, temperature_C=23.0, strength_MPa=strength_mpa, **more)


def pieces(name: str, **more: object) -> Coupon:
    told = {"fatigue_amplitude_MPa": (20.0, 15.0, 11.0, 8.0), "fatigue_cycles": (1e3, 5e3, 3e4, 2e5)} | more
    return Coupon(material=name, temperature_C=23.0, strength_MPa=44.0, strength_uncertainty_MPa=1.0, **told)


def test_a_coupon_replaces_strength_yield_and_modulus() -> None:
    coupon = strong(
        "petg_printed",
        44.0,
        strength_uncertainty_MPa=1.0,
        yield_MPa=41.0,
        yield_uncertainty_MPa=2.0,
        modulus_MPa=1850.0,
        modulus_uncertainty_MPa=50.0,
    )
    found = data("petg_printed", IN, ROOM_K, coupon)
    for figure, middle, sd in (
        (found.ultimate_mpa, 44.0, 1.0),
        (found.yield_mpa, 41.0, 2.0),
        (found.modulus_mpa, 1850.0, 50.0),
    ):
        assert figure is not None
        assert figure.measured
        assert figure.middle == pytest.approx(middle)
        assert figure.low == pytest.approx(middle - NORMAL_95 * sd)
        assert figure.high == pytest.approx(middle + NORMAL_95 * sd)
    assert amplitude(found, 1e6) == pytest.approx(0.0775 * 44.0)  # a share of the strength goes with it


def test_a_coupon_of_another_material_or_direction_changes_nothing() -> None:
    plain = data("petg_printed")
    assert data("petg_printed", IN, ROOM_K, strong("abs_printed", 30.0)).ultimate_mpa == plain.ultimate_mpa
    across = Coupon(material="petg_printed", direction="across_layers", temperature_C=23.0, strength_MPa=25.0)
    assert data("petg_printed", IN, ROOM_K, across).ultimate_mpa == plain.ultimate_mpa
    assert data("petg_printed", ACROSS, ROOM_K, across).ultimate_mpa.middle == pytest.approx(25.0)


def test_a_coupon_along_the_layers_counts_across_them_by_the_layer_ratio() -> None:
    found = data("petg_printed", ACROSS, ROOM_K, strong("petg_printed", 44.0))
    assert found.ultimate_mpa.middle == pytest.approx(44.0 * math.sqrt(0.6 * 0.85))


def test_a_coupon_counts_at_the_temperature_of_its_test() -> None:
    warm = Coupon(material="petg_printed", temperature_C=50.0, strength_MPa=30.0, modulus_MPa=1700.0)
    assert data("petg_printed", IN, ROOM_K, warm).ultimate_mpa.middle == pytest.approx(40.0)
    assert data("petg_printed", IN, 323.15, warm).ultimate_mpa.middle == pytest.approx(30.0)
    assert data("petg_printed", IN, 323.15, warm).modulus_mpa.middle == pytest.approx(1700.0)


def test_fatigue_pieces_replace_the_curve() -> None:
    found = data("asa_printed", IN, ROOM_K, pieces("asa_printed"))
    assert found.curve is not None
    assert found.curve_words == "your own 4 pieces"
    assert "curve" not in dict(found.lacking)
    assert (found.curve.cycles[0], found.curve.cycles[-1]) == pytest.approx((1e3, 2e5))
    assert found.curve.tested_to_cycles == pytest.approx(2e5)
    assert found.curve.beyond_slope == pytest.approx(
        -math.log(200.0) / math.log(found.curve.amplitude_mpa[1] / found.curve.amplitude_mpa[0])
    )


def test_another_ratio_is_brought_to_minus_one_and_said() -> None:
    plain = data("asa_printed", IN, ROOM_K, pieces("asa_printed"))
    pulled = data("asa_printed", IN, ROOM_K, pieces("asa_printed", fatigue_ratio=0.0))
    assert pulled.curve_words.endswith("ratio 0 brought to −1 by modified Goodman")
    assert amplitude(pulled, 1e4) > 1.3 * amplitude(plain, 1e4)
    assert reversed_amplitude(11.0, 0.0, 44.0) == pytest.approx(11.0 / 0.75)
    assert reversed_amplitude(11.0, -3.0, 44.0) == 11.0  # pressing means do not help
    with pytest.raises(DesignFault, match=r"mean stress .* too large"):
        reversed_amplitude(25.0, 0.3, 44.0)


def test_a_measured_strength_is_not_told_as_remembered_when_it_is_warm() -> None:
    coupon = strong("petg_printed", 44.0)
    assert data("petg_printed", IN, ROOM_K, coupon).remark_on("ultimate").words == ""
    warm = data("petg_printed", IN, 313.15, coupon)
    assert warm.remark_on("ultimate").words == "your own tensile strength brought to 40 °C by remembered shares"
    assert warm.remark_on("ultimate").weak == {Weak.BROUGHT}
    assert data("petg_printed", IN, 313.15).remark_on("ultimate").words == "tensile strength remembered"


def test_a_weak_print_of_the_owner_does_not_lift_what_others_tested() -> None:
    # one of these points was pulled from ratio 0.1: its mean counts against the strength of the pieces that bore it
    plain = data("pa12_powder_bed")
    for strength in (25.0, 40.0, 60.0):
        found = data("pa12_powder_bed", IN, ROOM_K, strong("pa12_powder_bed", strength))
        assert found.ultimate_mpa.middle == pytest.approx(strength)
        assert found.curve is not None and plain.curve is not None
        assert found.curve.amplitude_mpa == pytest.approx(plain.curve.amplitude_mpa)


def test_the_line_through_pieces_is_the_least_squares_one() -> None:
    stress, life = np.array([50.0, 40.0, 32.0, 25.0]), np.array([1.1e3, 8e3, 9e4, 6e5])
    slope, start = np.polyfit(np.log(stress), np.log(life), 1)
    left = np.log(life) - slope * np.log(stress) - start
    curve = fitted(stress, life)
    assert curve.beyond_slope == pytest.approx(-slope)
    assert np.log(curve.cycles) == pytest.approx(slope * np.log(curve.amplitude_mpa) + start)
    sd = math.sqrt(float(left @ left) / 2.0) * math.sqrt(1.25) / -slope
    assert curve.spread == pytest.approx(math.exp(student_95(2) * sd))


def test_nine_in_ten_bands_hold_the_next_piece() -> None:
    rng = np.random.default_rng(5)
    inside = 0
    for _ in range(400):
        stress = rng.uniform(20.0, 50.0, 6)
        life = 1e5 * (stress / 30.0) ** -8.0 * np.exp(rng.normal(0.0, 0.4, 6))
        curve = fitted(stress, life)
        place = float(np.exp(np.log(stress).mean()))
        asked = 1e5 * (place / 30.0) ** -8.0 * math.exp(rng.normal(0.0, 0.4))
        line = math.log(curve.amplitude_mpa[0]) - math.log(asked / curve.cycles[0]) / curve.beyond_slope
        inside += abs(math.log(place) - line) <= math.log(curve.spread)
    assert 340 <= inside <= 380


@pytest.mark.parametrize(
    ("stress", "life", "said"),
    [
        ((20.0, 20.0, 20.0), (1e3, 1e4, 1e5), "no falling line"),
        ((20.0, 25.0, 30.0), (1e3, 1e4, 1e5), "no falling line"),
        ((20.0, 19.0, 18.0), (1e3, 1e6, 1e3), "no falling line"),
        ((30.0, 20.0, 10.0), (1e3, 2.0, 1e4), "scatter too much"),
    ],
)
def test_pieces_that_make_no_line_are_refused(stress: tuple, life: tuple, said: str) -> None:
    with pytest.raises(DesignFault, match=said):
        fitted(stress, life)


def test_several_coupons_are_pooled() -> None:
    one = strong("petg_printed", 40.0, strength_uncertainty_MPa=1.0)
    other = strong("petg_printed", 42.0, strength_uncertainty_MPa=4.0)
    both = owned_figure((one, other), "strength")
    assert both is not None
    assert 40.0 < both.middle < 40.5  # the surer one weighs more
    untold = owned_figure((one, strong("petg_printed", 44.0)), "strength")
    assert untold is not None
    assert (untold.low, untold.high) == (pytest.approx(40.0 - NORMAL_95), 44.0)
    assert owned_figure((one,), "yield") is None


def test_an_uncertainty_as_large_as_the_figure_is_refused() -> None:
    with pytest.raises(DesignFault, match=r"coupon.strength_MPa: this figure is too uncertain .* less than 24.32 MPa"):
        owned_figure((strong("petg_printed", 40.0, strength_uncertainty_MPa=30.0),), "strength")


def test_fatigue_pieces_count_at_the_temperature_of_their_test() -> None:
    told = {"fatigue_amplitude_MPa": (20.0, 15.0, 11.0), "fatigue_cycles": (1e3, 5e3, 3e4)}
    warm = Coupon(material="petg_printed", temperature_C=50.0, **told)
    cold = Coupon(material="petg_printed", temperature_C=23.0, **told)
    assert amplitude(data("petg_printed", IN, ROOM_K, warm), 5e3) == pytest.approx(
        amplitude(data("petg_printed", IN, ROOM_K, cold), 5e3) / 0.75
    )


def test_a_curve_in_shares_is_as_uncertain_as_the_strength() -> None:
    for coupon, sd in (
        (strong("petg_printed", 44.0), 0.0),
        (strong("petg_printed", 44.0, strength_uncertainty_MPa=6.0), 6.0),
    ):
        found = data("petg_printed", IN, ROOM_K, coupon)
        wide = 0.5 * math.log((44.0 + NORMAL_95 * sd) / (44.0 - NORMAL_95 * sd))
        assert found.curve.spread == pytest.approx(math.exp(math.hypot(math.log(2.0), wide)))


# --- whose material ---------------------------------------------------------------------------------------------------


def test_the_ring_brings_its_own_material_and_temperature() -> None:
    found = ring_strength(PRINTED, ACROSS)
    assert found is not None
    assert found.material == PRINTED.flexible_ring.material
    assert found.temperature_k == pytest.approx(PRINTED.ambient_temperature_C + 273.15)
    assert ring_strength(design_from_data(starter_data("belt")), IN) is None


def test_a_rigid_ring_is_of_its_own_material_else_the_printers_else_the_rings() -> None:
    ring = PRINTED.rigid_ring[0]
    own = rigid_strength(PRINTED, ring.model_copy(update={"material": "pom_bulk"}), IN)
    printer = PRINTED.process.model_copy(update={"material": "abs_printed"})
    printed = rigid_strength(PRINTED.model_copy(update={"process": printer}), ring, IN)
    assert own is not None
    assert printed is not None
    assert own.material == "pom_bulk"
    assert printed.material == "abs_printed"
    cut = m.Machined(kind="machined", tolerance_mm=0.02)
    machined = PRINTED.model_copy(update={"process": cut})
    assert rigid_strength(machined, ring, IN).material == PRINTED.flexible_ring.material
    belt = design_from_data(starter_data("belt")).model_copy(update={"process": cut})
    assert rigid_strength(belt, belt.rigid_ring[0].model_copy(update={"material": None}), IN) is None


def test_the_rows_need_no_numerics() -> None:
    code = "import sys, lobewright.design.catalogue_strength as c; c.strength_rows(); assert 'numpy' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


# --- joining ----------------------------------------------------------------------------------------------------------


def test_factors_join_as_roots_of_squares_and_keep_the_weaker_flag() -> None:
    one = Interval("a_mpa", 8.0, 10.0, 20.0, True, "derived_here", Flag.DERIVED)
    other = Interval("share", 0.4, 0.5, 0.5, False, "memory", Flag.REMEMBERED)
    both = joined(one, other, "b_mpa")
    assert (both.name, both.middle, both.measured, both.flag) == ("b_mpa", 5.0, False, Flag.REMEMBERED)
    assert both.low == pytest.approx(5.0 * math.exp(-math.log(1.25) * math.sqrt(2.0)))
    assert both.high == pytest.approx(10.0)
    curve = scaled(data("pom_bulk").curve, other)
    assert curve.amplitude_mpa == pytest.approx(0.5 * data("pom_bulk").curve.amplitude_mpa)
