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
from fencegrade.planning.families import Family, PicketNames, picket_names, share_boards
from fencegrade.planning.first_list import FirstList, first_list, known_cuts
from fencegrade.planning.laid import Begun
from fencegrade.planning.layout import RunLayout, Standing
from fencegrade.planning.stops import cut_alike, keep_listed
from fencegrade.problems import Problem, mistake, raise_mistakes
from fencegrade.units.arrays import Floats, Marks, Truths


class PicketBoards(Struct, frozen=True, kw_only=True, eq=False):
    """The boards of all pickets of a job: what closes low ground, the stock of all runs in order, what is cut
    from which board, and run by run the lengths that every list, chart, drawing and page reads. `first`: the
    list before the first picket was up; None where none is and nothing was counted."""

    closing: LowGroundPlan
    stock: StockChoice
    family: Family
    first: FirstList | None
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
    hung = np.concatenate([_kept(s, len(own)) for s, own in zip(standing, up, strict=True)])
    stock, family, first = _cut_from(job, layouts, closing, every, names, np.concatenate(up), hung)
    runs = tuple(
        as_hung(boards_of(c.full, n, stock, part), own, _kept(s, len(own)))
        for c, n, part, own, s in zip(closing.runs, needs, parts, up, standing, strict=True)
    )
    return PicketBoards(closing=closing, stock=stock, family=family, first=first, runs=runs)


def _cut_from(
    job: Job,
    layouts: Sequence[RunLayout],
    closing: LowGroundPlan,
    needs: Needs,
    names: PicketNames,
    up: Truths,
    hung: Floats,
) -> tuple[StockChoice, Family, FirstList | None]:
    """The board of every picket, and how long it is: by the list of its run, or as none stood, or afresh.

    `up` (n,): those that stand, and their lengths `hung` (n,) in inches, nan where it is not said.
    """
    choice = choose_stock(needs, job.pickets.stock) if needs.long_end.any() else closing.stock
    now, held, listing = keep_listed(layouts, closing.runs, needs, choice, job.pickets.most_chance)
    if job.pickets.stop_settings is StopSettings.FEWEST:
        alike = partial(cut_alike, layouts, closing.runs, needs, most_chance=job.pickets.most_chance)
        choice, now = alike(choice, among=held | True), alike(now, among=listing & ~held)
    first = None
    if up.any() or job.built.left is not None:
        cut = known_cuts(job, np.where(held, now.kept, 0), hung, choice.kept)
        first = first_list(job, needs, choice, cut, names, up)
    if first is not None and up.any():
        choice, needs = replace(choice, kept=first.kept), replace(needs, sure=first.kept)
    choice = replace(choice, kept=np.where(listing & ~up, now.kept, choice.kept))
    needs = replace(needs, sure=np.where(listing, choice.kept, needs.sure))
    if first is None:
        return *share_boards(job, needs, choice, names), None
    return *_of_those_left(job, needs, choice, names, held, first), first


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


def _of_those_left(
    job: Job, needs: Needs, choice: StockChoice, names: PicketNames, held: Truths, first: FirstList
) -> tuple[StockChoice, Family]:
    """The boards that are left shared among those to come; what is up has none, and the length `choice` gave
    it.

    `held` (n,): cut by their list. Boards begun give what they were to give; the stock of the others to come
    is chosen afresh.
    """
    up, every = first.up, first.begun(np.maximum(choice.kept, needs.long_end))
    beside = up & False
    beside[[i for b in every for i in b.members]] = True
    index = np.flatnonzero(~up | beside)
    place = np.cumsum(~up | beside) - 1
    begun = [Begun(entry=b.entry, members=tuple(place[list(b.members)].tolist())) for b in every]
    left = _left_over(job, first, begun)
    some = needs_of_some(needs, index)
    chosen = _chosen_from(left.pickets.stock, some, choice.kept[index], held[index])
    chosen = replace(chosen, kept=np.minimum(chosen.kept, choice.kept[index]))
    shared, family = share_boards(left, some, chosen, names.of(index), begun)
    stock, on_hand = np.full(len(up), NO_STOCK, dtype=np.int64), np.zeros(len(up), dtype=bool)
    kept, wood = choice.kept.copy(), choice.kept.copy()
    stock[index], on_hand[index] = shared.stock, shared.on_hand
    kept[index], wood[index] = shared.kept, shared.wood
    stock[up], on_hand[up], kept[up], wood[up] = NO_STOCK, False, choice.kept[up], choice.kept[up]
    shown = replace(shared, stock=stock, on_hand=on_hand, kept=kept, wood=wood)
    return shown, family


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


def _left_over(job: Job, first: FirstList, begun: Sequence[Begun]) -> Job:
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
        dataclasses.replace(s, on_hand=n + sum(b.entry == k for b in begun))
        for k, (s, n) in enumerate(zip(stock, held, strict=True))
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
