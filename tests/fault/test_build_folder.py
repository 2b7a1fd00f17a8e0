"""A result folder is whole or as it was, whatever happens on the way; nothing is left beside it."""

from __future__ import annotations

import os
import shutil
import stat
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from lobewright import build_folder, whole_folder
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.model import Design
from lobewright.design.starters import starter_data
from lobewright.design.writing import write_new, write_whole
from lobewright.errors import OutputFault, PlatformFault
from lobewright.report.results_json import results_text


@pytest.fixture(scope="module")
def design() -> Design:
    return design_from_data(starter_data("belt"))


@pytest.fixture(scope="module")
def found(design: Design) -> Assessment:
    return assess(design)


def earlier_build(place: Path, found: Assessment) -> Path:
    place.mkdir()
    (place / "results.json").write_text(results_text(found, "2026-01-01T00:00:00Z"), "utf-8")
    (place / "old.txt").write_text("of the earlier build", "utf-8")
    return place


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch, found: Assessment) -> None:
    """A build whose parts and pages are one small file each; the folder handling is the real one."""

    def parts(_found: Assessment, _plan: object, place: Path, *_rest: object) -> None:
        (place / "parts").mkdir()
        (place / "parts" / "part.txt").write_text("a part", "utf-8")
        (place / "bom.csv").write_text("part\n", "utf-8")

    monkeypatch.setattr(build_folder, "require_cad", lambda: None)
    monkeypatch.setattr(build_folder, "assess", lambda _design, _progress: found)
    monkeypatch.setattr(build_folder, "_under_torque", lambda *_: "left out in this test")
    monkeypatch.setattr(build_folder, "suggestions", lambda _found: ())
    monkeypatch.setattr(build_folder, "plan", lambda _found: None)
    monkeypatch.setattr(build_folder, "write_all", parts)
    monkeypatch.setattr(build_folder, "moving_html", lambda _found, _shares: "<html></html>")
    monkeypatch.setattr(build_folder, "report_page", lambda _found, stamp, *_rest: f"<html>{stamp}</html>")


def names(place: Path) -> set[str]:
    return {path.name for path in place.iterdir()}


def test_a_new_folder_with_parents_that_do_not_exist_yet(tmp_path: Path, design: Design, quick: None) -> None:
    build_folder.build(design, tmp_path / "a" / "b" / "out")
    assert {"results.json", "report.html", "motion.html", "bom.csv", "parts"} <= names(tmp_path / "a" / "b" / "out")
    assert names(tmp_path / "a" / "b") == {"out"}


def test_an_earlier_build_is_replaced_whole(tmp_path: Path, design: Design, found: Assessment, quick: None) -> None:
    out = earlier_build(tmp_path / "out", found)
    build_folder.build(design, out)
    assert "old.txt" not in names(out)
    assert "motion.html" in names(out)
    assert names(tmp_path) == {"out"}


def test_an_empty_folder_is_used(tmp_path: Path, design: Design, quick: None) -> None:
    (tmp_path / "out").mkdir()
    build_folder.build(design, tmp_path / "out")
    assert "results.json" in names(tmp_path / "out")
    assert names(tmp_path) == {"out"}


def test_a_folder_of_other_things_is_left_alone(tmp_path: Path, design: Design, quick: None) -> None:
    out = tmp_path / "out"
    out.mkdir()
    for name, text in (("letters.txt", "mine"), ("results.json", '{"schema_version": 1}')):
        (out / name).write_text(text, "utf-8")
        with pytest.raises(OutputFault, match="not empty and holds no earlier build"):
            build_folder.build(design, out)
    assert names(out) == {"letters.txt", "results.json"}
    assert (out / "letters.txt").read_text("utf-8") == "mine"


def test_files_links_and_the_folder_one_stands_in(
    tmp_path: Path, found: Assessment, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    with pytest.raises(OutputFault, match="this is not a folder"):
        whole_folder.check_target(tmp_path / "file")
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "real")
    with pytest.raises(OutputFault, match="this is not a folder"):
        whole_folder.check_target(tmp_path / "link")
    (tmp_path / "dangling").symlink_to(tmp_path / "nothing")
    with pytest.raises(OutputFault, match="this is not a folder"):
        whole_folder.check_target(tmp_path / "dangling")
    out = earlier_build(tmp_path / "out", found)
    (out / "parts").mkdir()
    for here in (out, out / "parts"):
        monkeypatch.chdir(here)
        with pytest.raises(OutputFault, match="you stand in this folder"):
            whole_folder.check_target(out)
    with pytest.raises(OutputFault, match="the folder cannot be used: File name too long"):
        whole_folder.check_target(tmp_path / ("x" * 3000))


STEPS = ("moving_html", "report_page", "write_all", "results_text")


@pytest.mark.parametrize(
    "problem", [OSError(28, "No space left on device"), KeyboardInterrupt(), PlatformFault("none")]
)
@pytest.mark.parametrize("step", STEPS)
def test_a_failure_at_any_step_leaves_the_earlier_build(
    step: str,
    problem: BaseException,
    tmp_path: Path,
    design: Design,
    found: Assessment,
    quick: None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fails(*_: object) -> None:
        raise problem

    out = earlier_build(tmp_path / "out", found)
    monkeypatch.setattr(build_folder, step, fails)
    expected = OutputFault if isinstance(problem, OSError) else type(problem)
    with pytest.raises(expected) as caught:
        build_folder.build(design, out)
    if isinstance(problem, OSError):
        assert "No space left on device" in str(caught.value)
    assert names(out) == {"results.json", "old.txt"}
    assert names(tmp_path) == {"out"}


@pytest.mark.parametrize("problem", [OSError(5, "Input/output error"), KeyboardInterrupt()])
@pytest.mark.parametrize("failing", [1, 2])
def test_a_failure_between_the_two_renames_leaves_the_earlier_build(
    failing: int,
    problem: BaseException,
    tmp_path: Path,
    design: Design,
    found: Assessment,
    quick: None,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    out = earlier_build(tmp_path / "out", found)
    replace, calls = os.replace, []

    def counted(source: str, target: str) -> None:
        calls.append(target)
        if len(calls) == failing:
            raise problem
        replace(source, target)

    monkeypatch.setattr(whole_folder.os, "replace", counted)
    with pytest.raises(OutputFault if isinstance(problem, OSError) else KeyboardInterrupt):
        build_folder.build(design, out)
    assert names(out) == {"results.json", "old.txt"}
    assert names(tmp_path) == {"out"}


def test_when_even_going_back_fails_the_earlier_build_is_kept_beside(
    tmp_path: Path, design: Design, found: Assessment, quick: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = earlier_build(tmp_path / "out", found)
    replace, calls = os.replace, []

    def only_once(source: str, target: str) -> None:
        calls.append(target)
        if len(calls) > 1:
            raise OSError(5, "Input/output error")
        replace(source, target)

    monkeypatch.setattr(whole_folder.os, "replace", only_once)
    with pytest.raises(OutputFault):
        build_folder.build(design, out)
    assert [path.name for path in tmp_path.glob(".out.old.*/earlier/old.txt")] == ["old.txt"]


def test_what_cannot_be_built_is_told_before_anything_is_written(
    tmp_path: Path, design: Design, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_cad() -> None:
        raise PlatformFault("the CAD kernel is not installed")

    monkeypatch.setattr(build_folder, "require_cad", no_cad)
    with pytest.raises(PlatformFault):
        build_folder.build(design, tmp_path / "deep" / "out")
    assert names(tmp_path) == set()


def test_a_file_in_the_way_of_the_parents(tmp_path: Path, design: Design, quick: None) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    with pytest.raises(OutputFault, match="cannot be"):
        build_folder.build(design, tmp_path / "file" / "out")
    assert names(tmp_path) == {"file"}


def test_same_input_same_bytes_with_the_time_held(
    tmp_path: Path, design: Design, quick: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert whole_folder.time_stamp() == "2023-11-14T22:13:20Z"
    build_folder.build(design, tmp_path / "a")
    build_folder.build(design, tmp_path / "b")
    for name in ("results.json", "report.html"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()
        assert b"2023-11-14T22:13:20Z" in (tmp_path / "a" / name).read_bytes()
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000001")
    build_folder.build(design, tmp_path / "a")
    one, other = ((tmp_path / place / "results.json").read_text("utf-8") for place in "ab")
    assert one != other
    assert one.replace("22:13:21Z", "22:13:20Z") == other


@pytest.mark.parametrize("epoch", ["soon", "-1", "²", "9" * 40, "9" * 5000])
def test_a_time_that_is_none_is_told_before_anything_is_made(
    epoch: str, tmp_path: Path, design: Design, quick: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    with pytest.raises(OutputFault, match="SOURCE_DATE_EPOCH: this is not a time"):
        build_folder.build(design, tmp_path / "out")
    assert names(tmp_path) == set()


# --- single files -------------------------------------------------------------------------------------------------


def test_a_starter_never_replaces_a_file(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    write_new(path, "first")
    with pytest.raises(OutputFault, match="left alone"):
        write_new(path, "second")
    assert path.read_text("utf-8") == "first"
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    with pytest.raises(OutputFault, match="left alone"):
        write_new(tmp_path / "link", "third")
    assert names(tmp_path) == {"mine.toml", "link"}


def test_a_file_that_cannot_be_put_in_place_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(OutputFault, match="cannot be written"):
        write_whole(tmp_path / "folder", "text")
    with pytest.raises(OutputFault, match="No such file or directory"):
        write_whole(tmp_path / "none" / "file", "text")

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", stopped)
        with pytest.raises(KeyboardInterrupt):
            write_whole(tmp_path / "file", "text")
    assert names(tmp_path) == {"folder"}
    shutil.rmtree(tmp_path / "folder")


def rights(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.skipif(os.name != "posix", reason="rights of files are told so on POSIX systems")
def test_who_may_read_a_file_stays_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    before = os.umask(0o027)
    try:
        write_new(path, "first")
        assert rights(path) == 0o640, "as the system makes new files"
        for kept in (0o600, 0o664):
            path.chmod(kept)
            write_whole(path, f"{kept:o}")
            assert rights(path) == kept and path.read_text("utf-8") == f"{kept:o}"
    finally:
        os.umask(before)


@pytest.mark.parametrize("links", [True, False])
def test_of_two_that_write_one_new_name_at_once_one_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    if not links:

        def no_links(*_: object) -> None:
            raise OSError(1, "Operation not permitted")

        monkeypatch.setattr(os, "link", no_links)

    def write(word: str) -> str:
        together.wait(60)
        try:
            write_new(path, word * 1000)
        except OutputFault:
            return ""
        return word * 1000

    together = threading.Barrier(4)
    with ThreadPoolExecutor(4) as pool:
        for number in range(50):
            path = tmp_path / f"{number}.toml"
            written = [one for one in pool.map(write, "abcd") if one]
            assert written == [path.read_text("utf-8")]
    assert len(names(tmp_path)) == 50
