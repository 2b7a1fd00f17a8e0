"""Bought parts as plain stand-ins: the sizes that matter for fitting, none of the looks. Threads are plain cylinders.

Screws stand on their heads, nuts and bearings lie on a face; all round z = 0. Quantities equal the places given later.
"""

from __future__ import annotations

import math

from lobewright.design import catalogue
from lobewright.make.bodies import Body, Group, Loop, Part, Slab, exact
from lobewright.make.outlines import Contour, circle, polygon

GROUND = "ground shaft"
LENGTHS_MM = (5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 90, 100)
"""Usual lengths of socket head screws (ISO 4762; remembered)."""


def hexagon(across_flats_mm: float, x_mm: float = 0.0, y_mm: float = 0.0, turn_rad: float = 0.0) -> Contour:
    """A hexagon round a point; at ``turn_rad`` = 0 a corner points along x."""
    corner = across_flats_mm / math.sqrt(3)
    angles = [turn_rad + k * math.pi / 3 for k in range(6)]
    return polygon((x_mm + corner * math.cos(a), y_mm + corner * math.sin(a)) for a in angles)


def tube(outer_mm: float, bore_mm: float, height_mm: float) -> Body:
    """A hollow cylinder between two diameters; a plain one where the bore is 0."""
    holes: tuple[Loop, ...] = (exact(circle(bore_mm / 2)),) if bore_mm else ()
    return Body((Slab(exact(circle(outer_mm / 2)), holes, 0.0, height_mm),))


def bearing_part(bearing: catalogue.Bearing, quantity: int, name: str, words: str = "deep groove ball bearing") -> Part:
    """A ball bearing as a hollow cylinder."""
    size = f"{bearing.bore_mm:g}×{bearing.outer_mm:g}×{bearing.width_mm:g} mm"
    body = tube(bearing.outer_mm, bearing.bore_mm, bearing.width_mm)
    return bought(name, words, quantity, body, bearing.designation, size)


def screw_part(bolt: catalogue.Bolt, length_mm: float, quantity: int, name: str, words: str) -> Part:
    """A socket head screw: the head from 0 to its height, the shank from there on."""
    head, shank = exact(circle(bolt.head_diameter_mm / 2)), exact(circle(bolt.diameter_mm / 2))
    top = bolt.head_height_mm
    body = Body((Slab(head, (), 0.0, top), Slab(shank, (), top, top + length_mm)))
    return bought(name, words, quantity, body, f"ISO 4762 {bolt.size}×{length_mm:g}")


def nut_part(bolt: catalogue.Bolt, quantity: int, name: str, words: str = "nut") -> Part:
    """A hexagon nut with a plain bore of the thread's diameter."""
    outer = exact(hexagon(bolt.nut_across_flats_mm))
    body = Body((Slab(outer, (exact(circle(bolt.diameter_mm / 2)),), 0.0, bolt.nut_height_mm),))
    return bought(name, words, quantity, body, f"ISO 4032 {bolt.size}")


def rod_part(bolt: catalogue.Bolt, length_mm: float, quantity: int, name: str, words: str) -> Part:
    """A length of threaded rod."""
    designation = f"threaded rod {bolt.size}, {length_mm:.0f} mm"
    return bought(name, words, quantity, tube(bolt.diameter_mm, 0.0, length_mm), designation)


def shaft_part(bolt: catalogue.Bolt, length_mm: float, rear_mm: float, front_mm: float, name: str, words: str) -> Part:
    """A ground shaft with a thread on either end; a plain cylinder."""
    size = (
        f"{GROUND} ø{bolt.diameter_mm:g} h6, threads {bolt.size} of {rear_mm:.0f} mm at the rear end and {front_mm:.0f} mm at "
        f"the front end, in all {length_mm:.0f} mm"
    )
    return bought(name, words, 1, tube(bolt.diameter_mm, 0.0, length_mm), size)


def _bar(x0_mm: float, x1_mm: float, y0_mm: float, y1_mm: float, z0_mm: float, z1_mm: float) -> Slab:
    box = polygon(((x0_mm, y0_mm), (x1_mm, y0_mm), (x1_mm, y1_mm), (x0_mm, y1_mm)))
    return Slab(exact(box), (), z0_mm, z1_mm)


def cross_screw_part(bolt: catalogue.Bolt, length_mm: float, quantity: int, name: str, words: str) -> Part:
    """A socket head screw that lies along −x, its head's seat at 0, as square bars round z = 0."""
    side, head = bolt.diameter_mm / 2 * math.sqrt(0.5), bolt.head_diameter_mm / 2 * math.sqrt(0.5)
    pieces = (
        _bar(0.0, bolt.head_height_mm, -head, head, -head, head),
        _bar(-length_mm, 0.0, -side, side, -side, side),
    )
    return bought(name, words, quantity, Body(pieces), f"ISO 4762 {bolt.size}×{length_mm:g}")


def cross_nut_part(bolt: catalogue.Bolt, quantity: int, name: str, words: str) -> Part:
    """The nut of such a screw, from 0 along −x, as a square block round its shank."""
    high, out, side = bolt.nut_height_mm, bolt.nut_across_flats_mm / 2, bolt.diameter_mm / 2 * math.sqrt(0.5)
    pieces = (
        _bar(-high, 0.0, -out, out, -out, -side),
        _bar(-high, 0.0, -out, -side, -side, side),
        _bar(-high, 0.0, side, out, -side, side),
        _bar(-high, 0.0, -out, out, side, out),
    )
    return bought(name, words, quantity, Body(pieces), f"ISO 4032 {bolt.size}")


def usual_length_mm(least_mm: float) -> float | None:
    """The shortest usual screw of at least that length; None beyond the table."""
    return next((float(length) for length in LENGTHS_MM if length >= least_mm - 1e-9), None)


def bought(name: str, words: str, quantity: int, body: Body, designation: str, note: str = "") -> Part:
    """A part to buy."""
    return Part(name, words, quantity, body, "", note, group=Group.BOUGHT, designation=designation)
