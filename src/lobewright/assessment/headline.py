"""The numbers that describe a drive at a glance, each with its working. The command, the report and `compare` share them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.assessment.results import Assessment
from lobewright.design.key_words import member_words
from lobewright.motion import GENERATOR, MotionResult
from lobewright.ring.generator import Contact
from lobewright.verdict import Working

ARCMIN_PER_RAD = 60 * 180 / math.pi
DERIVED = ("derived_here",)


@dataclass(frozen=True)
class Headline:
    """One number in people's units. ``key`` is stable, ``digits`` how many decimals are worth showing."""

    key: str
    title: str
    value: float
    unit: str
    digits: int
    working: Working

    @property
    def text(self) -> str:
        """Value and unit as shown."""
        return f"{self.value:.{self.digits}f} {self.unit}".strip()


def headlines(found: Assessment) -> tuple[Headline, ...]:
    """Headline numbers of an assessment, in the order in which people ask for them."""
    rows = [*_motion(found), *_ring(found)]
    for mesh in found.rings:
        space = mesh.space
        rows += [
            Headline(
                f"engagement_{mesh.name}",
                f"Depth in mesh at the lobe, ring {mesh.name}",
                mesh.least_engagement_mm,
                "mm",
                3,
                Working(
                    "flexible tip radius at the lobe − ring tip radius, least over face and states",
                    f"tip circle {space.tip_radius_mm:.3f} mm, set by {space.tip_limited_by.replace('_', ' ')}",
                    DERIVED,
                ),
            ),
            Headline(
                f"flank_gap_{mesh.name}",
                f"Smallest gap of teeth off nominal, ring {mesh.name}",
                mesh.worst_case.smallest_gap_mm,
                "mm",
                3,
                Working("least over the states checked", mesh.worst_case.case, DERIVED),
            ),
            Headline(
                f"land_{mesh.name}",
                f"Thinnest tooth, ring {mesh.name}",
                space.least_land_mm,
                "mm",
                3,
                Working(
                    "(2π/Z − angle right + angle left)·r, least from tip to root",
                    f"Z {space.teeth}, root radius {space.root_radius_mm:.3f} mm",
                    DERIVED,
                ),
            ),
        ]
    return tuple(rows)


def _free_member(moves: MotionResult) -> str:
    """Which member can be moved by the play, the others held: never the generator, which would be geared up."""
    return "the output" if moves.read != GENERATOR else f"{member_words(moves.driven)} with the generator still"


def _motion(found: Assessment) -> list[Headline]:
    moves = found.motion
    teeth = ", ".join(f"{mesh.name} {mesh.space.teeth} on {mesh.flexible_teeth}" for mesh in found.rings)
    rows = [
        Headline(
            "ratio",
            f"Turns of {member_words(moves.driven)} for one of {member_words(moves.read)}",
            float(moves.ratio),
            ": 1",
            3 if moves.ratio.denominator > 1 else 0,
            Working(
                "(ω_ring − ω_generator)·Z_ring = (ω_flexible − ω_generator)·Z_row, one equation a ring",
                f"{teeth}; {moves.fixed} held; exact {moves.ratio}",
                DERIVED,
            ),
        ),
        Headline(
            "free_play",
            f"Free play of {_free_member(moves)} at no torque, at least",
            found.output_free_play_rad * ARCMIN_PER_RAD,
            "arcmin",
            1,
            Working(
                "sum over rings of the least angle between swept tooth and space, both senses",
                "; ".join(f"{m.name} {m.free_play.total_rad * ARCMIN_PER_RAD:.1f} arcmin" for m in found.rings),
                DERIVED,
            ),
        ),
    ]
    if moves.load_cycles_per_generator_turn is not None:
        rows.append(
            Headline(
                "bends",
                "Bends of the flexible ring in one generator turn",
                float(moves.load_cycles_per_generator_turn),
                "",
                3,
                Working("n·|ω_generator − ω_flexible|/|ω_generator|", f"n {found.design.lobes}", DERIVED),
            )
        )
    return rows


def _ring(found: Assessment) -> list[Headline]:
    shape, geometry = found.set_shape, found.geometry
    rows = [
        Headline(
            "deflection",
            "Deflection at the lobe, as set",
            shape.deflection_mm,
            "mm",
            3,
            Working(
                "outward displacement of the neutral line at the major axis",
                f"nominal p·(Z_c − Z_f)/(2π) = {found.nominal_deflection_mm:.4f} mm; teeth made for "
                f"{found.design_deflection_mm:.4f} mm; asked for {found.set_deflection_mm:.4f} mm at no play of the fit",
                DERIVED,
            ),
        ),
        Headline(
            "neutral_radius",
            "Radius of the neutral line",
            geometry.neutral_radius_mm,
            "mm",
            3,
            Working(
                "belt: p·Z/(2π) on the cord; else pitch radius − dedendum − wall/2",
                f"Z {geometry.teeth}",
                DERIVED,
            ),
        ),
        Headline(
            "strain",
            "Bending strain amplitude of the flexible ring (estimate)",
            100 * found.strain.amplitude,
            "%",
            3,
            Working(
                "half the range of y·(κ − 1/R) of the worst fibre",
                f"κ change {found.strain.factor_major:.3f} and {found.strain.factor_minor:.3f} w0/R² at the two axes; "
                f"smallest radius {1 / float(shape.curvature_1_per_mm.max()):.2f} mm",
                DERIVED,
            ),
        ),
    ]
    if found.setting.contact in (Contact.ROUND, Contact.PAIRED):
        rows.insert(
            1,
            Headline(
                "centre_distance",
                "Roller or disc centres from the generator's axis",
                found.setting.distance_mm,
                "mm",
                3,
                Working(
                    "solved so that the free ring between the contacts has its own length",
                    f"contact radius to the neutral line {found.setting.contact_radius_mm:.3f} mm",
                    DERIVED,
                ),
            ),
        )
    return rows
