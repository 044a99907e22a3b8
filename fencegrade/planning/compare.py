"""The five tops side by side: the best of each kind, on the same ground, with what each buys and costs."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.survey import RunGround
from fencegrade.job.as_built import NOTHING_BUILT
from fencegrade.job.read import Job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.families import Missing
from fencegrade.planning.layout import survey_grounds
from fencegrade.planning.plan import FencePlan, plan_on
from fencegrade.planning.tops import styles_asked
from fencegrade.problems import JobMistakesError, Problem
from fencegrade.units.tolerances import SAME_LENGTH


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ComparedStyle:
    """One top: its plan, or None with the `reason` why there is none.

    Lengths in inches over all runs. `boards`: (length, count) of picket boards used; `unserved` pickets
    without stock, `missing` pieces of every kind; `cost` of the buying list, None without prices; `timber`
    length of picket boards used; `cut` pickets that are cut and `trimmed` length cut off; `worst_gap`;
    `shortest`, `tallest` height over the ground; `largest_step`; `steepest` rail as rise over run; `posts`:
    (length, count); `broken`: wishes that it breaks, in words.
    """

    style: TopStyle
    plan: FencePlan | None
    reason: str = ""
    boards: tuple[tuple[float, int], ...] = ()
    unserved: int = 0
    missing: tuple[Missing, ...] = ()
    cost: float | None = None
    timber: float = 0.0
    cut: int = 0
    trimmed: float = 0.0
    worst_gap: float = 0.0
    shortest: float = 0.0
    tallest: float = 0.0
    largest_step: float = 0.0
    steepest: float = 0.0
    posts: tuple[tuple[float, int], ...] = ()
    broken: tuple[str, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether every piece has a board and no wish is broken."""
        return self.plan is not None and not self.missing and not self.broken

    @property
    def price(self) -> float:
        """What tops are ranked by: cost, or timber where there are no prices."""
        return self.timber if self.cost is None else self.cost


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """All five tops in the order of `TopStyle`; `cheapest` among the sound ones, None where none is sound."""

    job: Job
    styles: tuple[ComparedStyle, ...]

    @property
    def cheapest(self) -> ComparedStyle | None:
        """The sound top of least cost, or of least timber without prices."""
        return min((s for s in self.styles if s.sound), key=lambda s: s.price, default=None)


def compare_tops(job: Job) -> Comparison:
    """Plan a job with each of the five tops.

    A top that cannot be planned stays in the answer with its reason. Errors: JobMistakesError for mistakes
    in the job or its surveys, and where no top at all can be planned.
    """
    grounds, _ = survey_grounds(job)
    return compare_on(job, grounds)


def compare_on(job: Job, grounds: list[RunGround]) -> Comparison:
    """The five tops on grounds already worked out, of the fence before anything stood.

    Errors: JobMistakesError where none can be planned.
    """
    before = replace(job, built=NOTHING_BUILT)
    styles: list[ComparedStyle] = []
    mistakes: dict[Problem, None] = {}
    for style in TopStyle:
        try:
            styles.append(_measured(plan_on(before, grounds, styles_asked(job, style)), style))
        except JobMistakesError as error:
            mistakes |= dict.fromkeys(error.problems)
            reason = "; ".join(map(_reason, error.problems))
            styles.append(ComparedStyle(style=style, plan=None, reason=reason))
    if all(s.plan is None for s in styles):
        raise JobMistakesError(mistakes)
    return Comparison(job=job, styles=tuple(styles))


def _reason(problem: Problem) -> str:
    return f"{problem.place}: {problem.found}"


def _measured(plan: FencePlan, style: TopStyle) -> ComparedStyle:
    runs, stock = plan.runs, plan.stock
    trims = np.concatenate(plan.trims)
    used = zip(stock.offered, stock.used.tolist(), strict=True)
    boards = tuple((s.length, n) for s, n in used if n)
    return ComparedStyle(
        style=style,
        plan=plan,
        boards=boards,
        unserved=_count(plan, PicketFlag.NO_STOCK),
        missing=plan.missing,
        cost=buying_list(plan).cost,
        timber=sum(length * n for length, n in boards),
        cut=int((np.nan_to_num(trims) > SAME_LENGTH).sum()),
        trimmed=float(np.nansum(trims)),
        worst_gap=max((float(r.cuts.gap.max(initial=0.0)) for r in runs), default=0.0),
        shortest=min(float(r.cuts.height.min()) if len(r.slots) else r.choice.least_height for r in runs),
        tallest=max(float(r.cuts.tallest.max(initial=0.0)) for r in runs),
        largest_step=max(r.choice.largest_step for r in runs),
        steepest=max(float(np.abs(np.tan(r.rails.angle)).max(initial=0.0)) for r in runs),
        posts=_post_counts(plan),
        broken=tuple(_broken(plan)),
    )


def _post_counts(plan: FencePlan) -> tuple[tuple[float, int], ...]:
    """Posts of each length, those of gates with the others."""
    counts: Counter[float] = Counter()
    for posts in (plan.families.posts, plan.families.gate_posts):
        if posts is not None:
            rows = zip(posts.offered, posts.counts(True), posts.counts(False), strict=True)
            counts.update({stock.length: there + bought for stock, there, bought in rows if there + bought})
    return tuple(sorted(counts.items()))


def _broken(plan: FencePlan) -> Iterator[str]:
    """The wishes a plan breaks, in words."""
    over = _count(plan, PicketFlag.OVER_HEIGHT)
    if over:
        yield f"{over} {_pickets(over)} over the height limit"
    low = min(r.choice.least_height for r in plan.runs)
    if low < plan.job.top.least_height - SAME_LENGTH:
        yield "lower than the least height"
    gaps = _count(plan, PicketFlag.GAP)
    if gaps:
        yield f"{gaps} {_pickets(gaps)} with too large a gap"
    for lacking in plan.missing:
        yield f"no stock for {lacking.count} {lacking.part}{'' if lacking.count == 1 else 's'}"


def _pickets(count: int) -> str:
    return "picket" if count == 1 else "pickets"


def _count(plan: FencePlan, flag: PicketFlag) -> int:
    return sum(int(r.flags[flag].sum()) for r in plan.runs)


def against_cheapest(styles: Sequence[ComparedStyle], cheapest: ComparedStyle | None) -> list[float | None]:
    """What each top costs more than the cheapest sound one.

    None where there is no sound one, and for tops without a plan or a board for every piece: their cost
    leaves something out.
    """
    if cheapest is None:
        return [None] * len(styles)
    return [None if s.plan is None or s.missing else s.price - cheapest.price for s in styles]
