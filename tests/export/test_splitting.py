"""Rings cut to fit the bed: the pieces fit, together they are the ring, and no cut touches a flank; and dowel holes."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from export_drives import DRIVES, PRINTER, Made, assessed
from shapely import affinity

from lobewright.assessment.run import assess
from lobewright.design import model as m
from lobewright.design.files import design_from_data
from lobewright.errors import DesignFault
from lobewright.make.bodies import Feature
from lobewright.make.levels import slab_area
from lobewright.make.parts_rings import rigid_ring
from lobewright.make.print_set import Allowance, printed
from lobewright.make.printable import print_faults
from lobewright.make.splitting import split_ring

pytestmark = pytest.mark.cad


def printer(x: float, y: float) -> m.Printer:
    return m.Printer(kind="printer", nozzle_mm=0.4, extrusion_width_mm=0.42, layer_mm=0.2, bed_mm=(x, y, 100.0))


@pytest.mark.parametrize(("bed", "count"), [((72.0, 50.0), 2), ((45.0, 62.0), 6)])
def test_pieces_fit_the_bed_and_make_up_the_ring(bed: tuple[float, float], count: int) -> None:
    a = assessed("two_rows")
    ring = rigid_ring(a, a.design.rigid_ring[0], a.rings[0])
    made = split_ring(a, ring, 0, printer(*bed))
    assert len(made) == count
    assert not print_faults(made, printer(*bed))
    whole = slab_area(ring.body.pieces[0])
    step = 2 * math.pi / a.design.rigid_ring[0].teeth
    for half in (0, 1):
        areas = [slab_area(piece.body.pieces[half]) for piece in made]
        # Bolt and dowels: 3.4 mm and twice 3 mm at each joint; chords 0.002 mm inside circles of some 10 mm make 0.013 mm² each.
        holes = count * math.pi / 4 * (3.4**2 + 2 * 3.0**2)
        assert sum(area.area for area in areas) == pytest.approx(whole.area - holes, abs=0.02 * 3 * count)
    for piece in made:
        assert piece.body.volume_mm3 == pytest.approx(sum(slab_area(s).area * 2.5 for s in piece.body.pieces), rel=1e-3)
        mesh = printed(piece, Allowance())
        x, y, z = mesh.size_mm
        assert z == 5.0 and ((x <= bed[0] and y <= bed[1]) or (x <= bed[1] and y <= bed[0]))
        tongues = [slab_area(slab).area for slab in piece.body.pieces]
        assert (tongues[0] < tongues[1]) == piece.turned_over
        # Each end is radial, through a land: where it meets the teeth it lies on the tip circle.
        points = np.asarray(piece.body.pieces[0].outer.contour.points_mm)
        inner = points[np.hypot(*points.T) < a.rings[0].space.tip_radius_mm + 1e-3]
        ends = np.sort(np.arctan2(inner[:, 1], inner[:, 0]))[[0, -1]]
        span = (ends[1] - ends[0]) / step
        assert span == pytest.approx(round(span), abs=1e-3)


def test_the_turned_pieces_match_at_the_joints() -> None:
    a = assessed("two_rows")
    ring = rigid_ring(a, a.design.rigid_ring[0], a.rings[0])
    first, second = split_ring(a, ring, 0, printer(72.0, 50.0))
    low, high = slab_area(first.body.pieces[0]), slab_area(second.body.pieces[0])
    turned = affinity.rotate(high, 180.0, origin=(0.0, 0.0))
    assert low.intersection(turned).area < 0.05
    lap = low.intersection(affinity.rotate(slab_area(second.body.pieces[1]), 180.0, origin=(0.0, 0.0)))
    assert len(shapely.get_parts(lap.buffer(-0.01))) == 2
    # The same holes go through both tongues.
    assert sorted(len(part.interiors) for part in shapely.get_parts(lap.buffer(-0.01))) == [3, 3]


def test_a_bed_too_small_for_any_sector_is_one_sentence() -> None:
    a = assessed("two_rows")
    ring = rigid_ring(a, a.design.rigid_ring[0], a.rings[0])
    with pytest.raises(DesignFault, match="ring base is larger than the bed and cannot be split"):
        split_ring(a, ring, 0, printer(15.0, 15.0))


def test_split_pieces_are_written_in_place_of_the_ring(made: Callable[[str], Made]) -> None:
    rows = [row for row in made("two_rows").rows if row.folder == "print" and row.name.startswith("ring_base")]
    assert [row.name for row in rows] == ["ring_base_piece_1", "ring_base_piece_2"]
    assert all(row.fits_bed and "half-laps" in row.note for row in rows)


def test_dowel_holes_stand_midway_between_bolts_and_off_the_notch() -> None:
    data = {"schema_version": 1, "name": "dowels", "process": PRINTER} | DRIVES["belt"]
    rings = [dict(ring, dowels=2, rim_mm=7.0) for ring in DRIVES["belt"]["rigid_ring"]]
    a = assess(design_from_data({**data, "rigid_ring": rings}))
    part = rigid_ring(a, a.design.rigid_ring[0], a.rings[0])
    dowels = [hole for hole in part.body.pieces[0].holes if hole.feature is Feature.SEAT]
    bolts = [hole for hole in part.body.pieces[0].holes if hole.feature is Feature.BOLT_HOLE]
    places = [np.array(hole.contour.points_mm).mean(axis=0) for hole in (*dowels, *bolts)]
    turns = [math.degrees(math.atan2(y, x)) % 360.0 for x, y in places]
    assert len(dowels) == 2 and turns[:2] == pytest.approx([60.0, 240.0], abs=1e-9)
    assert min(abs(turn - 60.0) for turn in turns[2:]) == pytest.approx(30.0, abs=1e-9)
    assert "2 holes ø3 mm for dowels (ISO 8734)" in part.note
    narrow = rigid_ring(a, a.design.rigid_ring[0].model_copy(update={"rim_mm": 5.0}), a.rings[0])
    assert "dowel holes left out" in narrow.note
