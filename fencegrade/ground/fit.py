"""The ground profile of a run: the line through the readings, and how sure it is."""

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from fencegrade.ground.band import GroundBand, ground_band
from fencegrade.ground.profile import GroundLine, GroundUnder, ground_line
from fencegrade.ground.sag import SharedSag
from fencegrade.units.arrays import Floats, Numbers

DEFAULT_READING_ERROR = 3 / 16
"""One standard deviation of a reading (in) where nothing else is known: between 1/8 and 1/4 in on a good day
(common practice, no source)."""


class GroundProfile(Struct, frozen=True, kw_only=True, eq=False):
    """Ground by station, exact through the readings, with an error band.

    `line` the curve; `reading_error` one standard deviation of a reading (in); `breaks` stations (in) of
    readings named as taken at a visible break of the ground; `spread` how sure the ground is.
    """

    line: GroundLine
    reading_error: float
    breaks: Floats
    spread: GroundBand

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

    def band(self, x: ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
        """Lowest and highest ground that hold the true one with a chance.

        Parameters
        ----------
        x : any shape, in
            Stations within the readings.
        level : 0 to 1
            The chance.

        Returns
        -------
        low, high : shape of x, in
            Student t about the line, see `ground.band`. Errors: ValueError where `x` lies outside the
            readings or the level is not between 0 and 1.
        """
        half, line = self.spread.at(x).half_width(level), self.elevation(x)
        return line - half, line + half

    def quantile(self, x: ArrayLike, level: ArrayLike) -> Floats:
        """The elevation (in) the ground at stations `x` (in) stays under with the chance `level` (0 to 1).

        `x` and `level` of shapes that go together; errors as `band`.
        """
        chance = np.asarray(level, dtype=float)
        if not np.all((chance > 0) & (chance < 1)):
            raise ValueError("a level lies between 0 and 1, such as 0.95")
        return self.elevation(x) + self.spread.at(x).above(chance)

    def chance_off(self, x: ArrayLike, tolerance: ArrayLike) -> Floats:
        """Chance (0 to 1) that the ground at stations `x` (in) is off the line by over `tolerance` (in)."""
        return 2 * self.spread.at(x).beyond(tolerance)

    def chance_outside(
        self,
        left: ArrayLike,
        right: ArrayLike,
        foot: ArrayLike,
        least: ArrayLike,
        most: ArrayLike,
        slope: ArrayLike = 0.0,
    ) -> Floats:
        """Chance (n,) that boards cut to their feet stand with an open height outside `least` to `most`.

        `left`, `right` (n,) edges (in); `foot` (n,) elevation of the bottom at the left edge (in); `least`
        over the highest and `most` over the lowest ground under the board (in); `slope` (n,) of the bottom
        cut, 0 for a square one. See `GroundBand.chance_outside`. Errors: ValueError outside the readings.
        """
        return self.spread.chance_outside(left, right, foot, least, most, slope)

    def draws(self, x: ArrayLike, count: int, seed: int = 0) -> Floats:
        """Joint draws (count, k) of the ground (in) at ascending stations `x` (k,) (in); see `GroundBand`."""
        return self.spread.draws(x, count, seed)


def fit_ground(
    stations: Numbers,
    elevations: Numbers,
    reading_error: float | None = None,
    breaks: Numbers = (),
) -> GroundProfile:
    """The ground profile through readings, given as lists or arrays of numbers.

    Parameters
    ----------
    stations : (n,) in
        Ascending, equal only in pairs where a face stands (before, then after).
    elevations : (n,) in
        Of the readings.
    reading_error : in
        One standard deviation of a reading, 3/16 in if None.
    breaks : (k,) in
        Stations of readings that were taken at a visible break of the ground. None are guessed.

    Returns
    -------
    GroundProfile
        PCHIP between faces, with its band. Errors: ValueError for readings no line goes through, a break
        that is no reading, or a reading error that is not over zero.
    """
    return ground_profile(ground_line(stations, elevations), reading_error, breaks)


def ground_profile(
    line: GroundLine,
    reading_error: float | None = None,
    breaks: Numbers = (),
    count: ArrayLike = 1.0,
    sags: tuple[SharedSag, ...] = (),
    counted: bool = False,
) -> GroundProfile:
    """A profile of a line; as `fit_ground`, with the readings averaged at each spot and doubts of sag."""
    error = DEFAULT_READING_ERROR if reading_error is None else float(reading_error)
    if not (np.isfinite(error) and error > 0):
        raise ValueError("the reading error must be a length over zero")
    named = np.sort(np.asarray(breaks, dtype=float))
    if not np.isin(named, line.stations).all():
        raise ValueError("a break must stand at the station of a reading")
    at_break = np.isin(line.stations, named)
    return GroundProfile(
        line=line,
        reading_error=error,
        breaks=named,
        spread=ground_band(line, error, at_break, count, sags, counted),
    )
