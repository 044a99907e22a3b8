"""The line that readings were taken from, and what stands over it: the string, or the survey's zero.

     ___________ top
          |  over the line
- - - - - - - - - string, as it hung
~~~~~~~~~~~~~~~~~ ground
"""

import numpy as np

from fencegrade.ground.survey import RunGround
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH

ZERO = "survey's zero"
"""What heights are told over where no string was read: the height the survey counts from."""


def over_line(ground: RunGround, stations: Floats, elevations: Floats) -> Floats:
    """How far elevations lie over the line that readings were taken from.

    ground: of the run; stations, elevations: (n,) in. Result: (n,) in, over the string at each station, sag
    taken off as it hung, the first where two overlap; over its end for a post set past it; nan between two;
    where no string was read, over the survey's zero, which is the elevation itself. Source: own derivation.
    """
    x, z = np.asarray(stations, dtype=float), np.asarray(elevations, dtype=float)
    if not ground.strings:
        return z.copy()
    over, x = np.full(len(x), np.nan), _along_strings(ground, x)
    for string in reversed(ground.strings):
        here = (x >= string.start - SAME_LENGTH) & (x <= string.end + SAME_LENGTH)
        over[here] = z[here] - string.elevation(np.clip(x[here], string.start, string.end))
    return over


def _along_strings(ground: RunGround, x: Floats) -> Floats:
    """Stations (in) as their strings have them: one before the first or past the last, at its end."""
    first, last = min(s.start for s in ground.strings), max(s.end for s in ground.strings)
    return np.clip(x, first, last)


def line_name(ground: RunGround, station: float) -> str:
    """What heights are told over at a station (in): `string`, `string A`, or the survey's zero."""
    name = string_at(ground, station)
    if name is not None:
        return f"string {name}"
    return "string" if ground.strings else ZERO


def string_at(ground: RunGround, station: float) -> str | None:
    """Name of the string that hung at a station (in), the first where two overlap; None where it has none."""
    station = float(_along_strings(ground, np.array(station))) if ground.strings else station
    for string in ground.strings:
        if string.start - SAME_LENGTH <= station <= string.end + SAME_LENGTH:
            return string.given_name
    return None
