"""Plans where a board gives only one piece: the question is only which boards are taken.

A piece fits on every board that is long enough, so a set of boards serves if no more of them are as short as
some length than there are pieces as short. Taking the cheapest boards first as long as that holds is best of
all (greedy on a transversal matroid: Edmonds and Fulkerson, Journal of Research of the National Bureau of
Standards 69B (1965) 147-153).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from fencegrade.cutting.model import Cut, Model, Result, lacks, plan_cost


def solve_single(model: Model) -> Result:
    """Give every piece a board of its own at least cost, on equal cost shorter boards."""
    cuts = tuple(_hand_out(model, _numbers(model)))
    cost = plan_cost(model, cuts)
    return Result(cuts=cuts, cost=cost, raw=Fraction(cost), short=lacks(model, cuts))


def _numbers(model: Model) -> list[int]:
    """How many boards of each kind are taken."""
    bars, numbers = model.bars, [0] * len(model.bars)
    fits = [
        sum(d for w, d in zip(model.weights, model.demands, strict=True) if w <= bar.capacity) for bar in bars
    ]
    for b in sorted(range(len(bars)), key=lambda b: (bars[b].cost, bars[b].capacity)):
        capacity, limit = bars[b].capacity, bars[b].limit
        free = [
            fit - sum(n for n, other in zip(numbers, bars, strict=True) if other.capacity <= bar.capacity)
            for fit, bar in zip(fits, bars, strict=True)
            if bar.capacity >= capacity
        ]
        numbers[b] = min(free if limit is None else [*free, limit])
    return numbers


def _hand_out(model: Model, numbers: list[int]) -> Iterator[Cut]:
    """The shortest pieces go on the shortest boards."""
    left, i = list(model.demands), len(model.demands) - 1
    for b in sorted(range(len(numbers)), key=lambda b: model.bars[b].capacity):
        while numbers[b]:
            while not left[i]:
                i -= 1
            times = min(numbers[b], left[i])
            left[i] -= times
            numbers[b] -= times
            yield Cut(bar=b, items=((i, 1),), times=times)
