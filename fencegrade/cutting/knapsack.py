"""Best fillings of a bar for given piece values: one vectorised table for every capacity at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting.effort import Effort

Ints = NDArray[np.signedinteger[Any]]
_Stage = tuple[int, int, int, int, Ints, Ints, Ints, NDArray[np.bool_]]

CALL, STEPS = 2_500, 8
"""What a call costs beside its cells, in cells, and what a filling costs beside its bundles, in bundles."""

CELL = 0.4e-3
"""Work of a cell in units of `Effort`; measured at 240 bundles of 4,800 cells: 0.6 ms."""

NARROW = (1 << 31) - 1
"""Values whose best filling stays within this are computed with half the bytes, a third faster."""


class Knapsack:
    """Bounded knapsack over whole weights; values are whole numbers, so every answer is exact.

    weights: folded lengths; most: how many of each may be in one bar; capacity: the largest bar.
    effort: where the work of every table is counted
    """

    def __init__(
        self, weights: Sequence[int], most: Sequence[int], capacity: int, effort: Effort | None = None
    ) -> None:
        self.capacity, self.effort = capacity, effort or Effort(0.0)
        self._weights = np.array(weights, dtype=np.float64)
        self.best: Ints = np.zeros(capacity + 1, dtype=np.int64)
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
        self._bundles = bundles
        self._taken = np.zeros((len(bundles), capacity + 1), dtype=np.bool_)
        self._stages: dict[Any, list[_Stage]] = {}
        self._rows: dict[Any, tuple[Ints, Ints]] = {}
        self._used: list[tuple[int, int, int, int]] = []

    def _prepared(self, kind: Any) -> list[_Stage]:
        """The stages of the table for whole numbers of one width, made when first wanted."""
        if kind not in self._stages:
            best, fresh = np.zeros(self.capacity + 1, dtype=kind), np.empty(self.capacity + 1, dtype=kind)
            self._rows[kind] = best, fresh
            size = best.size
            self._stages[kind] = [
                (
                    row,
                    item,
                    bundle,
                    weight,
                    best[: size - weight],
                    best[weight:],
                    fresh[: size - weight],
                    self._taken[row, weight:],
                )
                for row, (item, bundle, weight) in enumerate(self._bundles)
            ]
        self.best = self._rows[kind][0]
        return self._stages[kind]

    def fill(self, values: Sequence[int], left: Sequence[int] | None = None) -> Ints:
        """Compute the best value for every capacity; pieces without value are left out.

        values: whole value of each piece; left: pieces still there, where fewer than at the start (of several
        pieces of one length some may then go unused)
        """
        self._values, self._left = values, left
        rate = max((v / w for v, w in zip(values, self._weights.tolist(), strict=True)), default=0.0)
        stages = self._prepared(np.int32 if rate * self.capacity < NARROW else np.int64)
        self._fill_large()
        self._used = []
        there = None if left is None else list(left)
        for row, item, bundle, weight, below, above, fresh, taken in stages:
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
        self.effort.spend((len(self._used) + STEPS) * (self.capacity + CALL) * CELL)
        return self.best

    def _fill_large(self) -> None:
        """Of the pieces over half the capacity only one fits: a running maximum does for all of them."""
        best = self.best
        best[:] = 0
        if self._large:
            left = self._left
            worth = [self._values[i] if left is None or left[i] else 0 for i in self._large]
            np.maximum.at(best, self._large_weights, np.array(worth, dtype=best.dtype))
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
