"""Tiny cutting lists, and their least cost by plain enumeration of every way to share pieces among boards."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import combinations
from random import Random

from fencegrade.cutting import Piece, Problem, Stock


def cheapest(
    lengths: Sequence[int], boards: Sequence[tuple[int, int, int]], kerf: int, most: int
) -> int | None:
    """Least cost over all partitions; boards are (length, cost, how many), `most` pieces a board."""

    @cache
    def rest(left: frozenset[int], stock: tuple[int, ...]) -> int | None:
        if not left:
            return 0
        first = min(left)
        others = sorted(left - {first})
        best = None
        for size in range(min(most, len(left))):
            for chosen in combinations(others, size):
                group = [lengths[i] for i in (first, *chosen)]
                need = sum(group) + kerf * (len(group) - 1)
                for b, (length, cost, _) in enumerate(boards):
                    if length < need or not stock[b]:
                        continue
                    after = tuple(n - (i == b) for i, n in enumerate(stock))
                    more = rest(left - {first, *chosen}, after)
                    if more is not None and (best is None or cost + more < best):
                        best = cost + more
        return best

    return rest(frozenset(range(len(lengths))), tuple(n for _, _, n in boards))


def random_case(seed: int) -> tuple[Problem, list[int], list[tuple[int, int, int]]]:
    chance = Random(seed)
    lengths = [chance.randint(15, 90) for _ in range(chance.randint(2, 8))]
    kerf = chance.choice([0, 1, 3])
    stock = [Stock(length=chance.randint(90, 120), price=chance.randint(5, 12))]
    stock += [
        Stock(
            length=chance.randint(30, 150),
            price=chance.randint(2, 14),
            on_hand=chance.choice([0, 0, 1, 2]),
            limit=chance.choice([None, 1, 2]),
        )
        for _ in range(chance.randint(0, 2))
    ]
    boards = []
    for s in stock:
        boards.append((s.length, 0, s.on_hand))
        boards.append((s.length, int(s.price or 0), len(lengths) if s.limit is None else s.limit))
    pieces = tuple(Piece(length=length) for length in lengths)
    return Problem(pieces=pieces, stock=tuple(stock), kerf=kerf), lengths, boards


Groups = list[tuple[int, tuple[int, ...]]]


def every_plan(lengths: Sequence[int], boards: Sequence[tuple[int, int]], kerf: int) -> Iterator[Groups]:
    """Every way to share pieces among unlimited boards of (length, price): board and its pieces, in order."""
    if not lengths:
        yield []
        return
    first, others = lengths[0], range(1, len(lengths))
    for size in range(len(lengths)):
        for chosen in combinations(others, size):
            group = (first, *(lengths[i] for i in chosen))
            left = [lengths[i] for i in others if i not in chosen]
            for board, _ in boards:
                if sum(group) + kerf * (len(group) - 1) <= board:
                    yield from ([(board, group), *rest] for rest in every_plan(left, boards, kerf))


def at_saw(groups: Groups, prices: Mapping[int, int], kerf: int, least: int) -> tuple[int, int, int, int]:
    """Cost, boards, ways, and less what is kept: in offcuts of `least` or more, or with 0 the longest one."""
    rests = [max(0, board - sum(pieces) - kerf * len(pieces)) for board, pieces in groups]
    kept = sum(rest for rest in rests if rest >= least) if least else max(rests)
    return sum(prices[board] for board, _ in groups), len(groups), len(set(groups)), -kept
