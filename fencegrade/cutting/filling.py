"""Filling a set of boards: every piece on boards of which only so many are there.

Board by board, each with as little left over as sums of the pieces left allow (sums kept as bits), largest
piece first; a few orders of boards and pieces are tried. Where that fails the fractional plan of column
generation is rounded and the rest filled in the same way, then mended (`mending`), then by a dive.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from random import Random

from msgspec.structs import replace

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.model import Cut, Model
from fencegrade.cutting.pool import Pool

BIT_STEP, BITS, BOARD = 0.2, 10_000, 12.0
"""Work of one more piece among the sums of a board, the marks that double it, and a board beside that."""

MIXED = 10.0
"""Places that pieces are moved at most from the order of their length in the third try; later more."""

Numbers = Sequence[int]


def fitting_model(model: Model, numbers: Numbers) -> Model:
    """Boards of these numbers cost nothing; one more of the longest kind, which nobody has, costs 1."""
    longest = max(range(len(model.bars)), key=lambda b: model.bars[b].capacity)
    bars = [
        replace(bar, cost=0, limit=number, lacking=False)
        for bar, number in zip(model.bars, numbers, strict=True)
    ]
    bars.append(replace(model.bars[longest], cost=1, limit=None, lacking=True))
    return replace(model, bars=tuple(bars))


def fill_boards(
    model: Model,
    numbers: Numbers,
    demands: Sequence[int],
    tries: int,
    effort: Effort,
    pool: Pool | None = None,
) -> tuple[Cut, ...]:
    """Fill boards of these numbers with the pieces: the first try that holds all of them, else the fullest.

    tries: orders of boards and pieces that are tried; pool: where every filling made is kept, if anywhere
    """
    best: tuple[Cut, ...] = ()
    chance, most = Random(0), -1
    for attempt in range(tries):
        if effort.over:
            break
        boards = [b for b, n in enumerate(numbers) for _ in range(n)]
        boards.sort(key=lambda b: model.bars[b].capacity, reverse=attempt % 3 == 0)
        if attempt % 3 == 1:
            chance.shuffle(boards)
        order = list(range(len(model.weights)))
        if attempt > 1:
            reach = MIXED * (1.0 + attempt / 4)
            order.sort(key=lambda i: i + chance.random() * reach)
        left = list(demands)
        cuts = _fill(model, boards, left, order, effort)
        if pool is not None:
            pool.add_cuts(cuts)
        held = sum(model.weights[i] * n * cut.times for cut in cuts for i, n in cut.items)
        if held > most:
            best, most = tuple(cuts), held
        if not any(left):
            break
    return best


def holds(cuts: Iterable[Cut], demands: Sequence[int]) -> bool:
    """True where cuts that hold no piece too much hold every piece."""
    return sum(n * cut.times for cut in cuts for _, n in cut.items) == sum(demands)


def _fill(model: Model, boards: list[int], left: list[int], order: list[int], effort: Effort) -> list[Cut]:
    """One board after another, equal ones cut alike as often as that goes: fewer ways of cutting."""
    cuts: list[Cut] = []
    for b, group in groupby(boards):
        there = len(list(group))
        while there:
            order = [i for i in order if left[i]]
            items, _ = fullest(model.weights, left, order, model.bars[b].capacity, effort)
            if not items:
                break
            times = min([there, *(left[i] // n for i, n in items)])
            for i, n in items:
                left[i] -= n * times
            there -= times
            cuts.append(Cut(bar=b, items=items, times=times))
    return cuts


def fullest(
    weights: Sequence[int],
    left: Sequence[int] | dict[int, int],
    order: Sequence[int],
    room: int,
    effort: Effort,
) -> tuple[tuple[tuple[int, int], ...], int]:
    """Pieces that leave least of `room`, the first that fits among them, and what they leave."""
    first = next((i for i in order if weights[i] <= room), None)
    if first is None:
        return (), room
    most = room - weights[first]
    mask, reach = (1 << (most + 1)) - 1, 1
    stages: list[tuple[int, int]] = []
    for i in order:
        weight = weights[i]
        for _ in range(min(left[i] - (i == first), most // weight)):
            wider = (reach | (reach << weight)) & mask
            if wider == reach:
                break
            stages.append((i, reach))
            reach = wider
        if reach >> most:
            break
    effort.spend(BOARD + BIT_STEP * (1 + most / BITS) * (len(stages) + len(order)))
    total = reach.bit_length() - 1
    rest = most - total
    numbers = {first: 1}
    for i, before in reversed(stages):
        if not (before >> total) & 1:
            numbers[i] = numbers.get(i, 0) + 1
            total -= weights[i]
    return tuple(sorted(numbers.items())), rest
