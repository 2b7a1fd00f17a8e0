"""The PDF of the drawings read back: pages, true size, words that can be searched, the same bytes twice."""

from __future__ import annotations

import math
import re
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.errors import LobewrightError
from lobewright.make.assembling import assembled, plain_placed
from lobewright.make.drawing import SheetPage, drawing_pages, write_drawings
from lobewright.make.over_pins import PinCheck, flexible_check
from lobewright.picture.display import Anchor, Arrow, Disc, Group, Picture, Placement, RingArc, Text
from lobewright.picture.display import Path as Line
from lobewright.picture.palette import Role
from lobewright.picture.pdf import Page, pdf, unprintable
from lobewright.picture.svg import svg

EXAMPLE = Path(__file__).parents[2] / "examples" / "elevation_printed.toml"
STAMP = "2026-03-01T10:00:00"
A3 = (420.0 / 25.4 * 72, 297.0 / 25.4 * 72)


@cache
def _assessed():
    return assess(read(EXAMPLE))


@cache
def _pages() -> tuple[SheetPage, ...]:
    return drawing_pages(_assessed(), assembled(_assessed()), STAMP)


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


def test_letters_of_the_pdf_stand_where_the_sheet_puts_them(tmp_path: Path) -> None:
    """Each text that begins at a point: its first letter there, its last one inside the frame."""
    page = _pages()[0]
    sheet = pypdfium2.PdfDocument(pdf([Page(page.picture, page.width_mm, page.height_mm)]))[0]
    letters = sheet.get_textpage()
    found = 0
    for item in page.picture.items:
        if not isinstance(item, Text) or item.anchor is not Anchor.START or item.angle_rad:
            continue
        x, y = (72 / 25.4 * mm for mm in item.at)
        hits = letters.search(item.text, match_case=True)
        places = []
        while hit := hits.get_next():
            places.append((letters.get_charbox(hit[0]), letters.get_charbox(hit[0] + hit[1] - 1)))
        near = [(first, last) for first, last in places if abs(first[0] - x) < 1.5 and abs(first[1] - y) < 2.5]
        assert near, (item.text, places, (x, y))
        assert near[0][1][2] < sheet.get_width() - 10 * 72 / 25.4
        found += 1
    assert found > 30


NUMBER = re.compile(r"-?[\d.]+")


def _loops(element: ElementTree.Element) -> list[np.ndarray]:
    """Corners of each run of a path."""
    runs = element.get("d", "").split("M")[1:]
    return [np.array(NUMBER.findall(run), dtype=float).reshape(-1, 2) for run in runs]


@pytest.mark.parametrize("name", ["ring_housing", "carrier", "rear_plate", "output_hub"])
def test_a_circle_of_the_svg_is_as_large_as_the_number_beside_it(name: str) -> None:
    """Leaders end on circles, arrows of a diameter stand as far apart, at the scale that the sheet states."""
    page = next(page for page in _pages() if page.name == name)
    root = ElementTree.fromstring(svg(page.picture, page.width_mm))
    said = next(element.text or "" for element in root if element.get("id") == "description")
    up, down = (float(one) for one in re.search(r"scale (\d+):(\d+)", said).groups())  # type: ignore[union-attr]
    rows = [element for element in root if element.tag.endswith(("path", "text"))]
    circles = []
    for loop in (loop for row in rows for loop in _loops(row)):
        middle = (loop.min(axis=0) + loop.max(axis=0)) / 2
        far = np.hypot(*(loop - middle).T)
        if len(loop) > 16 and np.ptp(far) < 0.03:
            circles.append((middle, float(far.mean())))
    leaders = arrows = 0
    for k, row in enumerate(rows):
        size = re.match(r"(?:\d+ × )?ø([\d.]+)", row.text or "")
        if not size:
            continue
        drawn = float(size[1]) * up / down
        slack = 0.051 * up / down + 0.01
        if row.get("transform") is None:
            tip = _loops(rows[k - 4])[0][0]
            near = [2 * r for middle, r in circles if abs(math.dist(middle, tip) - r) < 0.02]
            assert near and min(abs(one - drawn) for one in near) < slack, (row.text, near, drawn)
            leaders += 1
        else:
            heads = [loops[0][0] for one in rows[k - 4 : k] if len((loops := _loops(one))[0]) == 3]
            assert len(heads) == 2 and abs(math.dist(*heads) - drawn) < slack, (row.text, drawn)
            arrows += 1
    assert leaders >= 1 and arrows >= 1


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
