"""``results.json``: fits its schema, says what was computed, repeats itself, and keeps loading."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.errors import FileFault
from lobewright.report.results_json import read_results, results_json, results_text, schema_text
from lobewright.report.results_model import results_schema
from lobewright.sources import all_sources

STAMP = "2031-05-04T10:20:00Z"
KEPT = Path(__file__).with_name("kept_results_v1.json")


def numbers(data: Any, place: str = "") -> Iterator[tuple[str, float]]:
    """Every float with its place."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield from numbers(value, f"{place}.{key}")
    elif isinstance(data, list):
        for value in data:
            yield from numbers(value, place)
    elif isinstance(data, float):
        yield place, data


def test_shipped_schema_is_made_from_the_model() -> None:
    assert json.loads(schema_text()) == results_schema()


def test_schema_is_a_2020_12_schema() -> None:
    schema = json.loads(schema_text())
    assert schema["$schema"].endswith("2020-12/schema")
    jsonschema.Draft202012Validator.check_schema(schema)


def test_every_kind_fits_the_schema(drive: Assessment) -> None:
    validator = jsonschema.Draft202012Validator(json.loads(schema_text()))
    data = json.loads(results_text(drive, STAMP))
    assert [error.message for error in validator.iter_errors(data)] == []


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda d: d["motion"].pop("ratio"), "ratio"),
        (lambda d: d.update(extra=1), "extra"),
        (lambda d: d["verdicts"][0].update(state="good"), "good"),
        (lambda d: d["design"].update(sha256="12"), "12"),
        (lambda d: d["motion"].update(ratio_exact="-50:1"), "-50:1"),
    ],
)
def test_schema_refuses_what_does_not_fit(assessed: dict[str, Assessment], change: Any, word: str) -> None:
    data = results_json(assessed["belt"], STAMP)
    change(data)
    errors = list(jsonschema.Draft202012Validator(results_schema()).iter_errors(data))
    assert errors and word in errors[0].message


def test_the_same_assessment_gives_the_same_bytes(assessed: dict[str, Assessment]) -> None:
    again = assess(assessed["belt"].design)
    assert results_text(again, STAMP) == results_text(assessed["belt"], STAMP)


def test_only_the_stamp_differs(drive: Assessment) -> None:
    one, two = results_json(drive, STAMP), results_json(drive, None)
    assert (one.pop("made_at"), two.pop("made_at")) == (STAMP, None)
    assert one == two


def test_every_number_is_finite(drive: Assessment) -> None:
    found = list(numbers(results_json(drive, None)))
    assert len(found) > 80
    assert [place for place, value in found if not math.isfinite(value)] == []


def test_ratio_is_signed_and_exact(assessed: dict[str, Assessment]) -> None:
    motion = results_json(assessed["belt"], None)["motion"]
    assert (motion["ratio"], motion["ratio_exact"], motion["ratio_text"]) == (-50.0, "-50/1", "−50 : 1")
    assert motion["same_sense"] is False


def test_exact_turns_agree_with_their_floats(drive: Assessment) -> None:
    motion = results_json(drive, None)["motion"]
    assert float(Fraction(motion["ratio_exact"])) == pytest.approx(motion["ratio"], rel=1e-9)
    for member in motion["members"]:
        assert float(Fraction(member["per_driven_turn_exact"])) == pytest.approx(member["per_driven_turn"], rel=1e-9)


def test_every_verdict_with_its_sources(drive: Assessment) -> None:
    data = results_json(drive, None)
    assert [v["name"] for v in data["verdicts"]] == [v.name for v in drive.verdicts]
    registry = {source.key: source for source in all_sources()}
    listed = {source["key"] for source in data["sources"]}
    for verdict, original in zip(data["verdicts"], drive.verdicts, strict=True):
        assert [source["key"] for source in verdict["sources"]] == list(original.working.sources)
        for source in verdict["sources"]:
            assert source["line"] == registry[source["key"]].line
            assert source["flag"] == registry[source["key"]].flag
            assert source["key"] in listed
        if original.state.value == "not made":
            assert verdict["margin"] is None


def test_margins_are_positive_on_the_good_side(drive: Assessment) -> None:
    for verdict in results_json(drive, None)["verdicts"]:
        if verdict["state"] == "pass" and verdict["margin"] is not None:
            assert verdict["margin"] >= -2e-3, verdict["name"]
        if verdict["state"] == "fail":
            assert verdict["margin"] < 0, verdict["name"]


def test_numbers_with_units_say_them(drive: Assessment) -> None:
    units = ("_mm", "_deg", "_rad", "_arcmin", "_Nm")
    plain = {"ratio", "per_driven_turn", "per_generator_turn", "load_cycles_per_generator_turn", "design_factor"}
    plain |= {"force_factor", "tension_factor", "stretch", "residual", "teeth_close", "value", "limit", "margin"}
    plain |= {"amplitude", "largest", "least", "most", "curvature_factor_major", "curvature_factor_minor"}
    for place, _ in numbers(results_json(drive, None)):
        key = place.rsplit(".", 1)[-1]
        assert key.endswith(units) or key in plain, place


def test_hash_follows_the_design(assessed: dict[str, Assessment]) -> None:
    design = assessed["belt"].design
    other = assess(design.model_copy(update={"name": "Another name"}))
    one, two = results_json(assessed["belt"], None), results_json(other, None)
    assert one["design"]["sha256"] != two["design"]["sha256"]
    assert one["workshop"] == {"name": None, "sha256": None}


def test_generator_numbers_stand_where_they_exist(assessed: dict[str, Assessment]) -> None:
    belt = results_json(assessed["belt"], None)["generator"]
    cup = results_json(assessed["printed_cup"], None)["generator"]
    assert belt["roller_radius_mm"] == pytest.approx(8.0) and belt["pair_half_angle_deg"] == pytest.approx(25.0)
    assert belt["curve_a_mm"] is None and cup["centre_distance_mm"] is None
    assert cup["curve_a_mm"] > cup["curve_b_mm"] > 0


def test_round_trip(drive: Assessment, tmp_path: Path) -> None:
    path = tmp_path / "results.json"
    path.write_text(results_text(drive, STAMP), "utf-8")
    assert read_results(path).model_dump(mode="json") == results_json(drive, STAMP)


def test_kept_file_of_version_1_keeps_loading() -> None:
    kept = read_results(KEPT)
    assert kept.motion.ratio_exact == "-50/1" and kept.made_at == STAMP
    assert kept.verdicts and kept.rings[0].cases


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "not JSON"),
        ("[1, 2]", "not a results file"),
        ('{"program": "lobewright", "schema_version": 2}', "unknown version"),
        ('{"program": "lobewright", "schema_version": 1}', "motion: Field required"),
        ('{"program": "lobewright", "schema_version": NaN}', "not JSON"),
        ("[" * 100_000, "not JSON"),
    ],
)
def test_files_that_cannot_be_used(tmp_path: Path, text: str, word: str) -> None:
    path = tmp_path / "results.json"
    path.write_text(text, "utf-8")
    with pytest.raises(FileFault) as caught:
        read_results(path)
    assert word in str(caught.value)


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        with pytest.raises(FileFault, match="cannot be read"):
            read_results(path)


def test_invented_is_read_from_about(assessed: dict[str, Assessment]) -> None:
    assert results_json(assessed["belt"], None)["design"]["invented"] is True
    plain = assess(assessed["belt"].design.model_copy(update={"about": "My own drive."}))
    assert results_json(plain, None)["design"]["invented"] is False


def test_a_workshop_is_recorded(assessed: dict[str, Assessment]) -> None:
    from lobewright.design.workshop import Workshop

    owned = Workshop.model_validate({"schema_version": 1, "name": "School workshop"})
    got = results_json(assess(assessed["belt"].design.model_copy(update={"owned": owned})), None)
    assert got["workshop"]["name"] == "School workshop" and len(got["workshop"]["sha256"]) == 64
