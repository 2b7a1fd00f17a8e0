"""Pictures and words of strength and life: their numbers are the result's, nothing endless or not made is hidden."""

from __future__ import annotations

import html
import itertools
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from life_results import (
    ENDLESS,
    WORKING,
    invented_course,
    invented_curve,
    invented_duty,
    invented_items,
    invented_life,
    invented_map,
    invented_parked,
    invented_point,
    invented_profile,
)
from opened_items import opened

from lobewright.assessment.life import Life
from lobewright.assessment.results import Assessment
from lobewright.picture.display import Disc, Path, Picture, Text
from lobewright.picture.palette import Role
from lobewright.picture.svg import svg
from lobewright.report.life_figures import life_bars, life_figures, worst_point
from lobewright.report.life_numbers import band, few, fitted, power
from lobewright.report.life_plots_axes import Names, decade_ticks, overlap, size_ticks, text_box
from lobewright.report.life_plots_budget import Bar, bar_chart
from lobewright.report.life_plots_sn import drawn_curve, sn_chart
from lobewright.report.life_plots_stress import closed, cup_chart, lobe_labels, rim_chart, segments
from lobewright.report.life_plots_time import at_time, drawn_speeds, map_chart, parked_chart
from lobewright.report.life_section import life_section
from lobewright.report.page import report_page
from lobewright.strength.items import LifeItem, NotMade, Span
from lobewright.verdict import Working

WIDTH = 480.0
ODD = 'A <b>"very"</b> odd & long name\nof a part that nobody would give it, but somebody did, twice over and more'


@pytest.fixture(scope="module")
def cup(assessed: dict[str, Assessment]) -> Assessment:
    return assessed["printed_cup"]


@pytest.fixture(scope="module")
def life() -> Life:
    return invented_life()


def texts(picture: Picture) -> list[Text]:
    return [item for item in opened(picture.items) if isinstance(item, Text)]


def words(picture: Picture) -> str:
    return " | ".join(text.text for text in texts(picture)).replace("\u00a0", " ")


def plain(section: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", section)).replace("\u00a0", " ")


def odd_life() -> Life:
    """Odd names everywhere, many steps, a step beyond the criterion, everything endless in one place."""
    point = invented_point(invented_course("rim_root", ODD, "outside", 9.0))
    count = 12
    sizes = np.geomspace(1e-3, 30.0, count)
    many = replace(
        point,
        steps=tuple(f"{ODD} {k}" for k in range(count)),
        cycles=np.geomspace(3.0, 1e9, count),
        alternating_mpa=sizes,
        mean_mpa=sizes,
        equivalent_mpa=np.append(sizes[:-1], math.inf),
        damage=np.append(np.linspace(0.0, 0.4, count - 1), math.inf),
        duties=Span(0.0, 0.0, 0.2),
    )
    items = tuple(replace(item, title=f"{ODD} {k}") for k, item in enumerate(invented_items()))
    found = invented_map((0.5, 1.0, 2.0, 5.0, 10.0, 50.0))
    names = (ODD.replace("\n", " "), "rollers", "a third")
    return invented_life(
        items=items,
        points=(many,),
        courses=(many.course, invented_course("rim_inside", ODD, "inside", 3.0)),
        life_map=replace(found, names=names),
        parked=invented_parked(asked_hours=0.0),
    )


def test_numbers_as_people_read_them() -> None:
    told = {
        0.3: "0.30",
        12.0: "12",
        1234.0: "1200",
        9999.0: "10 000",
        45_678.0: "46 000",
        999_999.0: "1.0 × 10⁶",
        1.4e6: "1.4 × 10⁶",
        4.2e-5: "4.2 × 10⁻⁵",
        0.0012: "0.0012",
        0.0: "0",
        math.inf: "endless",
        -2.5: "−2.5",
    }
    assert {value: few(value).replace("\u00a0", " ") for value in told} == told
    assert few(1.372, 3) == "1.37" and power(-12) == "10⁻¹²"
    assert band(Span(0.3, 1.0, math.inf)) == "0.30 … endless" and band(ENDLESS) == "endless"
    assert fitted("one two three four", 12) == "one two…" and fitted("a\nb", 9) == "a b"


@given(st.floats(1e-9, 1e15), st.integers(2, 4))
def test_a_number_read_back_is_within_half_of_its_last_figure(value: float, figures: int) -> None:
    text = few(value, figures).replace("\u00a0", "")
    mantissa, _, exponent = text.partition("×10")
    turned = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
    found = float(mantissa) * 10.0 ** int(exponent.translate(turned) or 0)
    assert found == pytest.approx(value, rel=0.51 * 10.0 ** (1 - figures))


def test_tables_hold_every_item_with_number_band_and_remark(cup: Assessment, life: Life) -> None:
    rows = re.findall(r"<tr><th scope=\"row\">.*?</tr>", life_section(cup, life))
    made = [item for item in life.items if hasattr(item, "working")]
    assert len(rows) == len(made)
    for row, item in zip(rows, made, strict=True):
        text = plain(row)
        span, figures = (item.duties, 2) if isinstance(item, LifeItem) else (item.safety, 3)
        for told in (item.title, few(span.middle, figures), band(span, figures), item.working.equation):
            assert told.replace("\u00a0", " ") in text
        assert item.remark.lower() in text.lower()
        unit = item.counted if isinstance(item, LifeItem) else item.unit
        assert unit in text
    assert "2.7 (22 000 h)" in plain(rows[0])


def test_items_keep_their_order_and_the_weakest_leads(cup: Assessment, life: Life) -> None:
    section = life_section(cup, life)
    places = [section.index(f'<th scope="row">{item.title}<') for item in life.items if hasattr(item, "working")]
    assert places == sorted(places)
    turned = replace(life, items=life.items[::-1])
    assert "The weakest: Bearing of the generator, endless times the duty" in plain(life_section(cup, turned))


def test_what_was_not_made_is_said_with_its_reason(cup: Assessment, life: Life) -> None:
    section = life_section(cup, life)
    assert "Teeth of the belt: this drive has no belt" in section
    assert "no yield stress of &lt;this print&gt; was found" in section and "<this print>" not in section
    why = "the <duty> names no torque"
    assert life_section(cup, why) == (
        '<h2 id="strength-and-life">Strength and life</h2>\n<p>Not made: the &lt;duty&gt; names no torque</p>\n'
    )


def test_section_tells_duty_criteria_parking_and_cautions(assessed: dict[str, Assessment], life: Life) -> None:
    text = plain(life_section(assessed["printed_cup"], life))
    assert "8180 hours" in text and "4.20 N·m" in text
    for told in ("modified Goodman 1.04", "Gerber 1.12", "ASME elliptic 1.15", "Soderberg 0.960"):
        assert told in text
    assert "Turn the generator by half a turn every week" in text and "no test stands behind it" in text
    for told in ("nine of ten", "in service", "licensed practice", "stop or prop under a load that can fall"):
        assert told in text
    assert "stop or prop" not in life_section(assessed["printed_ring"], life)
    none = plain(life_section(assessed["printed_cup"], replace(life, duty=None)))
    assert "names no duty" in none and "(22 000 h)" not in none


def test_bare_life_has_no_figures_and_no_tables(cup: Assessment) -> None:
    bare = invented_life(items=(), courses=(), points=(), profile=None, life_map=None, parked=None, duty=None)
    section = life_section(cup, bare)
    assert life_figures(cup, bare) == () and "<table" not in section and "<figure" not in section
    assert "licensed practice" in section


def test_every_figure_stands_once_and_is_sound(cup: Assessment, life: Life) -> None:
    for found in (life, odd_life(), replace(life, duty=None)):
        section = life_section(cup, found)
        names = re.findall(r'\bid="([^"]+)"', section)
        assert len(names) == len(set(names))
        assert not re.search(r"\b(nan|inf|None)\b", section)
        ET.fromstring(f"<main>{section.replace('<small>', '').replace('</small>', '')}</main>")
        for figure in life_figures(cup, found):
            assert section.count(f'<figure id="{figure.key}">') == 1
            ET.fromstring(svg(figure.picture, WIDTH))
    assert life_section(cup, life) == life_section(cup, invented_life())


def test_odd_names_are_escaped(cup: Assessment) -> None:
    section = life_section(cup, odd_life())
    assert "<b>&quot;" not in section and '<b>"' not in section
    assert "&lt;b&gt;" in section


@pytest.mark.parametrize("kind", ["printed_cup", "three_lobes"])
def test_texts_stay_inside_and_clear_of_each_other(assessed: dict[str, Assessment], kind: str) -> None:
    for found in (invented_life(), odd_life(), invented_life(duty=None)):
        for figure in life_figures(assessed[kind], found):
            x0, y0, x1, y1 = figure.picture.view
            boxes = [(text.text, text_box(text)) for text in texts(figure.picture) if text.text]
            for word, box in boxes:
                assert x0 - 3 < box[0] and box[2] < x1 + 3, (figure.key, word)
                assert y0 <= box[1] + 3 and box[3] <= y1, (figure.key, word)
            for (one, a), (two, b) in itertools.combinations(boxes, 2):
                assert overlap(a, b) < 6.0, (figure.key, one, two)


def test_rim_is_closed_and_drawn_to_scale() -> None:
    course = invented_course("rim_root", "Root", "outside", 9.0)
    label, hoop = closed(course, 4200.0)
    assert (label[0], label[-1]) == (-180.0, 180.0) and hoop[0] == hoop[-1]
    assert hoop[:-1] == pytest.approx(course.stress_mpa[-1, :, 1])
    picture = rim_chart((course,), 4200.0, 2, WIDTH)
    drawn = next(
        i for i in opened(picture.items) if isinstance(i, Path) and i.line is Role.FLEXIBLE and len(i.loops[0]) > 9
    )
    x, y = np.array(drawn.loops[0]).T
    assert np.polyval(np.polyfit(label, x, 1), label) == pytest.approx(x, abs=1e-6)
    linear = np.polyfit(hoop, y, 1)
    assert np.polyval(linear, hoop) == pytest.approx(y, abs=1e-6)
    ticks = [t for t in texts(picture) if t.at[0] == 50.0]
    assert len(ticks) > 2
    for tick in ticks:
        assert np.polyval(linear, float(tick.text.replace("−", "-"))) == pytest.approx(tick.at[1] + 4.0, abs=1e-6)
    assert f"{hoop.max():.1f}" in words(picture) and "at rest" in words(picture)


def test_lobes_are_marked_all_round() -> None:
    assert lobe_labels(2) == (-180.0, 0.0, 180.0)
    assert lobe_labels(3) == (-120.0, 0.0, 120.0)
    course = invented_course("rim_root", "Root", "outside", 9.0)
    for lobes in (2, 3):
        assert [t.text for t in texts(rim_chart((course,), 4200.0, lobes, WIDTH))].count("lobe") == 3


def test_peak_beyond_the_solved_torques_is_said(cup: Assessment, life: Life) -> None:
    duty = invented_duty()
    hard = replace(duty, parts=(replace(duty.parts[0], peak_nmm=9000.0),))
    caption = next(f.caption for f in life_figures(cup, replace(life, duty=hard)) if f.key == "life-rim")
    assert "The duty goes to 9.00 N·m; the ring was solved no further than drawn" in caption
    assert "solved no further" not in next(f.caption for f in life_figures(cup, life) if f.key == "life-rim")


def test_cup_names_its_segments_at_their_borders() -> None:
    profile = invented_profile()
    assert [(name, start, end) for name, start, end in segments(profile)] == [
        ("diaphragm", 0.0, 14.0),
        ("corner", 14.0, 18.5),
        ("barrel", 18.5, 52.0),
        ("rim", 52.0, 64.0),
    ]
    kept = profile.arc_mm != 14.0
    gap = replace(
        profile,
        arc_mm=profile.arc_mm[kept],
        segment=tuple(name for name, keep in zip(profile.segment, kept, strict=True) if keep),
    )
    assert segments(gap)[0][2] == segments(gap)[1][1] == pytest.approx((13.0 + 14.0 + 4.5 / 14.0) / 2)
    picture = cup_chart(profile, WIDTH)
    text = words(picture)
    assert all(name in text for name in ("diaphragm", "corner", "barrel", "toothed rim", "boss", "open edge"))
    assert f"{profile.equivalent_mpa.max():.1f}" in text and f"{profile.alternating_mpa.max():.1f}" in text


def test_worst_place_is_the_one_with_the_shortest_life(life: Life) -> None:
    assert worst_point(life) is life.points[1]
    endless = [replace(one, duties=ENDLESS) for one in life.points]
    weak = replace(endless[0], safety={one: Span(0.1, 0.2, 0.3) for one in endless[0].safety})
    assert worst_point(replace(life, points=(endless[1], weak))) is weak
    assert worst_point(replace(life, points=())) is None


def test_sn_marks_stand_at_their_cycles_and_stress(life: Life) -> None:
    point = life.points[1]
    picture = sn_chart(point, WIDTH)
    items = list(opened(picture.items))
    curve = next(i for i in items if isinstance(i, Path) and i.line is Role.FLEXIBLE and not i.dash_px)
    n, s = drawn_curve(point.curve, 1e3, 1e7)
    x, y = np.array(curve.loops[0]).T
    to_x, to_y = np.polyfit(n[: len(x)], x, 1), np.polyfit(s[: len(y)], y, 1)
    discs = [i.centre for i in items if isinstance(i, Disc)]
    placed = [k for k in range(5) if point.cycles[k] > 0.0]
    assert len(discs) == len(placed)
    for k in placed:
        there = (np.polyval(to_x, np.log10(point.cycles[k])), np.polyval(to_y, np.log10(point.equivalent_mpa[k])))
        assert min(math.dist(there, disc) for disc in discs) < 1e-6
        assert few(float(point.cycles[k])).replace("\u00a0", " ") + " cycles" in words(picture)
    bars = [
        i for i in items if isinstance(i, Path) and i.line is Role.TOOTH_MARK and i.loops[0][0][0] == i.loops[0][1][0]
    ]
    tall = {round(abs(i.loops[0][1][1] - i.loops[0][0][1]), 6) for i in bars}
    assert tall == {round(2 * abs(to_y[0]) * math.log10(point.stress_spread), 6)}


def test_sn_hatches_what_no_test_reached(life: Life) -> None:
    point = life.points[1]
    picture = sn_chart(point, WIDTH)
    hatched = next(i for i in opened(picture.items) if isinstance(i, Path) and i.hatch is not None)
    left = min(x for x, _ in hatched.loops[0])
    ticks = {t.text: t.at[0] for t in texts(picture) if t.text.startswith("10") and t.at[1] < 52.0}
    assert left == pytest.approx(ticks["10⁶"], abs=1e-6)
    assert "beyond" in words(picture) and "every test" in words(picture)
    far = replace(point, curve=invented_curve(tested_to_cycles=1e9))
    assert "beyond" in words(sn_chart(far, WIDTH))


def test_sn_says_what_it_cannot_show(cup: Assessment) -> None:
    figure = next(f for f in life_figures(cup, odd_life()) if f.key == "life-sn")
    assert "Wedges at the bottom stand for steps with even less stress" in figure.caption
    assert "the mean stress alone is more than the line allows" in figure.caption
    assert "the 6 most harmful are numbered" in figure.caption
    assert "no room left" in words(figure.picture)
    usual = next(f for f in life_figures(cup, invented_life()) if f.key == "life-sn")
    assert "so not drawn: stand parked" in usual.caption


def test_endurance_limit_is_level_and_slope_is_a_slope() -> None:
    n, s = drawn_curve(invented_curve(beyond_slope=math.inf), 1e3, 1e8)
    assert s[-1] == pytest.approx(math.log10(8.5)) and n[-1] == pytest.approx(8.0)
    n, s = drawn_curve(invented_curve(), 1e3, 1e8)
    assert s[-1] == pytest.approx(math.log10(8.5) - 2.0 / 12.0)


def test_map_draws_endless_in_its_strip_and_nothing_above_the_axis(life: Life) -> None:
    found = life.life_map
    picture = map_chart(found, life.duty, WIDTH)
    text = words(picture)
    assert text.count("endless") == 3 and "peak 4.20 N·m" in text and "steady 3.60 N·m" in text
    assert all(f"at {v:g} rpm" in text for v in found.speed_rpm)
    assert "bearing of the generator endless" in picture.description.replace("\u00a0", " ")
    level = [
        item
        for item in opened(picture.items)
        if isinstance(item, Path) and item.line is Role.RING_B and len(item.loops[0]) == 2 and item.line_px == 2.4
    ]
    assert len(level) == 3 and all(one.loops[0][0][1] == one.loops[0][1][1] for one in level)
    calm = [
        item.loops[0]
        for item in opened(picture.items)
        if isinstance(item, Path)
        and item.line is Role.FLEXIBLE
        and len(item.loops[0]) == 2
        and item.loops[0][0][0] > 50.0
    ]
    assert (
        len(calm) == 3
    )  # up to 1 N·m the middle is endless, and so it is drawn; the key's sample stands left of 50 px
    torque = found.torque_nmm / 1000.0
    reach = 1.03 * torque[-1] / (WIDTH - 70.0 - 58.0)
    assert [(line[1][0] - 58.0) * reach for line in calm] == pytest.approx([torque[torque < 1.1][-1]] * 3)
    ring = [i for i in opened(picture.items) if isinstance(i, Path) and i.line is Role.FLEXIBLE and len(i.loops[0]) > 2]
    alive = int(np.isfinite(found.hours[0, 0, :, 1]).sum())
    assert [len(one.loops[0]) for one in ring] == [alive + 1] * 3
    assert "peak" not in words(map_chart(found, None, WIDTH))


def test_map_without_any_end_is_drawn_too(life: Life) -> None:
    found = replace(life.life_map, hours=np.full_like(life.life_map.hours, math.inf))
    picture = map_chart(found, life.duty, WIDTH)
    assert "ring endless; rollers endless" in picture.description.replace("\u00a0", " ")


def test_map_thins_many_speeds_and_says_so(cup: Assessment) -> None:
    assert drawn_speeds(invented_map()) == [0, 1, 2]
    assert drawn_speeds(invented_map((1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0))) == [0, 2, 4, 6]
    figure = next(f for f in life_figures(cup, odd_life()) if f.key == "life-map")
    assert "4 of 6 speeds are drawn" in figure.caption


def test_parked_tells_the_time_asked(life: Life) -> None:
    parked = life.parked
    low, middle, high = at_time(parked, parked.stress_left, 720.0)
    share = (720.0 * 60.0) ** -0.04
    assert (low, middle, high) == pytest.approx((share**1.7, share, share**0.6), rel=1e-3)
    assert "asked: 30 days" in words(parked_chart(parked, WIDTH))
    assert f"{100 * share:.0f} %" in words(parked_chart(parked, WIDTH))
    assert at_time(parked, parked.stress_left, 1e9) is None
    assert "asked" not in words(parked_chart(invented_parked(asked_hours=1e9), WIDTH))
    assert "asked" not in words(parked_chart(invented_parked(asked_hours=0.0), WIDTH))


def test_bars_are_to_scale_and_endless_runs_into_the_strip(life: Life) -> None:
    bars = life_bars(life)
    picture = bar_chart(bars, "times", "Life budget", WIDTH)
    drawn = [
        i.loops[0]
        for i in opened(picture.items)
        if isinstance(i, Path) and i.fill in (Role.FLEXIBLE_SOFT, Role.GENERATOR_SOFT)
    ]
    assert len(drawn) == len(bars)
    wide = [max(x for x, _ in bar) - min(x for x, _ in bar) for bar in drawn]
    assert wide[0] / wide[1] == pytest.approx(math.log(31.0 / 0.3) / math.log(48.0 / 3.1))
    strip = WIDTH - 20.0
    assert max(x for x, _ in drawn[2]) == strip and max(x for x, _ in drawn[3]) == strip
    assert min(x for x, _ in drawn[3]) > max(x for x, _ in drawn[1])
    text = words(picture)
    for bar in bars:
        assert fitted(bar.remark, 70) in text
    assert "2.7 (0.30 … 31)" in text and "not enough" in text


@pytest.mark.parametrize(("span", "way"), [(Span(0.0, 0.0, 0.0), -1), (Span(1e9, 1e10, 1e11), 1)])
def test_bars_beyond_the_scale_are_wedges_that_point_there(span: Span, way: int) -> None:
    usual = Bar("Usual", "ring", Span(0.5, 1.0, 2.0), "")
    picture = bar_chart((Bar("Far", "bearing", span, ""), usual), "times", "t", WIDTH)
    assert f"{few(span.middle)} ({band(span)})".replace("\u00a0", " ") in words(picture) and "endless" not in words(
        picture
    )
    wedges = [i.loops[0] for i in opened(picture.items) if isinstance(i, Path) and i.fill is Role.GENERATOR]
    assert len(wedges) == 1 and len(wedges[0]) == 3
    tip, *back = (x for x, _ in wedges[0])
    assert all((tip - x) * way > 0.0 for x in back)
    assert tip == (WIDTH - 14.0 if way > 0 else 14.0)


def test_many_bars_are_cut_to_the_weakest_and_the_caption_says_so(cup: Assessment, life: Life) -> None:
    item = next(one for one in life.items if isinstance(one, LifeItem))
    many = tuple(replace(item, title=f"Part {k}", duties=Span(k, k + 1.0, k + 2.0)) for k in range(1, 13))
    figure = life_figures(cup, replace(life, items=many))[0]
    text = words(figure.picture)
    assert "Part 8" in text and "Part 9" not in text and "the 8 weakest of 12" in figure.caption
    assert "cut where they leave" not in figure.caption
    far = (replace(item, duties=Span(1e-6, 1.0, 2.0)), item)
    assert "cut where they leave" in life_figures(cup, replace(life, items=far))[0].caption
    assert "Part 12" in life_section(cup, replace(life, items=many))
    assert "weakest of" not in life_figures(cup, life)[0].caption


def test_pictures_that_would_show_nothing_are_words(cup: Assessment, life: Life) -> None:
    items = tuple(replace(one, duties=ENDLESS) for one in life.items if isinstance(one, LifeItem))
    found = replace(life.life_map, hours=np.full_like(life.life_map.hours, math.inf))
    still = replace(life, items=items, life_map=found)
    assert not {"life-budget", "life-map"} & {figure.key for figure in life_figures(cup, still)}
    text = plain(life_section(cup, still))
    assert "up to 4.20 N·m and 30 rpm, even the low end of the band is endless: ring, rollers" in text
    assert "even the low end" not in plain(life_section(cup, life))
    long = replace(still, life_map=replace(found, hours=np.full_like(found.hours, 2e9)))
    assert "even the low end of the band is 2.0 × 10⁹ hours or more: ring" in plain(life_section(cup, long))
    assert "life-map" not in {figure.key for figure in life_figures(cup, long)}


def test_lives_above_the_axis_are_told(cup: Assessment, life: Life) -> None:
    hours = life.life_map.hours.copy()
    hours[1] = 1e9
    figure = next(
        f for f in life_figures(cup, replace(life, life_map=replace(life.life_map, hours=hours))) if f.key == "life-map"
    )
    assert "Above the picture at every torque: rollers." in figure.caption
    assert "Above the picture" not in next(f for f in life_figures(cup, life) if f.key == "life-map").caption


def test_ticks_are_round_and_named() -> None:
    assert decade_ticks(-1.0, 3.0) == ([-1.0, 0.0, 1.0, 2.0, 3.0], ["0.1", "1", "10", "100", "10³"])
    assert len(decade_ticks(0.0, 40.0)[0]) <= 9
    ticks, names = size_ticks(math.log10(4.0), math.log10(60.0))
    assert names == ["5", "10", "20", "50"] and ticks[1] == pytest.approx(1.0)


def test_names_find_free_places(life: Life) -> None:
    from lobewright.report.chart import Frame

    names = Names(Frame(0.0, 0.0, 400.0, 300.0, 0.0, 1.0, 0.0, 1.0))
    for _ in range(5):
        names.put((200.0, 150.0), "a name of some length")
    for one, two in itertools.combinations(names.taken, 2):
        assert overlap(one, two) == 0.0
    names.put((398.0, 298.0), "in the corner")
    x0, y0, x1, y1 = names.taken[-1]
    assert x0 > 0.0 and x1 < 400.0 and y0 > 0.0 and y1 < 300.0


def test_working_names_its_sources(cup: Assessment) -> None:
    item = LifeItem("x", "X", "ring", ENDLESS, 1.0, "bends", replace(WORKING, numbers="σ < 3"))
    section = life_section(cup, invented_life(items=(item,)))
    assert (
        "an invented equation" in section and "σ &lt; 3" in section and '<span class="flag">derived</span>' in section
    )


def test_the_page_lists_every_source_that_a_row_names(cup: Assessment, life: Life) -> None:
    first, *others = life.items
    assert not isinstance(first, NotMade) and "iso_281_2007" not in cup.source_keys
    asked = replace(life, items=(replace(first, working=Working("a", "1", ("iso_281_2007",))), *others))
    page = report_page(cup, None, lasting=asked)
    named = set(re.findall(r'href="#source-([a-z0-9_]+)"', page))
    assert "iso_281_2007" in named
    assert named <= set(re.findall(r'id="source-([a-z0-9_]+)"', page))
