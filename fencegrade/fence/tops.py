"""The top line: the line the finished tops follow."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.slots import Slots
from fencegrade.ground.about_line import extremes_about_line
from fencegrade.ground.profile import GroundLine
from fencegrade.job.records import TopStyle

Floats = NDArray[np.float64]

_TOUCH = 1e-9
"""Inches by which a supporting line may miss the ground it rests on."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TopLine:
    """A top line as straight pieces: elevations (n,) at stations (n,), inches; a step is two equal stations."""

    style: TopStyle
    stations: Floats
    elevations: Floats

    def at(self, x: Floats) -> Floats:
        """Elevation (in) of the top at stations `x` (in)."""
        return np.interp(x, self.stations, self.elevations)


def level_top(line: GroundLine, start: float, end: float, least_height: float) -> TopLine:
    """The lowest level line that keeps `least_height` over the highest ground of [start, end], all inches."""
    high = float(line.highest(start, end)) + least_height
    return TopLine(
        style=TopStyle.LEVEL, stations=np.array([start, end]), elevations=np.array([high, high])
    )


def sloped_top(line: GroundLine, start: float, end: float, least_height: float) -> TopLine:
    """The lowest straight line (least mean height) that keeps `least_height` everywhere on [start, end].

    All inches. The line of least mean height is the edge of the ground's upper hull that lies over the
    middle of the run; points where the curved ground still pierces it are added until none does.
    Source: own derivation. Exact to 1e-9 in.
    """
    x = np.unique(np.concatenate([[start, end], _knots(line, start, end)]))
    z = np.maximum(_upper(line, x, start, end), -np.inf)
    for _ in range(200):
        slope, base = _hull_edge(x, z, (start + end) / 2)
        high, at = _highest_over(line, x, slope, start)
        if high <= base + slope * start + _TOUCH:
            break
        order = np.searchsorted(x, at)
        x, z = np.insert(x, order, at), np.insert(z, order, _upper(line, np.array([at]), start, end)[0])
    ends = base + slope * np.array([start, end]) + least_height
    return TopLine(style=TopStyle.SLOPED, stations=np.array([start, end]), elevations=ends)


def _knots(line: GroundLine, start: float, end: float) -> Floats:
    return line.stations[(line.stations > start) & (line.stations < end)]


def _upper(line: GroundLine, x: Floats, start: float, end: float) -> Floats:
    """Ground at x, the higher of the two sides at a face."""
    after = line.elevation(np.minimum(x, end))
    before = line.elevation(np.maximum(x, start), before=True)
    inner = (x > start) & (x < end)
    return np.where(inner, np.maximum(after, before), np.where(x <= start, after, before))


def _hull_edge(x: Floats, z: Floats, middle: float) -> tuple[float, float]:
    """Slope and height at 0 of the upper hull's edge over `middle`."""
    hull: list[int] = []
    for i in range(len(x)):
        while len(hull) > 1 and _turns_up(x, z, hull[-2], hull[-1], i):
            hull.pop()
        hull.append(i)
    right = next(k for k in range(1, len(hull)) if x[hull[k]] >= middle)
    a, b = hull[right - 1], hull[right]
    slope = float((z[b] - z[a]) / (x[b] - x[a]))
    return slope, float(z[a] - slope * x[a])


def _turns_up(x: Floats, z: Floats, i: int, j: int, k: int) -> bool:
    return bool((z[j] - z[i]) * (x[k] - x[i]) <= (z[k] - z[i]) * (x[j] - x[i]))


def _highest_over(line: GroundLine, x: Floats, slope: float, start: float) -> tuple[float, float]:
    """The greatest G - slope (station - start) between the points x, and the station where it is."""
    a, b = x[:-1], x[1:]
    high, _ = extremes_about_line(line, a, b, np.full(len(a), slope))
    over = high - slope * (a - start)
    k = int(np.argmax(over))
    return float(over[k]), _touching(line, float(a[k]), float(b[k]), slope)


def _touching(line: GroundLine, a: float, b: float, slope: float) -> float:
    """Station in [a, b] where G - slope x is greatest, by golden section within one smooth piece."""
    from scipy.optimize import minimize_scalar

    found = minimize_scalar(
        lambda s: -(float(line.elevation(s)) - slope * s), bounds=(a, b), method="bounded",
        options={"xatol": 1e-10},
    )
    return float(found.x)


def contour_top(line: GroundLine, slots: Slots, start: float, end: float, least_height: float) -> TopLine:
    """Ground plus `least_height`, eased from picket to picket, and nowhere lower than that.

    `slots`: the pickets, whose middles are the corners of the line. Each corner is the mean of its
    neighbours and itself (weights 1 2 1), then raised by what the ground between still pierces. All
    inches. Source: own derivation.
    """
    x = np.unique(np.concatenate([[start, end], slots.centre]))
    z = _upper(line, x, start, end)
    eased = z.copy()
    eased[1:-1] = (z[:-2] + 2 * z[1:-1] + z[2:]) / 4
    slope = np.diff(eased) / np.diff(x)
    high, _ = extremes_about_line(line, x[:-1], x[1:], slope)
    lift = np.maximum(high - eased[:-1], 0.0)
    raised = np.maximum(np.append(lift, 0.0), np.insert(lift, 0, 0.0))
    return TopLine(style=TopStyle.CONTOUR, stations=x, elevations=eased + raised + least_height)
