"""The drive as meshes: what the page gets, held against the parts as data and against the bent ring's levels."""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely

from lobewright import assess, read
from lobewright.errors import PlatformFault
from lobewright.make.assembling import assembled
from lobewright.make.flexible_as_set import BentRing
from lobewright.make.numbering import kind_of, part_numbers
from lobewright.web import solid as solids

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("azimuth_belt", "elevation_printed", "focus_steel")
pytestmark = pytest.mark.cad


@pytest.fixture(scope="module", params=NAMES)
def drive(request):
    a = assess(read(EXAMPLES / f"{request.param}.toml"))
    return a, *unpacked(solids.solid_of(a))


def unpacked(data: bytes) -> tuple[dict, dict[str, np.ndarray]]:
    """As the page does it."""
    size = int.from_bytes(data[:4], "little")
    head, at, arrays = json.loads(data[4 : 4 + size]), 4 + size, {}
    for one in head["arrays"]:
        arrays[one["name"]] = np.frombuffer(data, f"<{one['type']}", one["count"], at)
        at += 4 * one["count"]
    assert at == len(data), "the bytes end with the last array"
    return head, arrays


def surface(row: dict, arrays: dict[str, np.ndarray], corners: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Triangles (M, 3, 3) of a part from corners in space, and the first corners' normals (M, 3)."""
    wide = 6 if row["bent"] else 4
    words = arrays["bent" if row["bent"] else "stiff"].reshape(-1, wide)
    normals = np.ascontiguousarray(words[:, -1:]).view("i1")[:, :3] / 127
    own = arrays["triangles"][row["first"] : row["first"] + row["count"]].reshape(-1, 3)
    return corners[own], normals[own[:, 0]]


def test_every_stiff_part_has_its_volume_its_number_and_normals_that_look_outward(drive) -> None:
    a, head, arrays = drive
    placed = assembled(a)
    numbers = part_numbers(placed)
    corners = np.ascontiguousarray(arrays["stiff"].reshape(-1, 4)[:, :3]).view("<f4").astype(float)
    assert [row["name"] for row in head["parts"]] == [one.part.name for one in placed]
    for one, row in zip(placed, head["parts"], strict=True):
        assert row["number"] == numbers[kind_of(one.part)]
        assert len(row["places"]) == one.part.quantity
        if row["bent"]:
            continue
        triangles, normals = surface(row, arrays, corners)
        volume = np.einsum("ij,ij->i", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])).sum() / 6
        # A chord of 0.04 mm takes most, in share, from the smallest pins.
        assert volume == pytest.approx(one.part.body.volume_mm3, rel=0.06), row["name"]
        faces = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
        large = np.linalg.norm(faces, axis=1) > 1e-3
        assert (np.einsum("ij,ij->i", faces, normals)[large] > 0).all(), row["name"]


def set_on_the_line(head: dict, arrays: dict[str, np.ndarray], generator_rad: float, flexible_rad: float) -> np.ndarray:
    """What the graphics processor does with a corner of the ring, in the ring's own frame, (N, 4) with the share."""
    words = arrays["bent"].reshape(-1, 6)
    label, across, up, z, share = np.ascontiguousarray(words[:, :5]).view("<f4").astype(float).T
    label = label + flexible_rad - generator_rad
    line = arrays["line"].reshape(-1, 4).astype(float)
    place = np.mod(label / (2 * math.pi), 1.0) * len(line)
    k = np.minimum(place.astype(int), len(line) - 1)
    part = (place - k)[:, None]
    off = share[:, None] * ((1 - part) * line[k] + part * line[(k + 1) % len(line)])
    normal = label + off[:, 2]
    c, s = np.cos(normal), np.sin(normal)
    x = head["radius_mm"] * np.cos(label) + off[:, 0] + up * c - across * s
    y = head["radius_mm"] * np.sin(label) + off[:, 1] + up * s + across * c
    cg, sg = math.cos(generator_rad), math.sin(generator_rad)
    return np.column_stack((cg * x - sg * y, sg * x + cg * y, z))


@pytest.mark.parametrize("generator_rad", [0.0, 0.7, -40.0])
def test_the_ring_on_its_line_lies_on_the_levels_of_the_bent_ring(drive, generator_rad: float) -> None:
    a, head, arrays = drive
    turns = head["turns"]
    assert turns["generator"] == 1.0
    flexible = turns["flexible"] * generator_rad
    points = set_on_the_line(head, arrays, generator_rad, flexible)
    levels = BentRing(a, rim_levels=40, barrel_levels=40).at(generator_rad, flexible)
    low = levels[0].level
    here = points[np.abs(points[:, 2] - low.bottom_mm) < 1e-3]
    assert len(here) > 5 * a.design.flexible_ring.teeth
    off = shapely.distance(low.area.boundary, shapely.points(here[:, :2]))
    # A level stands for the middle of its height, its shape solved for its own deflection: a cup's edge lies off by that.
    # That of an open ring does not, and teeth that were sheared along the line instead of set on it would miss it by 0.0008 mm.
    assert off.max() < (0.01 if a.design.is_cup else 0.0007)
    teeth = a.design.flexible_ring.teeth
    wrong = set_on_the_line(head, arrays, generator_rad, flexible + math.pi / teeth)
    missed = shapely.distance(
        low.area.boundary, shapely.points(wrong[np.abs(wrong[:, 2] - low.bottom_mm) < 1e-3][:, :2])
    )
    assert missed.max() > 0.2, "half a tooth farther on it would be seen"


def test_members_turn_as_the_motion_says(drive) -> None:
    a, head, _ = drive
    assert head["turns"]["held"] == 0.0
    assert 1 / head["turns"]["output"] == pytest.approx(float(a.motion.ratio), rel=1e-12)


def test_a_few_megabytes_at_most(drive) -> None:
    _, head, arrays = drive
    assert sum(array.nbytes for array in arrays.values()) < 4e6
    assert len(head["parts"]) > 40


def test_without_the_mesh_library_it_says_what_to_install(monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "manifold3d", None)
    a = assess(read(EXAMPLES / "azimuth_belt.toml"))
    with pytest.raises(PlatformFault, match=r"lobewright\[cad\]"):
        solids.solid_of(a)


def test_a_fault_is_told_and_not_kept(monkeypatch) -> None:
    text = (EXAMPLES / "azimuth_belt.toml").read_text("utf-8")
    monkeypatch.setitem(sys.modules, "manifold3d", None)
    told = solids.solid(text, "azimuth_belt.toml", str(EXAMPLES))
    assert isinstance(told, dict) and told["ok"] is False and "cad" in told["faults"][0]["sentence"]
    monkeypatch.undo()
    assert isinstance(solids.solid(text, "azimuth_belt.toml", str(EXAMPLES)), bytes)


def test_the_page_gets_the_bytes_with_their_revision(client) -> None:
    answer = client.get("/api/solid")
    assert answer.status_code == 200 and answer.headers["content-type"] == "application/octet-stream"
    head, _ = unpacked(answer.content)
    assert head["name"] == "roof garden mirror, azimuth"
    assert answer.headers["lobewright-revision"] == str(client.get("/api/state").json()["open"]["revision"])


def test_a_drive_without_an_assembly_is_refused_in_words(client) -> None:
    driven = [
        {"place": f"motion.{key}", "value": value} for key, value in (("driven", "output"), ("read", "generator"))
    ]
    assert client.post("/api/edits", json={"edits": driven}).status_code == 200
    answer = client.get("/api/solid")
    assert answer.headers["content-type"] == "application/json" and answer.json()["ok"] is False
    assert "output is driven here" in answer.json()["faults"][0]["sentence"]
