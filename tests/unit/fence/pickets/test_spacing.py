"""Spaces as laid: every pair of neighbours is in one stretch, and the spacer with the last space adds up."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from fencegrade.fence.pickets.patterns import lay_pattern
from fencegrade.fence.pickets.spacing import OTHER, Spacing, laid_spaces, other_spaces, space_remarks
from fencegrade.fence.slots import Slots, fill_stretch, join_slots
from fencegrade.job.choices import Fit, Pattern
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

WIDTH = 3.5


def test_a_gate_parts_two_stretches_with_a_space_each() -> None:
    """64 ft, gate from 44' to 47'6": 528 in take 101 boards, 198 in take 38, each flush at both ends."""
    parts = [fill_stretch(a, b, WIDTH, 1.75, Fit.EVEN_GAPS) for a, b in ((0, 528), (570, 768))]
    slots = join_slots(parts)
    first, second = laid_spaces(slots, np.zeros(len(slots), dtype=np.int64), [(528, 570)])
    assert (first.first, first.last, first.start, first.end) == (1, 101, 0.0, 528.0)
    assert (second.first, second.last, second.start, second.end) == (102, 139, 570.0, 768.0)
    assert first.gap == pytest.approx((528 - 101 * WIDTH) / 100)
    assert second.gap == pytest.approx((198 - 38 * WIDTH) / 37)


@pytest.mark.parametrize(
    ("wanted", "laid"),
    [(3.6, "7 in, where 3.6 in"), (0.0, "3/4 in, where 0 in"), (1.5, "3/4 in, where 1-1/2 in")],
)
def test_a_space_that_comes_out_other_than_wanted_is_told(wanted: float, laid: str) -> None:
    """18 in take two boards of 5-1/2 in with 7 in between, or three with 3/4 in."""
    slots, words = (
        fill_stretch(0, 18, 5.5, wanted, Fit.EVEN_GAPS),
        Words(system=UnitSystem.IMPERIAL, mark=0.125),
    )
    spaces, posts = laid_spaces(slots, np.zeros(len(slots), dtype=np.int64), []), np.array([0.0, 18.0])
    (told,) = space_remarks("lane", other_spaces(spaces, posts, wanted), wanted, True, words)
    assert told.place == f"lane, pickets 1-{len(slots)}"
    assert told.found == f"even spaces between whole boards come to {laid} is wanted"
    (laid_space,) = spaces
    wider = structs.replace(laid_space, gap=laid_space.gap + 2)
    (both,) = space_remarks("lane", [wider, laid_space], wanted, True, words)
    low, high = words.space(laid_space.gap), words.space(wider.gap)
    assert both.found.startswith(f"even spaces between whole boards run from {low} to {high}, where")
    assert not other_spaces(spaces, posts, laid_space.gap + OTHER)
    assert other_spaces(spaces, posts, laid_space.gap + OTHER + 0.01)
    alone = bool(other_spaces(spaces, np.array([9.0]), wanted))
    assert alone == (len(slots) > 2), "one space over a post is laid by no spacer"


@given(
    length=st.floats(40, 900),
    spacing=st.floats(0.1, 4),
    fit=st.sampled_from(Fit),
    pattern=st.sampled_from(Pattern),
    mark=st.sampled_from([1 / 32, 0.5 / 25.4]),
)
def test_widths_and_spaces_fill_each_stretch_also_by_the_spacer(
    length: float, spacing: float, fit: Fit, pattern: Pattern, mark: float
) -> None:
    facing = lay_pattern(pattern, 7.0, 7.0 + length, WIDTH, spacing, fit)
    slots, row = facing.in_order()
    found = laid_spaces(slots, row, [])
    assert sum(s.spaces for s in found) == sum(max(len(r) - 1, 0) for r in (facing.first, facing.second))
    for s in found:
        members = np.flatnonzero(row == s.row)
        inside = members[(members >= s.first - 1) & (members <= s.last - 1)]
        widths = float(slots.width[inside].sum())
        assert len(inside) == s.spaces + 1
        assert widths + s.spaces * s.gap == pytest.approx(s.end - s.start, abs=1e-6)
        assert abs(s.spacer(mark) - s.gap) <= mark / 2 + 1e-6
        by_spacer = (s.spaces - 1) * s.spacer(mark) + s.last_space(mark)
        assert widths + by_spacer == pytest.approx(s.end - s.start, abs=1e-6)
        assert widths + s.spaces * s.spacer(mark) - s.gained(mark) == pytest.approx(s.end - s.start, abs=1e-6)


@pytest.mark.parametrize(
    ("openings", "parts"),
    [
        ([], [(1, 4), (4, 6)]),
        ([(15, 18)], [(1, 2), (3, 4), (4, 6)]),
        # not a gate between two pickets: wider than their space, before the first, behind the last
        ([(14, 18)], [(1, 4), (4, 6)]),
        ([(15, 19)], [(1, 4), (4, 6)]),
        ([(-9, -1)], [(1, 4), (4, 6)]),
        ([(60, 70)], [(1, 4), (4, 6)]),
        ([(6, 9)], [(2, 4), (4, 6)]),
        ([(24, 27), (33, 38)], [(1, 3), (5, 6)]),
    ],
)
def test_a_gate_or_another_space_begins_a_stretch(
    openings: list[tuple[float, float]], parts: list[tuple[int, int]]
) -> None:
    """Six pickets of 6 in: four 3 in apart, two more 5 in apart."""
    left = np.array([0.0, 9.0, 18.0, 27.0, 38.0, 49.0])
    found = laid_spaces(Slots(left=left, right=left + 6), np.zeros(6, dtype=np.int64), openings)
    assert [(s.first, s.last) for s in found] == parts
    assert [s.gap for s in found] == [5.0 if s.last > 4 else 3.0 for s in found]


def test_the_last_space_takes_up_what_the_spacer_gains() -> None:
    """Five spaces of 1.7 in by a spacer of 1-3/4: four of them gain 0.2."""
    one = Spacing(row=0, first=1, last=6, start=0.0, end=26.0, gap=1.7, spaces=5)
    assert one.spacer(1 / 8) == 1.75
    assert one.gained(1 / 8) == pytest.approx(0.25)
    assert (one.gained(1 / 8, 2), one.last_space(1 / 8)) == pytest.approx((0.1, 1.5))
    assert [one.last_space(1 / 8, n) for n in (0, 1, 2)] == pytest.approx([1.7, 1.7, 1.65])
