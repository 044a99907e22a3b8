"""The cut chart and the saw list, as tables, and the bays they are read by."""

import math
from collections.abc import Iterator, Sequence
from itertools import compress, groupby

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.pickets.flags import PicketFlag, every_flags
from fencegrade.fence.pickets.patterns import row_names
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.table import style_words
from fencegrade.ground.survey_line import string_at
from fencegrade.job.choices import TopEnd
from fencegrade.planning.hanging import measured_from, pickets_over_line
from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.cautions import CHECK_THREE, SAW
from fencegrade.sheets.facts import grounds_of, left_out_words, provisional_words
from fencegrade.sheets.hanging import short_side
from fencegrade.sheets.mark_in_place import LEAVE_LONG, from_chart, lengths_told, mark_in_place_lines
from fencegrade.sheets.tables import (
    Cell,
    Table,
    columns_of,
    filled_columns,
    plain_rows,
    text_lines,
)
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbers

_SAME_WIDTH = 9
"""Decimals of an inch to which widths are one, far finer than the grace of a mark: every sheet reads a width
at half a mark as the same one."""


def cut_chart(plan: FencePlan, index: int) -> Table:
    """The cut chart of one run, for people at the saw: one row a picket."""
    run = plan.runs[index]
    columns = columns_of(
        "picket:count | row | kept length:length | short side:length | short toward | from stock:sold | "
        "cut | gap below:length | look"
    )
    rows = (
        (
            r[0],
            row,
            told,
            *((None, None) if r[4] == LEAVE_LONG else (r[2], toward)),
            "none" if r[3] is None and r[4] != "stands" else r[3],
            *r[4:7],
        )
        for r, told, (toward, row) in zip(
            _rows(plan, index), lengths_told(plan, index), _ways(plan, index), strict=True
        )
    )
    return Table(name="cut_chart", title=f"Cut chart, {run.run.name}", columns=columns, rows=rows)


def cuts_told(plan: FencePlan, index: int) -> Iterator[str]:
    """What the saw does to each board of one run, as the cut chart says it."""
    return (row[4] for row in _rows(plan, index))


def cut_chart_data(plan: FencePlan) -> Table:
    """The cut chart of every run for other programs, with the kept length also as the tape reads."""
    columns = columns_of(
        "run | picket:count | kept as the tape reads | kept:length | short side:length | "
        "stock:length | cut | gap:length | flags | trim:length | left edge:station | "
        f"right edge:station | top over {measured_from(plan)}:length | string | short toward | row"
    )
    rows = (
        (run.run.name, r[0], told, *r[1:], string_at(run.ground, middle), *way)
        for index, run in enumerate(plan.runs)
        for r, told, middle, way in zip(
            _rows(plan, index),
            lengths_told(plan, index),
            run.slots.centre.tolist(),
            _ways(plan, index),
            strict=True,
        )
    )
    return Table(name="cut_chart", columns=columns, rows=rows)


def _ways(plan: FencePlan, index: int) -> Iterator[tuple[str | None, str | None]]:
    """The end of the run that the short side of every picket stands to, and its row; None where both sides
    are as long, and where there is one row."""
    run, names = plan.runs[index], row_names(plan.job.pickets.pattern)
    for i, row in enumerate(run.layout.row.tolist()):
        yield short_side(run, i) or None, names[row] if names else None


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
            _cut(flags, served, scribed, trim),
            gap,
            ", ".join(flags),
            trim if served else None,
            left,
            right,
            over if math.isfinite(over) else None,
        )


def _cut(flags: Sequence[str], served: bool, scribed: bool, trim: float) -> str:
    """What the saw does to a board, in few words."""
    if PicketFlag.STANDS in flags:
        return "stands"
    if PicketFlag.MARK_IN_PLACE in flags:
        return LEAVE_LONG
    if not served:
        return "no board"
    if scribed:
        return "bottom, slanted"
    return "bottom" if trim > SAME_LENGTH else "whole"


class Setting(Struct, frozen=True, kw_only=True):
    """Boards of one run that are cut alike: one setting of the stop, one stack.

    `kept`: long side (in), at which the stop stands; `short`: short side (in), `angle`: degrees off square,
    `toward`: the end of the run (`start`, `end`) the short side stands to; None, 0 and empty where square;
    `stock`: length of the boards (in); `cut`: whether they are cut at all; `pickets`: numbers from 1; `rip`:
    width (in) they are ripped to, None at full width.
    """

    kept: float
    short: float | None
    angle: float
    toward: str
    stock: float
    cut: bool
    pickets: tuple[int, ...]
    rip: float | None

    def names(self, words: Words) -> str:
        """The numbers of the pickets, and what they are ripped to."""
        told = numbers(self.pickets, 60)
        return told if self.rip is None else f"{told}, ripped to {words.fine(self.rip)}"


def settings(plan: FencePlan, index: int) -> tuple[Setting, ...]:
    """The boards of one run that may be cut from the chart, stack by stack, longest first.

    Left out are those that stand, those no stock serves, and those that are left long and marked in place.
    """
    run, mark, cuts = plan.runs[index], plan.mark, plan.runs[index].cuts
    here = np.flatnonzero(from_chart(run))
    left, right = cuts.kept_left[here], cuts.kept_right[here]
    wide = np.round(run.slots.width[here], _SAME_WIDTH)
    order = np.lexsort((here, wide, left - right, -cuts.kept[here], run.stock[here]))
    keys = [
        (int(run.stock[here[k]]), int(cuts.kept[here[k]]), int(left[k] - right[k]), float(wide[k]))
        for k in order
    ]
    lengths = [s.length for s in plan.stock.offered]
    found = []
    for (stock, kept, off, width), members in groupby(
        zip(keys, order, strict=True), key=lambda pair: pair[0]
    ):
        found.append(
            Setting(
                kept=kept * mark,
                short=(kept - abs(off)) * mark if off else None,
                angle=math.degrees(math.atan(abs(off) * mark / width)) if off else 0.0,
                stock=lengths[stock],
                cut=bool(off) or lengths[stock] - kept * mark > SAME_LENGTH,
                pickets=(own := tuple(int(here[k]) + 1 for _, k in members)),
                toward=short_side(run, own[0] - 1),
                rip=width if run.flags[PicketFlag.RIPPED][own[0] - 1] else None,
            )
        )
    return tuple(found)


def stops(found: Sequence[Setting]) -> int:
    """How many times the stop is set: lengths with their angles, whatever stack they come from."""
    return len({(s.kept, s.short, s.toward) for s in found if s.cut})


def saw_list(plan: FencePlan, index: int) -> Table:
    """The boards of one run that are cut from the chart, stack by stack, longest first, a setting of the stop
    a row; those left whole need none.
    """
    columns = columns_of(
        "stop block at:length | short side:length | cut | short toward | from stock:sold | "
        "pieces:count | pickets"
    )
    rows: list[tuple[Cell, ...]] = [
        (
            s.kept,
            s.short,
            angle_words(s) if s.cut else "whole",
            s.toward or None,
            s.stock,
            len(s.pickets),
            s.names(plan.words),
        )
        for s in settings(plan, index)
    ]
    return Table(name="saw_list", title=f"Saw list, {plan.runs[index].run.name}", columns=columns, rows=rows)


def angle_words(setting: Setting) -> str:
    """How far off square the saw stands."""
    return f"{setting.angle:.1f}°" if setting.short is not None else "square"


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
    words = plan.words
    yield plan.job.title
    yield f"{style_words(plan.styles)} top; kept lengths are rounded down to {words.length(plan.mark)}"
    yield from provisional_words(grounds_of(plan))
    yield CHECK_THREE
    yield SAW.short
    yield end_to_cut(plan)
    for index in range(len(plan.runs)):
        run, chart, saw = plan.runs[index], cut_chart(plan, index), saw_list(plan, index)
        yield ""
        yield chart.title.upper()
        yield from provisional_words((run.ground,))
        yield from (told for told in (left_out_words(run),) if told)
        if not run.layout.coming.any():
            continue
        coming = replace(chart, rows=list(compress(chart.rows, run.layout.coming)))
        yield from text_lines(filled_columns(coming), words)
        yield ""
        yield saw.title.upper()
        yield from provisional_words((run.ground,))
        yield from text_lines(filled_columns(saw), words)
    marked = list(mark_in_place_lines(plan))
    if marked:
        yield ""
        yield from marked
