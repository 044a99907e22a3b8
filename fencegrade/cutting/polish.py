"""Among plans of equal cost: fewer boards, then fewer ways of cutting, then more kept in offcuts worth it.

Where no length is named from which an offcut is worth keeping, the longest single one is made longer.

These are swaps that never raise the cost, not a search: the cost is proven elsewhere, the rest is as good as
it comes.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from itertools import permutations

from fencegrade.cutting.model import Cut, Model
from fencegrade.cutting.pool import Items

MOST_WAYS = 150
MOST_BOARDS = 300
MOST_PAIRS = 20_000
"""Pairs of ways looked at for another division of their pieces, or for more in offcuts: about 0.02 s."""

Way = tuple[int, Items]
Keeps = Callable[[int], int]


def polish(model: Model, cuts: Iterable[Cut], keeps: Keeps | None = None) -> tuple[Cut, ...]:
    """Better a plan without raising its cost.

    keeps: what is kept of a board with so much left, if there are offcuts worth keeping
    """
    ways: Counter[Way] = Counter()
    for cut in cuts:
        ways[cut.bar, cut.items] += cut.times
    if len(ways) <= MOST_WAYS:
        while _merge(model, ways):
            pass
    _regroup(model, ways)
    if keeps is not None:
        _keep(model, ways, keeps)
    elif sum(ways.values()) <= MOST_BOARDS:
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


def _merge(model: Model, ways: Counter[Way]) -> bool:
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


def _regroup(model: Model, ways: Counter[Way]) -> None:
    """Divide the pieces of two boards so that one becomes a way that is there already."""
    looked, changed = 0, True
    while changed:
        changed = False
        for trio in _trios(sorted(way for way, times in ways.items() if times)):
            looked += 1
            if looked > MOST_PAIRS:
                return
            if _divided(model, ways, trio):
                changed = True
                break


def _trios(live: list[Way]) -> Iterator[tuple[Way, Way, Way]]:
    """Two ways and a third all of whose pieces are among theirs."""
    having: defaultdict[int, list[Way]] = defaultdict(list)
    for way in live:
        for i, _ in way[1]:
            having[i].append(way)
    for third in live:
        for first in having[third[1][0][0]]:
            if first == third:
                continue
            lacking = _lacking(third[1], first)
            for second in having[lacking[0][0]] if lacking else live:
                if second not in (first, third) and not _lacking(lacking, second):
                    yield first, second, third


def _lacking(items: Items, way: Way) -> Items:
    """The pieces of `items` that a way has not."""
    there = dict(way[1])
    return tuple((i, n - there.get(i, 0)) for i, n in items if n > there.get(i, 0))


def _divided(model: Model, ways: Counter[Way], trio: tuple[Way, Way, Way]) -> bool:
    """Cut what two ways hold as the third and a rest, if there are fewer ways then; true if that was done."""
    one, other, third = trio
    times = min(ways[one], ways[other])
    rest = _joined(one[1], other[1], tuple((i, -n) for i, n in third[1]))
    for kept in (one, other):
        board = (other if kept is one else one)[0]
        left = (board, rest)
        if kept[0] != third[0] or not rest or _used(model, rest) > model.bars[board].capacity:
            continue
        lost = (ways[one] == times) + (ways[other] == times)
        if lost > (not ways[left]):
            for way, change in ((one, -times), (other, -times), (third, times), (left, times)):
                ways[way] += change
            return True
    return False


def _keep(model: Model, ways: Counter[Way], keeps: Keeps) -> None:
    """Move pieces between boards, or change one for another, so that more is kept, without a further way."""
    looked, changed = 0, True
    while changed:
        changed = False
        for one, other in permutations(sorted(way for way, times in ways.items() if times), 2):
            looked += 1
            if looked > MOST_PAIRS:
                return
            if _kept_more(model, ways, keeps, one, other):
                changed = True
                break


def _kept_more(model: Model, ways: Counter[Way], keeps: Keeps, one: Way, other: Way) -> bool:
    """Make the gap of one way larger and of another smaller where more is kept so; true if that was done."""
    gap, room = (model.bars[bar].capacity - _used(model, items) for bar, items in (one, other))
    before, times = keeps(gap) + keeps(room), min(ways[one], ways[other])
    if keeps(gap + room) <= before:
        return False
    for i, _ in one[1]:
        for back in ((), *(((j, 1),) for j, _ in other[1] if j > i)):
            shift = model.weights[i] - _used(model, back)
            if shift > room or keeps(gap + shift) + keeps(room - shift) <= before:
                continue
            less = (one[0], _joined(one[1], ((i, -1),), back))
            more = (other[0], _joined(other[1], ((i, 1),), ((j, -n) for j, n in back)))
            fresh = {way for way in (less, more) if not ways[way] or way in (one, other)}
            if less[1] and len(fresh) <= (ways[one] == times) + (ways[other] == times):
                ways.subtract({one: times, other: times})
                for way in (less, more):
                    ways[way] += times
                return True
    return False


def _gather(model: Model, ways: Counter[Way]) -> None:
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
