"""One stretch of fence seen square on: the drawing that stands on paper, on the page and in the PNG alike.

 1    5    10   15         gate    20      numbers of boards
 |||||||||||||||||||      |//|  |||||
 |||||||||||||||||||      |//|  |||||      boards; those to look at in the accent
~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~     ground, soil that is added, posts in it
   |_soil 3 in_|                           stretches
 1        bay 1        2        3   4      posts and bays
 0 ft     4 ft     8 ft                    stations
"""

import math

import numpy as np
from msgspec import Struct

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.job.choices import TopEnd
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings.beside import (
    BRACKET,
    NAMES,
    ROW,
    SIDE,
    Brackets,
    brackets_of,
    packed,
    write_foot,
    write_names,
    write_numbers,
)
from fencegrade.sheets.drawings.parts import Part, posts_in
from fencegrade.sheets.drawings.picket_shapes import ground_curve
from fencegrade.sheets.drawings.picture import Picture, Sketch
from fencegrade.sheets.drawings.seen import View, draw_leaf, draw_seen, draw_swing
from fencegrade.sheets.facts import limit_line
from fencegrade.units.tolerances import SAME_LENGTH

STRING, LIMIT = (5.0, 3.0), (1.5, 2.0)
"""Dashes of the strings and of the local height limit, in points."""
_SOIL = 8.0
"""Inches of soil drawn under the lowest ground at a glance."""


class Strip(Struct, frozen=True, kw_only=True):
    """A stretch ready to be drawn: its part of the run, points an inch along and up, and what it reaches.

    `low`, `high`: lowest and highest elevation drawn (in); `words`: whether numbers, posts, bays and
    stations are written; `brackets`: the stretches told under it, row by row.
    """

    part: Part
    along: float
    up: float
    low: float
    high: float
    words: bool
    brackets: Brackets

    @property
    def width(self) -> float:
        """Points it takes across, room at its sides included."""
        sides = NAMES + SIDE if self.words else 0.0
        return sides + (self.part.end - self.part.start) * self.along

    @property
    def height(self) -> float:
        """Points it takes down, its words included."""
        rise = (self.high - self.low) * self.up
        return rise + (3 * ROW + 27 + BRACKET * len(self.brackets) if self.words else 4.0)


def make_strip(
    run: RunPlan, plan: FencePlan, part: Part, along: float, up: float, words: bool = True
) -> Strip:
    """A stretch of a run at a scale: `along`, `up` points to an inch of length and of height."""
    low, high = _reach(run, part, words)
    brackets = packed(list(brackets_of(run, plan.words, part)), part, along) if words else ()
    return Strip(part=part, along=along, up=up, low=low, high=high, words=words, brackets=brackets)


def draw_strip(sketch: Sketch, run: RunPlan, plan: FencePlan, strip: Strip, left: float, top: float) -> None:
    """Draw a strip with its top left corner at a place of the sketch."""
    view = View(
        left=left + (NAMES if strip.words else 0.0),
        base=top + (strip.high - strip.low) * strip.up + (2 * ROW if strip.words else 2.0),
        start=strip.part.start,
        low=strip.low,
        along=strip.along,
        up=strip.up,
    )
    draw_seen(sketch, run, plan, strip.part, view)
    _draw_gates(sketch, run, strip, plan.job.pickets.top_end, view)
    _draw_lines(sketch, run, plan, strip, view)
    if strip.words:
        write_numbers(sketch, run, plan, strip.part, view)
        write_foot(sketch, run, plan, strip.part, strip.brackets, view)


def strip_picture(run: RunPlan, plan: FencePlan, strip: Strip) -> Picture:
    """A strip by itself."""
    sketch = Sketch()
    draw_strip(sketch, run, plan, strip, 0.0, 0.0)
    return Picture(width=strip.width, height=strip.height, items=tuple(sketch.items))


def _reach(run: RunPlan, part: Part, whole: bool) -> tuple[float, float]:
    """Lowest and highest elevation drawn of a part; posts down to their feet where it is drawn whole."""
    x, ground = ground_curve(run.ground.line, part.start, part.end)
    inner = (run.top.stations >= part.start) & (run.top.stations <= part.end)
    marks = [float(ground.min()), float(ground.max()), float(run.top.at(x).max())]
    marks += run.top.elevations[inner].tolist()
    marks += [mark for p in posts_in(run, part) for mark in ((p.foot, p.top) if whole else (p.top,))]
    if not whole:
        marks.append(min(marks) - _SOIL)
    for string in run.ground.strings:
        inside = x[(x >= string.start) & (x <= string.end)]
        if len(inside):
            marks += [float(string.elevation(inside).min()), float(string.elevation(inside).max())]
    return min(marks), max(marks)


def _draw_gates(sketch: Sketch, run: RunPlan, strip: Strip, top_end: TopEnd, view: View) -> None:
    """The leaves as they hang shut, and the swing seen from above."""
    first = 0
    for gate in run.layout.gates:
        for k in range(len(gate.chosen)):
            leaf = run.leaves[first + k]
            middle = float(leaf.slots.centre.mean()) if len(leaf.slots) else math.inf
            if strip.part.start <= middle <= strip.part.end:
                draw_leaf(sketch, leaf, gate, k, run.frames[first + k], top_end, view)
                if strip.words:
                    draw_swing(sketch, run, leaf, gate, k, view)
        first += len(gate.chosen)


def _draw_lines(sketch: Sketch, run: RunPlan, plan: FencePlan, strip: Strip, view: View) -> None:
    """The ground, strings, and the local limit where boards pass it, with their names at the left."""
    part = strip.part
    x, z = ground_curve(run.ground.line, part.start, part.end)
    sketch.line(map(tuple, view.points(np.stack([x, z], axis=-1)).tolist()), 1.3)
    names = [(view.y(float(z[0])), "ground"), (view.y(float(run.top.at(x[:1])[0])), "tops")]
    for string in run.ground.strings:
        a, b = max(string.start, part.start), min(string.end, part.end)
        if b - a <= SAME_LENGTH:
            continue
        along = np.linspace(a, b, 24)
        points = view.points(np.stack([along, string.elevation(along)], axis=-1))
        sketch.line(map(tuple, points.tolist()), 0.8, dashes=STRING)
        if a <= part.start + SAME_LENGTH:
            names.append((float(points[0, 1]), string.name))
    if plan.job.top.most_height is not None and run.flags[PicketFlag.OVER_HEIGHT][part.pickets].any():
        limit = np.minimum(limit_line(run, plan.job.top.most_height, z, x), strip.high)
        sketch.line(map(tuple, view.points(np.stack([x, limit], axis=-1)).tolist()), 0.8, dashes=LIMIT)
        names.append((view.y(float(limit[0])), "limit"))
    if strip.words:
        write_names(sketch, names, view)
