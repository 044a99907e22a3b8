"""Cubics under stretches: their turns, their crossings, and that a face has no part of its own."""

import numpy as np
import pytest

from fencegrade.ground.cubics import (
    crossing,
    cubic_at,
    cubics_under,
    extremes_about_line,
    monotone_parts,
    over_line,
    turns,
)
from fencegrade.ground.profile import ground_line

LINE = ground_line([0, 40, 80, 120, 120, 160, 200, 240], [0, 6, 2, 5, 14, 9, 12, 12])
"""Two pieces with a face between them at 120 in (own case)."""


def test_the_turns_are_the_roots_of_the_derivative() -> None:
    rng = np.random.default_rng(3)
    c = rng.normal(size=(200, 4))
    c[::5, 0], c[::7, :2] = 0.0, 0.0
    slope = rng.normal(size=200)
    for k, (first, second) in enumerate(zip(*turns(c, slope), strict=True)):
        wanted = np.roots([3 * c[k, 0], 2 * c[k, 1], c[k, 2] - slope[k]])
        real = sorted(float(w.real) for w in wanted if abs(w.imag) < 1e-12)
        if len(real) == 2:
            assert sorted((first, second)) == pytest.approx(real, rel=1e-9)
        elif len(real) == 1:
            assert min(abs(first - real[0]), abs(second - real[0])) < 1e-9 * max(1.0, abs(real[0]))


def test_stretches_are_divided_at_readings_and_a_face_has_no_part() -> None:
    cubics, owner = cubics_under(LINE, np.array([10.0, 120.0, 240.0]), np.array([150.0, 130.0, 240.0]))
    assert owner.tolist() == [0, 0, 0, 0, 1, 2]
    assert (cubics.base + cubics.low).tolist() == [10, 40, 80, 120, 120, 240]
    assert (cubics.base + cubics.high).tolist() == [40, 80, 120, 150, 130, 240]
    assert cubic_at(cubics.cubic, cubics.high)[2:4] == pytest.approx([5, float(LINE.elevation(150.0))])


def test_a_stretch_past_an_end_by_rounding_ends_there() -> None:
    line = ground_line([3.6, 40.0, 96.0], [0.0, 5.0, 2.0])
    within, _ = cubics_under(line, np.array([3.6, 90.0]), np.array([10.0, 96.0]))
    past, owner = cubics_under(line, np.array([3.6 - 4e-16, 90.0]), np.array([10.0, 96.0 + 2e-14]))
    assert owner.tolist() == [0, 1]
    assert (past.low.tolist(), past.high.tolist()) == (within.low.tolist(), within.high.tolist())


@pytest.mark.parametrize(("a", "b"), [(-1.0, 10.0), (0.0, 241.0), (20.0, 10.0)])
def test_stretches_outside_the_readings_or_backward_are_refused(a: float, b: float) -> None:
    with pytest.raises(ValueError, match="must lie within the readings"):
        cubics_under(LINE, np.array([a]), np.array([b]))


def test_a_surface_meets_the_ground_where_they_are_equal() -> None:
    cubics, _ = cubics_under(LINE, np.array([0.0]), np.array([40.0]))
    depth = over_line(cubics.cubic, cubics.base, np.array([3.0]), np.array([0.01]))
    parts = monotone_parts(depth, cubics.low, cubics.high)
    (at,) = crossing(depth, parts[0], parts[-1])
    assert LINE.elevation(at) == pytest.approx(3.0 + 0.01 * at, abs=1e-12)


def test_extremes_over_a_line_are_those_of_a_dense_comb() -> None:
    a, b, slope = np.array([5.0, 60.0, 120.0]), np.array([115.0, 200.0, 235.0]), np.array([0.1, -0.05, 0.02])
    high, low = extremes_about_line(LINE, a, b, slope)
    for k in range(3):
        x = np.linspace(a[k], b[k], 40_001)
        over = np.concatenate([LINE.elevation(x), LINE.elevation(x, before=True)[1:]]) - slope[
            k
        ] * np.concatenate([x - a[k], (x - a[k])[1:]])
        assert (high[k], low[k]) == pytest.approx((over.max(), over.min()), abs=1e-6)
