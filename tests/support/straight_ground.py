"""Ground that runs straight between its points, for figures worked by hand."""

import numpy as np
from numpy.typing import ArrayLike

from fencegrade.fence.low_ground.soil_body import CUBIC_FOOT, Moments, Section
from fencegrade.ground.profile import GroundLine
from fencegrade.units.arrays import Floats


def straight_ground(stations: ArrayLike, elevations: ArrayLike) -> GroundLine:
    """The ground (in) straight between points at `stations` (in); two at one station are a face."""
    x, z = np.array(stations, dtype=float), np.array(elevations, dtype=float)
    widths = np.diff(x)
    coefficients = np.zeros((len(x) - 1, 4))
    coefficients[:, 2] = np.diff(z) / np.where(widths == 0, 1.0, widths)
    coefficients[:, 3] = z[:-1]
    return GroundLine(stations=x, elevations=z, coefficients=coefficients)


def section_area(section: Section, depth: ArrayLike) -> Floats:
    """Area of a section (in^2) where the soil is as deep (in) all along: its volume by length."""
    d = np.asarray(depth, dtype=float)
    return section.volume(Moments(first=d, second=d * d)) * CUBIC_FOOT
