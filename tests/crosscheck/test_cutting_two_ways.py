"""Parts of the exact solver against a second way to the same number."""

from __future__ import annotations

from collections import Counter
from itertools import product
from random import Random

import numpy as np
import pytest
from msgspec.structs import replace
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from fencegrade.cutting import Piece, Problem, Stock, plan_problem
from fencegrade.cutting.bounds import cost_in_parts, l2_bound, quick_bound
from fencegrade.cutting.columns import Generator
from fencegrade.cutting.constructive import construct
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.exact import searched, solve
from fencegrade.cutting.filling import fill
from fencegrade.cutting.knapsack import Knapsack, table_cells
from fencegrade.cutting.master import LP_START, Programme, plunge
from fencegrade.cutting.mending import mend
from fencegrade.cutting.model import Bar, Left, Model, build_model, plan_cost, serves
from fencegrade.cutting.patterns import list_patterns
from fencegrade.cutting.pool import Pool
from fencegrade.cutting.rows import Row, first_rows, make_row
from fencegrade.cutting.search import Checks
from fencegrade.cutting.sets import BoardSets

Floats = NDArray[np.float64]


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
        integrality=np.ones(len(costs), dtype=int),
        bounds=Bounds(0, np.inf),
        options={"mip_rel_gap": 0.0},
    )
    assert answer.fun is not None
    return round(answer.fun)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("stocks", [1, 3])
def test_search_matches_the_programme_over_every_filling(seed: int, stocks: int) -> None:
    model = folded(random_problem(seed, kinds=6, stocks=stocks, count=12))
    cuts = construct(model)
    found, raw = searched(model, cuts, quick_bound(model), Effort(60))
    best = over_every_filling(model)
    assert plan_cost(model, found) == best
    assert -(-raw.numerator // raw.denominator) == best


@pytest.mark.parametrize("seed", range(20))
def test_no_bound_passes_the_best_cost(seed: int) -> None:
    for stocks in (1, 3):
        model = folded(random_problem(100 + seed, kinds=5, stocks=stocks, count=9))
        best = over_every_filling(model)
        assert quick_bound(model) <= best
        assert best <= plan_cost(model, construct(model))
        if stocks == 1:
            assert l2_bound(model) * model.bars[0].cost <= best
        pool = Pool(model)
        pool.add_cuts(construct(model))
        knapsack = Knapsack(model, Effort(20))
        root = Generator(model, pool, knapsack).run()
        assert root is not None
        assert root.bound <= best
        chance = Random(seed)
        values = [chance.randint(0, 1000) for _ in model.weights]
        row = make_row(model, knapsack, values)
        assert cost_in_parts(model, row.worth, row.need) <= best


@pytest.mark.parametrize("seed", range(40))
def test_the_counting_bound_is_the_best_over_every_threshold(seed: int) -> None:
    """Piece by piece as Martello & Toth define L2 (Knapsack Problems, 1990, section 8.3.2)."""
    chance = Random(seed)
    capacity = chance.randint(12, 60)
    lengths = chance.sample(range(1, capacity + 1), 6)
    pieces = [chance.choice(lengths) for _ in range(chance.randint(1, 24))]
    best = 0
    for threshold in range(capacity // 2 + 1):
        left = [p for p in pieces if p >= threshold]
        gaps = [capacity - p for p in left if capacity < 2 * p]
        usable = sum(gap for gap in gaps if gap >= threshold)
        small = sum(p for p in left if capacity >= 2 * p)
        best = max(best, len(gaps) + -(-max(0, small - usable) // capacity))
    stock = (Stock(length=capacity),)
    model = folded(Problem(pieces=tuple(Piece(length=p) for p in pieces), stock=stock))
    assert l2_bound(model) == best


@pytest.mark.parametrize("stocks", [2, 3])
def test_a_plan_out_of_time_is_claimed_no_better_than_it_is(stocks: int) -> None:
    bettered = 0
    for seed in range(4):
        model = folded(random_problem(500 + stocks + 6 * seed, kinds=6, stocks=stocks, count=12))
        best = over_every_filling(model)
        hurried = solve(model, Effort(0))
        assert hurried.raw <= best <= hurried.cost
        assert hurried.cost == plan_cost(model, hurried.cuts)
        bettered += hurried.cost > best
    assert bettered


def test_the_table_of_fillings_takes_the_memory_that_was_reckoned() -> None:
    """A byte for each cell of its rows, and two rows of eight bytes."""
    for seed in range(6):
        model = folded(random_problem(700 + seed, kinds=8, stocks=2, count=12))
        table = Knapsack(model, Effort(1.0))
        table.fill([1 << 60] * len(model.weights))
        taken = table._taken.nbytes + 2 * table.best.nbytes
        assert table_cells(model) * (table.capacity + 1) == taken * table.capacity


@pytest.mark.parametrize("seed", range(8))
def test_the_worth_of_whole_boards_is_that_of_their_best_filling(seed: int) -> None:
    model = folded(random_problem(800 + seed, kinds=5, stocks=3, count=6))
    values = [Random(seed).randint(1, 50) for _ in model.weights]
    row = make_row(model, Knapsack(model, Effort(1.0)), values)
    for b in range(len(model.bars)):
        assert row.worth[b] == max(
            sum(v * n for v, n in zip(values, numbers, strict=True)) for numbers in every_filling(model, b)
        )
    assert row.need == sum(v for v, d in zip(values, model.demands, strict=True) for _ in range(d))


@pytest.mark.parametrize("limit", [None, 2])
@pytest.mark.parametrize("seed", range(8))
def test_whole_boards_that_meet_every_row_cost_least(seed: int, limit: int | None) -> None:
    """Against every choice of up to twelve boards a kind; large values are rounded to the safe side."""
    chance = Random(seed)
    bars = tuple(
        Bar(capacity=40 + 10 * b, cost=chance.randint(3, 9), limit=limit if b == 1 else None, entry=b)
        for b in range(3)
    )
    model = Model(weights=(30, 20), demands=(4, 4), bars=bars)
    rows = [
        (tuple(chance.randint(4, 9) for _ in bars), chance.randint(20, 48))
        for _ in range(chance.randint(1, 3))
    ]
    choices = product(range(13), range(13 if limit is None else limit + 1), range(13))
    best, numbers = min(
        (sum(b.cost * n for b, n in zip(bars, chosen, strict=True)), chosen)
        for chosen in choices
        if all(sum(w * n for w, n in zip(worth, chosen, strict=True)) >= need for worth, need in rows)
    )
    for times in (1, 10**9):
        sets = BoardSets(model, 13 * sum(bar.cost for bar in bars), Effort(60))
        for worths, need in rows:
            sets.add(Row(values=(), worth=tuple(w * times for w in worths), need=need * times))
        chosen = sets.cheapest(sets.cost)
        assert chosen is not None
        assert sets.floor == sets.cost_of(chosen) == best
        assert all(row.slack(chosen) >= 0 for row in sets.rows)
        assert sets.cheapest(best - 1) is None
    assert numbers[1] <= (12 if limit is None else limit)


@pytest.mark.parametrize("seed", range(30))
def test_the_cheapest_set_under_rows_that_pull_apart(seed: int) -> None:
    """Rows that suit different boards ask for more together than each; large ones are rounded safely."""
    chance = Random(seed)
    bars = tuple(Bar(capacity=40 + b, cost=chance.randint(30, 60), limit=None, entry=b) for b in range(3))
    model = Model(weights=(30,), demands=(4,), bars=bars)
    rows = []
    for b in range(3):
        worth = [chance.randint(0, 3) for _ in bars]
        worth[b] = chance.randint(7, 11)
        rows.append((tuple(worth), chance.randint(15, 40)))
    best = min(
        sum(bar.cost * n for bar, n in zip(bars, counts, strict=True))
        for counts in product(range(9), repeat=3)
        if all(sum(w * n for w, n in zip(worth, counts, strict=True)) >= need for worth, need in rows)
    )
    for times in (1, 3 * 10**9 + 1):
        sets = BoardSets(model, 2 * best, Effort(60))
        for worths, need in rows:
            sets.add(Row(values=(), worth=tuple(w * times for w in worths), need=need * times))
        assert sets.floor <= best
        chosen = sets.cheapest(2 * best)
        assert chosen is not None
        assert sets.floor == sets.cost_of(chosen) == best


@pytest.mark.parametrize("seed", range(6))
def test_rows_that_count_pieces_are_those_of_the_table(seed: int) -> None:
    """One board just holds the shortest piece."""
    model = folded(random_problem(900 + seed, kinds=20, stocks=3, count=3))
    model = replace(model, bars=(replace(model.bars[0], capacity=model.weights[-1]), *model.bars))
    knapsack = Knapsack(model, Effort(60))
    for row in first_rows(model, knapsack):
        assert row == make_row(model, knapsack, row.values)


@pytest.mark.parametrize("seed", range(6))
def test_a_programme_begun_from_another_has_the_optimum_it_has_alone(seed: int) -> None:
    """Of boards that are free but few, begun from the last basis of boards that cost and of new fillings."""
    problem = random_problem(700 + seed, kinds=30, stocks=3, count=3)
    model = folded(
        replace(problem, stock=tuple(replace(s, on_hand=k * seed) for k, s in enumerate(problem.stock)))
    )
    pool = Pool(model)
    pool.add_cuts(construct(model))
    first = Programme(pool, Effort(60))
    root = first.solve(model)
    assert root is not None
    turned, effort = Pool(model), Effort(60)
    for bar, items in reversed(pool.ways):
        turned.add(bar, items)
    again = Programme(turned, effort)
    again.start_from(first)
    assert again.solve(model) is not None
    assert effort.spent == LP_START, "the same fillings in another order take no exchange"
    numbers = [int(n) for n in np.bincount([bar for bar, _ in pool.ways], root.times, len(model.bars))]
    fits = Checks(Generator(model, pool, Knapsack(model, Effort(60)))).of(numbers)
    every = Pool(fits)
    for bar, items in pool.ways:
        every.add(bar, items)
    for i, weight in enumerate(fits.weights):
        every.add(len(model.bars), ((i, fits.bars[-1].capacity // weight),))
    begun, alone = Programme(every, Effort(60)), Programme(every, Effort(60))
    begun.start_from(first)
    found = [each.solve(fits) for each in (begun, alone)]
    assert found[0] is not None
    assert found[1] is not None
    assert found[0].value == pytest.approx(found[1].value, abs=1e-7)
    assert found[0].prices @ every.needs(fits) == pytest.approx(found[1].value)


@pytest.mark.parametrize("seed", range(6))
def test_a_way_down_ends_in_a_choice_as_the_integer_programme_has_it(seed: int) -> None:
    """Both find a choice or neither: every piece once, boards within limits, cost within what is allowed."""
    model = folded(random_problem(800 + seed, kinds=9, stocks=2, count=2))
    pool = Pool(model)
    for bar in range(len(model.bars)):
        for numbers in every_filling(model, bar):
            pool.add(bar, tuple((i, n) for i, n in enumerate(numbers) if n))
    assert not any(pool.add(bar, items) for bar, items in pool.ways), "twice"
    best = over_every_filling(model)
    for most in (best - 1, best):
        cuts, none = plunge(pool, most, Effort(60), tries=20)
        assert (cuts is None) == (most < best)
        assert not none or most < best
    assert cuts is not None
    assert serves(model, cuts)
    assert plan_cost(model, cuts) == best


@pytest.mark.parametrize("mended", [False, True])
def test_a_filled_set_holds_every_piece_on_the_boards_it_has(mended: bool) -> None:
    """Two boards more than the material asks for; most such sets are filled."""
    filled = 0
    for seed in range(12):
        model = folded(random_problem(900 + seed, kinds=6, stocks=3, count=9))
        numbers = [0] * (len(model.bars) - 1) + [-(-model.total // model.bars[-1].capacity) + 2]
        left = Left(model, numbers)
        fill(left, Effort(60))
        cuts = tuple(left.cuts)
        if mended:
            part = Left(model, numbers)
            for cut in left.cuts[1:]:
                part.cut(cut.bar, cut.items, cut.times)
            cuts = mend(part, 400, Effort(60))
        if not serves(model, cuts):
            continue
        filled += 1
        assert sum(cut.times for cut in cuts) <= numbers[-1]
        made = Counter(dict.fromkeys(range(len(model.weights)), 0))
        for cut in cuts:
            assert sum(model.weights[i] * n for i, n in cut.items) <= model.bars[cut.bar].capacity
            made.update({i: n * cut.times for i, n in cut.items})
        assert tuple(made[i] for i in range(len(model.weights))) == model.demands
    assert filled >= 8


@pytest.mark.parametrize("stocks", [1, 3])
def test_prices_from_the_middle_keep_the_bound_and_move_off_the_fillings(stocks: int) -> None:
    """The bound is the programme over every filling; fewer of these look as if they could be used."""
    at_corners, in_the_middle = 0, 0
    for seed in range(6):
        model = folded(random_problem(300 + seed, kinds=6, stocks=stocks, count=9))
        pool = Pool(model)
        pool.add_cuts(construct(model))
        generator = Generator(model, pool, Knapsack(model, Effort(60)))
        root = generator.run()
        generator.programme.inward()
        inner = generator.run(rounds=15)
        assert root is not None
        assert inner is not None
        columns = [(n, bar.cost) for b, bar in enumerate(model.bars) for n in every_filling(model, b)]
        numbers, costs = np.array([n for n, _ in columns]), np.array([cost for _, cost in columns])
        least = linprog(costs, A_ub=-numbers.T, b_ub=-np.array(model.demands)).fun
        assert least is not None
        # every piece's value is rounded down by less than one unit of value
        assert least * (1 + 1e-12) >= inner.bound >= least * (1 - 1e-6) - model.total / generator.scale
        size = len(model.weights)
        at_corners += int((numbers @ root.relaxed.prices[:size] > costs * 0.999).sum())
        in_the_middle += int((numbers @ inner.relaxed.prices[:size] > costs * 0.999).sum())
    assert in_the_middle < at_corners


@pytest.mark.parametrize("seed", range(10))
def test_listed_fillings_are_those_that_waste_no_more_than_the_plan_may(seed: int) -> None:
    model = folded(random_problem(200 + seed, kinds=5, stocks=2, count=4))
    pool = Pool(model)
    cuts = construct(model)
    pool.add_cuts(cuts)
    generator = Generator(model, pool, Knapsack(model, Effort(60)))
    root = generator.run()
    assert root is not None
    target = plan_cost(model, cuts)
    numbers_of = product(*(range(target // bar.cost + 1) for bar in model.bars))
    spare_worth = max(
        root.row.slack(n)
        for n in numbers_of
        if sum(k * bar.cost for k, bar in zip(n, model.bars, strict=True)) <= target
    )
    listed = list_patterns(model, [root.row], target, 10**6, generator.effort)
    assert listed is not None
    expected = set()
    for b in range(len(model.bars)):
        for numbers in every_filling(model, b):
            value = sum(v * n for v, n in zip(root.row.values, numbers, strict=True))
            if value >= root.row.worth[b] - spare_worth:
                expected.add((b, tuple((i, n) for i, n in enumerate(numbers) if n)))
    assert set(listed.ways) == expected


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
