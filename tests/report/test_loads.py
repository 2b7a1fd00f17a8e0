"""A drive asked everything under torque: results file, report, moving page and text hold the same numbers."""

from __future__ import annotations

import copy
import json
import math
import re
from dataclasses import replace
from typing import Any

import jsonschema
import pytest
from tests.report.conftest import PRINTED_CUP

from lobewright.assessment import load as room
from lobewright.assessment.load import Loads, judged, load, making_errors
from lobewright.assessment.load_headline import load_headlines
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.load_words import load_json, load_text
from lobewright.make.moving_scene import moving_html
from lobewright.report.page import report_page
from lobewright.report.results_json import results_json, results_text, schema_text
from lobewright.torque.errors_in import DriveErrors, PitchErrors, RingErrors
from lobewright.verdict import State

ROUGH = DriveErrors(rings=(RingErrors(pitch=PitchErrors(random_mm=0.02)),))
DUTY = [{"name": "lift", "torque_Nm": 1.0, "peak_torque_Nm": 2.0, "speed_rpm": 1.0, "hours": 10.0}]


def small_cup(**changes: Any) -> dict[str, Any]:
    """A small printed cup with a duty."""
    data = copy.deepcopy(PRINTED_CUP)
    data["flexible_ring"] |= {"module_mm": 1.0, "teeth": 60}
    data["rigid_ring"][0]["teeth"] = 62
    data["generator"] = {"kind": "paired_rollers", "bearing": "625", "design_deflection_factor": 1.0}
    data |= {"duty": DUTY} | changes
    return data


@pytest.fixture(scope="module")
def asked() -> tuple[Assessment, Loads]:
    """The cup with two of its weak inputs, so that the bands take few runs."""
    with pytest.MonkeyPatch.context() as patch:
        all_of_them = room.weak_inputs
        patch.setattr(
            room, "weak_inputs", lambda *args: tuple(w for w in all_of_them(*args) if w.name in ("arm", "rim"))
        )
        found = assess(design_from_data(small_cup()))
        loads = load(found)
    return judged(found, loads), loads


def test_everything_was_answered(asked: tuple[Assessment, Loads]) -> None:
    _, loads = asked
    assert loads.not_made == ()
    assert loads.from_duty and (loads.rated_nmm, loads.peak_nmm) == (1000.0, 2000.0)


def test_verdicts_are_made_in_place_of_the_open_one(asked: tuple[Assessment, Loads]) -> None:
    found, loads = asked
    names = [verdict.name for verdict in found.verdicts]
    assert names.count("skip_torque") == 1
    assert {"skip_torque", "teeth_in_load:housing", "wrong_flank:housing", "pinch"} <= set(names)
    skip = found.verdict("skip_torque")
    assert skip.value == pytest.approx(loads.skip_band.low / 1000)
    assert skip.limit == 2.0 and skip.state is State.PASS
    assert "arm" in skip.sentence or "rim" in skip.sentence


def test_a_duty_above_the_band_fails(asked: tuple[Assessment, Loads]) -> None:
    from lobewright.assessment.load_verdicts import SPARE, skip_verdict

    _, loads = asked
    band = loads.skip_band
    assert skip_verdict(band, 1.01 * band.low, loads.skip).state is State.FAIL
    assert skip_verdict(band, 0.99 * band.low, loads.skip).state is State.WARN
    assert skip_verdict(band, 0.99 * band.low / SPARE, loads.skip).state is State.PASS
    open_ended = skip_verdict(band, None, loads.skip)
    assert open_ended.state is State.NOT_MADE and "no duty" in open_ended.sentence


def test_member_torques_and_tooth_torques_agree(asked: tuple[Assessment, Loads]) -> None:
    _, loads = asked
    for share in loads.shares:
        assert sum(share.member_torque_nmm.values()) == pytest.approx(0.0, abs=1e-6 * abs(share.torque_nmm))
        (row,) = share.rows
        assert row.torque_nmm.sum() == pytest.approx(share.member_torque_nmm["housing"], rel=1e-9)
        # of 60 teeth on 62 the housing takes 62 parts where the cup takes 60 and the generator two
        assert share.member_torque_nmm["housing"] == pytest.approx(-share.torque_nmm * 62 / 60, rel=0.02)


def test_results_file_fits_the_schema_and_holds_the_numbers(asked: tuple[Assessment, Loads]) -> None:
    found, loads = asked
    data = json.loads(results_text(found, None, loads))
    validator = jsonschema.Draft202012Validator(json.loads(schema_text()))
    assert [error.message for error in validator.iter_errors(data)] == []
    part = data["load"]
    skip = next(band for band in part["bands"] if band["name"] == "skip_torque")
    assert skip["low"] < skip["middle"] < skip["high"]
    assert skip["middle"] == pytest.approx(loads.skip.torque_nmm / 1000, rel=1e-6)
    assert sum(skip["shares"].values()) == pytest.approx(1.0)
    row = part["at_peak"]["rows"][0]
    assert len(row["force_N"]) == found.rings[0].flexible_teeth
    assert max(row["force_N"]) == pytest.approx(loads.at_peak.rows[0].force_n.max(), rel=1e-4)
    assert results_json(found, None)["load"] is None


def test_report_tells_bands_reasons_and_figures(asked: tuple[Assessment, Loads]) -> None:
    found, loads = asked
    page = report_page(found, None, (), loads)
    section = page[page.index('id="under-torque"') :]
    text = re.sub(r"<[^>]+>", " ", section)
    band = loads.skip_band
    assert f"{band.low / 1000:.2f} … {band.high / 1000:.2f}" in text
    assert "90 % band" in text and "What makes the band of the skip torque wide" in text
    for key in ("windup", "skip", "rose"):
        assert f'id="{key}' in section, key
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert "nan" not in text.lower().split()


def test_report_says_why_nothing_was_computed(asked: tuple[Assessment, Loads]) -> None:
    found = assess(asked[0].design)
    why = "a tooth <cannot> be meshed"
    page = report_page(judged(found, why), None, (), why)
    assert "a tooth &lt;cannot&gt; be meshed" in page
    assert judged(found, why).verdict("skip_torque").state is State.NOT_MADE


def test_moving_page_carries_the_forces(asked: tuple[Assessment, Loads]) -> None:
    found, loads = asked
    assert len(moving_html(found, loads.shares)) > len(moving_html(found)) + 500


def test_text_and_data_for_the_command_agree(asked: tuple[Assessment, Loads]) -> None:
    found, loads = asked
    text = load_text(found, loads, ())
    data = load_json(found, loads, ())
    for row, told in zip(load_headlines(loads), data["headlines"], strict=True):
        assert row.text in text
        assert math.isfinite(told["value"])
        assert (told["low"] is None) == (told["high"] is None)
        if told["low"] is not None:
            assert told["low"] <= told["high"]
    assert [one["name"] for one in data["verdicts"]] == [verdict.name for verdict in loads.verdicts]
    assert "Cautions:" in text
    assert set(loads.bands.of("skip_torque_nmm").shares) <= set(data["causes"])


def test_numbers_tell_under_which_condition_they_hold(asked: tuple[Assessment, Loads]) -> None:
    _, loads = asked
    rows = {row.headline.key: row.headline for row in load_headlines(loads)}
    assert rows["transmission_error"].title.endswith("if teeth are perfect")
    assert "run-out 0.03 mm" in rows["transmission_error"].working.numbers
    assert "of mesh and generator alone" in rows["start_unloaded"].title
    assert "left out: drag of grease" in rows["start_unloaded"].working.numbers
    titles = [row.headline.title for row in load_headlines(replace(loads, errors=ROUGH))]
    assert any(title.endswith("with the errors of teeth given") for title in titles)


def test_errors_of_making_reach_the_drive() -> None:
    data = small_cup()
    data["rigid_ring"][0] |= {"run_out_mm": 0.05, "pitch_error_mm": 0.02}
    data["generator"]["unequal_lobes_mm"] = 0.04
    errors = making_errors(design_from_data(data))
    assert errors.rings[0].run_out_mm == 0.05
    assert errors.rings[0].pitch.random_mm == 0.02
    assert errors.unequal_lobes_mm == 0.04
    plain = making_errors(design_from_data(small_cup()))
    assert plain.rings == () and plain.flexible_pitch == ()
    assert plain.generator_run_out_mm == design_from_data(small_cup()).generator.run_out_mm


def test_progress_rises_and_a_key_stops_it() -> None:
    told: list[float] = []

    def stop(word: str, share: float) -> None:
        told.append(share)
        if len(told) > 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        load(assess(design_from_data(small_cup())), stop)
    assert told == sorted(told)
