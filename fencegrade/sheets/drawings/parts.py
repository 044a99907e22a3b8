"""A long run divided into parts that are each drawn large enough to read."""

import math
from itertools import pairwise

import numpy as np
from msgspec import Struct

from fencegrade.planning.plan import RunPlan
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import SAME_LENGTH, WHOLE


class Part(Struct, frozen=True, kw_only=True, eq=False):
    """One part of a run: its ends (in), the pickets in it (indices), and which of how many it is."""

    start: float
    end: float
    pickets: Indices
    number: int
    of: int


def run_parts(run: RunPlan, longest: float) -> list[Part]:
    """The parts of a run, near equal and none much longer than `longest` (in), divided at posts.

    Where no post stands near, between two pickets; never at a face, which is seen whole in one of them. An
    end post set past the boards is within them.
    """
    first, last = min(run.start, *run.posts.station[:1]), max(run.end, *run.posts.station[-1:])
    count = max(1, math.ceil((run.end - run.start) / longest - WHOLE))
    wanted = np.linspace(run.start, run.end, count + 1)
    edges = [first, *_divisions(run, wanted[1:-1], (wanted[1] - wanted[0]) / 4), last]
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


def _divisions(run: RunPlan, wanted: Floats, reach: float) -> list[float]:
    """The posts nearest to the wanted stations if within `reach` (in), else picket edges; each once and none
    at a face.
    """
    edges = np.unique(np.concatenate([run.slots.left, run.slots.right]))
    found = set()
    for station in wanted.tolist():
        for places in (run.posts.station, edges):
            inner = places[(places > run.start + SAME_LENGTH) & (places < run.end - SAME_LENGTH)]
            inner = inner[~_near_a_face(run, inner)]
            if len(inner):
                nearest = float(inner[np.argmin(np.abs(inner - station))])
                if abs(nearest - station) <= reach or places is edges:
                    found.add(nearest)
                    break
    return sorted(found)


def _near_a_face(run: RunPlan, stations: Floats) -> Truths:
    """Which stations (n,) lie so near a face of the ground that a post there stands at it."""
    apart = np.abs(stations[:, None] - run.ground.line.faces)
    return np.asarray((apart < run.layout.bays.sizes.max(initial=SAME_LENGTH)).any(axis=1))


class DrawnPost(Struct, frozen=True, kw_only=True):
    """A post as it is drawn.

    `number` along the run; `station`; elevations of its `top`, of the `ground` and of its `foot`, inches;
    `standing`: it stands already.
    """

    number: int
    station: float
    top: float
    ground: float
    foot: float
    standing: bool


def posts_in(run: RunPlan, part: Part) -> list[DrawnPost]:
    """The posts of one part, in order."""
    schedule = run.posts
    first = -np.inf if part.number == 1 else part.start - SAME_LENGTH
    last = np.inf if part.number == part.of else part.end + SAME_LENGTH
    inside = (schedule.station >= first) & (schedule.station <= last)
    return [
        DrawnPost(
            number=i + 1,
            station=float(schedule.station[i]),
            top=float(schedule.top[i]),
            ground=float(schedule.ground[i]),
            foot=float(schedule.ground[i] - schedule.depth[i]),
            standing=bool(schedule.standing[i]),
        )
        for i in map(int, np.flatnonzero(inside))
    ]
