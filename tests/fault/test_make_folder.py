"""A folder of `make` is whole or as it was; what cannot be made is told before any CAD starts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from lobewright import make_folder
from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.model import Design
from lobewright.design.starters import starter_data
from lobewright.errors import CatalogueFault, DesignFault, LobewrightError, OutputFault, PlatformFault
from lobewright.make import everything, parts, solids
from lobewright.make.assembling import plain_placed
from lobewright.own_files import NOTE
from lobewright.report.results_json import results_text

WRITTEN = {"results.json", "parts", "assembly", "guide.pdf", "drawings", "bom.csv", "bom.html", "rack", NOTE}


@pytest.fixture(scope="module")
def design() -> Design:
    return design_from_data(starter_data("belt"))


@pytest.fixture(scope="module")
def found(design: Design) -> Assessment:
    return assess(design)


@pytest.fixture(scope="module")
def planned(found: Assessment) -> everything.Plan:
    return everything.Plan(plain_placed(found), None, "", {})


@pytest.fixture
def quick(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, found: Assessment, planned: everything.Plan
) -> dict[str, Callable[..., Any]]:
    """Every heavy step writes one small file; their order and the folder handling are the real ones."""

    def one_file(*inside: str) -> Callable[..., None]:
        def write(*words: Any, **_: Any) -> None:
            place = next(word for word in words if isinstance(word, Path)).joinpath(*inside)
            place.parent.mkdir(exist_ok=True)
            place.write_text("new", "utf-8")

        return write

    def make_parts(_found: Assessment, folder: Path, *_: Any, **__: Any) -> tuple[()]:
        folder.mkdir()
        (folder / "part.txt").write_text("new", "utf-8")
        return ()

    steps: dict[str, Callable[..., Any]] = {
        "make_parts": make_parts,
        "standing": lambda *_: (),
        "write_assembly_step": one_file(),
        "write_assembly_glb": one_file(),
        "write_guide": one_file("guide.pdf"),
        "write_drawings": one_file("drawings", "drawings.pdf"),
        "substitutes": lambda *_: (),
        "bom_text": lambda *_: "part\n",
        "bom_html": lambda *_: "<html></html>",
        "write_rack": one_file("rack", "rack.txt"),
    }
    for name, step in steps.items():
        monkeypatch.setattr(everything, name, step)
    monkeypatch.setenv("LOBEWRIGHT_CACHE", str(tmp_path / "kept"))
    monkeypatch.setattr(make_folder, "require_cad", lambda: None)
    monkeypatch.setattr(make_folder, "assess", lambda *_: found)
    monkeypatch.setattr(make_folder, "plan", lambda _found: planned)
    return steps


def earlier_build(place: Path, found: Assessment) -> Path:
    place.mkdir(parents=True)
    (place / "results.json").write_text(results_text(found, "2026-01-01T00:00:00Z"), "utf-8")
    (place / "old.txt").write_text("of the earlier build", "utf-8")
    return place


def contents(place: Path) -> dict[str, bytes]:
    return {path.relative_to(place).as_posix(): path.read_bytes() for path in place.rglob("*") if path.is_file()}


def names(place: Path) -> set[str]:
    return {path.name for path in place.iterdir()}


def test_an_earlier_folder_is_replaced_whole(tmp_path: Path, design: Design, found: Assessment, quick: object) -> None:
    out = earlier_build(tmp_path / "here" / "out", found)
    make_folder.make(design, out)
    assert names(out) == WRITTEN
    assert names(tmp_path / "here") == {"out"}


@pytest.mark.parametrize(
    "problem", [OSError(28, "No space left on device"), KeyboardInterrupt(), PlatformFault("none")]
)
@pytest.mark.parametrize(
    "step",
    [
        "make_parts",
        "standing",
        "write_assembly_step",
        "write_assembly_glb",
        "write_guide",
        "write_drawings",
        "substitutes",
        "bom_text",
        "bom_html",
        "write_rack",
        "results_text",
    ],
)
def test_a_failure_at_any_step_leaves_the_earlier_folder(
    step: str,
    problem: BaseException,
    tmp_path: Path,
    design: Design,
    found: Assessment,
    quick: dict[str, Callable[..., Any]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    out = earlier_build(tmp_path / "here" / "out", found)
    before = contents(out)

    def fails(*words: Any, **more: Any) -> None:
        if step in quick:
            quick[step](*words, **more)  # what is half written goes too
        raise problem

    monkeypatch.setattr(everything if step in quick else make_folder, step, fails)
    with pytest.raises(OutputFault if isinstance(problem, OSError) else type(problem)) as caught:
        make_folder.make(design, out)
    if isinstance(problem, OSError):
        assert "No space left on device" in str(caught.value)
    assert contents(out) == before
    assert names(tmp_path / "here") == {"out"}


def test_a_drive_without_a_rack_is_made_and_the_reason_told(
    tmp_path: Path, design: Design, quick: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: object) -> None:
        raise DesignFault("this drive cannot be unrolled")

    monkeypatch.setattr(everything, "write_rack", none)
    _, made = make_folder.make(design, tmp_path / "out")
    assert made.no_rack == "this drive cannot be unrolled."
    assert names(tmp_path / "out") == WRITTEN - {"rack"}


def small_ring() -> dict[str, Any]:
    """A belt so small that the largest bearing of the catalogue goes over its rings."""
    data = starter_data("belt")
    data["flexible_ring"] |= SMALL_BELT
    data["generator"] = SMALL_GENERATOR
    for ring, more in zip(data["rigid_ring"], (2, 0), strict=True):
        ring |= {"teeth": SMALL_BELT["teeth"] + more, "rim_mm": 2.0, "bolts": 0}
    return data | {"output_bearing": {"bearing": "61808", "count": 1}}


SMALL_BELT: dict[str, Any] = {"designation": "C3M", "teeth": 32}
SMALL_GENERATOR = {"kind": "rollers", "bearing": "623", "design_deflection_factor": 1.0}


def changed(**tables: dict[str, Any]) -> dict[str, Any]:
    data = starter_data("belt")
    return data | {name: data.get(name, {}) | table for name, table in tables.items()}


REFUSED: dict[str, tuple[dict[str, Any], type[LobewrightError], tuple[str, ...]]] = {
    "bed": (
        changed(process={"bed_mm": [60.0, 60.0, 60.0]}),
        DesignFault,
        ("rigid_ring[1]: ring base is larger than the bed", "found a diameter of 118.6 mm", "within 60 × 60 mm"),
    ),
    "height": (
        changed(process={"bed_mm": [220.0, 220.0, 15.0]}),
        DesignFault,
        ("process.bed_mm: ", "is higher than the printer prints", "at most 220 × 220 × 15 mm"),
    ),
    "bore of the output bearing": (
        small_ring(),
        DesignFault,
        (
            "output_bearing.bearing: the bore of the output bearing 61808 is larger than the ring",
            "found 40 mm",
            "less than 3",
        ),
    ),
    "bore of the input bearing": (
        changed(assembly={"input_bearing": "6206"}),
        DesignFault,
        ("assembly.input_bearing: bearing 6206 does not fit the axle", "found bore 30 mm", "allowed: a bore of 8 mm"),
    ),
    "unknown input bearing": (
        changed(assembly={"input_bearing": "60800"}),
        CatalogueFault,
        ("assembly.input_bearing: the catalogue has no bearing of this name", 'found "60800"', "allowed: "),
    ),
    "unknown output bearing": (
        changed(output_bearing={"bearing": "61820", "count": 2, "spacing_mm": 20.0}),
        DesignFault,
        ("output_bearing.bearing: the catalogue has no bearing of this name", 'found "61820"', "allowed: nearest: 618"),
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_made_is_refused_before_any_cad(
    case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data, kind, told = REFUSED[case]
    called: list[str] = []
    for room, name in ((everything, "make_parts"), (parts, "make_parts"), (parts, "make_all"), (solids, "solid")):
        monkeypatch.setattr(room, name, lambda *_, name=name, **__: called.append(name))
    monkeypatch.setattr(make_folder, "require_cad", lambda: None)
    with pytest.raises(kind) as caught:
        make_folder.make(design_from_data(data), tmp_path / "deep" / "out")
    sentence = caught.value.sentences()[0]
    for words in told:
        assert words in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert not called
    assert names(tmp_path) == set()
