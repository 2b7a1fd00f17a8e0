"""Compile the numerical kernels once, so that the first real command does not wait for it.

Run as ``python -m lobewright.compile_kernels``; the compiled code is kept beside the package by the compiler's own cache.
"""

from __future__ import annotations

from lobewright.assessment.run import assess
from lobewright.design.files import design_from_data
from lobewright.design.starters import KINDS, starter_data


def main() -> None:
    """Assess the starter of every generator kind: together they call every kernel."""
    for kind in KINDS:
        assess(design_from_data(starter_data(kind)))


if __name__ == "__main__":
    main()
