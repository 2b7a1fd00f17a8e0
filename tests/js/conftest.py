"""Node, which runs the page's modules."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

HERE = Path(__file__).parent


@pytest.fixture(scope="session")
def node() -> str:
    found = shutil.which("node")
    if found is None:
        if os.environ.get("CI") == "true":
            pytest.fail("Node is not installed, and in CI the modules must be tested")
        pytest.skip("Node is not installed: the page's modules are not tested here")
    return found


@pytest.fixture(scope="session")
def passed(node) -> Callable[[str], int]:
    """Runs a file of the page's own tests; how many passed, none failing."""

    def run(name: str) -> int:
        command = [node, "--test", "--test-reporter=tap", str(HERE / name)]
        done = subprocess.run(command, capture_output=True, text=True, timeout=90, check=False)
        assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
        return int(next(line.split()[-1] for line in done.stdout.splitlines() if line.startswith("# pass")))

    return run
