"""Does anything run into anything? Every part of an assembly against every other, generator and output turned all the way round.

All parts are flat areas between heights (:mod:`levels`), so two parts meet where their heights share a range and their areas
overlap. Parts of one member are compared once. What turns against something else about the axis is taken as the rings that its
areas sweep in a whole turn, so nothing between two angles is missed. Only teeth, and what stands there for a test, are compared
at single turns of the generator; the flexible ring is bent as it is set. This needs no solid modeller and is done before one
starts. See docs/theory/collisions.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from lobewright import motion as kinematics
from lobewright.assessment.results import Assessment
from lobewright.errors import DesignFault, Fault
from lobewright.make.bodies import Group
from lobewright.make.flexible_as_set import BentRing, flexible_levels, turns
from lobewright.make.levels import Level, levels, placed_level
from lobewright.make.order import Step
from lobewright.make.outlines import circle
from lobewright.make.placing import Member, Place, Placed

Array = np.ndarray
FLEXIBLE_NAMES = ("flexible_ring", "flexible_cup", "belt")
"""Parts that are bent in the drive."""
RUN_ON = {"roller", "disc", "cam", "thin_bearing"}
"""Parts of generators that the flexible ring runs on."""
SHAFT_IN = {"motor", "coupling"}
CHORD_MM = 5e-4
TOUCH_MM = 1e-3
"""Parts that overlap by no more touch, besides what their arcs miss their outlines by: chords lie up to half of that
inside each arc, and fits are nominal."""
CLOSE_MM = 3.0
"""Gaps between what turns and what stands are looked for up to this."""
FACING_MM2 = 1e-3
"""Areas that face each other along the axis by less only meet at an edge."""
MANY = 3_000_000
"""Pairs of corners beyond which a tree of edges is quicker than every edge with every other."""
MOST_PARTS = 3
"""Pieces of one overlap whose width is measured, the largest first."""
NEARER_MM = (0.2, 0.6)
"""How far the nearest edge is looked for, the least first, as that is the quickest."""
PERIOD_ANGLES = 5
OTHER_ANGLES_RAD = (0.37, 2.9)


def usual_angles_rad(a: Assessment) -> tuple[float, ...]:
    """Turns of the generator: evenly over one lobe, and two more that fall on no part of it."""
    lobe = 2 * math.pi / a.setting.lobes
    return (*(lobe * k / PERIOD_ANGLES for k in range(PERIOD_ANGLES)), *OTHER_ANGLES_RAD)


@dataclass(frozen=True)
class Clash:
    """Two parts in one place. ``depth_mm`` is the width of the overlap at its thickest, in the plane or along the axis,
    whichever is less; ``at_mm`` a point in it; area and volume of the overlap there. ``angle_rad``: of the generator; None where
    one of them is met somewhere in a whole turn, then the overlap is that of what it sweeps."""

    first: str
    second: str
    angle_rad: float | None
    depth_mm: float
    area_mm2: float
    volume_mm3: float
    at_mm: tuple[float, float, float]

    @property
    def sentence(self) -> str:
        x, y, z = self.at_mm
        if self.angle_rad is None:
            how = "somewhere in a whole turn"
        else:
            how = f"({self.volume_mm3:.3g} mm³) with the generator at {math.degrees(self.angle_rad):.0f}°"
        return f"{self.first} and {self.second} overlap by {self.depth_mm:.3f} mm {how}, at x {x:.1f}, y {y:.1f}, z {z:.1f} mm"


@dataclass(frozen=True)
class Gap:
    """The smallest gap between two parts that turn against each other, across or along the axis; 0 where they touch.

    ``angle_rad``: of the generator; None: the smallest in a whole turn. ``meant``: they touch by intention: teeth, a
    generator in its ring, a bearing.
    """

    first: str
    second: str
    angle_rad: float | None
    gap_mm: float
    along_axis: bool
    meant: bool


@dataclass(frozen=True)
class Clearances:
    """Outcome for an assembly: clashes, worst first; gaps below 3 mm, smallest first; how many pairs of levels were met.

    ``angles_rad``: turns of the generator at which teeth and test arms were compared; all else through whole turns.
    ``lean_mm``: the most that a straight generator may stand deeper in a cup's leaning rim than in its middle; the rim gives way
    by that much, so it is no clash.
    """

    angles_rad: tuple[float, ...]
    clashes: tuple[Clash, ...]
    gaps: tuple[Gap, ...]
    compared: int
    lean_mm: float = 0.0

    @property
    def looked_at(self) -> str:
        """In which positions, in words."""
        angles = ", ".join(f"{math.degrees(angle):.0f}°" for angle in self.angles_rad)
        return f"generator and output through a whole turn each, teeth and test arms with the generator at {angles}"

    @property
    def rubbing(self) -> tuple[Gap, ...]:
        """Parts that turn against each other and touch where no contact is meant."""
        return tuple(gap for gap in self.gaps if gap.gap_mm <= TOUCH_MM and not gap.meant)

    @property
    def clear(self) -> bool:
        return not self.clashes and not self.rubbing

    def require(self) -> None:
        """Raises DesignFault that names every clash."""
        faults = [Fault(clash.sentence, "assembly", allowed="no overlap") for clash in self.clashes]
        for gap in self.rubbing:
            what = f"{gap.first} and {gap.second} turn against each other and touch"
            faults.append(Fault(what, "assembly", value=f"{gap.gap_mm:.3f} mm", allowed="a gap in mm"))
        if faults:
            raise DesignFault(faults)


@dataclass(frozen=True)
class _Piece:
    """A level of one part where it stands, with what it moves with."""

    name: str
    member: Member
    group: Group
    bearing: bool
    owner: int
    level: Level
    lean_mm: float = 0.0
    fit_mm: float = 0.0
    """How far its outline may lie from what it stands for: fitted arcs, slopes cut into levels."""
    for_test: bool = False
    """It stands there for a test only, level as placed, and does not turn round."""


def _bearing(placed: Placed) -> bool:
    return placed.part.group is Group.BOUGHT and "bearing" in placed.part.words


def _stiff(a: Assessment, placed: Sequence[Placed], bent: BentRing) -> list[_Piece]:
    """All levels that keep their form, at generator angle 0."""
    pieces: list[_Piece] = []
    owner = 0
    cut: dict[int, tuple[Level, ...]] = {}
    for one in placed:
        flexible = one.part.name in FLEXIBLE_NAMES
        if id(one.part.body) not in cut:
            body = bent.closed_end(one.part.body) if flexible else one.part.body
            cut[id(one.part.body)] = levels(body, CHORD_MM) if body else ()
        for place in one.places:
            # The bent part of the ring and its closed end are one part.
            own = -1 if flexible else owner
            pieces += [
                _Piece(
                    one.part.name,
                    one.member,
                    one.part.group,
                    _bearing(one),
                    own,
                    placed_level(level, place),
                    fit_mm=one.part.fit_error_mm + level.error_mm,
                    for_test=one.part.group is Group.TEST or one.step == Step.TEST,
                )
                for level in cut[id(one.part.body)]
            ]
            owner += 1
    return pieces


def _bent(bent: BentRing, ring: Placed, angle_rad: float) -> list[_Piece]:
    return [
        _Piece(ring.part.name, Member.FLEXIBLE, ring.part.group, False, -1, one.level, one.lean_mm)
        for place in ring.places
        for one in flexible_levels(bent, place, angle_rad)
    ]


def _angles(a: Assessment, generator_rad: float) -> dict[Member, float]:
    """Turn of every member. Over or not, a turn about the axis of the assembly is the same turn of all members."""
    found = turns(a, generator_rad)
    return {
        Member.HELD: 0.0,
        Member.GENERATOR: found[kinematics.GENERATOR],
        Member.FLEXIBLE: found[kinematics.FLEXIBLE],
        Member.OUTPUT: found[a.design.motion.read],
    }


def _as_one(a: Assessment) -> dict[Member, Member]:
    """Members that turn together count as one."""
    angle = _angles(a, 1.0)
    return {m: next(other for other in Member if abs(angle[other] - angle[m]) < 1e-12) for m in Member}


def _depth_mm(overlap: shapely.Geometry, least_mm: float) -> tuple[float, tuple[float, float]]:
    """Width of an overlap at its thickest and where that is; 0 where it is nowhere wider than ``least_mm``."""
    best, where = 0.0, (0.0, 0.0)
    core = shapely.buffer(overlap, -least_mm / 2, quad_segs=2)
    # The widest place of the core is that of the whole: a disc of the same centre, larger all round by what was taken off.
    parts = sorted((part for part in shapely.get_parts(core) if not part.is_empty), key=lambda part: -part.area)
    for part in parts[:MOST_PARTS]:
        radius = shapely.maximum_inscribed_circle(part, tolerance=1e-3)
        if 2 * radius.length + least_mm > best:
            best, where = 2 * radius.length + least_mm, radius.coords[0]
    return best, (float(where[0]), float(where[1]))


def _distance_mm(one: shapely.Geometry, other: shapely.Geometry, most_mm: float) -> float:
    """Distance of two areas, at most ``most_mm``; toothed ones by a tree of their edges, not every edge with every other."""
    shapely.prepare(one)
    if shapely.intersects(one, other):
        return 0.0
    if shapely.get_num_coordinates(one) * shapely.get_num_coordinates(other) < MANY:
        return min(float(shapely.distance(one, other)), most_mm)
    return min(_to_edges(one, other, most_mm), _to_edges(other, one, most_mm))


def _near(points: Array, one: shapely.Geometry, reach_mm: float) -> Array:
    """Which of points or edges (N, K, 2) have their box and their ring about the axis within reach of those of an area."""
    low, high = np.array(one.bounds[:2]) - reach_mm, np.array(one.bounds[2:]) + reach_mm
    within = np.all((points.max(axis=1) >= low) & (points.min(axis=1) <= high), axis=1)
    radii = np.hypot(points[..., 0], points[..., 1])
    half = np.hypot(*np.ptp(points, axis=1).T) / 2
    nearest = float(shapely.distance(shapely.Point(0.0, 0.0), one)) - reach_mm
    farthest = float(np.hypot(*shapely.get_coordinates(one).T).max()) + reach_mm
    # An edge comes nearer to the axis than its ends by half its length at the most.
    return np.asarray(within & (radii.max(axis=1) >= nearest) & (radii.min(axis=1) - half <= farthest))


def _to_edges(one: shapely.Geometry, other: shapely.Geometry, most_mm: float) -> float:
    """Least distance of the corners of one area from the edges of another; ``most_mm`` where none is nearer."""
    rings = [ring for part in shapely.get_parts(other) for ring in (part.exterior, *part.interiors)]
    corners = [shapely.get_coordinates(ring) for ring in rings]
    lines = np.vstack([np.stack((points[:-1], points[1:]), axis=1) for points in corners])
    points = shapely.get_coordinates(one)[:, None, :]
    lines, points = lines[_near(lines, one, most_mm)], points[_near(points, other, most_mm)]
    if not len(lines) or not len(points):
        return most_mm
    tree, spots = shapely.STRtree(shapely.linestrings(lines)), shapely.points(points[:, 0, :])
    for reach in (*(reach for reach in NEARER_MM if reach < most_mm), most_mm):
        if reach <= 0.0:
            break
        _, apart = tree.query_nearest(spots, max_distance=reach, return_distance=True, all_matches=False)
        if len(apart):
            return float(apart.min())
    return most_mm


def _meant(one: _Piece, other: _Piece, facing: shapely.Geometry | None) -> bool:
    """Contacts of the working drive: teeth in mesh, the generator in its ring, what runs in a bearing.

    ``facing``: where they face each other along the axis. There a bearing may be touched on its inner ring only.
    """
    flexible = one.owner == -1 or other.owner == -1
    # A generator's end may lie level with the rim's, where the leaning barrel begins: that is no rubbing.
    if flexible and (
        RUN_ON & {one.name, other.name} or (facing is None and Group.RIGID_RING in (one.group, other.group))
    ):
        return True
    # A motor is one bought part: its shaft turns with the coupling on it.
    if facing is None and {one.name, other.name} == SHAFT_IN:
        return True
    for bearing in (one, other):
        # Rollers are bearings too, but nothing of another member than the flexible ring may touch them.
        if bearing.bearing and bearing.member is not Member.GENERATOR:
            if facing is None:
                return True
            radii = np.hypot(*shapely.get_coordinates(bearing.level.area).T)
            return float(np.hypot(*shapely.get_coordinates(facing).T).max()) <= float(radii.min() + radii.max()) / 2
    return False


@dataclass
class _Found:
    """What was met so far, the worst of every pair of parts."""

    clashes: dict[tuple[str, str], Clash]
    gaps: dict[tuple[str, str], Gap]
    compared: int = 0
    lean_mm: float = 0.0

    def clash(
        self, one: _Piece, other: _Piece, overlap: shapely.Geometry, height: tuple[float, float], angle: float | None
    ) -> None:
        high = height[1] - height[0]
        lean = max(one.lean_mm, other.lean_mm) if Member.GENERATOR in (one.member, other.member) else 0.0
        allowed = lean + TOUCH_MM + one.fit_mm + other.fit_mm
        wide, (x, y) = _depth_mm(overlap, allowed)
        depth = min(wide, high)
        if depth <= TOUCH_MM:
            # A straight generator in a leaning rim: the rim gives way, which the mesh is checked for as a case of its own.
            self.lean_mm = max(self.lean_mm, lean)
            return
        key = (min(one.name, other.name), max(one.name, other.name))
        if key in self.clashes and self.clashes[key].depth_mm >= depth:
            return
        at = (x, y, (height[0] + height[1]) / 2)
        self.clashes[key] = Clash(*key, angle, depth, overlap.area, overlap.area * high, at)

    def known_mm(self, one: _Piece, other: _Piece) -> float:
        """The smallest gap that was found between two parts; what is not looked for beyond where there is none."""
        gap = self.gaps.get((min(one.name, other.name), max(one.name, other.name)))
        return gap.gap_mm if gap else CLOSE_MM

    def gap(
        self, one: _Piece, other: _Piece, gap_mm: float, angle: float | None, facing: shapely.Geometry | None = None
    ) -> None:
        key = (min(one.name, other.name), max(one.name, other.name))
        made = Gap(*key, angle, gap_mm, facing is not None, _meant(one, other, facing))
        # Of two contacts the one that is not meant must be told.
        if key not in self.gaps or (gap_mm, made.meant) < (self.gaps[key].gap_mm, self.gaps[key].meant):
            self.gaps[key] = made


def _pairs(first: Sequence[_Piece], second: Sequence[_Piece] | None, reach_mm: float) -> tuple[Array, Array, Array]:
    """Index pairs whose boxes come within ``reach_mm``, and the shared height (negative: the gap along the axis)."""
    others = first if second is None else second
    areas = np.array([piece.level.area for piece in first])
    boxes = shapely.bounds(areas) + np.array([-reach_mm, -reach_mm, reach_mm, reach_mm])
    tree = shapely.STRtree([piece.level.area for piece in others])
    i, j = tree.query(shapely.box(*boxes.T))
    own = np.array([piece.owner for piece in first])[i] != np.array([piece.owner for piece in others])[j]
    keep = own & (i < j) if second is None else own
    i, j = i[keep], j[keep]
    low = np.maximum([first[k].level.bottom_mm for k in i], [others[k].level.bottom_mm for k in j])
    high = np.minimum([first[k].level.top_mm for k in i], [others[k].level.top_mm for k in j])
    near = high - low > -reach_mm if len(i) else np.zeros(0, dtype=bool)
    return i[near], j[near], (high - low)[near]


def _within(pieces: Sequence[_Piece], found: _Found) -> None:
    """Parts that do not move against each other: they may touch and must not overlap."""
    i, j, shared = _pairs(pieces, None, 0.0)
    deep = shared > TOUCH_MM
    _overlaps(pieces, pieces, i[deep], j[deep], 0.0, found)


def _overlaps(
    first: Sequence[_Piece], second: Sequence[_Piece], i: Array, j: Array, angle: float | None, found: _Found
) -> Array:
    a, b = np.array([first[k].level.area for k in i]), np.array([second[k].level.area for k in j])
    found.compared += len(i)
    overlap = shapely.intersection(a, b) if len(i) else np.array([])
    for k in np.flatnonzero(shapely.area(overlap) > 1e-6):
        one, other = first[i[k]], second[j[k]]
        height = (
            max(one.level.bottom_mm, other.level.bottom_mm),
            min(one.level.top_mm, other.level.top_mm),
        )
        found.clash(one, other, overlap[k], height, angle)
    return np.asarray(overlap)


def _between(first: Sequence[_Piece], second: Sequence[_Piece], angle: float | None, found: _Found) -> None:
    """Parts that move against each other: no overlap, and the gap between them, across and along the axis."""
    if not first or not second:
        return
    i, j, shared = _pairs(first, second, CLOSE_MM)
    beside = shared > TOUCH_MM
    a = np.array([first[k].level.area for k in i[beside]])
    b = np.array([second[k].level.area for k in j[beside]])
    # A gap wider than the smallest known between two parts changes nothing.
    known = [found.known_mm(first[one], second[other]) for one, other in zip(i[beside], j[beside], strict=True)]
    apart = np.array([_distance_mm(*pair) for pair in zip(a, b, known, strict=True)])
    for one, other, gap in zip(i[beside], j[beside], apart, strict=True):
        if gap < found.known_mm(first[one], second[other]):
            found.gap(first[one], second[other], float(gap), angle)
    touching = apart <= TOUCH_MM
    _overlaps(first, second, i[beside][touching], j[beside][touching], angle, found)
    over = ~beside
    a = np.array([first[k].level.area for k in i[over]])
    b = np.array([second[k].level.area for k in j[over]])
    facing = shapely.intersection(a, b) if len(a) else np.array([])
    for one, other, gap, face in zip(i[over], j[over], -shared[over], facing, strict=True):
        if face.area > FACING_MM2:
            found.gap(first[one], second[other], max(float(gap), 0.0), angle, face)


def _swept_area(area: shapely.Geometry) -> shapely.Geometry:
    """What an area covers in a whole turn about the axis: a ring for each of its parts."""
    rings = []
    for part in shapely.get_parts(area):
        radii = np.hypot(*shapely.get_coordinates(part).T)
        ring = circle(float(radii.max())).polygon(CHORD_MM)
        # Chords of a round hole lie nearer to the axis than its arc; the corners tell of the arc itself.
        near = min(float(radii.min()), float(shapely.distance(shapely.Point(0.0, 0.0), part)) + CHORD_MM)
        inside = shapely.contains_xy(part, 0.0, 0.0) or near <= CHORD_MM
        rings.append(ring if inside else shapely.difference(ring, circle(near).polygon(CHORD_MM)))
    return shapely.union_all(rings)


def _swept(pieces: Sequence[_Piece]) -> list[_Piece]:
    return [replace(one, level=replace(one.level, area=_swept_area(one.level.area))) for one in pieces]


def _stiff_pairs(sets: dict[Member, list[_Piece]], turn: Sequence[dict[Member, float]],
                 angles: Sequence[float], found: _Found) -> None:  # fmt: skip
    """Stiff parts of two members: one of them swept, but for what stands there for a test, which is met at single angles."""
    members = [one for one in (Member.GENERATOR, Member.FLEXIBLE, Member.OUTPUT, Member.HELD) if one in sets]
    plain = {m: [one for one in sets[m] if not one.for_test] for m in members}
    tests = {m: [one for one in sets[m] if one.for_test] for m in members}
    for k, m in enumerate(members):
        swept = _swept(plain[m]) if members[k + 1 :] else []
        for other in members[k + 1 :]:
            _between(swept, plain[other], None, found)
            for angle, turns_ in zip(angles, turn, strict=True):
                for one, two in ((tests[m], sets[other]), (plain[m], tests[other])):
                    if one and two:
                        _between(_turned(one, turns_[m]), _turned(two, turns_[other]), angle, found)


def _ring_pairs(bent: BentRing, rings: Sequence[Placed], sets: dict[Member, list[_Piece]], own: Member,
                turn: Sequence[dict[Member, float]], angles: Sequence[float], found: _Found) -> None:  # fmt: skip
    """The bent ring against stiff parts: teeth at every angle; the generator at one, since its wave goes round with it; what
    turns with the ring, which it may touch, and all others swept."""
    for k, angle in enumerate(angles):
        soft = [piece for ring in rings for piece in _bent(bent, ring, angle)]
        if not soft:
            return
        for m, pieces in sets.items():
            toothed = [one for one in pieces if one.group is Group.RIGID_RING and m is not own]
            _between(soft, _turned(toothed, turn[k][m]), angle, found)
            if k:
                continue
            rest = [one for one in pieces if one.owner != -1 and one.group is not Group.RIGID_RING]
            if m is own:
                _touching(_swept(soft), rest, found)
            elif m is Member.GENERATOR:
                _between(soft, _turned(rest, turn[k][m]), angle, found)
            else:
                _between(_swept(soft), rest, None, found)


def _touching(soft: Sequence[_Piece], stiff: Sequence[_Piece], found: _Found) -> None:
    """The bent ring and what turns with it: they may touch and must not overlap."""
    if stiff:
        i, j, shared = _pairs(soft, stiff, 0.0)
        deep = shared > TOUCH_MM
        _overlaps(soft, stiff, i[deep], j[deep], None, found)


def _turned(pieces: Sequence[_Piece], angle_rad: float) -> list[_Piece]:
    place = Place(turn_rad=angle_rad)
    return [replace(piece, level=placed_level(piece.level, place)) for piece in pieces]


def collisions(a: Assessment, placed: Sequence[Placed], angles_rad: Sequence[float] = ()) -> Clearances:
    """Compare all parts of an assembly, generator and output turned all the way round against what is held and each other.

    ``angles_rad``: turns of the generator, anticlockwise from the front, at which teeth and what stands there for a test are met;
    without them :func:`usual_angles_rad`. Assumes stiff parts but for the flexible ring, nominal sizes and no load; the ring is
    bent as set, a cup leaning in proportion. Raises what solving the ring's shape raises.
    """
    angles = tuple(angles_rad) or usual_angles_rad(a)
    bent, one = BentRing(a), _as_one(a)
    stiff = _stiff(a, placed, bent)
    sets = {m: [piece for piece in stiff if one[piece.member] is m] for m in dict.fromkeys(one.values())}
    rings = [ring for ring in placed if ring.part.name in FLEXIBLE_NAMES]
    turn = [_angles(a, angle) for angle in angles]
    found = _Found({}, {})
    for group in sets.values():
        if group:
            _within(group, found)
    _stiff_pairs(sets, turn, angles, found)
    _ring_pairs(bent, rings, sets, one[Member.FLEXIBLE], turn, angles, found)
    clashes = sorted(found.clashes.values(), key=lambda clash: -clash.depth_mm)
    gaps = sorted(found.gaps.values(), key=lambda gap: gap.gap_mm)
    return Clearances(angles, tuple(clashes), tuple(gaps), found.compared, found.lean_mm)
