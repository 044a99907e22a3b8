"""Several tops for one run, one above another and to one scale, so that the eye can choose."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.job.records import JobTable, TopEnd, TopStyle
from fencegrade.planning.plan import RunPlan
from fencegrade.sheets.drawings import style
from fencegrade.sheets.drawings.canvas import (
    LARGER,
    MARGIN,
    WIDTH,
    Drawing,
    Pads,
    Scale,
    bare,
    draw_stations,
    fit_scale,
    new_drawing,
    write_heading,
)
from fencegrade.sheets.drawings.elevation import draw_ground, draw_surfaces
from fencegrade.sheets.drawings.ground import stretch_text
from fencegrade.sheets.drawings.labels import fitted, place_labels, text_size
from fencegrade.sheets.drawings.picket_shapes import ground_curve, picket_outlines
from fencegrade.sheets.drawings.style import Hatch, house_style

ROOM = 6.2
MOST_ROOM = 9.5
"""Inches of paper for all tops together, and on steep ground at most."""
_WORDS = 0.3
"""Inches of paper for the words over each top."""
_STATIONS = 0.5
_ABOVE = 0.06
_BELOW = 0.12
"""Inches of paper left over a top and under the ground."""
_FINE = 2.5
"""Pickets narrower than this many points are drawn without outlines."""

_MARKED = (
    (PicketFlag.NO_STOCK, style.VERMILLION, Hatch.OPEN, "crossed"),
    (PicketFlag.OVER_HEIGHT, style.PURPLE, Hatch.OVER_HEIGHT, "upright lines"),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ComparedTop:
    """One top to show: its style, the run planned with it, and one line of words about it."""

    style: TopStyle
    run: RunPlan
    words: str


def comparison_figure(choices: Sequence[ComparedTop], job: JobTable, top_end: TopEnd) -> Figure:
    """The elevations of one run under several tops, to one scale.

    `choices`: one or more, all of one run; `job`: whose title and units are written; `top_end`: the shape
    of the pickets' top ends.
    """
    with house_style():
        return _drawing(choices, job, top_end)


def _drawing(choices: Sequence[ComparedTop], job: JobTable, top_end: TopEnd) -> Figure:
    first = choices[0].run
    rises = [_reach(c) for c in choices]
    scales = _scales(first, rises)
    scale = scales[0]
    name = fitted(first.run.name, 330, style.SUBTITLE_SIZE)
    stretch = stretch_text(first.start, first.end, job)
    line = f"{name}: {stretch}, every top to one scale; {scale.words}{_key(choices)}"
    told = " ".join(f"{c.style} top: {c.words}." for c in choices)
    room = (WIDTH - 2 * MARGIN) * style.POINTS
    heading = fitted(job.title, room, style.TITLE_SIZE, bold=True, lines=2)
    second = fitted(line, room, style.SUBTITLE_SIZE, lines=2)
    head = text_size(heading, style.TITLE_SIZE, bold=True)[1] + text_size(second, style.SUBTITLE_SIZE)[1] + 20
    rows = [one.height + _WORDS for one in scales]
    height = head / style.POINTS + sum(rows) + _STATIONS + MARGIN / 2
    drawing = new_drawing(height, f"{job.title}: {line}", told)
    write_heading(drawing, heading, second)
    for k, choice in enumerate(choices):
        _draw_one(drawing, choice, top_end, scales[k], MARGIN / 2 + _STATIONS + sum(rows[k + 1 :]))
    _draw_foot(drawing, first, job, scale)
    return drawing


def _key(choices: Sequence[ComparedTop]) -> str:
    """What the hatches mean, those that occur."""
    found = [
        f"; {look}: {flag}"
        for flag, _, _, look in _MARKED
        if any(flag in c.run.flags and bool(c.run.flags[flag].any()) for c in choices)
    ]
    return "".join(found)


def _reach(choice: ComparedTop) -> tuple[float, float]:
    """Lowest ground and highest top (in) of one choice."""
    run = choice.run
    _, ground = ground_curve(run.ground.profile.line, run.start, run.end)
    return float(ground.min()), max(float(ground.max()), float(np.max(run.top.elevations)))


def _scales(run: RunPlan, rises: Sequence[tuple[float, float]]) -> list[Scale]:
    """One scale for all choices, each with as much height as its own top needs."""
    total = sum(high - low for low, high in rises)
    pads = Pads(side=0.3, top=0.0, foot=0.0)
    equal = total * (WIDTH - 2 * MARGIN - 2 * pads.side) / (run.end - run.start)
    between = len(rises) * (_WORDS + _ABOVE + _BELOW)
    room = min(max(equal, ROOM - between), MOST_ROOM - between)
    whole = fit_scale((run.start, run.end, 0.0, total), room, pads, most=LARGER[-1])
    return [
        replace(
            whole,
            low=low - _BELOW / whole.upward,
            high=high + _ABOVE / whole.upward,
            height=(high - low) * whole.upward + _ABOVE + _BELOW,
        )
        for low, high in rises
    ]


def _axes(drawing: Drawing, scale: Scale, foot: float, height: float) -> Axes:
    whole = drawing.get_figheight()
    axes = drawing.add_axes((MARGIN / WIDTH, foot / whole, scale.width / WIDTH, height / whole))
    bare(axes)
    axes.set_xlim(scale.left, scale.right)
    return axes


def _draw_one(drawing: Drawing, choice: ComparedTop, top_end: TopEnd, scale: Scale, foot: float) -> None:
    run = choice.run
    axes = _axes(drawing, scale, foot, scale.height)
    axes.set_ylim(scale.low, scale.high)
    draw_ground(axes, run, run.start, run.end, scale.low)
    outlines = picket_outlines(run.slots, run.cuts, top_end)
    pitch = float(np.median(run.slots.width)) * scale.paper * style.POINTS if len(run.slots) else 0.0
    edge = style.DARK_GREY if pitch >= _FINE else "none"
    face = style.WHITE if pitch >= _FINE else style.PALE_GREY
    draw_surfaces(axes, outlines, face, edge, width=0.4, zorder=3)
    for flag, color, hatch, _ in _MARKED:
        if flag in run.flags:
            width = 0.5 if pitch >= _FINE else 0.0
            draw_surfaces(axes, outlines[run.flags[flag]], "none", color, hatch, width, 3.2)
    axes.plot(run.top.stations, run.top.elevations, color=style.BLUE, lw=2.0, zorder=6)
    _write_words(drawing, choice, (foot + scale.height + 0.07) / drawing.get_figheight())


def _write_words(drawing: Drawing, choice: ComparedTop, y: float) -> None:
    name = f"{choice.style}:"
    left = MARGIN * style.POINTS
    size = style.SUBTITLE_SIZE
    after = left + text_size(name, size, bold=True)[0] + 5
    words = fitted(choice.words, (WIDTH - MARGIN) * style.POINTS - after, size)
    for x, text, weight in ((left, name, "bold"), (after, words, "normal")):
        drawing.text(
            x / style.POINTS / WIDTH,
            y,
            text,
            ha="left",
            va="bottom",
            fontsize=size,
            fontweight=weight,
            parse_math=False,
        )


def _draw_foot(drawing: Drawing, run: RunPlan, job: JobTable, scale: Scale) -> None:
    axes = _axes(drawing, scale, MARGIN / 2, _STATIONS)
    axes.set_ylim(0, _STATIONS)
    foot = Scale(
        left=scale.left,
        right=scale.right,
        low=0.0,
        high=_STATIONS,
        larger=1.0,
        width=scale.width,
        height=_STATIONS,
    )
    place_labels(drawing, axes, draw_stations(axes, run.start, run.end, foot, job.units, job.tape))
