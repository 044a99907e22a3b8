"""The top line itself: straight pieces, with a step where two stations are equal."""

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.tops.table import TopStyle
from fencegrade.units.arrays import Floats


class TopLine(Struct, frozen=True, kw_only=True, eq=False):
    """A top line as straight pieces: elevations (n,) at stations (n,), in; a step is two equal stations."""

    style: TopStyle
    stations: Floats
    elevations: Floats

    def at(self, x: Floats) -> Floats:
        """Elevation (in) of the top at stations `x` (in); at a step, one of its two sides."""
        return np.interp(x, self.stations, self.elevations)

    def sides(self, x: Floats) -> tuple[Floats, Floats]:
        """Elevation (in) just before and just after stations `x` (in, any shape); they differ at a step."""
        x = np.asarray(x, dtype=float)
        after = self._piece(x, np.searchsorted(self.stations, x, side="right"))
        before = self._piece(x, np.searchsorted(self.stations, x, side="left"))
        return before, after

    def _piece(self, x: Floats, right: np.ndarray) -> Floats:
        j = np.clip(right, 1, len(self.stations) - 1)
        a, b = self.stations[j - 1], self.stations[j]
        za, zb = self.elevations[j - 1], self.elevations[j]
        share = np.divide(x - a, b - a, out=np.zeros_like(x), where=b > a)
        return np.asarray(za + np.clip(share, 0.0, 1.0) * (zb - za), dtype=float)

    def carried(self, start: float, end: float) -> "TopLine":
        """The same line carried straight on as far as `start` and `end` (in) where they lie past its ends."""
        x, z = self.stations.copy(), self.elevations.copy()
        ahead, past = max(0.0, x[0] - start), max(0.0, end - x[-1])
        z[0] -= self.slopes[0] * ahead
        z[-1] += self.slopes[-1] * past
        x[0] -= ahead
        x[-1] += past
        return replace(self, stations=x, elevations=z)

    def straight_within(self, off: float) -> bool:
        """Whether it lies no further than `off` (in) from the straight line between its ends."""
        ends = np.interp(self.stations, self.stations[[0, -1]], self.elevations[[0, -1]])
        return bool(np.abs(self.elevations - ends).max() <= off)

    def level_within(self, off: float) -> bool:
        """Whether it lies no further than `off` (in) from one height."""
        return bool(np.ptp(self.elevations) <= 2 * off)

    @property
    def slopes(self) -> Floats:
        """Slope (rise over run) of every piece that has length."""
        run = np.diff(self.stations)
        return np.asarray(np.diff(self.elevations)[run > 0] / run[run > 0])

    @property
    def bends(self) -> Floats:
        """Change of slope (rise over run) at every corner between two pieces that meet without a step."""
        run = np.diff(self.stations)
        both = (run[:-1] > 0) & (run[1:] > 0)
        return np.asarray(np.diff(np.diff(self.elevations) / np.where(run > 0, run, 1.0))[both])

    @property
    def largest_bend(self) -> float:
        """The largest of its bends, whichever way."""
        return float(np.abs(self.bends).max(initial=0.0))

    @property
    def steps(self) -> Floats:
        """Rise (in) at every step."""
        return np.asarray(np.diff(self.elevations)[np.diff(self.stations) == 0])
