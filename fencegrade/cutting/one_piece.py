"""One piece a board: every piece gets its own board, and the question is only which.

Boards of a kind are interchangeable, so pieces are handed out group by group along the cheapest chain of
moves between kinds (successive shortest paths for a transport problem): exact, whole numbers only, no search.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise


@dataclass(slots=True)
class _Kinds:
    """How many pieces of each group sit on each kind of board, and how many boards of the kind are left."""

    costs: Sequence[Sequence[int | None]]
    room: list[int]
    placed: list[dict[int, int]] = field(default_factory=list)

    def move_cost(self, source: int, target: int) -> tuple[int, int] | None:
        """Least cost of moving one placed piece from one kind to another, with the group moved."""
        best = None
        for group in self.placed[source]:
            old, new = self.costs[group][source], self.costs[group][target]
            if old is not None and new is not None and (best is None or (new - old, group) < best):
                best = (new - old, group)
        return best


def assign(
    costs: Sequence[Sequence[int | None]], counts: Sequence[int], limits: Sequence[int]
) -> list[dict[int, int]]:
    """Place every piece on a board at least total cost.

    costs: for each group of pieces the cost on each kind of board, None where it does not fit
    counts: pieces in each group; limits: boards of each kind
    Returns for each kind the number of pieces of each group. Some kind must hold everything.
    """
    kinds = _Kinds(costs=costs, room=list(limits), placed=[{} for _ in limits])
    for group, count in enumerate(counts):
        left = count
        while left:
            left -= _place(kinds, group, left)
    return kinds.placed


def _place(kinds: _Kinds, group: int, left: int) -> int:
    """Place some pieces of a group along the cheapest chain; returns how many."""
    chain = _cheapest_chain(kinds, group)
    number = min(left, kinds.room[chain[-1][0]])
    for (kind, _), (_, moved) in pairwise(chain):
        number = min(number, kinds.placed[kind][moved])
    carried = group
    for step, (kind, _) in enumerate(chain):
        kinds.placed[kind][carried] = kinds.placed[kind].get(carried, 0) + number
        if step + 1 < len(chain):
            carried = chain[step + 1][1]
            kinds.placed[kind][carried] -= number
            if not kinds.placed[kind][carried]:
                del kinds.placed[kind][carried]
    kinds.room[chain[-1][0]] -= number
    return number


def _cheapest_chain(kinds: _Kinds, group: int) -> list[tuple[int, int]]:
    """Cheapest way to a kind with room, as (kind, group moved into it); Bellman-Ford over the kinds."""
    size = len(kinds.room)
    reach: list[tuple[int, list[tuple[int, int]]] | None] = [
        None if cost is None else (cost, [(kind, group)]) for kind, cost in enumerate(kinds.costs[group])
    ]
    moves = {
        (a, b): kinds.move_cost(a, b) for a in range(size) if not kinds.room[a] for b in range(size) if a != b
    }
    for _ in range(size):
        changed = False
        for (a, b), move in moves.items():
            start = reach[a]
            if start is None or move is None:
                continue
            cost, old = start[0] + move[0], reach[b]
            if old is None or cost < old[0]:
                reach[b] = (cost, [*start[1], (b, move[1])])
                changed = True
        if not changed:
            break
    return min((r for kind, r in enumerate(reach) if r is not None and kinds.room[kind]), key=lambda r: r[0])[
        1
    ]
