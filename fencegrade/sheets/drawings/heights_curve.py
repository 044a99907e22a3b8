"""What the boards cost as the top line goes up or down: a stair whose steps are the heights to know.

cost |            .--- up to here at this cost
     |      .-----'
     |------'
     +------------------ height of the top line
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike

from fencegrade.job.records import JobTable
from fencegrade.sheets.drawings import style
from fencegrade.sheets.drawings.canvas import (
    MARGIN,
    ONE_LINE,
    WIDTH,
    Drawing,
    bare,
    titled_drawing,
    write_text,
)
from fencegrade.sheets.drawings.labels import Label, Spot, fitted, over, place_labels, text_size, under
from fencegrade.sheets.drawings.style import house_style
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH, WHOLE
from fencegrade.units.words import Words

_HEIGHT = 4.6
_LEFT = 1.0
_FOOT = 0.85
_AIR = 4.0
"""Points between two notes."""
_TICKS = {
    UnitSystem.IMPERIAL: (0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0),
    UnitSystem.METRIC: tuple(mm / MM_PER_INCH for mm in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)),
}
_SHIFTS = (0.0, 40.0, -40.0, 80.0, -80.0)
_BESIDE = (Spot(right=6, up=-6, side="left", base="top"), Spot(right=-6, up=-6, side="right", base="top"))


Tell = Callable[[float], str]
"""How a cost is written."""


@house_style()
def heights_figure(
    heights: ArrayLike,
    costs: ArrayLike,
    job: JobTable,
    knees: Sequence[int] = (),
    now: float | None = None,
    what: str = "height of the top line",
    further: Sequence[int] = (),
    notes: Sequence[str] = (),
    told: Tell | None = None,
) -> Drawing:
    """Cost against height as a stair, with the heights to know marked.

    `heights` (n,) ascending, inches: `costs[i]` holds above `heights[i - 1]` up to and with `heights[i]`;
    `costs` (n,) in the job's money, nan where no stock serves, or in what `told` writes, of boards that have
    no prices; `knees`: indices of the heights to mark,
    `further`: of those whose height is written only where there is room; `now`: the height of the
    best line (in); `what`: words under the heights, `notes`: under these. Errors: ValueError where the two do
    not match or the heights do not ascend.
    """
    x, y = np.asarray(heights, dtype=float), np.asarray(costs, dtype=float)
    if x.ndim != 1 or x.shape != y.shape or len(x) < 2 or not np.all(np.diff(x) > 0):
        raise ValueError("two heights or more, ascending, with one cost each")
    if not np.isfinite(x).all() or not np.isfinite(y).any():
        raise ValueError("heights must be finite numbers, and at least one cost known")
    words = Words.of(job)
    tell = told or words.money
    line = f"{'cost' if told is None else 'length'} of boards against {what}"
    description = " ".join(f"Up to {words.height(x[k])}: {tell(y[k])}." for k in knees)
    said = [_written(note) for note in notes]
    foot = _FOOT + sum(text_size(text, style.SUBTITLE_SIZE)[1] + _AIR for text in said) / style.POINTS
    drawing, height = titled_drawing(_HEIGHT + foot, job.title, line, description, ONE_LINE)
    axes = drawing.add_axes((_LEFT / WIDTH, foot / height, (WIDTH - _LEFT - 0.5) / WIDTH, _HEIGHT / height))
    _write_notes(drawing, said, foot - _FOOT)
    bare(axes)
    _limits(axes, x, y, now)
    marked = [*knees, *further]
    axes.step(x, y, where="pre", color=style.BLUE, lw=2.4, zorder=5)
    axes.plot(x[marked], y[marked], ls="none", marker="D", ms=6, color=style.BLACK, zorder=7)
    labels = [
        *_height_ticks(axes, job, what),
        *_cost_ticks(axes, tell),
        *_knee_labels(x, y, words, tell, knees, further),
        *_label_now(axes, x, y, words, tell, now),
        *_unserved_label(axes, x, y),
    ]
    stair = np.stack([np.repeat(x, 2)[:-1], np.repeat(y, 2)[1:]], axis=-1)
    place_labels(drawing, axes, labels, [stair[np.isfinite(stair[:, 1])], *_straight(axes, now)])
    return drawing


def _written(note: str) -> str:
    return fitted(note, (WIDTH - 2 * MARGIN) * style.POINTS, style.SUBTITLE_SIZE, lines=4)


def _write_notes(drawing: Drawing, notes: Sequence[str], room: float) -> None:
    """Notes under the axis of heights, one under another over the lowest `room` inches and what is free."""
    high, up = drawing.get_figheight(), room + 0.25
    for note in notes:
        write_text(drawing, MARGIN / WIDTH, up / high, note, style.SUBTITLE_SIZE)
        up -= (text_size(note, style.SUBTITLE_SIZE)[1] + _AIR) / style.POINTS


def _straight(axes: Axes, now: float | None) -> Iterator[Floats]:
    """Both axes and the line as it is now, which no label covers either."""
    (left, right), (foot, high) = axes.get_xlim(), axes.get_ylim()
    yield np.array([[left, foot], [right, foot]])
    for x in (left, now):
        if x is not None:
            yield np.array([[x, foot], [x, high]])


def _limits(axes: Axes, x: Floats, y: Floats, now: float | None) -> None:
    known = y[np.isfinite(y)]
    low, high = float(known.min()), float(known.max())
    room = max(high - low, 0.02 * max(abs(high), 1.0))
    ends = [x[0], x[-1]] + ([] if now is None else [now])
    beside = 0.02 * (max(ends) - min(ends))
    axes.set_xlim(min(ends) - beside, max(ends) + beside)
    axes.set_ylim(low - 0.18 * room, high + 0.22 * room)


def _round_values(low: float, high: float, step: float) -> list[float]:
    return [k * step for k in range(int(np.ceil(low / step - WHOLE)), int(np.floor(high / step + WHOLE)) + 1)]


def _height_ticks(axes: Axes, job: JobTable, what: str) -> Iterator[Label]:
    left, right = axes.get_xlim()
    foot, high = axes.get_ylim()
    steps = _TICKS[job.units]
    step = next((s for s in steps if (right - left) / s <= 9), steps[-1])
    words = Words.of(job)
    axes.plot([left, right], [foot, foot], color=style.BLACK, lw=1.0, clip_on=False)
    for x in _round_values(left, right, step):
        axes.plot([x, x], [foot, high], color=style.LIGHT_GREY, lw=0.8, zorder=0)
        yield Label(text=words.height(x), at=((x, foot),), spots=under(5), rank=3, boxed=False)
    yield Label(text=what, at=(((left + right) / 2, foot),), spots=under(22), rank=0, bold=True, boxed=False)


def _cost_ticks(axes: Axes, tell: Tell) -> Iterator[Label]:
    left, right = axes.get_xlim()
    low, high = axes.get_ylim()
    size = 10.0 ** np.floor(np.log10((high - low) / 5))
    step = next(size * k for k in (1, 2, 5, 10) if (high - low) / (size * k) <= 7)
    axes.plot([left, left], [low, high], color=style.BLACK, lw=1.0, clip_on=False)
    for y in _round_values(low, high, step):
        axes.plot([left, right], [y, y], color=style.LIGHT_GREY, lw=0.8, zorder=0)
        text = tell(y)
        yield Label(text=text, at=((left, y),), spots=(Spot(right=-6, side="right"),), rank=0, boxed=False)


def _knee_labels(
    x: Floats, y: Floats, words: Words, tell: Tell, knees: Sequence[int], further: Sequence[int]
) -> Iterator[Label]:
    for k in (*knees, *further):
        if np.isfinite(y[k]):
            spots = (
                *(Spot(right=-7, up=up, side="right", base="bottom") for up in (6.0, 20.0, 34.0)),
                *(Spot(right=7, up=-up, side="left", base="top") for up in (6.0, 20.0)),
                *(
                    Spot(right=k, up=-up, side="left", base="top")
                    for up in (20.0, 34.0)
                    for k in (40.0, 80.0)
                ),
                *over(9, 4, step=13, shifts=_SHIFTS),
            )
            yield Label(
                text=f"up to {words.height(x[k])}: {tell(y[k])}",
                at=((float(x[k]), float(y[k])),),
                spots=spots,
                rank=1 if k in knees else 2,
                bold=True,
                leader=True,
                minor=k not in knees,
            )


def _label_now(
    axes: Axes, x: Floats, y: Floats, words: Words, tell: Tell, now: float | None
) -> Iterator[Label]:
    if now is None:
        return
    low, high = axes.get_ylim()
    axes.plot([now, now], [low, high], color=style.VERMILLION, lw=1.6, ls=style.DASHED, zorder=4)
    text = f"line now {words.height(now)}"
    at = np.searchsorted(x, now - SAME_LENGTH)
    if now >= x[0] - SAME_LENGTH and at < len(x) and np.isfinite(y[at]):
        text += f": {tell(y[at])}"
    yield Label(text=text, at=((now, high),), spots=(*over(4, shifts=_SHIFTS), *_BESIDE), rank=0, boxed=False)


def _unserved_label(axes: Axes, x: Floats, y: Floats) -> Iterator[Label]:
    """Heights at which no stock serves: hatched, with the word for it."""
    low, high = axes.get_ylim()
    for a, b, cost in zip(x[:-1], x[1:], y[1:], strict=True):
        if not np.isfinite(cost):
            axes.fill_between(
                [a, b], low, high, facecolor="none", edgecolor=style.VERMILLION, hatch="x", lw=0.0, zorder=1
            )
    missing = x[1:][~np.isfinite(y[1:])]
    if len(missing):
        at = ((float(missing.mean()), low + 0.5 * (high - low)),)
        spots = (Spot(), *over(20, 3, shifts=_SHIFTS), *under(20, 3, shifts=_SHIFTS))
        yield Label(text="no stock long enough", at=at, spots=spots, rank=2)
