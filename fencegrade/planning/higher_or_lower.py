"""Whether the line raised or lowered by a few inches spares cuts, boards or posts at no more money."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from msgspec import Struct

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.posts.posts import DepthRule
from fencegrade.fence.stock_steps import board_costs, cheapest_from
from fencegrade.planning.buying import buying_list
from fencegrade.planning.families import Family
from fencegrade.planning.plan import FencePlan, plan_on
from fencegrade.planning.totals import plan_totals
from fencegrade.problems import JobMistakesError
from fencegrade.units import MM_PER_INCH, UnitSystem, marks_up
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.tolerances import MARK_GRACE

FEW = {UnitSystem.IMPERIAL: 4.0, UnitSystem.METRIC: 100 / MM_PER_INCH}
"""Inches the line is moved at most (own choice): more makes another fence."""

MOST_PICKETS = 5_000
"""A longer fence is not planned again for this; `heights` tells of it."""

WORTH_TELLING = 0.02
"""Share of the cost from which a saving is told; a share of boards no longer cut counts a tenth of that, and
every inch of height takes a hundredth (own choice)."""

_CENT = 0.005

Counts = tuple[tuple[float, int], ...]
"""Boards by length (in): (length, count), shortest first."""


class Bought(Struct, frozen=True, kw_only=True):
    """What a plan comes to: boards, posts, rails by (length, count), shortest first, boards cut, and money.

    `cost` of the buying list, None without prices; `timber`: length of all boards, posts and rails bought.
    """

    boards: Counts
    posts: Counts
    rails: Counts
    pickets: int
    cuts: int
    cost: float | None
    timber: float


class LineMoved(Struct, frozen=True, kw_only=True):
    """The line moved `by` so many inches, up or (negative) down: the least height then, what is bought before
    and after."""

    by: float
    least_height: float
    before: Bought
    after: Bought

    @property
    def worth(self) -> float:
        """How much of the cost it saves, cuts and height weighed with it."""
        was, now = self.before.cost, self.after.cost
        if not was or now is None:
            was, now = self.before.timber, self.after.timber
        saved = 1 - now / was if was else 0.0
        cuts = (self.before.cuts - self.after.cuts) / max(1, self.before.pickets)
        return saved + cuts / 10 - abs(self.by) / 100


def better_height(plan: FencePlan) -> LineMoved | None:
    """The move of the line by whole tape marks, FEW inches at most, that spares most for no more money.

    None where none is worth telling, and where something stands already. Moves are found on the boards and
    posts of the plan, and each is then planned whole. Source: own derivation.
    """
    if not 0 < plan.picket_count <= MOST_PICKETS or _stands(plan):
        return None
    before = bought(plan)
    moves = [m for by in dict.fromkeys(_promising(plan)) for m in _planned(plan, by, before)]
    best = max(moves, key=lambda m: m.worth, default=None)
    return best if best is not None and best.worth >= WORTH_TELLING else None


def _stands(plan: FencePlan) -> bool:
    return any(r.layout.standing is not None for r in plan.runs)


def bought(plan: FencePlan) -> Bought:
    """What a plan comes to."""
    totals, families = plan_totals(plan), plan.families.named()
    timber = sum(
        stock.length * count
        for name, family in families.items()
        if name != "gate_pickets"
        for stock, count in zip(family.offered, family.counts(on_hand=False), strict=True)
    )
    return Bought(
        boards=counts_used([plan.families.pickets]),
        posts=counts_used(plan.families.of_posts()),
        rails=counts_used([plan.families.rails]),
        pickets=totals.pickets,
        cuts=totals.cuts,
        cost=totals.cost,
        timber=timber,
    )


def counts_used(families: Sequence[Family]) -> Counts:
    """(length, count) of boards of each length that are used, bought or from the pile."""
    counts: dict[float, int] = {}
    for family in families:
        for stock, new, old in zip(family.offered, family.counts(False), family.counts(True), strict=True):
            counts[stock.length] = counts.get(stock.length, 0) + new + old
    return tuple((length, n) for length, n in sorted(counts.items()) if n)


def _promising(plan: FencePlan) -> Iterator[float]:
    """Moves (in) by which boards would be whole, fall to a shorter stock, or posts would."""
    mark = plan.mark
    few = int(FEW[plan.units] / mark + MARK_GRACE)
    marks = np.arange(-few, few + 1)
    cost, cuts = _boards_moved(plan, marks)
    here = few
    up = np.flatnonzero((marks > 0) & (cost <= cost[here] + _CENT) & (cuts < cuts[here]))
    if len(up):
        yield float(marks[up[np.argmin(cuts[up])]] * mark)
    down = np.flatnonzero((marks < 0) & (cost <= cost[here] + _CENT))
    if len(down):
        saving = (cost[here] - cost[down]) / max(cost[here], _CENT) + (cuts[here] - cuts[down]) / 10 / max(
            1, plan.picket_count
        )
        best = int(down[np.argmax(saving - np.abs(marks[down]) * mark / 100)])
        yield float(marks[best] * mark)
    lowered = _posts_shorter(plan)
    if lowered is not None and marks_up(float(lowered), mark) <= few:
        yield -marks_up(float(lowered), mark) * mark


def _boards_moved(plan: FencePlan, marks: Indices) -> tuple[Floats, Indices]:
    """What all pickets cost, and how many are cut, with the line moved by so many marks (m,)."""
    offered = plan.stock.offered
    lengths = np.array([plan.stock.lengths[k] for k in range(len(offered))])
    prices = np.append(cheapest_from(board_costs(offered)), 1000 * board_costs(offered).max())
    full = np.concatenate([r.full for r in plan.runs])
    least = np.concatenate([r.boards.needs.least for r in plan.runs])
    cost, cuts = np.empty(len(marks)), np.empty(len(marks), dtype=np.int64)
    for k, by in enumerate(marks.tolist()):
        rung = np.searchsorted(lengths, least + by)
        cost[k] = prices[rung].sum()
        cuts[k] = int((full + by < np.append(lengths, 0)[rung]).sum())
    return cost, cuts


def _posts_shorter(plan: FencePlan) -> float | None:
    """The least lowering (in) after which half of the longer posts are a length shorter; None without any."""
    rule, lower = plan.job.posts, []
    share = rule.depth_share - (rule.share_tolerance or 0.0)
    for run in plan.runs:
        posts = run.posts
        fixed = [c.depth for c in posts.choices if c.rule is not DepthRule.SHARE]
        for i in np.flatnonzero(posts.stock > 0).tolist():
            shorter = posts.sold.of(i)[int(posts.stock[i]) - 1].length
            depth = max([share * shorter, *(float(d[i]) for d in fixed)])
            lower.append(float(posts.above[i]) + depth - shorter)
    return max(0.0, float(np.quantile(lower, 0.5, method="higher"))) if lower else None


def _planned(plan: FencePlan, by: float, before: Bought) -> Iterator[LineMoved]:
    """The fence planned with the line moved, if no wish is broken that was kept and nothing costs more."""
    top = plan.job.top
    job = replace(plan.job, top=replace(top, least_height=top.least_height + by))
    try:
        moved = plan_on(job, [r.ground for r in plan.runs], plan.styles, advise=False)
    except JobMistakesError:
        return
    after = bought(moved)
    dearer = before.cost is not None and (after.cost or 0.0) > before.cost + _CENT
    longer = after.timber > before.timber + _CENT and (
        before.cost is None or bool(buying_list(moved).unpriced)
    )
    kept = all(_flagged(moved, f) <= _flagged(plan, f) for f in WISHES) and _as_safe(plan, moved, by)
    if not dearer and not longer and kept:
        yield LineMoved(
            by=by,
            least_height=min(r.choice.least_height for r in moved.runs),
            before=before,
            after=after,
        )


def _as_safe(plan: FencePlan, moved: FencePlan, by: float) -> bool:
    """Whether no more posts fail the screen of wind and soil, and none do where the line goes up."""
    fail = moved.posts_failing
    return fail <= plan.posts_failing and not (by > 0 and fail)


WISHES = (PicketFlag.NO_STOCK, PicketFlag.OVER_HEIGHT, PicketFlag.GAP)


def _flagged(plan: FencePlan, flag: PicketFlag) -> int:
    missing = len(plan.missing) if flag is PicketFlag.NO_STOCK else 0
    return missing + plan.flagged(flag)
