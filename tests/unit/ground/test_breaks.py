"""Readings at breaks seen from the spacing."""

import numpy as np
import pytest

from fencegrade.ground.breaks import breaks_seen, closest_spaced
from fencegrade.ground.fit import fit_ground


def test_readings_between_an_even_grid() -> None:
    x = np.array([0, 4, 8, 10, 11, 12, 13, 14, 16, 20, 24]) * 12.0
    assert breaks_seen(x) == pytest.approx(np.array([10, 11, 13, 14]) * 12.0)


@pytest.mark.parametrize("reverse", [False, True])
def test_a_short_last_step_is_no_break(reverse: bool) -> None:
    x = np.array([0, 96, 192, 288, 384, 430.0])
    x = np.sort(430 - x) if reverse else x
    assert len(breaks_seen(x)) == 0
    with_one = np.sort(np.append(x, 230.0))
    assert breaks_seen(with_one) == pytest.approx([230.0])


def test_no_grid_no_breaks() -> None:
    rng = np.random.default_rng(0)
    for _ in range(20):
        assert len(breaks_seen(np.cumsum(rng.uniform(30, 60, 30)))) == 0
    assert len(breaks_seen(np.array([0.0, 1, 3, 4, 6, 7, 9, 10, 12, 13, 15]))) == 0
    assert len(breaks_seen(np.array([0.0, 48.0]))) == 0


def test_closest_spaced() -> None:
    assert closest_spaced(np.array([0.0, 50, 95, 145, 160, 210, 262])) == pytest.approx([145.0, 160.0])
    assert closest_spaced(np.array([0.0, 100, 120, 220])) == pytest.approx([100.0, 120.0])
    assert len(closest_spaced(np.array([0.0, 15, 60, 100, 115]))) == 0
    assert len(closest_spaced(np.array([0.0, 15, 60]))) == 0


def test_the_line_may_bend_at_a_break_and_the_band_narrows() -> None:
    x = np.array([0, 4, 8, 12, 15, 16, 20, 24, 28, 32]) * 12.0
    z = np.array([0, 1, 0, 1, 0, 8, 8, 9, 8, 9.0])
    seen, smooth = fit_ground(x, z), fit_ground(x, z, breaks=None)
    assert list(seen.breaks) == [180.0]
    assert list(smooth.breaks) == []
    between = np.array([24.0, 72.0, 300.0])
    assert (seen.spread.deviation(between) < smooth.spread.deviation(between)).all()
    straight = fit_ground(x, z, breaks=x[1:-1])
    assert straight.elevation(np.linspace(0, 384, 97)) == pytest.approx(
        np.interp(np.linspace(0, 384, 97), x, z)
    )


def test_a_break_must_be_a_reading() -> None:
    with pytest.raises(ValueError, match="break"):
        fit_ground([0, 48, 96], [1, 2, 3], breaks=[50.0])
