"""What the page for the phone shows, part by part, as plain texts ready for its template."""

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from itertools import islice

from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.gates.gates import LeafPickets, describe
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.pickets.patterns import row_names
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.table import style_words
from fencegrade.ground.survey_line import line_name
from fencegrade.planning.buying import buying_list
from fencegrade.planning.families import Family
from fencegrade.planning.hanging import pickets_over_line
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.planning.totals import plan_totals
from fencegrade.sheets.charts import cuts_told, saw_list, settings
from fencegrade.sheets.facts import (
    cost_words,
    from_to,
    grounds_of,
    missing_words,
    open_below,
    provisional_words,
    run_facts,
    space_words,
    tops_words,
    under_or_over,
    up_words,
    waiting_words,
)
from fencegrade.sheets.hanging import bays_to_hang, look_at, rip_words
from fencegrade.sheets.mark_in_place import (
    LEAVE_LONG,
    how_to_mark,
    in_place,
    lengths_told,
    numbered_steps,
    to_scribe,
)
from fencegrade.sheets.page.measured import far_edges, ground_depths, lines_and_depths
from fencegrade.sheets.rail_lines import nothing_to_spare
from fencegrade.sheets.run_words import frame_words, leaf_space_words
from fencegrade.sheets.shared_boards import board_mates, every_picket, shared_rows
from fencegrade.sheets.tables import Cell, Kind, Table, columns_of, filled_columns
from fencegrade.sheets.work import carried_words, pace_words
from fencegrade.units.words import Words, plural

MOST_PICKETS = 3000
"""Pickets one page shows: as many as a phone opens, scrolls and searches without a wait."""


class Card(Struct, frozen=True, kw_only=True):
    """One picket: its `id`, number, length kept, how it is cut, where it stands, remarks, its saw list row.

    `expect`: about what length it comes to where it is left long and marked in place, else empty; `length`:
    that of the plan, by which its tick is kept;
    `stands`: it is up, nothing is left to do; `line`: as `lines_and_depths`;
    `clearance`: what is wanted under it, `board`: the wood there is for it (in, as text);
    `scribe`: it is measured for a cut along the ground though the job's cuts are square.
    """

    id: str
    number: int
    kept: str
    how: tuple[str, ...]
    where: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    expect: str = ""
    length: str = ""
    row: str = ""
    stands: bool = False
    line: str = ""
    left_edge: str = ""
    clearance: str = ""
    board: str = ""
    ground: str = ""
    edge: str = ""
    scribe: bool = False


class Group(Struct, frozen=True, kw_only=True):
    """Cards that belong together: a bay, or the leaf of a gate."""

    key: str
    title: str
    cards: tuple[Card, ...]


class Row(Struct, frozen=True, kw_only=True):
    """A row of a table: its `id`, its cells, and the `key` of its tick, the same as long as its cells are,
    empty where nothing is left to tick."""

    id: str
    cells: tuple[str, ...]
    key: str = ""


class TableView(Struct, frozen=True, kw_only=True):
    """A table as the page has it; `tick`: what a tick in front of a row says, empty for none."""

    key: str
    title: str
    heads: tuple[str, ...]
    right: tuple[bool, ...]
    rows: tuple[Row, ...]
    tick: str = ""
    counts: tuple[int, ...] = ()


class RunView(Struct, frozen=True, kw_only=True):
    """One run: its facts, its cut chart bay by bay, and its saw list."""

    key: str
    name: str
    count: int
    facts: tuple[tuple[str, str], ...]
    bays: tuple[Group, ...]
    saw: TableView


class GateView(Struct, frozen=True, kw_only=True):
    """One gate: its facts, and the pickets of its leaves."""

    key: str
    title: str
    facts: tuple[tuple[str, str], ...]
    leaves: tuple[Group, ...]


def _never(_: Sequence[Cell]) -> bool:
    return False


def table_view(
    table: Table, words: Words, key: str, tick: str = "", done: Callable[[Sequence[Cell]], bool] = _never
) -> TableView:
    """A table for the page, without columns that no row fills.

    `key`: unlike that of any other table of the page; `tick`: what the tick of a row says, empty for none;
    `done`: whether nothing is left to do of a row.
    """
    given = [tuple(row) for row in table.rows]
    full = filled_columns(replace(table, rows=given))
    named = [k for k, column in enumerate(full.columns) if column.kind is not Kind.MONEY]
    seen: Counter[str] = Counter()
    rows = []
    for place, cells in enumerate(full.written(words), 1):
        name = "|".join([tick, full.title, *(cells[k] for k in named)])
        seen[name] += 1
        own = "" if done(given[place - 1]) else f"{name}|{seen[name]}"
        rows.append(Row(id=f"{key}-{place}", cells=cells, key=own))
    return TableView(
        key=key,
        title=full.title,
        heads=full.heads,
        right=tuple(c.right for c in full.columns),
        rows=tuple(rows),
        tick=tick,
    )


def run_views(plan: FencePlan, most: int = MOST_PICKETS) -> Iterator[RunView]:
    """Every run, with no more than `most` pickets on the page in all."""
    words, left = plan.words, most
    to_set, mates = plan.posts_to_set, board_mates(plan.families.pickets)
    for index, run in enumerate(plan.runs):
        saw, row_of = _saw(plan, index, words)
        shown = min(left, len(run.slots))
        left -= shown
        yield RunView(
            key=f"run-{index + 1}",
            name=run.run.name,
            count=len(run.slots),
            facts=tuple(_run_facts(plan, run, int(to_set[index].wanted.sum()), words)),
            bays=tuple(_bays(plan, index, words, shown, row_of, mates)),
            saw=saw,
        )


def _saw(plan: FencePlan, index: int, words: Words) -> tuple[TableView, dict[int, str]]:
    """The saw list, and from a picket's number to the key of its row; those left long have none."""
    view = table_view(saw_list(plan, index), words, f"s{index + 1}", "cut")
    counts = tuple(len(s.pickets) for s in settings(plan, index))
    return replace(view, counts=counts), {
        number: shown.id
        for s, shown in zip(settings(plan, index), view.rows, strict=True)
        for number in s.pickets
    }


def _bays(
    plan: FencePlan, index: int, words: Words, shown: int, row_of: dict[int, str], mates: dict[str, str]
) -> Iterator[Group]:
    """The cut chart bay by bay, of the first `shown` pickets; `mates`: see `board_mates`."""
    cards = list(islice(_cards(plan, index, words, row_of, mates), shown))
    bays = bays_to_hang(plan, index)
    if not bays:
        yield Group(key=f"run-{index + 1}-bay-1", title="Pickets", cards=tuple(cards))
    for charted in bays:
        members = tuple(cards[i] for i in charted.pickets.tolist() if i < shown)
        if members:
            first, last = charted.posts
            yield Group(
                key=f"run-{index + 1}-bay-{charted.bay}",
                title=f"Bay {charted.bay}, post {first} to post {last}",
                cards=members,
            )


def _cards(
    plan: FencePlan, index: int, words: Words, row_of: dict[int, str], mates: dict[str, str]
) -> Iterator[Card]:
    run, marked, told = plan.runs[index], in_place(plan.runs[index]), lengths_told(plan, index)
    lines, grounds, where = lines_and_depths(run), ground_depths(run), list(_where(run, words))
    ends = far_edges(run, plan.job.pickets.spacing)
    scribed, name_of = to_scribe(run), every_picket(plan)
    first = sum(len(r.slots) for r in plan.runs[:index])
    for i, cut in enumerate(cuts_told(plan, index)):
        long = bool(marked[i])
        shared = mates.get(name_of(first + i))
        gap = None if long else f"gap below {words.length(float(run.cuts.gap[i]))}"
        yield Card(
            id=f"p{index + 1}-{i + 1}",
            number=i + 1,
            kept=LEAVE_LONG if long else told[i],
            length=words.length(float(run.cuts.kept[i]) * plan.mark),
            expect=f"{PicketFlag.MARK_IN_PLACE}, {told[i]}" if long else "",
            how=(*_how(plan, run, i, cut, words), *filter(None, (shared, gap))),
            where=where[i],
            remarks=tuple(r for r in look_at(run, i, words, whole=True) if r != PicketFlag.MARK_IN_PLACE),
            stands=not run.layout.coming[i],
            line=lines[i],
            left_edge=words.station(float(run.slots.left[i])),
            clearance=f"{float(run.zones.clearance[i]):.6g}",
            board=_board(plan, run, i),
            ground=grounds[i],
            edge=ends[i],
            scribe=bool(scribed[i]),
            row=row_of.get(i + 1, ""),
        )


def _board(plan: FencePlan, run: RunPlan, i: int) -> str:
    """The length (in) there is to cut a picket from, as text; empty where no board serves."""
    return "" if run.boards.stock[i] == NO_STOCK else f"{float(run.boards.wood[i]) * plan.mark:.9g}"


def _where(run: RunPlan, words: Words) -> Iterator[tuple[str, ...]]:
    """Where each picket's left edge stands, and how high its top is over the line of the readings."""
    over, middle = pickets_over_line(run).tolist(), run.slots.centre.tolist()
    for left, x, top in zip(run.slots.left.tolist(), middle, over, strict=True):
        edge = f"left edge {words.station(left)}"
        if math.isnan(top):
            yield (edge,)
        else:
            line = line_name(run.ground, x)
            yield edge, f"top {words.fine(abs(top))} {under_or_over(top, words)} {line}"


def _how(plan: FencePlan, run: RunPlan, i: int, cut: str, words: Words) -> Iterator[str]:
    """Its row, which end the saw takes, both sides of a slanted cut, and the board it is from."""
    if names := row_names(plan.job.pickets.pattern):
        yield names[int(run.layout.row[i])]
    if run.stock[i] == NO_STOCK:
        if run.layout.coming[i]:
            yield "no board is long enough"
        return
    if cut == LEAVE_LONG:
        yield _from(plan, run, i, words)
        return
    yield {"whole": "whole board, no cut", "bottom": "cut bottom end"}.get(cut, "cut bottom end, slanted")
    left, right = (float(k[i] * plan.mark) for k in (run.cuts.kept_left, run.cuts.kept_right))
    if left != right:
        yield f"left side {words.length(left)}"
        yield f"right side {words.length(right)}"
    yield _from(plan, run, i, words)


def _from(plan: FencePlan, run: RunPlan, i: int, words: Words) -> str:
    return f"from {words.sold_length(plan.stock.offered[run.stock[i]].length)}"


def chart_words(plan: FencePlan) -> Iterator[str]:
    """How the cut chart is to be read, as far as this plan has it."""
    mark = plan.words.length(plan.mark)
    yield f"Kept lengths are rounded down to {mark}: cut to the mark, never longer."
    if any(bool((r.cuts.kept_left != r.cuts.kept_right).any()) for r in plan.runs):
        yield "Cuts on a slant: the left side of a picket is the one toward the run's start."
    if plan.flagged(PicketFlag.MARK_IN_PLACE):
        yield (
            f"{LEAVE_LONG}: mark in place, the ground there is in doubt. {numbered_steps(how_to_mark(plan))} "
            "The length here is about what to expect; no saw is set by it."
        )
    if row_names(plan.job.pickets.pattern):
        yield "Row or face says where a picket stands, as the drawing of the pattern shows."


def _run_facts(plan: FencePlan, run: RunPlan, to_set: int, words: Words) -> Iterator[tuple[str, str]]:
    """What a builder wants to know of a run before anything else."""
    yield "length", words.station(run.end - run.start)
    yield "posts to set", str(to_set)
    yield "pickets", f"{len(run.slots)}{up_words([run])}"
    facts = run_facts(plan, run)
    short, long = facts.kept
    yield "shortest kept", f"{words.length(short)}, picket {facts.shortest}"
    yield "longest kept", f"{words.length(long)}, picket {facts.longest}"
    yield "space between pickets", space_words(run, words)
    yield "picket tops", tops_words(run, words)
    yield "largest gap below", f"{open_below(run, facts.open_widest - 1, words)}, picket {facts.open_widest}"
    yield "height above ground", from_to(facts.least_height, facts.most_height, words)


def plan_facts(plan: FencePlan) -> Iterator[tuple[str, str]]:
    """The whole plan at a glance."""
    words, totals, bought = plan.words, plan_totals(plan), buying_list(plan)
    yield "top", style_words(plan.styles)
    up = up_words(plan.runs)
    cut = f"{up}; {totals.cuts} to be cut" if up else f", {totals.cuts} of them cut"
    yield "pickets", f"{totals.pickets}{cut}, from {plural(totals.boards, 'board')}"
    limit = plan.job.top.most_height
    if limit is None:
        yield "height limit", "none given"
    else:
        over = plan.flagged(PicketFlag.OVER_HEIGHT)
        yield (
            "height limit",
            f"{words.given(limit, feet=True)}; {over or 'no'} {'picket' if over == 1 else 'pickets'} over it",
        )
    for lacking in missing_words(plan, words):
        yield "not enough", lacking
    if waiting := waiting_words(plan):
        yield "decide first", waiting
    for doubted in provisional_words(grounds_of(plan)):
        yield "do not buy yet", doubted
    if bought.cost is not None:
        yield "cost of what has a price", cost_words(bought.cost, plan.missing, words)
    if bought.unpriced:
        yield "no price given for", "; ".join(bought.unpriced)
    if pace := pace_words(plan):
        yield "work at your pace", pace
    yield "load", f"about {carried_words(plan, bought, words)}"


def gate_views(plan: FencePlan) -> Iterator[GateView]:
    """Every gate with its leaves."""
    words, stock = plan.words, _gate_stock(plan)
    for r, run in enumerate(plan.runs, start=1):
        leaves, frames, named = iter(run.leaves), iter(run.frames), iter(plan.leaf_names[r - 1])
        for g, gate in enumerate(run.layout.gates, start=1):
            key = f"gate-{r}-{g}"
            names = [next(named) for _ in gate.chosen]
            groups = [
                _leaf(f"{key}-{k}", name, next(leaves), plan, stock, words)
                for k, name in enumerate(names, start=1)
            ]
            place = gate.gate.station
            facts = [
                ("opening", f"{words.station(place)} to {words.station(place + gate.gate.width)}"),
                ("each leaf" if len(groups) > 1 else "leaf", leaf_space_words(gate, words)),
            ]
            for name, fit in zip(names, gate.chosen, strict=True):
                facts.append(
                    (name if len(groups) > 1 else "hang it", f"{describe(fit)}, looking along the run")
                )
                facts.append(("bottom above ground at the hinge", words.fine(fit.hinge_height)))
                facts.append(("bottom above ground at the latch", words.fine(fit.latch_height)))
                facts.append(("frame", frame_words(next(frames), words).removeprefix("frame: ")))
            yield GateView(
                key=key, title=f"Gate {g}, {run.run.name}", facts=tuple(facts), leaves=tuple(groups)
            )


def _gate_stock(plan: FencePlan) -> Iterator[str]:
    """The board of each leaf picket, in order, and the others that it gives."""
    words, family = plan.words, plan.families.gate_pickets
    mates = {} if family is None else board_mates(family)
    for k, stock in enumerate([] if family is None else family.sold_of().tolist()):
        shared = mates.get(family.name_of(k)) if family else None
        board = f"from {words.sold_length(stock)}" if stock else "no board is long enough"
        yield f"{board}, {shared}" if shared else board


def _leaf_edges(leaf: LeafPickets, words: Words) -> Iterator[str]:
    """Where each picket's left edge lies on the leaf."""
    return (
        f"left edge {words.fine(x)} along the leaf" for x in (leaf.slots.left - leaf.slots.left[0]).tolist()
    )


def _leaf(
    key: str, name: str, leaf: LeafPickets, plan: FencePlan, stock: Iterator[str], words: Words
) -> Group:
    names, rips = row_names(plan.job.pickets.pattern), dict(leaf.ripped())
    rows = zip(leaf.kept.tolist(), _leaf_edges(leaf, words), leaf.row.tolist(), strict=True)
    cards = [
        Card(
            id=f"{key}-{i}",
            number=i,
            kept=words.length(kept * plan.mark),
            how=(*([names[row]] if names else []), next(stock)),
            where=(edge,),
            remarks=(f"{rip_words(rips[i], words)} wide",) if i in rips else (),
        )
        for i, (kept, edge, row) in enumerate(rows, 1)
    ]
    return Group(key=key, title=f"Pickets of {name}", cards=tuple(cards))


def board_views(plan: FencePlan) -> Iterator[TableView]:
    """Which board gives which rails, and which gives more than one picket."""
    words, rails = plan.words, plan.families.rails
    if shared := list(shared_rows(plan, words)):
        title = "Boards that give several pickets (♦: left long, marked in place)"
        columns = columns_of("boards | of | pieces, longest first | left over each")
        yield table_view(Table(name="wp", title=title, columns=columns, rows=shared), words, "wp", "cut")
    if rows := list(_board_rows(plan, rails, words)):
        columns = columns_of("board | pieces, longest first | left over")
        table = Table(name="wr", title="Boards for rails", columns=columns, rows=rows)
        yield table_view(table, words, "wr", "cut")


def _board_rows(plan: FencePlan, rails: Family, words: Words) -> Iterator[tuple[str | None, ...]]:
    """Every board for rails: stock, pieces with their places, what is left."""
    mark = plan.mark
    for board in rails.traced():
        left = words.length(board.left) if board.left else None
        pieces = zip(board.pieces, board.names, strict=True)
        yield (
            words.sold_length(board.sold),
            "; ".join(f"{words.length(p * mark)} for {name}" for p, name in pieces),
            "no spare" if nothing_to_spare(plan, board) else left,
        )
