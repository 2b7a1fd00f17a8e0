"""Compile the numerical kernels once, so that the first real command does not wait for it.

Run as ``python -m lobewright.compile_kernels``; the compiled code is kept beside the package by the compiler's own cache.
"""

from __future__ import annotations

from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive
from lobewright.design.files import design_from_data
from lobewright.design.starters import KINDS, starter_data
from lobewright.torque.ask import skip
from lobewright.torque.inputs import estimated_inputs

UNDER_TORQUE = ("printed_ring-rollers", "printed_ring-cam_thin_bearing")
"""Starters whose rollers and cam together call every kernel of the loaded ring."""


def main() -> None:
    """Assess the starter of every generator kind and turn two of them past their skip: together they call every kernel."""
    for kind in KINDS:
        a = assess(design_from_data(starter_data(kind)))
        if kind in UNDER_TORQUE:
            drive = loaded_drive(a)
            skip(drive, estimated_inputs(drive))


if __name__ == "__main__":
    main()
