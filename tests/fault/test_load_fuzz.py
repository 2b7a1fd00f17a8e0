"""Designs round the examples, loaded: finite numbers or a sentence with the last good state, never a NaN, never a bare error."""

from __future__ import annotations

import copy
import dataclasses
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from lobewright.assessment.run import assess
from lobewright.assessment.stiffness import loaded_drive
from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.files import design_from_data, read
from lobewright.errors import ConvergenceFault, DesignFault, LobewrightError
from lobewright.ring.shell import CupMaterial, cup_geometry, rim_stiffness
from lobewright.torque.ask import load_share, skip, windup
from lobewright.torque.belt import belt_inputs
from lobewright.torque.inputs import DriveInput, LoadInputs, estimated_inputs

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("elevation_printed", "focus_steel", "azimuth_belt")
SCALED = (
    "wall_mm",
    "barrel_wall_mm",
    "diaphragm_mm",
    "width_mm",
    "clearance_mm",
    "design_deflection_factor",
    "length_mm",
)
"""Numbers of a design that are changed; whole numbers and names stay."""
TORQUE_NMM = {"elevation_printed": 4000.0, "focus_steel": 15000.0, "azimuth_belt": 1000.0}


def example(name: str) -> dict[str, Any]:
    return read(EXAMPLES / f"{name}.toml").model_dump(mode="json", exclude_none=True)


DATA = {name: example(name) for name in NAMES}


@st.composite
def asked(draw: st.DrawFn) -> tuple[str, dict[str, Any], dict[str, float], float]:
    """An example with some lengths changed, factors on its stiffnesses, and a torque over its own."""
    name = draw(st.sampled_from(NAMES))
    data = copy.deepcopy(DATA[name])
    tables = [data["flexible_ring"], data["generator"], *data["rigid_ring"]]
    for table in tables:
        for key in SCALED:
            if key in table and draw(st.booleans()):
                table[key] *= draw(st.floats(0.6, 1.6))
    numbers = ("flank_bed_n_per_mm3", "arm_stiffness_n_per_mm", "bed_n_per_mm3", "carrier_stiffness_n_per_mm")
    factors = {key: 10.0 ** draw(st.floats(-1.5, 1.5)) for key in numbers}
    return name, data, factors, 10.0 ** draw(st.floats(-3.0, 1.0))


def inputs_of(drive: DriveInput) -> LoadInputs:
    design = drive.design
    if isinstance(design.flexible_ring, m.Belt):
        return belt_inputs(drive)
    if not design.is_cup:
        return estimated_inputs(drive)
    face, material = design.rigid_ring[0], catalogue.material(design.flexible_ring.material)
    shell = CupMaterial(0.5 * sum(material.modulus_mpa), 0.5 * sum(material.poisson))
    place = face.offset_mm + 0.5 * face.width_mm
    rim = rim_stiffness(cup_geometry(design), shell, range(13), place)
    return estimated_inputs(drive, barrel=rim)


def numbers_in(result: Any) -> list[np.ndarray]:
    """All numbers of a result, however deep."""
    if dataclasses.is_dataclass(result):
        return [found for field in dataclasses.fields(result) for found in numbers_in(getattr(result, field.name))]
    if isinstance(result, dict):
        return [found for value in result.values() for found in numbers_in(value)]
    if isinstance(result, (tuple, list)):
        return [found for value in result for found in numbers_in(value)]
    return [np.asarray(result, dtype=float)] if isinstance(result, (int, float, np.ndarray)) else []


def assert_told(error: LobewrightError) -> None:
    """One sentence a fault; a lost path brings its last good places, all of finite torque."""
    assert error.sentences() and all(sentence.strip().count("\n") == 0 for sentence in error.sentences())
    assert not re.search(r"\bnan\b|\binf\b", " ".join(error.sentences()))
    if isinstance(error, ConvergenceFault) and error.last_good is not None:
        places = error.last_good if isinstance(error.last_good, list) else [error.last_good]
        assert places and all(math.isfinite(place.torque_nmm) for place in places)


def check(case: tuple[str, dict[str, Any], dict[str, float], float], questions: tuple[str, ...]) -> None:
    name, data, factors, share = case
    try:
        drive = loaded_drive(assess(design_from_data(data)))
        inputs = inputs_of(drive)
    except LobewrightError:
        assume(False)
    inputs = dataclasses.replace(inputs, **{key: getattr(inputs, key) * factor for key, factor in factors.items()})
    torque = share * TORQUE_NMM[name]
    ask = {
        "share": lambda: load_share(drive, inputs, torque),
        "windup": lambda: windup(drive, inputs, torque),
        "skip": lambda: skip(drive, inputs),
    }
    for question in questions:
        try:
            result = ask[question]()
        except (DesignFault, ConvergenceFault) as error:
            assert_told(error)
        else:
            found = numbers_in(result)
            assert len(found) > 10 and all(np.isfinite(values).all() for values in found)


FEW = {"deadline": None, "derandomize": True, "database": None, "suppress_health_check": list(HealthCheck)}


@settings(max_examples=4, **FEW)
@given(asked())
def test_loaded_designs_answer_in_numbers_or_sentences(case):
    check(case, ("share", "windup"))


@settings(max_examples=2, **FEW)
@given(asked())
def test_designs_that_skip_answer_in_numbers_or_sentences(case):
    check(case, ("skip",))
