"""First plans, made board by board: fast, valid, and a good start for the exact solver."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from operator import neg

from fencegrade.cutting.model import Cut, Items, Left, Model, plan_cost, used


def construct(model: Model) -> tuple[Cut, ...]:
    """Give the cheapest of several greedy plans, on equal cost the one with fewer bars."""
    plans = map(tidied, _candidates(model))
    return min(plans, key=lambda cuts: (plan_cost(model, cuts), sum(cut.times for cut in cuts)))


def _candidates(model: Model) -> Iterator[Left]:
    """Plans from all bars, and for each unlimited kind from it and those that are longer or limited."""
    bars, every = model.bars, range(len(model.bars))
    yield _greedy(model, every)
    for alone in every if len(bars) > 1 else ():
        if bars[alone].limit is None and not bars[alone].lacking:
            least = bars[alone].capacity
            fit = (b for b in every if bars[b].limit is not None or bars[b].capacity > least)
            yield _greedy(model, sorted([alone, *fit]))


def first_fit(weights: Sequence[int], left: Sequence[int], first: int, room: int) -> Items:
    """Fill `room` from piece `first` downwards, each time with the largest piece that still fits."""
    items = []
    i, end = first, len(weights)
    while i < end and room >= weights[-1]:
        if weights[i] > room:
            i = bisect_left(weights, -room, i, key=neg)
        number = min(left[i], room // weights[i])
        if number:
            items.append((i, number))
            room -= number * weights[i]
        i += 1
    return tuple(items)


def _greedy(model: Model, bars: Iterable[int]) -> Left:
    """Fill bars one after another, largest piece first, and repeat each filling as often as it goes."""
    left = Left(model)
    for first in range(len(model.weights)):
        while left.pieces[first]:
            bar, items = _best_filling(left, bars, first)
            left.cut(bar, items, left.pieces[first])
    return left


def _best_filling(left: Left, bars: Iterable[int], first: int) -> tuple[int, Items]:
    """The bar and filling of least cost for each mark that is used, on equal cost of least waste."""
    model, options = left.model, []
    for b in bars:
        bar = model.bars[b]
        if left.boards[b] != 0 and bar.capacity >= model.weights[first]:
            items = first_fit(model.weights, left.pieces, first, bar.capacity)
            filled = used(model, items)
            options.append((bar.cost / filled, bar.capacity - filled, b, items))
    _, _, bar_kind, chosen = min(options)
    return bar_kind, chosen


def tidied(rough: Left) -> tuple[Cut, ...]:
    """Move each filling to the cheapest bar that holds it, without passing any limit."""
    model = rough.model
    tidy = Left(model, rough.boards)
    order = sorted(range(len(model.bars)), key=lambda b: (model.bars[b].cost, model.bars[b].capacity))
    for cut in rough.cuts:
        spare, times = tidy.boards[cut.bar], cut.times
        if spare is not None:
            tidy.boards[cut.bar] = spare + times
        for b in order:
            if times and model.bars[b].capacity >= used(model, cut.items):
                times -= tidy.cut(b, cut.items, times)
    return tuple(tidy.cuts)
