"""Lobewright: design, make, prove, teach and keep strain wave drives.

The public API is three calls, which the command uses too::

    import lobewright

    design = lobewright.read("azimuth_belt.toml")   # file → Design
    result = lobewright.assess(design)              # Design → Assessment (numbers and verdicts)
    lobewright.build(design, "out")                 # Design → a folder of parts, pages and tables

What they need is loaded on first use, so that ``import lobewright`` stays light.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lobewright.assessment.results import Assessment
    from lobewright.design.model import Design

__version__ = "0.1.0"
__all__ = ["assess", "build", "read"]

Progress = Callable[[str, float], None]


def read(path: Path | str) -> Design:
    """Read a design file (TOML), with the workshop and outline files that it names.

    Raises FileFault or DesignFault (see :mod:`lobewright.errors`) with every fault found.
    """
    from lobewright.design import files

    return files.read(path)


def assess(design: Design, progress: Progress | None = None) -> Assessment:
    """Compute motion, ring shape, meshing and verdicts of a design.

    ``progress`` is called with a word and the share done. Raises DesignFault, MotionFault or ConvergenceFault.
    """
    from lobewright.assessment.run import assess as run

    return run(design, progress)


def build(design: Design, out: Path | str, progress: Progress | None = None) -> Assessment:
    """Write everything that follows from a design into the folder ``out``: numbers, pages, tables and parts.

    An earlier build there is replaced whole; any other folder that is not empty is refused (OutputFault). Needs the CAD
    extra for the parts (PlatformFault says how to get it).
    """
    from lobewright.build_folder import build as run

    return run(design, Path(out), progress)
