"""The numbers under torque at a glance, in people's units, each with its working and its band where one was made."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from lobewright.assessment.headline import ARCMIN_PER_RAD, DERIVED, Headline
from lobewright.assessment.load import Loads
from lobewright.assessment.load_verdicts import GIVES_WAY
from lobewright.design import model as m
from lobewright.torque.bands import PRESSURE, ROLLER, SKIP, STIFFNESS, TEETH, WINDUP
from lobewright.verdict import Working


@dataclass(frozen=True)
class LoadHeadline:
    """A headline with the ends of its 90 % band in the same unit, both None where no band was made."""

    headline: Headline
    low: float | None
    high: float | None

    @property
    def text(self) -> str:
        """Value, unit and band as shown."""
        if self.low is None or self.high is None:
            return self.headline.text
        digits = self.headline.digits
        return f"{self.headline.text} ({self.low:.{digits}f} … {self.high:.{digits}f})"


def load_headlines(loads: Loads) -> tuple[LoadHeadline, ...]:
    """Headline numbers under torque, in the order in which people ask for them."""
    return (*_limits(loads), *_springs(loads), *_forces(loads), *_turning(loads))


def _row(
    loads: Loads,
    key: str,
    title: str,
    value: float,
    unit: str,
    digits: int,
    working: Working,
    band: str = "",
    scale: float = 1.0,
) -> LoadHeadline:
    """A row; ``scale`` turns the band's own unit into the row's."""
    found = loads.band(band) if band else None
    head = Headline(key, title, value, unit, digits, working)
    if found is None:
        return LoadHeadline(head, None, None)
    return LoadHeadline(head, found.low * scale, found.high * scale)


def _limits(loads: Loads) -> Iterator[LoadHeadline]:
    skip = loads.skip
    band = loads.skip_band
    value = (band.middle if band else skip.torque_nmm) / 1000.0
    bound = "; teeth break first, so it is a lower bound" if skip.lower_bound else ""
    yield _row(
        loads,
        "skip",
        "Torque at which it skips",
        value,
        "N·m",
        2,
        Working(
            "largest torque on the path of equilibria before it falls for good",
            f"gives way: {GIVES_WAY[skip.gives_way]}; generator's share of the give {skip.generator_share:.0%}{bound}",
            DERIVED,
        ),
        SKIP,
        1e-3,
    )
    yield _row(
        loads,
        "first_fall",
        "Torque at which it first gives way a little",
        skip.first_fall_nmm / 1000.0,
        "N·m",
        2,
        Working(
            "torque before the first fall by a tenth at held rotation",
            "a jerk of the output, not yet a skip; beyond it chance has a say in the skip torque",
            DERIVED,
        ),
    )


def _springs(loads: Loads) -> Iterator[LoadHeadline]:
    windup = loads.windup
    low, high = windup.bands[-1]
    yield _row(
        loads,
        "stiffness",
        "Torsional stiffness near the largest torque told",
        windup.stiffness_nmm_per_rad[-1] / 1000.0 / ARCMIN_PER_RAD,
        "N·m/arcmin",
        3,
        Working(
            "mean slope of both sides of the windup curve",
            f"between {low:.0%} and {high:.0%} of {windup.reach_nmm / 1000:.3g} N·m",
            DERIVED,
        ),
        STIFFNESS,
        1e-3 / ARCMIN_PER_RAD,
    )
    yield _row(
        loads,
        "windup",
        f"Windup at {loads.told_nmm / 1000:.3g} N·m, from the middle of the play",
        abs(loads.at_peak.windup_rad) * ARCMIN_PER_RAD,
        "arcmin",
        1,
        Working("rotation of the slow member against the held ones", "half the play is in it", DERIVED),
        WINDUP,
        ARCMIN_PER_RAD,
    )
    loop = loads.loop
    lost = loop.lost_motion_rad if loop else windup.lost_motion_rad
    share, reach = (loop or windup).lost_motion_share, (loop or windup).reach_nmm
    yield _row(
        loads,
        "lost_motion",
        "Lost motion",
        lost * ARCMIN_PER_RAD,
        "arcmin",
        1,
        Working(
            "windup between ± 3 % of the steady torque",
            f"± {share * reach / 1000:.2g} N·m, {'with' if loop else 'without'} friction",
            DERIVED,
        ),
    )
    if loop is not None:
        yield _row(
            loads,
            "hysteresis",
            "Hysteresis at no torque, with the play",
            loop.hysteresis_rad * ARCMIN_PER_RAD,
            "arcmin",
            1,
            Working(
                "distance of the places where the drive rests after + and − the torque",
                f"flank friction {loop.flank_friction:g}; friction alone adds {loop.friction_width_rad * ARCMIN_PER_RAD:.2g}′",
                DERIVED,
            ),
        )
    if loads.transmission is not None:
        found, errors = loads.transmission, loads.errors
        perfect = not errors.turning
        made = (
            f"generator's run-out {errors.generator_run_out_mm:g} mm, lobes unequal by {errors.unequal_lobes_mm:g} mm"
        )
        made += ", no errors of teeth or rings are given" if perfect else ", errors of teeth and rings as given"
        yield _row(
            loads,
            "transmission_error",
            f"Transmission error, peak to peak, {'if teeth are perfect' if perfect else 'with the errors of teeth given'}",
            found.peak_to_peak_rad * ARCMIN_PER_RAD,
            "arcmin",
            2,
            Working(
                "output angle − ideal angle at steady torque",
                f"{found.sampled}; {made}",
                DERIVED,
            ),
        )


def _forces(loads: Loads) -> Iterator[LoadHeadline]:
    share = loads.at_peak
    torque = f"at {abs(share.torque_nmm) / 1000:.3g} N·m"
    for row in share.rows:
        yield _row(
            loads,
            f"teeth_in_load_{row.name}",
            f"Teeth that carry, ring {row.name}",
            float(row.teeth_in_load),
            "teeth",
            0,
            Working(
                f"teeth with a hundredth of the largest force, {torque}",
                f"most loaded {row.largest_share:.0%}",
                DERIVED,
            ),
            TEETH if len(share.rows) == 1 else "",
        )
    yield _row(
        loads,
        "tooth_force",
        "Largest force on one tooth",
        max(float(row.force_n.max()) for row in share.rows),
        "N",
        1,
        Working(f"flank, tip and root contact together, {torque}", "", DERIVED),
    )
    yield _row(
        loads,
        "flank_pressure",
        "Largest flank pressure",
        max(float(row.pressure_mpa.max()) for row in share.rows),
        "MPa",
        1,
        Working(f"bed stiffness × depth, even over the face, {torque}", "", DERIVED),
        PRESSURE,
    )
    if len(share.arm_mm):
        yield _row(
            loads,
            "roller_force",
            "Largest force on one roller or disc",
            share.largest_push_n,
            "N",
            1,
            Working(f"contact forces on all rows, {torque}", "", DERIVED),
            ROLLER,
        )
    yield _row(
        loads,
        "carrier_force",
        "Force on the generator's own bearing",
        float(np.hypot(*share.carrier_force_n)),
        "N",
        2,
        Working(f"radial, what the lobes do not balance, {torque}", "", DERIVED),
    )


def _turning(loads: Loads) -> Iterator[LoadHeadline]:
    found = loads.starting
    if found is None:
        return
    friction = f"friction of flanks {found.flank_friction:g}, bearings {found.bearing_friction:g}"
    if found.cam_friction > 0.0:
        friction += f", cam {found.cam_friction:g}"
    own = ", bending of the belt" if isinstance(loads.drive.design.flexible_ring, m.Belt) else ""
    friction += f"; left out: drag of grease{own}, seals, the output's bearings"
    for key, title, value in (
        (
            "start_unloaded",
            "Starting torque, no load, of mesh and generator alone",
            found.unloaded_nmm.mean,
        ),
        ("start_loaded", f"Starting torque against {found.load_nmm / 1000:.3g} N·m", found.loaded_nmm.mean),
    ):
        how = Working("frictionless torque + work of friction a radian, mean over a mesh period", friction, DERIVED)
        yield _row(loads, key, title, value, "N·mm", 1, how)
    back = found.back_driving_nmm
    if back is not None:
        how = Working("torque of the slow member at which work of friction is met, mean", friction, DERIVED)
        yield _row(
            loads, "back_driving", "Torque that drives it back from the slow side", back.mean / 1000.0, "N·m", 2, how
        )
