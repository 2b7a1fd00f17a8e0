"""The usual cautions for a drive and its load. They go with every output that a person builds or runs from."""

from __future__ import annotations

from lobewright.design import model as m

ALWAYS = (
    "Pinch points: the mesh and the wave generator draw in fingers, hair and cloth; guard them before power is on.",
    "Local codes and licensed practice come first; this output is no substitute for them.",
)
LOADS: dict[m.Load, tuple[str, ...]] = {
    m.Load.ARM: (
        "A load that can fall: the drive can skip or break without warning; support the arm on a stop or prop while "
        "working, keep people out from under it.",
    ),
    m.Load.MIRROR: (
        "Focused sunlight burns skin, eyes and wood in a second: never look at the mirror or its focus, dark glasses do "
        "not protect; work with the mirror covered or at dusk, and park it turned away from the sun.",
        "A load that can fall: the drive can skip or break without warning, and wind can turn the mirror against it; tie it "
        "down while working, keep people out from under it.",
    ),
    m.Load.TURNTABLE: ("A heavy turntable keeps turning after power is off: wait until it stands.",),
    m.Load.NONE: (),
}


def cautions(design: m.Design) -> tuple[str, ...]:
    """Cautions that fit a design, most serious first."""
    found = list(LOADS[design.load])
    if isinstance(design.flexible_ring, m.MetalCup):
        found.append(
            "A bent steel cup is a spring: it jumps when the generator is pulled; wear gloves and eye protection."
        )
        found.append(
            "Turning and deburring thin steel: use the guards of the machine; have it made if you lack training."
        )
    else:
        found.append("The bent ring is a spring: it jumps when the generator is pulled out; wear eye protection.")
    if isinstance(design.generator, m.Discs) and not design.is_cup:
        found.append(
            "Two discs beside each other push one ring mostly at one lobe and the other ring at the other: the computed "
            "shape takes both lobes for both rings; expect roll of the flexible ring and less mesh."
        )
    if isinstance(design.process, m.Printer):
        found.append(
            "Printing and sanding give off fumes and fine particles: ventilate, do not sleep beside the printer."
        )
    found.append("Drills and cutters: clamp the part, wear eye protection, no gloves near turning tools.")
    return (*found, *ALWAYS)
