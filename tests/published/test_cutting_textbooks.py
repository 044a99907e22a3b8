"""Textbook cutting problems with known best plans.

V. Chvatal, Linear Programming, Freeman 1983, chapter 13 (bound 452.25, 453 bars: from memory, confirmed by
solving). P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849-859, numerical example with three
priced lengths (cost 170: from memory). W. Winston, Operations Research: Applications and Algorithms, the
Woodco example (data from memory; 19 computed). Three exercises of management science (boards of 25 ft,
twice; a lumber yard; a paper mill): no source, answers computed with an integer programme over every maximal
pattern.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from fencegrade.cutting import cut_plan

CASES = {
    "chvatal": ([(45, 97), (36, 610), (31, 395), (14, 211)], [(100, 1)], Fraction("452.25"), 453),
    "woodco": ([(3, 25), (5, 20), (9, 15)], [(17, 1)], Fraction(55, 3), 19),
    "gilmore_gomory": ([(2, 20), (3, 10), (4, 20)], [(5, 6), (6, 7), (9, 10)], Fraction(170), 170),
    "boards_25_ft": ([(7, 700), (9, 1200), (10, 300)], [(25, 1)], Fraction(775), 775),
    "boards_25_ft_later": ([(7, 700), (9, 1200), (10, 500)], [(25, 1)], Fraction(875), 875),
    "lumber yard": ([(7, 5000), (9, 1200), (11, 300)], [(25, 1)], Fraction(6500, 3), 2167),
    "paper mill": ([(60, 30), (48, 50), (36, 25), (24, 90)], [(100, 1)], Fraction("76.25"), 77),
}


@pytest.mark.parametrize("name", CASES)
def test_best_cost_is_found_and_proven(name: str) -> None:
    pieces, stock, relaxed, best = CASES[name]
    plan = cut_plan(pieces, stock, seconds=20)
    assert plan.cost == best
    assert plan.proven
    assert plan.lower_bound == best
    assert relaxed <= best


@pytest.mark.parametrize("name", CASES)
def test_the_linear_bound_is_the_published_one(name: str) -> None:
    from fencegrade.cutting.columns import Generator
    from fencegrade.cutting.constructive import construct
    from fencegrade.cutting.effort import Effort
    from fencegrade.cutting.knapsack import Knapsack
    from fencegrade.cutting.model import build_model
    from fencegrade.cutting.pool import Pool
    from fencegrade.cutting.reading import read_problem

    pieces, stock, relaxed, _ = CASES[name]
    problem = read_problem(pieces, stock)
    model = build_model(problem, [p.length for p in problem.pieces])
    pool = Pool(model)
    pool.add_cuts(construct(model))
    found = Generator(model, pool, Knapsack(model, Effort(60))).run()
    assert found is not None
    assert float(found.bound) == pytest.approx(float(relaxed), rel=1e-9)
    assert found.bound <= relaxed
