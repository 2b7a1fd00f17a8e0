"""Motion of a strain wave drive from one linear relation.

Seen from the wave generator every toothed row of one flexible body passes teeth at the same rate as the rigid ring it
meshes with::

    (ω_ring − ω_g) · Z_ring = (ω_flex − ω_g) · Z_row

Hold one member, drive one, read one: the signed ratio follows, whatever the layout (cup or two rings, 2 or 3 lobes,
two tooth rows). Angles are anticlockwise positive, seen from the output side.

Source: relative motion of meshing rows without slip; derived. The senses of rotation agree with GB/T 30819-2014,
clause 3.1 (see ``lobewright evidence``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from lobewright.design.model import Design
from lobewright.errors import Fault, MotionFault

GENERATOR = "generator"
FLEXIBLE = "flexible_ring"


@dataclass(frozen=True)
class Row:
    """A rigid ring and the tooth row of the flexible ring that it meshes with."""

    name: str
    ring_teeth: int
    flexible_teeth: int


@dataclass(frozen=True)
class MotionResult:
    """What turns how fast.

    ``ratio`` is ω_driven/ω_read, signed, exact. ``turns`` maps each member to its turns for one turn of the driven
    member. ``turns_in_generator_turn`` is the same for one turn of the generator relative to the held member; empty
    when the generator is held. ``load_cycles_per_generator_turn`` counts how often a point of the flexible ring meets a
    lobe during one absolute turn of the generator.
    """

    fixed: str
    driven: str
    read: str
    ratio: Fraction
    turns: dict[str, Fraction]
    turns_in_generator_turn: dict[str, Fraction]
    load_cycles_per_generator_turn: Fraction | None

    @property
    def same_sense(self) -> bool:
        """True when the read member turns as the driven one does."""
        return self.ratio > 0

    @property
    def slow_member(self) -> str:
        """The member that is read, or driven where the generator is read."""
        return self.driven if self.read == GENERATOR else self.read

    @property
    def ratio_text(self) -> str:
        """The ratio as people write it: ``−50 : 1``, exact where it is a whole number or a fraction."""
        sign = "−" if self.ratio < 0 else ""
        size = abs(self.ratio)
        whole = f"{size.numerator}" if size.denominator == 1 else f"{size.numerator}/{size.denominator}"
        return f"{sign}{whole} : 1"


def rows_of(design: Design) -> tuple[Row, ...]:
    """The meshing rows of a design."""
    return tuple(Row(r.name, r.teeth, design.row_teeth(r.row)) for r in design.rigid_ring)


def _null_space(matrix: list[list[Fraction]], columns: int) -> list[list[Fraction]]:
    """Basis of the solutions of ``matrix · x = 0``, by exact elimination."""
    rows = [row[:] for row in matrix]
    pivots: list[int] = []
    done = 0
    for column in range(columns):
        pivot = next((i for i in range(done, len(rows)) if rows[i][column]), None)
        if pivot is None:
            continue
        rows[done], rows[pivot] = rows[pivot], rows[done]
        scale = rows[done][column]
        rows[done] = [value / scale for value in rows[done]]
        for i, row in enumerate(rows):
            if i != done and row[column]:
                factor = row[column]
                rows[i] = [a - factor * b for a, b in zip(row, rows[done], strict=True)]
        pivots.append(column)
        done += 1
    basis = []
    for free in (c for c in range(columns) if c not in pivots):
        vector = [Fraction(0)] * columns
        vector[free] = Fraction(1)
        for i, column in enumerate(pivots):
            vector[column] = -rows[i][free]
        basis.append(vector)
    return basis


def solve(rows: tuple[Row, ...], lobes: int, fixed: str, driven: str, read: str) -> MotionResult:
    """Signed ratio and speeds of all members.

    Raises MotionFault when a member does not exist, or when holding and driving these two leaves the third
    undetermined, at rest, or leaves no motion at all; the sentence says which.
    """
    members = [GENERATOR, FLEXIBLE, *(row.name for row in rows)]
    for role, member in (("fixed", fixed), ("driven", driven), ("read", read)):
        if member not in members:
            raise MotionFault([Fault("no such member", f"motion.{role}", 0, member, ", ".join(members))])
    index = {name: i for i, name in enumerate(members)}
    matrix = []
    for row in rows:
        equation = [Fraction(0)] * len(members)
        equation[index[row.name]] += row.ring_teeth
        equation[index[FLEXIBLE]] -= row.flexible_teeth
        equation[index[GENERATOR]] += row.flexible_teeth - row.ring_teeth
        matrix.append(equation)
    held = [Fraction(int(name == fixed)) for name in members]
    basis = _null_space([*matrix, held], len(members))
    moving = [v for v in basis if v[index[driven]]]
    if not moving:
        raise MotionFault(f"with {fixed} held, {driven} cannot turn: their tooth counts lock them together")
    if any(v[index[read]] and not v[index[driven]] for v in basis) or len(basis) > 1:
        raise MotionFault(f"with {fixed} held and {driven} driven, {read} is still free: there is no unique ratio")
    speeds = [value / moving[0][index[driven]] for value in moving[0]]
    if not speeds[index[read]]:
        raise MotionFault(f"with {fixed} held and {driven} driven, {read} stands still: there is no ratio")
    turns = dict(zip(members, speeds, strict=True))
    generator = turns[GENERATOR]
    per_turn = {name: value / generator for name, value in turns.items()} if generator else {}
    cycles = lobes * abs(1 - per_turn[FLEXIBLE]) if per_turn else None
    return MotionResult(fixed, driven, read, 1 / turns[read], turns, per_turn, cycles)


def motion(design: Design) -> MotionResult:
    """Motion of a design; see :func:`solve`."""
    chosen = design.motion
    return solve(rows_of(design), design.lobes, chosen.fixed, chosen.driven, chosen.read)


@dataclass(frozen=True)
class Unrolled:
    """The drive cut open and laid flat: racks of equal length, a wedge that runs under the flexible one.

    ``line_up_places`` counts where tooth meets space over one circumference. ``wedge_advantage`` is wedge travel over
    rack travel, the gain that the tooth difference gives: one whole circumference of wedge moves the free rack by the
    tooth difference in pitches.
    """

    held_teeth: int
    moving_teeth: int
    line_up_places: int
    wedge_advantage: Fraction


def unroll(held_teeth: int, moving_teeth: int) -> Unrolled:
    """Line-up places and wedge advantage of two racks of one length with different tooth counts.

    Two racks of one length with Z_held and Z_moving teeth are in step at |Z_held − Z_moving| places. A wedge that
    runs past the whole length moves the moving rack by (Z_held − Z_moving) of its pitches, so the travel ratio is
    Z_moving/(Z_moving − Z_held), signed: negative when the moving rack goes against the wedge. Derived.
    """
    difference = moving_teeth - held_teeth
    if difference == 0:
        raise MotionFault("racks with equal tooth counts are in step everywhere: the wedge moves nothing")
    return Unrolled(held_teeth, moving_teeth, abs(difference), Fraction(moving_teeth, difference))


def rack_travel_mm(unrolled: Unrolled, wedge_travel_mm: float) -> float:
    """How far the moving rack goes, in mm, while the wedge goes ``wedge_travel_mm``."""
    travel = wedge_travel_mm / float(unrolled.wedge_advantage)
    if not math.isfinite(travel):
        raise MotionFault("the wedge travel is not a finite number")
    return travel
