"""The search: bounds first, then column generation, diving, and integer programmes for the proof."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from msgspec.structs import replace

from fencegrade.cutting.constructive import construct, material_bound
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.model import Cut, Model, Result, ceil_of, lacks, plan_cost

MOST_CELLS = 100_000_000
"""Cells of the table of fillings; a larger one is not made, and such a plan has only the simple bounds."""


def solve(model: Model, effort: Effort) -> Result:
    """Find a cheapest plan of `model` and prove it, or say how far the proof got when the effort is spent."""
    raw = quick_bound(model)
    cuts = construct(model, goal=ceil_of(raw))
    small = table_cells(model) <= MOST_CELLS
    if lacks(model, cuts):
        cuts, fewest = _offered(model, cuts, effort, small=small)
        if lacks(model, cuts):
            cost = plan_cost(model, cuts)
            return Result(cuts=cuts, cost=cost, raw=Fraction(cost), short=fewest > 0)
    if ceil_of(raw) < plan_cost(model, cuts) and small and not effort.over:
        cuts, raw = searched(model, cuts, raw, effort)
    cost = plan_cost(model, cuts)
    return Result(cuts=cuts, cost=cost, raw=min(raw, Fraction(cost)))


def _offered(
    model: Model, cuts: tuple[Cut, ...], effort: Effort, *, small: bool
) -> tuple[tuple[Cut, ...], Fraction]:
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
    if not small or not plan_cost(counting, tried):
        return tried, Fraction(0)
    return searched(counting, tried, Fraction(0), effort)


def searched(
    model: Model, cuts: tuple[Cut, ...], raw: Fraction, effort: Effort
) -> tuple[tuple[Cut, ...], Fraction]:
    """Better a plan and its bound by the search that suits the model."""
    from fencegrade.cutting.kinds import SeveralKinds
    from fencegrade.cutting.search import OneKind

    search = (
        OneKind(model, cuts, raw, effort) if len(model.bars) == 1 else SeveralKinds(model, cuts, raw, effort)
    )
    search.run()
    return search.cuts, search.raw


def table_cells(model: Model) -> int:
    """How many cells the table of fillings would have, its few whole rows counted with it."""
    capacity = max(bar.capacity for bar in model.bars)
    bundles = sum(
        min(number, capacity // weight).bit_length()
        for weight, number in zip(model.weights, model.demands, strict=True)
        if 2 * weight <= capacity
    )
    return (bundles + 16) * capacity


def quick_bound(model: Model) -> Fraction:
    """Give the better of the bounds that need no table: material, and for one bar kind the counting bound."""
    raw = material_bound(model)
    if len(model.bars) == 1:
        raw = max(raw, Fraction(l2_bound(model) * model.bars[0].cost))
    return raw


def l2_bound(model: Model) -> int:
    """Bound the number of bars of a single unlimited kind (Martello & Toth, Knapsack Problems, 1990, section
    8.3.2).

    For each threshold e the pieces over c - e need a bar each, those over half a bar one each, and what is
    left over in the latter is filled without loss by the pieces from e to half.
    """
    capacity = model.bars[0].capacity
    weights = np.array(model.weights[::-1], dtype=np.int64)
    demands = np.array(model.demands[::-1], dtype=np.int64)
    number = np.concatenate([[0], np.cumsum(demands)])
    length = np.concatenate([[0], np.cumsum(weights * demands)])
    half = int(np.searchsorted(2 * weights, capacity, side="right"))
    least = np.concatenate([[0], weights[:half]])
    alone = np.searchsorted(weights, capacity - least, side="right").clip(half)
    big = number[alone] - number[half]
    spare = big * capacity - (length[alone] - length[half])
    rest = length[half] - length[np.searchsorted(weights, least)]
    bars = number[-1] - number[alone] + big + np.maximum(0, -(-(rest - spare) // capacity))
    return int(bars.max())
