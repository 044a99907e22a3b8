"""Among plans of equal cost: fewer boards, then fewer different ways of cutting, then a longer single offcut.

These are swaps that never raise the cost, not a search: the cost is proven elsewhere, the rest is as good as
it comes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from fencegrade.cutting.model import Cut, Model

MOST_WAYS = 150
MOST_BOARDS = 300


def polish(model: Model, cuts: Iterable[Cut]) -> tuple[Cut, ...]:
    """Better a plan without raising its cost."""
    ways: Counter[tuple[int, tuple[tuple[int, int], ...]]] = Counter()
    for cut in cuts:
        ways[cut.bar, cut.items] += cut.times
    if len(ways) <= MOST_WAYS:
        while _merge(model, ways):
            pass
    if sum(ways.values()) <= MOST_BOARDS:
        _gather(model, ways)
    return tuple(
        Cut(bar=bar, items=items, times=times) for (bar, items), times in sorted(ways.items()) if times
    )


def setups(cuts: Iterable[Cut]) -> int:
    """Number of different ways of cutting."""
    return len({(cut.bar, cut.items) for cut in cuts})


def _used(model: Model, items: Iterable[tuple[int, int]]) -> int:
    return sum(model.weights[i] * n for i, n in items)


def _joined(*parts: Iterable[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    numbers: Counter[int] = Counter()
    for part in parts:
        for i, n in part:
            numbers[i] += n
    return tuple(sorted((i, n) for i, n in numbers.items() if n))


def _merge(model: Model, ways: Counter[tuple[int, tuple[tuple[int, int], ...]]]) -> bool:
    """Put what two boards hold on one that costs no more than both; true if that was done."""
    bars = [(b, bar) for b, bar in enumerate(model.bars) if bar.limit is None and not bar.lacking]
    loads = sorted((_used(model, items), bar, items) for (bar, items), times in ways.items() if times)
    for place, (used, bar, items) in enumerate(loads):
        for more, other, others in loads[place:]:
            same = (bar, items) == (other, others)
            times = ways[bar, items] // 2 if same else min(ways[bar, items], ways[other, others])
            paid = model.bars[bar].cost + model.bars[other].cost
            fitting = [b for b, k in bars if k.capacity >= used + more and k.cost <= paid]
            if times and fitting:
                ways[bar, items] -= times
                ways[other, others] -= times
                ways[min(fitting, key=lambda b: model.bars[b].cost), _joined(items, others)] += times
                return True
    return False


def _gather(model: Model, ways: Counter[tuple[int, tuple[tuple[int, int], ...]]]) -> None:
    """Move a piece off the board with the most left into a gap elsewhere, if no new way of cutting arises."""
    live = [way for way, times in ways.items() if times]
    if len(live) < 2:
        return
    source = max(live, key=lambda way: (model.bars[way[0]].capacity - _used(model, way[1]), way))
    for i, _ in source[1]:
        for bar, items in sorted(live):
            room = model.bars[bar].capacity - _used(model, items)
            if (bar, items) == source or room < model.weights[i]:
                continue
            rest = (source[0], _joined(source[1], ((i, -1),)))
            fuller = (bar, _joined(items, ((i, 1),)))
            after = ways.copy()
            after.subtract([source, (bar, items)])
            after.update([way for way in (rest, fuller) if way[1]])
            if sum(t > 0 for t in after.values()) <= len(live):
                ways.clear()
                ways.update(after)
                return
