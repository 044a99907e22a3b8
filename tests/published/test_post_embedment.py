"""International Building Code section 1807.3: depth of posts, equations 18-1 (nonconstrained) and 18-2.

Equations and table 1806.2 (2012) of the code itself, which was not opened: from pages that restate it. An
example without a number to look it up by has no source. Tolerance: half a unit of the last printed digit.
"""

import pytest

from fencegrade.fence.posts.wind import constrained_depth, depth_with_bearing, required_depth
from fencegrade.figures.bearing import BEARING, ISOLATED_POLE_FACTOR, SoilClass


def test_pole_of_a_spreadsheet_handbook() -> None:
    """C. Christy, Engineering with the Spreadsheet (ASCE Press 2006), chapter 16."""
    assert constrained_depth(510, 4.0, 1.0, 266) == pytest.approx(3.19, abs=0.005)


def test_flagpole_constrained_with_factor_two() -> None:
    """Worked to IBC 2018, section 1807.3; no source."""
    lateral = 350 * ISOLATED_POLE_FACTOR
    depth = constrained_depth(30_000, 3, 4.5, lateral)
    assert depth * 0.3048 == pytest.approx(1.509, abs=0.0005)
    # the sheet's bearings: S1 at a third of the depth, S3 at the depth, in Pa
    assert lateral * depth / 3 * 47.880259 == pytest.approx(55_320, abs=5)
    assert lateral * depth * 47.880259 == pytest.approx(166_000, abs=50)
    assert 2.34 * 30_000 / (lateral * depth / 3 * 4.5) == pytest.approx(13.501, abs=0.0005)


def test_flagpole_nonconstrained_converges_past_the_printed_depth() -> None:
    """Trap: five averaged passes give 30.55 ft; converged it is 30.64. Worked example, no source."""
    lateral, depth = 200 * ISOLATED_POLE_FACTOR, 12.0
    for _ in range(200):
        depth = (depth + depth_with_bearing(100_000, 62.11, 6, lateral * depth / 3)) / 2
    assert depth == pytest.approx(30.64, abs=0.005)
    assert abs(depth - 30.55) > 0.05


def test_past_the_cap_the_safer_reading() -> None:
    """The code counts d to 12 ft for the pressure, S1 = 4 ft of the table at most; the sheets that read
    min(d/3, 12) find the same up to 12 ft and too little beyond it. Computed: A 24.375, d 54.60 ft.
    """
    lateral = 200 * ISOLATED_POLE_FACTOR
    a = 2.34 * 100_000 / (4 * lateral * 6)
    assert a == pytest.approx(24.375)
    beyond = a / 2 * (1 + (1 + 4.36 * 62.11 / a) ** 0.5)
    assert required_depth(100_000, 62.11, 6, lateral) == pytest.approx(beyond)
    assert beyond == pytest.approx(54.60, abs=0.005)
    shallow = required_depth(5_000, 20.0, 3.0, lateral)
    assert shallow < 12
    assert shallow == pytest.approx(depth_with_bearing(5_000, 20.0, 3.0, lateral * shallow / 3))


def test_sign_footing_with_bearing_at_the_depth_provided() -> None:
    """City of Zephyrhills FL record 178567, page 40: S1 at a third of 4 ft; 3.54 printed, 3.546 cut off."""
    force = 24.7 * 36.0
    assert 3.54 <= depth_with_bearing(force, 3.40, 3, 400) < 3.55
    assert required_depth(force, 3.40, 3, 300) == pytest.approx(3.7208, abs=5e-5)


def test_sign_footing_on_two_areas() -> None:
    """Same record, page 35: printed P 1.74 k at 4.17 ft, 3.97 ft deep."""
    assert depth_with_bearing(1740, 4.17, 5.5, 400) == pytest.approx(3.97, abs=0.005)
    assert required_depth(24.7 * (26.6 + 44.1), 4.1851, 5.5, 300) == pytest.approx(3.9904, abs=5e-5)


def test_bearing_belongs_at_a_third_of_the_depth() -> None:
    """Trap: Zephyrhills record 96802, page 11, takes S1 at full depth and prints 6.6 ft; right is 9.08."""
    assert depth_with_bearing(6980, 8.5, 3, 2000) == pytest.approx(6.5643, abs=5e-5)
    assert required_depth(6980, 8.5, 3, 400) == pytest.approx(9.0823, abs=5e-5)


def test_the_term_a_is_divided_by_bearing_once() -> None:
    """eng-tips thread 276653: A 17.6 ft; trap: 1.47 comes of multiplying by the depth twice."""
    bearing = 150 * 6 / 3 * 1.33
    a = 2.34 * 3000 / bearing
    assert a == pytest.approx(17.6, abs=0.05)
    assert depth_with_bearing(3000, 0.0, 1.0, bearing) == pytest.approx(a)


def test_presumptive_bearing() -> None:
    """IBC 2012 table 1806.2: psf a foot of depth."""
    printed = {
        SoilClass.BEDROCK: 1200,
        SoilClass.ROCK: 400,
        SoilClass.GRAVEL: 200,
        SoilClass.SAND: 150,
        SoilClass.CLAY: 100,
    }
    assert {c: b.lateral for c, b in BEARING.items()} == printed
    assert [b.material for b in BEARING.values()] == [
        "crystalline bedrock",
        "sedimentary and foliated rock",
        "sandy gravel and gravel (GW, GP)",
        "sand; silty or clayey sand or gravel (SW, SP, SM, SC, GM, GC)",
        "clay; sandy or silty clay; clayey silt; silt; sandy silt (CL, ML, MH, CH)",
    ]
