"""What may come of a plan where the ground is not quite as measured: many grounds drawn at once."""

import numpy as np
from msgspec import Struct

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import cheapest_serving, needs_of_some, shortest_serving
from fencegrade.ground.band import NO_MATTER
from fencegrade.ground.cubics import extremes_about_line
from fencegrade.planning.buying import buying_list
from fencegrade.planning.doubt import boards_cut
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan
from fencegrade.units.arrays import Counts, Floats

MOST_NUMBERS = 20_000_000
"""Draws x picket edges that are held at once; more are refused before they fill the memory."""


class PlanDraws(Struct, frozen=True, kw_only=True, eq=False):
    """What came of a plan, draw by draw (d,), each over another ground that the readings leave open.

    `lengths` (k,): stock on offer, shortest first (in); `short` (d, k): boards of each length that have to be
    bought besides, for pickets marked in place whose own board is too short; `unserved` (d,): pickets marked
    in place that outgrow the longest stock; `outside` (d,): pickets cut from the chart that then stand with
    too much or too little open beneath; `cost` (d,): all there is to buy with those boards, in the job's
    money, nan without prices.
    """

    lengths: Floats
    short: Counts
    unserved: Counts
    outside: Counts
    cost: Floats

    def __len__(self) -> int:
        """How many draws."""
        return len(self.cost)


def plan_draws(plan: FencePlan, count: int = 1000, seed: int = 0) -> PlanDraws:
    """Draw the ground many times and see how the plan's pickets to come do on each.

    Parameters
    ----------
    plan : FencePlan
        As it is to be built: boards in doubt left long and marked in place, all others cut from the chart.
    count : int
        How many grounds.
    seed : int
        Makes the draws the same each time.

    Returns
    -------
    PlanDraws
        Boards over soil, on a kickboard or measured in place do not follow the ground. Errors: ValueError for
        a count under 1, or one that times the pickets would fill the memory. Source: own derivation on the
        band of `ground.band`.
    """
    edges = 2 * plan.picket_count
    if count < 1 or count * edges > MOST_NUMBERS:
        most = MOST_NUMBERS // max(edges, 1)
        raise ValueError(f"the number of draws lies between 1 and {most:,} for this plan, not {count:,}")
    offered = plan.stock.offered
    wanted = np.zeros((count, len(offered) + 1), dtype=np.int64)
    outside = np.zeros(count, dtype=np.int64)
    for number, run in enumerate(plan.runs):
        rises = _rises(run, count, seed + number)
        wanted += _wanted(plan, run, rises)
        outside += _outside(run, rises)
    short = wanted[:, :-1]
    prices = np.array([np.nan if s.price is None else s.price for s in offered])
    bought = buying_list(plan).cost
    more = np.where(short > 0, short * prices, 0.0).sum(axis=1)
    return PlanDraws(
        lengths=np.array([s.length for s in offered]),
        short=short,
        unserved=wanted[:, -1],
        outside=outside,
        cost=np.round((np.nan if bought is None else bought) + more, 2),
    )


def _rises(run: RunPlan, count: int, seed: int) -> Floats:
    """(d, n, 2) inches the ground under both edges of each picket lies over the line, draw by draw."""
    slots, profile = run.slots, run.ground.profile
    at, place = np.unique(np.stack([slots.left, slots.right], axis=1), return_inverse=True)
    if not len(at):
        return np.zeros((count, 0, 2))
    moved = profile.draws(at, count, seed) - profile.elevation(at)
    return np.asarray(moved[:, place.reshape(-1, 2)], dtype=float)


def _wanted(plan: FencePlan, run: RunPlan, rises: Floats) -> Counts:
    """(d, k + 1) boards by length wanted besides for pickets marked in place, and those no stock serves."""
    marked = np.flatnonzero(run.flags[PicketFlag.MARK_IN_PLACE])
    needs, lengths = needs_of_some(run.boards.needs, marked), plan.stock.lengths
    wood, serving = run.boards.wood[marked], cheapest_serving(plan.stock.offered)
    counts = np.zeros((len(rises), len(lengths) + 1), dtype=np.int64)
    for draw, rise in zip(counts, rises[:, marked].mean(axis=2), strict=True):
        reach = needs.over_higher_ground(rise).least
        sold = serving[shortest_serving(lengths, reach[reach > wood])]
        draw += np.bincount(sold % len(draw), minlength=len(draw))
    return counts


def _outside(run: RunPlan, rises: Floats) -> Counts:
    """(d,) pickets cut from the chart that stand outside their limits."""
    cut = np.flatnonzero(run.layout.coming & ~run.flags[PicketFlag.MARK_IN_PLACE] & ~run.boards.unserved)
    if not len(cut):
        return np.zeros(len(rises), dtype=np.int64)
    boards = boards_cut(run.layout, run.closing, run.cuts)
    left, right, foot, slope = (v[cut] for v in (boards.left, boards.right, boards.foot, boards.slope))
    line, risen = run.ground.line, rises[:, cut]
    highest, lowest = extremes_about_line(line, left, right, slope)
    under = line.under(left, right)
    ends = np.stack([foot - under.left, foot + slope * (right - left) - under.right], axis=1) - risen
    mean = risen.mean(axis=2)
    low = np.minimum(foot - highest - mean, ends.min(axis=2))
    high = np.maximum(foot - lowest - mean, ends.max(axis=2))
    out = (low < boards.least[cut] - NO_MATTER) | (high > boards.most[cut] + NO_MATTER)
    return np.asarray(out.sum(axis=1), dtype=np.int64)
