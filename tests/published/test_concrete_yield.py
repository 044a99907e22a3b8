"""Concrete in bags.

Yields of bags: common practice, no source; read the bag. Net hole volumes are geometry, computed.
"""

import math
from typing import Any

import numpy as np
import pytest

from fencegrade.fence.posts.concrete import hole_volume
from fencegrade.figures.concrete import (
    BAGS,
    CUBIC_YARD,
    GRAVEL_WEIGHT,
    ONE_PERSON_LIFT,
    WATER_PER_POUND,
    bag_yield,
)

# hole and depth (in), hole (ft3), less a 4x4, less a 6x6 (ft3), bags of 50, 60 and 80 lb with a 4x4,
# bags of 80 lb with a 6x6
HOLES = [
    (8, 24, 0.6981, 0.5280, 0.2780, (2, 2, 1, 1)),
    (10, 18, 0.8181, 0.6905, 0.5030, (2, 2, 2, 1)),
    (10, 24, 1.0908, 0.9207, 0.6707, (3, 3, 2, 2)),
    (10, 30, 1.3635, 1.1509, 0.8384, (4, 3, 2, 2)),
    (12, 36, 2.3562, 2.1010, 1.7260, (6, 5, 4, 3)),
    (12, 48, 3.1416, 2.8013, 2.3013, (8, 7, 5, 4)),
    (16, 42, 4.8869, 4.5892, 4.1517, (13, 11, 8, 7)),
    (18, 48, 7.0686, 6.7283, 6.2283, (18, 15, 12, 11)),
]

CONCRETE_WEIGHT = 150.0
"""Pounds a cubic foot of concrete that has set, usual in structural calculations."""


@pytest.mark.parametrize("row", HOLES, ids=[f"{r[0]} in by {r[1]} in" for r in HOLES])
def test_net_hole_volumes_and_bags(row: tuple[Any, ...]) -> None:
    diameter, depth, hole, small, large, bags = row
    volumes = [float(hole_volume(diameter, depth, p, p)) for p in (0, 3.5, 5.5)]
    assert volumes == pytest.approx([hole, small, large], abs=5e-5)
    got = [math.ceil(volumes[1] / bag_yield(w)) for w in (50, 60, 80)] + [
        math.ceil(volumes[2] / bag_yield(80))
    ]
    assert tuple(got) == bags


def test_bag_yields() -> None:
    assert [(b.weight, b.volume) for b in BAGS] == [(40, 0.30), (50, 0.375), (60, 0.45), (80, 0.60)]
    for bag in BAGS:
        assert bag_yield(bag.weight) == pytest.approx(bag.volume)
    assert [round(CUBIC_YARD / b.volume) for b in BAGS] == [90, 72, 60, 45]


def test_worked_pier() -> None:
    """12 in across, 2 ft 9 in deep: 7.2 bags of 40 lb, 3.6 of 80 lb; trap: 2.15 ft3 is cut off. No source."""
    volume = float(hole_volume(12, 33, 0, 0))
    assert volume == pytest.approx(2.160, abs=0.0005)
    assert volume / bag_yield(40) == pytest.approx(7.2, abs=0.05)
    assert volume / bag_yield(80) == pytest.approx(3.6, abs=0.05)
    assert np.round(volume, 2) != 2.15


def test_the_pole_of_a_handbook() -> None:
    """Christy, Engineering with the Spreadsheet (ASCE Press 2006), ch. 16: 3.19 ft deep, 1 ft across.

    0.376 kip of concrete, 0.093 cubic yards.
    """
    volume = float(hole_volume(12, 3.194 * 12, 0, 0))
    assert volume / CUBIC_YARD == pytest.approx(0.093, abs=0.0005)
    assert volume * CONCRETE_WEIGHT / 1000 == pytest.approx(0.376, abs=0.0005)


def test_what_one_person_lifts() -> None:
    """NIOSH publication 94-110, load constant of the lifting equation, from memory: 23 kg or 51 lb."""
    assert ONE_PERSON_LIFT == 51
    assert pytest.approx(23, abs=0.5) == ONE_PERSON_LIFT * 0.45359237


def test_water_by_the_bag() -> None:
    """Makers' data sheets, from memory: three quarts to begin with for 80 lb, gravel half a cubic foot
    in 50 lb."""
    assert pytest.approx(0.75) == WATER_PER_POUND * 80
    assert GRAVEL_WEIGHT * 0.5 == 50
