"""Filling a set of boards: every piece on boards of which only so many are there.

Board by board, each with as little left over as sums of the pieces left allow (sums kept as bits), largest
piece first; a few orders of boards and pieces are tried. Where that fails the fractional plan of column
generation is rounded and the rest filled in the same way, then by value correction, then by a dive.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from random import Random

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


def fill_exactly(
    model: Model,
    numbers: Numbers,
    demands: Sequence[int],
    tries: int,
    effort: Effort,
    pool: Pool | None = None,
) -> tuple[Cut, ...] | None:
    """Fill boards of these numbers with the pieces; None if no try holds all of them.

    tries: orders of boards and pieces that are tried; pool: where every filling made is kept, if anywhere
    """
    chance = Random(0)
    spare = sum(n * bar.capacity for n, bar in zip(numbers, model.bars, strict=True)) - sum(
        w * d for w, d in zip(model.weights, demands, strict=True)
    )
    for attempt in range(tries):
        if spare < 0 or effort.over:
            break
        boards = [b for b, n in enumerate(numbers) for _ in range(n)]
        boards.sort(key=lambda b: model.bars[b].capacity, reverse=attempt % 3 == 0)
        if attempt % 3 == 1:
            chance.shuffle(boards)
        order = list(range(len(model.weights)))
        if attempt > 1:
            reach = MIXED * (1.0 + attempt / 4)
            order.sort(key=lambda i: i + chance.random() * reach)
        cuts = _fill(model, boards, list(demands), order, spare if pool is None else None, effort)
        if pool is not None:
            pool.add_cuts(cuts)
        if sum(n * cut.times for cut in cuts for _, n in cut.items) == sum(demands):
            return tuple(cuts)
    return None


def _fill(
    model: Model, boards: list[int], left: list[int], order: list[int], spare: int | None, effort: Effort
) -> list[Cut]:
    """One board after another, equal ones cut alike as often as that goes: fewer ways of cutting.

    Not all of them are filled where more than `spare` is left over.
    """
    cuts: list[Cut] = []
    for b, group in groupby(boards):
        there = len(list(group))
        while there:
            order = [i for i in order if left[i]]
            items, rest = _fullest(model.weights, left, order, model.bars[b].capacity, effort)
            if not items:
                break
            times = min([there, *(left[i] // n for i, n in items)])
            if spare is not None:
                spare -= rest * times
                if spare < 0:
                    return cuts
            for i, n in items:
                left[i] -= n * times
            there -= times
            cuts.append(Cut(bar=b, items=items, times=times))
    return cuts


def _fullest(
    weights: Sequence[int], left: Sequence[int], order: Sequence[int], room: int, effort: Effort
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
