"""Friction in the loaded ring: against the capstan, against its own energy, and what any loop must obey."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lobewright.assessment.stiffness import loaded_drive
from lobewright.errors import ConvergenceFault, DesignFault
from lobewright.ring.beam_bodies import curve_table
from lobewright.ring.beam_element import section_forces
from lobewright.torque import friction as friction_room
from lobewright.torque import kernel
from lobewright.torque.ask import windup
from lobewright.torque.foretold import foretold
from lobewright.torque.friction import Friction
from lobewright.torque.friction_data import cam_friction, flank_friction
from lobewright.torque.friction_loop import hysteresis
from lobewright.torque.inputs import estimated_inputs
from lobewright.torque.model import State
from lobewright.torque.path import Place, Winder
from lobewright.torque.rest import prepare
from lobewright.torque.solver import Workspace, newton
from lobewright.torque.starting import starting

REACH_NMM = 2000.0
ON_CAM = 0.25


@pytest.fixture(scope="module")
def printed(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    return drive, estimated_inputs(drive)


@pytest.fixture(scope="module")
def loop(printed):
    return hysteresis(*printed, REACH_NMM, flank_friction=0.1)


# --- the pieces ---------------------------------------------------------------------------------------------------


def test_forces_and_tangent_of_the_shear_are_slopes_of_its_energy(printed):
    made = prepare(*printed)
    winder = Winder(made)
    start = winder.turn_to(0.0119, made.rest.copy())
    place = winder.turn_to(0.0119 + 2e-5, start.state.copy())
    friction = Friction(made, 0.3, 0.0, start.state, 1.0)
    friction.now = friction.frozen_at(place.state)
    limit = friction.now[0].frozen[:, 1]
    used = np.abs(friction.now[0].force(friction._places(friction.now[0], place.state)))
    assert (used == limit).any() and (used < limit).any(), "some slip and some stick, so both branches are asked"
    rng = np.random.default_rng(2)
    state = place.state
    way = [1e-3 * rng.standard_normal(part.shape) for part in (state.q, state.lean, state.extra)]

    def at(step):
        parts = [a + step * w for a, w in zip((state.q, state.lean, state.extra), way, strict=True)]
        system = kernel.empty_system(made.numbers, made.nodes, len(state.extra))
        return friction.add(State(*parts, state.near), system), system

    step = 1e-6
    (above, up), (below, down), (_, here) = at(step), at(-step), at(0.0)
    slope = np.vdot(here.residual, way[0]) + np.vdot(here.lean_residual, way[1]) + here.extra @ way[2]
    assert (above - below) / (2 * step) == pytest.approx(slope, rel=1e-6)
    q, lean, extra = way
    nodes = np.einsum("nab,nb->na", here.diagonal, q) + here.coupling @ extra
    extras = here.extra_block @ extra + np.einsum("nbe,nb->e", here.coupling, q)
    for row in range(made.rows):
        # the leans were condensed: bring them back in
        teeth = int(made.numbers.teeth[row])
        node, side = made.numbers.tooth_node[row, :teeth], here.lean_coupling[row, :teeth]
        moved = (side[:, :3] * q[node, 3 * row : 3 * row + 3]).sum(axis=1) + side[:, 3] * extra[made.ring_at[row]]
        back = moved / here.lean_stiffness[row, :teeth] + lean[row, :teeth]
        nodes[node, 3 * row : 3 * row + 3] += side[:, :3] * back[:, None]
        extras[made.ring_at[row]] += side[:, 3] @ back
    for measured, told in (
        ((up.residual - down.residual) / (2 * step), nodes),
        ((up.extra - down.extra) / (2 * step), extras),
    ):
        assert np.abs(measured - told).max() < 1e-5 * np.abs(told).max()


class Pulled(Workspace):
    """A drive whose first node is pulled along the ring."""

    pull = 0.0

    def fill(self, state, pull, floor=0.05, foretold=False):
        energy = super().fill(state, pull, floor, foretold)
        for row, share in enumerate(self.drive.numbers.share):
            self.system.residual[0, 3 * row + 1] -= self.pull * share
            energy -= self.pull * share * float(state.q[0, 3 * row + 1])
        return energy


def on_a_round_cam(made):
    """The ring of a drive stretched over a round plain cam, without teeth."""
    rows, over = made.rows, 0.002
    angle = np.arange(720) * 2.0 * math.pi / 720
    old = made.numbers
    numbers = old._replace(
        teeth=np.zeros_like(old.teeth),
        body_kind=np.array([kernel.CURVE]),
        body_centre=np.zeros((1, 2)),
        body_radius=np.zeros(1),
        body_direction=np.zeros((1, 2)),
        body_arm=np.array([-1]),
        body_points=np.array([1]),
        body_stiffness=np.full((1, rows), 1e8),
        arm_stiffness=np.zeros(0),
        arm_preload=np.zeros(0),
        table=curve_table((1.0 + over) * np.column_stack((np.cos(angle), np.sin(angle)))),
    )
    label = np.arange(made.nodes) * 2.0 * math.pi / made.nodes
    q = np.tile(over * np.column_stack((np.cos(label), np.sin(label), 0.0 * label)), (1, rows))
    near = np.tile(np.rint(label * 720 / (2.0 * math.pi)).astype(int) % 720, (rows, 1, 1))
    rest = State(q, np.zeros_like(made.rest.lean), np.zeros(2 + rows), near)
    return replace(made, numbers=numbers, rest=rest, push=np.zeros(1))


def test_a_ring_pulled_round_a_plain_cam_slips_as_a_rope_round_a_capstan(printed):
    """Where it slips, tension grows by e^(μθ) (Euler); how far it slips follows from the stretch on both sides."""
    made = on_a_round_cam(prepare(*printed))
    work = Pulled(made)
    free, none = np.zeros(0, dtype=np.int64), np.zeros_like(made.rest.extra)

    def go(start):
        force = 1.0 + abs(work.pull)
        found = foretold(made, start, free, none, force, work) or (start, newton(made, start, free, none, force, work))
        found[0].gaps = None
        return Place(0.0, 0.0, math.nan, *found)

    def tension(state):
        cut, _, _ = section_forces(np.ascontiguousarray(state.q[:, :3]), made.numbers.axial[0])
        label = (np.arange(made.nodes) + 0.5) * 2.0 * math.pi / made.nodes
        return cut[:, 1] * np.cos(label) - cut[:, 0] * np.sin(label)

    state = go(made.rest.copy()).state
    slack = float(tension(state).mean())
    work.friction = friction = Friction(made, 0.0, ON_CAM, state, slack)
    for part in range(1, 7):
        work.pull = 0.2 * part * slack
        place = friction.settle(go, state)
        assert place is not None
        state = place.state
        assert friction.keep(state) >= 0.0
        assert friction.largest_use() < 1.001
    found = tension(state)
    arc = 2.0 * math.pi / made.nodes
    on_the_pulled_node = ON_CAM * arc * 0.5 * (found[-1] + found[0])
    assert found[-1] - found[0] + on_the_pulled_node == pytest.approx(work.pull, rel=1e-3)
    grown = np.diff(np.log(found)) / arc
    assert grown[4:60] == pytest.approx(ON_CAM, rel=2e-3)
    assert grown[-60:-4] == pytest.approx(ON_CAM, rel=3e-3)
    # partial slip: tight side e^{μα}, slack side e^{−μβ}, and both sides stretch and shorten by the same
    tight, loose = math.log(found[-1] / slack) / ON_CAM, -math.log(found[0] / slack) / ON_CAM
    longer = (math.expm1(ON_CAM * tight)) / ON_CAM - tight
    shorter = loose + math.expm1(-ON_CAM * loose) / ON_CAM
    assert longer == pytest.approx(shorter, rel=0.02)


# --- the loop -----------------------------------------------------------------------------------------------------


def test_work_lost_in_a_loop_is_its_area_and_the_loop_closes(loop):
    assert loop.dissipated_nmm == pytest.approx(loop.area_nmm, rel=0.02)
    assert loop.dissipated_nmm > 0.1
    assert abs(loop.closing_rad) < 1e-6
    assert loop.health.torque_error_share < 1e-6
    assert loop.largest_use < 1.01
    # loading lies above unloading at every torque in between
    back, forth = (loop.branch == 1), (loop.branch == 2)
    for torque in (500.0, 1000.0, 1500.0):
        up = np.interp(torque, loop.torque_nmm[forth], loop.windup_rad[forth])
        down = np.interp(-torque, -loop.torque_nmm[back], loop.windup_rad[back])
        assert down > up


def test_less_friction_leaves_a_narrower_loop_and_none_the_windup(printed, loop):
    none = hysteresis(*printed, REACH_NMM, flank_friction=0.0)
    smooth = windup(*printed, REACH_NMM)
    assert none.stiffness_nmm_per_rad == pytest.approx(smooth.stiffness_nmm_per_rad, rel=1e-4)
    assert none.lost_motion_rad == pytest.approx(smooth.lost_motion_rad, rel=1e-3)
    assert none.dissipated_nmm == 0.0
    assert abs(none.friction_width_rad) < 1e-9 < loop.friction_width_rad
    assert none.area_nmm < 0.05 * loop.area_nmm


# --- starting and driving back ------------------------------------------------------------------------------------


def test_starting_torque_without_friction_is_the_ratio_and_friction_counts_linearly(printed):
    drive, inputs = printed
    at = {
        mu: starting(drive, inputs, 3000.0, flank_friction=mu, bearing_friction=0.0, positions=12)
        for mu in (0.0, 0.1, 0.2)
    }
    smooth = at[0.0]
    assert smooth.ideal_nmm == pytest.approx(0.02 * 3000.0, rel=1e-12)
    assert smooth.loaded_nmm.mean == pytest.approx(smooth.ideal_nmm, rel=1e-3)
    assert smooth.efficiency == 1.0 and smooth.back_driving_nmm.mean == 0.0
    assert at[0.2].loss_nmm["flanks"] == pytest.approx(2.0 * at[0.1].loss_nmm["flanks"], rel=1e-6)
    assert 0.5 < at[0.2].efficiency < at[0.1].efficiency < 1.0
    for one in at.values():
        assert one.back_efficiency == pytest.approx(2.0 - 1.0 / one.efficiency, abs=1e-9)
        assert one.loaded_nmm.least <= one.loaded_nmm.mean <= one.loaded_nmm.largest


def test_a_drive_less_than_half_efficient_does_not_drive_back(printed):
    """As a screw or a wedge: forward efficiency of a half is the border of self-locking."""
    locked = starting(*printed, 3000.0, flank_friction=0.6, positions=3)
    free = starting(*printed, 3000.0, flank_friction=0.2, positions=3)
    assert locked.efficiency < 0.5 and not locked.back_drives and locked.lowering_nmm.mean > 0.0
    assert free.efficiency > 0.5 and free.back_drives and free.lowering_nmm.mean < 0.0
    # bearing drag alone must be overcome: without load the generator feels ½ μ P d of every roller, rolling inside the ring
    assert free.unloaded_nmm.mean > 0.0
    assert free.back_driving_nmm.mean > free.unloaded_nmm.mean / 0.02


# --- bad input ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wrong", "word"),
    [
        ({"flank_friction": -0.1}, "flank_friction"),
        ({"flank_friction": 2.5}, "flank_friction"),
        ({"flank_friction": math.nan}, "flank_friction"),
        ({"flank_friction": 0.1, "cam_friction": 0.1}, "cam_friction"),
        ({"flank_friction": 0.1, "lost_motion_share": 0.0}, "lost_motion_share"),
    ],
)
def test_what_cannot_be_asked_is_said_in_one_sentence(printed, wrong, word):
    with pytest.raises(DesignFault) as fault:
        hysteresis(*printed, 100.0, **wrong)
    assert len(fault.value.sentences()) == 1 and word in fault.value.sentences()[0]


def test_bad_loads_and_bearings_are_refused(printed):
    for wrong, word in (
        ({"load_nmm": -1.0}, "load_nmm"),
        ({"load_nmm": math.inf}, "load_nmm"),
        ({"bearing_friction": 0.5}, "bearing_friction"),
        ({"positions": 1}, "positions"),
    ):
        asked = {"load_nmm": 100.0, "flank_friction": 0.1} | wrong
        with pytest.raises(DesignFault, match=word):
            starting(*printed, **asked)


def test_friction_that_does_not_settle_is_said_with_the_last_good_places(printed, monkeypatch):
    monkeypatch.setattr(friction_room, "SAME", -1.0)
    monkeypatch.setattr(friction_room, "MOST_PASSES", 2)
    monkeypatch.setattr("lobewright.torque.friction_loop.SHORTEST_STEP", 1 / 300)
    with pytest.raises(ConvergenceFault) as fault:
        hysteresis(*printed, 100.0, flank_friction=0.1)
    assert all(math.isfinite(place.torque_nmm) for place in fault.value.last_good)


def test_every_pair_has_a_range_and_rolling_generators_have_no_sliding(printed, assessed_starter):
    drive = printed[0]
    assert cam_friction(drive, greased=True) is None
    assert flank_friction(drive, greased=True).high < flank_friction(drive, greased=False).high
    plain = loaded_drive(assessed_starter("metal_cup-cam_plain"))
    assert cam_friction(plain, greased=True).low > 0.0
