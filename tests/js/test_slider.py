"""The form's slider, run in Node."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

TESTS = 5


def test_slider_passes_its_own_tests():
    node = shutil.which("node")
    if node is None:
        if os.environ.get("CI") == "true":
            pytest.fail("Node is not installed, and in CI the module must be tested")
        pytest.skip("Node is not installed: the slider is not tested here")
    command = [node, "--test", "--test-reporter=tap", str(Path(__file__).parent / "slider.test.mjs")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=90, check=False)
    assert done.returncode == 0 and f"# pass {TESTS}" in done.stdout, done.stdout[-4000:] + done.stderr[-2000:]
