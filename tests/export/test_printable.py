"""Layer by layer, by eye: small bodies of which anyone sees whether they print as they lie."""

from __future__ import annotations

from dataclasses import replace

import pytest
from export_drives import assessed

from lobewright.design import model as m
from lobewright.errors import DesignFault
from lobewright.make.bodies import Body, Feature, Part, Slab, Turned, exact
from lobewright.make.outlines import circle, polygon
from lobewright.make.printable import bead_notes, print_faults, require_printable

PRINTER = m.Printer(kind="printer", nozzle_mm=0.4, extrusion_width_mm=0.4, layer_mm=0.2, bed_mm=(100.0, 80.0, 60.0))


def box(x: float, y: float, low: float, high: float, left: float = 0.0, front: float = 0.0, hole: float = 0.0) -> Slab:
    outer = polygon([(left, front), (left + x, front), (left + x, front + y), (left, front + y)])
    holes = (exact(circle(hole / 2, left + x / 2, front + y / 2)),) if hole else ()
    return Slab(exact(outer), holes, low, high)


def part(*pieces: Slab | Turned, **more: object) -> Part:
    return Part("one", "one", 1, Body(pieces), str(more.pop("material", "petg_printed")), **more)  # type: ignore[arg-type]


FEET = (box(5, 10, 0, 5), box(5, 10, 0, 5, left=14))
CASES = {
    "plate": (part(box(20, 20, 0, 5)), None),
    "bridge of 9 mm": (part(*FEET, box(19, 10, 5, 7)), None),
    "bridge of 15 mm": (
        part(FEET[0], box(5, 10, 0, 5, left=20), box(25, 10, 5, 7)),
        r"bridge 5\.0 mm above the bed.*14\.\d mm",
    ),
    "ledge of 4 mm": (part(box(10, 10, 0, 5), box(14, 10, 5, 7)), r"ledge 5\.0 mm above the bed.*found 4\.0 mm"),
    "the same on its head": (part(box(10, 10, 0, 5), box(14, 10, 5, 7), turned_over=True), None),
    "ledge with support named": (part(box(10, 10, 0, 5), box(14, 10, 5, 7), support="under the ledge"), None),
    "roof over a hole of 8 mm": (part(box(20, 20, 0, 5, hole=8), box(20, 20, 5, 7)), None),
    "roof over a hole of 14 mm": (
        part(box(20, 20, 0, 5, hole=14), box(20, 20, 5, 7)),
        r"roof 5\.0 mm above.*at most 10\.0 mm",
    ),
    "lip inside a seat, closed for a layer": (
        part(box(20, 20, 0, 5, hole=14), box(20, 20, 5, 7, hole=10)),
        r"roof.*found 13\.\d mm",
    ),
    "island": (part(box(10, 10, 0, 5), box(10, 10, 6, 7, left=20)), "begins in the air 6.0 mm above"),
    "cone of 40 degrees": (part(Turned(polygon([(5, 0), (8, 0), (16.39, 10), (5, 10)]))), None),
    "cone of 60 degrees": (part(Turned(polygon([(5, 0), (8, 0), (25.3, 10), (5, 10)]))), "ledge"),
    "wall of 0.7 mm": (part(box(20, 20, 0, 5, hole=18.6)), "wall thinner than 2 beads.*at least 0.8 mm"),
    "wall of 0.9 mm": (part(box(20, 20, 0, 5, hole=18.2)), None),
    "pointed tip": (part(Slab(exact(polygon([(0, 0), (20, 0), (10, 30)])), (), 0.0, 5.0)), None),
    "too long": (part(box(101, 10, 0, 5)), r"larger than the bed \(found 101.0 × 10.0 × 5.0 mm\)"),
    "long the other way": (part(box(70, 95, 0, 5)), None),
    "too high": (part(box(20, 20, 0, 61)), "higher than the printer prints"),
    "no material": (part(box(20, 20, 0, 5), material=""), "no material"),
}


@pytest.mark.parametrize("name", CASES)
def test_what_anyone_sees(name: str) -> None:
    one, wanted = CASES[name]
    faults = print_faults([one], PRINTER)
    if wanted is None:
        assert not faults
    else:
        assert len(faults) == 1
        with pytest.raises(DesignFault, match=wanted):
            require_printable([one], PRINTER)


def test_what_a_printers_allowances_break_is_found_before_any_file() -> None:
    plate = box(20, 20, 0, 5)
    # Two holes 1 mm apart, each grown by 0.55 mm all round.
    near = replace(plate, holes=tuple(exact(circle(4.0, x, 10.0), Feature.BOLT_HOLE) for x in (5.5, 14.5)))
    one = part(near)
    assert not print_faults([one], PRINTER)
    with pytest.raises(DesignFault, match="holes of one run together or close in the first layer: 1 of 2"):
        require_printable([one], PRINTER.model_copy(update={"bolt_hole_allowance_mm": 1.1}))
    # 0.9 mm are two beads; taken in by 0.3 mm on either side they are less than one.
    ring = CASES["wall of 0.9 mm"][0]
    with pytest.raises(DesignFault, match="a wall of one keeps less than a bead"):
        require_printable([ring], PRINTER.model_copy(update={"xy_compensation_mm": 0.3}))


def test_all_faults_of_all_parts_come_at_once() -> None:
    parts = [CASES["too high"][0], CASES["island"][0], CASES["no material"][0]]
    with pytest.raises(DesignFault) as caught:
        require_printable(parts, PRINTER)
    assert len(caught.value.sentences()) == 3


def test_walls_that_are_no_whole_beads_are_told_with_the_nearest() -> None:
    design = assessed("discs").design
    # 1.2 mm over 0.42 mm are 2.857 beads.
    assert bead_notes(design) == ("flexible_ring.wall_mm of 1.2 mm is 2.86 beads; 3 beads are 1.26 mm",)
    ring = design.flexible_ring.model_copy(update={"wall_mm": 1.26})
    assert bead_notes(design.model_copy(update={"flexible_ring": ring})) == ()
