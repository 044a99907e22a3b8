"""Lenient ways of writing a cutting list, turned into records; mistakes are collected with their places."""

from __future__ import annotations

import math
import operator
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fencegrade.cutting.mistakes import CuttingError, CuttingMistake
from fencegrade.cutting.records import Piece, Price, Problem, Stock, Whole

PRICE_STEP = Fraction(1, 10_000)
"""Prices are money: what is finer than a hundredth of a cent is left from a calculation, and rounded."""

MOST_PRICE = 10**9
"""Dearer boards than this are a slip, and their costs would not be whole numbers that fit a word."""


def read_problem(
    pieces: Iterable[Any] | Mapping[int, int],
    stock: Iterable[Any] | Mapping[int, Any],
    kerf: Whole = 0,
    *,
    least_offcut: Whole = 0,
    one_piece: bool = False,
) -> Problem:
    """Make the records of a cutting question from plain numbers, pairs or records.

    pieces: lengths, (length, count) pairs or `Piece` records, or a mapping from length to count
    stock: lengths, (length, price) pairs or `Stock` records, or a mapping from length to price
    kerf, least_offcut: whole tape marks
    Returns the checked `Problem`; raises `CuttingError` with every mistake found.
    """
    reader = _Reader()
    read_pieces = tuple(reader.piece(f"pieces {i}", row) for i, row in enumerate(_rows(pieces), start=1))
    read_stock = tuple(reader.stock(f"stock {i}", row) for i, row in enumerate(_rows(stock), start=1))
    problem = Problem(
        pieces=read_pieces,
        stock=read_stock,
        kerf=reader.whole("kerf", kerf, least=0),
        least_offcut=reader.whole("least_offcut", least_offcut, least=0),
        one_piece=bool(one_piece),
    )
    if not reader.mistakes:
        reader.together(problem)
    if reader.mistakes:
        raise CuttingError(reader.mistakes)
    return problem


def exact_price(price: Price) -> Fraction:
    """Give a price as an exact fraction, a whole number of `PRICE_STEP`; half a step goes to the even one.

    A float means the decimal number it is written as.
    """
    exact = Fraction(str(price)) if isinstance(price, float) else Fraction(price)
    return round(exact / PRICE_STEP) * PRICE_STEP


def _rows(rows: Iterable[Any] | Mapping[int, Any]) -> list[Any]:
    return list(rows.items()) if isinstance(rows, Mapping) else list(rows)


def _named(row: Any, *names: str) -> dict[str, Any]:
    """A bare length or a pair, by the names of its parts."""
    pair = row if isinstance(row, (tuple, list)) and len(row) == len(names) else (row,)
    return dict(zip(names, pair, strict=False))


class _Reader:
    """Turns rows into records; a wrong one goes on the list of mistakes, a harmless value in its place."""

    def __init__(self) -> None:
        self.mistakes: list[CuttingMistake] = []

    def wrong(self, place: str, found: str, remedy: str) -> None:
        self.mistakes.append(CuttingMistake(place=place, found=found, remedy=remedy))

    def whole(self, place: str, value: Any, *, least: int) -> int:
        number = _as_int(value)
        if number is None:
            self.wrong(place, f"{value!r} is not a whole number", "give it in whole tape marks")
        elif number < least:
            self.wrong(place, f"{number} is too small", f"give a whole number that is {least} or more")
        else:
            return number
        return least

    def piece(self, place: str, row: Any) -> Piece:
        raw = row if isinstance(row, Piece) else Piece(**_named(row, "length", "count"))
        piece = Piece(
            length=self.whole(f"{place}, length", raw.length, least=1),
            count=self.whole(f"{place}, count", raw.count, least=0),
            slack=self.whole(f"{place}, slack", raw.slack, least=0),
        )
        if piece.slack >= piece.length > 1:
            found = f"{piece.slack} leaves nothing of {piece.length}"
            self.wrong(f"{place}, slack", found, "give a smaller slack")
        return piece

    def stock(self, place: str, row: Any) -> Stock:
        raw = row if isinstance(row, Stock) else Stock(**_named(row, "length", "price"))
        return Stock(
            length=self.whole(f"{place}, length", raw.length, least=1),
            price=self.price(f"{place}, price", raw.price),
            on_hand=self.whole(f"{place}, on_hand", raw.on_hand, least=0),
            limit=None if raw.limit is None else self.whole(f"{place}, limit", raw.limit, least=0),
        )

    def price(self, place: str, value: Any) -> Price | None:
        if value is None:
            return None
        try:
            exact = exact_price(value)
        except (ValueError, TypeError, ArithmeticError):
            self.wrong(place, f"{value!r} is not a price", "give a plain number")
            return None
        if not 0 < exact <= MOST_PRICE:
            remedy = f"give one from {float(PRICE_STEP)} to {MOST_PRICE:,}, or count free boards as on hand"
            self.wrong(place, f"{value} is no price of a board", remedy)
            return None
        return exact

    def together(self, problem: Problem) -> None:
        """Look for mistakes that only the whole list shows."""
        offered = [s for s in problem.stock if s.on_hand > 0 or s.limit != 0]
        if not offered:
            self.wrong("stock", "there is no board to cut", "give at least one length")
            return
        for i, stock in enumerate(problem.stock, start=1):
            if problem.priced and stock.price is None and stock.limit != 0:
                found = f"length {stock.length} has no price but others have"
                self.wrong(f"stock {i}, price", found, "give every length a price, or none")
        longest = max(s.length for s in offered)
        for i, piece in enumerate(problem.pieces, start=1):
            if piece.count and piece.length - piece.slack > longest:
                least = f" even {piece.slack} shorter" if piece.slack else ""
                found = f"length {piece.length}{least} is longer than the longest stock, {longest}"
                self.wrong(f"pieces {i}, length", found, "offer a longer stock or make the piece shorter")


def _as_int(value: Any) -> int | None:
    if isinstance(value, bool):
        return None
    if isinstance(value, (float, Fraction, Decimal)):
        whole = math.isfinite(value) and -(10**15) < value < 10**15 and value == int(value)
        return int(value) if whole else None
    try:
        return operator.index(value)
    except TypeError:
        return None
