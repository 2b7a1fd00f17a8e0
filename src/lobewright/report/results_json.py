"""An assessment as ``results.json``, and such a file read back.

The same assessment gives the same bytes: numbers are kept to ten significant digits, so that the last bits in which
machines differ do not show, and the only time in it is the one handed in.
"""

from __future__ import annotations

import json
import math
from fractions import Fraction
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from lobewright import __version__
from lobewright.assessment.life import Life
from lobewright.assessment.load import Loads
from lobewright.assessment.results import Assessment, RingMesh
from lobewright.design import model as m
from lobewright.errors import Fault, FileFault
from lobewright.report import results_model as r
from lobewright.report.life_json import life_part
from lobewright.report.load_json import load_part
from lobewright.ring.generator import Contact
from lobewright.ring.shape import RingShape
from lobewright.sources import source
from lobewright.verdict import Verdict

SIGNIFICANT_DIGITS = 10
LARGEST_FILE_BYTES = 20_000_000
NOT_ASKED = "the drive was not asked under torque"
LIFE_NOT_ASKED = "the drive was not asked for its life"


def arcmin(angle_rad: float) -> float:
    """An angle in arc-minutes."""
    return math.degrees(angle_rad) * 60


def is_invented(design: m.Design) -> bool:
    """Whether the design says of itself that it is made up."""
    return "invented" in design.about.lower()


def exact(value: Fraction) -> str:
    """A fraction as text: ``-50/1``."""
    return f"{value.numerator}/{value.denominator}"


def _settle(value: Any) -> Any:
    """Floats to ten significant digits, minus zero to zero, through lists and mappings."""
    if isinstance(value, float):
        return float(f"{value:.{SIGNIFICANT_DIGITS}g}") + 0.0
    if isinstance(value, dict):
        return {key: _settle(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_settle(inner) for inner in value]
    return value


def _design(a: Assessment) -> r.DesignPart:
    design = a.design
    return r.DesignPart(
        name=design.name,
        about=design.about,
        invented=is_invented(design),
        sha256=a.design_hash,
        lobes=design.lobes,
        flexible_ring_kind=design.flexible_ring.kind,
        generator_kind=design.generator.kind,
        rated_torque_Nm=design.rated_torque_Nm,
        checks_not_expected=dict(sorted(design.checks_not_expected.items())),
    )


def _workshop(a: Assessment) -> r.WorkshopPart:
    owned = a.design.owned
    if owned is None:
        return r.WorkshopPart(name=None, sha256=None)
    return r.WorkshopPart(name=owned.name, sha256=a.workshop_hash)


def _motion(a: Assessment) -> r.MotionPart:
    motion = a.motion
    cycles = motion.load_cycles_per_generator_turn
    members = []
    for member, turns in motion.turns.items():
        per_generator = motion.turns_in_generator_turn.get(member)
        members.append(
            r.MemberTurns(
                member=member,
                per_driven_turn=float(turns),
                per_driven_turn_exact=exact(turns),
                per_generator_turn=None if per_generator is None else float(per_generator),
                per_generator_turn_exact=None if per_generator is None else exact(per_generator),
            )
        )
    return r.MotionPart(
        fixed=motion.fixed,
        driven=motion.driven,
        read=motion.read,
        ratio=float(motion.ratio),
        ratio_exact=exact(motion.ratio),
        ratio_text=motion.ratio_text,
        same_sense=motion.same_sense,
        members=tuple(members),
        load_cycles_per_generator_turn=None if cycles is None else float(cycles),
    )


def roller_radius_mm(a: Assessment) -> float | None:
    """Radius of the rolling surface of a roller or disc, None for a cam."""
    rolls = a.setting.contact in (Contact.ROUND, Contact.PAIRED)
    return a.setting.contact_radius_mm - a.geometry.inner_offset_mm if rolls else None


def _generator(a: Assessment) -> r.GeneratorPart:
    setting, generator = a.setting, a.design.generator
    rolls = setting.contact in (Contact.ROUND, Contact.PAIRED)
    paired = setting.contact is Contact.PAIRED
    return r.GeneratorPart(
        contact=setting.contact.value,
        centre_distance_mm=setting.distance_mm if rolls else None,
        roller_radius_mm=roller_radius_mm(a),
        pair_half_angle_deg=math.degrees(setting.half_angle_rad) if paired else None,
        curve_a_mm=None if rolls else setting.a_mm,
        curve_b_mm=None if rolls else setting.b_mm,
        fit_mm=generator.fit_mm,
        fit_tolerance_mm=generator.fit_tolerance_mm,
        run_out_mm=generator.run_out_mm,
    )


def _shape(shape: RingShape) -> r.ShapePart:
    return r.ShapePart(
        deflection_mm=shape.deflection_mm,
        minor_deflection_mm=shape.minor_deflection_mm,
        contact_deg=math.degrees(shape.contact_rad),
        lifts_off=shape.lifts_off,
        force_factor=shape.force_factor,
        tension_factor=shape.tension_factor,
        stretch=shape.stretch,
        closure_mm=shape.closure_mm,
        residual=shape.residual,
        iterations=shape.iterations,
    )


def _ring(ring: RingMesh, made: m.RigidRing) -> r.RingPart:
    play = ring.free_play
    return r.RingPart(
        name=ring.name,
        teeth=ring.space.teeth,
        flexible_teeth=ring.flexible_teeth,
        clearance_mm=ring.space.clearance_mm,
        tip_radius_mm=ring.space.tip_radius_mm,
        root_radius_mm=ring.space.root_radius_mm,
        outer_radius_mm=ring.space.root_radius_mm + made.rim_mm,
        tip_limited_by=ring.space.tip_limited_by,
        least_land_mm=ring.space.least_land_mm,
        flexible_tooth_height_mm=ring.outline.height_mm,
        edges=tuple(
            r.EdgePart(
                from_open_edge_mm=edge.section.from_edge_mm,
                deflection_mm=edge.deflection_mm,
                engagement_mm=edge.engagement_mm,
                minor_gap_mm=edge.minor_gap_mm,
            )
            for edge in ring.edges
        ),
        cases=tuple(
            r.CasePart(
                case=case.case,
                smallest_gap_mm=case.smallest_gap_mm,
                at_label_deg=case.at_label_deg,
                teeth_close=case.teeth_close,
                minor_gap_mm=case.minor_gap_mm,
                poses_checked=case.poses_checked,
            )
            for case in ring.cases
        ),
        free_play=r.FreePlayPart(
            forward_rad=play.forward_rad,
            backward_rad=play.backward_rad,
            total_rad=play.total_rad,
            total_arcmin=arcmin(play.total_rad),
        ),
    )


def _source(key: str) -> r.SourcePart:
    found = source(key)
    return r.SourcePart(key=key, text=found.text, year=found.year, place=found.place, flag=found.flag, line=found.line)


def _verdict(verdict: Verdict) -> r.VerdictPart:
    return r.VerdictPart(
        name=verdict.name,
        title=verdict.title,
        state=verdict.state,
        value=verdict.value,
        limit=verdict.limit,
        bound=verdict.bound,
        unit=verdict.unit,
        margin=verdict.margin,
        sentence=verdict.sentence,
        working=r.WorkingPart(equation=verdict.working.equation, numbers=verdict.working.numbers),
        sources=tuple(_source(key) for key in verdict.working.sources),
    )


def _results(a: Assessment, stamp: str | None, loads: Loads | str, life: Life | str) -> r.Results:
    geometry, strain = a.geometry, a.strain
    return r.Results(
        schema_version=1,
        program="lobewright",
        program_version=__version__,
        made_at=stamp,
        design=_design(a),
        workshop=_workshop(a),
        outcome=a.state,
        cautions=a.cautions,
        motion=_motion(a),
        deflection=r.DeflectionPart(
            nominal_mm=a.nominal_deflection_mm,
            design_mm=a.design_deflection_mm,
            design_factor=a.design_deflection_mm / a.nominal_deflection_mm,
            set_mm=a.set_deflection_mm,
            set_tolerance_mm=a.design.generator.set_deflection_tolerance_mm,
        ),
        flexible_ring=r.FlexiblePart(
            teeth=geometry.teeth,
            neutral_radius_mm=geometry.neutral_radius_mm,
            inner_radius_mm=geometry.inner_radius_mm,
            length_mm=geometry.length_mm,
            length_tolerance_mm=a.design.flexible_ring.length_tolerance_mm,
            land_height_mm=geometry.land_height_mm,
        ),
        generator=_generator(a),
        shapes=r.ShapesPart(
            design=_shape(a.design_shape),
            as_set=_shape(a.set_shape),
            loosest_fit=_shape(a.loosest_shape),
            tightest_fit=_shape(a.tightest_shape),
        ),
        strain=r.StrainPart(
            amplitude=strain.amplitude,
            largest=strain.largest,
            least=strain.least,
            most=strain.most,
            curvature_factor_major=strain.factor_major,
            curvature_factor_minor=strain.factor_minor,
        ),
        output_free_play_rad=a.output_free_play_rad,
        output_free_play_arcmin=arcmin(a.output_free_play_rad),
        rings=tuple(_ring(ring, made) for ring, made in zip(a.rings, a.design.rigid_ring, strict=True)),
        load=load_part(loads) if isinstance(loads, Loads) else None,
        life=life_part(life) if isinstance(life, Life) else None,
        verdicts=tuple(_verdict(verdict) for verdict in a.verdicts),
        sources=tuple(_source(key) for key in a.source_keys),
    )


def results_json(
    assessment: Assessment, stamp: str | None, loads: Loads | str = NOT_ASKED, life: Life | str = LIFE_NOT_ASKED
) -> dict[str, Any]:
    """Everything computed, as plain data for ``results.json`` (schema version 1).

    ``stamp`` is the time of making as text, or None; ``loads`` the drive under torque, ``life`` its strength and life, or why
    they were not computed. Raises pydantic's ValidationError, a defect of the program, when a number is not one.
    """
    return _settle(_results(assessment, stamp, loads, life).model_dump(mode="json"))


def results_text(
    assessment: Assessment, stamp: str | None, loads: Loads | str = NOT_ASKED, life: Life | str = LIFE_NOT_ASKED
) -> str:
    """``results.json`` as text, UTF-8, keys in the order of the schema."""
    return (
        json.dumps(results_json(assessment, stamp, loads, life), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    )


def schema_text() -> str:
    """The JSON Schema as it is shipped beside this module."""
    return resources.files("lobewright.report").joinpath("results.schema.json").read_text("utf-8")


def read_results(path: Path | str) -> r.Results:
    """Read a ``results.json`` of any version this program knows (today: 1).

    Raises FileFault: no such file, not JSON, another kind of file, a version from the future, or fields that do not fit.
    """
    name = str(path)
    try:
        text = _text(Path(path), name)
        data = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        raise FileFault("this is not JSON in UTF-8", name) from None
    if not isinstance(data, dict) or data.get("program") != "lobewright" or "schema_version" not in data:
        raise FileFault("this is not a results file of this program", name)
    version = data["schema_version"]
    if version != r.RESULTS_VERSION:
        allowed = f"{r.RESULTS_VERSION}; a newer file needs a newer program"
        raise FileFault([Fault("unknown version", "schema_version", 0, str(version)[:40], allowed)], name)
    try:
        return r.Results.model_validate_json(text)
    except ValidationError as error:
        raise FileFault([_fault(dict(e)) for e in error.errors()], name) from None


def _text(path: Path, name: str) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise FileFault([Fault("the file is too large", allowed=f"at most {LARGEST_FILE_BYTES} bytes")], name)
        return path.read_text("utf-8")
    except OSError as error:
        raise FileFault(f"the file cannot be read: {error.strerror}", name) from None


def _no_constant(word: str) -> float:
    raise ValueError(f"{word} is no number of JSON")


def _fault(error: dict[str, Any]) -> Fault:
    place = "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in error["loc"]).lstrip(".")
    return Fault(str(error["msg"]), place, 0, str(error["input"])[:60])


def write_schema() -> None:
    """Write the schema file anew from the typed model; run by ``python -m lobewright.report.results_json``."""
    path = Path(__file__).with_name("results.schema.json")
    path.write_text(json.dumps(r.results_schema(), indent=1, ensure_ascii=False) + "\n", "utf-8")


if __name__ == "__main__":
    write_schema()
