"""Counts and sums of a plan."""

import numpy as np
from msgspec import Struct

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.planning.buying import buying_list
from fencegrade.planning.plan import FencePlan
from fencegrade.units.tolerances import SAME_LENGTH


class Totals(Struct, frozen=True, kw_only=True):
    """Counts and sums of a plan.

    `boards` for pickets; `unserved` pickets no stock serves; `cuts` pickets that are cut;
    `waste` of picket boards (in); `cost` of the buying list, None without prices.
    """

    pickets: int
    boards: int
    unserved: int
    cuts: int
    waste: float
    cost: float | None


def plan_totals(plan: FencePlan) -> Totals:
    """The sums of a plan's pickets."""
    trims = np.concatenate(plan.trims)
    served = ~np.isnan(trims)
    return Totals(
        pickets=len(trims),
        boards=int(plan.stock.used.sum()),
        unserved=plan.flagged(PicketFlag.NO_STOCK),
        cuts=int((trims[served] > SAME_LENGTH).sum()),
        waste=plan.families.pickets.waste,
        cost=buying_list(plan).cost,
    )
