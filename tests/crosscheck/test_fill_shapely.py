"""Soil under a surface against areas of polygons by shapely, on ground that is straight between readings."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from straight_ground import section_area, straight_ground

from fencegrade.fence.low_ground.soil_body import Section, depth_moments
from fencegrade.ground.profile import ground_line

shapely = pytest.importorskip("shapely")

HEIGHTS = st.lists(st.floats(-10.0, 10.0), min_size=3, max_size=10)
FLOOR, SKY = -1000.0, 1000.0


def area(x: np.ndarray, ground: list[float], za: float, zb: float) -> float:
    """Area of soil to add, by polygon overlay."""
    end = float(x[-1])
    earth = shapely.Polygon([(0, FLOOR), *zip(x.tolist(), ground, strict=True), (end, FLOOR)])
    wanted = shapely.Polygon([(0, FLOOR), (0, za), (end, zb), (end, FLOOR)])
    return float(wanted.difference(earth).area)


@given(HEIGHTS, st.floats(-12.0, 12.0), st.floats(-12.0, 12.0))
def test_depth_along_the_fence(ground: list[float], za: float, zb: float) -> None:
    x = np.arange(len(ground)) * 24.0
    line = straight_ground(x, ground)
    fill = area(x, ground, za, zb)
    assert depth_moments(line, 0.0, x[-1], za, zb).first[0] == pytest.approx(fill, rel=1e-7, abs=1e-6)


@given(st.floats(0.0, 30.0), st.floats(0.0, 40.0), st.floats(0.0, 8.0))
def test_the_section_is_a_trapezoid(depth: float, crest: float, slope: float) -> None:
    foot = crest / 2 + slope * depth
    shape = shapely.Polygon([(-foot, 0), (-crest / 2, depth), (crest / 2, depth), (foot, 0)])
    assert float(section_area(Section(crest=crest, side_slope=slope), depth)) == pytest.approx(
        shape.area, abs=1e-6
    )


@given(st.floats(1.0, 12.0), st.floats(1.0, 24.0), st.floats(0.5, 6.0), st.floats(2.0, 10.0))
def test_a_fill_with_its_taper_by_slices(depth: float, crest: float, side: float, end: float) -> None:
    # a taper on level ground is a wedge; its sections are polygons, and Simpson's rule sums them exactly
    section = Section(crest=crest, side_slope=side)
    line = ground_line([0, 100, 200, 300], [0, 0, 0, 0])
    run = depth * end
    found = section.volume(depth_moments(line, 100.0, 100.0 + run, depth, 0.0))[0] * 1728

    def slice_area(d: float) -> float:
        foot = crest / 2 + side * d
        return float(shapely.Polygon([(-foot, 0), (-crest / 2, d), (crest / 2, d), (foot, 0)]).area)

    simpson = run / 6 * (slice_area(depth) + 4 * slice_area(depth / 2) + slice_area(0.0))
    assert found == pytest.approx(simpson, rel=1e-9)
