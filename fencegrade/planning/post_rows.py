"""The posts of every run before the rest of it: under tops that meet, and at each corner one post."""

from collections.abc import Sequence

import numpy as np

from fencegrade.fence.posts.posts import (
    PostSchedule,
    crown_at_posts,
    ground_at_posts,
    one_post_each,
    post_schedule,
)
from fencegrade.fence.posts.wind import wind_depths
from fencegrade.fence.rails.rails import top_at_posts
from fencegrade.fence.tops.line import TopLine
from fencegrade.job.read import Job
from fencegrade.planning.layout import RunLayout, joined_corners
from fencegrade.units.arrays import Floats


def post_schedules(job: Job, layouts: Sequence[RunLayout], tops: Sequence[TopLine]) -> list[PostSchedule]:
    """The posts of all runs, in their order.

    `layouts`, `tops`: run by run. Where the job has a site that sets depths, wind and soil count.
    """
    corners = joined_corners(layouts)
    schedules = [
        post_schedule(
            layout.run,
            layout.bays,
            crown_at_posts(top, layout.bays, job.posts, ends),
            layout.ground.line,
            job.posts,
            job.words.mark,
            _wind_depths(job, layout, top),
        )
        for layout, top, ends in zip(layouts, tops, _shared_ends(tops, corners), strict=True)
    ]
    return one_post_each(schedules, corners, job.posts)


def heights_at_posts(layout: RunLayout, top: TopLine) -> Floats:
    """How high (in) the tops stand over the ground at each post of a run, (n,)."""
    stations = layout.bays.posts
    return np.maximum(top_at_posts(top, stations) - ground_at_posts(layout.ground.line, stations), 0.0)


def _wind_depths(job: Job, layout: RunLayout, top: TopLine) -> Floats | None:
    """The depth (in) that wind and soil ask of each post, where the job wants that."""
    if job.site is None or not job.site.sets_depth:
        return None
    return wind_depths(job.site, layout.bays, heights_at_posts(layout, top), job.posts, job.words.mark)


def _shared_ends(tops: Sequence[TopLine], corners: Sequence[tuple[int, int]]) -> list[tuple[float, float]]:
    """Run by run, how high (in) the tops of the runs that meet it stand at its first and at its last post;
    -inf where none does. `corners`: pairs (run that ends there, run that starts there).
    """
    first, last = np.full(len(tops), -np.inf), np.full(len(tops), -np.inf)
    for before, after in corners:
        first[after] = max(first[after], tops[before].elevations[-1])
        last[before] = max(last[before], tops[after].elevations[0])
    for before, after in corners:
        first[after] = max(first[after], last[before])
    return list(zip(first.tolist(), last.tolist(), strict=True))
