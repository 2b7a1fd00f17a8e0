"""Checks of rigid rings, what holds them and the roller carrier: which are made, which are not and why, what goes in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.design import model as m
from lobewright.errors import DesignFault
from lobewright.sources import Flag, source
from lobewright.strength import carrier, fasteners, rigid_tooth
from lobewright.strength.items import NotMade, SafetyItem, Span
from lobewright.strength.material import Direction, StrengthData
from lobewright.strength.remark import Remark, Weak
from lobewright.strength.rigid_items import rigid_items
from lobewright.torque.ask import load_share
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.interval import Interval
from lobewright.torque.rim import estimated_rims

TORQUE_NMM = 3000.0


def interval(name: str, middle: float, spread: float = 1.2) -> Interval:
    return Interval(name, middle / spread, middle, middle * spread, False, "memory", Flag.REMEMBERED)


def plastic(direction: Direction = Direction.IN_LAYERS, strength: float = 40.0) -> StrengthData:
    across = 0.5 if direction is Direction.ACROSS_LAYERS else 1.0
    return StrengthData(
        material="invented_print",
        words="an invented print",
        direction=direction,
        temperature_k=295.0,
        metal=False,
        modulus_mpa=interval("modulus_mpa", 2000.0),
        ultimate_mpa=interval("ultimate_mpa", across * strength),
        yield_mpa=None,
        curve=None,
        curve_words="",
        creep=None,
        lacking=(("yield", "invented prints break first"),),
        remarks=(("yield", Remark("invented")), ("ultimate", Remark("invented"))),
        source_keys=("memory",),
    )


def print_of(_ring: m.RigidRing | None, direction: Direction) -> StrengthData:
    return plastic(direction)


@pytest.fixture(scope="module")
def loaded(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    inputs = estimated_inputs(drive)
    return drive, load_share(drive, replace(inputs, rims=estimated_rims(drive)), TORQUE_NMM)


def with_ring(drive, **changes):
    first, *others = drive.design.rigid_ring
    rings = (first.model_copy(update=changes), *others)
    return replace(drive, design=drive.design.model_copy(update={"rigid_ring": rings}))


def with_generator(drive, generator):
    return replace(drive, design=drive.design.model_copy(update={"generator": generator}))


def named(items):
    found = {item.name: item for item in items}
    assert len(found) == len(items)
    return found


def test_every_check_of_a_printed_drive_is_made(loaded):
    drive, share = loaded
    items = named(rigid_items(drive, (share,), TORQUE_NMM, print_of))
    of_rings = {
        f"{what}:{ring}"
        for what in ("rigid_tooth", "rigid_rim", "bolt_shear", "bolt_pressure")
        for ring in ("base", "output")
    }
    assert set(items) == of_rings | {"carrier_arm", "carrier_axle", "carrier_axle_hole", "carrier_hub"}
    for item in items.values():
        assert isinstance(item, SafetyItem) and item.part == "rigid" and item.unit == "MPa"
        assert 0.0 < item.safety.low < item.safety.middle < item.safety.high < np.inf
        assert item.safety.middle == pytest.approx(item.strength / item.load)
        assert item.working.equation and item.working.numbers and item.working.sources
        for key in item.working.sources:
            source(key)
    for name in ("rigid_tooth:base", "bolt_pressure:base", "carrier_arm", "carrier_axle_hole"):
        assert "invented" in items[name].remark and "memory" in items[name].working.sources


def test_numbers_that_can_be_worked_out_by_hand(loaded):
    drive, share = loaded
    items = named(rigid_items(drive, (share,), TORQUE_NMM, print_of))
    radius = drive.rows[0].space.root_radius_mm + drive.design.rigid_ring[0].rim_mm / 2
    force = abs(share.member_torque_nmm["base"]) / (6 * radius)
    assert items["bolt_pressure:base"].load == pytest.approx(1.2 * force / (3.0 * 10.0))
    assert items["bolt_shear:base"].load == pytest.approx(1.2 * force / 5.0308, rel=1e-4)
    assert items["bolt_shear:base"].strength == pytest.approx(480.0)
    assert items["bolt_shear:base"].safety.high / items["bolt_shear:base"].safety.middle == pytest.approx(1.2)
    turn = abs(share.member_torque_nmm["generator"])
    assert items["carrier_hub"].load == pytest.approx(1.2 * turn / (4 * 8.0) / (3.0 * 5.0))
    bearing_bore = 8.0
    assert items["carrier_axle_hole"].load == pytest.approx(1.1 * share.largest_push_n / 2 / (bearing_bore * 5.0))


def test_the_tooth_bears_no_more_than_its_largest_force_at_its_tip(loaded):
    drive, share = loaded
    row, load = drive.rows[0], share.rows[0]
    worst = rigid_tooth.worst_tooth(row, load, fillet=False)
    sections = rigid_tooth.sections_of(row.space, row.width_mm)
    at_tip = rigid_tooth.tooth_stress(sections, float(load.force_n.max()), 0.0, 0.0)
    assert 0.0 < worst.span_mpa.low <= worst.span_mpa.middle <= worst.span_mpa.high <= at_tip.equivalent_mpa
    assert worst.sideways_n <= load.force_n.max()
    deep, middle, near = worst.depths_mm
    assert 0.0 <= near <= middle <= deep < sections.depth_mm[-1]


def test_what_is_inward_for_the_flexible_tooth_presses_the_rigid_one_into_its_root(loaded):
    drive, share = loaded
    row, load = drive.rows[0], share.rows[0]
    worst = rigid_tooth.worst_tooth(row, load, fillet=False)
    tooth = int(np.flatnonzero(load.label_deg == worst.label_deg)[0])
    assert worst.sideways_n == abs(load.tangential_n[tooth])
    assert worst.along_n == -load.outward_n[tooth] > 0.0


def test_a_push_that_nothing_presses_into_the_root_counts_the_fillet(loaded):
    """Without a push along the teeth the fillet's tension is larger than the beam's stress; a metal yields there and goes on."""
    drive, share = loaded
    row, load = drive.rows[0], share.rows[0]
    level = replace(load, outward_n=np.zeros_like(load.outward_n))
    beam, fillet = (rigid_tooth.worst_tooth(row, level, fillet=counted) for counted in (False, True))
    assert fillet.by_fillet and not beam.by_fillet and fillet.span_mpa.middle > 1.5 * beam.span_mpa.middle
    sections = rigid_tooth.sections_of(row.space, row.width_mm)
    expected = [rigid_tooth.fillet_tension_mpa(sections, fillet.sideways_n, 0.0, depth) for depth in fillet.depths_mm]
    assert fillet.stress_mpa == tuple(expected)
    flat = replace(share, rows=(level, share.rows[1]))
    plain = named(rigid_items(drive, (flat,), TORQUE_NMM, print_of))["rigid_tooth:base"]
    assert "fillet" in plain.working.equation and plain.load == pytest.approx(fillet.span_mpa.middle)
    metal = named(rigid_items(drive, (flat,), TORQUE_NMM, lambda r, d: replace(plastic(d), metal=True)))[
        "rigid_tooth:base"
    ]
    assert "fillet" not in metal.working.equation and metal.load == pytest.approx(beam.span_mpa.middle)
    assert np.log(plain.safety.middle / plain.safety.low) > np.log(metal.safety.middle / metal.safety.low)


def test_a_sideways_push_bends_the_arms(loaded):
    """Rollers at 0 and π: 40 N across and 6 N along on each row of the second one."""
    drive, share = loaded
    force = np.zeros_like(share.body_force_n)
    force[1] = (-6.0, 40.0)
    items = named(rigid_items(drive, (replace(share, body_force_n=force),), TORQUE_NMM, print_of))
    stress, where = carrier.arm_stress_mpa(carrier.arms_of(drive), 12.0, 80.0)
    assert items["carrier_arm"].load == pytest.approx(1.1 * stress) and "hub" in where
    assert where in items["carrier_arm"].working.numbers


def test_where_a_tip_and_a_land_touch(loaded):
    """A flexible tip touches deep in the space, a land at the ring's tip; a flank may touch anywhere between."""
    drive, share = loaded
    row, load = drive.rows[0], share.rows[0]
    neutral = float(rigid_tooth._neutral_mm(load)[load.force_n.argmax()])
    depths = {place: rigid_tooth._depths(row, neutral, place, 10.0) for place in ("tip", "left", "land")}
    assert depths["tip"][0] == depths["left"][0] > depths["tip"][2] > depths["left"][2] >= 0.0
    assert depths["land"][0] == depths["land"][2] <= depths["left"][2]
    reach = row.outline.land_height_mm + row.outline.height_mm - row.space.tip_radius_mm
    radii = np.hypot(*load.positions_mm.T)
    assert radii.min() + reach < depths["tip"][0] < radii.max() + reach


def test_layers_along_the_axis_are_bent_apart(loaded):
    drive, share = loaded
    flat = named(rigid_items(drive, (share,), TORQUE_NMM, print_of))
    upright = named(rigid_items(with_ring(drive, layers=m.Layers.ALONG_AXIS), (share,), TORQUE_NMM, print_of))
    for name in ("rigid_tooth:base", "rigid_rim:base", "bolt_pressure:base"):
        assert upright[name].safety.middle == pytest.approx(flat[name].safety.middle / 2)
    assert upright["rigid_tooth:output"] == flat["rigid_tooth:output"]


def test_dowels_take_the_torque_alone(loaded):
    drive, share = loaded
    items = named(rigid_items(with_ring(drive, dowels=2, dowel_mm=4.0), (share,), TORQUE_NMM, print_of))
    assert "bolt_shear:base" not in items and "bolt_shear:output" in items
    radius = drive.rows[0].space.root_radius_mm + drive.design.rigid_ring[0].rim_mm / 2
    force = abs(share.member_torque_nmm["base"]) / (2 * radius)
    assert items["dowel_shear:base"].load == pytest.approx(1.2 * force / (np.pi * 4.0))
    assert items["dowel_pressure:base"].load == pytest.approx(1.2 * force / 40.0)
    dowels = items["dowel_shear:base"]
    assert "remembered" in dowels.remark and dowels.noted.weak == {Weak.REMEMBERED}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"bolts": 0}, "neither bolts nor dowels"),
        ({"rim_mm": 4.0}, "needs a rim of"),
        ({"rim_mm": 4.0, "dowels": 2}, "need a rim of 5.4 mm"),
        ({"bolts": 48, "bolt": "M6"}, "run into each other"),
    ],
)
def test_a_ring_that_nothing_holds_is_told(loaded, changes, words):
    drive, share = loaded
    items = named(rigid_items(with_ring(drive, **changes), (share,), TORQUE_NMM, print_of))
    name = "dowel_shear:base" if "dowels" in changes else "bolt_shear:base"
    assert isinstance(items[name], NotMade) and words in items[name].why
    assert not {"bolt_pressure:base", "dowel_pressure:base"} & set(items)


def test_a_stronger_class_bears_more(loaded):
    drive, _ = loaded
    root = drive.rows[0].space.root_radius_mm
    middles = []
    for bolt_class in ("4.6", "5.6", "8.8", "10.9", "12.9"):
        ring = drive.design.rigid_ring[0].model_copy(update={"bolt_class": m.BoltClass(bolt_class)})
        items = named(fasteners.ring_pins(drive.design, ring, root, TORQUE_NMM, plastic()))
        middles.append(items["bolt_shear:base"].safety.middle)
    assert middles == sorted(middles) and len(set(middles)) == 5


def test_what_a_material_lacks_is_not_made(loaded):
    drive, share = loaded
    bare = replace(plastic(), ultimate_mpa=None, lacking=(("ultimate", "nobody broke this invented print"),))
    items = named(rigid_items(drive, (share,), TORQUE_NMM, lambda ring, direction: bare))
    missing = {item.name for item in items.values() if isinstance(item, NotMade)}
    assert missing == set(items) - {"bolt_shear:base", "bolt_shear:output", "carrier_axle"}
    assert all(items[name].why == "nobody broke this invented print" for name in missing)
    assert "friction" not in items["bolt_shear:base"].remark


def test_yield_comes_before_strength(loaded):
    drive, share = loaded
    steel = replace(plastic(), metal=True, yield_mpa=interval("yield_mpa", 30.0), lacking=())
    items = named(rigid_items(drive, (share,), TORQUE_NMM, lambda ring, direction: steel))
    assert items["rigid_tooth:base"].strength == pytest.approx(30.0)
    assert "an invented print yields at 30 MPa" in items["rigid_tooth:base"].working.numbers
    assert "creeps" not in items["bolt_shear:base"].remark and "standing load" not in items["carrier_arm"].remark
    printed = named(rigid_items(drive, (share,), TORQUE_NMM, print_of))
    assert "breaks at 40 MPa, where it yields is not known" in printed["rigid_tooth:base"].working.numbers
    assert "creeps" in printed["bolt_shear:base"].remark and "standing load" in printed["carrier_arm"].remark


def test_rims_that_were_solved_stiff_and_lands_that_are_gone(loaded):
    drive, share = loaded
    stiff = replace(share, rim_mm=np.zeros((2, 0)))
    gone = replace(drive.rows[0], space=replace(drive.rows[0].space, least_land_mm=-0.1))
    items = named(rigid_items(replace(drive, rows=(gone, drive.rows[1])), (stiff,), TORQUE_NMM, print_of))
    assert isinstance(items["rigid_rim:base"], NotMade) and "do not give" in items["rigid_rim:base"].why
    assert isinstance(items["rigid_tooth:base"], NotMade) and "no tooth" in items["rigid_tooth:base"].why


def test_a_ring_without_a_loaded_tooth(loaded):
    drive, share = loaded
    idle = replace(share.rows[0], force_n=np.zeros_like(share.rows[0].force_n))
    items = named(rigid_items(drive, (replace(share, rows=(idle, share.rows[1])),), TORQUE_NMM, print_of))
    assert isinstance(items["rigid_tooth:base"], NotMade) and "no tooth is loaded" in items["rigid_tooth:base"].why


def test_discs_and_cams_are_told_as_not_made(loaded):
    drive, share = loaded
    discs = m.Discs(kind="discs", disc_radius_mm=20.0, bearing="608")
    cam = m.Cam(kind="cam", curve=m.CamCurve.ELLIPSE, under=m.CamUnder.PLAIN)
    for generator, name in ((discs, "generator_discs"), (cam, "generator_cam")):
        items = named(rigid_items(with_generator(drive, generator), (share,), TORQUE_NMM, print_of))
        assert isinstance(items[name], NotMade) and items[name].part == "rigid" and "no model" in items[name].why
        assert not [other for other in items if other.startswith("carrier")]


def test_a_hub_without_room_and_a_bore_without_bolt(loaded, monkeypatch):
    drive, share = loaded
    narrow = replace(drive, geometry=replace(drive.geometry, inner_offset_mm=drive.geometry.neutral_radius_mm - 12.0))
    items = named(rigid_items(narrow, (share,), TORQUE_NMM, print_of))
    assert isinstance(items["carrier_hub"], NotMade) and "no room" in items["carrier_hub"].why
    small = replace(carrier.catalogue.bearing("608"), bore_mm=1.0)
    monkeypatch.setattr(carrier.catalogue, "bearing", lambda name: small)
    items = named(rigid_items(drive, (share,), TORQUE_NMM, print_of))
    assert isinstance(items["carrier_arm"], NotMade) and "no bolt of the catalogue" in items["carrier_arm"].why


def test_arms_as_they_are_made(loaded):
    drive, _ = loaded
    arms = carrier.arms_of(drive)
    # bearing 608 (8 × 22 × 7 mm) under a face of 21 mm
    assert (arms.held.bolt.size, arms.bearings, arms.edge_mm, arms.loaded_mm) == ("M8", 3, 10.0, 21.0)
    assert arms.span_mm == pytest.approx(21.0 + 2 * 0.6 + 5.0)
    assert arms.flange and arms.hub_mm == pytest.approx(8.0 + 1.7 + 1.2)
    # two opposite rounds of 10 mm: the hub of 10.9 mm stands out between them, the strip is as narrow as the rounds
    assert arms.strip_mm == pytest.approx(20.0)
    pressed, where = carrier.arm_stress_mpa(arms, 60.0, 0.0)
    assert pressed == pytest.approx(30.0 / ((20.0 - 8.4) * 5.0)) and "axle hole" in where
    bent, where = carrier.arm_stress_mpa(arms, 0.0, 60.0)
    assert bent == pytest.approx(6 * 30.0 * (arms.distance_mm - arms.hub_mm) / (5.0 * 20.0**2)) and "hub" in where


def test_forces_are_drawn_out_to_a_peak_beyond_all_solved(loaded):
    drive, share = loaded
    one = named(rigid_items(drive, (share,), TORQUE_NMM, print_of))
    twice = named(rigid_items(drive, (share,), 2 * TORQUE_NMM, print_of))
    for name, item in one.items():
        assert twice[name].load == pytest.approx(2 * item.load)
        assert "drawn out from 3 N·m" in twice[name].remark and "drawn out" not in item.remark


def test_only_torques_up_to_the_peak_count(loaded):
    drive, share = loaded
    half = replace(share, torque_nmm=0.5 * share.torque_nmm)
    light = replace(half, member_torque_nmm={name: 0.5 * t for name, t in share.member_torque_nmm.items()})
    small = named(rigid_items(drive, (light, share), 0.5 * TORQUE_NMM, print_of))
    full = named(rigid_items(drive, (light, share), TORQUE_NMM, print_of))
    assert small["bolt_shear:base"].load == pytest.approx(0.5 * full["bolt_shear:base"].load)
    # between two solved torques the larger one stands for it; below all the least one
    between = named(rigid_items(drive, (light, share), 0.75 * TORQUE_NMM, print_of))
    assert between == full
    below = named(rigid_items(drive, (light, share), 0.0, print_of))
    assert below == small


@pytest.mark.parametrize(("count", "peak"), [(0, 100.0), (1, -1.0), (1, np.nan), (1, np.inf)])
def test_no_load_is_refused(loaded, count, peak):
    drive, share = loaded
    with pytest.raises(DesignFault, match="no load to check rigid parts"):
        rigid_items(drive, (share,) * count, peak, print_of)


@pytest.mark.parametrize(
    "call",
    [
        lambda: fasteners.stress_area_mm2(3.0, 0.0),
        lambda: fasteners.stress_area_mm2(3.0, 2.0),
        lambda: fasteners.stress_area_mm2(np.inf, 1.0),
        lambda: fasteners.pin_force_n(10.0, 0, 5.0),
        lambda: fasteners.pin_force_n(10.0, 4, 0.0),
        lambda: fasteners.pin_pressure_mpa(10.0, 0.0, 5.0),
        lambda: fasteners.pin_pressure_mpa(10.0, 3.0, -5.0),
        lambda: rigid_tooth.ToothSections(np.array([0.0, 0.0]), np.array([1.0, 1.0]), 1.0),
        lambda: rigid_tooth.ToothSections(np.array([0.0, 1.0]), np.array([1.0, 0.0]), 1.0),
        lambda: rigid_tooth.ToothSections(np.array([0.0]), np.array([1.0]), 1.0),
        lambda: rigid_tooth.ToothSections(np.array([0.0, 1.0]), np.array([1.0, 1.0]), 0.0),
        lambda: rigid_tooth.tooth_stress(
            rigid_tooth.ToothSections(np.array([0.0, 1.0]), np.array([1.0, 1.0]), 1.0), 1.0, 0.0, 1.0
        ),
        lambda: rigid_tooth.tooth_stress(
            rigid_tooth.ToothSections(np.array([0.0, 1.0]), np.array([1.0, 1.0]), 1.0), -1.0, 0.0, 0.5
        ),
        lambda: rigid_tooth.fillet_tension_mpa(
            rigid_tooth.ToothSections(np.array([0.0, 1.0]), np.array([1.0, 1.0]), 1.0), 1.0, 0.0, 1.0
        ),
    ],
)
def test_bad_input_is_refused(call):
    with pytest.raises(DesignFault):
        call()


def test_a_part_that_bears_nothing_is_endlessly_safe(loaded):
    drive, _ = loaded
    ring = drive.design.rigid_ring[0]
    items = named(fasteners.ring_pins(drive.design, ring, drive.rows[0].space.root_radius_mm, 0.0, plastic()))
    assert items["bolt_shear:base"].safety == Span(np.inf, np.inf, np.inf)
    assert "friction" not in items["bolt_shear:base"].remark


def test_an_unknown_material_leaves_out_what_is_made_of_it_and_no_more(loaded):
    drive, share = loaded
    every = named(rigid_items(drive, (share,), TORQUE_NMM, print_of))
    bare = named(rigid_items(drive, (share,), TORQUE_NMM, lambda ring, way: None if ring is None else plastic(way)))
    assert {name: item for name, item in every.items() if not name.startswith("carrier")} | {
        "carrier": bare["carrier"]
    } == bare
    assert isinstance(bare["carrier"], NotMade) and "generator" in bare["carrier"].why
    first = drive.design.rigid_ring[0].name
    some = named(
        rigid_items(
            drive, (share,), TORQUE_NMM, lambda ring, way: None if ring and ring.name == first else plastic(way)
        )
    )
    assert isinstance(some[f"rigid_ring:{first}"], NotMade) and "rigid_ring.material" in some[f"rigid_ring:{first}"].why
    assert set(every) - set(some) == {name for name in every if name.endswith(f":{first}")}
