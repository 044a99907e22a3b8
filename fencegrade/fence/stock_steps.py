"""What a picket costs as its top rises: a step function, one rung a stock length.

    cost
      |                  ____ no stock long enough
      |           ______|
      |   _______|    8 ft
      |      6 ft
      +----------|------|---- elevation of the top
               reach  reach

A board serves while the cut length, rounded down to the tape mark, is no longer than the board, or while
the gap a shorter board leaves is allowed. The search counts one picket a board and leaves boards on hand
out, a length of which no more can be bought counting as the one bought instead; the stock itself is chosen
later, with both.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.slots import Slots
from fencegrade.ground.cubics import extremes_about_line
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import BottomCut
from fencegrade.job.records import Stock
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import MARK_GRACE, REACH_GRACE

NO_STOCK_CHARGE = 1000.0
"""A picket no stock serves counts as this many of the dearest boards: large, but finite, so that the line
with the fewest such pickets is still found and can be reported."""

OVER_HEIGHT_CHARGE = 100.0
"""A picket over the local height limit counts as this many of the dearest boards."""


class BoardCost(Struct, frozen=True, kw_only=True, eq=False):
    """Cost of each of n pickets by the elevation of its top.

    A picket costs `base` (n,), and each `charge` (n, k), none negative, is added once its top is above the
    `reach` (n, k) beside it (in); rungs need not be in order. `stock_reach` (n, s): highest top (in) that
    each stock length serves, shortest first; `full_least` and `full_reach` (n, s): lowest and highest top
    with which it is used whole at full length, with the wanted clearance beneath; `stock_costs` (s,) what one
    board of it costs; `foot` (n,): elevation (in) of the full-length bottom, from which timber is counted.
    """

    base: Floats
    reach: Floats
    charge: Floats
    stock_reach: Floats
    full_least: Floats
    full_reach: Floats
    stock_costs: Floats
    foot: Floats

    def at(self, top: Floats) -> Floats:
        """Cost of each picket with its top at `top` (n,) inches."""
        return np.asarray(self.base + (self.charge * (top[:, None] > self.reach + REACH_GRACE)).sum(axis=1))

    def total(self, top: Floats) -> float:
        """Cost of all pickets with their tops at `top` (n,) inches, charges included."""
        return float(self.at(top).sum())

    def boards(self, top: Floats) -> float:
        """Cost of the boards alone: pickets no stock serves cost nothing, no charges."""
        rung = self.shortest(top)
        return float(np.append(cheapest_from(self.stock_costs), 0.0)[rung].sum())

    def shortest(self, top: Floats) -> Indices:
        """Index of the shortest stock that serves each picket; the number of stocks where none does."""
        return np.asarray((top[:, None] > self.stock_reach + REACH_GRACE).sum(axis=1), dtype=np.int64)

    def unserved(self, top: Floats) -> Truths:
        """Pickets no stock serves."""
        return np.asarray(top > self.stock_reach[:, -1] + REACH_GRACE)

    def timber(self, top: Floats) -> float:
        """Total length of the pickets (in), before rounding."""
        return float((top - self.foot).sum())

    def ceiling(self, top: Floats) -> Floats:
        """Highest top (n,) in inches that costs no more than `top` and keeps to full length where `top` does.

        Infinite where no rung lies above; `top` itself where a shorter board serves it already.
        """
        dearer = np.where((self.reach + REACH_GRACE >= top[:, None]) & (self.charge > 0), self.reach, np.inf)
        padded = np.column_stack([self.full_reach, np.full(len(top), np.inf)])
        full = padded[np.arange(len(top)), self.shortest(top)]
        return np.asarray(np.minimum(dearer.min(axis=1, initial=np.inf), np.maximum(full, top)))


def for_sale(stock: Sequence[Stock]) -> tuple[Stock, ...]:
    """The stock of which more can be bought, in the order given."""
    return tuple(s for s in stock if s.sold)


def have_prices(stock: Sequence[Stock]) -> bool:
    """Whether boards that can be bought have prices: all have or none has."""
    return any(s.price is not None for s in for_sale(stock))


def board_costs(stock: Sequence[Stock]) -> Floats:
    """What one board of each stock counts in a search: its price, or its length where it has none."""
    return bought_instead(stock, np.array([s.length if s.price is None else s.price for s in stock]))


def bought_instead(stock: Sequence[Stock], costs: Floats) -> Floats:
    """The costs (s,) of one board of each stock, with those that cannot be bought at what is bought instead.

    That is the cheapest at least as long, `NO_STOCK_CHARGE` of the dearest where there is none.
    """
    sold, lengths = np.array([s.sold for s in stock], dtype=bool), np.array([s.length for s in stock])
    none = NO_STOCK_CHARGE * costs[sold].max(initial=0.0)
    instead = [costs[sold & (lengths >= length)].min(initial=none) for length in lengths[~sold]]
    found = costs.copy()
    found[~sold] = instead
    return found


def cheapest_from(costs: Floats) -> Floats:
    """Least cost (s,) among each stock and all longer ones; stocks shortest first."""
    return np.minimum.accumulate(costs[::-1])[::-1]


def board_cost(
    line: GroundLine,
    slots: Slots,
    clearance: Floats,
    most_gap: Floats,
    offered: Sequence[Stock],
    bottom_cut: BottomCut,
    mark: float,
    highest_allowed: Floats | None = None,
) -> BoardCost:
    """The cost of every picket by the elevation of its top.

    `line`: the ground; `slots`: the pickets; `clearance`, `most_gap`: (n,) wanted space and largest gap
    under each (in); `offered`: stock on offer, one or more; `mark`: tape mark (in); `highest_allowed`: (n,)
    highest top (in) the local height limit allows, infinite where there is none. Exact for square cuts; for
    scribed ones a rung may be one tape mark low, never high. Errors: ValueError without stock, or where a
    slot lies outside the readings. Source: own derivation.
    """
    longest = max((s.length for s in for_sale(offered)), default=None)
    if longest is None:
        raise ValueError("a board cost needs one stock length or more")
    stock = sorted((s for s in offered if s.length <= longest), key=lambda s: s.length)
    marks = np.floor(np.array([s.length for s in stock]) / mark + MARK_GRACE)
    foot, hung, lost = _feet(line, slots, clearance, bottom_cut, mark)
    by_length = foot[:, None] + (marks + 1 - 2 * MARK_GRACE) * mark
    by_gap = np.min(hung[:, :, None] + most_gap[:, None, None] + (marks - lost[:, :, None]) * mark, axis=1)
    reach = np.maximum(by_length, by_gap)
    costs = board_costs(stock)
    steps = np.append(np.diff(cheapest_from(costs)), NO_STOCK_CHARGE * costs.max())
    charge = np.broadcast_to(steps, reach.shape)
    rungs, charges = reach[:, steps > 0], charge[:, steps > 0]
    if highest_allowed is not None:
        rungs = np.column_stack([rungs, highest_allowed])
        charges = np.column_stack([charges, np.full(len(foot), OVER_HEIGHT_CHARGE * costs.max())])
    return BoardCost(
        base=np.full(len(foot), cheapest_from(costs)[0]),
        reach=rungs,
        charge=np.ascontiguousarray(charges),
        stock_reach=reach,
        full_least=by_length - (1 - MARK_GRACE) * mark,
        full_reach=by_length,
        stock_costs=costs,
        foot=foot,
    )


def _feet(
    line: GroundLine, slots: Slots, clearance: Floats, bottom_cut: BottomCut, mark: float
) -> tuple[Floats, Floats, Floats]:
    """Bottom of the long side at full length (n,); lowest ground as the gap counts it and marks lost, (n, q).

    A scribed cut's two sides differ by one of two whole numbers of marks, as the top's height decides: q = 2.
    """
    if bottom_cut is BottomCut.SQUARE:
        high, low = line.extremes(slots.left, slots.right)
        return high + clearance, low[:, None], np.zeros((len(low), 1))
    left, right, width = slots.left, slots.right, slots.width
    chord = line.elevation(right, before=True) - line.elevation(left)
    touch, _ = extremes_about_line(line, left, right, chord / width)
    apart = np.stack([np.floor(chord / mark - MARK_GRACE), np.ceil(chord / mark + MARK_GRACE)])
    lows = [extremes_about_line(line, left, right, q * mark / width)[1] for q in apart]
    return touch + np.minimum(chord, 0.0) + clearance, np.stack(lows, axis=1), np.maximum(-apart, 0.0).T
