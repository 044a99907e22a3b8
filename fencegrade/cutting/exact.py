"""The exact solver: quick plans and bounds, the question whether the boards suffice, then the search."""

from __future__ import annotations

from fractions import Fraction
from math import inf

from msgspec.structs import replace

from fencegrade.cutting.bounds import quick_bound
from fencegrade.cutting.constructive import construct
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.knapsack import table_cells
from fencegrade.cutting.model import Cut, Model, Result, ceil_of, lacks, plan_cost

MOST_CELLS = 100_000_000
"""Cells of the table of fillings; a larger one is not made, and such a plan has only the simple bounds."""


def solve(model: Model, effort: Effort, shorter: Result | None = None) -> Result:
    """Find a cheapest plan of `model` and prove it, or say how far the proof got when the effort is spent.

    shorter: what was found of the list with shorter pieces; a plan that costs more is of no use
    """
    raw, useful = quick_bound(model), inf
    if shorter is not None:
        raw, useful = max(raw, shorter.raw), shorter.cost
    cuts, short = construct(model), False
    if lacks(model, cuts):
        cuts, fewest = _offered(model, cuts, effort)
        short = lacks(model, cuts) and fewest > 0
    if not lacks(model, cuts):
        cuts, raw = searched(model, cuts, raw, effort, useful)
    cost = plan_cost(model, cuts)
    proven = Fraction(cost) if short else min(raw, Fraction(cost))
    return Result(cuts=cuts, cost=cost, raw=proven, short=short)


def _offered(model: Model, cuts: tuple[Cut, ...], effort: Effort) -> tuple[tuple[Cut, ...], Fraction]:
    """Look for a plan from the boards on offer alone: one that lacks as few others as can be, and how few."""
    count = sum(model.demands)
    bars = [
        replace(bar, cost=1)
        if bar.lacking
        else replace(bar, cost=0, limit=count if bar.limit is None else bar.limit)
        for bar in model.bars
    ]
    counting = replace(model, bars=tuple(bars))
    tried = min((construct(counting), cuts), key=lambda c: plan_cost(counting, c))
    return searched(counting, tried, Fraction(0), effort)


def searched(
    model: Model, cuts: tuple[Cut, ...], raw: Fraction, effort: Effort, useful: float = inf
) -> tuple[tuple[Cut, ...], Fraction]:
    """Better a plan and its bound by linear and integer programmes, if it is not proven yet.

    useful: what a plan may cost; the search ends where none is as cheap
    """
    if (
        ceil_of(raw) >= min(plan_cost(model, cuts), useful + 1)
        or table_cells(model) > MOST_CELLS
        or effort.over
    ):
        return cuts, raw
    from fencegrade.cutting.search import Search

    search = Search(model, cuts, raw, effort, useful)
    search.run()
    return search.cuts, search.raw
