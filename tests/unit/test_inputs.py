"""What turns the generator, and the seats with ribs: sizes against closed forms, told by the notes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from lobewright.errors import DesignFault
from lobewright.make.bodies import Feature
from lobewright.make.crush_ribs import OPENED_MM, RIB_HEIGHT_MM, RIBS, seat


def test_a_ribbed_seat_holds_by_six_crests_and_is_clear_elsewhere() -> None:
    loop = seat(22.0, True, 3.0, -4.0)
    points = loop.contour.sampled(1e-5) - (3.0, -4.0)
    reach = np.hypot(*points.T)
    assert reach.min() == pytest.approx(11.0 + OPENED_MM - RIB_HEIGHT_MM, abs=1e-4)
    assert reach.max() == pytest.approx(11.0 + OPENED_MM, abs=1e-4)
    # Where a ring of 22 mm overlaps the outline stand the crests, and nowhere else.
    inside = reach < 11.0
    assert np.count_nonzero(inside & ~np.roll(inside, 1)) == RIBS
    assert loop.feature is Feature.SEAT
    assert loop.area_mm2 < math.pi * (11.0 + OPENED_MM) ** 2


def test_a_plain_seat_is_the_bearing_s_circle() -> None:
    assert seat(22.0, False).contour.is_circle
    assert seat(22.0, False).contour.area_mm2 == pytest.approx(math.pi * 121, rel=1e-9)


def test_no_ribs_in_a_tiny_seat() -> None:
    with pytest.raises(DesignFault, match="too small for crush ribs"):
        seat(5.0, True)
