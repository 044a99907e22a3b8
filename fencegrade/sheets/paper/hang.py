"""Hanging: bay by bay in two columns, every board with its left edge, its length and what to look at."""

from collections.abc import Iterator

from msgspec import Struct
from reportlab.platypus import Flowable

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.pickets.patterns import row_names
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import Work
from fencegrade.sheets.facts import left_out_words
from fencegrade.sheets.hanging import (
    BayToHang,
    bay_lines,
    bays_to_come,
    look_at,
    own_tops,
    short_side,
    strings_of_tops,
)
from fencegrade.sheets.mark_in_place import LEAVE_LONG, in_place, lengths_told
from fencegrade.sheets.paper.blocks import cautions_once, first_to_come, fits, grid, named, title, words
from fencegrade.sheets.paper.sheet import Look, one_column, room_for, two_columns
from fencegrade.units.words import Words

MOST_CHARTED = 6000
"""Pickets of a job whose boards are printed bay by bay: some hundred pages. Beyond it they are left to the
files, and the sheets say so."""
_SIZE = 10.5
_LEAST = 150.0
"""Points that must be left for a bay to begin in a column."""
_SHORT = {str(PicketFlag.MARK_IN_PLACE): "♦", str(PicketFlag.KEPT_OPEN): "open"}
"""What the column `look` says of the commonest flags; ▲ stands for all others, told in the line below."""


_KEPT_OPEN = " Open: kept open below, as asked; its board is no miscut."


def hanging(plan: FencePlan, index: int, look: Look, place: str) -> Iterator[Flowable]:
    """The boards of one run as they are hung."""
    run, say = plan.runs[index], plan.words
    if not is_charted(plan):
        count = plan.picket_count
        yield from one_column()
        yield from title("Hanging", place)
        yield words(
            f"The job has {count} pickets. Charts on paper end at {MOST_CHARTED}: this one is not printed "
            "here, not even in part. Read it from cut_chart.txt or cut_chart.csv beside this file, or make "
            "each run a job of its own.",
            bold=True,
        )
        return
    yield from two_columns()
    yield from title("Hanging", place)
    kept_open = _KEPT_OPEN if run.flags[PicketFlag.KEPT_OPEN].any() else ""
    yield words(
        f"Left edges count from {counted_from(run, say)}. ♦ {LEAVE_LONG}: not cut at the saw but marked "
        f"where it stands; under it about what it comes to. ▲: look at it first.{kept_open}",
        small=True,
    )
    yield from cautions_once(plan, index, Work.FIXING, first=first_to_come(plan))
    if told := left_out_words(run):
        yield words(told, small=True)
    for bay in bays_to_come(plan, index):
        yield room_for(_LEAST)
        yield bay_table(plan, index, bay, look.column, say)


def is_charted(plan: FencePlan) -> bool:
    """Whether the boards are printed bay by bay."""
    return plan.picket_count <= MOST_CHARTED


def counted_from(run: RunPlan, words: Words) -> str:
    """Where the stations of a run count from: a run may take a part of its survey, and a point that is put on
    its line may lie off 0 by less than the tape reads."""
    return "the run's start" if words.station(run.start) == words.station(0.0) else "station 0 of the survey"


def _without_units(row: list[str], keep: int, lengths: int, unit: str) -> list[str]:
    """A row of many columns, whose headings name the units: left edge, and the `lengths` from `keep` on."""
    after = keep + lengths
    bare = [text.replace(f" {unit}", "", 1) for text in row[keep:after]]
    return [*row[: keep - 1], row[keep - 1].removesuffix(" m"), *bare, *row[after:]]


class _Boards(Struct, frozen=True, kw_only=True):
    """The boards of a bay as a table: its columns, those of texts, the one of lengths, words under rows."""

    heads: tuple[str, ...]
    rows: list[list[str]]
    texts: tuple[str, ...]
    cut: str
    notes: dict[int, str]


def bay_table(plan: FencePlan, index: int, bay: BayToHang, width: float, say: Words) -> Flowable:
    """One bay: what is said over it comes again where it goes on in the next column.

    Where texts beside the figures would break a word or a figure, they stand under each board, and units in
    the headings.
    """
    for beside, bare in ((True, False), (False, False), (False, True)):
        made = _boards(plan, index, bay, say, beside=beside, bare=bare)
        if fits(width, made.heads, made.rows, made.texts, ("no.", made.cut), _SIZE):
            break
    return grid(
        width,
        made.heads,
        made.rows,
        left=made.texts,
        bold=("no.", made.cut),
        tick=True,
        over=list(_over_bay(plan, index, bay)),
        size=_SIZE,
        notes=made.notes,
    )


def _boards(plan: FencePlan, index: int, bay: BayToHang, say: Words, *, beside: bool, bare: bool) -> _Boards:
    """The boards of a bay, row and short side `beside` their figures or under them; `bare`: units stand in
    the headings alone, as they do where columns are many."""
    run, names = plan.runs[index], row_names(plan.job.pickets.pattern)
    slanted = bool((run.cuts.kept_left[bay.pickets] != run.cuts.kept_right[bay.pickets]).any())
    tops, strings = own_tops(bay, say), strings_of_tops(run, bay)
    marked, kept = in_place(run), lengths_told(plan, index, bay.pickets)
    long_words = LEAVE_LONG.split()[-1] if bare else LEAVE_LONG
    rows, notes = [], {}
    for place, i in enumerate(map(int, bay.pickets)):
        told, side = list(look_at(run, i, say)), "" if marked[i] else short_side(run, i)
        name = [names[int(run.layout.row[i])]] if names else []
        under = [f"{'leave it long, ' if bare else ''}{kept[place]}"] if marked[i] else []
        under += [] if beside else [*name, *([f"short side to {side}"] if side else [])]
        if place and place in strings:
            under.append(f"top over {strings[place]} from picket {i + 1} on")
        long = [t for t in told if t not in _SHORT]
        cells = [f"{i + 1}", *(n.split()[0] for n in name if beside)]
        cells += [say.station(run.slots.left[i]), long_words if marked[i] else kept[place]]
        cells += [*tops[place : place + 1], *([f"to {side}" if side else ""] if slanted and beside else [])]
        rows.append([*cells, " ".join(_SHORT[t] for t in told if t in _SHORT) or ("▲" if long else "")])
        if under or long:
            notes[place] = "; ".join([*under, *long])
    looked = any(row[-1] for row in rows)
    rows = rows if looked else [row[:-1] for row in rows]
    row_name = [name.split()[1] for name in names[:1] if beside]
    tail = [*(["short"] if slanted and beside else []), *(["look"] if looked else [])]
    edge, lengths = "left edge", ["keep", *(["top"] if tops else [])]
    if bare or bool(names) + slanted + bool(tops) > 1:
        rows = [_without_units(row, 2 + len(row_name), len(lengths), say.unit) for row in rows]
        edge = f"{edge}{'' if say.unit == 'in' else ' [m]'}"
        lengths = [f"{head} [{say.unit}]" for head in lengths]
    heads = ("no.", *row_name, edge, *lengths, *tail)
    return _Boards(heads=heads, rows=rows, texts=(*row_name, *tail), cut=lengths[0], notes=notes)


def _over_bay(plan: FencePlan, index: int, bay: BayToHang) -> Iterator[Flowable]:
    """What is said over a bay; its first line comes again in the next column."""
    say, strings = plan.words, strings_of_tops(plan.runs[index], bay)
    where = f"{say.station(bay.start)} to {say.station(bay.end)}"
    counted = ", ".join(f"from {bay.pickets[k] + 1} over {name}" for k, name in strings.items())
    name = f"Bay {bay.bay}, posts {bay.posts[0]}-{bay.posts[1]}"
    yield named(name, f"{where}; tops {counted}" if counted else where, small=True)
    yield from (words(line, small=True) for line in bay_lines(plan, index, bay) if line)
