"""Ways to close low ground, each carried through to the finished ground, the boards over it and the bill."""

from collections.abc import Sequence
from itertools import product

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.low_ground.bill import Bill, Weights, bill_for, scaled, weigh
from fencegrade.fence.low_ground.fill_places import FillRows, LowRun, fill_rows
from fencegrade.fence.low_ground.finished import Spared, fill_volumes, finished_cuts, soil_top, spared
from fencegrade.fence.low_ground.kickboard import StripRows, strip_costs, strip_rows
from fencegrade.fence.low_ground.search import Closed, FillCosts, best_closing, no_strips
from fencegrade.fence.low_ground.soil_body import Section
from fencegrade.fence.pickets.cuts import Cuts, shortened
from fencegrade.fence.stock import (
    Needs,
    StockChoice,
    by_length,
    choose_stock,
    join_needs,
    needs_of,
    shortest_serving,
)
from fencegrade.fence.stock_steps import board_costs, have_prices
from fencegrade.job.choices import BottomCut, LowGround
from fencegrade.job.records import Pickets, Soil, Stock
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats, Indices, Marks, Truths, as_one
from fencegrade.units.tolerances import SAME_LENGTH

SHARES = (0.75, 0.5, 0.25, 0.0)
FEW_SHARES = (0.5, 0.0)
"""Shares of their price at which boards on hand are tried; the few for pairs of lengths and for long jobs."""
MANY = 50_000
"""Pickets of a long job."""


class Case(Struct, frozen=True, kw_only=True, eq=False):
    """A run with everything that could close it.

    `shortest`: (n,) stock that serves on bare ground; `before`, `after`: what a fill's ends spare the boards
    beside it.
    """

    low: LowRun
    shortest: Indices
    rows: FillRows
    before: Spared
    after: Spared
    strips: StripRows


class Question(Struct, frozen=True, kw_only=True, eq=False):
    """A whole job's runs and its `stock` by length; `lengths` (k,) of it in tape marks of `mark` inches."""

    cases: tuple[Case, ...]
    stock: tuple[Stock, ...]
    lengths: Marks
    soil: Soil
    bottom_cut: BottomCut
    mark: float
    system: UnitSystem

    @property
    def priced(self) -> bool:
        """Whether boards have prices."""
        return have_prices(self.stock)

    @property
    def most_soil(self) -> float:
        """Cubic feet that no plan exceeds."""
        rows = [c.rows for c in self.cases]
        ends = [e for r in rows for e in (r.before, r.after)]
        inside = sum(float(r.body.sum() + np.maximum(r.link, 0.0).sum()) for r in rows)
        return inside + sum(float((e.volume * e.possible).sum()) for e in ends)

    def measure(self, bill: Bill) -> float:
        """What a bill is judged by: money, or inches of timber where nothing is priced."""
        return bill.total if self.priced else bill.timber


class RunOutcome(Struct, frozen=True, kw_only=True, eq=False):
    """A choice carried through on one run. Arrays are (n,) over its pickets.

    `full`: cuts at full length over the finished ground; `needs`: what they ask of their boards; `on_soil`:
    pickets with soil below, of a fill or of its sloping end; `boarded`: pickets shorter for a kickboard;
    `volumes`: soil of each fill (cubic feet).
    """

    closed: Closed
    full: Cuts
    needs: Needs
    on_soil: Truths
    boarded: Truths
    volumes: Floats


class Outcome(Struct, frozen=True, kw_only=True, eq=False):
    """A choice carried through: every run, the stock its pickets take and the bill."""

    runs: tuple[RunOutcome, ...]
    stock: StockChoice
    bill: Bill

    @property
    def done(self) -> "Done":
        """What it does, and nothing of what follows."""
        return _done([run.closed for run in self.runs])


Done = tuple[tuple[tuple[tuple[int, int], ...], ...], ...]
"""Fills and kickboards of every run, as `Closed` has them."""


def _done(closed: Sequence[Closed]) -> Done:
    return tuple((c.fills, c.strips) for c in closed)


def pose(
    runs: Sequence[LowRun], pickets: Pickets, soil: Soil, mark: float, system: UnitSystem, fills: bool
) -> Question:
    """Every run with all that could close it, soil only where `fills` are wanted; see `close_low_ground`."""
    if not pickets.stock:
        raise ValueError("closing low ground needs one picket stock or more")
    stock, lengths = by_length(pickets.stock, mark)
    return Question(
        cases=tuple(_case(low, lengths, soil, pickets.bottom_cut, mark, fills) for low in runs),
        stock=stock,
        lengths=lengths,
        soil=soil,
        bottom_cut=pickets.bottom_cut,
        mark=mark,
        system=system,
    )


def _case(low: LowRun, lengths: Marks, soil: Soil, cut: BottomCut, mark: float, fills: bool) -> Case:
    needs = needs_of(low.cuts, low.zones.most_gap, None, mark)
    shortest = shortest_serving(lengths, needs.least)
    rows = fill_rows(low, lengths if fills else lengths[:0], soil, mark)
    before, after = spared(low, rows, shortest, lengths, soil, cut, mark)
    strips = strip_rows(low, lengths, shortest, soil.kickboard, soil.kickboard_width, mark)
    return Case(low=low, shortest=shortest, rows=rows, before=before, after=after, strips=strips)


def least(question: Question, choice: LowGround) -> Outcome:
    """What a choice comes to by its own weights."""
    return _carried_out(question, _searched(question, _weights(question, choice)))


def cheapest(question: Question, others: list[Outcome]) -> tuple[Outcome, float]:
    """The cheapest outcome found, `others` among those tried, and the bound below it.

    A closing that several weights find is carried out once.
    """
    weights = _weights(question, LowGround.CHEAPEST)
    if weights.per_board:
        only = least(question, LowGround.CHEAPEST)
        return only, question.measure(only.bill)
    found, bound = {outcome.done: outcome for outcome in others}, -np.inf
    every = _shares(question)
    for shares, strips in [(s, 1.0) for s in every] + [(every[0], t) for t in _strip_shares(question)]:
        tried = scaled(weights, question.stock, shares, strips)
        closed = _searched(question, tried)
        done = _done(closed)
        if done not in found:
            found[done] = _carried_out(question, closed)
        cost = sum(c.cost for c in closed)
        bound = max(bound, _bound(question, tried, shares, cost, found[done].bill.unserved))
    chosen = min(found.values(), key=lambda o: (o.bill.unserved, question.measure(o.bill), o.bill.compacted))
    return chosen, min(bound, question.measure(chosen.bill))


def _weights(question: Question, choice: LowGround) -> Weights:
    bays = 1 + sum(len(c.low.bays) for c in question.cases)
    return weigh(choice, question.stock, question.soil, question.system, question.most_soil, bays)


def _strip_shares(question: Question) -> list[float]:
    """Shares of a kickboard's cost to search with besides, where some are on hand."""
    return [share for share in SHARES if any(s.on_hand for s in question.soil.kickboard)]


def _shares(question: Question) -> list[Floats]:
    """Shares of each stock's cost to search with: all of it, and less for one or two of those on hand.

    A length on hand is tried at shares of its own cost and at the cost of every cheaper length. The list
    for fewer lengths on hand is part of the list for more, so more on hand never costs more.
    """
    stock, costs = question.stock, board_costs(question.stock)
    held = [k for k, s in enumerate(stock) if s.on_hand]
    as_cheap = {k: {float(c / costs[k]) for c in costs if c < costs[k]} for k in held}
    many = sum(len(c.low.slots) for c in question.cases) > MANY
    found = [np.ones(len(stock))]
    for places in [(k,) for k in held] + [(k, m) for k in held for m in held if m > k]:
        steps = FEW_SHARES if many or len(places) > 1 else SHARES
        for share in product(*(sorted({*steps, *as_cheap[k]}) for k in places)):
            shares = np.ones(len(stock))
            shares[list(places)] = share
            found.append(shares)
    return found


def _bound(question: Question, weights: Weights, shares: Floats, cost: float, unserved: int) -> float:
    """Least cost of any plan: boards on hand save at most their own reduced cost each.

    `cost` of the best closing by these weights over nothing done, `unserved` pickets in it.
    For a reduced cost c no more than the price p, p max(0, used - held) >= c (used - held).
    """
    alone = sum(float(weights.boards[c.shortest].sum()) for c in question.cases)
    none = unserved * float(weights.boards[-1])
    held = np.array([s.on_hand for s in question.stock])
    strips = sorted(question.soil.kickboard, key=lambda s: s.length)
    saved = float((board_costs(question.stock) * shares * held).sum())
    saved += float(sum(w * s.on_hand for w, s in zip(weights.kickboards, strips, strict=True)))
    trifle = 0.0 if question.priced else weights.soil * question.most_soil
    return alone + cost - none - saved - trifle


def _searched(question: Question, weights: Weights) -> list[Closed]:
    """The best closing of every run by these weights."""
    return [_search(case, weights, question.lengths) for case in question.cases]


def _carried_out(question: Question, closed: Sequence[Closed]) -> Outcome:
    """What closing every run so comes to."""
    runs = tuple(_carried(question, case, one) for case, one in zip(question.cases, closed, strict=True))
    needs = join_needs([r.needs for r in runs])
    stock = choose_stock(needs, question.stock)
    final = shortened(as_one([r.full for r in runs]), stock.kept, question.mark)
    most = np.concatenate([c.low.zones.most_gap for c in question.cases])
    water = np.concatenate([c.low.zones.open for c in question.cases])
    over = int(((final.gap > most + SAME_LENGTH) & ~water).sum())
    soil = float(sum(r.volumes.sum() for r in runs))
    rows = zip(question.cases, runs, strict=True)
    strips = np.array([c.strips.length[s] for c, r in rows for s, _ in r.closed.strips], dtype=float)
    bill = bill_for(stock, soil, strips, question.soil, question.system, over, question.mark)
    return Outcome(runs=runs, stock=stock, bill=bill)


def _search(case: Case, weights: Weights, lengths: Marks) -> Closed:
    rows, alone = case.rows, weights.boards[case.shortest]
    if not (weights.fills and len(rows)) and not (weights.strips and len(case.strips)):
        return Closed(fills=(), strips=(), cost=0.0)
    barred = 0.0 if weights.fills else np.inf
    row = weights.boards[rows.stock] - alone[rows.board] + weights.soil * rows.body + weights.per_board
    ends = [
        np.where(
            end.possible,
            weights.soil * end.volume + barred - beside.worth(weights.boards, weights.per_board, len(rows)),
            np.inf,
        )
        for end, beside in ((rows.before, case.before), (rows.after, case.after))
    ]
    costs = FillCosts(row=row, link=weights.soil * rows.link, before=ends[0], after=ends[1])
    strips = no_strips()
    if weights.strips and len(case.strips):
        strips = strip_costs(case.low, case.strips, lengths, weights.boards, alone, weights.kickboards)
    return best_closing(len(case.low.slots), rows, costs, strips)


def _carried(question: Question, case: Case, closed: Closed) -> RunOutcome:
    """The finished ground of a run and the lengths over it.

    Pickets of a fill lose nothing more, and those shorter for a kickboard close down to it.
    """
    low, mark = case.low, question.mark
    top = soil_top(low, case.rows, closed, question.soil)
    full = finished_cuts(low, top, question.bottom_cut, mark)
    on_soil = full.kept != low.cuts.kept
    filled = np.zeros(len(low.slots), dtype=bool)
    for a, b in closed.fills:
        filled[case.rows.board[a] : case.rows.board[b] + 1] = True
    boarded, stock = _boarded(case, closed, question.lengths)
    if boarded.any():
        least_kept = np.where(boarded, question.lengths[stock], full.kept)
        full = shortened(full, least_kept, mark)
        full = replace(full, gap=np.where(boarded, 0.0, full.gap))
    return RunOutcome(
        closed=closed,
        full=full,
        needs=needs_of(full, low.zones.most_gap, filled | boarded, mark),
        on_soil=filled | on_soil,
        boarded=boarded,
        volumes=fill_volumes(
            low,
            case.rows,
            closed,
            top,
            Section(crest=question.soil.crest, side_slope=question.soil.side_slope),
        ),
    )


def _boarded(case: Case, closed: Closed, lengths: Marks) -> tuple[Truths, Indices]:
    """Which boards (n,) are shorter for a kickboard, and the stock each is then cut from."""
    boarded = np.zeros(len(case.low.slots), dtype=bool)
    stock = np.zeros(len(boarded), dtype=np.int64)
    for s, first in closed.strips:
        served = slice(first, int(case.strips.last[s]) + 1)
        boarded[served] = case.low.cuts.kept[served] > lengths[case.strips.stock[s]]
        stock[served] = case.strips.stock[s]
    return boarded, stock
