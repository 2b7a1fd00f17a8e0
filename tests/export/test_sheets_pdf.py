"""The PDF of the drawings read back: pages, true size, words that can be searched, the same bytes twice."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pypdfium2
import pytest

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.errors import LobewrightError
from lobewright.make.assembling import plain_placed
from lobewright.make.drawing import write_drawings
from lobewright.make.over_pins import PinCheck, flexible_check
from lobewright.picture.display import Arrow, Disc, Group, Picture, Placement, RingArc, Text
from lobewright.picture.display import Path as Line
from lobewright.picture.palette import Role
from lobewright.picture.pdf import Page, pdf, unprintable

EXAMPLE = Path(__file__).parents[2] / "examples" / "elevation_printed.toml"
STAMP = "2026-03-01T10:00:00"
A3 = (420.0 / 25.4 * 72, 297.0 / 25.4 * 72)


@cache
def _assessed():
    return assess(read(EXAMPLE))


def _write(folder: Path) -> tuple[str, ...]:
    a = _assessed()
    return write_drawings(a, plain_placed(a), folder, STAMP)


def test_sheets_are_read_back(tmp_path: Path) -> None:
    names = _write(tmp_path / "one")
    assert sorted(names) == sorted(f"drawings/{file.name}" for file in (tmp_path / "one" / "drawings").iterdir())
    data = (tmp_path / "one" / "drawings" / "drawings.pdf").read_bytes()
    document = pypdfium2.PdfDocument(data)
    assert len(document) == len(names) - 1
    said = [document[k].get_textpage().get_text_bounded() for k in range(len(document))]
    cup = next(k for k, text in enumerate(said) if "flexible cup" in text)
    check = flexible_check(_assessed())
    assert isinstance(check, PinCheck) and f"{check.seat.size_mm:.3f} mm" in said[cup]
    assert "greenhouse arm, elevation" in said[cup] and "ø" in said[cup] and "±" in said[cup]
    assert document[cup].get_size() == pytest.approx(A3, abs=0.01)
    _write(tmp_path / "two")
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), name


def _dark(picture: Picture, side_mm: float, dots: int) -> tuple[int, int, int, int]:
    """Box of what is painted, in dots from the upper left corner."""
    page = pypdfium2.PdfDocument(pdf([Page(picture, side_mm, side_mm)]))[0]
    image = page.render(scale=dots / page.get_width()).to_numpy()
    rows, columns = (image[:, :, 0] < 128).any(1).nonzero()[0], (image[:, :, 0] < 128).any(0).nonzero()[0]
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


SQUARE = ((10.0, 10.0), (40.0, 10.0), (40.0, 40.0), (10.0, 40.0))


@pytest.mark.parametrize(
    ("item", "box"),
    [
        (Line((SQUARE,), fill=Role.INK), (10, 60, 40, 90)),
        (Disc((30.0, 50.0), 20.0, fill=Role.INK), (10, 30, 50, 70)),
        (RingArc((50.0, 50.0), 20.0, 30.0, 0.0, math.pi / 2, fill=Role.INK), (50, 20, 80, 50)),
        (RingArc((50.0, 50.0), 20.0, 30.0, 0.0, 7.0, fill=Role.INK), (20, 20, 80, 80)),
        (Group((Line((SQUARE,), fill=Role.INK),), (Placement(90.0, 0.0, math.pi / 2),)), (50, 60, 80, 90)),
        (Group((Line((SQUARE,), fill=Role.INK),), clip=(0.0, 0.0, 20.0, 25.0)), (10, 75, 20, 90)),
    ],
)
def test_primitives_land_where_they_are(item: object, box: tuple[int, int, int, int]) -> None:
    picture = Picture((0.0, 0.0, 100.0, 100.0), (item,), "one", "one primitive")  # type: ignore[arg-type]
    assert _dark(picture, 100.0, 400) == pytest.approx([4 * edge for edge in box], abs=2)


def test_a_hatched_ring_leaves_its_hole_and_most_of_its_paper() -> None:
    inner = tuple((25 + 5 * math.cos(t / 8), 25 + 5 * math.sin(t / 8)) for t in range(51))
    picture = Picture((0.0, 0.0, 50.0, 50.0), (Line((SQUARE, inner), hatch=Role.INK),), "hatch", "a hatched ring")
    page = pypdfium2.PdfDocument(pdf([Page(picture, 50.0, 50.0)]))[0]
    dark = page.render(scale=8).to_numpy()[:, :, 0] < 160
    side = dark.shape[0]
    inside = dark[int(0.2 * side) : int(0.8 * side), int(0.2 * side) : int(0.8 * side)]
    hole = dark[int(0.44 * side) : int(0.56 * side), int(0.44 * side) : int(0.56 * side)]
    assert not hole.any() and not dark[: int(0.19 * side)].any()
    assert 0.05 < inside.mean() < 0.4


def test_a_whole_ring_arc_has_a_hole() -> None:
    ring = RingArc((50.0, 50.0), 20.0, 30.0, 0.0, 7.0, fill=Role.INK)
    page = pypdfium2.PdfDocument(pdf([Page(Picture((0.0, 0.0, 100.0, 100.0), (ring,), "a", "b"), 100.0, 100.0)]))[0]
    dark = page.render(scale=1).to_numpy()[:, :, 0] < 128
    assert dark.mean() == pytest.approx(math.pi * (30**2 - 20**2) / 100**2, rel=0.03)


def test_an_arrow_and_a_turned_text_are_painted() -> None:
    items = (Arrow((10.0, 10.0), (90.0, 90.0)), Text((50.0, 20.0), "ø12 ± 0.1", angle_rad=0.5))
    document = pypdfium2.PdfDocument(pdf([Page(Picture((0.0, 0.0, 100.0, 100.0), items, "a", "b"), 50.0, 50.0)]))
    assert "ø12 ± 0.1" in document[0].get_textpage().get_text_bounded()


def test_letters_that_cannot_print_are_refused() -> None:
    assert unprintable("ø ± − ≤ ≥ ° · × ² µ") == ""
    picture = Picture((0.0, 0.0, 10.0, 10.0), (Text((1.0, 1.0), "⌀4"),), "a", "b")
    with pytest.raises(LobewrightError, match="no letter"):
        pdf([Page(picture, 10.0, 10.0)])


def test_pages_that_cannot_be_are_refused() -> None:
    picture = Picture((0.0, 0.0, 10.0, 10.0), (), "a", "b")
    for page in (Page(picture, 10.0, 20.0), Page(picture, 0.0, 10.0), Page(picture, math.nan, 10.0)):
        with pytest.raises(LobewrightError, match="page"):
            pdf([page])
    with pytest.raises(LobewrightError, match="needs a page"):
        pdf([])
    assert pdf([Page(picture, 10.0, 10.0)]).startswith(b"%PDF")
