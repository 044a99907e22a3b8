"""The top line of every run in the style asked of it, chosen as the best of its kind."""

from collections.abc import Sequence

from fencegrade.fence.stock_steps import board_cost
from fencegrade.fence.tops.asked import Corner, TopChoice, TopLimits, TopWish
from fencegrade.fence.tops.corners import corner_remarks, corner_steps
from fencegrade.fence.tops.height_limit import highest_allowed
from fencegrade.fence.tops.styles import choose_tops
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.read import Job
from fencegrade.planning.layout import RunLayout
from fencegrade.problems import Problem


def styles_asked(job: Job, style: TopStyle | None = None) -> tuple[TopStyle, ...]:
    """The top of each run of a job: `style` for all of them, or else the run's own, or that of `[top]`."""
    return tuple(style or run.style or job.top.style for run in job.runs)


def top_wish(job: Job, layout: RunLayout) -> TopWish:
    """What the job asks of the top line over one run."""
    line, top = layout.ground.line, job.top
    cost = board_cost(
        line,
        layout.slots,
        layout.zones.clearance,
        layout.zones.most_gap,
        job.pickets.stock,
        job.pickets.bottom_cut,
        job.tape,
        highest_allowed(line, layout.slots, top.most_height, top.measured),
    )
    return TopWish(
        name=layout.run.name,
        line=line,
        slots=layout.slots,
        start=layout.start,
        end=layout.end,
        least_height=top.least_height,
        cost=cost,
        mark=job.tape,
        units=job.units,
        posts=layout.bays.posts,
        most_height=top.most_height,
        limits=TopLimits(most_step=top.most_step, equal_steps=top.equal_steps, most_slope=top.most_slope),
    )


def top_lines(job: Job, layouts: Sequence[RunLayout]) -> tuple[tuple[TopChoice, ...], list[Problem]]:
    """The best top of every run in the style it was laid out for; those that can meet at joined corners."""
    wishes = [top_wish(job, layout) for layout in layouts]
    corners = joined_corners(layouts)
    choices = choose_tops([layout.style for layout in layouts], wishes, corners)
    problems = [p for c in choices for p in c.problems]
    return choices, [*problems, *corner_remarks(wishes, corner_steps([c.top for c in choices], corners))]


def joined_corners(layouts: Sequence[RunLayout]) -> list[Corner]:
    """Pairs (run that ends at a corner, run that starts there), from the `join` of the later run."""
    index = {layout.run.name: k for k, layout in enumerate(layouts)}
    return [(index[lay.run.join], k) for k, lay in enumerate(layouts) if lay.run.join is not None]
