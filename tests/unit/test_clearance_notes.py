"""Printed rings with less clearance than the printer's own teeth needed are told; teeth finer than the coupon are not judged."""

from collections.abc import Callable

import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.make.clearance_notes import clearance_notes

Told = Callable[..., list[str]]


@pytest.fixture(scope="module")
def told() -> Told:
    found: Assessment = assess(design_from_data(starter_data("printed_ring")))
    assert isinstance(found.design.process, m.Printer)

    def notes(least: float, **printer: float) -> list[str]:
        process = found.design.process.model_copy(update={"least_clearance_mm": least, **printer})
        design = found.design.model_copy(update={"process": process})
        return list(clearance_notes(Assessment(**{**vars(found), "design": design})))

    return notes


def test_only_a_clearance_below_the_measured_one_is_told(told: Told) -> None:
    least = min(ring["clearance_mm"] for ring in starter_data("printed_ring")["rigid_ring"])
    fine = {"extrusion_width_mm": 0.2}
    assert told(0.0, **fine) == [] and told(least, **fine) == []
    assert "is less than the 0.3" in told(0.3, **fine)[0]


def test_a_finer_pitch_than_the_coupons_is_not_judged(told: Told) -> None:
    notes = told(0.3, extrusion_width_mm=1.0)
    assert notes and all(note.startswith("not made: ") and "finer" in note for note in notes)
