"""Solids cut and held against what was generated; the assembly read by the kernel; a print of the wrong solid is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from export_drives import assessed

from lobewright.errors import ConvergenceFault
from lobewright.make.assembly_files import Standing, write_assembly_step
from lobewright.make.bodies import Body, Part, Slab, exact
from lobewright.make.outlines import circle, turn
from lobewright.make.parts_flexible import flexible_parts
from lobewright.make.parts_generator import generator_parts
from lobewright.make.parts_rings import rigid_ring
from lobewright.make.placing import Place
from lobewright.make.sectioning import FAR_MM, generated_outlines, require_section, section_error_mm
from lobewright.make.solids import solid

pytestmark = pytest.mark.cad


def ring(drive: str, index: int) -> Part:
    a = assessed(drive)
    return rigid_ring(a, a.design.rigid_ring[index], a.rings[index])


def test_solids_follow_their_generated_outlines() -> None:
    a, cup = assessed("belt"), assessed("cup")
    for one, part in [
        (a, ring("belt", 0)),
        (assessed("two_rows"), flexible_parts(assessed("two_rows"))[0]),
        (cup, flexible_parts(cup)[0]),
        (cup, generator_parts(cup)[0]),
    ]:
        outlines = generated_outlines(one, part)
        assert len(outlines) == sum(loop.error_mm > 0 for loop in part.body.loops)
        error = require_section(solid(part.body, part.name), part, generated_outlines(one, part))
        assert 0.0 < error < 0.003, part.name


def test_a_solid_of_other_teeth_is_refused() -> None:
    a, part = assessed("belt"), ring("belt", 0)
    (right,) = generated_outlines(a, part)
    made = solid(part.body, part.name)
    # A tenth of a degree is 0.034 mm at this ring's teeth, flank to flank.
    error = section_error_mm(made, part, (turn(right, np.radians(0.1)),))
    assert 0.02 < error < 0.06
    (slab,) = [piece for piece in part.body.pieces if isinstance(piece, Slab)][:1]
    off = tuple(
        replace(hole, contour=replace(hole.contour, points_mm=hole.contour.points_mm * 1.001))
        if hole.error_mm
        else hole
        for hole in slab.holes
    )
    wrong = solid(Body((replace(slab, holes=off),), part.body.pockets), part.name)
    with pytest.raises(ConvergenceFault, match=r"the solid of ring_base does not follow .* allowed: at most 0\.005 mm"):
        require_section(wrong, part, generated_outlines(a, part))


def test_a_missing_hole_is_found_both_ways() -> None:
    a, part = assessed("belt"), ring("belt", 1)
    (slab,) = [piece for piece in part.body.pieces if isinstance(piece, Slab)][:1]
    fewer = solid(Body((replace(slab, holes=slab.holes[:-1]),), part.body.pockets), part.name)
    assert section_error_mm(fewer, part, generated_outlines(a, part)) == FAR_MM
    # Opposite the notch there is no bolt hole.
    far = slab.outer.contour.points_mm[:, 0].min() + 1.2
    more = (*slab.holes, exact(circle(0.4, float(far))))
    added = solid(Body((replace(slab, holes=more),), part.body.pockets), part.name)
    assert section_error_mm(added, part, generated_outlines(a, part)) > 0.1


def test_the_kernel_reads_names_places_and_colours_that_it_did_not_write(tmp_path: Path) -> None:
    """Places go through the kernel; colours are laid into the text by us, so the kernel is their reader of another origin."""
    import build123d

    plate = solid(Body((Slab(exact(circle(5.0, 2.0)), (), 0.0, 3.0),)), "plate")
    knob = solid(Body((Slab(exact(circle(1.0)), (), 0.0, 1.0),)), "knob")
    stands = (
        Standing("plate", plate, (Place(), Place(10.0, 0.0, 8.0, np.pi / 2, over=True)), "#c07a0b"),
        Standing("knob", knob, (Place(x_mm=-4.0),), "#22967b"),
    )
    write_assembly_step(tmp_path / "two.step", "two parts", stands, "1980-01-01T00:00:00")
    read = build123d.import_step(tmp_path / "two.step")
    found = {}
    for leaf in read.leaves:
        middle = leaf.center()
        found.setdefault(leaf.label, []).append(tuple(round(x, 3) + 0.0 for x in (middle.X, middle.Y, middle.Z)))
        shade = tuple(round(255 * share) for share in tuple(leaf.color)[:3])
        assert shade == ((0xC0, 0x7A, 0x0B) if leaf.label == "plate" else (0x22, 0x96, 0x7B))
    # Turned over about x, then a quarter about z: (2, 0) comes to (0, 2), the height to 8 − 1.5.
    assert found == {"plate": [(2.0, 0.0, 1.5), (10.0, 2.0, 6.5)], "knob": [(-4.0, 0.0, 0.5)]}
