"""What the plan has for the rest of a run, and what a new laying of it comes to: slots and tops."""

import numpy as np
from numpy.typing import NDArray

from fencegrade.building.relay import Relay, Rest, observed_width
from fencegrade.building.resume_ask import Ask
from fencegrade.building.resume_stretch import Stretch, edge_as_set, stretch_at, stretches
from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import Floats
from fencegrade.job.as_built import Tops
from fencegrade.job.records import Fit, Pattern
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan

_HAIR = 1e-6


def rest_of(plan: FencePlan, ask: Ask) -> tuple[Stretch, Rest]:
    """What is left of the stretch that is being built."""
    run, pickets = plan.runs[ask.run], plan.job.pickets
    stretch = stretch_at(plan, ask.run, ask.after)
    stepped = run.top.style.by_bay and pickets.pattern is Pattern.SIDE_BY_SIDE
    first_row = run.layout.row == 0
    index = np.arange(len(run.slots))
    coming = first_row & (index >= ask.after) & (index < stretch.past)
    own = first_row & (index >= stretch.first) & (index < stretch.past)
    planned = Slots(left=run.slots.left[coming], right=run.slots.right[coming])
    gaps = run.slots.left[own][1:] - run.slots.right[own][:-1]
    widths = run.slots.width[own]
    started = ask.after > stretch.first
    whole = float(widths.max()) if len(widths) else pickets.width
    last = float(run.slots.right[ask.after - 1]) if ask.after else 0.0
    first_rip = float(widths[0]) if len(widths) else 0.0
    both = pickets.fit is Fit.RIP_BOTH_ENDS and first_rip < whole - _HAIR
    end = edge_as_set(plan, ask.run, stretch.end, ask.posts)
    gap = max(0.0, float(gaps[0])) if len(gaps) else pickets.spacing
    if ask.gap is not None:
        gap = ask.gap
    return stretch, Rest(
        at=min(ask.at, end),
        end=end,
        width=_width_up(plan, ask, stretch, whole, gap) if ask.width is None else ask.width,
        gap=gap,
        limit=ask.limit,
        fit=Fit.EVEN_GAPS if stepped else pickets.fit,
        planned=planned,
        shift=ask.at - (last if started else stretch.start),
        started=started,
        lead=1.0 if started else 0.5 if stepped else 0.0,
        close=0.5 if stepped else 0.0,
        match=first_rip if both else 0.0,
    )


def _width_up(plan: FencePlan, ask: Ask, stretch: Stretch, whole: float, gap: float) -> float:
    """The width of the boards to come, from what those since the last edge measured before come to.

    Without such an edge they count from the first of the stretch. Where another gap than the plan's is set
    now, only those since an earlier measured edge were set to it.
    """
    run = plan.runs[ask.run]
    row = np.flatnonzero(run.layout.row == 0)
    up = row[(row >= stretch.first) & (row < ask.after)]
    edges = [(b.number, b.right_edge) for b in ask.boards if b.right_edge is not None]
    earlier = [e for e in edges if stretch.first < e[0] < ask.after]
    if earlier:
        number, edge = earlier[-1]
        since = up[up >= number]
        spaces = gap * len(since)
    elif ask.gap is None and len(up):
        since, edge = up, edge_as_set(plan, ask.run, stretch.start, ask.posts)
        left, right = run.slots.left[up], run.slots.right[up]
        spaces = float(left[0]) - stretch.start + float((left[1:] - right[:-1]).sum())
    else:
        return whole
    beyond = ask.at - edge - spaces - float(run.slots.width[since].sum())
    return observed_width(whole, len(since), beyond)


def spliced(plan: FencePlan, ask: Ask, stretch: Stretch, relay: Relay) -> tuple[Slots, NDArray[np.int64]]:
    """Every picket to come: the stretch's rest as laid again, then the other stretches as planned.

    A second row stands centred on the new gaps of the first, before the next board of it as after.
    """
    run = plan.runs[ask.run]
    left, right, row = relay.slots.left, relay.slots.right, np.zeros(len(relay), dtype=np.int64)
    if plan.job.pickets.pattern is not Pattern.SIDE_BY_SIDE:
        started = ask.after > stretch.first
        edges = np.append(ask.at, right) if started else right
        middle = (edges[:-1] + (left if started else left[1:])) / 2
        half = plan.job.pickets.width / 2
        left, right = np.append(left, middle - half), np.append(right, middle + half)
        row = np.append(row, np.ones(len(middle), dtype=np.int64))
        order = np.argsort(left, kind="stable")
        left, right, row = left[order], right[order], row[order]
    later = _later(plan, ask, stretch)
    slots = Slots(left=np.append(left, later.left), right=np.append(right, later.right))
    return slots, np.append(row, run.layout.row[stretch.past :])


def _later(plan: FencePlan, ask: Ask, stretch: Stretch) -> Slots:
    """The pickets of the other stretches to come, as planned.

    A stepped top starts afresh at each post, so its bays move with posts set elsewhere: the same number of
    pickets, with even gaps and half a gap at each end, the last one ripped where they do not fit.
    """
    run = plan.runs[ask.run]
    left, right = run.slots.left.copy(), run.slots.right.copy()
    if run.top.style.by_bay and plan.job.pickets.pattern is Pattern.SIDE_BY_SIDE:
        for bay in stretches(plan, ask.run):
            ends = [edge_as_set(plan, ask.run, x, ask.posts) for x in (bay.start, bay.end)]
            if bay.first >= stretch.past and ends != [bay.start, bay.end] and bay.past > bay.first:
                own = slice(bay.first, bay.past)
                widths = run.slots.width[own]
                widths[-1] -= max(0.0, float(widths.sum()) - (ends[1] - ends[0]))
                gap = (ends[1] - ends[0] - float(widths.sum())) / len(widths)
                right[own] = ends[0] + gap / 2 + np.cumsum(widths) + gap * np.arange(len(widths))
                left[own] = right[own] - widths
    return Slots(left=left[stretch.past :], right=right[stretch.past :])


def top_as_set(plan: FencePlan, ask: Ask) -> TopLine:
    """The line the tops to come follow: the plan's, or the plan's moved with the posts as set.

    Between two posts it moves by what they moved, evenly from one to the other; from the last board up it
    starts at the plan's height. A stepped top moves bay by bay, with the lower of its two posts.
    """
    run = plan.runs[ask.run]
    if ask.built is None or ask.built.tops is Tops.PLAN:
        return run.top
    moved = _posts_moved(run, ask)
    stations = run.posts.station
    if run.top.style.by_bay:
        return _bays_moved(run, ask, moved)
    ahead = stations > ask.at + _HAIR
    x = np.concatenate([[run.start, ask.at], stations[ahead]])
    by = np.concatenate([[0.0, 0.0], moved[ahead]])
    knots = run.top.stations
    inner = np.setdiff1d(x[(x > knots[0]) & (x < knots[-1])], knots)
    at = np.concatenate([knots, inner])
    order = np.argsort(at, kind="stable")
    height = np.concatenate([run.top.elevations, run.top.at(inner)])[order]
    return TopLine(style=run.top.style, stations=at[order], elevations=height + np.interp(at[order], x, by))


def _posts_moved(run: RunPlan, ask: Ask) -> Floats:
    """How much higher (in) each post's top was set than planned; zero where it was not measured."""
    line = run.ground.profile.line
    moved = np.zeros(len(run.posts))
    low, high = line.start, line.end
    for post in ask.posts:
        if post.top is not None:
            x = min(max(post.station, low), high)
            ground = float(min(line.elevation(x), line.elevation(x, before=True)))
            moved[post.number - 1] = ground + post.top - float(run.posts.top[post.number - 1])
    return moved


def _bays_moved(run: RunPlan, ask: Ask, moved: Floats) -> TopLine:
    """A stepped top with every bay past the last board up moved by the lower of its two posts."""
    bays, top = run.layout.bays, run.top
    stations: list[float] = []
    heights: list[float] = []
    for k in range(len(bays)):
        a, b = float(bays.left[k]), float(bays.right[k])
        lower = min(moved[bays.first[k]], moved[bays.first[k] + 1]) if a >= ask.at - _HAIR else 0.0
        level = float(top.at(np.array([(a + b) / 2]))[0]) + float(lower)
        stations += [a, b]
        heights += [level, level]
    return TopLine(style=top.style, stations=np.array(stations), elevations=np.array(heights))
