"""Earthwork sections and soil factors against published worked examples.

Railway cutting: G. L. Vose, Handbook of Railroad Construction (1857), article 108; printed areas are whole
square feet, and the printed middle areas 236 and 483 should be 234.4 and 484.4.
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
