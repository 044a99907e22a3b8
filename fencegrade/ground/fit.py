"""The ground profile of a run: the line through the readings, and how sure it is."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fencegrade.ground.profile import GroundLine, GroundUnder, ground_line

Floats = NDArray[np.float64]

DEFAULT_READING_ERROR = 3 / 16
"""One standard deviation of a reading (in) where nothing else is known: between 1/8 and 1/4 in on a good day
(common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundProfile:
    """Ground by station, exact through the readings, with an error band that is worked out when first asked.

    `line` the curve; `reading_error` one standard deviation of a reading (in); `breaks` stations (in) of
    readings taken at a visible break of the ground.
    """

    line: GroundLine
    reading_error: float
    breaks: Floats
    _kept: list[object] = field(default_factory=list, repr=False)

    @property
    def start(self) -> float:
        """First surveyed station (in)."""
        return self.line.start

    @property
    def end(self) -> float:
        """Last surveyed station (in)."""
        return self.line.end

    @property
    def faces(self) -> Floats:
        """Stations (in) of vertical faces."""
        return self.line.faces

    def elevation(self, x: ArrayLike, before: bool = False) -> Floats:
        """Ground elevation (in) at stations `x` (in), before a face with `before`. Errors: ValueError."""
        return self.line.elevation(x, before)

    def highest(self, a: ArrayLike, b: ArrayLike) -> Floats:
        """Highest ground (in) over each stretch [a, b] (in). Errors: ValueError."""
        return self.line.highest(a, b)

    def lowest(self, a: ArrayLike, b: ArrayLike) -> Floats:
        """Lowest ground (in) over each stretch [a, b] (in). Errors: ValueError."""
        return self.line.lowest(a, b)

    def extremes(self, a: ArrayLike, b: ArrayLike) -> tuple[Floats, Floats]:
        """Highest and lowest ground (in) over each stretch [a, b] (in), at once. Errors: ValueError."""
        return self.line.extremes(a, b)

    def under(self, a: ArrayLike, b: ArrayLike) -> GroundUnder:
        """Both ends and both extremes of the ground (in) under each stretch [a, b]. Errors: ValueError."""
        return self.line.under(a, b)


def fit_ground(
    stations: Sequence[float] | Floats,
    elevations: Sequence[float] | Floats,
    reading_error: float | None = None,
    breaks: Sequence[float] | Floats = (),
) -> GroundProfile:
    """The ground profile through readings.

    `stations` (n,) inches, ascending, equal only in pairs where a face stands (before, then after);
    `elevations` (n,) inches; `reading_error` one standard deviation of a reading (in), 3/16 in if None;
    `breaks` stations (in) of readings that were taken at a visible break. Errors: ValueError for readings no
    line goes through, or a reading error that is not over zero.
    """
    error = DEFAULT_READING_ERROR if reading_error is None else float(reading_error)
    if not (np.isfinite(error) and error > 0):
        raise ValueError("the reading error must be a length over zero")
    line = ground_line(stations, elevations)
    return GroundProfile(line=line, reading_error=error, breaks=np.sort(np.asarray(breaks, dtype=float)))
