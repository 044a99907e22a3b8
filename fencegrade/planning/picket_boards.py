"""Every picket's board, worked out once: low ground closed, lengths over it, stock shared."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fencegrade.fence.low_ground.choice import LowGroundPlan, close_low_ground
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.stock import (
    NO_STOCK,
    Boards,
    Needs,
    StockChoice,
    Truths,
    as_hung,
    boards_of,
    choose_stock,
    join_needs,
    needs_of_some,
)
from fencegrade.ground.fit import GroundProfile
from fencegrade.ground.profile import Floats
from fencegrade.job.read import Job
from fencegrade.job.records import StopSettings
from fencegrade.planning.families import Family, picket_names, share_boards
from fencegrade.planning.layout import Standing
from fencegrade.planning.standing import left_over
from fencegrade.planning.stops import cut_alike


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PicketBoards:
    """The boards of all pickets of a job: what closes low ground, the stock of all runs in order, what is cut
    from which board, and run by run the lengths that every list, chart, drawing and page reads."""

    closing: LowGroundPlan
    stock: StockChoice
    family: Family
    runs: tuple[Boards, ...]


def board_pickets(
    job: Job,
    lows: Sequence[LowRun],
    profiles: Sequence[GroundProfile],
    standing: Sequence[Standing | None],
    compare: bool,
) -> PicketBoards:
    """The boards of the pickets of some runs.

    `job`: with the stock there is; `lows`: its runs, pickets at full length over the ground as surveyed;
    `profiles`: how sure the ground of each is; `standing`: what stands of each, which takes no board;
    `compare`: whether every way of closing low ground is costed. Errors: ValueError without a picket stock,
    JobMistakesError for boards left of a length that is not offered.
    """
    closing = close_low_ground(lows, job.pickets, job.soil, job.job.tape, job.job.units, compare=compare)
    names = picket_names([(low.run.name, len(low.slots)) for low in lows])
    needs = join_needs([c.needs for c in closing.runs])
    up = [_up(s, len(low.slots)) for s, low in zip(standing, lows, strict=True)]
    choice = closing.stock
    if job.pickets.stop_settings is StopSettings.FEWEST:
        choice = cut_alike(lows, profiles, [c.full for c in closing.runs], needs, choice)
    stock, family = _shared(job, needs, choice, names, np.concatenate(up))
    ends = np.cumsum([0, *(len(low.slots) for low in lows)]).tolist()
    runs = tuple(
        as_hung(boards_of(c.full, c.needs, stock, slice(a, b)), own, _kept(s, len(own)))
        for c, a, b, own, s in zip(closing.runs, ends[:-1], ends[1:], up, standing, strict=True)
    )
    return PicketBoards(closing=closing, stock=stock, family=family, runs=runs)


def _up(standing: Standing | None, count: int) -> Truths:
    return np.zeros(count, dtype=bool) if standing is None else standing.up


def _kept(standing: Standing | None, count: int) -> Floats:
    return np.full(count, np.nan) if standing is None else standing.kept


def _shared(
    job: Job, needs: Needs, choice: StockChoice, name_of: Callable[[int], str], up: Truths
) -> tuple[StockChoice, Family]:
    """The boards shared among those to come; what is `up` (n,) has none, and the length `choice` gave it.

    The stock of those to come is chosen afresh from the boards that are left; their lengths stay those they
    would have if nothing stood, for boards may be cut already.
    """
    if not up.any():
        return share_boards(job, needs, choice, name_of)
    index = np.flatnonzero(~up)
    used = np.bincount(choice.stock[up & choice.on_hand], minlength=len(choice.offered))
    left = left_over(job, used.tolist())
    some = needs_of_some(needs, index)
    chosen = choose_stock(some, left.pickets.stock)
    chosen = replace(chosen, kept=np.minimum(chosen.kept, choice.kept[index]))
    shared, family = share_boards(left, some, chosen, lambda i: name_of(int(index[i])))
    stock, on_hand = np.full(len(up), NO_STOCK, dtype=np.int64), np.zeros(len(up), dtype=bool)
    kept = choice.kept.copy()
    stock[index], on_hand[index], kept[index] = shared.stock, shared.on_hand, shared.kept
    return replace(shared, stock=stock, on_hand=on_hand, kept=kept), family
