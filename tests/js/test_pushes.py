"""Looks under torque as the page asks for them, run in Node."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

TESTS = 3


def test_pushes_pass_their_own_tests():
    node = shutil.which("node")
    if node is None:
        if os.environ.get("CI") == "true":
            pytest.fail("Node is not installed, and in CI the module must be tested")
        pytest.skip("Node is not installed: they are not tested here")
    command = [node, "--test", "--test-reporter=tap", str(Path(__file__).parent / "pushes.test.mjs")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=90, check=False)
    assert done.returncode == 0 and f"# pass {TESTS}" in done.stdout, done.stdout[-4000:] + done.stderr[-2000:]
