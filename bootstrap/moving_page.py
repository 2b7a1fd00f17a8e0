"""Writes the moving page of one design with the light core alone; run by Lobewright's own Python, not by start.py's.

Use: `python bootstrap/moving_page.py DESIGN.toml PAGE.html`.
"""

import sys
from pathlib import Path

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.errors import LobewrightError
from lobewright.make.moving_scene import moving_html


def main(design: str, page: str) -> int:
    try:
        text = moving_html(assess(read(design)))
    except LobewrightError as error:
        print(error, file=sys.stderr)
        return 2
    Path(page).parent.mkdir(parents=True, exist_ok=True)
    Path(page).write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
