"""What the sheets of cut toothed parts and cams say beside their tables: the file to cut from, limits of form and of place.

Limits come from the design where it names them; how true teeth, dowels and bores stand to one another is a share of the teeth's
clearance (see `registering`). Common practice, no source.
"""

from __future__ import annotations

from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.make.registering import position_mm, ring_dowels

Rows = tuple[tuple[str, str], ...]
MPA_PER_HV = 3.2
"""Tensile strength of heat-treated steels over their Vickers hardness, roughly (common practice)."""


def _cut_from(name: str) -> tuple[str, str]:
    return (
        "cut it from",
        f"{name}.dxf or {name}.step, by wire erosion or profile grinding; no table tells all of the form",
    )


def ring_rows(a: Assessment, mesh: RingMesh) -> Rows:
    """Of a rigid ring; nothing where it is printed."""
    if not isinstance(a.design.process, m.Machined):
        return ()
    ring = next(one for one in a.design.rigid_ring if one.name == mesh.name)
    true = f"{position_mm(ring):g} mm"
    rows = [
        _cut_from(f"ring_{mesh.name}"),
        ("contour", f"±{a.design.process.tolerance_mm:g} mm a side"),
        ("face to tooth circle", f"square within {true} at the rim"),
    ]
    if ring_dowels(a, ring):
        rows.append(
            ("dowel holes to tooth circle", f"in one setting, position within {true}: a fifth of the clearance")
        )
    return tuple(rows)


def cam_rows(a: Assessment, cam: m.Cam) -> Rows:
    """Of a cam; nothing where it is printed."""
    if not isinstance(a.design.process, m.Machined):
        return ()
    return (
        _cut_from("cam"),
        ("contour", f"±{cam.set_deflection_tolerance_mm:g} mm a side (set_deflection_tolerance_mm of the design)"),
        ("its length all round", f"±{cam.fit_tolerance_mm:g} mm (fit_tolerance_mm of the design)"),
        ("contour to bore", f"run-out within {cam.run_out_mm:g} mm (run_out_mm of the design), in one setting"),
    )


def cup_rows(a: Assessment, ring: m.MetalCup) -> Rows:
    """Strength that is reckoned with, and how true the rim runs."""
    low, high = catalogue.material(ring.material).strength_mpa
    true = min(position_mm(one) for one in a.design.rigid_ring)
    return (
        (
            "tensile strength when done",
            f"{low:.0f} to {high:.0f} MPa as reckoned with, about {low / MPA_PER_HV:.0f} to {high / MPA_PER_HV:.0f} HV",
        ),
        ("teeth and inside to bore", f"run-out within {true:g} mm: a fifth of the clearance"),
    )
