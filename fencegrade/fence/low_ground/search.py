"""The cheapest set of fills and kickboards along one run, by a dynamic programme over its boards.

Costs are counted against the board that would serve without soil, so a board with nothing done adds nothing.
`clean[j]` is the least cost of the first j boards with no taper reaching past them. From there a fill starts
with its taper over the boards before it, grows to the least length, goes on board by board, and ends with a
taper over the boards behind it, after which the run is clean again. Two fills never share a board or a taper.

    clean | taper | least length | board | board | taper | clean
"""

import math

import numpy as np
from msgspec import Struct

from fencegrade.fence.low_ground.fill_places import FillRows
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.tolerances import SAME_COST

_NEVER = math.inf


class FillCosts(Struct, frozen=True, kw_only=True, eq=False):
    """What each row (m,) costs over the board without soil, what its link adds, and its two ends (infinite
    where a fill may not end)."""

    row: Floats
    link: Floats
    before: Floats
    after: Floats


class StripCosts(Struct, frozen=True, kw_only=True, eq=False):
    """Kickboards by bay and stock, (s,) in the order of their `last` board.

    A strip closes the ground under boards `first` to `last`; `alone` is its cost with those boards, `on` with
    the boards after the strip `before` it (-1: it goes on from none).
    """

    first: Indices
    last: Indices
    before: Indices
    alone: Floats
    on: Floats


class Closed(Struct, frozen=True, kw_only=True):
    """What is done: fills as (first row, last row), kickboards as (strip, first board that is its own), and
    the cost over nothing done."""

    fills: tuple[tuple[int, int], ...]
    strips: tuple[tuple[int, int], ...]
    cost: float


def no_strips() -> StripCosts:
    """No kickboard anywhere."""
    none, free = np.zeros(0, dtype=np.int64), np.zeros(0)
    return StripCosts(first=none, last=none, before=none, alone=free, on=free)


def best_closing(boards: int, rows: FillRows, costs: FillCosts, strips: StripCosts) -> Closed:
    """The cheapest fills and kickboards of a run of so many boards.

    Exact for these costs. Time grows with boards and rows. Errors: none. Source: own derivation.
    """
    search = _Search(boards, rows, costs, strips)
    busy = np.unique(np.concatenate([rows.board, rows.after.board[rows.after.possible], strips.last]))
    done = 0
    for j in busy.tolist():
        search.carry(done, j)
        search.board(j)
        done = j + 1
    search.carry(done, boards)
    return search.answer()


class _Search:
    """The state of one sweep, in plain lists: single numbers are read faster from them than from arrays."""

    def __init__(self, boards: int, rows: FillRows, costs: FillCosts, strips: StripCosts) -> None:
        self.clean = [0.0] * (boards + 1)
        self.offer = [_NEVER] * (boards + 1)
        self.chosen = [-1] * (boards + 1)
        self.fill = [_NEVER] * len(rows)
        self.began = [-1] * len(rows)
        self.strip = [_NEVER] * len(strips.last)
        self.strip_on = [False] * len(strips.last)
        self.rows, self.costs, self.strips = rows, costs, strips
        self._rows_by_board(boards)
        self._rows_by_start()
        self.strip_at = np.searchsorted(strips.last, np.arange(boards + 1)).tolist()

    def _rows_by_board(self, boards: int) -> None:
        order = np.argsort(self.rows.board, kind="stable")
        self.order = order.tolist()
        self.at = np.searchsorted(self.rows.board[order], np.arange(boards + 1)).tolist()
        self.joined = self.rows.joined.tolist()
        self.step = (self.costs.row + self.costs.link).tolist()
        self.end_cost, self.end_board = self.costs.after.tolist(), self.rows.after.board.tolist()

    def _rows_by_start(self) -> None:
        """For each row, the rows whose fills first have the least length there."""
        rows, costs = self.rows, self.costs
        total = np.cumsum(costs.row + costs.link)
        starts = np.flatnonzero((rows.least >= 0) & np.isfinite(costs.before))
        until = rows.least[starts]
        body = total[until] - total[starts] + costs.row[starts]
        order = np.argsort(until, kind="stable")
        self.start_row = starts[order].tolist()
        self.start_cost = (costs.before[starts] + body)[order].tolist()
        self.start_board = rows.before.board[starts][order].tolist()
        self.start_at = np.searchsorted(until[order], np.arange(len(rows) + 1)).tolist()

    def carry(self, since: int, until: int) -> None:
        """Boards from `since` up to `until` with nothing to decide."""
        if until > since:
            self.clean[since + 1 : until + 1] = [self.clean[since]] * (until - since)

    def board(self, j: int) -> None:
        """Take a board into account."""
        for i in range(self.at[j], self.at[j + 1]):
            self._row(self.order[i])
        for s in range(self.strip_at[j], self.strip_at[j + 1]):
            self._strip(s)
        if self.offer[j + 1] < self.clean[j] - SAME_COST:
            self.clean[j + 1] = self.offer[j + 1]
        else:
            self.clean[j + 1] = self.clean[j]
            self.chosen[j + 1] = -1

    def _row(self, r: int) -> None:
        best, began = _NEVER, -1
        if self.joined[r]:
            best, began = self.fill[r - 1] + self.step[r], self.began[r - 1]
        for i in range(self.start_at[r], self.start_at[r + 1]):
            cost = self.clean[self.start_board[i]] + self.start_cost[i]
            if cost < best:
                best, began = cost, self.start_row[i]
        if best < _NEVER:
            self.fill[r], self.began[r] = best, began
            self._offer(self.end_board[r] + 1, best + self.end_cost[r], r)

    def _strip(self, s: int) -> None:
        best = self.clean[int(self.strips.first[s])] + float(self.strips.alone[s])
        before = int(self.strips.before[s])
        if before >= 0 and self.strip[before] + float(self.strips.on[s]) < best:
            best, self.strip_on[s] = self.strip[before] + float(self.strips.on[s]), True
        self.strip[s] = best
        self._offer(int(self.strips.last[s]) + 1, best, len(self.fill) + s)

    def _offer(self, board: int, cost: float, what: int) -> None:
        if cost < self.offer[board]:
            self.offer[board], self.chosen[board] = cost, what

    def answer(self) -> Closed:
        """Walk back through the choices."""
        fills: list[tuple[int, int]] = []
        strips: list[tuple[int, int]] = []
        j = len(self.clean) - 1
        taken = np.flatnonzero(np.array(self.chosen) >= 0)
        while (at := int(np.searchsorted(taken, j, side="right"))) > 0:
            what = self.chosen[int(taken[at - 1])]
            if what < len(self.fill):
                fills.append((self.began[what], what))
                j = int(self.rows.before.board[self.began[what]])
            else:
                j = self._walk_strips(what - len(self.fill), strips)
        return Closed(fills=tuple(reversed(fills)), strips=tuple(reversed(strips)), cost=self.clean[-1])

    def _walk_strips(self, s: int, strips: list[tuple[int, int]]) -> int:
        while self.strip_on[s]:
            before = int(self.strips.before[s])
            strips.append((s, int(self.strips.last[before]) + 1))
            s = before
        strips.append((s, int(self.strips.first[s])))
        return int(self.strips.first[s])
