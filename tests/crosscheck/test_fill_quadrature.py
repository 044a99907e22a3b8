"""Soil under a straight surface: the exact integrals against numerical quadrature by scipy."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import integrate, optimize
from scipy.interpolate import PchipInterpolator
from straight_ground import section_area

from fencegrade.fence.low_ground.soil_body import Section, depth_moments
from fencegrade.fence.low_ground.taper import backward_tapers, mirrored, stops, tapers
from fencegrade.ground.profile import GroundLine, ground_line

NONE = np.zeros(0)


@st.composite
def grounds(draw: st.DrawFn) -> GroundLine:
    steps = draw(st.lists(st.floats(6.0, 60.0), min_size=4, max_size=9))
    heights = draw(st.lists(st.integers(-96, 96), min_size=len(steps) + 1, max_size=len(steps) + 1))
    return ground_line(np.concatenate([[0.0], np.cumsum(steps)]), [h / 8 for h in heights])


def by_quadrature(line: GroundLine, a: float, b: float, za: float, zb: float, power: int) -> float:
    ground = PchipInterpolator(line.stations, line.elevations)

    def depth(x: float) -> float:
        surface = za + (zb - za) * (x - a) / (b - a)
        return float(max(0.0, surface - float(ground(x)))) ** power

    edges = [a, *line.stations[(line.stations > a) & (line.stations < b)].tolist(), b]
    return sum(
        integrate.quad(depth, p, q, limit=200, epsabs=1e-8, epsrel=1e-8)[0] for p, q in pairwise(edges)
    )


@settings(max_examples=25)
@given(grounds(), st.floats(0.0, 0.9), st.floats(0.05, 1.0), st.floats(-14.0, 14.0), st.floats(-14.0, 14.0))
def test_integrals_of_depth_and_its_square(
    line: GroundLine, start: float, share: float, za: float, zb: float
) -> None:
    a = start * line.end
    b = min(line.end, a + share * (line.end - a) + 0.5)
    found = depth_moments(line, a, b, za, zb)
    assert found.first[0] == pytest.approx(by_quadrature(line, a, b, za, zb, 1), rel=1e-6, abs=1e-6)
    assert found.second[0] == pytest.approx(by_quadrature(line, a, b, za, zb, 2), rel=1e-6, abs=1e-6)


def test_many_stretches_at_once_are_each_their_own() -> None:
    line = ground_line([0, 20, 50, 70, 90, 120], [0, 4, -3, -8, 2, 1])
    a, b = np.array([0.0, 15.0, 40.0, 95.0, 30.0]), np.array([20.0, 60.0, 40.0, 120.0, 110.0])
    together = depth_moments(line, a, b, 0.0, np.array([1.0, -2.0, 0.0, 3.0, 2.0]))
    for i in range(len(a)):
        alone = depth_moments(line, a[i], b[i], 0.0, [1.0, -2.0, 0.0, 3.0, 2.0][i])
        assert (together.first[i], together.second[i]) == (alone.first[0], alone.second[0])
    assert together.first[2] == 0.0


def test_a_volume_is_the_integral_of_its_section() -> None:
    line = ground_line([0, 24, 48, 72, 96], [0, -3, -9, -4, 0])
    section = Section(crest=12.0, side_slope=3.0)
    area = integrate.quad(
        lambda x: (
            float(section_area(section, -1.0 - float(line.elevation(x)))) * (float(line.elevation(x)) < -1.0)
        ),
        0,
        96,
        points=[24, 48, 72],
        limit=400,
    )[0]
    found = section.volume(depth_moments(line, 0.0, 96.0, -1.0, -1.0))[0]
    assert found == pytest.approx(area / 1728, rel=1e-6)


@settings(max_examples=25)
@given(grounds(), st.floats(0.05, 0.6), st.floats(0.1, 5.0), st.floats(2.0, 9.0))
def test_a_taper_ends_where_it_first_meets_the_ground(
    line: GroundLine, at: float, depth: float, slope: float
) -> None:
    edge = at * line.end
    surface = float(line.elevation(edge)) + depth
    found = tapers(line, np.array([edge]), np.array([surface]), stops(NONE, NONE, line.end), slope, 1000.0)
    x = np.linspace(edge, line.end, 5_001)
    over: NDArray[np.float64] = surface - (x - edge) / slope - line.elevation(x)
    assert found.possible[0]
    if np.all(over > 0):
        assert found.reach[0] == line.end
        beyond = float(over[-1])
        want = by_quadrature(line, edge, line.end, surface, surface - (line.end - edge) / slope, 1)
        assert found.moments.first[0] == pytest.approx(want + beyond**2 * slope / 2, rel=1e-6)
        return
    k = int(np.argmax(over <= 0))
    root = optimize.brentq(
        lambda s: surface - (s - edge) / slope - float(line.elevation(s)), float(x[k - 1]), float(x[k])
    )
    assert found.reach[0] <= root + 1e-6  # a grid can step over a touch, never see one that is not there
    end = float(found.reach[0])
    assert float(surface - (end - edge) / slope - line.elevation(end)) == pytest.approx(0.0, abs=1e-6)
    if end > edge + 1e-6:
        for power, moment in ((1, found.moments.first), (2, found.moments.second)):
            want = by_quadrature(line, edge, end, surface, surface - (end - edge) / slope, power)
            assert moment[0] == pytest.approx(want, rel=1e-5, abs=1e-7)


@given(grounds(), st.floats(0.4, 0.95), st.floats(0.1, 5.0), st.floats(2.0, 9.0))
def test_a_taper_backward_is_one_forward_on_the_ground_turned_round(
    line: GroundLine, at: float, depth: float, slope: float
) -> None:
    edge = at * line.end
    surface = np.array([float(line.elevation(edge)) + depth])
    back = backward_tapers(line, np.array([edge]), surface, NONE, slope, 1000.0)
    turned = ground_line(line.end - line.stations[::-1], line.elevations[::-1])
    ahead = tapers(turned, line.end - np.array([edge]), surface, stops(NONE, NONE, line.end), slope, 1000.0)
    assert line.end - back.reach[0] == pytest.approx(ahead.reach[0], abs=1e-5)
    assert back.moments.second[0] == pytest.approx(ahead.moments.second[0], rel=1e-5, abs=1e-6)


@given(grounds())
def test_the_mirrored_line_is_the_same_ground(line: GroundLine) -> None:
    x = np.linspace(line.start, line.end, 60)
    assert mirrored(line).elevation(-x) == pytest.approx(line.elevation(x), abs=1e-9)
