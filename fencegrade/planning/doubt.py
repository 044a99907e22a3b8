"""How sure each board is: the chance that it stands outside its limits, and the wood to mark it in place.

          stock reaches the long end            a whole board that may turn out short
top  ________________                          ________________
    |                |                        |                |
    |    expected    |                        |    expected    |
    |_ _ _ _ _ _ _ _ |  cut from the chart    |________________| the ground may lie below this by more
    |                |  or where it is marked                     than the gap allows: a spare then
    |________________|  the long end
"""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.enough_stock import CHANCE
from fencegrade.fence.low_ground.choice import RunClosing
from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.stock import Boards, Needs, by_length, cheapest_serving, shortest_serving
from fencegrade.fence.stock_steps import board_costs
from fencegrade.ground.advice import Boards as BoardsCut
from fencegrade.ground.advice import or_even_odds, unread_under
from fencegrade.job.records import Stock
from fencegrade.planning.layout import RunLayout
from fencegrade.planning.measured import LIKELY
from fencegrade.units.arrays import Floats, Indices, Marks, Truths, some_of
from fencegrade.units.tolerances import ROUNDING

LONG_END = 0.99
"""Chance with which a board bought to be marked in place reaches far enough."""

STILL_SURE = 1 / 3
"""A board is made shorter, to set the stop less often or to save a board, only as far as its chance of
standing outside its limits stays no more than this share of what sends a board to be marked in place, or than
it is already: own choice."""


class Doubt(Struct, frozen=True, kw_only=True, eq=False):
    """How sure the boards (n,) of a run are.

    `outside`: chance that the open height leaves its least and most once cut as printed; `unread`: over
    ground that has to be read first, see `ground.advice`; `from_chart`: whether it may be cut so; `half`:
    inches its length may lie to either side of the one expected in 95 cases of 100, where it is marked in
    place; `short`: chance that all the wood there is turns out too short.
    """

    outside: Floats
    unread: Truths
    from_chart: Truths
    half: Floats
    short: Floats

    @property
    def may_be_short(self) -> Truths:
        """Pickets (n,) whose board reaches less surely than one bought to be marked in place."""
        return self.short > 1 - LONG_END + ROUNDING


def boards_cut(
    layout: RunLayout, closing: RunClosing, cuts: Cuts, *, as_if_to_come: bool = False
) -> BoardsCut:
    """Pickets of a run as they are to be cut, with the open heights that are all right under each.

    Where the plan itself leaves more open than wanted, that much is all right; water has no upper limit. Any
    height is under pickets that stand or whose ground was measured in place and is believed, and under those
    over soil or a kickboard, which are brought up to the boards. `as_if_to_come`: those that stand or were
    measured are taken as if they were still to come and be marked: boards are bought for that, and what is
    chosen for many together has to stay as it was when these were cut.
    """
    zones, slots = layout.zones, layout.slots
    known = np.zeros(len(slots), dtype=bool) if as_if_to_come else layout.settled
    settled = known | closing.on_soil | closing.boarded
    most = np.where(zones.open, np.inf, np.maximum(zones.most_gap, cuts.gap))
    return BoardsCut(
        left=slots.left,
        right=slots.right,
        foot=cuts.bottom_left,
        slope=(cuts.bottom_right - cuts.bottom_left) / slots.width,
        least=np.where(settled, -np.inf, zones.least),
        most=np.where(settled, np.inf, most),
    )


def chances_outside(
    layout: RunLayout, closing: RunClosing, cuts: Cuts, *, as_if_to_come: bool = False
) -> Floats:
    """Chance (n,) that each picket cut so stands outside its limits, see `boards_cut`; infinite, so that no
    chance allowed reaches it, over ground that has to be read first."""
    b = boards_cut(layout, closing, cuts, as_if_to_come=as_if_to_come)
    if not len(b.left):
        return np.zeros(0)
    return np.where(_unread(layout, b), np.inf, b.chance_outside(layout.ground.profile.spread))


def _unread(layout: RunLayout, b: BoardsCut) -> Truths:
    """Which boards (n,) of a run stand over ground that has to be read first."""
    roots = [(s.start, s.end) for s in layout.run.root]
    return unread_under(b, layout.ground.profile, roots, layout.ground.left_out)


def run_doubt(layout: RunLayout, closing: RunClosing, boards: Boards, most_chance: float) -> Doubt:
    """How sure a run's boards are as they are to be cut; `most_chance`: up to which the chart is cut from."""
    b = boards_cut(layout, closing, boards.cuts)
    if not len(b.left):
        none, no = np.zeros(0), np.zeros(0, dtype=bool)
        return Doubt(outside=none, unread=no, from_chart=no, half=none, short=none)
    unread = _unread(layout, b)
    outside = or_even_odds(b.chance_outside(layout.ground.profile.spread), unread)
    from_chart = (outside <= most_chance) & ~unread
    spread = layout.ground.spread.at(layout.slots.centre)
    needs = boards.needs
    spare = needs.room + (boards.wood - needs.full) * needs.mark
    return Doubt(
        outside=outside,
        unread=unread,
        from_chart=from_chart,
        half=spread.half_width(LIKELY),
        short=np.where(from_chart, 0.0, spread.beyond(np.maximum(spare, 0.0))),
    )


def long_ends(
    layout: RunLayout, needs: Needs, cuts: Cuts, doubtful: Truths, offered: Sequence[Stock]
) -> Marks:
    """Tape marks (n,) that the boards of `doubtful` pickets, all served, should reach; 0 for the others.

    A longer stock is taken where it costs no more than the stock the picket has as drawn and the spare that
    takes: a whole one of the longer where it turns out too short more often than spares are to cover, for
    neighbours are short together, else its share of one. If not, the whole of the shorter. `needs`, `cuts`:
    as drawn, one picket a board; `offered`: the stock. Source: own derivation, by the law of `ground.band` at
    the middle of each board.
    """
    asked = np.zeros(len(needs.full), dtype=np.int64)
    index = np.flatnonzero(doubtful)
    if not len(index):
        return asked
    spread = layout.ground.spread.at(layout.slots.centre[index])
    lower = np.zeros(len(asked))
    lower[index] = spread.above(LONG_END)
    reach = needs.over_higher_ground(-lower).least[index]
    stock, lengths = by_length(offered, needs.mark)
    costs = np.append(board_costs(stock), np.inf)
    cheapest = cheapest_serving(stock)
    shortest = shortest_serving(lengths, needs.least[index])
    now, then = cheapest[shortest], cheapest[shortest_serving(lengths, reach)]
    room = needs.room[index] - (needs.full[index] - cuts.kept[index]) * needs.mark
    short = spread.beyond(np.maximum(room, 0.0))
    spares = np.where(short > 1 - CHANCE, 1.0, short)
    pays = costs[then] <= costs[now] + spares * costs[then]
    asked[index] = np.where(pays & np.isfinite(costs[then]), reach, lengths[shortest])
    return asked


class GroundUnder(Struct, frozen=True, kw_only=True, eq=False):
    """The pickets (n,) of one run over ground that is not known to the hair, by how long they are cut."""

    layout: RunLayout
    full: Cuts
    cut: BoardsCut
    unread: Truths
    mark: float

    @staticmethod
    def of(layout: RunLayout, closing: RunClosing, mark: float) -> "GroundUnder":
        """Those of a run as if all were to come; `mark`: tape mark (in)."""
        cut = boards_cut(layout, closing, closing.full, as_if_to_come=True)
        unread = _unread(layout, cut)
        return GroundUnder(layout=layout, full=closing.full, cut=cut, unread=unread, mark=mark)

    def chance(self, kept: Marks, index: Indices | slice = slice(None)) -> Floats:
        """Chance that boards of these lengths stand outside their limits, as `chances_outside` gives it; of
        those at `index`."""
        lifted = np.maximum(self.full.kept[index] - kept, 0) * self.mark
        some = some_of(self.cut, index)
        chance = replace(some, foot=some.foot + lifted).chance_outside(self.layout.ground.spread)
        return np.where(self.unread[index], np.inf, chance)

    def shortest(self, kept: Marks, least: Marks, limit: Floats, some: Truths) -> Marks:
        """The least length (n,), no less than `least`, at which the chance is within `limit`; `kept` if not
        among `some`.

        A shorter board comes off the ground and then too far from it, so its chance falls and then rises: the
        lengths within the limit lie together, `kept` among them, and are halved to their end.
        """
        high, low = kept.copy(), np.where(some, np.minimum(least, kept), kept)
        open_ = np.flatnonzero(low < high)
        done = open_[self.chance(low[open_], open_) <= limit[open_]]
        high[done] = low[done]
        while len(wide := np.flatnonzero(high - low > 1)):
            middle = (low[wide] + high[wide]) // 2
            sound = self.chance(middle, wide) <= limit[wide]
            high[wide[sound]], low[wide[~sound]] = middle[sound], middle[~sound]
        return high


def sure_lengths(
    layout: RunLayout, closing: RunClosing, needs: Needs, cuts: Cuts, chance: Floats, most_chance: float
) -> Marks:
    """Tape marks (n,) down to which boards cut from the chart may be shortened to save a board; 0 for others.

    `needs`, `cuts`: as drawn, one picket a board; `chance`: to stand outside so cut; `most_chance`: up to
    which the chart is cut from. Source: own derivation.
    """
    some = chance <= most_chance
    ground = GroundUnder.of(layout, closing, needs.mark)
    limit = np.maximum(chance, STILL_SURE * most_chance)
    shortest = ground.shortest(cuts.kept, needs.least, limit, some)
    return np.where(some, shortest, 0)
