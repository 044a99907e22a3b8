"""Words for boards as they come: what their widths and their moisture mean for this job."""

from collections.abc import Iterator, Sequence

from fencegrade.fence.wood.drying import GapForecast
from fencegrade.ground.survey import RunGround
from fencegrade.job.read import Job
from fencegrade.planning.delivered import drying_of, widths_of
from fencegrade.sheets.screen.lean_text import (
    drying_lines,
    overlap_lines,
    spacing_lines,
    width_lines,
)
from fencegrade.units.words import Words, plural


def board_lines(job: Job, grounds: Sequence[RunGround]) -> Iterator[str]:
    """What the boards measured and their moisture mean for this job; nothing where it has neither.

    `job`: without mistakes in `board_findings`; `grounds`: of its runs, in order.
    """
    if len(job.pickets.widths) > 1:
        yield from _widths(job, grounds)
    if job.pickets.moisture_now is not None:
        words, drying = Words.of_layout(job.units), drying_of(job.pickets)
        if isinstance(drying.forecast, GapForecast):
            yield from drying_lines(drying.change, drying.forecast, words)
        else:
            yield from overlap_lines(drying.change, drying.forecast, words)


def _widths(job: Job, grounds: Sequence[RunGround]) -> Iterator[str]:
    words, fit = Words.of_layout(job.units), job.pickets.fit
    found = widths_of(job, grounds)
    for k, end in enumerate(found.ends):
        lines = list(width_lines(found.sample, end.choice, fit, found.limit, words))
        here = f"  {end.run}, {words.station(end.start)} to {words.station(end.end)}:"
        if k == 0:
            yield from lines[:3]
        yield here
        yield f"  {lines[3]}"
        if end.better:
            yield f"    {plural(len(end.better), 'spacing')} near it would show less often:"
            yield from (f"  {line}" for line in spacing_lines(end.better, fit, words))
    if found.ends:
        yield from lines[4:]
