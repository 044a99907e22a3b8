"""Linear programmes for top lines against independent ones: other variables, sampled ground, other solver."""

import numpy as np
import pytest
from scipy.optimize import linprog, minimize_scalar
from top_wishes import build

from fencegrade.fence.tops import (
    TopLimits,
    choose_contour,
    choose_joined,
    choose_racked,
)
from fencegrade.fence.tops.contour import _ceiling, _corners, _following
from fencegrade.fence.tops.linear_programme import CLEAR, Aim
from fencegrade.ground.profile import ground_line
from fencegrade.job.records import TopStyle

FREE = TopLimits(most_bend=1e6)
"""A limit that never holds, but keeps the search on the tape out, so that the programme alone is tested."""


def random_ground(seed, readings=9, spread=5.0):
    rng = np.random.default_rng(seed)
    x = np.concatenate([[0.0], np.cumsum(rng.uniform(30, 60, readings - 1))])
    return ground_line(x, np.cumsum(rng.normal(0, spread, readings)))


def by_slopes(corners, x, z):
    """Matrix from (height at the first corner, slope of every piece) to heights at stations `x`, and z."""
    run = np.clip(x[:, None] - corners[:-1], 0, np.diff(corners))
    return np.column_stack([np.ones(len(x)), run]), z


def sampled(line, least, count=6001):
    x = np.union1d(np.linspace(line.start, line.end, count), line.stations)
    return x, line.elevation(x) + least


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize(("slope", "bend"), [(None, None), (0.05, None), (None, 0.03), (0.06, 0.05)])
def test_racked_timber_by_slopes(seed, slope, bend):
    """Unknowns the slopes instead of the heights, ground sampled, interior point instead of simplex."""
    line = random_ground(seed)
    posts = np.linspace(line.start, line.end, 5)
    limits = TopLimits(most_slope=slope, most_bend=1e6 if bend is None else bend)
    wish = build(line, posts=posts, limits=limits)
    choice = choose_racked(wish)
    ground, need = by_slopes(posts, *sampled(line, 72))
    heights, _ = by_slopes(posts, wish.slots.centre, None)
    turn = np.diff(np.eye(4), axis=0)
    rows, sides = [-ground], [-need]
    if bend is not None:
        wide = np.column_stack([np.zeros(3), turn])
        rows += [wide, -wide]
        sides += [np.full(3, bend)] * 2
    limit = np.inf if slope is None else slope
    found = linprog(
        heights.sum(axis=0),
        A_ub=np.vstack(rows),
        b_ub=np.concatenate(sides),
        bounds=[(None, None)] + [(-limit, limit)] * 4,
        method="highs-ipm",
    )
    expected = found.fun - wish.cost.foot.sum()
    # ours may be lifted whole by CLEAR; sampled ground is a hair lower
    assert choice.timber == pytest.approx(expected, abs=len(wish.slots) * 5 * CLEAR[Aim.TIMBER])
    assert choice.least_height >= 72 - 1e-9
    assert choice.steepest <= limit + 1e-7
    if bend is not None:
        assert choice.largest_bend <= bend + 1e-7


@pytest.mark.parametrize("seed", range(5))
def test_racked_least_bend_by_slopes(seed):
    line = random_ground(seed)
    posts = np.linspace(line.start, line.end, 6)
    wish = build(line, posts=posts, limits=FREE)
    choice = choose_racked(wish, Aim.BEND)
    # without a ceiling a straight line is always possible
    assert choice.largest_bend == pytest.approx(0, abs=1e-8)
    assert choice.least_height >= 72 - 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_contour_least_bend_by_slopes(seed):
    """The same question in slopes over sampled ground, by interior point."""
    line = random_ground(seed, readings=7)
    wish = build(line)
    choice = choose_contour(wish)
    x = _corners(line, wish.slots, line.start, line.end)
    roof = _ceiling(wish, x, _following(line, x, 72.0))
    ground, need = by_slopes(x, *sampled(line, 72))
    corners, _ = by_slopes(x, x, None)
    turn = np.diff(np.eye(len(x) - 1), axis=0)
    bend = np.column_stack([np.zeros(len(turn)), turn])
    one = np.ones((len(turn), 1))

    def wide(rows):
        return np.column_stack([rows, np.zeros(len(rows))])

    found = linprog(
        np.append(np.zeros(len(x)), 1.0),
        A_ub=np.vstack([wide(-ground), wide(corners), np.hstack([bend, -one]), np.hstack([-bend, -one])]),
        b_ub=np.concatenate([-need, roof, np.zeros(2 * len(turn))]),
        bounds=[(None, None)] * (len(x) + 1),
        method="highs-ipm",
    )
    assert found.status == 0
    # a thousandth of an inch of ground over three corners some six inches apart
    assert choice.largest_bend == pytest.approx(found.fun, abs=4 * CLEAR[Aim.BEND] / 5.75)
    assert choice.largest_bend == pytest.approx(found.fun, rel=0.05)
    assert choice.least_height >= 72 - 1e-9
    assert np.all(choice.top.elevations <= roof + CLEAR[Aim.BEND] + 1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_two_joined_runs_by_the_corner_height(seed):
    """One unknown, the height of the corner: each run's least timber is then a search of its own."""
    grounds = [random_ground(seed), random_ground(seed + 50)]
    wishes = [build(g) for g in grounds]
    choices = choose_joined(wishes, [(0, 1)], TopStyle.SLOPED)
    assert choices is not None
    samples = [sampled(g, 72, 20_001) for g in grounds]

    def timber(corner):
        total = 0.0
        for wish, (x, z), pivot in zip(wishes, samples, (grounds[0].end, grounds[1].start), strict=True):
            off = np.abs(x - pivot)
            far = off > 0
            if corner < z[~far].max():
                return 1e9 + z[~far].max() - corner
            rate = ((z[far] - corner) / off[far]).max()
            total += (corner + rate * np.abs(wish.slots.centre - pivot) - wish.cost.foot).sum()
        return total

    low = max(z[-1] if k == 0 else z[0] for k, (_, z) in enumerate(samples))
    found = minimize_scalar(timber, bounds=(low, low + 60), method="bounded", options={"xatol": 1e-8})
    pickets = sum(len(w.slots) for w in wishes)
    assert sum(c.timber for c in choices) <= found.fun + pickets * 1e-4
    assert sum(c.timber for c in choices) == pytest.approx(min(found.fun, timber(low)), abs=pickets * 1e-3)
