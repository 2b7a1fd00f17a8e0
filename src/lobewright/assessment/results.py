"""What an assessment holds: one frozen object per analysis, computed and complete."""

from __future__ import annotations

from dataclasses import dataclass

from lobewright.design.model import Design
from lobewright.mesh.clearance import Clearance
from lobewright.mesh.free_play import FreePlay
from lobewright.mesh.space import ToothSpace
from lobewright.mesh.teeth import ToothOutline
from lobewright.motion import MotionResult, Unrolled
from lobewright.ring.generator import Section, Setting
from lobewright.ring.geometry import RingGeometry
from lobewright.ring.shape import RingShape
from lobewright.ring.strain import BendingStrain
from lobewright.verdict import State, Verdict, worst


@dataclass(frozen=True)
class EdgeMesh:
    """Mesh at one axial section: depth in mesh at the lobe and radial gap of tips at the minor axis, in mm."""

    section: Section
    deflection_mm: float
    engagement_mm: float
    minor_gap_mm: float


@dataclass(frozen=True)
class RingMesh:
    """One rigid ring with the tooth row it meshes with, checked as designed and off nominal."""

    name: str
    flexible_teeth: int
    outline: ToothOutline
    space: ToothSpace
    edges: tuple[EdgeMesh, ...]
    cases: tuple[Clearance, ...]
    free_play: FreePlay

    @property
    def worst_case(self) -> Clearance:
        """The case with the smallest flank gap."""
        return min(self.cases, key=lambda case: case.smallest_gap_mm)

    @property
    def least_engagement_mm(self) -> float:
        """Depth in mesh at the lobe in the shallowest of the states and sections."""
        return min(case.engagement_mm for case in self.cases)

    @property
    def worst_minor_gap_mm(self) -> float:
        return min(case.minor_gap_mm for case in self.cases)


@dataclass(frozen=True)
class Assessment:
    """Everything known of a design before it is made. Hashes are SHA-256 of the content, not of the files' bytes."""

    design: Design
    design_hash: str
    workshop_hash: str
    motion: MotionResult
    unrolled: tuple[Unrolled, ...]
    geometry: RingGeometry
    nominal_deflection_mm: float
    design_deflection_mm: float
    set_deflection_mm: float
    setting: Setting
    design_shape: RingShape
    set_shape: RingShape
    loosest_shape: RingShape
    tightest_shape: RingShape
    strain: BendingStrain
    rings: tuple[RingMesh, ...]
    output_free_play_rad: float
    verdicts: tuple[Verdict, ...]
    cautions: tuple[str, ...]

    @property
    def state(self) -> State:
        """Outcome over all verdicts, checks not made left aside."""
        return worst(self.verdicts)

    @property
    def not_made_unexpected(self) -> tuple[Verdict, ...]:
        """Checks not made that the design does not name with a reason."""
        expected = self.design.checks_not_expected
        return tuple(v for v in self.verdicts if v.state is State.NOT_MADE and v.name.split(":")[0] not in expected)

    def verdict(self, name: str) -> Verdict:
        """A verdict by name. Raises KeyError when there is none."""
        for verdict in self.verdicts:
            if verdict.name == name:
                return verdict
        raise KeyError(name)

    @property
    def source_keys(self) -> tuple[str, ...]:
        """Keys of all sources that stand behind the verdicts, in order of first use."""
        return tuple(dict.fromkeys(key for verdict in self.verdicts for key in verdict.working.sources))
