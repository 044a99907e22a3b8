"""What a lower or higher string would change, for every top style."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.string_heights import StringHeights, string_heights
from fencegrade.fence.tops.styles import choose_top
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.survey import RunGround
from fencegrade.job.as_built import NOTHING_BUILT
from fencegrade.job.read import Job
from fencegrade.planning.higher_or_lower import LineMoved, better_height
from fencegrade.planning.layout import lay_out
from fencegrade.planning.plan import plan_on
from fencegrade.planning.tops import styles_asked, top_wish
from fencegrade.problems import JobMistakesError, Problem, raise_mistakes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunHeights:
    """The heights table of one run under one top."""

    run: str
    style: TopStyle
    top: TopLine
    table: StringHeights


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JobHeights:
    """The heights tables of a job, style by style, run by run.

    `moved`: by style, the whole fence's line a little higher or lower, where that spares something.
    """

    job: Job
    tables: tuple[RunHeights, ...]
    moved: Mapping[TopStyle, LineMoved]


def heights_on(job: Job, grounds: list[RunGround]) -> JobHeights:
    """Every height of the line of each run, in every top style, at which a board changes stock.

    `grounds`: of its runs. Heights under half of the least height are left out, and a style that cannot be
    planned; the fence is that of before anything stood. Errors: JobMistakesError where no style can be
    planned.
    """
    tables: list[RunHeights] = []
    moved: dict[TopStyle, LineMoved] = {}
    mistakes: dict[Problem, None] = {}
    before = replace(job, built=NOTHING_BUILT)
    for style in TopStyle:
        styles = styles_asked(before, style)
        try:
            plan = plan_on(before, grounds, styles)
            better = better_height(plan)
            layouts, _ = lay_out(plan.job, grounds, styles)
        except JobMistakesError as error:
            mistakes |= dict.fromkeys(error.problems)
            continue
        if better is not None:
            moved[style] = better
        for layout in layouts:
            if not len(layout.slots):
                continue
            wish = top_wish(plan.job, layout)
            top = choose_top(style, wish).top
            lowest = wish.least_height / 2
            table = string_heights(wish.line, wish.slots, top, wish.cost, lowest, wish.mark)
            tables.append(RunHeights(run=wish.name, style=style, top=top, table=table))
    if not tables:
        raise_mistakes(mistakes)
    return JobHeights(job=job, tables=tuple(tables), moved=moved)
