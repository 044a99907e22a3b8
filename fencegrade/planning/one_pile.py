"""Boards on hand are one pile for the fence and its gates: they go where they spare most.

The pickets of the fence are given their boards first. Where a gate would then buy a dearer board than a
picket does that gives one back, or would buy one though the pickets leave some, what the gates need of the
pile is set aside, and the pickets are given theirs anew. By the first list, so that it stays so while the
fence goes up; of boards that were counted since, by the count.
"""

import dataclasses
from collections.abc import Callable, Sequence
from fractions import Fraction

import numpy as np
from msgspec.structs import replace

from fencegrade.fence.gates.gates import LeafPickets
from fencegrade.fence.stock import NO_STOCK, a_board_each, by_length, join_needs, shortest_serving
from fencegrade.fence.stock_steps import NO_STOCK_CHARGE, board_costs
from fencegrade.job.as_built import BoardsLeft
from fencegrade.job.choices import TopEnd
from fencegrade.job.read import Job
from fencegrade.planning.families import Family
from fencegrade.planning.part_families import gate_family, gates_cut_from
from fencegrade.planning.picket_boards import PicketBoards, boards_counted
from fencegrade.units.arrays import Counts, Floats, Marks
from fencegrade.units.tolerances import SAME_COST

Leaves = Sequence[tuple[str, LeafPickets]]
"""The pickets of every gate leaf, with its name."""


def board_beside_gates(job: Job, leaves: Leaves, board: Callable[[Job], PicketBoards]) -> PicketBoards:
    """The boards of the pickets, with those on hand that spare more in gates left to them.

    `job`: with the stock there is; `board`: the boards of the pickets from the stock of a job. Boards set
    aside are on hand in the stock of the result. Errors: those of `board`. Source: own derivation.
    """
    made = board(job)
    if not leaves or not any(s.on_hand for s in (*job.pickets.stock, *made.family.offered)):
        return made
    first = np.zeros(len(made.family.offered), dtype=np.int64)
    for gates_need in (_aside, _as_bought):
        aside = gates_need(job, leaves, made, _listed(made, first))
        if aside.any():
            tried = _boarded(job, aside, aside, board)
            if _cost(job, leaves, _listed(tried, aside)) < _cost(job, leaves, _listed(made, first)):
                made, first = tried, aside
    counted, left = [n is not None for n in _counted(job)], first
    for gates_need in (_aside, _as_bought) if any(counted) else ():
        aside = np.where(counted, gates_need(job, leaves, made, made.family), first)
        if (aside != left).any():
            tried = _boarded(job, first, aside, board)
            if _cost(job, leaves, tried.family) < _cost(job, leaves, made.family):
                made, left = tried, aside
    return made


def _listed(made: PicketBoards, aside: Counts) -> Family:
    """The pickets as they were listed before the first was up, with the whole pile on hand."""
    return made.family if made.first is None else _whole(made.first.family, aside)


def _whole(family: Family, aside: Counts) -> Family:
    """Boards set aside are on hand."""
    rows = zip(family.offered, aside.tolist(), strict=True)
    return replace(family, offered=tuple(dataclasses.replace(s, on_hand=s.on_hand + n) for s, n in rows))


def _boarded(job: Job, first: Counts, left: Counts, board: Callable[[Job], PicketBoards]) -> PicketBoards:
    """The boards of the pickets with some of each stock set aside, of what was there at `first` and of what
    is `left` where that was counted."""
    stock = tuple(sorted(job.pickets.stock, key=lambda s: s.length))
    lowered = tuple(
        dataclasses.replace(s, on_hand=s.on_hand - n) for s, n in zip(stock, first.tolist(), strict=True)
    )
    counts = _counted(job)
    left = np.array([n if c is None else min(n, c) for n, c in zip(left.tolist(), counts, strict=True)])
    rows = tuple(
        BoardsLeft(length=s.length, count=c - n)
        for s, c, n in zip(stock, counts, left.tolist(), strict=True)
        if c is not None
    )
    built = job.built if job.built.left is None else dataclasses.replace(job.built, left=rows)
    pickets = dataclasses.replace(job.pickets, stock=lowered)
    found = board(dataclasses.replace(job, pickets=pickets, built=built))
    family = _whole(found.family, left)
    return replace(found, family=family, stock=replace(found.stock, offered=family.offered))


def _counted(job: Job) -> list[int | None]:
    """Boards of each length that were counted as left, by length; None for one that was not."""
    return boards_counted(job, sorted(s.length for s in job.pickets.stock))


def _cost(job: Job, leaves: Leaves, pickets: Family) -> tuple[int, Fraction]:
    """Pickets without a board, and what is bought for the others, of the fence and of its gates."""
    every = [f for f in (pickets, gate_family(job, leaves, pickets)) if f is not None]
    return sum(len(f.unserved) for f in every), sum((f.plan.exact_cost for f in every), Fraction(0))


def _aside(job: Job, leaves: Leaves, made: PicketBoards, pickets: Family) -> Counts:
    """How many boards on hand of each stock the gates are to have, (k,); none where that spares nothing.

    What is cut from each board is taken as it is, and all boards are given out anew, the dearest first; those
    begun stay where they are. Of one length the fence has those on hand first. `pickets`: the family of all,
    or of those `made` to come.
    """
    gates = gate_family(job, leaves, pickets)
    assert gates is not None
    stock, lengths = by_length(pickets.offered, job.tape)
    costs = np.append(board_costs(stock), 0.0)
    costs[-1] = NO_STOCK_CHARGE * costs.max()
    pile = [dataclasses.replace(s, on_hand=s.on_hand - n) for s, n in zip(stock, pickets.begun, strict=True)]
    own, now = _given(pickets, _least(job, made, pickets), costs)
    theirs, then = _given(gates, gates.asked, costs)
    asked = np.concatenate([own, theirs])
    chosen, on_hand = a_board_each(pile, shortest_serving(lengths, asked), asked)
    if costs[chosen[~on_hand]].sum() > now + then - SAME_COST:
        return np.zeros(len(stock), dtype=np.int64)
    there, fence = (
        np.bincount(k[k != NO_STOCK], minlength=len(stock)) for k in (chosen[on_hand], chosen[: len(own)])
    )
    return np.asarray(np.maximum(there - fence, 0), dtype=np.int64)


def _as_bought(job: Job, leaves: Leaves, made: PicketBoards, pickets: Family) -> Counts:
    """What the gates would buy were none on hand, (k,), as far as the pile has it; none where they buy
    nothing, or the pickets leave none.

    Of boards that give several, all free, the pickets take the fewest, which may be all the long ones; that
    short ones would do as well `_aside` does not see. `made`, `pickets`: as there.
    """
    gates = gate_family(job, leaves, pickets)
    assert gates is not None
    lacking = bool(gates.unserved) or any(gates.counts(on_hand=False))
    if job.pickets.top_end is not TopEnd.FLAT or not lacking or not any(s.on_hand for s in gates.offered):
        return np.zeros(len(pickets.offered), dtype=np.int64)
    bought = gates_cut_from(job, leaves, [dataclasses.replace(s, on_hand=0) for s in pickets.offered])
    pile = np.array([s.on_hand for s in pickets.offered]) - pickets.begun
    return np.asarray(np.minimum(bought.counts(on_hand=False), pile), dtype=np.int64)


def _given(own: Family, least: Marks, costs: Floats) -> tuple[Marks, float]:
    """What a family asks of each board, and of one for each piece that has none, in tape marks, without its
    boards begun; and what the boards cost that it buys, by the stock's `costs` (k + 1,).

    `least` (p,): to which its pieces may be cut.
    """
    entry, there = own.entry_of_boards()
    to_give = np.ones(len(entry), dtype=bool)
    for k, begun in enumerate(own.begun):
        to_give[np.flatnonzero((entry == k) & there)[:begun]] = False
    unserved = list(own.unserved)
    asked = np.concatenate([own.asked_of_boards(least)[to_give], least[unserved]])
    return asked, float(costs[entry[~there]].sum() + costs[-1] * len(unserved))


def _least(job: Job, made: PicketBoards, pickets: Family) -> Marks:
    """To how many tape marks each picket of a family may be cut, or must have to be marked in place; where
    boards are begun, as long as it is cut."""
    needs = join_needs([run.needs for run in made.runs])
    least = needs.shortest if job.pickets.top_end is TopEnd.FLAT else needs.wood
    if any(pickets.begun):
        return pickets.asked + pickets.left_long
    return least if len(least) == len(pickets.asked) else least[~np.concatenate([r.up for r in made.runs])]
