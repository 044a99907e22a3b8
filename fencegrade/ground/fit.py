"""The ground profile of a run: the line through the readings, and how sure it is."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fencegrade.ground.breaks import breaks_seen
from fencegrade.ground.profile import GroundLine, GroundUnder, ground_line
from fencegrade.ground.sag import SharedSag

if TYPE_CHECKING:
    from fencegrade.ground.band import GroundBand

Floats = NDArray[np.float64]

DEFAULT_READING_ERROR = 3 / 16
"""One standard deviation of a reading (in) where nothing else is known: between 1/8 and 1/4 in on a good day
(common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroundProfile:
    """Ground by station, exact through the readings, with an error band that is worked out when first asked.

    `line` the curve; `reading_error` one standard deviation of a reading (in); `breaks` stations (in) of
    readings taken at a visible break of the ground; `count` (n,) readings averaged at each spot; `sags`
    doubts common to all that was read under one string.
    """

    line: GroundLine
    reading_error: float
    breaks: Floats
    count: Floats
    sags: tuple[SharedSag, ...] = ()
    _kept: list["GroundBand"] = field(default_factory=list, repr=False)

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

    @property
    def spread(self) -> "GroundBand":
        """How sure the ground is; worked out when first asked."""
        if not self._kept:
            from fencegrade.ground.band import GroundBand

            self._kept.append(
                GroundBand(
                    line=self.line,
                    count=self.count,
                    noise=self.reading_error**2,
                    at_break=np.isin(self.line.stations, self.breaks),
                    sags=self.sags,
                )
            )
        return self._kept[0]

    def band(self, x: ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
        """Lowest and highest ground (in) at stations `x` (in) that hold the true one with chance `level`.

        Student t about the line; see `band` and `roughness` for the model. Errors: ValueError where `x` lies
        outside the readings or the level is not between 0 and 1.
        """
        return self.spread.band(x, level)


def fit_ground(
    stations: Sequence[float] | Floats,
    elevations: Sequence[float] | Floats,
    reading_error: float | None = None,
    breaks: Sequence[float] | Floats | None = (),
) -> GroundProfile:
    """The ground profile through readings.

    `stations` (n,) inches, ascending, equal only in pairs where a face stands (before, then after);
    `elevations` (n,) inches; `reading_error` one standard deviation of a reading (in), 3/16 in if None;
    `breaks` stations (in) of readings that were taken at a visible break, where the line may bend sharply:
    where none are named they are looked for among readings between an even grid, None says there are none.
    Errors: ValueError for readings no line goes through, a break that is no reading, or a reading error
    that is not over zero.
    """
    error = DEFAULT_READING_ERROR if reading_error is None else float(reading_error)
    if not (np.isfinite(error) and error > 0):
        raise ValueError("the reading error must be a length over zero")
    x = np.asarray(stations, dtype=float)
    bends = np.zeros(0) if breaks is None else np.sort(np.asarray(breaks, dtype=float))
    line = ground_line(x, elevations, bends)
    if breaks is not None and not len(bends):
        bends = breaks_seen(x)
        line = ground_line(x, elevations, bends) if len(bends) else line
    return GroundProfile(line=line, reading_error=error, breaks=bends, count=np.ones(len(x)))
