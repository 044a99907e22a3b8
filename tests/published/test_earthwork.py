"""Earthwork volumes and soil factors against published worked examples.

Volume of a hill from contours at 3 m: teaching page (engineeringdiscoveries.com); its "prismoidal" answer
    is wrong, since the formula needs an odd number of sections.
Cut and fill with zero ends: Wikibooks, Fundamentals of Transportation, Earthwork/Solution.
Areas by offsets: university surveying lecture 18, module 5, problem 2.
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

from fencegrade.fence.low_ground.earthwork import CutAndFill, cut_and_fill, end_area_volume, prismoidal_volume
from fencegrade.fence.low_ground.soil_body import CUBIC_FOOT, Section
from fencegrade.figures.soil import CUBIC_FEET_IN_YARD, SOIL_WEIGHTS
from fencegrade.figures.soil_volume import SOIL_VOLUMES

HILL = [375, 620, 945, 1365, 1880, 2570]
OFFSETS = [3.5, 4.3, 6.75, 5.25, 7.5, 8.8, 7.9, 6.4, 4.4, 3.25]
WEIGHTS = {w.material: w for w in SOIL_WEIGHTS}


def test_hill_by_average_end_areas() -> None:
    assert end_area_volume(np.arange(6) * 3.0, HILL) == pytest.approx(18847.5, abs=0.05)


def test_hill_by_the_prismoidal_formula_is_not_the_printed_answer() -> None:
    found = prismoidal_volume(3.0, HILL)
    assert found == pytest.approx(18760.0, abs=0.05)
    assert abs(found - 16535) > 2000


def test_cut_and_fill_with_zero_ends() -> None:
    x = [0, 50, 75, 100, 115, 150]
    fill = end_area_volume(x, [60, 50, 25, 5, 0, 0], pyramids=True)
    cut = end_area_volume(x, [0, 0, 0, 10, 15, 30], pyramids=True)
    assert fill == pytest.approx(4087.5, abs=0.05)
    assert cut == pytest.approx(1058.3, abs=0.05)
    assert CutAndFill(cut=cut, fill=fill).balance(1.0) == pytest.approx(-3029.2, abs=0.05)


def test_area_by_offsets() -> None:
    assert end_area_volume(np.arange(10) * 15.0, OFFSETS) == pytest.approx(820.125, abs=0.0005)
    assert prismoidal_volume(15.0, OFFSETS[:9]) == pytest.approx(756.0, abs=0.05)
    assert prismoidal_volume(15.0, OFFSETS) == pytest.approx(813.38, abs=0.0051)


def test_railway_cutting_by_end_areas() -> None:
    areas = Section(crest=20.0, side_slope=1.5).area([0, 5, 10, 15, 0])
    # the printed areas are whole square feet: 137, 350, 637
    assert areas == pytest.approx([0, 137, 350, 637, 0], abs=0.5)
    strips = [end_area_volume([0, 50], areas[i : i + 2]) for i in range(4)]
    # the areas and then their means were rounded to whole square feet: half a foot each over 50 ft
    assert strips == pytest.approx([3450, 12200, 24650, 15900], abs=50 * (0.5 + 0.5))
    assert end_area_volume(np.arange(5) * 50.0, areas) == pytest.approx(56250)


def test_railway_cutting_exactly() -> None:
    # straight ground between the sections, so the exact integral is the prismoidal volume
    x = np.arange(5) * 50.0
    line = straight_ground(x, [0, 5, 10, 15, 0])
    found = cut_and_fill(line, [0.0, 200.0], [0.0, 0.0], Section(crest=20.0, side_slope=1.5))
    assert found.fill == 0
    assert found.cut * CUBIC_FOOT == pytest.approx(52500, rel=1e-12)
    middle = Section(crest=20.0, side_slope=1.5).area([2.5, 7.5, 12.5, 7.5])
    assert middle == pytest.approx([59.375, 234.375, 484.375, 234.375])
    assert abs(middle[1] - 236) > 1.5  # the printed 236 and 483 are wrong
    assert abs(middle[2] - 483) > 1.3


def test_computed_exercises() -> None:
    # nothing printed; computed with the formulas above
    assert end_area_volume([0, 50], [120 * 9, 80 * 9]) / CUBIC_FEET_IN_YARD == pytest.approx(
        1666.67, abs=0.005
    )
    assert end_area_volume(np.arange(6) * 10.0, [12.5, 16, 18.4, 21, 19.5, 17]) == pytest.approx(896.5)
    areas = Section(crest=10.0, side_slope=1.5).area([0.9, 1.25, 2.15, 2.5, 1.85, 1.35, 0.85])
    assert end_area_volume(np.arange(7) * 40.0, areas) == pytest.approx(5096.775)
    assert prismoidal_volume(40.0, areas) == pytest.approx(5143.25)


def test_sections_that_make_no_volume_are_refused() -> None:
    with pytest.raises(ValueError, match="ascend"):
        end_area_volume([0, 0], [1, 2])
    with pytest.raises(ValueError, match="three sections"):
        prismoidal_volume(1.0, [1, 2])


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
