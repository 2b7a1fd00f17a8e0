"""``calibrate`` from coupons to the workshop file."""

import re
import shutil
import zipfile
from pathlib import Path

import pytest

from lobewright.cli import main
from lobewright.design.files import read_workshop

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture
def workshop(tmp_path: Path) -> Path:
    return Path(shutil.copy(EXAMPLES / "workshop.toml", tmp_path / "workshop.toml"))


def test_readings_go_into_the_printer_and_comments_stay(workshop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calibrate", str(workshop), "--readings", str(EXAMPLES / "coupon_readings.csv")]) == 0
    said = capsys.readouterr().out
    printer = read_workshop(workshop).printer
    assert printer is not None
    assert printer.xy_compensation_mm == pytest.approx(0.08, abs=2 * printer.xy_compensation_uncertainty_mm)
    assert 0.005 < printer.xy_compensation_uncertainty_mm < 0.015
    assert printer.least_clearance_mm > 0
    assert "0.080 ± 0.030 mm -> " in said
    text = workshop.read_text("utf-8")
    assert "# a printed 20 mm cube came out" in text
    assert 'designation = "C3M"' in text


def test_a_wrong_reading_changes_nothing(workshop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = workshop.read_bytes()
    wrong = tmp_path / "wrong.csv"
    wrong.write_text((EXAMPLES / "coupon_readings.csv").read_text().replace("seat_snug,,,,,3", "seat_snug,,,,,9"))
    assert main(["calibrate", str(workshop), "--readings", str(wrong)]) == 2
    assert "from 1 to 5" in capsys.readouterr().err
    assert workshop.read_bytes() == before


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("16,16", "16,sixteen16", "line 4: reading_1_mm: this is no possible reading"),
        ("seat_snug", "seat_loose", "line 29: feature: no coupon has this feature (found seat_loose)"),
        ("coupon,feature", "coupons,feature", "line 1: the first line does not name the columns"),
    ],
)
def test_a_wrong_table_is_one_sentence(
    workshop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, words: str
) -> None:
    before = workshop.read_bytes()
    wrong = tmp_path / "wrong.csv"
    wrong.write_text((EXAMPLES / "coupon_readings.csv").read_text().replace(old, new, 1))
    assert main(["calibrate", str(workshop), "--readings", str(wrong)]) == 2
    said = capsys.readouterr().err.strip()
    assert words in said and "\n" not in said
    assert workshop.read_bytes() == before


def test_a_table_as_another_spreadsheet_writes_it_tells_the_same(workshop: Path, tmp_path: Path) -> None:
    table = tmp_path / "table.csv"
    text = (EXAMPLES / "coupon_readings.csv").read_text()
    assert main(["calibrate", str(workshop), "--readings", str(EXAMPLES / "coupon_readings.csv")]) == 0
    first = workshop.read_bytes()
    table.write_bytes(b"\xef\xbb\xbf" + text.replace(",", ";").replace(".", ",").replace("\n", "\r\n").encode())
    assert main(["calibrate", str(workshop), "--readings", str(table)]) == 0
    assert workshop.read_bytes() == first


def test_a_design_in_place_of_a_workshop_is_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calibrate", str(EXAMPLES / "azimuth_belt.toml"), "--out", str(tmp_path / "coupons")]) == 2
    said = capsys.readouterr().err.strip()
    assert "this is a design; allowed: the workshop file" in said and "\n" not in said
    assert not (tmp_path / "coupons").exists()


def test_a_folder_is_whole_or_not_there(workshop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("lobewright.calibrate_words.write_3mf_plate", full)
    assert main(["calibrate", str(workshop), "--out", str(tmp_path / "coupons")]) == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == ["workshop.toml"]


def test_a_bed_that_is_too_small_is_refused_before_anything_is_written(workshop: Path, tmp_path: Path) -> None:
    workshop.write_text(workshop.read_text("utf-8").replace("220.0, 220.0", "80.0, 80.0"), "utf-8")
    assert main(["calibrate", str(workshop), "--out", str(tmp_path / "coupons")]) == 2
    assert not (tmp_path / "coupons").exists()


def test_coupons_are_written_and_filled_tables_are_safe(workshop: Path, tmp_path: Path) -> None:
    out = tmp_path / "coupons"
    assert main(["calibrate", str(workshop), "--out", str(out)]) == 0
    names = {path.name for path in out.iterdir()}
    assert {"coupons.3mf", "sheet.html", "readings.csv", "seats.stl", "tooth.stl"} <= names
    with zipfile.ZipFile(out / "coupons.3mf") as pack:
        turns = re.findall(r'transform="(\S+ \S+) ', pack.read("3D/3dmodel.model").decode())
    assert set(turns) == {"1 0"}, "a coupon turned on the bed would mix up x and y"
    (out / "readings.csv").write_text("mine")
    assert main(["calibrate", str(workshop), "--out", str(out)]) == 2
    assert (out / "readings.csv").read_text() == "mine"
