"""First plans: each filling on the cheapest board that holds it, and no more boards than there are."""

from __future__ import annotations

from collections.abc import Iterable
from random import Random

import pytest

from fencegrade.cutting.constructive import construct, tidied
from fencegrade.cutting.model import Bar, Cut, Left, Model, plan_cost, serves

SHORT = Bar(capacity=50, cost=1, limit=3, entry=0)
MIDDLE = Bar(capacity=70, cost=2, limit=1, entry=1)
LONG = Bar(capacity=100, cost=5, limit=None, entry=2)


def tidy(model: Model, cuts: Iterable[Cut]) -> tuple[Cut, ...]:
    rough = Left(model)
    for cut in cuts:
        assert rough.cut(cut.bar, cut.items, cut.times) == cut.times
    return tidied(rough)


def test_fillings_move_to_cheaper_boards_while_these_last() -> None:
    """Two 40s and two 45s fill the three short boards and then the middle one; the 60 stays."""
    model = Model(weights=(60, 45, 40), demands=(1, 2, 2), bars=(SHORT, MIDDLE, LONG))
    alone = [Cut(bar=2, items=((i, 1),), times=n) for i, n in ((2, 2), (1, 2), (0, 1))]
    assert [(cut.bar, cut.items[0][0], cut.times) for cut in tidy(model, alone)] == [
        (0, 2, 2),
        (0, 1, 1),
        (1, 1, 1),
        (2, 0, 1),
    ]


def test_boards_a_plan_already_uses_are_not_there_twice() -> None:
    model = Model(weights=(50, 40), demands=(2, 3), bars=(SHORT, LONG))
    cuts = [Cut(bar=0, items=((1, 1),), times=2), Cut(bar=1, items=((0, 1),), times=2)]
    assert [(cut.bar, cut.times) for cut in tidy(model, cuts)] == [(0, 2), (0, 1), (1, 1)]


@pytest.mark.parametrize("seed", range(30))
def test_a_first_plan_cuts_everything_once_serves_and_cannot_be_tidied(seed: int) -> None:
    chance = Random(seed)
    weights = tuple(sorted(chance.sample(range(15, 90), 6), reverse=True))
    bars = tuple(
        Bar(capacity=c, cost=chance.randint(2, 9), limit=chance.choice([1, 2, 5]), entry=i)
        for i, c in enumerate(chance.sample(range(30, 90), 3))
    )
    model = Model(
        weights=weights,
        demands=tuple(chance.randint(1, 5) for _ in weights),
        bars=(*bars, Bar(capacity=100, cost=chance.randint(4, 12), limit=None, entry=3)),
    )
    cuts = construct(model)
    assert serves(model, cuts)
    made = [0] * len(weights)
    for cut in cuts:
        assert cut.times > 0
        assert sum(weights[i] * n for i, n in cut.items) <= model.bars[cut.bar].capacity
        for i, n in cut.items:
            made[i] += n * cut.times
    assert tuple(made) == model.demands
    assert plan_cost(model, tidy(model, cuts)) == plan_cost(model, cuts)
