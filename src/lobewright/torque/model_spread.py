"""By how much the model itself may be off, apart from its inputs: a judgement for every answer, with its reason."""

from __future__ import annotations

from lobewright.sources import Flag
from lobewright.torque.interval import Interval

MODEL_SPREAD: dict[str, tuple[float, str]] = {
    "skip_torque_nmm": (
        1.4,
        "plane rings: teeth that tilt along their face, friction of the flanks (holds teeth in), yielding and creep are left "
        "out; finite elements are to agree within 10 %; no measurement was found",
    ),
    "stiffness_nmm_per_rad": (
        1.1,
        "finite elements are to agree within 3 %; tilt along the face and creep are left out",
    ),
    "windup_at_peak_rad": (1.1, "as the stiffness; friction holds the ring a little this or that side"),
    "largest_roller_force_n": (1.08, "finite elements are to agree within 3 %; skew of the rollers is left out"),
    "teeth_in_load": (1.15, "teeth near the end of contact come and go with errors of pitch"),
    "largest_flank_pressure_mpa": (
        1.5,
        "a bed on the flank's face, evenly loaded along it; edges and pitch errors raise it",
    ),
}
"""Factor either way at 90 %, and why. A judgement: nothing of it is measured."""


def model_spread() -> dict[str, Interval]:
    """The factor of the truth over the model by answer."""
    return {
        name: Interval(name, 1.0 / times, 1.0, times, False, "memory", Flag.REMEMBERED)
        for name, (times, _) in MODEL_SPREAD.items()
    }
