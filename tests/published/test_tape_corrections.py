"""Shortening of a tape hung in spans, C = w^2 L^3 / 24 P^2, and level distance from slope distance.

The exercises cannot be looked up again: no source, computed. One prints 0.0498 m because it took 48.88 m, one
0.083 m, which fits neither one span nor five.
Slope excess by percent: own arithmetic; level enough up to 5 %: FAO Training Series 16/1, Topography,
section 2.0 (seen).
"""

import numpy as np
import pytest

from fencegrade.ground.sag import parabola_sag
from fencegrade.ground.slope import level_stations


def tape_shortening(weight: float, span: float, pull: float) -> float:
    """How much less a tape hung in one span reaches: 8 s^2 / 3 L of its sag s, for small sag."""
    return 8 * parabola_sag(weight, span, pull) ** 2 / (3 * span)


def test_tape_in_five_spans_and_in_one() -> None:
    assert 5 * tape_shortening(0.08, 10, 5) == pytest.approx(0.053, abs=0.0005)
    assert tape_shortening(0.08, 50, 5) == pytest.approx(1.33, abs=0.005)


def test_the_printed_answer_of_the_same_tape_is_wrong() -> None:
    for found in (5 * tape_shortening(0.08, 10, 5), tape_shortening(0.08, 50, 5)):
        assert found != pytest.approx(0.083, abs=0.01)


def test_tape_of_48_888_m() -> None:
    assert tape_shortening(0.32, 48.888, 100) == pytest.approx(0.04985, abs=5e-6)
    assert round(tape_shortening(0.32, 48.88, 100), 4) == 0.0498


def test_471_16_ft_in_full_and_part_spans() -> None:
    total = sum(tape_shortening(0.018, span, 24) for span in (100, 100, 100, 100, 71.16))
    assert total == pytest.approx(0.1022, abs=5e-5)
    assert 471.16 - total == pytest.approx(471.058, abs=5e-4)


def test_72_55_ft() -> None:
    assert 72.55 - tape_shortening(0.016, 72.55, 15) == pytest.approx(72.532, abs=5e-4)


@pytest.mark.parametrize(("slope", "excess"), [(0.05, 0.13), (0.10, 0.5), (0.20, 1.9), (1 / 3, 5.1)])
def test_excess_of_a_slope_distance(slope: float, excess: float) -> None:
    """How much of a slope distance is too much, percent: 1 - cos for tan = slope; 33 % is one in three."""
    taped = np.array([0.0, 1200.0 * np.hypot(1, slope)])
    level = level_stations(taped, np.array([0.0, 1200.0 * slope]))
    assert level[1] == pytest.approx(1200.0)
    assert 100 * (1 - level[1] / taped[1]) == pytest.approx(excess, abs=0.05)


def test_a_steady_slope_of_24_m() -> None:
    """24.172 m along the ground, rise 2.880 m: 24.000 m level (worked example of our own)."""
    f = 1000 / 25.4
    level = level_stations(np.array([0.0, 24.172 * f]), np.array([0.0, 2.880 * f]))
    assert level[1] / f == pytest.approx(24.000, abs=5e-4)
