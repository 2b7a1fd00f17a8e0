"""From the design's wave generator to where its contacts stand, and the ring's shape on them.

A :class:`Setting` is the generator as a thing of fixed size; a ring of any length can be laid on it. So a belt that is
0.4 mm too long is the same setting under another ring. The *fit* (ring's inner length minus the generator's outer
length) shrinks the generator's outline evenly by fit/(2π).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.ring import shape as s
from lobewright.ring.geometry import RingGeometry, nominal_deflection_mm, ring_geometry


class Contact(Enum):
    """How a generator touches the ring."""

    ROUND = "one roller or disc a lobe"
    PAIRED = "two rollers a lobe"
    ELLIPSE = "ellipse cam"
    COSINE = "cosine cam"


@dataclass(frozen=True)
class Setting:
    """A generator of fixed size.

    ``contact_radius_mm`` is the roller's or disc's radius plus the ring's inner offset (0 for cams); ``distance_mm`` the
    distance of roller or disc centres from the axis; ``a_mm``, ``b_mm`` the numbers of the cam's neutral curve.
    """

    contact: Contact
    lobes: int
    contact_radius_mm: float
    half_angle_rad: float
    distance_mm: float
    a_mm: float
    b_mm: float

    def shrunk(self, by_mm: float) -> Setting:
        """The same generator with its outline moved inward everywhere by ``by_mm``; rollers keep their bearings' size."""
        if by_mm == 0 or self.contact is Contact.PAIRED:
            return self
        if self.contact is Contact.ROUND:
            return replace(self, contact_radius_mm=self.contact_radius_mm - by_mm)
        b = self.b_mm - by_mm if self.contact is Contact.ELLIPSE else self.b_mm
        return replace(self, a_mm=self.a_mm - by_mm, b_mm=b)


def contact_radius_mm(design: m.Design, geometry: RingGeometry) -> float:
    """Distance from a roller's or disc's centre to the neutral line; 0 for cams."""
    generator = design.generator
    if isinstance(generator, (m.Rollers, m.PairedRollers)):
        return catalogue.bearing(generator.bearing).outer_mm / 2 + geometry.inner_offset_mm
    if isinstance(generator, m.Discs):
        return generator.disc_radius_mm + geometry.inner_offset_mm
    return 0.0


def half_angle_rad(design: m.Design) -> float:
    """Angle of a paired roller from its lobe; 0 for other generators."""
    generator = design.generator
    return math.radians(generator.pair_half_angle_deg) if isinstance(generator, m.PairedRollers) else 0.0


def lobe_angles_rad(setting: Setting) -> tuple[float, ...]:
    """Angles of all rollers or discs from the first major axis, ascending from the first."""
    lobes = [2 * math.pi * k / setting.lobes for k in range(setting.lobes)]
    if setting.contact is Contact.PAIRED:
        return tuple(lobe + sign * setting.half_angle_rad for lobe in lobes for sign in (-1, 1))
    return tuple(lobes)


def setting_for(design: m.Design, geometry: RingGeometry, deflection_mm: float) -> Setting:
    """The generator that pushes the major axis of the nominal ring out by ``deflection_mm``, at zero fit."""
    generator, radius = design.generator, geometry.neutral_radius_mm
    rho, beta = contact_radius_mm(design, geometry), half_angle_rad(design)
    if isinstance(generator, m.Cam):
        ellipse = generator.curve is m.CamCurve.ELLIPSE
        kind, contact = (s.ELLIPSE, Contact.ELLIPSE) if ellipse else (s.COSINE, Contact.COSINE)
        a, b = s.cam_parameters(radius, generator.lobes, kind, deflection_mm)
        return Setting(contact, generator.lobes, 0.0, 0.0, 0.0, a, b)
    if isinstance(generator, m.PairedRollers):
        _, distance = s.on_paired(radius, beta, rho, lobe_radius_mm=radius + deflection_mm)
        return Setting(Contact.PAIRED, 2, rho, beta, distance, 0.0, 0.0)
    lobes = design.lobes
    return Setting(Contact.ROUND, lobes, rho, 0.0, radius + deflection_mm - rho, 0.0, 0.0)


def _check_size(setting: Setting, radius_mm: float) -> None:
    """Refuse a generator that the round ring swallows, and rollers or discs that the ring cannot be laid round.

    A thread pulled tight round n circles of radius ρ at distance d is 2πρ + 2·n·d·sin(π/n) long, round two pairs at ±β
    2πρ + 4d·(sin β + cos β). Derived.
    """
    distance, rho, beta = setting.distance_mm, setting.contact_radius_mm, setting.half_angle_rad
    if setting.contact in (Contact.ELLIPSE, Contact.COSINE):
        reach, thread = setting.a_mm + (0.0 if setting.contact is Contact.ELLIPSE else setting.b_mm), 0.0
    elif setting.contact is Contact.PAIRED:
        reach, thread = distance + rho, 2 * math.pi * rho + 4 * distance * (math.sin(beta) + math.cos(beta))
    else:
        n = setting.lobes
        reach, thread = distance + rho, 2 * math.pi * rho + 2 * n * distance * math.sin(math.pi / n)
    if reach <= radius_mm:
        short = f"its lobes end {radius_mm - reach:.3g} mm short of the round ring"
        allowed = "more deflection, or less fit, fit tolerance or length tolerance"
        raise DesignFault([Fault("the generator is too small to bend the ring", "generator", 0, short, allowed)])
    length = 2 * math.pi * radius_mm
    if thread >= length:
        allowed = f"less than the ring's length, {length:.4g} mm: smaller rollers or discs, or nearer to the axis"
        what = "the ring is too short to go round its rollers or discs"
        raise DesignFault([Fault(what, "generator", 0, f"{thread:.4g} mm round them", allowed)])


def shape_on(setting: Setting, radius_mm: float) -> s.RingShape:
    """Shape of a ring of neutral radius ``radius_mm`` on a generator of fixed size.

    A roller or disc touches at a point while the free ring's curvature there stays below its own, and along an arc
    beyond that. Raises DesignFault when the generator is too small or too large for any shape, ConvergenceFault when
    no shape is found.
    """
    _check_size(setting, radius_mm)
    if setting.contact is Contact.ELLIPSE:
        return s.on_curve(radius_mm, setting.lobes, s.ELLIPSE, setting.a_mm, setting.b_mm)
    if setting.contact is Contact.COSINE:
        return s.on_curve(radius_mm, setting.lobes, s.COSINE, setting.a_mm, setting.b_mm)
    if setting.contact is Contact.PAIRED:
        shape, _ = s.on_paired(
            radius_mm, setting.half_angle_rad, setting.contact_radius_mm, distance_mm=setting.distance_mm
        )
        return shape
    lobe = setting.distance_mm + setting.contact_radius_mm
    shape = s.on_points(radius_mm, setting.lobes, lobe)
    if shape.curvature_1_per_mm[0] * setting.contact_radius_mm <= 1.0:
        return shape
    return s.on_curve(radius_mm, setting.lobes, s.CIRCLE, setting.distance_mm, setting.contact_radius_mm)


def design_deflection_mm(design: m.Design, geometry: RingGeometry | None = None) -> float:
    """Deflection that makes the teeth: factor times nominal, or what the given roller distance does to the ring."""
    geometry = geometry or ring_geometry(design)
    generator = design.generator
    if generator.design_deflection_factor is not None:
        return generator.design_deflection_factor * nominal_deflection_mm(design)
    distance = getattr(generator, "roller_centre_distance_mm")  # noqa: B009 - cams never come here, by rule
    contact = Contact.PAIRED if isinstance(generator, m.PairedRollers) else Contact.ROUND
    rho = contact_radius_mm(design, geometry)
    setting = Setting(contact, design.lobes, rho, half_angle_rad(design), distance, 0.0, 0.0)
    return shape_on(setting, geometry.neutral_radius_mm).deflection_mm


def set_deflection_mm(design: m.Design, geometry: RingGeometry | None = None) -> float:
    """Deflection that is screwed in: as typed, or the design deflection."""
    typed = design.generator.set_deflection_mm
    return design_deflection_mm(design, geometry) if typed is None else typed


@dataclass(frozen=True)
class Section:
    """An axial section of the mesh: distance from the open edge of the flexible ring and share of the deflection."""

    from_edge_mm: float
    share: float


def sections(design: m.Design, ring: m.RigidRing) -> tuple[Section, ...]:
    """Axial sections over a rigid ring's face: one for an open ring, back edge, middle and front edge for a cup.

    In a cup the deflection grows in proportion to the distance from the closed end (inextensional shell theory, the
    estimate until the shell itself is solved) and is the stated one in the middle of the face.
    """
    cup = design.flexible_ring
    if not isinstance(cup, m.Cup):
        return (Section(ring.offset_mm + ring.width_mm / 2, 1.0),)
    middle = cup.length_mm - ring.offset_mm - ring.width_mm / 2
    edges = (ring.offset_mm + ring.width_mm, ring.offset_mm + ring.width_mm / 2, ring.offset_mm)
    return tuple(Section(edge, (cup.length_mm - edge) / middle) for edge in edges)


def borne_at_back(places: tuple[Section, ...]) -> tuple[Section, ...]:
    """The same sections when a straight generator bears at the closed-end edge of the face, as it does first in a stiff cup.

    The stated deflection is then met there and not in the middle, and the whole face opens more.
    """
    back = min(place.share for place in places)
    return tuple(Section(place.from_edge_mm, place.share / back) for place in places)
