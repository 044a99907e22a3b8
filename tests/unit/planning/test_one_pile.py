"""Boards on hand go to the fence or to its gates, wherever they spare most."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from fencegrade.job.as_built import AsBuilt, BoardsLeft, BuiltRun, PicketUp
from fencegrade.job.read import Job
from fencegrade.planning.buying import boards_of_pickets, buying_list
from fencegrade.planning.plan import FencePlan, plan_fence

WriteJob = Callable[..., Job]

DIP = "station [ft],elevation [in],side\n" + "".join(
    f"{row}\n"
    for row in (
        "0,0,",
        "2,-1,",
        "4,-12,",
        "6,-12,",
        "8,-12,before",
        "8,-24,after",
        "12,-24,before",
        "12,0,after",
        "18,0,",
    )
)
GATE = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"\nleaf = "square"'
FLAT = "station [ft],elevation [in]\n" + "".join(f"{x},0\n" for x in range(0, 17, 2))
PRICES = {72: 4.0, 84: 5.0, 96: 6.5}


def planned(
    write_job: WriteJob, held: tuple[int, ...], ends: str = "dog-eared", limit: str = ""
) -> FencePlan:
    """A level fence whose gate stands in a dip, with so many of 6 ft, 7 ft and 8 ft on hand."""
    row = "[[pickets.stock]]\nlength = '{} in'\nprice = {}\non_hand = {}\n"
    rows = [row.format(n, price, there) for (n, price), there in zip(PRICES.items(), held, strict=True)]
    stock = "".join(rows) + limit
    top = '[top]\nleast_height = "5 ft 6 in"\n'
    return plan_fence(write_job(top, stock=stock, pickets=f'top_end = "{ends}"', lane=(DIP, GATE)), "level")


def spent(plan: FencePlan) -> float:
    return sum(
        x.total or 0.0 for x in buying_list(plan).lines if "pickets" in x.part and "screws" not in x.part
    )


def least_spent(plan: FencePlan, held: tuple[int, ...]) -> float:
    """The least money for a board each, by an assignment of every board on hand or to be bought."""
    own = np.concatenate([run.boards.needs.wood for run in plan.runs])
    gates = np.concatenate([leaf.kept for run in plan.runs for leaf in run.leaves])
    needs = np.concatenate([own, gates]) * plan.mark
    pile = [n for n, there in zip(PRICES, held, strict=True) for _ in range(there)]
    cost = np.full((len(needs), len(pile) + len(needs)), 1e6)
    for k, need in enumerate(needs.tolist()):
        cost[k, : len(pile)] = [0.0 if n >= need else 1e6 for n in pile]
        cost[k, len(pile) + k] = min(price for n, price in PRICES.items() if n >= need)
    return float(cost[linear_sum_assignment(cost)].sum())


PILES = [(0, 0, 6), (0, 9, 0), (0, 3, 20), (5, 4, 3), (30, 0, 2), (0, 0, 60)]


@pytest.mark.parametrize("held", PILES)
def test_no_sharing_of_the_pile_costs_less(write_job: WriteJob, held: tuple[int, ...]) -> None:
    plan = planned(write_job, held)
    assert spent(plan) == pytest.approx(least_spent(plan, held))
    taken = plan.families.boards_of_pickets(on_hand=True)
    assert all(n <= there for n, there in zip(taken, held, strict=True))
    assert [s.on_hand for s in plan.stock.offered] == list(held)


@pytest.mark.parametrize("held", PILES)
def test_boards_that_give_several_are_shared_as_well(write_job: WriteJob, held: tuple[int, ...]) -> None:
    """One on hand spares no more than it costs, and each more on hand costs no more."""
    plans = [planned(write_job, pile, "flat") for pile in ((0, 0, 0), held)]
    bare, plan = (spent(p) for p in plans)
    assert bare - sum(n * p for n, p in zip(held, PRICES.values(), strict=True)) <= plan + 1e-9 <= bare + 1e-9
    gates = plans[1].families.gate_pickets
    assert gates is not None
    own = plans[1].families.pickets
    bought = [PRICES[round(s.length)] for s, n in zip(gates.offered, gates.counts(False), strict=True) if n]
    dearest = max(bought, default=0.0)
    # where the gates buy of a length, no picket has one of it from the pile that a cheaper board would serve
    for (board, _), need in zip(own.laid(), own.asked_of_boards().tolist(), strict=True):
        if board.on_hand and PRICES[round(own.sold(board))] >= dearest:
            assert min(p for n, p in PRICES.items() if n >= need * plans[1].mark) >= dearest


def test_the_last_boards_of_a_length_that_is_not_sold_go_to_the_gate_that_needs_them(
    write_job: WriteJob,
) -> None:
    plan = planned(write_job, (0, 0, 12), limit="limit = 0")
    assert plan.missing == ()
    gates = plan.families.gate_pickets
    assert gates is not None
    assert gates.counts(True)[2] > 0


def test_a_pile_counted_on_the_way_is_shared_too(write_job: WriteJob) -> None:
    """After six pickets, with three boards of 8 ft left: they go to the gate, as before the first was up."""
    first = planned(write_job, (0, 0, 6))
    edge = float(first.runs[0].slots.right[5])
    up = BuiltRun(name="lane", picket=(PicketUp(number=6, far_edge=edge),))
    left = (
        BoardsLeft(length=96.0, count=3),
        BoardsLeft(length=72.0, count=0),
        BoardsLeft(length=84.0, count=0),
    )
    for counted in (None, left):
        plan = plan_fence(replace(first.job, built=AsBuilt(run=(up,), left=counted)), "level")
        gates = plan.families.gate_pickets
        assert gates is not None
        assert gates.counts(True)[2] == (3 if counted else 6)
        for listed, there in zip(boards_of_pickets(plan), (0, 0, 3) if counted else (0, 0, 6), strict=True):
            assert listed.need + listed.spare == listed.taken + listed.to_buy
            assert listed.taken <= there
            assert listed.longer == 0
        assert plan.families.pickets.counts(True)[2] == 0


def test_boards_on_hand_that_are_longer_than_they_need_be_are_counted(write_job: WriteJob) -> None:
    """Every board of 8 ft, on hand beyond those that need one, goes where 6 ft or 7 ft would do."""
    plan = planned(write_job, (0, 0, 15))
    gates = plan.families.gate_pickets
    assert gates is not None
    needed = int((gates.asked * plan.mark > 84).sum())
    needed += int((plan.families.pickets.asked * plan.mark > 84).sum())
    assert 0 < needed < 15
    assert [b.longer for b in boards_of_pickets(plan)] == [0, 0, 15 - needed]


@pytest.mark.parametrize(("spacing", "held", "up"), [("2 in", 3, 0), ("2.5 in", 5, 5)])
def test_a_list_that_is_all_on_hand_is_enough_for_the_fence_and_its_gate(
    write_job: WriteJob, spacing: str, held: int, up: int
) -> None:
    """Pickets of 44 in, two from 10 ft and one from 6 ft: the fence alone would take every 10 ft, all free,
    and leave too little to the gate. So it is by the count, too, of the boards no picket was cut from."""
    stock = "[[pickets.stock]]\nlength = '6 ft'\nprice = 7.0\non_hand = {}\n"
    stock = stock.format(held) + "[[pickets.stock]]\nlength = '10 ft'\nprice = 7.4\n"
    pickets = f'top_end = "flat"\nwidth = "3.5 in"\nspacing = "{spacing}"'
    top = '[top]\nleast_height = "44 in"\n'
    plan = plan_fence(write_job(top, stock=stock, pickets=pickets, lane=(FLAT, GATE)), "level")
    listed = np.sum([plan.families.boards_of_pickets(on_hand=there) for there in (True, False)], axis=0)
    assert spent(plan) > 0
    if not up:
        rows = zip(plan.stock.offered, listed.tolist(), strict=True)
        own = replace(plan.job.pickets, stock=tuple(replace(s, on_hand=n) for s, n in rows))
        job = replace(plan.job, pickets=own)
    else:
        counts = listed - plan.families.pickets.boards_with(np.arange(plan.picket_count) < up)
        rows = zip(plan.stock.offered, counts.tolist(), strict=True)
        edge = float(plan.runs[0].slots.right[up - 1])
        run = BuiltRun(name="lane", picket=(PicketUp(number=up, far_edge=edge),))
        left = tuple(BoardsLeft(length=s.length, count=n) for s, n in rows)
        job = replace(plan.job, built=AsBuilt(run=(run,), left=left))
    assert spent(plan_fence(job, "level")) == 0
