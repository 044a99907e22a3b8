"""Among plans of equal cost: fewer boards, then fewer ways of cutting, then more kept in offcuts worth it.

Where no length is named from which an offcut is worth keeping, the longest single one is made longer.

Two ways of cutting are changed for others with the same pieces, as long as that is better and costs no more:
a search of neighbours, no proof. The cost is proven elsewhere, the rest is as good as it comes.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import chain, combinations_with_replacement, islice, permutations
from typing import TypeVar

from fencegrade.cutting.model import Cut, Items, Model, Way, used

MOST_PAIRS = 4_000
"""Pairs of ways looked at to put them on one board, to divide them anew, and to move pieces: about 0.03 s."""

T = TypeVar("T")
Keeps = Callable[[int], int]


def polish(model: Model, cuts: Iterable[Cut], keeps: Keeps | None = None) -> tuple[Cut, ...]:
    """Better a plan without raising its cost.

    keeps: what is kept of a board with so much left, if there are offcuts worth keeping
    """
    saw = _Saw(model, cuts, keeps or (lambda gap: gap * gap))
    for changes in (saw.joined, saw.divided, saw.moved):
        saw.pairs = MOST_PAIRS
        while any(saw.take(*change) for change in changes()):
            pass
    return tuple(
        Cut(bar=bar, items=items, times=times) for (bar, items), times in sorted(saw.ways.items()) if times
    )


def _sum(*parts: Iterable[tuple[int, int]]) -> Items:
    numbers = Counter[int]()
    for i, n in chain.from_iterable(parts):
        numbers[i] += n
    return tuple(sorted((i, n) for i, n in numbers.items() if n))


def _without(items: Items, way: Way) -> Items:
    """The pieces of `items` that a way has not."""
    there = dict(way[1])
    return tuple((i, n - there.get(i, 0)) for i, n in items if n > there.get(i, 0))


class _Saw:
    """The ways of cutting and how often each is cut; `pairs` may still be looked at."""

    def __init__(self, model: Model, cuts: Iterable[Cut], keeps: Keeps) -> None:
        self.model, self.keeps, self.pairs = model, keeps, 0
        self.gaps: dict[Way, int] = {}
        self.ways: Counter[Way] = Counter()
        for cut in cuts:
            self.ways[cut.bar, cut.items] += cut.times

    def gap(self, way: Way) -> int:
        """What a way leaves of its board."""
        if way not in self.gaps:
            self.gaps[way] = self.model.bars[way[0]].capacity - used(self.model, way[1])
        return self.gaps[way]

    def take(self, old: Sequence[Way], new: Sequence[Way]) -> bool:
        """Cut new ways for old ones, as often as these go, if that is better; true if it was done."""
        ways, bars = self.ways, self.model.bars
        times = min(ways[way] // old.count(way) for way in old)
        if not times or min(map(self.gap, new)) < 0:
            return False
        change = Counter(dict.fromkeys((*old, *new), 0))
        for way in new:
            change[way] += times
        change.subtract(way for way in old for _ in range(times))
        fewer = sum(ways[way] > 0 for way in change) - sum(ways[way] + n > 0 for way, n in change.items())
        kept = sum(self.keeps(self.gap(way)) for way in new) - sum(self.keeps(self.gap(way)) for way in old)
        dearer = sum(bars[bar].cost for bar, _ in new) > sum(bars[bar].cost for bar, _ in old)
        if dearer or (len(old) - len(new), fewer, kept) <= (0, 0, 0):
            return False
        ways.update(change)
        return True

    def _looked(self, looked: Iterable[T]) -> Iterator[T]:
        for ways in looked:
            self.pairs -= 1
            if self.pairs < 0:
                return
            yield ways

    def _live(self) -> list[Way]:
        return sorted(way for way, times in self.ways.items() if times)

    def joined(self) -> Iterator[tuple[Sequence[Way], Sequence[Way]]]:
        """What two boards hold on one that costs no more."""
        bars = [b for b, bar in enumerate(self.model.bars) if bar.limit is None and not bar.lacking]
        kinds = sorted((self.model.bars[b].cost, self.model.bars[b].capacity, b) for b in bars)
        costs, longest = [bar.cost for bar in self.model.bars], max((k[1] for k in kinds), default=0)
        order = sorted((used(self.model, way[1]), way) for way in self._live())
        pairs = (
            pair for pair in combinations_with_replacement(order, 2) if pair[0][0] + pair[1][0] <= longest
        )
        for (weight, one), (more, other) in self._looked(pairs):
            both = costs[one[0]] + costs[other[0]]
            fitting = (bar for cost, capacity, bar in kinds if cost <= both and capacity >= weight + more)
            for bar in islice(fitting, 1):
                yield (one, other), ((bar, _sum(one[1], other[1])),)

    def divided(self) -> Iterator[tuple[Sequence[Way], Sequence[Way]]]:
        """What two boards hold as a third way that is cut already, and a rest."""
        for one, other, third in self._looked(self._trios()):
            rest = _sum(one[1], other[1], ((i, -n) for i, n in third[1]))
            for same, board in ((one, other[0]), (other, one[0])):
                if same[0] == third[0] and rest:
                    yield (one, other), (third, (board, rest))

    def _trios(self) -> Iterator[tuple[Way, Way, Way]]:
        """Two ways and a third all of whose pieces are among theirs."""
        live, having = self._live(), defaultdict[int, list[Way]](list)
        for way in live:
            for i, _ in way[1]:
                having[i].append(way)
        for third in live:
            for first in having[third[1][0][0]]:
                if first == third:
                    continue
                lacking = _without(third[1], first)
                for second in having[lacking[0][0]] if lacking else live:
                    if second not in (first, third) and not _without(lacking, second):
                        yield first, second, third

    def moved(self) -> Iterator[tuple[Sequence[Way], Sequence[Way]]]:
        """A piece moved from one board to another, or changed for a shorter one."""
        weights, keeps = self.model.weights, self.keeps
        for one, other in self._looked(permutations(sorted(self._live(), key=self.gap, reverse=True), 2)):
            gap, room = self.gap(one), self.gap(other)
            kept = keeps(gap) + keeps(room)
            if keeps(gap + room) <= kept:
                continue
            for i, _ in one[1]:
                for back in ((), *(((j, 1),) for j, _ in other[1] if j > i)):
                    shift = weights[i] - used(self.model, back)
                    if shift <= room and keeps(gap + shift) + keeps(room - shift) > kept:
                        less = _sum(one[1], ((i, -1),), back)
                        more = _sum(other[1], ((i, 1),), ((j, -n) for j, n in back))
                        if less:
                            yield (one, other), ((one[0], less), (other[0], more))
