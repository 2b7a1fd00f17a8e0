"""The wave generator in its place on the axle: carriers face to face with rollers between them, discs, or a cam.

Bearings, screws and nuts are plain stand-ins. The axle itself and the nuts that clamp the generator on it belong to the frame.
"""

from __future__ import annotations

import math
from dataclasses import replace

import shapely

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.holding import (
    PLATE_MM,
    SHOULDER_MM,
    Axle,
    axle,
    bearings_on_an_axle,
    face_mm,
    rolling_bearing,
)
from lobewright.make.bodies import Body, Group, Loop, Part, Slab
from lobewright.make.bought import bearing_part, bought, nut_part, rod_part, screw_part, usual_length_mm
from lobewright.make.fitting import fit_arcs
from lobewright.make.generator_tube import TURN_RAD, tube_nut
from lobewright.make.layout import Layout, carrier_plate_mm
from lobewright.make.order import Side, Step
from lobewright.make.outlines import joined
from lobewright.make.parts_adjustable import SLIDER_MM, adjustable_parts, run_of, scale_of
from lobewright.make.parts_generator import cam_curve_mm, generator_parts
from lobewright.make.placing import Member, Place, Placed
from lobewright.make.standards import screw_length_mm
from lobewright.ring.generator import lobe_angles_rad


def _placed(part: Part, places: tuple[Place, ...], side: Side = Side.FRONT) -> Placed:
    """The generator is put together on the bench, from the lower carrier upward; only its screws come from below."""
    group = part.group if part.designation else Group.GENERATOR
    return Placed(replace(part, quantity=len(places), group=group), places, Member.GENERATOR, Step.GENERATOR, side)


def _fastened(held: Axle, grip_mm: float, rods: bool, ends: tuple[tuple[Place, Place], ...]) -> tuple[Placed, ...]:
    """Axle screws with a nut each, or ``rods`` with a nut at both ends.

    ``ends`` are the clamped faces of each axle: below (the head's) and above (the nut's); their z is that of the face.
    """
    bolt, count = held.bolt, len(ends)
    tops = tuple(end[1] for end in ends)
    nut = nut_part(bolt, count, "axle_nut", "nut of a roller's axle")
    if not rods:
        screws = screw_part(bolt, screw_length_mm(bolt, grip_mm), count, "axle_screw", "screw as a roller's axle")
        below = tuple(replace(low, z_mm=low.z_mm - bolt.head_height_mm) for low, _ in ends)
        return _placed(screws, below, Side.REAR), _placed(nut, tops)
    rod = rod_part(bolt, grip_mm + 2 * bolt.nut_height_mm, count, "axle_rod", "threaded rod as a roller's axle")
    below = tuple(replace(low, z_mm=low.z_mm - bolt.nut_height_mm) for low, _ in ends)
    return _placed(rod, below), _placed(nut, (*below, *tops), Side.BY_PLACE)


def _rollers(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """Two carriers, the second turned over, with the rollers between them."""
    design = a.design
    bearing = rolling_bearing(design.generator)
    held, count = axle(bearing), bearings_on_an_axle(design, bearing)
    adjustable = design.assembly.adjustable
    made = {part.name: part for part in (adjustable_parts(a) if adjustable else generator_parts(a))}
    low, top = lay.generator_bottom_mm, lay.generator_top_mm
    plate = carrier_plate_mm(design)
    inner = low + plate + SHOULDER_MM
    far = float(a.setting.distance_mm)
    angles = lobe_angles_rad(a.setting)
    spots = [(far * math.cos(t), far * math.sin(t), t) for t in angles]
    faces = (Place(z_mm=low), Place(z_mm=top, over=True))
    parts = [_placed(made["carrier"], faces)]
    rolls = tuple(Place(x, y, inner + k * bearing.width_mm) for x, y, _ in spots for k in range(count))
    parts.append(_placed(bearing_part(bearing, len(rolls), "roller", "ball bearing as a roller"), rolls))
    if "axle_sleeve" in made:
        parts.append(_placed(made["axle_sleeve"], tuple(Place(x, y, inner) for x, y, _ in spots)))
    outside = SLIDER_MM if adjustable else 0.0
    grip = top - low + 2 * outside
    ends = tuple((Place(x, y, low - outside, t), Place(x, y, top + outside, t)) for x, y, t in spots)
    parts += _fastened(held, grip, adjustable, ends)
    if adjustable:
        parts += _adjusters(a, made, lay, spots)
    if "generator_tube" in made:
        parts += _tube(made["generator_tube"], (low + top - _height_mm(made["generator_tube"])) / 2)
    return tuple(parts)


def _tube(part: Part, bottom_mm: float) -> tuple[Placed, ...]:
    """The tube between the carriers, and its nut where it has a pocket for one."""
    found = (_placed(part, (Place(z_mm=bottom_mm, turn_rad=0.0),)),)
    if not part.body.pockets:
        return found
    nut = Place(z_mm=bottom_mm + part.body.pockets[0].bottom_mm, turn_rad=TURN_RAD)
    return (*found, _placed(tube_nut(), (nut,)))


def _adjusters(
    a: Assessment, made: dict[str, Part], lay: Layout, spots: list[tuple[float, float, float]]
) -> tuple[Placed, ...]:
    """Sliders outside both carriers, set screws and their nuts inside them, the screws' tips against the axles."""
    low, top = lay.generator_bottom_mm, lay.generator_top_mm
    below = tuple(Place(x, y, low, t, over=True) for x, y, t in spots)
    above = tuple(Place(x, y, top, t) for x, y, t in spots)
    bearing = rolling_bearing(a.design.generator)
    held, scale = axle(bearing), scale_of(a)
    run = run_of(scale, held)
    middle = carrier_plate_mm(a.design) / 2

    def inside(r: float, part: Part) -> Placed:
        level = max(piece.top_mm for piece in part.body.pieces if isinstance(piece, Slab)) / 2
        heights = (low + middle - level, top - middle - level)
        places = tuple(Place(r * math.cos(t), r * math.sin(t), z, t) for z in heights for *_, t in spots)
        return _placed(part, places)

    return (
        _placed(made["slider"], (*below, *above), Side.BY_PLACE),
        inside(scale.set_mm - held.bolt.diameter_mm / 2, made["set_screw"]),
        inside((run.nut_in + run.nut_out) / 2, made["set_nut"]),
    )


def _sized_bearings(bearing: catalogue.Bearing, height_mm: float) -> int:
    """Bearings in a disc of that height: as many as fill it below its lip."""
    return max(1, int((height_mm - 1.0) / bearing.width_mm + 1e-9))


def _discs(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """Two discs on an eccentric, or on a crank where the bearings are small."""
    made = {part.name: part for part in generator_parts(a)}
    bearing = rolling_bearing(a.design.generator)
    off, disc = float(a.setting.distance_mm), made["disc"]
    height = _height_mm(disc)
    count = _sized_bearings(bearing, height)
    lip = height - count * bearing.width_mm
    crank = "crank_web" in made
    between = _height_mm(made["crank_web"]) if crank else SHOULDER_MM
    middle = (lay.generator_bottom_mm + lay.generator_top_mm) / 2
    low, top = middle - between / 2 - height, middle + between / 2 + height
    # On the crank the web's lower shoulder, and so the lower disc, is on the far side.
    side = -1.0 if crank else 1.0
    parts = [_placed(disc, (Place(side * off, 0.0, low), Place(-side * off, 0.0, top, over=True)))]
    stacks = [(side * off, low + lip), (-side * off, top - height)]
    rolls = tuple(Place(x, 0.0, z + k * bearing.width_mm) for x, z in stacks for k in range(count))
    parts.append(_placed(bearing_part(bearing, len(rolls), "roller", "ball bearing of a disc"), rolls))
    if "eccentric" in made:
        parts.append(_placed(made["eccentric"], (Place(z_mm=low),)))
    if crank:
        parts += _crank(made, axle(bearing), off, (low, top), (middle - between / 2, middle + between / 2))
    return tuple(parts)


def _crank(
    made: dict[str, Part], held: Axle, off: float, outer: tuple[float, float], web: tuple[float, float]
) -> list[Placed]:
    """Cheeks outside both discs, the web between them, an axle through each disc with its nut in the web."""
    low, top = outer
    cheek = PLATE_MM + SHOULDER_MM
    faces = (Place(z_mm=low - cheek, turn_rad=math.pi), Place(z_mm=top + cheek, over=True))
    parts = [
        _placed(made["crank_cheek"], faces),
        _placed(made["crank_web"], (Place(z_mm=web[0]),)),
    ]
    if "axle_sleeve" in made:
        length = _height_mm(made["axle_sleeve"])
        spots = (Place(-off, 0.0, web[0] - length), Place(off, 0.0, web[1]))
        parts.append(_placed(made["axle_sleeve"], spots))
    bolt = held.bolt
    # The nut lies at the bottom of its pocket, a nut's height and its play inside the web's far face.
    wall = SHOULDER_MM + 0.2
    deep = web[1] - wall - bolt.nut_height_mm
    reach = web[1] - SHOULDER_MM - (low - cheek)
    length = usual_length_mm(deep + bolt.nut_height_mm - (low - cheek)) or reach
    note = "cut it to size, it may not stand out of the web" if length > reach else ""
    screws = screw_part(bolt, min(length, reach), 2, "axle_screw", "screw as a disc's axle")
    screws = replace(screws, designation=f"ISO 4762 {bolt.size}×{length:g}", note=note)
    head = bolt.head_height_mm
    places = (Place(-off, 0.0, low - cheek - head), Place(off, 0.0, top + cheek + head, over=True))
    parts.append(_placed(screws, places, Side.BY_PLACE))
    nuts = (Place(-off, 0.0, deep), Place(off, 0.0, web[0] + wall))
    parts.append(_placed(nut_part(bolt, 2, "axle_nut", "nut of a disc's axle"), nuts, Side.BY_PLACE))
    return parts


THIN_NOTE = (
    "flexible ones are no stock part: have it in hand before the cam is cut, measure its free bore, or choose rollers; drawn "
    "bent over the cam"
)


def _height_mm(part: Part) -> float:
    return max(piece.top_mm for piece in part.body.pieces if isinstance(piece, Slab))


def thin_words(a: Assessment, cam: m.Cam) -> str:
    """The flexible thin bearing as it is asked for: round sizes, and races and balls where the design tells them."""
    outside = 2 * a.geometry.neutral_radius_mm - 2 * a.geometry.inner_offset_mm
    size = (
        f"{outside - 2 * cam.race_height_mm:.2f}×{outside:.2f}×{face_mm(a.design):g} mm (round: bore, outside, width)"
    )
    races = f"races {cam.race_wall_mm:g} mm thick" if cam.race_wall_mm else "thickness of its races not told"
    told = [
        f"{cam.race_balls} balls" if cam.race_balls else "",
        f"ø{cam.race_ball_mm:g} mm" if cam.race_ball_mm else "",
    ]
    balls = " ".join(one for one in told if one) or "balls not told"
    return f"flexible thin ball bearing {size}, {races}, {balls}"


def _cam(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """The cam, and the thin bearing on it as a band bent to its outline."""
    generator = a.design.generator
    assert isinstance(generator, m.Cam)
    (made,) = generator_parts(a)
    spot = (Place(z_mm=lay.generator_bottom_mm),)
    parts = [_placed(made, spot)]
    if generator.under is not m.CamUnder.THIN_BEARING or not generator.race_height_mm:
        return tuple(parts)
    setting = a.setting.shrunk(generator.fit_mm / (2 * math.pi))
    half = cam_curve_mm(setting, a.geometry.inner_offset_mm)
    fit = fit_arcs(half, "the thin bearing")
    area = shapely.Polygon([(0.0, 0.0), *half.tolist()]).area * 2 * setting.lobes
    pair = (fit.chain.mirrored(), fit.chain)
    turns = [2 * math.pi * k / setting.lobes for k in range(setting.lobes)]
    whole = joined([chain.turned(turn_rad) for turn_rad in turns for chain in pair])
    outer = Loop(whole, area, 0, fit.error_mm)
    cam = made.body.pieces[0]
    assert isinstance(cam, Slab)
    band = Body((Slab(outer, (cam.outer,), 0.0, face_mm(a.design)),))
    thin = bought("thin_bearing", "thin flexible ball bearing", 1, band, thin_words(a, generator), THIN_NOTE)
    parts.append(_placed(thin, spot))
    return tuple(parts)


def generator_placed(a: Assessment, lay: Layout) -> tuple[Placed, ...]:
    """All parts of the wave generator between the layout's planes, made and bought ones, first major axis along x.

    With ``assembly.adjustable`` rollers stand in slotted carriers. A crank of discs is higher than the layout's planes: it is
    centred between them. Raises DesignFault where a part cannot exist, ConvergenceFault where an outline misses its limit.
    """
    generator = a.design.generator
    if isinstance(generator, m.Cam):
        return _cam(a, lay)
    return _discs(a, lay) if isinstance(generator, m.Discs) else _rollers(a, lay)
