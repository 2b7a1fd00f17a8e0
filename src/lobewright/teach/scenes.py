"""All scenes of a lesson, in the order in which they are told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from lobewright.errors import Fault, FileFault
from lobewright.picture.lettering import lettered
from lobewright.teach import (
    scene_count,
    scene_fit,
    scene_kinds,
    scene_members,
    scene_play,
    scene_racks,
    scene_rolled,
    scene_stress,
    scene_torque,
    scene_wedge,
)
from lobewright.teach.language import Language
from lobewright.teach.scene import Scene
from lobewright.teach.subject import Subject

Progress = Callable[[str, float], None]

SCENES: dict[str, Callable[[Subject, Language], Scene]] = {
    "racks": scene_racks.scene,
    "wedge": scene_wedge.scene,
    "rolled": scene_rolled.scene,
    "count": scene_count.scene,
    "members": scene_members.scene,
    "kinds": scene_kinds.scene,
    "torque": scene_torque.scene,
    "stress": scene_stress.scene,
    "fit": scene_fit.scene,
    "play": scene_play.scene,
}
"""Makers of scenes by name, in lesson order."""


COMPUTED: dict[str, Callable[[Subject, Language, Progress | None], Scene]] = {
    "kinds": scene_kinds.scene,
    "torque": scene_torque.scene,
    "stress": scene_stress.scene,
    "fit": scene_fit.scene,
    "play": scene_play.scene,
}
"""Those that compute for seconds and tell how far they are; what they find of a design is kept for the others of them."""


def scene(name: str, subject: Subject, language: Language, progress: Progress | None = None) -> Scene:
    """A scene by name, its texts told how large they may become. Raises FileFault for a name that is none."""
    if name not in SCENES:
        raise FileFault([Fault("there is no such scene", "scene", 0, name, ", ".join(SCENES))])
    if name in COMPUTED:
        made = COMPUTED[name](subject, language, progress)
    else:
        made = SCENES[name](subject, language)
    return replace(made, takes=tuple(replace(take, score=lettered(take.score)) for take in made.takes))
