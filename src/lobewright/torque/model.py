"""From the drive and its stiffnesses to the numbers of the solver, and the state that is carried along a path."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.ring.beam_bodies import curve_table
from lobewright.ring.generator import Contact, Setting
from lobewright.torque.barrel import Barrel, barrel_of
from lobewright.torque.errors_in import NO_ERRORS, DriveErrors
from lobewright.torque.field import distance_field
from lobewright.torque.inputs import DriveInput, LoadInputs
from lobewright.torque.kernel import CURVE, ROUND, Numbers
from lobewright.torque.ring_view import even_ring

Array = NDArray[np.float64]

NODES_A_TOOTH = 2
FEWEST_NODES, MOST_NODES = 160, 2000
FEELERS = 48
CAM_POINTS = 720
TOO_MANY_TEETH = "the flexible ring has more teeth than the loaded ring can hold"
ONE_RING = "a cup under torque is modelled with one rigid ring"
TWO_RINGS = "an open flexible ring carries torque from one rigid ring to another"
"""Reasons why a drive is not solved."""
ROLLER_POINTS, DISC_POINTS = 32, 12
"""Points of an element at which a roller or disc bears: the narrow contact of a roller needs more."""


@dataclass
class State:
    """Working state, dimensionless: nodes q (N, 3·rows), lean (rows, T), extras (E,), cam hints (rows, bodies, N);
    ``gaps`` (rows, bodies, N) to a cam where they are foretold and not yet those of the state."""

    q: Array
    lean: Array
    extra: Array
    near: NDArray[np.int64]
    gaps: Array | None = None

    def copy(self) -> State:
        """An independent copy."""
        return State(self.q.copy(), self.lean.copy(), self.extra.copy(), self.near.copy(), self.gaps)


@dataclass
class Drive:
    """A drive ready to be solved. ``rest`` is the unloaded state; ``turn_rad`` how far the generator has turned."""

    drive: DriveInput
    inputs: LoadInputs
    numbers: Numbers
    nodes: int
    turn_rad: float
    radius_mm: float
    force_unit_n: float
    barrel: Barrel | None
    rest: State
    push: Array
    errors: DriveErrors = NO_ERRORS

    @property
    def rows(self) -> int:
        return len(self.drive.rows)

    @property
    def torque_unit_nmm(self) -> float:
        """EI/R: one dimensionless torque."""
        return self.force_unit_n * self.radius_mm

    @property
    def ring_at(self) -> tuple[int, ...]:
        """Place of each rigid ring's turn among the extras."""
        first = len(self.rest.extra) - self.rows
        return tuple(range(first, first + self.rows))

    def lean_extras(self, row: int) -> tuple[int, ...]:
        """Places among the extras that a row's tooth contacts act on: its ring's turn, then its rim's amplitudes."""
        each = self.numbers.rim_stiffness.shape[1]
        first = len(self.rest.extra) - self.rows - each * (self.rows - row)
        return (self.ring_at[row], *range(first, first + each))

    @property
    def boss_at(self) -> int | None:
        """Place of the turn of a cup's boss among the extras."""
        return None if self.barrel is None else 2 + len(self.numbers.arm_stiffness)


def node_count(drive: DriveInput, per_tooth: int) -> int:
    """Nodes on a full circle: a whole number a tooth of the first row, at least ``per_tooth``."""
    teeth = drive.rows[0].outline.teeth
    per_tooth = max(per_tooth, math.ceil(FEWEST_NODES / teeth))
    if teeth * per_tooth > MOST_NODES:
        allowed = f"at most {MOST_NODES // per_tooth}"
        raise DesignFault([Fault(TOO_MANY_TEETH, "flexible_ring.teeth", 0, str(teeth), allowed)])
    return teeth * per_tooth


def check_rows(drive: DriveInput) -> None:
    """Raise DesignFault where the drive has no load path or more rows than are modelled."""
    count = len(drive.rows)
    if drive.design.is_cup and count != 1:
        raise DesignFault([Fault(ONE_RING, "rigid_ring", 0, str(count), "1")])
    if not drive.design.is_cup and count != 2:
        raise DesignFault([Fault(TWO_RINGS, "rigid_ring", 0, str(count), "2 rigid rings")])


def start_nodes(drive: DriveInput, nodes: int, turn_rad: float) -> Array:
    """Dimensionless unknowns (N, 3) of the unloaded shape with the generator turned."""
    shape, radius = drive.shape, drive.geometry.neutral_radius_mm
    label = np.arange(nodes) * (2.0 * math.pi / nodes)
    there = np.mod(label - turn_rad, 2.0 * math.pi)
    lap = label - turn_rad - there
    arc = np.append(shape.arc_mm, 2.0 * math.pi * shape.radius_mm) / shape.radius_mm
    x = _smooth(there, arc, shape.x_mm)
    y = _smooth(there, arc, shape.y_mm)
    normal = _smooth(there, arc, shape.normal_rad - arc[:-1]) + there
    c, s = math.cos(turn_rad), math.sin(turn_rad)
    q = np.empty((nodes, 3))
    q[:, 0] = (c * x - s * y) / radius - np.cos(label)
    q[:, 1] = (s * x + c * y) / radius - np.sin(label)
    q[:, 2] = normal + turn_rad + lap - label
    return q


def _smooth(at: Array, arc: Array, values: Array) -> Array:
    """Periodic cubic (four-point) interpolation on a uniform grid."""
    count, step = len(values), arc[1] - arc[0]
    place = at / step
    i = np.floor(place).astype(int)
    u = place - i
    w = (
        -u * (u - 1) * (u - 2) / 6,
        (u + 1) * (u - 1) * (u - 2) / 2,
        -(u + 1) * u * (u - 2) / 2,
        (u + 1) * u * (u - 1) / 6,
    )
    return sum(w[k] * values[(i - 1 + k) % count] for k in range(4))


def build_numbers(drive: DriveInput, inputs: LoadInputs, nodes: int, turn_rad: float) -> tuple[Numbers, float]:
    """The solver's constants and its unit of force [N]."""
    radius = drive.geometry.neutral_radius_mm
    rigidity = sum(inputs.bending_stiffness_nmm2)
    unit = rigidity / radius**2
    share = np.array(inputs.bending_stiffness_nmm2) / rigidity
    axial = np.array(inputs.axial_stiffness_n) * radius**2 / np.array(inputs.bending_stiffness_nmm2)
    setting = drive.setting.shrunk(drive.design.generator.fit_mm / (2.0 * math.pi))
    widths = np.array([row.width_mm for row in drive.rows])
    kind, centre, body_radius, direction, table = _bodies(drive, setting, radius, turn_rad)
    # per radian of label: pressure over give × width × R
    stiffness = inputs.bed_n_per_mm3 * widths * radius * radius / unit
    points = DISC_POINTS if isinstance(drive.design.generator, m.Discs) else ROLLER_POINTS
    arms = 0 if kind == CURVE else len(centre)
    node, place = _tooth_places(drive, nodes)
    feeler, feeler_stiffness, feeler_step, field, grid = _teeth(drive, inputs, radius, unit)
    web = np.array([inputs.web_tangential_n_per_mm2, inputs.web_radial_n_per_mm2]) * radius**2 / unit
    lean = np.array(inputs.tooth_stiffness_n_per_mm2) * widths * radius / unit
    return (
        Numbers(
            axial=axial,
            share=share,
            web=web,
            body_kind=np.full(len(centre), kind, dtype=np.int64),
            body_centre=centre,
            body_radius=body_radius,
            body_direction=direction,
            body_arm=np.arange(len(centre)) if arms else np.full(len(centre), -1),
            body_points=np.full(len(centre), points),
            body_stiffness=np.tile(stiffness, (len(centre), 1)),
            arm_stiffness=np.full(arms, inputs.arm_stiffness_n_per_mm * radius / unit),
            arm_preload=np.zeros(arms),
            table=table,
            carrier_stiffness=inputs.carrier_stiffness_n_per_mm * radius / unit,
            carrier_home=_carrier_home(drive, inputs, turn_rad, NO_ERRORS),
            teeth=np.array([row.outline.teeth for row in drive.rows]),
            tooth_node=node,
            tooth_place=place,
            feeler=feeler,
            feeler_stiffness=feeler_stiffness,
            feeler_step=feeler_step,
            lean_stiffness=lean,
            field=field,
            field_grid=grid,
            uneven=np.ones((len(drive.rows), nodes)),
            **(even_ring(len(drive.rows)) | _rims(drive, inputs, radius, unit)),
        ),
        unit,
    )


def _rims(drive: DriveInput, inputs: LoadInputs, radius: float, unit: float) -> dict[str, Array]:
    """Stiffness of the rims' five amplitudes, and their turn over amplitude; nothing where rims are stiff."""
    if not inputs.rims:
        return {}
    stiffness = [[rim.stiffness_n_per_mm(n) for n in (0, 2, 2, 4, 4)] for rim in inputs.rims]
    turn = [[rim.side_share(n) * radius / (rim.radius_mm - rim.inside_mm) for n in (2, 4)] for rim in inputs.rims]
    return {"rim_stiffness": np.array(stiffness) * radius / unit, "rim_turn": np.array(turn)}


def turned_numbers(
    numbers: Numbers, drive: DriveInput, inputs: LoadInputs, turn_rad: float, errors: DriveErrors
) -> Numbers:
    """The numbers with the generator turned to ``turn_rad``, with its own errors; what was set under load stays set."""
    setting = drive.setting.shrunk(drive.design.generator.fit_mm / (2.0 * math.pi))
    radius = drive.geometry.neutral_radius_mm
    _, centre, _, direction, table = _bodies(drive, setting, radius, turn_rad, errors.unequal_lobes_mm)
    home = _carrier_home(drive, inputs, turn_rad, errors)
    return numbers._replace(body_centre=centre, body_direction=direction, table=table, carrier_home=home)


def _carrier_home(drive: DriveInput, inputs: LoadInputs, turn: float, errors: DriveErrors) -> Array:
    """Where the carrier's axis stands, over R: a small offset that every drive has, and the run-out given."""
    own = inputs.run_out_share * np.array([math.cos(turn + 0.6), math.sin(turn + 0.6)])
    angle = turn + errors.generator_run_out_rad
    given = errors.generator_run_out_mm / drive.geometry.neutral_radius_mm
    return own + given * np.array([math.cos(angle), math.sin(angle)])


def _bodies(
    drive: DriveInput, setting: Setting, radius: float, turn: float, lift_mm: float = 0.0
) -> tuple[int, Array, Array, Array, Array]:
    """Kind, centres (B, 2), radii, directions (B, 2) and cam table of the generator, turned, over R; its first lobe
    stands out by ``lift_mm``, on a cam as a smooth wave that leaves the other lobes where they are."""
    lobes = setting.lobes
    if setting.contact in (Contact.ELLIPSE, Contact.COSINE):
        u = np.arange(CAM_POINTS) * (2.0 * math.pi / CAM_POINTS)
        a, b = setting.a_mm, setting.b_mm
        if setting.contact is Contact.ELLIPSE:
            r = ((np.cos(u) / a) ** 2 + (np.sin(u) / b) ** 2) ** -0.5
        else:
            r = a + b * np.cos(lobes * u)
        r = r + lift_mm * (1.0 + (lobes - 1) * np.cos(u)) / lobes
        points = np.column_stack((r * np.cos(u + turn), r * np.sin(u + turn))) / radius
        return CURVE, np.zeros((1, 2)), np.zeros(1), np.zeros((1, 2)), curve_table(points)
    turns = [2.0 * math.pi * k / lobes + turn for k in range(lobes)]
    if setting.half_angle_rad > 0.0:
        turns = [t + side * setting.half_angle_rad for t in turns for side in (-1.0, 1.0)]
    direction = np.array([[math.cos(t), math.sin(t)] for t in turns])
    size = np.full(len(turns), setting.contact_radius_mm / radius)
    distance = np.full(len(turns), setting.distance_mm)
    distance[: len(turns) // lobes] += lift_mm
    return ROUND, direction * distance[:, None] / radius, size, direction, np.zeros((16, 7))


def _tooth_places(drive: DriveInput, nodes: int) -> tuple[NDArray[np.int64], Array]:
    """Nearest node of every tooth (rows, T), and the tooth's place on the undeformed circle seen from it (along, out,
    turn): zero for teeth on nodes."""
    most = max(row.outline.teeth for row in drive.rows)
    node = np.zeros((len(drive.rows), most), dtype=np.int64)
    place = np.zeros((len(drive.rows), most, 3))
    for r, row in enumerate(drive.rows):
        count = row.outline.teeth
        at = np.arange(count) * (nodes / count)
        near = np.rint(at).astype(int)
        turn = (at - near) * (2.0 * math.pi / nodes)
        node[r, :count] = near % nodes
        place[r, :count] = np.column_stack((np.sin(turn), np.cos(turn) - 1.0, turn))
    return node, place


def _teeth(drive: DriveInput, inputs: LoadInputs, radius: float, unit: float) -> tuple[Array, ...]:
    """Feelers, their stiffness and spacing, distance fields and grids of all rows, over R."""
    feelers, stiffness, steps, fields, grids = [], [], [], [], []
    for row in drive.rows:
        points, length = feeler_points(row.outline.points_mm)
        height = row.outline.height_mm
        pitch_line = min(drive.geometry.pitch_height_mm, row.outline.land_height_mm + 0.8 * height)
        lever = max(pitch_line - row.outline.land_height_mm, 0.2 * height)
        lean = np.maximum(points[:, 1] - row.outline.land_height_mm, 0.0) / lever
        feelers.append(np.column_stack((points / radius, lean)))
        stiffness.append(inputs.flank_bed_n_per_mm3 * row.width_mm * length * radius / unit)
        # leaning stretches the outline: what is skipped in the search must not rely on its spacing to the last digit
        steps.append(np.full(len(points), 1.2 * length / radius))
        field = distance_field(row.space, 1.5 * height, 0.5 * height)
        fields.append(field.samples_mm / radius)
        grids.append((field.first_radius_mm / radius, field.radius_step_mm / radius, field.angle_step_rad))
    return (
        np.array(feelers),
        np.array([np.full(FEELERS, k) for k in stiffness]),
        np.array(steps),
        np.array(fields),
        np.array(grids),
    )


def feeler_points(outline: Array) -> tuple[Array, float]:
    """Points in the middle of equal parts of an outline, and the length of a part."""
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(outline, axis=0).T))))
    part = along[-1] / FEELERS
    at = (np.arange(FEELERS) + 0.5) * part
    return np.column_stack((np.interp(at, along, outline[:, 0]), np.interp(at, along, outline[:, 1]))), float(part)


def home_turns(drive: DriveInput, turn_rad: float) -> Array:
    """Turn of every rigid ring (rows,) where it meshes ideally with the generator turned, seen from the flexible ring."""
    return np.array([turn_rad * (1.0 - row.outline.teeth / row.space.teeth) for row in drive.rows])


def blank_state(drive: DriveInput, numbers: Numbers, nodes: int, turn_rad: float) -> State:
    """The unloaded shape in every row, rigid rings turned as they mesh with it."""
    rows = len(drive.rows)
    q = np.tile(start_nodes(drive, nodes, turn_rad), (1, rows))
    rims = numbers.rim_stiffness.size
    extra = np.zeros(2 + len(numbers.arm_stiffness) + drive.design.is_cup + rims + rows)
    extra[len(extra) - rows :] = home_turns(drive, turn_rad)
    near = np.zeros((rows, len(numbers.body_kind), nodes), dtype=np.int64)
    if numbers.body_kind[0] == CURVE:
        label = np.arange(nodes) * (2.0 * math.pi / nodes)
        seen = np.mod(np.arctan2(np.sin(label) + q[:, 1], np.cos(label) + q[:, 0]) - turn_rad, 2.0 * math.pi)
        near[:] = np.rint(seen * CAM_POINTS / (2.0 * math.pi)).astype(int) % CAM_POINTS
    return State(q, np.zeros(numbers.tooth_node.shape), extra, near)


def barrel_for(drive: DriveInput, inputs: LoadInputs, nodes: int, unit: float) -> Barrel | None:
    if inputs.barrel is None:
        if drive.design.is_cup:
            allowed = "the rim stiffness of the cup's shell per harmonic"
            raise DesignFault(
                [Fault("a cup needs the stiffness of its barrel", "LoadInputs.barrel", 0, "None", allowed)]
            )
        return None
    return barrel_of(inputs.barrel, inputs, drive.geometry.neutral_radius_mm, nodes, unit)
