"""Every bare number that travels says its unit in its name, or is listed here as a pure number or by whose unit it goes.

Walks the public fields of all dataclasses and models, and the arguments of all public functions, of the rooms below.
"""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
import re
import typing
from types import ModuleType

import pytest
from pydantic import BaseModel

import lobewright

ROOMS = ("motion", "design", "ring", "mesh", "torque", "strength", "assessment")

LENGTHS = "mm|mm2|mm4|1_per_mm|per_mm|per_mm2"
FORCES = "N|n|MPa|n_per_mm|n_per_mm2|nmm|nmm2|nmm2_per_mm|Nmm2|Nm|mpa|mpa_per_n"
OTHERS = "rad|deg|rpm|hz|s|hours|h|days|percent|cycles|bends|k|K|c|C|g|teeth|factor|share|kg_m3"
UNIT = re.compile(rf"(?:^|_)({LENGTHS}|{FORCES}|{OTHERS}|mm3|n_per_mm3|mm_per_n)$")

PURE = {  # name: why it has no unit
    "poisson": "Poisson's ratio",
    "stretch": "hoop strain",
    "bending_strain": "strain",
    "axial_strain": "strain",
    "least": "strain, in BendingStrain",
    "most": "strain, in BendingStrain; the most parts, in a mesh",
    "factor_major": "change of curvature in w0/R²",
    "factor_minor": "change of curvature in w0/R²",
    "residual": "misfit of dimensionless equations",
    "complementarity": "largest gap × force over R × the sum of forces",
    "force_residual_relative": "share of the acting forces",
    "force_tolerance": "share of the acting forces",
    "largest_step": "deflection over R",
    "axial_ratio": "EA·R²/EI; of the plain wall's in a tooth cell",
    "z_ratio": "strength across printed layers over strength along them",
    "distance": "readings' distance from a belt's figures, each over its own spread",
    "teeth_close": "a count of teeth",
    "semi_major": "any unit: the result has the same",
    "semi_minor": "any unit: the result has the same",
    "points": "pairs in mm, as the outline file's heading says",
    "outline_points": "pairs in mm, as the outline file's heading says",
    "value": "carries its unit beside it (Headline.unit), or the edited key does (Edit.place)",
    "first": "carries its unit beside it (Change.unit); a mesh share",
    "second": "carries its unit beside it (Change.unit)",
    "low": "end of a band, in its headline's unit",
    "high": "end of a band, in its headline's unit",
    "held": "which edges are held, in a piece of a shell",
    "loads": "amplitudes of line loads as `Rim` has them, each with its own unit",
    "middle": "of an interval or band, in the unit of its name",
    "values": "answers by name, each name with its unit",
    "largest": "of a spread, in the unit of its field",
    "mean": "of a spread, in the unit of its field",
    "fall": "share of a torque",
    "bands": "pairs of shares of a torque",
    "log_sd": "standard deviation of a logarithm",
    "tolerance_log_sd": "standard deviation of a logarithm",
    "prior_sd": "standard deviation of a logarithm",
    "ratios": "truth over prediction",
    "relative_95": "half width of a 95 % interval over its middle",
    "freedom": "degrees of freedom",
    "shares": "shares of a variance",
    "factors": "factors by name",
    "bending_shares": "shares of a pitch's bending",
    "down": "change of a logarithm",
    "up": "change of a logarithm",
    "flank_friction": "coefficient of friction",
    "cam_friction": "coefficient of friction",
    "bearing_friction": "coefficient of friction",
    "largest_use": "friction force over what friction allows",
    "roughest": "change of force over the torque's own, dimensionless",
    "efficiency": "work out over work in",
    "back_efficiency": "work out over work in",
    "turns": "whole turns",
    "condition": "condition number",
    "left_over": "misfit in the unit of what is fitted",
    "mesh_order": "times a turn of the generator",
    "order": "times a turn of the generator",
    "mesh": "times a turn of the generator",
    "deviation": "standard deviations",
    "repeats": "how often a motion is run",
    "fatigue_ratio": "smallest over largest stress",
    "model_spread": "factor either way",
    "stress_spread": "factor either way",
    "spread": "factor either way",
    "beyond_slope": "exponent of a line in logarithms",
    "exponent": "of a power of time",
    "load": "carries its unit beside it (SafetyItem.unit)",
    "strength": "carries its unit beside it (SafetyItem.unit)",
    "asked": "counted as LifeItem.counted says",
    "generator_turns": "whole turns and parts of them",
    "read_turns": "whole turns and parts of them",
    "others": "other printed values of the same catalogue key",
}

DIMENSIONLESS = {  # modules that compute in units of the ring's R and EI, or of the wall, as their docstrings say
    "torque.kernel",
    "torque.kernel_bodies",
    "torque.solver",
    "torque.barrel",
    "torque.foretold",
    "torque.linear",
    "torque.field",
    "torque.path",
    "torque.model",
    "torque.ring_view",
    "ring.beam_contact",
    "ring.beam_element",
    "ring.beam_linear",
    "ring.beam_newton",
    "ring.beam_state.read_line",
    "ring.cell",
    "ring.cell_mesh",
    "ring.cell_outline",
    "ring.cell_solve",
    "ring.shell_mesh",
    "ring.shell_model",
}
SCHEMES = {"refine": "mesh refinement", "peak_change": "relative change of a peak from one mesh to the next"}


def modules() -> list[ModuleType]:
    prefix = "lobewright."
    names = (found.name for found in pkgutil.walk_packages(lobewright.__path__, prefix))
    return [importlib.import_module(name) for name in names if name.removeprefix(prefix).split(".")[0] in ROOMS]


def holds_float(annotation: object) -> bool:
    """Whether a bare float (or a tuple, list or choice of floats) is annotated; arrays and functions are not."""
    if annotation is float:
        return True
    if "Callable" in str(typing.get_origin(annotation)) or typing.get_origin(annotation) is typing.Literal:
        return False
    return any(holds_float(part) for part in typing.get_args(annotation))


def arguments(name: str, function: typing.Any) -> list[tuple[str, str]]:
    hints = typing.get_type_hints(function)
    return [(name, key) for key, hint in hints.items() if key != "return" and holds_float(hint)]


def numbers_of(module: ModuleType) -> list[tuple[str, str]]:
    """Pairs of where and name for every public bare number of a module."""
    where = module.__name__.removeprefix("lobewright.")
    found: list[tuple[str, str]] = []
    for name, thing in vars(module).items():
        if name.startswith("_") or getattr(thing, "__module__", "") != module.__name__:
            continue
        if inspect.isfunction(thing):
            found += arguments(f"{where}.{name}", thing)
        elif inspect.isclass(thing):
            hints = typing.get_type_hints(thing)
            fields = [f.name for f in dataclasses.fields(thing)] if dataclasses.is_dataclass(thing) else []
            fields += list(thing.model_fields) if issubclass(thing, BaseModel) else []
            found += [(f"{where}.{name}", key) for key in fields if holds_float(hints[key])]
            for method, function in vars(thing).items():
                if inspect.isfunction(function) and not method.startswith("_"):
                    found += arguments(f"{where}.{name}", function)
    return found


ALL = [pair for module in modules() for pair in numbers_of(module)]


def excused(where: str, name: str) -> bool:
    return name in PURE or name in SCHEMES or any(where == m or where.startswith(f"{m}.") for m in DIMENSIONLESS)


def test_every_number_says_its_unit() -> None:
    silent = sorted({f"{where}: {name}" for where, name in ALL if not UNIT.search(name) and not excused(where, name)})
    assert silent == []


def test_the_walk_sees_what_it_should() -> None:
    seen = set(ALL)
    assert ("design.model.Belt", "width_mm") in seen
    assert ("design.model.GeneratorBase", "fit_mm") in seen
    assert ("ring.shape.RingShape", "contact_rad") in seen
    assert ("mesh.clearance.clear", "shift_mm") in seen
    assert ("design.workshop.OwnedMotor", "holding_torque_Nm") in seen
    assert len(seen) > 200


def test_nothing_is_excused_that_is_not_there() -> None:
    names = {name for _, name in ALL}
    assert {name for name in PURE if name not in names} <= {"axial_strain"}
    assert not [name for name in PURE if UNIT.search(name) and name != "z_ratio"]


@pytest.mark.parametrize("name", ["width", "torque", "angle_radians", "teethmm", "deflection_mmm"])
def test_names_that_tell_no_unit(name: str) -> None:
    assert not UNIT.search(name)
