"""Pieces with slanted ends on boards: against every way to cut a short list, own arithmetic."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fencegrade.cutting import Stock
from fencegrade.planning.laid import Saw, cut_slanted

KERF = 3
PIECES = st.lists(st.tuples(st.integers(30, 100), st.integers(0, 12)), min_size=1, max_size=5)


def _takes(board: list[tuple[int, int]]) -> int:
    """What pieces (length, ends) on one board take of it, in the order of their slant."""
    return sum(n for n, _ in board) + KERF * (len(board) - 1) + max(e for _, e in board)


def _least(
    pieces: list[tuple[int, int]], stock: dict[int, int], boards: list[list[tuple[int, int]]]
) -> float:
    """The least cost of any way to lay pieces on boards, all of them tried."""
    if not pieces:
        return sum(min((p for s, p in stock.items() if s >= _takes(b)), default=math.inf) for b in boards)
    first, rest = pieces[0], pieces[1:]
    ways = [_least(rest, stock, [*boards, [first]])]
    ways += [_least(rest, stock, [*boards[:k], [*b, first], *boards[k + 1 :]]) for k, b in enumerate(boards)]
    return min(ways)


@given(pieces=PIECES, priced=st.booleans(), same=st.booleans())
@example(pieces=[(60, 8), (60, 8)], priced=False, same=False)
def test_slanted_pieces_are_cut_at_least_cost_or_it_is_said(
    pieces: list[tuple[int, int]], priced: bool, same: bool
) -> None:
    pieces = [(n, pieces[0][1]) for n, _ in pieces] if same else pieces
    stock = {130: 5, 200: 7} if priced else {130: 130, 200: 200}
    saw = Saw(
        stock=tuple(Stock(length=s, price=p if priced else None) for s, p in stock.items()),
        kerf=KERF,
        least_offcut=20,
    )
    asked, ends = np.array(pieces).T
    plan, placed = cut_slanted(asked, ends, np.ones(len(asked), dtype=bool), saw)
    assert sorted(placed.tolist()) == list(range(len(pieces)))
    at, used, kept = 0, 0, 0
    for board in plan.boards:
        for _ in range(board.count):
            own = [pieces[k] for k in placed[at : at + len(board.pieces)]]
            at += len(own)
            assert [n for n, _ in own] == list(board.pieces)
            assert [slant for _, slant in own] == sorted(slant for _, slant in own)
            assert _takes(own) <= board.stock
            assert board.offcut == max(0, board.stock - sum(board.pieces) - KERF * len(own))
            used, kept = used + board.stock, kept + (board.offcut if board.offcut >= 20 else 0)
    assert (plan.kept, plan.waste) == (kept, used - kept - int(asked.sum()))
    assert plan.priced == priced
    assert plan.cost == sum(stock[b.stock] * b.count for b in plan.boards)
    best = _least(pieces, stock, [])
    assert plan.lower_bound <= best <= plan.cost
    if same:
        assert plan.cost == best


@pytest.mark.parametrize(("ends", "boards"), [(13, 1), (21, 2)])
def test_rails_of_one_slant_lie_one_in_the_other(ends: int, boards: int) -> None:
    """Four of 895 mm and three cuts of 3 mm are 3589 mm: what both ends slant is taken once."""
    saw = Saw(stock=(Stock(length=3602),), kerf=3, least_offcut=0)
    plan, _ = cut_slanted(np.full(4, 895), np.full(4, ends), np.ones(4, dtype=bool), saw)
    assert plan.board_count == boards
