"""Exact lower bounds from whole piece values.

If no filling of a bar is worth more than the bar costs, the values of all pieces together are a bound; if one
is, the values are scaled down by the worst ratio (Farley, Operations Research 38 (1990) 922-923). A limited
bar may be worth more than it costs; the excess is charged once for each bar of the limit (linear programming
duality). Everything is in whole numbers, so rounding never makes a bound untrue.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from fencegrade.cutting.knapsack import Ints
from fencegrade.cutting.model import Model


def dual_bound(
    model: Model,
    values: Sequence[int],
    best: Ints,
    scale: int,
    demands: Sequence[int] | None = None,
    limits: Sequence[int | None] | None = None,
) -> Fraction:
    """Bound every plan from below by piece values.

    values: whole value of each piece, `scale` to one unit of cost
    best: the best filling's value for every capacity, from `Knapsack.fill(values)`
    demands, limits: those of a part of the problem, where not the whole
    """
    demands = model.demands if demands is None else demands
    limits = [bar.limit for bar in model.bars] if limits is None else limits
    worst = Fraction(1)
    for bar, limit in zip(model.bars, limits, strict=True):
        if limit is None:
            worst = max(worst, Fraction(int(best[bar.capacity]), scale * bar.cost))
    total = Fraction(sum(v * d for v, d in zip(values, demands, strict=True)))
    for bar, limit in zip(model.bars, limits, strict=True):
        if limit is not None:
            total -= limit * max(Fraction(0), int(best[bar.capacity]) - worst * scale * bar.cost)
    return total / (worst * scale)
