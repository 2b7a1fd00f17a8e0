"""An invented printer's readings give its allowances back, as often as the stated uncertainty claims."""

import numpy as np
import pytest

from lobewright.errors import DesignFault, FileFault
from lobewright.make.calibration import HEAD, STEPS_MM, Reading, calibrate, read_readings
from lobewright.make.coupon_sheet import rows, template

FAT, FOOT, SPREAD, HAND = 0.07, 0.18, 0.03, 0.01
OUTSIDE, INSIDE = 0.02, 0.04
SCALE = {"x": -0.004, "y": 0.002}
HOLE = {"M3_passes": 0.13, "M5_passes": 0.13}


def invented(seed: int, repeats: int = 3, foot: float = FOOT, **steps: int) -> tuple[Reading, ...]:
    """Readings of a printer that lays 0.07 mm too fat. Every place has an error of its own, every repeat the hand's; the caliper
    is wrong by the same on all outsides and on all insides. Bolts pass where the printed hole is wide enough."""
    draw = np.random.default_rng(seed)
    wrong = {"outside": draw.uniform(-OUTSIDE, OUTSIDE), "inside": draw.uniform(-INSIDE, INSIDE)}
    found, walls = [], dict[str, float]()
    for coupon, feature, nominal_text, _ in rows():
        kind, axis = feature.rsplit("_", 1)
        if feature in HOLE:
            printed = np.array(STEPS_MM) - HOLE[feature] - 2 * FAT + draw.normal(0, SPREAD)
            step = steps.get(feature, 1 + int(np.argmax(printed >= 0)) if printed[-1] >= 0 else 0)
            found.append(Reading(coupon, feature, 0.0, (), step))
        elif not nominal_text:
            found += [Reading(coupon, feature, 0.0, (), steps[feature])] if feature in steps else []
        else:
            nominal = float(nominal_text)
            true = nominal * (1 + SCALE[axis]) + (-2 if kind == "inside" else 2) * FAT
            if kind in ("foot", "upper"):
                # Foot and top stand on the same walls; the spread of the first layer differs from wall to wall.
                true += walls.setdefault(coupon + axis, draw.normal(0, SPREAD))
                true += 2 * foot + draw.normal(0, SPREAD) if kind == "foot" else 0.0
            else:
                true += draw.normal(0, SPREAD)
            true += wrong["inside" if kind == "inside" else "outside"]
            values = tuple(round(true + draw.normal(0, HAND), 2) for _ in range(repeats))
            found.append(Reading(coupon, feature, nominal, values))
    return tuple(found)


SEEDS = 1000
# Least and most share of printers within one and within two standard uncertainties. A normal error has 0.683 and 0.954, Student's
# t in units of its standard deviation 0.707 and 0.951 (ν = 11, lengths), 0.747 and 0.951 (ν = 5, six pairs of walls), a sum of
# two rectangles 0.65 and 0.966. The caliper's step counts beside a scatter that holds it, and a ladder takes the larger of two
# spreads: both lean to the safe side, by at most what the upper ends allow.
CLAIMED = [
    ("xy_compensation_mm", (0.65, 0.707), (0.951, 0.966)),
    ("first_layer_mm", (0.683, 0.765), (0.951, 0.966)),
    ("bolt_hole_allowance_mm", (0.683, 0.80), (0.954, 0.99)),
]


def _off(seed: int) -> list[float]:
    """How many standard uncertainties each answer is off; for a ladder off what the next hole of that printer needs."""
    told = calibrate(invented(seed))
    truth = (FAT, FOOT, HOLE["M3_passes"] + np.random.default_rng(10**6 + seed).normal(0, SPREAD))
    found = [told.value(key) for key, *_ in CLAIMED]
    return [abs(row.value - true) / row.uncertainty if row else np.nan for row, true in zip(found, truth, strict=True)]


@pytest.fixture(scope="module")
def off() -> np.ndarray:
    return np.array([_off(seed) for seed in range(SEEDS)])


@pytest.mark.parametrize("column", range(len(CLAIMED)), ids=[row[0] for row in CLAIMED])
def test_the_stated_uncertainty_covers_the_truth_as_often_as_it_says(off: np.ndarray, column: int) -> None:
    told = off[:, column][~np.isnan(off[:, column])]
    assert len(told) > 0.95 * SEEDS
    for limit, (low, high) in zip((1, 2), CLAIMED[column][1:], strict=True):
        share = float(np.mean(told < limit))
        assert low - 3 * (low * (1 - low) / SEEDS) ** 0.5 < share < high + 3 * (high * (1 - high) / SEEDS) ** 0.5


def test_repeats_at_one_place_do_not_make_the_printer_surer() -> None:
    once, often = (
        np.mean([calibrate(invented(seed, repeats)).told[0].uncertainty for seed in range(60)]) for repeats in (1, 3)
    )
    assert often > 0.93 * once
    thin = tuple(row for row in invented(3) if row.coupon != "foot_3")
    for seed_rows in (invented(3), thin):
        told = calibrate(seed_rows).value("first_layer_mm")
        assert told is not None and told.uncertainty > SPREAD / 2 / 6**0.5 / 2
    assert calibrate(tuple(row for row in thin if row.coupon != "foot_2")).value("first_layer_mm") is None


def test_the_caliper_limits_what_readings_without_scatter_tell() -> None:
    """All readings perfect: what is left is an unknown error of outsides and one of insides, a quarter of each in the offset."""
    perfect = []
    for _, feature, nominal_text, _ in rows():
        if nominal_text and feature[-1] in SCALE and not feature.startswith(("foot", "upper")):
            nominal = float(nominal_text)
            perfect.append(Reading("", feature, nominal, (nominal + (-0.1 if feature.startswith("inside") else 0.1),)))
    told = calibrate(tuple(perfect)).told[0]
    assert told.value == pytest.approx(0.05)
    assert told.uncertainty >= 0.9 * (OUTSIDE**2 + INSIDE**2) ** 0.5 / 3**0.5 / 4


def test_scale_and_offset_are_told_apart() -> None:
    told = {row.words: row for row in calibrate(invented(3)).told}
    for axis, true in SCALE.items():
        row = told[f"scale along {axis}"]
        assert abs(row.value - 100 * true) < 3.5 * row.uncertainty


def test_a_ladder_is_corrected_by_twice_the_offset() -> None:
    found = calibrate(invented(5, seat_snug=3, M3_passes=4, M5_passes=4))
    fat, seat, bolt = (found.value(k) for k in ("xy_compensation_mm", "seat_allowance_mm", "bolt_hole_allowance_mm"))
    assert fat and seat and bolt
    assert seat.value == pytest.approx(0.2 - 2 * fat.value)
    assert bolt.value == pytest.approx(0.25 - 2 * fat.value)
    assert seat.uncertainty >= 0.1 / 12**0.5
    apart = calibrate(invented(5, M3_passes=2, M5_passes=5)).value("bolt_hole_allowance_mm")
    assert apart is not None and apart.uncertainty > 0.2


def test_the_tooth_tells_the_gap_of_its_flanks() -> None:
    """Printed 2 × 0.07 mm too fat, a tooth that needs no gap seats where step / 2 · cos 20° = 0.14 mm · (1 − sin 20°)."""
    limit = 2 * 2 * FAT * (1 - np.sin(np.radians(20))) / np.cos(np.radians(20))
    step = 2 + int(limit / 0.1)
    found = calibrate(invented(5, tooth_seats=step)).value("least_clearance_mm")
    assert found is not None and abs(found.value) < 0.05 / 2 + 2 * found.uncertainty
    wider = calibrate(invented(5, tooth_seats=step + 1)).value("least_clearance_mm")
    assert wider is not None and wider.value - found.value == pytest.approx(0.05 * np.cos(np.radians(20)))


def test_a_spread_that_reads_below_nothing_is_said_and_written_as_nothing() -> None:
    told = calibrate(invented(2, foot=-0.08)).value("first_layer_mm")
    assert told is not None
    assert told.value < 0 and told.written == 0.0 and "0 is written" in told.words


@pytest.mark.parametrize(("steps", "reason"), [({"M3_passes": 0}, "no step"), ({"M3_passes": 1}, "below the ladder")])
def test_a_limit_beyond_the_ladder_is_not_made(steps: dict[str, int], reason: str) -> None:
    found = calibrate(invented(5, **steps))
    assert found.value("bolt_hole_allowance_mm") is None
    assert any(line.startswith("bolt_hole_allowance_mm") and reason in line for line in found.not_made)


def test_outsides_alone_tell_no_offset() -> None:
    found = calibrate(tuple(row for row in invented(1) if not row.feature.startswith("inside")))
    assert found.value("xy_compensation_mm") is None
    assert found.value("first_layer_mm") is not None
    assert any(line.startswith("xy_compensation_mm") for line in found.not_made)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (
            "lengths_x,outside_x,16,61.1,,,",
            "line 2: reading_1_mm: this is no possible reading (found 61.1); allowed: 15 to 17 mm",
        ),
        ("lengths_x,outside_x,16,nan,,,", "15 to 17 mm"),
        ("lengths_x,outside_z,16,16.1,,,", "line 2: feature: no coupon has this feature (found outside_z)"),
        ("seats,seat_snug,,,,,6", "from 1 to 5"),
        (
            "lengths_x,outside_x,16,16,1,,,",
            "line 2: this row has not one cell for each column (found 8); allowed: 7 cells",
        ),
        (
            "lengths_x,outside_x,16,16.1,,,\nlengths_x,outside_x,16,16.2,,,",
            "line 3: feature: this place was read before",
        ),
    ],
)
def test_a_wrong_row_is_one_sentence(row: str, words: str) -> None:
    with pytest.raises(DesignFault) as caught:
        read_readings(f"{','.join(HEAD)}\n{row}\n", "readings.csv")
    assert words in str(caught.value) and len(caught.value.faults) == 1


def test_what_is_no_table_is_one_sentence() -> None:
    with pytest.raises(DesignFault, match="line 1: the first line does not name the columns"):
        read_readings("a,b\n1,2\n", "readings.csv")
    with pytest.raises(FileFault, match="line 2: this is no table"):
        read_readings(f"{','.join(HEAD)}\n" + "9" * 200_000, "readings.csv")


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_tables_of_other_spreadsheets_are_read(end: str) -> None:
    plain = f"{','.join(HEAD)}\nlengths_x,outside_x,16,16.13,16.1,,\nseats,seat_snug,,,,,3\n"
    comma = plain.replace(",", ";").replace(".", ",")
    for text in (plain, comma):
        assert read_readings(text.replace("\n", end)) == read_readings(plain)


def test_an_empty_table_tells_nothing() -> None:
    with pytest.raises(DesignFault, match="no reading is filled in"):
        calibrate(read_readings(template()))
