"""The shipped part of the finite element results that were made for this project, and the set-ups that belong to them.

The whole results, decks and scripts are kept with the source under ``benchmarks/fe``; a test reduces them again and
compares. Here are only numbers and geometry, nothing of the model that they judge.
"""

from __future__ import annotations

import json
import math
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

Array = np.ndarray


@cache
def reference() -> dict[str, Any]:
    """The shipped file as plain data: "a", "b" (plain rings), "toothed" (turned, and past its skip), "cups", "cup_torque"."""
    return json.loads(resources.files("lobewright.published").joinpath("fe_reference.json").read_text("utf-8"))


def tooth_outline_mm(given: dict[str, Any]) -> Array:
    """One pitch of the toothed ring drawn straight, left to right, above mid-wall: land, straight flank, rounding, tip."""
    half, wall = given["tooth_right_half"], given["wall_mm"]
    foot, top, centre = (np.array(half[key]) for key in ("flank_foot", "flank_top", "round_centre"))
    land = 0.5 * wall
    # the drawn foot lies on the round outer surface; the straight pitch meets its land a little higher
    root = foot + (land - foot[1]) / (top[1] - foot[1]) * (top - foot)
    first = math.atan2(*(top - centre)[::-1])
    angle = np.linspace(first, 0.5 * math.pi, 13)[:, None]
    arc = centre + half["round_mm"] * np.column_stack((np.cos(angle), np.sin(angle)))
    flank = root + (top - root) * np.linspace(0.0, 1.0, 9)[1:-1, None]
    end = np.array([math.pi * given["neutral_radius_mm"] / given["flexible_teeth"], land])
    right = np.vstack((end, root, flank, arc))
    return np.vstack((right * (-1.0, 1.0), right[::-1]))


def tooth_loads(state: dict[str, Any], teeth: int) -> Array:
    """Force (teeth, 2) of every rigid tooth, zero where none was kept."""
    out = np.zeros((teeth, 2))
    for number, force in state["tooth_radial_tangential_n_per_mm"].items():
        out[int(number)] = force
    return out


def box_load(push: float, half_angle_rad: float, harmonics: Array) -> Array:
    """Even amplitudes of a line load that is ``push`` within a half angle of two opposite lobes and nothing elsewhere."""
    k = np.maximum(harmonics, 1)
    wave = 4.0 * np.sin(k * half_angle_rad) / (math.pi * k)
    return push * np.where(harmonics == 0, 2.0 * half_angle_rad / math.pi, wave)
