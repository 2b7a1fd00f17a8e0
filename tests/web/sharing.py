"""Sharing a lesson in a process of its own, under an address of a test's choice."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

SHARE = """
import sys
from pathlib import Path
from lobewright.teach.language import Language
from lobewright.web import share
share.chosen_address = lambda asked: asked
share.share(Path(sys.argv[1]), "Roof <garden>", Language("en"), sys.argv[2], 0, lambda line: print(line, flush=True))
"""


def begun(folder: Path, address: str) -> SimpleNamespace:
    """Sharing in a process of its own: what it told, and where it answers."""
    process = subprocess.Popen([sys.executable, "-c", SHARE, str(folder), address], stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, text=True)  # fmt: skip
    lines = []
    while not (lines and (found := re.match(r"http://([\d.]+):(\d+)/", lines[-1]))):
        line = process.stdout.readline()
        assert line, "".join(lines) + process.stderr.read()
        lines.append(line)
    host, port = found.group(1), int(found.group(2))
    with socket.create_connection((host, port), 10):  # it listens before it answers
        pass
    return SimpleNamespace(process=process, told="".join(lines), host=host, port=port, address=found.group())
