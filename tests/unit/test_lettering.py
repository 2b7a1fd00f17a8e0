"""Texts of moving pictures: as large as there is room, in every painter alike; none is cut, no two lie on each other."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import affinity
from test_scenes_a import NAMES, THREE_LOBES, changed, example
from text_faults import boxes, faults, smallest, told

from lobewright.errors import LobewrightError
from lobewright.picture import letters
from lobewright.picture.display import Anchor, Group, Picture, Placement, Text
from lobewright.picture.lettering import EDGE_PX, GAP, MOST, Written, apart, inside, lettered, written
from lobewright.picture.pdf import Page, pdf, text_width_px
from lobewright.picture.pixels import Placed, pixels
from lobewright.picture.score import Score, course, plain
from lobewright.picture.svg import svg
from lobewright.teach.language import Language
from lobewright.teach.scenes import scene

VIEW = (0.0, 0.0, 96.0, 54.0)
UNIT = 0.1
LEAST_SHARE = 0.9
"""No text of a scene is made smaller than that at the width that pictures are drawn for."""
PLACES = (0.0, 0.07, 0.52, 1.0)
ABOUT = {
    "belt": lambda: example("azimuth_belt"),
    "printed": lambda: example("elevation_printed"),
    "steel": lambda: example("focus_steel"),
    "three lobes": lambda: changed(**THREE_LOBES),
}


def score(*items: object, **more: object) -> Score:
    return Score(VIEW, items, "t", "d", 1.0, {}, **more)  # type: ignore[arg-type]


def texts(items: tuple) -> list[Text]:
    return [
        text
        for one in items
        for text in (texts(one.items) if isinstance(one, Group) else [one])
        if isinstance(text, Text)
    ]


def test_the_table_has_the_widths_of_the_font():
    for strong, table in ((False, letters.PLAIN), (True, letters.STRONG)):
        for width, some in table.items():
            for letter in some:
                assert text_width_px(letter, 1000.0, strong) == pytest.approx(width, abs=0.51), letter
    assert letters.wide("Zahn 0", True) * 20.0 == pytest.approx(text_width_px("Zahn 0", 20.0, True), rel=2e-3)
    assert max(*letters.PLAIN, *letters.STRONG) / 1000.0 - 0.01 <= letters.UNKNOWN


def grown(one: Written, f: float) -> shapely.Polygon:
    return shapely.Polygon([((one.at + f * corner).real, (one.at + f * corner).imag) for corner in one.corners])


ANY_TEXT = st.builds(
    Text,
    st.tuples(st.floats(10.0, 86.0), st.floats(8.0, 46.0)),
    st.sampled_from(("A", "Tooth 0", "words that are long")),
    st.floats(8.0, 24.0),
    anchor=st.sampled_from(list(Anchor)),
    angle_rad=st.floats(-3.0, 3.0),
)


@given(ANY_TEXT, ANY_TEXT, st.floats(-3.0, 3.0))
def test_two_texts_touch_where_it_is_said(first, second, turn):
    """Against polygons of another library."""
    group = Group((second,), (Placement(0.0, 0.0, turn),))
    one, other = written(Picture(VIEW, (first, group), "t", "d"), lambda text: text.size(UNIT))
    assume(abs(one.at - other.at) > 1.0)
    f = apart(one, other, 0.0)
    assert not grown(one, 0.999 * f).intersection(grown(other, 0.999 * f)).area > 1e-9
    assert f == MOST or grown(one, 1.001 * f).intersects(grown(other, 1.001 * f))


@given(ANY_TEXT, st.floats(-3.0, 3.0))
def test_a_text_touches_the_edge_where_it_is_said(text, turn):
    clip = (20.0, 10.0, 70.0, 50.0)
    held = Group((Group((text,), (Placement(3.0, -2.0, turn),)),), clip=clip)
    (one,) = written(Picture(VIEW, (held,), "t", "d"), lambda text: text.size(UNIT))
    f, room = inside(one, 0.0), shapely.box(*clip).intersection(shapely.box(*VIEW))
    if f == 0.0:
        assert not room.buffer(1e-9).contains(shapely.Point(one.at.real, one.at.imag))
    else:
        assert room.buffer(1e-6).contains(grown(one, 0.999 * f))
        assert f == MOST or not room.contains(grown(one, 1.001 * f))


def test_what_has_room_is_told_nothing():
    free = score(*plain(Text((40.0, 20.0), "free", 15.0), Text((40.0, 40.0), "free", 15.0)))
    assert lettered(free) == free


def test_texts_are_told_how_large_they_may_be_wherever_they_move():
    moving = {"kind": "text", "at": [course(2.0, 60.0), 20.0], "text": "moving", "size_px": 20.0}
    done = lettered(score(moving, *plain(Text((44.0, 20.5), "still", 20.0), Text((90.0, 50.0), "at the edge", 15.0))))
    sizes = [[text.size(UNIT) for text in texts(done.at(u).items)] for u in (0.0, 0.5, 1.0)]
    assert sizes[0] == sizes[1] == sizes[2]  # nothing breathes
    assert sizes[0][2] * letters.wide("at the edge") == pytest.approx(6.0 - 0.1 * EDGE_PX, rel=1e-3)
    assert sizes[0][0] < 2.0 and told(done, (0.3, 0.5, 0.7)) == set()


def test_parts_of_a_row_have_one_size():
    one = {"kind": "text", "at": [course(2.0, row={"v": 40.0}), 20.0], "size_px": 20.0, "anchor": "middle",
           "text": {"words": "{0}", "numbers": [{"of": course(98.0, row={"v": 10.0})}]}}  # fmt: skip
    done = lettered(score({"row": 10, "of": one}))
    assert len({text.size(UNIT) for text in texts(done.at(0.3).items)}) == 1
    assert not told(done, (0.0, 1.0)) and told(score({"row": 10, "of": one}), (0.0, 1.0))


def test_it_is_done_once_and_again_with_the_same_result():
    once = lettered(score(*plain(Text((90.0, 50.0), "at the edge", 15.0))))
    assert lettered(once) == once
    with pytest.raises(LobewrightError, match=r"text\.largest"):
        replace(texts(once.at(0.0).items)[0], largest=-1.0)


def widest(sheet) -> int:
    return int((sheet[..., :3].min(axis=2) < 128).any(axis=0).sum())


def test_all_painters_keep_to_the_largest_size():
    """Against a text that is asked for in that size; the canvas: tests/js/painter.test.mjs."""
    told_small, small = Text((10.0, 20.0), "words", 30.0, largest=2.0), Text((10.0, 20.0), "words", 20.0)
    large = replace(told_small, largest=None)
    pictures = [Picture(VIEW, (one,), "t", "d") for one in (told_small, small, large)]
    drawn = [svg(one, 960.0) for one in pictures]
    assert drawn[0] == drawn[1] != drawn[2] and re.search(r'font-size="2"', drawn[0])
    sheets = [pixels((Placed(one, (0, 0, 960, 540)),), 960, 540) for one in pictures]
    assert (sheets[0] == sheets[1]).all() and widest(sheets[2]) > 1.4 * widest(sheets[0])
    size_mm = 960.0 * 25.4 / 96.0
    pages = [pdf((Page(one, size_mm, size_mm * 54.0 / 96.0),)) for one in pictures]
    assert pages[0] == pages[1] != pages[2]


@pytest.mark.parametrize(
    ("about", "code"), [("belt", "en"), ("belt", "de"), ("printed", "en"), ("steel", "de"), ("three lobes", "de")]
)
def test_no_text_of_the_first_scenes_is_cut_or_lies_on_another(about, code):
    for name in NAMES:
        made = scene(name, ABOUT[about](), Language(code))
        for take in made.takes[:2]:
            assert told(take.score, PLACES) == set(), (name, take.name)
            low = {text: share for text, share in smallest(take.score, 0.52).items() if share < LEAST_SHARE}
            assert low == {}, (name, take.name)


def test_the_search_for_faults_finds_them():
    lying = Picture(VIEW, (Text((10.0, 20.0), "one", 15.0), Text((11.0, 20.5), "two", 15.0)), "t", "d")
    assert faults(lying, 960.0) == ["overlap: one | two"]
    out = Group(
        (Group((Text((0.0, 0.0), "three", 15.0),), (Placement(30.0, 20.0, math.pi / 2),)),), clip=(0, 0, 40, 22)
    )
    assert faults(Picture(VIEW, (out,), "t", "d"), 960.0) == ["cut: three"]
    box = next(boxes((Text((10.0, 20.0), "l", 10.0),), UNIT, shapely.box(*VIEW)))[1]
    assert affinity.translate(box, -10.0, -20.0).bounds[2] == pytest.approx(0.278, abs=0.001)
    assert GAP > 0.0
