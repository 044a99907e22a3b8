"""The least sum over corners against every choice of values."""

from itertools import product

import numpy as np
import pytest

from fencegrade.fence.tops.least_sum import least_sum


@pytest.mark.parametrize(
    ("corners", "pairs"),
    [
        (2, [(0, 1)]),
        (4, [(0, 1), (1, 2), (2, 3)]),  # a line
        (4, [(2, 3), (1, 0), (2, 1)]),
        (4, [(0, 1), (1, 2), (2, 3), (3, 0)]),  # a ring
        (5, [(0, 1), (1, 2), (1, 3), (3, 4)]),  # branches
        (4, [(0, 1), (1, 2), (2, 0), (2, 3)]),
        (3, [(0, 1), (0, 1), (1, 2)]),  # twice between the same two
        (3, [(0, 0), (0, 1), (1, 2), (2, 2)]),  # a run that ends where it begins
        (2, [(1, 1)]),
    ],
)
def test_no_choice_costs_less(corners: int, pairs: list[tuple[int, int]]) -> None:
    rng = np.random.default_rng(len(pairs))
    for _ in range(5):
        costs = [rng.integers(0, 50, (3, 3)).astype(float) for _ in pairs]

        def total(values: tuple[int, ...], costs: list[np.ndarray] = costs) -> float:
            return sum(float(c[values[a], values[b]]) for (a, b), c in zip(pairs, costs, strict=True))

        first, second = (np.array([p[k] for p in pairs]) for k in (0, 1))
        found = tuple(least_sum(corners, first, second, costs).tolist())
        assert total(found) == min(total(v) for v in product(range(3), repeat=corners))


def test_a_corner_without_a_pair_has_the_middle_value() -> None:
    cost = np.array([[5.0, 9, 9, 9], [9, 9, 9, 9], [9, 9, 9, 9], [9, 9, 9, 9]])
    assert least_sum(3, np.array([0]), np.array([2]), [cost]).tolist() == [0, 2, 0]


def test_corners_with_three_neighbours_each_are_refused() -> None:
    first, second = np.array([0, 0, 0, 1, 1, 2]), np.array([1, 2, 3, 2, 3, 3])
    with pytest.raises(ValueError, match=r"^every corner left has three neighbours or more$"):
        least_sum(4, first, second, [np.zeros((2, 2))] * 6)
