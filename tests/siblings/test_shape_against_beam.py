"""Two models of one ring: exact shooting over a half lobe against a full-circle finite element ring.

They share no code: one is inextensible and symmetric by assumption, the other finds symmetry, contact and lift-off by
itself. The element ring is made nearly inextensible (EA R²/EI = 1e8). Declared band: places of all nodes within 1e-4 of
the deflection, roller forces within 1e-4, lift-off within one node, because the element ring presses at nodes only.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from lobewright.ring.beam import CircleBody, CurveBody, RingSection, RingState, solve_ring
from lobewright.ring.generator import Contact, Setting, shape_on
from lobewright.ring.shape import COSINE, ELLIPSE, RingShape, cam_parameters, on_paired

RADIUS_MM = 40.0
AXIAL_RATIO = 1e8
NODES_PER_HALF_LOBE = 64


def round_setting(lobes: int, contact_mm: float, deflection_mm: float) -> Setting:
    distance = RADIUS_MM + deflection_mm - contact_mm
    return Setting(Contact.ROUND, lobes, contact_mm, 0.0, distance, 0.0, 0.0)


def circles(setting: Setting) -> list[CircleBody]:
    signs = (1.0, -1.0) if setting.contact is Contact.PAIRED else (0.0,)
    turns = [
        2 * math.pi * i / setting.lobes + sign * setting.half_angle_rad for i in range(setting.lobes) for sign in signs
    ]
    d = setting.distance_mm
    return [CircleBody(d * math.cos(t), d * math.sin(t), setting.contact_radius_mm) for t in turns]


def cam_curve(setting: Setting) -> list[CurveBody]:
    """The cam's neutral curve from its equation, written anew."""
    u = np.linspace(0.0, 2 * math.pi, 720, endpoint=False)
    a, b = setting.a_mm, setting.b_mm
    if setting.contact is Contact.ELLIPSE:
        return [CurveBody(np.column_stack((a * np.cos(u), b * np.sin(u))))]
    r = a + b * np.cos(setting.lobes * u)
    return [CurveBody(np.column_stack((r * np.cos(u), r * np.sin(u))))]


def ring_on(bodies: list[CircleBody] | list[CurveBody], lobes: int, axial_ratio: float = AXIAL_RATIO) -> RingState:
    """The element ring with EI = R², so that forces come in EI/R²."""
    section = RingSection(RADIUS_MM, RADIUS_MM**2, axial_ratio)
    return solve_ring(section, bodies, nodes=2 * lobes * NODES_PER_HALF_LOBE)


def farthest_mm(shape: RingShape, state: RingState) -> float:
    """Largest distance of a node from the same material point of the other model."""
    every = len(shape.arc_mm) // len(state.line.label_rad)
    exact = np.column_stack((shape.x_mm, shape.y_mm))[::every]
    return float(np.hypot(*(state.line.positions_mm - exact).T).max())


def last_contact_rad(state: RingState, lobes: int) -> float:
    label = state.contacts.label_rad
    return float(label[label <= math.pi / lobes + 1e-9].max())


@pytest.mark.parametrize("deflection_mm", [0.2, 0.8, 2.0])
@pytest.mark.parametrize("lobes", [2, 3])
def test_one_roller_a_lobe(lobes: int, deflection_mm: float) -> None:
    setting = round_setting(lobes, 8.0, deflection_mm)
    shape, state = shape_on(setting, RADIUS_MM), ring_on(circles(setting), lobes)
    assert farthest_mm(shape, state) < 1e-4 * deflection_mm
    assert np.hypot(*state.body_force_n.T) == pytest.approx(shape.force_factor, rel=1e-4)
    assert shape.deflection_mm == pytest.approx(deflection_mm, abs=1e-12)


@pytest.mark.parametrize(
    ("half_angle_deg", "deflection_mm"), [(10.0, 0.8), (22.0, 0.8), (30.0, 0.8), (38.0, 0.8), (25.0, 2.0)]
)
def test_paired_rollers(half_angle_deg: float, deflection_mm: float) -> None:
    beta = math.radians(half_angle_deg)
    shape, distance = on_paired(RADIUS_MM, beta, 8.0, lobe_radius_mm=RADIUS_MM + deflection_mm)
    state = ring_on(circles(Setting(Contact.PAIRED, 2, 8.0, beta, distance, 0.0, 0.0)), 2)
    assert farthest_mm(shape, state) < 1e-4 * deflection_mm
    assert np.hypot(*state.body_force_n.T) == pytest.approx(shape.force_factor, rel=1e-4)
    assert float(np.min(state.contacts.label_rad)) == pytest.approx(shape.contact_rad, abs=1e-5)


def test_paired_rollers_by_distance_are_the_same_ring() -> None:
    shape, distance = on_paired(RADIUS_MM, 0.45, 8.0, lobe_radius_mm=RADIUS_MM + 0.9)
    again, _ = on_paired(RADIUS_MM, 0.45, 8.0, distance_mm=distance)
    assert again.x_mm == pytest.approx(shape.x_mm, abs=1e-9)


@pytest.mark.parametrize("disc_mm", [36.5, 37.0, 38.0, 38.5])
def test_discs(disc_mm: float) -> None:
    setting = round_setting(2, disc_mm, 0.8)
    shape, state = shape_on(setting, RADIUS_MM), ring_on(circles(setting), 2)
    node_rad = math.pi / 2 / NODES_PER_HALF_LOBE
    assert farthest_mm(shape, state) < 1e-4 * 0.8
    assert last_contact_rad(state, 2) == pytest.approx(shape.contact_rad, abs=node_rad)
    assert (shape.contact_rad > 0.0) == (disc_mm > 36.9)  # the free ring's own radius under a point is 36.84 mm


CAMS = [
    (ELLIPSE, Contact.ELLIPSE, 2),
    (COSINE, Contact.COSINE, 2),
    (COSINE, Contact.COSINE, 3),
]


@pytest.mark.parametrize("loose_mm", [0.02, 0.1, 0.5, 1.5, 2.5])
@pytest.mark.parametrize(("kind", "contact", "lobes"), CAMS)
def test_loose_cams(kind: int, contact: Contact, lobes: int, loose_mm: float) -> None:
    deflection = 0.8
    a, b = cam_parameters(RADIUS_MM, lobes, kind, deflection)
    setting = Setting(contact, lobes, 0.0, 0.0, 0.0, a, b).shrunk(loose_mm / (2 * math.pi))
    shape, state = shape_on(setting, RADIUS_MM), ring_on(cam_curve(setting), lobes)
    node_rad = math.pi / lobes / NODES_PER_HALF_LOBE
    assert shape.lifts_off
    assert farthest_mm(shape, state) < 1e-4 * deflection
    assert last_contact_rad(state, lobes) == pytest.approx(shape.contact_rad, abs=node_rad)
    assert float(state.clearance_mm.max()) > 1e-4


@pytest.mark.parametrize(("kind", "contact", "lobes"), CAMS)
def test_tight_cams(kind: int, contact: Contact, lobes: int) -> None:
    """Tight by 0.02 mm on a ring of 251 mm: hoop tension presses it on all round, more than is needed at the least."""
    a, b = cam_parameters(RADIUS_MM, lobes, kind, 0.8)
    setting = Setting(contact, lobes, 0.0, 0.0, 0.0, a, b).shrunk(-0.02 / (2 * math.pi))
    shape, state = shape_on(setting, RADIUS_MM), ring_on(cam_curve(setting), lobes, 1e6)
    assert not shape.lifts_off
    assert shape.stretch == pytest.approx(0.02 / (2 * math.pi * RADIUS_MM), rel=0.05)
    assert farthest_mm(shape, state) < 1e-4 * 0.8
    assert float(state.clearance_mm.max()) < 1e-6
    assert float(state.line.normal_force_n.min()) > shape.tension_factor


def test_a_tight_cam_needs_the_tension_that_is_told() -> None:
    """Between half and twice the least tension the element ring changes from lifting off to touching all round."""
    a, b = cam_parameters(RADIUS_MM, 2, COSINE, 0.8)
    setting = Setting(Contact.COSINE, 2, 0.0, 0.0, 0.0, a, b)
    need = shape_on(setting, RADIUS_MM).tension_factor
    lifted = []
    for share in (0.5, 2.0):
        strain = share * need / 1e6
        state = ring_on(cam_curve(setting.shrunk(-strain * RADIUS_MM)), 2, 1e6)
        lifted.append(float(state.clearance_mm.max()) > 1e-5)
    assert lifted == [True, False]
