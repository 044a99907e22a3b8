"""Every filling that a cheaper plan could still use, listed by a vectorised search.

Whatever values the pieces are given, no filling of such a plan leaves more worth unused than the whole plan
has to spare (`rows`). Own derivation.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.knapsack import NARROW, Ints
from fencegrade.cutting.model import Model
from fencegrade.cutting.pool import Pool
from fencegrade.cutting.rows import Condition, Row, conditions

MOST_TABLE_CELLS = 20_000_000
"""Cells of the tables that prune the search: 160 MB."""

WIDER = 8
"""Partial fillings kept at a time, for each filling that may be listed: 30,000 take 45 MB."""

TABLE_CELL, PARTIAL, STEP = 1.5e-3, 0.04, 25.0
"""Work of a cell of those tables, of a partial filling looked at, and of a step for one number of pieces."""


def list_patterns(model: Model, rows: Iterable[Row], cost: int, most: int, effort: Effort) -> Pool | None:
    """List the fillings a plan of at most `cost` may use, by these rows; None where they are over `most`."""
    asked = conditions(model, rows, cost)
    capacity = max(bar.capacity for bar in model.bars)
    wanted = [i for i, d in enumerate(model.demands) if d]
    if len(asked) * (len(wanted) + 1) * (capacity + 1) > MOST_TABLE_CELLS or effort.over:
        return None
    tables = [_suffix_tables(model, wanted, condition.values, capacity, effort) for condition in asked]
    listing = _Listing(model, asked)
    for item, *after in zip(wanted, *tables, strict=True):
        listing.step(item, after, effort)
        if listing.size > WIDER * most or len(listing.parents) > 3 * WIDER * most or effort.over:
            return None
    return listing.pool() if listing.size <= most else None


def _suffix_tables(
    model: Model, wanted: Sequence[int], values: Sequence[int], capacity: int, effort: Effort
) -> list[Ints]:
    """Best value of the pieces after each one, for every capacity."""
    rate = max((values[item] / model.weights[item] for item in wanted), default=0.0)
    kind, size = np.int32 if rate * capacity < NARROW else np.int64, capacity + 1
    tables: Ints = np.zeros((len(wanted), size), dtype=kind)
    scratch: Ints = np.empty(size, dtype=kind)
    for k in range(len(wanted) - 1, 0, -1):
        item, after, table = wanted[k], tables[k], tables[k - 1]
        weight, value = model.weights[item], values[item]
        table[:] = after
        for number in range(1, min(model.demands[item], capacity // weight) + 1):
            room = size - number * weight
            np.add(after[:room], number * value, out=scratch[:room])
            np.maximum(table[-room:], scratch[:room], out=table[-room:])
            effort.spend(TABLE_CELL * capacity)
    return list(tables)


class _Listing:
    """Partial fillings, all extended by one piece length at a time.

    A filling is a board kind, the room left, what each condition still asks, and its last node: each node is
    a number of one piece after the node that is its parent.
    """

    def __init__(self, model: Model, conditions: Sequence[Condition]) -> None:
        self.model, self.conditions = model, conditions
        usable = [b for b in range(len(model.bars)) if all(c.least[b] is not None for c in conditions)]
        self.bar = np.array(usable, dtype=np.int64)
        self.room = np.array([model.bars[b].capacity for b in usable], dtype=np.int64)
        self.needs = [np.array([c.least[b] for b in usable], dtype=np.int64) for c in conditions]
        self.node = np.full(len(usable), -1, dtype=np.int64)
        self.parents: list[int] = []
        self.added: list[tuple[int, int]] = []

    @property
    def size(self) -> int:
        """Number of fillings so far."""
        return len(self.bar)

    def step(self, item: int, after: Sequence[Ints], effort: Effort) -> None:
        """Extend by every number of one piece that leaves the conditions within reach.

        after: best value of the pieces to come for every room, by the values of each condition
        """
        weight, parts = self.model.weights[item], []
        for number in range(self.model.demands[item] + 1):
            room = self.room - number * weight
            keep = room >= 0
            for condition, need, table in zip(self.conditions, self.needs, after, strict=True):
                keep &= table[np.maximum(room, 0)] >= need - number * condition.values[item]
            effort.spend(STEP + PARTIAL * self.size)
            parts.append(self._extended(np.flatnonzero(keep), item, number))
            if number * weight > int(self.room.max(initial=0)):
                break
        self.bar, self.room, self.node, *self.needs = map(np.concatenate, zip(*parts, strict=True))

    def _extended(self, chosen: NDArray[np.intp], item: int, number: int) -> list[NDArray[np.int64]]:
        node = self.node[chosen]
        if number:
            first = len(self.parents)
            self.parents += node.tolist()
            self.added += [(item, number)] * len(node)
            node = np.arange(first, first + len(node), dtype=np.int64)
        needs = [
            n[chosen] - number * c.values[item] for n, c in zip(self.needs, self.conditions, strict=True)
        ]
        return [self.bar[chosen], self.room[chosen] - number * self.model.weights[item], node, *needs]

    def pool(self) -> Pool:
        """Collect the fillings."""
        pool = Pool(self.model)
        for bar, node in zip(self.bar.tolist(), self.node.tolist(), strict=True):
            items = []
            while node >= 0:
                items.append(self.added[node])
                node = self.parents[node]
            pool.add(bar, tuple(reversed(items)))
        return pool
