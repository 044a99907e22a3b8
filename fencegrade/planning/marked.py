"""What is bought for pickets that are marked in place, and how those boards would do."""

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.enough_stock import RiskRun, StockRisk, stock_risk
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import (
    NO_STOCK,
    cheapest_serving,
    choose_stock,
    join_needs,
    needs_of_some,
    shortest_serving,
)
from fencegrade.job.choices import TopEnd
from fencegrade.planning.plan import FencePlan
from fencegrade.units.arrays import Indices, Marks, some_of


def plan_risk(plan: FencePlan) -> StockRisk | None:
    """How the boards to be marked in place would do; None where no picket is."""
    runs = []
    for run in plan.runs:
        own = np.flatnonzero(run.flags[PicketFlag.MARK_IN_PLACE])
        if len(own):
            slots = some_of(run.slots, own)
            runs.append(
                RiskRun(
                    profile=run.ground.profile,
                    slots=slots,
                    needs=needs_of_some(run.boards.needs, own),
                    wood=run.boards.wood[own],
                )
            )
    return stock_risk(runs, plan.stock) if runs else None


class Marked(Struct, frozen=True, kw_only=True):
    """The pickets that are marked in place: `count` of them; `longer`: those that ask in doubt for a longer
    stock than their expected length, bought or on hand, and what is bought `more` for it (0 without prices),
    for those they take boards on hand from too; `charted`, `charted_more`: the same of boards that are cut
    from the chart; `may_be_short`: those whose board may turn out too short, which spares are for."""

    count: int
    longer: int
    more: float
    charted: int
    charted_more: float
    may_be_short: int


def _bought_for(plan: FencePlan, least: Marks) -> Indices:
    """The stock bought for boards of these lengths (n,) at least, past the last where none is sold."""
    found = cheapest_serving(plan.stock.offered)[shortest_serving(plan.stock.lengths, least)]
    return np.where(found == NO_STOCK, len(plan.stock.offered), found)


def marked_pickets(plan: FencePlan) -> Marked:
    """What is bought for pickets to be marked in place; boards that give several are not judged by cost."""
    doubtful = [run.flags[PicketFlag.MARK_IN_PLACE] for run in plan.runs]
    found = Marked(
        count=sum(int(own.sum()) for own in doubtful),
        longer=0,
        more=0.0,
        charted=0,
        charted_more=0.0,
        may_be_short=sum(
            int(run.doubt.may_be_short[own].sum()) for run, own in zip(plan.runs, doubtful, strict=True)
        ),
    )
    there = [run.layout.coming & ~run.boards.unserved for run in plan.runs]
    if plan.job.pickets.top_end is TopEnd.FLAT or not any(own.any() for own in there):
        return found
    needs = join_needs(
        [needs_of_some(r.boards.needs, np.flatnonzero(t)) for r, t in zip(plan.runs, there, strict=True)]
    )
    marked = np.concatenate([own[t] for own, t in zip(doubtful, there, strict=True)])
    drawn, asked = (_bought_for(plan, least) for least in (needs.least, needs.wood))
    dearer = asked > drawn
    prices = np.array([s.price or 0.0 for s in plan.stock.offered])
    offered = plan.families.pickets.offered
    plain, charted = (
        float(choose_stock(replace(needs, long_end=ends), offered).bought @ prices)
        for ends in (0 * needs.long_end, np.where(marked, 0, needs.long_end))
    )
    paid_in_all = float(np.array(plan.families.pickets.counts(False)) @ prices)
    longer, of_chart = int((dearer & marked).sum()), int((dearer & ~marked).sum())
    more, charted_more = (paid_in_all - charted, charted - plain) if of_chart else (paid_in_all - plain, 0.0)
    return replace(
        found,
        longer=longer,
        more=round(more, 2),
        charted=of_chart,
        charted_more=round(charted_more, 2),
    )
