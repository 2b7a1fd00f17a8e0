"""An invented score that uses everything scores can do, and a scene of it; the vectors that both players are held to."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

from lobewright.picture.display import Text, picture_json
from lobewright.picture.score import Drag, Figure, Marks, Moment, Reading, Said, Score, Words, course, score_json
from lobewright.teach.scene import Ask, Choice, Scene, Take

VECTORS = Path(__file__).with_name("score_vectors.json")
PLACES_TOLD = (0.0, 0.125, 0.25, 0.3, 0.5, 0.61803, 0.875, 0.999, 1.0)
TURN = 6.283185
SIZES_TOLD = ((13.0, None, 0.05), (13.0, 0.9, 0.05), (13.0, 0.5, 0.05), (20.0, 3.0, 0.2))
"""Size in pixels, the largest size and a pixel in drawing units, of texts whose shown sizes are kept."""


def _wheel(teeth: int, role: str, radius: float) -> dict[str, Any]:
    loop = []
    for k in range(4 * teeth):
        r = radius + (0.6 if k % 4 in (1, 2) else -0.6)
        loop += [
            round(r * math.cos(2 * math.pi * k / (4 * teeth)), 3) + 0.0,
            round(r * math.sin(2 * math.pi * k / (4 * teeth)), 3) + 0.0,
        ]
    return {"kind": "path", "loops": [loop], "fill": f"{role}_soft", "line": role}


def invented_score(turns: bool = True, language: str = "en", loop: bool = False) -> Score:
    """Two wheels of 12 and 18 teeth, a sliding rack, a line that bends, a text that counts."""
    arch = [[-20.0, -12.0, -14.0, -12.0, -8.0, -12.0]], [[-20.0, -12.0, -14.0, -7.5, -8.0, -12.0]]
    items = (
        {"kind": "group", "items": [_wheel(12, "generator", 6.0)], "placements": [[-8.0, 0.0, course(slope=TURN)]]},
        {"kind": "group", "items": [_wheel(18, "ring_a", 9.0)], "placements": [[8.2, 0.0, course(slope=-4.18879)]]},
        {
            "kind": "group",
            "items": [{"kind": "disc", "centre": [0.0, 0.0], "radius": 0.5, "fill": "tooth_mark"}],
            "placements": [[course(-20.0, table="way", scale=12.0, start=0.25, rate=2.0, loop=True), 8.0, 0.0]],
            "fade": course(-0.5, 2.0),
        },
        {
            "kind": "stages",
            "at": course(slope=1.5),
            "loops": [list(map(list, arch[0])), list(map(list, arch[1]))],
            "closed": False,
            "line": "flexible",
            "line_px": 3.0,
        },
        {
            "kind": "arrow",
            "tail": [-8.0, -9.0],
            "head": [course(-8.0, table="push", scale=6.0), -9.0],
            "colour": "lobe_mark",
        },
        {
            "kind": "ring_arc",
            "centre": [8.2, 0.0],
            "inner": 2.0,
            "outer": 3.0,
            "start_rad": 0.0,
            "sweep_rad": course(slope=-4.18879),
            "fill": "ring_a",
        },
        {
            "kind": "group",
            "items": [{"kind": "disc", "centre": [0.0, 0.0], "radius": 0.3, "fill": "quiet"}],
            "placements": [
                {
                    "row": 5,
                    "of": [course(slope=1.0, table="way", row={"v": 10.0, "k": 1.0}), course(row={"s": 5.0}), 0.0],
                }
            ],
        },
        {
            "row": 3,
            "of": {
                "kind": "text",
                "at": [course(-22.0, row={"v": 9.0}), 11.0],
                "text": {"words": "no. {0}", "numbers": [{"of": course(slope=1.0, row={"v": 3.0})}]},
            },
        },
        {
            "kind": "text",
            "at": [14.0, -10.0],
            "text": {"words": "{0} of {{18}} teeth", "numbers": [{"of": course(slope=12.0)}]},
            "largest": 0.9,
        },
    )
    words = {
        "en": ("turned {0}°", "Small wheel", "Big wheel", "minus: clockwise"),
        "de": ("{0}° gedreht", "Kleines Rad", "Großes Rad", "minus: im Uhrzeigersinn"),
    }[language]
    marks = {"en": Marks(), "de": Marks(",", "−")}[language]
    return Score(
        view=(-24.0, -14.0, 24.0, 13.0),
        items=items,
        title="Two invented wheels",
        description="A wheel of 12 teeth on the left drives one of 18 teeth on the right; the right one turns the other way.",
        seconds=6.0,
        tables={"way": [0.0, 1.0, 0.5, 0.25], "push": [0.0, 1.0, 0.25]},
        drag=Drag("the small wheel", 1.0, turns=True, centre=(-8.0, 0.0))
        if turns
        else Drag("the marked dot", 12.0, angle_rad=0.0),
        readings=(
            Reading("small", words[1], Words(words[0], (Figure(course(slope=360.0), 1, True),))),
            Reading(
                "big", words[2], Words(words[0], (Figure(course(slope=-240.0), 1, True),)), words[3], below_zero=True
            ),
            Reading("teeth", "Teeth passed", Words("{0}", (Figure(course(slope=12.0), 0),))),
        ),
        said=(
            Said(0.0, "Tooth by tooth the small wheel hands its motion on."),
            Said(
                0.5, "Half a turn: six teeth have passed, and the big wheel has turned by a third, the other way round."
            ),
        ),
        moments=(
            Moment("tooth_3", 0.25, "third tooth"),
            Moment("half", 0.5, "half a turn"),
            Moment("whole", 1.0, "one turn"),
        ),
        loop=loop,
        marks=marks,
    )


def invented_scene(language: str = "en") -> Scene:
    """A scene with two takes, the first of which asks."""
    ask = Ask(
        "The small wheel turns once. How does the big one turn?",
        (
            Choice("Two thirds of a turn, the other way", True, "12 teeth pass, and 12 of 18 is two thirds."),
            Choice("Two thirds of a turn, the same way", False, "Where two wheels touch, both rims run the same way."),
            Choice("One and a half turns, the other way", False, "That is 18 : 12, the big wheel driving."),
        ),
    )
    return Scene(
        "count",
        "Two invented wheels",
        ("Invented for tests: a small wheel drives a big one.",),
        (
            Take("turned", "Turned by hand", invented_score(language=language), ask),
            Take("slid", "Slid along", invented_score(False, language, True)),
        ),
        points=("Each tooth of the one is answered by a tooth of the other.",),
        wrong=("The big wheel would break under its load: 1.4 times what it may carry.",),
        cautions=("Keep fingers out of turning teeth.",),
    )


def vectors_text() -> str:
    """Score and what is at some places, as Python finds it."""
    score = invented_score()
    told = [
        {
            "u": u,
            "items": picture_json(score.at(u))["items"],
            "readings": [score.told(one, u) for one in score.readings],
            "caption": score.caption(u),
        }
        for u in PLACES_TOLD
    ]
    sizes = [
        {
            "size_px": size,
            "largest": most,
            "unit": unit,
            "shown": Text((0.0, 0.0), "words", size, largest=most).size(unit),
        }
        for size, most, unit in SIZES_TOLD
    ]
    return json.dumps({"score": score_json(score), "told": told, "sizes": sizes}, indent=1) + "\n"


if __name__ == "__main__":
    VECTORS.write_text(vectors_text(), encoding="utf-8")
