"""`lobewright make` as a person runs it: in a process of its own, with a cache of its own."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from lobewright.cli import main
from lobewright.design.starters import starter

pytestmark = pytest.mark.cad

EPOCH = "1700000000"
MOST_S = 300
"""Of one run where much else runs; alone it takes a tenth of that. Tests wait for each of their runs so long."""


def made(file: Path, out: Path, kept: Path) -> subprocess.CompletedProcess[bytes]:
    told = os.environ | {"LOBEWRIGHT_CACHE": str(kept), "SOURCE_DATE_EPOCH": EPOCH}
    words = [sys.executable, "-m", "lobewright.cli", "make", str(file), "--out", str(out)]
    return subprocess.run(words, capture_output=True, timeout=MOST_S, env=told)


def contents(place: Path) -> dict[str, bytes]:
    return {path.relative_to(place).as_posix(): path.read_bytes() for path in place.rglob("*") if path.is_file()}


def cup(place: Path, parts_only: bool) -> Path:
    """A steel cup; with its generator held no frame is laid out, and there is little to make."""
    text = starter("metal_cup", "invented cup")
    if parts_only:
        text = text.replace('fixed = "housing"', 'fixed = "generator"')
        text = text.replace('driven = "generator"', 'driven = "housing"')
    file = place / "cup.toml"
    file.write_text(text, "utf-8")
    return file


@pytest.mark.timeout(MOST_S + 60)
def test_all_that_is_promised_is_there(tmp_path: Path) -> None:
    out = tmp_path / "out"
    run = made(cup(tmp_path, parts_only=False), out, tmp_path / "kept")
    assert run.returncode == 0, run.stderr.decode()
    files = contents(out)
    starts = {
        "results.json": b"{",
        "guide.pdf": b"%PDF-",
        "drawings/drawings.pdf": b"%PDF-",
        "bom.html": b"<!doctype html>",
        "parts/nominal/ring_housing.step": b"ISO-10303-21;",
        "parts/nominal/cam.3mf": b"PK",
        "assembly/assembly.step": b"ISO-10303-21;",
        "assembly/assembly.glb": b"glTF",
    }
    for name, start in starts.items():
        assert files[name][: len(start)].lower() == start.lower(), name
    assert b"1,1,rear plate,made," in files["bom.csv"]
    assert any(name.startswith("rack/") for name in files)
    assert any(name.startswith("guide/") and name.endswith(".png") for name in files)
    assert not [name for name, data in files.items() if not data]
    assert {path.name for path in tmp_path.iterdir()} == {"cup.toml", "out", "kept"}
    lines = run.stderr.decode("utf-8").splitlines()
    assert lines and all(line.startswith("… ") and line.endswith("%)") for line in lines)
    for word in ("assembly", "instructions", "drawings", "parts list", "made (100%)"):
        assert any(word in line for line in lines), word
    said = run.stdout.decode("utf-8")
    assert "guide.pdf" in said
    assert "Nothing runs into anything" in said
    # Nothing is printed here, so nobody is told how to print it.
    assert not re.search(r"Print parts|a first print|calibrat", said) and "before metal is cut" in said
    assert not re.search(rb"print/|print time", files["bom.html"])


@pytest.mark.timeout(2 * MOST_S + 60)
def test_kept_parts_give_the_same_bytes_and_damaged_ones_do_no_harm(tmp_path: Path) -> None:
    file, kept = cup(tmp_path, parts_only=True), tmp_path / "kept"
    first = made(file, tmp_path / "first", kept)
    assert first.returncode == 0, first.stderr.decode()
    assert "No assembly: " in first.stdout.decode("utf-8")
    entries = sorted(kept.glob("*.zip"))
    assert len(entries) >= 4
    whole = [path.read_bytes() for path in entries]
    entries[0].write_bytes(b"")
    entries[1].write_bytes(whole[1][: len(whole[1]) // 2])
    middle = len(whole[2]) // 3
    entries[2].write_bytes(whole[2][:middle] + bytes(64) + whole[2][middle + 64 :])
    second = made(file, tmp_path / "second", kept)
    assert second.returncode == 0, second.stderr.decode()
    assert contents(tmp_path / "second") == contents(tmp_path / "first")
    assert sorted(kept.glob("*")) == entries
    assert [path.stat().st_size for path in entries] == [len(data) for data in whole]


def test_a_parent_that_cannot_be_written_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("LOBEWRIGHT_CACHE", str(tmp_path / "kept"))
    file = cup(tmp_path, parts_only=True)
    (tmp_path / "a file").write_text("mine", "utf-8")
    places = [tmp_path / "a file" / "out"]
    (tmp_path / "locked").mkdir(mode=0o500)
    if not os.access(tmp_path / "locked", os.W_OK):  # whoever may write everywhere is not stopped by it
        places.append(tmp_path / "locked" / "out")
    if Path("/proc/self").is_dir():
        places.append(Path("/proc/nowhere/out"))
    before = contents(tmp_path)
    for place in places:
        assert main(["make", str(file), "--out", str(place)]) == 2
        lines = [line for line in capsys.readouterr().err.splitlines() if not line.startswith("… ")]
        assert len(lines) == 1
        assert str(place) in lines[0] and lines[0].endswith(".")
    assert contents(tmp_path) == before
