"""Every picket's board, worked out once: low ground closed, lengths over it, stock shared."""

import dataclasses
from collections.abc import Sequence
from functools import partial
from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.low_ground.choice import LowGroundPlan, RunClosing, close_low_ground
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.stock import (
    NO_STOCK,
    Boards,
    Needs,
    StockChoice,
    as_hung,
    boards_of,
    choose_stock,
    join_needs,
    needs_of_some,
)
from fencegrade.job.choices import LowGround, StopSettings, TopEnd
from fencegrade.job.read import Job
from fencegrade.job.records import Stock
from fencegrade.planning.doubt import chances_outside, long_ends, sure_lengths
from fencegrade.planning.families import (
    Family,
    PicketNames,
    as_once_sold,
    picket_names,
    share_boards,
)
from fencegrade.planning.layout import RunLayout, Standing
from fencegrade.planning.stops import cut_alike, keep_listed
from fencegrade.problems import Problem, mistake, raise_mistakes
from fencegrade.units.arrays import Floats, Marks, Truths


class PicketBoards(Struct, frozen=True, kw_only=True, eq=False):
    """The boards of all pickets of a job: what closes low ground, the stock of all runs in order, what is cut
    from which board, and run by run the lengths that every list, chart, drawing and page reads."""

    closing: LowGroundPlan
    stock: StockChoice
    family: Family
    runs: tuple[Boards, ...]


def board_pickets(
    job: Job, layouts: Sequence[RunLayout], lows: Sequence[LowRun], compare: bool
) -> PicketBoards:
    """The boards of the pickets of some runs.

    `job`: with the stock there is; `layouts`: its runs, of which what stands takes no board; `lows`: their
    pickets at full length over the ground as surveyed; `compare`: whether every way of closing low ground is
    costed. Errors: ValueError without a picket stock, JobMistakesError for boards left of a length that is
    not offered.
    """
    closing = close_low_ground(lows, job.pickets, job.soil, job.tape, job.units, compare=compare)
    names = picket_names([(low.run.name, len(low.slots)) for low in lows])
    standing = [lay.standing for lay in layouts]
    up = [_up(s, len(low.slots)) for s, low in zip(standing, lows, strict=True)]
    ends = np.cumsum([0, *(len(low.slots) for low in lows)]).tolist()
    parts = [slice(a, b) for a, b in pairwise(ends)]
    rows = zip(layouts, closing.runs, parts, strict=True)
    # what is doubted goes by the boards as a yard sells them: those on hand are given out afterwards
    bought = choose_stock(join_needs([c.needs for c in closing.runs]), _none_there(job))
    needs = [_with_wood(job, lay, c, boards_of(c.full, c.needs, bought, part)) for lay, c, part in rows]
    every = join_needs(needs)
    choice = choose_stock(every, job.pickets.stock) if every.long_end.any() else closing.stock
    all_up = np.concatenate(up)
    now, held, listing = keep_listed(layouts, closing.runs, every, choice, job.pickets.most_chance)
    if job.pickets.stop_settings is StopSettings.FEWEST:
        alike = partial(cut_alike, layouts, closing.runs, every, most_chance=job.pickets.most_chance)
        choice, now = alike(choice, among=held | True), alike(now, among=listing & ~held)
    hung = np.concatenate([_kept(s, len(own)) for s, own in zip(standing, up, strict=True)])
    cut = _as_cut(np.where(held, now.kept, 0), hung, choice.kept, job)
    first = _as_if_none_stood(job, every, choice, cut, names, all_up)
    choice = replace(choice, kept=np.where(listing & ~all_up, now.kept, first.kept))
    every = replace(every, sure=np.where(listing, choice.kept, first.kept if all_up.any() else every.sure))
    stock, family = _shared(job, every, choice, names, all_up, held, first)
    runs = tuple(
        as_hung(boards_of(c.full, n, stock, part), own, _kept(s, len(own)))
        for c, n, part, own, s in zip(closing.runs, needs, parts, up, standing, strict=True)
    )
    return PicketBoards(closing=closing, stock=stock, family=family, runs=runs)


def bought_in_doubt(job: Job, layout: RunLayout, low: LowRun) -> tuple[StockChoice, StockChoice]:
    """The boards of one run as drawn, and with those taken longer in doubt; one picket a board, none on hand,
    low ground closed by longer boards alone.

    `job`: with the stock there is; `layout`, `low`: the run and its pickets at full length.
    """
    boards = dataclasses.replace(job.soil, low_ground=LowGround.BOARDS)
    (closing,) = close_low_ground([low], job.pickets, boards, job.tape, job.units, compare=False).runs
    drawn = choose_stock(closing.needs, _none_there(job))
    every = boards_of(closing.full, closing.needs, drawn, slice(None))
    return drawn, choose_stock(_with_wood(job, layout, closing, every), _none_there(job))


def _none_there(job: Job) -> list[Stock]:
    return [dataclasses.replace(s, on_hand=0) for s in job.pickets.stock]


def _with_wood(job: Job, layout: RunLayout, closing: RunClosing, drawn: Boards) -> Needs:
    """What a run's pickets ask of their boards: wood to mark where that pays, and no board that gives several
    at the cost of pickets no longer sure."""
    chance = chances_outside(layout, closing, drawn.cuts, as_if_to_come=True)
    doubtful = chance > job.pickets.most_chance
    asked = long_ends(layout, drawn.needs, drawn.cuts, doubtful & ~drawn.unserved, job.pickets.stock)
    needs = replace(drawn.needs, long_end=asked)
    if job.pickets.top_end is not TopEnd.FLAT:
        return needs
    sure = sure_lengths(layout, closing, drawn.needs, drawn.cuts, chance, job.pickets.most_chance)
    return replace(needs, sure=sure)


def _up(standing: Standing | None, count: int) -> Truths:
    return np.zeros(count, dtype=bool) if standing is None else standing.up


def _kept(standing: Standing | None, count: int) -> Floats:
    return np.full(count, np.nan) if standing is None else standing.kept


def _as_cut(listed: Marks, hung: Floats, most: Marks, job: Job) -> Marks:
    """The lengths (n,) in tape marks that boards which give several are known to be cut to, 0 where none is.

    `listed` (n,): by their list, 0 for the others; `hung` (n,) inches of those up, nan where it is not said;
    `most` (n,): at full length.
    """
    if job.pickets.top_end is not TopEnd.FLAT:
        return 0 * listed
    marks = np.round(np.nan_to_num(hung) / job.tape).astype(np.int64)
    return np.where((marks > 0) & (marks <= most), marks, listed)


def _cut_so(needs: Needs, choice: StockChoice, cut: Marks) -> tuple[Needs, StockChoice]:
    """Needs and lengths with boards `cut` (n,) already, in tape marks; 0 for one that is not."""
    kept = np.where(cut > 0, cut, choice.kept)
    return replace(needs, sure=np.where(cut > 0, cut, needs.sure)), replace(choice, kept=kept)


class _First(Struct, frozen=True, kw_only=True, eq=False):
    """What was on the list before the first board was up: the length `kept` (n,) of every picket in tape
    marks; `used`: boards on hand of each length, shortest first, that gave all their pieces to what is up;
    `begun`: boards, bought or on hand, that have others to give; `beside` (n,): the pickets up they gave."""

    kept: Marks
    used: list[int]
    begun: list[int]
    beside: Truths


def _shared(
    job: Job,
    needs: Needs,
    choice: StockChoice,
    names: PicketNames,
    up: Truths,
    held: Truths,
    first: _First,
) -> tuple[StockChoice, Family]:
    """The boards shared among those to come; what is `up` (n,) has none, and the length `choice` gave it.

    `held` (n,): cut by their list. The stock of those to come is chosen afresh from the boards that are left,
    counted ones before any is up too. Boards begun are among them, and what they gave keeps its part.
    """
    if not up.any() and job.built.left is None:
        return share_boards(job, needs, choice, names)
    index = np.flatnonzero(~up | first.beside)
    left = _left_over(job, first)
    some = needs_of_some(needs, index)
    chosen = _chosen_from(left.pickets.stock, some, choice.kept[index], held[index])
    chosen = replace(chosen, kept=np.minimum(chosen.kept, choice.kept[index]))
    shared, family = share_boards(left, some, chosen, names.of(index))
    stock, on_hand = np.full(len(up), NO_STOCK, dtype=np.int64), np.zeros(len(up), dtype=bool)
    kept, wood = choice.kept.copy(), choice.kept.copy()
    stock[index], on_hand[index] = shared.stock, shared.on_hand
    kept[index], wood[index] = shared.kept, shared.wood
    stock[up], on_hand[up], kept[up], wood[up] = NO_STOCK, False, choice.kept[up], choice.kept[up]
    shown = replace(shared, stock=stock, on_hand=on_hand, kept=kept, wood=wood)
    return shown, replace(family, begun=tuple(first.begun))


def _chosen_from(left: Sequence[Stock], needs: Needs, kept: Marks, held: Truths) -> StockChoice:
    """The stock of those to come, of the boards `left`: as long as their list has them (`kept`, marks), for
    some may be cut already; if that leaves one without a board, those that are known to be cut (`held`); and
    if that does too, whatever serves.
    """
    plain = choose_stock(needs, left)
    for cut in (kept, np.where(held, kept, 0)):
        chosen = choose_stock(replace(needs, long_end=np.maximum(needs.long_end, cut)), left)
        if not ((chosen.stock == NO_STOCK) & (plain.stock != NO_STOCK)).any():
            return chosen
    return plain


def _as_if_none_stood(
    job: Job, needs: Needs, choice: StockChoice, cut: Marks, names: PicketNames, up: Truths
) -> _First:
    """What was on the list before the first board was up, and what it gave to what is `up` (n,), of each
    length boards on hand first.

    `choice`: of all pickets as if nothing stood; `cut` (n,): lengths that boards are known to be cut to, 0
    for none. The others have the lengths of that list, as far as those go with what is cut at no more cost.
    """
    none = [0] * len(choice.offered)
    if not up.any():
        return _First(kept=choice.kept, used=none, begun=none, beside=up)
    stock = as_once_sold(job.pickets.stock)
    if stock != job.pickets.stock:
        once = choose_stock(needs, stock)
        choice = replace(once, kept=np.minimum(once.kept, choice.kept))
    then, family = share_boards(job, needs, choice, names)
    if (then.kept != cut)[cut > 0].any():
        cost = family.plan.exact_cost
        fixed = np.where(cut > 0, cut, then.kept)
        then, family = share_boards(job, *_cut_so(needs, choice, fixed), names)
        if family.plan.exact_cost > cost:
            then, family = share_boards(job, *_cut_so(needs, choice, cut), names)
    beside, begun, done = family.begun_by(up)
    taken = [d + b for d, b in zip(done, begun, strict=True)]
    used = [min(s.on_hand, n) for s, n in zip(family.offered, taken, strict=True)]
    return _First(kept=then.kept, used=used, begun=begun, beside=beside)


def _left_over(job: Job, first: _First) -> Job:
    """The job with the boards that are left on hand, and those begun.

    `first`: boards on hand of each length that what is up was cut from; they count only for lengths of which
    the record does not say what is left. Errors: JobMistakesError for a length that is not offered.
    """
    stock = tuple(sorted(job.pickets.stock, key=lambda s: s.length))
    held = [max(0, s.on_hand - n) for s, n in zip(stock, first.used, strict=True)]
    if job.built.left is not None:
        counted = boards_counted(job, [s.length for s in stock])
        held = [h if c is None else c for h, c in zip(held, counted, strict=True)]
    offered = tuple(
        dataclasses.replace(s, on_hand=n + b) for s, n, b in zip(stock, held, first.begun, strict=True)
    )
    return dataclasses.replace(job, pickets=dataclasses.replace(job.pickets, stock=offered))


def boards_counted(job: Job, lengths: Sequence[float]) -> list[int | None]:
    """Boards left of each length (in), by the record; None for a length it does not name.

    Errors: JobMistakesError for one that `lengths` do not have.
    """
    words = job.words
    problems = list[Problem]()
    counts: list[int | None] = [None] * len(lengths)
    for row in job.built.left or ():
        near = [k for k, length in enumerate(lengths) if abs(length - row.length) <= job.tape / 2]
        if near:
            counts[near[0]] = (counts[near[0]] or 0) + row.count
        else:
            listed = ", ".join(words.sold_length(x) for x in lengths)
            found = f"the job offers no picket stock of {words.sold_length(row.length)}, only {listed}"
            remedy = "check the length, or add it to [[pickets.stock]], with limit = 0 if no more is sold"
            problems.append(mistake(f"{row.place}, length", found, remedy))
    raise_mistakes(problems)
    return counts
