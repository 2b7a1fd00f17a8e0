"""A belt tooth as a short beam on its cords against finite elements of the same outline, cords held."""

import numpy as np
import pytest

from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
from lobewright.mesh.teeth import tooth_outline
from lobewright.ring.cell import Plane, plan_cell
from lobewright.ring.cell_solve import CellModel, _flank_forces
from lobewright.torque.belt import POISSON, tooth_per_modulus


def fe_per_modulus(outline) -> float:
    """Force a width and modulus over the flank's shift where it is pushed, inner surface (the cords) held, plane strain."""
    model = CellModel(plan_cell(np.asarray(outline.points_mm), 0.0).mesh(1), POISSON, Plane.STRAIN)
    height = outline.height_mm
    load, _ = _flank_forces(model, outline.land_height_mm + 0.5 * height, 0.12 * height)
    free = np.setdiff1d(np.arange(model.basis.N), model.dofs(model.mesh.inner).ravel())
    push = load[free, 0]
    return 1.0 / float(push @ model.solver.splu(model.matrix[free][:, free].tocsc()).solve(push))


@pytest.mark.parametrize(
    ("name", "least", "most"), [("C3M", 1.0, 1.2), ("C5M", 1.0, 1.2), ("T5", 1.2, 1.4), ("AT5", 1.4, 1.7)]
)
def test_short_beam_is_stiffer_by_the_local_give_that_the_flank_bed_stands_for(
    name: str, least: float, most: float
) -> None:
    """Shift under the load holds what the load presses in; wide trapezoids give there more than as beams."""
    design = design_from_data(starter_data("belt"))
    ring = design.flexible_ring.model_copy(update={"designation": name})
    outline = tooth_outline(design.model_copy(update={"flexible_ring": ring}))
    assert least < tooth_per_modulus(outline, outline.land_height_mm) / fe_per_modulus(outline) < most
