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
    assert printer.xy_compensation_mm == pytest.approx(0.08, abs=0.006)
    assert printer.xy_compensation_uncertainty_mm < 0.01
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
