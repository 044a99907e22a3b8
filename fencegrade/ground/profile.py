"""The ground line: a shape-preserving curve through the readings, exact in its extremes.

Between two readings PCHIP is monotone, so over any stretch the highest and the lowest ground lie at a
reading or at an end of the stretch. A vertical face (wall, kerb) splits the line into pieces that know
nothing of each other; at the face itself the ground has two heights.

    elevation
      |          o----o          o  reading
      |     o   .      `. face   |  two readings at one station
      |   .  `o'        o-----o
      +---------------------------- station
"""

from itertools import pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike
from scipy.interpolate import PchipInterpolator, PPoly

from fencegrade.units.arrays import Floats, Numbers, Truths

LEAST_FOR_CURVE = 4
"""With fewer readings than this in a piece the ground is taken straight between them."""


class GroundUnder(Struct, frozen=True, kw_only=True, eq=False):
    """Ground (in) under stretches: at their left and right ends, and the extremes between."""

    left: Floats
    right: Floats
    highest: Floats
    lowest: Floats


class GroundLine(Struct, frozen=True, kw_only=True, eq=False):
    """Ground elevation by station, exact between its first and last reading and nowhere else.

    `stations` (n,) in inches, ascending, a face standing as two equal stations; `elevations` (n,) in
    inches; `coefficients` (n - 1, 4): the cubic of each interval in (station - its start), highest
    power first; intervals at a face have no width and are never used.
    """

    stations: Floats
    elevations: Floats
    coefficients: Floats

    @property
    def start(self) -> float:
        """First surveyed station (in)."""
        return float(self.stations[0])

    @property
    def end(self) -> float:
        """Last surveyed station (in)."""
        return float(self.stations[-1])

    @property
    def faces(self) -> Floats:
        """Stations (in) of vertical faces."""
        return np.asarray(self.stations[1:][np.diff(self.stations) == 0], dtype=float)

    def carried(self, start: float, end: float) -> "GroundLine":
        """The same line carried level as far as `start` and `end` (in) where they lie past its readings.

        For a post that was set there, and never for a board: nobody measured.
        """
        line = self
        if start < self.start:
            line = GroundLine(
                stations=np.append(start, line.stations),
                elevations=np.append(line.elevations[0], line.elevations),
                coefficients=np.vstack([[0.0, 0.0, 0.0, line.elevations[0]], line.coefficients]),
            )
        if end > self.end:
            line = GroundLine(
                stations=np.append(line.stations, end),
                elevations=np.append(line.elevations, line.elevations[-1]),
                coefficients=np.vstack([line.coefficients, [0.0, 0.0, 0.0, line.elevations[-1]]]),
            )
        return line

    def elevation(self, x: ArrayLike, before: bool = False) -> Floats:
        """Ground elevation (in) at stations `x` (in, any shape).

        At a face the ground just after it is given, or just before it with `before`. Errors:
        ValueError where `x` lies outside the readings (nothing is extrapolated).
        """
        x = np.asarray(x, dtype=float)
        self._inside(x, x)
        z: Floats = self._evaluate(x)
        return self._before_faces(z, x, np.ones(x.shape, dtype=bool)) if before else z

    def highest(self, a: ArrayLike, b: ArrayLike) -> Floats:
        """Highest ground (in) over each stretch [a, b] (in, equal shapes); exact, not sampled.

        A stretch that begins or ends at a face takes the ground on its own side of it; one of no width
        takes the ground after it. Errors: ValueError for a stretch outside the readings or with b < a.
        Source: own derivation from the monotonicity of PCHIP (Fritsch & Carlson 1980; Fritsch &
        Butland 1984).
        """
        return self.under(a, b).highest

    def lowest(self, a: ArrayLike, b: ArrayLike) -> Floats:
        """Lowest ground (in) over each stretch [a, b]; as `highest`."""
        return self.under(a, b).lowest

    def extremes(self, a: ArrayLike, b: ArrayLike) -> tuple[Floats, Floats]:
        """Highest and lowest ground (in) over each stretch [a, b], found together; as `highest`."""
        under = self.under(a, b)
        return under.highest, under.lowest

    def under(self, a: ArrayLike, b: ArrayLike) -> GroundUnder:
        """Ground under each stretch [a, b] (in, equal shapes): both ends and both extremes.

        Time grows with the stretches and the readings under them; stretches in order of station are
        fastest. Errors: ValueError for a stretch outside the readings or with b < a. Source: as `highest`.
        """
        a, b = np.broadcast_arrays(np.asarray(a, dtype=float), np.asarray(b, dtype=float))
        self._inside(a, b)
        left = self._evaluate(a)
        right = self._before_faces(self._evaluate(b), b, a < b)
        highest, lowest = np.array(np.maximum(left, right)), np.array(np.minimum(left, right))
        self._reach_readings(a, b, highest, lowest)
        return GroundUnder(left=left, right=right, highest=highest, lowest=lowest)

    def _reach_readings(self, a: Floats, b: Floats, highest: Floats, lowest: Floats) -> None:
        """Widen the extremes, in place, by the readings strictly inside each stretch."""
        if a.ndim == 1 and len(a) > len(self.stations) and bool(np.all(b[:-1] <= a[1:])):
            self._reach_apart(a, b, highest, lowest)
            return
        first = np.searchsorted(self.stations, a, side="right")
        past = np.searchsorted(self.stations, b, side="left")
        holds = np.asarray(first < past)
        if not holds.any():
            return
        bounds = np.stack([first[holds], past[holds]], axis=-1).ravel()
        padded = np.append(self.elevations, self.elevations[-1])
        highest[holds] = np.maximum(highest[holds], np.maximum.reduceat(padded, bounds)[::2])
        lowest[holds] = np.minimum(lowest[holds], np.minimum.reduceat(padded, bounds)[::2])

    def _reach_apart(self, a: Floats, b: Floats, highest: Floats, lowest: Floats) -> None:
        """The same for many stretches in order that do not overlap: each reading finds its own."""
        owner = np.searchsorted(a, self.stations, side="left") - 1
        inside = np.flatnonzero((owner >= 0) & (self.stations < b[owner]))
        np.maximum.at(highest, owner[inside], self.elevations[inside])
        np.minimum.at(lowest, owner[inside], self.elevations[inside])

    def _evaluate(self, x: Floats) -> Floats:
        """The curve at x, after a face where x is one."""
        curve = PPoly(self.coefficients.T, self.stations, extrapolate=True)
        return np.asarray(curve(x), dtype=float)

    def _before_faces(self, z: Floats, x: Floats, where: Truths) -> Floats:
        """Put the ground before a face into `z` for each `x` that is a face and is asked for by `where`."""
        after = np.flatnonzero(np.diff(self.stations) == 0)
        if not len(after):
            return z
        faces = self.stations[after]
        k = np.minimum(np.searchsorted(faces, x), len(faces) - 1)
        return np.asarray(np.where((faces[k] == x) & where, self.elevations[after[k]], z), dtype=float)

    def _inside(self, a: Floats, b: Floats) -> None:
        if a.size and not (a.min() >= self.start and b.max() <= self.end and np.all(a <= b)):
            raise ValueError(
                f"stations must lie within the readings, {self.start:g} to {self.end:g} in, and run forward"
            )


def ground_line(stations: Numbers, elevations: Numbers) -> GroundLine:
    """The ground line through readings.

    `stations` (n,) inches, ascending, equal only in pairs where a face stands (before, then after);
    `elevations` (n,) inches. PCHIP in each piece between faces, straight where a piece has fewer than four
    readings. Errors: ValueError for fewer than two readings, stations out of order, a face at an end. Source:
    scipy.interpolate.PchipInterpolator (Fritsch & Butland 1984 slopes).
    """
    x = np.array(stations, dtype=float)
    z = np.array(elevations, dtype=float)
    _refuse_unfit(x, z)
    coefficients = np.zeros((4, len(x) - 1))
    for first, past in between_faces(x):
        if past - first > 1:
            coefficients[:, first : past - 1] = _piece(x[first:past], z[first:past])
    return GroundLine(stations=x, elevations=z, coefficients=coefficients.T)


def between_faces(stations: Floats) -> list[tuple[int, int]]:
    """First index, and the one past the last, of every piece of a survey (n,) between its faces."""
    cuts = (np.flatnonzero(np.diff(stations) == 0) + 1).tolist()
    return list(pairwise([0, *cuts, len(stations)]))


def _refuse_unfit(x: Floats, z: Floats) -> None:
    if x.ndim != 1 or x.shape != z.shape or len(x) < 2:
        raise ValueError("a ground line needs two readings or more, one elevation a station")
    if not (np.isfinite(x).all() and np.isfinite(z).all()):
        raise ValueError("stations and elevations must be finite numbers")
    steps = np.diff(x)
    if (steps < 0).any() or ((steps[:-1] == 0) & (steps[1:] == 0)).any():
        raise ValueError("stations must ascend; only a face has two readings at one station")
    if steps[0] == 0 or steps[-1] == 0:
        raise ValueError("a face needs readings on both sides of it")


def _piece(x: Floats, z: Floats) -> Floats:
    if len(x) >= LEAST_FOR_CURVE:
        cubic = np.array(PchipInterpolator(x, z - z[0]).c)
        cubic[3] = z[:-1]
        return cubic
    straight = np.zeros((4, len(x) - 1))
    straight[2] = np.diff(z) / np.diff(x)
    straight[3] = z[:-1]
    return straight
