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
from msgspec.structs import replace

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


class Scribed(Struct, frozen=True, kw_only=True, eq=False):
    """What decides how high a top scribed boards (n,) serve.

    Each of the two sides is rounded down to a mark, so the slope of the cut goes by where the top lies
    between two of them.

    `line`: the ground; `slots`: the pickets; `foot` (2, n): elevation of the left and the right foot before
    rounding, clearance kept; `most_gap` (n,) inches; `marks` (s,): each stock's length in tape marks; `mark`:
    tape mark (in).
    """

    line: GroundLine
    slots: Slots
    foot: Floats
    most_gap: Floats
    marks: Floats
    mark: float

    def by_gap(self, top: Floats) -> Floats:
        """(n, s): the highest top (in), of those whole marks from `top` (n,), with which each stock leaves
        a gap that is allowed."""
        left, right = np.floor((top - self.foot) / self.mark + MARK_GRACE)
        return self._reach(left - right)

    def by_gap_anywhere(self) -> Floats:
        """(n, s): the same for any top, one mark low at most, never high; the sides differ by one of two
        numbers of marks."""
        chord = (self.foot[1] - self.foot[0]) / self.mark
        return np.minimum(self._reach(np.floor(chord - MARK_GRACE)), self._reach(np.ceil(chord + MARK_GRACE)))

    def _reach(self, apart: Floats) -> Floats:
        """(n, s): the highest top of boards whose left side is `apart` (n,) marks longer than the right."""
        slots, slope = self.slots, apart * self.mark / self.slots.width
        _, low = extremes_about_line(self.line, slots.left, slots.right, slope)
        lost = np.maximum(-apart, 0.0)
        return np.asarray((low + self.most_gap)[:, None] + (self.marks - lost[:, None]) * self.mark)


class BoardCost(Struct, frozen=True, kw_only=True, eq=False):
    """Cost of each of n pickets by the elevation of its top.

    A picket costs `base` (n,), and each `charge` (n, k), none negative, is added once its top is above the
    `reach` (n, k) beside it (in); rungs need not be in order. `stock_reach` (n, s): highest top (in) that
    each stock length serves, shortest first; `full_least` and `full_reach` (n, s): lowest and highest top
    with which it is used whole at full length, with the wanted clearance beneath; `stock_costs` (s,) what one
    board of it costs; `foot` (n,): elevation (in) of the full-length bottom, from which timber is counted.
    `scribed`: of scribed boards, whose reach may be one tape mark low, never high, but by `on_marks`.
    """

    base: Floats
    reach: Floats
    charge: Floats
    stock_reach: Floats
    full_least: Floats
    full_reach: Floats
    stock_costs: Floats
    foot: Floats
    scribed: Scribed | None = None

    def on_marks(self, top: Floats) -> "BoardCost":
        """The cost of tops that lie whole tape marks from `top` (n,) inches: exact for scribed cuts too."""
        if self.scribed is None:
            return self
        stock_reach = np.maximum(self.full_reach, self.scribed.by_gap(top))
        rises = _rises(self.stock_costs) > 0
        reach = np.column_stack([stock_reach[:, rises], self.reach[:, int(rises.sum()) :]])
        return replace(self, reach=reach, stock_reach=stock_reach)

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
    scribed ones a rung may be one tape mark low, never high, but by `on_marks`. Errors: ValueError without
    stock, or where a slot lies outside the readings. Source: own derivation.
    """
    longest = max((s.length for s in for_sale(offered)), default=None)
    if longest is None:
        raise ValueError("a board cost needs one stock length or more")
    stock = sorted((s for s in offered if s.length <= longest), key=lambda s: s.length)
    marks = np.floor(np.array([s.length for s in stock]) / mark + MARK_GRACE)
    scribed = None
    if bottom_cut is BottomCut.SCRIBED:
        scribed = _scribed(line, slots, clearance, most_gap, marks, mark)
        foot, by_gap = scribed.foot.min(axis=0), scribed.by_gap_anywhere()
    else:
        high, low = line.extremes(slots.left, slots.right)
        foot, by_gap = high + clearance, (low + most_gap)[:, None] + marks * mark
    by_length = foot[:, None] + (marks + 1 - 2 * MARK_GRACE) * mark
    reach = np.maximum(by_length, by_gap)
    costs = board_costs(stock)
    steps = _rises(costs)
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
        scribed=scribed,
    )


def _rises(costs: Floats) -> Floats:
    """What a picket costs more (s,) with its top past the reach of each stock; shortest first."""
    return np.append(np.diff(cheapest_from(costs)), NO_STOCK_CHARGE * costs.max())


def _scribed(
    line: GroundLine, slots: Slots, clearance: Floats, most_gap: Floats, marks: Floats, mark: float
) -> Scribed:
    """Scribed boards, their feet along the chord of the ground, where that touches it, and clear of it."""
    left, right = slots.left, slots.right
    chord = line.elevation(right, before=True) - line.elevation(left)
    touch, _ = extremes_about_line(line, left, right, chord / slots.width)
    foot = np.stack([touch, touch + chord]) + clearance
    return Scribed(line=line, slots=slots, foot=foot, most_gap=most_gap, marks=marks, mark=mark)
