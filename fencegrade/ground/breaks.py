"""Which readings were taken at a visible break of the ground, where the builder says all were read.

|       |       |   | | |       |       |     an even grid, read all along
                    ^   ^                     and further readings between: the ground breaks there
"""

import numpy as np

from fencegrade.units.arrays import Floats

ON_GRID = 0.04
"""A station this near to a grid point, as a share of the grid's spacing, is on the grid."""

COMPLETE = 0.85
"""Share of a grid's points that must have been read for it to be the builder's grid."""

LEAST_GRID = 4

MOST_BETWEEN = 0.42
"""No more than this share of a survey stands between the grid's points."""


def breaks_seen(stations: Floats) -> Floats:
    """Stations (in) of inner readings between the points of an otherwise even survey.

    `stations` (n,) inches, ascending. None where no even grid is seen, as with paced or random stations.
    Source: own derivation.
    """
    x = np.unique(stations)
    best: Floats | None = None
    for spacing in _candidates(x):
        for origin in (x[0], x[-1]):
            off = _off_grid(x, float(origin), float(spacing))
            if off is not None and (best is None or len(off) < len(best)):
                best = off
        if best is not None:
            break
    return np.zeros(0) if best is None else best


def _candidates(x: Floats) -> Floats:
    """Spacings that occur often, widest first."""
    gaps, counts = np.unique(np.round(np.diff(x) * 4) / 4, return_counts=True)
    often = (counts >= max(2, 0.08 * (len(x) - 1))) & (gaps > 0)
    return np.asarray(gaps[often][::-1], dtype=float)


def _off_grid(x: Floats, origin: float, spacing: float) -> Floats | None:
    place = (x - origin) / spacing
    near = np.round(place)
    on = np.abs(place - near) <= ON_GRID
    points = np.floor((x[-1] - x[0]) / spacing + ON_GRID) + 1
    if points < LEAST_GRID or len(np.unique(near[on])) < COMPLETE * points:
        return None
    off = ~on
    off[[0, -1]] = False
    return np.asarray(x[off], dtype=float) if off.sum() <= MOST_BETWEEN * len(x) else None
