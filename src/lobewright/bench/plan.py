"""What to measure on the bench for a design: loads that suit it, readings to expect, lines for the workshop file."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.mesh.teeth import tooth_outline
from lobewright.ring.geometry import belt_heights, ring_geometry
from lobewright.sources import Flag
from lobewright.torque.belt import belt_stiffness, rows_apart_mm
from lobewright.torque.inputs import METAL_ARM_N_PER_MM, PRINTED_ARM_N_PER_MM
from lobewright.torque.interval import Interval
from lobewright.torque.measured import NEWTON_PER_GRAM, SQUEEZE, measured_arm, measured_bending, squeezed_force_factor
from lobewright.torque.weak import METAL_ARM, PRINTED_ARM

STEPS = 5
NICE = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
SQUEEZE_SHARE = 0.05
"""Loss of diameter at the last load, middle stiffness; the first load takes a fifth of it."""
SINK_SHARE, SHORT_SHARE = 0.06, 0.03
"""Loss of diameter under its own weight beyond which a shorter belt stands in, and what that one may lose."""
STOP_SHARE = 0.15
"""Loss of diameter beyond which a squeeze is not evaluated."""
TOOTH_SHARE, SHEAR, ARM_MM, TENSION_SHARE = 0.1, 0.08, 0.1, 0.3
"""At the last load: shift over tooth height, shift over free width, shift of an arm, tension over what the belt may carry."""
HEAVIEST_G, HEAVY_G = 10_000.0, 5_000.0
"""Most that is hung from a belt or pressed on an arm, and from a thread."""
TENSION_N_PER_MM = 10.0
"""Working tension taken where the catalogue has none."""
WALL_FACTORS = (1.0, 1.2, 1.45)
"""EI of a toothed ring over its plain wall: low, middle, high (tooth cells of 40 to 200 teeth)."""


@dataclass(frozen=True)
class Row:
    """One load and the shift to expect at high, middle and low stiffness; None where the test should stop before."""

    load_g: float
    least_mm: float
    middle_mm: float
    most_mm: float | None


@dataclass(frozen=True)
class Plan:
    """One test. ``key`` is its table in the workshop file; ``given`` the lines of that table that are known beforehand, as
    (key, TOML value, what it is); ``stop_mm`` the shift at which to stop; ``figures`` sizes that the sheet names."""

    key: str
    stiffness: Interval
    rows: tuple[Row, ...]
    given: tuple[tuple[str, str, str], ...]
    stop_mm: float
    load_resolution_g: float
    shift_resolution_mm: float
    figures: dict[str, float]


def plans(design: m.Design) -> tuple[Plan, ...]:
    """All tests that fit a design, the one that narrows most first; none for a metal cup on a cam.

    Raises DesignFault and CatalogueFault as belt_stiffness does.
    """
    found = []
    if not isinstance(design.generator, m.Cam):
        found.append(_arm(design))
    if isinstance(design.flexible_ring, m.Belt):
        found += [_squeeze(design), _tooth(design), _stretch(design), _skew(design)]
    elif isinstance(design.flexible_ring, m.PrintedRing):
        found.append(_squeeze(design))
    return tuple(found)


def nice(value: float) -> float:
    """The round number nearest to a positive value, by ratio."""
    power = 10.0 ** math.floor(math.log10(value))
    return power * min(NICE, key=lambda one: abs(math.log(one * power / value)))


def _loads(last_n: float) -> tuple[float, ...]:
    """Even round loads in grams up to about a force, an empty reading first."""
    step = nice(last_n / NEWTON_PER_GRAM / STEPS)
    return tuple(float(f"{k * step:.6g}") for k in range(STEPS + 1))


def _linear(loads_g: tuple[float, ...], rate: Interval, stop_mm: float) -> tuple[Row, ...]:
    """Shifts of a spring whose force over shift is ``rate`` [N/mm]."""
    rows = []
    for load in loads_g:
        force = NEWTON_PER_GRAM * load
        most = force / rate.low
        rows.append(Row(load, force / rate.high, force / rate.middle, most if most <= stop_mm else None))
    return tuple(rows)


def _step(value: float) -> float:
    """A step that an instrument may show: a power of ten, at most about a fiftieth of a value."""
    return 10.0 ** math.floor(math.log10(value / 30.0))


def _gauge(rows: tuple[Row, ...], finest: float) -> float:
    return min(0.1, max(finest, _step(rows[-1].middle_mm)))


def _scale(rows: tuple[Row, ...]) -> float:
    return min(10.0, max(0.01, _step(rows[-1].load_g)))


def ring_bending(design: m.Design) -> Interval:
    """EI [N·mm²] over the whole width: a belt's range or readings, or a printed wall with the catalogue's modulus."""
    ring = design.flexible_ring
    name = "bending_stiffness_nmm2"
    if isinstance(ring, m.Belt):
        return belt_stiffness(design).bending_nmm2_per_mm.scaled(ring.width_mm, name)
    found = measured_bending(design)
    if found is not None:
        return found
    material = catalogue.material(ring.material)
    second = ring.second_row.width_mm if isinstance(ring, m.PrintedRing) and ring.second_row else 0.0
    wall = (ring.width_mm + second) * ring.wall_mm**3 / 12.0
    low, high = material.modulus_mpa
    sides = (low, math.sqrt(low * high), high)
    low, middle, high = (factor * modulus * wall for factor, modulus in zip(WALL_FACTORS, sides, strict=True))
    origin = material.origin("modulus_mpa")
    return Interval(name, low, middle, high, False, origin.source.key, origin.flag)


def ring_weight_g(design: m.Design) -> float:
    """Weight of the flexible ring, half of its teeth's height counted as full."""
    ring, geometry, outline = design.flexible_ring, ring_geometry(design), tooth_outline(design)
    name = catalogue.belt_elasticity(ring.designation).body if isinstance(ring, m.Belt) else ring.material
    thick = geometry.inner_offset_mm + geometry.land_height_mm + 0.5 * outline.height_mm
    second = ring.second_row.width_mm if isinstance(ring, m.PrintedRing) and ring.second_row else 0.0
    width = ring.width_mm + second
    return catalogue.material(name).density_kg_m3 * 1e-6 * thick * geometry.length_mm * width


def squeezed_loss_mm(force_n: float, radius_mm: float, stiffness_nmm2: float) -> float:
    """Loss of height of a squeezed ring [mm], the large-deflection law solved for it; infinite beyond 0.3 R."""
    first = SQUEEZE * force_n * radius_mm**2 / stiffness_nmm2
    loss = first
    for _ in range(40):
        loss = first / float(squeezed_force_factor(min(loss, 0.3)))
    return loss * radius_mm if loss <= 2.0 * STOP_SHARE else math.inf


def squeeze_teeth(design: m.Design) -> int:
    """Teeth of the loop to squeeze: the design's own, or fewer where a belt so long sinks under its own weight.

    The loss of diameter over the diameter goes with the cube of the radius. A usual length is taken where there is one.
    """
    ring, radius = design.flexible_ring, ring_geometry(design).neutral_radius_mm
    own = 0.5 * NEWTON_PER_GRAM * ring_weight_g(design)
    share = 0.5 * SQUEEZE * own * radius**2 / ring_bending(design).middle
    if not isinstance(ring, m.Belt) or share <= SINK_SHARE:
        return ring.teeth
    most = math.floor(ring.teeth * (SHORT_SHARE / share) ** (1.0 / 3.0))
    usual = [teeth for teeth in catalogue.stocked_teeth(ring.designation) if 0.7 * most <= teeth <= most]
    return max(usual, default=most)


def _squeeze(design: m.Design) -> Plan:
    ring, stiffness, teeth = design.flexible_ring, ring_bending(design), squeeze_teeth(design)
    shorter = teeth / ring.teeth
    radius, weight = shorter * ring_geometry(design).neutral_radius_mm, shorter * ring_weight_g(design)
    last = 2.0 * SQUEEZE_SHARE
    force = stiffness.middle / radius**2 * last / SQUEEZE * float(squeezed_force_factor(last))
    stop = STOP_SHARE * 2.0 * radius
    # by reciprocity a ring's own weight lowers its top as half of it would, laid on the top
    own = 0.5 * NEWTON_PER_GRAM * weight
    rows = []
    for load in _loads(force):
        total = own + NEWTON_PER_GRAM * load
        least, middle, most = (
            squeezed_loss_mm(total, radius, one) for one in (stiffness.high, stiffness.middle, stiffness.low)
        )
        rows.append(Row(load, least, middle, most if most <= stop else None))
    second = ring.second_row.width_mm if isinstance(ring, m.PrintedRing) and ring.second_row else 0.0
    whose = (
        ("designation", f'"{ring.designation}"', "tooth profile")
        if isinstance(ring, m.Belt)
        else ("design", _text(design.name), "name of the design")
    )
    given = (
        whose,
        ("width_mm", f"{ring.width_mm + second:g}", "width of the ring; write yours"),
        ("neutral_diameter_mm", f"{2 * radius:.3f}", f"neutral line of {teeth} teeth: do not change it"),
    )
    height = 2.0 * (radius + tooth_outline(design).tip_height_mm)
    figures = {"round_height_mm": height, "own_weight_g": weight, "teeth": teeth, "design_teeth": ring.teeth}
    made = tuple(rows)
    return Plan("squeeze_test", stiffness, made, given, stop, _scale(made), _gauge(made, 0.05), figures)


def _text(words: str) -> str:
    return '"' + words.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _belt(design: m.Design) -> m.Belt:
    assert isinstance(design.flexible_ring, m.Belt)
    return design.flexible_ring


def _stretch(design: m.Design) -> Plan:
    ring = _belt(design)
    profile = catalogue.belt_profile(ring.designation)
    stiffness = belt_stiffness(design).axial_n_per_mm.scaled(ring.width_mm, "axial_stiffness_n")
    span = 0.5 * profile.pitch_mm * ring.teeth
    tension = profile.tension_n_per_mm or TENSION_N_PER_MM
    loads = _loads(min(NEWTON_PER_GRAM * HEAVIEST_G, 2.0 * TENSION_SHARE * tension * ring.width_mm))
    rows = _linear(loads, stiffness.scaled(2.0 / span, "rate_n_per_mm"), math.inf)
    given = (
        ("designation", f'"{ring.designation}"', "tooth profile"),
        ("width_mm", f"{ring.width_mm:g}", "width of the belt; write yours"),
        ("span_mm", f"{span:.2f}", "half the belt's length, for a loop over two pins that turn"),
        ("strands", "2", "a loop"),
    )
    return Plan("stretch_test", stiffness, rows, given, math.inf, _scale(rows), _gauge(rows, 0.001), {"span_mm": span})


def _skew(design: m.Design) -> Plan:
    ring = _belt(design)
    web = belt_stiffness(design).web_tangential_n_per_mm2.scaled(rows_apart_mm(design), "web_shear_n_per_mm")
    length = min(50.0, nice(0.3 * ring_geometry(design).length_mm))
    free = max(1.0, round(0.4 * ring.width_mm))
    rate = web.scaled(length / free, "rate_n_per_mm")
    loads = _loads(min(NEWTON_PER_GRAM * HEAVY_G, SHEAR * free * rate.middle))
    rows = _linear(loads, rate, 0.3 * free)
    given = (
        ("designation", f'"{ring.designation}"', "tooth profile"),
        ("held_length_mm", f"{length:.1f}", "length of the clamps along the belt; write yours"),
        ("free_width_mm", f"{free:.1f}", "belt between the clamps; write yours"),
    )
    figures = {"held_length_mm": length, "free_width_mm": free, "clamp_mm": 0.5 * (ring.width_mm - free)}
    return Plan("skew_test", web, rows, given, 0.3 * free, _scale(rows), _gauge(rows, 0.01), figures)


def _tooth(design: m.Design) -> Plan:
    ring = _belt(design)
    height = belt_heights(ring)[2]
    stiffness = belt_stiffness(design).tooth_n_per_mm2
    rate = stiffness.scaled(ring.width_mm, "rate_n_per_mm")
    loads = _loads(min(NEWTON_PER_GRAM * HEAVY_G, TOOTH_SHARE * height * rate.middle))
    rows = _linear(loads, rate, 0.4 * height)
    given = (
        ("designation", f'"{ring.designation}"', "tooth profile"),
        ("width_mm", f"{ring.width_mm:g}", "width of the tooth that is pushed; write yours"),
        ("push_height_mm", f"{0.5 * height:.2f}", "middle of the blade above the land; write yours"),
    )
    figures = {"tooth_height_mm": height, "push_height_mm": 0.5 * height}
    return Plan("tooth_push", stiffness, rows, given, 0.4 * height, _scale(rows), _gauge(rows, 0.01), figures)


def _arm(design: m.Design) -> Plan:
    generator = design.generator
    assert not isinstance(generator, m.Cam)
    found = measured_arm(design)
    if found is None:
        metal = isinstance(design.flexible_ring, m.MetalCup)
        middle = METAL_ARM_N_PER_MM if metal else PRINTED_ARM_N_PER_MM
        low, high = METAL_ARM if metal else PRINTED_ARM
        found = Interval(
            "arm_n_per_mm", low * middle, middle, high * middle, False, "trade_practice", Flag.COMMON_PRACTICE
        )
    loads = _loads(min(NEWTON_PER_GRAM * HEAVIEST_G, ARM_MM * found.middle))
    rows = _linear(loads, found, 0.5)
    given = (
        ("generator", f'"{generator.kind}"', "kind of the generator"),
        ("bearing", f'"{generator.bearing}"', "its roller"),
        ("design", _text(design.name), "a note"),
    )
    return Plan("arm_push", found, rows, given, 0.5, _scale(rows), _gauge(rows, 0.001), {})
