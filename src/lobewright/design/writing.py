"""Writing files so that they are there whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from lobewright.errors import OutputFault


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file through a neighbour that is renamed into place. Raises OutputFault with the system's reason."""
    data = content.encode() if isinstance(content, str) else content
    name = ""
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".new.", delete=False) as file:
            name = file.name
            file.write(data)
        os.chmod(name, 0o644)
        os.replace(name, path)
        name = ""
    except OSError as error:
        raise OutputFault(f"the file cannot be written: {error.strerror}", str(path)) from None
    finally:
        if name:
            Path(name).unlink(missing_ok=True)


def write_new(path: Path, content: str) -> None:
    """Write a text file that does not exist yet. Raises OutputFault when there is one already."""
    if os.path.lexists(path):
        raise OutputFault("there is a file of this name already; it is left alone", str(path))
    write_whole(path, content)
