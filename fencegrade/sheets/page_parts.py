"""What the page for the phone shows, part by part, as plain texts ready for its template."""

import hashlib
import io
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from fencegrade.buying import buying_list
from fencegrade.fence.flags import PicketFlag, flags_of
from fencegrade.fence.gates import LeafPickets, describe
from fencegrade.fence.stock import NO_STOCK
from fencegrade.plan import FencePlan, RunPlan
from fencegrade.sheets.charts import cut_chart, saw_list
from fencegrade.sheets.plan_json import write_plan_json
from fencegrade.sheets.summary import plan_totals
from fencegrade.sheets.tables import Table, filled_columns
from fencegrade.sheets.words import Words, plural
from fencegrade.units import format_mass

MOST_PICKETS = 3000
"""Pickets one page shows; a phone scrolls and searches that many at once, and a page of more is slow to open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One picket: `key` of its tick, its number, what is kept, how it is cut, remarks, and its saw list row."""

    key: str
    number: int
    kept: str
    how: tuple[str, ...]
    remarks: tuple[str, ...] = ()
    row: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Cards that belong together: a bay, or the leaf of a gate."""

    key: str
    title: str
    cards: tuple[Card, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row of a table: the key of its tick, and its cells."""

    key: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TableView:
    """A table as the page has it; `tick`: what a tick in front of a row says, empty for none."""

    key: str
    title: str
    heads: tuple[str, ...]
    right: tuple[bool, ...]
    rows: tuple[Row, ...]
    tick: str = ""
    counts: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RunView:
    """One run: its facts, its cut chart bay by bay, and its saw list."""

    key: str
    name: str
    count: int
    facts: tuple[tuple[str, str], ...]
    bays: tuple[Group, ...]
    saw: TableView


@dataclass(frozen=True, slots=True, kw_only=True)
class GateView:
    """One gate: its facts, and the pickets of its leaves."""

    key: str
    title: str
    facts: tuple[tuple[str, str], ...]
    leaves: tuple[Group, ...]


def plan_digest(plan: FencePlan) -> str:
    """A short text that two plans share only if they are the same in everything plan.json tells."""
    text = io.StringIO()
    write_plan_json(plan, text)
    return hashlib.sha256(text.getvalue().encode()).hexdigest()[:20]


def table_view(table: Table, words: Words, key: str, tick: str = "") -> TableView:
    """A table for the page, without columns that no row fills.

    `key`: unlike that of any other table of the page; `tick`: what the tick of a row says, empty for none.
    """
    full = filled_columns(table)
    rows = tuple(Row(key=f"{key}-{k}", cells=cells) for k, cells in enumerate(full.written(words), 1))
    return TableView(
        key=key,
        title=full.title,
        heads=full.heads,
        right=tuple(c.right for c in full.columns),
        rows=rows,
        tick=tick,
    )


def run_views(plan: FencePlan, most: int = MOST_PICKETS) -> Iterator[RunView]:
    """Every run, with no more than `most` pickets on the page in all."""
    words, left = Words.of(plan.job.job), most
    for index, run in enumerate(plan.runs):
        saw, row_of = _saw(plan, index, words)
        shown = min(left, len(run.slots))
        left -= shown
        yield RunView(
            key=f"run-{index + 1}",
            name=run.run.name,
            count=len(run.slots),
            facts=tuple(_run_facts(plan, run, words)),
            bays=tuple(_bays(plan, index, words, shown, row_of)),
            saw=saw,
        )


def _saw(plan: FencePlan, index: int, words: Words) -> tuple[TableView, dict[tuple[object, ...], str]]:
    """The saw list, and from length, short side and stock to the key of its row."""
    table = saw_list(plan, index)
    rows = [tuple(row) for row in table.rows]
    fresh = Table(name=table.name, title=table.title, columns=table.columns, rows=rows)
    view = table_view(fresh, words, f"s{index + 1}", "cut")
    counted = TableView(
        key=view.key,
        title=view.title,
        heads=view.heads,
        right=view.right,
        rows=view.rows,
        tick=view.tick,
        counts=tuple(int(row[3]) for row in rows if isinstance(row[3], int)),
    )
    return counted, {row[:3]: shown.key for row, shown in zip(rows, view.rows, strict=True)}


def _bays(
    plan: FencePlan, index: int, words: Words, shown: int, row_of: dict[tuple[object, ...], str]
) -> Iterator[Group]:
    """The cut chart bay by bay; a picket belongs to the bay its middle stands in."""
    run = plan.runs[index]
    posts = run.layout.bays.posts
    bay = np.searchsorted(posts, run.slots.centre, side="right").clip(1, max(1, len(posts) - 1))
    cards = zip(bay.tolist(), _cards(plan, index, words, row_of), strict=True)
    for post, members in groupby((pair for pair, _ in zip(cards, range(shown), strict=False)), key=_first):
        yield Group(
            key=f"run-{index + 1}-bay-{post}",
            title=f"Between posts {post} and {post + 1}",
            cards=tuple(card for _, card in members),
        )


def _first(pair: tuple[int, Card]) -> int:
    return pair[0]


def _cards(
    plan: FencePlan, index: int, words: Words, row_of: dict[tuple[object, ...], str]
) -> Iterator[Card]:
    run = plan.runs[index]
    for i, row in enumerate(cut_chart(plan, index).rows):
        _, kept, short, stock = row[:4]
        gap = f"gap below {words.length(float(run.cuts.gap[i]))}"
        yield Card(
            key=f"p{index + 1}-{i + 1}",
            number=i + 1,
            kept=words.length(float(run.cuts.kept[i] * plan.mark)),
            how=(*_how(plan, run, i, str(row[4]), words), gap),
            remarks=tuple(_remarks(run, i, words)),
            row=row_of[(kept, short, stock)],
        )


def _how(plan: FencePlan, run: RunPlan, i: int, cut: str, words: Words) -> Iterator[str]:
    """Which end the saw takes, both sides of a slanted cut, and the board it comes from."""
    if run.stock[i] == NO_STOCK:
        yield "no board is long enough"
        return
    yield {"whole": "whole board, no cut", "bottom": "cut bottom end"}.get(cut, "cut bottom end on a slant")
    left, right = (float(k[i] * plan.mark) for k in (run.cuts.kept_left, run.cuts.kept_right))
    if left != right:
        yield f"left side {words.length(left)}, right side {words.length(right)}"
    yield f"from {words.length(plan.stock.offered[run.stock[i]].length)}"


def _remarks(run: RunPlan, i: int, words: Words) -> Iterator[str]:
    for flag in flags_of(run.flags, i):
        yield f"rip to {words.length(float(run.slots.width[i]))} wide" if flag == PicketFlag.RIPPED else flag


def _run_facts(plan: FencePlan, run: RunPlan, words: Words) -> Iterator[tuple[str, str]]:
    """What a builder wants to know of a run before anything else."""
    yield "length", words.station(run.end - run.start)
    yield "posts", str(len(run.posts))
    yield "pickets", str(len(run.slots))
    if not len(run.slots):
        return
    cuts, mark = run.cuts, plan.mark
    low, high = int(cuts.kept.argmin()), int(cuts.kept.argmax())
    yield "shortest kept", f"{words.length(cuts.kept[low] * mark)}, picket {low + 1}"
    yield "longest kept", f"{words.length(cuts.kept[high] * mark)}, picket {high + 1}"
    first = run.layout.row == 0
    if first.sum() > 1:
        between = run.slots.left[first][1:] - run.slots.right[first][:-1]
        yield "space between pickets", words.length(float(np.median(between)))
    worst = int(cuts.gap.argmax())
    yield "largest gap below", f"{words.length(cuts.gap[worst])}, picket {worst + 1}"
    yield "height above ground", f"{words.height(cuts.height.min())} to {words.height(cuts.tallest.max())}"


def plan_facts(plan: FencePlan) -> Iterator[tuple[str, str]]:
    """The whole plan at a glance."""
    words, totals, bought = Words.of(plan.job.job), plan_totals(plan), buying_list(plan)
    yield "top", str(plan.style)
    yield "pickets", f"{totals.pickets}, from {plural(totals.boards, 'board')}, {totals.cuts} of them cut"
    limit = plan.job.top.most_height
    if limit is None:
        yield "height limit", "none given"
    else:
        over = sum(int(r.flags[PicketFlag.OVER_HEIGHT].sum()) for r in plan.runs)
        yield "height limit", f"{words.height(limit)}; {over or 'no'} {'picket' if over == 1 else 'pickets'} over it"
    if totals.unserved:
        yield "no stock serves", plural(totals.unserved, "picket")
    if bought.cost is not None:
        yield "cost of what has a price", words.money(bought.cost)
    if bought.unpriced:
        yield "no price given for", ", ".join(bought.unpriced)
    yield "to carry, about", format_mass(bought.weight, words.system)
    yield "kept lengths rounded down to", words.length(plan.mark)


def gate_views(plan: FencePlan) -> Iterator[GateView]:
    """Every gate with its leaves."""
    words, stock = Words.of(plan.job.job), _gate_stock(plan)
    number = 0
    for r, run in enumerate(plan.runs, start=1):
        leaves = iter(run.leaves)
        for g, gate in enumerate(run.layout.gates, start=1):
            key = f"gate-{r}-{g}"
            groups = []
            for k in range(len(gate.chosen)):
                number += 1
                groups.append(_leaf(f"{key}-{k + 1}", number, next(leaves), plan, stock, words))
            place = gate.gate.station
            facts = [
                ("opening", f"{words.station(place)} to {words.station(place + gate.gate.width)}"),
                ("each leaf" if len(groups) > 1 else "leaf", f"{words.length(gate.leaf_width)} wide"),
            ]
            for k, fit in enumerate(gate.chosen, start=1):
                name = f"leaf {k}" if len(groups) > 1 else "hang it"
                facts.append((name, describe(fit)))
                facts.append(("bottom above ground at the hinge", words.length(fit.hinge_height)))
                facts.append(("bottom above ground at the latch", words.length(fit.latch_height)))
            yield GateView(
                key=key, title=f"Gate {g}, {run.run.name}", facts=tuple(facts), leaves=tuple(groups)
            )


def _gate_stock(plan: FencePlan) -> Iterator[str]:
    """The board of each leaf picket, in order."""
    words, family = Words.of(plan.job.job), plan.families.gate_pickets
    for stock in [] if family is None else family.stock_of().tolist():
        yield f"from {words.length(stock * plan.mark)}" if stock else "no board is long enough"


def _leaf(
    key: str, number: int, leaf: LeafPickets, plan: FencePlan, stock: Iterator[str], words: Words
) -> Group:
    cards = [
        Card(key=f"{key}-{i}", number=i, kept=words.length(kept * plan.mark), how=(next(stock),))
        for i, kept in enumerate(leaf.kept.tolist(), start=1)
    ]
    return Group(key=key, title=f"Pickets of leaf {number}", cards=tuple(cards))
