"""What a lower or higher string would change, for every top style."""

from dataclasses import dataclass

from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.string_heights import StringHeights, string_heights
from fencegrade.fence.tops.styles import choose_top
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.survey import RunGround
from fencegrade.job.read import Job
from fencegrade.planning.layout import lay_out
from fencegrade.planning.tops import styles_asked, top_wish


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunHeights:
    """The heights table of one run under one top."""

    run: str
    style: TopStyle
    top: TopLine
    table: StringHeights


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JobHeights:
    """The heights tables of a job, style by style, run by run."""

    job: Job
    tables: tuple[RunHeights, ...]


def heights_on(job: Job, grounds: list[RunGround]) -> JobHeights:
    """Every height of the line of each run, in every top style, at which a board changes stock.

    `grounds`: of its runs. Heights under half of the least height are left out. Errors: JobMistakesError for
    mistakes in the job.
    """
    tables = []
    for style in TopStyle:
        layouts, _ = lay_out(job, grounds, styles_asked(job, style))
        for layout in layouts:
            if not len(layout.slots):
                continue
            wish = top_wish(job, layout)
            top = choose_top(style, wish).top
            table = string_heights(wish.line, wish.slots, top, wish.cost, wish.least_height / 2)
            tables.append(RunHeights(run=wish.name, style=style, top=top, table=table))
    return JobHeights(job=job, tables=tuple(tables))
