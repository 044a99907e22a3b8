"""Posts of a run that dips, and of one on level ground."""

from types import SimpleNamespace

import numpy as np

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.posts.findings import checked_posts
from fencegrade.fence.posts.posts import PostSchedule
from fencegrade.fence.tops.level import level_top
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.records import Posts
from fencegrade.problems import Problem

READINGS = [24, 24.5, 26, 29, 34, 40, 43, 41, 35, 29.5, 26, 24.5, 24]


def dip() -> GroundLine:
    """A run of 48 ft whose ground falls by 19 in and rises again."""
    return ground_line([48.0 * k for k in range(13)], [-drop for drop in READINGS])


def posts_over_a_dip(
    make: SimpleNamespace, posts: Posts, railed: int = 0, **run_keys: object
) -> tuple[PostSchedule, tuple[Problem, ...]]:
    """The posts under a level top 6 ft over the highest ground of `dip`; rails hang in the first bays."""
    line = dip()
    run = make.run(**run_keys)
    bays, problems = lay_bays(run, posts, make.rails("10 ft"), line, 0.0, 576.0)
    assert bays is not None, problems
    up = np.arange(len(bays.first)) < railed
    top = level_top(line, 0.0, 576.0, 72.0)
    return checked_posts(run, bays, top, line, posts, make.say, railed=up)


def posts_on_the_level(
    make: SimpleNamespace, posts: Posts, top: float = 74.0
) -> tuple[PostSchedule, tuple[Problem, ...]]:
    """The posts of 40 ft of level ground."""
    line = make.ground(480)
    bays, _ = lay_bays(make.run(), posts, make.rails("10 ft"), line, 0.0, 480.0)
    assert bays is not None
    return checked_posts(make.run(), bays, level_top(line, 0.0, 480.0, top), line, posts, make.say)


PRICED = [{"length": "8 ft", "price": 14.0}, {"length": "10 ft", "price": 18.5}]
