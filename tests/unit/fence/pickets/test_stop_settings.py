"""Settings of the stop: as few as any choice has, and the least cut off among those."""

from itertools import combinations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from fencegrade.fence.pickets.stop_settings import fewest_settings

RANGES = st.lists(st.tuples(st.integers(1, 14), st.integers(0, 5)), min_size=1, max_size=8)


def by_trying_all(full: list[int], least: list[int]) -> tuple[int, int]:
    """Number of settings and marks cut off of the best of all choices of settings."""
    values = sorted({v for a, b in zip(least, full, strict=True) for v in range(a, b + 1)})
    for count in range(1, len(full) + 1):
        costs = [
            sum(b - max(v for v in chosen if v <= b) for b in full)
            for chosen in combinations(values, count)
            if all(any(a <= v <= b for v in chosen) for a, b in zip(least, full, strict=True))
            if all(max(v for v in chosen if v <= b) >= a for a, b in zip(least, full, strict=True))
        ]
        if costs:
            return count, min(costs)
    raise AssertionError


@given(RANGES)
def test_as_few_as_any_choice_and_then_the_least_cut_off(ranges: list[tuple[int, int]]) -> None:
    full = [a + b for a, b in ranges]
    least = [a for a, _ in ranges]
    found = fewest_settings(np.array(full), np.array(least), np.zeros(len(full), dtype=np.int64))
    assert all(a <= v <= b for a, v, b in zip(least, found.tolist(), full, strict=True))
    assert (len(set(found.tolist())), sum(full) - int(found.sum())) == by_trying_all(full, least)


@given(RANGES, st.integers(2, 3))
def test_as_few_as_points_taken_greedily(ranges: list[tuple[int, int]], kinds: int) -> None:
    """Taking the smallest full length not yet served is known to be best in number, kind by kind."""
    full = np.array([a + b for a, b in ranges])
    least, kind = np.array([a for a, _ in ranges]), np.arange(len(ranges)) % kinds
    found = fewest_settings(full, least, kind)
    for k in range(kinds):
        left = sorted((b, a) for a, b, c in zip(least, full, kind, strict=True) if c == k)
        points = 0
        while left:
            point = left[0][0]
            left = [(b, a) for b, a in left if a > point]
            points += 1
        assert len(set(found[kind == k].tolist())) == points


def test_boards_that_may_lose_nothing_keep_their_lengths() -> None:
    full = np.array([40, 41, 43])
    assert fewest_settings(full, full, np.zeros(3, dtype=np.int64)).tolist() == [40, 41, 43]
