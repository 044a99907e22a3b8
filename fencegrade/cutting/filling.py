"""Filling a set of boards: board by board, each with as little left over as sums of the pieces left allow."""

from __future__ import annotations

from collections.abc import Sequence

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.model import Items, Left

BIT_STEP, BITS, BOARD = 0.2, 10_000, 12.0
"""Work of one more piece among the sums of a board, the marks that double it, and a board beside that."""


def fill(left: Left, effort: Effort) -> None:
    """Fill the boards that are left, longest first, equal ones cut alike as often as that goes."""
    bars, order = left.model.bars, [i for i, n in enumerate(left.pieces) if n]
    for b in sorted(range(len(bars)), key=lambda b: -bars[b].capacity):
        while left.boards[b] and not effort.over:
            order = [i for i in order if left.pieces[i]]
            items, _ = fullest(left.model.weights, left.pieces, order, bars[b].capacity, effort)
            if not items:
                break
            left.cut(b, items, left.boards[b] or 0)


def fullest(
    weights: Sequence[int],
    left: Sequence[int] | dict[int, int],
    order: Sequence[int],
    room: int,
    effort: Effort,
) -> tuple[Items, int]:
    """Pieces that leave least of `room`, the first that fits among them, and what they leave.

    Sums of lengths are the bits of a whole number: shifted by a length they are the sums with one piece more.
    """
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
