"""Laws that every cutting plan obeys, whatever the list."""

from __future__ import annotations

from fractions import Fraction
from random import Random

from greedy import greedy
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from fencegrade.cutting import CutPlan, Piece, Problem, Stock, plan_problem
from fencegrade.cutting.audit import audit
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.exact import solve
from fencegrade.cutting.model import build_model, cost_unit

SECONDS = 60.0


@st.composite
def problems(draw: st.DrawFn, *, limited: bool = True) -> Problem:
    lengths = draw(st.lists(st.integers(20, 90), min_size=1, max_size=7, unique=True))
    pieces = tuple(Piece(length=length, count=draw(st.integers(1, 6))) for length in lengths)
    stock = [Stock(length=draw(st.integers(90, 130)), price=draw(st.integers(5, 12)))]
    for _ in range(draw(st.integers(0, 2))):
        on_hand = draw(st.integers(0, 3)) if limited else 0
        limit = draw(st.sampled_from([None, None, 1, 3])) if limited else None
        price = draw(st.integers(3, 15))
        stock.append(Stock(length=draw(st.integers(40, 160)), price=price, on_hand=on_hand, limit=limit))
    return Problem(pieces=pieces, stock=tuple(stock), kerf=draw(st.integers(0, 3)))


def solved(problem: Problem) -> CutPlan:
    plan = plan_problem(problem, SECONDS)
    assert plan.proven
    return plan


@given(problems())
def test_every_plan_is_whole_the_same_each_time_and_passes_the_audit_between_its_bounds(
    problem: Problem,
) -> None:
    plan, first = solved(problem), plan_problem(problem, SECONDS, greedy)
    assert plan.exact_bound <= plan.exact_cost <= first.exact_cost
    assert first.exact_bound <= plan.exact_cost
    for board in plan.boards:
        rest = board.stock - sum(board.pieces) - problem.kerf * len(board.pieces)
        assert rest >= -problem.kerf
        assert board.offcut == max(0, rest)
    assert solved(problem).boards == plan.boards
    model = build_model(problem, [p.length for p in problem.pieces])
    for solver, claimed in ((solve, plan), (greedy, first)):
        assert audit(problem, claimed.boards) == claimed.exact_cost
        assert solver(model, Effort(SECONDS)).cost * cost_unit(problem) >= claimed.exact_cost


@given(problems(), st.integers(40, 160), st.integers(1, 20))
def test_one_more_stock_length_never_costs_more(problem: Problem, length: int, price: int) -> None:
    more = replace(problem, stock=(*problem.stock, Stock(length=length, price=price)))
    assert solved(more).exact_cost <= solved(problem).exact_cost


@given(problems(), st.integers(2, 9), st.sampled_from([Fraction(1, 100), Fraction(7), Fraction(3, 8)]))
def test_a_list_written_otherwise_costs_the_same(problem: Problem, times: int, rate: Fraction) -> None:
    """A saw cut is longer pieces on longer boards, a finer tape is no change, cost follows the currency."""
    k, cost = problem.kerf, solved(problem).exact_cost
    folded = Problem(
        pieces=tuple(replace(p, length=p.length + k) for p in problem.pieces),
        stock=tuple(replace(s, length=s.length + k) for s in problem.stock),
    )
    assert solved(folded).exact_cost == cost
    finer = Problem(
        pieces=tuple(replace(p, length=p.length * times) for p in problem.pieces),
        stock=tuple(replace(s, length=s.length * times) for s in problem.stock),
        kerf=k * times,
    )
    assert solved(finer).exact_cost == cost
    dearer = tuple(replace(s, price=Fraction(s.price or 0) * rate) for s in problem.stock)
    assert solved(replace(problem, stock=dearer)).exact_cost == cost * rate


@given(problems(), st.integers(0, 99))
def test_order_and_grouping_do_not_matter(problem: Problem, seed: int) -> None:
    single = [replace(p, count=1) for p in problem.pieces for _ in range(p.count)]
    Random(seed).shuffle(single)
    other = replace(problem, pieces=tuple(single))
    first, second = solved(problem), solved(other)
    assert first.exact_cost == second.exact_cost
    assert [(b.stock, b.pieces, b.count) for b in first.boards] == [
        (b.stock, b.pieces, b.count) for b in second.boards
    ]


@given(problems(), st.integers(1, 6))
def test_slack_never_costs_more_and_is_used_only_where_it_saves(problem: Problem, slack: int) -> None:
    loose = replace(problem, pieces=tuple(replace(p, slack=slack) for p in problem.pieces))
    strict, eased = solved(problem), solved(loose)
    assert eased.exact_cost <= strict.exact_cost
    if eased.exact_cost == strict.exact_cost:
        assert not any(any(board.shortened) for board in eased.boards)
    assert all(0 <= s <= slack for board in eased.boards for s in board.shortened)


@given(problems())
def test_one_piece_a_board_never_costs_less(problem: Problem) -> None:
    open_ended = replace(problem, stock=(*problem.stock, Stock(length=200, price=50)))
    alone = solved(replace(open_ended, one_piece=True))
    assert alone.exact_cost >= solved(open_ended).exact_cost
    assert alone.board_count == sum(p.count for p in problem.pieces)
