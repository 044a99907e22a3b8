"""The top line of every run for one style, chosen as the best of its kind."""

from collections.abc import Sequence

from fencegrade.fence.stock_steps import board_cost
from fencegrade.fence.tops import (
    TopChoice,
    TopWish,
    choose_contour,
    choose_joined,
    choose_level,
    choose_racked,
    choose_sloped,
    choose_stepped,
    corner_remarks,
    corner_steps,
)
from fencegrade.fence.tops.height_limit import highest_allowed
from fencegrade.job.read import Job
from fencegrade.job.records import TopStyle
from fencegrade.planning.layout import RunLayout
from fencegrade.problems import Problem

_CHOOSERS = {
    TopStyle.LEVEL: choose_level,
    TopStyle.SLOPED: choose_sloped,
    TopStyle.STEPPED: choose_stepped,
    TopStyle.RACKED: choose_racked,
    TopStyle.CONTOUR: choose_contour,
}

_JOINABLE = frozenset({TopStyle.LEVEL, TopStyle.SLOPED, TopStyle.RACKED})


def top_wish(job: Job, layout: RunLayout) -> TopWish:
    """What the job asks of the top line over one run."""
    line = layout.ground.profile.line
    cost = board_cost(
        line,
        layout.slots,
        layout.zones.clearance,
        layout.zones.most_gap,
        job.pickets.stock,
        job.pickets.bottom_cut,
        job.job.tape,
        highest_allowed(line, layout.slots, job.top.most_height, job.top.measured),
    )
    return TopWish(
        name=layout.run.name,
        line=line,
        slots=layout.slots,
        start=layout.start,
        end=layout.end,
        least_height=job.top.least_height,
        cost=cost,
        mark=job.job.tape,
        units=job.job.units,
        posts=layout.bays.posts,
        most_height=job.top.most_height,
    )


def choose_tops(
    job: Job, layouts: Sequence[RunLayout], style: TopStyle
) -> tuple[tuple[TopChoice, ...], list[Problem]]:
    """The best top of a style for every run, meeting at joined corners where the style can."""
    wishes = [top_wish(job, layout) for layout in layouts]
    corners = joined_corners(layouts)
    joined = choose_joined(wishes, corners, style) if corners and style in _JOINABLE else None
    choices = joined or tuple(_CHOOSERS[style](wish) for wish in wishes)
    problems = [p for c in choices for p in c.problems]
    if corners:
        problems += corner_remarks(wishes, corner_steps([c.top for c in choices], corners))
    return choices, problems


def joined_corners(layouts: Sequence[RunLayout]) -> list[tuple[int, int]]:
    """Pairs (run that ends at a corner, run that starts there), from the `join` of the later run."""
    index = {layout.run.name: k for k, layout in enumerate(layouts)}
    return [(index[lay.run.join], k) for k, lay in enumerate(layouts) if lay.run.join is not None]
