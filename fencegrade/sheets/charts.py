"""The cut chart and the saw list: rows as data, then as text and as CSV."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from fencegrade.fence.flags import flags_of
from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.records import TopEnd
from fencegrade.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import CHECK_THREE, SAW
from fencegrade.sheets.words import Words, numbers, plural


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartRow:
    """One picket on the cut chart; lengths in inches, `short` the shorter side of a scribed board."""

    run: str
    number: int
    left: float
    right: float
    kept: float
    short: float
    stock: float | None
    trim: float | None
    gap: float
    flags: tuple[str, ...]

    @property
    def cut(self) -> str:
        """What the saw does, in few words."""
        if self.stock is None:
            return "no board"
        if self.trim is not None and self.trim < 1e-6 and self.short == self.kept:
            return "whole"
        return "bottom"


def chart_rows(plan: FencePlan, index: int) -> Iterator[ChartRow]:
    """The cut chart of one run, picket by picket."""
    run, mark = plan.runs[index], plan.mark
    trims = plan.trims[index]
    for i in range(len(run.slots)):
        served = run.stock[i] != NO_STOCK
        yield ChartRow(
            run=run.run.name,
            number=i + 1,
            left=float(run.slots.left[i]),
            right=float(run.slots.right[i]),
            kept=float(run.cuts.kept[i] * mark),
            short=float(min(run.cuts.kept_left[i], run.cuts.kept_right[i]) * mark),
            stock=plan.stock.offered[run.stock[i]].length if served else None,
            trim=float(trims[i]) if served else None,
            gap=float(run.cuts.gap[i]),
            flags=tuple(flags_of(run.flags, i)),
        )


def chart_csv(plan: FencePlan) -> str:
    """The cut chart of every run as CSV; numbers in the job's unit, kept lengths also as the tape reads."""
    words = Words.of(plan.job.job)
    unit = words.unit
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(
        ["run", "picket", "kept", "short side", "stock", "cut", "gap", "flags"]
        + [f"{name} [{unit}]" for name in ("left", "right", "kept", "stock", "trim", "gap")]
    )
    for index in range(len(plan.runs)):
        for row in chart_rows(plan, index):
            write.writerow([inert(cell) for cell in _csv_cells(row, words)])
    return out.getvalue()


def _csv_cells(row: ChartRow, words: Words) -> list[str | float | int]:
    number = words.number
    return [
        row.run,
        row.number,
        words.length(row.kept),
        words.length(row.short) if row.short != row.kept else "",
        "" if row.stock is None else words.length(row.stock),
        row.cut,
        words.length(row.gap),
        "; ".join(row.flags),
        number(row.left),
        number(row.right),
        number(row.kept),
        "" if row.stock is None else number(row.stock),
        "" if row.trim is None else number(row.trim),
        number(row.gap),
    ]


def inert(cell: str | float | int) -> str | float | int:
    """A cell that no spreadsheet takes for a formula."""
    if isinstance(cell, str) and cell[:1] in {"=", "+", "-", "@", "\t", "\r"}:
        return "'" + cell
    return cell


def chart_text(plan: FencePlan) -> str:
    """The cut chart as plain text for a printer, then the same boards grouped by kept length."""
    return "\n".join(_text_lines(plan)) + "\n"


def _text_lines(plan: FencePlan) -> Iterator[str]:
    words = Words.of(plan.job.job)
    yield plan.job.job.title
    yield f"{plan.style} top; kept lengths rounded down to {words.length(plan.mark)}"
    yield CHECK_THREE
    yield SAW.short
    yield ""
    yield _end_to_cut(plan)
    for index, run in enumerate(plan.runs):
        yield ""
        yield f"CUT CHART  {run.run.name}"
        yield from _table(plan, index, words)
        yield ""
        yield f"SAW LIST  {run.run.name}: one setting of the stop block a line, longest first"
        yield from _saw_lines(plan, run, words)


def _end_to_cut(plan: FencePlan) -> str:
    if plan.job.pickets.top_end is TopEnd.FLAT:
        return "Cut the bottom end; keep the factory end up. Measure the kept length from the top."
    return "Cut the bottom end only; measure the kept length from the tip of the top, not from a corner."


def _table(plan: FencePlan, index: int, words: Words) -> Iterator[str]:
    head = ("picket", "kept length", "from stock", "cut", "gap below", "look")
    rows = [
        (
            str(row.number),
            _kept(row, words),
            "none" if row.stock is None else words.length(row.stock),
            row.cut,
            words.length(row.gap),
            ", ".join(row.flags),
        )
        for row in chart_rows(plan, index)
    ]
    return columns([head, *rows])


def _kept(row: ChartRow, words: Words) -> str:
    if row.short == row.kept:
        return words.length(row.kept)
    return f"{words.length(row.kept)} long side, {words.length(row.short)} short"


def columns(rows: list[tuple[str, ...]]) -> Iterator[str]:
    """Rows as text columns, each as wide as its widest cell, a rule under the head."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    for index, row in enumerate(rows):
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        if index == 0:
            yield "  ".join("-" * width for width in widths)


def _saw_lines(plan: FencePlan, run: RunPlan, words: Words) -> Iterator[str]:
    """Pickets grouped by kept sides and stock, longest first."""
    cuts = run.cuts
    short = np.minimum(cuts.kept_left, cuts.kept_right)
    order = np.lexsort((np.arange(len(short)), run.stock, -short, -cuts.kept))
    keys = [(int(cuts.kept[i]), int(short[i]), int(run.stock[i])) for i in order]
    for (kept, less, stock), members in groupby(zip(keys, order, strict=True), key=lambda pair: pair[0]):
        which = [int(i) + 1 for _, i in members]
        board = "no stock" if stock == NO_STOCK else words.length(plan.stock.offered[stock].length)
        size = words.length(kept * plan.mark)
        if less != kept:
            size += f" / {words.length(less * plan.mark)}"
        yield f"  {size:>24}  from {board:<10}  {plural(len(which), 'board'):<10}  pickets {numbers(which, 40)}"
