"""All scenes of a lesson, in the order in which they are told."""

from __future__ import annotations

from collections.abc import Callable

from lobewright.errors import Fault, FileFault
from lobewright.teach import scene_count, scene_members, scene_racks, scene_rolled, scene_wedge
from lobewright.teach.language import Language
from lobewright.teach.scene import Scene
from lobewright.teach.subject import Subject

SCENES: dict[str, Callable[[Subject, Language], Scene]] = {
    "racks": scene_racks.scene,
    "wedge": scene_wedge.scene,
    "rolled": scene_rolled.scene,
    "count": scene_count.scene,
    "members": scene_members.scene,
}
"""Makers of scenes by name, in lesson order."""


def scene(name: str, subject: Subject, language: Language) -> Scene:
    """A scene by name. Raises FileFault for a name that is none."""
    if name not in SCENES:
        raise FileFault([Fault("there is no such scene", "scene", 0, name, ", ".join(SCENES))])
    return SCENES[name](subject, language)
