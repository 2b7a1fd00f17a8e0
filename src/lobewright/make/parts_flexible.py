"""The flexible ring or cup as it is made: round, undeformed. A belt is bought, so there is nothing to make."""

from __future__ import annotations

import math

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import LEAST_WALL_MM
from lobewright.make.bodies import Body, Feature, Group, Part, Slab, Turned, exact
from lobewright.make.outlines import Contour, bolt_circle, bulge_of, circle
from lobewright.make.toothing import Pitch, flexible_pitch
from lobewright.mesh.teeth import ToothOutline, tooth_outline

BOSS_BOLTS = 6
LEAST_BOSS_MM = 4.0


def row_outline(a: Assessment, row: int) -> ToothOutline:
    """One pitch of a tooth row, above the neutral line."""
    known = [mesh.outline for ring, mesh in zip(a.design.rigid_ring, a.rings, strict=True) if ring.row == row]
    return known[0] if known else tooth_outline(a.design, row)


def row_pitch(a: Assessment, row: int) -> Pitch:
    """One pitch of a tooth row of the undeformed ring."""
    return flexible_pitch(row_outline(a, row), a.geometry.neutral_radius_mm)


def printed_ring(a: Assessment) -> Part:
    """A short ring, one or two tooth rows, lying on z = 0 with the open edge of row 1 down."""
    ring = a.design.flexible_ring
    assert isinstance(ring, m.PrintedRing)
    inside = exact(circle(a.geometry.inner_radius_mm))
    slabs = [Slab(row_pitch(a, 1).loop(), (inside,), 0.0, ring.width_mm)]
    words = f"flexible ring, {ring.teeth} teeth"
    if ring.second_row:
        second = row_pitch(a, 2).loop()
        slabs.append(Slab(second, (inside,), ring.width_mm, ring.width_mm + ring.second_row.width_mm))
        words += f" and {ring.second_row.teeth} teeth"
    group = Group.FLEXIBLE_RING
    note = f"wall {ring.wall_mm:g} mm, drawn round as it is before the generator goes in"
    return Part(
        "flexible_ring", words, 1, Body(tuple(slabs)), ring.material, note, drawn=not ring.second_row, group=group
    )


def boss_height_mm(cup: m.Cup) -> float:
    """Height of the boss with the diaphragm: our choice, twice the diaphragm and at least 4 mm, in half the cup's depth."""
    return min(max(2 * cup.diaphragm_mm, LEAST_BOSS_MM), (cup.length_mm - cup.width_mm) / 2)


def cup_profile(cup: m.Cup, inner_mm: float) -> Contour:
    """Barrel, corner, diaphragm and boss as (radius, distance from the open edge), from the toothed rim on.

    ``inner_mm`` is the nominal inside radius. The inside of the corner has the stated radius; outside it is larger by
    the thinner of both walls.
    """
    inner, outer = inner_mm, inner_mm + cup.barrel_wall_mm
    inside, outside = cup.corner_radius_mm, cup.corner_radius_mm + min(cup.barrel_wall_mm, cup.diaphragm_mm)
    end, floor = cup.length_mm, cup.length_mm - cup.diaphragm_mm
    top = cup.length_mm - boss_height_mm(cup)
    boss, bore = cup.boss_diameter_mm / 2, cup.bore_mm / 2
    rows = [
        (inner, cup.width_mm, 0.0),
        (outer, cup.width_mm, 0.0),
        (outer, end - outside, bulge_of(math.pi / 2)),
        (outer - outside, end, 0.0),
        (bore, end, 0.0),
        (bore, top, 0.0),
        (boss, top, 0.0),
        (boss, floor, 0.0),
        (inner - inside, floor, -bulge_of(math.pi / 2) if inside else 0.0),
    ]
    if inside:
        rows.append((inner, floor - inside, 0.0))
    table = np.array(rows)
    return Contour(table[:, :2], table[:, 2])


def cup(a: Assessment) -> Part:
    """A cup with its open edge at z = 0. It prints on its diaphragm."""
    ring = a.design.flexible_ring
    assert isinstance(ring, m.Cup)
    inner = a.geometry.inner_radius_mm
    rim = Slab(row_pitch(a, 1).loop(), (exact(circle(inner)),), 0.0, ring.width_mm)
    body = Turned(cup_profile(ring, inner))
    height = boss_height_mm(ring)
    note = f"boss {height:g} mm high with the diaphragm (our choice)"
    pockets: tuple[Slab, ...] = ()
    bolt = catalogue.bolt(a.design.rigid_ring[0].bolt) if a.design.rigid_ring[0].bolts else catalogue.bolt("M3")
    if (ring.boss_diameter_mm - ring.bore_mm) / 2 >= bolt.hole_medium_mm + 2 * LEAST_WALL_MM:
        across = (ring.boss_diameter_mm + ring.bore_mm) / 2
        holes = bolt_circle(across / 2, bolt.hole_medium_mm, BOSS_BOLTS)
        ends = (ring.length_mm - height, ring.length_mm)
        pockets = tuple(Slab(exact(hole, Feature.BOLT_HOLE), (), *ends) for hole in holes)
        note += f", {BOSS_BOLTS} holes ø{bolt.hole_medium_mm:g} mm ({bolt.size}, ISO 273 medium) on ø{across:g} mm"
    else:
        note += f", too narrow for holes of {bolt.size}"
    metal = isinstance(ring, m.MetalCup)
    if metal:
        note += "; nominal model for the machinist, limits as agreed with the shop"
    words, support = f"flexible cup, {ring.teeth} teeth", ""
    if catalogue.material(ring.material).kind is catalogue.MaterialKind.PRINTED:
        support = "a narrow ring under the rounded corner on the bed, whose first layers stand out too far"
    whole, group = Body((rim, body), pockets), Group.FLEXIBLE_RING
    return Part(
        "flexible_cup",
        words,
        1,
        whole,
        ring.material,
        note,
        turned_over=True,
        step_only=metal,
        group=group,
        support=support,
    )


def flexible_parts(a: Assessment) -> tuple[Part, ...]:
    """The flexible ring or cup to make; nothing for a belt."""
    ring = a.design.flexible_ring
    if isinstance(ring, m.Belt):
        return ()
    return (printed_ring(a) if isinstance(ring, m.PrintedRing) else cup(a),)
