"""From fillings of folded weights back to boards with real pieces, each as long as fits."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence

from msgspec.structs import replace

from fencegrade.cutting.model import Cut, Model
from fencegrade.cutting.records import Board, Problem


def lay_boards(
    problem: Problem, model: Model, lengths: Sequence[int], cuts: Iterable[Cut]
) -> tuple[Board, ...]:
    """Make boards of cuts, shortest stock first, those on hand before those bought, longest pieces first.

    lengths: what each entry of `problem.pieces` was folded at, between its length less its slack and its
    length
    """
    sources: dict[int, list[list[int]]] = defaultdict(list)
    for piece, length in zip(problem.pieces, lengths, strict=True):
        if piece.count:
            sources[length + problem.kerf].append([piece.length, length, piece.count])
    counts = Counter[Board]()
    for cut in cuts:
        bar = model.bars[cut.bar]
        stock = problem.stock[bar.entry].length
        weights = [model.weights[i] for i, number in cut.items for _ in range(number)]
        for drawn, times in _draw(sources, weights, cut.times):
            pieces, shortened = _give_back(drawn, stock, problem.kerf)
            board = Board(
                stock=stock,
                pieces=pieces,
                offcut=max(0, stock - sum(pieces) - problem.kerf * len(pieces)),
                count=0,
                shortened=shortened,
                on_hand=bar.on_hand,
                entry=bar.entry,
            )
            counts[board] += times
    boards = [replace(board, count=count) for board, count in counts.items()]
    boards.sort(key=lambda b: (b.stock, b.entry, not b.on_hand, [-p for p in b.pieces], b.shortened))
    return tuple(boards)


def least_lengths(problem: Problem) -> tuple[list[int], list[int]]:
    """Give each entry's length at full (or what the longest stock allows) and at its shortest."""
    longest = max(s.length for s in problem.stock if s.on_hand or s.limit != 0)
    full = [min(p.length, longest) for p in problem.pieces]
    return full, [min(most, p.length - p.slack) for most, p in zip(full, problem.pieces, strict=True)]


def _draw(
    sources: dict[int, list[list[int]]], weights: list[int], times: int
) -> Iterable[tuple[list[tuple[int, int]], int]]:
    """Take real pieces for `times` boards of the given weights, in blocks of equal boards."""
    while times:
        drawn: list[list[int]] = []
        taken: dict[int, int] = defaultdict(int)
        for weight in weights:
            source = next(s for s in sources[weight] if s[2] > taken[id(s)])
            taken[id(source)] += 1
            drawn.append(source)
        block = min([times, *(s[2] // taken[id(s)] for s in drawn)])
        for source in drawn:
            source[2] -= block
        yield [(asked, least) for asked, least, _ in drawn], block
        times -= block


def _give_back(
    drawn: Iterable[tuple[int, int]], stock: int, kerf: int
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Lengthen shortened pieces again as far as the board allows, fewest pieces left short.

    drawn: (length asked, length folded) of each piece. Returns lengths as cut, longest first, and what each
    is short.
    """
    rows = sorted(drawn, key=lambda row: row[0] - row[1])
    spare = stock - sum(least for _, least in rows) - kerf * (len(rows) - 1)
    laid = []
    for asked, least in rows:
        more = min(spare, asked - least)
        spare -= more
        laid.append((least + more, asked - least - more))
    laid.sort(reverse=True)
    return tuple(length for length, _ in laid), tuple(short for _, short in laid)
