"""A stepped top: level within a bay, changing only at posts, at heights the tape shows.

______
      |______         ______   the cost of each bay grows with its height; a step costs what it is
             |_______|         charged; a dynamic programme weighs them over all bays and heights
   post   post     post
"""

from dataclasses import dataclass

import numpy as np

from fencegrade.fence.stock_steps import NO_STOCK_CHARGE, Indices, Truths
from fencegrade.fence.tops.asked import Proof, TopChoice, TopWish, chosen
from fencegrade.fence.tops.bays import at_faces, bay_edges, bay_of, face_remarks
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import Floats
from fencegrade.job.records import TopStyle
from fencegrade.problems import Problem, note, warning
from fencegrade.units import GRACE

_HAIR = 1e-8
_TIE = 1e-3
_MOST_SIZES = 100_000
"""Bays times step sizes tried for equal steps; beyond it only every so many sizes are tried."""

_MOST_CELLS = 200_000
"""Step sizes times heights carried along at once."""

_MOST_HEIGHTS = 10_000_000
"""Heights weighed in all bays together; beyond it none over what the longest stock serves is looked at."""

ANY = -1
"""No limit on a step, in marks."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bays:
    """The bays on a grid of heights: `anchor` + mark x whole number.

    `low`, `high` (b,): heights looked at, in marks; `cost` a row of each bay's cost at them; `free` (b - 1,)
    whether the step at a post is not limited (a face); `bound` (b,) marks the ground itself asks.
    """

    edges: Floats
    anchor: float
    mark: float
    bound: Indices
    low: Indices
    high: Indices
    cost: list[Floats]
    free: Truths


def choose_stepped(wish: TopWish) -> TopChoice:
    """The stepped top of least cost: boards, a charge per step and per inch of change, within limits.

    `wish.posts`: stations (m,); `wish.limits`: `most_step`, `step_charge`, `change_charge`, `equal_steps`
    (every step up or down the same size, where there is one). Heights lie on tape marks below the highest
    bay's. The limit does not hold at a face, where ground itself steps. Errors: ValueError where the run
    lies outside the readings. Source: own derivation; least cost to within a thousandth of the smallest
    difference between two boards, and of equal costs the least timber.
    """
    edges = bay_edges(wish)
    limit = ANY if wish.limits.most_step is None else int(wish.limits.most_step / wish.mark + GRACE)
    bays = _grid(wish, edges, limit)
    if wish.limits.equal_steps:
        heights, proven = _equal(bays, wish, limit)
    else:
        heights = _lowest_path(bays, wish, limit)
        proven = not _high_steps(wish, bays.low) or _all_under(bays.low) <= _MOST_HEIGHTS
    z = bays.anchor + heights * wish.mark
    top = TopLine(style=TopStyle.STEPPED, stations=np.repeat(edges, 2)[1:-1], elevations=np.repeat(z, 2))
    proof = Proof.COST_ON_TAPE if proven else Proof.NONE
    return chosen(wish, top, proof, tuple(_remarks(wish, bays, heights)))


def _grid(wish: TopWish, edges: Floats, limit: int) -> _Bays:
    asked = wish.line.highest(edges[:-1], edges[1:]) + wish.least_height
    anchor = float(asked.max())
    bound = np.ceil((asked - anchor) / wish.mark - GRACE).astype(np.int64)
    free = at_faces(edges, wish.line)
    low = bound if limit == ANY else _within_steps(bound, limit, free)
    high = np.full(len(low), low.max()) if wish.limits.equal_steps else _caps(wish, edges, anchor, low, limit)
    cost = _bay_costs(wish, edges, anchor, low, high)
    return _Bays(
        edges=edges, anchor=anchor, mark=wish.mark, bound=bound, low=low, high=high, cost=cost, free=free
    )


def _within_steps(least: Indices, limit: int, free: Truths) -> Indices:
    """The lowest heights not under `least` whose steps stay within the limit."""
    low = least.copy()
    for b in range(1, len(low)):
        if not free[b - 1]:
            low[b] = max(low[b], low[b - 1] - limit)
    for b in range(len(low) - 2, -1, -1):
        if not free[b]:
            low[b] = max(low[b], low[b + 1] - limit)
    return low


def _caps(wish: TopWish, edges: Floats, anchor: float, low: Indices, limit: int) -> Indices:
    """The greatest height of each bay that can be part of a best top.

    None is over the highest bay's own. Nor is one over what the longest stock serves, unless the bay is
    forced there, so long as the charge for a picket without stock is over what any two steps are charged;
    nor where the heights would be too many to weigh.
    """
    roof = np.full(len(low), low.max())
    if _high_steps(wish, low) and _all_under(low) <= _MOST_HEIGHTS:
        return roof
    served = np.full(len(low), np.inf)
    np.minimum.at(served, bay_of(edges, wish.slots.centre), wish.cost.stock_reach[:, -1])
    marks = np.minimum(np.floor((served - anchor + _HAIR) / wish.mark), low.max()).astype(np.int64)
    high = np.maximum(marks, low)
    if limit != ANY:
        high = _within_steps(high, limit, np.zeros(len(low) - 1, dtype=bool))
    return np.asarray(np.minimum(high, roof))


def _high_steps(wish: TopWish, low: Indices) -> bool:
    """Whether two steps may be charged more than a picket without stock."""
    steps = 2 * (wish.limits.step_charge + wish.limits.change_charge * wish.mark * np.ptp(low))
    return bool(steps >= NO_STOCK_CHARGE * wish.cost.stock_costs.max())


def _all_under(low: Indices) -> int:
    """How many heights lie between the lowest of each bay and the highest bay's."""
    return int((low.max() - low + 1).sum())


def _bay_costs(wish: TopWish, edges: Floats, anchor: float, low: Indices, high: Indices) -> list[Floats]:
    """What the pickets of each bay cost at each of its heights, with a trace of timber to settle ties."""
    bay = bay_of(edges, wish.slots.centre)
    count = np.bincount(bay, minlength=len(low))
    width = high - low + 1
    start = np.cumsum(width + 1) - (width + 1)
    passed = np.floor((wish.cost.reach + _HAIR - anchor) / wish.mark) + 1
    cell = np.clip(passed - low[bay][:, None], 0, width[bay][:, None]).astype(np.int64) + start[bay][:, None]
    steps = np.bincount(cell.ravel(), wish.cost.charge.ravel(), minlength=int((width + 1).sum()))
    base = np.bincount(bay, wish.cost.base, minlength=len(low))
    least = wish.cost.charge[wish.cost.charge > 0]
    tie = _TIE * (least.min() if least.size else 1.0) / max(1.0, float((count * width).sum()))
    return [
        base[b] + np.cumsum(steps[s : s + w]) + tie * count[b] * np.arange(w)
        for b, (s, w) in enumerate(zip(start, width, strict=True))
    ]


def _lowest_path(bays: _Bays, wish: TopWish, limit: int) -> Indices:
    """Heights (b,) in marks of least total cost."""
    step, rate = wish.limits.step_charge, wish.limits.change_charge * wish.mark
    totals = [bays.cost[0]]
    for b in range(1, len(bays.low)):
        reach = ANY if bays.free[b - 1] else limit
        before = _spread(totals[-1], bays.low[b - 1], bays.low[b], bays.high[b], reach, step, rate)
        totals.append(before + bays.cost[b])
    heights = np.empty(len(totals), dtype=np.int64)
    heights[-1] = bays.low[-1] + int(totals[-1].argmin())
    for b in range(len(totals) - 2, -1, -1):
        here = bays.low[b] + np.arange(len(totals[b]))
        change = np.abs(here - heights[b + 1])
        charge = step * (change > 0) + rate * change
        if limit != ANY and not bays.free[b]:
            charge = np.where(change > limit, np.inf, charge)
        heights[b] = here[int((totals[b] + charge).argmin())]
    return heights


def _spread(
    total: Floats, low: int, new_low: int, new_high: int, limit: int, step: float, rate: float
) -> Floats:
    """Least cost of coming to each new height: staying costs nothing, a step its charges.

    `total`: cost at heights from `low` on; result at `new_low` to `new_high`; all in marks.
    """
    first, last = min(low, new_low), max(low + len(total) - 1, new_high)
    stay = np.full(last - first + 1, np.inf)
    stay[low - first : low - first + len(total)] = total
    slope = rate * np.arange(len(stay))
    rising = _trailing_min(stay - slope, limit) + slope
    falling = _trailing_min((stay + slope)[::-1], limit)[::-1] - slope
    best = np.minimum(stay, step + np.minimum(rising, falling))
    return np.asarray(best[new_low - first : new_high - first + 1])


def _trailing_min(values: Floats, reach: int) -> Floats:
    """The least of each value and the `reach` values before it; of all before it for ANY.

    A window spans two blocks of its own width at most: the end of one and the start of the next.
    """
    count, width = len(values), reach + 1
    if reach == ANY or reach >= count:
        return np.minimum.accumulate(values)
    blocks = np.full((-(-count // width), width), np.inf)
    blocks.flat[:count] = values
    before = np.minimum.accumulate(blocks, axis=1).ravel()[:count]
    after = np.minimum.accumulate(blocks[:, ::-1], axis=1)[:, ::-1].ravel()[:count]
    before[reach:] = np.minimum(before[reach:], after[: count - reach])
    return before


def _equal(bays: _Bays, wish: TopWish, limit: int) -> tuple[Indices, bool]:
    """Heights of least cost whose steps, but at faces, are of one size; whether every size was tried."""
    most = int(np.ptp(bays.low))
    if limit != ANY:
        most = min(most, limit)
    stride = 1 + most * len(bays.low) // _MOST_SIZES
    sizes = np.arange(0, most + 1, stride)
    rows = max(1, _MOST_CELLS // (most + 1))
    parts = [sizes[k : k + rows] for k in range(0, len(sizes), rows)]
    totals = np.concatenate([_least_by_size(bays, wish, part) for part in parts])
    _, heights = _one_size(bays, wish, int(sizes[totals.argmin()]))
    return heights, stride == 1


def _size_charges(wish: TopWish, sizes: Indices) -> Floats:
    """What a step of each size is charged; nothing where the size is none."""
    charge = wish.limits.step_charge + wish.limits.change_charge * wish.mark * sizes
    return np.where(sizes > 0, charge, 0.0)


def _least_by_size(bays: _Bays, wish: TopWish, sizes: Indices) -> Floats:
    """Least cost for each size of step (k,), all sizes carried along together."""
    roof, charge = int(bays.high[0]), _size_charges(wish, sizes)[:, None]
    total = np.tile(bays.cost[0], (len(sizes), 1))
    row = np.arange(len(sizes))[:, None]
    for b in range(1, len(bays.low)):
        low = int(bays.low[b - 1])
        if bays.free[b - 1]:
            step, rate = wish.limits.step_charge, wish.limits.change_charge * wish.mark
            before = np.stack([_spread(t, low, int(bays.low[b]), roof, ANY, step, rate) for t in total])
        else:
            # one infinite cell at each end stands for every height not looked at
            padded = np.pad(total, ((0, 0), (1, 1)), constant_values=np.inf)
            here = np.arange(bays.low[b], roof + 1) - low + 1
            stay, under, over = (
                padded[row, np.clip(here + shift, 0, padded.shape[1] - 1)]
                for shift in (0 * row, -sizes[:, None], sizes[:, None])
            )
            before = np.minimum(stay, charge + np.minimum(under, over))
        total = before + bays.cost[b]
    return np.asarray(total.min(axis=1))


def _one_size(bays: _Bays, wish: TopWish, size: int) -> tuple[float, Indices]:
    """The least cost and its heights where a step is `size` marks up or down, or none."""
    charge = float(_size_charges(wish, np.array([size]))[0])
    roof = int(bays.high[0])
    totals = [bays.cost[0]]
    for b in range(1, len(bays.low)):
        total, low = totals[-1], int(bays.low[b - 1])
        if bays.free[b - 1]:
            before = _spread(
                total, low, int(bays.low[b]), roof, ANY, wish.limits.step_charge,
                wish.limits.change_charge * wish.mark,
            )  # fmt: skip
        else:
            here = np.arange(bays.low[b], roof + 1)
            before = np.minimum(
                _look(total, low, here),
                charge + np.minimum(_look(total, low, here - size), _look(total, low, here + size)),
            )
        totals.append(before + bays.cost[b])
    return float(totals[-1].min()), _trace_one_size(bays, wish, totals, size, charge)


def _look(total: Floats, low: int, heights: Indices) -> Floats:
    """Cost at heights, infinite outside those looked at."""
    index = heights - low
    inside = (index >= 0) & (index < len(total))
    return np.where(inside, total[np.clip(index, 0, len(total) - 1)], np.inf)


def _trace_one_size(bays: _Bays, wish: TopWish, totals: list[Floats], size: int, charge: float) -> Indices:
    heights = np.empty(len(totals), dtype=np.int64)
    heights[-1] = bays.low[-1] + int(totals[-1].argmin())
    for b in range(len(totals) - 2, -1, -1):
        here = bays.low[b] + np.arange(len(totals[b]))
        change = np.abs(here - heights[b + 1])
        if bays.free[b]:
            cost = (change > 0) * wish.limits.step_charge + change * wish.limits.change_charge * wish.mark
        else:
            cost = np.where(change == 0, 0.0, np.where(change == size, charge, np.inf))
        heights[b] = here[int((totals[b] + cost).argmin())]
    return heights


def _remarks(wish: TopWish, bays: _Bays, heights: Indices) -> list[Problem]:
    """Bays the step limit holds up, faces inside a bay, and steps at faces."""
    found = face_remarks(wish, bays.edges)
    held = (bays.low - bays.bound) * wish.mark
    if (held > 0).any() and wish.limits.most_step is not None:
        worst = int(held.argmax())
        found.append(
            warning(
                wish.place(float(bays.edges[worst])),
                f"{int((held > 0).sum())} bays stand higher than their ground asks, so that no step is over "
                f"{wish.say(wish.limits.most_step)}; bay {worst + 1} by {wish.say(float(held[worst]))}",
                "allow a larger step, or set posts closer there",
            )
        )
    steps = np.diff(heights) * wish.mark
    found.extend(
        note(
            wish.place(float(bays.edges[b + 1])),
            f"the top steps {wish.say(abs(float(steps[b])))} at a face of the ground",
        )
        for b in np.flatnonzero(bays.free & (steps != 0))
    )
    return found
