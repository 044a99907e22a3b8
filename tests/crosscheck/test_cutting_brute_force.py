"""Exact plans against plain enumeration of every way to share pieces among boards, up to eight pieces."""

from __future__ import annotations

from fractions import Fraction
from random import Random

import pytest
from every_sharing import at_saw, cheapest, every_plan, random_case

from fencegrade.cutting import NoPlanFoundError, Piece, Problem, Stock, TooFewBoardsError, plan_problem


@pytest.mark.parametrize("seed", [3, 11, 50, 60, 93, 320, 327])
def test_a_hurried_search_of_odd_prices_and_tight_limits_ends_in_a_plan_or_a_refusal(seed: int) -> None:
    """Every plan passes the audit inside; what is refused as too little is so at any length of search."""
    chance = Random(f"crash {seed}")
    size, (low, high) = chance.randint(5, 60), chance.choice([(200, 500), (100, 900), (30, 300), (450, 1000)])
    lengths = [chance.randint(low, high) for _ in range(size)]
    kinds, scale, stock = chance.randint(1, 5), chance.choice([1, 1, 100, 1e4, 1e-3, 123456.789]), []
    for k in range(kinds):
        length = max(*lengths, 1000) if k == 0 else chance.randint(300, 2000)
        limit = chance.choice([None, int(sum(lengths) / length * chance.uniform(0.2, 1.3))])
        price = chance.uniform(0.5, 9) * scale
        stock.append(Stock(length=length, price=price, on_hand=chance.choice([0, 3]), limit=limit))
    problem = Problem(pieces=tuple(Piece(length=n) for n in lengths), stock=tuple(stock), kerf=1)
    outcomes = []
    for seconds in (0.0, 0.01, 0.1):
        try:
            plan = plan_problem(problem, seconds)
            outcomes.append((plan.exact_cost, plan.exact_bound))
        except NoPlanFoundError:
            continue
        except TooFewBoardsError:
            outcomes.append((Fraction(10**12), Fraction(10**12)))
    costs, bounds = zip(*outcomes, strict=True)
    assert min(costs) >= max(bounds)


@pytest.mark.parametrize("seed", range(60))
def test_best_cost_matches_enumeration(seed: int) -> None:
    problem, lengths, boards = random_case(seed)
    plan = plan_problem(problem, 20)
    assert plan.proven
    assert plan.exact_cost == cheapest(lengths, boards, problem.kerf, most=8)


@pytest.mark.parametrize("seed", range(40))
def test_one_piece_a_board_matches_enumeration(seed: int) -> None:
    from msgspec.structs import replace

    problem, lengths, boards = random_case(1000 + seed)
    plan = plan_problem(replace(problem, one_piece=True))
    assert plan.exact_cost == cheapest(lengths, boards, problem.kerf, most=1)


@pytest.mark.parametrize("seed", range(25))
def test_slack_matches_enumeration_at_the_shortest_lengths(seed: int) -> None:
    from msgspec.structs import replace

    problem, lengths, boards = random_case(2000 + seed)
    chance = Random(seed)
    slacks = [chance.randint(0, 6) for _ in lengths]
    pieces = tuple(replace(p, slack=s) for p, s in zip(problem.pieces, slacks, strict=True))
    plan = plan_problem(replace(problem, pieces=pieces), 20)
    shortest = [length - s for length, s in zip(lengths, slacks, strict=True)]
    assert plan.exact_cost == cheapest(shortest, boards, problem.kerf, most=8)
    full = cheapest(lengths, boards, problem.kerf, most=8)
    if full is not None and Fraction(full) == plan.exact_cost:
        assert not any(any(board.shortened) for board in plan.boards)


@pytest.mark.parametrize("seed", range(24))
def test_boards_ways_and_what_is_kept_match_enumeration_among_plans_of_least_cost(seed: int) -> None:
    """In this order: fewest boards, then ways of cutting them, then most in offcuts or in the longest one."""
    chance = Random(f"saw {seed}")
    lengths = [chance.choice([20, 25, 31, 44, 52]) for _ in range(chance.randint(3, 6))]
    stock = [(60, 5), (chance.randint(90, 110), chance.choice([8, 9, 10]))]
    kerf, least = chance.choice([0, 1]), chance.choice([0, 12])
    pieces = tuple(Piece(length=length) for length in lengths)
    boards = tuple(Stock(length=length, price=price) for length, price in stock)
    plan = plan_problem(Problem(pieces=pieces, stock=boards, kerf=kerf, least_offcut=least))
    made = [(b.stock, tuple(sorted(b.pieces))) for b in plan.boards for _ in range(b.count)]
    assert plan.proven
    assert at_saw(made, dict(stock), kerf, least) == min(
        at_saw(groups, dict(stock), kerf, least) for groups in every_plan(sorted(lengths), stock, kerf)
    )
