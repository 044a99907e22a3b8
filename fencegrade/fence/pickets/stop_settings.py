"""Few settings of the stop: boards that may be a little shorter are cut alike.

each board may be anything from its least to its full length:      |-------|
                                                               |-----|
                                                                  |--------|
one setting serves all whose range it is in                          x
"""

import numpy as np

from fencegrade.units.arrays import Marks


def fewest_settings(full: Marks, least: Marks, kinds: Marks) -> Marks:
    """The lengths of boards that take the fewest settings of the stop.

    full, least: (n,) longest and shortest that each board may be, in tape marks, least <= full; kinds: (n,)
    boards of unlike kinds (the angle of their cut) share no setting. Result: (n,) lengths in tape marks,
    least <= length <= full, with as few distinct lengths in each kind as any choice has, and among those
    the least cut off in all. Source: own derivation; the number is that of the fewest points that meet every
    range (Golumbic, Algorithmic Graph Theory and Perfect Graphs, 1980, clique cover of interval graphs; from
    memory).
    """
    lengths = full.copy()
    for kind in np.unique(kinds).tolist():
        here = np.flatnonzero(kinds == kind)
        lengths[here] = _of_one_kind(full[here], least[here])
    return lengths


def _of_one_kind(full: Marks, least: Marks) -> Marks:
    """One setting may always be moved up to the shortest full length it serves, so those alone are tried."""
    ends, place = np.unique(full, return_inverse=True)
    counts = np.bincount(place)
    lows = np.full(len(ends), np.iinfo(np.int64).min)
    np.maximum.at(lows, place, least)
    chosen = _chosen(ends, lows, counts)
    return chosen[np.searchsorted(chosen, full, side="right") - 1]


def _chosen(ends: Marks, lows: Marks, counts: Marks) -> Marks:
    """Which of the ascending full lengths `ends` (k,) are settings.

    `lows`: the most that any board of each length asks at least; `counts`: how many boards have it.

    A board takes the longest setting it is as long as, so between two neighbouring settings every board's
    least is no more than the lower one. The best choice that ends with each length is found in turn.
    """
    many = np.concatenate([[0], np.cumsum(counts)])
    sums = np.concatenate([[0], np.cumsum(counts * ends)])
    one_more = int(sums[-1]) + 1
    cost = np.zeros(len(ends) + 1, dtype=np.int64)
    before = np.zeros(len(ends) + 1, dtype=np.int64)
    first = 0
    for j in range(1, len(ends) + 1):
        while int(lows[first + 1 : j].max(initial=np.iinfo(np.int64).min)) > ends[first]:
            first += 1
        i = np.arange(first, j)
        lost = sums[j] - sums[i] - ends[i] * (many[j] - many[i])
        total = cost[i] + lost + one_more
        best = int(np.argmin(total))
        cost[j], before[j] = total[best], i[best]
    found, j = [], len(ends)
    while j:
        j = int(before[j])
        found.append(int(ends[j]))
    return np.array(found[::-1], dtype=np.int64)
