"""The linear and integer programmes over a pool of fillings, solved by HiGHS."""

from __future__ import annotations

from typing import Any

import highspy
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.model import Cut, Model
from fencegrade.cutting.pool import Pool
from fencegrade.highs import set_options, silent

LP_START, LP_ENTRY, LP_PIVOT = 1_000, 0.5, 0.13
"""Work of a linear programme: at least, for each new entry of its matrix, and for each row in each exchange
(0.12 to 0.14 at 340 and 530 rows).
"""

PLUNGE_PIVOT, TURNS = 0.016, 8
"""Work of an exchange for each column on the way down, and how often one may be turned back there."""

MIP_START, MIP_PIVOT, BRANCH_PIVOTS = 15, 0.1, 100
"""Work of an integer programme: for each entry of its matrix, and for each column in each exchange; exchanges
that a branch takes, as far as that is known before (71 programmes of 60 to 3,000 columns).
"""

ALMOST = 1e-6
"""Part of one by which a number of boards may miss a whole one."""

MOST_COST = 1 << 31
"""Costs from here on are too fine for the tolerance of the integer programme; its refusal then proves nothing
(3 wrong proofs in 500 lists of absurd prices).
"""

MIP_OPTIONS = {
    "mip_rel_gap": 0.0,
    "mip_allow_restart": False,
    "mip_heuristic_run_rens": False,
    "mip_heuristic_run_rins": False,
    "mip_heuristic_run_root_reduced_cost": False,
}
"""Programmes within programmes seldom find what the branches do not (without them a third of the time)."""
Cuts = tuple[Cut, ...] | None
Status = highspy.HighsModelStatus
Low, Basic = highspy.HighsBasisStatus.kLower, highspy.HighsBasisStatus.kBasic


class Relaxed(Struct, frozen=True, kw_only=True):
    """Optimum of the linear programme: its value, column values, and the price of each row."""

    value: float
    times: NDArray[np.float64]
    prices: NDArray[np.float64]


class Programme:
    """The linear programme over a pool; it goes on from its last basis when fillings or demands change.

    Until `end_swaps` a piece may stand for the next shorter one. That holds of every plan, since any filling
    may be cut with the shorter piece, so the optimum is the same, and prices that fall with the length are
    found in half the rounds (dual cuts: Valério de Carvalho, INFORMS Journal on Computing 17 (2005) 175-182).
    """

    def __init__(self, pool: Pool, effort: Effort) -> None:
        self.pool, self.effort = pool, effort
        self._solver = silent(solver="simplex", presolve="off", simplex_strategy=0)
        self._known, self._needs = 0, np.zeros(pool.rows)
        _add_rows(self._solver, self._needs, np.full(pool.rows, np.inf))
        self._swaps, self.swapping = len(pool.model.weights) - 1, True
        index = np.repeat(np.arange(self._swaps + 1), 2)[1:-1]
        starts, data = _ints(2 * np.arange(self._swaps)), np.tile([-1.0, 1.0], self._swaps)
        none = np.zeros(self._swaps)
        self._solver.addCols(self._swaps, none, none, none + np.inf, len(index), starts, _ints(index), data)

    def end_swaps(self) -> None:
        """Let no piece stand for another any more."""
        none = np.zeros(self._swaps)
        self._solver.changeColsBounds(self._swaps, _ints(np.arange(self._swaps)), none, none)
        self.swapping = False

    def inward(self) -> None:
        """From here on give prices from the middle of the best ones: an interior point, without crossover."""
        self.end_swaps()
        set_options(self._solver, solver="ipm", run_crossover="off")

    def start_from(self, other: Programme) -> None:
        """Go on from the basis of a programme of the same pieces, as far as it has the same fillings.

        Boards may cost something else here, and be limited where they were not there. What the basis then
        lacks HiGHS adds.
        """
        basis, pool, pieces = other._solver.getBasis(), self.pool, len(self.pool.model.weights)
        self._extend()
        theirs, columns = basis.col_status, [Low] * (self._swaps + self._known)
        columns[: self._swaps] = theirs[: self._swaps]
        for here, way in enumerate(pool.ways, self._swaps):
            there = other.pool.numbers.get(way, other._known)
            if there < other._known:
                columns[here] = theirs[self._swaps + there]
        rows = basis.row_status[:pieces] + [Basic] * len(pool.limited)
        for bar, row in other.pool.limited.items():
            rows[pool.limited[bar]] = basis.row_status[row]
        basis.col_status, basis.row_status, basis.alien = columns, rows, True
        self._solver.setBasis(basis)

    def solve(self, model: Model) -> Relaxed | None:
        """Solve for the demands and limits of a model; None if the effort is over or there is no solution."""
        if self.effort.over:
            return None
        self.effort.spend(LP_START + LP_ENTRY * self._extend())
        needs = self.pool.needs(model)
        for row in np.flatnonzero(needs != self._needs).tolist():
            self._solver.changeRowBounds(row, needs[row], np.inf)
        self._needs = needs
        times = _solved(self._solver, self.effort, LP_PIVOT * np.count_nonzero(self._needs))
        if times is None:
            return None
        return Relaxed(
            value=self._solver.getObjectiveValue(),
            times=times[self._swaps :],
            prices=np.maximum(self._solver.getSolution().row_dual, 0.0),
        )

    def _extend(self) -> int:
        """Add the fillings that are new in the pool; returns how many entries they have."""
        entries = _add_columns(self._solver, self.pool, self._known)
        self._known = len(self.pool)
        return entries


def _ints(values: NDArray[Any]) -> NDArray[np.int32]:
    return values.astype(np.int32)


def _add_rows(solver: highspy.Highs, least: NDArray[np.float64], most: NDArray[np.float64]) -> None:
    """Add rows without entries."""
    none = np.zeros(0)
    solver.addRows(len(least), least, most, 0, _ints(0 * least), _ints(none), none)


def _add_columns(solver: highspy.Highs, pool: Pool, first: int) -> int:
    """Add the fillings of a pool from `first` on; returns how many entries they have."""
    starts, index, data = pool.entries(first)
    if size := len(starts):
        above = np.full(size, np.inf)
        solver.addCols(size, pool.costs(first), np.zeros(size), above, len(index), starts, index, data)
    return len(index)


def _solved(solver: highspy.Highs, effort: Effort, pivot: float) -> NDArray[np.float64] | None:
    """Column values at the optimum of a linear programme, if there is one; an exchange is `pivot` of work."""
    if effort.over:
        return None
    set_options(solver, time_limit=solver.getRunTime() + effort.clock_left)
    solver.run()
    effort.spend(pivot * max(0, solver.getInfo().simplex_iteration_count))
    return np.array(solver.getSolution().col_value) if solver.getModelStatus() == Status.kOptimal else None


def whole_programme(pool: Pool, most: int) -> highspy.Highs:
    """The programme over a pool for each piece of its model once, its limits, and a cost of `most` or less.

    The pool must hold every filling that may be wanted. Numbers are not yet whole.
    """
    solver, size, pieces = silent(), len(pool), len(pool.model.weights)
    needs, above = pool.needs(pool.model), np.full(pool.rows, np.inf)
    above[:pieces] = needs[:pieces]
    _add_rows(solver, needs, above)
    _add_columns(solver, pool, 0)
    every = _ints(np.arange(size))
    solver.changeColsBounds(size, every, np.zeros(size), ceilings(pool))
    solver.addRow(-np.inf, most, size, every, pool.costs())
    return solver


def ceilings(pool: Pool) -> NDArray[np.float64]:
    """Most times that each column can be wanted."""
    most = [min(pool.model.demands[i] // n for i, n in items) for _, items in pool.ways]
    return np.array(most, dtype=np.float64)


def whole_numbers(solver: highspy.Highs, pool: Pool, effort: Effort, nodes: int) -> tuple[Cuts, bool]:
    """Solve a programme over a pool, and perhaps more, in whole numbers; result as of `choose`."""
    size, cells = len(pool), solver.getNumCol()
    start, pivot = MIP_START * pool.entry_count, MIP_PIVOT * cells
    affordable = int((effort.left - start) / (pivot * BRANCH_PIVOTS))
    if affordable < 1:
        return None, False
    solver.changeColsIntegrality(cells, _ints(np.arange(cells)), np.ones(cells, dtype=np.uint8))
    set_options(solver, **MIP_OPTIONS, mip_max_nodes=min(nodes, affordable), time_limit=effort.clock_left)
    solver.run()
    info = solver.getInfo()
    effort.spend(start + pivot * max(0, info.simplex_iteration_count))
    if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
        return pool.cuts(np.rint(solver.getSolution().col_value[:size])), False
    return None, solver.getModelStatus() == Status.kInfeasible


def choose(pool: Pool, most: int, effort: Effort, *, nodes: int) -> tuple[Cuts, bool]:
    """Choose whole numbers of columns that cost least, no more than `most`.

    nodes: how many branches are looked at, so that the search is cut short the same on every machine.
    Returns the cuts where a choice was found, and whether it is proven that the pool holds none that cheap.
    """
    if not len(pool):
        return None, True
    cuts, none = whole_numbers(whole_programme(pool, most), pool, effort, nodes)
    return cuts, none and most < MOST_COST


def plunge(pool: Pool, most: int, effort: Effort, *, tries: int) -> tuple[Cuts, bool]:
    """Choose whole numbers of columns within `most` by fixing the linear optimum for random costs bit by bit.

    tries: how many random costs. Arguments and result else as in `choose`.
    """
    if not len(pool):
        return None, True
    solver = whole_programme(pool, most)
    set_options(solver, presolve="off", solver="simplex")
    effort.spend(LP_START + LP_ENTRY * pool.entry_count)
    pivot = LP_PIVOT * np.count_nonzero(pool.model.demands) + PLUNGE_PIVOT * len(pool)
    descent = _Descent(solver, ceilings(pool), effort, pivot)
    chance = np.random.default_rng(1)
    for _ in range(tries):
        found = descent.down(chance.random(len(pool)))
        if found is not None:
            return pool.cuts(found), False
        if descent.refused:
            return None, most < MOST_COST
    return None, False


class _Descent:
    """The way from a linear optimum to whole numbers: the largest part one more, then solved again."""

    def __init__(
        self, solver: highspy.Highs, above: NDArray[np.float64], effort: Effort, pivot: float
    ) -> None:
        self.solver, self.above, self.effort, self.pivot = solver, above, effort, pivot
        self.every = _ints(np.arange(len(above)))
        self.refused = False

    def down(self, costs: NDArray[np.float64]) -> NDArray[np.float64] | None:
        """Whole numbers of columns, or None where the way down ends without."""
        self.solver.changeColsCost(len(costs), self.every, costs)
        below, above, turns = np.zeros(len(costs)), self.above.copy(), 0
        times = self._between(below, above)
        self.refused = times is None and self.solver.getModelStatus() == Status.kInfeasible
        while times is not None:
            whole = np.floor(times + ALMOST)
            column = int(np.argmax(times - whole))
            if times[column] - whole[column] < ALMOST:
                return whole
            below = np.maximum(below, whole)
            below[column] += 1
            times = self._between(below, above)
            if times is None and turns < TURNS:
                turns += 1
                below[column] -= 1
                above[column] = below[column]
                times = self._between(below, above)
        return None

    def _between(self, below: NDArray[np.float64], above: NDArray[np.float64]) -> NDArray[np.float64] | None:
        self.solver.changeColsBounds(len(below), self.every, below, above)
        return _solved(self.solver, self.effort, self.pivot)
