"""What the flexible ring bears along its line at one torque, for the moving picture: hoop stress of a rim, tension of a belt.

Stress comes from the strength room's courses, tension from the loaded ring's sections as the belt's check reads it. Seen from
the generator it stands still, to first order, while the ring runs through it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.wound import Wound
from lobewright.design import model as m
from lobewright.errors import LobewrightError
from lobewright.make.moving_scene import SHAPE_POINTS
from lobewright.report.life_numbers import few
from lobewright.strength.course import StressCourse
from lobewright.strength.cup_stress import cup_courses
from lobewright.strength.items import NotMade
from lobewright.strength.rim_stress import rim_courses
from lobewright.strength.swing import von_mises_mpa
from lobewright.torque.belt import shared_widths_mm
from lobewright.torque.results import LoadShare
from lobewright.verdict import capital

Array = NDArray[np.float64]
Data = dict[str, Any]
HOOP = 1


def number(key: str, title: str, value: float, unit: str) -> Data:
    """One row of numbers, its text with three figures, or whole where it is a count."""
    text = f"{value:.0f}" if unit == "teeth" else few(value, 3)
    return {"key": key, "title": title, "value": value, "unit": unit, "text": f"{text} {unit}"}


@dataclass(frozen=True)
class RingStress:
    """``picture``: values at every sample of the neutral line shown, ``{"what", "unit", "cases": [{"torque_nm", "values"}]}``,
    MPa or N/mm of width; None where they were not made, and ``why``. ``rows``: largest values, for the numbers."""

    picture: Data | None
    why: str = ""
    rows: tuple[Data, ...] = ()


def ring_stress(drive: Wound, share: LoadShare) -> RingStress:
    """What the ring bears at one torque; nothing of a coarse drive, for the cells behind it take as long as all the rest."""
    if drive.coarse:
        return RingStress(None, "told when you let go")
    if isinstance(drive.drive.design.flexible_ring, m.Belt):
        return _tension(drive, share)
    try:
        places = rim_courses(drive.drive, drive.stiffness.cells, (share,))
        walls = cup_courses(drive.drive, drive.stiffness.inputs, drive.stiffness.cells, (share,))
    except LobewrightError as error:
        return RingStress(None, error.sentences()[0])
    rim = [one for one in places if isinstance(one, StressCourse)]
    if not rim:
        return RingStress(None, "; ".join(one.why for one in places if isinstance(one, NotMade)))
    shown = max(rim, key=lambda one: float(np.ptp(one.stress_mpa[0, :, HOOP])))
    values = np.interp(_labels(drive), shown.label_deg, shown.stress_mpa[0, :, HOOP], period=360.0)
    every = [*rim, *(one for one in walls if isinstance(one, StressCourse) and not one.name.endswith("_across"))]
    return RingStress(_picture(f"hoop stress, {shown.title}", "MPa", share, values), "", (_largest(every),))


def _largest(courses: Iterable[StressCourse]) -> Data:
    """The place that bears most, with the band of its model."""
    stress, worst = max(
        ((float(von_mises_mpa(one.stress_mpa[0]).max()), one) for one in courses), key=lambda found: found[0]
    )
    row = number("ring_stress", f"Largest stress in the flexible ring: {worst.title}", stress, "MPa")
    low, high = stress / worst.model_spread, stress * worst.model_spread
    return {**row, "text": f"{row['text']} ({few(low, 3)} … {few(high, 3)})"}


def _tension(drive: Wound, share: LoadShare) -> RingStress:
    """Tension of a belt's cords a mm of its width, of the row that is pulled hardest."""
    widths = shared_widths_mm(drive.drive.design, (row.width_mm for row in drive.drive.rows))
    pulled = [row.normal_n / width for row, width in zip(share.rows, widths, strict=True)]
    hardest = max(range(len(pulled)), key=lambda r: float(pulled[r].max()))
    row, per_mm = share.rows[hardest], pulled[hardest]
    values = np.interp(_labels(drive), row.section_label_deg, per_mm, period=360.0)
    what = f"tension of the belt's cords a mm of width, row of {row.name}"
    largest = number("cord_tension", capital(f"largest {what}"), float(per_mm.max()), "N/mm")
    return RingStress(_picture(what, "N/mm", share, values), "", (largest,))


def _labels(drive: Wound) -> Array:
    """Labels [deg] of the samples of the picture's neutral line, from the first lobe."""
    arc = drive.found.set_shape.arc_mm
    count = len(arc[:: max(1, len(arc) // SHAPE_POINTS)])
    return np.arange(count, dtype=np.float64) * (360.0 / count)


def _picture(what: str, unit: str, share: LoadShare, values: Array) -> Data:
    # the torque has the figures that it has in the page's loads, by which the picture finds its case
    case = {
        "torque_nm": float(f"{share.torque_nmm / 1000.0:.3g}"),
        "values": [float(f"{value:.3g}") + 0.0 for value in values],
    }
    return {"what": what, "unit": unit, "cases": [case]}
