"""Rounding a relaxed plan, and plans that do not depend on how fast the machine is."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from random import Random
from time import perf_counter
from typing import Any

import pytest

from fencegrade.cutting import Board, Piece, Problem, Stock, diving, plan_problem
from fencegrade.cutting.columns import Relaxation
from fencegrade.cutting.constructive import construct
from fencegrade.cutting.diving import Dive, round_off
from fencegrade.cutting.effort import PER_SECOND, Effort
from fencegrade.cutting.master import plunge
from fencegrade.cutting.model import Bar, Left, Model, build_model, plan_cost, serves
from fencegrade.cutting.rows import Row, spare
from fencegrade.cutting.search import Search


def a_list(seed: int, count: int, limit: int | None = None) -> Problem:
    """Mixed lengths in eighths from three boards, the longest cheapest by the foot."""
    chance = Random(seed)
    return Problem(
        pieces=tuple(Piece(length=chance.randint(160, 760)) for _ in range(count)),
        stock=(
            Stock(length=768, price=560),
            Stock(length=1152, price=760),
            Stock(length=1536, price=960, limit=limit),
        ),
        kerf=1,
    )


def relaxed(problem: Problem) -> tuple[Model, Relaxation]:
    model = build_model(problem, [p.length for p in problem.pieces])
    root = Search(model, construct(model), Fraction(0), Effort(600)).generator.run()
    assert root is not None
    return model, root


@pytest.mark.parametrize("seed", range(3))
def test_rounding_cuts_everything_once_and_loses_little(seed: int) -> None:
    model, root = relaxed(a_list(seed, 90))
    cuts = round_off(root)
    made = [0] * len(model.weights)
    for cut in cuts:
        assert cut.times > 0
        assert sum(model.weights[i] * n for i, n in cut.items) <= model.bars[cut.bar].capacity
        for i, n in cut.items:
            made[i] += n * cut.times
    assert tuple(made) == model.demands
    assert root.relaxed.value - 1e-6 <= plan_cost(model, cuts) <= 1.02 * root.relaxed.value


def test_a_filling_is_fixed_as_often_as_pieces_and_boards_last() -> None:
    bars = (Bar(capacity=50, cost=4, limit=3, entry=0), Bar(capacity=90, cost=7, limit=None, entry=1))
    model = Model(weights=(40, 20), demands=(9, 5), bars=bars)
    state = Left(model)
    asked = [(1, ((0, 1), (1, 2)), 5), (0, ((0, 1),), 4), (0, ((0, 1),), 1), (1, ((0, 1), (1, 2)), 1)]
    assert [state.cut(bar, items, times) for bar, items, times in asked] == [2, 3, 0, 0]
    assert (state.pieces, state.boards) == ([4, 1], [0, None])
    assert plan_cost(model, state.cuts) == 2 * 7 + 3 * 4
    assert (state.rest.demands, state.rest.bars[0].limit) == ((4, 1), 0)
    assert [(cut.bar, cut.items, cut.times) for cut in state.cuts] == [
        (1, ((0, 1), (1, 2)), 2),
        (0, ((0, 1),), 3),
    ]


@pytest.mark.parametrize("seed", range(4))
def test_a_dive_finds_a_plan_at_the_bound_where_filling_board_by_board_does_not(seed: int) -> None:
    """Forty lengths from one kind of board; the plan is made over several rounds of fixing."""
    chance = Random(seed)
    pieces = tuple(Piece(length=chance.randint(100, 420), count=chance.randint(1, 9)) for _ in range(40))
    model, root = relaxed(Problem(pieces=pieces, stock=(Stock(length=1000),), kerf=1))
    target = -(-root.bound.numerator // root.bound.denominator)
    cuts = Dive(root, target).run(1)
    assert cuts is not None
    assert plan_cost(model, cuts) == target
    made = [0] * len(model.weights)
    for cut in cuts:
        assert sum(model.weights[i] * n for i, n in cut.items) <= model.bars[0].capacity
        for i, n in cut.items:
            made[i] += n * cut.times
    assert tuple(made) == model.demands


@pytest.mark.parametrize("fails", [1, 2, 4])
def test_a_dive_whose_last_boards_fail_frees_some_and_still_cuts_everything_once(
    fails: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    chance, calls = Random(2), []
    pieces = tuple(Piece(length=chance.randint(100, 420), count=chance.randint(1, 9)) for _ in range(40))
    model, root = relaxed(Problem(pieces=pieces, stock=(Stock(length=1000),), kerf=1))
    target = -(-root.bound.numerator // root.bound.denominator)

    def late(*asked: Any, **more: Any) -> Any:
        calls.append(asked)
        return (None, False) if len(calls) <= fails else plunge(*asked, **more)

    monkeypatch.setattr(diving, "plunge", late)
    cuts = Dive(root, target).run(20)
    assert cuts is not None
    assert plan_cost(model, cuts) <= target
    made = [0] * len(model.weights)
    for cut in cuts:
        assert sum(model.weights[i] * n for i, n in cut.items) <= model.bars[0].capacity
        for i, n in cut.items:
            made[i] += n * cut.times
    assert tuple(made) == model.demands
    assert len(calls) > fails


def test_rounding_keeps_the_limits_that_it_can() -> None:
    model, root = relaxed(a_list(1, 60, limit=9))
    assert serves(model, round_off(root))


def _lengths(model: Model) -> Row:
    """The row of bare length, whatever fits on a board."""
    return Row(values=model.weights, worth=tuple(bar.capacity for bar in model.bars), need=model.total)


@pytest.mark.parametrize("slower", [1, 10])
def test_a_slower_machine_buys_the_same(slower: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A list that is broken off long before it is proven, with a clock that runs ten times as fast."""
    from fencegrade.cutting import effort

    real = perf_counter
    monkeypatch.setattr(effort, "perf_counter", lambda: slower * real())
    chance = Random(5)
    pieces = tuple(Piece(length=chance.randint(100, 420), count=chance.randint(1, 9)) for _ in range(50))
    problem = Problem(pieces=pieces, stock=(Stock(length=1000), Stock(length=880, limit=30)), kerf=1)
    plan = plan_problem(problem, 0.02)
    plans.append(plan.boards)
    assert plan.boards == plans[0]


plans: list[tuple[Board, ...]] = []


def test_the_clock_is_an_emergency_stop_only() -> None:
    assert Effort(5).clock_left > 55
    assert Effort(5).left == 5 * PER_SECOND
    assert Effort(5, clock=0.0).over


@pytest.mark.parametrize("seed", range(2))
def test_more_time_changes_nothing_in_a_plan_that_is_proven(seed: int) -> None:
    problem = a_list(seed, 60)
    short, long = plan_problem(problem, 30.0), plan_problem(problem, 300.0)
    assert short.proven
    assert long.boards == short.boards


def test_no_room_for_waste_leaves_few_fillings_to_choose_among() -> None:
    """Cost 11 would buy 834 marks for 834 marks of pieces: every board would have to come out even."""
    pieces = ((20, 4), (21, 3), (34, 3), (22, 3), (55, 5), (41, 4), (28, 3))
    stock = (Stock(length=90, price=5), Stock(length=145, price=3, on_hand=1), Stock(length=136, price=2))
    problem = Problem(pieces=tuple(Piece(length=n, count=c) for n, c in pieces), stock=stock)
    model = build_model(problem, [p.length for p in problem.pieces])
    assert model.total == 834
    assert spare(model, _lengths(model), 11) == 0
    plan = plan_problem(problem, 60.0)
    assert (plan.cost, plan.proven) == (12, True)


@pytest.mark.parametrize("seed", range(8))
def test_the_most_length_for_a_cost_is_that_of_every_choice_of_boards(seed: int) -> None:
    chance = Random(seed)
    stock = tuple(
        Stock(length=chance.randint(40, 90), price=chance.randint(1, 6), on_hand=chance.randint(0, 1))
        for _ in range(3)
    )
    model = build_model(Problem(pieces=(Piece(length=30, count=4),), stock=stock), [30])
    cost = chance.randint(1, 14)
    ranges = [range(cost + 1 if bar.limit is None else bar.limit + 1) for bar in model.bars]
    best = max(
        sum(n * bar.capacity for n, bar in zip(numbers, model.bars, strict=True))
        for numbers in product(*ranges)
        if sum(n * bar.cost for n, bar in zip(numbers, model.bars, strict=True)) <= cost
    )
    assert spare(model, _lengths(model), cost) == best - model.total
