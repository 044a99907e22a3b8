"""The linear and integer programmes over a pool of fillings, solved by HiGHS through scipy."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import optimize
from scipy.optimize import Bounds, LinearConstraint

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.pool import Pool

_OPTIMIZE: Any = optimize

LP_START, LP_ROUND, LP_PIVOT = 3_000, 0.1, 0.13
"""Work of a linear programme: at least, for each entry of the matrix in each of its rounds, and for each row
in each exchange after them (least squares over 573 programmes of 120 to 420 rows).
"""

MIP_START, MIP_BRANCH = 80, 4
"""Work of an integer programme for each entry of its matrix: before the first branch, and for every one
(measured 34 to 160, and 2 to 13).
"""


MOST_COST = 1 << 31
"""Costs from here on are too fine for the tolerance of the integer programme; its refusal then proves nothing
(3 wrong proofs in 500 lists of absurd prices).
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxed:
    """Optimum of the linear programme: its value, column values, and the price of each row."""

    value: float
    times: NDArray[np.float64]
    prices: NDArray[np.float64]


class Outcome(StrEnum):
    """How an integer programme ended."""

    solved = "solved"
    infeasible = "infeasible"
    stopped = "stopped"


def relax(pool: Pool, demands: Sequence[int], limits: Sequence[int | None], effort: Effort) -> Relaxed | None:
    """Solve the linear programme over the pool; None if the effort is over or it has no solution."""
    if effort.over:
        return None
    matrix = pool.matrix()
    answer = _OPTIMIZE.linprog(
        pool.costs(),
        A_ub=-matrix,
        b_ub=-pool.needs(demands, limits),
        method="highs-ipm",
        options={"time_limit": effort.clock_left, "presolve": False},
    )
    effort.spend(lp_work(answer, matrix))
    if answer.status != 0:
        return None
    return Relaxed(value=float(answer.fun), times=answer.x, prices=-answer.ineqlin.marginals)


def lp_work(answer: Any, matrix: Any) -> float:
    """Work that a linear programme took."""
    pivots = getattr(answer, "crossover_nit", 0) or 0
    return float(LP_START + LP_ROUND * answer.nit * matrix.nnz + LP_PIVOT * pivots * matrix.shape[0])


def choose(
    pool: Pool,
    demands: Sequence[int],
    limits: Sequence[int | None],
    most: int | None,
    effort: Effort,
    *,
    nodes: int,
    exactly: bool = False,
) -> tuple[Outcome, list[int] | None]:
    """Choose whole numbers of columns that cost least, no more than `most` where it is given.

    nodes: how many branches are looked at, so that the search is cut short the same on every machine;
    exactly: every piece once, where the pool holds every filling that may be wanted; else pieces may be cut
    too often. Returns how it ended, and the numbers where a choice was found. `infeasible` is a proof that
    the pool holds no choice that cheap.
    """
    costs, needs, size = pool.costs(), pool.needs(demands, limits), len(demands)
    matrix = pool.matrix()
    affordable = int((effort.left / matrix.nnz - MIP_START) / MIP_BRANCH)
    if affordable < 1:
        return Outcome.stopped, None
    above = needs.copy()
    above[size if exactly else 0 :] = np.inf
    rows = [LinearConstraint(matrix, lb=needs, ub=above)]
    if most is not None:
        rows.append(LinearConstraint(costs[np.newaxis, :], lb=-np.inf, ub=float(most)))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        answer = _OPTIMIZE.milp(
            costs,
            constraints=rows,
            integrality=np.ones(len(pool)),
            bounds=Bounds(0, _ceilings(pool, demands, exactly=exactly)),
            options={
                "time_limit": effort.clock_left,
                "mip_rel_gap": 0.0,
                "node_limit": min(nodes, affordable),
            },
        )
    effort.spend((MIP_START + MIP_BRANCH * (answer.mip_node_count or 0)) * matrix.nnz)
    if answer.x is not None:
        times = [int(t) for t in np.rint(answer.x)]
        return (Outcome.solved if answer.status == 0 else Outcome.stopped), times
    refused = answer.status == 2 and (most is None or most < MOST_COST)
    return (Outcome.infeasible if refused else Outcome.stopped), None


def _ceilings(pool: Pool, demands: Sequence[int], *, exactly: bool) -> NDArray[np.float64]:
    """Most times that each column can be wanted."""
    if exactly:
        return np.array([min(demands[i] // n for i, n in items) for items in pool.items], dtype=np.float64)
    return np.array([max(-(-demands[i] // n) for i, n in items) for items in pool.items], dtype=np.float64)
