"""What measured skip torques say about later designs of the same process: one factor, truth over prediction.

The factor is shared by all drives of one process (kind of flexible ring, belt designation or material): arms, modulus, beds and
what the model leaves out are off alike. A log-normal prior as wide as the uncorrected band is, its tolerances left out, meets
each measured ratio, whose spread joins the reading, the tolerances of that build and how far a factor of one design is that
of another. Source: conjugate normal update of the logarithm (derived; textbook form of Bayes' rule).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.workshop import MeasuredSkip
from lobewright.sources import Flag
from lobewright.torque.bands import QUANTILES, Band
from lobewright.torque.interval import NORMAL_95, Interval
from lobewright.torque.results import sealed

TRANSFER = 0.1
"""Standard deviation of the logarithm by which the factor of one design departs from that of another of the same process: a
judgement, not measured."""


@dataclass(frozen=True)
class SkipCorrection:
    """Truth over prediction of skip torques of one process.

    ``factor`` with its 90 % interval, from ``measurements`` readings on the designs ``used`` (the prior where there are none);
    ``not_used``: a sentence for every measured skip torque that says nothing here.
    """

    factor: Interval
    measurements: int
    used: tuple[str, ...]
    not_used: tuple[str, ...]


def skip_correction(design: m.Design, band: Band) -> SkipCorrection:
    """The factor for a design from its workshop's measured skip torques; ``band`` is the design's own, uncorrected."""
    prior = math.sqrt(max(band.log_sd**2 - band.tolerance_log_sd**2, 0.0))
    rows = () if design.owned is None else design.owned.skip_torque
    said = [(row, why_not(design, row)) for row in rows]
    used = [row for row, why in said if not why]
    not_used = tuple(f"measured skip torque of {row.design}: {why}" for row, why in said if why)
    middle, spread = updated(prior, list(_ratios(used, band.tolerance_log_sd)))
    wide = math.exp(NORMAL_95 * spread)
    found = Interval(
        "skip_torque_factor",
        math.exp(middle) / wide,
        math.exp(middle),
        math.exp(middle) * wide,
        bool(used),
        "derived_here" if used else "memory",
        Flag.DERIVED if used else Flag.REMEMBERED,
    )
    return SkipCorrection(found, len(used), tuple(row.design for row in used), not_used)


def corrected(band: Band, correction: SkipCorrection) -> Band:
    """The band of the skip torque shifted and narrowed by a factor that was measured; as it is where nothing was.

    Log-normal: the factor stands for everything but tolerances and numerical spread, which stay.
    """
    if correction.measurements == 0:
        return band
    spread = math.hypot(correction.factor.log_spread, band.tolerance_log_sd)
    middle = band.middle * correction.factor.middle
    wide = math.exp(NORMAL_95 * spread)
    levels = (np.arange(QUANTILES) + 1.0) / (QUANTILES + 1.0)
    share = (correction.factor.log_spread / spread) ** 2 if spread > 0.0 else 0.0
    count = correction.measurements
    note = f"corrected by {count} measured skip torque{'' if count == 1 else 's'} of this process"
    return replace(
        band,
        low=middle / wide,
        middle=middle,
        high=middle * wide,
        shares={"measured factor": share, "tolerances and numerical": 1.0 - share},
        log_sd=spread,
        notes=(*band.notes, note),
        quantiles=sealed(middle * np.exp(spread * np.array([NormalDist().inv_cdf(level) for level in levels]))),
    )


def updated(prior_sd: float, ratios: list[tuple[float, float]]) -> tuple[float, float]:
    """Mean and standard deviation of the logarithm of the factor, from a prior about 1 and (log ratio, its deviation).

    Readings that disagree by more than they say are widened by the root of their reduced χ² (usual practice).
    """
    if not ratios or prior_sd <= 0.0:
        return 0.0, prior_sd
    place = np.array([ratio for ratio, _ in ratios])
    weight = np.array([deviation**-2 for _, deviation in ratios])
    if len(ratios) > 1:
        own = float(weight @ place / weight.sum())
        weight = weight / max(1.0, float(weight @ (place - own) ** 2) / (len(ratios) - 1))
    precision = prior_sd**-2 + float(weight.sum())
    return float(weight @ place) / precision, precision**-0.5


def why_not(design: m.Design, row: MeasuredSkip) -> str:
    """Why a measured skip torque says nothing about a design; "" where it does."""
    ring = design.flexible_ring
    if row.predicted_Nm is None or row.flexible_ring is None:
        return "what was predicted for it, and for what kind of flexible ring, is not told"
    if row.flexible_ring != ring.kind:
        return f"another process, a {row.flexible_ring} and not a {ring.kind}"
    if isinstance(ring, m.Belt):
        same = row.designation and catalogue.belt_profile(row.designation) is catalogue.belt_profile(ring.designation)
        return "" if same else f"another process, belt {row.designation or 'not told'} and not {ring.designation}"
    if row.material != ring.material:
        return f"another process, {row.material or 'material not told'} and not {ring.material}"
    return ""


def _ratios(used: list[MeasuredSkip], tolerance_log_sd: float) -> Iterator[tuple[float, float]]:
    """Logarithm of truth over prediction of each reading and its standard deviation."""
    for row in used:
        assert row.predicted_Nm is not None
        deviation = math.sqrt((row.uncertainty_Nm / row.torque_Nm) ** 2 + tolerance_log_sd**2 + TRANSFER**2)
        yield math.log(row.torque_Nm / row.predicted_Nm), deviation
