"""The choice of one value at each corner that makes a sum of costs between pairs of corners least.

o---o---o         a corner with one neighbour is taken out by its best value for each of the neighbour's;
     \\  |         one with two neighbours likewise, which leaves a cost between those two
      \\ o
       \\|        exact for lines, branches, and rings: all that runs of a fence make
        o
"""

from collections import defaultdict
from collections.abc import Callable, Sequence

import numpy as np

from fencegrade.units.arrays import Floats, Indices

_Out = Callable[[Indices], int]
"""From the values chosen so far (by corner) to the best one of a corner that was taken out."""


def least_sum(corners: int, first: Indices, second: Indices, costs: Sequence[Floats]) -> Indices:
    """The value (corners,) of each corner, from 0 on, of least total cost.

    `first`, `second` (e,): the two corners of each pair, `costs` (e): arrays (w, w) by the values of both.
    Corners without a pair get the middle value. Errors: ValueError where every corner left has three
    neighbours or more. Source: own derivation, taking out variables one by one (dynamic programming).
    """
    size = costs[0].shape[0]
    own = np.zeros((corners, size))
    pairs: dict[int, dict[int, Floats]] = defaultdict(dict)
    for a, b, cost in zip(first.tolist(), second.tolist(), costs, strict=True):
        _add(pairs, own, a, b, cost)
    taken: list[tuple[int, _Out]] = []
    waiting = [c for c in range(corners) if pairs[c] or own[c].any()]
    while waiting:
        later = []
        for corner in waiting:
            if len(pairs[corner]) > 2:
                later.append(corner)
            else:
                taken.append((corner, _take_out(pairs, own, corner)))
        if len(later) == len(waiting):
            raise ValueError("every corner left has three neighbours or more")
        waiting = later
    chosen = np.full(corners, size // 2, dtype=np.int64)
    for corner, best in reversed(taken):
        chosen[corner] = best(chosen)
    return chosen


def _add(pairs: dict[int, dict[int, Floats]], own: Floats, a: int, b: int, cost: Floats) -> None:
    """One more cost between two corners, `cost` by the values of `a` and of `b`."""
    if a == b:
        own[a] += np.diag(cost)
        return
    pairs[a][b] = pairs[a].get(b, 0.0) + cost
    pairs[b][a] = pairs[b].get(a, 0.0) + cost.T


def _take_out(pairs: dict[int, dict[int, Floats]], own: Floats, corner: int) -> _Out:
    """Take out a corner with two neighbours at most, leaving its least cost with them."""
    near = list(pairs.pop(corner).items())
    for other, _ in near:
        del pairs[other][corner]
    if not near:
        only = int(own[corner].argmin())
        return lambda chosen: only
    (a, to_a), mine = near[0], own[corner]
    if len(near) == 1:
        total = mine[:, None] + to_a
        best = total.argmin(axis=0)
        own[a] += total.min(axis=0)
        return lambda chosen: int(best[chosen[a]])
    b, to_b = near[1]
    every = (mine[:, None] + to_a)[:, :, None] + to_b[:, None, :]
    best_of = every.argmin(axis=0)
    _add(pairs, own, a, b, every.min(axis=0))
    return lambda chosen: int(best_of[chosen[a], chosen[b]])
