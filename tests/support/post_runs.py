"""Posts of a run that dips, and of one on level ground."""

from collections.abc import Collection
from types import SimpleNamespace

import numpy as np

from fencegrade.fence.bays.bays import Bays, lay_bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.posts.findings import post_findings
from fencegrade.fence.posts.posts import PostSchedule, crown_at_posts, post_schedule
from fencegrade.fence.tops.level import level_at, level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.records import Posts, Run
from fencegrade.problems import Problem
from fencegrade.units.arrays import Floats, Truths
from fencegrade.units.words import Words

READINGS = [24, 24.5, 26, 29, 34, 40, 43, 41, 35, 29.5, 26, 24.5, 24]


def dip() -> GroundLine:
    """A run of 48 ft whose ground falls by 19 in and rises again."""
    return ground_line([48.0 * k for k in range(13)], [-drop for drop in READINGS])


def checked_posts(
    run: Run,
    bays: Bays,
    top: TopLine,
    line: GroundLine,
    posts: Posts,
    words: Words,
    wind_depth: Floats | None = None,
    railed: Truths | None = None,
    least_height: float | None = None,
) -> tuple[PostSchedule, tuple[Problem, ...]]:
    """The posts of a run that meets no other, and what is said of them."""
    crown = crown_at_posts(top, bays, posts)
    schedule = post_schedule(run, bays, crown, line, posts, words.mark, wind_depth)
    found = post_findings(run, bays, schedule, line, posts, words, railed, least_height=least_height)
    return schedule, found


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


def posts_at(
    make: SimpleNamespace,
    posts: Posts,
    *stations: float,
    top: float = 62.0,
    gates: Collection[int] = (),
    standing: Collection[int] = (),
    line: GroundLine | None = None,
    railed: Collection[int] | None = None,
    least_height: float | None = None,
    **run_keys: object,
) -> tuple[PostSchedule, list[str]]:
    """Posts at these stations under a level top, some of gates, some that stand; what is said of them."""
    at, places = np.array(stations), range(len(stations))
    width = np.diff(at)
    bays = Bays(
        posts=at,
        kinds=tuple(PostKind.GATE if k in gates else PostKind.LINE for k in places),
        sizes=np.full(len(at), posts.width),
        standing=np.array([k in standing for k in places]),
        old=np.array([k in standing for k in places]),
        first=np.arange(len(width)),
        rail=width,
        slope=0 * width,
        extra=0 * width,
        overlap=0.0,
        reach=120.0,
        rail_height=3.5,
    )
    up = None if railed is None else np.array([k in railed for k in range(len(width))])
    line = line or make.ground(stations[-1])
    level = level_at(0.0, stations[-1], top)
    schedule, problems = checked_posts(
        make.run(**run_keys), bays, level, line, posts, make.say, railed=up, least_height=least_height
    )
    return schedule, [f"{p.severity}, {p.place}: {p.message}" for p in problems]


PRICED = [{"length": "8 ft", "price": 14.0}, {"length": "10 ft", "price": 18.5}]
