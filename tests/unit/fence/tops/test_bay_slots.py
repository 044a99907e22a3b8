"""Pickets that start afresh in every bay."""

import numpy as np
import pytest
from top_wishes import stepped_slots

from fencegrade.fence.tops.bay_slots import bay_count

POSTS = np.arange(7) * 96.0


def test_slots_have_half_a_gap_at_each_bay_end() -> None:
    slots = stepped_slots(POSTS, 5.5, 0.25)
    assert len(slots) == 6 * 17
    gap = (96 - 17 * 5.5) / 17
    assert slots.left[0] == pytest.approx(gap / 2)
    assert slots.left[17] - slots.right[16] == pytest.approx(gap)
    assert slots.width == pytest.approx(5.5)


@pytest.mark.parametrize(
    ("length", "spacing", "count"), [(96, 0.25, 17), (11, 0, 2), (10.9, 0, 1), (4, 0, 1), (85.9, 3.74, 9)]
)
def test_bay_count_is_the_nearest_that_does_not_overlap(length: float, spacing: float, count: int) -> None:
    assert bay_count(length, 5.5, spacing) == count


def test_half_gaps_at_both_ends_leave_the_gap_nearest_the_wanted_one() -> None:
    """93 in, pickets of 3-1/2 in spaced as wide: 13 leave 93/13 - 3.5 = 3.654 in, 14 leave 3.143."""
    slots = stepped_slots(np.array([0.0, 93.0]), 3.5, 3.5)
    assert len(slots) == 13
    assert slots.left[1] - slots.right[0] == pytest.approx(93 / 13 - 3.5)


def test_gate_divides_a_bay() -> None:
    slots = stepped_slots(POSTS, 5.5, 0.25, ((0.0, 120.0), (168.0, 576.0)))
    assert not ((slots.right > 120) & (slots.left < 168)).any()
    assert slots.left.min() >= 0
    assert slots.right.max() <= 576


def test_narrow_bay_takes_one_ripped_picket() -> None:
    slots = stepped_slots(np.array([0.0, 4.0]), 5.5, 0.25)
    assert (slots.left[0], slots.right[0]) == (0.0, 4.0)
