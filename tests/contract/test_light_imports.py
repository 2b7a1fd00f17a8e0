"""What a command does not need is not loaded: the door opens at once, a check does without CAD."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from lobewright.design.starters import starter

COMPUTING = {"numpy", "numba", "pydantic", "shapely", "tomlkit", "scipy"}
HEAVY = {"build123d", "OCP", "ezdxf", "scipy.sparse", "scipy.optimize", "scipy.integrate", "skfem", "trimesh", "lib3mf"}
HEAVY |= {
    "matplotlib",
    "cv2",
    "fastapi",
    "playwright",
    "manifold3d",
    "reportlab",
    "PIL",
    "pyogrio",
    "pypdf",
    "pypdfium2",
}


def loaded_after(code: str) -> set[str]:
    """Names of all modules that a fresh Python has loaded after some code.

    The compiler of kernels takes matrix routines from scipy where that is installed: its other parts count as heavy.
    """
    tell = "import json, sys; sys.stderr.write(json.dumps(sorted(sys.modules)))"
    found = subprocess.run(
        [sys.executable, "-c", f"{code}\n{tell}"], capture_output=True, text=True, timeout=100, check=True
    )
    return set(json.loads(found.stderr.splitlines()[-1]))


VERSION = "try:\n    main(['--version'])\nexcept SystemExit:\n    pass"


@pytest.mark.parametrize(
    "code",
    [
        "import lobewright",
        "import lobewright.cli",
        f"from lobewright.cli import main\n{VERSION}",
        "import lobewright.errors, lobewright.verdict",
    ],
)
def test_the_door_is_light(code: str) -> None:
    names = loaded_after(code)
    assert "lobewright" in names
    assert not names & (COMPUTING | HEAVY)


def test_a_check_needs_no_cad_and_no_finite_element_library(tmp_path: Path) -> None:
    path = tmp_path / "cup.toml"
    path.write_text(starter("printed_cup").replace("clearance_mm = 0.15", "clearance_mm = 0.05"), "utf-8")
    names = loaded_after(f"from lobewright.cli import main\nassert main(['check', {str(path)!r}]) in (0, 1)")
    assert {"numpy", "numba", "shapely"} <= names
    assert not names & HEAVY


def test_a_new_starter_needs_no_numerics(tmp_path: Path) -> None:
    names = loaded_after(
        f"from lobewright.cli import main\nassert main(['new', 'belt', {str(tmp_path / 'a.toml')!r}]) == 0"
    )
    assert not names & (HEAVY | {"numpy", "numba", "shapely"})


PLANNED = """
import lobewright.make.everything as everything
from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import starter_data
import lobewright.make_folder
planned = everything.plan(assess(design_from_data(starter_data("printed_ring"))))
assert planned.clearances is not None and len(planned.placed) > 20
"""


@pytest.mark.parametrize("code", ["import lobewright.make.everything, lobewright.make_folder", PLANNED])
def test_what_is_made_is_planned_without_cad(code: str) -> None:
    names = loaded_after(code)
    assert {"lobewright.make.everything", "shapely"} <= names
    assert not names & HEAVY
