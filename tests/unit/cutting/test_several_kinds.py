"""Lists of the size of a fence from several priced boards: invented; plans of them once fell short."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from random import Random

import pytest

from fencegrade.cutting import NoPlanFoundError, Stock, TooFewBoardsError, cut_plan, read_problem
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.exact import solve
from fencegrade.cutting.knapsack import Knapsack
from fencegrade.cutting.laying import least_lengths
from fencegrade.cutting.master import choose
from fencegrade.cutting.model import build_model, plan_cost
from fencegrade.cutting.patterns import list_patterns
from fencegrade.cutting.reading import exact_price
from fencegrade.cutting.rows import first_rows
from fencegrade.job.cut_list import read_cut_list
from fencegrade.planning.boards import plan_cut_list

LISTS = Path(__file__).with_name("lists")


@pytest.mark.parametrize(("name", "cost"), [("fence03", 975.72), ("fence19", 607.40), ("fence26", 222.08)])
def test_a_fence_list_ends_at_its_bound(name: str, cost: float) -> None:
    """Short pieces: sums of lengths fill every board of the cheapest set; no programme is needed."""
    listed = json.loads((LISTS / f"{name}.json").read_text())
    plan = cut_plan(listed["pieces"], [Stock(**row) for row in listed["stock"]], listed["kerf"], seconds=1.0)
    assert plan.cost == cost
    assert plan.proven


def test_prices_left_from_a_calculation_are_money() -> None:
    plan = plan_cut_list(read_cut_list(LISTS / "long_float_prices.json")).plan
    assert plan.proven
    assert plan.exact_cost % Fraction(1, 10_000) == 0
    assert exact_price(9.416000000000002) == Fraction("9.416")
    assert exact_price(Fraction(1, 3)) == Fraction("0.3333")


def triplets(count: int, seed: int) -> list[int]:
    """Lengths of which three and three fill boards of 1000 without loss."""
    chance = Random(seed)
    lengths = []
    for _ in range(count):
        first, second = chance.randint(250, 400), chance.randint(251, 450)
        lengths += [first, second, 1000 - first - second]
    return lengths


@pytest.mark.parametrize(("count", "seed"), [(8, 1), (12, 0), (20, 1)])
def test_boards_that_just_hold_everything_are_not_refused(count: int, seed: int) -> None:
    """Filled one by one they leave pieces over; a search cut short says that it found none, not more."""
    pieces, stock = triplets(count, seed), [Stock(length=1000, price=3, limit=count)]
    plan = cut_plan(pieces, stock)
    assert (plan.cost, plan.proven, plan.waste) == (3 * count, True, 0)
    problem = read_problem(pieces, stock, 0)
    model = build_model(problem, least_lengths(problem)[0])
    unsure = solve(model, Effort(0))
    assert not unsure.short
    assert unsure.raw <= model.bars[0].cost * count, "what was not found is not ruled out"
    with pytest.raises(NoPlanFoundError, match=r"no plan found in 0 s.*leaves") as doubt:
        cut_plan(pieces, stock, seconds=0)
    held = [p for board in doubt.value.partial for p in board.pieces * board.count]
    over = [length for length, number in doubt.value.lacking for _ in range(number)]
    assert sorted(held + over) == sorted(pieces)
    assert over


@pytest.mark.parametrize("seed", range(3))
def test_a_programme_that_is_cut_short_proves_nothing(seed: int) -> None:
    """Without a branch a choice is missed that is there."""
    problem, effort = read_problem(triplets(20, seed), [Stock(length=1000)], 0), Effort(60)
    model = build_model(problem, least_lengths(problem)[0])
    fillings = list_patterns(model, first_rows(model, Knapsack(model, effort)), 20, 1_000, effort)
    assert fillings is not None
    missed, none = choose(fillings, 20, effort, nodes=0)
    assert not none
    found, none = choose(fillings, 20, effort, nodes=10_000)
    assert found is not None
    assert missed is None or plan_cost(model, missed) == plan_cost(model, found) == 20
    assert not none
    assert choose(fillings, 19, effort, nodes=10_000) == (None, True)


def test_a_shortage_is_proven_before_it_is_told() -> None:
    with pytest.raises(TooFewBoardsError, match="leave 1 piece over") as short:
        cut_plan([(60, 3)], [Stock(length=100, price=3, limit=2)])
    assert short.value.boards == 1


def test_a_set_that_holds_the_pieces_at_once_may_have_no_values_to_show() -> None:
    """With its boards for nothing, none of the prices met before proves more than nothing."""
    stock = [Stock(length=78, price=1.55, limit=16), Stock(length=334, price=2.13)]
    plan = cut_plan([(65, 4), (245, 3), (269, 9)], stock, kerf=2)
    assert (plan.cost, plan.proven) == (27.11, True)


def test_effort_is_spent_and_then_over() -> None:
    effort = Effort(0.001)
    effort.spend(400)
    assert (effort.left, effort.over) == (600, False)
    effort.spend(600)
    assert effort.over
