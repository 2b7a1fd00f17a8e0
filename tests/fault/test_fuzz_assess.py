"""Any design that the reader accepts gives finite numbers or a sentence, never a traceback and never a NaN."""

from __future__ import annotations

import copy
import dataclasses
import json
import math
from typing import Any

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from lobewright.assessment.headline import headlines
from lobewright.assessment.run import assess
from lobewright.command_words import check_json, check_text
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.files import design_from_data
from lobewright.design.starters import KINDS, starter_data
from lobewright.errors import LobewrightError

STARTERS = [starter_data(kind) for kind in KINDS]
BEARINGS = [row.designation for row in catalogue.bearings()]
BELTS = [row.designation for row in catalogue.belt_profiles()]
MATERIALS = [row.name for row in catalogue.materials()]
TOOTH_KEYS = {
    "involute": {"pressure_angle_deg"},
    "trapezoid": {"half_angle_deg"},
    "double_arc": {"tangent_angle_deg", "convex_radius_factor", "concave_radius_factor"},
}
DEPTHS = {"addendum_factor", "dedendum_factor", "thickness_share", "tip_round_factor", "root_round_factor"}
GENERATOR_KEYS = {
    "design_deflection_factor",
    "set_deflection_mm",
    "set_deflection_tolerance_mm",
    "fit_mm",
    "fit_tolerance_mm",
}
GENERATOR_KEYS |= {"run_out_mm"}


def allowed_ranges() -> dict[str, tuple[float, float]]:
    """Allowed range of each numeric key, read off the schema (any of them where a key stands in several tables)."""
    ranges: dict[str, tuple[float, float]] = {}
    for table in m.Design.model_json_schema()["$defs"].values():
        for key, field in table.get("properties", {}).items():
            for choice in (field, *field.get("anyOf", ())):
                low = choice.get("minimum", choice.get("exclusiveMinimum"))
                high = choice.get("maximum", choice.get("exclusiveMaximum"))
                if low is not None and high is not None:
                    ranges[key] = (low, high)
    return ranges


RANGES = allowed_ranges()


def numbers_of(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    rows = data.items() if isinstance(data, dict) else enumerate(data)
    found: list[tuple[Any, ...]] = []
    for key, value in rows:
        if isinstance(value, (dict, list)):
            found += numbers_of(value, (*path, key))
        elif isinstance(value, (int, float)) and key != "schema_version":
            found.append((*path, key))
    return found


@st.composite
def designs(draw: st.DrawFn) -> dict[str, Any]:
    data = copy.deepcopy(draw(st.sampled_from(STARTERS)))
    ring, generator = data["flexible_ring"], data["generator"]
    if ring["kind"] != "belt" and draw(st.booleans()):
        form = draw(st.sampled_from(sorted(TOOTH_KEYS)))
        data["tooth"] = {"form": form}
        for key in sorted(DEPTHS | TOOTH_KEYS[form]):
            if draw(st.booleans()):
                data["tooth"][key] = draw(st.floats(*RANGES[key]))
    if draw(st.booleans()):
        old, teeth, more = ring["teeth"], draw(st.integers(16, 300)), draw(st.sampled_from((2, 2, 3, 4, 6)))
        for one in data["rigid_ring"]:
            one["teeth"] = teeth + (more if one["teeth"] != old else 0)
        ring["teeth"] = teeth
        if more % 2 and generator["kind"] in ("rollers", "cam"):
            generator["lobes"] = 3
            generator.update({"curve": "cosine"} if generator["kind"] == "cam" else {})
    for key in draw(st.lists(st.sampled_from(sorted(GENERATOR_KEYS)), max_size=3)):
        low, high = RANGES[key]
        generator[key] = draw(st.floats(low, min(high, low + 3)))
    if "bearing" in generator and draw(st.booleans()):
        generator["bearing"] = draw(st.sampled_from(BEARINGS))
    if ring["kind"] == "belt" and draw(st.booleans()):
        ring["designation"] = draw(st.sampled_from(BELTS))
    elif ring["kind"] == "belt" and draw(st.booleans()):
        profile = catalogue.belt_profile(ring["designation"])
        keys = ("tooth_height_mm", "total_thickness_mm", "cord_offset_mm")
        ring["measured"] = {key: getattr(profile, key) * draw(st.floats(0.8, 1.2)) for key in keys}
    elif ring["kind"] != "belt" and draw(st.booleans()):
        ring["material"] = draw(st.sampled_from(MATERIALS))
    for *path, key in draw(st.lists(st.sampled_from(numbers_of(data)), max_size=3)):
        at: Any = data
        for part in path:
            at = at[part]
        if isinstance(at[key], float):
            low, high = RANGES.get(key, (1.0, 1000.0))
            at[key] = float(min(high, max(low, at[key] * 10 ** draw(st.floats(-0.7, 0.7)))))
    return data


def every_number_is_finite(thing: Any, where: str) -> None:
    if isinstance(thing, float):
        assert math.isfinite(thing), where
    elif isinstance(thing, np.ndarray):
        assert np.isfinite(thing).all(), where
    elif isinstance(thing, (tuple, list)):
        for index, one in enumerate(thing):
            every_number_is_finite(one, f"{where}[{index}]")
    elif dataclasses.is_dataclass(thing):
        for field in dataclasses.fields(thing):
            every_number_is_finite(getattr(thing, field.name), f"{where}.{field.name}")


@settings(max_examples=30, derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))
@given(designs())
def test_finite_numbers_or_a_sentence(data: dict[str, Any]) -> None:
    try:
        design = design_from_data(data)
    except LobewrightError:
        assume(False)
        return
    try:
        found = assess(design)
    except LobewrightError as error:
        sentences = error.sentences()
        assert 1 <= len(sentences) <= 21
        assert all(fault.place and fault.allowed and fault.value for fault in error.faults), sentences
        return
    every_number_is_finite(found, "assessment")
    every_number_is_finite(headlines(found), "headlines")
    json.dumps(check_json(found, ()), allow_nan=False)
    assert "nan" not in check_text(found, ()).lower().split()
