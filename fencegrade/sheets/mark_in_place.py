"""Boards the ground leaves in doubt: how to mark them where they stand, and the lengths to expect."""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.choices import BottomCut, TopEnd
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.hanging import bays_to_hang
from fencegrade.sheets.tables import plain_rows
from fencegrade.units import format_share
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.words import Words, listed, numbered, numbers

LEAVE_LONG = "LEAVE LONG"
"""Stands where the length of a board that is marked in place would, for no saw may be set by it."""


def in_place(run: RunPlan) -> Truths:
    """(n,) whether each board is left long and marked where it stands."""
    return run.flags[PicketFlag.MARK_IN_PLACE]


def from_chart(run: RunPlan) -> Truths:
    """(n,) whether each board is cut from the chart: to come, served by a stock, and not marked in place."""
    return np.asarray(run.layout.coming & (run.stock != NO_STOCK) & ~in_place(run), dtype=bool)


def sure(run: RunPlan) -> Truths:
    """(n,) whether each board can be cut now: from the chart, and on ground that no slip leaves in doubt."""
    return from_chart(run) & (not run.ground.provisional)


def least_sure(runs: Sequence[RunPlan]) -> str:
    """How sure the least sure of the boards is that can be cut now; empty where none may be wrong."""
    cut = [(float(r.doubt.outside[i]), r.run.name, i + 1) for r in runs for i in np.flatnonzero(sure(r))]
    chance, name, number = max(cut, key=lambda c: c[0], default=(0.0, "", 0))
    if chance < _SURE:
        return ""
    where = f"picket {number}{f' of {name}' if len(runs) > 1 else ''}"
    cases = math.ceil(100 * chance - ROUNDING)
    return f"the least sure, {where}, ends with too little or too much open below in {cases} cases of 100"


_SURE = 0.01
"""A chance of ending outside its limits below which nothing is told of a board."""


class LeftLong(Struct, frozen=True, kw_only=True):
    """Neighbouring boards of one stack that are marked in place: numbers from 1, outer edges (stations, in),
    stock length (in), and the lengths to expect (in), in 95 cases of 100; `short`: the greatest chance that
    all of such a board turns out too short, 0 where it reaches, and what stays `open` then (in), in the same
    95 cases.
    """

    pickets: tuple[int, ...]
    start: float
    end: float
    stock: float
    low: float
    high: float
    short: float
    open: float


def to_expect(plan: FencePlan, index: int) -> tuple[Floats, Floats]:
    """From what to what (n,), in, each board of a run comes when it is measured in its place as `how_to_mark`
    says, in 95 cases of 100; never more than the wood there is of it."""
    run, half = plan.runs[index], plan.runs[index].doubt.half
    full, wood = run.full * plan.mark, run.boards.wood * plan.mark
    bent = np.where(to_scribe(run), run.cuts.kept * plan.mark + run.cuts.gap - run.zones.clearance, full)
    return np.minimum(full - half, wood), np.minimum(bent + half, wood)


def about_words(low: float, high: float, words: Words) -> str:
    """A length to expect (in): `about 59-3/4 to 62 in`."""
    least, most = words.length(low), words.length(high)
    return f"about {most}" if least == most else f"about {least.removesuffix(f' {words.unit}')} to {most}"


def lengths_told(plan: FencePlan, index: int, which: Indices | slice = slice(None)) -> list[str]:
    """The length of every board of a run as the tape reads, or about what it comes to where it is marked in
    place; `which`: of those alone."""
    run, words = plan.runs[index], plan.words
    columns = (run.cuts.kept * plan.mark, in_place(run), *to_expect(plan, index))
    return [
        about_words(low, high, words) if marked else words.length(kept)
        for kept, marked, low, high in plain_rows(*(column[which] for column in columns))
    ]


def left_long(plan: FencePlan, index: int) -> Iterator[LeftLong]:
    """The boards of one run that are marked in place, in order."""
    run, half = plan.runs[index], plan.runs[index].doubt.half
    which, (low, high) = np.flatnonzero(in_place(run)), to_expect(plan, index)
    doubt = run.doubt.may_be_short
    apart = (np.diff(which) > 1) | (np.diff(run.stock[which]) != 0) | (doubt[which][1:] != doubt[which][:-1])
    for group in np.split(which, np.flatnonzero(apart) + 1):
        if not len(group):
            continue
        yield LeftLong(
            pickets=tuple((group + 1).tolist()),
            start=float(run.slots.left[group[0]]),
            end=float(run.slots.right[group[-1]]),
            stock=plan.stock.offered[int(run.stock[group[0]])].length,
            low=float(low[group].min()),
            high=float(high[group].max()),
            short=float(run.doubt.short[group].max()) if doubt[group[0]] else 0.0,
            open=float((run.cuts.gap + half - (run.boards.wood - run.cuts.kept) * plan.mark)[group].max()),
        )


_LEAVE = "leave the board {long}"
_MEASURE = {
    BottomCut.SQUARE: "in its place measure plumb from {top}, at the middle, down to the height of the "
    "highest ground under it; less the clearance, {clearance}, that is its length from the tip",
    BottomCut.SCRIBED: "in its place measure plumb from {top}, at the middle and level across, down to the "
    "ground at both edges; less the clearance, {clearance}, these are its two sides, from the height of the "
    "tip",
}
_CUT = "cut it to that, the bottom end alone{whole}; coat the cut of a treated board"
_WHOLE = ", or leave all of it where it is no longer than that"
_SCRIBE = (
    "but scribe {which}{unless}: measure so at both edges and where the ground bends, mark each length, cut "
    "along the marks"
)


def to_scribe(run: RunPlan) -> Truths:
    """(n,) which of the boards marked in place leave too much open under a straight cut."""
    return in_place(run) & run.flags[PicketFlag.GAP]


def how_to_mark(plan: FencePlan) -> list[str]:
    """What is done with a board that is marked in place, step by step, in the job's figures; longer than its
    place is high, it cannot be held there."""
    flat = plan.job.pickets.top_end is TopEnd.FLAT
    long = "long: whole, or all that its other pieces leave of it" if flat else "as long as its stock"
    own = any(
        b.bow and in_place(run)[b.pickets].any()
        for k, run in enumerate(plan.runs)
        for b in bays_to_hang(plan, k)
    )
    top = "the height its own top is given" if own else "the line of the tops"
    steps = [_LEAVE, _MEASURE[plan.job.pickets.bottom_cut], _CUT]
    several, fill = len(plan.runs) > 1, False
    ends = (run.full * plan.mark + run.doubt.half > run.boards.wood * plan.mark for run in plan.runs)
    whole = _WHOLE if any((in_place(r) & end).any() for r, end in zip(plan.runs, ends, strict=True)) else ""
    which = list[str]()
    for run in plan.runs:
        if (scribed := to_scribe(run)).any():
            which.append(numbered("picket", np.flatnonzero(scribed)) + f" of {run.run.name}" * several)
            fill = fill or bool((scribed & ~run.flags[PicketFlag.NO_SOIL]).any())
    unless = " or fill beneath" if fill else ""
    told = [step.format(clearance=_clearances(plan), long=long, top=top, whole=whole) for step in steps]
    return [*told, *([_SCRIBE.format(which=listed(which), unless=unless)] if which else [])]


def _clearances(plan: FencePlan) -> str:
    """The clearance under boards that are marked in place, and which of them stand over another."""
    words, several = plan.words, len(plan.runs) > 1
    usual, others = words.length(plan.job.pickets.clearance), dict[str, list[str]]()
    for run in plan.runs:
        which = np.flatnonzero(in_place(run))
        told = np.array([words.length(c) for c in run.zones.clearance[which].tolist()], dtype=str)
        for own in dict.fromkeys(told.tolist()):
            named = numbered("picket", which[told == own]) + f" of {run.run.name}" * several
            others.setdefault(own, []).append(named)
    others.pop(usual, None)
    return usual + "".join(f" ({own} at {listed(which)})" for own, which in others.items())


def numbered_steps(steps: Sequence[str]) -> str:
    """Steps in one paragraph, each with its number."""
    return " ".join(f"{k}. {s}." for k, s in enumerate(steps, start=1))


def mark_in_place_lines(plan: FencePlan) -> Iterator[str]:
    """How to mark the boards that the ground leaves in doubt, and the length each is likely to come to.

    Nothing where no board carries the flag.
    """
    words = plan.words
    blocks = [(r.run.name, g) for k, r in enumerate(plan.runs) for g in left_long(plan, k)]
    if not blocks:
        return
    yield "Mark in place: the ground there is not known well enough to cut from the chart"
    chance = format_share(plan.job.pickets.most_chance, 0)
    never = any((r.doubt.unread & in_place(r)).any() for r in plan.runs)
    yield (
        f"  (a chance over {chance} that the board stands too close or too high"
        f"{', or ground that is to be read first' if never else ''})"
    )
    yield from (f"  {number}. {step}" for number, step in enumerate(how_to_mark(plan), start=1))
    yield "  lengths to expect, in 95 of 100:"
    for name, group in blocks:
        which = "picket" if len(group.pickets) == 1 else "pickets"
        yield (
            f"    {name}, {which} {numbers(group.pickets)} ({words.station(group.start)} to "
            f"{words.station(group.end)}), from {words.sold_length(group.stock)}: "
            f"{words.length(group.low)} to {words.length(group.high)}{short_words(group, words)}"
        )


def short_words(group: LeftLong, words: Words) -> str:
    """That boards may turn out short, and what that does to the gap; nothing where they reach."""
    if not group.short:
        return ""
    open_ = words.length(group.open)
    chance = format_share(group.short, 0)
    return f"; all of it may turn out short ({chance}): up to {open_} then stay open, take a spare"
