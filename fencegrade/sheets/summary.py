"""The plan at a glance: figures first, then the words that stand on the screen."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fencegrade.fence.flags import PicketFlag
from fencegrade.fence.stock import NO_STOCK
from fencegrade.plan import FencePlan, RunPlan
from fencegrade.problems import Severity
from fencegrade.sheets.cautions import CHECK_THREE, cautions
from fencegrade.sheets.words import Words, plural


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """Counts and sums of a plan; waste in inches, cost in the job's currency or None without prices."""

    pickets: int
    boards: int
    to_buy: int
    cuts: int
    waste: float
    cost: float | None


def plan_totals(plan: FencePlan) -> Totals:
    """The sums of a plan's pickets."""
    trims = np.concatenate(plan.trims)
    served = ~np.isnan(trims)
    bought = plan.stock.bought
    prices = [s.price for s in plan.stock.offered]
    cost = None
    if None not in prices:
        cost = round(sum(n * (p or 0.0) for n, p in zip(bought.tolist(), prices, strict=True)), 2)
    return Totals(
        pickets=len(trims),
        boards=int(served.sum()),
        to_buy=int(bought.sum()),
        cuts=int((trims[served] > 1e-6).sum()),
        waste=float(trims[served].sum()),
        cost=cost,
    )


def summary_lines(plan: FencePlan) -> Iterator[str]:
    """The summary on the screen, line by line."""
    words, totals = Words.of(plan.job.job), plan_totals(plan)
    yield f"{plan.job.job.title}: {plan.style} top"
    yield ""
    yield "To buy"
    yield from _to_buy(plan, words, totals)
    for run in plan.runs:
        yield ""
        yield from _run_lines(plan, run, words)
    shown = [p for p in plan.problems if p.severity is not Severity.NOTE]
    if shown:
        yield ""
        yield "Look at"
        yield from (f"  {p}" for p in shown)
    if plan.job.assumed:
        yield ""
        yield "Assumed, since the job does not say"
        yield from (f"  {a.key} = {a.value}" for a in plan.job.assumed if not _later(a.key))
    yield ""
    yield CHECK_THREE
    yield "Cautions"
    yield from (f"  {c.short}" for c in cautions(plan))


def _later(key: str) -> bool:
    """Whether a default belongs to a part of the fence that this plan does not compute."""
    return key.startswith(("[posts]", "[rails]", "[soil]"))


def _to_buy(plan: FencePlan, words: Words, totals: Totals) -> Iterator[str]:
    stock = plan.stock
    for s, used, bought in zip(stock.offered, stock.used, stock.bought, strict=True):
        if not used:
            continue
        pile = f" ({int(used - bought)} more on hand)" if used > bought else ""
        price = f" at {words.money(s.price)}" if s.price is not None else ""
        yield f"  {plural(int(bought), 'board')} of {words.length(s.length)}{price}{pile}"
    if totals.cost is not None:
        yield f"  pickets together {words.money(totals.cost)}"
    offcuts = words.length(totals.waste)
    yield f"  {totals.cuts} of {plural(totals.boards, 'board')} are cut; {offcuts} is cut off in all"
    missing = totals.pickets - totals.boards
    if missing:
        yield f"  no stock serves {plural(missing, 'picket')}; not in these figures"


def _run_lines(plan: FencePlan, run: RunPlan, words: Words) -> Iterator[str]:
    cuts, mark = run.cuts, plan.mark
    count = len(run.slots)
    yield f"{run.run.name}, {words.station(run.end - run.start)} long, {plural(count, 'picket')}"
    if count == 0:
        yield "  no picket stands here"
        return
    longest, shortest = int(cuts.kept.argmax()), int(cuts.kept.argmin())
    yield (
        f"  kept lengths {words.length(cuts.kept[shortest] * mark)} (picket {shortest + 1}) "
        f"to {words.length(cuts.kept[longest] * mark)} (picket {longest + 1})"
    )
    if count > 1:
        between = run.slots.left[1:] - run.slots.right[:-1]
        yield f"  space between pickets {words.length(float(np.median(between)))}"
    worst = int(cuts.gap.argmax())
    at = words.station(float(run.slots.centre[worst]))
    yield f"  largest gap under a picket {words.length(cuts.gap[worst])}, picket {worst + 1}, station {at}"
    yield f"  height above the ground {_heights(plan, run, words)}"


def _heights(plan: FencePlan, run: RunPlan, words: Words) -> str:
    low, high = float(run.cuts.height.min()), float(run.cuts.tallest.max())
    text = f"{words.height(low)} to {words.height(high)}"
    limit = plan.job.top.most_height
    if limit is None:
        return f"{text}; no limit given"
    over = int(run.flags[PicketFlag.OVER_HEIGHT].sum())
    if over:
        return f"{text}; {plural(over, 'picket')} over the limit of {words.height(limit)}"
    return f"{text}; within the limit of {words.height(limit)}"


__all__ = ["NO_STOCK", "Totals", "plan_totals", "summary_lines"]
