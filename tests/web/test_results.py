"""What jobs wrote: listed, sandboxed, and packed without anything else."""

from __future__ import annotations

import io
import zipfile

import pytest

from lobewright.web import results


@pytest.fixture
def made(folder):
    place = folder / "azimuth_belt_make" / "print"
    place.mkdir(parents=True)
    (place / "ring.3mf").write_bytes(b"solid")
    (place.parent / "index.html").write_text("<script>fetch('/api/state')</script>", "utf-8")
    (place.parent / ".kept").write_text("hidden", "utf-8")
    (folder / "someone_make").mkdir()
    (folder / "someone_make" / "private.txt").write_text("of no design here", "utf-8")
    (folder / ".lobewright").mkdir(exist_ok=True)
    (folder / ".lobewright" / "kept.json").write_text("{}", "utf-8")
    (folder / "notes.txt").write_text("of the owner", "utf-8")
    return folder


def test_folders_of_the_designs_are_listed(made):
    (one,) = results.written(made)
    assert (one.design, one.command, one.folder) == ("azimuth_belt.toml", "make", "azimuth_belt_make")
    assert one.files == ("index.html", "print/ring.3mf")


def test_a_result_page_may_ask_nothing(client, made):
    answer = client.get("/results/azimuth_belt_make/index.html")
    policy = answer.headers["content-security-policy"]
    assert answer.status_code == 200 and policy.startswith("sandbox ") and "allow-same-origin" not in policy
    assert "connect-src 'none'" in policy


@pytest.mark.parametrize(
    "name", ["someone_make/private.txt", "azimuth_belt.toml", ".lobewright/kept.json", "azimuth_belt_make"]
)
def test_other_files_are_no_results(client, made, name):
    assert client.get(f"/results/{name}").status_code == 422


def test_the_archive_holds_designs_and_results_only(client, made):
    names = set(zipfile.ZipFile(io.BytesIO(client.get("/download").content)).namelist())
    assert {"azimuth_belt.toml", "workshop.toml", "azimuth_belt_make/print/ring.3mf"} <= names
    assert not {one for one in names if "private" in one or "kept" in one or "notes" in one}


def test_an_archive_beyond_memory_is_refused(client, made, monkeypatch):
    monkeypatch.setattr(results, "LARGEST_ARCHIVE_BYTES", 100)
    assert "too large" in client.get("/download").json()["faults"][0]["what"]
