"""Board sets: whole numbers of each kind of board that meet every row, cheapest first.

A depth-first search over the kinds, dearest first. Tables of the most worth that money buys of the kinds
still open (`rows.table`) cut off what cannot meet a row any more; whole numbers throughout, so that nothing
found missing was there. Own derivation.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.knapsack import Ints
from fencegrade.cutting.model import Model
from fencegrade.cutting.rows import Row, scaled, table, unit_of

MOST_TABLED = 5
"""Rows whose tables prune the search: those that ask for the dearest boards."""

MOST_NODES = 12_000
"""Kinds looked at for one cheapest set, 15 to 40 units each; with 3,000 a list of 60 stayed unproven."""

NODE, TABLE_CELL = 40.0, 4e-3

Numbers = tuple[int, ...]


class UnsettledError(Exception):
    """A search that was cut short: what it looked for may be there or not."""


class _Tabled(Struct, frozen=True, kw_only=True):
    """A row with the tables of its kinds from each one on, last of all the empty one."""

    row: Row
    worth: Numbers
    need: int
    tables: tuple[Ints, ...]
    least: int


class BoardSets:
    """The sets of boards of a model that cost at most `cost` and meet the rows added so far.

    Boards on hand cost nothing, so every set has all of them. `floor` is a cost that no set goes under.
    """

    def __init__(self, model: Model, cost: int, effort: Effort) -> None:
        self.model, self.cost, self.effort = model, cost, effort
        self.unit = unit_of(cost)
        bought = [b for b, bar in enumerate(model.bars) if 0 < bar.cost <= cost and bar.limit != 0]
        self.kinds = sorted(bought, key=lambda b: -model.bars[b].cost)
        self.rows: list[Row] = []
        self.tabled: list[_Tabled] = []
        self.floor = 0

    def add(self, row: Row) -> None:
        """Let sets meet one more row."""
        worth, row_need, _ = scaled(row)
        need = row_need - sum(
            w * (bar.limit or 0) for w, bar in zip(worth, self.model.bars, strict=True) if not bar.cost
        )
        tables = [np.zeros(self.cost // self.unit + 1, dtype=np.int64)]
        for b in reversed(self.kinds):
            tables.append(table([self.model.bars[b]], [worth[b]], self.unit, self.cost, tables[-1]))
            self.effort.spend(TABLE_CELL * len(tables[-1]))
        tables.reverse()
        least = int(np.searchsorted(tables[0], need)) * self.unit
        self.floor = max(self.floor, least)
        self.rows.append(row)
        self.tabled.append(_Tabled(row=row, worth=worth, need=need, tables=tuple(tables), least=least))
        if len(self.tabled) > MOST_TABLED:
            self.tabled.remove(min(self.tabled, key=lambda t: t.least))

    def cheapest(self, most: int, nodes: int = MOST_NODES) -> Numbers | None:
        """Give a set of least cost, at most `most`, and raise `floor` to what is proven; None: there is none.

        nodes: kinds looked at; where these are too few the cheapest set found so far is given. Raises
        `UnsettledError` where none was.
        """
        step, found, above, search = 1, None, most + 1, _Search(self, nodes)
        while self.floor < above:
            cap = min(self.floor + step - 1, (self.floor + above - 1) // 2)
            try:
                better = search.within(cap)
            except UnsettledError:
                if found is None:
                    raise
                break
            if better is None:
                self.floor, step = cap + 1, step * 2
            else:
                found, above = better, self.cost_of(better)
        return found

    @property
    def tightest(self) -> list[Row]:
        """The rows that ask for the dearest boards."""
        return [t.row for t in self.tabled]

    def cost_of(self, numbers: Numbers) -> int:
        """What a set costs."""
        return sum(bar.cost * n for bar, n in zip(self.model.bars, numbers, strict=True))


class _Search:
    """Searches for sets within an amount of money.

    nodes: kinds that all of them may look at
    """

    def __init__(self, sets: BoardSets, nodes: int) -> None:
        self.sets, self.nodes = sets, nodes
        self.numbers: list[int] = []

    def within(self, cap: int) -> Numbers | None:
        """Any set of at most `cap`. Raises `UnsettledError` where the search is cut short."""
        self.numbers = [(bar.limit or 0) if not bar.cost else 0 for bar in self.sets.model.bars]
        return self._down(0, min(cap, self.sets.cost), [t.need for t in self.sets.tabled])

    def _down(self, level: int, left: int, needs: list[int]) -> Numbers | None:
        """Choose the number of the kind at `level` with `left` to spend and the worth still wanted."""
        sets = self.sets
        if level == len(sets.kinds):
            numbers = tuple(self.numbers)
            return numbers if all(row.slack(numbers) >= 0 for row in sets.rows) else None
        self.nodes -= 1
        sets.effort.spend(NODE)
        if self.nodes < 0 or sets.effort.over:
            raise UnsettledError
        kind = sets.kinds[level]
        bar = sets.model.bars[kind]
        most = left // bar.cost if bar.limit is None else min(bar.limit, left // bar.cost)
        sets.effort.spend(TABLE_CELL * most)
        count = np.arange(most + 1, dtype=np.int64)
        cells = (left - bar.cost * count) // sets.unit
        fits = np.ones(most + 1, dtype=np.bool_)
        for tabled, need in zip(sets.tabled, needs, strict=True):
            fits &= tabled.tables[level + 1][cells] >= need - tabled.worth[kind] * count
        chosen = np.flatnonzero(fits)[::-1].tolist()
        if level == len(sets.kinds) - 1 and chosen:
            chosen = [chosen[-1], chosen[0]]
        for n in chosen:
            self.numbers[kind] = n
            after = [need - t.worth[kind] * n for need, t in zip(needs, sets.tabled, strict=True)]
            found = self._down(level + 1, left - bar.cost * n, after)
            if found is not None:
                return found
        self.numbers[kind] = 0
        return None
