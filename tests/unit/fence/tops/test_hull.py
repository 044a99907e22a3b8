"""Supporting lines of the ground, against the ground looked at every 1/50 in."""

import numpy as np
import pytest
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.tops import hull as hull_of
from fencegrade.fence.tops.hull import _cut_at_points, _end_slopes, _knot_slopes, support
from fencegrade.fence.tops.line_on_ground import ToClear, ground_alone, ground_and_boards, touch_pieces
from fencegrade.ground.cubics import Cubics
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.units.arrays import Floats

SLOPES = np.array([-3.0, -0.4, -0.21, -0.1, -0.03, 0.0, 0.02, 0.07, 0.15, 0.33, 2.5])


def rolling(seed: int, count: int = 9, rough: float = 6.0) -> GroundLine:
    x = np.arange(count) * 30.0
    return ground_line(x, np.random.default_rng(seed).normal(0, rough, count))


def looked_at(under: ToClear, start: float, end: float) -> tuple[Floats, Floats]:
    """Stations and heights of the ground, and of the points to be cleared, within a stretch."""
    x = np.linspace(start, end, int((end - start) * 50) + 1)
    z = under.line.elevation(x)
    inside = (under.stations > start) & (under.stations < end)
    return np.append(x, under.stations[inside]), np.append(z, under.elevations[inside])


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("stretch", [(0.0, 240.0), (17.0, 201.5)])
@pytest.mark.parametrize("boards", [False, True])
def test_the_lowest_line_of_every_slope(seed: int, stretch: tuple[float, float], boards: bool) -> None:
    line = rolling(seed)
    wish = build(line)
    under = ground_and_boards(line, wish.slots, np.array(stretch)) if boards else ground_alone(line)
    x, z = looked_at(under, *stretch)
    hull = support(under, *stretch)
    high, touch = hull.at(SLOPES)
    for m, h, t in zip(SLOPES, high, touch, strict=True):
        over = z - m * (x - stretch[0])
        assert h == pytest.approx(over.max(), abs=1e-3)
        assert h >= over.max() - 1e-9
        # the line is that high at the place it touches, and nowhere far from it
        assert over[np.argmin(np.abs(x - t))] == pytest.approx(h, abs=0.05)
        assert stretch[0] - 1e-9 <= t <= stretch[1] + 1e-9
    assert np.all(np.diff(hull.breaks) >= 0)
    assert np.all(np.diff(touch) <= 1e-9), "the touch moves back as the slope grows"
    assert hull.ends() == pytest.approx(tuple(line.elevation(np.array(stretch)).tolist()))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("station", [0.5, 31.0, 90.0, 133.3, 239.0])
def test_the_slope_that_is_lowest_over_a_station(seed: int, station: float) -> None:
    line = rolling(seed)
    hull = support(ground_alone(line), 0.0, 240.0)

    def over(slope: Floats) -> Floats:
        return hull.at(slope)[0] + slope * station

    found = hull.lowest_over(station)
    least = float(over(np.array([found]))[0])
    near = found + np.array([-1e-3, 1e-3, -0.02, 0.02])
    assert least <= over(np.append(near, np.linspace(-2, 2, 401))).min() + 1e-9


@pytest.mark.parametrize("seed", range(3))
def test_straight_ground_touches_at_the_corners_of_its_upper_hull(seed: int) -> None:
    z = np.random.default_rng(seed).normal(0, 6, 12)
    x = np.arange(12) * 20.0
    hull = support(ground_alone(straight_ground(x, z)), 0.0, 220.0)
    high, touch = hull.at(SLOPES)
    best = np.array([(z - m * x).argmax() for m in SLOPES])
    assert high == pytest.approx([(z - m * x).max() for m in SLOPES])
    assert touch == pytest.approx(x[best])


def test_pieces_end_where_points_stand_and_no_others_do() -> None:
    """Points at, before and past the ends of the stretch are none of it; a knot parts no piece twice."""
    line = straight_ground([0, 60, 120], [0, 6, 0])
    under = ToClear(
        line=line, stations=np.array([10.0, 20, 60, 75, 100]), elevations=np.array([9.0, 8, 7, 6, 5])
    )
    pieces = _cut_at_points(under, 10.0, 100.0)
    ends = [
        (float(b + p), float(b + q)) for b, p, q in zip(pieces.base, pieces.low, pieces.high, strict=True)
    ]
    assert ends == [(10, 20), (20, 20), (20, 60), (60, 60), (60, 75), (75, 75), (75, 100)]
    assert pieces.cubic[1:6:2, 3].tolist() == [8, 7, 6]


def test_slopes_of_a_bent_piece() -> None:
    """z = x^3 - 6 x^2 + x over 0 to 5: slopes 3 x^2 - 12 x + 1, least at x = 2."""
    line = GroundLine(
        stations=np.array([0.0, 5.0]),
        elevations=np.array([0.0, -20.0]),
        coefficients=np.array([[1.0, -6.0, 1.0, 0.0]]),
    )
    pieces = _cut_at_points(ground_alone(line), 0.0, 5.0)
    assert sorted(_end_slopes(pieces).ravel().tolist()) == [-11.0, 1.0, 16.0]
    pieces = _cut_at_points(ground_alone(line), 3.0, 5.0)
    assert sorted(_end_slopes(pieces).ravel().tolist()) == [-8.0, -8.0, 16.0], "it turns outside"


def test_slopes_between_neighbours_take_the_highest_at_each_station() -> None:
    line = straight_ground([0, 20, 20, 60], [0, 10, 4, 8])
    under = ToClear(line=line, stations=np.array([40.0]), elevations=np.array([30.0]))
    assert _knot_slopes(_cut_at_points(under, 0.0, 60.0)) == pytest.approx([0.5, 1.0, -1.1])


def test_a_long_dome_of_boards_is_looked_at_but_a_few_times(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every point of a dome lies on its hull; each slope looks at the few between its neighbours alone."""
    x = np.linspace(0.0, 40_000.0, 4_001)
    looked = list[int]()

    def counted(pieces: Cubics, slope: Floats, origin: float) -> tuple[Floats, Floats]:
        looked.append(len(pieces))
        return touch_pieces(pieces, slope, origin)

    monkeypatch.setattr(hull_of, "touch_pieces", counted)
    dome = ToClear(line=straight_ground([0, 40_000], [0, 0]), stations=x, elevations=x * (1 - x / 4e4))
    found = support(dome, 0.0, 40_000.0)
    assert len(found.breaks) == 4_000
    assert sum(looked) < 4_001 * 150
