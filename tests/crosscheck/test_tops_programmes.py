"""Linear programmes for top lines against independent ones: other variables, sampled ground, other solver."""

import numpy as np
import pytest
from scipy.optimize import linprog, minimize_scalar
from top_wishes import build, solved

from fencegrade.fence.tops.asked import TopWish
from fencegrade.fence.tops.chains import chain_over, meetings_at
from fencegrade.fence.tops.contour import _ceiling, _corners, _following
from fencegrade.fence.tops.contour import choose as choose_contour
from fencegrade.fence.tops.line_on_ground import ground_and_boards
from fencegrade.fence.tops.linear_programme import CLEAR, Aim
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.units.arrays import Floats


def random_ground(seed: int, readings: int = 9, spread: float = 5.0) -> GroundLine:
    rng = np.random.default_rng(seed)
    x = np.concatenate([[0.0], np.cumsum(rng.uniform(30, 60, readings - 1))])
    return ground_line(x, np.cumsum(rng.normal(0, spread, readings)))


def by_slopes(corners: Floats, x: Floats) -> Floats:
    """Matrix from (height at the first corner, slope of every piece) to heights at stations `x`."""
    run = np.clip(x[:, None] - corners[:-1], 0, np.diff(corners))
    return np.column_stack([np.ones(len(x)), run])


def sampled(line: GroundLine, least: float, count: int = 6001) -> tuple[Floats, Floats]:
    x = np.union1d(np.linspace(line.start, line.end, count), line.stations)
    return x, line.elevation(x) + least


def needs(wish: TopWish, count: int = 6001) -> tuple[Floats, Floats]:
    """All a line has to clear, with the least height, by sampling: the ground, and each board's highest."""
    x, z = sampled(wish.line, 72, count)
    under = wish.slots.left[:, None] + wish.slots.width[:, None] * np.linspace(0, 1, 201)
    under = np.minimum(under, wish.slots.right[:, None])
    inside = (wish.line.stations > wish.slots.left[:, None]) & (
        wish.line.stations < wish.slots.right[:, None]
    )
    knots = np.where(inside, wish.line.elevations, -np.inf).max(axis=1)
    high = np.maximum(wish.line.elevation(under).max(axis=1), knots) + 72
    return np.concatenate([x, wish.slots.centre]), np.concatenate([z, high])


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("slope", [None, 0.05])
def test_racked_timber_by_slopes(seed: int, slope: float | None) -> None:
    """Unknowns the slopes instead of the heights, ground sampled, interior point instead of simplex."""
    line = random_ground(seed)
    posts = np.linspace(line.start, line.end, 5)
    wish = build(line, posts=posts)
    (found_heights,) = solved([chain_over(wish, posts)], Aim.TIMBER, slope)
    at, need = needs(wish)
    ground, heights = by_slopes(posts, at), by_slopes(posts, wish.slots.centre)
    limit = np.inf if slope is None else slope
    found = linprog(
        heights.sum(axis=0),
        A_ub=-ground,
        b_ub=-need,
        bounds=[(None, None)] + [(-limit, limit)] * 4,
        method="highs-ipm",
    )
    # ours may be lifted whole by CLEAR; sampled ground is a hair lower
    timber = np.interp(wish.slots.centre, posts, found_heights).sum()
    assert timber == pytest.approx(found.fun, abs=len(wish.slots) * 5 * CLEAR[Aim.TIMBER])
    assert np.all(np.interp(at, posts, found_heights) >= need - 1e-9)
    assert np.abs(np.diff(found_heights) / np.diff(posts)).max() <= limit + 1e-7


@pytest.mark.parametrize("seed", range(4))
def test_contour_least_bend_by_slopes(seed: int) -> None:
    """The same question in slopes over sampled ground, by interior point."""
    line = random_ground(seed, readings=7)
    wish = build(line)
    choice = choose_contour(wish)
    x = _corners(line, wish.slots, line.start, line.end)
    roof = _ceiling(wish, x, _following(ground_and_boards(line, wish.slots, x), x, 72.0))
    at, need = needs(wish)
    ground, corners = by_slopes(x, at), by_slopes(x, x)
    turn = np.diff(np.eye(len(x) - 1), axis=0)
    bend = np.column_stack([np.zeros(len(turn)), turn])
    one = np.ones((len(turn), 1))

    def wide(rows: Floats) -> Floats:
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
    assert choice.top.largest_bend == pytest.approx(found.fun, abs=4 * CLEAR[Aim.BEND] / 5.75)
    assert choice.top.largest_bend == pytest.approx(found.fun, rel=0.05)
    assert choice.least_height >= 72 - 1e-9
    assert np.all(choice.top.elevations <= roof + CLEAR[Aim.BEND] + 1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_two_joined_runs_by_the_corner_height(seed: int) -> None:
    """One unknown, the height of the corner: each run's least timber is then a search of its own."""
    grounds = [random_ground(seed), random_ground(seed + 50)]
    wishes = [build(g) for g in grounds]
    chains = [chain_over(w, np.array([w.start, w.end])) for w in wishes]
    heights = solved(chains, Aim.TIMBER, None, meetings_at([(0, 1)]))
    samples = [needs(w, 20_001) for w in wishes]

    def timber(corner: float) -> float:
        total = 0.0
        for wish, (x, z), pivot in zip(wishes, samples, (grounds[0].end, grounds[1].start), strict=True):
            off = np.abs(x - pivot)
            far = off > 0
            if corner < z[~far].max():
                return float(1e9 + z[~far].max() - corner)
            rate = ((z[far] - corner) / off[far]).max()
            total += (corner + rate * np.abs(wish.slots.centre - pivot)).sum()
        return float(total)

    low = max(float(g.elevation(g.end if k == 0 else g.start)) + 72 for k, g in enumerate(grounds))
    found = minimize_scalar(timber, bounds=(low, low + 60), method="bounded", options={"xatol": 1e-8})
    pickets = sum(len(w.slots) for w in wishes)
    ours = sum(
        float(np.interp(w.slots.centre, c.x, z).sum())
        for w, c, z in zip(wishes, chains, heights, strict=True)
    )
    assert ours <= found.fun + pickets * 1e-4
    assert ours == pytest.approx(min(found.fun, timber(low)), abs=pickets * 1e-3)
