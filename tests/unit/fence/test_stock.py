"""Which board each picket is cut from: worked cases."""

import numpy as np
import pytest
from written import written

from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.stock import NO_STOCK, StockChoice, choose_stock, needs_of
from fencegrade.job.records import Stock

MARK = 0.125


def pickets(*lengths: float, gap: float = 2.0) -> Cuts:
    kept = np.array([round(x / MARK) for x in lengths], dtype=np.int64)
    here, bottom = np.zeros(len(lengths)), 80 - kept.astype(float) * MARK
    return Cuts(
        top=here + 80,
        bottom_left=bottom,
        bottom_right=bottom,
        kept_left=kept,
        kept_right=kept,
        kept=kept,
        gap=here + gap,
        height=here,
        tallest=here,
    )


def stock(length: str, price: float | None = None, on_hand: int = 0) -> Stock:
    return written(Stock, length=length, price=price, on_hand=on_hand)


def choose(cuts: Cuts, *offered: Stock, most_gap: float = 2.0) -> StockChoice:
    return choose_stock(needs_of(cuts, np.full(len(cuts.kept), most_gap), None, MARK), offered)


SIX, EIGHT, TEN = stock("6 ft", 4.0), stock("8 ft", 6.0), stock("10 ft", 9.0)


def test_the_shortest_that_serves_is_taken() -> None:
    choice = choose(pickets(70, 72, 72.125, 96, 100), TEN, SIX, EIGHT)
    assert [s.length for s in choice.offered] == [72, 96, 120]
    assert choice.stock.tolist() == [0, 0, 1, 1, 2]
    assert choice.used.tolist() == choice.bought.tolist() == [2, 2, 1]


def test_a_longer_board_that_is_cheaper_is_taken() -> None:
    choice = choose(pickets(70, 100), stock("6 ft", 4.0), stock("8 ft", 3.0), stock("10 ft", 9.0))
    assert choice.stock.tolist() == [1, 2]


def test_pickets_over_what_is_brought_up_to_them_lose_nothing_more() -> None:
    """A board 1 in short serves where 3 in may stay open, not where soil or a kickboard closes the ground."""
    cuts, most_gap = pickets(73, 73), np.array([3.0, 3.0])
    needs = needs_of(cuts, most_gap, np.array([False, True]), MARK)
    assert needs.room.tolist() == [1.0, 0.0]
    assert choose_stock(needs, (SIX, EIGHT)).stock.tolist() == [0, 1]


def test_equal_prices_take_the_shorter_board() -> None:
    assert choose(pickets(70), stock("6 ft", 4.0), stock("8 ft", 4.0)).stock.tolist() == [0]


def test_without_prices_the_least_timber_counts() -> None:
    assert choose(pickets(70, 80), stock("8 ft"), stock("6 ft"), stock("10 ft")).stock.tolist() == [0, 1]


def test_what_no_board_serves_is_marked() -> None:
    choice = choose(pickets(70, 121), SIX, TEN)
    assert choice.stock.tolist() == [0, NO_STOCK]
    assert choice.used.tolist() == [1, 0]


@pytest.mark.parametrize(
    ("length", "most_gap", "served"),
    [(73.0, 3.0, True), (73.125, 3.0, False), (72.0, 2.0, True), (72.125, 2.1, False), (72.125, 2.125, True)],
)
def test_a_short_board_serves_while_its_gap_is_allowed(length: float, most_gap: float, served: bool) -> None:
    assert choose(pickets(length), SIX, EIGHT, most_gap=most_gap).stock.tolist() == [0 if served else 1]


def test_a_gap_that_is_too_large_already_keeps_the_full_length() -> None:
    choice = choose(pickets(72, 72.125, gap=5.0), SIX, EIGHT, most_gap=3.0)
    assert choice.stock.tolist() == [0, 1]


class TestOnHand:
    def test_boards_there_are_used_first(self) -> None:
        choice = choose(pickets(70, 70, 70), stock("6 ft", 4.0, on_hand=2))
        assert choice.bought.tolist() == [1]
        assert choice.used.tolist() == [3]
        assert choice.on_hand.sum() == 2

    def test_a_longer_board_there_saves_a_purchase(self) -> None:
        choice = choose(pickets(70), SIX, stock("8 ft", 6.0, on_hand=1))
        assert choice.stock.tolist() == [1]
        assert choice.bought.tolist() == [0, 0]

    def test_the_dearest_pickets_come_first(self) -> None:
        choice = choose(pickets(70, 90, 70), SIX, stock("8 ft", 6.0, on_hand=1))
        assert choice.on_hand.tolist() == [False, True, False]
        assert choice.bought.tolist() == [2, 0]

    def test_the_shortest_board_that_serves_is_taken_from_the_pile(self) -> None:
        choice = choose(pickets(70, 90), stock("6 ft", 4.0, on_hand=1), stock("8 ft", 6.0, on_hand=1))
        assert choice.bought.tolist() == [0, 0]
        assert choice.stock.tolist() == [0, 1]

    def test_more_than_needed_stays_in_the_pile(self) -> None:
        choice = choose(pickets(70), stock("6 ft", 4.0, on_hand=10**6))
        assert choice.used.tolist() == [1]
