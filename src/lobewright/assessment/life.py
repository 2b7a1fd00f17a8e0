"""Assessment and loaded states in, strength and life out: what breaks or wears out first in the duty, and when."""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.assessment.life_map import life_map
from lobewright.assessment.life_verdicts import life_verdicts
from lobewright.assessment.loaded_states import LoadedStates
from lobewright.assessment.results import Assessment
from lobewright.assessment.ring_places import surface_of, wall_at
from lobewright.design import model as m
from lobewright.strength.bearing_items import bearing_items
from lobewright.strength.belt_life import belt_items
from lobewright.strength.course import CupProfile, StressCourse
from lobewright.strength.cup_stress import cup_courses, cup_profile
from lobewright.strength.duty import Duty, duty_of
from lobewright.strength.items import Item, NotMade
from lobewright.strength.material import Direction, StrengthData
from lobewright.strength.material_data import rigid_strength, ring_strength
from lobewright.strength.parked import Parked, parked, parked_items
from lobewright.strength.point import LifeMap, PointLife
from lobewright.strength.rigid_items import rigid_items
from lobewright.strength.rim_stress import rim_courses
from lobewright.strength.ring_life import items_of, point_life
from lobewright.verdict import Verdict

NO_DUTY = "the design names no duty to hold it against"


@dataclass(frozen=True)
class Life:
    """Strength and life of a drive. ``items``: every check, the weakest first, those not made last. ``duty``: None where the
    design names none; then nothing is graded. ``courses``: stress of the ring's critical places; ``points``: the same over the
    duty. ``profile``: along a cup; ``life_map``: life over torque and speed; ``parked``: what a standing ring does. What does
    not apply or could not be made is None and its reason stands among the items."""

    duty: Duty | None
    items: tuple[Item, ...]
    courses: tuple[StressCourse, ...]
    points: tuple[PointLife, ...]
    profile: CupProfile | None
    life_map: LifeMap | None
    parked: Parked | None
    verdicts: tuple[Verdict, ...]


def life(a: Assessment, states: LoadedStates) -> Life:
    """Strength and life of an assessed drive whose loaded states are known.

    Raises DesignFault where a material is asked at a temperature that it is not known for.
    """
    design, duty = a.design, duty_of(a.design, a.motion)
    places = ring_places(states)
    items, points = checks(a, states, places, duty)
    standing = None
    data = ring_strength(design, Direction.IN_LAYERS)
    if data is not None and not data.metal:
        items += parked_items(design, data)
        found = parked(design, data)
        standing = found if isinstance(found, Parked) else None
    items = _weakest_first(items)
    return Life(
        duty=duty,
        items=tuple(items),
        courses=tuple(one for one in places if isinstance(one, StressCourse)),
        points=points,
        profile=cup_profile(states.drive, states.stiffness.inputs, states.stiffness.cells, states.shares[-1]),
        life_map=None if duty is None else life_map(a, states, points, duty),
        parked=standing,
        verdicts=life_verdicts(items, "" if duty is not None else NO_DUTY),
    )


def ring_places(states: LoadedStates) -> tuple[StressCourse | NotMade, ...]:
    """Stress of the flexible ring's critical places over the torques of the states, or why there is none."""
    inputs, cells = states.stiffness.inputs, states.stiffness.cells
    return (
        *rim_courses(states.drive, cells, states.shares),
        *cup_courses(states.drive, inputs, cells, states.shares),
    )


def checks(
    a: Assessment, states: LoadedStates, places: tuple[StressCourse | NotMade, ...], duty: Duty | None
) -> tuple[list[Item], tuple[PointLife, ...]]:
    """Every check that hangs on the torque, in a duty that need not be the design's own, and the ring's places over it."""
    design = a.design
    items: list[Item] = [one for one in places if isinstance(one, NotMade)]
    points: tuple[PointLife, ...] = ()
    if duty is not None:
        materials = {direction: ring_strength(design, direction) for direction in Direction}
        courses = (one for one in places if isinstance(one, StressCourse))
        lives = [_point(design, course, materials[course.direction], duty) for course in courses]
        points = tuple(one for one in lives if isinstance(one, PointLife))
        items += [one for one in lives if isinstance(one, NotMade)]
        items += [item for point in points for item in items_of(point, duty)]
        items += belt_items(states.drive, states.shares, duty)
        items += _rigid(design, states, duty)
    items += bearing_items(
        states.drive,
        states.shares,
        duty,
        reliability_percent=design.strength.reliability_percent,
        force_factor=states.force_factor,
    )
    return items, points


def check_materials(design: m.Design) -> None:
    """Ask every material for its figures, so that a fault of theirs is told before the drive is solved under torque.

    Raises DesignFault: a temperature that a material is not known for, test pieces that say nothing.
    """
    ring_strength(design, Direction.IN_LAYERS)
    for ring in design.rigid_ring:
        rigid_strength(design, ring, Direction.IN_LAYERS)


def _point(design: m.Design, course: StressCourse, data: StrengthData | None, duty: Duty) -> PointLife | NotMade:
    assert data is not None  # belts have no courses
    criterion = design.strength.criterion
    return point_life(course, data, duty, criterion, surface_of(design), wall_at(design, course))


def _rigid(design: m.Design, states: LoadedStates, duty: Duty) -> tuple[Item, ...]:
    """Checks of rigid parts at the duty's peak, or why there are none."""

    def strength_of(ring: m.RigidRing | None, direction: Direction) -> StrengthData | None:
        # the generator's parts are of what is printed, whatever a ring is made of
        own = ring if ring is not None else design.rigid_ring[0].model_copy(update={"material": None})
        return rigid_strength(design, own, direction)

    return rigid_items(states.drive, states.shares, duty.peak_nmm, strength_of)


def _weakest_first(items: list[Item]) -> list[Item]:
    def rank(item: Item) -> tuple[bool, float, float]:
        return (True, 0.0, 0.0) if isinstance(item, NotMade) else (False, item.band.low, item.band.middle)

    return sorted(items, key=rank)
