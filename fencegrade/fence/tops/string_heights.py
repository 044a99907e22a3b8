"""What a lower or higher string would change: every height of the line at which a board changes stock.

cost
  |            ___|      offset 0: the line as it stands
  |       ____|
  |  o---'               knee: from here each further saving costs more height
  +------------|-- offset of the line, up or down
"""

import numpy as np
from msgspec import Struct

from fencegrade.fence.slots import Slots
from fencegrade.fence.stock_steps import BoardCost, cheapest_from
from fencegrade.fence.tops.asked import least_height_of
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import GroundLine
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import MARK_GRACE

_SAME = 1e-7
"""Inches; heights nearer than this are one height (far less than the grace of a tape mark)."""


class StringHeights(Struct, frozen=True, kw_only=True, eq=False):
    """Every string height at which a board changes stock, lowest first; (m,) each, inches and money.

    `offset`: how far the whole line may at most be raised (negative: lowered) with these boards; `cost` of
    the boards there, one picket a board, with all boards on hand left out; `shortest`: least height there of
    the line and of its boards over the ground; `tallest`: greatest height of a picket's top over the lowest
    ground under it; `boards` (m, s): boards by stock length, shortest stock first; `unserved`: pickets no
    stock serves; `cuts`: boards that are cut at that height, the others stand whole; `knee`: rows where the
    saving by inch of height given up changes for the worse.
    """

    offset: Floats
    cost: Floats
    shortest: Floats
    tallest: Floats
    boards: Indices
    unserved: Indices
    cuts: Indices
    knee: Truths

    def __len__(self) -> int:
        return len(self.offset)

    def row_at(self, offset: float) -> int:
        """The row that holds for a line raised by `offset` (in); the last where it is above them all."""
        return min(int(np.searchsorted(self.offset, offset - _SAME)), len(self) - 1)

    @property
    def sharpest(self) -> int | None:
        """The row at or below the present line that lies farthest under the straight share of the saving.

        Lowering the line as far as this row saves most for its inches; from there on each inch saves less.
        None where every inch saves the same, or more and more.
        """
        last = self.row_at(0.0)
        if last < 2 or self.offset[last] <= self.offset[0]:
            return None
        share = (self.offset[: last + 1] - self.offset[0]) / (self.offset[last] - self.offset[0])
        under = self.cost[0] + share * (self.cost[last] - self.cost[0]) - self.cost[: last + 1]
        row = int(under.argmax())
        return row if under[row] > _SAME * (1 + abs(self.cost[last])) else None


def string_heights(
    line: GroundLine,
    slots: Slots,
    top: TopLine,
    cost: BoardCost,
    lowest: float = 0.0,
    mark: float | None = None,
) -> StringHeights:
    """Every height of a top line, moved up or down whole, at which some board changes stock.

    `line`: the ground; `slots`, `cost`: one picket or more, and their cost by height; `top`: the line that is
    moved; `lowest`: rows where the line comes lower over the ground than this (in) are left out; `mark`: a
    tape's (in), for heights it shows alone, and the line as it stands among them where its cuts are its own.
    The last row is the highest line with a board for every picket that has one in the first. Time n log n in
    the pickets. Source: own derivation. Exact, but for scribed cuts on the tape alone.
    """
    crown = top.at(slots.centre)
    cost = cost if mark is None else cost.on_marks(crown)
    least = least_height_of(line, slots, top)
    tallest = float((crown - line.lowest(slots.left, slots.right)).max())
    change = cost.stock_reach - crown[:, None]
    offset, rank = _heights(change, lowest - least)
    counts = _counts(rank, len(offset))
    row = np.arange(len(offset))
    if mark is not None:
        offset, row = _on_tape(offset, mark)
    cuts = counts[row].sum(axis=1) - counts[row][:, -1] - _whole(cost, crown, offset)
    if mark is not None:
        offset, row, cuts = _with_present(offset, row, cuts, cost, crown, counts)
    owed = counts[row] @ np.append(cheapest_from(cost.stock_costs), 0.0)
    return StringHeights(
        offset=offset,
        cost=owed,
        shortest=least + offset,
        tallest=tallest + offset,
        boards=_by_chosen(counts[row], cost.stock_costs),
        unserved=counts[row][:, -1],
        cuts=cuts,
        knee=_knees(offset, owed),
    )


def _on_tape(offset: Floats, mark: float) -> tuple[Floats, Indices]:
    """The rows that hold at some height on the tape: the highest such height of each, and its row."""
    marks = np.floor(offset / mark + MARK_GRACE)
    kept = np.flatnonzero(np.append(True, np.diff(marks) > 0))
    return marks[kept] * mark, kept


def _with_present(
    offset: Floats, row: Indices, cuts: Indices, cost: BoardCost, crown: Floats, counts: Indices
) -> tuple[Floats, Indices, Indices]:
    """The same rows with one for the line as it stands, where its row holds higher too with other cuts."""
    k = int(np.searchsorted(offset, -_SAME))
    if k == len(offset) or abs(offset[k]) <= _SAME:
        return offset, row, cuts
    own = int(counts[row[k], :-1].sum()) - int(_whole(cost, crown, np.zeros(1))[0])
    if own == cuts[k]:
        return offset, row, cuts
    return np.insert(offset, k, 0.0), np.insert(row, k, row[k]), np.insert(cuts, k, own)


def _whole(cost: BoardCost, crown: Floats, offset: Floats) -> Indices:
    """(m,): boards used whole with the line moved by each offset: no longer than the picket's full length.

    A longer stock taken because it is cheaper is cut.
    """
    whole = np.zeros(len(offset), dtype=np.int64)
    before = np.full(len(crown), -np.inf)
    for k in range(len(cost.stock_costs)):
        if cost.stock_costs[k] <= cost.stock_costs[k:].min():
            low = np.maximum(before, cost.full_least[:, k] - crown)
            high = cost.stock_reach[:, k] - crown
            some = low < high
            whole += np.searchsorted(np.sort(low[some]), offset + _SAME)
            whole -= np.searchsorted(np.sort(high[some]), offset - _SAME)
        before = np.maximum(before, cost.stock_reach[:, k] - crown)
    return whole


def _heights(change: Floats, floor: float) -> tuple[Floats, Indices]:
    """Distinct offsets from `floor` to the first picket to outgrow the longest stock; each change's row."""
    last = change[:, -1]
    able = last[last >= floor]
    roof = float(able.min()) if len(able) and np.isfinite(able.min()) else np.inf
    inside = change[(change >= floor) & (change <= roof) & np.isfinite(change)]
    offsets = np.unique(inside) if len(inside) else np.array([0.0])
    kept = offsets[np.append(np.diff(offsets) > _SAME, True)]
    first = offsets[np.insert(np.diff(offsets) > _SAME, 0, True)]
    # a row's offset is the least of the changes it stands for, so that all of its boards still serve
    return first, np.where(change < first[0], -1, np.searchsorted(kept, change))


def _counts(rank: Indices, rows: int) -> Indices:
    """(rows, s + 1): pickets whose shortest serving stock is each length, at each row's offset."""
    stocks = rank.shape[1]
    passed = np.zeros((rows + 1, stocks), dtype=np.int64)
    for k in range(stocks):
        passed[:, k] = np.bincount(np.minimum(rank[:, k] + 1, rows), minlength=rows + 1)
    beyond = np.cumsum(passed, axis=0)[:rows]
    held = np.column_stack([np.full(rows, len(rank)), beyond])
    return np.column_stack([held[:, :-1] - held[:, 1:], held[:, -1]])


def _by_chosen(counts: Indices, costs: Floats) -> Indices:
    """The same counts where a longer stock that costs less is taken instead of the shortest that serves."""
    chosen = np.arange(len(costs))
    for k in range(len(costs) - 2, -1, -1):
        chosen[k] = k if costs[k] <= costs[chosen[k + 1]] else chosen[k + 1]
    boards = np.zeros((len(counts), len(costs)), dtype=np.int64)
    for k, j in enumerate(chosen):
        boards[:, j] += counts[:, k]
    return boards


def _knees(offset: Floats, cost: Floats) -> Truths:
    """Corners of the lower convex hull of cost by offset."""
    hull: list[int] = []
    for i in range(len(offset)):
        while len(hull) > 1 and _flat(offset, cost, hull[-2], hull[-1], i):
            hull.pop()
        hull.append(i)
    knee = np.zeros(len(offset), dtype=bool)
    knee[hull] = True
    return knee


def _flat(x: Floats, y: Floats, i: int, j: int, k: int) -> bool:
    return bool((y[j] - y[i]) * (x[k] - x[i]) >= (y[k] - y[i]) * (x[j] - x[i]))
