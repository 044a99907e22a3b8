"""What closes low ground, board by board and jointly along a run: longer boards, soil, kickboards, or
nothing.

    tops   ________________________________
           |  |  |  |  |  |  |  |  |  |  |
           |  |  |  |  |  |  |  |  |  |  |   a shorter stock, and soil up to its clearance, or
     ______|__|__|:::::::::::|__|__|__|__|   a longer stock, or
                 `---.___.---'               a kickboard in the whole bay

A board is cut from a stock that serves it on the ground as surveyed, or from a shorter one over a fill that
reaches its clearance all across its width, or over a kickboard. The choice is exact for these costs: boards
by the piece, soil by volume, both tapers of every fill, no fill shorter than the least length or under one
board alone. Boards on hand are shared by the whole job and tie everything together, so the search is repeated
with their cost reduced in steps; the best plan found stands beside a bound that no plan can undercut.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.low_ground.bill import Bill, Weights, bill_for, scaled, weigh
from fencegrade.fence.low_ground.fill_places import FillRows, LowRun, fill_rows
from fencegrade.fence.low_ground.gaps import GapStretch
from fencegrade.fence.low_ground.kickboard import Kickboard, StripRows, laid, strip_costs, strip_rows
from fencegrade.fence.low_ground.notes import closing_notes
from fencegrade.fence.low_ground.outcome import Fill, closing_gaps, fills_made, finished_cuts, gap_actions
from fencegrade.fence.low_ground.search import Closed, FillCosts, best_closing, no_strips
from fencegrade.fence.pickets.cuts import Cuts, Marks, join_cuts, marks_down, shortened
from fencegrade.fence.stock import NO_STOCK, StockChoice, choose_stock
from fencegrade.fence.stock_steps import board_costs
from fencegrade.ground.profile import Floats
from fencegrade.ground.wording import Say
from fencegrade.job.records import LowGround, Pickets, Soil, Stock
from fencegrade.problems import Problem
from fencegrade.units import UnitSystem

Indices = NDArray[np.int64]

SHARES = (0.75, 0.5, 0.25, 0.0)
FEW_SHARES = (0.5, 0.0)
"""Shares of their price at which boards on hand are tried; the few for pairs of lengths and for long jobs."""
MANY = 50_000
"""Pickets of a long job."""

_UNCUT = np.iinfo(np.int64).max
_HAIR = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunClosing:
    """One run's part of the choice. Arrays are (n,) over its pickets.

    `needs`, `allowed`: cuts and largest gaps (in) to buy stock by, pickets over fills and kickboards being
    cut to their shorter stock; `finished`: full-length cuts over the finished ground, which `shortened`
    brings to the stock chosen; `cuts`: that done; `actions`: `GapAction` texts, empty where none is called
    for.
    """

    needs: Cuts
    allowed: Floats
    finished: Cuts
    cuts: Cuts
    actions: NDArray[np.str_]
    gaps: tuple[GapStretch, ...]
    fills: tuple[Fill, ...]
    kickboards: tuple[Kickboard, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LowGroundPlan:
    """What closes the low ground of a whole job.

    `choice`: what the job asks for; `stock`: boards of all runs in order; `bills`: what each choice would
    cost, the one made among them; `lower_bound`: no plan the choice allows, with as few pickets unserved,
    costs less (money, or inches of timber where nothing is priced); it equals the cost unless boards are on
    hand.
    """

    choice: LowGround
    runs: tuple[RunClosing, ...]
    stock: StockChoice
    bills: dict[LowGround, Bill]
    lower_bound: float
    problems: tuple[Problem, ...]

    @property
    def bill(self) -> Bill:
        """The bill of the choice made."""
        return self.bills[self.choice]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Case:
    """A run with everything that could close it; `shortest`: (n,) stock that serves without help."""

    low: LowRun
    shortest: Indices
    rows: FillRows
    strips: StripRows


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Outcome:
    """A choice carried through: what closes each run, the stock it takes and the bill."""

    closed: tuple[Closed, ...]
    needs: tuple[Cuts, ...]
    allowed: tuple[Floats, ...]
    stock: StockChoice
    bill: Bill


def close_low_ground(
    runs: Sequence[LowRun],
    pickets: Pickets,
    soil: Soil,
    mark: float,
    system: UnitSystem,
    choice: LowGround | None = None,
    compare: bool = True,
) -> LowGroundPlan:
    """Decide what closes the low ground of a job.

    `runs`: every run with its pickets at full length; `mark`: tape mark (in); `choice`: instead of the one in
    `soil`; `compare`: whether the other choices are costed too. Result: the plan. With `boards` it takes the
    stock that `choose_stock` takes. Errors: ValueError without a picket stock, or where a picket stands
    outside the readings. Source: own derivation.
    """
    return _Job(runs, pickets, soil, mark, system).plan(LowGround(choice or soil.low_ground), compare)


class _Job:
    """The whole job's stock, and every run's case."""

    def __init__(
        self, runs: Sequence[LowRun], pickets: Pickets, soil: Soil, mark: float, system: UnitSystem
    ) -> None:
        if not pickets.stock:
            raise ValueError("closing low ground needs one picket stock or more")
        self.pickets, self.soil, self.mark, self.system = pickets, soil, mark, system
        self.stock: tuple[Stock, ...] = tuple(sorted(pickets.stock, key=lambda s: s.length))
        self.lengths = marks_down(np.array([s.length for s in self.stock]), mark)
        self.priced = self.stock[0].price is not None
        self.cases = [self._case(low) for low in runs]
        self.most_soil = float(sum(c.rows.body.sum() + c.rows.link.sum() for c in self.cases)) + float(
            sum((e.volume * e.possible).sum() for c in self.cases for e in (c.rows.before, c.rows.after))
        )

    def _case(self, low: LowRun) -> _Case:
        spare = marks_down(low.zones.most_gap - low.cuts.gap, self.mark)
        needed = np.minimum(low.cuts.kept, low.cuts.kept - spare)
        shortest = np.searchsorted(self.lengths, needed).astype(np.int64)
        return _Case(
            low=low,
            shortest=shortest,
            rows=fill_rows(low, self.lengths, self.soil, self.mark),
            strips=strip_rows(
                low, self.lengths, shortest, self.soil.kickboard, self.soil.kickboard_width, self.mark
            ),
        )

    def plan(self, choice: LowGround, compare: bool) -> LowGroundPlan:
        outcomes: dict[LowGround, _Outcome] = {}
        bound = 0.0
        kept = [LowGround.BOARDS, LowGround.SOIL]
        kept += [LowGround.KICKBOARD] if self.soil.kickboard else []
        for one in kept:
            if compare or choice in (one, LowGround.CHEAPEST):
                outcomes[one] = self._outcome(self._search(self._weights(one)))
        if compare or choice is LowGround.CHEAPEST:
            outcomes[LowGround.CHEAPEST], bound = self._cheapest(list(outcomes.values()))
        if choice is not LowGround.CHEAPEST:
            bound = self._measure(outcomes[choice].bill)
        made = outcomes[choice]
        ends = np.cumsum([len(c.low.slots) for c in self.cases])[:-1]
        parts = zip(np.split(made.stock.kept, ends), np.split(made.stock.stock, ends), strict=True)
        done = [self._run(i, made, kept, stock == NO_STOCK) for i, (kept, stock) in enumerate(parts)]
        bills = {one: outcome.bill for one, outcome in outcomes.items()}
        say = Say(system=self.system, tape=self.mark)
        lows = [c.low for c in self.cases]
        found = closing_notes(
            choice, lows, [d.fills for d in done], [d.cuts for d in done], bills, self.pickets, self.soil, say
        )
        return LowGroundPlan(
            choice=choice,
            runs=tuple(done),
            stock=made.stock,
            bills=bills,
            lower_bound=bound,
            problems=tuple(found),
        )

    def _weights(self, choice: LowGround) -> Weights:
        bays = 1 + sum(len(c.low.bays) for c in self.cases)
        return weigh(choice, self.stock, self.soil, self.system, self.most_soil, bays)

    def _measure(self, bill: Bill) -> float:
        return bill.total if self.priced else bill.timber

    def _search(self, weights: Weights) -> tuple[Closed, ...]:
        return tuple(_search_run(case, weights, self.lengths) for case in self.cases)

    def _cheapest(self, others: list[_Outcome]) -> tuple[_Outcome, float]:
        """The cheapest outcome found, and the bound below it."""
        weights = self._weights(LowGround.CHEAPEST)
        if weights.per_board:
            only = self._outcome(self._search(weights))
            return only, self._measure(only.bill)
        best, bound = others, -np.inf
        for shares in self._shares():
            tried = scaled(weights, self.stock, shares)
            closed = self._search(tried)
            outcome = self._outcome(closed)
            best = [*best, outcome]
            bound = max(bound, self._bound(tried, shares, closed, outcome))
        chosen = min(best, key=lambda o: (o.bill.unserved, self._measure(o.bill), o.bill.compacted))
        return chosen, min(bound, self._measure(chosen.bill))

    def _shares(self) -> list[Floats]:
        """Shares of each stock's cost to search with: all of it, and less for one or two of those on hand.

        A length on hand is tried at shares of its own cost and at the cost of every cheaper length. The list
        for fewer lengths on hand is part of the list for more, so more on hand never costs more.
        """
        costs = board_costs(self.stock)
        held = [k for k, s in enumerate(self.stock) if s.on_hand]
        as_cheap = {k: {float(c / costs[k]) for c in costs if c < costs[k]} for k in held}
        many = sum(len(c.low.slots) for c in self.cases) > MANY
        found = [np.ones(len(self.stock))]
        for places in [(k,) for k in held] + [(k, m) for k in held for m in held if m > k]:
            steps = FEW_SHARES if many or len(places) > 1 else SHARES
            for share in product(*(sorted({*steps, *as_cheap[k]}) for k in places)):
                shares = np.ones(len(self.stock))
                shares[list(places)] = share
                found.append(shares)
        return found

    def _bound(self, weights: Weights, shares: Floats, closed: Sequence[Closed], outcome: _Outcome) -> float:
        """Least cost of any plan: boards on hand save at most their own reduced cost each.

        For a reduced cost c no more than the price p, p max(0, used - held) >= c (used - held).
        """
        alone = sum(float(weights.boards[c.shortest].sum()) for c in self.cases)
        unserved = outcome.bill.unserved * float(weights.boards[-1])
        held = np.array([s.on_hand for s in self.stock])
        strips = sorted(self.soil.kickboard, key=lambda s: s.length)
        saved = float((board_costs(self.stock) * shares * held).sum())
        saved += float(sum(w * s.on_hand for w, s in zip(weights.kickboards, strips, strict=True)))
        trifle = 0.0 if self.priced else weights.soil * self.most_soil
        return alone + sum(c.cost for c in closed) - unserved - saved - trifle

    def _outcome(self, closed: tuple[Closed, ...]) -> _Outcome:
        pairs = [self._needs(case, one) for case, one in zip(self.cases, closed, strict=True)]
        needs, allowed = [p[0] for p in pairs], [p[1] for p in pairs]
        stock = choose_stock(join_cuts(needs), np.concatenate(allowed), self.pickets.stock, self.mark)
        soil = sum(_volume(case.rows, one) for case, one in zip(self.cases, closed, strict=True))
        strips = [
            int(case.strips.board[s])
            for case, one in zip(self.cases, closed, strict=True)
            for s, _ in one.strips
        ]
        final = shortened(join_cuts(needs), stock.kept, self.mark)
        most = np.concatenate([c.low.zones.most_gap for c in self.cases])
        water = np.concatenate([c.low.zones.open for c in self.cases])
        over = int(((final.gap > most + _HAIR) & ~water).sum())
        bill = bill_for(stock, soil, strips, self.soil, self.system, over)
        return _Outcome(closed=closed, needs=tuple(needs), allowed=tuple(allowed), stock=stock, bill=bill)

    def _needs(self, case: _Case, closed: Closed) -> tuple[Cuts, Floats]:
        """Cuts and largest gaps to buy by: pickets over fills and kickboards are cut to their shorter
        stock."""
        filled, row = _filled(case.rows, closed)
        boarded, stock = _boarded(case, closed, self.lengths)
        if not len(filled) and not len(boarded):
            return case.low.cuts, case.low.zones.most_gap
        least = np.full(len(case.low.slots), _UNCUT)
        least[boarded] = self.lengths[stock]
        least[filled] = self.lengths[case.rows.stock[row]]
        cuts = shortened(case.low.cuts, least, self.mark)
        gap, allowed = cuts.gap.copy(), case.low.zones.most_gap.copy()
        gap[boarded] = 0.0
        gap[filled] = case.low.zones.clearance[filled]
        allowed[boarded], allowed[filled] = gap[boarded], gap[filled]
        return _with_gap(cuts, gap), allowed

    def _run(self, i: int, made: _Outcome, kept: Marks, unserved: NDArray[np.bool_]) -> RunClosing:
        case, closed = self.cases[i], made.closed[i]
        fills = fills_made(case.low, case.rows, closed, self.soil)
        finished = finished_cuts(
            case.low, case.rows, closed, made.needs[i], self.soil, self.pickets.bottom_cut, self.mark
        )
        cuts = shortened(finished, kept, self.mark)
        boarded, _ = _boarded(case, closed, self.lengths)
        actions, undone = gap_actions(
            case.low, fills, boarded, cuts, unserved, int(self.lengths[0]), self.mark
        )
        return RunClosing(
            needs=made.needs[i],
            allowed=made.allowed[i],
            finished=finished,
            cuts=cuts,
            actions=actions,
            gaps=closing_gaps(case.low.slots, undone, actions, fills),
            fills=fills,
            kickboards=laid(case.low, case.strips, [s for s, _ in closed.strips], self.lengths, self.mark),
        )


def _search_run(case: _Case, weights: Weights, lengths: Marks) -> Closed:
    rows, alone = case.rows, weights.boards[case.shortest]
    if not (weights.fills and len(rows)) and not (weights.strips and len(case.strips)):
        return Closed(fills=(), strips=(), cost=0.0)
    barred = 0.0 if weights.fills else np.inf
    row = weights.boards[rows.stock] - alone[rows.board] + weights.soil * rows.body + weights.per_board
    costs = FillCosts(
        row=row,
        link=weights.soil * rows.link,
        before=np.where(rows.before.possible, weights.soil * rows.before.volume + barred, np.inf),
        after=np.where(rows.after.possible, weights.soil * rows.after.volume + barred, np.inf),
    )
    strips = no_strips()
    if weights.strips and len(case.strips):
        strips = strip_costs(case.low, case.strips, lengths, weights.boards, alone, weights.kickboards)
    return best_closing(len(case.low.slots), rows, costs, strips)


def _filled(rows: FillRows, closed: Closed) -> tuple[Indices, Indices]:
    """Boards over soil, and the row of each."""
    spans = [np.arange(a, b + 1, dtype=np.int64) for a, b in closed.fills]
    row = np.concatenate(spans) if spans else np.zeros(0, dtype=np.int64)
    return rows.board[row], row


def _boarded(case: _Case, closed: Closed, lengths: Marks) -> tuple[Indices, Indices]:
    """Boards that are shorter for a kickboard, and the stock of each."""
    board, stock = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for s, first in closed.strips:
        served = np.arange(first, int(case.strips.last[s]) + 1, dtype=np.int64)
        short = served[case.low.cuts.kept[served] > lengths[case.strips.stock[s]]]
        board.append(short)
        stock.append(np.full(len(short), case.strips.stock[s]))
    return np.concatenate(board), np.concatenate(stock)


def _volume(rows: FillRows, closed: Closed) -> float:
    """Compacted soil (cubic feet) of all fills of a run."""
    total = 0.0
    body = np.append(0.0, np.cumsum(rows.body + rows.link))
    for a, b in closed.fills:
        total += float(body[b + 1] - body[a] - rows.link[a] + rows.before.volume[a] + rows.after.volume[b])
    return total


def _with_gap(cuts: Cuts, gap: Floats) -> Cuts:
    return Cuts(
        top=cuts.top,
        bottom_left=cuts.bottom_left,
        bottom_right=cuts.bottom_right,
        kept_left=cuts.kept_left,
        kept_right=cuts.kept_right,
        kept=cuts.kept,
        gap=gap,
        height=cuts.height,
        tallest=cuts.tallest,
    )
