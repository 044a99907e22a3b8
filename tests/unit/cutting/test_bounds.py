"""Bounds from whole piece values, worked by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from fencegrade.cutting.bounds import dual_bound


@pytest.mark.parametrize(("on_hand", "least"), [(0, 20), (1, 10), (2, 0)])
@pytest.mark.parametrize("value", [5, 6])
def test_boards_on_hand_are_taken_off_the_bound_once_each(on_hand: int, least: int, value: int) -> None:
    """Four pieces of 5 in, boards of 10 in at 10, some on hand for nothing: just what the best plan costs.

    Values of 6 are more than a board is worth and are scaled down.
    """
    bars = [SimpleNamespace(capacity=10, cost=10, limit=None)]
    bars += [SimpleNamespace(capacity=10, cost=0, limit=on_hand)] * bool(on_hand)
    best = np.array([value * (c // 5) for c in range(11)])
    model = SimpleNamespace(bars=bars, demands=[4])
    assert dual_bound(model, [value], best, 1) == least
