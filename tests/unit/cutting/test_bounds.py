"""Bounds from whole piece values, worked by hand."""

import pytest

from fencegrade.cutting.bounds import cost_in_parts
from fencegrade.cutting.model import Bar, Model


@pytest.mark.parametrize(("on_hand", "least"), [(0, 20), (1, 10), (2, 0)])
@pytest.mark.parametrize("value", [5, 6])
def test_boards_on_hand_are_taken_off_the_bound_once_each(on_hand: int, least: int, value: int) -> None:
    """Four pieces of 5 in, boards of 10 in at 10, some on hand for nothing: just what the best plan costs.

    Values of 6 are more than a board is worth and are scaled down.
    """
    bars = [Bar(capacity=10, cost=10, limit=None, entry=0)]
    bars += [Bar(capacity=10, cost=0, limit=on_hand, entry=0, on_hand=True)] * bool(on_hand)
    model = Model(weights=(5,), demands=(4,), bars=tuple(bars))
    assert cost_in_parts(model, [2 * value] * len(bars), 4 * value) == least
