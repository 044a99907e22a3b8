"""Ground that runs straight between its points, for figures worked by hand."""

from collections.abc import Sequence

import numpy as np

from fencegrade.ground.profile import GroundLine


def straight_ground(stations: Sequence[float], elevations: Sequence[float]) -> GroundLine:
    """The ground (in) straight between points at `stations` (in); two at one station are a face."""
    x, z = np.array(stations, dtype=float), np.array(elevations, dtype=float)
    widths = np.diff(x)
    coefficients = np.zeros((len(x) - 1, 4))
    coefficients[:, 2] = np.diff(z) / np.where(widths == 0, 1.0, widths)
    coefficients[:, 3] = z[:-1]
    return GroundLine(stations=x, elevations=z, coefficients=coefficients)
