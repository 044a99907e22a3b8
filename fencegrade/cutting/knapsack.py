"""Best fillings of a bar for given piece values: one vectorised table for every capacity at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


CALL, STEPS = 4_000, 4
"""What a call costs beside its cells, in cells, and what a filling costs beside its bundles, in bundles."""


class Knapsack:
    """Bounded knapsack over whole weights; values are whole numbers, so every answer is exact.

    weights: folded lengths; most: how many of each may be in one bar; capacity: the largest bar.
    `work` counts the cells computed so far: unlike a clock it is the same on every machine, so what it limits
    is repeatable.
    """

    def __init__(self, weights: Sequence[int], most: Sequence[int], capacity: int) -> None:
        self.capacity = capacity
        self.best: Ints = np.zeros(capacity + 1, dtype=np.int64)
        self._fresh = np.empty_like(self.best)
        self._large = [i for i, w in enumerate(weights) if w <= capacity < 2 * w]
        self._large_weights = np.array([weights[i] for i in self._large], dtype=np.intp)
        self._sorted = [(weights[i], i) for i in self._large]
        self._values: Sequence[int] = ()
        self._left: Sequence[int] | None = None
        bundles = [
            (item, bundle, weight * bundle)
            for item, (weight, number) in enumerate(zip(weights, most, strict=True))
            if 2 * weight <= capacity
            for bundle in _bundles(min(number, capacity // weight))
        ]
        self._taken = np.zeros((len(bundles), capacity + 1), dtype=np.bool_)
        self._stages = [
            (row, item, bundle, weight, *self._views(row, weight))
            for row, (item, bundle, weight) in enumerate(bundles)
        ]
        self._used: list[tuple[int, int, int, int]] = []
        self.work = 0

    def _views(self, row: int, weight: int) -> tuple[Ints, Ints, Ints, NDArray[np.bool_]]:
        end = self.best.size - weight
        return self.best[:end], self.best[weight:], self._fresh[:end], self._taken[row, weight:]

    def fill(self, values: Sequence[int], left: Sequence[int] | None = None) -> Ints:
        """Compute the best value for every capacity; pieces without value are left out.

        values: whole value of each piece; left: pieces still there, where fewer than at the start (of several
        pieces of one length some may then go unused)
        """
        self._values, self._left = values, left
        self._fill_large()
        self._used = []
        there = None if left is None else list(left)
        for row, item, bundle, weight, below, above, fresh, taken in self._stages:
            value = values[item]
            if value <= 0:
                continue
            if there is not None:
                if there[item] < bundle:
                    continue
                there[item] -= bundle
            np.add(below, value * bundle, out=fresh)
            np.greater(fresh, above, out=taken)
            np.maximum(above, fresh, out=above)
            self._used.append((row, item, bundle, weight))
        self.work += (len(self._used) + STEPS) * (self.capacity + CALL)
        return self.best

    def _fill_large(self) -> None:
        """Of the pieces over half the capacity only one fits: a running maximum does for all of them."""
        best = self.best
        best[:] = 0
        if self._large:
            left = self._left
            worth = [self._values[i] if left is None or left[i] else 0 for i in self._large]
            np.maximum.at(best, self._large_weights, np.array(worth, dtype=np.int64))
            np.maximum.accumulate(best, out=best)

    def filling(self, capacity: int) -> dict[int, int]:
        """Trace back a best filling for one capacity as piece numbers by index."""
        numbers: dict[int, int] = {}
        for row, item, bundle, weight in reversed(self._used):
            if weight <= capacity and self._taken[row, capacity]:
                numbers[item] = numbers.get(item, 0) + bundle
                capacity -= weight
        there = [i for w, i in self._sorted if w <= capacity and (self._left is None or self._left[i])]
        if there:
            large = max(there, key=lambda i: self._values[i])
            if self._values[large] > 0:
                numbers[large] = 1
        return numbers


def _bundles(number: int) -> list[int]:
    """Split a count into 1, 2, 4 .. and a rest, so that every smaller count can be put together."""
    parts, size = [], 1
    while number > 0:
        part = min(size, number)
        parts.append(part)
        number -= part
        size *= 2
    return parts
