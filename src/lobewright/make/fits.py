"""What fit a bore, seat or hole has on a drawing: ISO 286 classes where it is machined, the printer's own spread where printed.

Bearing seats: a ball bearing's ring that stands still against its load may be loose, the one that turns with the load may
not. So a standing housing gets H7, a turning one N7 (J7 and K7 lie between), a turning shaft k6, an adjustable one js6 or
h6. Common practice of bearing catalogues, no single source. Printed seats carry the printer's allowance and its
uncertainty instead: a class of ISO 286 would promise what the process cannot hold.
"""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.design import model as m
from lobewright.design.catalogue_fits import bounds_mm, limits
from lobewright.make.bodies import Feature

SEAT_CLASS = "H7"
SHAFT_BORE_CLASS = "H7"
Z90 = 1.645
"""Standard uncertainties of a half 90 % band."""


@dataclass(frozen=True)
class Fit:
    """Class (empty for printed sizes) and deviations in mm, upper and lower; ``words`` is what the sheet says of them."""

    designation: str
    upper_mm: float
    lower_mm: float
    words: str

    @property
    def text(self) -> str:
        """As it stands behind the size: ``H7 (+0.021 / 0)`` or ``±0.13``."""
        if self.designation:
            return f"{self.designation} ({signed(self.upper_mm)} / {signed(self.lower_mm)})"
        return f"±{self.upper_mm:.2f}"


def signed(value_mm: float) -> str:
    """A deviation in mm with its sign, thousandths; 0 has none."""
    text = f"{abs(value_mm):.4f}".rstrip("0").rstrip(".")
    if text == "0":
        return "0"
    return ("+" if value_mm > 0 else "−") + text


def seat_fit(process: m.Printer | m.Machined, size_mm: float) -> Fit:
    """Fit of a bearing seat in a part that stands against the load.

    Raises CatalogueFault for a machined size outside the table of ISO 286.
    """
    return _fit(process, size_mm, SEAT_CLASS, Feature.SEAT)


def shaft_bore_fit(process: m.Printer | m.Machined, size_mm: float) -> Fit:
    """Fit of a bore on the input shaft, slid on by hand."""
    return _fit(process, size_mm, SHAFT_BORE_CLASS, Feature.CONTOUR)


def hole_fit(process: m.Printer | m.Machined, size_mm: float) -> Fit | None:
    """A clearance hole after ISO 273 needs none where it is machined (general tolerance); a printed one tells its spread."""
    return _fit(process, size_mm, "", Feature.BOLT_HOLE) if isinstance(process, m.Printer) else None


def _fit(process: m.Printer | m.Machined, size_mm: float, designation: str, feature: Feature) -> Fit:
    if isinstance(process, m.Printer):
        spread = {
            Feature.SEAT: process.seat_allowance_uncertainty_mm,
            Feature.BOLT_HOLE: process.bolt_hole_allowance_uncertainty_mm,
        }.get(feature, 2 * process.xy_compensation_uncertainty_mm)
        half = Z90 * spread
        return Fit("", half, -half, "printed; nine of ten lie inside, by the printer's own calibration")
    upper, lower = limits(designation, size_mm)
    return Fit(designation, upper, lower, "ISO 286")


def has_class(size_mm: float) -> bool:
    """Whether a size lies in the table of ISO 286 that is here."""
    return bounds_mm()[0] < size_mm <= bounds_mm()[-1]
