"""How large and how slow lessons are: `python benchmarks/bench_lesson.py [DESIGN]`.

Limits, on two cores that nothing else uses: the page of all scenes under 1.5 MB; ten seconds of 1080p60 in under 60 s; the
hand-out in under 5 s. Ends with status 1 where one is not met.
"""

from __future__ import annotations

import math
import os
import sys
import tempfile
import time
from pathlib import Path

from lobewright.assessment.run import assess
from lobewright.design.files import read
from lobewright.teach.films import KINDS, write_gif, write_mp4
from lobewright.teach.language import Language
from lobewright.teach.lesson_page import lesson_page
from lobewright.teach.papers import papers
from lobewright.teach.reel import Reel
from lobewright.teach.scenes import SCENES, scene
from lobewright.teach.subject import subject
from lobewright.workers import all_cores

DESIGN = Path(__file__).parents[1] / "examples" / "azimuth_belt.toml"
MOST_MB, MOST_FILM_S, MOST_PAPER_S = 1.5, 60.0, 5.0


def main(design: str) -> int:
    language, late = Language("en"), 0

    def row(what: str, value: float, unit: str, most: float = math.inf) -> None:
        nonlocal late
        late += value > most
        limit = "" if most == math.inf else f"(at most {most:g})" + ("" if value <= most else "  TOO MUCH")
        print(f"{what:<34} {value:8.2f} {unit:<3} {limit}", flush=True)

    about = subject(assess(read(design)))
    scenes = {}
    for name in SCENES:
        begin = time.perf_counter()
        scenes[name] = scene(name, about, language)
        print(f"scene {name:<28} {time.perf_counter() - begin:8.2f} s")
    page = lesson_page("all", tuple(scenes.values()), language)
    row(f"page of {len(scenes)} scenes", len(page.encode()) / 1e6, "MB", MOST_MB)
    begin = time.perf_counter()
    papers(about, language, tuple(scenes.values()))
    row("all papers", time.perf_counter() - begin, "s", MOST_PAPER_S)
    shown = scenes["count"]
    film = Reel(shown.title, shown.takes[0])
    with tempfile.TemporaryDirectory() as folder, all_cores() as mapper:
        for name, write in (("1080p60", write_mp4), ("4k30", write_mp4), ("gif", write_gif)):
            path = Path(folder) / f"film_{name}"
            begin = time.perf_counter()
            write(film, path, KINDS[name], mapper=mapper)
            ten = (time.perf_counter() - begin) * 10.0 / film.seconds
            row(
                f"ten seconds of {name}, {os.cpu_count()} cores",
                ten,
                "s",
                MOST_FILM_S if name == "1080p60" else math.inf,
            )
            print(f"{'its size':<34} {path.stat().st_size / 1e6 * 10.0 / film.seconds:8.2f} MB")
    return 1 if late else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else str(DESIGN)))
