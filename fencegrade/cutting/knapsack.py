"""Best fillings of a bar for given piece values: one vectorised table for every capacity at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.model import Model

Ints = NDArray[np.signedinteger[Any]]

CALL, STEPS = 2_500, 8
"""What a call costs beside its cells, in cells, and what a filling costs beside its bundles, in bundles."""

CELL = 0.4e-3
"""Work of a cell in units of `Effort`; measured at 240 bundles of 4,800 cells: 0.6 ms."""

NARROW = (1 << 31) - 1
"""Values whose best filling stays within this are computed with half the bytes, a third faster."""


class Knapsack:
    """Bounded knapsack over the pieces of a model; values are whole numbers, so every answer is exact.

    effort: where the work of every table is counted
    """

    def __init__(self, model: Model, effort: Effort) -> None:
        self.capacity, self.effort = max(bar.capacity for bar in model.bars), effort
        self.weights = model.weights
        self._bundles = bundles(model)
        self._taken = np.zeros((len(self._bundles), self.capacity + 1), dtype=np.bool_)
        self.best: Ints = np.zeros(0, dtype=np.int64)

    def fill(self, values: Sequence[int]) -> Ints:
        """Compute the best value for every capacity; pieces without value are left out.

        values: whole value of each piece
        """
        size = self.capacity + 1
        rate = max((v / w for v, w in zip(values, self.weights, strict=True)), default=0.0)
        best: Ints = np.zeros(size, dtype=np.int32 if rate * self.capacity < NARROW else np.int64)
        fresh = np.empty_like(best)
        for taken, (item, bundle, weight) in zip(self._taken, self._bundles, strict=True):
            if values[item] <= 0:
                taken[:] = False
                continue
            above, below = best[weight:], fresh[: size - weight]
            np.add(best[: size - weight], values[item] * bundle, out=below)
            np.greater(below, above, out=taken[weight:])
            np.maximum(above, below, out=above)
        self.effort.spend((len(self._bundles) + STEPS) * (size + CALL) * CELL)
        self.best = best
        return best

    def filling(self, capacity: int) -> dict[int, int]:
        """Trace back a best filling for one capacity as piece numbers by index."""
        numbers: dict[int, int] = {}
        (rows,) = self._taken[:, capacity].nonzero()
        while rows.size:
            item, bundle, weight = self._bundles[rows[-1]]
            numbers[item] = numbers.get(item, 0) + bundle
            capacity -= weight
            (rows,) = self._taken[: rows[-1], capacity].nonzero()
        return numbers


def bundles(model: Model) -> list[tuple[int, int, int]]:
    """Rows of a table: a piece that fits on the longest bar, how many of it at once, their weight."""
    capacity = max(bar.capacity for bar in model.bars)
    return [
        (i, number, number * weight)
        for i, (weight, demand) in enumerate(zip(model.weights, model.demands, strict=True))
        for number in portions(min(demand, capacity // weight))
    ]


def portions(number: int) -> Iterator[int]:
    """1, 2, 4 .. and a rest, so that every number up to this one can be put together."""
    size = 1
    while number > 0:
        yield min(size, number)
        number, size = number - size, size * 2


def table_cells(model: Model) -> int:
    """How many cells the table of fillings has, its few whole rows counted with it."""
    return (len(bundles(model)) + 16) * max(bar.capacity for bar in model.bars)
