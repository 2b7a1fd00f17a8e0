"""The output's hub: what it is made of and how much torque its hexagon bears.

The flange sits on a hexagon whose corners lie on the bearing's bore circle, so that torque goes through form. It is the
weakest section. Largest shear stress of a twisted hexagon a across flats: T/(0.1888 a³), worked out here (finite differences
of Prandtl's function, see tests/unit/test_layout.py); the bore for the screw takes the share of a round bar, (d/a)⁴. What the
material bears in shear: its tensile strength across layers over √3 (von Mises). See docs/theory/assembly.md.
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
CLAMPS = ("M5", "M4", "M3")
CLAMP_SHARE = 0.4
"""Of the bore, at most, for the hole of the screw that clamps the flange."""


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


def peak_torque_nmm(design: m.Design) -> float:
    """The largest torque of the duty, 0 without one."""
    return 1e3 * max((max(step.torque_Nm, step.peak_torque_Nm) for step in design.duty), default=0.0)


def hub_choice(a: Assessment, bearing: catalogue.Bearing) -> HubChoice:
    """What the hub is made of: what the process prints, else the printed cup's material where only that bears the torque.

    Raises DesignFault where neither does; machined hubs and drives without a duty are not judged, which a caution says.
    """
    design, clamp = a.design, clamp_size(bearing)
    if not isinstance(design.process, m.Printer):
        return HubChoice(clamp, "", ("hub of the output not judged: make it of steel or aluminium",))
    torque, flats = peak_torque_nmm(design), across_flats_mm(bearing)
    shear = hub_shear_mpa(torque, flats, catalogue.bolt(clamp).hole_medium_mm)
    ring = design.flexible_ring
    names = [design.process.material, *([ring.material] if isinstance(ring, m.PrintedCup) else [])]
    if not torque:
        return HubChoice(clamp, names[0], ("hub of the output not judged: the design names no duty",))
    for name in dict.fromkeys(names):
        kelvin = design.ambient_temperature_C + ZERO_CELSIUS_K
        strength = strength_data(design, name, Direction.ACROSS_LAYERS, kelvin).ultimate_mpa
        low, middle = strength.low / math.sqrt(3), strength.middle / math.sqrt(3)
        if shear > middle:
            continue
        words = f"hub of the output, {name}: {shear:.1f} MPa of shear at the peak torque, it bears {middle:.1f} MPa"
        weak = f"{words}, at worst {low:.1f} MPa: make it of metal where it must not break"
        cautions = (weak,) if shear > low else ()
        return HubChoice(clamp, name, cautions)
    bears = torque / shear * middle / 1e3
    what = f"the output's hub through bearing {bearing.designation} would twist off"
    value, allowed = (
        f"{torque / 1e3:g} N·m",
        f"at most {bears:.2g} N·m in {names[-1]}; take a bearing with a larger bore",
    )
    raise DesignFault([Fault(what, "output_bearing.bearing", value=value, allowed=allowed)])
