"""A bound from whole boards: how many of each kind any plan must buy, whatever is cut from them.

Let z_s be the most that pieces on one bar of kind s can be worth for some piece values v. A plan with n_s
bars of each kind then has sum(z_s n_s) >= sum(v_i d_i), for every choice of values, whether the values suit
the costs or not. The cheapest whole numbers n_s that meet a few such rows cost no more than the cheapest
plan. Own derivation.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, floor
from typing import Any

import numpy as np
from scipy import optimize
from scipy.optimize import Bounds, LinearConstraint

from fencegrade.cutting.knapsack import Knapsack
from fencegrade.cutting.model import Model

_OPTIMIZE: Any = optimize

FINENESS = 1 << 20


def board_row(model: Model, knapsack: Knapsack, values: Sequence[int]) -> tuple[tuple[int, ...], int]:
    """Give the worth of each bar kind and what all pieces are worth, for whole piece values."""
    best = knapsack.fill(values)
    worth = tuple(int(best[bar.capacity]) for bar in model.bars)
    return worth, sum(v * d for v, d in zip(values, model.demands, strict=True))


def whole_board_bound(
    model: Model, rows: Iterable[tuple[tuple[int, ...], int]], seconds: float
) -> tuple[int, tuple[int, ...]]:
    """Cost of the cheapest whole numbers of bars that meet every row, and those numbers.

    The cost is 0 and the numbers are missing if they are not known in time.
    """
    worths, needs = [], []
    for worth, need in rows:
        unit = max(1, max(worth) // FINENESS)
        worths.append([-(-w // unit) for w in worth])
        needs.append(need // unit)
    costs = np.array([bar.cost for bar in model.bars], dtype=np.float64)
    limits = [np.inf if bar.limit is None else bar.limit for bar in model.bars]
    answer = _OPTIMIZE.milp(
        costs,
        constraints=[LinearConstraint(np.array(worths, dtype=np.float64), lb=np.array(needs), ub=np.inf)],
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, limits),
        options={"time_limit": max(seconds, 0.05), "mip_rel_gap": 0.0},
    )
    bound = answer.mip_dual_bound
    numbers = () if answer.x is None else tuple(int(n) for n in np.rint(answer.x))
    return (0 if bound is None or not np.isfinite(bound) else ceil(bound - 1e-4)), numbers


def most_capacity(model: Model, cost: int, seconds: float) -> int | None:
    """Give a length that the bars of a plan of at most `cost` together do not pass; None if not known.

    What a plan wastes is no more than this less the pieces, so a tight cost leaves few fillings.
    """
    capacities = np.array([bar.capacity for bar in model.bars], dtype=np.float64)
    costs = np.array([[bar.cost for bar in model.bars]], dtype=np.float64)
    pieces = sum(model.demands)
    limits = [pieces if bar.limit is None else min(bar.limit, pieces) for bar in model.bars]
    answer = _OPTIMIZE.milp(
        -capacities,
        constraints=[LinearConstraint(costs, lb=-np.inf, ub=float(cost))],
        integrality=np.ones(len(capacities)),
        bounds=Bounds(0, limits),
        options={"time_limit": max(seconds, 0.05), "mip_rel_gap": 0.0},
    )
    bound = answer.mip_dual_bound
    return None if bound is None or not np.isfinite(bound) else floor(-bound + 1e-4)
