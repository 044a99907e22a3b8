"""Which stock serves: the one rule, for pickets, gate pickets, kickboards and posts, and for spares.

A longer stock serves wherever a shorter one does, so each piece has a shortest stock that serves it, and
takes the cheapest at least as long; of two at one price the shorter. Boards on hand cost nothing and go first
to the pieces whose boards would cost the most. A picket may be shorter than its full length by what the gap
beneath it still allows.
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.pickets.cuts import Cuts, cut_to, marks_down, shortened
from fencegrade.fence.stock_steps import board_costs, cheapest_from
from fencegrade.job.records import Stock
from fencegrade.units.arrays import Floats, Indices, Marks, Truths

NO_STOCK = -1
"""Stands where no stock on offer serves."""


class Needs(Struct, frozen=True, kw_only=True, eq=False):
    """What pickets (n,) ask of their boards.

    `full` length in tape marks over the finished ground; `room`: inches by which the gap beneath may still
    grow (below zero: too large at full length already); `long_end`: tape marks a board must reach besides,
    where it is marked in place and the ground may lie lower than it is drawn; `sure`: tape marks it may be
    shortened to at most, to save a board, where it is cut from the chart; `mark`: tape mark (in).
    """

    full: Marks
    room: Floats
    long_end: Marks
    sure: Marks
    mark: float

    @property
    def may_lose(self) -> Marks:
        """Tape marks (n,) that each picket may be shorter than its full length."""
        return np.maximum(marks_down(self.room, self.mark), 0)

    @property
    def least(self) -> Marks:
        """The least length (n,) in tape marks that serves each picket."""
        return self.full - self.may_lose

    @property
    def wood(self) -> Marks:
        """The length (n,) in tape marks that the board of each picket must have."""
        return np.maximum(self.least, self.long_end)

    @property
    def shortest(self) -> Marks:
        """The length (n,) in tape marks to which each picket may be cut to save a board."""
        return np.maximum(self.wood, self.sure)

    def over_higher_ground(self, rise: Floats) -> "Needs":
        """The needs with the ground (n,) inches higher under each picket; below zero where it is lower."""
        full = marks_down(self.full * self.mark - rise, self.mark)
        least = np.minimum(full, self.full - marks_down(self.room + rise, self.mark))
        return replace(self, full=full, room=(full - least) * self.mark, long_end=0 * full, sure=0 * full)


def needs_of(cuts: Cuts, most_gap: Floats, closed: Truths | None, mark: float) -> Needs:
    """What pickets ask of their boards.

    `cuts` (n,): at full length over the finished ground; `most_gap` (n,): largest gap (in); `closed` (n,):
    pickets over soil or a kickboard brought up to them, which lose nothing more; `mark`: tape mark (in).
    """
    room = most_gap - cuts.gap
    return Needs(
        full=cuts.kept,
        room=room if closed is None else np.where(closed, 0.0, room),
        long_end=np.zeros(len(room), dtype=np.int64),
        sure=np.zeros(len(room), dtype=np.int64),
        mark=mark,
    )


def needs_of_some(needs: Needs, index: Indices) -> Needs:
    """What some pickets ask of their boards."""
    return Needs(
        full=needs.full[index],
        room=needs.room[index],
        long_end=needs.long_end[index],
        sure=needs.sure[index],
        mark=needs.mark,
    )


def join_needs(parts: Sequence[Needs]) -> Needs:
    """The needs of several runs, one or more, as one row."""
    return Needs(
        full=np.concatenate([p.full for p in parts]),
        room=np.concatenate([p.room for p in parts]),
        long_end=np.concatenate([p.long_end for p in parts]),
        sure=np.concatenate([p.sure for p in parts]),
        mark=parts[0].mark,
    )


class StockChoice(Struct, frozen=True, kw_only=True, eq=False):
    """For each picket (n,) its stock and what is kept of it; for each stock length (k,) how many boards.

    `offered` and `lengths` (tape marks) are sorted by length. `stock`: index into `offered`, or NO_STOCK;
    `on_hand`: whether the board is there already; `kept`: length in tape marks, shorter than the full length
    where the board is and the gap allows it; `wood`: tape marks there are to cut it from, should it be marked
    in place: its whole board, or its piece of one with what is left on. `used`, `bought`: boards of each
    length, and those to buy.
    """

    offered: tuple[Stock, ...]
    lengths: Marks
    stock: Indices
    on_hand: Truths
    kept: Marks
    wood: Marks
    used: Indices
    bought: Indices


class Boards(Struct, frozen=True, kw_only=True, eq=False):
    """The pickets (n,) of a run as boards: the lengths every list, chart, drawing and page reads.

    `needs`: what each asks; `cuts`: as made; `wood`: tape marks there are to cut each from; `stock`: index
    into the stock offered, or NO_STOCK; `on_hand`: whether its board is there already; `trim`: inches cut off
    a board that gives this picket alone, nan where no stock serves; `up`: pickets that stand, which take no
    stock.
    """

    needs: Needs
    cuts: Cuts
    wood: Marks
    stock: Indices
    on_hand: Truths
    trim: Floats
    up: Truths

    def __len__(self) -> int:
        return len(self.stock)

    @property
    def unserved(self) -> Truths:
        """Pickets (n,) no stock serves."""
        return np.asarray((self.stock == NO_STOCK) & ~self.up)


def boards_of(full: Cuts, needs: Needs, choice: StockChoice, part: slice) -> Boards:
    """The boards of one run.

    `full`, `needs`: its pickets' cuts at full length and what they ask; `choice`: of the whole job, of which
    the run's pickets are `part`.
    """
    stock, kept = choice.stock[part], choice.kept[part]
    lengths = np.append([s.length for s in choice.offered], np.nan)
    return Boards(
        needs=needs,
        cuts=shortened(full, kept, needs.mark),
        wood=choice.wood[part],
        stock=stock,
        on_hand=choice.on_hand[part],
        trim=np.maximum(lengths[stock] - kept * needs.mark, 0.0),
        up=np.zeros(len(stock), dtype=bool),
    )


def as_hung(boards: Boards, up: Truths, kept: Floats) -> Boards:
    """The boards of a run of which some are up.

    `up` (n,): which; `kept` (n,): the length each of those was cut to (in), nan where it is that of the plan.
    """
    if not up.any():
        return boards
    known, mark = up & ~np.isnan(kept), boards.needs.mark
    marks = np.where(known, np.round(np.nan_to_num(kept) / mark), boards.cuts.kept).astype(np.int64)
    return replace(boards, cuts=cut_to(boards.cuts, marks, mark), up=up)


def by_length(offered: Sequence[Stock], mark: float) -> tuple[tuple[Stock, ...], Marks]:
    """Stock sorted by length, and its lengths (k,) in tape marks; `mark` in inches."""
    stock = tuple(sorted(offered, key=lambda s: s.length))
    return stock, marks_down(np.array([s.length for s in stock], dtype=float), mark)


def shortest_serving(lengths: Marks, least: Marks) -> Indices:
    """Index of the shortest stock as long as each `least` (n,); the number of stocks where none is.

    `lengths` (k,): of the stock, ascending; both in tape marks.
    """
    return np.searchsorted(lengths, least).astype(np.int64)


def cheapest_serving(stock: Sequence[Stock]) -> Indices:
    """For each stock (k,) the cheapest to buy at least as long, NO_STOCK where none is and after the last; by
    length."""
    costs = board_costs(stock)
    sold = np.array([s.sold for s in stock], dtype=bool)
    index = np.where((costs == cheapest_from(costs)) & sold, np.arange(len(stock)), len(stock))
    behind = np.minimum.accumulate(index[::-1])[::-1]
    return np.append(np.where(behind < len(stock), behind, NO_STOCK), NO_STOCK).astype(np.int16)


def choose_stock(needs: Needs, offered: Sequence[Stock]) -> StockChoice:
    """The cheapest stock that serves each picket, one picket a board, boards on hand first.

    `offered`: stock lengths and prices (without prices the shortest board counts as cheapest). Source: own
    derivation; giving boards on hand to the dearest pickets first is best because the choices are nested.
    """
    stock, lengths = by_length(offered, needs.mark)
    chosen, on_hand = a_board_each(stock, shortest_serving(lengths, needs.wood), needs.full)
    longest = np.append(lengths, np.iinfo(np.int64).max)[chosen]
    return StockChoice(
        offered=stock,
        lengths=lengths,
        stock=chosen,
        on_hand=on_hand,
        kept=np.minimum(needs.full, longest),
        wood=np.append(lengths, 0)[chosen],
        used=_count(chosen, len(stock)),
        bought=_count(chosen[~on_hand], len(stock)),
    )


def bought_for(pieces: Marks, offered: Sequence[Stock], mark: float) -> tuple[tuple[Stock, ...], Indices]:
    """The stock by length, and how many of each are bought for pieces (n,) in tape marks of `mark` inches,
    as `choose_stock` gives boards out."""
    stock, lengths = by_length(offered, mark)
    chosen, on_hand = a_board_each(stock, shortest_serving(lengths, pieces), pieces)
    return stock, _count(chosen[~on_hand], len(stock))


def a_board_each(stock: Sequence[Stock], shortest: Indices, full: Marks) -> tuple[Indices, Truths]:
    """The stock each piece (n,) takes, or NO_STOCK, and whether its board is on hand.

    `shortest` (n,): of the stock (k,) by length, that serves; `full` (n,): of pieces of one cost the longest
    are the first to be given boards on hand.
    """
    cheapest = cheapest_serving(stock)[shortest]
    from_pile = _from_pile(stock, shortest, cheapest, full)
    on_hand = from_pile != NO_STOCK
    return np.where(on_hand, from_pile, cheapest), on_hand


def _count(chosen: Indices, kinds: int) -> Indices:
    return np.bincount(chosen[chosen != NO_STOCK], minlength=kinds).astype(np.int64)


def _from_pile(stock: Sequence[Stock], shortest: Indices, chosen: Indices, full: Marks) -> Indices:
    """The on-hand stock each picket takes, or NO_STOCK: dearest pickets first, of them the longest, and the
    shortest board that serves each.
    """
    taken = np.full(len(shortest), NO_STOCK, dtype=np.int16)
    left = [s.on_hand for s in stock]
    if not any(left):
        return taken
    costs = np.append(board_costs(stock), np.inf)
    for i in np.lexsort((-full, -costs[chosen])):
        for k in range(int(shortest[i]), len(stock)):
            if left[k]:
                left[k] -= 1
                taken[i] = k
                break
        if not any(left):
            break
    return taken
