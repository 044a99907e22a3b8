"""Bays against every combination of post places on a grid, and the even division against a general solver."""

from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from fencegrade.fence.bays.bays import Bays, lay_bays
from fencegrade.fence.bays.even_division import divide_evenly
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import RailJoint
from fencegrade.job.records import Posts, Rails, Run, Stock, Stretch

POST, HOLE = 4.0, 12.0
RAIL = 4.0


def _lay(
    line: GroundLine, length: float, rail: float, spacing: float, closed: list[tuple[int, int]]
) -> Bays | None:
    run = Run(
        name="hedge",
        survey="hedge.csv",
        no_post=tuple(Stretch(start=a, end=b) for a, b in closed),
    )
    posts = Posts(
        width=POST,
        spacing=spacing,
        height=0.0,
        hole_diameter=HOLE,
        least_depth=0.0,
        stock=(),
    )
    rails = Rails(height=RAIL, joint=RailJoint.BUTTED, stock=(Stock(length=rail),))
    bays, _ = lay_bays(run, posts, rails, line, 0.0, length)
    return bays


def _bay_is_good(a: float, b: float, line: GroundLine, length: float, rail: float, spacing: float) -> bool:
    extra = POST / 2 * ((a == 0) + (b == length))
    slope = float(line.elevation(b) - line.elevation(a)) / (b - a)
    return (
        POST <= b - a <= spacing
        and (b - a + extra) * (1 + slope**2) ** 0.5 + RAIL * abs(slope) <= rail + 1e-9
    )


def _best_on_grid(
    line: GroundLine, length: float, rail: float, spacing: float, closed: list[tuple[int, int]], step: int
) -> tuple[int, float] | None:
    """Fewest bays and their least sum of squares: every way from end to end over all pairs of grid places."""
    places = [
        x
        for x in np.arange(step, length, step).tolist()
        if POST <= x <= length - POST and not any(a - HOLE / 2 < x < b + HOLE / 2 for a, b in closed)
    ]
    ends = [0.0, *places, length]
    ways = {
        (a, b): (b - a) ** 2
        for a, b in combinations(ends, 2)
        if b - a <= spacing and _bay_is_good(a, b, line, length, rail, spacing)
    }
    reached = {0.0: 0.0}
    for count in range(1, 12):
        after: dict[float, float] = {}
        for (a, b), square in ways.items():
            if a in reached:
                after[b] = min(after.get(b, np.inf), reached[a] + square)
        if length in after:
            return count, after[length]
        reached = after
    return None


def _check(
    line: GroundLine,
    length: float,
    rail: float,
    spacing: float,
    closed: list[tuple[int, int]],
    step: int,
    exact: bool,
) -> None:
    bays = _lay(line, length, rail, spacing, closed)
    best = _best_on_grid(line, length, rail, spacing, closed, step)
    if best is None:
        assert bays is None or not exact
        return
    assert bays is not None
    count, squares = best
    assert len(bays) == count if exact else len(bays) <= count
    for a, b in pairwise(bays.posts):
        assert _bay_is_good(a, b, line, length, rail + 1e-5, spacing + 1e-5)
    for a, b in closed:
        assert not ((bays.posts > a - HOLE / 2 + 1e-5) & (bays.posts < b + HOLE / 2 - 1e-5)).any()
    if len(bays) == count:
        assert (bays.width**2).sum() <= squares + 1e-3


@given(
    length=st.integers(10, 26).map(lambda k: 12.0 * k),
    rail=st.integers(5, 9).map(lambda k: 12.0 * k),
    spacing=st.integers(5, 9).map(lambda k: 12.0 * k),
    closed=st.lists(st.tuples(st.integers(2, 22), st.integers(0, 4)), max_size=3),
)
@settings(max_examples=50)
def test_level_ground_against_all_places_on_a_grid(
    length: float, rail: float, spacing: float, closed: list[tuple[int, int]]
) -> None:
    """All measures are multiples of the grid, so the fewest bays of the grid are the fewest of all.

    An end rail needs 2 in more than its bay, so rails are lengthened by that: ends do not bind.
    """
    stretches = [(12 * k + 6, 12 * (k + w) + 6) for k, w in closed if 12 * (k + w) + 18 < length]
    line = ground_line([0.0, length], [0.0, 0.0])
    spacing = min(rail, spacing)
    _check(line, length, rail + 2 * POST, spacing, stretches, 12, exact=True)


@given(
    heights=st.lists(st.integers(-12, 12), min_size=5, max_size=5),
    rail=st.integers(58, 110).map(float),
    closed=st.lists(st.tuples(st.integers(10, 170), st.integers(1, 30)), max_size=2),
)
@settings(max_examples=40)
def test_uneven_ground_is_never_worse_than_the_grid(
    heights: list[int], rail: float, closed: list[tuple[int, int]]
) -> None:
    line = ground_line(np.linspace(0, 216, 5), np.array(heights, dtype=float))
    stretches = [(a, a + w) for a, w in closed]
    _check(line, 216.0, rail, 96.0, stretches, 9, exact=False)


@given(st.integers(0, 10_000))
@settings(max_examples=30)
def test_even_division_against_a_general_solver(seed: int) -> None:
    """Windows and largest parts are drawn about a division that exists, so one is there to be found."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 7))
    parts = rng.uniform(5, 20, n)
    cuts = np.cumsum(parts)[:-1]
    end = float(parts.sum())
    low, high = cuts - rng.uniform(0, 8, n - 1), cuts + rng.uniform(0, 8, n - 1)
    most = parts + rng.uniform(0, 6, n)
    found = divide_evenly(0.0, end, low, high, most)
    assert found is not None
    sizes = np.diff([0.0, *found, end])
    assert (sizes <= most + 1e-6).all()
    assert (found >= low - 1e-6).all()
    assert (found <= high + 1e-6).all()

    def squares(x: Any) -> float:
        return float((np.diff([0.0, *x, end]) ** 2).sum())

    limits: Any = {"type": "ineq", "fun": lambda x: most - np.diff([0.0, *x, end])}
    best = minimize(
        squares, cuts, bounds=list(zip(low, high, strict=True)), constraints=[limits], method="SLSQP"
    )
    assert squares(found) <= best.fun + 1e-4
    assert squares(found) == pytest.approx(best.fun, rel=1e-3)
