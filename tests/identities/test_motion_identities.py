"""What must hold for the motion of any drive: the row relation, inversion, change of the held member, superposition."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lobewright.errors import MotionFault
from lobewright.motion import FLEXIBLE, GENERATOR, MotionResult, Row, rack_travel_mm, solve, unroll

COUNTS = st.integers(16, 400)
LOBES = st.sampled_from([2, 3])
STEPS = st.integers(0, 4)


@st.composite
def drives(draw: st.DrawFn) -> tuple[tuple[Row, ...], int]:
    """One or two rings on one or two tooth rows, tooth differences in multiples of the lobes."""
    lobes = draw(LOBES)
    flexible = draw(COUNTS)
    second = draw(st.sampled_from([flexible, flexible + 4]))
    rows = [Row("a", flexible + lobes * draw(st.integers(1, 4)), flexible)]
    if draw(st.booleans()):
        rows.append(Row("b", second + lobes * draw(STEPS), second))
    return tuple(rows), lobes


def _solved(rows: tuple[Row, ...], lobes: int, fixed: str, driven: str, read: str) -> MotionResult | None:
    try:
        return solve(rows, lobes, fixed, driven, read)
    except MotionFault:
        return None


@st.composite
def motions(draw: st.DrawFn) -> tuple[tuple[Row, ...], int, MotionResult]:
    """A drive with a choice of held, driven and read member that has a ratio."""
    rows, lobes = draw(drives())
    members = [GENERATOR, FLEXIBLE, *(row.name for row in rows)]
    fixed, driven, read = draw(st.permutations(members))[:3]
    result = _solved(rows, lobes, fixed, driven, read)
    assume(result is not None)
    assert result is not None
    return rows, lobes, result


@given(motions())
@settings(max_examples=60, deadline=None)
def test_every_row_passes_teeth_at_one_rate_seen_from_the_generator(
    found: tuple[tuple[Row, ...], int, MotionResult],
) -> None:
    rows, _, result = found
    turns = result.turns
    for row in rows:
        rate = (turns[row.name] - turns[GENERATOR]) * row.ring_teeth
        assert rate == (turns[FLEXIBLE] - turns[GENERATOR]) * row.flexible_teeth
    assert turns[result.fixed] == 0
    assert turns[result.driven] == 1


@given(motions())
@settings(max_examples=60, deadline=None)
def test_driving_from_the_other_end_inverts_the_ratio(found: tuple[tuple[Row, ...], int, MotionResult]) -> None:
    rows, lobes, result = found
    back = solve(rows, lobes, result.fixed, result.read, result.driven)
    assert back.ratio * result.ratio == 1
    assert back.same_sense == result.same_sense


@given(motions())
@settings(max_examples=60, deadline=None)
def test_holding_another_member_is_the_same_motion_seen_from_it(
    found: tuple[tuple[Row, ...], int, MotionResult],
) -> None:
    """Willis: subtract the speed of the member that is to be held from all speeds."""
    rows, lobes, result = found
    seen = {name: turns - result.turns[result.read] for name, turns in result.turns.items()}
    assume(seen[result.driven] != 0)
    other = _solved(rows, lobes, result.read, result.driven, result.fixed)
    assert other is not None
    assert other.ratio == seen[result.driven] / seen[result.fixed]


@given(st.integers(16, 400), st.integers(1, 6), st.fractions(-3, 3), st.fractions(-3, 3))
@settings(max_examples=40, deadline=None)
def test_two_inputs_add(flexible: int, step: int, generator_turns: Fraction, ring_turns: Fraction) -> None:
    rows = (Row("ring", flexible + 2 * step, flexible),)
    by_generator = solve(rows, 2, "ring", GENERATOR, FLEXIBLE).turns[FLEXIBLE]
    by_ring = solve(rows, 2, GENERATOR, "ring", FLEXIBLE).turns[FLEXIBLE]
    turned = generator_turns * by_generator + ring_turns * by_ring
    relation = (ring_turns - generator_turns) * (flexible + 2 * step) - (turned - generator_turns) * flexible
    assert relation == 0


@given(st.integers(16, 400), st.integers(1, 6), LOBES)
@settings(max_examples=40, deadline=None)
def test_a_point_of_the_ring_meets_each_lobe_as_often_as_teeth_pass(flexible: int, step: int, lobes: int) -> None:
    ring = flexible + lobes * step
    result = solve((Row("ring", ring, flexible),), lobes, "ring", GENERATOR, FLEXIBLE)
    assert result.load_cycles_per_generator_turn == Fraction(lobes * ring, flexible)


@given(st.integers(4, 400), st.integers(4, 400))
@settings(max_examples=40, deadline=None)
def test_racks_laid_flat_move_as_the_drive_turns(held: int, moving: int) -> None:
    assume(held != moving)
    unrolled = unroll(held, moving)
    ratio = solve((Row("held", held, moving),), 2, "held", GENERATOR, FLEXIBLE).ratio
    assert unrolled.wedge_advantage == ratio
    assert abs(rack_travel_mm(unrolled, 1.0) * float(ratio) - 1.0) < 1e-12
    assert unrolled.line_up_places == abs(held - moving)
