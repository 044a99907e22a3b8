"""What the search for the cheapest closing weighs, by hand."""

from dataclasses import replace

import numpy as np
import pytest

from fencegrade.fence.low_ground.bill import scaled, soil_bought, weigh
from fencegrade.fence.stock_steps import NO_STOCK_CHARGE
from fencegrade.job.choices import LowGround
from fencegrade.job.records import Soil, Stock
from fencegrade.units import UnitSystem

STOCK = (Stock(length=72.0, price=4.0), Stock(length=96.0, price=6.0), Stock(length=108.0, price=9.0))
SOIL = Soil(
    low_ground=LowGround.CHEAPEST,
    price=54.0,
    most_depth=6.0,
    crest=12.0,
    side_slope=3.0,
    loose_factor=1.25,
    kickboard=(Stock(length=120.0, price=11.0), Stock(length=96.0, price=9.0)),
)


def test_money_weighs_boards_soil_and_kickboards() -> None:
    found = weigh(LowGround.CHEAPEST, STOCK, SOIL, UnitSystem.IMPERIAL, 10.0, 3)
    assert found.boards == pytest.approx([4, 6, 9, 9 * NO_STOCK_CHARGE])
    # 54 a cubic yard is 2 a cubic foot loose, and a compacted foot takes 1-1/4 of them
    assert found.soil == pytest.approx(2.5)
    assert found.kickboards == pytest.approx([9, 11])
    assert found.per_board == 0
    assert (found.fills, found.strips) == (True, True)


def test_timber_weighs_inches_and_all_the_soil_less_than_an_inch() -> None:
    found = weigh(LowGround.SOIL, STOCK, SOIL, UnitSystem.IMPERIAL, 10.0, 3)
    assert found.boards[:3] == pytest.approx([72, 96, 108])
    assert 0 < found.soil * 10.0 < 1 / 32
    assert (found.fills, found.strips) == (True, False)
    strips = weigh(LowGround.KICKBOARD, STOCK, SOIL, UnitSystem.IMPERIAL, 10.0, 3)
    assert 0 < strips.kickboards.sum() * 3 < 1 / 32
    assert strips.kickboards[1] / strips.kickboards[0] == pytest.approx(11 / 9)
    assert (strips.fills, strips.strips) == (False, True)


def test_soil_without_a_price_comes_after_every_board() -> None:
    found = weigh(LowGround.CHEAPEST, STOCK, replace(SOIL, price=None), UnitSystem.IMPERIAL, 10.0, 3)
    assert found.per_board == 9.0
    assert 0 < found.soil * 10.0 < 1 / 32


def test_boards_partly_on_hand_cost_their_share_and_serve_for_shorter_ones() -> None:
    weights = weigh(LowGround.CHEAPEST, STOCK, SOIL, UnitSystem.IMPERIAL, 10.0, 3)
    # 6 at a half is 3, less than the shorter board's 4
    half = scaled(weights, STOCK, np.array([1.0, 0.5, 1.0]))
    assert half.boards == pytest.approx([3, 3, 9, 9 * NO_STOCK_CHARGE])
    free = scaled(weights, STOCK, np.array([1.0, 1.0, 0.0]))
    assert free.boards == pytest.approx([0, 0, 0, 9 * NO_STOCK_CHARGE])
    dearer = scaled(weights, STOCK, np.array([0.25, 0.75, 1.0]))
    assert dearer.boards == pytest.approx([1, 4.5, 9, 9 * NO_STOCK_CHARGE])
    assert (half.soil, half.per_board, half.fills, half.strips) == (weights.soil, 0.0, True, True)
    assert half.kickboards.tolist() == weights.kickboards.tolist()


@pytest.mark.parametrize(
    ("system", "bag", "count", "cost"),
    # 14 cubic feet are 0.519 cubic yards and 0.396 cubic metres, and 28 bags of half a cubic foot at 1.00
    [
        (UnitSystem.IMPERIAL, None, 1.0, 54.0),
        (UnitSystem.METRIC, None, 0.5, 27.0),
        (UnitSystem.IMPERIAL, 0.5, 28, 28.0),
    ],
)
def test_a_bill_counts_soil_as_it_is_sold(
    system: UnitSystem, bag: float | None, count: float, cost: float
) -> None:
    bought = soil_bought(14.0, replace(SOIL, bag=bag), system)
    assert (bought.count, bought.cost) == pytest.approx((count, cost))
