"""Piece values well inside the set of best ones, so that few fillings look as if they could still be used.

Column generation ends at a corner of the set of optimal prices, where many fillings cost exactly nothing.
Among all prices with (nearly) the same bound those are sought for which the fillings known so far keep a
distance. Own derivation.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray
from scipy import optimize
from scipy.sparse import coo_array, csc_array, eye_array, hstack, vstack

from fencegrade.cutting.bounds import dual_bound
from fencegrade.cutting.columns import Generator
from fencegrade.cutting.master import lp_work
from fencegrade.units.tolerances import WHOLE

_OPTIMIZE: Any = optimize


def central_values(
    generator: Generator, value: float, distance: float, rounds: int
) -> Iterator[tuple[Fraction, tuple[int, ...]]]:
    """Yield the bound and the whole values of prices that come ever closer to the centre.

    value: optimum of the linear programme; distance: share of a bar's cost that fillings are kept off
    """
    model, knapsack = generator.model, generator.knapsack
    limits = [bar.limit for bar in model.bars]
    for _ in range(rounds):
        prices = None if generator.effort.over else _inner_prices(generator, value, distance)
        if prices is None:
            return
        values = [int(p) for p in np.floor(np.maximum(prices[: len(model.weights)], 0.0) * generator.scale)]
        best = knapsack.fill(values)
        bound = dual_bound(model, values, best, generator.scale)
        yield bound, tuple(values)
        if not generator.add_fillings(model.demands, limits, np.maximum(prices, 0.0)):
            return


def _inner_prices(generator: Generator, value: float, distance: float) -> NDArray[np.float64] | None:
    pool, model = generator.pool, generator.model
    columns = csc_array(pool.matrix().T)
    costs = pool.costs()
    needs = pool.needs(model.demands, [bar.limit for bar in model.bars])
    count, rows = columns.shape
    typical = float(np.mean(costs))
    slack_rows = hstack([columns, eye_array(count), coo_array((count, rows))])
    price_rows = hstack([-eye_array(rows), coo_array((rows, count)), eye_array(rows)])
    bound_row = hstack([coo_array(-needs[np.newaxis, :]), coo_array((1, count + rows))])
    rows_used = csc_array(vstack([slack_rows, price_rows, bound_row]))
    answer = _OPTIMIZE.linprog(
        np.concatenate([np.zeros(rows), -np.ones(count + rows)]),
        A_ub=rows_used,
        b_ub=np.concatenate([costs, np.zeros(rows), [-value * (1 - WHOLE)]]),
        bounds=[(0, None)] * rows + [(0, distance * typical)] * (count + rows),
        method="highs",
        options={"time_limit": generator.effort.clock_left},
    )
    generator.effort.spend(lp_work(answer, rows_used))
    return None if answer.status != 0 else cast(NDArray[np.float64], answer.x[:rows])
