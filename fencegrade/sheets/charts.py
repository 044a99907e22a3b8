"""The cut chart and the saw list, as tables, and the bays they are read by."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.pickets.flags import PicketFlag, every_flags
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.table import style_words
from fencegrade.job.records import TopEnd
from fencegrade.planning.hanging import measured_from, pickets_over_line
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import CHECK_THREE, SAW
from fencegrade.sheets.mark_in_place import ground_halves, mark_in_place_lines
from fencegrade.sheets.tables import Cell, Column, Kind, Table, filled_columns, plain_rows, text_lines
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbers


def cut_chart(plan: FencePlan, index: int) -> Table:
    """The cut chart of one run, for people at the saw: one row a picket."""
    run = plan.runs[index]
    columns = (
        Column(head="picket", kind=Kind.COUNT),
        Column(head="kept length", kind=Kind.LENGTH),
        Column(head="short side", kind=Kind.LENGTH),
        Column(head="from stock", kind=Kind.LENGTH),
        Column(head="cut"),
        Column(head="gap below", kind=Kind.LENGTH),
        Column(head="look"),
    )
    rows = (
        (r[0], r[1], r[2], "none" if r[3] is None and r[4] != "stands" else r[3], *r[4:7])
        for r in _rows(plan, index)
    )
    return Table(name="cut_chart", title=f"Cut chart, {run.run.name}", columns=columns, rows=rows)


def cut_chart_data(plan: FencePlan) -> Table:
    """The cut chart of every run for other programs, with the kept length also as the tape reads."""
    words = Words.of(plan.job.job)
    columns = (
        Column(head="run"),
        Column(head="picket", kind=Kind.COUNT),
        Column(head="kept as the tape reads"),
        Column(head="kept", kind=Kind.LENGTH),
        Column(head="short side", kind=Kind.LENGTH),
        Column(head="stock", kind=Kind.LENGTH),
        Column(head="cut"),
        Column(head="gap", kind=Kind.LENGTH),
        Column(head="flags"),
        Column(head="trim", kind=Kind.LENGTH),
        Column(head="left edge", kind=Kind.STATION),
        Column(head="right edge", kind=Kind.STATION),
        Column(head=f"top over {measured_from(plan)}", kind=Kind.LENGTH),
    )
    rows = (
        (plan.runs[index].run.name, r[0], words.length(r[1]), *r[1:])
        for index in range(len(plan.runs))
        for r in _rows(plan, index)
    )
    return Table(name="cut_chart", title="Cut chart", columns=columns, rows=rows)


def _rows(
    plan: FencePlan, index: int
) -> Iterator[
    tuple[int, float, float | None, float | None, str, float, str, float | None, float, float, float | None]
]:
    """Number, kept, short side, stock, cut, gap, flags, trim, both edges, top over string of every picket."""
    run, mark = plan.runs[index], plan.mark
    lengths = [s.length for s in plan.stock.offered]
    short_sides = np.minimum(run.cuts.kept_left, run.cuts.kept_right)
    rows = plain_rows(
        run.cuts.kept,
        short_sides,
        run.stock,
        run.cuts.gap,
        plan.trims[index],
        run.slots.left,
        run.slots.right,
        pickets_over_line(run),
    )
    marked = zip(rows, every_flags(run.flags, len(run.slots)), strict=True)
    for number, ((kept, short, stock, gap, trim, left, right, over), flags) in enumerate(marked, start=1):
        served, scribed = stock != NO_STOCK, short < kept
        yield (
            number,
            kept * mark,
            short * mark if scribed else None,
            lengths[stock] if served else None,
            "stands" if PicketFlag.STANDS in flags else _cut(served, scribed, trim),
            gap,
            ", ".join(flags),
            trim if served else None,
            left,
            right,
            over if math.isfinite(over) else None,
        )


def _cut(served: bool, scribed: bool, trim: float) -> str:
    """What the saw does to a board, in few words."""
    if not served:
        return "no board"
    if scribed:
        return "bottom, slanted"
    return "bottom" if trim > SAME_LENGTH else "whole"


def saw_list(plan: FencePlan, index: int) -> Table:
    """The pickets of one run still to be cut, by kept length and stock, longest first: a stop-block setting a
    row."""
    run, mark = plan.runs[index], plan.mark
    columns = (
        Column(head="stop block at", kind=Kind.LENGTH),
        Column(head="short side", kind=Kind.LENGTH),
        Column(head="from stock", kind=Kind.LENGTH),
        Column(head="pieces", kind=Kind.COUNT),
        Column(head="pickets"),
    )
    cuts = run.cuts
    short = np.minimum(cuts.kept_left, cuts.kept_right)
    order = np.lexsort((np.arange(len(short)), run.stock, -short, -cuts.kept))
    order = order[run.layout.coming[order]]
    keys = [(int(cuts.kept[i]), int(short[i]), int(run.stock[i])) for i in order]
    rows: list[tuple[Cell, ...]] = []
    for (kept, less, stock), members in groupby(zip(keys, order, strict=True), key=lambda pair: pair[0]):
        which = [int(i) + 1 for _, i in members]
        board = "none" if stock == NO_STOCK else plan.stock.offered[stock].length
        slanted = less * mark if less != kept else None
        rows.append((kept * mark, slanted, board, len(which), numbers(which, 60)))
    return Table(name="saw_list", title=f"Saw list, {run.run.name}", columns=columns, rows=rows)


def end_to_cut(plan: FencePlan) -> str:
    """Which end of a board the saw takes, and from where its kept length is measured."""
    if plan.job.pickets.top_end is TopEnd.FLAT:
        shared = any(len(board.pieces) > 1 for board in plan.families.pickets.plan.boards)
        more = " A board that gives more than one picket is cut by the list of boards." if shared else ""
        return f"Cut the bottom end; keep the factory end up. Measure the kept length from the top.{more}"
    return "Cut the bottom end only; measure the kept length from the tip of the top, not from a corner."


def chart_text(plan: FencePlan) -> str:
    """The cut chart as plain text for a printer, then the same boards grouped by kept length."""
    return "\n".join(_text(plan)) + "\n"


def _text(plan: FencePlan) -> Iterator[str]:
    words = Words.of(plan.job.job)
    yield plan.job.job.title
    yield f"{style_words(plan.styles)} top; kept lengths are rounded down to {words.length(plan.mark)}"
    yield CHECK_THREE
    yield SAW.short
    yield end_to_cut(plan)
    for index in range(len(plan.runs)):
        for table in (cut_chart(plan, index), saw_list(plan, index)):
            yield ""
            yield table.title.upper()
            yield from text_lines(filled_columns(table), words)
    if any(r.flags[PicketFlag.MARK_IN_PLACE].any() for r in plan.runs):
        yield ""
        yield from mark_in_place_lines(plan, ground_halves(plan))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChartedBay:
    """The pickets (indices) between two posts; `bay` and `posts` count from 1."""

    bay: int
    posts: tuple[int, int]
    pickets: NDArray[np.intp]


def charted_bays(run: RunPlan) -> list[ChartedBay]:
    """The bays of a run that hold pickets, each picket in the bay its middle stands in or nearest to."""
    bays, centre = run.layout.bays, run.slots.centre
    if not len(bays) or not len(centre):
        return []
    after = np.searchsorted(bays.left, centre, side="right") - 1
    here, after = np.clip(after, 0, None), np.clip(after + 1, 0, len(bays) - 1)
    away = np.maximum(centre - bays.right[here], 0.0)
    ahead = np.maximum(bays.left[after] - centre, 0.0)
    bay = np.where(away > ahead, after, here)
    return [
        ChartedBay(
            bay=k + 1,
            posts=(int(bays.first[k]) + 1, int(bays.first[k]) + 2),
            pickets=np.flatnonzero(bay == k),
        )
        for k in np.unique(bay).tolist()
    ]
