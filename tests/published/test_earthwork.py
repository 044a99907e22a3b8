"""Earthwork sections and soil factors against published worked examples.

Railway cutting: G. L. Vose, Handbook of Railroad Construction (1857), article 108; printed areas are whole
square feet, and the printed middle areas 236 and 483 should be 234.4 and 484.4.
Sand and clay by weight: worked earthwork example (expertsmind.com). Clay: S. W. Nunnally, Construction
Methods and Management, soil table (from memory).
Soil volume factors: US Army FM 5-434 (2000), chapter 1 (from memory; sand seen in a Navy manual, table 10-1).
Tolerances are half a unit of the last printed digit.
"""

import numpy as np
import pytest
from straight_ground import straight_ground

from fencegrade.fence.low_ground.soil_body import CUBIC_FOOT, Section, depth_moments
from fencegrade.figures.soil import CUBIC_FEET_IN_YARD, SOIL_WEIGHTS
from fencegrade.figures.soil_volume import SOIL_VOLUMES

WEIGHTS = {w.material: w for w in SOIL_WEIGHTS}
RAILWAY = Section(crest=20.0, side_slope=1.5)


def test_railway_cutting_by_end_areas() -> None:
    areas = RAILWAY.area([0, 5, 10, 15, 0])
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
    middle = RAILWAY.area([2.5, 7.5, 12.5, 7.5])
    assert middle == pytest.approx([59.375, 234.375, 484.375, 234.375])
    assert abs(middle[1] - 236) > 1.5  # the printed 236 and 483 are wrong
    assert abs(middle[2] - 483) > 1.3


def test_sand_and_clay_by_weight() -> None:
    soil = WEIGHTS["sand and clay"]
    assert 2000 / soil.bank == pytest.approx(0.59, abs=0.005)
    assert 2000 / soil.loose == pytest.approx(0.74, abs=0.005)
    assert (soil.bank / soil.loose - 1) * 100 == pytest.approx(26, abs=0.5)


def test_clay_by_weight() -> None:
    clay = WEIGHTS["clay"]
    assert clay.bank / clay.loose - 1 == pytest.approx(0.30, abs=0.005)
    assert 1 - clay.bank / clay.compacted == pytest.approx(0.20, abs=0.005)
    assert clay.loose / clay.bank == pytest.approx(0.77, abs=0.005)
    bank = 165_000 / CUBIC_FEET_IN_YARD * clay.compacted / clay.bank
    assert bank == pytest.approx(7638.89, abs=0.005)
    assert bank * clay.bank / clay.loose == pytest.approx(9920.63, abs=0.005)
    assert np.ceil(bank * clay.bank / clay.loose / 12) == 827


@pytest.mark.parametrize(
    ("material", "loose", "compacted", "order"),
    [("sand", 1.11, 0.95, 1.17), ("common earth", 1.25, 0.90, 1.39), ("clay", 1.43, 0.90, 1.59)],
)
def test_soil_volume_factors(material: str, loose: float, compacted: float, order: float) -> None:
    (soil,) = [s for s in SOIL_VOLUMES if s.material == material]
    assert (soil.bank_to_loose, soil.bank_to_compacted) == (loose, compacted)
    assert soil.compacted_to_loose == pytest.approx(order, abs=0.005)
    # the table agrees with itself to its two digits
    assert soil.bank_to_loose / soil.bank_to_compacted == pytest.approx(order, abs=0.0075)
