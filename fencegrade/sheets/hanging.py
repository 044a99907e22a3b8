"""What a crew reads at each bay: spacer, tops over the string, stacks, and every board."""

from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.pickets.patterns import row_names
from fencegrade.fence.pickets.spacing import Spacing
from fencegrade.fence.stock import NO_STOCK
from fencegrade.ground.survey_line import line_name, over_line
from fencegrade.job.choices import Pattern
from fencegrade.planning.hanging import pickets_over_line, spaces_to_set, tops_over_line, where_bays_meet
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.planning.run import run_spaces
from fencegrade.sheets.facts import close_words, open_below, over_height, under_or_over
from fencegrade.sheets.tables import Cell, Table, columns_of, over_line_words, sides_told
from fencegrade.units import layout_mark, to_marks
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.words import Words, numbers


class BaySpace(Struct, frozen=True, kw_only=True):
    """Spaces of one stretch in a bay: from picket `first` to `last` (numbers; the last may begin the next
    bay) of one row, laid by a `spacer`, the `final` one making up what the spacer is off (in).
    """

    row: int
    first: int
    last: int
    spacer: float
    final: float


class BayToHang(Struct, frozen=True, kw_only=True, eq=False):
    """The pickets (indices) between two posts; `bay` and `posts` count from 1; stations in inches.

    `start`, `end`: middles of the posts; `tops`: how far (in) the tops pass over the line of the readings
    there, nan where none hung; `bow`: how far (in) the tops leave the straight line from post to post, 0
    where no tape shows it; `own`: (n,) how far (in) each picket's top passes over the line of the readings;
    `spaces`: the stretches of equal spaces that begin in the bay, see `BaySpace`;
    `stacks`: the stock length (in) and its pickets, the most first.
    """

    bay: int
    posts: tuple[int, int]
    pickets: Indices
    start: float
    end: float
    tops: tuple[float, float]
    bow: float
    own: Floats
    spaces: tuple[BaySpace, ...]
    stacks: tuple[tuple[float, tuple[int, ...]], ...]


def bays_to_hang(plan: FencePlan, index: int) -> list[BayToHang]:
    """The bays of a run that hold pickets, each picket in the bay its middle stands in or nearest to."""
    run = plan.runs[index]
    bays, spaces, mark = run.layout.bays, tuple(spaces_to_set(run)), layout_mark(plan.units)
    found, over = [], pickets_over_line(run)
    for k, pickets in _by_bay(run):
        a, b = float(bays.left[k]), float(bays.right[k])
        heights = np.array([run.top.sides(bays.left[k])[1], run.top.sides(bays.right[k])[0]], dtype=float)
        tops = over_line(run.ground, np.array([a, b]), heights)
        straight = heights[0] + (heights[1] - heights[0]) / (b - a) * (run.slots.centre[pickets] - a)
        bow = float(np.abs(run.cuts.top[pickets] - straight).max())
        found.append(
            BayToHang(
                bay=k + 1,
                posts=(int(bays.first[k]) + 1, int(bays.first[k]) + 2),
                pickets=pickets,
                start=a,
                end=b,
                tops=(float(tops[0]), float(tops[1])),
                bow=bow if bow > plan.words.fine_mark / 2 else 0.0,
                own=over[pickets],
                spaces=tuple(_spaces_in(run, spaces, pickets, mark)),
                stacks=tuple(_stacks(plan, run, pickets)),
            )
        )
    return found


def bays_to_come(plan: FencePlan, index: int) -> list[BayToHang]:
    """The bays of a run that hold pickets to come, each with those alone."""
    coming, bays = plan.runs[index].layout.coming, bays_to_hang(plan, index)
    left = [(bay, coming[bay.pickets]) for bay in bays if coming[bay.pickets].any()]
    return [replace(bay, pickets=bay.pickets[here], own=bay.own[here]) for bay, here in left]


def step_at_a_post(run: RunPlan, bays: list[BayToHang], mark: float) -> bool:
    """Whether some bay's tops reach a post at another height than is told of the post: the lower of a step,
    where the next bay, or a gate, stands higher. `mark`: what heights are told to (in); none is told where no
    string hung."""
    ends = np.array([(bay.start, bay.end) for bay in bays]).ravel()
    told, own = tops_over_line(run, ends).tolist(), [top for bay in bays for top in bay.tops]
    both = [(t, o) for t, o in zip(told, own, strict=True) if np.isfinite([t, o]).all()]
    return any(to_marks(t, mark) != to_marks(o, mark) for t, o in both)


def _spaces_in(
    run: RunPlan, spaces: tuple[Spacing, ...], pickets: Indices, mark: float
) -> Iterator[BaySpace]:
    """The spaces still to be set after each picket of a bay, by the stretch they are of; not the one in which
    two bays meet, which is what the first left edge of the next bay leaves.
    """
    for s in spaces:
        if where_bays_meet(run, s):
            continue
        members = pickets[run.layout.row[pickets] == s.row] + 1
        own = members[(members >= s.first) & (members < s.last)]
        if len(own):
            row = np.flatnonzero(run.layout.row == s.row) + 1
            after = int(row[np.searchsorted(row, own[-1]) + 1])
            yield BaySpace(
                row=s.row,
                first=int(own[0]),
                last=after,
                spacer=s.spacer(mark),
                final=s.last_space(mark, len(own)),
            )


def _by_bay(run: RunPlan) -> Iterator[tuple[int, Indices]]:
    bays, centre = run.layout.bays, run.slots.centre
    if not len(bays) or not len(centre):
        return
    after = np.searchsorted(bays.left, centre, side="right") - 1
    here, after = np.clip(after, 0, None), np.clip(after + 1, 0, len(bays) - 1)
    away = np.maximum(centre - bays.right[here], 0.0)
    ahead = np.maximum(bays.left[after] - centre, 0.0)
    bay = np.where(away > ahead, after, here)
    yield from ((k, np.flatnonzero(bay == k)) for k in np.unique(bay).tolist())


def _stacks(plan: FencePlan, run: RunPlan, pickets: Indices) -> Iterator[tuple[float, tuple[int, ...]]]:
    kinds, counts = np.unique(run.stock[pickets], return_counts=True)
    for kind in kinds[np.argsort(-counts, kind="stable")].tolist():
        if kind != NO_STOCK:
            which = pickets[run.stock[pickets] == kind] + 1
            yield plan.stock.offered[kind].length, tuple(which.tolist())


def bay_lines(plan: FencePlan, index: int, bay: BayToHang) -> Iterator[str]:
    """What is said over the boards of a bay: spacers, edges, tops over the string, stacks."""
    run, words = plan.runs[index], plan.words
    yield f"spacer {spacer_words(bay, words, plan.job.pickets.pattern)}"
    yield from (f"{told}{_BOWED if bay.bow else ''}" for told in _tops_words(run, bay, words))
    if len(bay.stacks) == 1:
        yield f"all from {words.sold_length(bay.stacks[0][0])} boards"
    else:
        yield "; ".join(
            f"from {words.sold_length(length)}: {numbers(which, 8)}" for length, which in bay.stacks
        )


_BOWED = "; between them no straight line: set each board by its own top"


def _tops_words(run: RunPlan, bay: BayToHang, words: Words) -> Iterator[str]:
    """How far the tops pass over the line of the readings at both posts, and over which."""
    if not np.isfinite(bay.tops).all():
        return
    a, b = (words.fine(abs(t)) for t in bay.tops)
    way_a, way_b = (
        f"{under_or_over(t, words)} {line_name(run.ground, x)}"
        for t, x in zip(bay.tops, (bay.start, bay.end), strict=True)
    )
    if way_a != way_b:
        yield f"tops {a} {way_a} at post {bay.posts[0]}, {b} {way_b} at {bay.posts[1]}"
    elif a == b:
        yield f"tops {a} {way_a}"
    else:
        yield f"tops {a} at post {bay.posts[0]}, {b} at {bay.posts[1]} {way_a}"


def own_tops(bay: BayToHang, words: Words) -> list[str]:
    """How far each board of a bay has its top over the line of the readings, where a straight line from post
    to post does not say it: `20-1/2 in`, or `20-1/2 in over` beside `2 in under`.
    """
    if not bay.bow:
        return []
    return sides_told(["" if np.isnan(top) else over_line_words(top, words) for top in bay.own.tolist()])


def strings_of_tops(run: RunPlan, bay: BayToHang) -> dict[int, str]:
    """Which string the own tops of a bay count over, by the place of the first board from which on they do;
    nothing where one string hangs there.
    """
    names = [line_name(run.ground, x) for x in run.slots.centre[bay.pickets].tolist()]
    if not bay.bow or len(set(names)) < 2:
        return {}
    return {k: name for k, name in enumerate(names) if k == 0 or names[k - 1] != name}


def spacer_words(bay: BayToHang, words: Words, pattern: Pattern) -> str:
    """The block to cut for a bay: one space, or each with the boards it is between."""
    if not bay.spaces:
        return "none"
    names = row_names(pattern) if bay.spaces[-1].row else ()
    told = [_spacer(s, words) for s in bay.spaces]
    if len(bay.spaces) == 2 and names and told[0] == told[1]:
        return f"{told[0]}, in each row"
    if len(told) == 1:
        return told[0]
    parts = []
    for s, text in zip(bay.spaces, told, strict=True):
        block, comma, last = text.partition(", ")
        where = f" from {s.first} to {s.last}" + (f", {names[s.row]}" if names else "")
        parts.append(f"{block}{where}{comma}{last}")
    return "; ".join(parts)


def _spacer(space: BaySpace, words: Words) -> str:
    """The block to cut for one stretch, and the last space where that is another."""
    block, final = words.space(space.spacer), words.space(space.final)
    return block if final == block else f"{block}, the last {final}"


def spacing_table(plan: FencePlan, index: int) -> Table:
    """The stretches of equal spaces of a run, with the spacer of each and how far it comes from the plan."""
    run, mark = plan.runs[index], layout_mark(plan.units)
    columns = columns_of(
        "row:count | first picket:count | last picket:count | from:station | to:station | "
        "spaces:count | space as laid:length | spacer:length | spacer too long over all by:length"
    )
    rows: list[tuple[Cell, ...]] = [
        (s.row + 1, s.first, s.last, s.start, s.end, s.spaces, s.gap, s.spacer(mark), s.gained(mark))
        for s in run_spaces(run)
    ]
    return Table(name="spacing", columns=columns, rows=rows)


_TOLD_ELSEWHERE = (PicketFlag.STANDS, PicketFlag.NO_SOIL)
"""Flags that other words of a sheet tell."""


def look_at(run: RunPlan, i: int, words: Words, *, whole: bool = False) -> Iterator[str]:
    """What must be seen of one picket, in few words; `whole`: in as many as stand well by themselves."""
    for flag in (f for f in PicketFlag if f not in _TOLD_ELSEWHERE and run.flags[f][i]):
        match flag:
            case PicketFlag.RIPPED:
                yield f"{rip_words(float(run.slots.width[i]), words)}{' wide' if whole else ''}"
            case PicketFlag.GAP:
                stays = "stays open below" if whole else "open"
                yield f"{open_below(run, i, words)} {stays}: {close_words(run, i)}"
            case PicketFlag.OVER_HEIGHT:
                yield f"over height: {over_height(run, i, words)}"
            case PicketFlag.KEPT_OPEN if whole:
                yield f"{words.length(float(run.cuts.gap[i]))} {flag} below, as asked"
            case _:
                yield str(flag)


def rip_words(width: float, words: Words) -> str:
    """That a picket is ripped to a width (in)."""
    return f"rip to {words.fine(width)}"


def short_side(run: RunPlan, i: int) -> str:
    """Toward which end of the run the short side of a scribed board stands; empty for a square one."""
    left, right = int(run.cuts.kept_left[i]), int(run.cuts.kept_right[i])
    return "" if left == right else "start" if left < right else "end"
