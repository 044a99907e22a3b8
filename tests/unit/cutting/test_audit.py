"""The audit must refuse every kind of wrong plan."""

from __future__ import annotations

from fractions import Fraction

import pytest
from msgspec.structs import replace

from fencegrade.cutting import Board, Piece, Problem, Stock
from fencegrade.cutting.audit import AuditError, audit

PROBLEM = Problem(
    pieces=(Piece(length=40, count=4, slack=1), Piece(length=40, count=1), Piece(length=20, count=1)),
    stock=(Stock(length=100, price=2.5, on_hand=1, limit=2), Stock(length=50, price=1)),
    kerf=1,
)
BIG = Board(stock=100, pieces=(40, 40), offcut=18, count=2, shortened=(0, 0))
REST = Board(stock=100, pieces=(40, 20), offcut=38, count=1, shortened=(0, 0), on_hand=True)


def test_a_right_plan_passes_with_its_cost() -> None:
    assert audit(PROBLEM, [BIG, REST]) == Fraction(5)


def test_a_shortened_piece_within_its_slack_passes() -> None:
    assert audit(PROBLEM, [replace(BIG, pieces=(39, 39), shortened=(1, 1), offcut=20), REST]) == 5


@pytest.mark.parametrize(
    "boards",
    [
        [BIG],
        [BIG, REST, Board(stock=50, pieces=(20,), offcut=29, count=1, shortened=(0,), entry=1)],
        [replace(BIG, offcut=19), REST],
        [replace(BIG, stock=99), REST],
        [replace(BIG, count=0), REST],
        [BIG, replace(REST, on_hand=False)],
        [BIG, replace(REST, pieces=(40, 20), count=2)],
        [replace(BIG, pieces=(40, 40, 20), offcut=0, shortened=(0, 0, 0)), REST],
        [replace(BIG, pieces=(38, 40), shortened=(2, 0), offcut=20), REST],
        [
            replace(BIG, pieces=(39, 39), shortened=(1, 1), offcut=20),
            replace(REST, pieces=(39, 20), shortened=(1, 0), offcut=39),
        ],
        [replace(BIG, shortened=(0,)), REST],
        [replace(BIG, pieces=(), shortened=(), offcut=100), REST],
    ],
)
def test_a_wrong_plan_is_refused(boards: list[Board]) -> None:
    with pytest.raises(AuditError):
        audit(PROBLEM, boards)


def test_one_piece_a_board_is_checked() -> None:
    with pytest.raises(AuditError, match="more than one piece"):
        audit(replace(PROBLEM, one_piece=True), [BIG, REST])


def test_without_prices_the_length_bought_is_the_cost() -> None:
    bare = replace(PROBLEM, stock=(Stock(length=100, on_hand=1, limit=2), Stock(length=50)))
    assert audit(bare, [BIG, REST]) == 200
