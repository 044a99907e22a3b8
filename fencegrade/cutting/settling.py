"""Small lists: of all plans of equal cost the one with fewest boards, then ways, then most kept.

All fillings that a plan of the cost could use are listed, and an integer programme chooses among them. What
it finds is counted in whole numbers before it is taken, so that no tolerance decides. Own derivation.
"""

from __future__ import annotations

from collections import Counter

import highspy
import numpy as np

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.knapsack import Knapsack
from fencegrade.cutting.master import ceilings, whole_numbers, whole_programme
from fencegrade.cutting.model import Cut, Model, plan_cost, serves, used
from fencegrade.cutting.patterns import list_patterns
from fencegrade.cutting.polish import Keeps
from fencegrade.cutting.pool import Pool
from fencegrade.cutting.rows import first_rows

MOST_PIECES, MOST_FILLINGS, NODES, WORK = 120, 300, 50, 0.5
"""Pieces and fillings of a small list; branches, and seconds of work."""


def settle(model: Model, cuts: tuple[Cut, ...], keeps: Keeps | None) -> tuple[Cut, ...]:
    """Give a plan of the same cost that is better at the saw, if the list is small and there is one.

    keeps: what is kept of a board with so much left; None: the longest single rest counts
    """
    effort, cost = Effort(WORK), plan_cost(model, cuts)
    if sum(model.demands) > MOST_PIECES or any(model.bars[cut.bar].lacking for cut in cuts):
        return cuts
    rows = first_rows(model, Knapsack(model, effort))
    pool = list_patterns(model, rows, cost, MOST_FILLINGS, effort)
    if pool is None or not len(pool):
        return cuts
    found, _ = whole_numbers(_programme(pool, cuts, keeps), pool, effort, NODES)
    if found is None or plan_cost(model, found) != cost or not serves(model, found):
        return cuts
    return max(cuts, found, key=lambda plan: score(model, plan, keeps))


def score(model: Model, cuts: tuple[Cut, ...], keeps: Keeps | None) -> tuple[int, int, int]:
    """Boards and ways of cutting, both below zero, and what is kept: more is better, in this order."""
    ways = Counter[tuple[int, int, object]]()
    for cut in cuts:
        ways[model.bars[cut.bar].capacity - used(model, cut.items), cut.bar, cut.items] += cut.times
    kept = max(rest for rest, _, _ in ways)
    if keeps is not None:
        kept = sum(keeps(rest) * times for (rest, _, _), times in ways.items())
    return -sum(ways.values()), -len(ways), kept


def _programme(pool: Pool, cuts: tuple[Cut, ...], keeps: Keeps | None) -> highspy.Highs:
    """Fewest boards, then ways, then most kept: each counts more than all that follows can.

    Beside the number of each filling a mark says whether it is used, and where the longest rest counts a
    second one, of which there is one in all, whether its rest is the longest.
    """
    model, size, count = pool.model, len(pool), sum(cut.times for cut in cuts)
    rests = [model.bars[bar].capacity - used(model, items) for bar, items in pool.ways]
    kept = np.array([rest if keeps is None else keeps(rest) for rest in rests], dtype=np.float64)
    way = kept.max() * (1 if keeps is None else count) + 1.0
    solver, every = whole_programme(pool, plan_cost(model, cuts)), np.arange(size, dtype=np.int32)
    boards = np.full(size, way * (count + 1))
    solver.changeColsCost(size, every, boards if keeps is None else boards - kept)
    for f, most in enumerate(ceilings(pool)):
        solver.addCol(way, 0.0, 1.0, 0, [], [])
        solver.addRow(-np.inf, 0.0, 2, [f, size + f], [1.0, -most])
    if keeps is None:
        for f, rest in enumerate(kept):
            solver.addCol(-rest, 0.0, 1.0, 0, [], [])
            solver.addRow(-np.inf, 0.0, 2, [f, 2 * size + f], [-1.0, 1.0])
        solver.addRow(0.0, 1.0, size, 2 * size + every, np.ones(size))
    return solver
