"""An invented printer's readings give its allowances back, as often as the stated uncertainty claims."""

import numpy as np
import pytest

from lobewright.errors import DesignFault
from lobewright.make.calibration import HEAD, Reading, calibrate, read_readings
from lobewright.make.coupon_sheet import rows, template

FAT, FOOT, SPREAD = 0.07, 0.18, 0.03
SCALE = {"x": -0.004, "y": 0.002}


def invented(seed: int, **steps: int) -> tuple[Reading, ...]:
    """Readings of a printer that lays 0.07 mm too fat; the place of a length has its own error, a repeat does not."""
    draw = np.random.default_rng(seed)
    found = []
    for coupon, feature, nominal_text, _ in rows(0.42):
        if not nominal_text:
            if feature in steps:
                found.append(Reading(coupon, feature, 0.0, (), steps[feature]))
            continue
        nominal = float(nominal_text)
        side = -1 if feature.startswith("inside") else 1
        true = nominal * (1 + SCALE.get(feature[-1], 0.0)) + side * 2 * FAT + (2 * FOOT if feature == "foot" else 0.0)
        shared = draw.normal(0, SPREAD) if feature[-1] in SCALE else 0.0
        each = 0.0 if feature[-1] in SCALE else SPREAD
        values = tuple(round(true + shared + draw.normal(0, each), 2) for _ in range(3))
        found.append(Reading(coupon, feature, nominal, values))
    return tuple(found)


# P(|t| < k w) for Student's t with ν degrees of freedom, w = √(ν / (ν − 2)): ν = 11 for 14 lengths less offset and two scales,
# ν = 10 for two means of six. The caliper's step adds 0.9 % of w to the first and 2.7 % to the second.
CLAIMED = [("xy_compensation_mm", FAT, 0.709, 0.952), ("first_layer_mm", FOOT, 0.723, 0.956)]


@pytest.mark.parametrize(("key", "true", "once", "twice"), CLAIMED)
def test_the_stated_uncertainty_covers_the_truth_as_often_as_it_says(
    key: str, true: float, once: float, twice: float
) -> None:
    seeds, off = 1500, []
    for seed in range(seeds):
        told = calibrate(invented(seed)).value(key)
        assert told is not None
        off.append(abs(told.value - true) / told.uncertainty)
    for limit, share in ((1, once), (2, twice)):
        chance = (share * (1 - share) / seeds) ** 0.5
        assert np.mean(np.array(off) < limit) == pytest.approx(share, abs=3 * chance)


def test_scale_and_offset_are_told_apart() -> None:
    told = {row.words: row for row in calibrate(invented(3)).told}
    for axis, true in SCALE.items():
        row = told[f"scale along {axis}"]
        assert abs(row.value - 100 * true) < 3.5 * row.uncertainty
        assert abs(row.value) > 3.5 * row.uncertainty


def test_a_ladder_is_corrected_by_twice_the_offset() -> None:
    found = calibrate(invented(5, seat_snug=3, bolt_passes=4))
    fat, seat, bolt = (found.value(k) for k in ("xy_compensation_mm", "seat_allowance_mm", "bolt_hole_allowance_mm"))
    assert fat and seat and bolt
    assert seat.value == pytest.approx(0.2 - 2 * fat.value)
    assert bolt.value == pytest.approx(0.25 - 2 * fat.value)
    assert seat.uncertainty >= 0.1 / 12**0.5


@pytest.mark.parametrize(
    ("steps", "reason"), [({"bolt_passes": 0}, "no step"), ({"bolt_passes": 1}, "below the ladder")]
)
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
        ("lengths_x,outside_x,16,61.1,,,", "15 to 17 mm"),
        ("lengths_x,outside_x,16,nan,,,", "15 to 17 mm"),
        ("lengths_x,outside_z,16,16.1,,,", "no coupon has this feature"),
        ("seats,seat_snug,,,,,6", "from 1 to 5"),
        ("seats,seat_snug,,", "one cell for each column"),
    ],
)
def test_an_impossible_cell_is_one_sentence_with_its_line(row: str, words: str) -> None:
    with pytest.raises(DesignFault, match=r"readings\.csv, line 2") as caught:
        read_readings(f"{','.join(HEAD)}\n{row}\n", "readings.csv")
    assert words in str(caught.value)


def test_an_empty_table_tells_nothing() -> None:
    with pytest.raises(DesignFault, match="no reading is filled in"):
        calibrate(read_readings(template(0.42)))
