"""The ground of a run as it was read, how sure it is between the readings, and where to look again."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fencegrade.ground.reduction import StringChord
from fencegrade.ground.survey import RunGround
from fencegrade.job.records import JobTable
from fencegrade.sheets.drawings import style
from fencegrade.sheets.drawings.canvas import (
    SOIL_FOOT,
    draw_stations,
    end_text,
    fit_scale,
    headed_drawing,
)
from fencegrade.sheets.drawings.labels import Label, Spot, fitted, over, place_labels, under
from fencegrade.sheets.drawings.picket_shapes import ground_curve
from fencegrade.sheets.drawings.style import Hatch, house_style
from fencegrade.sheets.facts import marked_title
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import WHOLE
from fencegrade.units.words import Words

LEVEL, OFTEN = 0.8, "4 places of 5"
"""The band holds the ground at this share of spots, and that in words."""
LONGEST = 2400.0
"""Longest stretch (in) on one sheet: 200 ft."""
ROOM = 4.6
"""Inches of paper for the drawing itself."""

Stretch = tuple[float, float]

_SHIFTS = (0.0, 40.0, -40.0, 80.0, -80.0, 120.0, -120.0)
_NAMED = (*over(5), *under(5), *over(5, 3, shifts=_SHIFTS), *under(5, 3, shifts=_SHIFTS))
"""Spots of the highest and the lowest reading."""
_CORNERS = tuple(
    Spot(
        right=4.0 * right,
        up=4.0 * up,
        side="left" if right > 0 else "right",
        base="bottom" if up > 0 else "top",
    )
    for right, up in ((1, 1), (-1, -1), (-1, 1), (1, -1))
)
"""Spots of a reading on steep ground, which passes over and under it."""


@house_style()
def ground_figures(ground: RunGround, job: JobTable, doubtful: Sequence[Stretch] = ()) -> list[Figure]:
    """Readings, ground line and band of one run, one drawing for each 200 ft of it or less.

    `ground`: the run's ground; `job`: whose title and units are written; `doubtful`: stretches (start, end
    in inches) where another reading would help most, shaded and named.
    """
    count = max(1, int(np.ceil((ground.end - ground.start) / LONGEST - WHOLE)))
    edges = np.linspace(ground.start, ground.end, count + 1)
    return [_drawing(ground, job, (float(a), float(b)), doubtful) for a, b in pairwise(edges)]


def stretch_text(start: float, end: float, job: JobTable) -> str:
    """A stretch as words: `14 to 20 ft`, `14' 3" to 20 ft`, `4.2 to 6.0 m`."""
    first, last = end_text(start, job.units, job.tape), end_text(end, job.units, job.tape)
    for unit in (" ft", " m"):
        if first.endswith(unit) and last.endswith(unit):
            first = first.removesuffix(unit)
    return f"{first} to {last}"


def _drawing(ground: RunGround, job: JobTable, stretch: Stretch, doubtful: Sequence[Stretch]) -> Figure:
    start, end = stretch
    x, z = ground_curve(ground.line, start, end)
    inner = np.unique(x)
    low, high = ground.profile.band(inner, LEVEL)
    reach = _reach(ground, stretch, z, low, high)
    scale = fit_scale((start, end, *reach), ROOM)
    name = fitted(ground.name, 330, style.SUBTITLE_SIZE)
    line = f"{name}: the ground as read, {stretch_text(start, end, job)}; {scale.words}"
    title = marked_title(job.title, (ground,))
    inside = [(max(a, start), min(b, end)) for a, b in doubtful if a < end and b > start]
    drawing, axes = headed_drawing(scale, title, line, _described(ground, job, stretch, inside))
    axes.fill_between(x, z, np.full(len(z), scale.up(SOIL_FOOT)), color=style.LIGHT_GREY, lw=0, zorder=0)
    _draw_band(axes, inner, low, high)
    axes.plot(x, z, color=style.BLACK, lw=2.0, zorder=6)
    _draw_doubts(axes, inside, scale.up(SOIL_FOOT), scale.up(scale.height - 0.42))
    strings = _draw_strings(axes, ground, stretch)
    seen = (ground.stations >= start) & (ground.stations <= end)
    axes.plot(ground.stations[seen], ground.elevations[seen], **style.READING, zorder=9)
    labels = [
        *draw_stations(axes, start, end, scale, job.units, job.tape),
        *_doubt_labels(inside, job, scale.up(scale.height - 0.42)),
        *_band_labels(inner, low, high, job),
        *_reading_labels(ground, job, stretch),
        *_string_labels(ground, stretch),
    ]
    marks = _marks(axes, ground.stations[seen], ground.elevations[seen])
    edges = [np.stack([inner, edge], axis=-1) for edge in (low, high)]
    place_labels(drawing, axes, labels, [np.stack([x, z], axis=-1), *edges, *strings, *marks])
    return drawing


def _reach(ground: RunGround, stretch: Stretch, z: Floats, low: Floats, high: Floats) -> tuple[float, float]:
    marks = [float(z.min()), float(z.max()), float(low.min()), float(high.max())]
    for string, a, b in _strings_in(ground, stretch):
        along = string.elevation(np.linspace(a, b, 30))
        marks += [float(along.min()), float(along.max())]
    return min(marks), max(marks)


def _strings_in(ground: RunGround, stretch: Stretch) -> Iterator[tuple[StringChord, float, float]]:
    """The strings that hung over a stretch, each with the part of it (in) that it hung over."""
    for string in ground.strings:
        a, b = max(string.start, stretch[0]), min(string.end, stretch[1])
        if b > a:
            yield string, a, b


def _draw_band(axes: Axes, x: Floats, low: Floats, high: Floats) -> None:
    axes.fill_between(x, low, high, color=style.SKY_BLUE, alpha=0.45, lw=0, zorder=2)
    for edge in (low, high):
        axes.plot(x, edge, color=style.BLUE, lw=0.9, ls=style.DOTTED, zorder=3)


def _draw_doubts(axes: Axes, doubtful: Sequence[Stretch], low: float, high: float) -> None:
    for a, b in doubtful:
        axes.fill_between(
            [a, b], low, high, facecolor="none", edgecolor=style.ORANGE, hatch=Hatch.DOUBT, lw=1.0, zorder=1
        )


def _draw_strings(axes: Axes, ground: RunGround, stretch: Stretch) -> list[Floats]:
    lines = []
    for string, a, b in _strings_in(ground, stretch):
        x = np.linspace(a, b, 60)
        axes.plot(x, string.elevation(x), color=style.GREEN, lw=1.4, ls=style.DASHED, zorder=5)
        lines.append(np.stack([x, string.elevation(x)], axis=-1))
    return lines


def _marks(axes: Axes, x: Floats, z: Floats) -> Iterator[Floats]:
    """A cross over the mark of each reading, which no label is to cover."""
    arm = style.READING["ms"] / 2 * axes.figure.dpi / style.POINTS
    for at in axes.transData.transform(np.stack([x, z], axis=-1)):
        for across in ((arm, 0.0), (0.0, arm)):
            yield axes.transData.inverted().transform([at - across, at + across])


def _doubt_labels(doubtful: Sequence[Stretch], job: JobTable, high: float) -> Iterator[Label]:
    for a, b in doubtful:
        yield Label(
            text=f"look here: {stretch_text(a, b, job)}",
            at=(((a + b) / 2, high),),
            spots=over(4, 2, step=13, shifts=_SHIFTS),
            rank=1,
            bold=True,
            leader=True,
        )


def _band_labels(x: Floats, low: Floats, high: Floats, job: JobTable) -> Iterator[Label]:
    """How wide the band is where it is widest."""
    widest = int(np.argmax(high - low))
    half = float(high[widest] - low[widest]) / 2
    yield Label(
        text=f"in {OFTEN} within ± {Words.of(job).length(half)}, least sure here",
        at=((float(x[widest]), float(low[widest])),),
        spots=under(12, 3, shifts=_SHIFTS),
        rank=2,
        color=style.BLUE,
        leader=True,
    )


def _reading_labels(ground: RunGround, job: JobTable, stretch: Stretch) -> Iterator[Label]:
    """The elevation of every reading as room allows, the highest and the lowest first."""
    words = Words.of(job)
    seen = np.flatnonzero((ground.stations >= stretch[0]) & (ground.stations <= stretch[1]))
    if not len(seen):
        return
    named = {
        int(seen[np.argmax(ground.elevations[seen])]): "highest ground read ",
        int(seen[np.argmin(ground.elevations[seen])]): "lowest ground read ",
    }
    for i in map(int, seen):
        word = named.get(i, "")
        yield Label(
            text=f"{word}{words.length(ground.elevations[i])}",
            at=((float(ground.stations[i]), float(ground.elevations[i])),),
            spots=_NAMED if word else (*over(6), *under(6), *_CORNERS),
            rank=1 if word else 6,
            size=style.WORD_SIZE if word else style.SMALL_SIZE,
            bold=bool(word),
            leader=bool(word),
            minor=not word,
        )


def _string_labels(ground: RunGround, stretch: Stretch) -> Iterator[Label]:
    for string, a, b in _strings_in(ground, stretch):
        x = a + (b - a) * np.array([0.85, 0.12, 0.3, 0.6, 0.45])
        at = tuple((float(p), float(q)) for p, q in zip(x, string.elevation(x), strict=True))
        spots = (*under(2), *over(2))
        yield Label(text=string.name, at=at, spots=spots, rank=3, color=style.GREEN, bold=True)


def _described(ground: RunGround, job: JobTable, stretch: Stretch, doubtful: Sequence[Stretch]) -> str:
    seen = (ground.stations >= stretch[0]) & (ground.stations <= stretch[1])
    told = [
        f"Ground of {ground.name} from {stretch_text(*stretch, job)} through {int(seen.sum())} readings, "
        f"with the band that holds it in {OFTEN}."
    ]
    told += [f"Look again from {stretch_text(a, b, job)}." for a, b in doubtful]
    return " ".join(told)
