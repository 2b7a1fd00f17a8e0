"""Compile the numerical kernels once, so that the first real command does not wait for it.

Run as ``python -m lobewright.compile_kernels``; the compiled code is kept beside the package by the compiler's own cache.
"""

from __future__ import annotations

import numpy as np

from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive
from lobewright.design.files import design_from_data
from lobewright.design.starters import KINDS, starter_data
from lobewright.make.bodies import Group
from lobewright.make.fitting import fit_arcs
from lobewright.make.placing import Place
from lobewright.make.render import COLOURS, View, picture
from lobewright.make.solids import Mesh
from lobewright.ring.shell import CupGeometry, CupMaterial, respond, torque_load
from lobewright.strength.course import StressCourse
from lobewright.strength.material import Direction
from lobewright.strength.recorded import Path, path_cycles
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
    _a_cup()
    _a_recorded_motion()
    _a_picture()


def _a_cup() -> None:
    """A cup under torque calls every kernel of the shell."""
    cup = CupGeometry(30.0, 40.0, 1.0, 1.5, 10.0, 2.0, 2.0, 12.0)
    respond(cup, CupMaterial(2000.0, 0.35), [torque_load(cup, 5.0, 1000.0)])


def _a_recorded_motion() -> None:
    """A point that is swung to and fro calls what counts a recorded motion."""
    label = np.arange(-180.0, 180.0, 10.0)
    stress = np.zeros((2, len(label), 3))
    stress[:, :, 1] = np.cos(2.0 * np.radians(label))
    course = StressCourse(
        "rim_root", "", "outside", 0.0, np.array([0.0, 1.0]), label, stress, 1.0, 1.0, Direction.IN_LAYERS, 1.0, ""
    )
    path = Path(np.linspace(0.0, 9.0, 40), np.cos(np.arange(40.0)))
    path_cycles(course, path, lambda cycles: float(cycles.count.sum()))


def _a_picture() -> None:
    """A tetrahedron is fitted with arcs on one side and drawn: what parts and their pictures are made with."""
    turn = np.linspace(0.0, 1.0, 9)
    fit_arcs(np.column_stack((np.cos(turn), np.sin(turn))), "an arc")
    corners = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    mesh = Mesh(corners, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]))
    picture([(mesh, Place(), COLOURS[Group.FRAME], False)], View(), 60)


if __name__ == "__main__":
    main()
