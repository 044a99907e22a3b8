"""What is left of a fence laid again: words, tables and JSON."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from fencegrade.building.relay import Relay, RelayKind
from fencegrade.building.resume import Resumed
from fencegrade.fence.pickets.flags import flags_of
from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.records import Pattern
from fencegrade.sheets.tables import Cell, Column, Kind, Table, filled_columns, text_lines
from fencegrade.units.words import Words, plural

FORMAT = "fencegrade-resume/1"

MOST_OTHERS = 3
_HAIR = 1e-6


def resume_lines(resumed: Resumed) -> Iterator[str]:
    """The rest of a run laid again, for the screen."""
    words = Words.of(resumed.plan.job.job)
    yield from _where(resumed)
    yield ""
    yield from _verdict(resumed)
    yield from _others(resumed)
    yield ""
    yield "Boards for the pickets to come"
    yield from (f"  {line}" for line in text_lines(board_table(resumed), words))
    if len(resumed.relay):
        yield ""
        yield "Old and new"
        table = filled_columns(change_table(resumed, stretch_only=True))
        yield from text_lines(table, Words.of_readings(words.system))
    yield from _after_stretch(resumed)
    if resumed.problems:
        yield ""
        yield "Look at"
        yield from (f"  {p}" for p in resumed.problems)
    if resumed.ask.assumed:
        yield ""
        yield "Assumed, since it was not given"
        yield from (f"  {option} = {taken}" for option, taken in resumed.ask.assumed)
    yield ""
    yield "Mark every edge from the start of the run, not from board to board, so that errors do not add up."


def _where(resumed: Resumed) -> Iterator[str]:
    ask, run = resumed.ask, resumed.run
    edges = Words.of_readings(resumed.plan.job.job.units)
    after = f"after picket {ask.after} of {len(run.slots)}" if ask.after else "before the first picket"
    yield f"{run.run.name}: {after}, at {edges.station(ask.at)}"
    shift = resumed.shift
    if ask.after and abs(shift) > _HAIR:
        planned = edges.station(ask.at - shift)
        yield f"  planned at {planned}: {edges.length(abs(shift))} {'farther' if shift > 0 else 'nearer'}"
    room, end = edges.station(resumed.stretch_end - ask.at), edges.station(resumed.stretch_end)
    yield f"  {room} left to fill, up to {end}"
    mean, full = resumed.width, float(run.slots.width.max(initial=0.0))
    if abs(mean - full) > _HAIR and resumed.relay.kind is not RelayKind.AS_PLANNED:
        fine = Words.of_layout(resumed.plan.job.job.units)
        yield f"  boards run {fine.length(mean)} wide on average, planned {fine.length(full)}"
    if ask.after:
        yield f"  pickets 1-{ask.after} are up and stay as they are"


def _verdict(resumed: Resumed) -> Iterator[str]:
    relay, planned = resumed.relay, resumed.replaced
    limit = Words.of_layout(resumed.plan.job.job.units).length(resumed.ask.limit)
    if relay.kind is RelayKind.AS_PLANNED:
        yield f"As planned: {plural(planned, 'picket')} to come in this stretch"
        return
    if not relay.within:
        yield f"CANNOT BE DONE within {limit} a board; this is the best that can"
    if relay.kind is RelayKind.NOTHING:
        yield "No further picket in this stretch"
        return
    count = len(resumed.rest) - (len(resumed.run.slots) - resumed.ask.after - planned)
    yield f"Set {plural(count, 'picket')} in this stretch (planned {planned})"
    yield from (f"  {line}" for line in _relay_words(resumed, relay))


def _relay_words(resumed: Resumed, relay: Relay) -> Iterator[str]:
    """The gaps and rips of one way to lay the rest."""
    fine = Words.of_layout(resumed.plan.job.job.units)
    gap, last = resumed.gap, resumed.gap + relay.departure
    if relay.kind is not RelayKind.NOTHING:
        if abs(relay.departure) < fine.mark / 2:
            yield f"gap {fine.length(last)}, as before"
        elif not relay.within:
            yield f"gap from {fine.length(gap)} to {fine.length(last)}"
        elif relay.change < abs(relay.departure) - _HAIR and relay.change > 0:
            steps = int(np.ceil(abs(relay.departure) / relay.change - _HAIR))
            yield (
                f"gap from {fine.length(gap)} to {fine.length(last)} over {plural(steps, 'board')}, "
                f"{fine.length(relay.change)} a board, then the same"
            )
        else:
            yield f"gap {fine.length(last)} instead of {fine.length(gap)}"
    if relay.ripped:
        yield f"{relay.kind} to {fine.length(relay.ripped[-1])}"
    if relay.end_gap > fine.mark / 2:
        yield f"{fine.length(relay.end_gap)} stays open at the end"


def _others(resumed: Resumed) -> Iterator[str]:
    others = resumed.others[:MOST_OTHERS]
    if others:
        yield "Next best"
    row = "" if resumed.plan.job.pickets.pattern is Pattern.SIDE_BY_SIDE else " in the first row"
    for relay in others:
        words = "; ".join(_relay_words(resumed, relay)) or "nothing more"
        beyond = "" if relay.within else ", over the limit"
        yield f"  {plural(len(relay), 'board')}{row}: {words}{beyond}"


def _after_stretch(resumed: Resumed) -> Iterator[str]:
    first = resumed.ask.after + resumed.replaced
    count, new = len(resumed.run.slots), len(resumed.slots)
    if first >= count:
        return
    yield ""
    text = f"The plan's pickets {first + 1}-{count}, past this stretch, stand where they were planned"
    if new == count:
        yield f"{text}."
    else:
        yield f"{text} and are now {first + 1 + new - count}-{new}."


def board_table(resumed: Resumed) -> Table:
    """Boards by length: needed, left, to buy, and left over."""
    choice = resumed.rest.choice
    columns = (
        Column(head="length", kind=Kind.LENGTH),
        Column(head="needed", kind=Kind.COUNT),
        Column(head="boards left", kind=Kind.COUNT),
        Column(head="to buy", kind=Kind.COUNT),
        Column(head="left over", kind=Kind.COUNT),
    )
    rows = [
        (stock.length, int(used), left, buy, over)
        for stock, used, left, buy, over in zip(
            choice.offered, choice.used, resumed.left, resumed.buy, resumed.over, strict=True
        )
    ]
    return Table(name="resume_boards", title="Boards left", columns=columns, rows=rows)


def change_table(resumed: Resumed, stretch_only: bool = False) -> Table:
    """Every picket to come beside the one of the same number in the plan.

    `stretch_only`: leave out those past the stretch that was laid again. A picket of the plan that falls away
    has a row without new edges.
    """
    columns = (
        Column(head="picket", kind=Kind.COUNT),
        Column(head="in the plan", kind=Kind.COUNT),
        Column(head="gap before", kind=Kind.LENGTH),
        Column(head="left edge", kind=Kind.STATION),
        Column(head="right edge", kind=Kind.STATION),
        Column(head="planned right", kind=Kind.STATION),
        Column(head="kept", kind=Kind.LENGTH),
        Column(head="planned kept", kind=Kind.LENGTH),
        Column(head="change", kind=Kind.LENGTH),
        Column(head="from stock", kind=Kind.LENGTH),
        Column(head="look"),
    )
    rows = list(_change_rows(resumed, stretch_only))
    return Table(
        name="resume_chart", title=f"Old and new, {resumed.run.run.name}", columns=columns, rows=rows
    )


def _change_rows(resumed: Resumed, stretch_only: bool) -> Iterator[tuple[Cell, ...]]:
    ask, run, rest, mark = resumed.ask, resumed.run, resumed.rest, resumed.plan.mark
    count, gaps = resumed.replaced + len(resumed.slots) - len(run.slots), _gaps_before(resumed)
    for i in range(count if stretch_only else len(rest)):
        number = ask.after + i + 1
        old = resumed.planned_number(number)
        kept = float(rest.cuts.kept[i] * mark)
        planned = None if old is None else float(run.cuts.kept[old - 1] * mark)
        change = None if planned is None or abs(kept - planned) < mark / 2 else kept - planned
        yield (
            number,
            old,
            gaps[i],
            float(rest.slots.left[i]),
            float(rest.slots.right[i]),
            None if old is None else float(run.slots.right[old - 1]),
            kept,
            planned,
            change,
            rest.choice.offered[rest.stock[i]].length if rest.stock[i] != NO_STOCK else "none",
            ", ".join(flags_of(rest.flags, i)),
        )
    for old in range(ask.after + count + 1, ask.after + resumed.replaced + 1):
        right, kept = float(run.slots.right[old - 1]), float(run.cuts.kept[old - 1] * mark)
        yield (None, old, None, None, None, right, None, kept, None, None, "falls away")


def _gaps_before(resumed: Resumed) -> list[float | None]:
    """Space to the board before in the same row; None for the first of a row or past an opening."""
    rest, ask = resumed.rest, resumed.ask
    gaps = np.full(len(rest), np.inf)
    for row in range(2):
        own = np.flatnonzero(rest.row == row)
        before = np.append(ask.at if row == 0 and ask.after else -np.inf, rest.slots.right[own][:-1])
        gaps[own] = rest.slots.left[own] - before[: len(own)]
    widest = resumed.run.slots.width.max(initial=0.0) * 1.5
    return [gap if gap < widest else None for gap in gaps.tolist()]


def resume_record(resumed: Resumed) -> dict[str, Any]:
    """The same for machines; lengths in the job's unit."""
    words, ask = Words.of(resumed.plan.job.job), resumed.ask
    number = words.number
    table = change_table(resumed)
    keys = [c.head.replace(" ", "_") for c in table.columns]
    lengths = {c.head.replace(" ", "_") for c in table.columns if c.kind in {Kind.LENGTH, Kind.STATION}}
    return {
        "format": FORMAT,
        "title": resumed.plan.job.job.title,
        "units": str(words.system),
        "length_unit": words.unit,
        "run": resumed.run.run.name,
        "after": ask.after,
        "at": number(ask.at),
        "shift": number(resumed.shift),
        "limit": number(ask.limit),
        "board_width": number(resumed.width),
        "stretch_end": number(resumed.stretch_end),
        "chosen": _relay_record(resumed.relay, words),
        "others": [_relay_record(r, words) for r in resumed.others],
        "pickets": [
            {
                key: number(cell) if key in lengths and isinstance(cell, float) else cell
                for key, cell in zip(keys, row, strict=True)
            }
            for row in table.rows
        ],
        "boards": [
            {"length": number(float(str(r[0]))), "needed": r[1], "left": r[2], "buy": r[3], "over": r[4]}
            for r in board_table(resumed).rows
        ],
        "assumed": dict(ask.assumed),
        "problems": [
            {"severity": str(p.severity), "place": p.place, "message": p.message} for p in resumed.problems
        ],
    }


def _relay_record(relay: Relay, words: Words) -> dict[str, Any]:
    number = words.number
    return {
        "kind": str(relay.kind),
        "boards": len(relay),
        "gaps": [number(g) for g in relay.gaps],
        "end_gap": number(relay.end_gap),
        "departure": number(relay.departure),
        "change": number(relay.change),
        "within": relay.within,
        "ripped": [number(r) for r in relay.ripped],
    }
