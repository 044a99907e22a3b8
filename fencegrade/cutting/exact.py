"""The exact solver: bounds first, then column generation, diving, and integer programmes for the proof."""

from __future__ import annotations

from fractions import Fraction
from time import perf_counter

from fencegrade.cutting.constructive import ceil_of, construct, material_bound, plan_cost
from fencegrade.cutting.model import Model, Result

MOST_CELLS = 100_000_000
"""Cells of the table of fillings; a larger one is not made, and such a plan has only the simple bounds."""


class ExactSolver:
    """Finds a cheapest plan and proves it, or says how far the proof got when the time is over."""

    def solve(self, model: Model, seconds: float) -> Result:
        """Plan `model` within about `seconds`."""
        until = perf_counter() + seconds
        raw = quick_bound(model)
        cuts = construct(model, goal=ceil_of(raw))
        cost = plan_cost(model, cuts)
        small = table_cells(model) <= MOST_CELLS
        if ceil_of(raw) < cost and small:
            raw = max(raw, value_bound(model, cost))
        if ceil_of(raw) < cost and small and perf_counter() < until:
            from fencegrade.cutting.search import Search

            search = Search(model, cuts, raw, until)
            search.run()
            cuts, raw = search.cuts, search.raw
        cost = plan_cost(model, cuts)
        return Result(cuts=cuts, cost=cost, bound=min(cost, ceil_of(raw)), raw=min(raw, Fraction(cost)))


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


def value_bound(model: Model, cost: int) -> Fraction:
    """Give the best bound from guessed piece values; stops as soon as it meets `cost`."""
    from fencegrade.cutting.bounds import dual_bound, own_bar_values, step_values
    from fencegrade.cutting.columns import bar_knapsack, value_scale

    knapsack, scale = bar_knapsack(model), value_scale(model)
    single = len(model.bars) == 1
    trials = (
        step_values(model, scale * model.bars[0].cost) if single else iter([own_bar_values(model, scale)])
    )
    raw = Fraction(0)
    for values in trials:
        raw = max(raw, dual_bound(model, values, knapsack.fill(values), scale))
        if ceil_of(raw) >= cost:
            break
    return raw


def l2_bound(model: Model) -> int:
    """Bound the number of bars of a single unlimited kind (Martello & Toth, Knapsack Problems, 1990, section
    8.3.2).

    For each threshold e the pieces over c - e need a bar each, those over half a bar one each, and what is
    left over in the latter is filled without loss by the pieces from e to half.
    """
    capacity = model.bars[0].capacity
    pairs = list(zip(model.weights, model.demands, strict=True))
    best = 0
    for least in {0, *(w for w in model.weights if 2 * w <= capacity)}:
        alone = sum(d for w, d in pairs if w > capacity - least)
        big = [(w, d) for w, d in pairs if w <= capacity - least and 2 * w > capacity]
        number = sum(d for _, d in big)
        spare = number * capacity - sum(w * d for w, d in big)
        rest = sum(w * d for w, d in pairs if least <= w and 2 * w <= capacity)
        best = max(best, alone + number + max(0, -(-(rest - spare) // capacity)))
    return best
