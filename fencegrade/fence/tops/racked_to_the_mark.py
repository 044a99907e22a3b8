"""A racked top's cost brought down by moving posts' heights by whole tape marks.

The line of least timber is not always that of least cost: raising one post to lower the next may bring a
bay onto a shorter stock. A dynamic programme tries every pair of heights in a window about the line, bay
by bay, and the window follows the line until nothing more is gained.

    heights tried      :     :      each pair of dots one straight bay: kept if it clears the ground, and
    at each post       o-----o      its boards counted
                       :     :
"""

from dataclasses import dataclass

import numpy as np

from fencegrade.fence.stock_steps import Indices
from fencegrade.fence.tops.asked import TopWish
from fencegrade.fence.tops.line_on_ground import touches
from fencegrade.ground.profile import Floats

_WINDOW = 32
_CELLS = 4_000_000
_ROUNDS = 6
_HAIR = 1e-8
_GAIN = 1e-9
_TIE = 1e-3
_AT_POST = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Window:
    """Heights tried: `heights` (c, w) in inches at each corner, `piece` (b,) the corners that begin a bay."""

    x: Floats
    heights: Floats
    piece: Indices

    @property
    def size(self) -> int:
        """Heights tried at each corner."""
        return int(self.heights.shape[1])


def cheapest_near(wish: TopWish, x: Floats, heights: Floats) -> Floats | None:
    """Corner heights of less cost within reach of whole tape marks from `heights`; None if there are none.

    `x`, `heights`: (c,) corners of a racked line that keeps its limits, a step as two equal stations (in).
    Result: (c,) inches; the least cost in a window of some 30 marks either way about itself. Source: own
    derivation.
    """
    best, cost = heights, wish.cost.total(np.interp(wish.slots.centre, x, heights))
    for _ in range(_ROUNDS):
        new = _one_window(wish, x, best)
        new_cost = wish.cost.total(np.interp(wish.slots.centre, x, new))
        if new_cost >= cost - _GAIN * (1 + abs(cost)):
            break
        best, cost = new, new_cost
    return best if best is not heights else None


def _one_window(wish: TopWish, x: Floats, heights: Floats) -> Floats:
    piece = np.flatnonzero(np.diff(x) > 0)
    half = int(max(1, min(_WINDOW, np.sqrt(_CELLS / len(piece)) / 2)))
    tried = heights[:, None] + wish.mark * np.arange(-half, half + 1)
    window = _Window(x=x, heights=tried, piece=piece)
    cost = _pair_costs(wish, window)
    # a hair of tolerance keeps the line itself, which rests on the ground, among those that clear it
    least = _least_right(wish, window) - 1e-7
    left, right = tried[piece][:, :, None], tried[piece + 1][:, None, :]
    cost[right < least[:, :, None]] = np.inf
    if wish.limits.most_slope is not None:
        rise = wish.limits.most_slope * (x[piece + 1] - x[piece]) + 1e-7
        cost[np.abs(right - left) > rise[:, None, None]] = np.inf
    return _path(window, cost)


def _pair_costs(wish: TopWish, window: _Window) -> Floats:
    """(b, w, w): cost of each bay's boards by the heights at its two ends, with a trace of timber."""
    size, mark = window.size, wish.mark
    bay = np.clip(np.searchsorted(window.x[window.piece], wish.slots.centre, side="right") - 1, 0, None)
    left = window.piece[bay]
    share = (wish.slots.centre - window.x[left]) / (window.x[left + 1] - window.x[left])
    # the right height, in marks over the least tried, past which each rung is charged
    room = wish.cost.reach[:, None, :] + _HAIR - (window.heights[left] * (1 - share)[:, None])[:, :, None]
    over_post = share[:, None, None] < _AT_POST
    rise = room / np.where(over_post, 1.0, share[:, None, None]) - window.heights[left + 1, 0][:, None, None]
    passed = np.where(over_post, np.where(room >= 0, size, 0), np.floor(rise / mark) + 1)
    cell = np.clip(passed, 0, size)
    cell += (size + 1) * (np.arange(size)[None, :, None] + size * bay[:, None, None])
    charge = np.broadcast_to(wish.cost.charge[:, None, :], cell.shape)
    count = len(window.piece)
    steps = np.bincount(
        cell.ravel().astype(np.int64), charge.ravel(), minlength=count * size * (size + 1)
    ).reshape(count, size, size + 1)[:, :, :size]
    rises = wish.cost.charge[wish.cost.charge > 0]
    tie = _TIE * (rises.min() if rises.size else 1.0) / (len(share) * size * mark + 1)
    weight = tie * np.stack([np.bincount(bay, s, minlength=count) for s in (1 - share, share)])
    lift = mark * np.arange(size)
    trace = weight[0][:, None, None] * lift[:, None] + weight[1][:, None, None] * lift
    return np.asarray(np.cumsum(steps, axis=2) + trace)


def _least_right(wish: TopWish, window: _Window) -> Floats:
    """(b, w): lowest height at each bay's right end that clears the ground, for each at its left end."""
    shape = (len(window.piece), window.size)
    a = np.broadcast_to(window.x[window.piece][:, None], shape).ravel()
    b = np.broadcast_to(window.x[window.piece + 1][:, None], shape).ravel()
    start = window.heights[window.piece].ravel() - wish.least_height
    slope = (wish.line.elevation(b, before=True) - start) / (b - a)
    result = np.full(len(a), np.inf)
    going = np.arange(len(a))
    for _ in range(60):
        high, at = touches(wish.line, a[going], b[going], slope[going])
        over = high - start[going]
        clear = over <= _HAIR
        result[going[clear]] = start[going[clear]] + slope[going[clear]] * (b - a)[going[clear]]
        rising = ~clear & (at > a[going])
        step = over[rising] / (at - a[going])[rising]
        going = going[rising]
        if not len(going):
            break
        slope[going] += step
    return (result + wish.least_height).reshape(shape)


def _path(window: _Window, cost: Floats) -> Floats:
    """Corner heights of least total cost; a step between two corners at one station is free."""
    totals = [np.zeros(window.size)]
    bay = np.full(len(window.x) - 1, -1)
    bay[window.piece] = np.arange(len(window.piece))
    for k in range(len(window.x) - 1):
        total = totals[-1]
        if bay[k] < 0:
            totals.append(np.full(window.size, total.min()))
        else:
            totals.append((total[:, None] + cost[bay[k]]).min(axis=0))
    chosen = np.empty(len(window.x), dtype=np.int64)
    chosen[-1] = int(totals[-1].argmin())
    for k in range(len(window.x) - 2, -1, -1):
        after = cost[bay[k]][:, chosen[k + 1]] if bay[k] >= 0 else 0.0
        chosen[k] = int((totals[k] + after).argmin())
    return window.heights[np.arange(len(window.x)), chosen]
