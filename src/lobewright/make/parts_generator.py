"""Generator parts: carriers for rollers, discs on an eccentric or a crank, and cams.

These are plain parts that do the job: a shaft bore with a bolt circle, axle holes where the setting puts them.
Thicknesses, walls and the shaft are common practice for a home workshop, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import (
    GAP_MM,
    HUB_BOLT,
    HUB_BOLTS,
    HUB_CIRCLE_MM,
    LEAST_WALL_MM,
    PLATE_MM,
    SHAFT_MM,
    SHOULDER_MM,
    Axle,
    axle,
    bearings_on_an_axle,
    clearance_hole_mm,
    face_mm,
    hub_mm,
    rolling_bearing,
)
from lobewright.errors import DesignFault, Fault
from lobewright.make.arranging import arrangement
from lobewright.make.bodies import Body, Feature, Group, Loop, Part, Slab, exact, made_of
from lobewright.make.fitting import fit_arcs
from lobewright.make.generator_tube import RETIGHTEN, clamp_words, key_pocket, tube_note, tube_part, tube_size
from lobewright.make.outlines import Chain, Contour, bolt_circle, bulge_of, circle, hull_of_circles, joined, polygon
from lobewright.ring.generator import Contact, Setting, lobe_angles_rad

Array = np.ndarray
SHOULDER_SHARE = 0.3
"""Of a bearing's radial height: its inner ring, on which the shoulder may press."""
NUT_PLAY_MM = 0.2
MARK_MM = 2.0
CAM_POINTS = 240
KEPT = (
    "which nothing keeps along the axis but its grip: a film of retaining compound under its inner race, none on the balls, then "
    "look whether it lies level after the first hour"
)


def _hub(room_mm: float) -> tuple[float, tuple[Loop, ...], str]:
    """Nominal hub radius, shaft bore with bolt holes, and what to know of them."""
    hub, flange = hub_mm(room_mm)
    bore, hole = exact(circle(SHAFT_MM / 2), Feature.BOLT_HOLE), clearance_hole_mm(HUB_BOLT)
    if not flange:
        return hub, (bore,), f"bore ø{SHAFT_MM:g} mm; no room for flange bolts, glue or pin the shaft"
    holes = bolt_circle(HUB_CIRCLE_MM / 2, hole, HUB_BOLTS, math.pi / HUB_BOLTS)
    note = f"bore ø{SHAFT_MM:g} mm, {HUB_BOLTS} holes ø{hole:g} mm ({HUB_BOLT}) on ø{HUB_CIRCLE_MM:g} mm for a flange"
    return hub, (bore, *(exact(one, Feature.BOLT_HOLE) for one in holes)), note


def _shoulder(
    bearing: catalogue.Bearing,
    hole_mm: float,
    place: tuple[float, float],
    z: float,
    feature: Feature = Feature.BOLT_HOLE,
) -> Slab:
    """A low collar that touches the bearing's inner ring only."""
    radius = bearing.bore_mm / 2 + SHOULDER_SHARE * (bearing.outer_mm - bearing.bore_mm) / 2
    outer, inner = circle(radius, *place), circle(hole_mm / 2, *place)
    return Slab(exact(outer), (exact(inner, feature),), z, z + SHOULDER_MM)


def _sleeve(
    design: m.Design, bearing: catalogue.Bearing, held: Axle, count: int, length: float, hole_mm: float = 0.0
) -> Part:
    inner = exact(circle((hole_mm or held.hole_mm) / 2), Feature.BOLT_HOLE)
    slab = Slab(exact(circle(bearing.bore_mm / 2)), (inner,), 0.0, length)
    note = f"fills the bearing bore of {bearing.bore_mm:g} mm round {held.bolt.size}"
    return Part("axle_sleeve", "axle sleeve", count, Body((slab,)), made_of(design), note, group=Group.GENERATOR)


def carrier(a: Assessment) -> tuple[Part, ...]:
    """Two equal carrier plates for rollers, and sleeves where bolt and bore differ."""
    design, setting = a.design, a.setting
    bearing = rolling_bearing(design.generator)
    held = axle(bearing)
    room = float(np.hypot(a.set_shape.x_mm, a.set_shape.y_mm).min()) - a.geometry.inner_offset_mm - GAP_MM
    count = bearings_on_an_axle(design, bearing)
    between = count * bearing.width_mm + 2 * SHOULDER_MM
    size = tube_size(
        between, min(room - LEAST_WALL_MM, setting.distance_mm - bearing.outer_mm / 2), bool(made_of(design))
    )
    hub, holes, note = _hub(room)
    pockets: tuple[Slab, ...] = ()
    if size and size.key_mm:
        hub, holes, note = (
            max(hub, size.corner_mm + NUT_PLAY_MM + 2 * LEAST_WALL_MM),
            holes[:1],
            f"bore ø{SHAFT_MM:g} mm",
        )
        pockets = (key_pocket(size, holes[0], PLATE_MM),)
    angles = lobe_angles_rad(setting)
    centres = [(setting.distance_mm * math.cos(t), setting.distance_mm * math.sin(t)) for t in angles]
    edge = bearing.outer_mm / 2 - GAP_MM
    circles: list[tuple[float, float, float]] = []
    for k, centre in enumerate(centres):
        circles.append((*centre, edge))
        half = ((angles[(k + 1) % len(angles)] - angles[k]) % (2 * math.pi)) / 2
        if setting.distance_mm * math.cos(half) + edge < hub:
            circles.append((0.0, 0.0, hub))
    outer = exact(hull_of_circles(circles))
    hole = held.bolt.diameter_mm
    axles = tuple(exact(circle(hole / 2, *centre), Feature.SEAT) for centre in centres)
    plate = Slab(outer, (*holes, *axles), 0.0, PLATE_MM)
    shoulders = tuple(_shoulder(bearing, hole, centre, PLATE_MM, Feature.SEAT) for centre in centres)
    note = (
        f"{len(centres)} axles {held.bolt.size} {setting.distance_mm:.3f} mm from the middle, {count} "
        f"bearing{'s' if count > 1 else ''} {bearing.designation} on each, shoulders toward the bearings; "
        f"{axle_play_note(a, held)}; {note}; {tube_note(size)}"
    )
    if made_of(design):
        note = f"{note}; {RETIGHTEN}"
    made = [
        Part(
            "carrier",
            "roller carrier",
            2,
            Body((plate, *shoulders), pockets),
            made_of(design),
            note,
            drawn=True,
            group=Group.GENERATOR,
        )
    ]
    if held.sleeve:
        made.append(_sleeve(design, bearing, held, len(centres), count * bearing.width_mm, hole))
    if size:
        made.append(tube_part(a, size))
    return tuple(made)


def thinnest_mm(bolt: catalogue.Bolt) -> float:
    """Least outside diameter of a screw's thread at tolerance 6g; its formulas are those of ISO 965-1, remembered."""
    pitch = bolt.thread_pitch_mm
    return bolt.diameter_mm - 1e-3 * (15.0 + 11.0 * pitch + 180.0 * pitch ** (2 / 3) - 3.15 / math.sqrt(pitch))


def axle_play_note(a: Assessment, held: Axle) -> str:
    """How the axles' holes are made, the play that stays, and what to hold it against."""
    size, thin = held.bolt.size, thinnest_mm(held.bolt)
    play = held.bolt.diameter_mm - thin
    note = (
        f"ream or drill the axles' holes to ø{held.bolt.diameter_mm:g} mm, as the screws are; a screw {size} may measure down to "
        f"{thin:.2f} mm, and the ring pushes its roller inward by half of the {play:.2f} mm of play"
    )
    limit = a.design.generator.set_deflection_tolerance_mm
    if play / 2 > limit:
        note += f", more than the {limit:g} mm that the deflection may miss: choose screws that fill the hole, or ground pins"
    if a.setting.lobes == 2:
        outer = rolling_bearing(a.design.generator).outer_mm
        note += f"; measure: {2 * a.setting.distance_mm + outer:.2f} mm over opposite rollers"
    return note


def _disc_height(design: m.Design, bearing: catalogue.Bearing, between_mm: float) -> tuple[float, int]:
    """Height of one disc with its lip, and the bearings that it holds."""
    height = max(bearing.width_mm + GAP_MM, (face_mm(design) - between_mm) / 2)
    return height, max(1, int((height - GAP_MM) / bearing.width_mm + 1e-9))


def _disc(a: Assessment, bearing: catalogue.Bearing, height: float, count: int) -> Part:
    generator = a.design.generator
    assert isinstance(generator, m.Discs)
    radius = generator.disc_radius_mm - generator.fit_mm / (2 * math.pi)
    seat, lip = bearing.outer_mm / 2, height - count * bearing.width_mm
    inner = seat - 0.15 * (bearing.outer_mm - bearing.bore_mm)
    low = Slab(exact(circle(radius)), (exact(circle(inner)),), 0.0, lip)
    high = Slab(exact(circle(radius)), (exact(circle(seat), Feature.SEAT),), lip, height)
    note = (
        f"runs on {count} bearing{'s' if count > 1 else ''} {bearing.designation} in a seat of ø{2 * seat:g} mm, "
        f"its centre {a.setting.distance_mm:.3f} mm off the drive's axis"
    )
    return Part("disc", "generator disc", 2, Body((low, high)), made_of(a.design), note, group=Group.GENERATOR)


def discs(a: Assessment) -> tuple[Part, ...]:
    """Two discs, and what carries them off the axis: an eccentric inside large bearings, or a crank beside small ones."""
    design, off = a.design, a.setting.distance_mm
    bearing = rolling_bearing(design.generator)
    if bearing.bore_mm / 2 >= off + SHAFT_MM / 2 + LEAST_WALL_MM:
        height, count = _disc_height(design, bearing, SHOULDER_MM)
        return (_disc(a, bearing, height, count), _eccentric(a, bearing, height))
    held = axle(bearing)
    if off < SHAFT_MM / 2 + held.hole_mm / 2 + LEAST_WALL_MM:
        height, count = _disc_height(design, bearing, SHOULDER_MM)
        least = 2 * (off + SHAFT_MM / 2 + LEAST_WALL_MM)
        disc = _disc(a, bearing, height, count)
        note = (
            f"{disc.note}; NO CARRIER MADE: shaft (ø{SHAFT_MM:g} mm) and axle run into each other, take a bearing "
            f"with a bore of at least {least:.1f} mm or a smaller disc"
        )
        return (replace(disc, note=note),)
    web = held.bolt.nut_height_mm + 2 * LEAST_WALL_MM
    height, count = _disc_height(design, bearing, web + 2 * SHOULDER_MM)
    made = [_disc(a, bearing, height, count), _cheek(a, bearing, held), _web(a, bearing, held, web)]
    if held.sleeve:
        made.append(_sleeve(design, bearing, held, 2, count * bearing.width_mm))
    return tuple(made)


def _eccentric(a: Assessment, bearing: catalogue.Bearing, height: float) -> Part:
    """Two journals pushed out to opposite sides, a thin collar between them, on one shaft bore.

    The collar is the lens that both bearings' inner rings share, so that it rubs on neither outer ring.
    """
    off, bore = a.setting.distance_mm, exact(circle(SHAFT_MM / 2), Feature.BOLT_HOLE)
    journal = bearing.bore_mm / 2
    reach = journal + SHOULDER_SHARE * (bearing.outer_mm - bearing.bore_mm) / 2
    corner = math.sqrt(reach**2 - off**2)
    lens = Contour(np.array([[0.0, -corner], [0.0, corner]]), np.full(2, bulge_of(2 * math.atan2(corner, off))))
    pieces = (
        Slab(exact(circle(journal, off)), (bore,), 0.0, height),
        Slab(exact(lens), (bore,), height, height + SHOULDER_MM),
        Slab(exact(circle(journal, -off)), (bore,), height + SHOULDER_MM, 2 * height + SHOULDER_MM),
    )
    note = f"journals ø{bearing.bore_mm:g} mm, {off:.3f} mm off the bore of ø{SHAFT_MM:g} mm"
    support = "under the upper journal, which stands out over the lower one"
    return Part(
        "eccentric",
        "double eccentric",
        1,
        Body(pieces),
        made_of(a.design),
        note,
        group=Group.GENERATOR,
        support=support,
    )


def _cheek(a: Assessment, bearing: catalogue.Bearing, held: Axle) -> Part:
    off = a.setting.distance_mm
    shoulder = bearing.bore_mm / 2 + SHOULDER_SHARE * (bearing.outer_mm - bearing.bore_mm) / 2
    hub, holes, note = _hub(off - held.bolt.head_diameter_mm / 2)
    edge = shoulder + LEAST_WALL_MM
    wide = off + edge > hub + 0.1
    outer = hull_of_circles([(0.0, 0.0, hub), (off, 0.0, edge)]) if wide else circle(hub)
    hole = exact(circle(held.hole_mm / 2, off), Feature.BOLT_HOLE)
    plate = Slab(exact(outer), (*holes, hole), 0.0, PLATE_MM)
    collar = _shoulder(bearing, held.hole_mm, (off, 0.0), PLATE_MM)
    note = f"axle hole ø{held.hole_mm:g} mm ({held.bolt.size}, ISO 273 fine) {off:.3f} mm from the middle; {note}"
    return Part(
        "crank_cheek",
        "crank cheek",
        2,
        Body((plate, collar)),
        made_of(a.design),
        note,
        drawn=True,
        group=Group.GENERATOR,
    )


def _web(a: Assessment, bearing: catalogue.Bearing, held: Axle, thick: float) -> Part:
    """The link between both discs: each axle's nut sits flush on the far side, so that the other disc passes it."""
    off = a.setting.distance_mm
    shoulder = bearing.bore_mm / 2 + SHOULDER_SHARE * (bearing.outer_mm - bearing.bore_mm) / 2
    across = held.bolt.nut_across_flats_mm + NUT_PLAY_MM
    edge = max(shoulder, across / math.sqrt(3)) + LEAST_WALL_MM
    outer = exact(hull_of_circles([(off, 0.0, edge), (-off, 0.0, edge)]))
    holes = tuple(exact(circle(held.hole_mm / 2, sign * off), Feature.BOLT_HOLE) for sign in (1, -1))
    low, high = SHOULDER_MM, SHOULDER_MM + thick
    depth = held.bolt.nut_height_mm + NUT_PLAY_MM
    pieces = (
        Slab(outer, holes, low, high),
        _shoulder(bearing, held.hole_mm, (off, 0.0), high),
        _shoulder(bearing, held.hole_mm, (-off, 0.0), 0.0),
    )
    corners = [(math.cos(k * math.pi / 3), math.sin(k * math.pi / 3)) for k in range(6)]
    pockets = []
    for sign, bottom, top, hole in ((1, low, low + depth, holes[0]), (-1, high - depth, high, holes[1])):
        hexagon = polygon((sign * off + across / math.sqrt(3) * x, across / math.sqrt(3) * y) for x, y in corners)
        pockets.append(Slab(exact(hexagon, Feature.NUT), (hole,), bottom, top))
    note = f"axle holes {2 * off:.3f} mm apart; each {held.bolt.size} nut sits in the pocket opposite its shoulder"
    return Part(
        "crank_web", "crank web", 1, Body(pieces, tuple(pockets)), made_of(a.design), note, group=Group.GENERATOR
    )


def cam_curve_mm(setting: Setting, inward_mm: float, points: int = CAM_POINTS) -> Array:
    """The cam's outline from a major to the next minor axis, (points + 1, 2): the neutral curve moved inward."""
    u = np.linspace(0.0, math.pi / setting.lobes, points + 1)
    if setting.contact is Contact.ELLIPSE:
        q = (np.cos(u) / setting.a_mm) ** 2 + (np.sin(u) / setting.b_mm) ** 2
        r = q**-0.5
        slope = -(q**-1.5) * np.sin(u) * np.cos(u) * (setting.b_mm**-2 - setting.a_mm**-2)
    else:
        r = setting.a_mm + setting.b_mm * np.cos(setting.lobes * u)
        slope = -setting.lobes * setting.b_mm * np.sin(setting.lobes * u)
    # Tangent (r' cos − r sin, r' sin + r cos); its right-hand normal points outward.
    tx, ty = slope * np.cos(u) - r * np.sin(u), slope * np.sin(u) + r * np.cos(u)
    length = np.hypot(tx, ty)
    return np.column_stack((r * np.cos(u) - inward_mm * ty / length, r * np.sin(u) + inward_mm * tx / length))


def cam(a: Assessment) -> tuple[Part, ...]:
    """The cam under the flexible ring or its thin bearing."""
    generator = a.design.generator
    assert isinstance(generator, m.Cam)
    inward = a.geometry.inner_offset_mm + generator.race_height_mm
    setting = a.setting.shrunk(generator.fit_mm / (2 * math.pi))
    half = cam_curve_mm(setting, inward)
    turned = np.unwrap(np.arctan2(half[:, 1], half[:, 0]))
    if np.any(np.diff(turned) <= 0) or half[:, 0].min() < -half[0, 0]:
        what = "the cam's outline crosses itself: the ring's wall and bearing are too high for this curve"
        value = f"{inward:.4g} mm inside the neutral line"
        raise DesignFault([Fault(what, "generator", value=value, allowed="less height or less deflection")])
    fit = fit_arcs(half, "the cam")
    whole = by_lobes(fit.chain, setting.lobes)
    area = lobe_area_mm2(half) * 2 * setting.lobes
    outer = Loop(whole, area, 0, fit.error_mm)
    hub, holes, note = _hub(float(np.hypot(*half.T).min()))
    if arrangement(a.design)[0] is not None:
        # The axle's nuts clamp it: holes for a flange would only weaken it.
        holes, note = holes[:1], f"bore ø{SHAFT_MM:g} mm"
    mark = exact(circle(MARK_MM / 2, half[0, 0] - MARK_MM - LEAST_WALL_MM))
    marked = half[0, 0] - 2 * MARK_MM - LEAST_WALL_MM > hub
    slab = Slab(outer, (*holes, *((mark,) if marked else ())), 0.0, face_mm(a.design))
    runs = (
        f"a thin bearing {generator.race_height_mm:g} mm high runs on it, {KEPT}"
        if generator.race_height_mm
        else "plain"
    )
    note = f"{runs}; {note}; {clamp_words(a, 2 * SHAFT_MM)}" + ("; the small hole marks a major axis" if marked else "")
    note = f"{note}; {RETIGHTEN}" if made_of(a.design) else note
    return (Part("cam", "generator cam", 1, Body((slab,)), made_of(a.design), note, drawn=True, group=Group.GENERATOR),)


def by_lobes(half: Chain, lobes: int) -> Contour:
    """A whole outline from the half lobe that begins at the positive x axis."""
    pair = [half.mirrored(), half]
    return joined([chain.turned(2 * math.pi * k / lobes) for k in range(lobes) for chain in pair])


def lobe_area_mm2(half: Array) -> float:
    """Area between the axis and a half lobe's points."""
    a, b = half[:-1], half[1:]
    return float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2)


def generator_parts(a: Assessment) -> tuple[Part, ...]:
    """All parts of the wave generator that are made, in their nominal sizes."""
    generator = a.design.generator
    if isinstance(generator, m.Cam):
        return cam(a)
    return discs(a) if isinstance(generator, m.Discs) else carrier(a)
