"""Plans where a board gives only one piece, as where one end of it is shaped."""

from __future__ import annotations

from collections import defaultdict

from fencegrade.cutting.laying import least_lengths, make_board, ordered
from fencegrade.cutting.model import Bar, build_model
from fencegrade.cutting.one_piece import assign
from fencegrade.cutting.records import Board, Problem


def plan_single(problem: Problem) -> tuple[tuple[Board, ...], dict[int, int]]:
    """Give every piece a board of its own: least money, then least shortening, then least length left over.

    Returns the boards, and the pieces (count by length asked) for which no board is left.
    """
    longest = max(s.length for s in problem.stock if s.on_hand or s.limit != 0)
    _, least = least_lengths(problem.pieces, longest)
    bars = build_model(problem, least).bars
    groups: dict[tuple[int, int], int] = defaultdict(int)
    for piece, shortest in zip(problem.pieces, least, strict=True):
        if piece.count:
            groups[piece.length, shortest] += piece.count
    keys = sorted(groups, reverse=True)
    total = sum(groups.values())
    costs = [
        [_cost(problem, bar, asked, shortest, total, longest) for bar in bars] for asked, shortest in keys
    ]
    limits = [total if bar.limit is None else bar.limit for bar in bars]
    placed = assign(costs, [groups[key] for key in keys], limits)
    return _boards(problem, bars, keys, placed)


def _cost(problem: Problem, bar: Bar, asked: int, shortest: int, total: int, longest: int) -> int | None:
    """Money first, then shortening, then length left over, in one whole number."""
    stock = problem.stock[bar.entry].length
    if shortest > stock:
        return None
    base = total * (longest + max(asked, longest)) + 1
    return (bar.cost * base + max(0, asked - stock)) * base + max(0, stock - asked)


def _boards(
    problem: Problem, bars: tuple[Bar, ...], keys: list[tuple[int, int]], placed: list[dict[int, int]]
) -> tuple[tuple[Board, ...], dict[int, int]]:
    boards: list[Board] = []
    left_over: dict[int, int] = defaultdict(int)
    for bar, groups in zip(bars, placed, strict=True):
        for group, count in groups.items():
            asked = keys[group][0]
            if bar.lacking:
                left_over[asked] += count
                continue
            length = min(asked, problem.stock[bar.entry].length)
            boards.append(
                make_board(problem, bar.entry, (length,), (asked - length,), count, on_hand=bar.on_hand)
            )
    return ordered(boards), dict(left_over)
