"""Files kept by what they were made of, and parts laid on beds."""

from __future__ import annotations

import dataclasses
import os
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import shapely

from lobewright.errors import DesignFault
from lobewright.make import part_files
from lobewright.make.bodies import Body, Part, Slab, exact
from lobewright.make.cache import Cache, key_of
from lobewright.make.outlines import circle, polygon
from lobewright.make.part_files import Job, make_all
from lobewright.make.plates import Wanted, plates, write_plate
from lobewright.make.print_set import Allowance, printed

pytestmark = pytest.mark.cad


def box(name: str, x: float, y: float) -> Part:
    outer = exact(polygon([(0, 0), (x, 0), (x, y), (0, y)]))
    return Part(name, name, 1, Body((Slab(outer, (), 0.0, 2.0),)), "")


def test_a_key_tells_all_that_matters() -> None:
    part, allowance = box("a", 10.0, 5.0), Allowance()
    keys = {
        key_of(part, allowance),
        key_of(box("a", 10.0, 5.0 + 1e-12), allowance),
        key_of(part, Allowance(contour_mm=0.01)),
        key_of(dataclasses.replace(part, turned_over=True), allowance),
        key_of(part, None),
    }
    assert len(keys) == 5
    assert key_of(box("a", 10.0, 5.0), Allowance()) in keys
    with pytest.raises(TypeError, match="set has no fixed form"):
        key_of({1, 2})


def test_an_unchanged_part_is_taken_from_the_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache, jobs = Cache(tmp_path / "kept"), [Job(box("a", 9.0, 5.0), "a_print", "", Allowance())]
    ((_, first),) = make_all(jobs, map, cache)
    monkeypatch.setattr(part_files, "make", None)
    ((_, again),) = make_all(jobs, lambda work, rest: [work(one) for one in rest], cache)
    assert again.files == first.files and again.volume_mm3 == first.volume_mm3 == pytest.approx(90.0)
    assert again.mesh and first.mesh and np.array_equal(again.mesh.corners_mm, first.mesh.corners_mm)


def test_a_spoilt_entry_and_a_store_that_cannot_be_written_cost_only_time(tmp_path: Path) -> None:
    jobs = [Job(box("a", 9.0, 5.0), "a_print", "", Allowance())]
    cache = Cache(tmp_path / "kept")
    ((_, first),) = make_all(jobs, map, cache)
    (entry,) = cache.folder.iterdir()
    whole, kept = entry.read_bytes(), cache.get(entry.stem)
    for spoilt in (b"", whole[:100], whole[:60] + bytes(200) + whole[260:]):
        entry.write_bytes(spoilt)
        ((_, again),) = make_all(jobs, map, cache)
        assert again.files == first.files
    for at in range(0, len(whole), max(1, len(whole) // 150)):
        entry.write_bytes(whole[:at] + bytes([whole[at] ^ 0x5A]) + whole[at + 1 :])
        assert cache.get(entry.stem) in (None, kept)
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    ((_, again),) = make_all(jobs, map, Cache(blocked))
    assert again.files == first.files


def test_the_store_keeps_within_bounds_and_the_longest_unused_goes(tmp_path: Path) -> None:
    cache = Cache(tmp_path, most_bytes=25_000)
    for k in range(3):
        cache.put(f"{k}", {"data": os.urandom(10_000)})
        os.utime(tmp_path / f"{k}.zip", (k + 1, k + 1))
        if k == 1:
            assert cache.get("0") is not None
    cache.trim()
    assert cache.get("1") is None and cache.get("0") is not None and cache.get("2") is not None
    assert not list(tmp_path.glob("*.half"))


def wanted(*rows: tuple[str, float, float, int]) -> list[Wanted]:
    return [Wanted(name, printed(box(name, x, y), Allowance()), count) for name, x, y, count in rows]


def test_parts_lie_apart_on_the_bed_and_each_as_often_as_needed() -> None:
    rows = wanted(("a", 90.0, 40.0, 3), ("b", 30.0, 70.0, 4), ("c", 20.0, 20.0, 7))
    found = plates(rows, (200.0, 100.0))
    names = sorted(laid.name for plate in found for laid in plate.laid)
    assert names == ["a"] * 3 + ["b"] * 4 + ["c"] * 7
    area = 3 * 3600 + 4 * 2100 + 7 * 400
    assert len(found) == 2 and area > 20_000
    for plate in found:
        boxes = [shapely.box(b.x_mm, b.y_mm, b.x_mm + b.width_mm, b.y_mm + b.depth_mm) for b in plate.laid]
        for k, one in enumerate(boxes):
            assert shapely.box(0, 0, 200.0, 100.0).covers(one)
            assert all(one.distance(other) >= 5.0 - 1e-9 for other in boxes[:k])
    assert plates(rows, (200.0, 100.0)) == found
    with pytest.raises(DesignFault, match="a does not fit on the bed"):
        plates(rows, (80.0, 80.0))


def test_a_bed_holds_one_material() -> None:
    small = wanted(("a", 20.0, 20.0, 2), ("b", 20.0, 20.0, 1))
    rows = [
        dataclasses.replace(small[0], material="petg_printed"),
        dataclasses.replace(small[1], material="nylon_printed"),
    ]
    found = [(plate.material, [laid.name for laid in plate.laid]) for plate in plates(rows, (200.0, 200.0))]
    assert found == [("nylon_printed", ["b"]), ("petg_printed", ["a", "a"])]


def test_a_bed_holds_what_is_filled_alike(tmp_path: Path) -> None:
    """Else a part that bears load is sliced with the thin filling of what lies beside it."""
    small = wanted(("foot", 20.0, 20.0, 1), ("ring", 20.0, 20.0, 2))
    rows = [dataclasses.replace(small[0], solid=False), small[1]]
    found = plates(rows, (200.0, 200.0))
    assert [(plate.solid, {laid.name for laid in plate.laid}) for plate in found] == [
        (True, {"ring"}),
        (False, {"foot"}),
    ]
    write_plate(tmp_path / "plate.3mf", found[0], rows, "plate 1", "Print all of this plate: SOLID")
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(tmp_path / "plate.3mf"))
    assert reader.GetWarningCount() == 0
    told = model.GetMetaDataGroup().GetMetaDataByKey("", "Description")
    assert told.GetValue() == "Print all of this plate: SOLID"


def test_a_plate_is_read_with_its_objects_names_and_places(tmp_path: Path) -> None:
    round_ = Wanted(
        "disc", printed(Part("disc", "", 1, Body((Slab(exact(circle(5.0)), (), 0.0, 3.0),)), ""), Allowance()), 2
    )
    rows = [*wanted(("bar & <rod>", 10.0, 60.0, 3)), round_]
    (plate,) = plates(rows, (100.0, 100.0))
    path = tmp_path / "plate.3mf"
    write_plate(path, plate, rows, "plate 1")
    first = path.read_bytes()
    write_plate(path, plate, rows, "plate 1")
    assert path.read_bytes() == first
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    objects, items = model.GetMeshObjects(), model.GetBuildItems()
    assert objects.Count() == 2 and items.Count() == 5
    found = []
    while items.MoveNext():
        item = items.GetCurrent()
        low, high = _box(item)
        found.append((item.GetObjectResource().GetName(), *low, *high))
    laid = [(b.name, b.x_mm, b.y_mm, 0.0, b.x_mm + b.width_mm, b.y_mm + b.depth_mm) for b in plate.laid]
    for one, other in zip(sorted(found), sorted(laid), strict=True):
        assert one[0] == other[0] and one[1:6] == pytest.approx(other[1:6], abs=1e-4)


def _box(item: lib3mf.BuildItem) -> tuple[np.ndarray, np.ndarray]:
    """The corners of the box round a built item by its own transform, row vectors."""
    fields = np.array([list(row) for row in item.GetObjectTransform().Fields])
    points = np.array([list(vertex.Coordinates) for vertex in item.GetObjectResource().GetVertices()])
    points = points @ fields[:3] + fields[3]
    return points.min(axis=0), points.max(axis=0)
