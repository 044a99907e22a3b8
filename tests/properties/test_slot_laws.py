"""Laws of filling a stretch with pickets, at stations that no binary number holds exactly."""

import numpy as np
import pytest
from examples import few
from hypothesis import given
from hypothesis import strategies as st

from fencegrade.fence.pickets.patterns import lay_pattern
from fencegrade.fence.slots import closed_stretches, fill_stretch, join_slots
from fencegrade.job.choices import Fit, Pattern

TENTHS = st.integers(0, 4_000).map(lambda n: n / 10 / 0.0254)
"""Stations in inches that were read as tenths of a metre."""


@few(100, 400)
@given(
    start=TENTHS,
    more=st.integers(1, 300).map(lambda n: n / 10 / 0.0254),
    width=st.sampled_from([3.5, 88 / 25.4, 5.5, 140 / 25.4]),
    spacing=st.sampled_from([0.0, 0.25, 12 / 25.4, 2.0]),
    fit=st.sampled_from(list(Fit)),
)
def test_no_picket_passes_an_end_by_a_rounding(
    start: float, more: float, width: float, spacing: float, fit: Fit
) -> None:
    end = start + more
    slots = fill_stretch(start, end, width, spacing, fit)
    assert slots.left[0] >= start
    assert slots.right.max() <= end
    assert (slots.width > 0).all()
    assert (np.diff(slots.left) > 0).all()
    if fit is Fit.EVEN_GAPS and len(slots) > 1:
        assert (slots.left[0], slots.right[-1]) == (start, end)


@given(end=st.integers(60, 500).map(lambda n: n / 10), wall=st.integers(5, 55).map(lambda n: n / 10))
def test_pickets_on_both_sides_of_a_face_stay_within_the_readings(end: float, wall: float) -> None:
    end, wall = end / 0.0254, wall / 0.0254
    parts = closed_stretches(0.0, end, (), (wall,))
    slots = join_slots(fill_stretch(a, b, 5.5, 0.25, Fit.EVEN_GAPS) for a, b in parts)
    assert slots.right.max() == end
    assert not ((slots.left < wall) & (slots.right > wall)).any()
    assert slots.left[0] == pytest.approx(0.0)


@few(100, 300)
@given(
    start=TENTHS,
    more=st.integers(5, 200).map(lambda n: n / 10 / 0.0254),
    width=st.sampled_from([3.5, 5.5, 140 / 25.4]),
    share=st.floats(0.2, 0.9),
    fit=st.sampled_from(list(Fit)),
    pattern=st.sampled_from([Pattern.BOARD_ON_BOARD, Pattern.SHADOWBOX]),
)
def test_a_second_row_covers_every_gap_and_stays_between_the_ends(
    start: float, more: float, width: float, share: float, fit: Fit, pattern: Pattern
) -> None:
    """Beside a narrow last picket the board behind is ripped; it never stands out past a wall."""
    end = start + more
    facing = lay_pattern(pattern, start, end, width, share * width, fit)
    first, second = facing.first, facing.second
    assert len(second) == len(first) - 1
    if len(second):
        assert second.left.min() >= start
        assert second.right.max() <= end
        assert (second.width <= width + 1e-9).all()
        narrow = first.left[1:] - first.right[:-1] <= width  # a wider gap no board of this width covers
        assert (second.left <= first.right[:-1] + 1e-9)[narrow].all()
        assert (second.right >= first.left[1:] - 1e-9)[narrow].all()
