"""Stations that look slipped: the last alone far past all others, or all of them in another unit.

As with figures in a wrong unit, nothing is changed. Readings are taken for a fence every few feet or metres.
Stations so near each other that one would be read under every board, all along a fence that is then as short
as a gate or steeper than ground is, were meant in a larger unit; so far apart that no fence is read so, in a
smaller one.
"""

from collections.abc import Iterator

import numpy as np

from fencegrade.ground.readings import Levels, line_place
from fencegrade.ground.wrong_unit import FEWEST, NAMES, STEEPEST
from fencegrade.job.survey import Mark, Survey
from fencegrade.problems import Problem, warning
from fencegrade.units.arrays import Floats
from fencegrade.units.lengths import INCHES_PER
from fencegrade.units.words import Words

FAR_ALONE = 3.0
"""Times the length of all the rest that a last station stands off before it is doubted (own choice)."""

FAR_STEP = 8.0
"""Times the widest step between the others that it stands off as well (own choice)."""

CLOSE, SHORT = 8.0, 120.0
"""Inches: readings usually less apart than the first lie one under every board; a run no longer than the
second is not read so closely (common practice, no source)."""

WIDE = {"drop": 360.0, "sight": 3000.0, "elevation": 3000.0}
"""Inches between readings past which no fence is read: under a string, by a level (common practice, no
source)."""

USUAL = 18.0, 144.0
"""Inches that readings for a fence usually lie apart, from least to most (common practice, no source)."""

SYSTEMS = (("in", "ft"), ("mm", "cm", "m"))
"""Units that are mixed up with each other."""


def last_alone(stations: Floats) -> bool:
    """Whether the last station (in) stands alone, far past all others."""
    stations = np.unique(stations)
    if len(stations) < FEWEST:
        return False
    *others, last = np.diff(stations)
    return bool(last > FAR_ALONE * (stations[-2] - stations[0]) and last > FAR_STEP * max(others))


def station_doubts(survey: Survey, levels: Levels, words: Words) -> Iterator[Problem]:
    """A warning where the last station stands alone, far past all others, unless its note confirms it, and
    where the stations look written in another unit than their heading says; of what `column_doubts` takes.
    """
    if last_alone(levels.stations) and Mark.CONFIRMED not in levels.marks[-1]:
        end, before = (words.station(float(s)) for s in np.unique(levels.stations)[:-3:-1])
        yield warning(
            line_place(survey.source, *levels.lines[-1]),
            f"station {end} stands alone, far past {before}, the last one before it",
            'check its decimal point and its unit; if it is right, write "confirmed" in its note',
        )
    if others := _other_units(survey, levels):
        first, last = (words.station(float(s)) for s in levels.stations[[0, -1]])
        apart = words.station(_apart(levels.stations))
        name = NAMES[survey.station_unit].removeprefix("decimal ")
        yield warning(
            survey.source,
            f"the stations, {first} to {last} and usually {apart} apart, look like "
            f"{' or '.join(NAMES[u].removeprefix('decimal ') for u in others)} under a heading in {name}",
            "check the unit in the heading; if they are right, write confirmed = true in the run in the job "
            "file",
        )


def _apart(stations: Floats) -> float:
    """Inches that the readings at stations (n,) usually lie apart."""
    return float(np.median(np.diff(np.unique(stations))))


def _other_units(survey: Survey, levels: Levels) -> list[str]:
    """Units in which the stations would lie as usual, where they do not in that of their heading."""
    x, own = levels.stations, survey.station_unit
    if own not in NAMES or len(np.unique(x)) < FEWEST:
        return []
    apart = _apart(x)
    too_close = apart < CLOSE and (x[-1] - x[0] <= SHORT or _steep(levels))
    if not too_close and apart <= WIDE[survey.kind.figure]:
        return []
    least, most = USUAL
    system = next(units for units in SYSTEMS if own in units)
    return [u for u in system if least <= apart * float(INCHES_PER[u] / INCHES_PER[own]) <= most]


def _steep(levels: Levels) -> bool:
    """Whether middling neighbours rise or fall more steeply than ground does."""
    across = np.diff(levels.stations)
    rises = np.abs(np.diff(levels.elevations))[across > 0]
    return bool(np.median(rises / across[across > 0]) > STEEPEST)
