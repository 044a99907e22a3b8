"""Piece values well inside the set of best ones, so that few fillings look as if they could still be used.

Column generation ends at a corner of the set of optimal prices, where many fillings cost exactly nothing.
Among all prices with (nearly) the same bound those are sought for which the fillings known so far keep a
distance. Own derivation.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import highspy
import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting.bounds import dual_bound
from fencegrade.cutting.columns import Generator
from fencegrade.cutting.master import LP_PIVOT, LP_START, silent
from fencegrade.units.tolerances import WHOLE


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
    """Prices of the rows for which all fillings known, and all prices, keep most distance in sum."""
    pool, model = generator.pool, generator.model
    costs, needs = pool.costs(), pool.needs(model.demands, [bar.limit for bar in model.bars])
    starts, index, data = pool.entries(0)
    count, rows = len(pool), pool.rows
    every, own = np.arange(count, dtype=np.int32), np.arange(rows, dtype=np.int32)
    ends = np.append(starts[1:], len(index))
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = 2 * rows + count, count + rows + 1
    lp.col_cost_ = np.concatenate([np.zeros(rows), -np.ones(count + rows)])
    lp.col_lower_ = np.zeros(lp.num_col_)
    lp.col_upper_ = np.concatenate([np.full(rows, np.inf), np.full(count + rows, distance * costs.mean())])
    lp.row_lower_ = np.concatenate([np.full(count + rows, -np.inf), [value * (1 - WHOLE)]])
    lp.row_upper_ = np.concatenate([costs, np.zeros(rows), [np.inf]])
    matrix = lp.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.concatenate(
        [starts + every, len(index) + count + 2 * np.append(own, rows), [len(index) + count + 3 * rows]]
    ).astype(np.int32)
    matrix.index_ = np.concatenate(
        [np.insert(index, ends, rows + every), np.stack([own, rows + count + own], axis=1).reshape(-1), own]
    ).astype(np.int32)
    matrix.value_ = np.concatenate([np.insert(data, ends, 1.0), np.tile([-1.0, 1.0], rows), needs])
    solver = silent()
    solver.passModel(lp)
    solver.setOptionValue("time_limit", generator.effort.clock_left)
    solver.run()
    pivots = max(0, solver.getInfo().simplex_iteration_count)
    generator.effort.spend(LP_START + LP_PIVOT * pivots * lp.num_row_)
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return np.array(solver.getSolution().col_value[:rows])
