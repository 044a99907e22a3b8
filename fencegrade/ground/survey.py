"""From a run and its survey to the ground of that run: the one door into this floor."""

import dataclasses
import math
from collections.abc import Iterator
from functools import partial
from importlib import import_module

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.ground.band import GroundBand
from fencegrade.ground.breaks import breaks_seen
from fencegrade.ground.doubt import doubt_problems, doubts
from fencegrade.ground.exchanged import exchanged_problems, exchanged_rows
from fencegrade.ground.fit import DEFAULT_READING_ERROR, GroundProfile, ground_profile
from fencegrade.ground.left_out import Hole, doubted_holes, hole_problems
from fencegrade.ground.noted import soil_covered, uncounted_marks, unplaced_marks
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.ground.readings import Levels, merge
from fencegrade.ground.reduction import Level, Reduced, Reduction, StringChord
from fencegrade.ground.sag import SharedSag
from fencegrade.ground.sag_told import sag_doubts, uncorrected
from fencegrade.ground.shared_slips import shared_problems, shared_slips
from fencegrade.ground.slope import level_stations, slope_doubt, too_steep
from fencegrade.ground.strings import as_taped
from fencegrade.ground.wrong_station import station_doubts
from fencegrade.ground.wrong_unit import column_doubts, pull_doubts, unit_slips, without
from fencegrade.job.choices import StationsTaped
from fencegrade.job.records import Run
from fencegrade.job.survey import Mark, Survey
from fencegrade.problems import Problem, has_mistake, mistake
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats, first_most
from fencegrade.units.words import Words

SLOPE_PASSES = 3
"""Rounds of levelling the stations of string readings, whose heights depend on the stations a little."""

MOST_STEP = 12_000.0
"""Inches that neighbouring readings may differ: 1,000 ft, beyond any cliff that is fenced."""

END_SLACK = 1 / 8
"""Inches a run may reach past its first or last reading and still be as long as its survey (own choice)."""

ERROR_WEIGHT = 6.0
"""Weight of the usual reading error beside what repeats say, in degrees of freedom (own choice)."""


class RunGround(Struct, frozen=True, kw_only=True, eq=False):
    """The ground of one run.

    `name` of the run, `source` its survey file; `start`, `end` stations of the fence's ends (in);
    `profile` the ground; `levels` the readings behind it with their lines, at level stations; `reduction` as
    they were reduced; `taped` (m,) their stations as taped along the slope, equal where they were taped
    level; `notes` the warnings and notes that came up; `slips` those of them that look like a slip of the
    hand and are neither confirmed nor read again; `left_out` stretches in which stakes seem left out.
    """

    name: str
    source: str
    start: float
    end: float
    profile: GroundProfile
    levels: Levels
    reduction: Reduction
    taped: Floats
    notes: tuple[Problem, ...]
    slips: tuple[Problem, ...]
    left_out: tuple[Hole, ...]

    @property
    def provisional(self) -> bool:
        """Whether something looks like a slip that nobody has confirmed: nothing should be bought yet."""
        return bool(self.slips)

    @property
    def line(self) -> GroundLine:
        """The ground line."""
        return self.profile.line

    @property
    def spread(self) -> GroundBand:
        """How sure the line is."""
        return self.profile.spread

    @property
    def strings(self) -> tuple[StringChord, ...]:
        """The set-ups of the string as they hung."""
        return self.reduction.strings

    @property
    def stations(self) -> Floats:
        """Stations (in) of the readings as the profile uses them."""
        return self.levels.stations

    @property
    def elevations(self) -> Floats:
        """Elevations (in) of the readings as the profile uses them."""
        return self.levels.elevations

    @property
    def reading_error(self) -> float:
        """One standard deviation (in) of a reading."""
        return self.profile.reading_error

    def carried(self, start: float, end: float) -> "RunGround":
        """The same ground with its line carried level as far as `start` and `end` (in); no surer there."""
        if self.line.start <= start and end <= self.line.end:
            return self
        return replace(self, profile=replace(self.profile, line=self.line.carried(start, end)))

    def station(self, taped: float) -> float:
        """The level station (in) of a station as it was taped (in)."""
        return _between(taped, self.taped, self.stations)

    def as_taped(self, station: float) -> float:
        """A level station (in) as it was taped (in)."""
        return _between(station, self.stations, self.taped)


def ground_from_survey(
    run: Run, survey: Survey, system: UnitSystem, tape: float, place: str = "job.toml run 1"
) -> tuple[RunGround | None, tuple[Problem, ...]]:
    """The ground of a run by its survey.

    `run` and `survey` as read; `system` and `tape` (in) for the words of problems; `place` how the job file
    names the run. Result: the ground, or None where a mistake stops it, and every problem found.
    """
    words = Words(system=system, mark=tape)
    reduction, problems = _reduce(run, survey, words, place, as_taped)
    if reduction is None:
        return None, problems
    columns, chained = survey.kind.columns, bool(reduction.strings)
    levels, found = merge(reduction.readings, survey.source, words, sided="side" in columns, chained=chained)
    problems += found
    if levels is None:
        return None, problems
    problems += tuple(_too_long(run, levels, survey.source, words, place))
    problems += tuple(_cliffs(levels, survey.source, words))
    taped = levels.stations
    if "station" in columns:
        reduction, levels, found = _levelled(run, survey, reduction, levels, words, place)
        problems += found
    if has_mistake(problems):
        return None, problems
    problems += tuple(uncorrected(levels, run, reduction.strings, words))
    slips = () if run.confirmed else tuple(_slips(run, survey, levels, reduction, words))
    problems += slips
    ground = _run_ground(run, survey, levels, reduction, taped, slips)
    openings = [
        (_between(g.station, taped, levels.stations), _between(g.end, taped, levels.stations))
        for g in run.gate
    ]
    problems += tuple(hole_problems(ground.left_out, levels, survey.source, words, openings))
    problems += tuple(unplaced_marks(run, levels, taped, survey.source, words))
    problems += (*uncounted_marks(survey), *soil_covered(survey))
    return replace(ground, notes=problems), problems


def _slips(run: Run, survey: Survey, levels: Levels, reduction: Reduction, words: Words) -> Iterator[Problem]:
    """Everything that looks like a slip of the hand: a reading, a column's unit, a station, a pull, a sag."""
    units = unit_slips(levels, words.system)
    single = (*units, *doubts(without(levels, units), words.system))
    gaps = doubted_holes(levels, _breaks(run, levels), -math.inf, math.inf)
    shared = () if single else shared_slips(levels, words.system, gaps)
    spot_of = {lines[0]: spot for spot, lines in enumerate(levels.lines)} if single else {}
    fits = {spot_of[d.line]: d.would_fit for d in single}
    spots = [*fits, *(spot for slip in shared for spot in (slip.first, slip.last))]
    slipped = any(d.looks_like for d in single)
    exchanged = None if slipped else exchanged_rows(levels, spots, fits)
    if exchanged is not None:
        yield from exchanged_problems(exchanged, levels, survey.source, words)
    else:
        yield from doubt_problems(sorted(single, key=lambda d: d.line), survey.source, words)
        yield from shared_problems(shared, levels, survey.source, words)
    yield from column_doubts(survey, levels, words)
    yield from station_doubts(survey, levels, words)
    yield from pull_doubts(run, reduction.strings, words)
    yield from sag_doubts(levels, run, reduction.strings, words)


def _reduce(run: Run, survey: Survey, words: Words, place: str, level: Level) -> Reduced:
    """The survey as heights, by the module that the table of kinds names."""
    module = import_module(f"{__package__}.{survey.kind.reduced_by}")
    found: Reduced = module.reduce(run, survey, words, place, level)
    return found


def _levelled(
    run: Run, survey: Survey, reduction: Reduction, levels: Levels, words: Words, place: str
) -> tuple[Reduction, Levels, tuple[Problem, ...]]:
    """The same survey at level stations, where it was taped along the slope; where the job does not say how
    it was taped, a doubt if it is steep."""
    taped = levels.stations
    if run.stations_taped is None:
        own = _own(run, taped, levels.elevations)
        shorter = partial(_shorter, run, survey, reduction, levels, words, place)
        return reduction, levels, tuple(slope_doubt(*own, run.name, words, shorter))
    if run.stations_taped is StationsTaped.LEVEL:
        return reduction, levels, ()
    steep = tuple(too_steep(taped, levels.elevations, run.name, words))
    if steep:
        return reduction, levels, steep
    for _ in range(SLOPE_PASSES):
        level = level_stations(taped, levels.elevations)
        moved = replace(levels, stations=level)
        if not reduction.strings:
            return reduction, moved, ()
        rows = tuple(dataclasses.replace(r, station=_between(r.station, taped, level)) for r in survey.rows)
        again, _ = _reduce(
            run,
            dataclasses.replace(survey, rows=rows),
            words,
            place,
            partial(_between, taped=taped, level=level),
        )
        merged = merge(again.readings, survey.source, words)[0] if again is not None else None
        if again is None or merged is None:
            return reduction, moved, ()
        reduction, levels = again, merged
    return reduction, levels, ()


def _shorter(
    run: Run, survey: Survey, reduction: Reduction, levels: Levels, words: Words, place: str
) -> float | None:
    """How much shorter (in) a run is if its stations were taped along the slope; None where ground rises more
    than its tape."""
    along = dataclasses.replace(run, stations_taped=StationsTaped.ALONG_SLOPE)
    _, moved, steep = _levelled(along, survey, reduction, levels, words, place)
    ends, _ = _own(run, levels.stations, levels.elevations)
    start, end = (_between(x, levels.stations, moved.stations) for x in (float(ends[0]), float(ends[-1])))
    return None if steep else float(ends[-1] - ends[0]) - (end - start)


def _own(run: Run, stations: Floats, elevations: Floats) -> tuple[Floats, Floats]:
    """The readings of a run that takes a part of its survey, its ends put between their neighbours."""
    start = stations[0] if run.start is None else max(run.start, stations[0])
    end = stations[-1] if run.end is None else min(run.end, stations[-1])
    inside = (stations > start) & (stations < end)
    ends = np.interp([start, end], stations, elevations)
    own = (np.array([start, *stations[inside], end]), np.array([ends[0], *elevations[inside], ends[1]]))
    return (stations, elevations) if end <= start or inside.sum() + 2 == len(stations) else own


def _between(station: float, taped: Floats, level: Floats) -> float:
    """The level station (in) of a taped one (in); beyond the readings the two run on alike."""
    beyond = min(0.0, station - float(taped[0])) + max(0.0, station - float(taped[-1]))
    return float(np.interp(station, taped, level)) + beyond


def _too_long(run: Run, levels: Levels, source: str, words: Words, place: str) -> list[Problem]:
    first, last = float(levels.stations[0]), float(levels.stations[-1])
    start = first if run.start is None else run.start
    end = last if run.end is None else run.end
    found = []
    if start < first - END_SLACK:
        found.append(_missing(f"{place}, start", start, min(first, end), source, words))
    if end > last + END_SLACK:
        found.append(_missing(f"{place}, end", max(last, start), end, source, words))
    if end <= start and not found:
        found.append(
            mistake(
                f"{place}, end",
                f"the run from {words.station(start)} has no length within the survey to "
                f"{words.station(last)}",
                "check the run's start and end against the survey",
            )
        )
    return found


def _cliffs(levels: Levels, source: str, words: Words) -> Iterator[Problem]:
    """Neighbouring readings so far apart in height that one of them is a slip."""
    steps = np.abs(np.diff(levels.elevations))
    if len(steps) and steps.max() > MOST_STEP:
        k = first_most(steps)
        yield mistake(
            source,
            f"the ground changes by {words.station(float(steps[k]))} between the neighbouring readings at "
            f"{words.station(float(levels.stations[k]))} and {words.station(float(levels.stations[k + 1]))}, "
            f"more than {words.station(MOST_STEP)}",
            "check both readings, their decimal points and their units",
        )


def _missing(place: str, a: float, b: float, source: str, words: Words) -> Problem:
    return mistake(
        place,
        f"the run is longer than its survey: {words.stretch(a, b)} is missing in {source}, and is not "
        "guessed",
        f"read the ground from {words.stretch(a, b)}, or move the end of the run",
    )


def _run_ground(
    run: Run,
    survey: Survey,
    levels: Levels,
    reduction: Reduction,
    taped: Floats,
    slips: tuple[Problem, ...],
) -> RunGround:
    profile = ground_profile(
        ground_line(levels.stations, levels.elevations),
        _reading_error(run, levels),
        _breaks(run, levels),
        levels.count,
        tuple(_shared_sags(reduction.strings)),
        run.tops_levelled,
    )
    start, end = (
        None if end is None else _between(end, taped, levels.stations) for end in (run.start, run.end)
    )
    start = profile.start if start is None else max(profile.start, start)
    end = profile.end if end is None else min(profile.end, end)
    return RunGround(
        name=run.name,
        source=survey.source,
        start=start,
        end=end,
        profile=profile,
        levels=levels,
        reduction=reduction,
        taped=taped,
        notes=(),
        slips=slips,
        left_out=() if run.confirmed else doubted_holes(levels, profile.breaks, start, end),
    )


def _reading_error(run: Run, levels: Levels) -> float:
    """One standard deviation of a reading (in): as said, else the usual one bettered by the repeats."""
    if run.reading_error is not None:
        return run.reading_error
    squares = ERROR_WEIGHT * DEFAULT_READING_ERROR**2 + levels.repeat_squares
    return float(np.sqrt(squares / (ERROR_WEIGHT + levels.repeat_freedom)))


def _breaks(run: Run, levels: Levels) -> Floats:
    """Stations of readings named as ones at breaks: marked, or off the even grid where the run says so."""
    marked = [Mark.BREAK in marks for marks in levels.marks]
    seen = breaks_seen(levels.stations) if run.read_at_breaks else np.zeros(0)
    return np.union1d(levels.stations[marked], seen)


def _shared_sags(strings: tuple[StringChord, ...]) -> Iterator[SharedSag]:
    """The doubt of sag left under every string; the whole of a common line's where nothing was corrected."""
    for chord in strings:
        left = chord.hang.doubt(chord.span)
        if not chord.sag_given:
            left = chord.common_sag
        if left > 0:
            yield SharedSag(start=chord.start, end=chord.end, doubt=left)
