"""The vectorised knapsack against plain enumeration."""

from __future__ import annotations

from itertools import product

import pytest

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.knapsack import Knapsack
from fencegrade.cutting.model import Bar, Model


@pytest.mark.parametrize(
    ("weights", "most", "values"),
    [
        ((7, 5, 3), (2, 3, 1), (9, 7, 2)),
        ((11, 10, 4, 3), (1, 1, 5, 2), (20, 18, 7, 5)),
        ((6, 5), (9, 9), (0, 3)),
        ((25, 16, 7), (1, 2, 0), (9, 11, 30)),
    ],
)
def test_every_capacity_matches_enumeration(
    weights: tuple[int, ...], most: tuple[int, ...], values: tuple[int, ...]
) -> None:
    capacity = 30
    bar = Bar(capacity=capacity, cost=1, limit=None, entry=0)
    knapsack = Knapsack(Model(weights=weights, demands=most, bars=(bar,)), Effort(1.0))
    knapsack.fill([10] * len(weights))
    best = knapsack.fill(values)
    choices = list(product(*(range(m + 1) for m in most)))
    for room in range(capacity + 1):
        fitting = [c for c in choices if sum(w * n for w, n in zip(weights, c, strict=True)) <= room]
        assert best[room] == max(sum(v * n for v, n in zip(values, c, strict=True)) for c in fitting)
        numbers = knapsack.filling(room)
        assert sum(weights[i] * n for i, n in numbers.items()) <= room
        assert sum(values[i] * n for i, n in numbers.items()) == best[room]
        assert all(n <= most[i] for i, n in numbers.items())
