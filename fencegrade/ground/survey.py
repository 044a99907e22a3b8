"""From a run and its survey to the ground of that run: the one door into this floor."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fencegrade.ground.fit import GroundProfile, fit_ground
from fencegrade.ground.readings import Levels, Reading, along, merge
from fencegrade.ground.reduction import Closure, Reduction, StringChord, Tie
from fencegrade.ground.strings import reduce_strings
from fencegrade.ground.wording import Say
from fencegrade.job.records import Run
from fencegrade.job.survey import ElevationSurvey, StringSurvey, Survey
from fencegrade.problems import Problem, Severity, mistake
from fencegrade.units import UnitSystem

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunGround:
    """The ground of one run.

    `name` of the run, `source` its survey file; `start`, `end` stations of the fence's ends (in);
    `profile` the ground; `levels` the readings behind it with their lines; `strings`, `ties`, `closures`,
    `offsets` as reduced; `taped`, `level` (m,) stations as taped along the slope and level, equal where they
    were taped level; `notes` the warnings and notes that came up.
    """

    name: str
    source: str
    start: float
    end: float
    profile: GroundProfile
    levels: Levels
    strings: tuple[StringChord, ...]
    ties: tuple[Tie, ...]
    closures: tuple[Closure, ...]
    offsets: tuple[float, ...]
    taped: Floats
    level: Floats
    notes: tuple[Problem, ...]

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

    def station(self, taped: float) -> float:
        """The level station (in) of a station as it was taped (in)."""
        inside = float(np.interp(taped, self.taped, self.level))
        return inside + min(0.0, taped - float(self.taped[0])) + max(0.0, taped - float(self.taped[-1]))


def ground_from_survey(
    run: Run, survey: Survey, system: UnitSystem, tape: float, place: str = "job.toml run[0]"
) -> tuple[RunGround | None, tuple[Problem, ...]]:
    """The ground of a run by its survey.

    `run` and `survey` as read; `system` and `tape` (in) for the words of problems; `place` how the job file
    names the run. Result: the ground, or None where a mistake stops it, and every problem found.
    """
    say = Say(system=system, tape=tape)
    reduction, problems = _reduce(run, survey, say, place)
    if reduction is None:
        return None, problems
    levels, found = merge(reduction.readings, survey.source, say)
    problems += found
    if levels is None:
        return None, problems
    problems += tuple(_too_long(run, levels, survey.source, say, place))
    if any(p.severity is Severity.MISTAKE for p in problems):
        return None, problems
    return _run_ground(run, survey, levels, reduction, problems), problems


def _reduce(run: Run, survey: Survey, say: Say, place: str) -> tuple[Reduction | None, tuple[Problem, ...]]:
    if isinstance(survey, StringSurvey):
        return reduce_strings(run, survey, say, place)
    if isinstance(survey, ElevationSurvey):
        return _plain(survey, say)
    raise NotImplementedError


def _plain(survey: ElevationSurvey, say: Say) -> tuple[Reduction | None, tuple[Problem, ...]]:
    problems = tuple(along([(r.line, r.station) for r in survey.rows], survey.source, say))
    if any(p.severity is Severity.MISTAKE for p in problems):
        return None, problems
    readings = (
        Reading(line=r.line, station=r.station, elevation=r.elevation, side=r.side) for r in survey.rows
    )
    return Reduction(readings=tuple(readings)), problems


def _too_long(run: Run, levels: Levels, source: str, say: Say, place: str) -> list[Problem]:
    first, last = float(levels.stations[0]), float(levels.stations[-1])
    start = first if run.start is None else run.start
    end = last if run.end is None else run.end
    found = []
    if start < first:
        found.append(_missing(f"{place}.start", start, min(first, end), source, say))
    if end > last:
        found.append(_missing(f"{place}.end", max(last, start), end, source, say))
    if end <= start and not found:
        found.append(
            mistake(
                f"{place}.end",
                f"the run from {say.station(start)} has no length within the survey to {say.station(last)}",
                "check the run's start and end against the survey",
            )
        )
    return found


def _missing(place: str, a: float, b: float, source: str, say: Say) -> Problem:
    return mistake(
        place,
        f"the run is longer than its survey: {say.stretch(a, b)} is missing in {source}, and is not guessed",
        f"read the ground from {say.stretch(a, b)}, or move the end of the run",
    )


def _run_ground(
    run: Run, survey: Survey, levels: Levels, reduction: Reduction, problems: tuple[Problem, ...]
) -> RunGround:
    profile = fit_ground(levels.stations, levels.elevations, run.reading_error)
    return RunGround(
        name=run.name,
        source=survey.source,
        start=profile.start if run.start is None else run.start,
        end=profile.end if run.end is None else run.end,
        profile=profile,
        levels=levels,
        strings=reduction.strings,
        ties=reduction.ties,
        closures=reduction.closures,
        offsets=reduction.offsets,
        taped=levels.stations,
        level=levels.stations,
        notes=problems,
    )
