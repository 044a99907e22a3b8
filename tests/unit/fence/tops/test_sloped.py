"""Sloped tops: limits, ties and the height limit; and the way to any style."""

import numpy as np
import pytest
from msgspec.structs import replace
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.stock_steps import board_cost
from fencegrade.fence.tops.asked import TopChoice, TopLimits
from fencegrade.fence.tops.height_limit import highest_allowed
from fencegrade.fence.tops.sloped import choose as choose_sloped
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import BottomCut, HeightRule
from fencegrade.job.records import Stock


def test_steady_ground_is_followed() -> None:
    line = straight_ground([0, 480], [0, 48])
    # a board 5-1/2 in wide needs its least height over the uphill edge, 0.1 x 2.75 in over its middle
    assert choose_sloped(build(line)).top.elevations == pytest.approx([72.275, 120.275])


def test_tie_goes_to_least_timber() -> None:
    """One dear stock serves everything, so only timber is left to decide."""
    line = straight_ground([0, 240, 480], [0, 24, 12])
    wish = build(line, stock=((160, 9.0),))
    choice = choose_sloped(wish)
    assert choice.cost == pytest.approx(9.0 * len(wish.slots))
    slopes = np.linspace(-0.2, 0.2, 401)
    lift = [max(0, 24 - m * 240, 12 - m * 480) for m in slopes]
    timber = [(a + m * wish.slots.centre).sum() for a, m in zip(lift, slopes, strict=True)]
    here = choice.top.elevations[0] - 72
    assert (here + choice.top.slopes[0] * wish.slots.centre).sum() <= min(timber) + 1e-6


def test_slope_limit_holds() -> None:
    wish = build(straight_ground([0, 480], [0, 48]), limits=TopLimits(most_slope=0.05))
    choice = choose_sloped(wish)
    assert choice.top.slopes == pytest.approx([0.05])
    assert choice.least_height == pytest.approx(72)


def test_height_limit_comes_before_cost() -> None:
    """Rolling ground whose cheapest line stands too high over eleven pickets, and a dearer one nowhere."""
    rises = np.random.default_rng(48).normal(0, 8, 8)
    line = ground_line(np.arange(8) * 60.0, np.cumsum(rises))
    wish = build(line, most_height=88.0)
    allowed = highest_allowed(line, wish.slots, 88.0, HeightRule.EVERY_POINT)
    n = len(wish.slots)
    stock = [Stock(length=72.0, price=3.6), Stock(length=96.0, price=6.1)]
    ladders = [
        board_cost(line, wish.slots, np.full(n, 2.0), np.full(n, 2.0), stock, BottomCut.SQUARE, 0.125, limit)
        for limit in (None, allowed)
    ]
    free, held = (choose_sloped(replace(wish, cost=ladder)) for ladder in ladders)

    def over(choice: TopChoice) -> int:
        return int((choice.top.at(wish.slots.centre) > allowed + 1e-6).sum())

    assert (over(free), over(held)) == (11, 0)
    assert free.cost < held.cost
