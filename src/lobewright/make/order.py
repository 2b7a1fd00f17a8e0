"""The order in which a drive is put together: what is done on the bench first, what goes onto the drive when.

The rear plate with the axle stands first, then the drive grows toward the front. What needs room for tools or hands, or cannot
be reached later, is put together on the bench and goes on as one. Common practice, no source.
"""

from __future__ import annotations

from enum import IntEnum, StrEnum


class Step(IntEnum):
    """Steps of the assembly, first to last. A step of which a drive has no parts is left out.

    ``RING_ON_GENERATOR`` is for belts and short rings; a cup goes on with ``OUTPUT``, after the held ring.
    """

    REAR = 1
    """Rear plate, its bearings with both tubes between them, their cap."""
    AXLE = 2
    """Axle, collars and nuts, so that it turns without play."""
    BEHIND = 3
    """What lies between rear plate and held ring; the tie rods with their rear nuts and the rear feet."""
    GENERATOR = 4
    RING_ON_GENERATOR = 5
    GENERATOR_ON_AXLE = 6
    """Onto the axle; its washer and nuts."""
    HELD_RING = 7
    OUTPUT = 8
    """Read ring or cup with output plate and hub."""
    OUTPUT_ON = 9
    """Nothing new goes in: the output is slid on."""
    FRONT = 10
    """Front plate with its bearings and cap."""
    FRONT_ON = 11
    """Distance tubes, feet, the front plate over the hub, nuts."""
    FLANGE = 12
    """Collar, flange, what clamps it, plates for marks."""
    INPUT = 13
    TEST = 14


BENCH: dict[Step, Step] = {
    Step.GENERATOR: Step.GENERATOR_ON_AXLE,
    Step.RING_ON_GENERATOR: Step.GENERATOR_ON_AXLE,
    Step.OUTPUT: Step.OUTPUT_ON,
    Step.FRONT: Step.FRONT_ON,
}
"""What is put together on the bench, and the step in which it goes onto the drive as one."""


class Side(StrEnum):
    """From where a part comes to its place; ``BY_PLACE``: a screw where its head looks, else the nearer end."""

    FRONT = "front"
    REAR = "rear"
    BY_PLACE = "by_place"
