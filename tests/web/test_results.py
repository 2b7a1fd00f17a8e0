"""What jobs wrote: listed, sandboxed, and packed without anything else."""

from __future__ import annotations

import errno
import io
import os
import zipfile

import pytest

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.design.starters import starter
from lobewright.report.results_json import results_text
from lobewright.web import results
from lobewright.web.look import look


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


@pytest.mark.parametrize("owned", [True, False])
def test_results_name_the_state_that_they_were_made_from_as_a_look_does(made, owned):
    path = made / "azimuth_belt.toml"
    if not owned:
        path.write_text(starter("belt"), "utf-8")
    (one,) = results.written(made)
    assert (one.design_sha256, one.workshop_sha256) == ("", ""), "a folder that does not say"
    text = results_text(assess(read(path)), None)
    (made / "azimuth_belt_make" / "results.json").write_text(text, "utf-8")
    (one,) = results.written(made)
    seen = look(path.read_text("utf-8"), [], path.name, str(made), True)
    assert (one.design_sha256, one.workshop_sha256) == (seen["design_sha256"], seen["workshop_sha256"])
    other = look(path.read_text("utf-8").replace("name = ", "# one\nname = "), [], path.name, str(made), True)
    assert other["design_sha256"] == one.design_sha256
    for broken in ("[]", "{}", '{"design": {"sha256": 1}}', "\xff", "[" * 100_000):
        (made / "azimuth_belt_make" / "results.json").write_text(broken, "latin-1")
        assert results.written(made)[0].design_sha256 == ""


def test_a_result_page_may_ask_nothing(client, made):
    answer = client.get("/results/azimuth_belt_make/index.html")
    policy = answer.headers["content-security-policy"]
    assert answer.status_code == 200 and policy.startswith("sandbox ") and "allow-same-origin" not in policy
    assert "connect-src 'none'" in policy


@pytest.mark.parametrize(
    ("name", "kind", "shown", "apart"),
    [("guide.pdf", "application/pdf", "inline", False), ("ring.svg", "image/svg+xml", "inline", True),
     ("a.HTML", "text/html; charset=utf-8", "inline", True), ("ring.3mf", "application/octet-stream", "attachment", True),
     ("x.xhtml", "application/octet-stream", "attachment", True), ("ring.dxf", "application/octet-stream", "attachment", True),
     ("bom.csv", "text/csv; charset=utf-8", "inline", False)],
)  # fmt: skip
def test_what_a_browser_may_do_with_a_result(client, made, name, kind, shown, apart):
    """A browser's viewer refuses PDF that is kept apart; what it does not know how to show safely it stores."""
    (made / "azimuth_belt_make" / name).write_bytes(b"x")
    heads = client.get(f"/results/azimuth_belt_make/{name}").headers
    assert (heads["content-type"], heads["content-disposition"]) == (kind, shown)
    assert ("sandbox" in heads["content-security-policy"]) is apart
    assert heads["x-content-type-options"] == "nosniff"


def test_no_name_brings_the_program_down(client, made):
    out = made / "azimuth_belt_make"
    os.symlink(out / "round", out / "about")
    os.symlink(out / "about", out / "round")
    os.symlink(out, out / "again")
    for name in ("x" * 300, "round", "again/index.html", "../secret.toml", ".kept", "x" * 300 + "/a"):
        answer = client.get(f"/results/azimuth_belt_make/{name}")
        assert answer.status_code in (404, 422) and answer.json()["faults"], name


@pytest.mark.parametrize(
    "name", ["someone_make/private.txt", "azimuth_belt.toml", ".lobewright/kept.json", "azimuth_belt_make"]
)
def test_other_files_are_no_results(client, made, name):
    assert client.get(f"/results/{name}").status_code == 422


def test_the_archive_holds_designs_and_results_only(client, made):
    names = set(zipfile.ZipFile(io.BytesIO(client.get("/download").content)).namelist())
    assert {"azimuth_belt.toml", "workshop.toml", "azimuth_belt_make/print/ring.3mf"} <= names
    assert not {one for one in names if "private" in one or "kept" in one or "notes" in one}


def test_the_archive_takes_old_files_and_leaves_out_what_goes_meanwhile(folder, made, monkeypatch):
    os.utime(made / "azimuth_belt_make" / "index.html", (0, 0))  # before the first year that ZIP knows
    (made / "deep" / "azimuth_belt_make").mkdir(parents=True)
    known = results.written(folder)
    monkeypatch.setattr(results, "written", lambda folder: known)
    (made / "azimuth_belt_make" / "print" / "ring.3mf").unlink()
    with results.packed(folder) as file:
        names = zipfile.ZipFile(file).namelist()
    assert "azimuth_belt_make/index.html" in names and not any("ring.3mf" in one for one in names)


def test_the_archive_is_sent_in_pieces_and_let_go_when_nobody_wants_more(folder, made):
    (made / "azimuth_belt_make" / "large.stl").write_bytes(os.urandom(3 * results.CHUNK_BYTES))
    file = results.packed(folder)
    pieces = results.chunks(file)
    assert len(next(pieces)) == results.CHUNK_BYTES
    pieces.close()
    assert file.closed


def test_an_archive_looks_only_where_results_stand(folder, made, monkeypatch):
    """A project may be begun in a large folder, such as a home."""
    looked = []
    scan = os.scandir

    def noted(place):
        looked.append(os.fspath(place))
        return scan(place)

    (made / "photographs" / "of years").mkdir(parents=True)
    monkeypatch.setattr(os, "scandir", noted)
    results.packed(folder).close()
    assert looked and not any("photographs" in one for one in looked)


def test_a_full_disk_is_told(client, made, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(zipfile.ZipFile, "write", full)
    assert "No space left on device" in client.get("/download").json()["faults"][0]["sentence"]


def test_an_archive_too_large_is_refused(client, made, monkeypatch):
    monkeypatch.setattr(results, "LARGEST_ARCHIVE_BYTES", 100)
    assert "too large" in client.get("/download").json()["faults"][0]["what"]
