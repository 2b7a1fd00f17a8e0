"""Wrong models: each public call with one of its answers turned round (factor −1) or doubled (factor 2).

Shapes are falsified in their departure from the circle, because a whole ring scaled or mirrored is only another unit or
another frame.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import Any

import numpy as np

from lobewright.published.model import REAL, Model

Twist = Callable[[Any, float], Any]


@dataclass(frozen=True)
class SeededError:
    """An error in one answer of one call; ``factor`` −1 is a sign error, 2 a factor error."""

    call: str
    what: str
    factor: float
    twist: Twist

    @property
    def name(self) -> str:
        return f"{self.call}: {self.what} × {self.factor:g}"

    def model(self) -> Model:
        """The package with this error."""
        right = getattr(BASE, self.call)
        return replace(BASE, **{self.call: lambda *given, **named: self.twist(right(*given, **named), self.factor)})


def _assess_once() -> Callable[..., Any]:
    known: dict[int, Any] = {}

    def assess(design: Any) -> Any:
        if id(design) not in known:
            known[id(design)] = REAL.assess(design)
        return known[id(design)]

    return assess


BASE = replace(REAL, assess=_assess_once())
"""The package as it is; an assessment of the same design is made once."""


def _place(shape: Any, factor: float) -> Any:
    label = shape.arc_mm / shape.radius_mm
    round_x, round_y = shape.radius_mm * np.cos(label), shape.radius_mm * np.sin(label)
    return replace(
        shape, x_mm=round_x + factor * (shape.x_mm - round_x), y_mm=round_y + factor * (shape.y_mm - round_y)
    )


def _normal(shape: Any, factor: float) -> Any:
    label = shape.arc_mm / shape.radius_mm
    return replace(shape, normal_rad=label + factor * (shape.normal_rad - label))


def _curvature(shape: Any, factor: float) -> Any:
    free = 1 / shape.radius_mm
    return replace(shape, curvature_1_per_mm=free + factor * (shape.curvature_1_per_mm - free))


def _times(*names: str) -> Twist:
    def twist(answer: Any, factor: float) -> Any:
        return replace(answer, **{name: getattr(answer, name) * factor for name in names})

    return twist


LINE: dict[str, Twist] = {"place": _place, "normal": _normal, "curvature": _curvature}
ON_ROLLERS = LINE | {"force": _times("force_factor")}
ON_CURVE = LINE | {"stretch": _times("stretch")}


def _first(twist: Twist) -> Twist:
    return lambda answer, factor: (twist(answer[0], factor), *answer[1:])


def _cam(answer: tuple[float, float], factor: float) -> tuple[float, float]:
    middle = 0.5 * (answer[0] + answer[1])
    return middle + factor * (answer[0] - middle), middle + factor * (answer[1] - middle)


def _outline(answer: Any, factor: float) -> Any:
    return replace(answer, points_mm=answer.points_mm * (factor, 1.0))


def _gap(answer: Any, factor: float) -> Any:
    mesh = answer.rings[0]
    cases = tuple(replace(case, smallest_gap_mm=factor * case.smallest_gap_mm) for case in mesh.cases)
    return replace(answer, rings=(replace(mesh, cases=cases), *answer.rings[1:]))


def _set_shape(answer: Any, factor: float) -> Any:
    return replace(answer, set_shape=_place(answer.set_shape, factor))


def _line(answer: Any, factor: float) -> Any:
    """A bent line with its departure from the circle falsified."""
    line = answer.line
    radius = answer.section.radius_mm
    round_line = radius * np.column_stack((np.cos(line.label_rad), np.sin(line.label_rad)))
    return replace(answer, line=replace(line, positions_mm=round_line + factor * (line.positions_mm - round_line)))


def _line_moment(answer: Any, factor: float) -> Any:
    return replace(answer, line=replace(answer.line, moment_nmm=factor * answer.line.moment_nmm))


def _element_force(answer: tuple[float, Any, Any], factor: float) -> tuple[float, Any, Any]:
    return answer[0], factor * answer[1], answer[2]


def _states(*names: str) -> Twist:
    twist = _times(*names)
    return lambda answer, factor: tuple(twist(state, factor) for state in answer)


def _peak(name: str) -> Twist:
    twist = _times(name)
    return lambda answer, factor: replace(answer, at_peak=twist(answer.at_peak, factor))


def _fields(name: str) -> Twist:
    twist = _times(name)
    return lambda answer, factor: replace(answer, fields=twist(answer.fields, factor))


def _number(answer: float, factor: float) -> float:
    return factor * answer


def _each_fields(name: str) -> Twist:
    twist = _fields(name)
    return lambda answer, factor: tuple(twist(one, factor) for one in answer)


def _both(*names: str) -> Twist:
    twist = _times(*names)
    return lambda answer, factor: tuple(twist(side, factor) for side in answer)


def _flank(answer: tuple[Any, Any], factor: float) -> tuple[Any, Any]:
    twist = _times("per_force")
    return tuple(replace(side, right=twist(side.right, factor), left=twist(side.left, factor)) for side in answer)


def _both_numbers(answer: tuple[Any, Any], factor: float) -> tuple[Any, Any]:
    return tuple(factor * number for number in answer)


def _sn_amplitude(answer: Any, factor: float) -> Any:
    return replace(answer, curve=replace(answer.curve, amplitude_mpa=factor * answer.curve.amplitude_mpa))


def _sn_slope(answer: Any, factor: float) -> Any:
    amplitude = answer.curve.amplitude_mpa
    steeper = amplitude[0] * (amplitude / amplitude[0]) ** factor
    return replace(answer, curve=replace(answer.curve, amplitude_mpa=steeper))


TWISTS: dict[str, dict[str, Twist]] = {
    "solve": {"ratio": _times("ratio")},
    "unroll": {"places": _times("line_up_places"), "advantage": _times("wedge_advantage")},
    "rack_travel_mm": {"travel": lambda answer, factor: factor * answer},
    "ring_geometry": {
        "radius": _times("neutral_radius_mm"),
        "heights": _times("inner_offset_mm", "land_height_mm", "pitch_height_mm"),
    },
    "on_points": ON_ROLLERS,
    "on_paired": {what: _first(twist) for what, twist in ON_ROLLERS.items()},
    "on_curve": ON_CURVE,
    "cam_parameters": {"departure": _cam},
    "bending_strain": {"strain": _times("least", "most")},
    "tooth_outline": {"width": _outline},
    "one_lobe": {"turn of the ring": _times("label_rad")},
    "tooth_space": {"edges": _times("right_rad", "left_rad")},
    "assess": {"gap": _gap, "set shape": _set_shape},
    "solve_ring": {"place": _line, "force": _times("body_force_n")},
    "solve_ring_loads": {"place": _line, "moment": _line_moment},
    "element_force_tangent": {"force": _element_force},
    "cell_of_outline": {"bending": _times("bending_ratio")},
    "turn_rig": {
        "torque": _states("torque_n"),
        "roller force": _states("roller_n"),
        "tooth force": _states("tooth_n"),
        "circle force": _states("fence_n"),
        "place": _states("moved_mm"),
        "section": _states("section_force_n_per_mm", "section_moment_n"),
    },
    "skip_rig": {"torque": _peak("torque_n"), "turn": _peak("turn_rad"), "tooth": _times("rigid_tooth")},
    "allowed_tension_n": {"tension": _number},
    "modulus_share": {"modulus": _number},
    "strain_under_loads": {"strain": _number},
    "set_after_hold": {"set": _number},
    "respond": {"displacement": _fields("displacement_mm"), "stress": _fields("stress_mpa")},
    "hold_driven": {"displacement": _each_fields("displacement_mm"), "stress": _each_fields("stress_mpa")},
    "shoulder_factor": {"factor": _number},
    "notched": {"stress": _number},
    "solve_piece": {
        "motion": _times("moved_mm"),
        "reaction": _times("reaction_n_per_mm"),
        "stress": _times("stress_mpa"),
    },
    "stress_area_mm2": {"area": _number},
    "proof_load_n": {"load": _number},
    "pin_force_n": {"force": _number},
    "pin_pressure_mpa": {"pressure": _number},
    "tooth_stress": {"edge": _times("edge_mpa"), "place": _times("depth_mm")},
    "strength_data": {"amplitude": _sn_amplitude, "slope": _sn_slope},
    "reversed_amplitude": {"amplitude": _number},
    "dynamic_rating_n": {"rating": _number},
    "static_rating_n": {"rating": _number},
    "rating_life_mrev": {"life": _number},
    "equivalent_load_n": {"load": _number},
    "mean_load_n": {"load": _number},
    "life_share": {"share": _number},
    "reliability_percent": {"share": _number},
    "fatigue_safety": {"safety": _number},
    "equivalent_reversed_mpa": {"amplitude": _number},
    "first_cycle_safety": {"safety": _number},
    "largest_stress_mpa": {"stress": _number},
    "neuber_sensitivity": {"sensitivity": _number},
    "peterson_sensitivity": {"sensitivity": _number},
    "fatigue_notch_factor": {"factor": _number},
    "surface_factor": {"factor": _number},
    "size_factor": {"factor": _number},
    "sn_curve": {"amplitude": lambda answer, factor: answer.scaled(factor)},
    "damage_shares": {"damage": _number},
    "count_cycles": {"amplitude": _times("amplitude_mpa"), "count": _times("count")},
    "count_repeated": {
        "amplitude": _times("amplitude_mpa"),
        "mean": _times("mean_mpa"),
        "count": _times("count"),
    },
    "steady_cycles": {"amplitude": _times("amplitude_mpa"), "mean": _times("mean_mpa")},
    "surface_answers": {"bending": _both("per_moment"), "flank": _flank},
    "pitch_loads": {
        "moment": _times("moment_nmm"),
        "rise": _times("rise_nmm"),
        "tension": _times("normal_n"),
        "tooth force": _times("tangential_n", "outward_n", "couple_nmm"),
    },
    "hoop_stress_mpa": {"stress": _both_numbers},
    "limits": {"deviation": _both_numbers},
    "pin_seat": {"place": _times("centre_radius_mm")},
    "motor_flange": {"square": _times("bolt_square_mm"), "pilot": _times("pilot_mm")},
    "setting_for": {"distance": _times("distance_mm")},
}

ERRORS = tuple(
    SeededError(call, what, factor, twist)
    for call, twists in TWISTS.items()
    for what, twist in twists.items()
    for factor in (-1.0, 2.0)
)


@cache
def calls_of(compute: Callable[[Model], float]) -> frozenset[str]:
    """Names of the public calls that a case makes."""
    made: set[str] = set()

    def listening(name: str) -> Callable[..., Any]:
        right = getattr(BASE, name)

        def call(*given: Any, **named: Any) -> Any:
            made.add(name)
            return right(*given, **named)

        return call

    compute(Model(**{field.name: listening(field.name) for field in fields(Model)}))
    return frozenset(made)
