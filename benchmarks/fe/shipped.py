"""What of the kept finite element results is shipped with the package for `lobewright evidence`.

    python benchmarks/fe/shipped.py        # reduce the kept files again into src/lobewright/published/fe_reference.json

Nothing is computed here: reference meshes only, the quantities that the evidence compares, fewer digits.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
SHIPPED = HERE.parents[1] / "src" / "lobewright" / "published" / "fe_reference.json"
DIGITS = 6
EVERY = 3


def kept(name: str) -> dict[str, Any]:
    return json.loads((HERE / f"{name}.json").read_text())


def short(data: Any) -> Any:
    """All numbers to six significant digits."""
    if isinstance(data, dict):
        return {key: short(value) for key, value in data.items()}
    if isinstance(data, list):
        return [short(value) for value in data]
    return float(f"{data:.{DIGITS}g}") if isinstance(data, float) else data


def plain(name: str) -> dict[str, Any]:
    found = kept(f"ring_{name}")
    wanted = ("radial_tangential_mm", "force_on_ring_n_per_mm", "sections")
    return {"inputs": found["inputs"], **{key: found["reference"][key] for key in wanted}}


def toothed() -> dict[str, Any]:
    c, d = kept("ring_c"), kept("ring_d")
    skip = d["skip"]["fine"]
    wanted = (
        "turn_deg",
        "torque_n",
        "force_on_ring_n_per_mm",
        "tooth_radial_tangential_n_per_mm",
        "radial_tangential_mm",
        "sections",
    )
    states = [{key: state[key] for key in wanted} for state in c["reference"]["states"]]
    words = ("travel", "held", "signs")
    return {"inputs": {k: v for k, v in c["inputs"].items() if k not in words}, "states": states, "skip": skip}


def cups() -> dict[str, Any]:
    found = kept("cup_solid")
    for case in found["cases"].values():
        for load in ("lobes", "contact"):
            del case[load]["axial_mm"]
    return found


def cup_torque() -> dict[str, Any]:
    """Stresses on every third of the kept angles."""
    found = kept("cup_torque")
    for case in found["cases"].values():
        for place in case["places"].values():
            place["stress_mpa"] = place["stress_mpa"][::EVERY]
    whole = found.pop("stress_step_deg")
    return found | {
        "stress_from_deg": found["rim_from_deg"],
        "stress_step_deg": EVERY * whole,
        "fillet_from_deg": found["rim_from_deg"],
        "fillet_step_deg": whole,
    }


def reduced() -> dict[str, Any]:
    """Everything that is shipped."""
    return short({"a": plain("a"), "b": plain("b"), "toothed": toothed(), "cups": cups(), "cup_torque": cup_torque()})


if __name__ == "__main__":
    SHIPPED.write_text(json.dumps(reduced(), separators=(",", ":")) + "\n")
