"""Small lists: of all plans of equal cost the one with fewest boards, then ways, then most kept.

All fillings that a plan of the cost could use are listed, and an integer programme chooses among them. What
it finds is counted in whole numbers before it is taken, so that no tolerance decides. Own derivation.
"""

from __future__ import annotations

import highspy
import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting.columns import bar_knapsack
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.master import MIP_OPTIONS, silent, whole_programme
from fencegrade.cutting.model import Cut, Model, plan_cost
from fencegrade.cutting.patterns import list_patterns
from fencegrade.cutting.polish import Keeps, used
from fencegrade.cutting.pool import Pool, cover_to_cuts
from fencegrade.cutting.rows import conditions, first_rows

MOST_PIECES, MOST_FILLINGS, NODES, WORK = 120, 300, 50, 0.5
"""Pieces and fillings of a small list; branches, and seconds of work."""


def settle(model: Model, cuts: tuple[Cut, ...], keeps: Keeps | None) -> tuple[Cut, ...]:
    """Give a plan of the same cost that is better at the saw, if the list is small and there is one.

    keeps: what is kept of a board with so much left; None: the longest single rest counts
    """
    effort = Effort(WORK)
    if sum(model.demands) > MOST_PIECES or any(model.bars[cut.bar].lacking for cut in cuts):
        return cuts
    cost = plan_cost(model, cuts)
    asked = conditions(model, first_rows(model, bar_knapsack(model, effort)), cost, 4)
    pool = list_patterns(model, asked, MOST_FILLINGS, effort, full=False)
    if pool is None or not len(pool):
        return cuts
    times = _choose(model, pool, cuts, keeps, effort)
    found = None if times is None else cover_to_cuts(model, pool, times, model.demands)
    if found is None or plan_cost(model, found) != cost:
        return cuts
    return max(cuts, found, key=lambda plan: score(model, plan, keeps))


def score(model: Model, cuts: tuple[Cut, ...], keeps: Keeps | None) -> tuple[int, int, int]:
    """Boards and ways of cutting, both below zero, and what is kept: more is better, in this order."""
    ways = {(cut.bar, cut.items): 0 for cut in cuts}
    for cut in cuts:
        ways[cut.bar, cut.items] += cut.times
    rests = {way: model.bars[way[0]].capacity - used(model, way[1]) for way in ways}
    kept = max(rests.values(), default=0)
    if keeps is not None:
        kept = sum(keeps(rests[way]) * times for way, times in ways.items())
    return -sum(ways.values()), -len(ways), kept


def _choose(
    model: Model, pool: Pool, cuts: tuple[Cut, ...], keeps: Keeps | None, effort: Effort
) -> list[int] | None:
    """Numbers of each filling for fewest boards, then ways, then most kept; None if no choice is found."""
    size, count = len(pool), sum(cut.times for cut in cuts)
    ways = zip(pool.bars, pool.items, strict=True)
    rests = [model.bars[bar].capacity - used(model, items) for bar, items in ways]
    kept = np.array([rest if keeps is None else keeps(rest) for rest in rests], dtype=np.float64)
    way = kept.max() * (1 if keeps is None else count) + 1.0
    programme = whole_programme(
        pool, model.demands, [bar.limit for bar in model.bars], plan_cost(model, cuts), exactly=True
    )
    solver = silent()
    solver.passModel(programme)
    boards = np.full(size, way * (count + 1))
    solver.changeColsCost(size, np.arange(size, dtype=np.int32), boards if keeps is None else boards - kept)
    _add_marks(solver, np.full(size, way), 1.0, -np.array(programme.col_upper_))
    if keeps is None:
        _add_marks(solver, -kept, -1.0, np.ones(size))
        solver.addRow(0.0, 1.0, size, np.arange(2 * size, 3 * size, dtype=np.int32), np.ones(size))
    for name, value in {**MIP_OPTIONS, "mip_max_nodes": NODES, "time_limit": effort.clock_left}.items():
        solver.setOptionValue(name, value)
    solver.run()
    if solver.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return None
    return [int(t) for t in np.rint(solver.getSolution().col_value[:size])]


def _add_marks(
    solver: highspy.Highs, costs: NDArray[np.float64], times: float, marks: NDArray[np.float64]
) -> None:
    """Add a mark of 0 or 1 for each filling, with the row: times x number + marks x mark <= 0."""
    size, first = len(costs), solver.getNumCol()
    none, own = np.zeros(0), np.arange(size, dtype=np.int32)
    solver.addCols(size, costs, np.zeros(size), np.ones(size), 0, 0 * own, none.astype(np.int32), none)
    solver.changeColsIntegrality(size, first + own, np.ones(size, dtype=np.uint8))
    index, data = np.stack([own, first + own], axis=1), np.stack([np.full(size, times), marks], axis=1)
    below = np.full(size, -np.inf)
    solver.addRows(size, below, np.zeros(size), 2 * size, 2 * own, index.reshape(-1), data.reshape(-1))
