"""Mending a set of boards that almost holds all pieces: empty a few, fill them again, keep what is better.

Ruin and recreate (Schrimpf, Schneider, Stamm-Wilbrandt and Dueck, Journal of Computational Physics 159 (2000)
139-171) with exact sums as the filling. Of two states with the same pieces left over the one is better whose
gaps lie together, since one more piece fits there. Random choices come from a fixed seed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from random import Random

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.filling import fullest
from fencegrade.cutting.model import Cut, Items, Left, used

LEAST_WIDTH, MOST_WIDTH = 3, 9
"""Boards emptied at a time."""

NOISE = (0.0, 0.1, 0.3, 1.0)
"""Shares of its length by which a piece may come later than its length says."""

ROUND = 20.0
"""Work of a round beside its fillings."""


def mend(left: Left, rounds: int, effort: Effort) -> tuple[Cut, ...]:
    """Look for room for the pieces left on the boards left and those cut already; gives the last cuts of all.

    rounds: how often some boards are filled anew, as long as a piece is left over
    """
    state = _Boards(left)
    spare = sum(state.gaps) - state.over
    for _ in range(rounds):
        if not state.over or spare < 0 or effort.over:
            break
        state.refill(effort)
        effort.spend(ROUND)
    return state.cuts()


class _Boards:
    """Every single board with its pieces and its gap, and the pieces that are left over."""

    def __init__(self, left: Left) -> None:
        self.model, self.chance = left.model, Random(1)
        ways = [((cut.bar, cut.items), cut.times) for cut in left.cuts]
        ways += [((bar, ()), number or 0) for bar, number in enumerate(left.boards)]
        self.ways = [way for way, times in ways for _ in range(times)]
        self.gaps = [self.model.bars[bar].capacity - used(self.model, items) for bar, items in self.ways]
        self.left = {i: n for i, n in enumerate(left.pieces) if n}
        self.over = used(self.model, self.left.items())

    def refill(self, effort: Effort) -> None:
        """Empty a few boards and fill them again; keep that unless more is left over or gaps are spread."""
        chosen = self._chosen()
        left = dict(self.left)
        for board in chosen:
            for i, n in self.ways[board][1]:
                left[i] = left.get(i, 0) + n
        order, weights = self._order(left), self.model.weights
        filled: list[tuple[int, Items, int]] = []
        for board in chosen:
            order = [i for i in order if left[i]]
            items, rest = fullest(weights, left, order, self.model.bars[self.ways[board][0]].capacity, effort)
            for i, n in items:
                left[i] -= n
            filled.append((board, items, rest))
        over = used(self.model, left.items())
        together = sum(rest * rest for _, _, rest in filled) - sum(self.gaps[b] ** 2 for b in chosen)
        if over < self.over or (over == self.over and together >= 0):
            self.over, self.left = over, {i: n for i, n in left.items() if n}
            for board, items, rest in filled:
                self.ways[board], self.gaps[board] = (self.ways[board][0], items), rest

    def _chosen(self) -> list[int]:
        """Boards to empty, half of them with gaps; every second time those with small gaps come first."""
        width = min(self.chance.randint(LEAST_WIDTH, MOST_WIDTH), len(self.ways))
        open_boards = [board for board, gap in enumerate(self.gaps) if gap]
        chosen = self.chance.sample(open_boards, min(len(open_boards), (width + 1) // 2))
        while len(chosen) < width:
            board = self.chance.randrange(len(self.ways))
            if board not in chosen:
                chosen.append(board)
        self.chance.shuffle(chosen)
        if self.chance.random() < 0.5:
            chosen.sort(key=lambda board: self.gaps[board])
        return chosen

    def _order(self, left: Iterable[int]) -> list[int]:
        """Pieces from long to short, some later than that."""
        noise, weights, chance = self.chance.choice(NOISE), self.model.weights, self.chance.random
        return sorted(left, key=lambda i: (-weights[i] * (1.0 - noise * chance()), i))

    def cuts(self) -> tuple[Cut, ...]:
        """The boards as cuts, equal ones together."""
        ways = Counter(way for way in self.ways if way[1])
        return tuple(Cut(bar=bar, items=items, times=times) for (bar, items), times in ways.items())
