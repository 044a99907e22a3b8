"""The cost of a picket as its top rises."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from fencegrade.fence.slots import Slots
from fencegrade.fence.stock_steps import BoardCost, board_cost, cheapest_from
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import BottomCut
from fencegrade.job.records import Stock

FLAT = ground_line([0, 100], [10, 10])
ONE = Slots(left=np.array([10.0]), right=np.array([15.5]))


def ladder(
    stock: Sequence[tuple[float, float | None]],
    most_gap: float = 2.0,
    line: GroundLine = FLAT,
    slots: Slots = ONE,
    **others: Any,
) -> BoardCost:
    offered = [Stock(length=length, price=price) for length, price in stock]
    n = len(slots)
    return board_cost(
        line, slots, np.full(n, 2.0), np.full(n, most_gap), offered, BottomCut.SQUARE, 0.125, **others
    )


def test_board_serves_until_its_length_rounded_down_passes_it() -> None:
    cost = ladder([(72, 4.0), (96, 7.0)])
    # foot at 10 + 2; 72 in serves while the length is under 72-1/8
    assert cost.at(np.array([84.124])) == [4.0]
    assert cost.at(np.array([84.126])) == [7.0]
    assert cost.foot == [12.0]


def test_shorter_board_serves_while_its_gap_is_allowed() -> None:
    cost = ladder([(72, 4.0), (96, 7.0)], most_gap=3.0)
    assert cost.stock_reach[0, 0] == pytest.approx(10 + 3 + 72)
    assert cost.full_reach[0, 0] == pytest.approx(84.125)
    assert cost.at(np.array([85.0])) == [4.0]
    assert cost.at(np.array([85.01])) == [7.0]


def test_beyond_the_longest_stock_the_charge_is_large_and_finite() -> None:
    cost = ladder([(72, 4.0), (96, 7.0)])
    top = np.array([150.0])
    assert cost.at(top) == [7.0 + 1000 * 7.0]
    assert cost.unserved(top).tolist() == [True]
    assert cost.boards(top) == 0.0


def test_longer_stock_that_costs_less_takes_over() -> None:
    assert cheapest_from(np.array([5.0, 3.0, 9.0])).tolist() == [3.0, 3.0, 9.0]
    cost = ladder([(72, 5.0), (84, 3.0), (96, 9.0)])
    assert cost.at(np.array([80.0])) == [3.0]
    assert cost.at(np.array([90.0])) == [3.0]
    assert cost.at(np.array([98.0])) == [9.0]


def test_without_prices_length_counts() -> None:
    cost = ladder([(72, None), (96, None)])
    assert cost.at(np.array([80.0])) == [72.0]
    assert cost.at(np.array([90.0])) == [96.0]


def test_height_limit_is_one_more_rung() -> None:
    cost = ladder([(72, 4.0), (96, 7.0)], highest_allowed=np.array([82.0]))
    assert cost.at(np.array([82.0])) == [4.0]
    assert cost.at(np.array([82.1])) == [4.0 + 100 * 7.0]


def test_ceiling_is_the_full_reach_of_the_board_in_use() -> None:
    cost = ladder([(72, 4.0), (96, 7.0)], most_gap=4.0)
    assert cost.ceiling(np.array([80.0])) == pytest.approx([84.125])
    # a shorter board serves here already with a larger gap, so the top may not rise
    assert cost.ceiling(np.array([85.0])) == pytest.approx([85.0])


def test_no_stock_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^a board cost needs one stock length or more$"):
        board_cost(FLAT, ONE, np.full(1, 2.0), np.full(1, 3.0), [], BottomCut.SQUARE, 0.125)


def test_a_rung_by_rung_cost_by_hand() -> None:
    """Boards of 72 at 4, 84 at 7, 96 at 6 over ground at 10 with 2 in clear: 84 in never pay."""
    cost = ladder([(72, 4.0), (84, 7.0), (96, 6.0)])
    assert cost.base.tolist() == [4]
    assert cost.charge.tolist() == [[2.0, 7000.0]]
    assert cost.reach[0].tolist() == pytest.approx([84.125, 108.125])
    tops = [84.0, 84.2, 96.2, 108.0, 108.2]
    assert [cost.total(np.array([t])) for t in tops] == [4, 6, 6, 6, 7006]
    assert [cost.boards(np.array([t])) for t in tops] == [4, 6, 6, 6, 0]
    assert [int(cost.shortest(np.array([t]))[0]) for t in tops] == [0, 1, 2, 2, 3]
    assert [bool(cost.unserved(np.array([t]))[0]) for t in tops] == [False] * 4 + [True]
    assert cost.timber(np.array([84.0])) == 72
    assert cost.full_least[0].tolist() == pytest.approx([84, 96, 108])
    assert cost.full_reach[0].tolist() == pytest.approx([84.125, 96.125, 108.125])
    assert cost.ceiling(np.array([84.0])) == pytest.approx([84.125])
    assert cost.ceiling(np.array([90.0])) == pytest.approx([96.125])
    assert np.isinf(cost.ceiling(np.array([120.0]))).all()


def test_a_top_that_just_reaches_is_served() -> None:
    cost = ladder([(72, 4.0), (96, 7.0)])
    reach = cost.stock_reach[0]
    assert cost.shortest(np.array([reach[0]])).tolist() == [0]
    assert not cost.unserved(np.array([reach[1]])).any()
    assert cost.total(np.array([reach[0]])) == 4.0


def test_a_top_just_as_high_as_stock_reaches_is_served() -> None:
    """What lies 1e-8 in past a reach is rounding, ten times as much is not."""
    cost = ladder([(72, 4.0), (96, 7.0)])
    last = cost.stock_reach[:, -1]
    for above, served in ((-1e-7, True), (0.0, True), (5e-9, True), (1e-7, False)):
        assert cost.unserved(last + above).tolist() == [not served]
        assert cost.shortest(last + above).tolist() == [1 if served else 2]
        assert cost.at(last + above) == [7.0 if served else 7007.0]
        assert cost.shortest(cost.stock_reach[:, 0] + above).tolist() == [0 if served else 1]
        assert cost.at(cost.stock_reach[:, 0] + above) == [4.0 if served else 7.0]
