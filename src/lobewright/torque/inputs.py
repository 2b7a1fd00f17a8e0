"""What the loaded ring is solved from: the drive as it stands unloaded, and the stiffnesses of its parts."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.errors import DesignFault, Fault
from lobewright.mesh.space import ToothSpace
from lobewright.mesh.teeth import ToothOutline
from lobewright.motion import FLEXIBLE, GENERATOR
from lobewright.ring.cell import ToothCell
from lobewright.ring.generator import Setting
from lobewright.ring.geometry import RingGeometry
from lobewright.ring.shape import RingShape
from lobewright.ring.shell import RimStiffness
from lobewright.torque.measured import modulus_range
from lobewright.torque.rim_section import RimGive

METAL_ARM_N_PER_MM, PRINTED_ARM_N_PER_MM = 10_000.0, 1_000.0
"""Give of one roller's or disc's arm with its pin and bearing: estimates by common practice, not measured."""
POLYMER_LEAN, METAL_LEAN = 0.06, 0.003
"""Lean of a tooth over its height at which it yields: root strain is about 1.5 times the lean (short cantilever, derived);
plastics yield near 5 to 9 %, hardened steel near 0.5 % (remembered, rounded up). Strength is checked elsewhere."""
BEARING_N_PER_MM = 5_000.0
"""Give of the bearing that carries the generator, radially: an estimate by common practice, not measured."""


@dataclass(frozen=True)
class RowInput:
    """One rigid ring with the flexible tooth row it meshes with; ``width_mm`` is the face in mesh."""

    name: str
    outline: ToothOutline
    space: ToothSpace
    width_mm: float


@dataclass(frozen=True)
class DriveInput:
    """The drive unloaded: what an assessment holds of it. ``shape`` is the ring as set; ``setting`` at zero fit."""

    design: m.Design
    geometry: RingGeometry
    setting: Setting
    shape: RingShape
    rows: tuple[RowInput, ...]

    @property
    def slow_member(self) -> str:
        """The member whose torque and windup are told: the one that is read, or driven where the generator is read."""
        motion = self.design.motion
        chosen = [name for name in (motion.read, motion.driven) if name != GENERATOR]
        return chosen[0]

    @property
    def counter_member(self) -> str:
        """The member that takes the slow member's torque."""
        members = [FLEXIBLE] if self.design.is_cup else []
        members += [row.name for row in self.rows]
        return next(name for name in members if name != self.slow_member)


@dataclass(frozen=True)
class LoadInputs:
    """Stiffnesses. Tuples hold one value a row of teeth (one a rigid ring).

    ``bending_stiffness_nmm2`` EI and ``axial_stiffness_n`` EA of each row's own ring; ``wall_modulus_mpa`` of its plain wall, by
    which strain becomes the stress that is told. ``tooth_stiffness_n_per_mm2``:
    tangential force per mm of width on a tooth at the pitch height over its shift there. ``flank_bed_n_per_mm3``: flank
    pressure over local depth. ``arm_stiffness_n_per_mm`` of each roller's or disc's arm. ``bed_n_per_mm3``: pressure
    over the local give of ring and roller, disc or cam.
    ``carrier_stiffness_n_per_mm``: radial, of the bearing that carries the whole generator. ``web_tangential_n_per_mm2``
    and ``web_radial_n_per_mm2``: force per mm of circumference between the two rows over their relative shift.
    ``run_out_share``: shift of the carrier's axis over the neutral radius: a drive is never perfectly even.
    ``lean_limit_share``: lean of a tooth over its height at which it counts as broken, so that no skip is looked for beyond.
    ``barrel``: of a cup, the shell's rim stiffness per harmonic as a mean over the face in mesh.
    ``rims``: one a rigid ring where they give, () where they are stiff.
    """

    bending_stiffness_nmm2: tuple[float, ...]
    axial_stiffness_n: tuple[float, ...]
    wall_modulus_mpa: tuple[float, ...]
    tooth_stiffness_n_per_mm2: tuple[float, ...]
    flank_bed_n_per_mm3: float
    arm_stiffness_n_per_mm: float
    bed_n_per_mm3: float
    carrier_stiffness_n_per_mm: float
    web_tangential_n_per_mm2: float = 0.0
    web_radial_n_per_mm2: float = 0.0
    run_out_share: float = 1e-4
    lean_limit_share: float = POLYMER_LEAN
    barrel: RimStiffness | None = None
    rims: tuple[RimGive, ...] = ()

    def __post_init__(self) -> None:
        faults = []
        for item in fields(self):
            if item.name in ("barrel", "rims"):
                continue
            value = getattr(self, item.name)
            may_be_zero = item.name.startswith("web") or item.name == "run_out_share"
            for number in value if isinstance(value, tuple) else (value,):
                if not (math.isfinite(number) and (number > 0.0 or (may_be_zero and number == 0.0))):
                    allowed = "0 or more" if may_be_zero else "above 0"
                    faults.append(
                        Fault("this input of the loaded ring is out of range", item.name, 0, f"{number:g}", allowed)
                    )
        if faults:
            raise DesignFault(faults)


def estimated_inputs(
    drive: DriveInput,
    *,
    high: float = 0.5,
    cells: tuple[ToothCell, ...] = (),
    barrel: RimStiffness | None = None,
) -> LoadInputs:
    """Inputs of a printed or metal drive from its catalogue material.

    ``high`` 0 … 1 chooses the modulus within the range of the material, or of the owner's test pieces. ``cells``, one a row of
    teeth, give EI, EA and the stiffness of a tooth; without them EI and EA are those of the plain wall (a lower bound; a cup's
    rim bends as a plate) and a tooth is a short cantilever. Raises DesignFault for belts: their cord and rubber must be given.
    """
    ring = drive.design.flexible_ring
    if isinstance(ring, m.Belt):
        allowed = "bending, axial, tooth and web stiffness given as LoadInputs"
        raise DesignFault([Fault("a belt's stiffness is not known from its name", "flexible_ring", 0, "", allowed)])
    material = catalogue.material(ring.material)
    low, most = modulus_range(drive.design, ring.material)
    modulus = low + high * (most - low)
    poisson = 0.5 * sum(material.poisson)
    wall = ring.wall_mm
    plate = 1.0 / (1.0 - poisson**2) if drive.design.is_cup else 1.0
    total = ring.width_mm + (ring.second_row.width_mm if isinstance(ring, m.PrintedRing) and ring.second_row else 0.0)
    face = sum(row.width_mm for row in drive.rows)
    # the whole body bends, also the strip between the rows and beside them
    widths = [row.width_mm * max(1.0, total / face) for row in drive.rows]
    pitch_height = drive.geometry.pitch_height_mm
    if cells:
        bending = tuple(cell.bending_stiffness_nmm2(modulus, w) for cell, w in zip(cells, widths, strict=True))
        axial = tuple(cell.axial_stiffness_n(modulus, w) for cell, w in zip(cells, widths, strict=True))
        teeth = tuple(modulus / cell.tooth.shift_give for cell in cells)
        walls = tuple(cell.wall_modulus_mpa(modulus) for cell in cells)
    else:
        bending = tuple(plate * modulus * w * wall**3 / 12.0 for w in widths)
        axial = tuple(modulus * w * wall for w in widths)
        teeth = tuple(modulus * _tooth_stiffness(row.outline, pitch_height, poisson) for row in drive.rows)
        walls = tuple(plate * modulus for _ in widths)
    half = 0.25 * drive.rows[0].outline.pitch_mm
    bed = modulus / (1.0 - poisson**2) / half
    metal = isinstance(ring, m.MetalCup)
    shear = modulus / (2.0 * (1.0 + poisson)) * wall
    apart = 0.5 * sum(widths) if len(widths) == 2 else math.inf
    return LoadInputs(
        bending_stiffness_nmm2=bending,
        axial_stiffness_n=axial,
        wall_modulus_mpa=walls,
        tooth_stiffness_n_per_mm2=teeth,
        flank_bed_n_per_mm3=bed,
        arm_stiffness_n_per_mm=METAL_ARM_N_PER_MM if metal else PRINTED_ARM_N_PER_MM,
        bed_n_per_mm3=modulus / wall,
        carrier_stiffness_n_per_mm=BEARING_N_PER_MM,
        web_tangential_n_per_mm2=shear / apart,
        web_radial_n_per_mm2=shear / 1.2 / apart,
        lean_limit_share=METAL_LEAN if metal else POLYMER_LEAN,
        barrel=barrel,
    )


def _tooth_stiffness(outline: ToothOutline, pitch_height_mm: float, poisson: float) -> float:
    """Force per width and modulus over shift at the pitch height of a tooth as a cantilever on an elastic half plane.

    Bending and shear of the tapered tooth by integration from land to pitch height, and the turn of its root on a half
    plane, 16.67/(π E s²) per moment (s the root's thickness). Source: beam theory and the half plane's turn, remembered.
    """
    x, y = outline.points_mm.T
    land = outline.land_height_mm
    top = land + max(0.2 * outline.height_mm, min(pitch_height_mm - land, 0.8 * outline.height_mm))
    levels = np.linspace(land, top, 33)
    peak = int(np.argmax(y))
    right = np.interp(levels, y[peak:][::-1], x[peak:][::-1])
    left = np.interp(levels, y[: peak + 1], x[: peak + 1])
    thick = np.maximum(right - left, 1e-3)
    arm = top - levels
    bending = np.trapezoid(12.0 * arm**2 / thick**3, levels)
    shear = np.trapezoid(1.2 * 2.0 * (1.0 + poisson) / thick, levels)
    turn = 16.67 / (math.pi * thick[1] ** 2) * (top - land) ** 2
    return float(1.0 / (bending + shear + turn))
