"""The top line of every run in the style asked of it: the best of its kind, or as it hangs already."""

import dataclasses
from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace

from fencegrade.fence.bays.closed import closed_ground
from fencegrade.fence.stock_steps import board_cost
from fencegrade.fence.tops.asked import TopChoice, TopLimits, TopWish
from fencegrade.fence.tops.corners import corner_remarks, corner_steps
from fencegrade.fence.tops.height_limit import highest_allowed
from fencegrade.fence.tops.styles import choose_top, choose_tops
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.as_built import BuiltRun
from fencegrade.job.read import Job
from fencegrade.planning.layout import RunLayout, joined_corners
from fencegrade.problems import Problem, refuse
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

WRITTEN = 1e-3
"""Inches that a written corner of the top may lie off its post and still be at it: more than the decimals it
is written in leave, less than any tape reads (own choice)."""


def styles_asked(job: Job, style: TopStyle | None = None) -> tuple[TopStyle, ...]:
    """The top of each run of a job: `style` for all of them, or else the run's own, or that of `[top]`."""
    return tuple(style or run.style or job.top.style for run in job.runs)


def with_tops(job: Job, styles: Sequence[TopStyle]) -> Job:
    """A job with its tops said beside it, one a run: none of them is assumed any more."""
    runs = (dataclasses.replace(run, style=style) for run, style in zip(job.runs, styles, strict=True))
    told = tuple(d for d in job.defaults if d.key != "[top] style")
    return dataclasses.replace(job, runs=tuple(runs), defaults=told)


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
        closed=closed_ground(layout.run, job.posts),
        limits=TopLimits(most_step=top.most_step, equal_steps=top.equal_steps, most_slope=top.most_slope),
    )


def top_lines(job: Job, layouts: Sequence[RunLayout]) -> tuple[tuple[TopChoice, ...], list[Problem]]:
    """The best top of every run in the style it was laid out for; those that can meet at joined corners."""
    wishes = [top_wish(job, layout) for layout in layouts]
    corners = joined_corners(layouts)
    choices = choose_tops([layout.style for layout in layouts], wishes, corners)
    problems = [p for c in choices for p in c.problems]
    return choices, [*problems, *corner_remarks(wishes, corner_steps([c.top for c in choices], corners))]


def tops_by_themselves(job: Job, layouts: Sequence[RunLayout]) -> tuple[tuple[TopChoice, ...], list[Problem]]:
    """The best top of every run in the style it was laid out for, whatever the runs it joins ask."""
    choices = tuple(choose_top(layout.style, top_wish(job, layout)) for layout in layouts)
    return choices, [p for c in choices for p in c.problems]


def tops_as_they_hang(
    job: Job, choices: Sequence[TopChoice], layouts: Sequence[RunLayout]
) -> tuple[TopChoice, ...]:
    """The tops of the runs, those that were written down as they hang in place of the ones found now.

    Errors: JobMistakesError where a run hangs under another style.
    """
    return tuple(_as_it_hangs(job, choice, layout) for choice, layout in zip(choices, layouts, strict=True))


def _as_it_hangs(job: Job, choice: TopChoice, layout: RunLayout) -> TopChoice:
    run, style = layout.run, layout.style
    built = job.built.of(run.name)
    if built.style not in (None, style):
        found = f"{run.name} stands under a {built.style} top, and a {style} one is asked for"
        refuse(f"{built.place}, style", found, _another_top(job, built, layout))
    if not built.top:
        return choice
    stations = np.array([p.station for p in built.top])
    if len(stations) < 2 or (np.diff(stations) < 0).any():
        found = "the line of the tops does not run forward from point to point"
        refuse(f"{built.place}, top", found, "list two points or more in order")
    stations = _at_posts(stations, layout.bays.posts)
    elevations = np.array([p.elevation for p in built.top])
    return replace(choice, top=replace(choice.top, stations=stations, elevations=elevations))


def _another_top(job: Job, built: BuiltRun, layout: RunLayout) -> str:
    """What can be done where another top is wanted than a run stands under: past the post that the last rails
    up end on, the rest may be a run of its own."""
    keep, name = f"plan it with a {built.style} top", layout.run.name
    last = max((p.far_edge for p in built.picket), default=-np.inf)
    railed = layout.bays.right[layout.bays.left < last - SAME_LENGTH]
    if not len(railed) or railed[-1] >= layout.bays.posts[-1] - SAME_LENGTH:
        return keep
    at, words = float(railed[-1]), Words.of_readings(job.units)
    post = int(np.searchsorted(layout.bays.posts, at - SAME_LENGTH)) + 1
    end = words.fine(layout.ground.as_taped(at))
    return (
        f'{keep}; to have another from post {post} on, end {name} there, with style = "{built.style}" and '
        f'end = "{end}", and make the rest a run of its own: below it a [[run]] with a name and style of its '
        f'own, the same survey, start = "{end}", join = "{name}", the end that {name} had, and all its gates '
        f"and stretches past there; a run that joins {name} now is to join that one"
    )


def _at_posts(stations: Floats, posts: Floats) -> Floats:
    """Stations (in) of the corners of a top, those that a post was written down at put at the post again."""
    nearest = posts[np.abs(stations[:, None] - posts).argmin(axis=1)]
    return np.where(np.abs(stations - nearest) <= WRITTEN, nearest, stations)
