"""Order of accuracy of the loaded ring in its nodes, asserted as the slope of error against node count.

Teeth and their feelers stay as they are, the beam between them is refined. The roller touches within an element and the
kink of the shear lies there, so the order to expect is between two and four.
"""

import numpy as np

from lobewright.assessment.stiffness import loaded_drive
from lobewright.torque.ask import load_share
from lobewright.torque.inputs import estimated_inputs

MESHES = (2, 4, 8)
FINEST = 16
TORQUE_NMM = 3000.0


def test_tooth_and_roller_forces_converge_at_second_order_or_better(assessed_starter):
    drive = loaded_drive(assessed_starter("printed_ring-rollers"))
    inputs = estimated_inputs(drive)
    found = [load_share(drive, inputs, TORQUE_NMM, per_tooth=n) for n in (*MESHES, FINEST)]
    best = found[-1]
    largest = max(row.force_n.max() for row in best.rows)
    errors = []
    for share in found[:-1]:
        pairs = zip(share.rows, best.rows, strict=True)
        errors.append(max(np.abs(a.force_n - b.force_n).max() for a, b in pairs) / largest)
    order = -np.polyfit(np.log(MESHES), np.log(errors), 1)[0]
    assert order > 2.0, errors
    assert errors[0] < 2e-3, errors
    assert abs(found[0].windup_rad / best.windup_rad - 1.0) < 1e-4
    roller = np.abs(found[0].body_force_n - best.body_force_n).max() / np.abs(best.body_force_n).max()
    assert roller < 1e-3
