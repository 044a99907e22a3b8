"""The independent check that every plan passes before it leaves the package."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from fractions import Fraction

from fencegrade.cutting.reading import exact_price
from fencegrade.cutting.records import Board, Problem


class AuditError(RuntimeError):
    """A plan that breaks its own problem: a fault of this package, never of the builder."""


def audit(problem: Problem, boards: Iterable[Board]) -> Fraction:
    """Check a plan against its problem from scratch and give its cost.

    Every piece once and no shorter than its slack allows, saw cuts counted, offcuts right, limits kept.
    Returns the exact cost: money where stock has prices, else length bought. Raises `AuditError`.
    """
    boards = tuple(boards)
    for board in boards:
        _check_board(problem, board)
    _check_supply(problem, boards)
    _check_pieces(problem, boards)
    return sum((_cost(problem, board) for board in boards if not board.on_hand), Fraction(0))


def _cost(problem: Problem, board: Board) -> Fraction:
    price = problem.stock[board.entry].price
    if not problem.priced:
        return Fraction(board.count * board.stock)
    if price is None:
        raise AuditError(f"board {board} has no price")
    return board.count * exact_price(price)


def _check_board(problem: Problem, board: Board) -> None:
    number = len(board.pieces)
    length, sawn = sum(board.pieces), problem.kerf * (number - 1)
    faults = {
        "no piece": number == 0,
        "no board": board.count < 1,
        "more than one piece": problem.one_piece and number > 1,
        "wrong stock length": problem.stock[board.entry].length != board.stock,
        "too long": length + sawn > board.stock,
        "wrong offcut": board.offcut != max(0, board.stock - length - problem.kerf * number),
        "a piece without length": any(piece < 1 for piece in board.pieces),
        "wrong shortening": len(board.shortened) != number or any(s < 0 for s in board.shortened),
    }
    found = [name for name, wrong in faults.items() if wrong]
    if found:
        raise AuditError(f"board {board}: {', '.join(found)}")


def _check_supply(problem: Problem, boards: Iterable[Board]) -> None:
    used: dict[tuple[int, bool], int] = defaultdict(int)
    for board in boards:
        used[board.entry, board.on_hand] += board.count
    for (entry, on_hand), count in used.items():
        stock = problem.stock[entry]
        most = stock.on_hand if on_hand else stock.limit
        if most is not None and count > most:
            raise AuditError(f"stock {entry} used {count} times, {most} are there")


def _check_pieces(problem: Problem, boards: Iterable[Board]) -> None:
    """Pieces of one length are interchangeable: for every amount, no more are shortened by it than may be."""
    cut: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for board in boards:
        for piece, short in zip(board.pieces, board.shortened, strict=True):
            cut[piece + short].append((short, board.count))
    wanted: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for row in problem.pieces:
        if row.count:
            wanted[row.length].append((row.slack, row.count))
    if cut.keys() != wanted.keys():
        raise AuditError(f"lengths {sorted(cut.keys() ^ wanted.keys())} are not in both list and plan")
    for length, rows in wanted.items():
        if sum(n for _, n in rows) != sum(n for _, n in cut[length]):
            raise AuditError(f"length {length}: wrong number of pieces")
        for least in {short for short, _ in cut[length]} - {0}:
            need = sum(n for short, n in cut[length] if short >= least)
            if need > sum(n for slack, n in rows if slack >= least):
                raise AuditError(f"length {length}: shortened by {least}, more than its slack")
