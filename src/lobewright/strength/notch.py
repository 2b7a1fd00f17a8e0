"""What of a notch's stress peak fatigue feels.

Neuber: q = 1/(1 + √a/√r), √a of steels in bending a polynomial of the ultimate stress (R. G. Budynas, J. K. Nisbett, 9th ed.,
2011, eqs. 6-34 and 6-35a, there in kpsi and inch; here as public lecture notes print it in MPa and mm, for 340 to 1700 MPa).
Peterson: q = 1/(1 + a/r), a = 0.0254 mm · (2070 MPa/S_u)^1.8 (J. A. Bannantine and others, 1990). Both stand on tests with wide
scatter; the larger of the two counts.
"""

from __future__ import annotations

import math

from lobewright.errors import DesignFault, Fault

NEUBER_FROM_MPA = 340.0
NEUBER_TO_MPA = 1700.0
PETERSON_LENGTH_MM = 0.0254
PETERSON_ULTIMATE_MPA = 2070.0
PETERSON_EXPONENT = 1.8


def neuber_sensitivity(radius_mm: float, ultimate_mpa: float) -> float:
    """Notch sensitivity of a steel in bending. Raises DesignFault for ultimate stresses outside 340 … 1700 MPa."""
    if not NEUBER_FROM_MPA <= ultimate_mpa <= NEUBER_TO_MPA:
        allowed = f"{NEUBER_FROM_MPA:g} to {NEUBER_TO_MPA:g} MPa"
        raise DesignFault(
            [Fault("no notch constant for this ultimate stress", "ultimate", 0, f"{ultimate_mpa:g}", allowed)]
        )
    s = ultimate_mpa
    root = 1.24 - 2.25e-3 * s + 1.60e-6 * s**2 - 4.11e-10 * s**3
    return 1.0 / (1.0 + root / math.sqrt(radius_mm))


def peterson_sensitivity(radius_mm: float, ultimate_mpa: float) -> float:
    """Notch sensitivity of a steel after Peterson."""
    length = PETERSON_LENGTH_MM * (PETERSON_ULTIMATE_MPA / ultimate_mpa) ** PETERSON_EXPONENT
    return 1.0 / (1.0 + length / radius_mm)


def fatigue_notch_factor(notch_factor: float, radius_mm: float, ultimate_mpa: float | None, metal: bool) -> float:
    """The factor K_f = 1 + q·(K_t − 1) by which a notch lowers the endured amplitude; between 1 and ``notch_factor``.

    The whole ``notch_factor`` counts (q = 1, the safe side) for everything but metal, for which no source tells q of prints,
    for metals of unknown ultimate stress and above 1700 MPa. Below 340 MPa q is taken as at 340 MPa, which is safe too.
    """
    if not metal or ultimate_mpa is None or ultimate_mpa > NEUBER_TO_MPA:
        return notch_factor
    ultimate = max(ultimate_mpa, NEUBER_FROM_MPA)
    q = max(neuber_sensitivity(radius_mm, ultimate), peterson_sensitivity(radius_mm, ultimate))
    return 1.0 + q * (notch_factor - 1.0)
