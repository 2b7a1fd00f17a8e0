"""A recorded motion as the whole duty: how far the drive is solved for it, and the map of lives that it asks for."""

from __future__ import annotations

import numpy as np
import pytest

from lobewright.assessment.life import life
from lobewright.assessment.load import PEAK_SHARE, RATED_SHARE, duty_torques_nmm
from lobewright.assessment.loaded_states import solve_states
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.model import Design
from lobewright.design.starters import starter_data

STEP = {"name": "invented step", "torque_Nm": 0.5, "peak_torque_Nm": 0.8, "speed_rpm": 2.0, "hours": 5.0}
SKIP_NMM = 10_000.0


def drive(duty: list[dict[str, object]], torque_nm: tuple[float, ...] = ()) -> Design:
    """A drive that turns to and fro by 120° in 20 s under these torques, even over the time."""
    data = starter_data("printed_ring-paired_rollers") | {"duty": duty}
    if torque_nm:
        time = np.linspace(0.0, 20.0, len(torque_nm))
        turn = 120.0 - np.abs(12.0 * time - 120.0)
        points = list(zip(time.tolist(), turn.tolist(), torque_nm, strict=True))
        data["recorded_motion"] = {"file": "invented.csv", "repeats": 900.0, "points": points}
    return design_from_data(data)


@pytest.mark.parametrize(
    ("duty", "torque_nm", "asked"),
    [
        ([STEP], (), (500.0, 800.0, True)),
        ([STEP], (0.1, 0.2, 0.1), (500.0, 800.0, True)),
        ([STEP], (0.1, -1.5, 0.1), (500.0, 1500.0, True)),
        ([], (0.1, -1.5, 0.1), (750.0, 1500.0, True)),
        ([], (0.0, 0.0, 0.0), (RATED_SHARE * SKIP_NMM, PEAK_SHARE * SKIP_NMM, False)),
        ([], (), (RATED_SHARE * SKIP_NMM, PEAK_SHARE * SKIP_NMM, False)),
    ],
)
def test_the_largest_torque_of_a_recorded_motion_is_a_peak(duty, torque_nm, asked) -> None:
    assert duty_torques_nmm(drive(duty, torque_nm), SKIP_NMM) == pytest.approx(asked)


def test_a_recorded_motion_has_a_map_of_lives_at_its_mean_speed() -> None:
    recorded, stepped = assess(drive([], (0.5, 0.5, 0.5))), assess(drive([STEP]))
    states = solve_states(recorded, 250.0, 500.0)
    found, steady = life(recorded, states).life_map, life(stepped, states).life_map
    # 240° in 20 s are 2 turns a minute
    assert found is not None and steady is not None
    assert found.speed_rpm == pytest.approx(steady.speed_rpm)
    assert found.names == steady.names and found.hours == pytest.approx(steady.hours, rel=1e-6)
