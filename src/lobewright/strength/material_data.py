"""What a material bears in one direction at one temperature: catalogue rows, the owner's test pieces, layers, warmth.

Order: figures along the layers at 23 °C; the owner's pieces replace them; across layers the layer ratio scales strength and S–N
curve, and pieces across layers replace those; then the shares of the temperature. Independent factors join as the root of
the sum of squared logarithms. See docs/theory/materials.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lobewright.design import catalogue
from lobewright.design import model as m
from lobewright.design.catalogue import Material, MaterialKind
from lobewright.design.catalogue_strength import ROOM_K, ShareRow, SnRow, SteelRule, StrengthRow, strength_row
from lobewright.design.workshop import Coupon
from lobewright.errors import DesignFault, Fault
from lobewright.sources import Flag
from lobewright.strength.coupon import owned_curve, reversed_amplitude
from lobewright.strength.material import REMEMBERED, WORDS, CreepLaw, Direction, StrengthData
from lobewright.strength.remark import NOTHING, Remark, brought, estimated
from lobewright.strength.sn import SnCurve
from lobewright.torque.interval import NORMAL_95, Interval
from lobewright.torque.measured import owned_figure
from lobewright.units import ZERO_CELSIUS_K

WEAK = (Flag.REMEMBERED, Flag.COMMON_PRACTICE)
WEAKER = (Flag.READ, Flag.DERIVED, Flag.READ_SECOND, Flag.COMMON_PRACTICE, Flag.REMEMBERED)
"""Flags from the best founded to the least."""
MPA_PER_KPSI = 6.894757
FRACTION = (1.06, -2.8e-3, 6.9e-6)
"""f of a steel's strength in kpsi, a square through the textbook's figure 6-18 for 70 to 200 kpsi (Budynas and Nisbett; the
figure read, the square remembered)."""
RULE_FROM, RULE_TO = 1e3, 1e6
CREEP_MEASURED_K = 30.0 + ZERO_CELSIUS_K
"""Creep was measured at 23 °C; so far its law counts as measured."""


@dataclass(frozen=True)
class _Figures:
    """Figures on the way. ``curve_remark``: what its user should know of the curve; it, ``curve_flags`` and ``curve_sources``
    are empty where the owner's pieces made it."""

    modulus: Interval
    ultimate: Interval
    yielding: Interval | None
    curve: SnCurve | None
    curve_words: str
    curve_remark: Remark
    curve_flags: tuple[Flag, ...]
    curve_sources: tuple[str, ...]


def strength_data(design: m.Design, material: str, direction: Direction, temperature_k: float) -> StrengthData:
    """Figures of a catalogue material [MPa] in one direction at one temperature; coupons of ``design.owned`` replace them.

    Raises CatalogueFault for an unknown material, DesignFault at a temperature outside the material's range and for coupons
    that say nothing.
    """
    row, known = catalogue.material(material), strength_row(material)
    _in_range(known, temperature_k)
    coupons = () if design.owned is None else tuple(one for one in design.owned.coupon if one.material == row.name)
    figures = _along(row, known, _lying(coupons, Direction.IN_LAYERS))
    if direction is Direction.ACROSS_LAYERS and row.z_ratio != (1.0, 1.0):
        figures = _across(row, known, figures, _lying(coupons, Direction.ACROSS_LAYERS))
    warm = _warm(known, figures, temperature_k)
    creep = _creep(known, temperature_k)
    return StrengthData(
        material=row.name,
        words=f"{row.words}; {known.conditioning}" if known.conditioning else row.words,
        direction=direction,
        temperature_k=temperature_k,
        metal=row.kind is MaterialKind.STEEL,
        modulus_mpa=warm.modulus,
        ultimate_mpa=warm.ultimate,
        yield_mpa=warm.yielding,
        curve=warm.curve,
        curve_words=warm.curve_words,
        creep=creep,
        lacking=_lacking(known, warm, creep),
        remarks=_remarks(figures, warm, creep, temperature_k),
        source_keys=_sources(row, known, warm, creep, temperature_k),
    )


def ring_strength(design: m.Design, direction: Direction) -> StrengthData | None:
    """Figures of the flexible ring at the design's ambient temperature; None for a belt. Raises as :func:`strength_data`."""
    ring = design.flexible_ring
    if isinstance(ring, m.Belt):
        return None
    return strength_data(design, ring.material, direction, _ambient_k(design))


def rigid_strength(design: m.Design, ring: m.RigidRing, direction: Direction) -> StrengthData | None:
    """Figures of a rigid ring at the design's ambient temperature; None where nothing tells its material.

    Its own material, else what the process prints, else the flexible ring's. Raises as :func:`strength_data`.
    """
    name = ring.material
    if name is None and isinstance(design.process, m.Printer):
        name = design.process.material
    if name is None and not isinstance(design.flexible_ring, m.Belt):
        name = design.flexible_ring.material
    return None if name is None else strength_data(design, name, direction, _ambient_k(design))


def _creep(known: StrengthRow, temperature_k: float) -> CreepLaw | None:
    """The law measured at 23 °C. Warmth shifts a power law along time, which leaves its exponent; near the glass transition
    that fails, so the exponent's band widens as that of the warm modulus does."""
    law = known.creep
    if law is None:
        return None
    ends = (law.exponent / law.spread, law.exponent, law.exponent * law.spread)
    exponent = Interval("creep_exponent", *ends, False, law.origin.source.key, law.origin.flag)
    warm = _share_at(known, temperature_k, "modulus")
    doubt = replace(warm, low=warm.low / warm.middle, middle=1.0, high=warm.high / warm.middle)
    return CreepLaw(joined(exponent, doubt, "creep_exponent"), law.from_h, law.to_h)


def _ambient_k(design: m.Design) -> float:
    return design.ambient_temperature_C + ZERO_CELSIUS_K


def _in_range(known: StrengthRow, temperature_k: float) -> None:
    if not known.coldest_k - 1e-9 <= temperature_k <= known.hottest_k + 1e-9:
        celsius = [round(k - ZERO_CELSIUS_K, 6) for k in (temperature_k, known.coldest_k, known.hottest_k)]
        allowed = f"{celsius[1]:g} to {celsius[2]:g} °C for {known.name}".replace("-", "−")
        what = "the strength of this material is not known at this temperature"
        raise DesignFault([Fault(what, "ambient_temperature_C", 0, f"{celsius[0]:g} °C".replace("-", "−"), allowed)])


def _lying(coupons: Sequence[Coupon], direction: Direction) -> tuple[Coupon, ...]:
    return tuple(one for one in coupons if one.direction == direction.value)


# --- along the layers, at 23 °C -------------------------------------------------------------------------------------


def _along(row: Material, known: StrengthRow, coupons: Sequence[Coupon]) -> _Figures:
    modulus = _owned(known, coupons, "modulus") or _of_range(row, "modulus_mpa", "modulus_mpa")
    listed = _of_range(row, "strength_mpa", "ultimate_mpa")
    ultimate = _owned(known, coupons, "strength") or listed
    yielding = _owned(known, coupons, "yield") or _yield_of(known, ultimate)
    figures = _Figures(modulus, ultimate, yielding, None, "", NOTHING, (), ())
    if isinstance(known.curve, SnRow):
        figures = _from_points(known.curve, figures, listed.middle)
    elif isinstance(known.curve, SteelRule):
        figures = _from_rule(known.curve, figures)
    return _with_pieces(known, coupons, figures)


def _of_range(row: Material, cell: str, name: str) -> Interval:
    low, high = getattr(row, cell)
    origin = row.origin(cell)
    return Interval(name, low, math.sqrt(low * high), high, False, origin.source.key, origin.flag)


def _yield_of(known: StrengthRow, ultimate: Interval) -> Interval | None:
    return None if known.yield_share is None else joined(ultimate, _interval(known.yield_share), "yield_mpa")


def _interval(share: ShareRow) -> Interval:
    origin = share.origin
    ends = (share.low_share, share.middle_share, share.high_share)
    return Interval("share", *ends, False, origin.source.key, origin.flag)


def joined(one: Interval, other: Interval, name: str) -> Interval:
    """Product of two independent intervals under a new name: sides join as roots of summed squared logarithms.

    The source is that of the first, the flag that of the less well founded; measured only where both are.
    """
    down = math.hypot(math.log(one.middle / one.low), math.log(other.middle / other.low))
    up = math.hypot(math.log(one.high / one.middle), math.log(other.high / other.middle))
    middle = one.middle * other.middle
    flag, measured = max(one.flag, other.flag, key=WEAKER.index), one.measured and other.measured
    return Interval(name, middle / math.exp(down), middle, middle * math.exp(up), measured, one.source_key, flag)


def _owned(known: StrengthRow, coupons: Sequence[Coupon], figure: str) -> Interval | None:
    """The owner's figure, brought to 23 °C."""
    parts = "modulus" if figure == "modulus" else "strength"
    found = []
    for coupon in coupons:
        warm = _share_at(known, coupon.temperature_C + ZERO_CELSIUS_K, parts).middle
        told = {
            key: value / warm
            for key in (f"{figure}_MPa", f"{figure}_uncertainty_MPa")
            if (value := getattr(coupon, key)) is not None
        }
        found.append(coupon.model_copy(update=told))
    return owned_figure(found, figure)


def _from_points(row: SnRow, figures: _Figures, listed_mpa: float) -> _Figures:
    """The catalogue's curve; ``listed_mpa``: tensile strength of the catalogue, which is that of the pieces behind it."""
    ultimate = figures.ultimate
    cycles, amplitude, of_strength = [], [], False
    for point in row.points:
        raw, strength = point.amplitude_mpa, listed_mpa
        if raw is None:
            assert point.amplitude_share is not None, "a point has one of the two"
            # a share goes with the strength of the owner's own pieces
            raw, strength, of_strength = point.amplitude_share * ultimate.middle, ultimate.middle, True
        cycles.append(point.cycles)
        amplitude.append(reversed_amplitude(raw, point.fatigue_ratio, strength))
    wide = math.log(row.spread)
    if of_strength:
        wide = math.hypot(wide, NORMAL_95 * ultimate.log_spread)
    curve = SnCurve(np.array(cycles), np.array(amplitude), row.beyond_slope, math.exp(wide), row.tested_to_cycles)
    ratios = sorted({point.fatigue_ratio for point in row.points} - {-1.0})
    words = [row.made]
    if row.frequency_hz:
        words.append(" to ".join(f"{hertz:g}" for hertz in sorted(set(row.frequency_hz))) + " Hz")
    if ratios:
        words.append(f"ratio {', '.join(f'{one:g}' for one in ratios)} brought to −1 by modified Goodman")
    flags = tuple({point.origin.flag for point in row.points if point.origin.flag is not Flag.DERIVED})
    return replace(
        figures,
        curve=curve,
        curve_words="; ".join(words),
        curve_remark=NOTHING if row.also else Remark(f"{WORDS['curve']} from one source"),
        curve_flags=flags,
        curve_sources=(row.origin.source.key, *row.also),
    )


def _from_rule(rule: SteelRule, figures: _Figures) -> _Figures:
    """f times the strength at a thousand cycles to the endurance limit at a million (Budynas and Nisbett, sect. 6-8, read)."""
    ultimate, limit = figures.ultimate, _interval(rule.endurance_share)
    kpsi = min(max(ultimate.middle / MPA_PER_KPSI, 70.0), 200.0)
    fraction = min(sum(c * kpsi**k for k, c in enumerate(FRACTION)), 0.9)
    endurance = min(limit.middle * ultimate.middle, rule.largest_limit_mpa)
    sd = math.sqrt(limit.log_spread**2 + rule.piece_sd_share**2 + ultimate.log_spread**2)
    curve = SnCurve(
        np.array([RULE_FROM, RULE_TO]),
        np.array([fraction * ultimate.middle, endurance]),
        math.inf,
        math.exp(NORMAL_95 * sd),
        rule.tested_to_cycles,
    )
    return replace(
        figures,
        curve=curve,
        curve_words=f"estimated from the tensile strength: {rule.made}, ratio −1",
        curve_remark=estimated(WORDS["curve"], f"the {WORDS['ultimate']}"),
        curve_flags=(rule.origin.flag,),
        curve_sources=(rule.origin.source.key, *rule.also),
    )


def _with_pieces(known: StrengthRow, coupons: Sequence[Coupon], figures: _Figures) -> _Figures:
    """The owner's fatigue pieces, brought to 23 °C, in place of the curve."""
    told = [one for one in coupons if one.fatigue_amplitude_MPa]
    at_room = []
    for one in told:
        warm = _share_at(known, one.temperature_C + ZERO_CELSIUS_K, "strength").middle
        at_room.append(
            one.model_copy(update={"fatigue_amplitude_MPa": tuple(s / warm for s in one.fatigue_amplitude_MPa)})
        )
    curve = owned_curve(at_room, figures.ultimate.middle)
    if curve is None:
        return figures
    count = sum(len(one.fatigue_cycles) for one in told)
    words = f"your own {count} pieces"
    others = sorted({one.fatigue_ratio for one in told} - {-1.0})
    if others:
        words += f"; ratio {', '.join(f'{one:g}' for one in others)} brought to −1 by modified Goodman"
    words = words.replace("ratio -", "ratio −")
    return replace(figures, curve=curve, curve_words=words, curve_remark=NOTHING, curve_flags=(), curve_sources=())


# --- across the layers ------------------------------------------------------------------------------------------------


def _across(row: Material, known: StrengthRow, along: _Figures, coupons: Sequence[Coupon]) -> _Figures:
    origin = row.origin("z_ratio")
    low, high = row.z_ratio
    layers = Interval("share", low, math.sqrt(low * high), high, False, origin.source.key, origin.flag)
    modulus = _owned(known, coupons, "modulus") or along.modulus
    ultimate = _owned(known, coupons, "strength") or joined(along.ultimate, layers, "ultimate_mpa")
    yielding = _owned(known, coupons, "yield") or _yield_of(known, ultimate)
    figures = replace(along, modulus=modulus, ultimate=ultimate, yielding=yielding)
    if along.curve is not None:
        share = layers if known.across_share is None else _interval(known.across_share)
        words = f"{along.curve_words}; across layers taken as {share.low:g} to {share.high:g} of it"
        flags = along.curve_flags if known.across_share is not None else (*along.curve_flags, origin.flag)
        figures = replace(figures, curve=scaled(along.curve, share), curve_words=words, curve_flags=flags)
    return _with_pieces(known, coupons, figures)


def scaled(curve: SnCurve, share: Interval) -> SnCurve:
    """The curve times a positive number that is itself uncertain: its spread grows."""
    wide = math.hypot(math.log(curve.spread), NORMAL_95 * share.log_spread)
    return replace(curve, amplitude_mpa=share.middle * curve.amplitude_mpa, spread=math.exp(wide))


# --- warmth -----------------------------------------------------------------------------------------------------------


def _share_at(known: StrengthRow, temperature_k: float, figure: str) -> Interval:
    """Share of the "modulus" or "strength" at 23 °C. Colder counts as 23 °C, hotter than the last point as that."""
    table = known.temperature
    warm = np.asarray(table.warm_k)
    at = float(np.clip(temperature_k, ROOM_K, warm[-1]))
    middle = float(np.interp(at, warm, getattr(table, f"{figure}_share")))
    wide = table.spread ** ((at - ROOM_K) / (float(warm[-1]) - ROOM_K))
    origin = table.origin
    return Interval("share", middle / wide, middle, middle * wide, False, origin.source.key, origin.flag)


def _warm(known: StrengthRow, figures: _Figures, temperature_k: float) -> _Figures:
    if temperature_k <= ROOM_K:
        return figures
    stiff, strong = (_share_at(known, temperature_k, figure) for figure in ("modulus", "strength"))
    curve, yielding = figures.curve, figures.yielding
    return replace(
        figures,
        modulus=joined(figures.modulus, stiff, "modulus_mpa"),
        ultimate=joined(figures.ultimate, strong, "ultimate_mpa"),
        yielding=None if yielding is None else joined(yielding, strong, "yield_mpa"),
        curve=None if curve is None else scaled(curve, strong),
    )


# --- what is told with the figures ------------------------------------------------------------------------------------


def _lacking(known: StrengthRow, figures: _Figures, creep: CreepLaw | None) -> tuple[tuple[str, str], ...]:
    missing = {"yield": figures.yielding is None, "curve": figures.curve is None, "creep": creep is None}
    return tuple((figure, known.lacking[figure]) for figure, lacks in missing.items() if lacks)


def _remarks(
    figures: _Figures, warm: _Figures, creep: CreepLaw | None, temperature_k: float
) -> tuple[tuple[str, Remark], ...]:
    """How well each figure is founded, from the flags behind it; ``figures`` at 23 °C, ``warm`` at the temperature."""
    found: list[tuple[str, Remark]] = []
    if any(flag in WEAK for flag in warm.curve_flags):
        found.append(("curve", REMEMBERED))
    elif warm.curve_remark.words:
        found.append(("curve", warm.curve_remark))
    celsius = f"{temperature_k - ZERO_CELSIUS_K:.3g} °C"
    for name, at_room, one in (
        ("ultimate", figures.ultimate, warm.ultimate),
        ("yield", figures.yielding, warm.yielding),
    ):
        if one is None or at_room is None or one.measured or one.flag not in WEAK:
            continue
        found.append((name, brought(f"your own {WORDS[name]}", celsius) if at_room.measured else REMEMBERED))
    if creep is not None:
        if creep.exponent.flag in WEAK:
            found.append(("creep", REMEMBERED))
        if temperature_k > CREEP_MEASURED_K:
            found.append(("creep", Remark("creep measured at 23 °C")))
    return tuple(found)


def _sources(
    row: Material, known: StrengthRow, figures: _Figures, creep: CreepLaw | None, temperature_k: float
) -> tuple[str, ...]:
    keys = [figures.modulus.source_key, figures.ultimate.source_key]
    if figures.yielding is not None:
        keys.append(figures.yielding.source_key)
        if known.yield_share is not None and not figures.yielding.measured:
            keys.append(known.yield_share.origin.source.key)
    keys += figures.curve_sources if figures.curve_sources or figures.curve is None else ["derived_here"]
    if creep is not None:
        keys.append(creep.exponent.source_key)
    if temperature_k > ROOM_K:
        keys.append(known.temperature.origin.source.key)
    if row.z_ratio != (1.0, 1.0):
        keys.append(row.origin("z_ratio").source.key)
    return tuple(dict.fromkeys(keys))
