"""First plans, made piece by piece: fast, valid, and a good start for the exact solver."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator
from fractions import Fraction
from operator import neg

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.filling import fullest
from fencegrade.cutting.model import Bar, Cut, Model, plan_cost

Fill = Callable[[tuple[int, ...], list[int], int, int], list[tuple[int, int]]]

MOST_CARE = 30_000


def material_bound(model: Model) -> Fraction:
    """Cost of the cheapest bars that have, cut without any loss, the weight of all pieces.

    A fractional knapsack: bars are taken by cost per capacity, each kind up to its limit. Own derivation.
    """
    left, cost = Fraction(model.total), Fraction(0)
    for bar in sorted(model.bars, key=lambda b: Fraction(b.cost, b.capacity)):
        share = left / bar.capacity if bar.limit is None else min(left / bar.capacity, Fraction(bar.limit))
        cost += share * bar.cost
        left -= share * bar.capacity
    return cost


def construct(model: Model, goal: int = 0) -> tuple[Cut, ...]:
    """Give the cheapest of several greedy plans, on equal cost the one with fewer bars.

    goal: a bound; no more plans are tried once one costs no more
    """
    best: tuple[Cut, ...] = ()
    least: tuple[int, int] | None = None
    for rough in _candidates(model):
        cuts = _tidy(model, list(rough))
        score = (plan_cost(model, cuts), sum(cut.times for cut in cuts))
        if least is None or score < least:
            best, least = tuple(cuts), score
        if least[0] <= goal:
            break
    return best


def _candidates(model: Model) -> Iterator[Iterator[Cut]]:
    every = list(range(len(model.bars)))
    if len(every) > 1:
        yield _greedy(model, every, _single)
    yield _greedy(model, every, first_fit)
    boards = model.total // max(bar.capacity for bar in model.bars)
    careful = _fullest if len(model.weights) * min(boards, 500) <= MOST_CARE else first_fit
    for alone in every:
        if model.bars[alone].limit is None and not model.bars[alone].lacking:
            chosen = [
                b
                for b, bar in enumerate(model.bars)
                if b == alone or bar.limit is not None or bar.capacity > model.bars[alone].capacity
            ]
            yield _greedy(model, chosen, careful if chosen == [alone] else first_fit)
    if len(every) > 1 and careful is _fullest and len(model.weights) <= 60:
        yield _greedy(model, every, careful)


def first_fit(weights: tuple[int, ...], left: list[int], first: int, room: int) -> list[tuple[int, int]]:
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
    return items


def _single(weights: tuple[int, ...], left: list[int], first: int, room: int) -> list[tuple[int, int]]:
    return [(first, 1)]


def _fullest(weights: tuple[int, ...], left: list[int], first: int, room: int) -> list[tuple[int, int]]:
    items, _ = fullest(weights, left, range(first, len(weights)), room, Effort(0.0))
    return list(items)


def _greedy(model: Model, bars: list[int], fill: Fill) -> Iterator[Cut]:
    """Fill bars one after another, largest piece first, and repeat each filling as often as it goes."""
    left = list(model.demands)
    limits = {b: model.bars[b].limit for b in bars}
    first = 0
    while first < len(left):
        if not left[first]:
            first += 1
            continue
        cut = _best_filling(model, limits, fill, left, first)
        for i, number in cut.items:
            left[i] -= number * cut.times
        limit = limits[cut.bar]
        if limit is not None:
            limits[cut.bar] = limit - cut.times
        yield cut


def _best_filling(
    model: Model, limits: dict[int, int | None], fill: Fill, left: list[int], first: int
) -> Cut:
    best: tuple[float, int, int] | None = None
    chosen: list[tuple[int, int]] = []
    for b, limit in limits.items():
        bar = model.bars[b]
        if limit == 0 or bar.capacity < model.weights[first]:
            continue
        items = fill(model.weights, left, first, bar.capacity)
        used = sum(model.weights[i] * n for i, n in items)
        score = (bar.cost / used, bar.capacity - used, b)
        if best is None or score < best:
            best, chosen = score, items
    assert best is not None, "the longest bar is never limited"
    times = min(left[i] // n for i, n in chosen)
    limit = limits[best[2]]
    return Cut(bar=best[2], items=tuple(chosen), times=times if limit is None else min(times, limit))


def _tidy(model: Model, cuts: list[Cut]) -> list[Cut]:
    """Move each filling to the cheapest bar that holds it, without passing any limit."""
    spare = {b: bar.limit for b, bar in enumerate(model.bars)}
    for cut in cuts:
        limit = spare[cut.bar]
        if limit is not None:
            spare[cut.bar] = limit - cut.times
    return [part for cut in cuts for part in _moved(model, spare, cut)]


def _moved(model: Model, spare: dict[int, int | None], cut: Cut) -> Iterator[Cut]:
    used = sum(model.weights[i] * n for i, n in cut.items)
    times, here = cut.times, model.bars[cut.bar]
    for b in sorted(spare, key=lambda b: (model.bars[b].cost, model.bars[b].capacity)):
        bar, limit = model.bars[b], spare[b]
        if not times or not _cheaper(bar, here):
            break
        if bar.capacity >= used and limit != 0:
            number = times if limit is None else min(times, limit)
            if limit is not None:
                spare[b] = limit - number
            times -= number
            yield Cut(bar=b, items=cut.items, times=number)
    if times:
        yield Cut(bar=cut.bar, items=cut.items, times=times)


def _cheaper(bar: Bar, than: Bar) -> bool:
    return (bar.cost, bar.capacity) < (than.cost, than.capacity)
