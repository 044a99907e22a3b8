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

from fencegrade.cutting.pool import Pool

_OPTIMIZE: Any = optimize


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


def relax(pool: Pool, demands: Sequence[int], limits: Sequence[int | None], seconds: float) -> Relaxed | None:
    """Solve the linear programme over the pool; None if time runs out or it has no solution."""
    answer = _OPTIMIZE.linprog(
        pool.costs(),
        A_ub=-pool.matrix(),
        b_ub=-pool.needs(demands, limits),
        method="highs-ipm",
        options={"time_limit": max(seconds, 0.01), "presolve": False},
    )
    if answer.status != 0:
        return None
    return Relaxed(value=float(answer.fun), times=answer.x, prices=-answer.ineqlin.marginals)


def choose(
    pool: Pool,
    demands: Sequence[int],
    limits: Sequence[int | None],
    most: int | None,
    seconds: float,
    *,
    nodes: int | None = None,
    exactly: bool = False,
) -> tuple[Outcome, list[int] | None]:
    """Choose whole numbers of columns that cost least, no more than `most` where it is given.

    nodes: how many branches are looked at, where the search is to be cut short the same on every machine;
    exactly: every piece once, where the pool holds every filling that may be wanted; else pieces may be cut
    too often. Returns how it ended, and the numbers where a choice was found. `infeasible` is a proof that
    the pool holds no choice that cheap.
    """
    costs, needs, size = pool.costs(), pool.needs(demands, limits), len(demands)
    above = needs.copy()
    above[size if exactly else 0 :] = np.inf
    rows = [LinearConstraint(pool.matrix(), lb=needs, ub=above)]
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
                "time_limit": max(seconds, 0.05),
                "mip_rel_gap": 0.0,
                **({} if nodes is None else {"node_limit": nodes}),
            },
        )
    if answer.x is not None:
        times = [int(t) for t in np.rint(answer.x)]
        return (Outcome.solved if answer.status == 0 else Outcome.stopped), times
    return (Outcome.infeasible if answer.status == 2 else Outcome.stopped), None


def _ceilings(pool: Pool, demands: Sequence[int], *, exactly: bool) -> NDArray[np.float64]:
    """Most times that each column can be wanted."""
    if exactly:
        return np.array([min(demands[i] // n for i, n in items) for items in pool.items], dtype=np.float64)
    return np.array([max(-(-demands[i] // n) for i, n in items) for items in pool.items], dtype=np.float64)
