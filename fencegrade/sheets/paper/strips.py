"""The fence seen square on, drawn to a stated scale on paper, stretch under stretch.

words about the stretch
top      __  __  __  __        picket numbers over the tops
string  |  ||  ||  ||  |
ground  |__||__||__||__|~~~
station 0 ft     8 ft          under it stations, posts and bays
post    1        2
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.ground.profile import Floats
from fencegrade.ground.strings import ONLY_STRING
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings.canvas import end_text, station_text, stations_between
from fencegrade.sheets.drawings.parts import Part, posts_in, run_parts
from fencegrade.sheets.drawings.picket_shapes import (
    back_to_front,
    fill_outlines,
    ground_curve,
    picket_outlines,
)
from fencegrade.sheets.paper.cut_pages import flagged_words
from fencegrade.sheets.paper.grid import flag_shape
from fencegrade.sheets.paper.page import LINE, MIDDLE, PALE, POINTS, Paper, Shape, text_width
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbers

SCALES = {
    UnitSystem.IMPERIAL: {
        24: "1/2 in = 1 ft",
        32: "3/8 in = 1 ft",
        48: "1/4 in = 1 ft",
        96: "1/8 in = 1 ft",
        192: "1/16 in = 1 ft",
        384: "1/32 in = 1 ft",
    },
    UnitSystem.METRIC: {
        20: "1 : 20",
        25: "1 : 25",
        50: "1 : 50",
        100: "1 : 100",
        200: "1 : 200",
        500: "1 : 500",
    },
}
"""Scales that a scale rule has, largest first: inches of fence to an inch of paper, and their words."""
_USUAL = 2
"""Which of the scales is taken for runs of several pages; larger ones only for a run that fits one page."""
MANY = 18
"""Stretches of one run, at most, before a smaller scale is taken."""
_NAMES = 62.0
"""Room for names at the left of a drawing, points."""
_TINY = 9.0
"""Type size of numbers in the drawing."""
_OVER, _UNDER = 24.0, 37.0
"""Room over the tops for numbers, and under the posts for stations, posts and bays."""

Label = tuple[float, str]
"""Where along the paper (points), and what."""


def fitting_scale(paper: Paper, run: RunPlan, plan: FencePlan) -> int:
    """The largest scale that shows a run on one page, else the usual one; a smaller for very long runs."""
    room, tried = paper.bottom - 150, list(SCALES[paper.system])
    for scale in tried:
        parts = _parts(paper, run, scale)
        heights = [_strip_height(run, plan, part, scale) for part in parts]
        one_page = sum(heights) <= room
        if max(heights) <= room and (one_page or (scale >= tried[_USUAL] and len(parts) <= MANY)):
            return scale
    return tried[-1]


def _parts(paper: Paper, run: RunPlan, scale: float) -> list[Part]:
    """The stretches of a run that fit the width of the paper at a scale."""
    return run_parts(run, (paper.width - _NAMES) * scale / POINTS)


@dataclass(frozen=True, slots=True, kw_only=True)
class _View:
    """From the fence to the paper: `left` point of station `start`, `base` point of elevation `low`."""

    left: float
    base: float
    start: float
    low: float
    scale: float

    def x(self, station: float) -> float:
        return self.left + (station - self.start) * POINTS / self.scale

    def y(self, elevation: float) -> float:
        return self.base - (elevation - self.low) * POINTS / self.scale

    def points(self, line: Floats) -> tuple[tuple[float, float], ...]:
        """Points on paper of (k, 2) stations and elevations."""
        return tuple((self.x(float(a)), self.y(float(b))) for a, b in line)


def draw_strips(paper: Paper, plan: FencePlan, index: int) -> None:
    """The elevation of one run on as many pages as it needs."""
    run, words = plan.runs[index], Words.of(plan.job.job)
    scale = fitting_scale(paper, run, plan)
    parts = _parts(paper, run, scale)
    paper.new_page("The fence from the side")
    paper.write(
        f"Scale {SCALES[paper.system][scale]}, heights and lengths alike, if printed at full size; "
        "measure the bar to be sure.",
        11.0,
    )
    _draw_bar(paper, scale, plan.mark)
    for part in parts:
        _draw_strip(paper, plan, run, part, scale, words)


def _draw_bar(paper: Paper, scale: float, mark: float) -> None:
    """A bar of known length, to see whether the printer kept the scale."""
    imperial = paper.system is UnitSystem.IMPERIAL
    wide = 2 * POINTS if imperial else 50 / MM_PER_INCH * POINTS
    paper.y += 4
    for k in range(4):
        paper.frame(paper.left + k * wide / 4, paper.y, wide / 4, 6, width=0.8, fill=float(k % 2))
    real = wide * scale / POINTS
    paper.text(
        paper.left + wide + 8,
        paper.y + 8,
        f"{'2 in' if imperial else '50 mm'} on paper, {end_text(real, paper.system, mark)} of fence",
        11.0,
    )
    paper.y += 16


def _reach(run: RunPlan, part: Part) -> tuple[float, float]:
    """Lowest and highest elevation drawn of a part."""
    x, ground = ground_curve(run.ground.profile.line, part.start, part.end)
    marks = [float(ground.min()), float(run.top.at(x).max())]
    for post in posts_in(run, part):
        marks += [post.foot, post.top, post.ground]
    for string in run.ground.strings:
        inside = x[(x >= string.start) & (x <= string.end)]
        if len(inside):
            marks += [float(string.elevation(inside).min()), float(string.elevation(inside).max())]
    return min(marks), max(marks)


def _strip_height(run: RunPlan, plan: FencePlan, part: Part, scale: float) -> float:
    low, high = _reach(run, part)
    told = 2 + len(list(_remarks(run, plan, part, Words.of(plan.job.job))))
    return (high - low) * POINTS / scale + _OVER + _UNDER + LINE * 11 * told + 16


def _draw_strip(paper: Paper, plan: FencePlan, run: RunPlan, part: Part, scale: float, words: Words) -> None:
    paper.ensure(_strip_height(run, plan, part, scale))
    for text, bold in _captions(plan, run, part, words):
        paper.write(text, 11.0, bold=bold, after=0)
    low, high = _reach(run, part)
    rise = (high - low) * POINTS / scale
    view = _View(
        left=paper.left + _NAMES,
        base=paper.y + _OVER + rise,
        start=part.start,
        low=low,
        scale=scale,
    )
    _draw_fence(paper, plan, run, part, view)
    _draw_lines(paper, plan, run, part, view)
    _draw_numbers(paper, run, part, view)
    _draw_foot(paper, plan, run, part, view)
    paper.y = view.base + _UNDER
    for text, in_place in _remarks(run, plan, part, words):
        paper.add(flag_shape(paper.left + 5, paper.y + 6, 4.5, in_place))
        paper.write(text, 11.0, bold=True, after=0, indent=16)
    paper.y += 9


def _captions(plan: FencePlan, run: RunPlan, part: Part, words: Words) -> Iterator[tuple[str, bool]]:
    ends = f"{end_text(part.start, words.system, plan.mark)} to {end_text(part.end, words.system, plan.mark)}"
    listed = numbers((int(i) + 1 for i in part.pickets), most=2) or "none"
    which = f"Stretch {part.number} of {part.of}: " if part.of > 1 else ""
    yield f"{which}{ends}, pickets {listed}", True
    if len(part.pickets):
        low = float(run.cuts.height[part.pickets].min())
        high = float(run.cuts.tallest[part.pickets].max())
        more = "".join(
            f"; string {s.id} begins at {words.station(s.start)}"
            for s in run.ground.strings
            if part.start + SAME_LENGTH < s.start < part.end
        )
        yield f"Tops stand {words.height(low)} to {words.height(high)} above the ground{more}", False


def _remarks(run: RunPlan, plan: FencePlan, part: Part, words: Words) -> Iterator[tuple[str, bool]]:
    """What must be said of a stretch: its flags, its fills, and where water passes."""
    yield from flagged_words(run, part.pickets)
    for action in (GapAction.FILL, GapAction.KICKBOARD, GapAction.LEAVE_OPEN):
        inside = [g for g in run.gaps if g.action is action and g.end > part.start and g.start < part.end]
        which = [k for g in inside for k in range(g.first, g.last + 1)]
        if which:
            yield f"{action} under pickets {numbers(which, most=8)}", False


def _draw_fence(paper: Paper, plan: FencePlan, run: RunPlan, part: Part, view: _View) -> None:
    x, z = ground_curve(run.ground.profile.line, part.start, part.end)
    edge = [(x[-1], view.low), (x[0], view.low)]
    soil = view.points(np.concatenate([np.stack([x, z], axis=-1), np.array(edge)]))
    paper.add(Shape(points=soil, width=0, fill=PALE, closed=True))
    half = plan.job.posts.width / 2
    for post in posts_in(run, part):
        corners = [(post.station - half, post.foot), (post.station + half, post.foot)]
        corners += [(post.station + half, post.top), (post.station - half, post.top)]
        points = view.points(np.array(corners))
        paper.add(Shape(points=points, width=0.7, fill=None if post.standing else MIDDLE, closed=True))
    outlines = picket_outlines(run.slots, run.cuts, plan.job.pickets.top_end)
    for i in back_to_front(run.slots, plan.job.pickets.pattern, part.pickets):
        paper.add(Shape(points=view.points(outlines[i]), width=0.4, fill=1.0, closed=True))
    for leaf in run.leaves:
        for k in np.flatnonzero((leaf.slots.centre >= part.start) & (leaf.slots.centre < part.end)):
            a, b = float(leaf.slots.left[k]), float(leaf.slots.right[k])
            low, high = float(leaf.bottom[k]), float(leaf.top[k])
            frame = view.points(np.array([(a, low), (b, low), (b, high), (a, high)]))
            paper.add(Shape(points=frame, width=0.4, fill=1.0, closed=True, dashes=(1.2, 1.2)))
    filled = [np.arange(g.first - 1, g.last) for g in run.gaps if g.action is GapAction.FILL]
    if filled:
        surface = np.minimum(run.cuts.bottom_left, run.cuts.bottom_right) - run.zones.clearance
        which = np.intersect1d(part.pickets, np.concatenate(filled))
        for outline in fill_outlines(run.ground.profile.line, run.slots, surface, which):
            paper.add(Shape(points=view.points(outline), width=0.3, fill=MIDDLE, closed=True))
    paper.add(Shape(points=view.points(np.stack([x, z], axis=-1)), width=1.6))


def _draw_lines(paper: Paper, plan: FencePlan, run: RunPlan, part: Part, view: _View) -> None:
    """Top line and strings, with their names and that of the ground at the left."""
    top = run.top
    inner = top.stations[(top.stations > part.start) & (top.stations < part.end)]
    high = top.elevations[(top.stations > part.start) & (top.stations < part.end)]
    ends = top.at(np.array([part.start, part.end]))
    line = np.stack(
        [
            np.concatenate([[part.start], inner, [part.end]]),
            np.concatenate([ends[:1], high, ends[1:]]),
        ],
        axis=-1,
    )
    paper.add(Shape(points=view.points(line), width=1.2))
    names: list[Label] = [(view.y(float(ends[0])), "top")]
    names.append((view.y(float(run.ground.profile.elevation(part.start))), "ground"))
    for string in run.ground.strings:
        a, b = max(string.start, part.start), min(string.end, part.end)
        if b <= a:
            continue
        along = np.linspace(a, b, 24)
        points = view.points(np.stack([along, string.elevation(along)], axis=-1))
        paper.add(Shape(points=points, width=1.0, dashes=(5.0, 3.0)))
        if a <= part.start + SAME_LENGTH:
            name = "string" if string.id == ONLY_STRING else f"string {string.id}"
            names.append((points[0][1], name))
    _draw_names(paper, names, view)


def _draw_names(paper: Paper, names: Sequence[Label], view: _View) -> None:
    """Names of lines at the left, one under another where the lines run close, each joined to its line."""
    room = LINE * _TINY
    lowest = -math.inf
    for at, name in sorted(names):
        y = max(at, lowest + room)
        lowest = y
        text = name if text_width(name, _TINY, True) <= _NAMES - 16 else f"{name[:6]}…"
        paper.text(view.left - 14, y + 0.35 * _TINY, text, _TINY, bold=True, anchor=1.0)
        paper.line(view.left - 11, y, view.left - 1, at, width=0.5)


def _draw_numbers(paper: Paper, run: RunPlan, part: Part, view: _View) -> None:
    """Numbers over the pickets as room allows, and the shape of a flag over each picket that has one."""
    marked = {
        flag: which
        for flag, which in run.flags.items()
        if flag is not PicketFlag.STANDS and which[part.pickets].any()
    }
    for i in map(int, part.pickets):
        told = [flag for flag, which in marked.items() if which[i]]
        if told:
            x, y = view.x(float(run.slots.centre[i])), view.y(float(run.cuts.top[i])) - 6
            half = min(3.2, max(1.2, 0.45 * float(run.slots.width[i]) * POINTS / view.scale))
            paper.add(flag_shape(x, y, half, told == [PicketFlag.MARK_IN_PLACE]))
    for gate in run.run.gate:
        middle = gate.station + gate.width / 2
        if part.start <= middle <= part.end:
            y = view.y(float(run.top.at(np.array([middle]))[0])) - 6
            paper.text(view.x(middle), y, "gate", _TINY, bold=True, anchor=0.5)
    at = [(view.x(float(run.slots.centre[i])), f"{int(i) + 1}") for i in part.pickets]
    high = {x: view.y(float(run.cuts.top[i])) - 12 for (x, _), i in zip(at, part.pickets, strict=True)}
    wanted = [0, len(at) - 1, *range(len(at))] if at else []
    shown: list[tuple[float, float]] = []
    for k in dict.fromkeys(k for k in wanted if k in {0, len(at) - 1} or int(at[k][1]) % 5 == 0):
        x, text = at[k]
        half = text_width(text, _TINY) / 2 + 3
        if all(x + half <= a or x - half >= b for a, b in shown):
            shown.append((x - half, x + half))
            paper.text(x, min(high[a] for a in high if abs(a - x) <= half), text, _TINY, anchor=0.5)


def _draw_foot(paper: Paper, plan: FencePlan, run: RunPlan, part: Part, view: _View) -> None:
    """Stations, posts and bays under the drawing."""
    y, per = view.base + 8, 1 / view.scale
    paper.line(view.x(part.start), y, view.x(part.end), y, width=1.0)
    round_ones = stations_between(part.start, part.end, per, paper.system)
    stations = [(view.x(part.start), end_text(part.start, paper.system, plan.mark))]
    stations.append((view.x(part.end), end_text(part.end, paper.system, plan.mark)))
    stations += [(view.x(s), station_text(s, paper.system)) for s in round_ones]
    for x, _ in stations:
        paper.line(x, y - 3, x, y + 3, width=1.0)
    posts = [(view.x(p.station), f"{p.number}") for p in posts_in(run, part)]
    bays = run.layout.bays
    middle = (np.maximum(bays.left, part.start) + np.minimum(bays.right, part.end)) / 2
    inside = (bays.right > part.start + 12) & (bays.left < part.end - 12)
    named = [(view.x(float(middle[k])), f"bay {k + 1}") for k in np.flatnonzero(inside)]
    for k, (name, labels) in enumerate((("station", stations), ("post", posts), ("", named))):
        line = y + 12 + 11 * min(k, 1)
        if name:
            paper.text(view.left - 14, line, name, _TINY, bold=True, anchor=1.0)
        _draw_row(paper, labels, line, view.left - 11, posts if k == 2 else [])


def _draw_row(paper: Paper, labels: Sequence[Label], y: float, least: float, taken: Sequence[Label]) -> None:
    """Labels on one line, without those that would touch an earlier one.

    None begins before `least` or leaves the page; `taken`: labels already there.
    """
    shown = [_span(paper, label) for label in taken]
    for x, text in labels:
        a, b = _span(paper, (x, text))
        a, b = (a, b) if x > least + (b - a) / 2 else (least, least + b - a)
        if all(b <= c or a >= d for c, d in shown):
            shown.append((a, b))
            paper.text((a + b) / 2, y, text, _TINY, anchor=0.5)


def _span(paper: Paper, label: Label) -> tuple[float, float]:
    """From where to where a label reaches, moved in from the edge of the page."""
    x, half = label[0], text_width(label[1], _TINY) / 2 + 3
    x = min(x, paper.right + 3 - half)
    return x - half, x + half
