"""The output's hub: what it is made of, and whether its weakest section bears what twists and bends it.

The flange sits on a hexagon whose corners lie on the bearing's bore circle, so that torque goes through form; from the front
bearing on, the hub is a cantilever. Largest shear stress of a twisted hexagon a across flats: T/(0.1888 a³), worked out here
(finite differences of Prandtl's function, see tests/unit/test_layout.py); the bore for the screw takes the share of a round
bar, (d/a)⁴. Bending: moment over section modulus of hexagon and of journal, the bore taken off. Both stresses are put together
by von Mises as if they peaked at one place. What the screw through the hub takes over is left out. See docs/theory/assembly.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.strength.material import Direction
from lobewright.strength.material_data import strength_data
from lobewright.units import ZERO_CELSIUS_K

HEXAGON_SHARE = 0.1888
"""Torsional section modulus of a hexagon over the cube of its width across flats."""
METAL = "steel or aluminium"
"""What a hub is made of that no printer lays."""
CLAMPS = ("M5", "M4", "M3")
CLAMP_SHARE = 0.4
"""Of the bore, at most, for the hole of the screw that clamps the flange."""


SAFETY = 2.0
"""Asked for on the middle figure of the strength (common practice)."""


@dataclass(frozen=True)
class HubChoice:
    """``clamp``: size of the screw through the hub; ``material``: catalogue name, empty where it is free."""

    clamp: str
    material: str
    cautions: tuple[str, ...]


def clamp_size(bearing: catalogue.Bearing) -> str:
    """The largest screw whose hole leaves the hub its wall. Raises DesignFault for a bore too small for any."""
    found = next((one for one in CLAMPS if catalogue.bolt(one).hole_medium_mm <= CLAMP_SHARE * bearing.bore_mm), None)
    if found is None:
        least = catalogue.bolt(CLAMPS[-1]).hole_medium_mm / CLAMP_SHARE
        what = f"no hub of ours goes through the output bearing {bearing.designation}"
        value, allowed = f"bore {bearing.bore_mm:g} mm", f"a bore of at least {least:.1f} mm"
        raise DesignFault([Fault(what, "output_bearing.bearing", value=value, allowed=allowed)])
    return found


def across_flats_mm(bearing: catalogue.Bearing) -> float:
    """Of the hexagon whose corners lie on the bore circle."""
    return bearing.bore_mm * math.sqrt(3) / 2


def hub_shear_mpa(torque_nmm: float, flats_mm: float, hole_mm: float) -> float:
    """Largest shear stress of a twisted hexagon with a round hole along its axis."""
    return torque_nmm / (HEXAGON_SHARE * flats_mm**3 * (1.0 - (hole_mm / flats_mm) ** 4))


def hexagon_bending_mm3(flats_mm: float, hole_mm: float) -> float:
    """Section modulus of a hexagon with a round hole against bending, at its corners."""
    side = flats_mm / math.sqrt(3)
    return (5 * math.sqrt(3) / 16 * side**4 - math.pi * hole_mm**4 / 64) / side


@dataclass(frozen=True)
class HubLoad:
    """What the hub bears: torque, and the moments that bend hexagon and journal; ``words`` say which load it is."""

    words: str
    torque_nmm: float
    hexagon_nmm: float
    journal_nmm: float

    def stress_mpa(self, bore_mm: float, hole_mm: float) -> float:
        """The larger of the equivalent stresses (von Mises) in hexagon and journal."""
        flats = bore_mm * math.sqrt(3) / 2
        round_mm3 = math.pi / 32 * bore_mm**3 * (1.0 - (hole_mm / bore_mm) ** 4)
        rows = (
            (self.hexagon_nmm / hexagon_bending_mm3(flats, hole_mm), hub_shear_mpa(self.torque_nmm, flats, hole_mm)),
            (self.journal_nmm / round_mm3, self.torque_nmm / (2 * round_mm3)),
        )
        return max(math.hypot(bend, math.sqrt(3) * shear) for bend, shear in rows)


def hub_loads(design: m.Design, journal_mm: float, flange_mm: float) -> tuple[HubLoad, ...]:
    """The loads that are assumed: the duty's peak, and a test at the rated torque with weights on the arm.

    ``journal_mm``: from the middle of the front bearing to the flange's back; ``flange_mm``: from there to where weights hang and
    the duty's radial force acts. Empty without a duty.
    """
    if not design.duty:
        return ()
    moment = 1e3 * max(step.overturning_moment_Nm for step in design.duty)
    radial = max(step.radial_force_N for step in design.duty)
    arm = design.assembly.arm_mm
    rated = 1e3 * (design.rated_torque_Nm or 0.0)
    weight = rated / arm
    peak = peak_torque_nmm(design)
    words = f"{peak / 1e3:g} N·m with {moment / 1e3:g} N·m of overturning and {radial:g} N on the flange"
    test = f"{rated / 1e3:g} N·m by weights of {weight:.1f} N at {arm:g} mm on the test arm"
    reach = journal_mm + flange_mm
    return (
        HubLoad(words, peak, moment + radial * flange_mm, moment + radial * reach),
        HubLoad(test, rated, weight * flange_mm, weight * reach),
    )


def peak_torque_nmm(design: m.Design) -> float:
    """The largest torque of the duty, 0 without one."""
    return 1e3 * max((max(step.torque_Nm, step.peak_torque_Nm) for step in design.duty), default=0.0)


def hub_choice(a: Assessment, bearing: catalogue.Bearing, journal_mm: float, flange_mm: float) -> HubChoice:
    """What the hub is made of: what the process prints, else the printed cup's material where only that bears the loads.

    Overhangs as in :func:`hub_loads`. Raises DesignFault where neither bears them ``SAFETY`` times; machined hubs and drives
    without a duty are not judged, which a caution says.
    """
    design, clamp = a.design, clamp_size(bearing)
    bore, hole = bearing.bore_mm, catalogue.bolt(clamp).hole_medium_mm
    loads = hub_loads(design, journal_mm, flange_mm)
    stress, load = max(((one.stress_mpa(bore, hole), one.words) for one in loads), default=(0.0, ""))
    if not isinstance(design.process, m.Printer):
        known = f" ({stress:.1f} MPa at {load})" if loads else ""
        return HubChoice(clamp, "", (f"hub of the output not judged: make it of {METAL}{known}",))
    ring = design.flexible_ring
    names = [design.process.material, *([ring.material] if isinstance(ring, m.PrintedCup) else [])]
    if not loads:
        return HubChoice(clamp, names[0], ("hub of the output not judged: the design names no duty",))
    best = 0.0
    for name in dict.fromkeys(names):
        kelvin = design.ambient_temperature_C + ZERO_CELSIUS_K
        strength = strength_data(design, name, Direction.ACROSS_LAYERS, kelvin).ultimate_mpa
        assert strength is not None, "the catalogue has the tensile strength of every material"
        best = max(best, strength.middle)
        if SAFETY * stress > strength.middle:
            continue
        words = f"hub of the output, {name}: {stress:.1f} MPa at {load}, it bears {strength.middle:.1f} MPa"
        weak = f"{words}, at worst {strength.low:.1f} MPa, less than {SAFETY:g} times as much"
        return HubChoice(clamp, name, (weak,) if SAFETY * stress > strength.low else ())
    what = f"the output's hub through bearing {bearing.designation} would break"
    least = bore * (SAFETY * stress / best) ** (1 / 3)
    value = f"{stress:.1f} MPa at {load}"
    allowed = (
        f"at most {best / SAFETY:.1f} MPa in {names[-1]} ({SAFETY:g} times safe); a bore of about {least:.0f} mm has it"
    )
    raise DesignFault([Fault(what, "output_bearing.bearing", value=value, allowed=allowed)])
