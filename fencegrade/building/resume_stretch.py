"""The stretches of a run that are laid each for itself, as planned and as their posts were set."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fencegrade.fence.slots import closed_stretches
from fencegrade.job.as_built import PostSet
from fencegrade.planning.plan import FencePlan

_HAIR = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Stations (in) of a stretch, and the pickets of the plan in it: indices `first` to `past` - 1."""

    start: float
    end: float
    first: int
    past: int


def stretches(plan: FencePlan, index: int) -> list[Stretch]:
    """The stretches of a run that are laid each for itself: between gates, faces and ends, and, with a
    stepped top, posts."""
    run = plan.runs[index]
    edges = closed_stretches(run.start, run.end, run.run.gate, run.ground.profile.line.faces)
    if run.top.style.by_bay:
        posts = run.layout.bays.posts
        edges = [
            part
            for a, b in edges
            for part in pairwise([a, *posts[(posts > a + _HAIR) & (posts < b - _HAIR)].tolist(), b])
        ]
    middles = run.slots.centre
    return [
        Stretch(
            start=a,
            end=b,
            first=int(np.searchsorted(middles, a)),
            past=int(np.searchsorted(middles, b)),
        )
        for a, b in edges
    ]


def stretch_at(plan: FencePlan, index: int, after: int) -> Stretch:
    """The stretch that picket number `after` stands in; the first one for 0."""
    found = [s for s in stretches(plan, index) if s.past > s.first]
    return next(s for s in found if s.past >= max(after, 1))


def edge_as_set(plan: FencePlan, index: int, edge: float, posts: Sequence[PostSet]) -> float:
    """An end of a stretch (in), moved with the post it lies against where that was set elsewhere.

    `posts`: those measured of the run. A gate's opening begins half a post's width from its post's centre.
    Never past the last reading of the ground.
    """
    planned, profile = plan.runs[index].posts.station, plan.runs[index].ground.profile
    for post in posts:
        station = float(planned[post.number - 1])
        if abs(station - edge) <= plan.job.posts.width / 2 + _HAIR:
            return min(max(edge + post.station - station, profile.start), profile.end)
    return edge
