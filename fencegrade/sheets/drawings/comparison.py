"""Several tops for one run, one above another and to one scale, so that the eye can choose."""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings.beside import NAMES, SIDE, write_stations
from fencegrade.sheets.drawings.canvas import end_text
from fencegrade.sheets.drawings.elevation import MARGIN, TITLE, WIDTH
from fencegrade.sheets.drawings.parts import run_parts
from fencegrade.sheets.drawings.picture import Picture, Sketch, text_width, wrapped
from fencegrade.sheets.drawings.seen import ADDED, FLAGGED, LOOK_AT, TIMBER, View
from fencegrade.sheets.drawings.strip import LIMIT, STRING, Strip, draw_strip, make_strip
from fencegrade.sheets.facts import provisional_mark
from fencegrade.units.words import plural

_LEAST, _MOST = 44.0, 8.0
"""Points a strip is high at least; heights are drawn up to this many times too large to reach it."""
_WORDS = 10.5
"""Type size of the words over each top."""
_SAMPLE = 18.0
"""Points that a sample of the key is wide."""


class ComparedTop(Struct, frozen=True, kw_only=True, eq=False):
    """One top to show: its name, the plan made with it, and one line of words about it."""

    name: str
    plan: FencePlan
    words: str


def comparison_figure(choices: Sequence[ComparedTop], index: int) -> Picture:
    """The elevations of one run under several tops, to one scale and with the same marks.

    `choices`: one or more, all of one job; `index`: which of its runs.
    """
    strips, larger = _strips(choices, index)
    run, job = choices[0].plan.runs[index], choices[0].plan.job.job
    stretch = f"{end_text(run.start, job.units, job.tape)} to {end_text(run.end, job.units, job.tape)}"
    how = "heights and lengths alike" if larger == 1 else f"heights drawn {larger:g} × the lengths"
    line = f"{run.run.name}, {stretch}: every top to one scale, {how}"
    sketch = Sketch()
    doubted = ((mark, _WORDS, True),) if (mark := provisional_mark((run.ground,))) else ()
    heads = ((job.title, TITLE, True), (line, _WORDS, False), *doubted)
    y = sketch.head(MARGIN, MARGIN, WIDTH - 2 * MARGIN, heads)
    for choice, strip in zip(choices, strips, strict=True):
        y = _draw_one(sketch, choice, index, strip, y + 12)
    y = _draw_foot(sketch, choices[0].plan, run, strips[0], y)
    y = _draw_key(sketch, [c.plan.runs[index] for c in choices], y)
    told = " ".join(f"{c.name} top: {c.words}." for c in choices)
    return Picture(
        width=WIDTH,
        height=round(y + MARGIN, 2),
        items=tuple(sketch.items),
        title=f"{job.title}: {line}",
        description=told,
    )


def _strips(choices: Sequence[ComparedTop], index: int) -> tuple[list[Strip], float]:
    """Every choice as a strip of one scale, and how many times larger heights are drawn than lengths."""
    runs = [(c.plan.runs[index], c.plan) for c in choices]
    along = (WIDTH - 2 * MARGIN - NAMES - SIDE) / (runs[0][0].end - runs[0][0].start)
    parts = [run_parts(run, math.inf)[0] for run, _ in runs]

    def made(larger: float) -> list[Strip]:
        pairs = zip(runs, parts, strict=True)
        return [make_strip(run, plan, p, along, larger * along, words=False) for (run, plan), p in pairs]

    rise = min(strip.high - strip.low for strip in made(1.0))
    larger = min(max(1.0, math.ceil(2 * _LEAST / (rise * along)) / 2), _MOST)
    return made(larger), larger


def _draw_one(sketch: Sketch, choice: ComparedTop, index: int, strip: Strip, y: float) -> float:
    """One top under its words; where the next one goes."""
    run = choice.plan.runs[index]
    y += _WORDS
    name = f"{choice.name}:"
    after = MARGIN + text_width(name, _WORDS, True) + 5
    sketch.text(MARGIN, y, name, _WORDS, bold=True)
    first, *more = wrapped(choice.words, WIDTH - MARGIN - after, _WORDS)
    sketch.text(after, y, first, _WORDS)
    for line in more:
        y += 1.25 * _WORDS
        sketch.text(after, y, line, _WORDS)
    draw_strip(sketch, run, choice.plan, strip, MARGIN + NAMES, y + 5)
    y += 5 + strip.height
    if told := _flagged(run):
        y += 1.25 * _WORDS
        sketch.text(MARGIN + NAMES, y, told, _WORDS)
    return y


def _flagged(run: RunPlan) -> str:
    """How many pickets somebody must look at, and why."""
    counts = [(flag, int(run.flags[flag].sum())) for flag in LOOK_AT]
    return "; ".join(f"{flag}: {plural(n, 'picket')}" for flag, n in counts if n)


def _draw_foot(sketch: Sketch, plan: FencePlan, run: RunPlan, strip: Strip, y: float) -> float:
    view = View(left=MARGIN + NAMES, base=y, start=run.start, low=0.0, along=strip.along, up=strip.up)
    write_stations(sketch, plan, strip.part, view, y + 8)
    return y + 24


Sample = tuple[float, ...] | float | None
"""What a word of the key stands for: dashes of a line, grey of a surface, or None for the accent."""


def _key(runs: Sequence[RunPlan]) -> Iterator[tuple[Sample, str]]:
    """What is drawn of some tops that no word beside it tells."""
    if any(_flagged(run) for run in runs):
        yield None, "boards to look at, told under their top"
    if any(run.flags[PicketFlag.OVER_HEIGHT].any() for run in runs):
        yield LIMIT, "height limit"
    if any(run.ground.strings for run in runs):
        yield STRING, "string"
    if any(run.closing.fills for run in runs):
        yield ADDED, "soil that is added"
    if any(run.closing.kickboards for run in runs):
        yield TIMBER, "kickboard"


def _draw_key(sketch: Sketch, runs: Sequence[RunPlan], y: float) -> float:
    """The key in one line or more; where the next thing goes."""
    x, told = MARGIN + NAMES, list(_key(runs))
    y += 1.8 * _WORDS if told else 0.0
    for sample, words in told:
        wide = _SAMPLE + 5 + text_width(words, _WORDS)
        if x > MARGIN + NAMES and x + wide > WIDTH - MARGIN:
            x, y = MARGIN + NAMES, y + 1.5 * _WORDS
        if isinstance(sample, tuple):
            level = y - 0.35 * _WORDS
            sketch.line([(x, level), (x + _SAMPLE, level)], 0.8, dashes=sample)
        else:
            box = np.array([(x, y - 8), (x + _SAMPLE, y - 8), (x + _SAMPLE, y), (x, y)])
            sketch.surfaces([box], FLAGGED if sample is None else sample, 0.4, accent=sample is None)
        sketch.text(x + _SAMPLE + 5, y, words, _WORDS)
        x += wide + 18
    return y
