"""Neighbours whose holes come near each other, and what holds each of the two where it is."""

from collections.abc import Iterator

import numpy as np

from fencegrade.fence.bays.given_posts import KeepOut, PostKind, Reason, keep_outs
from fencegrade.fence.posts.posts import PostSchedule
from fencegrade.job.records import Posts, Run
from fencegrade.problems import Problem, note, warning
from fencegrade.units.arrays import Truths
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, listed

LEAST_BETWEEN_HOLES = 6.0
"""Inches of ground between two holes that stand while both are open: common practice, no source."""


def near_holes(
    run: Run, schedule: PostSchedule, hangs: Truths, posts: Posts, words: Words
) -> Iterator[Problem]:
    """Neighbours so near that their holes run into each other, or leave little ground between them.

    `hangs` (n,): the posts beside a gate of this run.
    """
    wide = np.array([posts.hole(k is PostKind.GATE) for k in schedule.kinds])
    reach = (wide[1:] + wide[:-1]) / 2
    apart = np.where(schedule.new[1:] & schedule.new[:-1], np.diff(schedule.station), np.inf)
    for k in np.flatnonzero(
        (apart > SAME_LENGTH) & (apart < reach + LEAST_BETWEEN_HOLES - SAME_LENGTH)
    ).tolist():
        place = f"{run.name}, posts {k + 1} and {k + 2}"
        if apart[k] < reach[k] - SAME_LENGTH:
            held = {n: _held_by(run, schedule, hangs, n, posts, words) for n in (k, k + 1)}
            told = [f"post {n + 1} {what}" for n, what in held.items() if what]
            both = words.fine(float(reach[k]))
            size = (
                f"a hole is {both} wide" if wide[k] == wide[k + 1] else f"half of each hole comes to {both}"
            )
            yield warning(
                place,
                f"their middles are {words.fine(float(apart[k]))} apart and {size}: the two holes run into "
                "one" + (f"; {listed(told)}" if told else ""),
                _one_for_both(hangs, k),
            )
        else:
            yield note(
                place,
                f"only {words.fine(float(apart[k] - reach[k]))} of ground stays between their holes",
                "set and fill the first before the second is dug",
            )


def _held_by(run: Run, schedule: PostSchedule, hangs: Truths, post: int, posts: Posts, words: Words) -> str:
    """What holds a new post where it is, in words; empty for one that the spacing alone puts there."""
    last = len(schedule) - 1
    if post in {0, last}:
        own = " and a gate's" if hangs[post] else ""
        return f"is the run's {'start' if post == 0 else 'end'}{own}"
    if hangs[post]:
        return "is a gate's"
    if schedule.kinds[post] is PostKind.FACE:
        return "stands at a face"
    station = float(schedule.station[post])
    beside = [o for o in keep_outs(run, posts.hole_diameter) if _off(o, station) <= posts.hole_diameter / 2]
    if not beside:
        return ""
    out = min(beside, key=lambda o: _off(o, station))
    what = "old hole" if out.reason is Reason.OLD_HOLE else f"{out.reason} stretch"
    return f"stands beside the {what} {words.stretch(out.start, out.end)}"


def _off(out: KeepOut, station: float) -> float:
    """Inches from a station to a keep-out, less a grace."""
    return max(out.start - station, station - out.end) - SAME_LENGTH


def _one_for_both(hangs: Truths, first: int) -> str:
    """What can be done about a post and the next whose holes are one."""
    count = len(hangs)
    if hangs[first : first + 2].any():
        return "move the gate so that one post serves both, or set the two in one hole"
    if count > 2 and (first == 0 or first == count - 2):
        end = "begin" if first == 0 else "end"
        return f"set the two in one hole, or {end} the run where one post serves both"
    return "set the two in one hole"
