"""Sheets of cheap measurements: loads that suit the design, lines that the workshop file takes, pages that print."""

import importlib.util
import math
import os
import re
import shutil

import numpy as np
import pytest

from lobewright.assessment.run import assess
from lobewright.bench.plan import nice, plans, ring_bending, ring_weight_g
from lobewright.bench.sheets import sheet, show, toml_lines, write_sheets
from lobewright.bench.words import WORDS
from lobewright.design.files import design_from_data, read_workshop
from lobewright.design.starters import starter_data
from lobewright.design.workshop import Workshop
from lobewright.errors import DesignFault
from lobewright.ring.beam import RingSection, solve_ring_loads
from lobewright.ring.geometry import ring_geometry
from lobewright.torque import measured
from lobewright.torque.measured import NEWTON_PER_GRAM, SQUEEZE

NASTY = '</style><script>window.hit=1</script><b onload="x">&'
KEYS = ("arm_push", "squeeze_test", "tooth_push", "stretch_test", "skew_test")
EVALUATE = {
    "squeeze_test": measured.bending_stiffness,
    "stretch_test": measured.axial_stiffness,
    "skew_test": measured.web_shear,
    "tooth_push": measured.tooth_stiffness,
    "arm_push": measured.arm_stiffness,
}


def design(kind: str = "belt", name: str = "greenhouse arm"):
    return design_from_data(starter_data(kind) | {"name": name})


def plan_of(key: str, kind: str = "belt"):
    return next(one for one in plans(design(kind)) if one.key == key)


def loss_mm(labels, forces, stiffness: float, radius: float) -> float:
    """Loss of height between label π/2 and −π/2 of a ring under forces, exactly."""
    section = RingSection(radius, stiffness, 1e7 * stiffness / radius**2)
    places = solve_ring_loads(section, labels, forces, nodes=240).load_positions_mm
    return 2.0 * radius - (places[0, 1] - places[1, 1])


@pytest.mark.parametrize(
    ("kind", "keys"),
    [
        ("belt", KEYS),
        ("printed_ring-rollers", ("arm_push", "squeeze_test")),
        ("printed_cup-rollers", ("arm_push",)),
        ("printed_cup-cam_plain", ()),
        ("metal_cup", ()),
    ],
)
def test_tests_fit_the_design(kind: str, keys: tuple[str, ...]) -> None:
    assert tuple(one.key for one in plans(design(kind))) == keys
    assert set(WORDS) == set(KEYS)


@pytest.mark.parametrize("key", KEYS)
def test_loads_are_even_and_the_shift_to_expect_grows(key: str) -> None:
    one = plan_of(key)
    loads = [row.load_g for row in one.rows]
    assert loads[0] == 0.0 and len(loads) == 6
    assert np.diff(loads) == pytest.approx(loads[1])
    assert max(loads) <= 10_000.0
    middles = [row.middle_mm for row in one.rows]
    assert middles == sorted(middles) and middles[-1] > middles[0]
    for row in one.rows:
        assert row.least_mm <= row.middle_mm <= (math.inf if row.most_mm is None else row.most_mm)
    # the gauge tells the steps apart
    assert one.shift_resolution_mm < 0.55 * (middles[-1] - middles[0]) / 5


@pytest.mark.parametrize("kind", ["belt", "printed_ring-rollers"])
def test_squeeze_loads_take_one_to_five_percent_of_the_diameter_beyond_its_own_weight(kind: str) -> None:
    made = design(kind)
    radius, stiffness = ring_geometry(made).neutral_radius_mm, ring_bending(made).middle
    one = plan_of("squeeze_test", kind)
    up = [math.pi / 2, -math.pi / 2]
    for row, share in zip(one.rows[1:], (0.01, 0.02, 0.03, 0.04, 0.05), strict=True):
        force = NEWTON_PER_GRAM * row.load_g
        assert loss_mm(up, [[0.0, -force], [0.0, force]], stiffness, radius) / (2 * radius) == pytest.approx(
            share, rel=0.3
        )
        total = force + 0.5 * NEWTON_PER_GRAM * ring_weight_g(made)
        exact = loss_mm(up, [[0.0, -total], [0.0, total]], stiffness, radius)
        assert row.middle_mm == pytest.approx(exact, rel=5e-3)


@pytest.mark.parametrize(("name", "teeth"), [("C3M", 200), ("C2M", 250), ("T5", 120), ("MXL", 200), ("AT5", 100)])
def test_a_belt_too_long_to_stand_is_replaced_by_a_shorter_one(name: str, teeth: int) -> None:
    made = design()
    ring = made.flexible_ring.model_copy(update={"designation": name, "teeth": teeth})
    made = made.model_copy(update={"flexible_ring": ring})
    one = next(p for p in plans(made) if p.key == "squeeze_test")
    used = one.figures["teeth"]
    assert used < teeth
    diameter = used * ring_geometry(made).length_mm / teeth / math.pi
    assert 0.005 < one.rows[0].middle_mm / diameter < 0.035
    assert one.rows[-1].middle_mm < one.stop_mm == pytest.approx(0.15 * diameter)
    assert math.isfinite(one.rows[-1].least_mm)
    assert f"Take a shorter belt of this profile, {used} teeth" in sheet(made, one)


def test_a_rings_own_weight_lowers_its_top_as_half_of_it_laid_on_top() -> None:
    radius, stiffness, weight = 47.7, 231.0, 1e-4
    labels = np.concatenate(([math.pi / 2, -math.pi / 2], 2.0 * math.pi * (np.arange(96) + 0.5) / 96))
    forces = np.zeros((98, 2))
    forces[1, 1], forces[2:, 1] = weight, -weight / 96
    expected = 0.5 * SQUEEZE * weight * radius**3 / stiffness
    assert loss_mm(labels, forces, stiffness, radius) == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize(("kind", "key"), [("belt", key) for key in KEYS] + [("printed_ring-rollers", "squeeze_test")])
def test_lines_of_a_sheet_go_into_the_workshop_file_and_give_the_middle_back(tmp_path, kind: str, key: str) -> None:
    one = plan_of(key, kind)
    path = tmp_path / "workshop.toml"
    shifts = ", ".join(f"{row.middle_mm:.6f}" for row in one.rows)
    filled = re.sub(r"shift_mm = \[.*?\]", f"shift_mm = [{shifts}]", toml_lines(one))
    path.write_text(f"schema_version = 1\n{filled}", "utf-8")
    (test,) = getattr(read_workshop(path), key)
    assert EVALUATE[key](test).middle == pytest.approx(one.stiffness.middle, rel=5e-3)


def test_lines_pasted_without_readings_are_refused(tmp_path) -> None:
    path = tmp_path / "workshop.toml"
    path.write_text("schema_version = 1\n" + toml_lines(plan_of("squeeze_test")), "utf-8")
    with pytest.raises(DesignFault, match=r"squeeze_test\[1\].shift_mm: the shift does not grow with the load"):
        read_workshop(path)


def test_earlier_readings_narrow_the_next_sheet() -> None:
    made = design()
    one = plan_of("arm_push")
    shifts = tuple(row.middle_mm / 2 for row in one.rows)
    data = {
        "generator": made.generator.kind,
        "bearing": made.generator.bearing,
        "load_g": tuple(row.load_g for row in one.rows),
        "shift_mm": shifts,
        "load_resolution_g": 10.0,
        "shift_resolution_mm": 1e-3,
    }
    owned = Workshop.model_validate({"schema_version": 1, "arm_push": (data,)})
    again = plans(made.model_copy(update={"owned": owned}))[0]
    assert again.stiffness.measured and again.stiffness.middle == pytest.approx(2 * one.stiffness.middle, rel=1e-6)
    assert again.stiffness.log_spread < 0.2 * one.stiffness.log_spread
    assert "from your earlier readings" in sheet(made, again)


@pytest.mark.parametrize(("value", "round_one"), [(1.0, 1.0), (0.0137, 0.015), (9.4, 10.0), (270.0, 250.0), (3.6, 4.0)])
def test_nice_loads(value: float, round_one: float) -> None:
    assert nice(value) == pytest.approx(round_one)


def test_numbers_are_shown_without_exponents() -> None:
    assert [show(one) for one in (0.0, 0.01234, 9.5, 231.04, 180_000.0)] == [
        "0",
        "0.0123",
        "9.50",
        "231",
        "180\u202f000",
    ]


def test_sheets_are_written_where_they_are_asked_for_and_nowhere_else(tmp_path) -> None:
    paths = write_sheets(assess(design()), tmp_path / "measure")
    assert [path.name for path in paths] == [f"{key}.html" for key in KEYS]
    assert sorted(path.name for path in (tmp_path / "measure").iterdir()) == sorted(path.name for path in paths)
    assert write_sheets(assess(design("metal_cup")), tmp_path / "none") == []
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("key", KEYS)
def test_a_sheet_asks_for_nothing_and_runs_nothing(key: str) -> None:
    made = design(name=NASTY)
    one = next(p for p in plans(made) if p.key == key)
    text = sheet(made, one)
    assert text == sheet(made, one)
    assert "<script" not in text and "&lt;script" in text and 'onload="x"' not in text
    assert "default-src 'none'" in text
    assert not re.search(r"(?:src|href)=|url\((?!#)", text)
    assert "{stop}" not in text
    for caution in WORDS[key].cautions:
        assert caution in text


# --- in a browser -------------------------------------------------------------------------------------------------


def missing(what: str) -> None:
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what} is not installed, and in CI the sheets must be printed")
    pytest.skip(f"{what} is not installed: the sheets are not printed here")


@pytest.mark.browser
def test_every_sheet_prints_on_one_page_with_a_true_rule(tmp_path) -> None:
    chromium = shutil.which("chromium")
    if importlib.util.find_spec("playwright") is None:
        missing("playwright")
    if chromium is None:
        missing("chromium")
    from playwright.sync_api import sync_playwright

    long = "a drive with a long name of eighty letters that somebody gave it in the workshop"
    paths = write_sheets(assess(design(name=long)), tmp_path)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": 900, "height": 1200}, color_scheme="dark")
        for path in paths:
            page.goto(path.as_uri())
            # 150 mm of rule in CSS pixels, 96 an inch
            box = page.evaluate(
                "() => { const b = document.querySelector('svg').getBoundingClientRect(); return b.width }"
            )
            assert box == pytest.approx(182.0 * 96.0 / 25.4, abs=0.1)
            assert (
                page.evaluate("getComputedStyle(document.querySelector('main')).backgroundColor")
                == "rgb(255, 255, 255)"
            )
            wide = page.evaluate("document.querySelector('table').getBoundingClientRect().right")
            assert wide <= page.evaluate("document.querySelector('.two').getBoundingClientRect().right") + 0.5
            printed = page.pdf(prefer_css_page_size=True)
            assert len(re.findall(rb"/Type\s*/Page[^s]", printed)) == 1
        browser.close()
