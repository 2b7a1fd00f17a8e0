"""Pins in tooth spaces: a wedge whose answer is known, lopsided and shallow spaces, the choice of a pin."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.errors import DesignFault
from lobewright.make.outlines import turn
from lobewright.make.over_pins import (
    DOWELS_MM,
    NoPin,
    PinCheck,
    flexible_check,
    flexible_space_mm,
    pin_check,
    rigid_check,
    rigid_space_mm,
)
from lobewright.make.parts_flexible import row_pitch
from lobewright.mesh.over_pins import pin_seat
from lobewright.published.over_pin_cases import involute_space_mm

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def assessed(name: str) -> Assessment:
    return assess(read(EXAMPLES / f"{name}.toml"))


def _wedge(half_deg: float, apex_mm: float, deep_mm: float) -> np.ndarray:
    """A straight-sided groove that opens outward from an apex on the x axis."""
    wide = deep_mm * math.tan(math.radians(half_deg))
    return np.array([[apex_mm + deep_mm, -wide], [apex_mm, 0.0], [apex_mm + deep_mm, wide]])


@pytest.mark.parametrize("half_deg", [15.0, 30.0, 45.0])
@pytest.mark.parametrize("teeth", [24, 25])
def test_a_pin_in_a_wedge_stands_where_the_sine_puts_it(half_deg: float, teeth: int) -> None:
    seat = pin_seat(_wedge(half_deg, 20.0, 8.0), teeth, 2.0, internal=False)
    assert seat.centre_radius_mm == pytest.approx(20.0 + 1.0 / math.sin(math.radians(half_deg)), abs=1e-6)
    across = 2 * seat.centre_radius_mm * (1.0 if teeth == 24 else math.cos(math.pi / 50))
    assert seat.size_mm == pytest.approx(across + 2.0)


def test_grown_teeth_hold_the_pin_farther_out() -> None:
    """Each flank grown by t moves the pin's middle by t / sin(half angle)."""
    flat, grown = (pin_seat(_wedge(20.0, 20.0, 8.0), 24, 2.0, False, t) for t in (0.0, 0.1))
    assert grown.centre_radius_mm - flat.centre_radius_mm == pytest.approx(0.1 / math.sin(math.radians(20)), abs=1e-6)
    assert grown.pin_mm == flat.pin_mm


def test_a_space_that_is_turned_holds_the_pin_at_the_same_radius() -> None:
    line = involute_space_mm(30, False)
    straight, turned = pin_seat(line, 30, 1.7, False), pin_seat(turn(line, 0.004), 30, 1.7, False)
    assert turned.centre_radius_mm == pytest.approx(straight.centre_radius_mm, abs=2e-5)


def test_pins_that_tell_nothing_are_refused() -> None:
    line = involute_space_mm(30, False)
    with pytest.raises(DesignFault, match="root"):
        pin_seat(line, 30, 0.4, False)
    with pytest.raises(DesignFault, match="tips"):
        pin_seat(line, 30, 6.0, False)


def test_the_printed_cup_is_checked_with_a_dowel() -> None:
    a = assessed("elevation_printed")
    check = flexible_check(a)
    assert isinstance(check, PinCheck) and check.seat.pin_mm in DOWELS_MM
    assert check.limits_mm[0] < check.seat.size_mm < check.limits_mm[1]
    # The line runs over a space: the ends stand highest, the middle lowest.
    radius = np.hypot(*flexible_space_mm(row_pitch(a, 1)).T)
    assert radius[[0, -1]].min() > radius[len(radius) // 2] + 1.0


def test_the_ring_is_checked_between_pins_that_clear_its_tips() -> None:
    a = assessed("elevation_printed")
    mesh = a.rings[0]
    check = rigid_check(a, mesh)
    assert isinstance(check, PinCheck) and check.seat.internal
    assert check.seat.outermost_mm < mesh.space.tip_radius_mm < check.seat.contact_radius_mm < mesh.space.root_radius_mm
    assert pin_check(rigid_space_mm(mesh.space), mesh.space.teeth, True, 0.4) == NoPin(
        "no usual pin stays on both flanks within a tolerance of ±0.4 mm a side"
    )
    assert isinstance(flexible_check(assessed("azimuth_belt")), NoPin)


@pytest.mark.parametrize("name", ["azimuth_belt", "elevation_printed", "focus_steel"])
def test_a_pin_touches_the_flanks_and_not_their_corners(name: str) -> None:
    """Shallow round spaces of a belt's rings let every pin ride on the corners of their tips: then none is told."""
    a = assessed(name)
    for mesh in a.rings:
        space = rigid_space_mm(mesh.space)
        tip, root = (float(pick(np.hypot(*space.T))) for pick in (np.min, np.max))
        check = rigid_check(a, mesh)
        if isinstance(check, NoPin):
            assert name == "azimuth_belt"
            continue
        assert 0.25 <= (check.seat.contact_radius_mm - tip) / (root - tip) <= 0.75
