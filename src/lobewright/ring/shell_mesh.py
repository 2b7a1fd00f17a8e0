"""Meridian of a shell of revolution, cut into elements that are small where the stress changes fast.

The meridian runs from the axis outward and up: along it the tangent is t and the outward normal n = (t_z, −t_r), so the
outside of a cup is below its diaphragm and around its barrel. Neighbouring segments must meet with the same normal; the
middles of their walls may be apart along it (a step in the wall), which the elements carry as an offset.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from lobewright.errors import DesignFault, Fault
from lobewright.ring.shell_element import DOFS, lobatto

Array = np.ndarray

DEGREE = 3
FIRST_ELEMENT = 0.5
"""Length of the element next to an end of a segment, over √(radius · wall)."""
GROWTH = 1.0
"""By how much of its length each element away from an end is longer than the one before."""


@dataclass(frozen=True)
class BandFactors:
    """Stiffness of an equivalent band over that of its plain wall (1 = plain wall): what teeth add.

    ``hoop_tension`` (EA), ``hoop_bending`` (EI) around the ring, ``axial_bending`` (EI) along the teeth, ``twist`` against
    twisting the band.
    """

    hoop_tension: float = 1.0
    hoop_bending: float = 1.0
    axial_bending: float = 1.0
    twist: float = 1.0

    def __post_init__(self) -> None:
        faults = [
            Fault(
                "teeth cannot soften the wall that they stand on so much",
                f"BandFactors.{name}",
                0,
                f"{value:g}",
                "0.5 or more",
            )
            for name, value in vars(self).items()
            if not 0.5 <= value < math.inf
        ]
        if faults:
            raise DesignFault(faults)

    def roots(self, poisson: float) -> tuple[Array, Array]:
        """How the mean and the bending strain (ε_s, ε_φ, γ_sφ, γ_sn, γ_φn) are scaled: (6,), five factors and what ε_φ adds to
        ε_s, for energies with the factors above. The part that couples the two directions is that of the plain wall, because
        teeth are bars along the axis: D_s = f D, D_φ = g D, D_sφ = ν D.
        """
        return _scaled(1.0, self.hoop_tension, 1.0, poisson), _scaled(
            self.axial_bending, self.hoop_bending, self.twist, poisson
        )


def _scaled(along: float, around: float, shear: float, poisson: float) -> Array:
    """Strains so scaled have, with the plain wall's elastic constants, the stiffness of the band. Source: derived."""
    first = math.sqrt(along)
    second = math.sqrt((around - poisson**2 / along) / (1.0 - poisson**2))
    return np.array([first, second, math.sqrt(shear), 1.0, 1.0, poisson * (1.0 / first - second)])


PLAIN = BandFactors()


@dataclass(frozen=True)
class Line:
    """Straight piece of the meridian between two (r, z) points of the middle of a wall [mm].

    ``finest_mm`` bounds the length of the elements at both ends, where a load of short wavelength acts.
    """

    name: str
    start_mm: tuple[float, float]
    end_mm: tuple[float, float]
    wall_mm: float
    factors: BandFactors = PLAIN
    finest_mm: float = math.inf

    @property
    def length_mm(self) -> float:
        return math.dist(self.start_mm, self.end_mm)

    @property
    def decay_mm(self) -> float:
        """√(R h) at the wider end; a disturbance of the edge dies out within about 2.5 of it."""
        return math.sqrt(max(self.start_mm[0], self.end_mm[0]) * self.wall_mm)

    def at(self, share: Array) -> tuple[Array, Array, Array]:
        """Middles (n, 2), normals (n, 2) and half thicknesses (n,) at shares 0 … 1 of the length."""
        start, end = np.array(self.start_mm), np.array(self.end_mm)
        t_r, t_z = (end - start) / self.length_mm
        place = start + np.outer(share, end - start)
        return place, np.tile([t_z, -t_r], (len(share), 1)), np.full(len(share), 0.5 * self.wall_mm)

    def cut(self, share: float) -> tuple[Line, Line]:
        """The line in two pieces, so that a node lies at the share of its length."""
        r, z = self.at(np.array([share]))[0][0]
        middle = (float(r), float(z))
        return replace(self, end_mm=middle), replace(self, start_mm=middle)


@dataclass(frozen=True)
class Corner:
    """Quarter turn from a diaphragm (normal −z) to a barrel (normal +r) with a rounded inside [mm].

    The wall goes from that of the diaphragm to that of the barrel in proportion to the angle.
    """

    name: str
    centre_mm: tuple[float, float]
    inside_radius_mm: float
    wall_start_mm: float
    wall_end_mm: float
    factors: BandFactors = PLAIN

    @property
    def length_mm(self) -> float:
        return 0.5 * math.pi * (self.inside_radius_mm + 0.25 * (self.wall_start_mm + self.wall_end_mm))

    @property
    def decay_mm(self) -> float:
        wall = 0.5 * (self.wall_start_mm + self.wall_end_mm)
        return math.sqrt((self.inside_radius_mm + 0.5 * wall) * wall)

    def at(self, share: Array) -> tuple[Array, Array, Array]:
        """Middles (n, 2), normals (n, 2) and half thicknesses (n,) at shares 0 … 1 of the turn."""
        angle = 0.5 * math.pi * (share - 1.0)
        normal = np.column_stack([np.cos(angle), np.sin(angle)])
        half = 0.5 * (self.wall_start_mm + share * (self.wall_end_mm - self.wall_start_mm))
        return np.array(self.centre_mm) + (self.inside_radius_mm + half)[:, None] * normal, normal, half


Segment = Line | Corner


@dataclass(frozen=True)
class Meridian:
    """Elements along a meridian; E elements of degree p.

    ``place_mm``, ``normal`` (E, p+1, 2), ``half_mm``, ``offset_mm``, ``arc_mm`` (E, p+1): middle of the wall, outward
    normal, half thickness, height of the middle above the point that carries the unknowns, length along the meridian.
    ``segment`` (E,): index of the segment. ``ends`` (segments + 1,): node at each end of a segment.
    """

    segments: tuple[Segment, ...]
    place_mm: Array
    normal: Array
    half_mm: Array
    offset_mm: Array
    arc_mm: Array
    tension: Array
    bending: Array
    segment: Array
    ends: Array

    @property
    def degree(self) -> int:
        return self.half_mm.shape[1] - 1

    @property
    def nodes(self) -> int:
        return self.half_mm.shape[0] * self.degree + 1

    @property
    def unknowns(self) -> int:
        return DOFS * self.nodes

    def element_nodes(self) -> Array:
        """Node numbers (E, p+1) of the elements."""
        return self.degree * np.arange(len(self.half_mm))[:, None] + np.arange(self.degree + 1)


def graded_shares(length: float, first: float, growth: float) -> Array:
    """Shares 0 … 1 of a length cut into pieces that grow by a ratio from both ends to the middle, where two meet.

    The end pieces are `first` long or somewhat less; a length below that stays whole.

    >>> graded_shares(12.0, 2.0, 2.0).tolist()
    [0.0, 0.16666666666666666, 0.5, 0.8333333333333334, 1.0]
    >>> graded_shares(1.0, 1.0, 2.0).tolist()
    [0.0, 1.0]
    """
    if length <= first:
        return np.array([0.0, 1.0])
    size, sizes = first, [first]
    while sum(sizes) < 0.5 * length * (1.0 - 1e-9):
        size *= growth
        sizes.append(size)
    half = 0.5 * np.cumsum(sizes) / sum(sizes)
    return np.concatenate([[0.0], half, 1.0 - half[-2::-1], [1.0]])


def even_shares(length: float, most: float) -> Array:
    """Shares 0 … 1 of a length in equal pieces, two or more, none longer than `most`."""
    return np.linspace(0.0, 1.0, max(2, math.ceil(length / most)) + 1)


def mesh(segments: tuple[Segment, ...], poisson: float, refine: float = 1.0, degree: int = DEGREE) -> Meridian:
    """Cut segments into elements; `refine` divides their lengths at the ends and in corners, and their growth. Poisson's ratio
    enters the scaled strains of toothed bands."""
    points = 0.5 * (1.0 + lobatto(degree))
    parts, ends, arc = [], [0], 0.0
    for index, segment in enumerate(segments):
        first = FIRST_ELEMENT * segment.decay_mm / refine
        if isinstance(segment, Line):
            cuts = graded_shares(segment.length_mm, min(first, segment.finest_mm), 1.0 + GROWTH / refine)
        else:
            cuts = even_shares(segment.length_mm, first)
        tension, bending = segment.factors.roots(poisson)
        for low, high in pairwise(cuts):
            share = low + (high - low) * points
            parts.append((*segment.at(share), arc + share * segment.length_mm, tension, bending, index))
        arc += segment.length_mm
        ends.append(ends[-1] + degree * (len(cuts) - 1))
    place, normal, half, arcs, tension, bending, owner = (np.array(column) for column in zip(*parts, strict=True))
    offset = np.zeros_like(half)
    for e in range(1, len(half)):
        step = place[e, 0] - place[e - 1, -1]
        offset[e, 0] = offset[e - 1, -1] + step @ normal[e, 0]
        smooth = np.abs(normal[e, 0] - normal[e - 1, -1]).max() < 1e-9
        if not smooth or math.hypot(*step) - abs(step @ normal[e, 0]) > 1e-9 * half[e, 0]:
            raise ValueError(f"{segments[owner[e - 1]].name} and {segments[owner[e]].name} do not meet smoothly")
    return Meridian(segments, place, normal, half, offset, arcs, tension, bending, owner, np.array(ends))
