"""The main job: from a job to a whole fence plan."""

from dataclasses import dataclass

import numpy as np

from fencegrade.fence.flags import Flags, PicketFlag
from fencegrade.fence.gaps import GapAction, GapStretch, gap_stretches
from fencegrade.fence.pickets import Cuts, Marks, cut_pickets, join_cuts, shortened
from fencegrade.fence.slots import Slots, closed_stretches, fill_stretch, join_slots
from fencegrade.fence.stock import NO_STOCK, StockChoice, choose_stock
from fencegrade.fence.tops import TopLine, contour_top, level_top, sloped_top
from fencegrade.fence.zones import Zones, picket_zones
from fencegrade.ground.profile import Floats
from fencegrade.ground.survey import RunGround, ground_from_survey
from fencegrade.job.read import Job
from fencegrade.job.records import HeightRule, Run, TopStyle
from fencegrade.problems import Problem, Severity, mistake, raise_mistakes, warning
from fencegrade.units import format_length

_HAIR = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunPlan:
    """One run of the plan. Arrays are (n,) over its pickets in order; lengths and stations in inches.

    `full` is each picket's length in tape marks before stock is chosen, `cuts` what is made of it;
    `stock` is the index into the plan's `stock.offered`, or NO_STOCK.
    """

    run: Run
    start: float
    end: float
    ground: RunGround
    slots: Slots
    zones: Zones
    top: TopLine
    full: Marks
    cuts: Cuts
    stock: Marks
    flags: Flags
    gaps: tuple[GapStretch, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FencePlan:
    """A whole plan: every run, the picket stock, and every problem a builder should know of."""

    job: Job
    style: TopStyle
    runs: tuple[RunPlan, ...]
    stock: StockChoice
    problems: tuple[Problem, ...]

    @property
    def mark(self) -> float:
        """The tape mark (in)."""
        return self.job.job.tape

    @property
    def trims(self) -> tuple[Floats, ...]:
        """Run by run, (n,) inches cut off each picket's board; nan where no stock serves."""
        lengths = np.append([s.length for s in self.stock.offered], np.nan)
        return tuple(np.maximum(lengths[r.stock] - r.cuts.kept * self.mark, 0.0) for r in self.runs)


def plan_fence(job: Job, style: TopStyle | str | None = None) -> FencePlan:
    """Plan a fence.

    `job`: as read; `style`: a top style instead of the job's. Result: the whole plan. Errors:
    JobMistakesError with every mistake found in the surveys; ValueError for a style that is unknown.
    """
    chosen = TopStyle(style) if style is not None else job.top.style
    grounds, problems = survey_grounds(job)
    drafts = [_Draft.of(job, run, ground, chosen) for run, ground in zip(job.runs, grounds, strict=True)]
    full = join_cuts([d.cuts for d in drafts])
    most_gap = np.concatenate([d.zones.most_gap for d in drafts])
    stock = choose_stock(full, most_gap, job.pickets.stock, job.job.tape)
    ends = np.cumsum([len(d.slots) for d in drafts])[:-1]
    parts = np.split(stock.stock, ends)
    runs = tuple(_finish(job, d, part, stock) for d, part in zip(drafts, parts, strict=True))
    found = [*job.notes, *problems]
    for run in runs:
        found += _run_problems(job, run, stock)
    return FencePlan(job=job, style=chosen, runs=runs, stock=stock, problems=tuple(found))


def survey_grounds(job: Job) -> tuple[list[RunGround], list[Problem]]:
    """The ground of every run. Errors: JobMistakesError with the mistakes of all surveys together."""
    grounds: list[RunGround] = []
    problems: list[Problem] = []
    for run, survey in zip(job.runs, job.surveys, strict=True):
        ground, found = ground_from_survey(run, survey, job.job.units, job.job.tape)
        problems += found
        if ground is not None:
            grounds.append(ground)
    raise_mistakes(problems)
    return grounds, problems


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Draft:
    """A run with its pickets at full length, before stock is chosen for the whole job."""

    run: Run
    start: float
    end: float
    ground: RunGround
    slots: Slots
    zones: Zones
    top: TopLine
    cuts: Cuts

    @staticmethod
    def of(job: Job, run: Run, ground: RunGround, style: TopStyle) -> "_Draft":
        line, pickets = ground.profile.line, job.pickets
        start, end = ground.start, ground.end
        stretches = closed_stretches(start, end, run.gate, line.faces)
        slots = join_slots(
            fill_stretch(a, b, pickets.width, pickets.spacing, pickets.fit) for a, b in stretches
        )
        zones = picket_zones(slots, run, pickets)
        top = _top(style, job, ground, slots, start, end)
        cuts = cut_pickets(line, slots, top, zones.clearance, pickets.bottom_cut, job.job.tape)
        return _Draft(
            run=run, start=start, end=end, ground=ground, slots=slots, zones=zones, top=top, cuts=cuts
        )


def _top(style: TopStyle, job: Job, ground: RunGround, slots: Slots, start: float, end: float) -> TopLine:
    line, least = ground.profile.line, job.top.least_height
    match style:
        case TopStyle.LEVEL:
            return level_top(line, start, end, least)
        case TopStyle.SLOPED:
            return sloped_top(line, start, end, least)
        case TopStyle.CONTOUR:
            return contour_top(line, slots, start, end, least)
        case _:
            raise_mistakes(
                [
                    mistake(
                        f"{job.place} [top] style",
                        f"a {style} top is not built yet",
                        "choose level, sloped or contour",
                    )
                ]
            )
            raise AssertionError


def _finish(job: Job, draft: _Draft, stock: Marks, choice: StockChoice) -> RunPlan:
    mark = job.job.tape
    lengths = np.append(choice.lengths, np.iinfo(np.int64).max)
    cuts = shortened(draft.cuts, lengths[stock], mark)
    flags = _flags(job, draft, cuts, stock)
    would_gap = draft.cuts.gap + np.maximum(draft.cuts.kept - choice.lengths[0], 0) * mark
    actions = np.full(len(stock), "", dtype="U12")
    actions[(would_gap > draft.zones.most_gap + _HAIR) & (stock != NO_STOCK)] = GapAction.LONGER_BOARD
    actions[flags[PicketFlag.GAP] | flags[PicketFlag.NO_STOCK]] = GapAction.NONE
    actions[draft.zones.open] = GapAction.LEAVE_OPEN
    return RunPlan(
        run=draft.run,
        start=draft.start,
        end=draft.end,
        ground=draft.ground,
        slots=draft.slots,
        zones=draft.zones,
        top=draft.top,
        full=draft.cuts.kept,
        cuts=cuts,
        stock=stock,
        flags=flags,
        gaps=gap_stretches(draft.slots, would_gap, actions),
    )


def _flags(job: Job, draft: _Draft, cuts: Cuts, stock: Marks) -> Flags:
    width = draft.slots.width
    return {
        PicketFlag.NO_STOCK: stock == NO_STOCK,
        PicketFlag.OVER_HEIGHT: _over_height(job, cuts),
        PicketFlag.GAP: (cuts.gap > draft.zones.most_gap + _HAIR) & ~draft.zones.open,
        PicketFlag.RIPPED: width < job.pickets.width - _HAIR,
        PicketFlag.SLIVER: width < job.pickets.width / 2 - _HAIR,
    }


def _over_height(job: Job, cuts: Cuts) -> np.ndarray:
    """Pickets over the local height limit, by the rule the job names, from the ground as surveyed."""
    limit = job.top.most_height
    if limit is None:
        return np.zeros(len(cuts.top), dtype=bool)
    if job.top.measured is HeightRule.AVERAGE:
        return np.full(len(cuts.top), (cuts.height + cuts.tallest).mean() / 2 > limit + _HAIR)
    return np.asarray(cuts.tallest > limit + _HAIR)


def _run_problems(job: Job, run: RunPlan, choice: StockChoice) -> list[Problem]:
    def say(inches: float) -> str:
        return format_length(inches, job.job.units, job.job.tape)

    problems = []
    missing = np.flatnonzero(run.flags[PicketFlag.NO_STOCK])
    if len(missing):
        worst = missing[np.argmax(run.full[missing])]
        needed = float(run.full[worst] * job.job.tape)
        longest = choice.offered[-1].length
        problems.append(
            warning(
                f"{run.run.name}, {_numbers(missing)}",
                f"no stock serves: {say(needed)} is needed at picket {worst + 1}, "
                f"the longest stock is {say(longest)}, {say(needed - longest)} too short",
                "add a longer stock, lower the top, or choose another top",
            )
        )
    over = np.flatnonzero(run.flags[PicketFlag.OVER_HEIGHT])
    if len(over) and job.top.most_height is not None:
        tallest = over[np.argmax(run.cuts.tallest[over])]
        problems.append(
            warning(
                f"{run.run.name}, {_numbers(over)}",
                f"higher than the limit of {say(job.top.most_height)}: "
                f"{say(float(run.cuts.tallest[tallest]))} at picket {tallest + 1}",
                "ask the permit office how height is measured, or choose another top",
            )
        )
    gaps = np.flatnonzero(run.flags[PicketFlag.GAP])
    if len(gaps):
        worst = gaps[np.argmax(run.cuts.gap[gaps])]
        problems.append(
            warning(
                f"{run.run.name}, {_numbers(gaps)}",
                f"a square cut leaves up to {say(float(run.cuts.gap[worst]))} open, at picket {worst + 1}",
                "scribe these boards to the ground, or fill beneath them",
            )
        )
    return problems


def _numbers(indices: np.ndarray) -> str:
    """Picket numbers as ranges: `pickets 3-7, 9`; shortened after six ranges."""
    groups = np.split(indices, np.flatnonzero(np.diff(indices) > 1) + 1)
    texts = [str(g[0] + 1) if len(g) == 1 else f"{g[0] + 1}-{g[-1] + 1}" for g in groups]
    shown = ", ".join(texts[:6]) + (f" and {len(texts) - 6} more stretches" if len(texts) > 6 else "")
    return ("picket " if len(indices) == 1 else "pickets ") + shown


__all__ = ["FencePlan", "RunPlan", "Severity", "plan_fence"]
