"""The fence seen square on, as it will stand: ground, string, top line, every picket, gates and posts.

Long runs are drawn in parts, each on a sheet of its own.
"""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.slots import Floats
from fencegrade.job.records import HeightRule
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings import style
from fencegrade.sheets.drawings.canvas import (
    SOIL_FOOT,
    STATION_LINE,
    Pads,
    draw_stations,
    fit_scale,
    headed_drawing,
)
from fencegrade.sheets.drawings.elevation_words import (
    commonest,
    described,
    elevation_labels,
    second_line,
    words_under_ground,
)
from fencegrade.sheets.drawings.labels import place_labels
from fencegrade.sheets.drawings.parts import Part, posts_in, run_parts
from fencegrade.sheets.drawings.picket_shapes import (
    Indices,
    back_to_front,
    fill_outlines,
    ground_curve,
    open_outlines,
    picket_outlines,
)
from fencegrade.sheets.drawings.style import Hatch, house_style
from fencegrade.sheets.facts import limit_line

ROOM = 5.6
"""Inches of paper for the drawing itself, its words included."""
_LIMIT_ABOVE = 18.0
"""The height limit is drawn no more than this (in) above the top line and the strings."""

_FLAG_LOOK = {
    PicketFlag.NO_STOCK: (style.VERMILLION, Hatch.NO_STOCK),
    PicketFlag.RIPPED: (style.BLACK, Hatch.RIPPED),
    PicketFlag.SLIVER: (style.VERMILLION, Hatch.RIPPED),
    PicketFlag.MARK_IN_PLACE: (style.BLUE, Hatch.MARK),
}


def elevation_figures(run: RunPlan, plan: FencePlan) -> list[Figure]:
    """The elevation of one run, one drawing for each part of it.

    `run`: one of the plan's runs; `plan`: the whole plan. Heights are drawn larger than lengths where the
    sheet has room for it, and the drawing says how much.
    """
    with house_style():
        return [_drawing(run, plan, part) for part in run_parts(run)]


def _drawing(run: RunPlan, plan: FencePlan, part: Part) -> Figure:
    scale = fit_scale((part.start, part.end, *_reach(run, plan, part)), ROOM, _pads(run, plan, part))
    line = f"{second_line(run, plan, part)}; {scale.words}"
    drawing, axes = headed_drawing(scale, plan.job.job.title, line, described(run, plan, part))
    draw_ground(axes, run, part.start, part.end, scale.up(SOIL_FOOT))
    _draw_readings(axes, run, part)
    _draw_posts(axes, run, plan, part)
    _draw_pickets(axes, run, plan, part)
    _draw_over_height(axes, run, plan, part)
    _draw_low_ground(axes, run, part)
    _draw_gates(axes, run, part)
    _draw_lines(axes, run, plan, part)
    labels = [
        *draw_stations(axes, part.start, part.end, scale, plan.job.job.units, plan.mark),
        *elevation_labels(axes, run, plan, part, scale),
    ]
    foot = np.array([[part.start, scale.up(STATION_LINE)], [part.end, scale.up(STATION_LINE)]])
    place_labels(drawing, axes, labels, [foot, *_lines(run, part)])
    return drawing


def _lines(run: RunPlan, part: Part) -> list[Floats]:
    """Lines that words should not cover: ground, top line, strings, posts in the ground, sides of gates."""
    x, ground = ground_curve(run.ground.profile.line, part.start, part.end)
    lines = [np.stack([x, ground], axis=-1), np.stack([x, run.top.at(x)], axis=-1)]
    for string in run.ground.strings:
        along = np.linspace(string.start, string.end, 30)
        lines.append(np.stack([along, string.elevation(along)], axis=-1))
    lines += [np.array([[p.station, p.foot], [p.station, p.ground]]) for p in posts_in(run, part)]
    for gate in run.run.gate:
        for edge in (gate.station, gate.station + gate.width):
            if part.start <= edge <= part.end:
                top, low = float(run.top.at(np.array([edge]))[0]), float(run.ground.profile.elevation(edge))
                lines.append(np.array([[edge, low], [edge, top]]))
    return lines


def _pads(run: RunPlan, plan: FencePlan, part: Part) -> Pads:
    """More room at the foot where there is more to say there."""
    return Pads(foot=0.65 + 0.3 * min(3, words_under_ground(run, plan, part)))


def _reach(run: RunPlan, plan: FencePlan, part: Part) -> tuple[float, float]:
    """Lowest and highest elevation to show of one part."""
    x, ground = ground_curve(run.ground.profile.line, part.start, part.end)
    stations = run.top.stations
    inner = (stations >= part.start) & (stations <= part.end)
    tops = np.concatenate([run.top.at(x), run.top.elevations[inner]])
    marks = [float(ground.min()), float(ground.max()), float(tops.max())]
    for string in run.ground.strings:
        inside = x[(x >= string.start) & (x <= string.end)]
        if len(inside):
            along = string.elevation(inside)
            marks += [float(along.min()), float(along.max())]
    for post in posts_in(run, part):
        marks += [post.foot, post.top]
    limit = plan.job.top.most_height
    if limit is not None:
        marks.append(min(float(ground.max()) + limit, max(marks) + _LIMIT_ABOVE))
    return min(marks), max(marks)


def draw_ground(axes: Axes, run: RunPlan, start: float, end: float, low: float) -> None:
    """The ground of a stretch as a thick line over grey soil that ends at the elevation `low` (in)."""
    x, z = ground_curve(run.ground.profile.line, start, end)
    axes.fill_between(x, z, np.full(len(z), low), color=style.LIGHT_GREY, lw=0, zorder=0)
    axes.plot(x, z, color=style.BLACK, lw=2.0, solid_capstyle="butt", zorder=8)


def _draw_readings(axes: Axes, run: RunPlan, part: Part) -> None:
    stations, elevations = run.ground.stations, run.ground.elevations
    seen = (stations >= part.start) & (stations <= part.end)
    axes.plot(stations[seen], elevations[seen], **style.READING, zorder=9)


def _draw_pickets(axes: Axes, run: RunPlan, plan: FencePlan, part: Part) -> None:
    outlines = picket_outlines(run.slots, run.cuts, plan.job.pickets.top_end)
    back_first = back_to_front(run.slots, plan.job.pickets.pattern, part.pickets)
    draw_surfaces(axes, outlines[back_first], style.WHITE, style.DARK_GREY, width=0.5, zorder=3)
    other = part.pickets[(run.stock[part.pickets] != commonest(run.stock)) & (run.stock[part.pickets] >= 0)]
    draw_surfaces(axes, outlines[other], "none", style.DARK_GREY, Hatch.OTHER_STOCK, 0.5, zorder=3.1)
    for flag, (color, hatch) in _FLAG_LOOK.items():
        if flag in run.flags:
            flagged = part.pickets[run.flags[flag][part.pickets]]
            draw_surfaces(axes, outlines[flagged], "none", color, hatch, 0.9, zorder=3.3)


def _draw_over_height(axes: Axes, run: RunPlan, plan: FencePlan, part: Part) -> None:
    """Hatch what stands above the height limit, picket by picket."""
    limit = plan.job.top.most_height
    flagged = run.flags.get(PicketFlag.OVER_HEIGHT)
    if limit is None or flagged is None:
        return
    over = part.pickets[flagged[part.pickets]]
    left, right, top = run.slots.left[over], run.slots.right[over], run.cuts.top[over]
    check = run.height_check
    average = check is not None and check.rule is HeightRule.AVERAGE
    counted = check.measured[over] if check and average else run.cuts.tallest[over]
    low = np.minimum(top, top - counted + limit)
    corners = [(left, low), (left, top), (right, top), (right, low)]
    outlines = np.stack([np.stack(corner, axis=-1) for corner in corners], axis=1)
    draw_surfaces(axes, outlines, "none", style.PURPLE, Hatch.OVER_HEIGHT, 0.9, zorder=3.4)


def draw_surfaces(
    axes: Axes, outlines: Floats, face: str, edge: str, hatch: str = "", width: float = 0.5, zorder: float = 3
) -> None:
    """Many outlines (n, corners, 2) of one look at once; `width` of their edges in points."""
    if len(outlines):
        axes.add_collection(
            PolyCollection(
                list(outlines),
                facecolors=face,
                edgecolors=edge,
                hatch=hatch or None,
                linewidths=width,
                zorder=zorder,
            ),
            autolim=False,
        )


def _draw_low_ground(axes: Axes, run: RunPlan, part: Part) -> None:
    """What lies between pickets and low ground: open over the limit, filled, or kept open for water."""
    line, slots = run.ground.profile.line, run.slots
    open_ones = run.flags.get(PicketFlag.GAP, np.zeros(len(slots), dtype=bool))
    over = part.pickets[open_ones[part.pickets]]
    draw_surfaces(
        axes, open_outlines(line, slots, run.cuts, over), style.WHITE, style.VERMILLION, Hatch.OPEN, 0.6, 4
    )
    water = _in_gaps(run, part, GapAction.LEAVE_OPEN)
    draw_surfaces(
        axes, open_outlines(line, slots, run.cuts, water), style.WHITE, style.BLUE, Hatch.WATER, 0.6, 4
    )
    filled = _in_gaps(run, part, GapAction.FILL)
    surface = np.minimum(run.cuts.bottom_left, run.cuts.bottom_right) - run.zones.clearance
    draw_surfaces(
        axes, fill_outlines(line, slots, surface, filled), style.YELLOW, style.BLACK, Hatch.FILL, 0.6, 4
    )


def _in_gaps(run: RunPlan, part: Part, action: GapAction) -> Indices:
    chosen = [np.arange(g.first - 1, g.last) for g in run.gaps if g.action == action]
    return np.intersect1d(part.pickets, np.concatenate(chosen)) if chosen else part.pickets[:0]


def _draw_gates(axes: Axes, run: RunPlan, part: Part) -> None:
    for gate in run.run.gate:
        left, right = max(gate.station, part.start), min(gate.station + gate.width, part.end)
        if right > left:
            low = float(run.ground.profile.highest(left, right))
            high = float(run.top.at(np.array([left, right])).min())
            axes.add_patch(
                Rectangle(
                    (left, low),
                    right - left,
                    high - low,
                    fill=False,
                    ec=style.BLACK,
                    lw=1.2,
                    ls=style.DOTTED,
                    zorder=4,
                )
            )


def _draw_posts(axes: Axes, run: RunPlan, plan: FencePlan, part: Part) -> None:
    """Posts: grey in the ground where they are to be set, dotted where pickets hide them."""
    half = plan.job.posts.width / 2
    for post in posts_in(run, part):
        left, height = post.station - half, post.top - post.foot
        if not post.standing:
            axes.add_patch(
                Rectangle(
                    (left, post.foot), 2 * half, height, fc=style.MID_GREY, ec=style.BLACK, lw=0.8, zorder=1
                )
            )
        axes.add_patch(
            Rectangle(
                (left, post.foot),
                2 * half,
                height,
                fill=False,
                ec=style.BLACK,
                lw=0.8,
                ls=style.DOTTED,
                zorder=5,
            )
        )


def _draw_lines(axes: Axes, run: RunPlan, plan: FencePlan, part: Part) -> None:
    """Top line, strings and height limit."""
    stations = run.top.stations
    inner = (stations > part.start) & (stations < part.end)
    x = np.concatenate([[part.start], stations[inner], [part.end]])
    ends = run.top.at(x[[0, -1]])
    z = np.concatenate([ends[:1], run.top.elevations[inner], ends[1:]])
    axes.plot(x, z, color=style.BLUE, lw=2.0, zorder=6)
    for string in run.ground.strings:
        a, b = max(string.start, part.start), min(string.end, part.end)
        if b > a:
            along = np.linspace(a, b, 60)
            axes.plot(along, string.elevation(along), color=style.GREEN, lw=1.4, ls=style.DASHED, zorder=7)
    if plan.job.top.most_height is not None:
        x, ground = ground_curve(run.ground.profile.line, part.start, part.end)
        allowed = limit_line(run, plan.job.top.most_height, ground, x)
        axes.plot(x, allowed, color=style.PURPLE, lw=1.4, ls=style.DASH_DOT, zorder=6)
