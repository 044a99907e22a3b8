"""American Softwood Lumber Standard, PS 20 (NIST, US Department of Commerce): dressed sizes.

Sizes from memory, the standard itself was not opened. Exact: the sizes are definitions.
"""

from typing import Any

import pytest

from fencegrade.figures.lumber import LUMBER, USE_CATEGORIES, WOOD_WEIGHTS, Wood, nominal_size
from fencegrade.figures.timber import section_modulus

# nominal, dry thickness and width (in), the same in whole mm
ROWS = [
    ("1x4", 3 / 4, 3 + 1 / 2, (19, 89)),
    ("1x6", 3 / 4, 5 + 1 / 2, (19, 140)),
    ("1x8", 3 / 4, 7 + 1 / 4, (19, 184)),
    ("1x10", 3 / 4, 9 + 1 / 4, (19, 235)),
    ("5/4x6", 1, 5 + 1 / 2, (25, 140)),
    ("2x4", 1 + 1 / 2, 3 + 1 / 2, (38, 89)),
    ("2x6", 1 + 1 / 2, 5 + 1 / 2, (38, 140)),
    ("2x8", 1 + 1 / 2, 7 + 1 / 4, (38, 184)),
    ("4x4", 3 + 1 / 2, 3 + 1 / 2, (89, 89)),
    ("4x6", 3 + 1 / 2, 5 + 1 / 2, (89, 140)),
    ("6x6", 5 + 1 / 2, 5 + 1 / 2, (140, 140)),
]


@pytest.mark.parametrize("row", ROWS, ids=[r[0] for r in ROWS])
def test_dressed_size(row: tuple[Any, ...]) -> None:
    size = LUMBER[row[0]]
    assert (size.thickness, size.width) == (row[1], row[2])
    assert (round(size.thickness * 25.4), round(size.width * 25.4)) == row[3]


def test_a_2x4_is_of_today_and_not_of_before_1970() -> None:
    """Trap: a formula book still prints 1-5/8 by 3-5/8 in, 5.89 in2 and 3.56 in3."""
    size = LUMBER["2x4"]
    assert size.thickness * size.width == 5.25
    assert section_modulus(size.width, size.thickness) == pytest.approx(3.0625)
    assert section_modulus(3.625, 1.625) == pytest.approx(3.56, abs=0.005)


@pytest.mark.parametrize("row", ROWS, ids=[r[0] for r in ROWS])
def test_a_yard_names_a_section_by_its_dressed_size(row: tuple[Any, ...]) -> None:
    assert nominal_size(row[2], row[1]) == nominal_size(row[1], row[2]) == row[0]
    assert nominal_size(row[1] + 0.1, row[2] - 0.2) is None
    # a name is for what lies within 1/32 in of the size: own choice
    assert nominal_size(row[1] + 0.031, row[2] + 0.031) == row[0]
    assert nominal_size(row[1], row[2] + 0.032) is nominal_size(row[1] + 0.032, row[2]) is None


def test_fence_boards_are_sold_by_a_nominal_inch() -> None:
    """Boards from 1/2 in thick as 1x: common practice, no source."""
    sizes = [(0.625, 5.5), (0.625, 3.5), (0.5, 5.5), (0.49, 5.5), (0.625, 5.4)]
    assert [nominal_size(*s) for s in sizes] == ["1x6", "1x4", "1x6", None, None]


def test_end_tags_of_treated_wood() -> None:
    """AWPA standard U1, from memory: UC4A ground contact, general use; UC3B above ground, exposed."""
    assert USE_CATEGORIES == {Wood.GROUND_CONTACT: "UC4A", Wood.TREATED: "UC3B"}


def test_weights_of_wood() -> None:
    """USDA Wood Handbook, specific gravities from memory: loblolly 0.47 green, 0.51 dry, redwood 0.40.

    A treated 4x4 of 8 ft as it leaves the treater is 0.681 cubic feet and about 34 lb.
    """
    pounds = {wood: weight.pounds for wood, weight in WOOD_WEIGHTS.items()}
    assert pounds[Wood.SOFTWOOD] == pytest.approx(0.51 * 62.4 * 1.12)
    assert pounds[Wood.CEDAR] == pytest.approx(27.96, abs=0.005)
    assert pounds[Wood.GROUND_CONTACT] * 3.5**2 * 96 / 1728 == pytest.approx(33.9, abs=0.05)
