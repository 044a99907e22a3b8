"""A sloped top: the one straight line of least cost that keeps the least height.

For a given slope the lowest line that clears the ground is best, since no board gets cheaper by rising. Its
height over any station is a convex function of the slope, so a stock length serves a picket for one
interval of slopes. The intervals of all pickets and stocks, swept in order, give the exact least cost.

    height over a picket
      | \\          /      reach of the stock
      |--\\--------/------
      |   `.____.'
      +---|------|--- slope
          served
"""

from collections.abc import Sequence

import numpy as np

from fencegrade.fence.tops.asked import Corner, Proof, TopChoice, TopWish, chosen
from fencegrade.fence.tops.chains import chain_over, meetings_at
from fencegrade.fence.tops.cheapest_near import cheapest_meeting
from fencegrade.fence.tops.hull import Support, support
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import ground_and_boards
from fencegrade.fence.tops.table import TopStyle
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_COST

_ROUNDS = 80
_STRIDES = (8, 1)
"""Tape marks between the heights tried for runs that join, in one search after the other."""

_ON = 1e-11


def choose(wish: TopWish) -> TopChoice:
    """The straight line of least board cost that keeps the least height; of equal ones, of least timber.

    `wish.limits.most_slope` holds the slope. Errors: ValueError where the run lies outside the readings.
    Source: own derivation. Exact over every slope at which any picket changes stock.
    """
    ends = np.array([wish.start, wish.end])
    hull = support(ground_and_boards(wish.line, wish.slots, ends), wish.start, wish.end)
    limit = np.inf if wish.limits.most_slope is None else wish.limits.most_slope
    slope = _cheapest(hull, wish, limit)
    return chosen(wish, _line(hull, slope, wish.least_height), Proof.COST)


def choose_meeting(wishes: Sequence[TopWish], corners: Sequence[Corner]) -> tuple[TopChoice, ...] | None:
    """Straight lines of runs that join, of least cost near those of least timber or near one level.

    As `styles.choose_tops`. Source: own derivation; linear programme, then a search on the tape.
    """
    chains = [chain_over(w, np.array([w.start, w.end])) for w in wishes]
    heights = cheapest_meeting(wishes, chains, meetings_at(corners), _STRIDES)
    if heights is None:
        return None
    return tuple(
        chosen(w, TopLine(style=TopStyle.SLOPED, stations=c.x, elevations=z), Proof.COST_NEAR)
        for w, c, z in zip(wishes, chains, heights, strict=True)
    )


def _line(hull: Support, slope: float, least_height: float) -> TopLine:
    high, _ = hull.at(np.array([slope]))
    first = float(high[0]) + least_height
    return TopLine(
        style=TopStyle.SLOPED,
        stations=np.array([hull.start, hull.end]),
        elevations=np.array([first, first + slope * (hull.end - hull.start)]),
    )


def _cheapest(hull: Support, wish: TopWish, limit: float) -> float:
    """The slope of least cost within +-limit; of equal ones that of least timber."""
    centre = wish.slots.centre
    level = float(np.clip(hull.lowest_over(float(centre.mean())), -limit, limit))
    lows, highs = _cheapest_ranges(hull, wish, limit)
    if not len(lows):
        return level
    slope = np.clip(level, lows, highs)
    high, _ = hull.at(slope)
    timber = high + slope * (centre.mean() - hull.start)
    near = np.flatnonzero(timber <= timber.min() + _ON)
    return float(slope[near[np.argmin(np.abs(slope[near]))]])


def _cheapest_ranges(hull: Support, wish: TopWish, limit: float) -> tuple[Floats, Floats]:
    """The ranges of slope, within +-limit, over which the cost is least; none where it never changes."""
    reach, charge = wish.cost.reach, wish.cost.charge
    use = np.isfinite(reach) & (charge > 0)
    stations = np.broadcast_to(wish.slots.centre[:, None], reach.shape)[use]
    low, high = served_slopes(hull, wish.least_height, stations, reach[use])
    kept = (high >= -limit) & (low <= limit) & (low <= high)
    low, high = np.maximum(low[kept], -limit), np.minimum(high[kept], limit)
    saved = charge[use][kept]
    at = np.concatenate([low, high])
    closing = np.repeat([False, True], len(low))
    order = np.lexsort([closing, at])
    gain = np.cumsum(np.concatenate([saved, -saved])[order])
    at, closing = at[order], closing[order]
    best = np.flatnonzero(~closing & (gain >= gain.max(initial=0.0) - SAME_COST * (1 + charge.max())))
    return at[best], at[best + 1]


def served_slopes(
    hull: Support, least_height: float, stations: Floats, reach: Floats
) -> tuple[Floats, Floats]:
    """Least and greatest slope at which the lowest line stays at or below `reach` (in) over each station.

    `stations` (n,) inside the run, `reach` (n,) inches. Result: (n,) each; the least above the greatest
    where no slope does. Source: own derivation: Newton's method on a convex function from outside its root.
    """
    offset = reach - least_height
    first, last = hull.ends()
    high = _root(hull, stations, offset, (offset - first) / (stations - hull.start))
    low = _root(hull, stations, offset, (offset - last) / (stations - hull.end))
    never = np.isnan(low + high)
    return np.where(never, np.inf, low), np.where(never, -np.inf, high)


def _root(hull: Support, stations: Floats, offset: Floats, slope: Floats) -> Floats:
    """Newton's method from `slope`, outside the root; nan where the line is never as low as `offset`."""
    slope = slope.copy()
    side = np.sign(stations - hull.at(slope)[1])
    active = np.arange(len(slope))
    for _ in range(_ROUNDS):
        m, x = slope[active], stations[active]
        high, touch = hull.at(m)
        over = high + m * (x - hull.start) - offset[active]
        rate = x - touch
        lost = (over > _ON) & (rate * side[active] <= 0)
        slope[active[lost]] = np.nan
        going = (over > _ON) & ~lost
        active = active[going]
        if not len(active):
            break
        slope[active] -= over[going] / rate[going]
    return slope
