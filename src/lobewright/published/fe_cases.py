"""Evidence from a general finite element code: rings on rollers, a toothed ring turned past its skip, cups.

The cases were set up and solved in this project; docs/validation/fe_ring_cases.md and the theory of the cup say how. Most
rows tell the largest difference anywhere in a case as a share of the largest reference number of its kind, so they expect 0.
What is allowed was fixed before the models were compared: torque, roller forces and section resultants 3 %, tooth forces
and surface stresses 5 %, displacements 2 %; past the skip 10 % of the torque and 5 % of the turn; cups 2 % in coning, 3 % in
the generator's reaction, 5 % in stress and 10 % at the step and in the corner.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from lobewright.published.case import Case, Room
from lobewright.published.fe_reference import box_load, reference, tooth_loads, tooth_outline_mm
from lobewright.published.model import Model
from lobewright.ring.cell_solve import Plane
from lobewright.ring.shell import BandFactors, CupGeometry, CupMaterial, RimLoad
from lobewright.sources import Flag
from lobewright.torque.rig import Fence, Rig, RigState, Rollers, Teeth

Array = np.ndarray
SOURCE = ("fe_solved_here", Flag.DERIVED)
STIFF_ARM_N_PER_MM2 = 1e3
PARTS = 8
"""Elements a pitch of the toothed ring; twice as many move no share below by more than 0.004."""
BESIDE_ROLLERS = ("0", "18", "20")
"""Sections within a wall or so of a roller, where no surface stress is compared."""
HIGHEST = 96


def _share(mine: Array, theirs: Array) -> float:
    """Largest difference over the largest reference number."""
    return float(np.abs(np.asarray(mine) - theirs).max() / np.abs(theirs).max())


# --- plain rings -----------------------------------------------------------------------------------------------------


def _plain(model: Model, name: str) -> RigState:
    given = reference()[name]["inputs"]
    wall, modulus, at = given["wall_mm"], given["modulus_mpa"], given["roller_at_deg"]
    places = (0.0, 180.0) if at == 0.0 else (at, -at, 180.0 - at, 180.0 + at)
    travel = tuple(math.copysign(given["travel_mm"], math.cos(math.radians(place))) for place in places)
    rollers = Rollers(places, given["roller_radius_mm"], travel, STIFF_ARM_N_PER_MM2, modulus / wall)
    circle = given.get("circle_radius_mm")
    around = Fence(circle, 0.5 * wall, modulus / wall) if circle else None
    stiffness = modulus * wall**3 / 12.0
    radius = given["neutral_radius_mm"]
    rig = Rig(24, radius, 0.0, 0.5 * wall, stiffness, modulus * wall, (1.0,) * 20, rollers, around)
    return model.turn_rig(rig, (0.0,))[0]


def _at(state: RigState, degrees: list[str]) -> Array:
    return np.rint(np.array([float(d) for d in degrees]) / 360.0 * len(state.label_rad)).astype(int)


def _plain_moved(name: str) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        state, theirs = _plain(model, name), reference()[name]["radial_tangential_mm"]
        return _share(state.moved_mm[_at(state, list(theirs))], np.array(list(theirs.values())))

    return compute


def _plain_section(name: str, mine: str, theirs: str) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        state, sections = _plain(model, name), reference()[name]["sections"]
        return _share(
            getattr(state, mine)[_at(state, list(sections))], np.array([s[theirs] for s in sections.values()])
        )

    return compute


def _plain_stress(name: str) -> Callable[[Model], float]:
    """Both surfaces, away from rollers and circle: N/t ∓ 6M/t²."""

    def compute(model: Model) -> float:
        state, sections = _plain(model, name), reference()[name]["sections"]
        wall = reference()[name]["inputs"]["wall_mm"]
        kept = {key: one for key, one in sections.items() if "inside_mpa" in one}
        at = _at(state, list(kept))
        pull, bend = state.section_force_n_per_mm[at] / wall, 6.0 * state.section_moment_n[at] / wall**2
        theirs = np.array([[one["inside_mpa"], one["outside_mpa"]] for one in kept.values()])
        return _share(np.column_stack((pull - bend, pull + bend)), theirs)

    return compute


def _plain_roller(name: str) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        theirs = np.array(reference()[name]["force_on_ring_n_per_mm"]["ROLL0"])
        return _share(_plain(model, name).roller_n[0], theirs)

    return compute


# --- the toothed ring ------------------------------------------------------------------------------------------------


def _cell(model: Model) -> Any:
    given = reference()["toothed"]["inputs"]
    wall, tip = given["wall_mm"], given["tooth_right_half"]["tip_mm"]
    middle = 0.5 * (0.5 * wall + tip)
    return model.cell_of_outline(
        tooth_outline_mm(given), given["flexible_teeth"], -0.5 * wall, middle, given["poisson"], Plane.STRESS
    )


def _rig(cell: Any) -> Rig:
    """The rig of the toothed cases with all stiffnesses from the tooth cell."""
    given = reference()["toothed"]["inputs"]
    wall, modulus, lifted = given["wall_mm"], given["modulus_mpa"], float(cell.neutral_height_mm)
    height = given["tooth_right_half"]["tip_mm"] - 0.5 * wall
    outline = tooth_outline_mm(given) - (0.0, lifted)
    teeth = Teeth(
        outline_mm=tuple(map(tuple, outline)),
        space_mm=tuple(map(tuple, given["rigid_space"]["points_mm"])),
        ring_teeth=given["rigid_teeth"],
        shift_stiffness_n_per_mm2=modulus / cell.tooth.shift_give,
        modulus_mpa=modulus,
        # tip rounding against straight flank, on either side
        edge_radius_mm=given["tooth_right_half"]["round_mm"],
        patch_half_mm=0.25 * height,
    )
    radius = given["neutral_radius_mm"]
    out = given["roller_centre_mm"] - (radius - 0.5 * wall - given["roller_radius_mm"])
    shift = given["shift_mm"]
    arm = given["arm_n_per_mm_per_mm"]
    rollers = Rollers((0.0, 180.0), given["roller_radius_mm"], (out + shift, shift - out), arm, modulus / wall)
    return Rig(
        pitches=given["flexible_teeth"],
        radius_mm=radius + lifted,
        mid_wall_mm=lifted,
        inner_mm=0.5 * wall + lifted,
        bending_stiffness_nmm=cell.bending_stiffness_nmm2(modulus, 1.0),
        axial_stiffness_n_per_mm=cell.axial_stiffness_n(modulus, 1.0),
        bending_shares=tuple(float(share) for share in cell.bending_shares(PARTS)),
        rollers=rollers,
        around=teeth,
    )


Read = Callable[[RigState, Any], Array]
Kept = Callable[[dict[str, Any]], Array]


def _turned(mine: Read, theirs: Kept, from_start: bool = True) -> Callable[[Model], float]:
    """Largest difference of a kind over all states, each as a share of the largest of its state."""

    def compute(model: Model) -> float:
        cell, states = _cell(model), reference()["toothed"]["states"]
        pairs = list(zip(_states(model, cell), states, strict=True))[0 if from_start else 1 :]
        return max(_share(mine(one, cell), theirs(state)) for one, state in pairs)

    return compute


def _states(model: Model, cell: Any) -> tuple[RigState, ...]:
    turns = (state["turn_deg"] for state in reference()["toothed"]["states"])
    return model.turn_rig(_rig(cell), tuple(math.radians(turn) for turn in turns))


def _torque(model: Model) -> float:
    return float(_states(model, _cell(model))[-1].torque_n)


def _lands(state: RigState, numbers: list[int]) -> Array:
    """Nodes in the middle of the lands half a pitch clockwise of some teeth."""
    return (np.array(numbers) * PARTS - PARTS // 2) % len(state.label_rad)


def _kept_lands(state: dict[str, Any], away: bool) -> list[str]:
    return [key for key in state["sections"] if not (away and key in BESIDE_ROLLERS)]


def _section(name: str) -> Read:
    numbers = list(range(0, 38, 2))
    return lambda state, cell: getattr(state, name)[_lands(state, numbers)]


def _kept_section(name: str) -> Kept:
    return lambda state: np.array([one[name] for one in state["sections"].values()])


def _inside(state: RigState, cell: Any) -> Array:
    """Stress of the inner surface in the middle of the lands, as the tooth cell tells it from moment and tension."""
    keys = [int(key) for key in _kept_lands(reference()["toothed"]["states"][0], away=True)]
    at, surface = _lands(state, keys), cell.inner
    place = surface.points_mm[:, 0]
    per_moment = np.interp(-0.5 * cell.pitch_mm, place, surface.per_moment_1_per_mm2)
    per_force = np.interp(-0.5 * cell.pitch_mm, place, surface.per_force_1_per_mm)
    force = state.section_force_n_per_mm[at]
    neutral = state.section_moment_n[at] - cell.neutral_height_mm * force
    return per_moment * neutral + per_force * force


def _kept_inside(state: dict[str, Any]) -> Array:
    return np.array([state["sections"][key]["inside_mpa"] for key in _kept_lands(state, away=True)])


def _skipped(read: Callable[[Any], float]) -> Callable[[Model], float]:
    return lambda model: float(read(model.skip_rig(_rig(_cell(model)))))


# --- cups ------------------------------------------------------------------------------------------------------------


def _band(model: Model, case: dict[str, Any], poisson: float) -> BandFactors:
    """Stiffness of a rim with square teeth on radial flanks, as wide as the gaps, drawn straight at the rim's radius."""
    count, height = case["teeth"], case["tooth_mm"]
    radius, wall = case["cup"]["rim_radius_mm"], case["cup"]["rim_wall_mm"]
    land, pitch = 0.5 * wall, 2.0 * math.pi * radius / count
    foot, tip = (0.5 * math.pi * (radius + at) / count for at in (land, land + height))
    right = np.array([(tip, land + height), (foot, land), (0.5 * pitch, land)])
    outline = np.vstack((right[::-1] * (-1.0, 1.0), right))
    cell = model.cell_of_outline(outline, count, -land, land + 0.5 * height, poisson, Plane.STRAIN)
    # along the axis wall and teeth are bars side by side: second moment of one pitch about its own centroid
    level = np.linspace(land, land + height, 2001)
    width = np.interp(level, (land, land + height), (2.0 * foot, 2.0 * tip))
    area = wall * pitch + np.trapezoid(width, level)
    centre = np.trapezoid(width * level, level) / area
    moment = pitch * wall**3 / 12.0 + wall * pitch * centre**2 + np.trapezoid(width * (level - centre) ** 2, level)
    return BandFactors(cell.axial_ratio, cell.bending_ratio, float(12.0 * moment / (pitch * wall**3)), cell.twist_ratio)


class _Cup:
    """One cup under one load: the bricks' numbers along the major axis and the shell's at the same places."""

    def __init__(self, model: Model, name: str, load: str) -> None:
        given = reference()["cups"]
        case = given["cases"][name]
        self.toothed = "teeth" in case
        teeth = _band(model, case, given["poisson"]) if self.toothed else BandFactors()
        self.cup = cup = CupGeometry(**case["cup"], teeth=teeth)
        orders = np.array([2]) if load == "lobes" else np.arange(0, HIGHEST + 1, 2)
        push, half = given["line_load_n_per_mm"], math.radians(given["contact_half_angle_deg"])
        even = np.zeros((len(orders), 4))
        even[:, 0] = push if load == "lobes" else box_load(push, half, orders)
        acting = RimLoad(0.5 * cup.rim_width_mm, orders, even, np.zeros_like(even), given["spread_mm"])
        response = model.respond(cup, CupMaterial(given["modulus_mpa"], given["poisson"]), [acting])
        self.segment = np.array(response.segment)
        straight = self.on_wall = np.isin(self.segment, ("barrel", "rim"))
        # at φ = 0 all harmonics of the even family add up
        self.stress = response.fields.stress_mpa[0].sum(axis=0)[:, :, :2]
        self.own_mm = cup.length_mm - response.from_edge_mm[straight]
        self.straight = self.stress[straight]
        self.z_mm, self.r_mm = np.array(case[load]["z_mm"]), np.array(case[load]["r_mm"])
        self.solid_mm = np.array(case[load]["radial_mm"])
        moved = response.fields.displacement_mm[0].sum(axis=0)[straight, 0]
        self.shell_mm = np.interp(self.z_mm, self.own_mm, moved)
        self.solid = np.stack((case[load]["inside_mpa"], case[load]["outside_mpa"]), axis=1)
        self.step_mm = cup.length_mm - cup.rim_width_mm
        self.turn_mm = cup.diaphragm_mm + cup.corner_radius_mm
        self.spread_mm = given["spread_mm"]

    def reaction(self) -> float:
        """The shell's reaction to the bricks' mean deflection of the loaded band, over the bricks' own."""
        middle = self.cup.length_mm - 0.5 * self.cup.rim_width_mm
        band = np.abs(self.z_mm - middle) < 0.5 * self.spread_mm + 1e-9
        return float(
            np.trapezoid(self.solid_mm[band], self.z_mm[band]) / np.trapezoid(self.shell_mm[band], self.z_mm[band])
        )

    def coning(self) -> float:
        """Rise of the deflection over the rim, over the bricks'."""
        step = int(np.argmin(np.abs(self.z_mm - self.step_mm)))
        return float((self.shell_mm[-1] - self.shell_mm[step]) / (self.solid_mm[-1] - self.solid_mm[step]))

    def away(self) -> float:
        """Largest difference of a stress one wall and more from corner, step and the edges of the load."""
        cup = self.cup
        gap = 0.5 * (cup.rim_width_mm - self.spread_mm)
        edges = [self.turn_mm, self.step_mm, self.step_mm + gap, cup.length_mm - gap, cup.length_mm]
        kept = (self.z_mm > self.turn_mm) & (np.abs(self.z_mm[:, None] - edges).min(axis=1) > cup.rim_wall_mm)
        if self.toothed:
            # what teeth do to the stress of the wall below them is the tooth cell's, not the shell's
            kept &= self.z_mm < self.step_mm
        mine = np.array([[self._interp(s, c) for c in (0, 1)] for s in (0, 1)])[:, :, kept]
        return _share(mine, np.moveaxis(self.solid[kept], 0, 2))

    def _interp(self, side: int, column: int) -> Array:
        return np.interp(self.z_mm, self.own_mm, self.straight[:, side, column])

    def transition(self) -> float:
        """Highest equivalent stress of either surface within a wall of the step, over the bricks'; the worse surface."""
        near, own = (np.abs(z - self.step_mm) < self.cup.rim_wall_mm for z in (self.z_mm, self.own_mm))
        if self.toothed:
            near, own = near & (self.z_mm < self.step_mm + 1e-9), own & (self.segment[self.on_wall] == "barrel")
        return _worse(_highest(_equivalent(self.straight[own])) / _highest(_equivalent(self.solid[near])))

    def corner(self) -> float:
        """Highest meridional stress of either surface of the corner, over the bricks'; the worse surface."""
        cup = self.cup
        inside = (self.z_mm < self.turn_mm - 1e-9) & (self.r_mm > cup.inner_radius_mm - cup.corner_radius_mm + 1e-9)
        return _worse(_highest(self.stress[self.segment == "corner", :, 0]) / _highest(self.solid[inside, :, 0]))


def _highest(values: Array) -> Array:
    """Of each column the value that is largest in size, with its sign."""
    return values[np.abs(values).argmax(axis=0), np.arange(values.shape[1])]


def _equivalent(stress: Array) -> Array:
    """Equivalent stress (von Mises) of meridional and hoop stresses (…, 2), with the sign of the latter; there is no shear at
    a lobe."""
    s, h = stress[..., 0], stress[..., 1]
    return np.sign(h) * np.sqrt(s * s + h * h - s * h)


def _worse(ratio: Array) -> float:
    """The ratio farthest from 1."""
    return float(ratio[np.argmax(np.abs(ratio - 1.0))])


def _of_cup(name: str, what: str) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        values = np.array([getattr(_Cup(model, name, load), what)() for load in ("lobes", "contact")])
        return float(values.max()) if what == "away" else _worse(values)

    return compute


# --- rows ------------------------------------------------------------------------------------------------------------

OF_LARGEST = "of the largest, fixed before the comparison; the reference is within 1 % of its refinement"
FIXED = "fixed before the comparison; the reference is within 1 % of its refinement"


def _case(
    key: str,
    room: Room,
    quantity: str,
    unit: str,
    expected: float,
    allowed: float,
    reason: str,
    compute: Callable[[Model], float],
) -> Case:
    return Case(f"fe.{key}", room, quantity, unit, *SOURCE, expected, allowed, reason, compute)


def _plain_rows(name: str, words: str) -> tuple[Case, ...]:
    rows = (
        ("rollers", "force of a roller", 0.03, _plain_roller(name)),
        ("moved", "displacements at seven places", 0.02, _plain_moved(name)),
        (
            "tension",
            "section forces at six places",
            0.03,
            _plain_section(name, "section_force_n_per_mm", "force_n_per_mm"),
        ),
        ("moment", "section moments at six places", 0.03, _plain_section(name, "section_moment_n", "moment_n")),
        ("stress", "stress of both surfaces away from contacts", 0.05, _plain_stress(name)),
    )
    return tuple(
        _case(
            f"{name}_{key}", Room.LOADED, f"{words}: {what}, largest difference", "", 0.0, allowed, OF_LARGEST, compute
        )
        for key, what, allowed, compute in rows
    )


TURNED = "ring of 38 coarse teeth in a rigid ring of 40, turned to 2°"
SKIPPED = "the same ring turned past its skip"


def _toothed_rows() -> tuple[Case, ...]:
    rows = (
        (
            "torque",
            "torque",
            0.03,
            _turned(lambda s, _: np.array([s.torque_n]), lambda s: np.array([s["torque_n"]]), from_start=False),
        ),
        (
            "rollers",
            "roller forces",
            0.03,
            _turned(lambda s, _: s.roller_n, lambda s: np.array(list(s["force_on_ring_n_per_mm"].values()))),
        ),
        (
            "teeth",
            "forces of all rigid teeth",
            0.05,
            _turned(lambda s, _: s.tooth_n, lambda s: tooth_loads(s, 40), from_start=False),
        ),
        (
            "moved",
            "displacements under all teeth",
            0.02,
            _turned(lambda s, _: s.moved_mm[::PARTS], lambda s: np.array(list(s["radial_tangential_mm"].values()))),
        ),
        (
            "tension",
            "section forces in every second land",
            0.03,
            _turned(_section("section_force_n_per_mm"), _kept_section("force_n_per_mm")),
        ),
        (
            "moment",
            "section moments in every second land",
            0.03,
            _turned(_section("section_moment_n"), _kept_section("moment_n")),
        ),
        ("stress", "stress of the inner surface under lands away from rollers", 0.05, _turned(_inside, _kept_inside)),
    )
    return tuple(
        _case(f"c_{key}", Room.LOADED, f"{TURNED}: {what}, largest difference", "", 0.0, allowed, OF_LARGEST, compute)
        for key, what, allowed, compute in rows
    )


def _skip_rows() -> tuple[Case, ...]:
    skip = reference()["toothed"]["skip"]
    peak, turn = skip["peak_torque_n"], skip["at_deg"]
    words = "fixed before the comparison; two meshes differ by 1.0 % in torque and 1.6 % in turn"
    return (
        _case(
            "d_torque",
            Room.LOADED,
            f"{SKIPPED}: largest torque per width",
            "N·mm/mm",
            peak,
            0.1 * peak,
            words,
            _skipped(lambda found: found.at_peak.torque_n),
        ),
        _case(
            "d_turn",
            Room.LOADED,
            f"{SKIPPED}: turn at the largest torque",
            "°",
            turn,
            0.05 * turn,
            words,
            _skipped(lambda found: math.degrees(found.at_peak.turn_rad)),
        ),
        _case(
            "d_way",
            Room.LOADED,
            f"{SKIPPED}: number of the rigid tooth that is climbed over",
            "",
            float(skip["rigid_tooth_that_lost_most"]),
            0.5,
            "a whole number",
            _skipped(lambda found: found.rigid_tooth),
        ),
    )


CUP_ROWS = (
    ("reaction", "reaction of the generator to a given deflection, over that of the bricks", 1.0, 0.03),
    ("coning", "rise of the deflection over the rim, over that of the bricks", 1.0, 0.02),
    ("away", "stresses of both surfaces a wall and more from all edges, largest difference", 0.0, 0.05),
    ("transition", "highest equivalent stress at the step from rim to wall, over that of the bricks", 1.0, 0.10),
    ("corner", "highest stress of the diaphragm's corner, over that of the bricks", 1.0, 0.10),
)
CUPS = (
    ("steel", "thin steel cup, R/h 98"),
    ("printed", "thick printed cup, R/h 47"),
    ("thick", "very thick cup, R/h 17"),
    ("toothed", "very thick cup with 72 square teeth on its rim"),
)


def _cup_rows() -> tuple[Case, ...]:
    reason = "fixed before the comparison, over two loads: two lobes, and a narrow push on both"
    return tuple(
        _case(f"e_{name}_{what}", Room.CUP, f"{words}: {quantity}", "", expected, allowed, reason, _of_cup(name, what))
        for name, words in CUPS
        for what, quantity, expected, allowed in CUP_ROWS
    )


CASES = (
    *_plain_rows("a", "plain ring opened by two rollers"),
    *_plain_rows("b", "plain ring on four rollers at ±30°, its bulge limited by a circle"),
    _case(
        "b_circle",
        Room.LOADED,
        "the same ring: force of the circle per width",
        "N/mm",
        -reference()["b"]["force_on_ring_n_per_mm"]["CIRCLE0"][0],
        -0.03 * reference()["b"]["force_on_ring_n_per_mm"]["CIRCLE0"][0],
        FIXED,
        lambda model: -float(_plain(model, "b").fence_n[0, 0]),
    ),
    *_toothed_rows(),
    _case(
        "c_torque_at_2",
        Room.LOADED,
        f"{TURNED}: torque there per width",
        "N·mm/mm",
        reference()["toothed"]["states"][-1]["torque_n"],
        0.03 * reference()["toothed"]["states"][-1]["torque_n"],
        FIXED,
        _torque,
    ),
    *_skip_rows(),
    *_cup_rows(),
)
