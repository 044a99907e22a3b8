"""What is to be cut, what it may be cut from, and the plan; every length in whole tape marks."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import SupportsIndex

from msgspec import Struct

Price = int | float | Decimal | Fraction

Whole = SupportsIndex | float | Decimal | Fraction
"""A whole number of any kind, numpy's too; a broken one is refused when it is read."""


class Piece(Struct, frozen=True, kw_only=True):
    """Pieces of one length that are wanted.

    `length` and `slack` are in whole tape marks; `slack` is how much shorter a piece may be made, used only
    where it saves money.
    """

    length: int
    count: int = 1
    slack: int = 0


class Stock(Struct, frozen=True, kw_only=True):
    """Boards of one length that can be had.

    `length` is in whole tape marks and `price` is money a board, or None where no stock has a price.
    `on_hand` boards are used first and cost nothing. `limit` is how many more can be bought; None means any
    number.
    """

    length: int
    price: Price | None = None
    on_hand: int = 0
    limit: int | None = None


class Problem(Struct, frozen=True, kw_only=True):
    """A whole cutting question.

    `kerf` is the width of the saw cut and `least_offcut` the shortest offcut worth keeping (0: none is kept),
    both in whole tape marks. With `one_piece` a board gives a single piece, however long the board is.
    """

    pieces: tuple[Piece, ...]
    stock: tuple[Stock, ...]
    kerf: int = 0
    least_offcut: int = 0
    one_piece: bool = False

    @property
    def priced(self) -> bool:
        """Whether a board that can be bought has a price; else the length bought counts."""
        return any(s.price is not None for s in self.stock if s.limit != 0)


class Board(Struct, frozen=True, kw_only=True):
    """One way of cutting a board and how many boards are cut so; lengths in whole tape marks.

    `pieces` are the lengths as cut, longest first, and `shortened` says for each how much was taken off the
    length asked for. `on_hand` is true for boards that were already there. `entry` is the place of the stock
    in the list that was given, from 0.
    """

    stock: int
    pieces: tuple[int, ...]
    offcut: int
    count: int
    shortened: tuple[int, ...]
    on_hand: bool = False
    entry: int = 0


class CutPlan(Struct, frozen=True, kw_only=True):
    """A cutting plan with the least that any plan could cost.

    `exact_cost` is what the boards bought cost: money where it is `priced`, else length in tape marks. No
    plan costs less than `exact_bound`, which is `raw_bound`, as computed, rounded up to a step of `unit`.
    `each` is what every bought board costs, where they all cost the same. `waste` is the length, in marks,
    that becomes neither a piece nor an offcut worth keeping, `waste_share` its share of the boards used, and
    `kept` the length of offcuts kept.
    """

    boards: tuple[Board, ...]
    exact_cost: Fraction
    exact_bound: Fraction
    raw_bound: Fraction
    unit: Fraction
    each: Fraction | None
    priced: bool
    seconds: float
    waste: int
    waste_share: float
    kept: int

    @property
    def proven(self) -> bool:
        """Whether it is proven that no plan costs less."""
        return self.exact_bound >= self.exact_cost

    @property
    def cost(self) -> int | float:
        """Cost of the boards bought: an int where it is whole, else the float nearest to the exact sum."""
        return _number(self.exact_cost)

    @property
    def lower_bound(self) -> int | float:
        """The least that any plan could cost, never above `cost`."""
        return _number(self.exact_bound)

    @property
    def board_count(self) -> int:
        """How many boards are cut, bought or on hand."""
        return sum(board.count for board in self.boards)

    @property
    def setups(self) -> int:
        """How many different ways of cutting a board the plan has; the saw stop is set anew for each."""
        return len({(board.stock, board.pieces) for board in self.boards})


def _number(value: Fraction) -> int | float:
    return value.numerator if value.denominator == 1 else float(value)
