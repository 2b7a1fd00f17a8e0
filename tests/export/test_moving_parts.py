"""Generator parts, flexible parts and trial pieces, measured on what was written."""

from __future__ import annotations

import math
from collections.abc import Callable

import ezdxf
import numpy as np
import pytest
import shapely
import trimesh
from export_drives import PRINTER, Made, arcs_to_points

from lobewright.design import catalogue
from lobewright.design.holding import axle
from lobewright.make.parts_generator import cam_curve_mm
from lobewright.make.trial import trial_parts

pytestmark = pytest.mark.cad

ISO_273_FINE = {"M5": 5.3, "M8": 8.4, "M10": 10.5}
DRIVES = ["belt", "discs", "two_rows", "cup", "steel"]


@pytest.mark.parametrize("drive", DRIVES)
def test_every_mesh_is_closed_lies_on_the_bed_and_has_its_volume(made: Callable[[str], Made], drive: str) -> None:
    one = made(drive)
    for row in one.rows:
        assert row.volume_mm3 == pytest.approx(row.expected_volume_mm3, rel=0.002)
        for file in row.files:
            assert (one.folder / file).stat().st_size > 0
            if file.endswith(".stl"):
                found = trimesh.load_mesh(one.folder / file)
                assert found.is_watertight and found.body_count == 1
                assert found.volume == pytest.approx(row.expected_volume_mm3, rel=0.002)
                assert found.bounds[0][2] == pytest.approx(0.0, abs=1e-5)
    folders = {row.folder for row in one.rows}
    assert folders == ({"nominal", "trial_sector"} if drive == "steel" else {"nominal", "print", "trial_sector"})


def test_axle_holes_stand_where_the_setting_puts_the_rollers(made: Callable[[str], Made]) -> None:
    one = made("belt")
    setting = one.assessment.setting
    drawing = ezdxf.readfile(one.file("carrier", ".dxf"))
    circles = [(hole.dxf.center.vec2, 2 * hole.dxf.radius) for hole in drawing.modelspace().query("CIRCLE")]
    # Reamed to the screw, so that the deflection is what it is set to.
    axles = [place for place, size in circles if abs(size - 5.0) < 1e-9]
    wanted = [lobe + sign * setting.half_angle_rad for lobe in (0, math.pi) for sign in (1, -1)]
    assert len(axles) == 4
    for angle in wanted:
        x, y = setting.distance_mm * math.cos(angle), setting.distance_mm * math.sin(angle)
        assert min(math.hypot(x - place.x, y - place.y) for place in axles) < 1e-9
    assert sorted(size for _, size in circles) == pytest.approx([5.0] * 4 + [8.0])
    # The plate stays inside the bent ring everywhere.
    (outline,) = drawing.modelspace().query('LWPOLYLINE[layer=="OUTLINE"]')
    plate = shapely.Polygon(arcs_to_points([tuple(row) for row in outline.get_points("xyb")]))
    shape, inner = one.assessment.set_shape, one.assessment.geometry.inner_offset_mm
    ring = shapely.Polygon(np.column_stack((shape.x_mm, shape.y_mm))).buffer(-inner - 0.9)
    assert ring.contains(plate)


@pytest.mark.parametrize("bearing", ["625", "608", "607", "6000", "6001"])
def test_the_axle_fills_the_bore_or_gets_a_sleeve(bearing: str) -> None:
    row = catalogue.bearing(bearing)
    held = axle(row)
    if held.sleeve:
        assert row.bore_mm - held.hole_mm >= 2.4 - 1e-9
    else:
        assert held.bolt.diameter_mm == row.bore_mm
        assert held.hole_mm == ISO_273_FINE[held.bolt.size]


def test_a_sleeve_is_made_where_bolt_and_bore_differ(made: Callable[[str], Made]) -> None:
    sleeve = made("two_rows").row("axle_sleeve")
    assert sleeve.quantity == 2
    assert sleeve.size_mm[0] == pytest.approx(7.0, abs=0.01)


@pytest.mark.parametrize(("drive", "loose"), [("steel", False), ("cup", True)])
def test_the_cam_stands_off_the_bent_neutral_line_by_wall_and_bearing(
    made: Callable[[str], Made], drive: str, loose: bool
) -> None:
    one = made(drive)
    shape = one.assessment.set_shape
    generator, geometry = one.assessment.design.generator, one.assessment.geometry
    neutral = shapely.Polygon(np.column_stack((shape.x_mm, shape.y_mm)))
    inward = geometry.inner_offset_mm + generator.race_height_mm
    drawing = ezdxf.readfile(one.file("cam", ".dxf"))
    (outline,) = drawing.modelspace().query('LWPOLYLINE[layer=="OUTLINE"]')
    points = arcs_to_points([tuple(row) for row in outline.get_points("xyb")])
    off = shapely.distance(shapely.points(points), neutral.exterior) - inward
    # The set shape is sampled by straight pieces of about half a millimetre: up to 2 µm of bow.
    lobes = np.abs(points[:, 1]) < 1.0
    assert np.abs(off[lobes]).max() < 0.005 and off.min() > -0.005
    assert (off.max() > 0.05) if loose else (off.max() < 0.005)
    assert one.row("cam").fit_error_mm <= 0.002


def test_a_cosine_cam_has_its_lobes_and_its_offset() -> None:
    from lobewright.ring.generator import Contact, Setting

    setting = Setting(Contact.COSINE, 3, 0.0, 0.0, 0.0, 30.0, 0.5)
    curve = cam_curve_mm(setting, 2.0, 720)
    u = np.linspace(0, 2 * math.pi, 6000)
    r = 30 + 0.5 * np.cos(3 * u)
    neutral = shapely.LinearRing(np.column_stack((r * np.cos(u), r * np.sin(u))))
    off = shapely.distance(shapely.points(curve), neutral)
    assert off == pytest.approx(np.full(len(curve), 2.0), abs=1e-4)
    assert math.atan2(curve[-1, 1], curve[-1, 0]) == pytest.approx(math.pi / 3)


def test_the_double_eccentric_carries_each_disc_off_the_axis(made: Callable[[str], Made]) -> None:
    one = made("discs")
    found = trimesh.load_mesh(one.file("eccentric", ".stl"))
    off, top = one.assessment.setting.distance_mm, found.bounds[1][2]
    bearing = catalogue.bearing("61804")
    for height, sign in ((0.2 * top, 1), (0.8 * top, -1)):
        cut = trimesh.intersections.mesh_plane(found, [0, 0, 1], [0, 0, height])[:, :, :2].reshape(-1, 2)
        low, high = cut.min(axis=0), cut.max(axis=0)
        assert (low[0] + high[0]) / 2 == pytest.approx(sign * off, abs=0.005)
        assert high[1] - low[1] == pytest.approx(bearing.bore_mm, abs=0.01)
    disc = one.row("disc")
    assert disc.quantity == 2 and disc.size_mm[0] == pytest.approx(38.0, abs=0.01)


def test_the_flexible_ring_is_round_and_has_its_wall(made: Callable[[str], Made]) -> None:
    one = made("discs")
    geometry, outline = one.assessment.geometry, one.assessment.rings[0].outline
    found = trimesh.load_mesh(one.file("flexible_ring", ".stl"))
    radius = np.hypot(found.vertices[:, 0], found.vertices[:, 1])
    assert radius.min() == pytest.approx(geometry.inner_radius_mm, abs=0.004)
    assert radius.max() == pytest.approx(geometry.neutral_radius_mm + outline.tip_height_mm, abs=0.03)
    outer = radius[radius > geometry.neutral_radius_mm]
    assert outer.min() == pytest.approx(geometry.neutral_radius_mm + geometry.land_height_mm, abs=0.06)
    # Where a tooth stands, its outline is met; every tooth alike.
    points = found.vertices[(found.vertices[:, 2] < 1e-6) & (radius > geometry.neutral_radius_mm)][:, :2]
    step = 2 * math.pi / outline.teeth
    folded = (np.arctan2(points[:, 1], points[:, 0]) + step / 2) % step - step / 2
    r = np.hypot(*points.T)
    x, y = r * np.sin(folded), r * np.cos(folded) - geometry.neutral_radius_mm
    on_tooth = y > outline.land_height_mm + 0.1
    assert on_tooth.sum() > 10 * outline.teeth
    line = shapely.LineString(outline.points_mm)
    assert shapely.distance(shapely.points(x[on_tooth], y[on_tooth]), line).max() < 0.0025


def test_the_cup_stands_open_edge_up_to_print_and_down_in_the_model(made: Callable[[str], Made]) -> None:
    one = made("cup")
    cup, inner = one.assessment.design.flexible_ring, one.assessment.geometry.inner_radius_mm
    tip = one.assessment.geometry.neutral_radius_mm + one.assessment.rings[0].outline.tip_height_mm
    for folder, by in (("nominal", 0.0), ("print", PRINTER["xy_compensation_mm"])):
        found = trimesh.load_mesh(one.file("flexible_cup", ".stl", folder))
        assert found.extents[2] == pytest.approx(cup.length_mm, abs=1e-5)
        z = found.vertices[:, 2] if folder == "nominal" else cup.length_mm - found.vertices[:, 2]
        radius = np.hypot(found.vertices[:, 0], found.vertices[:, 1])
        toothed = radius > inner + cup.barrel_wall_mm + 0.4
        assert z[toothed].min() == pytest.approx(0.0, abs=1e-5)
        assert z[toothed].max() == pytest.approx(cup.width_mm, abs=1e-5)
        assert radius.max() == pytest.approx(tip - by, abs=0.03)
        assert radius.min() == pytest.approx(cup.bore_mm / 2 + by, abs=1e-3)
        floor = z[(radius > cup.boss_diameter_mm / 2 + 0.5) & (radius < inner - cup.corner_radius_mm - 0.2)]
        # Below the floor lie the face on the bed and the two layers that are taken in there.
        floor = floor[floor < cup.length_mm - 2 * PRINTER["layer_mm"] - 1e-5]
        assert len(floor) == 0 or np.allclose(floor, cup.length_mm - cup.diaphragm_mm)


def test_a_steel_cup_is_a_model_for_the_machinist_only(made: Callable[[str], Made]) -> None:
    row = made("steel").row("flexible_cup")
    assert [file.rsplit(".", 1)[1] for file in row.files] == ["step"]
    assert "machinist" in row.note
    # 7.85 g/cm³ is the usual density of steel.
    assert row.mass_g == pytest.approx(row.volume_mm3 * 7.85e-3, rel=0.01)


@pytest.mark.parametrize("drive", DRIVES)
def test_trial_pieces_print_in_minutes(made: Callable[[str], Made], drive: str) -> None:
    one = made(drive)
    rows = [row for row in one.rows if row.folder == "trial_sector"]
    assert sum(row.print_minutes for row in rows) < 20.0
    names = {row.name for row in rows}
    sectors = {f"ring_{ring.name}_sector" for ring in one.assessment.design.rigid_ring}
    assert names == (sectors if drive == "belt" else sectors | {"flexible_teeth"})
    whole = {part.name: part.body.volume_mm3 for part in trial_parts(one.assessment)}
    for row in rows:
        # Beads of 0.42 mm × 0.2 mm between 20 (all wall) and 41 mm/s, and a second for each of 20 layers.
        seconds, volume = 60 * row.print_minutes - row.size_mm[2] / 0.2, whole[row.name]
        # Chords inside hollow arcs add up to half a percent.
        assert volume / 0.084 / 41.0 < seconds < 1.005 * volume / 0.084 / 20.0
        if drive == "belt":
            assert "your belt" in row.note
    for ring in one.assessment.rings:
        found = trimesh.load_mesh(one.file(f"ring_{ring.name}_sector", ".stl", "trial_sector"))
        angle = np.arctan2(found.vertices[:, 1], found.vertices[:, 0])
        assert math.degrees(np.ptp(angle)) == pytest.approx(40.0, abs=180 / ring.space.teeth + 0.1)


def test_a_large_trial_sector_is_cut_down_to_its_time(made: Callable[[str], Made]) -> None:
    from dataclasses import replace

    from lobewright.make import trial

    a = made("belt").assessment
    ring, mesh = a.design.rigid_ring[0], a.rings[0]
    whole = trial._rigid(a, ring, mesh, 20.0)
    short = trial._rigid(a, ring, mesh, 2.0)
    assert trial.trial_minutes(a.design, whole) > 2.0 >= trial.trial_minutes(a.design, short)
    assert replace(whole, body=short.body, note=short.note) == short
