"""Parts of the exact solver against a second way to the same number."""

from __future__ import annotations

from itertools import product
from random import Random
from time import perf_counter

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from fencegrade.cutting import Piece, Problem, Stock, plan_problem
from fencegrade.cutting.bounds import dual_bound
from fencegrade.cutting.columns import Generator, bar_knapsack
from fencegrade.cutting.constructive import construct, plan_cost
from fencegrade.cutting.exact import l2_bound, quick_bound, value_bound
from fencegrade.cutting.model import Model, build_model
from fencegrade.cutting.patterns import list_patterns, worth_of
from fencegrade.cutting.pool import Pool
from fencegrade.cutting.search import Search


def random_problem(seed: int, kinds: int, stocks: int, count: int) -> Problem:
    chance = Random(seed)
    pieces = tuple(
        Piece(length=length, count=chance.randint(1, count)) for length in chance.sample(range(18, 70), kinds)
    )
    lengths = chance.sample(range(80, 130), stocks)
    stock = tuple(Stock(length=length, price=length // 8 + chance.randint(0, 3)) for length in lengths)
    return Problem(pieces=pieces, stock=stock, kerf=chance.choice([0, 1]))


def folded(problem: Problem) -> Model:
    return build_model(problem, [p.length for p in problem.pieces])


def every_filling(model: Model, bar: int) -> list[tuple[int, ...]]:
    room = model.bars[bar].capacity
    ranges = [range(min(d, room // w) + 1) for w, d in zip(model.weights, model.demands, strict=True)]
    return [
        n
        for n in product(*ranges)
        if any(n) and sum(w * k for w, k in zip(model.weights, n, strict=True)) <= room
    ]


def over_every_filling(model: Model) -> int:
    """Best cost by an integer programme over every filling there is."""
    columns, costs = [], []
    for b, bar in enumerate(model.bars):
        fillings = every_filling(model, b)
        columns += fillings
        costs += [bar.cost] * len(fillings)
    answer = milp(
        np.array(costs, dtype=float),
        constraints=[LinearConstraint(np.array(columns, dtype=float).T, np.array(model.demands), np.inf)],
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, np.inf),
        options={"mip_rel_gap": 0.0},
    )
    return round(answer.fun)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("stocks", [1, 3])
def test_search_matches_the_programme_over_every_filling(seed: int, stocks: int) -> None:
    model = folded(random_problem(seed, kinds=6, stocks=stocks, count=12))
    cuts = construct(model)
    search = Search(model, cuts, quick_bound(model), perf_counter() + 20)
    search.run()
    best = over_every_filling(model)
    assert search.cost == best
    assert -(-search.raw.numerator // search.raw.denominator) == best


@pytest.mark.parametrize("seed", range(20))
def test_no_bound_passes_the_best_cost(seed: int) -> None:
    for stocks in (1, 3):
        model = folded(random_problem(100 + seed, kinds=5, stocks=stocks, count=9))
        best = over_every_filling(model)
        assert quick_bound(model) <= best
        assert value_bound(model, 10**9) <= best
        assert best <= plan_cost(model, construct(model))
        if stocks == 1:
            assert l2_bound(model) * model.bars[0].cost <= best
        search = Search(model, construct(model), quick_bound(model), perf_counter() + 20)
        search._root(None)
        assert search.raw <= best
        chance = Random(seed)
        values = [chance.randint(0, 1000) for _ in model.weights]
        assert dual_bound(model, values, bar_knapsack(model).fill(values), 100) <= best


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("full", [False, True])
def test_listed_fillings_are_those_of_small_reduced_cost(seed: int, full: bool) -> None:
    model = folded(random_problem(200 + seed, kinds=5, stocks=2, count=4))
    pool = Pool(model)
    cuts = construct(model)
    pool.add_cuts(cuts)
    generator = Generator(model, pool, bar_knapsack(model))
    root = generator.run(model.demands, [None] * len(model.bars), perf_counter() + 20)
    assert root is not None
    worth = worth_of(model, root.values, root.scale, generator.knapsack, plan_cost(model, cuts))
    listed = list_patterns(model, [worth], 10**6, full=full)
    assert listed is not None
    expected = set()
    for b, bar in enumerate(model.bars):
        for numbers in every_filling(model, b):
            used = sum(w * n for w, n in zip(model.weights, numbers, strict=True))
            room = bar.capacity - used
            spare = any(
                n < d and w <= room for n, d, w in zip(numbers, model.demands, model.weights, strict=True)
            )
            value = sum(v * n for v, n in zip(worth.values, numbers, strict=True))
            if value >= worth.least[b] and not (full and spare):
                expected.add((b, tuple((i, n) for i, n in enumerate(numbers) if n)))
    assert set(zip(listed.bars, listed.items, strict=True)) == expected


def test_the_cost_is_the_same_bought_by_length_or_priced_by_length() -> None:
    problem = random_problem(7, kinds=6, stocks=3, count=10)
    bare = Problem(
        pieces=problem.pieces, stock=tuple(Stock(length=s.length) for s in problem.stock), kerf=problem.kerf
    )
    priced = Problem(
        pieces=problem.pieces,
        stock=tuple(Stock(length=s.length, price=s.length) for s in problem.stock),
        kerf=problem.kerf,
    )
    assert plan_problem(bare, 20).cost == plan_problem(priced, 20).cost
