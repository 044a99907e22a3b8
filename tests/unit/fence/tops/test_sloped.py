"""Sloped tops: limits, ties and the height limit; and the way to any style."""

import numpy as np
import pytest
from msgspec.structs import replace
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.stock_steps import board_cost
from fencegrade.fence.tops.asked import TopChoice, TopLimits
from fencegrade.fence.tops.height_limit import highest_allowed
from fencegrade.fence.tops.hull import support
from fencegrade.fence.tops.line_on_ground import ground_alone
from fencegrade.fence.tops.sloped import choose as choose_sloped
from fencegrade.fence.tops.sloped import served_slopes
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


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("station", [30.0, 175.0, 400.0])
def test_served_slopes_are_where_the_lowest_line_passes_under_the_reach(seed: int, station: float) -> None:
    """On straight ground the lowest line of a slope over a station: the highest knot, carried there."""
    x = np.arange(0.0, 481.0, 60.0)
    z = np.random.default_rng(seed).normal(0, 9, len(x))
    hull = support(ground_alone(straight_ground(x, z)), 0.0, 480.0)

    def over(slope: float) -> float:
        return float((z - slope * (x - station)).max())

    # the height over the station falls and rises with straight pieces: its least is at a corner
    corners = [(z[j] - z[i]) / (x[j] - x[i]) for i in range(len(x)) for j in range(i)]
    lowest = min(over(m) for m in corners)
    reach = 72 + lowest + np.array([-0.01, 0.01, 1.0, 30.0, 200.0])
    low, high = served_slopes(hull, 72.0, np.full(5, station), reach)
    assert low[0] > high[0], "no slope is as low"
    for least, most, limit in zip(low[1:], high[1:], reach[1:] - 72, strict=True):
        assert least < most
        assert (over(least), over(most)) == pytest.approx((limit, limit), abs=1e-8)
        assert over((least + most) / 2) < limit < min(over(least - 1e-4), over(most + 1e-4))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("limit", [None, 0.03])
def test_no_slope_costs_less_than_the_one_chosen(seed: int, limit: float | None) -> None:
    x = np.arange(0.0, 301.0, 60.0)
    z = np.random.default_rng(seed).normal(0, 6, len(x))
    wish = build(straight_ground(x, z), limits=TopLimits(most_slope=limit))
    choice = choose_sloped(wish)
    left, right, centre = wish.slots.left, wish.slots.right, wish.slots.centre
    # a line clears the ground where its least height is over every knot and over the highest under each board
    under = [
        max(np.interp([a, b], x, z).max(), *z[(x > a) & (x < b)], -99)
        for a, b in zip(left, right, strict=True)
    ]
    knots, ground = np.concatenate([x, centre]), np.concatenate([z, under])
    steepest = 0.2 if limit is None else limit
    tried = []
    for slope in np.linspace(-steepest, steepest, 201):
        first = 72 + float((ground - slope * knots).max())
        top = first + slope * centre
        tried.append((round(wish.cost.total(top), 6), float(top.sum())))
    top = choice.top.at(centre)
    assert (round(wish.cost.total(top), 6), float(top.sum()) - 1e-6) <= min(tried)
    assert choice.cost == pytest.approx(wish.cost.total(top))
    assert abs(float(choice.top.slopes[0])) <= steepest + 1e-12
