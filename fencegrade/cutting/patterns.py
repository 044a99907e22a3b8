"""Every filling that a cheaper plan could still use, listed by a vectorised search.

Whatever values the pieces are given, no filling of such a plan leaves more worth unused than the whole plan
has to spare (`rows`). Where a plan may cut a piece too often, only fillings that no further piece fits into
are needed. Own derivation.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.knapsack import Ints
from fencegrade.cutting.model import Model
from fencegrade.cutting.pool import Pool
from fencegrade.cutting.rows import Condition

MOST_TABLE_CELLS = 20_000_000
"""Cells of the tables that prune the search: 160 MB."""

WIDER = 8
"""Partial fillings kept at a time, for each filling that may be listed: 30,000 take 45 MB."""

TABLE_CELL, PARTIAL, STEP = 1.5e-3, 0.04, 25.0
"""Work of a cell of those tables, of a partial filling looked at, and of a step for one number of pieces."""


def list_patterns(
    model: Model, conditions: Sequence[Condition], most: int, effort: Effort, *, full: bool
) -> Pool | None:
    """List the fillings that meet every one of `conditions`; None if there are more than `most`.

    full: leave out fillings that a further piece fits into; enough where pieces may be cut too often
    """
    capacity = max(bar.capacity for bar in model.bars)
    if len(conditions) * (len(model.weights) + 1) * (capacity + 1) > MOST_TABLE_CELLS or effort.over:
        return None
    tables = [_suffix_tables(model, condition.values, capacity, effort) for condition in conditions]
    listing = _Listing(model, conditions, tables, effort, full=full)
    for item in range(len(model.weights)):
        if not listing.step(item, most) or effort.over:
            return None
    return listing.pool() if listing.size <= most else None


def _suffix_tables(model: Model, values: Sequence[int], capacity: int, effort: Effort) -> list[Ints]:
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
                effort.spend(TABLE_CELL * capacity)
        tables.append(table)
    return tables[::-1]


class _Listing:
    """Partial fillings, all extended by one piece length at a time."""

    def __init__(
        self,
        model: Model,
        conditions: Sequence[Condition],
        tables: Sequence[list[Ints]],
        effort: Effort,
        *,
        full: bool,
    ) -> None:
        self.model, self.conditions, self.tables, self.effort = model, conditions, tables, effort
        bars = [b for b in range(len(model.bars)) if all(c.least[b] is not None for c in conditions)]
        self.bar = np.array(bars, dtype=np.int64)
        self.room = np.array([model.bars[b].capacity for b in bars], dtype=np.int64)
        self.need = [np.array([c.least[b] for b in bars], dtype=np.int64) for c in conditions]
        self.node = np.full(len(bars), -1, dtype=np.int64)
        self.skipped = np.full(len(bars), 1 << 60, dtype=np.int64)
        self.full = full
        self.rest = [0] * (len(model.weights) + 1)
        for i in range(len(model.weights) - 1, -1, -1):
            self.rest[i] = self.rest[i + 1] + model.weights[i] * model.demands[i]
        self.nodes: list[NDArray[np.int64]] = []
        self.count = 0

    def step(self, item: int, most: int) -> bool:
        """Extend by every number of one piece; false if there are too many."""
        weight, demand = self.model.weights[item], self.model.demands[item]
        parts: list[list[NDArray[np.int64]]] = []
        found = 0
        start = (self.bar, self.room, self.node, self.skipped, *self.need)
        for number in range(demand + 1):
            room = self.room - number * weight
            skipped = self.skipped if number == demand or not self.full else np.minimum(self.skipped, weight)
            keep = (room >= 0) & (room - self.rest[item + 1] < skipped)
            for condition, need, table in zip(self.conditions, self.need, self.tables, strict=True):
                after = table[item + 1][np.maximum(room, 0)]
                keep &= after >= need - number * condition.values[item]
            chosen = np.flatnonzero(keep)
            self.effort.spend(STEP + PARTIAL * self.bar.size)
            found += chosen.size
            if found > WIDER * most:
                return False
            if chosen.size:
                parts.append(self._extended(start, chosen, item, number, skipped))
            if number * weight > int(self.room.max(initial=0)):
                break
        self._join(parts)
        return self.count <= 3 * WIDER * most

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
        moved = [n[chosen] - number * w.values[item] for n, w in zip(need, self.conditions, strict=True)]
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
