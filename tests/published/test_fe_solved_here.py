"""Rings and cups solved in this project by a general finite element code (CalculiX 2.20), kept under benchmarks/fe.

Case a: plain ring opened by two rollers; b: four rollers and a smooth circle; c: toothed ring in a rigid toothed ring, turned;
d: the same past its skip; e: cups. Mapping: the rig of the loaded ring mirrors the set-up of a to d; rollers and circle bear
on beds of E over the wall, everything about the teeth comes from the tooth cell, nothing from the finite element results.
Tolerances were fixed before the comparison. Left out: shear (poor in the reference), stresses within a wall of contacts, single
tooth forces past 2° (the reference is not within 1 % there), the stress of the wall under the teeth of the toothed cup.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from evidence_rows import assert_passes, every_row

from lobewright.published.case import Case
from lobewright.published.fe_reference import reference

FE = Path(__file__).parents[2] / "benchmarks" / "fe"


@every_row("fe_solved_here")
def test_row(case: Case) -> None:
    assert_passes(case)


def test_what_is_shipped_is_what_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(FE))
    monkeypatch.delitem(sys.modules, "shipped", raising=False)
    from shipped import reduced

    assert json.loads(json.dumps(reduced())) == reference(), "run python benchmarks/fe/shipped.py"


def test_the_kept_references_are_within_one_percent_of_their_refinement() -> None:
    kept = json.loads((FE / "ring_c.json").read_text("utf-8"))
    assert kept["within_1_percent"] == {"coarser": False, "coarse": False, "fine": True}
    for name in "ab":
        plain = json.loads((FE / f"ring_{name}.json").read_text("utf-8"))
        finest = plain["ladder"][-1]["differences_from_reference"]
        assert max(value for kind, value in finest.items() if kind != "shear_n_per_mm") < 0.01
