"""The report's part on the drive under torque: numbers with their bands, then the figures."""

from __future__ import annotations

from html import escape

from lobewright.assessment.load import Loads
from lobewright.assessment.load_headline import LoadHeadline, load_headlines
from lobewright.assessment.results import Assessment
from lobewright.report.load_section import ArmArrays, LoadPictures, load_section
from lobewright.torque.bands import Band


def load_pictures(loads: Loads) -> LoadPictures:
    """What the figures show of the answers."""
    band = loads.skip_band
    return LoadPictures(
        windup=loads.windup,
        share=loads.at_peak,
        skip=loads.skip,
        needed_nmm=loads.peak_nmm if loads.from_duty else None,
        skip_low_nmm=band.low if band else None,
        skip_high_nmm=band.high if band else None,
        skip_measured=bool(loads.correction and loads.correction.measurements),
        transmission=loads.transmission,
        loop=loads.loop,
        bands=loads.bands,
        arms=None
        if loads.over_arms is None
        else ArmArrays(
            loads.over_arms.stiffness_n_per_mm,
            loads.over_arms.torque_nmm,
            loads.stiffness.inputs.arm_stiffness_n_per_mm,
        ),
        not_made=loads.not_made,
    )


def load_html(a: Assessment, loads: Loads | str) -> str:
    """The section; where the drive was not computed under torque, its heading and the reason."""
    if isinstance(loads, str):
        return f'<h2 id="under-torque">Under torque</h2>\n<p>Not made: {escape(loads)}</p>\n'
    section = load_section(a, load_pictures(loads))
    heading, _, figures = section.partition("</h2>\n")
    return f"{heading}</h2>\n{_table(loads)}{_bands(loads)}{_aside(loads)}{figures}"


def _number(value: float, digits: int) -> str:
    return f"{value:.{digits}f}".replace("-", "−")


def _row(row: LoadHeadline) -> str:
    head = row.headline
    band = ""
    if row.low is not None and row.high is not None:
        band = f"{_number(row.low, head.digits)} … {_number(row.high, head.digits)}"
    how = f"{head.working.equation}; {head.working.numbers}" if head.working.numbers else head.working.equation
    return (
        f'<tr><th scope="row">{escape(head.title)}<p class="quiet">{escape(how)}</p></th>'
        f'<td class="n" data-name="middle">{_number(head.value, head.digits)} {escape(head.unit)}</td>'
        f'<td class="n" data-name="90 % band">{band}</td></tr>\n'
    )


def _table(loads: Loads) -> str:
    rows = "".join(_row(row) for row in load_headlines(loads))
    return (
        '<table class="checks"><thead><tr><th scope="col">under torque</th><th scope="col" class="n">middle</th>'
        f'<th scope="col" class="n">90 % band</th></tr></thead>\n<tbody>\n{rows}</tbody></table>\n'
    )


def _bands(loads: Loads) -> str:
    """What makes the band of the skip torque wide, and what would narrow it."""
    band = loads.skip_band
    if band is None or loads.bands is None:
        return ""
    parts = sorted(band.shares.items(), key=lambda part: -part[1])
    words = {one.name: one.words for one in loads.bands.weak}
    rows = "".join(
        f"<li>{share:.0%}: {escape(words.get(name, name.replace('_', ' ')))}</li>\n"
        for name, share in parts
        if share >= 0.02
    )
    notes = "".join(f"<p>{escape(note[:1].upper() + note[1:])}.</p>\n" for note in _notes(loads, band))
    return (
        f"<p>What makes the band of the skip torque wide, as shares of the variance of its logarithm:</p>\n<ul>\n{rows}</ul>\n"
        "<p>A band holds nine of ten drives built so, if the stated spreads are right. No published formula or measurement of "
        "this torque was found. The folder <code>measure</code> holds sheets for cheap readings that narrow it; a skip torque "
        f"that you measure corrects later designs of the same process.</p>\n{notes}"
    )


def _aside(loads: Loads) -> str:
    """What gives a drive away that was put together one tooth off at a lobe."""
    if loads.off_centre is None:
        return ""
    text = loads.off_centre.sentence
    return f"<p>{escape(text[:1].upper() + text[1:])}.</p>\n"


def _notes(loads: Loads, band: Band) -> tuple[str, ...]:
    correction = loads.correction
    unused = correction.not_used if correction is not None else ()
    return tuple(dict.fromkeys(note.rstrip(".") for note in (*band.notes, *unused)))
