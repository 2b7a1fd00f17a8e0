"""The section "Under torque" of the report: which figures it has, what they say, and its HTML."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

import numpy as np
from numpy.typing import NDArray

from lobewright.assessment.headline import ARCMIN_PER_RAD
from lobewright.assessment.load_verdicts import GIVES_WAY
from lobewright.assessment.results import Assessment
from lobewright.assessment.warmth import warmth_words
from lobewright.design import model as m
from lobewright.report import load_bands, load_rose, load_round
from lobewright.report import load_figures as curves
from lobewright.report.captions import WIDTH_PX, Figure
from lobewright.report.figure_html import figure_html
from lobewright.report.load_figures import newton_metres, slope_nm, three
from lobewright.report.words import member_words
from lobewright.torque.bands import Bands
from lobewright.torque.friction_loop import Loop
from lobewright.torque.results import LoadShare, Skip, Windup
from lobewright.torque.transmission import TransmissionError

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ArmArrays:
    """Skip torque (K,) over the stiffness of one arm (K,), and the stiffness that this drive's arms have."""

    arm_n_per_mm: Array
    torque_nmm: Array
    own_n_per_mm: float


@dataclass(frozen=True)
class LoadPictures:
    """What was found under torque. None stands for an analysis that was not made.

    ``not_made`` gives reasons as (analysis, reason), analyses by the words of `ANALYSES` where they are one of these.
    ``needed_nmm`` is the largest torque that the duty asks for; ``skip_low_nmm`` and ``skip_high_nmm`` hold the skip torque
    with 90 % belief; ``skip_measured`` tells that the owner's measured skip torques of like drives have corrected it.
    """

    windup: Windup | None = None
    share: LoadShare | None = None
    skip: Skip | None = None
    needed_nmm: float | None = None
    skip_low_nmm: float | None = None
    skip_high_nmm: float | None = None
    skip_measured: bool = False
    transmission: TransmissionError | None = None
    loop: Loop | None = None
    bands: Bands | None = None
    arms: ArmArrays | None = None
    not_made: tuple[tuple[str, str], ...] = ()


ANALYSES = {
    "windup": "windup",
    "share": "load share",
    "skip": "skip torque",
    "transmission": "transmission error",
    "loop": "friction",
    "bands": "bands",
}
"""Field of `LoadPictures` to what the analysis is called where it was not made."""


def slow_member(a: Assessment) -> str:
    """The member whose torque and windup are told, in people's words."""
    return member_words(a.motion.slow_member)


def _windup_figure(a: Assessment, found: Windup) -> Figure:
    low, high = found.stiffness_nmm_per_rad[0], found.stiffness_nmm_per_rad[-1]
    stiffer = "It stiffens under load" if high > 1.1 * low else "Its slope changes little"
    caption = (
        f"Torque of {slow_member(a)} over its rotation, generator and counter member held. Between the upper marks no "
        f"torque acts: {three(found.free_play_rad * ARCMIN_PER_RAD)}′ of free play. Lost motion, "
        f"{three(found.lost_motion_rad * ARCMIN_PER_RAD)}′, is what it turns between ± {100 * found.lost_motion_share:g} % of "
        f"{newton_metres(found.reach_nmm)}. {stiffer}: {three(slope_nm(low))} N·m per arc-minute at first, "
        f"{three(slope_nm(high))} at full torque. Dots bound the bands of the slopes; 60′ are one degree."
    )
    picture = curves.windup_chart(found, WIDTH_PX)
    return Figure("windup", picture, WIDTH_PX, "Torque against windup", caption)


def _skip_figures(loads: LoadPictures) -> list[Figure]:
    found = loads.skip
    assert found is not None
    name = GIVES_WAY.get(found.gives_way, found.gives_way)
    limit = newton_metres(found.torque_nmm)
    if found.lower_bound:
        caption = f"A tooth breaks before the drive skips: {limit} is a lower bound of the skip torque."
    else:
        caption = f"At {limit} the teeth let go. What gives way first: {name}."
    if loads.needed_nmm is not None and loads.needed_nmm > 0.0:
        times = found.torque_nmm / loads.needed_nmm
        less = f"{three(times)} times less" if times >= 1.0 else "which it does not reach"
        caption += f" The duty asks for {newton_metres(loads.needed_nmm)}, {less}."
    if loads.skip_low_nmm is not None and loads.skip_high_nmm is not None:
        caption += (
            f" Shaded: the torque lies between {newton_metres(loads.skip_low_nmm)} and "
            f"{newton_metres(loads.skip_high_nmm)} with 90 % belief; the curve is for the middle of all inputs."
        )
    if not loads.skip_measured:
        caption += " No measured drive stands behind this torque: measure yours and put it into the workshop file."
    picture = curves.skip_chart(
        found,
        WIDTH_PX,
        needed_nmm=loads.needed_nmm,
        low_nmm=loads.skip_low_nmm,
        high_nmm=loads.skip_high_nmm,
    )
    moment = "when the tooth breaks" if found.lower_bound else "when they let go"
    retreat = (
        f"How far the loaded teeth stand back from the rigid ring {moment}, part by part, weighted by their forces. "
        f"Generator arms and carrier make up {100 * found.generator_share:.0f} % of it. Leaning teeth are told as the "
        "retreat that would free a flank as much; a rim left of zero bulges outward and holds on."
    )
    return [
        Figure("skip", picture, WIDTH_PX, "On the way to the skip", caption),
        Figure("retreat", curves.retreat_chart(found, WIDTH_PX), WIDTH_PX, "What lets the teeth go", retreat),
    ]


def _rose_figures(a: Assessment, share: LoadShare) -> list[Figure]:
    found = []
    cam = isinstance(a.design.generator, m.Cam)
    for index, row in enumerate(share.rows):
        places = [row.place[k] for k in range(len(row.place)) if row.place[k]]
        tips = sum(place == "tip" for place in places)
        caption = (
            f"At {newton_metres(share.torque_nmm)} on {slow_member(a)}. A petal is the push of one tooth on ring {row.name}, "
            "true in direction and as long as the bar says; its form tells where on the flexible tooth it touches (flanks as "
            "seen from the axis). Dotted: the root circle of the rigid teeth."
        )
        if tips:
            caption += f" {tips} of {len(places)} touching teeth bear on their tips."
        caption += (
            " A cam presses all along its contact, so no single arrow stands for it."
            if cam
            else " Arrows are the pushes of the generator on the flexible ring, to the same scale."
        )
        if len(share.rows) > 1:
            caption += " Forces of both rings are drawn to one scale."
        title = f"Which teeth of ring {row.name} carry"
        found.append(Figure(f"rose{index + 1}", load_rose.rose(a, share, index, WIDTH_PX), WIDTH_PX, title, caption))
    return found


def _shape_figure(a: Assessment, share: LoadShare) -> Figure:
    creep = sum(load_rose.mean_creep_rad(row) for row in share.rows) / len(share.rows)
    caption = (
        f"At {newton_metres(share.torque_nmm)}, seen from the generator. Only the outward change is enlarged, by the factor "
        f"in the picture; besides, the material has run {three(abs(creep) * ARCMIN_PER_RAD)}′ "
        f"{'anticlockwise' if creep > 0 else 'clockwise'} round the generator, which is not drawn."
    )
    if len(share.arm_mm):
        caption += " Numbers at rollers or discs: how far each stands outward of where it was set (inward is negative)."
    picture = load_rose.deformed_ring(a, share, WIDTH_PX)
    return Figure("loaded-shape", picture, WIDTH_PX, "The ring under torque, its change enlarged", caption)


def _section_figure(a: Assessment, share: LoadShare) -> Figure:
    most = max(float(np.abs(v).max()) for row in share.rows for v in (row.inner_stress_mpa, row.outer_stress_mpa))
    bend = max(float(np.abs(row.moment_nmm).max()) for row in share.rows)
    wedges = "" if isinstance(a.design.generator, m.Cam) else " Wedges mark the rollers or discs."
    caption = (
        f"Up to {three(bend)} N·mm bend the ring's section and up to {three(most)} MPa pull or press its faces, at "
        f"{newton_metres(share.torque_nmm)}. Stresses are those of the plain wall: fillets at the teeth add to them, and a "
        f"round ring is taken as free of stress.{wedges}"
    )
    picture = load_round.section_chart(a, share, WIDTH_PX)
    return Figure("sections", picture, WIDTH_PX, "What the ring feels", caption)


def _body_figure(a: Assessment, share: LoadShare) -> Figure:
    caption = f"At {newton_metres(share.torque_nmm)}; the push that bends the ring is in it."
    if isinstance(a.design.generator, m.Cam):
        caption += " A cam's pressure all round largely cancels: the bar is what is left of it."
    else:
        bodies = np.hypot(share.body_force_n[..., 0], share.body_force_n[..., 1]).sum(axis=1)
        caption += f" The hardest pressed one carries {three(float(bodies.max()))} N over all rows."
        lifted = int((bodies <= 0.0).sum())
        if lifted:
            caption += f" {lifted} of {len(bodies)} have lost touch with the ring."
    picture = load_round.body_chart(a, share, WIDTH_PX)
    return Figure("bodies", picture, WIDTH_PX, "What the generator feels", caption)


def _skew_figure(a: Assessment, share: LoadShare) -> Figure:
    skew, roll = (1000.0 * float(np.abs(values).max()) for values in (share.skew_mm, share.roll_mm))
    caption = (
        "The two rigid rings pull the two rows of teeth apart. Along the ring the second row lies up to "
        f"{three(skew)} µm from the first (skew), outward up to {three(roll)} µm (roll)."
    )
    picture = load_round.skew_roll_chart(a, share, WIDTH_PX)
    return Figure("skew", picture, WIDTH_PX, "Skew and roll between the rows", caption)


def _transmission_figures(a: Assessment, found: TransmissionError) -> list[Figure]:
    span = found.peak_to_peak_rad * ARCMIN_PER_RAD
    k = int(np.argmax(found.amplitude_rad))
    first = (
        f"How far {slow_member(a)} is off the exact ratio at {newton_metres(found.torque_nmm)} while the generator turns, mean "
        f"taken off; lowest and highest are {three(span)}′ apart (marked). Sampled: {found.sampled}."
    )
    if found.places > 1:
        first += " The dashed line joins the means of the places."
    second = (
        f"The same error, sorted by how often it comes round in one turn of the generator. Largest: order "
        f"{float(found.orders[k]):.5g} with {three(float(found.amplitude_rad[k]) * ARCMIN_PER_RAD)}′; one tooth pitch is order "
        f"{found.mesh_order:.5g}."
    )
    wave, bars = curves.transmission_chart(found, WIDTH_PX), curves.spectrum_chart(found, WIDTH_PX)
    return [
        Figure("transmission", wave, WIDTH_PX, "Transmission error", first),
        Figure("spectrum", bars, WIDTH_PX, "Transmission error by order", second),
    ]


def _loop_figure(found: Loop) -> Figure:
    caption = (
        f"With friction (coefficient {found.flank_friction:g} on the flanks) the way up and the way back differ. Without torque "
        f"it comes to rest in two places {three(found.hysteresis_rad * ARCMIN_PER_RAD)}′ apart, of which friction makes "
        f"{three(found.friction_width_rad * ARCMIN_PER_RAD)}′. One cycle to ± {newton_metres(found.reach_nmm)} turns "
        f"{three(found.dissipated_nmm)} mJ into heat. Dashed: the first loading; wedges tell the way."
    )
    picture = curves.hysteresis_chart(found, WIDTH_PX)
    return Figure("loop", picture, WIDTH_PX, "Windup to and fro, with friction", caption)


def _bands_figure(found: Bands) -> Figure:
    causes = dict.fromkeys(load_bands.cause_words(band.widest_input) for band in found.bands)
    caption = (
        "Each bar holds the true answer with 90 % belief, on a scale of times the middle; the notch is the middle. What "
        f"widens them most: {', '.join(causes)}. Where it is something that can be measured, a reading "
        "narrows the bars."
    )
    picture = load_bands.band_chart(found, WIDTH_PX)
    return Figure("bands", picture, WIDTH_PX, "How well the answers are known", caption)


def _arm_figure(found: ArmArrays) -> Figure:
    caption = (
        f"The same drive with softer and stiffer arms. This design's arms are taken as {three(found.own_n_per_mm / 1000)} "
        f"kN/mm; over the range shown the skip torque goes from {newton_metres(float(np.min(found.torque_nmm)))} to "
        f"{newton_metres(float(np.max(found.torque_nmm)))}."
    )
    picture = curves.arm_chart(found.arm_n_per_mm, found.torque_nmm, found.own_n_per_mm, WIDTH_PX)
    return Figure("arms", picture, WIDTH_PX, "How much the arms matter", caption)


def load_figures(a: Assessment, loads: LoadPictures) -> tuple[Figure, ...]:
    """The figures of what was made, in reading order."""
    found: list[Figure] = []
    share = loads.share
    # small figures stand beside small ones, tall beside tall: the page sets them two abreast
    if loads.windup is not None:
        found.append(_windup_figure(a, loads.windup))
    if loads.skip is not None:
        found += _skip_figures(loads)
    if share is not None:
        found += [_body_figure(a, share), *_rose_figures(a, share), _shape_figure(a, share), _section_figure(a, share)]
        if len(share.rows) > 1:
            found.append(_skew_figure(a, share))
    if loads.transmission is not None:
        found += _transmission_figures(a, loads.transmission)
    if loads.loop is not None:
        found.append(_loop_figure(loads.loop))
    if loads.bands is not None and loads.bands.bands:
        found.append(_bands_figure(loads.bands))
    if loads.arms is not None:
        found.append(_arm_figure(loads.arms))
    return tuple(found)


def not_made_lines(loads: LoadPictures) -> tuple[str, ...]:
    """One line for every analysis that was not made, with its reason where one is given."""
    reasons = dict(loads.not_made)
    missing = [name for field, name in ANALYSES.items() if getattr(loads, field) is None]
    names = dict.fromkeys([*missing, *reasons])
    return tuple(f"{name}: {reasons[name]}" if name in reasons else name for name in names)


def load_section(a: Assessment, loads: LoadPictures | None) -> str:
    """The section as HTML; empty when nothing was asked under torque."""
    if loads is None:
        return ""
    figures = "".join(figure_html(figure) for figure in load_figures(a, loads))
    missing = "".join(f"<li>{escape(line)}</li>\n" for line in not_made_lines(loads))
    note = f'<p class="quiet">Not made:</p>\n<ul class="quiet">\n{missing}</ul>\n' if missing else ""
    warm = f" {escape(words)}" if (words := warmth_words(a.design)) else ""
    lead = (
        "<p>Computed for the design as set, every stiffness at the middle of its range; printed material also creeps, which "
        f"is not in it. Torques and windup are those of the slow side.{warm}</p>\n"
    )
    body = f'<div class="figures">\n{figures}</div>\n' if figures else ""
    return f'<h2 id="under-torque">Under torque</h2>\n{lead}{body}{note}'
