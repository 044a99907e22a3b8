"""Where pickets stand: each fit worked by hand, and what holds for any stretch."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fencegrade.fence.slots import (
    LEAST_BOARD,
    Slots,
    closed_stretches,
    even_gap_count,
    fill_stretch,
    is_ripped,
    join_slots,
)
from fencegrade.job.choices import Fit
from fencegrade.job.records import Gate

LENGTHS = st.floats(1.0, 2000.0)
WIDTHS = st.floats(0.5, 12.0)
SPACINGS = st.one_of(st.just(0.0), st.floats(0.0, 6.0))
FITS = st.sampled_from(list(Fit))


def gaps(slots: Slots) -> list[float]:
    return [float(b - a) for a, b in zip(slots.right[:-1], slots.left[1:], strict=True)]


class TestEvenGaps:
    def test_a_stretch_that_divides_evenly(self) -> None:
        # 4 boards of 5 and 3 gaps of 1 fill 23
        slots = fill_stretch(100.0, 123.0, 5.0, 1.0, Fit.EVEN_GAPS)
        assert slots.left.tolist() == [100, 106, 112, 118]
        assert slots.right.tolist() == [105, 111, 117, 123]

    def test_the_rest_is_shared_between_the_gaps(self) -> None:
        # (24 + 1) / 6 = 4.17 boards: 4; the gap is (24 - 20) / 3
        slots = fill_stretch(0.0, 24.0, 5.0, 1.0, Fit.EVEN_GAPS)
        assert len(slots) == 4
        assert gaps(slots) == pytest.approx([4 / 3] * 3)
        assert (slots.left[0], slots.right[-1]) == (0.0, 24.0)

    def test_the_count_is_the_nearest(self) -> None:
        assert even_gap_count(25.9, 5.0, 1.0) == 4  # 4.48 boards
        assert even_gap_count(26.1, 5.0, 1.0) == 5  # 4.52 boards

    def test_one_board_fewer_where_they_would_overlap(self) -> None:
        # butted 5 in boards on 28 in: 5.6 rounds to 6, which need 30
        slots = fill_stretch(0.0, 28.0, 5.0, 0.0, Fit.EVEN_GAPS)
        assert len(slots) == 5
        assert gaps(slots) == pytest.approx([0.75] * 4)

    def test_butted_boards_that_fit_exactly_touch(self) -> None:
        slots = fill_stretch(0.0, 30.0, 5.0, 0.0, Fit.EVEN_GAPS)
        assert len(slots) == 6
        assert gaps(slots) == [0.0] * 5

    def test_two_boards_stand_flush_at_both_ends(self) -> None:
        slots = fill_stretch(0.0, 12.0, 5.0, 1.0, Fit.EVEN_GAPS)
        assert (slots.left.tolist(), slots.right.tolist()) == ([0, 7], [5, 12])


class TestRips:
    def test_the_last_is_ripped(self) -> None:
        # three boards of 5 with gaps of 1 reach 17, and 3 of the 21 are left beyond the fourth gap
        slots = fill_stretch(0.0, 21.0, 5.0, 1.0, Fit.RIP_LAST)
        assert slots.width.tolist() == [5, 5, 5, 3]
        assert slots.left.tolist() == [0, 6, 12, 18]
        assert slots.right[-1] == 21

    def test_both_ends_are_ripped_alike_where_the_last_would_be_a_sliver(self) -> None:
        # 1 in is left: one full board fewer, ends of (5 + 1) / 2
        slots = fill_stretch(0.0, 19.0, 5.0, 1.0, Fit.RIP_BOTH_ENDS)
        assert slots.width.tolist() == pytest.approx([3, 5, 5, 3])
        assert gaps(slots) == pytest.approx([1, 1, 1])
        assert (slots.left[0], slots.right[-1]) == (0.0, pytest.approx(19.0))

    def test_half_a_board_or_more_is_ripped_from_the_last_alone(self) -> None:
        slots = fill_stretch(0.0, 20.5, 5.0, 1.0, Fit.RIP_BOTH_ENDS)
        assert slots.width.tolist() == pytest.approx([5, 5, 5, 2.5])

    @pytest.mark.parametrize("fit", [Fit.RIP_LAST, Fit.RIP_BOTH_ENDS])
    def test_nothing_is_ripped_where_boards_fit(self, fit: Fit) -> None:
        assert fill_stretch(0.0, 23.0, 5.0, 1.0, fit).width.tolist() == [5, 5, 5, 5]

    @pytest.mark.parametrize("fit", [Fit.RIP_LAST, Fit.RIP_BOTH_ENDS])
    def test_an_end_that_falls_in_a_gap_leaves_less_than_a_gap(self, fit: Fit) -> None:
        slots = fill_stretch(0.0, 23.6, 5.0, 1.0, fit)
        assert slots.width.tolist() == [5, 5, 5, 5]


@given(start=st.floats(-1000, 1000), length=LENGTHS, width=WIDTHS, spacing=SPACINGS, fit=FITS)
def test_pickets_stand_in_order_within_their_stretch(
    start: float, length: float, width: float, spacing: float, fit: Fit
) -> None:
    end = start + length
    slots = fill_stretch(start, end, width, spacing, fit)
    assert len(slots) >= 1
    assert slots.left[0] >= start
    assert slots.right[-1] <= end
    assert all(g >= -1e-9 for g in gaps(slots))
    assert np.all(slots.width > 0)
    assert np.all(slots.width <= width + 1e-9)


@given(length=LENGTHS, width=WIDTHS, spacing=SPACINGS, fit=FITS)
def test_both_ends_are_flush_but_for_a_gap(length: float, width: float, spacing: float, fit: Fit) -> None:
    slots = fill_stretch(0.0, length, width, spacing, fit)
    if len(slots) == 1 and length > width:
        return
    assert slots.left[0] == pytest.approx(0.0, abs=1e-9)
    left_over = length - float(slots.right[-1])
    assert left_over <= (spacing if fit is not Fit.EVEN_GAPS else 0.0) + 1e-6


@given(length=st.floats(13.0, 2000.0), width=WIDTHS, spacing=SPACINGS)
def test_even_gaps_are_even_and_no_other_count_comes_nearer(
    length: float, width: float, spacing: float
) -> None:
    slots = fill_stretch(0.0, length, width, spacing, Fit.EVEN_GAPS)
    n = len(slots)
    if n < 2:
        return
    assert np.ptp(gaps(slots)) < 1e-6
    assert slots.width == pytest.approx([width] * n, abs=1e-6)
    pitch = (length + spacing) / (width + spacing)
    fits = [m for m in (n - 1, n, n + 1) if m * width <= length + 1e-9]
    assert abs(n - pitch) <= min(abs(m - pitch) for m in fits) + 1e-6


@given(length=LENGTHS, width=WIDTHS, spacing=SPACINGS)
def test_no_end_is_a_sliver_when_both_ends_are_ripped(length: float, width: float, spacing: float) -> None:
    slots = fill_stretch(0.0, length, width, spacing, Fit.RIP_BOTH_ENDS)
    if length >= width:
        assert slots.width[0] >= width / 2 - 1e-6
        assert slots.width[-1] >= width / 2 - 1e-6


class TestNothingASawCannotRip:
    @pytest.mark.parametrize("over", [1e-6, 0.0004, 0.01, 0.1])
    @pytest.mark.parametrize("spacing", [0.0, 0.5])
    @pytest.mark.parametrize("fit", [Fit.RIP_LAST, Fit.RIP_BOTH_ENDS])
    def test_spaces_take_what_is_too_little_to_rip(self, fit: Fit, spacing: float, over: float) -> None:
        # 60 boards of 3-1/2 with a space after each, and a hair
        slots = fill_stretch(0.0, 60 * (3.5 + spacing) + over, 3.5, spacing, fit)
        assert slots.width == pytest.approx([3.5] * 60, abs=1e-9)
        assert gaps(slots) == pytest.approx([spacing + over / 59] * 59, abs=1e-9)

    @pytest.mark.parametrize("fit", [Fit.RIP_LAST, Fit.RIP_BOTH_ENDS])
    def test_spaces_give_what_is_too_little_to_rip_off(self, fit: Fit) -> None:
        slots = fill_stretch(0.0, 60 * 4 - 0.5 - 0.06, 3.5, 0.5, fit)
        assert slots.width == pytest.approx([3.5] * 60, abs=1e-9)
        assert gaps(slots) == pytest.approx([0.5 - 0.06 / 59] * 59, abs=1e-9)
        assert slots.right[-1] == 60 * 4 - 0.5 - 0.06

    def test_a_hair_less_with_no_space_is_no_rip_to_speak_of(self) -> None:
        slots = fill_stretch(0.0, 209.9996, 3.5, 0.0, Fit.RIP_LAST)
        assert len(slots) == 60
        assert not is_ripped(slots.width, 3.5).any()

    def test_the_last_is_ripped_from_half_an_inch_and_both_ends_from_an_eighth(self) -> None:
        assert fill_stretch(0.0, 60.5, 5.0, 0.0, Fit.RIP_LAST).width[-1] == 0.5
        assert fill_stretch(0.0, 60.49, 5.0, 0.0, Fit.RIP_LAST).width.tolist() == pytest.approx([5] * 12)
        assert fill_stretch(0.0, 60.125, 5.0, 0.0, Fit.RIP_BOTH_ENDS).width[0] == 2.5625

    def test_a_stretch_too_narrow_for_a_board_stays_open(self) -> None:
        gates = [Gate(station=0.4, width=40.0), Gate(station=40.9, width=40.0)]
        assert closed_stretches(0.0, 100.0, gates) == [(40.4, 40.9), (80.9, 100.0)]


@given(length=st.floats(12.0, 2000.0), width=WIDTHS, spacing=SPACINGS, fit=FITS)
def test_no_board_is_narrower_than_a_saw_leaves(
    length: float, width: float, spacing: float, fit: Fit
) -> None:
    slots = fill_stretch(0.0, length, width, spacing, fit)
    assert float(slots.width.min()) >= min(LEAST_BOARD, width) - 1e-9


class TestClosedStretches:
    def gate(self, station: float, width: float) -> Gate:
        return Gate(station=station, width=width)

    def test_gates_are_left_out_in_any_order(self) -> None:
        gates = [self.gate(60, 10), self.gate(20, 5)]
        assert closed_stretches(0.0, 100.0, gates) == [(0, 20), (25, 60), (70, 100)]

    def test_gates_at_the_ends_and_side_by_side_leave_no_empty_stretch(self) -> None:
        gates = [self.gate(0, 10), self.gate(10, 10), self.gate(90, 10)]
        assert closed_stretches(0.0, 100.0, gates) == [(20, 90)]

    def test_a_gate_as_wide_as_the_run_leaves_nothing(self) -> None:
        assert closed_stretches(0.0, 50.0, [self.gate(0, 50)]) == []

    def test_faces_divide_what_is_closed_and_nothing_else(self) -> None:
        parts = closed_stretches(
            0.0, 100.0, [self.gate(40, 20)], cuts=[100.0, 30.0, 20.0, 80.0, 60.0, 50.0, 0.0]
        )
        assert parts == [(0, 20), (20, 30), (30, 40), (60, 80), (80, 100)]

    @given(
        edges=st.lists(st.integers(0, 400), min_size=2, max_size=12, unique=True).map(sorted),
        cuts=st.lists(st.integers(-10, 410), max_size=5),
    )
    def test_stretches_and_gates_make_up_the_run(self, edges: list[int], cuts: list[int]) -> None:
        inner = edges[1:-1][: (len(edges) - 2) // 2 * 2]
        gates = [self.gate(a, b - a) for a, b in zip(inner[::2], inner[1::2], strict=True)]
        parts = closed_stretches(edges[0], edges[-1], gates, cuts)
        assert all(a < b for a, b in parts)
        assert all(b <= c for (_, b), (c, _) in pairwise(parts))
        open_width = sum(g.width for g in gates)
        assert sum(b - a for a, b in parts) + open_width == pytest.approx(edges[-1] - edges[0])


def test_joined_slots_keep_their_order() -> None:
    one = fill_stretch(0.0, 23.0, 5.0, 1.0, Fit.EVEN_GAPS)
    two = fill_stretch(30.0, 40.0, 5.0, 1.0, Fit.EVEN_GAPS)
    joined = join_slots([one, two])
    assert joined.left.tolist() == [*one.left, *two.left]
    assert joined.centre.tolist() == pytest.approx([*one.centre, *two.centre])
    assert len(join_slots([])) == 0


@pytest.mark.parametrize(
    ("length", "fit", "widths"),
    [
        # a board of 5 and gaps of 1: just one board, a hair less, and two boards with a gap
        (5.0, Fit.EVEN_GAPS, [5]),
        (4.9, Fit.EVEN_GAPS, [4.9]),
        (5.0, Fit.RIP_LAST, [5]),
        (6.0, Fit.RIP_LAST, [5]),
        (6.5, Fit.RIP_LAST, [5, 0.5]),
        (8.4, Fit.RIP_BOTH_ENDS, [3.7, 3.7]),
        (8.5, Fit.RIP_BOTH_ENDS, [5, 2.5]),
        (11.0, Fit.RIP_BOTH_ENDS, [5, 5]),
        (13.0, Fit.RIP_BOTH_ENDS, [3, 5, 3]),
    ],
)
def test_short_stretches(length: float, fit: Fit, widths: list[float]) -> None:
    slots = fill_stretch(10.0, 10.0 + length, 5.0, 1.0, fit)
    assert slots.width == pytest.approx(widths)
    assert slots.left[0] == 10


def test_one_board_with_even_gaps_stands_in_the_middle() -> None:
    slots = fill_stretch(10.0, 18.0, 5.0, 1.0, Fit.EVEN_GAPS)
    assert (slots.left.tolist(), slots.right.tolist()) == ([11.5], [16.5])


def test_as_many_boards_as_come_nearest_the_wanted_gap() -> None:
    counts = [even_gap_count(x, 5.0, 1.0) for x in (2.0, 7.9, 8.0, 9.9, 10.0, 13.9, 14.0, 19.9, 20.0)]
    assert counts == [1, 1, 1, 1, 2, 2, 2, 3, 4]
    assert [even_gap_count(x, 5.0, 0.0) for x in (10.0, 9.99, 12.5, 14.99, 15.0)] == [2, 1, 2, 2, 3]
