"""Which board each picket is cut from: worked cases."""

import numpy as np
import pytest
from msgspec import structs
from written import written

from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.stock import (
    NO_STOCK,
    Needs,
    StockChoice,
    as_hung,
    boards_of,
    by_length,
    cheapest_serving,
    choose_stock,
    join_needs,
    needs_of,
    needs_of_some,
    shortest_serving,
)
from fencegrade.fence.stock_steps import NO_STOCK_CHARGE, board_costs
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


OVER = written(Stock, length="10 ft", on_hand=1, limit=0)
SIX, EIGHT, TEN = stock("6 ft", 4.0), stock("8 ft", 6.0), stock("10 ft", 9.0)


def test_boards_that_are_no_longer_sold_go_to_those_that_need_them_and_are_never_bought() -> None:
    short = written(Stock, length="6 ft", on_hand=2, limit=0)
    choice = choose(pickets(100, 98, 70, 70, 70), short, EIGHT, OVER)
    assert choice.stock.tolist() == [2, NO_STOCK, 0, 0, 1]
    assert (choice.used.tolist(), choice.bought.tolist()) == ([2, 1, 1], [0, 1, 0])
    assert board_costs([short, EIGHT, OVER]).tolist() == [6.0, 6.0, NO_STOCK_CHARGE * 6.0]
    assert cheapest_serving([short, EIGHT, OVER]).tolist() == [1, 1, NO_STOCK, NO_STOCK]


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


def needs(full: list[float], room: list[float], long_end: list[float] | None = None) -> Needs:
    """What pickets ask, in inches."""
    return Needs(
        full=np.array([round(x / MARK) for x in full], dtype=np.int64),
        room=np.array(room),
        long_end=np.array([round(x / MARK) for x in long_end or [0.0] * len(full)], dtype=np.int64),
        sure=np.zeros(len(full), dtype=np.int64),
        mark=MARK,
    )


def inches(marks: np.ndarray) -> list[float]:
    return [float(x) * MARK for x in marks]


def test_what_pickets_may_lose_and_must_have() -> None:
    """Room for 1 in, for none, for less than a mark, and a gap too large already; one marked in place."""
    asked = needs([72.0] * 5, [1.0, 0.0, 0.124, -2.0, 1.0], [0, 0, 0, 0, 71.5])
    assert inches(asked.may_lose) == [1, 0, 0, 0, 1]
    assert inches(asked.least) == [71, 72, 72, 72, 71]
    assert inches(asked.wood) == [71, 72, 72, 72, 71.5]
    assert inches(structs.replace(asked, long_end=np.full(5, 600)).wood) == [75] * 5
    sure = structs.replace(asked, sure=np.array([0, 0, 0, 0, 0]) + round(71.75 / MARK))
    assert inches(sure.shortest) == [71.75, 72, 72, 72, 71.75]
    assert inches(asked.shortest) == inches(asked.wood)
    some = needs_of_some(asked, np.array([4, 0]))
    assert (inches(some.full), some.room.tolist(), inches(some.long_end)) == ([72, 72], [1, 1], [71.5, 0])
    row = join_needs([asked, some])
    assert (len(row.full), row.room.tolist()[-2:], inches(row.long_end)[-2:]) == (7, [1, 1], [71.5, 0])
    assert row.mark == some.mark == MARK


@pytest.mark.parametrize(
    ("rise", "full", "least"),
    [
        # the ground a half higher: half an inch less at full length, and half an inch more may be lost
        (0.5, 71.5, 70.5),
        (-0.5, 72.5, 71.5),
        (0.1, 71.875, 71.0),  # to the mark each, the least up
        (-2.0, 74.0, 73.0),
    ],
)
def test_needs_over_ground_that_lies_higher(rise: float, full: float, least: float) -> None:
    moved = needs([72.0], [1.0], [80.0]).over_higher_ground(np.array([rise]))
    assert (inches(moved.full), inches(moved.least), inches(moved.long_end)) == ([full], [least], [0])


def test_boards_of_a_run_with_their_trims() -> None:
    """Boards of 72 in for 70, 73 and 200 in: 2 in cut off, 1 in short within its gap, and none."""
    cuts = pickets(70, 73, 200, 90)
    asked = needs_of(cuts, np.full(4, 3.0), None, MARK)
    choice = choose_stock(asked, [stock("6 ft", 4.0), stock("8 ft", 6.0)])
    made = boards_of(cuts, asked, choice, slice(0, 4))
    assert made.stock.tolist() == [0, 0, NO_STOCK, 1]
    assert made.trim.tolist() == pytest.approx([2, 0, np.nan, 6], nan_ok=True)
    assert inches(made.cuts.kept) == [70, 72, 200, 90]
    assert made.cuts.gap.tolist() == [2, 3, 2, 2]
    assert inches(made.wood) == [72, 72, 0, 96]
    assert made.unserved.tolist() == [False, False, True, False]
    part = boards_of(cuts, asked, choice, slice(0, 4))
    up = np.array([True, False, True, False])
    hung = as_hung(part, up, np.array([69.5, 60.0, np.nan, np.nan]))
    assert inches(hung.cuts.kept) == [69.5, 72, 200, 90]
    assert hung.cuts.gap.tolist() == [2.5, 3, 2, 2]
    assert hung.unserved.tolist() == [False] * 4, "what stands takes no stock"
    assert as_hung(part, np.zeros(4, dtype=bool), np.full(4, np.nan)) is part


def test_the_cheapest_that_is_at_least_as_long() -> None:
    offered = [Stock(length=a, price=p) for a, p in ((60, 5.0), (72, 3.0), (84, 3.0), (96, 9.0), (120, 8.0))]
    assert cheapest_serving(offered).tolist() == [1, 1, 2, 4, 4, NO_STOCK]
    ordered, marks = by_length([offered[3], offered[0], Stock(length=72.06)], 0.125)
    assert ([s.length for s in ordered], inches(marks)) == ([60, 72.06, 96], [60, 72, 96])
    assert shortest_serving(marks, marks_of(59.0, 60.0, 60.125, 96.0, 96.125)).tolist() == [0, 0, 1, 2, 3]


def marks_of(*lengths: float) -> np.ndarray:
    return np.array([round(x / MARK) for x in lengths], dtype=np.int64)
