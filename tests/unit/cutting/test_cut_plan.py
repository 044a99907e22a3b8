"""The public door: what it takes and what it gives back."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from fencegrade.cutting import CutPlan, CuttingError, Piece, Stock, cut_plan


def taken_off(plan: CutPlan) -> int:
    """Length taken off all pieces together."""
    return sum(board.count * sum(board.shortened) for board in plan.boards)


def test_plain_lengths_and_pairs_mean_the_same() -> None:
    plans = [
        cut_plan([30, 30, 40], [100]),
        cut_plan([(30, 2), (40, 1)], [Stock(length=100)]),
        cut_plan({30: 2, 40: 1}, [(100, None)]),
        cut_plan([Piece(length=30, count=2), Piece(length=40)], {100: None}),
    ]
    assert all(plan.boards == plans[0].boards for plan in plans)
    assert plans[0].cost == 100
    assert plans[0].boards[0].pieces == (40, 30, 30)


def test_a_saw_cut_lies_between_pieces_and_before_an_offcut() -> None:
    assert cut_plan([(49, 2)], [99], 1).boards[0].offcut == 0
    assert cut_plan([(49, 2)], [98], 1).board_count == 2
    assert cut_plan([(49, 2)], [105], 1).boards[0].offcut == 5
    assert cut_plan([(49, 2)], [99], 1).boards[0].pieces == (49, 49)


def test_money_decides_where_there_are_prices() -> None:
    plan = cut_plan([(70, 2)], [(96, "4.10"), (144, 6.85)])
    assert plan.exact_cost == Fraction("6.85")
    assert plan.cost == 6.85
    cheap_short = cut_plan([(70, 2)], [(96, Decimal("3.40")), (144, 6.85)])
    assert cheap_short.exact_cost == Fraction("6.80")


def test_float_prices_mean_the_decimals_they_are_written_as() -> None:
    plan = cut_plan([(70, 3)], [(96, 0.1)])
    assert plan.exact_cost == Fraction(3, 10)
    assert plan.cost == 0.3


def test_boards_on_hand_come_first_and_cost_nothing() -> None:
    plan = cut_plan([(50, 5)], [Stock(length=100, price=3, on_hand=2)])
    assert plan.cost == 3
    assert [(b.on_hand, b.count) for b in plan.boards if b.on_hand] == [(True, 2)]


def test_boards_on_hand_need_no_price_if_no_more_can_be_bought() -> None:
    plan = cut_plan([(50, 3)], [Stock(length=60, on_hand=1, limit=0), Stock(length=100, price=3)])
    assert plan.cost == 3


def test_limits_are_kept() -> None:
    plan = cut_plan([(50, 6)], [Stock(length=100, price=3, limit=2), Stock(length=60, price=2)])
    assert sum(b.count for b in plan.boards if b.stock == 100) == 2
    assert plan.cost == 10
    assert plan.proven


def test_single_pieces_go_to_the_cheapest_board_that_holds_them() -> None:
    plan = cut_plan([(570, 30), (600, 14)], [(576, 4.10), (768, 6.85)], 1, one_piece=True)
    assert plan.exact_cost == 30 * Fraction("4.10") + 14 * Fraction("6.85")
    assert plan.proven
    assert all(len(b.pieces) == 1 for b in plan.boards)


def test_single_pieces_on_limited_boards_move_along_a_chain() -> None:
    stock = [
        Stock(length=72, price=1, limit=2),
        Stock(length=96, price=5, on_hand=2, limit=0),
        Stock(length=120, price=9),
    ]
    plan = cut_plan([(70, 3), (90, 2)], stock, one_piece=True)
    assert plan.cost == 2 + 9
    assert plan.proven


def test_of_boards_that_cost_the_same_the_shorter_is_taken() -> None:
    """Three on hand, two of them wanted; none holds two pieces."""
    stock = [Stock(length=length, price=5, on_hand=1) for length in (90, 70, 80)]
    for one_piece in (False, True):
        plan = cut_plan([(60, 2)], stock, one_piece=one_piece)
        assert [(b.stock, b.on_hand) for b in plan.boards] == [(70, True), (80, True)]


def test_shortening_only_where_it_saves_money() -> None:
    pieces = [Piece(length=580, count=20, slack=8), Piece(length=600, count=3, slack=8)]
    plan = cut_plan(pieces, [(576, 4.10), (768, 6.85)], 1, one_piece=True)
    assert taken_off(plan) == 20 * 4
    assert plan.exact_cost == 20 * Fraction("4.10") + 3 * Fraction("6.85")
    same_price = cut_plan(pieces, [(576, 6.85), (768, 6.85)], 1, one_piece=True)
    assert taken_off(same_price) == 0


def test_shortened_pieces_get_back_what_fits() -> None:
    plan = cut_plan([Piece(length=49, count=4, slack=2), Piece(length=30, count=3)], [(96, 10)], 1)
    assert plan.cost == 30
    assert taken_off(plan) == 2 * 3
    assert taken_off(cut_plan([Piece(length=49, count=2, slack=2)], [(99, 10)], 1)) == 0


def test_a_piece_that_fits_only_shortened_is_shortened() -> None:
    plan = cut_plan([Piece(length=101, count=1, slack=2)], [100])
    assert plan.boards[0].pieces == (100,)
    assert plan.boards[0].shortened == (1,)


def test_useful_offcuts_are_no_waste() -> None:
    plan = cut_plan([60], [100], 1, least_offcut=30)
    assert (plan.kept, plan.waste) == (39, 1)
    assert (cut_plan([60], [100], 1, least_offcut=39).kept, cut_plan([60], [100], 1).kept) == (39, 0)
    assert cut_plan([60], [100], 1, least_offcut=40).waste == 40
    assert cut_plan([60], [100], 1).waste_share == pytest.approx(0.4)


def test_nothing_wanted_costs_nothing() -> None:
    plan = cut_plan([], [100])
    assert (plan.boards, plan.cost, plan.proven) == ((), 0, True)


def test_equal_cost_goes_to_fewer_boards() -> None:
    plan = cut_plan([(40, 2)], [(48, 1), (96, 2)])
    assert (plan.cost, plan.board_count) == (2, 1)


def test_a_hundred_thousand_pieces() -> None:
    plan = cut_plan([(31, 40_000), (45, 60_000)], [100], seconds=5)
    assert sum(b.count * len(b.pieces) for b in plan.boards) == 100_000
    assert plan.lower_bound <= plan.cost <= plan.lower_bound * 1.0001


@pytest.mark.parametrize(
    ("pieces", "stock", "places"),
    [
        ([200, 3], [100], ["pieces 1, length"]),
        ([3, -1, 0], [(100, 5)], ["pieces 2, length", "pieces 3, length"]),
        ([3.5, "x"], [10], ["pieces 1, length", "pieces 2, length"]),
        ([3], [], ["stock"]),
        ([3], [Stock(length=10, limit=0)], ["stock"]),
        ([3], [(10, 5), 20, 30], ["stock 2, price", "stock 3, price"]),
        ([3], [(10, 0)], ["stock 1, price"]),
        ([3], [(10, "dear")], ["stock 1, price"]),
        ([Piece(length=5, slack=5)], [10], ["pieces 1, slack"]),
        ([(5, -2)], [10], ["pieces 1, count"]),
        ([5], [Stock(length=10, limit=-1)], ["stock 1, limit"]),
    ],
)
def test_mistakes_are_listed_with_their_places(
    pieces: list[object], stock: list[object], places: list[str]
) -> None:
    with pytest.raises(CuttingError) as caught:
        cut_plan(pieces, stock)
    assert [mistake.place for mistake in caught.value.mistakes] == places


def test_a_piece_too_long_is_named() -> None:
    with pytest.raises(CuttingError, match="length 200 is longer than the longest stock, 100"):
        cut_plan([200], [100])


@pytest.mark.parametrize("one_piece", [False, True])
def test_too_little_stock_says_what_is_left_and_what_would_serve(one_piece: bool) -> None:
    with pytest.raises(CuttingError, match=r"leave 3 pieces over \(3 of 60\).*3 boards more of"):
        cut_plan([(60, 5)], [Stock(length=100, price=3, limit=2)], one_piece=one_piece)


def test_a_whole_number_may_be_written_in_any_type() -> None:
    plan = cut_plan([30.0, Fraction(30), (40, 1.0)], [Decimal(100)])
    assert plan.boards == cut_plan([30, 30, 40], [100]).boards


@pytest.mark.parametrize(
    "length", [float("inf"), float("nan"), Decimal("nan"), Decimal("inf"), 1e300, Fraction(61, 2), True, None]
)
def test_what_is_no_whole_number_is_refused(length: object) -> None:
    with pytest.raises(CuttingError, match=r"pieces 1, length: .* is not a whole number"):
        cut_plan([length], [100])


def test_kerf_and_counts_must_be_whole() -> None:
    with pytest.raises(CuttingError, match=r"kerf: 0\.5 is not a whole number"):
        cut_plan([5], [10], 0.5)


def test_lengths_and_saw_cuts_are_whole_numbers_of_any_kind() -> None:
    counted = cut_plan(np.array([5, 4]), {10: Decimal("2.50")}, np.int64(1), least_offcut=Fraction(2))
    assert counted.boards == cut_plan([5, 4], [(10, 2.5)], 1.0, least_offcut=2).boards
    assert counted.cost == 2.5
