"""What is seen of a fence from the side: ground and soil, posts, rails, boards, gate leaves."""

import math
from collections.abc import Iterable, Iterator

import numpy as np
from msgspec import Struct

from fencegrade.fence.gates.frame import LeafFrame
from fencegrade.fence.gates.gates import GatePlan, LeafPickets
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.rails.rails import bay_tops
from fencegrade.job.choices import HingePost, SwingSide, TopEnd
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings.parts import Part, posts_in
from fencegrade.sheets.drawings.picket_shapes import (
    back_to_front,
    board_outlines,
    ground_curve,
    open_outlines,
    picket_outlines,
)
from fencegrade.sheets.drawings.picture import BLACK, MIDDLE, PALE, WHITE, Sketch
from fencegrade.units.arrays import Floats, Indices, Truths

LOOK_AT = (PicketFlag.NO_STOCK, PicketFlag.OVER_HEIGHT, PicketFlag.GAP, PicketFlag.MARK_IN_PLACE)
"""Flags whose boards are drawn in the accent: someone must do something about them."""
FLAGGED = 0.62
"""Grey of the accent on paper."""

TIMBER, ADDED = 0.78, 0.72
"""Greys of rails and of soil that is added."""
_STANDING = 0.86
"""Grey of the boards that stand."""
_LINE = 0.35
"""Grey of the boards' outlines."""
_FINE = 2.0
"""Boards narrower than this many points are drawn without outlines."""


class View(Struct, frozen=True, kw_only=True):
    """From the fence to the picture.

    `left`: point of station `start`, `base` point of elevation `low`; `along`, `up`: points to an inch of
    length and of height.
    """

    left: float
    base: float
    start: float
    low: float
    along: float
    up: float

    def x(self, station: float) -> float:
        """Points from the left."""
        return self.left + (station - self.start) * self.along

    def y(self, elevation: float) -> float:
        """Points from the top."""
        return self.base - (elevation - self.low) * self.up

    def points(self, line: Floats) -> Floats:
        """Places on the picture of (..., 2) stations and elevations."""
        scale = np.array([self.along, -self.up])
        return np.asarray(
            np.array([self.left, self.base]) + (line - np.array([self.start, self.low])) * scale
        )


def draw_seen(sketch: Sketch, run: RunPlan, plan: FencePlan, part: Part, view: View) -> None:
    """A part of a run from the back to the front: ground, posts, added soil, rails, boards, ground line."""
    _draw_ground(sketch, run, part, view)
    _draw_posts(sketch, run, plan, part, view)
    _draw_added(sketch, run, part, view)
    _draw_rails(sketch, run, plan, part, view)
    _draw_boards(sketch, run, plan, part, view)


def _draw_ground(sketch: Sketch, run: RunPlan, part: Part, view: View) -> None:
    x, z = ground_curve(run.ground.line, part.start, part.end)
    edge = np.array([(x[-1], view.low), (x[0], view.low)])
    soil = np.concatenate([np.stack([x, z], axis=-1), edge])
    sketch.surfaces([view.points(soil)], fill=PALE, width=0)


def _draw_posts(sketch: Sketch, run: RunPlan, plan: FencePlan, part: Part, view: View) -> None:
    half = plan.job.posts.width / 2
    for post in posts_in(run, part):
        a, b = max(post.station - half, part.start), min(post.station + half, part.end)
        foot = max(post.foot, view.low)
        corners = np.array([(a, foot), (b, foot), (b, post.top), (a, post.top)])
        sketch.surfaces([view.points(corners)], fill=WHITE if post.standing else MIDDLE, width=0.6)


def _draw_added(sketch: Sketch, run: RunPlan, part: Part, view: View) -> None:
    """Soil that is added, kickboards, and what stays open where more does than the job allows."""
    line = run.ground.line
    sketch.surfaces([view.points(one) for one in _soil_bodies(run, part)], ADDED, 0)
    sketch.surfaces([view.points(one) for one in kickboard_outlines(run, part)], TIMBER, 0.4, _LINE)
    over = part.pickets[run.flags[PicketFlag.GAP][part.pickets]]
    if len(over):
        outlines = open_outlines(line, run.slots, run.cuts, over)
        sketch.surfaces(list(view.points(outlines)), FLAGGED, 0, accent=True)


def _soil_bodies(run: RunPlan, part: Part) -> Iterator[Floats]:
    """Outline of every fill, (k, 2): from foot to foot along the ground, and back along its surface."""
    line = run.ground.line
    surface = np.minimum(run.cuts.bottom_left, run.cuts.bottom_right) - run.zones.clearance
    for fill in run.closing.fills:
        a, b = max(fill.foot_start, part.start), min(fill.foot_end, part.end)
        if b <= a:
            continue
        x, z = ground_curve(line, a, b, 60)
        under = np.arange(fill.first - 1, fill.last)
        over = np.concatenate([[fill.start], run.slots.centre[under], [fill.end]])
        high = np.concatenate([[fill.surface_start], surface[under], [fill.surface_end]])
        at = np.concatenate([[fill.foot_start], over, [fill.foot_end]])
        ends = line.elevation(at[[0, -1]])
        top = np.interp(x, at, np.concatenate([ends[:1], high, ends[1:]]))
        body = np.stack([x, z], axis=-1)
        yield np.concatenate([body, np.stack([x, np.maximum(top, z)], axis=-1)[::-1]])


def kickboard_outlines(run: RunPlan, part: Part) -> Iterator[Floats]:
    """Outline of every kickboard within a part, (k, 2) stations and elevations (in): along the ground, and
    back along its upper edge, which lies at the bottoms of the pickets over it that are left longest.
    """
    kept = run.cuts.top - np.minimum(run.cuts.bottom_left, run.cuts.bottom_right)
    for board in run.closing.kickboards:
        a, b = max(board.start, part.start), min(board.end, part.end)
        if b <= a:
            continue
        over = slice(board.first - 1, board.last)
        ends = [board.first - 1, board.last - 1]
        x, z = ground_curve(run.ground.line, a, b, 60)
        at, foot = run.slots.centre[ends], run.cuts.top[ends] - kept[over].max()
        slope = (foot[1] - foot[0]) / (at[1] - at[0]) if at[1] > at[0] else 0.0
        edge = np.maximum(foot[0] + slope * (x - at[0]), z)
        there, back = np.stack([x, z], axis=-1), np.stack([x, edge], axis=-1)
        yield np.concatenate([there, back[::-1]])


def _draw_rails(sketch: Sketch, run: RunPlan, plan: FencePlan, part: Part, view: View) -> None:
    """Rails behind the boards: seen between them, and across a bay without any."""
    rows, bays = run.rails, run.layout.bays
    if not len(rows):
        return
    tops, high = bay_tops(run.top, bays), plan.job.rails.height
    outlines = []
    for bay, drop in zip(rows.bay.tolist(), rows.drop.tolist(), strict=True):
        a, b = float(bays.left[bay]), float(bays.right[bay])
        left, right = float(tops.left[bay]) - drop, float(tops.right[bay]) - drop
        x = np.array([max(a, part.start), min(b, part.end)])
        if x[1] > x[0]:
            z = left + (right - left) * (x - a) / (b - a)
            outlines.append(np.array([(x[0], z[0]), (x[1], z[1]), (x[1], z[1] - high), (x[0], z[0] - high)]))
    sketch.surfaces([view.points(one) for one in outlines], TIMBER, 0.3, _LINE)


def looked_at(run: RunPlan, pickets: Indices) -> Indices:
    """Those of some pickets that somebody must look at."""
    return pickets[any_of(run, LOOK_AT)[pickets]]


def any_of(run: RunPlan, flags: Iterable[PicketFlag]) -> Truths:
    """(n,) whether a picket carries one of some flags."""
    return np.asarray(np.logical_or.reduce([run.flags[flag] for flag in flags]), dtype=bool)


def _draw_boards(sketch: Sketch, run: RunPlan, plan: FencePlan, part: Part, view: View) -> None:
    if not len(part.pickets):
        return
    outlines = view.points(picket_outlines(run.slots, run.cuts, plan.job.pickets.top_end))
    fine = float(np.median(run.slots.width)) * view.along < _FINE
    width, fill = (0.0, 0.97) if fine else (0.4, WHITE)
    flagged, up = looked_at(run, part.pickets), np.flatnonzero(~run.layout.coming)
    for layer in _layers(run, plan, part):
        plain = np.setdiff1d(layer, flagged)
        sketch.surfaces(list(outlines[np.setdiff1d(plain, up)]), fill, width, _LINE)
        sketch.surfaces(list(outlines[plain[np.isin(plain, up)]]), _STANDING, width, _LINE)
        sketch.surfaces(
            list(outlines[layer[np.isin(layer, flagged)]]), FLAGGED, 0.0 if fine else 0.5, accent=True
        )


def _layers(run: RunPlan, plan: FencePlan, part: Part) -> Iterator[Indices]:
    """The rows of pickets, those that others cover first."""
    order = back_to_front(run.slots, plan.job.pickets.pattern, part.pickets)
    yield from np.split(order, np.flatnonzero(np.diff(order) < 0) + 1)


def draw_leaf(
    sketch: Sketch,
    leaf: LeafPickets,
    gate: GatePlan,
    which: int,
    frame: LeafFrame,
    top_end: TopEnd,
    view: View,
) -> None:
    """One leaf from the side of its boards, its frame behind them in dashes: stiles and, between them, rails.

    `top_end`: of the boards. The brace runs from the bottom hinge corner up to the top latch corner; hinges
    are black.
    """
    left, right = leaf.slots.left, leaf.slots.right
    boards = board_outlines(leaf.slots, leaf.top, leaf.bottoms(), top_end)
    outlines = list(view.points(boards))
    sketch.surfaces(outlines, WHITE, 0)
    wide, edges, rails = frame.wide, (float(left[0]), float(right[-1])), np.array(frame.rail_edges())
    for upper in rails:
        _timber(sketch, view, zip((*edges, *edges[::-1]), (*upper, *(upper - wide)[::-1]), strict=True))
    inner = edges[0] + wide, edges[1] - wide
    for x, within, foot, head in zip(edges, inner, frame.low, frame.high, strict=True):
        _timber(sketch, view, ((x, foot), (within, foot), (within, head), (x, head)))
    hinge, latch = (0, 1) if gate.chosen[which].hinge is HingePost.START else (1, 0)
    along = inner[hinge] - edges[hinge]
    foot, head = rails[0][hinge], rails[-1][latch] - wide
    a, b = inner[hinge], inner[latch]
    _timber(sketch, view, ((a, foot), (a + along, foot), (b, head), (b - along, head)))
    sketch.surfaces(outlines, None, 0.4, _LINE)
    lowest, highest = (float(upper) - wide / 2 for upper in rails[[0, -1], hinge])
    for middle in np.linspace(lowest, highest, frame.hinges).tolist():
        x, y = view.x(edges[hinge]), view.y(middle)
        dot = np.array([(x - 2, y - 2), (x + 2, y - 2), (x + 2, y + 2), (x - 2, y + 2)])
        sketch.surfaces([dot], BLACK, 0)


def _timber(sketch: Sketch, view: View, corners: Iterable[tuple[float, float]]) -> None:
    """A piece of a frame behind the boards by its corners, stations and elevations."""
    outline = view.points(np.array(list(corners)))
    sketch.surfaces([outline], PALE, 0)
    sketch.line(map(tuple, outline[[0, 1, 2, 3, 0]].tolist()), 0.5, dashes=(2.0, 1.2))


def draw_swing(
    sketch: Sketch, run: RunPlan, leaf: LeafPickets, gate: GatePlan, which: int, view: View
) -> None:
    """The swing seen from above, in the soil under the leaf: up the picture is away from the reader."""
    fit = gate.chosen[which]
    a, b = float(leaf.slots.left[0]), float(leaf.slots.right[-1])
    reach = min(0.45 * (b - a) * view.along, 26.0)
    ground = view.y(float(run.ground.line.lowest(a, b)))
    middle, y = view.x((a + b) / 2), min(ground + reach + 6, view.base - 2)
    away = fit.swing is SwingSide.LEFT
    y = y if away else y - reach
    side = 1 if fit.hinge is HingePost.START else -1
    hinge = middle - side * reach / 2
    turn = np.linspace(0, math.pi / 2, 12)
    arc = np.stack(
        [hinge + side * reach * np.cos(turn), y - (1 if away else -1) * reach * np.sin(turn)], axis=-1
    )
    sketch.line(((hinge, y), (hinge + side * reach, y)), 1.4)
    sketch.line(((hinge, y), (float(arc[-1, 0]), float(arc[-1, 1]))), 0.8, dashes=(2.5, 2.0))
    sketch.line(map(tuple, arc.tolist()), 0.6, dashes=(2.5, 2.0))
