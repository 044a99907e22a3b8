"""Readings at breaks seen from the spacing."""

import numpy as np
import pytest

from fencegrade.ground.breaks import _candidates, _off_grid, breaks_seen


def test_readings_between_an_even_grid() -> None:
    x = np.array([0, 4, 8, 10, 11, 12, 13, 14, 16, 20, 24]) * 12.0
    assert breaks_seen(x) == pytest.approx(np.array([10, 11, 13, 14]) * 12.0)


def test_the_widest_spacing_that_is_seen_is_the_grid() -> None:
    """Every 4 ft, and between them where it breaks: not an even 2 ft with readings left out."""
    x = np.array([0, 4, 8, 10, 12, 16, 18, 20, 24, 28]) * 12.0
    assert breaks_seen(x) == pytest.approx(np.array([10, 18]) * 12.0)


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


@pytest.mark.parametrize(
    ("feet", "spacings"),
    [
        ([0, 4, 8, 12], [48]),
        ([0, 4, 8, 12, 14, 16], [48, 24]),
        ([0, 4, 8, 9, 12, 16], [48]),
        ([0, 4.01, 8, 12], [48]),
        ([0, 5, 9], []),
    ],
)
def test_spacings_that_occur_twice_the_widest_first(feet: list[float], spacings: list[float]) -> None:
    assert _candidates(np.array(feet) * 12).tolist() == spacings


@pytest.mark.parametrize(
    ("feet", "between"),
    [
        ([0, 4, 8, 12], []),
        ([0, 4, 8], None),  # too few points for a grid
        ([0, 4, 6, 8, 12], [6]),
        ([0, 4, 8, 12, 16, 20, 28], []),  # seven of eight points read
        ([0, 4, 8, 12, 16, 28], None),  # six of eight
        ([0, 4.15, 8, 12], []),  # within a twenty-fifth of the grid
        ([0, 4.2, 8, 12], None),
        ([0, 4, 8, 12, 16, 20, 24, 28, 25, 26, 21, 22, 23], [21, 22, 23, 25, 26]),
        ([0, 4, 8, 12, 16, 20, 24, 28, 25, 26, 27, 21, 22, 23], None),
        ([0, 4, 8, 12, 9, 10, 11, 5, 6, 7], None),  # more between the points than on them
    ],
)
def test_readings_off_a_grid_of_4_ft(feet: list[float], between: list[float] | None) -> None:
    found = _off_grid(np.sort(np.array(feet, dtype=float)) * 12, 0.0, 48.0)
    assert (None if found is None else (found / 12).tolist()) == between
