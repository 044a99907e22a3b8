"""The linear and integer programmes over a pool of fillings, solved by HiGHS."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import Any

import highspy
import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.pool import Pool, limited_rows

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
Status = highspy.HighsModelStatus
Low, Basic = highspy.HighsBasisStatus.kLower, highspy.HighsBasisStatus.kBasic


class Relaxed(Struct, frozen=True, kw_only=True):
    """Optimum of the linear programme: its value, column values, and the price of each row."""

    value: float
    times: NDArray[np.float64]
    prices: NDArray[np.float64]


class Outcome(StrEnum):
    """How an integer programme ended."""

    solved = "solved"
    infeasible = "infeasible"
    stopped = "stopped"


class Programme:
    """The linear programme over a pool; it goes on from its last basis when fillings or demands change.

    Until `end_swaps` a piece may stand for the next shorter one. That holds of every plan, since any filling
    may be cut with the shorter piece, so the optimum is the same, and prices that fall with the length are
    found in half the rounds (dual cuts: Valério de Carvalho, INFORMS Journal on Computing 17 (2005) 175-182).
    """

    def __init__(self, pool: Pool, effort: Effort) -> None:
        self.pool, self.effort = pool, effort
        self._solver = silent()
        self._solver.setOptionValue("solver", "simplex")
        self._solver.setOptionValue("presolve", "off")
        self._solver.setOptionValue("simplex_strategy", 0)
        self._known = 0
        self.rows = pool.rows
        self._needs = np.zeros(self.rows)
        empty = np.zeros(0)
        self._solver.addRows(
            self.rows,
            self._needs,
            np.full(self.rows, np.inf),
            0,
            _ints(np.zeros(self.rows)),
            _ints(empty),
            empty,
        )
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
        for name, value in {"solver": "ipm", "run_crossover": "off"}.items():
            self._solver.setOptionValue(name, value)

    def start_from(self, other: Programme) -> None:
        """Go on from the basis of a programme over the first fillings of the pool, of the same pieces.

        Boards may cost something else here, and be limited where they were not there.
        """
        basis, known = other._solver.getBasis(), other._known
        self._extend()
        pieces = len(self.pool.model.weights)
        columns = basis.col_status + [Low] * (self._known - known)
        rows = basis.row_status[:pieces] + [Basic] * (self.rows - pieces)
        for bar, row in limited_rows(other.pool.model).items():
            rows[pieces + limited_rows(self.pool.model)[bar]] = basis.row_status[pieces + row]
        basis.col_status, basis.row_status = columns, rows
        self._solver.setBasis(basis)

    def solve(self, demands: Sequence[int], limits: Sequence[int | None]) -> Relaxed | None:
        """Solve for the demands and limits left; None if the effort is over or there is no solution."""
        if self.effort.over:
            return None
        entries = self._extend()
        self._change(self.pool.needs(demands, limits))
        self._solver.setOptionValue("time_limit", self._solver.getRunTime() + self.effort.clock_left)
        self._solver.run()
        pivots = max(0, self._solver.getInfo().simplex_iteration_count)
        self.effort.spend(LP_START + LP_ENTRY * entries + LP_PIVOT * pivots * self.rows)
        if self._solver.getModelStatus() != Status.kOptimal:
            return None
        answer = self._solver.getSolution()
        return Relaxed(
            value=self._solver.getObjectiveValue(),
            times=np.array(answer.col_value)[self._swaps :],
            prices=np.array(answer.row_dual),
        )

    def _extend(self) -> int:
        """Add the fillings that are new in the pool; returns how many entries they have."""
        starts, index, data = self.pool.entries(self._known)
        number = len(starts)
        if number:
            costs = self.pool.costs()[self._known :]
            self._solver.addCols(
                number, costs, np.zeros(number), np.full(number, np.inf), len(index), starts, index, data
            )
            self._known += number
        return len(index)

    def _change(self, needs: NDArray[np.float64]) -> None:
        for row in np.flatnonzero(needs != self._needs).tolist():
            self._solver.changeRowBounds(row, needs[row], np.inf)
        self._needs = needs


class _Silent(highspy.Highs):
    """A solver that leaves out what `highspy.Highs` does when made: callbacks, and printing its name."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()


def silent() -> highspy.Highs:
    """A solver on one thread that says nothing."""
    solver = _Silent()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("parallel", "off")
    return solver


def _ints(values: NDArray[Any]) -> NDArray[np.int32]:
    return values.astype(np.int32)


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
    start, pivot = MIP_START * pool.entry_count, MIP_PIVOT * len(pool)
    affordable = int((effort.left - start) / (pivot * BRANCH_PIVOTS))
    if affordable < 1:
        return Outcome.stopped, None
    solver = silent()
    solver.passModel(whole_programme(pool, demands, limits, most, exactly=exactly))
    for name, value in MIP_OPTIONS.items():
        solver.setOptionValue(name, value)
    solver.setOptionValue("mip_max_nodes", min(nodes, affordable))
    solver.setOptionValue("time_limit", effort.clock_left)
    solver.run()
    info, status = solver.getInfo(), solver.getModelStatus()
    effort.spend(start + pivot * max(0, info.simplex_iteration_count))
    if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
        times = [int(t) for t in np.rint(solver.getSolution().col_value)]
        return (Outcome.solved if status == Status.kOptimal else Outcome.stopped), times
    refused = status == Status.kInfeasible and (most is None or most < MOST_COST)
    return (Outcome.infeasible if refused else Outcome.stopped), None


def plunge(
    pool: Pool,
    demands: Sequence[int],
    limits: Sequence[int | None],
    most: int | None,
    effort: Effort,
    *,
    tries: int,
    exactly: bool = False,
) -> tuple[Outcome, list[int] | None]:
    """Choose whole numbers of columns within `most` by fixing the linear optimum for random costs bit by bit.

    tries: how many random costs. Arguments and result else as in `choose`.
    """
    lp = whole_programme(pool, demands, limits, most, exactly=exactly)
    lp.integrality_ = []
    solver = silent()
    for name in ("presolve", "off"), ("solver", "simplex"):
        solver.setOptionValue(*name)
    solver.passModel(lp)
    effort.spend(LP_START + LP_ENTRY * pool.entry_count)
    descent = _Descent(solver, len(pool), np.array(lp.col_upper_), effort, lp.num_row_)
    chance = np.random.default_rng(1)
    for _ in range(tries):
        found = descent.down(chance.random(len(pool)))
        if found is not None:
            return Outcome.solved, found
        if descent.refused and (most is None or most < MOST_COST):
            return Outcome.infeasible, None
    return Outcome.stopped, None


class _Descent:
    """The way from a linear optimum to whole numbers: the largest part one more, then solved again."""

    def __init__(
        self,
        solver: highspy.Highs,
        size: int,
        above: NDArray[np.float64],
        effort: Effort,
        rows: int,
    ) -> None:
        self.solver, self.size, self.above, self.effort, self.rows = solver, size, above, effort, rows
        self.every = _ints(np.arange(size))
        self.refused = False

    def down(self, costs: NDArray[np.float64]) -> list[int] | None:
        """Whole numbers of columns, or None where the way down ends without."""
        solver, below, above = self.solver, np.zeros(self.size), self.above.copy()
        solver.changeColsCost(self.size, self.every, costs)
        solver.changeColsBounds(self.size, self.every, below, above)
        times = self._solved()
        self.refused = times is None and solver.getModelStatus() == Status.kInfeasible
        turns = 0
        while times is not None and turns < TURNS:
            whole = np.floor(times + ALMOST)
            column = int(np.argmax(times - whole))
            if times[column] - whole[column] < ALMOST:
                return [int(t) for t in whole]
            for done in np.flatnonzero(whole > below).tolist():
                below[done] = whole[done]
                solver.changeColBounds(done, below[done], above[done])
            solver.changeColBounds(column, whole[column] + 1, above[column])
            below[column] = whole[column] + 1
            times = self._solved()
            if times is None:
                turns += 1
                below[column] = above[column] = whole[column]
                solver.changeColBounds(column, below[column], above[column])
                times = self._solved()
        return None

    def _solved(self) -> NDArray[np.float64] | None:
        if self.effort.over:
            return None
        self.solver.setOptionValue("time_limit", self.solver.getRunTime() + self.effort.clock_left)
        self.solver.run()
        pivots = max(0, self.solver.getInfo().simplex_iteration_count)
        self.effort.spend(pivots * (LP_PIVOT * self.rows + PLUNGE_PIVOT * self.size))
        if self.solver.getModelStatus() != Status.kOptimal:
            return None
        return np.array(self.solver.getSolution().col_value)


def whole_programme(
    pool: Pool, demands: Sequence[int], limits: Sequence[int | None], most: int | None, *, exactly: bool
) -> highspy.HighsLp:
    """The programme in whole numbers of columns; arguments as in `choose`."""
    starts, index, data = pool.entries(0)
    costs, needs = pool.costs(), pool.needs(demands, limits)
    above = np.full(pool.rows, np.inf)
    ends = np.append(starts[1:], len(index)).astype(np.int32)
    index, data = _ints(np.insert(index, ends, pool.rows)), np.insert(data, ends, costs)
    starts = _ints(starts + np.arange(len(starts)))
    if exactly:
        above[: len(demands)] = needs[: len(demands)]
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(pool), pool.rows + 1
    lp.col_cost_, lp.col_lower_ = costs, np.zeros(len(pool))
    lp.col_upper_ = _ceilings(pool, demands, exactly=exactly)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(pool)
    lp.row_lower_ = np.append(needs, -np.inf)
    lp.row_upper_ = np.append(above, np.inf if most is None else most)
    matrix = lp.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kColwise
    matrix.start_ = _ints(np.append(starts, len(index)))
    matrix.index_, matrix.value_ = index, data
    return lp


def _ceilings(pool: Pool, demands: Sequence[int], *, exactly: bool) -> NDArray[np.float64]:
    """Most times that each column can be wanted."""
    if exactly:
        return np.array([min(demands[i] // n for i, n in items) for items in pool.items], dtype=np.float64)
    return np.array([max(-(-demands[i] // n) for i, n in items) for items in pool.items], dtype=np.float64)
