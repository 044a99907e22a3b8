"""The search of corner heights on the tape, each cost and each bar against the boards counted one by one."""

import numpy as np
import pytest
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.tops.asked import TopLimits, TopWish
from fencegrade.fence.tops.chains import Chain, chain_over
from fencegrade.fence.tops.cheapest_near import (
    _allowed_costs,
    _least_right,
    _level,
    _pair_costs,
    _trace,
    _Window,
    cheapest_near,
    total_cost,
)
from fencegrade.units.arrays import Floats

CORNERS = np.array([0.0, 70.0, 120.0])


def rolling(seed: int, most_slope: float | None = None) -> tuple[TopWish, Floats, Floats]:
    """A run of 10 ft over ground bent every 20 in, and its knots."""
    x = np.linspace(0.0, 120.0, 7)
    z = np.round(np.random.default_rng(seed).normal(0, 4, len(x)) * 8) / 8
    return build(straight_ground(x, z), limits=TopLimits(most_slope=most_slope)), x, z


def window(wish: TopWish, first: Floats, size: int = 7, step: float = 2.0) -> _Window:
    chain = chain_over(wish, CORNERS)
    heights = first[:, None] + step * np.arange(size)
    return _Window(chain=chain, heights=heights, step=step, piece=np.array([0, 1]))


def bays(wish: TopWish) -> list[list[int]]:
    """The pickets of each straight piece."""
    centre = wish.slots.centre
    return [[i for i, x in enumerate(centre) if a <= x < b] for a, b in ((0, 70), (70, 120))]


@pytest.mark.parametrize("seed", range(4))
def test_pairs_cost_what_their_boards_do(seed: int) -> None:
    wish, _, _ = rolling(seed)
    w = window(wish, np.array([68.0, 70.0, 66.0]))
    found = _pair_costs(wish, w, 0.0)
    for piece, pickets in enumerate(bays(wish)):
        x = wish.slots.centre[pickets]
        share = (x - CORNERS[piece]) / (CORNERS[piece + 1] - CORNERS[piece])
        for i, left in enumerate(w.heights[piece]):
            for j, right in enumerate(w.heights[piece + 1]):
                tops = left + share * (right - left)
                past = tops[:, None] > wish.cost.reach[pickets] + 1e-7
                assert found[piece, i, j] == pytest.approx((wish.cost.charge[pickets] * past).sum())


def test_a_trace_of_timber_counts_every_inch_and_a_lesser_one_the_rise() -> None:
    wish, _, _ = rolling(0)
    w = window(wish, np.array([68.0, 70.0, 66.0]))
    more = _pair_costs(wish, w, 0.25) - _pair_costs(wish, w, 0.0)
    for piece, pickets in enumerate(bays(wish)):
        share = (wish.slots.centre[pickets] - CORNERS[piece]) / (CORNERS[piece + 1] - CORNERS[piece])
        # one step is 2 in; the timber is counted from the lowest heights tried
        wanted = [[0.25 * 2 * (i * (1 - share) + j * share).sum() for j in range(7)] for i in range(7)]
        rise = w.heights[piece + 1] - w.heights[piece][:, None]
        assert more[piece] == pytest.approx(np.array(wanted) + 0.25 * 1e-4 * rise**2, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_the_lowest_right_end_rests_on_the_ground_or_on_a_board(seed: int) -> None:
    """Least height at the right of a line from the left: the steepest sight over all there is to clear."""
    wish, x, z = rolling(seed)
    w = window(wish, np.array([70.0, 72.0, 74.0]))
    found = _least_right(w)
    left, right, centre = wish.slots.left, wish.slots.right, wish.slots.centre
    under = [
        max(*np.interp([a, b], x, z), *z[(x > a) & (x < b)], -99.0) for a, b in zip(left, right, strict=True)
    ]
    knots, ground = np.concatenate([x, centre, CORNERS]), np.concatenate([z, under, np.interp(CORNERS, x, z)])
    for piece in (0, 1):
        a, b = CORNERS[piece], CORNERS[piece + 1]
        here = (knots > a) & (knots <= b)
        for i, start in enumerate(w.heights[piece]):
            if start < 72 + np.interp(a, x, z):
                continue
            sights = (72 + ground[here] - start) / (knots[here] - a)
            assert found[piece, i] == pytest.approx(start + sights.max() * (b - a), abs=1e-6)


@pytest.mark.parametrize("most_slope", [None, 0.1])
def test_pairs_that_do_not_clear_or_lie_too_steep_are_barred(most_slope: float | None) -> None:
    wish, _, _ = rolling(1, most_slope)
    w = window(wish, np.array([74.0, 72.0, 73.0]))
    free, kept = _pair_costs(wish, w, 0.01), _allowed_costs(wish, w, 0.01)
    least, lower = _least_right(w), w.chain.lower
    seen = set()
    for piece in (0, 1):
        most = np.inf if most_slope is None else most_slope * (CORNERS[piece + 1] - CORNERS[piece])
        for i, left in enumerate(w.heights[piece]):
            for j, right in enumerate(w.heights[piece + 1]):
                clear = right >= least[piece, i] - 1e-7
                ends = left >= lower[piece] - 1e-7 and right >= lower[piece + 1] - 1e-7
                flat = abs(right - left) <= most + 1e-7
                seen.add((bool(clear), bool(ends), bool(flat)))
                wanted = free[piece, i, j] if clear and ends and flat else np.inf
                assert kept[piece, i, j] == wanted
    assert (True, True, True) in seen


def test_all_the_timber_of_a_window_is_worth_less_than_a_thousandth_of_a_rung() -> None:
    wish, _, _ = rolling(0)
    rung = float(wish.cost.charge[wish.cost.charge > 0].min())
    n = len(wish.slots)
    assert _trace([wish], 64) == pytest.approx(1e-3 * rung / (n * 64 * wish.mark + 1))
    assert _trace([wish, wish], 64) == pytest.approx(1e-3 * rung / (2 * n * 64 * wish.mark + 1))


def test_runs_that_meet_are_tried_at_one_level() -> None:
    wishes = [build(straight_ground([0, 60], [g, g])) for g in (0.0, 10.0, 4.0)]
    chains: list[Chain] = [chain_over(w, np.array([0.0, 60.0])) for w in wishes]
    assert [z.tolist() for z in _level(chains, [])] == [[72, 72], [82, 82], [76, 76]]
    met = [((0, 1), (2, 0))]
    assert [z.tolist() for z in _level(chains, met)] == [[76, 76], [82, 82], [76, 76]]
    every = [((0, 1), (2, 0)), ((2, 1), (1, 0))]
    assert [z.tolist() for z in _level(chains, every)] == [[82, 82]] * 3


@pytest.mark.parametrize("seed", range(3))
def test_no_pair_of_heights_near_costs_less(seed: int) -> None:
    """One straight piece: every pair of heights within 32 tape marks of those found, tried one by one."""
    x = np.linspace(0.0, 60.0, 4)
    z = np.round(np.random.default_rng(seed).normal(0, 5, len(x)) * 8) / 8
    wish = build(straight_ground(x, z))
    chain = chain_over(wish, np.array([0.0, 60.0]))
    start = np.full(2, 72.0 + 14.0)
    (found,) = cheapest_near([wish], [chain], [start], (), (1,))
    assert (np.round((found - start) / wish.mark) * wish.mark + start) == pytest.approx(found)
    centre, share = wish.slots.centre, wish.slots.centre / 60
    under = [
        max(*np.interp([a, b], x, z), *z[(x > a) & (x < b)], -99.0)
        for a, b in zip(wish.slots.left, wish.slots.right, strict=True)
    ]
    knots, ground = np.concatenate([x, centre]), np.concatenate([z, under])
    best = np.inf
    for left in found[0] + wish.mark * np.arange(-32, 33):
        for right in found[1] + wish.mark * np.arange(-32, 33):
            if (left + (right - left) * knots / 60 >= ground + 72 - 1e-7).all():
                best = min(best, wish.cost.total(left + share * (right - left)))
    assert total_cost([wish], [chain], [found]) == pytest.approx(best)
