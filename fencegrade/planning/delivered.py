"""Boards as they come: measured widths and moisture held against the plan, before any is hung."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from fencegrade.fence.slots import closed_stretches
from fencegrade.fence.wood.drying import (
    GapForecast,
    MoistureChange,
    OverlapForecast,
    forecast_gap,
    forecast_overlap,
    gap_problems,
    moisture_change,
    moisture_problems,
    overlap_problems,
    read_moisture,
)
from fencegrade.fence.wood.widths import (
    USUAL_LIMIT,
    SpacingChoice,
    WidthSample,
    end_chance,
    planned_width_problems,
    sample_widths,
    spacing_choices,
    width_problems,
)
from fencegrade.ground.survey import RunGround
from fencegrade.job.choices import Pattern
from fencegrade.job.read import Job
from fencegrade.job.records import Pickets
from fencegrade.problems import Problem, has_mistake, mistake
from fencegrade.units import UnitError, layout_mark, parse_length

SERVICE = "dry"
"""Moisture in service where the job does not say."""

SHOWS = 0.1
"""A chance from which other spacings are worth a look (own choice)."""


class EndForecast(Struct, frozen=True, kw_only=True):
    """How a stretch laid from the measured widths ends, and spacings about the wanted one that show less."""

    run: str
    start: float
    end: float
    choice: SpacingChoice
    better: tuple[SpacingChoice, ...]


class Widths(Struct, frozen=True, kw_only=True):
    """The boards measured, and the ends of the stretches laid from them."""

    sample: WidthSample
    limit: float
    ends: tuple[EndForecast, ...]


class Drying(Struct, frozen=True, kw_only=True):
    """What the change of moisture does: to the gap with one row of boards, to the overlap with two."""

    change: MoistureChange
    forecast: GapForecast | OverlapForecast


def board_width(pickets: Pickets) -> float:
    """The width (in) that boards are laid out from: the mean of those measured, else the one given."""
    return sum(pickets.widths) / len(pickets.widths) if len(pickets.widths) > 1 else pickets.width


def board_findings(job: Job, grounds: Sequence[RunGround] = ()) -> list[Problem]:
    """What is wrong or doubtful with the boards as they come: their widths and their moisture.

    `grounds`: those of the runs, for the length of the longest stretch; without them no run is laid out.
    Result: mistakes, which stop a plan, warnings and notes, each with its place in the job file.
    """
    return [*_width_findings(job, grounds), *_moisture_findings(job)]


def _width_findings(job: Job, grounds: Sequence[RunGround]) -> Iterator[Problem]:
    pickets, units = job.pickets, job.units
    if not pickets.widths:
        return
    place = f"{job.place} [pickets] widths"
    found = list(width_problems(place, pickets.widths, units))
    yield from found
    if has_mistake(found):
        return
    longest = max((b - a for _, a, b in _stretches(job, grounds)), default=0.0)
    boards = max(1, round(longest / (pickets.width + pickets.spacing)))
    sample = sample_widths(pickets.widths)
    yield from planned_width_problems(f"{job.place} [pickets] width", sample, pickets.width, boards, units)


def _moisture_findings(job: Job) -> Iterator[Problem]:
    pickets, units = job.pickets, job.units
    values: dict[str, float] = {}
    for key, text in _moistures(pickets).items():
        place = f"{job.place} [pickets] {key}"
        try:
            values[key] = read_moisture(text)
        except UnitError as error:
            yield mistake(place, *error.halves)
            continue
        found = list(moisture_problems(place, values[key], pickets.species))
        yield from found
        if has_mistake(found):
            del values[key]
    if len(values) == 2:
        drying = drying_of(pickets)
        place = f"{job.place} [pickets] spacing"
        if isinstance(drying.forecast, GapForecast):
            yield from gap_problems(place, drying.forecast, units)
        else:
            yield from overlap_problems(place, drying.forecast, units)


def _moistures(pickets: Pickets) -> dict[str, str]:
    if pickets.moisture_now is None:
        return {} if pickets.moisture_service is None else {"moisture_service": pickets.moisture_service}
    return {"moisture_now": pickets.moisture_now, "moisture_service": pickets.moisture_service or SERVICE}


def drying_of(pickets: Pickets) -> Drying:
    """What the boards' moisture does to gaps or overlaps.

    `pickets`: with `moisture_now`. The spacing of the job is the one wanted in service and, as planned, the
    one set. Errors: ValueError or UnitError for what `board_findings` calls a mistake.
    """
    texts = _moistures(pickets)
    change = moisture_change(
        read_moisture(texts["moisture_now"]), read_moisture(texts["moisture_service"]), pickets.species
    )
    width = board_width(pickets)
    if pickets.pattern is Pattern.SIDE_BY_SIDE:
        return Drying(change=change, forecast=forecast_gap(width, pickets.spacing, pickets.spacing, change))
    return Drying(change=change, forecast=forecast_overlap(width, pickets.spacing, change))


def widths_of(job: Job, grounds: Sequence[RunGround]) -> Widths:
    """The measured widths, and how every stretch laid from them ends.

    `job`: with two or more `widths`. Errors: ValueError for fewer.
    """
    sample = sample_widths(job.pickets.widths)
    limit = parse_length(USUAL_LIMIT[job.units])
    ends = tuple(_end(job, name, a, b, sample, limit) for name, a, b in _stretches(job, grounds))
    return Widths(sample=sample, limit=limit, ends=ends)


def _end(job: Job, name: str, start: float, end: float, sample: WidthSample, limit: float) -> EndForecast:
    pickets, mark = job.pickets, layout_mark(job.units)
    length = end - start
    choice = end_chance(length, pickets.spacing, pickets.fit, sample, limit)
    better: list[SpacingChoice] = []
    if choice.eased > SHOWS:
        within = 4 * mark
        choices = spacing_choices(
            length, pickets.spacing, within, pickets.fit, sample, limit=limit, mark=mark
        )
        better = [c for c in choices if c.eased < choice.eased - 0.01][:3]
    return EndForecast(run=name, start=start, end=end, choice=choice, better=tuple(better))


def _stretches(job: Job, grounds: Sequence[RunGround]) -> Iterator[tuple[str, float, float]]:
    """Run, start and end (in) of every stretch between gates, faces and ends."""
    for run, ground in zip(job.runs, grounds, strict=False):
        for a, b in closed_stretches(ground.start, ground.end, run.gate, ground.line.faces):
            yield run.name, a, b
