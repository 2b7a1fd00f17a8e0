"""Design in, assessment out: the only place where the physics rooms are called in order."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable

import numpy as np

from lobewright.assessment.cautions import cautions
from lobewright.assessment.mesh import Care, Shapes, ring_mesh
from lobewright.assessment.results import Assessment, RingMesh
from lobewright.assessment.verdicts import Facts, all_verdicts
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.motion import Unrolled, motion, unroll
from lobewright.ring.generator import design_deflection_mm, sections, set_deflection_mm, setting_for
from lobewright.ring.geometry import RingGeometry, nominal_deflection_mm, ring_geometry
from lobewright.ring.strain import bending_strain

Progress = Callable[[str, float], None]
LARGEST_DEFLECTION = 0.1
"""Of the ring's radius: beyond it no thin ring model here has been checked."""
LEAST_OF_NOMINAL, MOST_OF_NOMINAL = 0.3, 2.0


def content_hash(model: m.Frozen | None) -> str:
    """SHA-256 of a model's content in canonical JSON; of nothing for None."""
    if model is None:
        return hashlib.sha256(b"").hexdigest()
    content = model.model_dump(mode="json", exclude={"owned"})
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def _check_deflections(design: m.Design, geometry: RingGeometry, wanted: float, screwed: float) -> None:
    """Refuse deflections that no ring of this kind can have, or that have nothing to do with its teeth."""
    generator = design.generator
    nominal = nominal_deflection_mm(design)
    least = max(2 * generator.set_deflection_tolerance_mm, LEAST_OF_NOMINAL * nominal)
    most = min(LARGEST_DEFLECTION * geometry.neutral_radius_mm, MOST_OF_NOMINAL * nominal)
    key = "roller_centre_distance_mm" if generator.design_deflection_factor is None else "design_deflection_factor"
    faults = []
    for place, value in ((key, wanted), ("set_deflection_mm", screwed)):
        if not least <= value <= most:
            allowed = f"a deflection from {least:.3g} to {most:.3g} mm; nominal for these teeth is {nominal:.3g} mm"
            faults.append(Fault("the deflection is out of range", f"generator.{place}", 0, f"{value:.4g} mm", allowed))
        if value == screwed and generator.set_deflection_mm is None:
            break
    if faults:
        raise DesignFault(faults)


def assess(design: m.Design, progress: Progress | None = None, care: Care = Care.FULL) -> Assessment:
    """Compute motion, shape, meshing and verdicts of a design.

    ``progress`` is called with a word and the share done. With less than full ``care``, for looks while something is being
    moved (the page that asks it says so), the mesh is checked coarsely, or not at all: then there are no verdicts. Raises
    DesignFault (geometry that cannot exist), MotionFault (no unique ratio) or ConvergenceFault (a ring shape that does not
    settle).
    """
    say = progress or (lambda word, share: None)
    moves = motion(design)
    geometry = ring_geometry(design)
    wanted, screwed = design_deflection_mm(design, geometry), set_deflection_mm(design, geometry)
    _check_deflections(design, geometry, wanted, screwed)
    generator = design.generator
    shapes = Shapes(design, geometry)
    spread = generator.fit_tolerance_mm if isinstance(generator, m.Cam) else 0.0
    say("shape", 0.1)
    set_shape = shapes.at(screwed, 0.0, generator.fit_mm)
    loosest = shapes.at(screwed, 0.0, generator.fit_mm + spread)
    tightest = shapes.at(screwed, 0.0, generator.fit_mm - spread)
    meshes: list[RingMesh] = []
    for index, ring in enumerate(design.rigid_ring):
        say(f"ring {ring.name}", 0.2 + 0.7 * index / len(design.rigid_ring))
        meshes.append(ring_mesh(design, ring, shapes, wanted, screwed, care))
    widest = max(place.share for ring in design.rigid_ring for place in sections(design, ring))
    strain = bending_strain(shapes.at(screwed * widest, 0.0, generator.fit_mm), geometry)
    setting = setting_for(design, geometry, screwed)
    facts = Facts(design, geometry, setting, set_shape, tightest, strain, tuple(meshes), moves)
    say("verdicts", 0.95)
    return Assessment(
        design=design,
        design_hash=content_hash(design),
        workshop_hash=content_hash(design.owned),
        motion=moves,
        unrolled=_unrolled(design),
        geometry=geometry,
        nominal_deflection_mm=nominal_deflection_mm(design),
        design_deflection_mm=wanted,
        set_deflection_mm=screwed,
        setting=setting,
        design_shape=shapes.at(wanted, 0.0, generator.fit_mm),
        set_shape=set_shape,
        loosest_shape=loosest,
        tightest_shape=tightest,
        strain=strain,
        rings=tuple(meshes),
        output_free_play_rad=_output_free_play_rad(design, meshes),
        verdicts=() if care is Care.UNCHECKED else all_verdicts(facts),
        cautions=cautions(design),
    )


def _output_free_play_rad(design: m.Design, meshes: list[RingMesh]) -> float:
    """Play between the held, driven and read members: that of every ring among them, one after the other."""
    chain = (design.motion.fixed, design.motion.driven, design.motion.read)
    return float(np.sum([mesh.free_play.total_rad for mesh in meshes if mesh.name in chain]))


def _unrolled(design: m.Design) -> tuple[Unrolled, ...]:
    """The racks of each ring against its flexible row, where the counts differ."""
    return tuple(
        unroll(ring.teeth, design.row_teeth(ring.row))
        for ring in design.rigid_ring
        if ring.teeth != design.row_teeth(ring.row)
    )
