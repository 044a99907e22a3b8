"""Earthwork sections and soil factors against published worked examples.

Railway cutting: G. L. Vose, Handbook of Railroad Construction (1857), article 108; printed areas are whole
square feet, and the printed middle areas 236 and 483 should be 234.4 and 484.4.
Cut and fill: Wikibooks, Fundamentals of Transportation, Earthwork/Solution: end areas at six stations, by
mean areas, and by a third of the larger where one is zero.
Area by offsets at 15 m, and a hill from contours at 3 m, printed as 16,535 m3 because Simpson's rule was
taken over an even number of sections: no source, any hand can rework them.
Tolerances are half a unit of the last printed digit.
"""

import numpy as np
import pytest
from straight_ground import section_area, straight_ground

from fencegrade.fence.low_ground.soil_body import CUBIC_FOOT, Section, depth_moments

RAILWAY = Section(crest=20.0, side_slope=1.5)


def test_railway_cutting_by_end_areas() -> None:
    areas = section_area(RAILWAY, [0, 5, 10, 15, 0])
    # the printed areas are whole square feet: 137, 350, 637
    assert areas == pytest.approx([0, 137, 350, 637, 0], abs=0.5)
    strips = 50 * (areas[:-1] + areas[1:]) / 2
    # the areas and then their means were rounded to whole square feet: half a foot each over 50 ft
    assert strips == pytest.approx([3450, 12200, 24650, 15900], abs=50 * (0.5 + 0.5))


def test_railway_cutting_exactly() -> None:
    # straight ground between the sections, so the exact integral is the prismoidal volume
    x = np.arange(5) * 50.0
    line = straight_ground(x, [0, -5, -10, -15, 0])
    found = RAILWAY.volume(depth_moments(line, 0.0, 200.0, 0.0, 0.0))
    assert found * CUBIC_FOOT == pytest.approx([52500], rel=1e-12)
    middle = section_area(RAILWAY, [2.5, 7.5, 12.5, 7.5])
    assert middle == pytest.approx([59.375, 234.375, 484.375, 234.375])
    assert abs(middle[1] - 236) > 1.5  # the printed 236 and 483 are wrong
    assert abs(middle[2] - 483) > 1.3


def between(section: Section, x: list[float], depths: list[float]) -> float:
    """What a section holds over straight ground of these depths, in the unit the figures are in."""
    line = straight_ground(x, [-d for d in depths])
    found = section.volume(depth_moments(line, x[0], x[-1], 0.0, 0.0))
    return float(found.sum()) * CUBIC_FOOT


WALL, WEDGE = Section(crest=1.0, side_slope=0.0), Section(crest=0.0, side_slope=1.0)
"""Whose area is its depth, so that mean areas are exact; and the square of it, so that a pyramid is."""


def test_cut_and_fill_of_a_road() -> None:
    fill = between(WALL, [0, 50, 75, 100], [60, 50, 25, 5]) + between(WEDGE, [100, 115], [5**0.5, 0])
    cut = between(WEDGE, [75, 100], [0, 10**0.5]) + between(WALL, [100, 115, 150], [10, 15, 30])
    assert fill == pytest.approx(4087.5, abs=0.05)
    assert cut == pytest.approx(1058.3, abs=0.05)
    assert fill - cut == pytest.approx(3029.2, abs=0.05)


def test_area_by_offsets_and_a_hill_by_contours() -> None:
    offsets = [3.5, 4.3, 6.75, 5.25, 7.5, 8.8, 7.9, 6.4, 4.4, 3.25]
    assert between(WALL, [15.0 * k for k in range(10)], offsets) == pytest.approx(820.125, abs=0.0005)
    hill = between(WALL, [3.0 * k for k in range(6)], [375, 620, 945, 1365, 1880, 2570])
    assert hill == pytest.approx(18847.5, abs=0.05)
    assert abs(hill - 16535) > 2000
