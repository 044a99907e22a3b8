"""Which stock length each picket is cut from, one picket a board.

A longer board always serves where a shorter one does, so each picket has a shortest stock that serves
it. Boards on hand go first to the pickets whose boards would cost the most.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.pickets.cuts import Cuts, Marks, marks_down
from fencegrade.fence.stock_steps import board_costs, cheapest_from
from fencegrade.ground.profile import Floats
from fencegrade.job.records import Stock

Indices = NDArray[np.int64]

NO_STOCK = -1
"""Stands where no stock on offer serves a picket."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StockChoice:
    """For each picket (n,) its stock and what is kept of it; for each stock length (k,) how many boards.

    `offered` and `lengths` (tape marks) are sorted by length. `stock`: index into `offered`, or NO_STOCK;
    `on_hand`: whether the board is there already; `kept`: length in tape marks, shorter than the full length
    where the board is and the gap allows it. `used`, `bought`: boards of each length, and those to buy.
    """

    offered: tuple[Stock, ...]
    lengths: Marks
    stock: Indices
    on_hand: NDArray[np.bool_]
    kept: Marks
    used: Indices
    bought: Indices


def choose_stock(cuts: Cuts, most_gap: Floats, offered: Sequence[Stock], mark: float) -> StockChoice:
    """The cheapest stock that serves each picket, boards on hand first.

    `cuts`: the pickets at full length; `most_gap`: (n,) largest gap allowed under each (in); `offered`:
    stock lengths and prices (without prices the shortest board counts as cheapest); `mark`: tape mark
    (in). A board shorter than the full length serves where the gap it leaves is allowed. Source: own
    derivation; giving boards on hand to the dearest pickets first is best because the choices are nested.
    """
    stock = tuple(sorted(offered, key=lambda s: s.length))
    lengths = marks_down(np.array([s.length for s in stock]), mark)
    needed = np.minimum(cuts.kept, cuts.kept - marks_down(most_gap - cuts.gap, mark))
    shortest = np.searchsorted(lengths, needed).astype(np.int64)
    cheapest = _cheapest_serving(stock)[shortest]
    from_pile = _from_pile(stock, shortest, cheapest)
    on_hand = from_pile != NO_STOCK
    chosen = np.where(on_hand, from_pile, cheapest)
    longest = np.append(lengths, np.iinfo(np.int64).max)[chosen]
    return StockChoice(
        offered=stock,
        lengths=lengths,
        stock=chosen,
        on_hand=on_hand,
        kept=np.minimum(cuts.kept, longest),
        used=_count(chosen, len(stock)),
        bought=_count(chosen[~on_hand], len(stock)),
    )


def _count(chosen: Indices, kinds: int) -> Indices:
    return np.bincount(chosen[chosen != NO_STOCK], minlength=kinds).astype(np.int64)


def _cheapest_serving(stock: Sequence[Stock]) -> Indices:
    """For each shortest serving stock, the cheapest that is at least as long; NO_STOCK past the longest."""
    costs = board_costs(stock)
    shortest_of = np.where(costs == cheapest_from(costs), np.arange(len(stock)), len(stock))
    return np.append(np.minimum.accumulate(shortest_of[::-1])[::-1], NO_STOCK).astype(np.int64)


def _from_pile(stock: Sequence[Stock], shortest: Indices, chosen: Indices) -> Indices:
    """The on-hand stock each picket takes, or NO_STOCK: dearest pickets first, shortest board that serves."""
    taken = np.full(len(shortest), NO_STOCK, dtype=np.int64)
    left = [s.on_hand for s in stock]
    if not any(left):
        return taken
    costs = np.append(board_costs(stock), np.inf)
    for i in np.argsort(-costs[chosen], kind="stable"):
        for k in range(int(shortest[i]), len(stock)):
            if left[k]:
                left[k] -= 1
                taken[i] = k
                break
        if not any(left):
            break
    return taken
