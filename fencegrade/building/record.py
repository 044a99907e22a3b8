"""What is written into the record of what stands: the line of the tops, and the lengths of the saw list."""

from dataclasses import replace

import numpy as np
from msgspec import structs

from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.tops.line import TopLine
from fencegrade.job.as_built import AsBuilt, BuiltRun, CutAlike, TopPoint
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan
from fencegrade.units import UnitSystem, parse_length
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import ROUNDING, SAME_LENGTH
from fencegrade.units.words import Words, numbers


def with_lists(built: AsBuilt, before: FencePlan) -> AsBuilt:
    """The record with the lengths of the saw list of runs that were begun: what stands was cut to them, what
    is to come may be."""
    for run in before.runs:
        here = built.of(run.run.name)
        if here.picket:
            here = _as_laid(here, run, before)
            built = built.with_run(replace(here, cut=_as_listed(run, before.words)))
    return built


def _as_laid(here: BuiltRun, run: RunPlan, plan: FencePlan) -> BuiltRun:
    """What the record has of a run that is begun by a plan, with the width of the boards it was laid for
    where that is not the job's."""
    width = run.layout.width
    begun = bool(plan.job.built.of(run.run.name).picket)
    if begun or here.board_width is not None or width == plan.job.pickets.width:
        return here
    return replace(here, board_width=width)


def _as_listed(run: RunPlan, words: Words) -> tuple[CutAlike, ...]:
    boards, mark = run.boards, run.boards.needs.mark
    listed = run.doubt.from_chart & ~boards.unserved & ~run.layout.measured & (boards.cuts.kept > 0)
    kept = np.where(listed, boards.cuts.kept, 0)
    return tuple(
        CutAlike(
            kept=parse_length(words.length(length * mark)),
            pickets=numbers(np.flatnonzero(kept == length) + 1, most=len(kept)),
        )
        for length in np.unique(kept[listed])[::-1].tolist()
    )


def as_it_hangs(built: AsBuilt, plan: FencePlan, index: int) -> BuiltRun:
    """What the record has of a run, with its style and the line of its tops, which is written down once.

    `plan`: by which the run stands, or is to; `index`: of the run.
    """
    run = plan.runs[index]
    here, standing = _as_laid(built.of(run.run.name), run, plan), run.layout.standing
    if here.top:
        return here
    top = _plainly(run.choice.top if standing is None else standing.hung, run, plan)
    points = zip(top.stations.tolist(), top.elevations.tolist(), strict=True)
    line = tuple(TopPoint(station=x, elevation=z) for x, z in points)
    return replace(here, style=run.layout.style, top=line)


def _plainly(top: TopLine, run: RunPlan, plan: FencePlan) -> TopLine:
    """The line of the tops by its corners alone, in figures as short as leave every cut as it is."""
    top = _corners(top)
    unit, per_inch = plan.words.unit, plan.words.number(1.0)
    for digits in _DIGITS[plan.units]:
        scale = per_inch * 10.0**digits
        along = _written(np.round(top.stations * scale), digits, unit)
        for rounded in (np.round, np.ceil):
            short = _written(rounded(top.elevations * scale), digits, unit)
            line = structs.replace(top, stations=along, elevations=short)
            if _same_cuts(top, line, run, plan):
                return line
    return top


def _written(counts: Floats, digits: int, unit: str) -> Floats:
    """Lengths (in) as they are read again: `counts` of the last of so many decimals of a unit."""
    return np.array([parse_length(f"{n / 10.0**digits:.{digits}f} {unit}") for n in counts.tolist()])


_DIGITS = {UnitSystem.IMPERIAL: range(3, 7), UnitSystem.METRIC: range(2, 6)}
"""Decimals of an inch or a millimetre that the line of the tops is written in: as few as leave the cuts."""


def _corners(top: TopLine) -> TopLine:
    """The line without the points that lie on the straight between their neighbours."""
    x, z, last = top.stations, top.elevations, len(top.stations) - 1
    kept = [0]
    for i in range(1, last):
        a, b = kept[-1], i + 1
        if x[i] in (x[a], x[b]) or abs(z[i] - np.interp(x[i], x[[a, b]], z[[a, b]])) > ROUNDING:
            kept.append(i)
    kept.append(last)
    return structs.replace(top, stations=x[kept], elevations=z[kept])


def _same_cuts(top: TopLine, other: TopLine, run: RunPlan, plan: FencePlan) -> bool:
    """Whether boards over the ground of a run are cut alike under both lines, and none passes the limit."""
    cuts = [
        cut_pickets(
            run.ground.line, run.slots, t, run.zones.clearance, plan.job.pickets.bottom_cut, plan.mark
        )
        for t in (top, other)
    ]
    limit = plan.job.top.most_height
    over = [np.zeros(0) if limit is None else c.tallest > limit + SAME_LENGTH for c in cuts]
    low = [c.height < plan.job.top.least_height - SAME_LENGTH for c in cuts]
    sides = [np.concatenate([c.kept_left, c.kept_right]) for c in cuts]
    return all(np.array_equal(*pair) for pair in (sides, over, low))
