"""The live page writes numbers as the command does."""

from __future__ import annotations

import json
import math
import subprocess
from pathlib import Path

from lobewright.report.life_numbers import few

PAGES = Path(__file__).parents[2] / "src" / "lobewright" / "web" / "pages"
NUMBERS = (
    0.0,
    0.0123,
    0.5,
    1.0,
    9.996,
    12.34,
    99.96,
    999.6,
    1234.0,
    9999.6,
    45678.0,
    999_700.0,
    1.44e6,
    9.2e-5,
    -3.21,
    None,
)


def test_numbers_read_as_the_command_prints_them(node):
    script = (
        f"import {{ few }} from {json.dumps((PAGES / 'told.js').as_uri())};"
        f"console.log(JSON.stringify({json.dumps(NUMBERS)}.map((one) => [few(one, 2), few(one, 3)])))"
    )
    words = subprocess.run([node, "--input-type=module", "-e", script], capture_output=True, text=True, check=True)
    told = json.loads(words.stdout)
    for number, pair in zip(NUMBERS, told, strict=True):
        value = math.inf if number is None else number
        assert pair == [few(value, 2), few(value, 3)], number
