"""How well the answers under torque are known: their 90 % bands side by side on one scale."""

from __future__ import annotations

import math
from collections.abc import Callable

from lobewright.assessment.headline import ARCMIN_PER_RAD
from lobewright.picture.display import Anchor, Item, Path, Picture, Text
from lobewright.picture.palette import Role
from lobewright.report.chart import SMALL_PX, Frame, box, line, x_axis
from lobewright.report.load_figures import slope_nm, three
from lobewright.torque import bands as b

STEP_PX = 54.0
ANSWERS: dict[str, tuple[str, str, Callable[[float], float]]] = {
    b.SKIP: ("skip torque", "N·m", lambda value: value / 1000.0),
    b.STIFFNESS: ("stiffness at the peak", "N·m per arc-minute", slope_nm),
    b.WINDUP: ("windup at the peak", "arc-minutes", lambda value: value * ARCMIN_PER_RAD),
    b.ROLLER: ("largest push of the generator", "N", float),
    b.TEETH: ("teeth in load", "teeth", float),
    b.PRESSURE: ("largest flank pressure", "MPa", float),
}
CAUSES = {
    "model": "what the model leaves out",
    "numerical": "what the sum over inputs misses",
    "set_deflection": "how exactly the deflection is set",
    "ring_length": "the length of the ring",
    "clearance": "the clearance as made",
    "arm": "the stiffness of the arms",
    "carrier": "the bearing that carries the generator",
    "modulus": "the material's modulus",
    "tooth": "the stiffness of the teeth",
    "flank_bed": "how much flanks give where they touch",
    "roller_bed": "how much ring and generator give where they touch",
    "web": "the shear of the wall between two rows",
    "rim": "how much bolts and housing stiffen the rigid rings",
}


def cause_words(name: str) -> str:
    """A weak input as people say it."""
    return CAUSES.get(name, name.replace("_", " "))


def band_words(band: b.Band) -> str:
    """Low and high of a band in the unit of its answer; more than is known stays open at the upper end."""
    _, unit, turn = ANSWERS.get(band.name, (band.name, "", float))
    more = " or more" if band.at_least else ""
    return f"{three(turn(band.low))} to {three(turn(band.high))} {unit}{more}".strip()


def band_chart(found: b.Bands, width_px: float) -> Picture:
    """Figure: every band over its middle on one logarithmic scale, with its numbers and what widens it most."""
    spread = [ratio for band in found.bands for ratio in (band.low / band.middle, band.high / band.middle)]
    low, high = math.log10(min(0.85, *spread)) - 0.03, math.log10(max(1.18, *spread)) + 0.03
    tall = STEP_PX * len(found.bands)
    frame = Frame(14.0, 52.0, width_px - 14.0, 52.0 + tall, low, high, 0.0, tall)
    marks = [0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0]
    ticks = [math.log10(mark) for mark in marks if low <= math.log10(mark) <= high]
    items: list[Item] = [
        *x_axis(frame, "times the middle", ticks, [f"{10.0**tick:.2g}" for tick in ticks]),
        *(line((frame.x(tick), frame.bottom), (frame.x(tick), frame.top), Role.PANEL) for tick in ticks),
    ]
    for row, band in enumerate(found.bands):
        top = frame.top - STEP_PX * row
        name = ANSWERS.get(band.name, (band.name, "", float))[0]
        x0, x1 = (frame.x(math.log10(end / band.middle)) for end in (band.low, band.high))
        items += [
            Text((frame.left + 4.0, top - 15.0), name, SMALL_PX, Role.INK, strong=True),
            Text((frame.right - 4.0, top - 15.0), band_words(band), SMALL_PX, Role.INK, Anchor.END),
            Path(box(x0, top - 35.0, x1, top - 23.0).loops, fill=Role.GENERATOR_SOFT, line=Role.GENERATOR),
            line((frame.x(0.0), top - 38.0), (frame.x(0.0), top - 20.0), Role.TOOTH_MARK, 2.4),
            Text(
                (frame.right - 4.0, top - 49.0),
                f"{100 * band.shares.get(band.widest_input, 0.0):.0f} % of it: {cause_words(band.widest_input)}",
                SMALL_PX,
                Role.QUIET,
                Anchor.END,
            ),
        ]
    items.append(frame.box())
    told = "; ".join(f"{ANSWERS.get(band.name, (band.name,))[0]} {band_words(band)}" for band in found.bands)
    return Picture(
        (0.0, 6.0, width_px, frame.top + 10.0), tuple(items), "Bands of the answers", f"With 90 % belief: {told}."
    )
