"""What is written into the record of what stands: the line of the tops, and the lengths of the saw list."""

from dataclasses import replace

import numpy as np

from fencegrade.ground.survey import RunGround
from fencegrade.job.as_built import AsBuilt, BuiltRun, CutAlike, TopPoint
from fencegrade.job.choices import StationsTaped
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan
from fencegrade.units import parse_length
from fencegrade.units.arrays import Floats
from fencegrade.units.words import Words, numbers


def with_lists(built: AsBuilt, before: FencePlan) -> AsBuilt:
    """The record with the lengths of the saw list: what stands was cut to them, what is to come may be."""
    for run in before.runs:
        built = built.with_run(replace(built.of(run.run.name), cut=_as_listed(run, before.words)))
    return built


def _as_listed(run: RunPlan, words: Words) -> tuple[CutAlike, ...]:
    boards, mark = run.boards, run.boards.needs.mark
    listed = run.doubt.from_chart & ~boards.unserved & ~run.layout.measured
    kept = np.where(listed, boards.cuts.kept, 0)
    return tuple(
        CutAlike(
            kept=parse_length(words.length(length * mark)),
            pickets=numbers(np.flatnonzero(kept == length) + 1, most=len(kept)),
        )
        for length in np.unique(kept[listed])[::-1].tolist()
    )


def as_it_hangs(built: AsBuilt, plan: FencePlan, index: int) -> BuiltRun:
    """What the record has of a run, with its style and the line of its tops, which is written down once.

    `plan`: by which the run stands, or is to; `index`: of the run.
    """
    run = plan.runs[index]
    here, standing = built.of(run.run.name), run.layout.standing
    if here.top:
        return here
    top = run.choice.top if standing is None else standing.hung
    sloped = plan.job.runs[index].stations_taped is StationsTaped.ALONG_SLOPE
    stations = _taped(run.ground, top.stations) if sloped else top.stations
    points = zip(stations.tolist(), top.elevations.tolist(), strict=True)
    line = tuple(TopPoint(station=x, elevation=z) for x, z in points)
    return replace(here, style=run.layout.style, top=line)


def _taped(ground: RunGround, level: Floats) -> Floats:
    """Level stations (in) as they are taped along the slope."""
    return np.interp(level, ground.stations, ground.taped)
