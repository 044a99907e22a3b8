"""Straight pieces between corners made cheaper by moving corners' heights by whole tape marks.

The line of least timber is not always that of least cost: raising one corner to lower the next may bring a
piece onto a shorter stock. Every pair of heights in a window about the line is tried for each piece, the best
of all together is found by taking out one corner after the other, and the window follows the line until
nothing more is gained.

    heights tried      :     :      each pair of dots one straight piece: kept if it clears the ground, and
    at each corner     o-----o      its boards counted
                       :     :
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.tops.asked import TopWish
from fencegrade.fence.tops.chains import Chain, Meeting, corner_names, highest_needed
from fencegrade.fence.tops.least_sum import least_sum
from fencegrade.fence.tops.line_on_ground import touches
from fencegrade.fence.tops.linear_programme import Aim, solve_chains
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.tolerances import REACH_GRACE, SAME_COST

_WINDOW = 32
_CELLS = 4_000_000
_AT_ONCE = 64
"""Pieces whose boards are counted together: what they take stays near the processor."""
_ROUNDS = 6
_TIE = 1e-3
_FLATTER = 1e-4
"""Timber (in) that a square inch of rise counts, so little that of lines alike in cost and timber the
flattest is taken, whichever end they are walked from."""
_AT_CORNER = 1e-9
_RESTS = 1e-7
"""Inches by which a line that rests on the ground may pierce it through rounding of the arithmetic."""


class _Window(Struct, frozen=True, kw_only=True, eq=False):
    """Heights tried on one chain: `heights` (c, w) in inches at each corner, `step` (in) apart; `piece` (b,)
    the corners that begin a straight piece."""

    chain: Chain
    heights: Floats
    step: float
    piece: Indices

    @property
    def size(self) -> int:
        """Heights tried at each corner."""
        return int(self.heights.shape[1])


def total_cost(wishes: Sequence[TopWish], chains: Sequence[Chain], heights: Sequence[Floats]) -> float:
    """What the boards of all runs cost under lines with these corner heights (in), charges included."""
    return sum(
        w.cost.total(np.interp(w.slots.centre, c.x, z))
        for w, c, z in zip(wishes, chains, heights, strict=True)
    )


def cheapest_near(
    wishes: Sequence[TopWish],
    chains: Sequence[Chain],
    heights: Sequence[Floats],
    meetings: Sequence[Meeting],
    strides: Sequence[int],
) -> list[Floats]:
    """Corner heights of no more cost, within reach of whole tape marks from `heights`.

    `wishes`, `chains`, `heights`: one a run; the heights (c,) in inches keep all limits and agree where runs
    meet. `strides`: marks between heights tried, one search after the other. Result: the least cost in a
    window of some 30 strides either way about itself. Source: own derivation.
    """
    best, cost = [np.array(z) for z in heights], total_cost(wishes, chains, heights)
    for stride in strides:
        for _ in range(_ROUNDS):
            new = _one_window(wishes, chains, best, meetings, stride)
            new_cost = total_cost(wishes, chains, new)
            if new_cost >= cost - SAME_COST * (1 + abs(cost)):
                break
            best, cost = new, new_cost
    return best


def cheapest_meeting(
    wishes: Sequence[TopWish],
    chains: Sequence[Chain],
    meetings: Sequence[Meeting],
    strides: Sequence[int],
) -> list[Floats] | None:
    """Corner heights near those of least timber or near one level, whichever are cheaper, then shorter.

    As `cheapest_near`; limits on the slope are those of the first wish. None should the linear programme
    fail.
    """
    timber = solve_chains(chains, Aim.TIMBER, wishes[0].limits.most_slope, meetings)
    if timber is None:
        return None
    starts = timber, _level(chains, meetings)
    one, other = (cheapest_near(wishes, chains, heights, meetings, strides) for heights in starts)
    saved = total_cost(wishes, chains, one) - total_cost(wishes, chains, other)
    if abs(saved) <= SAME_COST * (1 + abs(total_cost(wishes, chains, one))):
        saved = sum(float(c.weight @ (a - b)) for c, a, b in zip(chains, one, other, strict=True))
    return other if saved > 0 else one


def _level(chains: Sequence[Chain], meetings: Sequence[Meeting]) -> list[Floats]:
    """One height for all corners of chains that hang together, as low as all they must clear lets it."""
    need = [highest_needed(c) for c in chains]
    for _ in chains:
        for (a, _), (b, _) in meetings:
            need[a] = need[b] = max(need[a], need[b])
    return [np.full(len(c), z) for c, z in zip(chains, need, strict=True)]


def _one_window(
    wishes: Sequence[TopWish],
    chains: Sequence[Chain],
    heights: Sequence[Floats],
    meetings: Sequence[Meeting],
    stride: int,
) -> list[Floats]:
    pieces = [np.flatnonzero(np.diff(c.x) > 0) for c in chains]
    half = int(max(1, min(_WINDOW, np.sqrt(_CELLS / sum(len(p) for p in pieces)) / 2)))
    windows = [
        _Window(
            chain=c,
            heights=z[:, None] + stride * w.mark * np.arange(-half, half + 1),
            step=stride * w.mark,
            piece=p,
        )
        for w, c, z, p in zip(wishes, chains, heights, pieces, strict=True)
    ]
    trace = _trace(wishes, 2 * half * stride)
    costs = [_allowed_costs(w, v, trace) for w, v in zip(wishes, windows, strict=True)]
    names = corner_names(chains, meetings)
    ends = [n[p + k] for n, p in zip(names, pieces, strict=True) for k in (0, 1)]
    chosen = least_sum(
        1 + max(int(n.max()) for n in names),
        np.concatenate(ends[::2]),
        np.concatenate(ends[1::2]),
        [c for cost in costs for c in cost],
    )
    return [v.heights[np.arange(len(n)), chosen[n]] for v, n in zip(windows, names, strict=True)]


def _trace(wishes: Sequence[TopWish], marks: int) -> float:
    """Money an inch of timber counts, so little that all of it settles ties alone."""
    rises = [w.cost.charge[w.cost.charge > 0] for w in wishes]
    least = min((float(r.min()) for r in rises if r.size), default=1.0)
    return _TIE * least / (sum(len(w.slots) for w in wishes) * marks * wishes[0].mark + 1)


def _allowed_costs(wish: TopWish, window: _Window, trace: float) -> Floats:
    """(b, w, w): cost of each piece by the heights at its two ends, infinite where it may not be there."""
    x, piece = window.chain.x, window.piece
    cost = _pair_costs(wish, window, trace)
    left, right = window.heights[piece][:, :, None], window.heights[piece + 1][:, None, :]
    cost[right < (_least_right(window) - _RESTS)[:, :, None]] = np.inf
    lower = window.chain.lower[:, None, None] - _RESTS
    cost[np.broadcast_to(left < lower[piece], cost.shape)] = np.inf
    cost[np.broadcast_to(right < lower[piece + 1], cost.shape)] = np.inf
    if wish.limits.most_slope is not None:
        rise = wish.limits.most_slope * (x[piece + 1] - x[piece]) + _RESTS
        cost[np.abs(right - left) > rise[:, None, None]] = np.inf
    return cost


def _pair_costs(wish: TopWish, window: _Window, trace: float) -> Floats:
    """(b, w, w): cost of each piece's boards by the heights at its ends, a trace of timber and of rise."""
    size, x, count = window.size, window.chain.x, len(window.piece)
    bay = np.clip(np.searchsorted(x[window.piece], wish.slots.centre, side="right") - 1, 0, None)
    left = window.piece[bay]
    share = (wish.slots.centre - x[left]) / (x[left + 1] - x[left])
    steps = np.empty((count, size, size))
    parts = range(0, count, _AT_ONCE)
    order = np.argsort(bay, kind="stable")
    for first, own in zip(parts, np.split(order, np.searchsorted(bay[order], parts[1:])), strict=True):
        steps[first : first + _AT_ONCE] = _steps(wish, window, first, own, bay[own], share[own])
    weight = trace * np.stack([np.bincount(bay, s, minlength=count) for s in (1 - share, share)])
    lift = window.step * np.arange(size)
    timber = weight[0][:, None, None] * lift[:, None] + weight[1][:, None, None] * lift
    rise = window.heights[window.piece + 1][:, None, :] - window.heights[window.piece][:, :, None]
    return np.asarray(np.cumsum(steps, axis=2) + timber + _FLATTER * trace * rise**2)


def _steps(wish: TopWish, window: _Window, first: int, own: Indices, bay: Indices, share: Floats) -> Floats:
    """(b, w, w): what a step up at the right end adds to the boards of a few pieces from the `first` on, by
    the height at the left; `own` (k,) their pickets, `bay` the piece of each, `share` how far along it."""
    size, left, count = window.size, window.piece[bay], min(_AT_ONCE, len(window.piece) - first)
    # the right height, in steps over the least tried, past which each rung is charged
    reach, heights = wish.cost.reach[own], window.heights[left]
    room = reach[:, None, :] + REACH_GRACE - (heights * (1 - share)[:, None])[:, :, None]
    over_corner = share[:, None, None] < _AT_CORNER
    rise = room / np.where(over_corner, 1.0, share[:, None, None])
    passed = np.floor((rise - window.heights[left + 1, 0][:, None, None]) / window.step) + 1
    passed = np.where(over_corner, np.where(room >= 0, size, 0), passed)
    cell = np.clip(passed, 0, size)
    cell += (size + 1) * (np.arange(size)[None, :, None] + size * (bay - first)[:, None, None])
    charge = np.broadcast_to(wish.cost.charge[own][:, None, :], cell.shape)
    steps = np.bincount(
        cell.ravel().astype(np.int64), charge.ravel(), minlength=count * size * (size + 1)
    ).reshape(count, size, size + 1)
    return np.asarray(steps[:, :, :size])


def _least_right(window: _Window) -> Floats:
    """(b, w): lowest height at each piece's right end that clears the ground, for each at its left end."""
    chain, shape = window.chain, (len(window.piece), window.size)
    a = np.broadcast_to(chain.x[window.piece][:, None], shape).ravel()
    b = np.broadcast_to(chain.x[window.piece + 1][:, None], shape).ravel()
    start = window.heights[window.piece].ravel() - chain.height
    slope = (chain.under.line.elevation(b, before=True) - start) / (b - a)
    result = np.full(len(a), np.inf)
    going = np.arange(len(a))
    for _ in range(60):
        high, at = touches(chain.under, a[going], b[going], slope[going])
        over = high - start[going]
        clear = over <= REACH_GRACE
        result[going[clear]] = start[going[clear]] + slope[going[clear]] * (b - a)[going[clear]]
        rising = ~clear & (at > a[going])
        step = over[rising] / (at - a[going])[rising]
        going = going[rising]
        if not len(going):
            break
        slope[going] += step
    return (result + chain.height).reshape(shape)
