"""Swaps among plans of equal cost."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest
from msgspec.structs import replace

from fencegrade.cutting.model import Bar, Cut, Model, plan_cost, serves
from fencegrade.cutting.polish import polish

BAR = Bar(capacity=100, cost=1, limit=None, entry=0)


def setups(cuts: tuple[Cut, ...]) -> int:
    return len({(cut.bar, cut.items) for cut in cuts})


def told(cuts: tuple[Cut, ...]) -> list[tuple[int, tuple[tuple[int, int], ...], int]]:
    return sorted((cut.bar, cut.items, cut.times) for cut in cuts)


def test_a_small_piece_moves_into_a_gap_so_that_one_offcut_grows() -> None:
    """90 and 20 + 10 of 100 become 90 + 10 and 20: the longer offcut grows from 70 to 80."""
    model = Model(weights=(90, 20, 10), demands=(1, 1, 1), bars=(BAR,))
    cuts = (Cut(bar=0, items=((0, 1),), times=1), Cut(bar=0, items=((1, 1), (2, 1)), times=1))
    assert told(polish(model, cuts)) == [(0, ((0, 1), (2, 1)), 1), (0, ((1, 1),), 1)]


def test_no_piece_moves_where_that_would_need_one_more_way_of_cutting() -> None:
    """With two boards of 90 a third way of cutting would arise."""
    model = Model(weights=(90, 20, 10), demands=(2, 1, 1), bars=(BAR,))
    cuts = (Cut(bar=0, items=((0, 1),), times=2), Cut(bar=0, items=((1, 1), (2, 1)), times=1))
    assert told(polish(model, cuts)) == told(cuts)


def test_half_empty_boards_are_joined_two_by_two() -> None:
    model = Model(weights=(40,), demands=(5,), bars=(BAR,))
    joined = polish(model, [Cut(bar=0, items=((0, 1),), times=5)])
    assert told(joined) == [(0, ((0, 1),), 1), (0, ((0, 2),), 2)]


def test_two_boards_are_joined_on_the_cheapest_that_holds_both() -> None:
    """The board of 95 at 3 costs less than the two of 45 at 2 each; one at 5 costs more than both."""
    bars = tuple(
        Bar(capacity=capacity, cost=cost, limit=None, entry=i)
        for i, (capacity, cost) in enumerate([(45, 2), (90, 4), (95, 3), (100, 5)])
    )
    model = Model(weights=(45, 40), demands=(1, 1), bars=bars)
    cuts = [Cut(bar=0, items=((i, 1),), times=1) for i in range(2)]
    assert told(polish(model, cuts)) == [(2, ((0, 1), (1, 1)), 1)]
    few = Model(weights=(45, 40), demands=(1, 1), bars=(bars[0], replace(bars[2], limit=1)))
    assert told(polish(few, cuts)) == told(tuple(cuts))
    dear = Model(weights=(45, 40), demands=(1, 1), bars=(bars[0], bars[3]))
    assert told(polish(dear, cuts)) == told(tuple(cuts))


@pytest.mark.parametrize("seed", range(40))
def test_a_polished_plan_holds_the_same_pieces_for_no_more_money_and_boards(seed: int) -> None:
    chance = Random(seed)
    bars = (
        Bar(capacity=60, cost=chance.randint(1, 3), limit=6, entry=0),
        Bar(capacity=80, cost=chance.randint(2, 4), limit=None, entry=1),
        Bar(capacity=120, cost=chance.randint(3, 7), limit=None, entry=2),
    )
    weights = (50, 35, 20, 10)
    cuts, pieces = [], Counter[int]()
    for _ in range(chance.randint(1, 6)):
        bar, items = chance.randrange(3), Counter[int]()
        while sum(weights[i] * n for i, n in items.items()) <= bars[bar].capacity - 50:
            items[chance.randrange(4)] += 1
        if items:
            cuts.append(
                Cut(
                    bar=bar, items=tuple(sorted(items.items())), times=1 if bar == 0 else chance.randint(1, 3)
                )
            )
            pieces.update({i: n * cuts[-1].times for i, n in items.items()})
    model = Model(weights=weights, demands=tuple(pieces[i] for i in range(4)), bars=bars)
    better = polish(model, cuts)
    made = Counter[int]()
    for cut in better:
        assert cut.times > 0
        assert sum(weights[i] * n for i, n in cut.items) <= bars[cut.bar].capacity
        made.update({i: n * cut.times for i, n in cut.items})
    assert made == pieces
    assert serves(model, better)
    assert plan_cost(model, better) <= plan_cost(model, cuts)
    assert sum(cut.times for cut in better) <= sum(cut.times for cut in cuts)
    assert setups(better) == len(better)


def test_two_boards_are_divided_again_into_a_way_that_is_there() -> None:
    """50 + 40 and 30 + 20 hold what 50 + 30, cut already, and 40 + 20 hold: one way fewer, nothing dearer."""
    bars = (Bar(capacity=100, cost=5, limit=None, entry=0),)
    model = Model(weights=(50, 40, 30, 20), demands=(3, 2, 3, 2), bars=bars)
    ways = [((0, 1), (2, 1)), ((0, 1), (1, 1)), ((2, 1), (3, 1)), ((1, 1), (3, 1))]
    found = polish(model, [Cut(bar=0, items=items, times=1 + (k == 0)) for k, items in enumerate(ways)])
    assert setups(found) <= 2
    made: Counter[int] = Counter()
    for cut in found:
        made.update({i: n * cut.times for i, n in cut.items})
    assert [made[i] for i in range(4)] == [3, 2, 3, 2]
    assert plan_cost(model, found) <= 5 * 5


def test_pieces_move_until_most_is_kept_in_offcuts_worth_it() -> None:
    """From 30 on an offcut is kept: 60 + 20 and 70 + 10 of 100 keep nothing, 70 + 20 + 10 and 60 keep 40."""
    model = Model(weights=(70, 60, 20, 10), demands=(1, 1, 1, 1), bars=(BAR,))
    cuts = (Cut(bar=0, items=((1, 1), (2, 1)), times=1), Cut(bar=0, items=((0, 1), (3, 1)), times=1))
    found = polish(model, cuts, lambda gap: gap if gap >= 30 else 0)
    assert told(found) == [(0, ((0, 1), (2, 1), (3, 1)), 1), (0, ((1, 1),), 1)]


@pytest.mark.parametrize("seed", range(15))
def test_keeping_more_changes_no_piece_no_cost_and_adds_no_way(seed: int) -> None:
    chance = Random(seed)
    weights = tuple(sorted(chance.sample(range(8, 70), 6), reverse=True))
    model = Model(weights=weights, demands=(0,) * 6, bars=(BAR, replace(BAR, capacity=140, cost=2)))
    cuts = []
    for _ in range(6):
        bar, items, room = chance.randrange(2), Counter[int](), 0
        room = model.bars[bar].capacity
        while (i := chance.randrange(6)) is not None and weights[i] <= room:
            items[i] += 1
            room -= weights[i]
        if items:
            cuts.append(Cut(bar=bar, items=tuple(sorted(items.items())), times=chance.randint(1, 3)))

    def keeps(gap: int) -> int:
        return gap if gap >= 15 else 0

    def total(plan: tuple[Cut, ...]) -> int:
        gaps = [(model.bars[c.bar].capacity - sum(weights[i] * n for i, n in c.items), c.times) for c in plan]
        assert all(gap >= 0 for gap, _ in gaps)
        return sum(keeps(gap) * times for gap, times in gaps)

    def made(plan: tuple[Cut, ...]) -> Counter[int]:
        return sum((Counter({i: n * c.times for i, n in c.items}) for c in plan), Counter[int]())

    plain, found = polish(model, cuts, lambda gap: 0), polish(model, cuts, keeps)
    assert made(found) == made(plain)
    assert plan_cost(model, found) == plan_cost(model, plain)
    assert setups(found) <= setups(plain)
    assert total(found) >= total(plain)
