"""The finished ground below boards against the same ground looked at closely."""

import numpy as np
import pytest
from straight_ground import straight_ground

from fencegrade.fence.pickets.ground_below import soil_below

LINE = straight_ground([0.0, 50.0, 100.0], [0.0, -1.0, 1.0])
LEFT, RIGHT = np.array([10.0, 35.0, 50.0, 70.0]), np.array([30.0, 55.0, 66.0, 90.0])
SOIL = (
    np.array([20.0, 40.0]),
    np.array([40.0, 60.0]),
    np.array([6.0, 6.0]),
    np.array([6.0, 0.0]),
)
"""Soil that stands 6 in high from 20 to 40 in and runs out to nothing at 60 in."""


def finished(x: np.ndarray) -> np.ndarray:
    start, end, _, _ = SOIL
    soil = np.interp(x, [start[0], end[0], end[1]], [6.0, 6.0, 0.0], left=-9.0, right=-9.0)
    return np.asarray(np.maximum(LINE.elevation(x), soil))


def test_edges_stand_on_the_soil_where_it_lies() -> None:
    left, right = soil_below(LINE, LEFT, RIGHT, SOIL).at_edges()
    assert left == pytest.approx(finished(LEFT))
    assert right == pytest.approx(finished(RIGHT))


@pytest.mark.parametrize("slope", [0.0, 0.2, -0.35])
def test_the_highest_and_lowest_about_a_slope(slope: float) -> None:
    high, low = soil_below(LINE, LEFT, RIGHT, SOIL).about(np.full(4, slope))
    for k, (a, b) in enumerate(zip(LEFT, RIGHT, strict=True)):
        x = np.linspace(a, b, 2001)
        over = finished(x) - slope * (x - a)
        assert (high[k], low[k]) == pytest.approx((over.max(), over.min()), abs=0.01)
