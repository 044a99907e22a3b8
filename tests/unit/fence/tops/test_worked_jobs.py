"""Whole jobs worked by hand, ground straight between readings; own arithmetic, no source outside the project.

Lengths of the hand arithmetic are before rounding, so the tape mark here is a thousandth of an inch and the
largest gap equals the clearance.
"""

import math
from collections.abc import Callable, Iterable
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import ArrayLike
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.slots import Slots, fill_stretch, join_slots
from fencegrade.fence.tops.asked import TopChoice, TopWish
from fencegrade.fence.tops.contour import choose as choose_contour
from fencegrade.fence.tops.height_limit import check_heights
from fencegrade.fence.tops.level import choose as choose_level
from fencegrade.fence.tops.level import level_top
from fencegrade.fence.tops.racked import choose as choose_racked
from fencegrade.fence.tops.sloped import choose as choose_sloped
from fencegrade.fence.tops.stepped import choose as choose_stepped
from fencegrade.fence.tops.string_heights import string_heights
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import Fit, HeightRule
from fencegrade.units.arrays import Floats

FINE = 0.001
POSTS = np.arange(7) * 96.0


def lengths(wish: TopWish, choice: TopChoice) -> Floats:
    return choice.top.at(wish.slots.centre) - wish.cost.foot


def bay_rows(posts: Iterable[float], count: int, width: float = 5.5) -> Slots:
    """`count` pickets a bay, half a gap at each end."""
    rows = []
    for a, b in pairwise(posts):
        gap = (b - a - count * width) / count
        left = a + gap / 2 + np.arange(float(count)) * (width + gap)
        rows.append(Slots(left=left, right=left + width))
    return join_slots(rows)


class TestSwale:
    """48 ft, least height 72, clearance 2, boards of 72 in at 3.60 and 96 in at 6.10."""

    def test_level_top(self, swale: GroundLine) -> None:
        wish = build(swale, mark=FINE)
        choice = choose_level(wish)
        assert choice.top.elevations == pytest.approx([48, 48])
        assert len(wish.slots) == 100
        assert lengths(wish, choice).min() == pytest.approx(70.0, abs=0.005)
        assert lengths(wish, choice).max() == pytest.approx(88.77, abs=0.005)
        long = np.flatnonzero(wish.cost.shortest(choice.top.at(wish.slots.centre)) == 1) + 1
        assert (len(long), long[0], long[-1]) == (66, 18, 83)
        assert choice.cost == pytest.approx(525.00)

    def test_level_top_passes_a_limit_of_84(self, swale: GroundLine) -> None:
        wish = build(swale)
        check = check_heights(swale, wish.slots, choose_level(wish).top, 84.0, HeightRule.EVERY_POINT)
        assert int(check.over.sum()) == 30
        assert check.tallest == pytest.approx(90.99, abs=0.005)

    def test_lowering_the_string_seven_inches(self, swale: GroundLine) -> None:
        wish = build(swale, mark=FINE)
        heights = string_heights(swale, wish.slots, choose_level(wish).top, wish.cost)
        row = heights.row_at(-7.0)
        assert heights.boards[row].tolist() == [63, 37]
        assert heights.cost[row] == pytest.approx(452.50)
        # a row stands for all heights down from its own, here a little over 7 in lower
        assert heights.tallest[row] - heights.offset[row] - 7 == pytest.approx(83.99, abs=0.005)
        assert heights.shortest[row] - heights.offset[row] - 7 == pytest.approx(65.0)

    def test_contour_top_needs_one_stock(self, swale: GroundLine) -> None:
        wish = build(swale)
        choice = choose_contour(wish)
        assert wish.cost.shortest(choice.top.at(wish.slots.centre)).tolist() == [0] * 100
        assert choice.cost == pytest.approx(360.00)
        assert choice.least_height >= 72 - 1e-9
        assert lengths(wish, choice).min() >= 69.66 - 0.005
        assert lengths(wish, choice).max() < 72.125

    def test_racked_top_is_lifted_off_the_humps(self, swale: GroundLine) -> None:
        wish = build(swale, posts=POSTS, most_height=84.0)
        choice = choose_racked(wish)
        assert choice.least_height >= 72 - 1e-9
        assert choice.cost == pytest.approx(360.00)
        humps = [p for p in choice.problems if "humps" in p.found]
        assert [p.place for p in humps] == [f"paddock lane, at {feet}' 0\"" for feet in (4, 12, 36, 44)]
        assert ["71-1/2 in" in p.found or "71 in" in p.found for p in humps] == [True] * 4
        assert ["1/2 in over" in p.found for p in humps] == [True, False, False, True]

    def test_stepped_top(self, swale: GroundLine) -> None:
        wish = build(swale, slots=bay_rows(POSTS, 16), posts=POSTS, mark=FINE)
        choice = choose_stepped(wish)
        assert choice.top.elevations[::2] == pytest.approx([48, 46, 38, 37, 46, 48])
        assert np.abs(choice.top.steps) == pytest.approx([2, 8, 1, 9, 2])
        assert lengths(wish, choice).min() == pytest.approx(70.0, abs=0.005)
        assert lengths(wish, choice).max() == pytest.approx(78.64, abs=0.005)
        stock = wish.cost.shortest(choice.top.at(wish.slots.centre))
        assert np.bincount(stock).tolist() == [49, 47]


class TestSteadySlope:
    """24 m rising 2.880 m: boards 95 mm with 10 mm between, least height 1800 mm, clearance 50 mm."""

    MM = 1 / 25.4

    def wish(self, slots: Slots | None = None, posts: ArrayLike = ()) -> TopWish:
        line = straight_ground([0, 24_000 * self.MM], [0, 2_880 * self.MM])
        if slots is None:
            left = np.linspace(0, line.end - 95 * self.MM, 228)
            slots = Slots(left=left, right=left + 95 * self.MM)
        stock = ((1800 * self.MM, 3.10), (2100 * self.MM, 3.95))
        return build(
            line, slots=slots, least=1800 * self.MM, stock=stock, clearance=50 * self.MM,
            most_gap=50 * self.MM, mark=FINE, posts=posts,
        )  # fmt: skip

    @pytest.mark.parametrize("choose", [choose_sloped, choose_racked, choose_contour])
    def test_tops_that_follow_the_slope(self, choose: Callable[[TopWish], TopChoice]) -> None:
        wish = self.wish(posts=np.linspace(0, 24_000, 12) * self.MM)
        choice = choose(wish)
        # each board stands 1800 mm over its uphill edge and 50 mm clear of it; the line itself is
        # 0.12 x 95 / 2 = 5.7 mm higher over the ground. A contour top may stand a hair higher
        assert lengths(wish, choice) / self.MM == pytest.approx(1750.0, abs=0.1)
        assert choice.cost == pytest.approx(706.80)
        assert choice.top.largest_bend == pytest.approx(0.0, abs=1e-9)

    def test_stepped_top(self) -> None:
        posts = np.linspace(0, 24_000, 12) * self.MM
        wish = self.wish(bay_rows(posts, 21, 95 * self.MM), posts)
        choice = choose_stepped(wish)
        assert choice.top.steps / self.MM == pytest.approx(261.8, abs=0.1)
        assert lengths(wish, choice).min() / self.MM == pytest.approx(1750.5, abs=0.1)
        assert lengths(wish, choice).max() / self.MM == pytest.approx(1999.9, abs=0.1)
        stock = wish.cost.shortest(choice.top.at(wish.slots.centre))
        assert np.bincount(stock).tolist() == [44, 187]
        assert choice.cost == pytest.approx(875.05)

    def test_level_top_finds_no_stock_for_the_low_end(self) -> None:
        wish = self.wish()
        choice = choose_level(wish)
        assert lengths(wish, choice).max() / self.MM == pytest.approx(4618.6, abs=0.1)
        assert choice.unserved[0]
        assert not choice.unserved[-1]
        assert not choice.problems


class TestTerraceWall:
    """32 ft with a face of 34 in at 16 ft."""

    X = (0, 96, 192, 192, 288, 384)
    DROPS = (12, 13, 14, 48, 49, 50)

    def test_one_level_either_side(self) -> None:
        line = straight_ground(self.X, -np.array(self.DROPS))
        wish = build(line, posts=(0, 192, 384))
        choice = choose_stepped(wish)
        assert choice.top.elevations == pytest.approx([60, 60, 24, 24])
        assert choice.top.steps == pytest.approx([-36])
        assert lengths(wish, choice).min() == pytest.approx(70.0)
        assert lengths(wish, choice).max() == pytest.approx(71.94, abs=0.005)
        assert choice.cost == pytest.approx(66 * 3.6)
        assert any("face" in p.found for p in choice.problems)

    def test_height_from_the_lower_side(self) -> None:
        line = straight_ground(self.X, -np.array(self.DROPS))
        wish = build(line, posts=(0, 192, 384))
        top = choose_stepped(wish).top
        own = check_heights(line, wish.slots, top, 120.0, HeightRule.EVERY_POINT)
        assert own.tallest == pytest.approx(74.0, abs=0.05)
        below = check_heights(line, wish.slots, top, 120.0, HeightRule.LOWER_SIDE)
        assert below.tallest == pytest.approx(108.0)
        assert (below.picket, below.station) == (32, 192.0)
        assert not below.over.any()
        strict = check_heights(line, wish.slots, top, 72.0, HeightRule.LOWER_SIDE)
        assert strict.over[32]

    def test_one_level_top_over_both(self) -> None:
        line = straight_ground(self.X, -np.array(self.DROPS))
        top = level_top(line, 0, 384, 72)
        check = check_heights(line, build(line).slots, top, 84.0, HeightRule.EVERY_POINT)
        # the ground falls 0.06 in under a picket
        assert check.measured[33:].min() == pytest.approx(108.0, abs=0.06)
        assert check.measured[33:].max() == pytest.approx(110.0, abs=0.06)


def test_long_rolling_run() -> None:
    """800 ft of g = -0.30 x + 14 sin(2 pi x / 160), x in feet, read each 10 ft: one straight top."""
    feet = np.arange(0, 801, 10)
    line = ground_line(feet * 12.0, -0.30 * feet + 14 * np.sin(2 * math.pi * feet / 160))
    slots = fill_stretch(0, 9600, 5.5, 0.25, Fit.EVEN_GAPS)
    top = choose_sloped(build(line, slots, stock=((200, 9.0),))).top
    assert top.elevations == pytest.approx([86, 86 - 240], abs=0.6)
    check = check_heights(line, slots, top, 84.0, HeightRule.EVERY_POINT)
    assert check.tallest == pytest.approx(100, abs=0.5)
    assert check.over.any()
