"""The page module's pure parts, run in Node, and its display lists, read back by the Python painter."""

from __future__ import annotations

import json
import subprocess
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from invented_drive import VECTORS, vectors_text

from lobewright.picture.display import picture_from_json
from lobewright.picture.page import module_text
from lobewright.picture.svg import svg

HERE = Path(__file__).parent
SCENES = """
import { readFileSync } from "node:fs";
const [module, vectors] = process.argv.slice(1).map((name) => readFileSync(name));
const moving = await import(`data:text/javascript;base64,${module.toString("base64")}`);
const { parameters, loads } = JSON.parse(vectors);
const parts = moving.prepare({ ...parameters, loads });
const untrue = moving.prepare(moving.magnified(parameters, 3));
const values = parameters.shape.x_mm.map((x) => x - 5);
const stressed = moving.prepare({ ...parameters, stress: { what: "w", unit: "MPa", cases: [{ torque_nm: 0, values }] } });
const look = { spot: "tooth", width_mm: 5 };
const scenes = [moving.driveScene(parts, 6.9), moving.driveScene(parts, 6.9, { load: 2 }), moving.driveScene(stressed, 6.9),
  moving.closeScene(parts, 6.9, { look }).picture, moving.closeScene(untrue, 6.9, { look }).picture,
  moving.unrolledScene(parts, 6.9, { pieces: 2, widthPx: 500 })];
console.log(JSON.stringify(scenes));
"""


def run(*command: str) -> str:
    done = subprocess.run(command, capture_output=True, text=True, timeout=90, check=False)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
    return done.stdout


def test_module_passes_its_own_tests(passed):
    assert passed("moving.test.mjs") >= 32


def test_kept_vectors_are_what_python_finds_now():
    """Coordinates to their last kept place, poses to 1e-9: another machine's sine may differ in the last bit."""
    kept, now = json.loads(VECTORS.read_text(encoding="utf-8")), json.loads(vectors_text())
    assert kept["line_up"] == now["line_up"]
    for old, new in zip(kept["poses"], now["poses"], strict=True):
        for name in ("angle_rad", "generator_rad", "flexible_rad", "shift_rad"):
            assert old[name] == pytest.approx(new[name], abs=1e-9)
        for before, after in zip(old["teeth"], new["teeth"], strict=True):
            assert before == pytest.approx(after, abs=1e-9)
    assert [row["smallest_mm"] for row in kept["gaps"]] == pytest.approx(
        [row["smallest_mm"] for row in now["gaps"]], abs=1e-9
    )
    old, new = kept["parameters"], now["parameters"]
    for name in ("x_mm", "y_mm", "normal_angle_rad"):
        assert old["shape"].pop(name) == pytest.approx(new["shape"].pop(name), abs=2e-6)
    for before, after in zip(old["rings"], new["rings"], strict=True):
        assert before.pop("outline_mm") == pytest.approx(after.pop("outline_mm"), abs=2e-6)
    assert old == new


def test_scenes_of_the_module_are_display_lists_that_python_paints(node, tmp_path):
    module = tmp_path / "moving.mjs"
    module.write_text(module_text(), encoding="utf-8")
    scenes = json.loads(run(node, "--input-type=module", "-e", SCENES, str(module), str(VECTORS)))
    assert len(scenes) == 6
    for scene in scenes:
        text = svg(picture_from_json(scene))
        assert len(list(ElementTree.fromstring(text).iter("{http://www.w3.org/2000/svg}path"))) > 5
