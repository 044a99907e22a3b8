"""A long run divided into parts that are each drawn large enough to read."""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.slots import Floats
from fencegrade.plan import RunPlan

LONGEST = 960.0
"""Longest part (in): 80 ft."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """One part of a run: its ends (in), the pickets in it (indices), and which of how many it is."""

    start: float
    end: float
    pickets: NDArray[np.intp]
    number: int
    of: int


def run_parts(run: RunPlan, longest: float = LONGEST) -> list[Part]:
    """The parts of a run, near equal and none longer than about `longest` (in), divided between pickets."""
    count = max(1, math.ceil((run.end - run.start) / longest - 1e-6))
    wanted = np.linspace(run.start, run.end, count + 1)[1:-1]
    edges = [run.start, *_edges_near(run, wanted), run.end]
    centre = run.slots.centre
    return [
        Part(
            start=a,
            end=b,
            pickets=np.flatnonzero((centre >= a) & (centre < b)),
            number=k + 1,
            of=len(edges) - 1,
        )
        for k, (a, b) in enumerate(pairwise(edges))
    ]


def _edges_near(run: RunPlan, wanted: Floats) -> list[float]:
    """The picket edges nearest to the wanted stations, each once."""
    edges = np.unique(np.concatenate([run.slots.left, run.slots.right]))
    inner = edges[(edges > run.start) & (edges < run.end)]
    if not len(inner):
        return []
    nearest = inner[np.argmin(np.abs(inner[:, None] - wanted[None, :]), axis=0)]
    return [float(x) for x in np.unique(nearest)]


class StandingPost(Protocol):
    """What a drawing needs of a post: its number, station, and how it stands about the ground (in)."""

    @property
    def number(self) -> int: ...
    @property
    def station(self) -> float: ...
    @property
    def ground(self) -> float: ...
    @property
    def above_ground(self) -> float: ...
    @property
    def depth(self) -> float: ...


def posts_in(run: RunPlan, part: Part) -> list[StandingPost]:
    """The posts of one part, in order."""
    posts: tuple[StandingPost, ...] = getattr(run, "posts", ())
    return [p for p in posts if part.start - 1e-6 <= p.station <= part.end + 1e-6]
