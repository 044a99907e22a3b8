"""Tops side by side: the best of each kind, on the same ground, with what each buys and costs."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np
from msgspec import Struct, field

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.survey import RunGround
from fencegrade.job.as_built import NOTHING_BUILT
from fencegrade.job.read import Job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.families import Missing
from fencegrade.planning.higher_or_lower import WISHES, Counts, LineMoved, better_height, counts_used
from fencegrade.planning.layout import survey_grounds
from fencegrade.planning.plan import FencePlan, plan_on
from fencegrade.planning.run import RunPlan
from fencegrade.planning.tops import styles_asked, with_tops
from fencegrade.planning.totals import plan_totals
from fencegrade.problems import JobMistakesError, Problem, Severity
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import plural

SAME_PRICE = 0.005
"""Money, or inches of boards without prices; what is nearer costs the same."""


class Used(Struct, frozen=True, kw_only=True):
    """What a top takes: `boards`, `posts`, `rails` as (length in, count).

    `unserved`: pickets without stock; `cost` of the buying list, None without prices; `timber`: length of the
    picket boards used (in); `cut`: pickets that are cut, and `trimmed` the length cut off them (in).
    """

    boards: Counts = ()
    posts: Counts = ()
    rails: Counts = ()
    unserved: int = 0
    cost: float | None = None
    timber: float = 0.0
    cut: int = 0
    trimmed: float = 0.0


class Seen(Struct, frozen=True, kw_only=True):
    """How a top stands over all runs, inches.

    `shortest`, `tallest` height over the ground; `worst_gap` under a picket; `largest_step`; `steepest` rail
    and `largest_bend` of the line as rise over run.
    """

    shortest: float = 0.0
    tallest: float = 0.0
    worst_gap: float = 0.0
    largest_step: float = 0.0
    steepest: float = 0.0
    largest_bend: float = 0.0


class ComparedStyle(Struct, frozen=True, kw_only=True, eq=False):
    """One top, or one for each run: its plan, or None with the `reason` why there is none.

    `name`: the style, or that of each run by name; `used`: what it takes; `seen`: how it stands; `missing`
    pieces of every kind that no stock serves; `broken`: wishes that it breaks, in words; `moved`: the line a
    little higher or lower, where that spares something.
    """

    styles: tuple[TopStyle, ...]
    name: str
    plan: FencePlan | None
    reason: str = ""
    used: Used = field(default_factory=Used)
    seen: Seen = field(default_factory=Seen)
    missing: tuple[Missing, ...] = ()
    broken: tuple[str, ...] = ()
    moved: LineMoved | None = None

    @property
    def sound(self) -> bool:
        """Whether every piece has a board and no wish is broken."""
        return self.plan is not None and not self.missing and not self.broken

    @property
    def price(self) -> float:
        """What tops are ranked by: cost, or timber where there are no prices."""
        return self.used.timber if self.used.cost is None else self.used.cost


class Comparison(Struct, frozen=True, kw_only=True, eq=False):
    """Every top style in the order of the table, then mixes of them by run: the job's own where it has one,
    and the cheapest where it keeps every wish and is cheaper than any one style that does.

    `unpriced`: parts without a price, which count for no top; `cheapest` among the sound ones.
    """

    job: Job
    styles: tuple[ComparedStyle, ...]
    unpriced: tuple[str, ...] = ()

    @property
    def grounds(self) -> tuple[RunGround, ...]:
        """The ground of each run, the same under every top."""
        return next(tuple(run.ground for run in s.plan.runs) for s in self.styles if s.plan is not None)

    @property
    def cheapest(self) -> ComparedStyle | None:
        """The sound top of least cost, or of least timber without prices; None where none is sound."""
        return cheapest_of(self.styles)

    @property
    def least(self) -> tuple[ComparedStyle, ...]:
        """The sound tops that none is cheaper than: several at a tie."""
        return least_of(self.styles)


Top = TypeVar("Top", bound=ComparedStyle)


def cheapest_of(styles: Sequence[Top]) -> Top | None:
    """The sound top of least price, None where none is sound."""
    return min((s for s in styles if s.sound), key=lambda s: s.price, default=None)


def least_of(styles: Sequence[Top]) -> tuple[Top, ...]:
    """The sound tops that none is cheaper than."""
    best = cheapest_of(styles)
    return tuple(s for s in styles if best and s.sound and s.price < best.price + SAME_PRICE)


def compare_tops(job: Job) -> Comparison:
    """Plan a job with each top style.

    A top that cannot be planned stays in the answer with its reason. Errors: JobMistakesError for mistakes
    in the job or its surveys, and where no top at all can be planned.
    """
    grounds, _ = survey_grounds(job)
    return compare_on(job, grounds)


def compare_on(job: Job, grounds: list[RunGround]) -> Comparison:
    """Every top on grounds already worked out, of the fence before anything stood.

    Errors: JobMistakesError where none can be planned.
    """
    before = replace(job, built=NOTHING_BUILT)
    found: list[ComparedStyle] = []
    mistakes: dict[Problem, None] = {}
    for style in TopStyle:
        styles = styles_asked(before, style)
        try:
            found.append(_measured(plan_on(with_tops(before, styles), grounds, styles), str(style)))
        except JobMistakesError as error:
            mistakes |= dict.fromkeys(error.problems)
            found.append(_refused(styles, str(style), error))
    if all(s.plan is None for s in found):
        raise JobMistakesError(mistakes)
    found += _mixes(before, grounds, found)
    unpriced = {p for s in found if s.plan is not None for p in buying_list(s.plan).unpriced}
    best = min((s.price for s in found[: len(TopStyle)] if s.sound), default=np.inf)
    own = styles_asked(before)
    told = [s for s in found if len(set(s.styles)) == 1 or s.styles == own or _better(s, best)]
    return Comparison(job=job, styles=tuple(told), unpriced=tuple(sorted(unpriced)))


def _better(mix: ComparedStyle, best: float) -> bool:
    """Whether a mix keeps every wish at less than the best of those of one style that do."""
    return mix.sound and mix.price < best - SAME_PRICE


def _mixes(job: Job, grounds: list[RunGround], found: Sequence[ComparedStyle]) -> Iterator[ComparedStyle]:
    """The job's own mix of styles, and the one that takes for each run the style cheapest there."""
    names = [run.name for run in job.runs]
    for styles in dict.fromkeys([styles_asked(job), _cheapest_by_run(job, found)]):
        if len(set(styles)) < 2:
            continue
        told = ", ".join(f"{name} {style}" for name, style in zip(names, styles, strict=True))
        try:
            yield _measured(plan_on(with_tops(job, styles), grounds, styles), told)
        except JobMistakesError as error:
            if styles == styles_asked(job):
                yield _refused(styles, told, error)


def _cheapest_by_run(job: Job, found: Sequence[ComparedStyle]) -> tuple[TopStyle, ...]:
    """For each run the style that costs least there, among those that keep its wishes; none at all where a
    run has no such style."""
    planned = [s for s in found if s.plan is not None]
    costs = np.array([_costs_by_run(s.plan) for s in planned if s.plan is not None])
    if len(job.runs) < 2 or np.isinf(costs.min(axis=0)).any():
        return ()
    return tuple(planned[int(k)].styles[0] for k in costs.argmin(axis=0))


def _costs_by_run(plan: FencePlan) -> Floats:
    """What each run costs, or its picket boards' length without prices; infinite where a wish is broken."""
    bought = buying_list(plan)
    lengths = np.append([s.length for s in plan.stock.offered], 0.0)
    if bought.cost is None:
        costs = np.array([float(lengths[r.stock].sum()) for r in plan.runs])
    else:
        costs = np.array(bought.cost_by_run(len(plan.runs)))
    return np.where([_keeps_wishes(r) for r in plan.runs], costs, np.inf)


def _keeps_wishes(run: RunPlan) -> bool:
    """Whether every picket and post of a run has its stock, its rails fit, and no picket breaks a wish."""
    without = run.posts.new & (run.posts.stock == NO_STOCK)
    return not without.any() and not run.rails.crowded and not any(run.flags[flag].any() for flag in WISHES)


def _refused(styles: tuple[TopStyle, ...], name: str, error: JobMistakesError) -> ComparedStyle:
    mistakes = [p for p in error.problems if p.severity is Severity.MISTAKE]
    reason = "; ".join(f"{p.place}: {p.found}" for p in mistakes)
    return ComparedStyle(styles=styles, name=name, plan=None, reason=reason)


def _measured(plan: FencePlan, name: str) -> ComparedStyle:
    runs, stock = plan.runs, plan.stock
    totals = plan_totals(plan)
    counts = zip(stock.offered, stock.used.tolist(), strict=True)
    boards = tuple((s.length, n) for s, n in counts if n)
    used = Used(
        boards=boards,
        posts=counts_used(plan.families.of_posts()),
        rails=counts_used([plan.families.rails]),
        unserved=totals.unserved,
        cost=totals.cost,
        timber=sum(length * n for length, n in boards),
        cut=totals.cuts,
        trimmed=float(np.nansum(np.concatenate(plan.trims))),
    )
    seen = Seen(
        shortest=min(float(r.cuts.height.min()) if len(r.slots) else r.choice.least_height for r in runs),
        tallest=max(float(r.cuts.tallest.max(initial=0.0)) for r in runs),
        worst_gap=max(float(r.cuts.gap.max(initial=0.0)) for r in runs),
        largest_step=max(r.choice.largest_step for r in runs),
        steepest=max(float(np.abs(np.tan(r.rails.angle)).max(initial=0.0)) for r in runs),
        largest_bend=max(r.top.largest_bend for r in runs),
    )
    return ComparedStyle(
        styles=plan.styles,
        name=name,
        plan=plan,
        used=used,
        seen=seen,
        missing=plan.missing,
        broken=tuple(_broken(plan)),
        moved=better_height(plan),
    )


def _broken(plan: FencePlan) -> Iterator[str]:
    """The wishes a plan breaks, in words."""
    if over := plan.flagged(PicketFlag.OVER_HEIGHT):
        yield f"{plural(over, 'picket')} over the height limit"
    low = min(r.choice.least_height for r in plan.runs)
    if low < plan.job.top.least_height - SAME_LENGTH:
        yield "lower than the least height"
    if gaps := plan.flagged(PicketFlag.GAP):
        yield f"{plural(gaps, 'picket')} with too large a gap"
    if crowded := sum(len(r.rails.crowded) for r in plan.runs):
        yield f"rails do not fit in {plural(crowded, 'bay')}"
    for lacking in plan.missing:
        yield f"no stock for {plural(lacking.count, lacking.part)}"


def against_cheapest(styles: Sequence[ComparedStyle], cheapest: ComparedStyle | None) -> list[float | None]:
    """What each top costs more than the cheapest sound one.

    None where there is no sound one, and for tops without a plan or a board for every piece: their cost
    leaves something out.
    """
    if cheapest is None:
        return [None] * len(styles)
    return [None if s.plan is None or s.missing else s.price - cheapest.price for s in styles]
