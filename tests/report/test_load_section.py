"""Pictures of the drive under torque: their numbers are the results', their lengths are to scale, their bytes repeat."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from load_results import (
    computed,
    invented_bands,
    invented_cup_share,
    invented_loop,
    invented_skip,
    invented_transmission,
)
from opened_items import opened

from lobewright.assessment.headline import ARCMIN_PER_RAD
from lobewright.assessment.results import Assessment
from lobewright.picture.display import Disc, Path, Picture, Text
from lobewright.picture.palette import Role
from lobewright.report import load_bands, load_rose, load_round
from lobewright.report import load_figures as curves
from lobewright.report.load_figures import slope_nm, three
from lobewright.report.load_section import (
    ArmArrays,
    LoadPictures,
    load_figures,
    load_section,
    not_made_lines,
)
from lobewright.torque.results import LoadShare, Windup

WIDTH = 480.0
TORQUE = 1500.0


@pytest.fixture(scope="module")
def ring(assessed: dict[str, Assessment]) -> Assessment:
    return assessed["printed_ring"]


@pytest.fixture(scope="module")
def found(ring: Assessment) -> tuple[Windup, LoadShare]:
    return computed(ring, TORQUE)


@pytest.fixture(scope="module")
def loads(found: tuple[Windup, LoadShare]) -> LoadPictures:
    skip = invented_skip(found[1])
    return LoadPictures(
        *found,
        skip,
        needed_nmm=TORQUE,
        skip_low_nmm=8_000.0,
        skip_high_nmm=16_000.0,
        transmission=invented_transmission(16),
        loop=invented_loop(),
        bands=invented_bands(),
        arms=ArmArrays(np.array([300.0, 1000.0, 10_000.0]), np.array([5e3, 12e3, 20e3]), 1000.0),
    )


def words(picture: Picture) -> str:
    return " | ".join(item.text for item in opened(picture.items) if isinstance(item, Text))


def span(points: tuple[tuple[float, float], ...]) -> float:
    return math.dist(points[0], points[-1])


def test_three_figures() -> None:
    told = {0.0: "0", 9.996: "10.0", -0.0216: "−0.0216", 61.8159: "61.8", 2877.8: "2878", 999.96: "1000", 1e-15: "0"}
    assert {value: three(value) for value in told} == told


@given(st.floats(1e-6, 1e6))
def test_three_figures_are_within_half_of_the_third(value: float) -> None:
    assert float(three(value)) == pytest.approx(value, rel=0.0051)


@given(st.floats(1e-4, 1e6))
def test_bars_are_round_and_fit(most: float) -> None:
    step = load_rose.nice_step(most)
    assert most / 2.51 <= step <= most * (1 + 1e-9)
    assert f"{step:.0e}"[0] in "125"


def test_windup_says_the_numbers_of_the_result(found: tuple[Windup, LoadShare]) -> None:
    result, _ = found
    text = words(curves.windup_chart(result, WIDTH))
    assert f"free play {three(result.free_play_rad * ARCMIN_PER_RAD)}′" in text
    assert f"lost motion {three(result.lost_motion_rad * ARCMIN_PER_RAD)}′" in text
    for slope in result.stiffness_nmm_per_rad:
        assert f"| {three(slope_nm(slope))}" in text
    assert slope_nm(1000.0 * ARCMIN_PER_RAD) == pytest.approx(1.0)


def test_windup_curve_goes_through_the_results_points(found: tuple[Windup, LoadShare]) -> None:
    result, _ = found
    picture = curves.windup_chart(result, WIDTH)
    curve = next(
        i for i in opened(picture.items) if isinstance(i, Path) and i.line is Role.FLEXIBLE and i.line_px == 2.5
    )
    x, y = np.array(curve.loops[0]).T
    linear = np.polyfit(result.windup_rad, x, 1)
    assert np.polyval(linear, result.windup_rad) == pytest.approx(x, abs=1e-6)
    ticks = [i for i in opened(picture.items) if isinstance(i, Text) and i.at[1] == 52.0 - 19]
    assert len(ticks) > 2
    for tick in ticks:
        minutes = float(tick.text.replace("−", "-"))
        assert np.polyval(linear, minutes / ARCMIN_PER_RAD) == pytest.approx(tick.at[0], abs=1e-6)
    linear = np.polyfit(result.torque_nmm, y, 1)
    assert np.polyval(linear, result.torque_nmm) == pytest.approx(y, abs=1e-6)


def test_skip_marks_its_limit_and_what_gives_way(found: tuple[Windup, LoadShare]) -> None:
    skip = invented_skip(found[1])
    picture = curves.skip_chart(skip, WIDTH, needed_nmm=TORQUE, low_nmm=8_000.0, high_nmm=16_000.0)
    text = words(picture)
    assert "skips at 12.0 N·m, 85.9′" in text and "asked of it 1.50 N·m" in text and "band 8.00 to 16.0 N·m" in text
    band = next(i for i in opened(picture.items) if isinstance(i, Path) and i.fill is Role.GENERATOR_SOFT)
    ys = sorted({y for _, y in band.loops[0]})
    spot = next(i for i in opened(picture.items) if isinstance(i, Disc) and i.fill is Role.TOOTH_MARK).centre
    assert (spot[1] - ys[0]) / (ys[1] - ys[0]) == pytest.approx((12 - 8) / (16 - 8))
    assert "at least 12.0 N·m" in words(
        curves.skip_chart(replace(skip, lower_bound=True, gives_way="teeth break"), WIDTH)
    )


def test_skip_the_other_way_is_drawn_the_same(found: tuple[Windup, LoadShare]) -> None:
    skip = invented_skip(found[1])
    other = replace(
        skip,
        direction=-1,
        windup_rad=-skip.windup_rad,
        path_windup_rad=-skip.path_windup_rad,
        path_torque_nmm=-skip.path_torque_nmm,
    )
    assert curves.skip_chart(other, WIDTH) == curves.skip_chart(skip, WIDTH)


def test_retreat_shows_signs(found: tuple[Windup, LoadShare]) -> None:
    text = words(curves.retreat_chart(invented_skip(found[1]), WIDTH))
    assert "arms give | 0.310" in text and "rim bulges outward | −0.080" in text and "carrier shifts | 0.000" in text


def test_petals_hold_the_torque_of_their_ring(ring: Assessment, found: tuple[Windup, LoadShare]) -> None:
    """Places at the pitch height stand for the true places of contact, so only to a few hundredths."""
    _, share = found
    for row in share.rows:
        x, y, fx, fy = load_rose.tooth_pushes(row, ring.geometry.pitch_height_mm).T
        assert np.hypot(fx, fy) == pytest.approx(row.force_n, rel=1e-9, abs=1e-9)
        assert float(np.sum(x * fy - y * fx)) == pytest.approx(-share.member_torque_nmm[row.name], rel=0.04)


def test_petals_are_as_long_as_the_bar_says(ring: Assessment, found: tuple[Windup, LoadShare]) -> None:
    _, share = found
    for index, row in enumerate(share.rows):
        items = list(opened(load_rose.rose(ring, share, index, WIDTH).items))
        bar = next(i for i in items if isinstance(i, Path) and i.line is Role.INK and i.line_px == 3.0)
        newtons = float(next(i.text for i in items if isinstance(i, Text) and i.strong and i.text.endswith(" N"))[:-2])
        per_n = span(bar.loops[0]) / newtons
        drawn = []
        for item in items:
            # above the strip and its key stand only petals with such lines
            if not isinstance(item, Path) or item.loops[0][0][1] < load_rose.STRIP_PX + 30.0:
                continue
            points = item.loops[0]
            if len(points) == 4 and item.closed and item.line in (Role.TOOTH_MARK, Role.RING_B) and item.fill:
                drawn.append(math.dist(points[0], points[2]))
            if len(points) == 2 and item.line is Role.INK and item.line_px == 1.6:
                drawn.append(span(points))
        carried = row.force_n[row.force_n > load_rose.SHOWN_SHARE * row.force_n.max()]
        assert sorted(drawn) == pytest.approx(sorted(per_n * carried), rel=1e-9)
        assert f"{row.teeth_in_load} teeth carry" in words(load_rose.rose(ring, share, index, WIDTH))


def test_rollers_push_outward_and_balance_roughly(ring: Assessment, found: tuple[Windup, LoadShare]) -> None:
    _, share = found
    for index in range(2):
        pushes = load_rose.body_pushes(share, index)
        assert pushes[0, 0] > 0 > pushes[1, 0]
        assert np.hypot(*pushes.T) == pytest.approx(np.hypot(*share.body_force_n[:, index].T))


def test_a_turned_result_is_drawn_in_the_generators_frame(ring: Assessment, found: tuple[Windup, LoadShare]) -> None:
    _, share = found
    row = share.rows[0]
    turn = 0.7
    c, s = math.cos(turn), math.sin(turn)
    turned = replace(
        row,
        positions_mm=row.positions_mm @ np.array([[c, s], [-s, c]]),
        section_label_deg=np.mod(row.section_label_deg - math.degrees(turn) + 180.0, 360.0) - 180.0,
    )
    there = load_rose.loaded_line(turned).points_mm
    assert there == pytest.approx(load_rose.loaded_line(row).points_mm, abs=1e-9)


def test_outward_change_of_a_ring_that_only_grew(assessed: dict[str, Assessment]) -> None:
    a = assessed["printed_cup"]
    share = invented_cup_share(a)
    angle, change = load_rose.outward_change(share.rows[0], a.set_shape)
    assert np.all(np.diff(angle) >= 0.0)
    assert change == pytest.approx(0.002 * a.set_shape.radius_mm, rel=0.06)
    picture = load_rose.deformed_ring(a, share, WIDTH)
    times = float(re.search(r"change × (\d+)", words(picture)).group(1))
    loaded = next(i for i in opened(picture.items) if isinstance(i, Path) and i.line is Role.FLEXIBLE)
    rest = next(i for i in opened(picture.items) if isinstance(i, Path) and i.line is Role.QUIET)
    middle = (WIDTH / 2, WIDTH / 2 + 18.0)
    size = [np.hypot(*(np.array(item.loops[0]) - middle).T).mean() for item in (loaded, rest)]
    assert size[0] / size[1] == pytest.approx(1.0 + 0.002 * times, rel=2e-3)
    assert load_rose.magnification(0.374, 9.73) == 20.0


def test_sections_say_the_largest_numbers(ring: Assessment, found: tuple[Windup, LoadShare]) -> None:
    _, share = found
    picture = load_round.section_chart(ring, share, WIDTH)
    most = max(float(np.abs(v).max()) for row in share.rows for v in (row.inner_stress_mpa, row.outer_stress_mpa))
    assert f"{three(most)} MPa" in picture.description
    text = words(load_round.body_chart(ring, share, WIDTH))
    for force in np.hypot(share.body_force_n[..., 0], share.body_force_n[..., 1]).ravel():
        assert three(float(force)) in text
    assert "roller at 0° " in text and "roller at 180° " in text


def test_section_holds_every_figure_once_and_no_bad_number(ring: Assessment, loads: LoadPictures) -> None:
    page = load_section(ring, loads)
    names = re.findall(r'\bid="([^"]+)"', page)
    assert len(names) == len(set(names))
    for figure in load_figures(ring, loads):
        assert page.count(f'<figure id="{figure.key}">') == 1
    section = load_section(ring, loads)
    assert not re.search(r"\b(nan|inf|None)\b", section)
    assert "Not made" not in section
    assert "of ring output over" in section
    assert load_section(ring, loads) == section == load_section(ring, replace(loads))


def test_cup_has_one_rose_and_no_skew(assessed: dict[str, Assessment]) -> None:
    a = assessed["printed_cup"]
    keys = [figure.key for figure in load_figures(a, LoadPictures(share=invented_cup_share(a)))]
    assert keys == ["bodies", "rose1", "loaded-shape", "sections"]
    text = words(load_rose.rose(a, invented_cup_share(a), 0, WIDTH))
    assert all(place in text for place in ("left flank", "right flank", "tip", "land"))


def test_what_was_not_made_is_said(ring: Assessment, loads: LoadPictures) -> None:
    bare = LoadPictures(
        share=loads.share, not_made=(("skip torque", "the path was lost at <5 N·m>"), ("pinch", "a cam has none"))
    )
    section = load_section(ring, bare)
    assert "skip torque: the path was lost at &lt;5 N·m&gt;" in section
    assert "windup" in not_made_lines(bare) and "pinch: a cam has none" in not_made_lines(bare)
    assert len(not_made_lines(bare)) == 6
    assert load_section(ring, None) == ""


def test_texts_stay_inside(ring: Assessment, loads: LoadPictures, assessed: dict[str, Assessment]) -> None:
    cup = assessed["printed_cup"]
    figures = (*load_figures(ring, loads), *load_figures(cup, LoadPictures(share=invented_cup_share(cup))))
    for figure in figures:
        x0, y0, x1, y1 = figure.picture.view
        for item in opened(figure.picture.items):
            if not isinstance(item, Text):
                continue
            wide = 0.56 * item.size_px * len(item.text)
            left = item.at[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[item.anchor.value]
            assert left > x0 - 3 and left + wide < x1 + 3, (figure.key, item.text)
            assert y0 <= item.at[1] and item.at[1] + 0.7 * item.size_px <= y1, (figure.key, item.text)


def test_transmission_is_drawn_in_the_pieces_that_were_sampled() -> None:
    for places, pieces in ((1, 1), (16, 16)):
        found = invented_transmission(places)
        assert len(curves.sampled_pieces(found.generator_turn_rad)) == pieces
        picture = curves.transmission_chart(found, WIDTH)
        lines = [i for i in opened(picture.items) if isinstance(i, Path) and i.line is Role.FLEXIBLE]
        assert [len(one.loops[0]) for one in lines] == [12] * pieces
        assert f"spans {three(found.peak_to_peak_rad * ARCMIN_PER_RAD)} arc-minutes" in picture.description
    text = words(curves.spectrum_chart(invented_transmission(16), WIDTH))
    assert "2 ×" in text and "102 ×" in text and "204 ×" not in text


def test_bars_of_the_spectrum_are_as_high_as_the_amplitudes() -> None:
    found = invented_transmission(16)
    picture = curves.spectrum_chart(found, WIDTH)
    bars = [i.loops[0] for i in opened(picture.items) if isinstance(i, Path) and i.fill is Role.FLEXIBLE]
    high = np.array([max(y for _, y in bar) - min(y for _, y in bar) for bar in bars])
    assert len(high) == len(found.orders)
    assert high[1] / high[3] == pytest.approx(2.0)


def test_loop_shows_first_loading_apart_and_says_what_is_lost() -> None:
    picture = curves.hysteresis_chart(invented_loop(), WIDTH)
    runs = [i for i in opened(picture.items) if isinstance(i, Path) and not i.closed and len(i.loops[0]) > 2]
    assert [(one.line, len(one.loops[0])) for one in runs] == [
        (Role.QUIET, 21),
        (Role.FLEXIBLE, 41),
        (Role.FLEXIBLE, 41),
    ]
    assert "3.00 mJ" in picture.description and "3.44 arc-minutes" in picture.description


def test_bands_are_to_scale_and_name_what_widens_them() -> None:
    picture = load_bands.band_chart(invented_bands(), WIDTH)
    text = words(picture)
    assert "6.00 to 20.0 N·m or more" in text and "10.0 to 14.0 N" in text
    assert "70 % of it: the stiffness of the arms" in text
    bars = [i.loops[0] for i in opened(picture.items) if isinstance(i, Path) and i.fill is Role.GENERATOR_SOFT]
    wide = [max(x for x, _ in bar) - min(x for x, _ in bar) for bar in bars]
    assert wide[0] / wide[2] == pytest.approx(math.log(20 / 6) / math.log(14 / 10))


def test_nothing_carries_is_drawn_too(ring: Assessment, found: tuple[Windup, LoadShare]) -> None:
    share = found[1]
    none = np.zeros(len(share.rows[0].label_deg))
    free = replace(share.rows[0], force_n=none, tangential_n=none, outward_n=none, place=("",) * len(none))
    still = replace(share, rows=(free, free), body_force_n=0.0 * share.body_force_n)
    assert "0 teeth carry" in words(load_rose.rose(ring, still, 0, WIDTH))
