"""What is read at the saw: the cut chart bay by bay, the saw list, and boards that give several pickets."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.records import Pattern, TopEnd
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import CHECK_THREE, Work
from fencegrade.sheets.charts import ChartedBay, charted_bays, end_to_cut, saw_list
from fencegrade.sheets.facts import open_below, over_height
from fencegrade.sheets.paper.cover import draw_cautions
from fencegrade.sheets.paper.grid import Grid, Note, draw_grid, grid_height, grid_of
from fencegrade.sheets.paper.page import LINE, SECOND, Paper
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbered, numbers, plural

MOST_CHARTED = 6000
"""Pickets of a job whose chart is printed bay by bay: some 350 pages. Beyond it the chart is left to the
files, and the sheets say so."""
TYPE = 16.0
"""Type size of the cut chart's rows: they are read at arm's length."""
_ROW, _TALLEST_ROW = 23.0, 29.0
_SHORT_ROW = 21.0
"""Heights of its rows: usual, most where a bay has a page to itself, least where two share one."""

_ROWS = {Pattern.BOARD_ON_BOARD: ("back", "front"), Pattern.SHADOWBOX: ("first face", "other face")}


def picket_count(plan: FencePlan) -> int:
    """Pickets of a job."""
    return sum(len(run.slots) for run in plan.runs)


def draw_chart(paper: Paper, plan: FencePlan, index: int) -> None:
    """The cut chart of one run, a bay on a page or on half of one."""
    run, words = plan.runs[index], Words.of(plan.job.job)
    if not len(run.slots):
        return
    paper.new_page("Cut chart")
    paper.boxed(CHECK_THREE)
    paper.write(end_to_cut(plan), 12.5, after=3)
    if picket_count(plan) > MOST_CHARTED:
        _draw_too_many(paper, plan, words)
        return
    for text in _chart_words(plan, run, words):
        paper.write(text, 12.5, after=3)
    draw_cautions(paper, plan, Work.CUTTING)
    for charted in charted_bays(run):
        coming = charted.pickets[run.layout.coming[charted.pickets]]
        if len(coming):
            _draw_bay(paper, plan, index, replace(charted, pickets=coming), words)


def _draw_too_many(paper: Paper, plan: FencePlan, words: Words) -> None:
    paper.write(
        f"The job has {picket_count(plan)} pickets. Charts on paper end at {MOST_CHARTED}: this chart is not "
        "printed here, not even in part. Read it from cut_chart.txt or cut_chart.csv beside this file, or "
        "make each run a job of its own.",
        14.0,
        bold=True,
    )


def _chart_words(plan: FencePlan, run: RunPlan, words: Words) -> Iterator[str]:
    """How the columns are to be read, as far as this run has them."""
    yield f"Kept lengths are rounded down to {words.length(plan.mark)}: cut to the mark, never longer."
    if bool((run.cuts.kept_left != run.cuts.kept_right).any()):
        yield (
            "Slanted cuts: mark the kept length on one edge and the short side on the other. The short side "
            "stands toward the start of the run (the lower stations) or toward its end, as said."
        )
    if len(up := np.flatnonzero(~run.layout.coming)):
        yield f"{numbered('picket', up).capitalize()} stand and are left out here."
    if run.flags[PicketFlag.MARK_IN_PLACE].any():
        yield (
            "Mark in place: the ground there is in doubt. Leave the board long, hold it up plumb at its "
            "place, mark it, then cut; the length here is what to expect."
        )
    if plan.job.pickets.pattern in _ROWS:
        yield "The row says on which layer or face a picket stands, as the drawing of the pattern shows."


def _draw_bay(paper: Paper, plan: FencePlan, index: int, charted: ChartedBay, words: Words) -> None:
    run = plan.runs[index]
    title = f"Bay {charted.bay}, post {charted.posts[0]} to post {charted.posts[1]}"
    bays = run.layout.bays
    first, last = float(bays.left[charted.bay - 1]), float(bays.right[charted.bay - 1])
    line = (
        f"Stations {words.station(first)} to {words.station(last)}; {plural(len(charted.pickets), 'picket')}"
    )
    grid = bay_grid(plan, index, charted.pickets)
    if "from stock" not in grid.heads:
        stock = plan.stock.offered[run.stock[charted.pickets[0]]].length
        line += f", all from boards of {words.length(stock)}"
    head = LINE * (SECOND + 12) + 16
    own_page = False
    if paper.room < head + grid_height(paper, grid):
        close = replace(grid, row=_SHORT_ROW)
        half = (paper.bottom - 100) / 2
        if head + grid_height(paper, close) <= half and paper.room >= half:
            grid = close
        else:
            own_page = True
            paper.new_page(f"Cut chart, {title[0].lower()}{title[1:]}")
            grid = _stretched(paper, grid, paper.room - LINE * 12 - 4)
    if not own_page:
        paper.second_heading(title, LINE * 12 + 60)
    paper.write(line, 12.0, after=3)
    draw_grid(paper, grid)


def _stretched(paper: Paper, grid: Grid, room: float) -> Grid:
    """The grid with rows as tall as a page of its own allows, or close together if that keeps it whole."""
    spare = room - grid_height(paper, grid)
    if spare < 0:
        return next(
            (
                g
                for g in (replace(grid, row=_SHORT_ROW), replace(grid, size=14.0, row=18.5))
                if grid_height(paper, g) <= room
            ),
            grid,
        )
    return replace(grid, row=min(_TALLEST_ROW, grid.row + spare / max(len(grid.rows), 1)))


def bay_grid(plan: FencePlan, index: int, pickets: NDArray[np.intp]) -> Grid:
    """The chart of some pickets of a run, ready to be set."""
    run, words = plan.runs[index], Words.of(plan.job.job)
    slanted = bool((run.cuts.kept_left[pickets] != run.cuts.kept_right[pickets]).any())
    stocks = {int(s) for s in run.stock[pickets]}
    one_stock = slanted and len(stocks) == 1 and NO_STOCK not in stocks
    rows = [tuple(_picket_cells(plan, index, int(i), words, slanted, one_stock)) for i in pickets]
    heads = ["picket", "keep"]
    heads += ["short side", "short toward"] if slanted else []
    heads += ["cut"] if one_stock else ["cut", "from stock"]
    heads += [] if slanted else ["gap below"]
    right = [h not in {"cut", "short toward"} for h in heads]
    if plan.job.pickets.pattern in _ROWS:
        heads, right = [heads[0], "row", *heads[1:]], [right[0], False, *right[1:]]
    return Grid(
        heads=tuple(heads),
        rows=rows,
        right=tuple(right),
        bold=frozenset({0, heads.index("keep")}),
        size=TYPE if not slanted else 14.0,
        row=_ROW,
        tick=True,
        notes={k: notes for k, i in enumerate(pickets) if (notes := _notes(run, int(i), words))},
    )


def _picket_cells(
    plan: FencePlan, index: int, i: int, words: Words, slanted: bool, one_stock: bool
) -> Iterator[str]:
    run, mark = plan.runs[index], plan.mark
    left, right = int(run.cuts.kept_left[i]), int(run.cuts.kept_right[i])
    yield str(i + 1)
    if (names := _ROWS.get(plan.job.pickets.pattern)) is not None:
        yield names[int(run.layout.row[i])]
    yield words.length(int(run.cuts.kept[i]) * mark)
    if slanted:
        yield words.length(min(left, right) * mark) if left != right else ""
        yield ("start" if left < right else "end") if left != right else ""
    stock = int(run.stock[i])
    yield _cut_words(plan, index, i)
    if not one_stock:
        yield words.length(plan.stock.offered[stock].length) if stock != NO_STOCK else "none"
    if not slanted:
        yield words.length(float(run.cuts.gap[i]))


def _cut_words(plan: FencePlan, index: int, i: int) -> str:
    """Which end the saw takes, and at what angle from square."""
    run = plan.runs[index]
    if run.stock[i] == NO_STOCK:
        return "no board"
    off = int(run.cuts.kept_left[i] - run.cuts.kept_right[i]) * plan.mark
    if off:
        angle = math.degrees(math.atan(abs(off) / float(run.slots.width[i])))
        return f"bottom {angle:.1f}°"
    return "bottom" if plan.trims[index][i] > SAME_LENGTH else "whole"


def _notes(run: RunPlan, i: int, words: Words) -> Sequence[Note]:
    """What must be said of one picket, in words, and whether it is marked in place."""
    found: list[Note] = []
    for flag in PicketFlag:
        if flag not in run.flags or not run.flags[flag][i]:
            continue
        match flag:
            case PicketFlag.MARK_IN_PLACE:
                found.append(("mark in place", True))
            case PicketFlag.RIPPED:
                found.append((f"rip to {words.length(float(run.slots.width[i]))} wide", False))
            case PicketFlag.NO_STOCK:
                found.append((str(flag), False))
            case PicketFlag.GAP:
                found.append((f"{open_below(run, i, words)} stays open below: {flag}", False))
            case PicketFlag.OVER_HEIGHT:
                found.append((f"over height: {over_height(run, i, words)}", False))
            case _:
                found.append((str(flag), False))
    return found


def draw_saw_list(paper: Paper, plan: FencePlan, index: int) -> None:
    """The pickets of a run by kept length, one setting of the stop block a row."""
    words = Words.of(plan.job.job)
    if not len(plan.runs[index].slots):
        return
    paper.new_page("Saw list, longest first")
    paper.boxed(CHECK_THREE)
    paper.write(end_to_cut(plan), 12.5)
    draw_grid(paper, grid_of(saw_list(plan, index), words, bold=(0,), size=14.0, row=22.0, tick=True))


def draw_shared_boards(paper: Paper, plan: FencePlan) -> None:
    """Boards that give more than one picket, with the pickets they give."""
    if plan.job.pickets.top_end is not TopEnd.FLAT:
        return
    words = Words.of(plan.job.job)
    rows = list(_shared_rows(plan, words))
    if not rows:
        return
    paper.new_page("Boards that give more than one picket")
    paper.write("Every other board gives one picket. Cut the longest piece first.", 12.5)
    heads = ("from stock", "pieces, as cut", "left over")
    draw_grid(paper, Grid(heads=heads, rows=rows, right=(True, False, True), size=13.0, row=21.0, tick=True))


def _shared_rows(plan: FencePlan, words: Words) -> Iterator[tuple[str, ...]]:
    family = plan.families.pickets
    for board, members in family.laid():
        if len(members) > 1:
            pieces = "; ".join(
                f"{words.length(p * plan.mark)} for {family.name_of(m)}"
                for p, m in zip(board.pieces, members, strict=True)
            )
            left = words.length(board.offcut * plan.mark) if board.offcut else ""
            yield words.length(board.stock * plan.mark), pieces, left


def flagged_words(run: RunPlan, pickets: NDArray[np.intp]) -> Iterator[tuple[str, bool]]:
    """Each flag with the pickets that carry it, and whether it stands for marking in place."""
    for flag in PicketFlag:
        if flag in run.flags:
            which = pickets[run.flags[flag][pickets]]
            if len(which):
                listed = numbers((int(i) + 1 for i in which), most=8)
                yield (
                    f"{flag}: {'picket' if len(which) == 1 else 'pickets'} {listed}",
                    (flag is PicketFlag.MARK_IN_PLACE),
                )
