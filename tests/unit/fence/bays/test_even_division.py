import numpy as np
import pytest

from fencegrade.fence.bays.even_division import divide_evenly

FREE = np.full(3, np.inf)


def test_without_limits_all_parts_are_alike() -> None:
    cuts = divide_evenly(0.0, 100.0, -FREE, FREE, np.full(4, 1e9))
    assert cuts is not None
    assert cuts == pytest.approx([25, 50, 75])


def test_a_small_largest_part_leaves_the_rest_to_the_others() -> None:
    cuts = divide_evenly(0.0, 100.0, -FREE, FREE, np.array([10.0, 90.0, 90.0, 90.0]))
    assert cuts == pytest.approx([10, 40, 70])


def test_a_window_bends_the_division_at_its_edge() -> None:
    high = np.array([np.inf, 40.0, np.inf])
    assert divide_evenly(0.0, 100.0, -FREE, high, np.full(4, 90.0)) == pytest.approx([20, 40, 70])


def test_two_windows_that_pull_apart() -> None:
    low, high = np.array([-np.inf, 60, -np.inf]), np.array([10.0, np.inf, np.inf])
    assert divide_evenly(0.0, 100.0, low, high, np.full(4, 90.0)) == pytest.approx([10, 60, 80])


def test_parts_that_cannot_fill_the_length() -> None:
    assert divide_evenly(0.0, 100.0, -FREE, FREE, np.full(4, 20.0)) is None


def test_one_part_has_no_cut() -> None:
    cuts = divide_evenly(0.0, 9.0, np.empty(0), np.empty(0), np.array([10.0]))
    assert cuts is not None
    assert len(cuts) == 0
