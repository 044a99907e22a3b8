"""Every filling that a cheaper plan could still use, listed by a vectorised search.

In a plan that costs no more than `target` every filling's reduced cost (what the bar costs less what its
pieces are worth) is at most target - bound. Only fillings that no further piece fits into are needed, because
a plan may cut a piece too often. Own derivation from linear programming duality.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting.knapsack import Ints, Knapsack
from fencegrade.cutting.model import Model
from fencegrade.cutting.pool import Pool

MOST_TABLE_CELLS = 20_000_000
WIDER = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """Whole piece values and, for each bar kind, its charge and the least its pieces must be worth."""

    values: tuple[int, ...]
    charges: tuple[int, ...]
    least: tuple[int, ...]


def worth_of(model: Model, values: Sequence[int], scale: int, knapsack: Knapsack, target: int) -> Worth:
    """Scale piece values until no unlimited bar is worth more than it costs, and say what fillings must be
    worth.

    values: whole values, `scale` to one unit of cost; target: the most that the plan sought may cost
    """
    best = knapsack.fill(values)
    worst = Fraction(1)
    for bar in model.bars:
        if bar.limit is None:
            worst = max(worst, Fraction(int(best[bar.capacity]), scale * bar.cost))
    whole = tuple(int(v / worst) for v in values)
    best = knapsack.fill(whole)
    charge = [
        scale * bar.cost if bar.limit is None else max(scale * bar.cost, int(best[bar.capacity]))
        for bar in model.bars
    ]
    bound = sum(v * d for v, d in zip(whole, model.demands, strict=True))
    for bar, charged in zip(model.bars, charge, strict=True):
        if bar.limit is not None:
            bound -= bar.limit * (charged - scale * bar.cost)
    gap = target * scale - bound
    return Worth(values=whole, charges=tuple(charge), least=tuple(charged - gap for charged in charge))


def list_patterns(model: Model, worths: Sequence[Worth], most: int, *, full: bool) -> Pool | None:
    """List the fillings that meet every one of `worths`; None if there are more than `most`.

    full: leave out fillings that a further piece fits into; enough where pieces may be cut too often
    """
    capacity = max(bar.capacity for bar in model.bars)
    if len(worths) * (len(model.weights) + 1) * (capacity + 1) > MOST_TABLE_CELLS:
        return None
    tables = [_suffix_tables(model, worth.values, capacity) for worth in worths]
    listing = _Listing(model, worths, tables, full=full)
    for item in range(len(model.weights)):
        if not listing.step(item, most):
            return None
    return listing.pool() if listing.size <= most else None


def _suffix_tables(model: Model, values: Sequence[int], capacity: int) -> list[Ints]:
    """Best value of the pieces from each one on, for every capacity."""
    table = np.zeros(capacity + 1, dtype=np.int64)
    tables = [table]
    for item in range(len(model.weights) - 1, -1, -1):
        weight, value = model.weights[item], values[item]
        table = table.copy()
        if value > 0:
            after = tables[-1]
            for number in range(1, min(model.demands[item], capacity // weight) + 1):
                room = after[: capacity + 1 - number * weight] + number * value
                np.maximum(table[number * weight :], room, out=table[number * weight :])
        tables.append(table)
    return tables[::-1]


class _Listing:
    """Partial fillings, all extended by one piece length at a time."""

    def __init__(
        self, model: Model, worths: Sequence[Worth], tables: Sequence[list[Ints]], *, full: bool
    ) -> None:
        self.model, self.worths, self.tables = model, worths, tables
        bars = len(model.bars)
        self.bar = np.arange(bars, dtype=np.int64)
        self.room = np.array([bar.capacity for bar in model.bars], dtype=np.int64)
        self.need = [np.array(worth.least, dtype=np.int64) for worth in worths]
        self.node = np.full(bars, -1, dtype=np.int64)
        self.skipped = np.full(bars, 1 << 60, dtype=np.int64)
        self.full = full
        self.rest = [0] * (len(model.weights) + 1)
        for i in range(len(model.weights) - 1, -1, -1):
            self.rest[i] = self.rest[i + 1] + model.weights[i] * model.demands[i]
        self.nodes: list[NDArray[np.int64]] = []
        self.count = 0

    def step(self, item: int, most: int) -> bool:
        """Extend by every number of one piece; false if there are too many."""
        weight, demand = self.model.weights[item], self.model.demands[item]
        parts = []
        start = (self.bar, self.room, self.node, self.skipped, *self.need)
        for number in range(demand + 1):
            room = self.room - number * weight
            skipped = self.skipped if number == demand or not self.full else np.minimum(self.skipped, weight)
            keep = (room >= 0) & (room - self.rest[item + 1] < skipped)
            for worth, need, table in zip(self.worths, self.need, self.tables, strict=True):
                after = table[item + 1][np.maximum(room, 0)]
                keep &= after >= need - number * worth.values[item]
            chosen = np.flatnonzero(keep)
            if chosen.size:
                parts.append(self._extended(start, chosen, item, number, skipped))
            if number * weight > int(self.room.max(initial=0)):
                break
        self._join(parts)
        return bool(self.bar.size <= WIDER * most and self.count <= 3 * WIDER * most)

    def _extended(
        self,
        start: tuple[NDArray[np.int64], ...],
        chosen: NDArray[np.intp],
        item: int,
        number: int,
        skipped: Ints,
    ) -> list[NDArray[np.int64]]:
        bar, room, node, _, *need = start
        nodes = node[chosen]
        if number:
            fresh = np.empty((chosen.size, 3), dtype=np.int64)
            fresh[:, 0], fresh[:, 1], fresh[:, 2] = nodes, item, number
            nodes = np.arange(self.count, self.count + chosen.size, dtype=np.int64)
            self.nodes.append(fresh)
            self.count += chosen.size
        weight = self.model.weights[item]
        moved = [n[chosen] - number * w.values[item] for n, w in zip(need, self.worths, strict=True)]
        return [bar[chosen], room[chosen] - number * weight, nodes, skipped[chosen], *moved]

    def _join(self, parts: list[list[NDArray[np.int64]]]) -> None:
        if not parts:
            empty = np.zeros(0, dtype=np.int64)
            self.bar = self.room = self.node = self.skipped = empty
            self.need = [empty for _ in self.need]
            return
        joined = [np.concatenate(column) for column in zip(*parts, strict=True)]
        self.bar, self.room, self.node, self.skipped, *self.need = joined

    @property
    def size(self) -> int:
        """Number of finished fillings."""
        return int(np.count_nonzero(self.room < self.skipped))

    def pool(self) -> Pool:
        """Collect the finished fillings."""
        pool = Pool(self.model)
        nodes = np.concatenate(self.nodes).tolist() if self.nodes else []
        full = self.room < self.skipped
        for bar, node in zip(self.bar[full].tolist(), self.node[full].tolist(), strict=True):
            items = []
            while node >= 0:
                node, item, number = nodes[node]
                items.append((item, number))
            pool.add(bar, tuple(reversed(items)))
        return pool
