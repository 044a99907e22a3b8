"""What has been built against the plan: boards, posts and rails as measured, and what is left to fix."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fencegrade.building.resume_ask import Ask
from fencegrade.fence.bays.bays import Bays
from fencegrade.job.as_built import BoardUp, PostSet
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan
from fencegrade.problems import Problem, warning
from fencegrade.units.words import Words

POST_TOLERANCE = 0.5
"""Inches a post may stand or end from its plan before it is listed. Common practice, no source."""

_HAIR = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardRecord:
    """A measured board beside its plan (in): far edge, top over the lowest ground under it, gap under it.

    None where it was not measured.
    """

    number: int
    planned_right: float
    right: float | None
    planned_height: float
    height: float | None
    planned_gap: float
    gap: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PostRecord:
    """A post as set beside its plan (in): station of its centre, and its top over the ground beside it."""

    number: int
    planned: float
    station: float
    planned_top: float
    top: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RailRecord:
    """A bay whose posts were set elsewhere (in): rail planned, rail needed now, longest rail offered."""

    bay: int
    planned: float
    needed: float
    longest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltRecord:
    """The record of a run: who checked it and when, what was measured, and what is left to fix."""

    run: str
    checked_by: str
    checked_on: str
    tolerance: float
    boards: tuple[BoardRecord, ...]
    posts: tuple[PostRecord, ...]
    rails: tuple[RailRecord, ...]
    fixes: tuple[Problem, ...]


def built_record(plan: FencePlan, ask: Ask) -> BuiltRecord:
    """What was measured of a run against its plan, and a closing list of what is left to fix.

    `ask`: as `read_ask` gives it, with an as-built file. Errors: ValueError without one. Heights are held
    against the job's limits from the ground as surveyed; rails against the bays between the posts as set.
    """
    if ask.built is None:
        raise ValueError("a record needs an as-built file")
    run = plan.runs[ask.run]
    say = Words(system=plan.job.job.units, mark=plan.mark)
    tolerance = POST_TOLERANCE if ask.built.tolerance is None else ask.built.tolerance
    posts = tuple(_post(run, post) for post in ask.posts)
    rails = tuple(_rails(run, ask.posts))
    boards = tuple(_board(run, board) for board in ask.boards)
    fixes = [
        *_post_fixes(run, posts, tolerance, say),
        *_rail_fixes(run, rails, plan.mark, say),
        *_board_fixes(plan, run, boards, say),
    ]
    return BuiltRecord(
        run=run.run.name,
        checked_by=ask.built.checked_by,
        checked_on=ask.built.checked_on,
        tolerance=tolerance,
        boards=boards,
        posts=posts,
        rails=rails,
        fixes=tuple(fixes),
    )


def _post(run: RunPlan, post: PostSet) -> PostRecord:
    k = post.number - 1
    return PostRecord(
        number=post.number,
        planned=float(run.posts.station[k]),
        station=post.station,
        planned_top=float(run.posts.above[k]),
        top=post.top,
    )


def _board(run: RunPlan, board: BoardUp) -> BoardRecord:
    k = board.number - 1
    return BoardRecord(
        number=board.number,
        planned_right=float(run.slots.right[k]),
        right=board.right_edge,
        planned_height=float(run.cuts.tallest[k]),
        height=board.height,
        planned_gap=float(run.cuts.gap[k]),
        gap=board.gap,
    )


def _rails(run: RunPlan, posts: Sequence[PostSet]) -> Iterator[RailRecord]:
    """The bays beside posts that were measured; a rail keeps its rise and its bearing on both posts."""
    bays = run.layout.bays
    station = run.posts.station.copy()
    for post in posts:
        station[post.number - 1] = post.station
    measured = {post.number - 1 for post in posts}
    for b in range(len(bays)):
        first = int(bays.first[b])
        if {first, first + 1} & measured:
            planned = float(run.rails.length[run.rails.bay == b].max(initial=0.0))
            yield RailRecord(
                bay=b + 1,
                planned=planned,
                needed=rail_between(bays, b, planned, float(station[first + 1] - station[first])),
                longest=bays.reach,
            )


def rail_between(bays: Bays, bay: int, planned: float, width: float) -> float:
    """Length (in) of a rail along the slope in a bay as set.

    `planned`: its length as planned (in); `width`: post centre to post centre as set (in). The rail keeps its
    rise from post to post and what it covers of both. Source: own derivation.
    """
    level, extra = float(bays.width[bay]), float(bays.extra[bay])
    slope = math.sqrt(max(0.0, (planned / (level + extra)) ** 2 - 1)) * level / width
    return (width + extra) * math.hypot(1.0, slope)


def _post_fixes(run: RunPlan, posts: Sequence[PostRecord], tolerance: float, say: Words) -> Iterator[Problem]:
    for post in posts:
        place = f"{run.run.name}, post {post.number}"
        off = post.station - post.planned
        if abs(off) > tolerance + _HAIR:
            toward = "end" if off > 0 else "start"
            yield warning(
                place,
                f"stands {say(abs(off))} from its plan, toward the {toward}",
                "see that the rails still bear on it, or set it again",
            )
        high = 0.0 if post.top is None else post.top - post.planned_top
        if high > tolerance + _HAIR:
            yield warning(place, f"its top is {say(high)} too high", "cut it to the string")
        elif high < -tolerance - _HAIR:
            yield warning(
                place, f"its top is {say(-high)} too low", "see that the top rail still bears on it"
            )


def _rail_fixes(run: RunPlan, rails: Sequence[RailRecord], mark: float, say: Words) -> Iterator[Problem]:
    for rail in rails:
        place = f"{run.run.name}, bay {rail.bay}"
        short = rail.needed - rail.longest
        if short > _HAIR:
            yield warning(
                place,
                f"no rail reaches between the posts as set: {say(rail.needed)} is needed, the longest is "
                f"{say(rail.longest)}",
                "set a post again, add one between, or buy a longer rail",
            )
        elif rail.needed - rail.planned > mark / 2:
            yield warning(
                place,
                f"the rail of {say(rail.planned)} comes {say(rail.needed - rail.planned)} short between the "
                "posts as set",
                f"cut it to {say(rail.needed)}; one already cut no longer bears fully",
            )


def _board_fixes(
    plan: FencePlan, run: RunPlan, boards: Sequence[BoardRecord], say: Words
) -> Iterator[Problem]:
    top, zones = plan.job.top, run.zones
    for board in boards:
        k, place = board.number - 1, f"{run.run.name}, picket {board.number}"
        if board.gap is not None:
            most, least = float(zones.most_gap[k]), float(zones.clearance[k])
            if zones.open[k] and board.gap < least - _HAIR:
                found = f"{say(board.gap)} is open under it, but water needs {say(least)}"
                yield warning(place, found, "shorten it")
            elif not zones.open[k] and board.gap > most + _HAIR:
                found = f"the gap under it is {say(board.gap)}, over the {say(most)} allowed"
                yield warning(place, found, "close it with soil or a board at the bottom, or hang it lower")
        if (
            board.height is not None
            and top.most_height is not None
            and board.height > top.most_height + _HAIR
        ):
            found = (
                f"its top is {say(board.height)} over the ground, over the limit of {say(top.most_height)}"
            )
            yield warning(place, found, "cut it, or ask the permit office how height is measured")


def largest_off(records: Sequence[BoardRecord]) -> float:
    """The largest distance (in) of a measured edge from its plan; zero where none was measured."""
    offs = [abs(r.right - r.planned_right) for r in records if r.right is not None]
    return float(np.max(offs, initial=0.0))
