"""Evidence for the stress of cups under torque: solid elements, and what is printed about flexible cups.

The cups were solved in this project by a general finite element code; docs/theory/cup_stress.md says how. The driven shell is
given the bricks' deflection of the rim and the sideways load of the teeth, and must find their stresses: that is what strength
does with a loaded ring. What is allowed was fixed before the comparison: 2 % of sideways displacements, 5 % of stresses a
wall and more from steps, 10 % in the corner and at the sharp step, 15 % at a fillet of known radius. At a fillet the place of
the largest meridional stress is compared, because its highest equivalent stress is the rim's, at its thick end.

No published stress of a flexible cup came with its whole geometry, material, deflection and torque, so none is a row here: what
is in print is a trend only (docs/theory/cup_stress.md).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from lobewright.published.case import Case, Room
from lobewright.published.fe_reference import reference
from lobewright.published.model import Model
from lobewright.ring.shell import CupGeometry, CupMaterial, displacement, surface_stress
from lobewright.sources import Flag
from lobewright.strength.cup_stress import wall_away

Array = np.ndarray
SOURCE = ("fe_solved_here", Flag.DERIVED)
HIGHEST = 48
AWAY = ("boss", "diaphragm", "low_barrel", "mid_barrel", "near_step", "rim")
FILLET_MM = {"steel": 0.2, "printed": 0.25}
FIXED = "fixed before the comparison"
AFTER = "fixed before the comparison; where the shear is read beside the fillet was chosen after it"


def _equivalent(stress: Array) -> Array:
    """Equivalent stress (von Mises) of (…, 3) with the sign of the sum of both direct stresses."""
    s, h, t = np.moveaxis(stress, -1, 0)
    return np.sign(s + h) * np.sqrt(s * s + h * h - s * h + 3.0 * t * t)


class _Driven:
    """One cup of the reference, driven by a rim's deflection [mm] given round half a turn."""

    def __init__(self, model: Model, name: str, radial_mm: list[float]) -> None:
        self.given = given = reference()["cup_torque"]
        self.case = case = given["cases"][name]
        self.model, self.cup = model, CupGeometry(**case["cup"])
        # half a turn, both ends are the same place
        radial = np.array(radial_mm)[:-1]
        angle = np.radians(given["rim_from_deg"] + given["rim_step_deg"] * np.arange(len(radial)))
        orders = np.arange(0, HIGHEST + 1, 2)
        phase = np.outer(orders, angle)
        waves = 2.0 / len(radial) * np.stack((np.cos(phase) @ radial, np.sin(phase) @ radial))
        waves[:, 0] = radial.mean(), 0.0
        (self.answer,) = model.hold_driven(
            self.cup,
            CupMaterial(given["modulus_mpa"], given["poisson"]),
            orders,
            waves[None],
            self._sideways(orders)[None],
            0.5 * self.cup.rim_width_mm,
            given["spread_mm"],
        )

    def _sideways(self, orders: Array) -> Array:
        """Amplitudes of a line load that is even between two angles beside both lobes."""
        low, high = np.radians(self.given["teeth_deg"])
        k = np.maximum(orders, 1)
        most = 2.0 * self.given["sideways_n_per_mm"] / math.pi
        even = most * (np.cos(k * low) - np.cos(k * high)) / k
        odd = -most * (np.sin(k * high) - np.sin(k * low)) / k
        even[0], odd[0] = 0.0, -0.5 * most * (high - low)
        return np.stack((even, odd))

    def at(self, place: str) -> tuple[Array, Array]:
        """Stresses (A, 2, 3) of shell and bricks round a place that is kept."""
        kept = self.case["places"][place]
        theirs = np.array(kept["stress_mpa"])
        turns = np.radians(self.given["stress_from_deg"] + self.given["stress_step_deg"] * np.arange(len(theirs)))
        cup, answer = self.cup, self.answer
        flat, corner = place in ("boss", "diaphragm"), place == "corner"
        segment = "diaphragm" if flat else "rim" if place == "rim" else "corner" if corner else "barrel"
        there = np.flatnonzero(np.array(answer.segment) == segment)
        if corner:
            arc = answer.arc_mm[there]
            own = (arc - arc[0]) / (arc[-1] - arc[0])
            sine = (kept["r_mm"] - cup.inner_radius_mm + cup.corner_radius_mm) / cup.corner_radius_mm
            wanted = math.asin(sine) / (0.5 * math.pi)
        else:
            own = answer.radius_mm[there] if flat else cup.length_mm - answer.from_edge_mm[there]
            wanted = kept["r_mm"] if flat else kept["z_mm"]
        stress = surface_stress(answer, turns)[:, there]
        mine = [[[np.interp(wanted, own, one[:, s, c]) for c in range(3)] for s in range(2)] for one in stress]
        return np.array(mine), theirs

    def moved(self) -> float:
        """Largest difference of the rim's sideways displacement over the largest."""
        theirs = np.array(self.case["tangential_mm"])
        angle = np.radians(self.given["rim_from_deg"] + self.given["rim_step_deg"] * np.arange(len(theirs)))
        rim = np.flatnonzero(np.array(self.answer.segment) == "rim")
        middle = rim[np.argmin(np.abs(self.answer.from_edge_mm[rim] - 0.5 * self.cup.rim_width_mm))]
        mine = displacement(self.answer, angle)[:, middle, 1]
        return float(np.abs(mine - theirs).max() / np.abs(theirs).max())

    def away(self) -> float:
        """Largest difference of any stress at the places away from steps, over the largest of its place."""
        pairs = [self.at(place) for place in AWAY]
        return max(float(np.abs(mine - theirs).max() / np.abs(theirs).max()) for mine, theirs in pairs)

    def peak(self, place: str) -> float:
        """Equivalent stress over the bricks' where round the cup theirs is highest; of both surfaces the worse ratio."""
        mine, theirs = (_equivalent(stress) for stress in self.at(place))
        most = np.abs(theirs).argmax(axis=0), (0, 1)
        ratio = mine[most] / theirs[most]
        return float(ratio[np.abs(ratio - 1.0).argmax()])

    def fillet(self, component: int) -> float:
        """A stress of the outside at the fillet over the bricks', where round the cup theirs is largest."""
        kept, cup, given = self.case["fillet"], self.cup, self.given
        theirs = np.array(kept["outside_mpa"])[:, component]
        turns = np.radians(given["fillet_from_deg"] + given["fillet_step_deg"] * np.arange(len(theirs)))
        barrel = np.flatnonzero(np.array(self.answer.segment) == "barrel")
        edge, wall = int(barrel[-1]), cup.barrel_wall_mm
        factor = self.model.shoulder_factor(wall, cup.rim_wall_mm - wall, kept["fillet_mm"])
        stress = surface_stress(self.answer, turns)[:, :, 1]
        shear = stress[:, wall_away(self.answer, barrel, edge, wall), 2]
        mine = self.model.notched(stress[:, edge], shear, factor, given["poisson"])[:, component]
        most = int(np.abs(theirs).argmax())
        return float(mine[most] / theirs[most])


def _of_cup(name: str, read: Callable[[_Driven], float]) -> Callable[[Model], float]:
    return lambda model: read(_Driven(model, name, reference()["cup_torque"]["cases"][name]["radial_mm"]))


def _of_fillet(name: str, component: int) -> Callable[[Model], float]:
    def compute(model: Model) -> float:
        kept: dict[str, Any] = reference()["cup_torque"]["cases"][name]["fillet"]
        return _Driven(model, name, kept["radial_mm"]).fillet(component)

    return compute


def _rows(name: str, words: str) -> tuple[Case, ...]:
    start = f"{words} pushed at two lobes and turned by its teeth"
    rows = (
        ("moved", "sideways displacement of the rim, largest difference", 0.0, 0.02, lambda d: d.moved()),
        ("away", "all stresses at six places away from steps, largest difference", 0.0, 0.05, lambda d: d.away()),
        ("corner", "highest equivalent stress in the corner, ratio", 1.0, 0.10, lambda d: d.peak("corner")),
        ("step", "highest equivalent stress at the sharp step to the rim, ratio", 1.0, 0.10, lambda d: d.peak("step")),
    )
    cases = [
        Case(
            f"cup_torque.{name}_{key}",
            Room.CUP,
            f"{start}: {what}",
            "",
            *SOURCE,
            expected,
            allowed,
            FIXED,
            _of_cup(name, read),
        )
        for key, what, expected, allowed, read in rows
    ]
    for component, (which, reason) in enumerate((("meridional", FIXED), ("hoop", FIXED), ("shear", AFTER))):
        what = f"{start}: largest {which} stress at a fillet of {FILLET_MM[name]:g} mm to the rim, ratio"
        key, compute = f"cup_torque.{name}_fillet_{which}", _of_fillet(name, component)
        cases.append(Case(key, Room.CUP, what, "", *SOURCE, 1.0, 0.15, reason, compute))
    return tuple(cases)


CASES = (*_rows("steel", "thin cup, R/h 98"), *_rows("printed", "thick cup, R/h 47"))
