"""How far a rail reaches along a slope: bay sqrt(1 + m^2), own arithmetic."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.bays.reach import Span, chord_slope_at, chord_slopes
from fencegrade.ground.profile import ground_line


@pytest.mark.parametrize(
    ("slope", "bay"),
    [(0.05, 95.88), (0.10, 95.52), (0.15, 94.94), (0.20, 94.14), (0.25, 93.13), (0.33, 91.16)],
)
def test_largest_bay_of_an_8_ft_rail(make: SimpleNamespace, slope: float, bay: float) -> None:
    line = make.ground(2000, slope)
    span = Span(rail=96, height=0, spacing=120, slope_of=chord_slopes(line), slope_at=chord_slope_at(line))
    assert span.farthest(500, 0.0, 2000) - 500 == pytest.approx(bay, abs=0.005)
    assert 1500 - span.nearest(1500, 0.0, 0) == pytest.approx(bay, abs=0.005)


def test_plumb_ends_of_a_rail_take_of_its_board(make: SimpleNamespace) -> None:
    """Down a slope of 40 %: a rail 90 mm high of 2396 mm is 2396 + 90 x 0.4 = 2432 mm from corner to corner,
    so
    a board of 2.4 m gives one of 2364 mm."""
    line = make.ground(2000, 0.4)
    of, at = chord_slopes(line), chord_slope_at(line)
    span = Span(rail=2400 / 25.4, height=90 / 25.4, spacing=120, slope_of=of, slope_at=at)
    bay = 2364 / 25.4 / math.hypot(1, 0.4)
    assert span.farthest(500, 0.0, 2000) - 500 == pytest.approx(bay, abs=1e-5)
    assert 1500 - span.nearest(1500, 0.0, 0) == pytest.approx(bay, abs=1e-5)
    assert span.taken(np.zeros(1), np.array([2396 / 25.4 / math.hypot(1, 0.4)]), 0.0) == pytest.approx(
        2432 / 25.4
    )
    assert span.longest(np.array([-0.4])) == pytest.approx(bay)


def test_scalar_and_array_slopes_agree() -> None:
    line = ground_line([0, 40, 80, 120, 120, 160, 200, 240, 280], [0, 3, 1, 8, -20, -18, -25, -10, -4])
    quick, arrays = chord_slope_at(line), chord_slopes(line)
    rng = np.random.default_rng(5)
    a = np.append(rng.uniform(0, 140, 200), [120.0, 0.0])
    b = np.append(a[:-2] + rng.uniform(1, 140, 200), [200.0, 120.0])
    assert [quick(p, q) for p, q in zip(a.tolist(), b.tolist(), strict=True)] == pytest.approx(arrays(a, b))


def test_a_steady_slope_taped_level(make: SimpleNamespace) -> None:
    """24 m at 12 %, rails 2.4 m: ten bays of 2.4 m need 2.4172 m, so eleven of 2.1818 m (rail 2.1975)."""
    line = ground_line(np.array([0, 12000, 24000]) / 25.4, np.array([0, 1440, 2880]) / 25.4)
    posts = make.posts(width="100 mm", spacing="2.4 m", hole_diameter="300 mm")
    bays, problems = lay_bays(make.run(), posts, make.rails("2.4 m"), line, 0.0, 24000 / 25.4)
    assert bays is not None
    assert not problems
    assert len(bays) == 11
    assert len(bays.posts) == 12
    assert bays.width * 25.4 == pytest.approx(np.full(11, 2181.8), abs=0.05)
    assert bays.rail[5] * 25.4 == pytest.approx(2197.5, abs=0.05)
    span = Span(
        rail=2400 / 25.4, height=0, spacing=1e9, slope_of=chord_slopes(line), slope_at=chord_slope_at(line)
    )
    assert span.farthest(0.0, 0.0, 900) * 25.4 == pytest.approx(2382.9, abs=0.05)
    assert span.lengths(np.zeros(1), np.array([2400 / 25.4]), 0.0) * 25.4 == pytest.approx(2417.2, abs=0.05)


def test_a_long_run_over_waves_of_the_ground(make: SimpleNamespace) -> None:
    """800 ft over waves as steep as 7 %: 101 bays and 102 posts with 8 ft rails.

    Even bays would be 95.05 in; the two end rails cover their whole end post, so they take a little less.
    """
    x = np.arange(0, 801, 10) * 12.0
    line = ground_line(x, -0.30 * x / 12 + 14 * np.sin(2 * np.pi * x / 12 / 160))
    bays, _ = lay_bays(make.run(), make.posts(), make.rails("8 ft"), line, 0.0, 9600.0)
    assert bays is not None
    assert len(bays) == 101
    assert np.median(bays.width) == pytest.approx(95.05, abs=0.05)
    assert bays.width[[0, -1]] == pytest.approx([94.2, 94.2], abs=0.1)
    assert bays.rail.max() <= 96 + 1e-6


def _span(slope: float, rail: float, spacing: float) -> Span:
    return Span(
        rail=rail, height=0, spacing=spacing, slope_of=lambda a, b: slope, slope_at=lambda a, b: slope
    )


@pytest.mark.parametrize(
    ("slope", "rail", "spacing", "extra", "bay"),
    [
        (0.0, 120.0, 96.0, 2.0, 96.0),  # the spacing holds
        (0.0, 90.0, 96.0, 2.0, 88.0),  # the rail holds, less what it covers of the posts
        (0.0, 90.0, 96.0, -2.0, 92.0),  # it covers less than a post
        (0.75, 100.0, 96.0, 5.0, 75.0),  # 100 along a slope of 3 in 4 is 80 level
        (-0.75, 100.0, 70.0, 5.0, 70.0),
        (0.0, 4.0, 96.0, 5.0, 0.0),  # shorter than what it has to cover
    ],
)
def test_a_rail_reaches_as_far_back_as_forward(
    slope: float, rail: float, spacing: float, extra: float, bay: float
) -> None:
    span = _span(slope, rail, spacing)
    assert span.farthest(200.0, extra, 1000.0) == pytest.approx(200 + bay)
    assert span.nearest(200.0, extra, -1000.0) == pytest.approx(200 - bay)
    near = min(bay, 40.0)
    assert span.farthest(200.0, extra, 240.0) == pytest.approx(200 + near)
    assert span.nearest(200.0, extra, 160.0) == pytest.approx(200 - near)
    assert max(span.shortfalls(200.0, 200.0 + bay + 8, extra)) >= 8 - 1e-9


def test_a_bay_that_ends_at_a_face_has_the_slope_of_its_own_side() -> None:
    """At the foot of a face: a hair past it the slope is another, and the search bears it."""
    rng = np.random.default_rng(8)
    for face in rng.uniform(3, 20, 300).tolist():
        line = ground_line([0, face, face, face + 100], [-300, -300, -475, 5])
        span = Span(
            rail=96, height=0, spacing=120, slope_of=chord_slopes(line), slope_at=chord_slope_at(line)
        )
        for end in (face + rng.uniform(30, 45, 4)).tolist():
            near, far = span.nearest(end, 0.0, face), span.farthest(face, 0.0, end)
            assert face <= near <= end
            assert face <= far <= end
            assert near == end or span.fits(near, end, -1e-3)
