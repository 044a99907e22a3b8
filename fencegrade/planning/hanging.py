"""What a crew hangs by: spaces as laid, clear openings, and the tops over the line of the readings."""

from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.pickets.spacing import Spacing, over_a_post
from fencegrade.ground.survey_line import ZERO, over_line
from fencegrade.job.records import Gate
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan, posts_and_faces, run_spaces
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH


def spaces_to_set(run: RunPlan) -> Iterator[Spacing]:
    """The stretches of equal spaces that are still to be set: those beside a picket to come, in order."""
    coming, rows = run.layout.coming, run.layout.row
    for s in run_spaces(run):
        members = np.arange(s.first - 1, s.last)
        members = members[rows[members] == s.row]
        open_ = np.append(coming[members][1:] | coming[members][:-1], False)
        edges = np.flatnonzero(np.diff(np.concatenate([[False], open_, [False]]).astype(np.int8)))
        for a, b in edges.reshape(-1, 2).tolist():
            first, last = int(members[a]), int(members[b])
            ends = {"start": float(run.slots.left[first]), "end": float(run.slots.right[last])}
            yield replace(s, first=first + 1, last=last + 1, spaces=b - a, **ends)


def where_bays_meet(run: RunPlan, space: Spacing) -> bool:
    """Whether a stretch is the one space over a post at which two bays meet, laid by neither."""
    return over_a_post(space, posts_and_faces(run))


def pickets_over_line(run: RunPlan) -> Floats:
    """(n,) how far (in) each picket's top stands over the line readings were taken from, at its middle."""
    return over_line(run.ground, run.slots.centre, run.cuts.top)


def posts_over_line(run: RunPlan) -> Floats:
    """(p,) how far (in) each post's own top stands over the line readings were taken from; nan of an old
    post whose height nobody measured; one set for the job is cut there once it stands firm.
    """
    top = np.where(run.posts.known, run.posts.top, np.nan)
    return over_line(run.ground, run.posts.station, top)


def tops_over_line(run: RunPlan, stations: Floats) -> Floats:
    """(k,) how far (in) the line of the tops passes over that of the readings at stations (k,) (in).

    At a step, where two heights meet, the higher.
    """
    return over_line(run.ground, stations, np.maximum(*run.top.sides(stations)))


def measured_from(plan: FencePlan) -> str:
    """What heights of a job are told over: its strings, the survey's zero, or both where runs differ."""
    strung = {bool(run.ground.strings) for run in plan.runs}
    return " or ".join(name for name, found in (("string", True in strung), (ZERO, False in strung)) if found)


class Opening(Struct, frozen=True, kw_only=True):
    """A stretch without pickets at an end of a run or at a gate: its edges (stations, in) between boards.

    `gate`: number of the gate, counted from 1; None at an end, where it lies between the run's end and the
    nearest board. `posts`: clear between the gate's posts (in); None at an end.
    """

    start: float
    end: float
    gate: int | None = None
    posts: float | None = None

    @property
    def clear(self) -> float:
        """Clear between boards, or between the end and the first board (in)."""
        return self.end - self.start


def between_posts(run: RunPlan, gate: Gate) -> float:
    """Clear width (in) between the posts at a gate of the run; a board up beside it may stand into that."""
    bays, middle = run.layout.bays, (gate.station + gate.end) / 2
    before, after = bays.posts + bays.sizes / 2, bays.posts - bays.sizes / 2
    return float(after[bays.posts > middle].min() - before[bays.posts <= middle].max())


def openings(run: RunPlan) -> tuple[Opening, ...]:
    """Both ends and every gate of a run in order along it."""
    left, right = run.slots.left, run.slots.right
    found = [Opening(start=run.start, end=float(left[0]))]
    for number, gate in enumerate(run.run.gate, start=1):
        start, end = gate.station, gate.end
        before, after = right[right <= start + SAME_LENGTH], left[left >= end - SAME_LENGTH]
        found.append(
            Opening(
                start=float(before.max()) if len(before) else start,
                end=float(after.min()) if len(after) else end,
                gate=number,
                posts=between_posts(run, gate),
            )
        )
    return (*found, Opening(start=float(right.max()), end=run.end))
