"""The report page: self-contained, safe, complete, the same each time; its figures show what was computed."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import dataclass, replace
from html import escape, unescape
from html.parser import HTMLParser

import numpy as np
import pytest
import shapely

from lobewright.assessment.results import Assessment
from lobewright.assessment.run import assess
from lobewright.design.model import Cam, Design, OutlineTooth
from lobewright.picture.display import Group, Path, Text
from lobewright.picture.palette import PALETTE, Role, Theme
from lobewright.report import drive_scene as scene
from lobewright.report import figures, words
from lobewright.report.captions import drive_figure, more_figures
from lobewright.report.chart import round_ticks, tick_text
from lobewright.report.page import report_page
from lobewright.sources import all_sources
from lobewright.verdict import State, Verdict, Working

STAMP = "2031-05-04T10:20:00Z"
EVIL = "\"><script>alert(1)</script><img src=x onerror=alert(2)> & 'tick'"
VOID = {"meta", "path", "circle", "rect", "br"}


class Reader(HTMLParser):
    """Tags with their attributes, shown text, and whether every element is closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.crossed: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        if not self.open or self.open.pop() != tag:
            self.crossed.append(tag)

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def values(self, attribute: str) -> list[str]:
        return [attributes[attribute] for _, attributes in self.tags if attribute in attributes]


@dataclass(frozen=True)
class Offer:
    """A suggestion as the page takes it."""

    verdict: str
    sentence: str
    edits: tuple[()] = ()


@pytest.fixture(scope="module")
def pages(assessed: dict[str, Assessment]) -> dict[str, str]:
    return {kind: report_page(found, STAMP) for kind, found in assessed.items()}


def test_well_formed(drive: Assessment) -> None:
    reader = Reader(report_page(drive, STAMP))
    assert reader.crossed == [] and reader.open == []


def test_no_address_outside_the_page(pages: dict[str, str]) -> None:
    for page in pages.values():
        without_names = page.replace('xmlns="http://www.w3.org/2000/svg"', "")
        assert not re.search(r"https?:|//[a-z]|@import|\bsrc=|url\((?!#)", without_names)
        assert all(link.startswith("#") for link in Reader(page).values("href"))


def test_nothing_may_run_and_only_this_style(pages: dict[str, str]) -> None:
    page = pages["belt"]
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert style and policy
    digest = base64.b64encode(hashlib.sha256(style.group(1).encode()).digest()).decode()
    assert "default-src 'none'" in policy.group(1) and f"'sha256-{digest}'" in policy.group(1)
    reader = Reader(page)
    assert {"script", "link", "iframe", "object", "img"}.isdisjoint(tag for tag, _ in reader.tags)
    assert not any(name.startswith("on") or name == "style" for _, attributes in reader.tags for name in attributes)


def test_every_link_has_its_target_and_every_name_is_single(drive: Assessment) -> None:
    reader = Reader(report_page(drive, STAMP))
    names = reader.values("id")
    assert len(names) == len(set(names))
    assert {link[1:] for link in reader.values("href")} <= set(names)
    page = report_page(drive, STAMP)
    assert set(re.findall(r"url\(#([^)]+)\)", page)) <= set(names)
    for label in reader.values("aria-labelledby"):
        assert set(label.split()) <= set(names)


def test_same_bytes_but_for_the_stamp(assessed: dict[str, Assessment]) -> None:
    one = report_page(assessed["printed_cup"], STAMP)
    assert one == report_page(assess(assessed["printed_cup"].design), STAMP)
    assert one.replace(f" Made {STAMP}.", "") == report_page(assessed["printed_cup"], None)


def test_every_verdict_is_there_with_its_word(drive: Assessment) -> None:
    page = report_page(drive, STAMP)
    for verdict in drive.verdicts:
        row = page.split(f'<tr id="check-{verdict.name}">', 1)[1].split("</tr>", 1)[0]
        shown = Reader(f"<table>{row}</table>").text
        assert shown.startswith(verdict.state.value), verdict.name
        assert verdict.title in shown
        assert verdict.sentence[1:] in shown
        if verdict.value is not None:
            assert words.show(verdict.value, verdict.unit) in shown
        if verdict.state is not State.NOT_MADE:
            assert verdict.working.equation in shown


def test_worst_verdicts_stand_first(assessed: dict[str, Assessment]) -> None:
    found = assessed["printed_ring"]
    unasked = Verdict("ring_life", "Life of the flexible ring", State.NOT_MADE, "Not asked.", Working("none", ""))
    found = replace(found, verdicts=(unasked, *found.verdicts))
    states = [verdict.state for verdict in words.sorted_verdicts(found)]
    assert states[0] is State.FAIL and states[-1] is State.NOT_MADE
    assert len(states) == len(found.verdicts)


def test_every_source_key_is_known_and_told_in_full(drive: Assessment) -> None:
    registry = {source.key: source for source in all_sources()}
    page = report_page(drive, STAMP)
    shown = Reader(page).text
    for key in drive.source_keys:
        assert f'id="source-{key}"' in page
        assert registry[key].text in shown and registry[key].flag.label in shown


def test_every_headline_unfolds_to_equation_numbers_and_source(drive: Assessment) -> None:
    page = report_page(drive, STAMP)
    rows = page.split('<dl class="rows">', 1)[1].split("</dl>", 1)[0].split("<dt>")[1:]
    assert len(rows) >= 5
    for row in rows:
        assert "<details>" in row and "<i>How:</i>" in row and "<i>Put in:</i>" in row and "<i>Source:</i>" in row


def test_cautions_stand_before_the_numbers(drive: Assessment) -> None:
    page = report_page(drive, STAMP)
    for caution in drive.cautions:
        assert page.index(escape(caution)) < page.index("What it is")


def test_names_and_words_of_a_design_are_shown_never_run(assessed: dict[str, Assessment]) -> None:
    design = assessed["belt"].design
    step = design.duty[0].model_copy(update={"name": EVIL})
    reasons = {"ring_life": EVIL}
    change = {"name": EVIL[:80], "about": EVIL, "duty": (step,), "checks_not_expected": reasons}
    found = assess(design.model_copy(update=change))
    first = replace(found.verdicts[0], sentence=EVIL, title=EVIL, working=Working(EVIL, EVIL))
    found = replace(found, verdicts=(first, *found.verdicts[1:]), cautions=(EVIL,))
    page = report_page(found, EVIL, (Offer("ring_land:output", EVIL),))
    reader = Reader(page)
    assert "<script" not in page and "<img" not in page
    assert reader.crossed == [] and "onerror" not in {name for _, attributes in reader.tags for name in attributes}
    assert reader.text.count(EVIL) >= 10


def test_invented_designs_say_so(assessed: dict[str, Assessment]) -> None:
    assert "An invented example" in report_page(assessed["belt"], None)
    real = assess(assessed["belt"].design.model_copy(update={"about": "Stands on my bench."}))
    assert "An invented example" not in report_page(real, None)


def test_suggestions_stand_beside_their_verdict(assessed: dict[str, Assessment]) -> None:
    offer = Offer("flexible_strain", 'set flexible_ring.wall_mm = 1 & "more"')
    page = report_page(assessed["printed_ring"], None, (offer,))
    row = page.split('<tr id="check-flexible_strain">', 1)[1].split("</tr>", 1)[0]
    assert escape(offer.sentence) in row
    assert page.count(escape(offer.sentence)) == 1


def test_direction_in_words(assessed: dict[str, Assessment]) -> None:
    assert words.motion_sentence(assessed["belt"]) == (
        "50 turns of the wave generator make one turn of ring output, the other way round; ring base is held."
    )
    motion = assessed["belt"].design.motion.model_copy(update={"fixed": "flexible_ring", "read": "base"})
    turned = assess(assessed["belt"].design.model_copy(update={"motion": motion}))
    assert "51 turns of the wave generator make one turn of ring base, the same way round" in words.motion_sentence(
        turned
    )


def test_a_drive_that_binds_says_so(assessed: dict[str, Assessment]) -> None:
    design = assessed["belt"].design
    generator = design.generator.model_copy(update={"set_deflection_mm": 1.3})
    bad = assess(design.model_copy(update={"generator": generator}))
    assert bad.output_free_play_rad == 0
    shown = Reader(report_page(bad, None)).text
    assert "the drive binds, there is no free play" in shown
    assert "left of zero the teeth cut into the ring" in shown
    assert "overlaps" in shown
    assert re.search(r"\d checks? fails?", shown)


def test_design_is_echoed_whole(drive: Assessment) -> None:
    shown = Reader(report_page(drive, None)).text
    ring = drive.design.flexible_ring
    for key in type(ring).model_fields:
        assert key in shown
    for rigid in drive.design.rigid_ring:
        assert f"clearance_mm {rigid.clearance_mm:g} mm" in shown
    assert "outline_points" not in shown and "owned" not in shown


# --- figures ------------------------------------------------------------------------------------------------------


def test_cups_and_only_cups_show_both_edges(drive: Assessment) -> None:
    keys = [figure.key for figure in more_figures(drive)]
    assert ("edges1" in keys) == drive.design.is_cup
    assert {"mesh1", "cases", "land"} <= set(keys)


def all_items(items: tuple) -> list:
    """Every primitive, groups opened."""
    found = []
    for item in items:
        found.append(item)
        if isinstance(item, Group):
            found += all_items(item.items)
    return found


def test_bars_are_as_long_as_their_gaps(drive: Assessment) -> None:
    picture = figures.case_chart(drive, 480.0)
    told = [item.text for item in picture.items if isinstance(item, Text)]
    for mesh in drive.rings:
        for case in mesh.cases:
            assert figures.signed(case.smallest_gap_mm) in told
            assert case.case in told
    bars = [
        item for item in picture.items if isinstance(item, Path) and item.fill in (Role.RING_A_SOFT, Role.RING_B_SOFT)
    ]
    count = sum(len(mesh.cases) for mesh in drive.rings)
    names = list(dict.fromkeys(case.case for mesh in drive.rings for case in mesh.cases))
    gaps = [case.smallest_gap_mm for name in names for mesh in drive.rings for case in mesh.cases if case.case == name]
    lengths = [abs(bar.loops[0][1][0] - bar.loops[0][0][0]) for bar in bars[:count]]
    scale = lengths[0] / abs(gaps[0])
    assert lengths == pytest.approx([abs(gap) * scale for gap in gaps], rel=1e-9)


def test_close_up_gap_is_the_distance_of_the_checked_outlines(assessed: dict[str, Assessment]) -> None:
    """The drawn gap at the lobe cannot be less than the smallest over the turn, and reaches it where that is at the lobe."""
    found = assessed["belt"]
    mesh = found.rings[0]
    view = scene.close_up(mesh, found.set_shape, 0.0)
    nominal = mesh.cases[0]
    assert abs(nominal.at_label_deg) < 1.0
    assert view.gap_mm == pytest.approx(nominal.smallest_gap_mm, abs=2e-3)
    assert view.overlaps == ()


@pytest.mark.parametrize("share", [0.0, 0.3, 0.7, 1.0])
def test_teeth_drawn_anywhere_keep_the_clearance(drive: Assessment, share: float) -> None:
    label = share * np.pi / drive.design.lobes
    for mesh in drive.rings:
        view = scene.close_up(mesh, drive.set_shape, label)
        assert view.gap_mm > mesh.cases[0].smallest_gap_mm - 2e-3
        assert view.overlaps == ()


def test_whole_drawing_holds_every_tooth(drive: Assessment) -> None:
    index = scene.shown_first(drive)
    mesh = drive.rings[index]
    rigid, flexible = (item for item in scene.drive_items(drive, index)[:2] if isinstance(item, Path))
    for path, teeth in ((rigid, mesh.space.teeth), (flexible, mesh.flexible_teeth)):
        loop = np.asarray(path.loops[0])
        radius = np.hypot(*loop.T) - np.interp(
            np.arctan2(loop[:, 1], loop[:, 0]) % (2 * np.pi), *mean_radius(loop, teeth), period=2 * np.pi
        )
        assert int(np.sum((radius[:-1] < 0) & (radius[1:] >= 0))) == teeth
        assert shapely.is_valid(shapely.Polygon(loop))


def mean_radius(loop: np.ndarray, teeth: int) -> tuple[np.ndarray, np.ndarray]:
    """Middle between highest and lowest radius in each pitch, over polar angle."""
    angle, radius = np.arctan2(loop[:, 1], loop[:, 0]) % (2 * np.pi), np.hypot(*loop.T)
    edges = np.arange(teeth) * 2 * np.pi / teeth
    middle = []
    for edge in edges:
        near = np.abs((angle - edge + np.pi) % (2 * np.pi) - np.pi) < 1.1 * np.pi / teeth
        middle.append((radius[near].max() + radius[near].min()) / 2)
    return edges, np.asarray(middle)


def test_drawn_flexible_ring_stays_clear_of_generator_and_ring(drive: Assessment) -> None:
    index = scene.shown_first(drive)
    items = scene.drive_items(drive, index)
    rigid, flexible = items[0], items[1]
    body = shapely.Polygon(flexible.loops[0], [flexible.loops[1]])
    ring = shapely.Polygon(rigid.loops[1], [rigid.loops[0]])
    assert shapely.intersection(body, ring).area < 1e-3
    if isinstance(drive.design.generator, Cam):
        outside, _ = scene.cam_outlines(drive)
        bodies = [shapely.Polygon(outside)]
    else:
        radius = drive.setting.contact_radius_mm - drive.geometry.inner_offset_mm
        bodies = [shapely.Point(centre).buffer(radius, quad_segs=90) for centre in scene.wheel_centres(drive)]
    for generator in bodies:
        assert shapely.distance(generator.exterior, shapely.LinearRing(flexible.loops[1])) < 0.02
        assert shapely.intersection(generator, body).area < 0.02 * body.area / 10


def test_land_curve_ends_at_the_thinnest_land(drive: Assessment) -> None:
    text = " ".join(item.text for item in all_items(figures.land_chart(drive, 480.0).items) if isinstance(item, Text))
    for mesh in drive.rings:
        assert f"thinnest {mesh.space.least_land_mm:.3f} mm" in text


def test_texts_of_charts_stay_inside(drive: Assessment) -> None:
    """A rough box of each upright text, 0.56 em a letter, lies in the window."""
    pictures = [figure.picture for figure in (drive_figure(drive), *more_figures(drive))]
    for picture in pictures:
        x0, _, x1, _ = picture.view
        unit = (x1 - x0) / 480.0
        for item in all_items(picture.items):
            if not isinstance(item, Text) or item.angle_rad:
                continue
            wide = 0.56 * item.size_px * unit * len(item.text)
            left = item.at[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[item.anchor.value]
            assert left > x0 - 3 * unit and left + wide < x1 + 3 * unit, item.text


def test_colours_come_from_the_page(pages: dict[str, str]) -> None:
    for page in pages.values():
        body = page.split("</style>", 1)[1]
        assert not re.search(r'"#[0-9a-fA-F]{3,8}"', body)
    assert len(set(PALETTE[Theme.LIGHT].values())) == len(PALETTE[Theme.LIGHT])


@pytest.mark.parametrize(
    ("low", "high", "ticks"), [(0.0, 1.0, 6), (-3.2, 4.9, 5), (0.0, 0.047, 5), (48.0, 51.3, 4), (0.0, 100.0, 6)]
)
def test_ticks_are_round_and_inside(low: float, high: float, ticks: int) -> None:
    found = round_ticks(low, high)
    assert abs(len(found) - ticks) <= 1
    assert found[0] >= low - 1e-9 and found[-1] <= high + 1e-9
    step = found[1] - found[0]
    assert f"{step:.0e}"[0] in "125"


def test_tick_texts() -> None:
    assert [tick_text(value, 0.05) for value in (-0.05, 0.0, -0.0, 0.1)] == ["−0.05", "0.00", "0.00", "0.10"]
    assert tick_text(20.0, 10.0) == "20"
    assert unescape(escape("−")) == "−"


OUTLINE = ((-3.0, 0.0), (-2.2, 0.0), (-1.3, 3.0), (1.3, 3.0), (2.2, 0.0), (3.0, 0.0))


def edge_designs(assessed: dict[str, Assessment]) -> dict[str, Design]:
    """Designs at the ends of what a chart or a sentence must bear."""
    belt, ring, cup = (assessed[kind].design for kind in ("belt", "printed_ring", "printed_cup"))
    still = {"set_deflection_tolerance_mm": 0.0, "run_out_mm": 0.0}
    exact_belt = {
        "flexible_ring": belt.flexible_ring.model_copy(update={"length_tolerance_mm": 0.0}),
        "generator": belt.generator.model_copy(update=still),
        "process": belt.process.model_copy(update={"tolerance_mm": 0.0}),
    }
    held = belt.motion.model_copy(update={"fixed": "generator", "driven": "base", "read": "output"})
    return {
        "one case only": belt.model_copy(update=exact_belt),
        "generator held": belt.model_copy(update={"motion": held}),
        "land on the neutral line": ring.model_copy(
            update={"tooth": OutlineTooth(form="outline", file="own.csv", points=OUTLINE)}
        ),
        "loose cam": cup.model_copy(update={"generator": cup.generator.model_copy(update={"fit_mm": 1.5})}),
        "hardly in mesh": belt.model_copy(
            update={"generator": belt.generator.model_copy(update={"design_deflection_factor": 0.3})}
        ),
    }


@pytest.mark.parametrize(
    "name", ["one case only", "generator held", "land on the neutral line", "loose cam", "hardly in mesh"]
)
def test_designs_at_the_edge_give_a_whole_page(assessed: dict[str, Assessment], name: str) -> None:
    found = assess(edge_designs(assessed)[name])
    reader = Reader(report_page(found, None))
    assert reader.crossed == [] and reader.open == []
    assert not re.search(r"\b(nan|inf|None)\b", reader.text)
    assert sum(tag == "figure" for tag, _ in reader.tags) == 2 + len(more_figures(found))
    if name == "one case only":
        assert {len(mesh.cases) for mesh in found.rings} == {1}
    if name == "generator held":
        assert "Bends of the flexible ring" not in reader.text
    if name == "loose cam":
        assert found.set_shape.lifts_off
