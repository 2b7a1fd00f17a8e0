"""Evidence for rigid parts: tables of bolts, textbook examples of bolts and pins in shear, a tapered cantilever.

Units of a textbook stay as they are (inch, pound, kip) where a relation holds in any.
"""

from __future__ import annotations

import math

import numpy as np

from lobewright.design import catalogue
from lobewright.design.model import BoltClass
from lobewright.published.case import Case, Room
from lobewright.published.model import Model
from lobewright.sources import Flag
from lobewright.strength.rigid_tooth import ToothSections, ToothStress

ISO_898, CH8, TAPERED = "iso_898_1_2013", "budynas_nisbett_2011_ch8", "gere_goodno_2009"
ARM_MM = math.hypot(60.0, 75.0)
"""From the middle of four bolts to each of them, example 8-7."""


def _area(model: Model) -> float:
    bolt = catalogue.bolt("M4")
    return float(model.stress_area_mm2(bolt.diameter_mm, bolt.thread_pitch_mm))


def _proof(size: str, bolt_class: BoltClass) -> Case:
    expected, allowed = PROOF_N[size, bolt_class]
    return Case(
        f"parts.proof_{size.lower()}_{bolt_class.value.replace('.', '_')}",
        Room.STRENGTH,
        f"proof load of a bolt {size} of class {bolt_class.value}",
        "N",
        ISO_898,
        Flag.READ_SECOND,
        expected,
        allowed,
        "half of the last printed digit; the table rounds the stress area first",
        lambda model: float(model.proof_load_n(catalogue.bolt(size), bolt_class)),
    )


PROOF_N = {
    ("M3", BoltClass.CLASS_8_8): (2920.0, 5.0),
    ("M4", BoltClass.CLASS_5_6): (2460.0, 5.0),
    ("M4", BoltClass.CLASS_10_9): (7290.0, 5.0),
    ("M6", BoltClass.CLASS_12_9): (19500.0, 50.0),
}


def _secondary(model: Model) -> float:
    """Force of each bolt from a moment of 6800 N·m, kN."""
    return float(model.pin_force_n(6800e3, 4, ARM_MM)) / 1e3


def _resultant(model: Model) -> float:
    """With a quarter of the 16 kN that cause it, on the bolts nearest to the load, kN."""
    turned = _secondary(model)
    return math.copysign(math.hypot(turned * 60.0 / ARM_MM, turned * 75.0 / ARM_MM + 4.0), turned)


def _bearing(model: Model) -> float:
    """Load of two bolts of 3/4 in in members of 1 in that bear 54/1.5 kip/in², kip."""
    return 2.0 * (54.0 / 1.5) / float(model.pin_pressure_mpa(1.0, 0.75, 1.0))


def _tapered(model: Model) -> ToothStress:
    """20 in long, 1 in wide, 2 to 3 in high, 50 lb and 800 lb·in at its end: 50 lb that act 16 in above it."""
    depth = np.linspace(0.0, 20.0, 2001)
    found: ToothStress = model.tooth_stress(ToothSections(depth, 2.0 + depth / 20.0, 1.0), 50.0, 0.0, -16.0)
    return found


CASES = (
    Case(
        "parts.stress_area_m4",
        Room.STRENGTH,
        "stress area of a thread M4",
        "mm²",
        ISO_898,
        Flag.READ_SECOND,
        8.78,
        0.005,
        "half of the last printed digit",
        _area,
    ),
    *(_proof(*key) for key in PROOF_N),
    Case(
        "parts.bolt_share",
        Room.STRENGTH,
        "moment of 6800 N·m on four bolts 96.0 mm from their middle: force of each",
        "kN",
        CH8,
        Flag.READ,
        17.7,
        0.05,
        "half of the last printed digit",
        _secondary,
    ),
    Case(
        "parts.bolt_resultant",
        Room.STRENGTH,
        "the same with 16 kN across: force of the most loaded bolt",
        "kN",
        CH8,
        Flag.READ,
        21.0,
        0.05,
        "half of the last printed digit",
        _resultant,
    ),
    Case(
        "parts.pin_pressure",
        Room.STRENGTH,
        "two bolts of 3/4 in in members of 1 in, 54 kip/in² over 1.5: load that the holes bear",
        "kip",
        CH8,
        Flag.READ,
        54.0,
        0.5,
        "half of the last printed digit",
        _bearing,
    ),
    Case(
        "parts.tapered_stress",
        Room.STRENGTH,
        "tapered cantilever 20 × 1 × 2…3 in under 50 lb and 800 lb·in at its end: largest bending stress",
        "psi",
        TAPERED,
        Flag.READ,
        1250.0,
        1.0,
        "printed whole; the mean shear that is added moves the worst section a little",
        lambda model: float(_tapered(model).edge_mpa),
    ),
    Case(
        "parts.tapered_place",
        Room.STRENGTH,
        "the same: distance of that section from the free end",
        "in",
        TAPERED,
        Flag.READ,
        8.0,
        0.1,
        "the mean shear that is added draws the worst section to the thinner end",
        lambda model: float(_tapered(model).depth_mm),
    ),
)
