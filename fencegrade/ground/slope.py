"""Stations taped along the slope, and the level stations they stand for.

taped .-'|
  .-'    | rise       level = sqrt(taped^2 - rise^2)
'--------+
"""

from collections.abc import Callable, Iterator

import numpy as np

from fencegrade.problems import Problem, mistake, warning
from fencegrade.units import format_share
from fencegrade.units.arrays import Floats
from fencegrade.units.words import Words

LEVEL_ENOUGH = 0.05
"""Up to this slope the ground may be taped along (FAO Training Series 16/1, Topography, section 2.0)."""

REACH = 95.0
"""A tape laid on the ground bridges anything shorter than this (in), about 8 ft (own choice)."""


def level_stations(taped: Floats, elevations: Floats) -> Floats:
    """Level stations (in) of `taped` stations (n,) along ground at `elevations` (n,), all in inches.

    Straight ground between readings; a face has no length. NaN from where ground rises more than was taped.
    Source: Pythagoras, a leg at a time.
    """
    along, rise = np.diff(taped), np.diff(elevations)
    with np.errstate(invalid="ignore"):
        legs = np.where(along == 0, 0.0, np.sqrt(along**2 - rise**2))
    return np.concatenate([[taped[0]], taped[0] + np.cumsum(legs)])


def too_steep(taped: Floats, elevations: Floats, run: str, words: Words) -> Iterator[Problem]:
    """Mistakes where the ground rises more between two stations than the tape between them."""
    for a, b, rise in zip(taped[:-1], taped[1:], np.diff(elevations), strict=True):
        if a != b and abs(rise) >= b - a:
            yield mistake(
                f"{run}, {words.stretch(float(a), float(b))}",
                f"the ground changes by {words.fine(abs(float(rise)))} within {words.fine(float(b - a))} of "
                "tape, which cannot be",
                "check both readings; at a wall or kerb give two readings at one station, before and after",
            )


def slope_doubt(
    stations: Floats,
    elevations: Floats,
    run: str,
    words: Words,
    shorter: Callable[[], float | None] = lambda: None,
) -> Iterator[Problem]:
    """A warning where ground is so steep that taping along it would matter; the rise of faces left out.

    `shorter`: how much shorter (in) its remedy makes the run, None where no tape can have lain so.
    """
    jumps = np.where(np.diff(stations) == 0, np.diff(elevations), 0.0)
    elevations = elevations - np.concatenate([[0.0], np.cumsum(jumps)])
    stations, elevations = _wide_apart(stations, elevations)
    level = level_stations(stations, elevations)
    if not np.isfinite(level[-1]):
        return
    length = float(stations[-1] - stations[0])
    excess = length - float(level[-1] - level[0])
    steepness = float(np.sqrt(2 * max(excess, 0.0) / length))
    if steepness > LEVEL_ENOUGH and excess > max(words.mark, 0.5):
        less = shorter()
        less = excess if less is None else less
        places = ", and much steeper in places" if less > excess + words.mark else ""
        yield warning(
            run,
            f"the ground is on the whole as steep as an even slope of {format_share(steepness, 0)}{places}: "
            f"if the tape lay along it, the run is {words.fine(less)} shorter than the "
            f"{words.station(length)} written",
            f"hold the tape level on ground steeper than {format_share(LEVEL_ENOUGH, 0)}; where it lay along "
            'the ground, the run says stations_taped = "along the slope" in the job file',
        )


def _wide_apart(stations: Floats, elevations: Floats) -> tuple[Floats, Floats]:
    """Readings at least `REACH` apart and the last one: a tape on the ground bridges roots and kerbs."""
    kept = [0]
    for i in range(1, len(stations) - 1):
        if stations[i] - stations[kept[-1]] >= REACH and stations[-1] - stations[i] >= REACH:
            kept.append(i)
    kept.append(len(stations) - 1)
    return stations[kept], elevations[kept]
