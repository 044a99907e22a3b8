"""Exact lower bounds: of the material, by counting, and from whole piece values.

Everything is in whole numbers or fractions, so rounding never makes a bound untrue.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from fencegrade.cutting.model import Model


def quick_bound(model: Model) -> Fraction:
    """Give the better of the bounds that need no table: material, and for one bar kind the counting bound."""
    raw = cost_in_parts(model, [bar.capacity for bar in model.bars], model.total)
    if len(model.bars) == 1:
        raw = max(raw, Fraction(l2_bound(model) * model.bars[0].cost))
    return raw


def cost_in_parts(model: Model, worth: Sequence[int], need: int) -> Fraction:
    """Least cost of bars that are worth `need` together, if they may be bought in parts.

    worth: what a bar of each kind is worth. A fractional knapsack: bars are taken by cost per worth, each
    kind up to its limit. Where the worth of a bar is that of its best filling and `need` that of all pieces,
    whatever a piece is worth, no plan costs less (without limits: Farley, Operations Research 38 (1990)
    922-923). Own derivation.
    """
    left, cost = Fraction(need), Fraction(0)
    priced = [(Fraction(bar.cost, w), w, bar) for bar, w in zip(model.bars, worth, strict=True) if w]
    for rate, each, bar in sorted(priced, key=lambda row: row[0]):
        part = left if bar.limit is None else min(left, Fraction(bar.limit * each))
        left, cost = left - part, cost + part * rate
    return cost


def l2_bound(model: Model) -> int:
    """Bound the number of bars of a single unlimited kind (Martello & Toth, Knapsack Problems, 1990, section
    8.3.2).

    For each threshold e the pieces over c - e need a bar each, those over half a bar one each, and what is
    left over in the latter is filled without loss by the pieces from e to half.
    """
    capacity = model.bars[0].capacity
    weights, demands = np.array(model.weights), np.array(model.demands)
    least = np.append(weights[2 * weights <= capacity], 0)
    number, length = np.cumsum(np.append(0, demands)), np.cumsum(np.append(0, weights * demands))
    alone = np.searchsorted(-weights, least - capacity)
    over_half = np.searchsorted(-weights, -(capacity // 2))
    till = np.searchsorted(-weights, -least, side="right")
    shared = -(-(length[till] - length[alone]) // capacity)
    return int((number[alone] + np.maximum(shared, number[over_half] - number[alone])).max())
