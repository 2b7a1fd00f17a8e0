"""Files that cannot be used: one sentence each, exit status 2, never a traceback."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from lobewright.cli import main
from lobewright.design.files import LARGEST_FILE_BYTES, line_of, place_parts, place_text, read, read_text
from lobewright.design.starters import starter
from lobewright.errors import DesignFault, FileFault, LobewrightError


def refused(path: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    """Sentences of `check` for a file that it must refuse."""
    assert main(["check", str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    sentences = err.splitlines()
    assert 1 <= len(sentences) <= 21
    return sentences


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "drive.toml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def starter_with(old: str, new: str, kind: str = "belt") -> str:
    text = starter(kind)
    assert text.count(old) >= 1, old
    return text.replace(old, new, 1)


WHOLE_FILES = {
    "empty": (b"", "schema_version: this table or key is missing"),
    "binary": (bytes(range(256)), "not UTF-8 text (byte 128)"),
    "zeros": (bytes(3000), "this is not TOML"),
    "text": (b"teeth are one hundred\n", "line 1: this is not TOML"),
    "open list": (b"a = [1,\n2", "line 2: this is not TOML"),
    "too large": (b"# " + b"x" * LARGEST_FILE_BYTES, f"allowed: at most {LARGEST_FILE_BYTES} bytes"),
    "deep list": (b"a = " + b"[" * 100_000, "nested too deeply"),
    "deep closed list": (b"a = " + b"[" * 60 + b"]" * 60, "nested too deeply"),
    "deep keys": (b".".join([b"a"] * 200_000) + b" = 1", "nested too deeply"),
    "deep inline": (b"a = {" + b".".join([b"b"] * 900) + b" = 1}", "nested too deeply"),
    "digits without end": (b"a = " + b"9" * 5000, "thousands of digits"),
    "twice": (b"[tooth]\n[tooth]\n", "line 2: this is not TOML: Cannot declare tooth twice"),
}


@pytest.mark.parametrize("name", WHOLE_FILES)
def test_a_file_that_is_no_design(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    content, wanted = WHOLE_FILES[name]
    sentences = refused(written(tmp_path, content), capsys)
    assert wanted in sentences[0]
    assert "drive.toml" in sentences[0]


def test_folder_missing_file_and_long_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "this is a folder" in refused(tmp_path, capsys)[0]
    assert "no such file" in refused(tmp_path / "nothing.toml", capsys)[0]
    sentence = refused(tmp_path / ("x" * 3000), capsys)[0]
    assert "cannot be read" in sentence
    assert len(sentence) < 400
    assert "no such file" in refused(tmp_path / "a\0b", capsys)[0]


@pytest.mark.skipif(os.name == "nt", reason="no pipes in the file system there")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "device or a pipe" in refused(tmp_path / "pipe", capsys)[0]


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="every file can be read")
def test_a_file_without_permission(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, starter("belt"))
    path.chmod(0)
    assert "cannot be read: Permission denied" in refused(path, capsys)[0]


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    assert read(written(tmp_path, b"\xef\xbb\xbf" + starter("belt").encode())).name == "roof garden starter"


# --- keys and values ----------------------------------------------------------------------------------------------

ONE_FAULT = [  # what stands in the starter, what is put there, what the sentence must say
    ("teeth = 100 ", "tooth = 100 ", ["flexible_ring.tooth: no such key", "nearest: teeth"]),
    ("teeth = 100 ", 'teeth = "100" ', ['flexible_ring.teeth: this is not a whole number (found "100")', "teeth"]),
    ("teeth = 100 ", "teeth = 100.5 ", ["flexible_ring.teeth: this is not a whole number (found 100.5)"]),
    ("teeth = 100 ", "teeth = 7 ", ["flexible_ring.teeth: the value is out of range (found 7)", "at least 16 teeth"]),
    ("teeth = 100 ", f"teeth = {10**30} ", ["flexible_ring.teeth", "(found a whole number of more than 18 digits)"]),
    ("teeth = 100 ", "teeth = 0x" + "f" * 9000 + " ", ["(found a whole number of more than 18 digits)"]),
    ("teeth = 100 ", "teeth = true ", ["flexible_ring.teeth: this is not a whole number (found True)"]),
    (
        "width_mm = 15.0",
        "width_mm = nan",
        ["flexible_ring.width_mm: the number is not finite (found nan)", "number mm"],
    ),
    ("width_mm = 15.0", "width_mm = -inf", ["flexible_ring.width_mm: the number is not finite (found -inf)"]),
    ("width_mm = 15.0", "width_mm = 1500.0", ["(found 1500.0)", "at most 100 mm"]),
    ("width_mm = 15.0", "width_mm = [15.0]", ["flexible_ring.width_mm: this is not a number"]),
    ("width_mm = 15.0", "", ["flexible_ring.width_mm: this key is missing; allowed: a value in mm"]),
    ('designation = "C3M"', 'designation = "C3N"', ["the catalogue has no belt of this name", "nearest: C3M"]),
    ('designation = "C3M"', "designation = 3", ["flexible_ring.designation: this is not text (found 3)"]),
    ('kind = "belt"', 'kind = "bell"', ['flexible_ring.kind: no such kind (found "bell")', "belt, printed_ring"]),
    ('kind = "belt"', "", ["flexible_ring.kind: this key is missing; allowed: the kind, as text"]),
    ('bearing = "625"', 'bearing = "6255"', ["generator.bearing: the catalogue has no bearing", "625"]),
    ('bearing = "625"', 'bearing = "6206"', ["the rollers do not fit inside the ring (found 62 mm)", "inner radius"]),
    ('bearing = "625"', 'bearing = "625"\ncam = 3', ["generator.cam: no such key"]),
    ("pair_half_angle_deg = 25.0", "pair_half_angle_deg = 90", ["generator.pair_half_angle_deg", "at most 60 degrees"]),
    ('name = "base"', 'name = "The Base"', ["rigid_ring[1].name: this name cannot be used", "small letters"]),
    ('read = "output"', 'read = "outputs"', ["motion.read: no such member", "nearest: output"]),
    ('load = "none"', 'load = "nine"', ["load: no such value", "arm, mirror, turntable or none"]),
    ("schema_version = 1", "schema_version = 2", ["schema_version: no such value (found 2); allowed: 1"]),
    ("bed_mm = [220.0, 220.0, 250.0]", "bed_mm = [220.0]", ["process.bed_mm"]),
    ("bed_mm = [220.0, 220.0, 250.0]", "bed_mm = 220.0", ["process.bed_mm: this is not a list (found 220.0)"]),
    ("peak_torque_Nm = 0.1", "peak_torque_Nm = 0.01", ["duty[1].peak_torque_Nm: the peak is below", "0.05 N·m"]),
    ("[motion]", "[motion]\nheld = 1\n", ["motion.held: no such key"]),
    ("nozzle_mm = 0.4", "nozzle_mm = 1.8", ["the extrusion width does not go with the nozzle", "1.08 to 4.5 mm"]),
]


@pytest.mark.parametrize(("old", "new", "wanted"), ONE_FAULT, ids=lambda value: str(value)[:34])
def test_one_fault_names_file_line_key_value_and_what_is_allowed(
    old: str, new: str, wanted: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = starter_with(old, new)
    sentences = refused(written(tmp_path, text), capsys)
    assert any(all(word in sentence for word in wanted) for sentence in sentences), sentences
    fitting = next(sentence for sentence in sentences if all(word in sentence for word in wanted))
    line = starter("belt")[: starter("belt").index(old)].count("\n") + 1
    near = range(line - 4, line + 3)  # a key that is not there has the line of its table
    assert any(f"drive.toml, line {n}: " in fitting for n in near), fitting
    assert all(len(sentence) < 420 for sentence in sentences)


def test_both_ways_of_giving_the_deflection(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    both = starter_with(
        "design_deflection_factor = 1.0", "design_deflection_factor = 1.0\nroller_centre_distance_mm = 30.0"
    )
    sentence = refused(written(tmp_path, both), capsys)[0]
    assert "the deflection must be given once (found both)" in sentence
    assert "exactly one of design_deflection_factor and roller_centre_distance_mm" in sentence
    neither = starter_with("design_deflection_factor = 1.0", "# none")
    assert "(found neither)" in refused(written(tmp_path, neither), capsys)[0]


def test_all_faults_are_told_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = starter("belt")
    for old, new in (
        ("width_mm = 15.0", "width_mm = nan"),
        ('bearing = "625"', 'bearing = "what"'),
        ('read = "output"', 'read = "nobody"'),
        ("nozzle_mm = 0.4", "nozzle = 0.4"),
        ("torque_Nm = 0.05", 'torque_Nm = "much"'),
    ):
        text = text.replace(old, new, 1)
    found = "\n".join(refused(written(tmp_path, text), capsys))
    for place in ("flexible_ring.width_mm", "generator.bearing", "process.nozzle", "duty[1].torque_Nm"):
        assert place in found
    # The member's name is checked against rings that could be typed, whatever is wrong elsewhere.
    assert "motion.read: no such member" in found


def test_at_most_twenty_faults_and_a_count_of_the_rest(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    more = "".join(f"key_{i} = {i}\n" for i in range(47))
    sentences = refused(written(tmp_path, more + starter("belt")), capsys)
    assert len(sentences) == 21
    assert sentences[-1] == "27 more faults not shown."


def test_a_huge_file_of_faults_is_answered_soon(tmp_path: Path) -> None:
    text = "[flexible_ring]\nkind = 'belt'\n" + "".join(f"key_{i} = {i}\n" for i in range(30_000))
    with pytest.raises(DesignFault) as caught:
        read(written(tmp_path, text))
    assert len(caught.value.sentences()) == 21
    assert len(caught.value.faults) > 30_000


def test_values_are_told_on_one_short_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = starter_with('bolt = "M3"', f'bolt = "{"M" * 5000}\\n\\u0007"')
    sentences = refused(written(tmp_path, text), capsys)
    assert len(sentences) == 1
    assert "..." in sentences[0]
    assert len(sentences[0]) < 400


# --- files that a design names ------------------------------------------------------------------------------------

OUTLINES = {
    "missing": (None, "there is no such file"),
    "words": ("x,y\n0,1\na,b\n", "line 3: two numbers x_mm, y_mm are wanted"),
    "three columns": ("0,1,2\n" * 9, "line 2: two numbers"),
    "infinite": ("0,1\n" * 5 + "inf,1\n", "line 6: a point lies outside what can be made"),
    "far": ("0,1\n" * 5 + "1e300,1\n", "−1000 to 1000 mm"),
    "few": ("0,1\n0,2\n", "unusable number of points (found 2); allowed: 5 to 2000 points"),
    "many": ("0,1\n" * 2001, "(found 2001)"),
    "one endless cell": ('"' + "9" * 200_000, "the outline tooth.csv cannot be used"),
    "flat": ("".join(f"{x},1.0\n" for x in range(-3, 4)), "flat or has no width"),
    "binary": (b"\xff\xfe\x00", "not UTF-8"),
}


@pytest.mark.parametrize("name", OUTLINES)
def test_an_outline_that_is_none(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    content, wanted = OUTLINES[name]
    if content is not None:
        (tmp_path / "tooth.csv").write_bytes(content.encode() if isinstance(content, str) else content)
    text = starter_with('form = "belt"', 'form = "outline"\nfile = "tooth.csv"')
    sentences = refused(written(tmp_path, text), capsys)
    assert any(wanted in sentence and "tooth.file" in sentence for sentence in sentences), sentences


def test_points_typed_in_place_of_a_file_are_checked_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for points in ("[[0.0, 1.0]]", "[[0.0, 1.0], [0.0, 1.0], [0.0, 1.0], [1.0, 1.0], [1.0, 2.0]]"):
        text = starter_with('form = "belt"', f'form = "outline"\nfile = "tooth.csv"\npoints = {points}')
        refused(written(tmp_path, text), capsys)


def test_a_faulty_workshop_is_told_with_both_places(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, 'workshop = "shop.toml"\n' + starter("belt"))
    assert "there is no such file" in "\n".join(refused(path, capsys))
    (tmp_path / "shop.toml").write_text("schema_version = 1\n[printer]\nkind = 'printer'\nnozzle_mm = 9.0\n", "utf-8")
    found = "\n".join(refused(path, capsys))
    assert "drive.toml, line 1: workshop: the workshop file cannot be used" in found
    assert "shop.toml, line 4: printer.nozzle_mm: the value is out of range (found 9.0)" in found
    (tmp_path / "shop.toml").write_text("a = [[[[", "utf-8")
    assert "this is not TOML" in "\n".join(refused(path, capsys))


def test_a_workshop_that_names_itself_or_a_design(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, 'workshop = "drive.toml"\n' + starter("belt"))
    assert "no such key" in "\n".join(refused(path, capsys))


# --- faults that only the computation finds -----------------------------------------------------------------------


def test_faults_of_the_computation_name_file_line_and_numbers(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = starter_with("addendum_factor = 0.6 ", "addendum_factor = 1.99 ", "printed_ring")
    sentence = refused(
        written(tmp_path, text.replace("pressure_angle_deg = 25.0", "pressure_angle_deg = 35.0")), capsys
    )[0]
    line = text[: text.index("addendum_factor")].count("\n") + 1
    assert f"drive.toml, line {line}: tooth.addendum_factor: the flanks meet below the tip" in sentence
    assert "mm wide at the tip" in sentence
    assert "more than 0.04 mm" in sentence


def test_the_json_of_a_fault_is_the_same_data(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import json

    path = written(tmp_path, starter_with("width_mm = 15.0", "width_mm = nan"))
    assert main(["check", "--json", str(path)]) == 2
    out, err = capsys.readouterr()
    data = json.loads(out)
    assert data["error"] == "DesignFault"
    assert [fault["sentence"] for fault in data["faults"]] == err.splitlines()
    assert data["faults"][0]["place"] == "flexible_ring.width_mm"
    assert data["faults"][0]["line"] == starter("belt")[: starter("belt").index("width_mm")].count("\n") + 1


# --- lines and places ---------------------------------------------------------------------------------------------


def test_places_and_their_parts_are_the_same_thing() -> None:
    for place in (
        ("rigid_ring", 1, "teeth"),
        ("tooth",),
        ("process", "bed_mm", 2),
        ("flexible_ring", "second_row", "teeth"),
    ):
        assert place_parts(place_text(place)) == place
    assert place_text(("rigid_ring", 0, "teeth")) == "rigid_ring[1].teeth"


def test_lines_of_keys_tables_rows_and_dotted_keys() -> None:
    text = "a = 1\n[b]\nc = 2\n[[d]]\ne = 1\n[[d]]\n  e = 2\nf.g = 3\n[h.i]\nj = 1\n"
    assert [line_of(text, p) for p in (("a",), ("b",), ("b", "c"), ("d", 0, "e"), ("d", 1, "e"))] == [1, 2, 3, 5, 7]
    assert line_of(text, ("d", 1, "f", "g")) == 8
    assert line_of(text, ("h", "i", "j")) == 10
    assert line_of(text, ("h", "i", "none")) == 9  # the table where the key is missing
    assert line_of(text, ("d",)) == 4
    assert line_of(text, ("nowhere",)) == 0


def test_reading_leaves_nothing_behind(tmp_path: Path) -> None:
    path = written(tmp_path, b"\x00\xff")
    with pytest.raises(FileFault):
        read_text(path)
    with pytest.raises(LobewrightError):
        read(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["drive.toml"]
