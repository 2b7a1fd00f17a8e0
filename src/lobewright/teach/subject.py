"""What lessons are about: a design with what is known of it, computed once for all scenes."""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.make.moving_page import Motion
from lobewright.make.moving_scene import moving


@dataclass(frozen=True)
class Subject:
    """A design assessed, and its motion as the moving picture has it."""

    found: Assessment
    motion: Motion


def subject(found: Assessment) -> Subject:
    """The subject of lessons about an assessed design."""
    return Subject(found, moving(found))
