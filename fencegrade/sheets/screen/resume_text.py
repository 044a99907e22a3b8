"""What is left of a fence laid again: words, tables and JSON."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from fencegrade.building.resume import Resumed
from fencegrade.fence.pickets.flags import flags_of
from fencegrade.fence.pickets.patterns import row_names
from fencegrade.fence.pickets.relay import Relay, RelayKind
from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.as_built import AsBuilt
from fencegrade.planning.buying import boards_of_pickets
from fencegrade.planning.row import Again
from fencegrade.sheets.facts import grounds_of, provisional_words, used_words
from fencegrade.sheets.screen.wrapping import paragraph, taken_lines
from fencegrade.sheets.tables import Cell, Table, columns_of, filled_columns, json_records, text_lines
from fencegrade.units import to_marks
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, listed, numbered, plural

FORMAT = "fencegrade-resume/1"

MOST_OTHERS = 3

_BOARDS = ("length", "planned", "needed", "spare", "left", "buy", "over")
"""The columns of the table of boards as JSON has them."""


def resume_lines(resumed: Resumed) -> Iterator[str]:
    """The rest of a run laid again, for the screen; a doubt stands first."""
    words = resumed.after.words
    if resumed.doubts:
        yield "COUNT AGAIN"
        yield from (f"  {p.found}" for p in resumed.doubts)
        yield "  What follows holds only if count and station are right."
        yield ""
    if doubted := list(provisional_words(grounds_of(resumed.after))):
        yield from doubted
        yield ""
    yield from _where(resumed)
    yield ""
    yield from _verdict(resumed)
    yield from _others(resumed)
    boards = text_lines(filled_columns(board_table(resumed)), words)
    whose = " of every run" if len(resumed.after.runs) > 1 else ""
    whose += " and of gates" if resumed.after.families.gate_pickets is not None else ""
    told = (*_longer(resumed), *filter(None, (used_words(resumed.after),)))
    yield from paragraph(f"Boards for the pickets to come{whose}", (*boards, *told))
    if resumed.again is not None and len(resumed.again.relay):
        yield ""
        yield "Old and new"
        table = filled_columns(change_table(resumed, stretch_only=True))
        yield from text_lines(table, Words.of_readings(words.system))
    yield from _after_stretch(resumed)
    yield from _other_runs(resumed)
    yield from paragraph("Look at", map(str, resumed.problems))
    yield from taken_lines(resumed.ask.assumed)
    yield ""
    yield "Mark every edge from the start of the run, not from board to board, so that errors do not add up."


def kept_lines(built: AsBuilt) -> Iterator[str]:
    """What is written into the record of what stands, for the screen."""
    listed = [run.name for run in built.run if run.cut]
    yield ""
    yield "Kept: what stands, and its line of tops" + (
        f"; so that no board cut already is cut again, the saw list's lengths of {' and '.join(listed)}"
        if listed
        else ""
    )


def _where(resumed: Resumed) -> Iterator[str]:
    run, again, last = resumed.new, resumed.again, resumed.last
    edges = Words.of_readings(resumed.after.units)
    after = f"after picket {last} of {len(resumed.old.slots)}" if last else "before the first picket"
    yield f"{run.run.name}: {after}, at {edges.station(resumed.at)}"
    if again is None:
        yield from (line for line in ("  as planned",) if last)
    else:
        shift = again.at - again.planned
        if abs(shift) > SAME_LENGTH:
            toward = "farther" if shift > 0 else "nearer"
            yield f"  planned at {edges.station(again.planned)}: {edges.length(abs(shift))} {toward}"
        room, end = edges.station(again.end - again.at), edges.station(again.end)
        yield f"  {room} left to fill, up to {end}"
        if abs(again.width - resumed.laid_for) > SAME_LENGTH:
            yield f"  {_width_words(resumed)}"
            yield "  those to come are laid for boards of that width"
    if last:
        up = numbered("picket", range(last))
        yield f"  {up} is up and stays as it is" if last == 1 else f"  {up} are up and stay as they are"


def _width_words(resumed: Resumed) -> str:
    """The width of the boards, finer than a tape reads it, and what it comes to over those that are up.

    Of two rows that overlap it is over those of the first, whose widths and gaps make up the way.
    """
    words, width, planned = resumed.after.words, resumed.new.layout.width, resumed.laid_for
    count = int((resumed.new.layout.row[: resumed.last] == 0).sum())
    more = count * (width - planned)
    rows = row_names(resumed.boards.pattern)
    over = f"{words.fine(abs(more))} {'more' if more > 0 else 'less'} over {plural(count, 'board')}"
    over += "".join(f" of the {name}" for name in rows[:1])
    return f"boards run {words.width(width)} wide on average, planned {words.width(planned)}: {over}"


def _verdict(resumed: Resumed) -> Iterator[str]:
    again = resumed.again
    if again is None:
        coming = len(resumed.new.slots) - resumed.last
        yield f"As planned: {plural(coming, 'picket')} to come"
        return
    relay, planned = again.relay, again.replaced
    if relay.kind is RelayKind.AS_PLANNED:
        yield f"As planned: {plural(planned, 'picket')} to come in this stretch"
        return
    if not relay.within:
        limit = Words.of_layout(resumed.after.units).given(again.limit)
        yield f"CANNOT BE DONE within {limit} a board; this is the best that can"
    if relay.kind is RelayKind.NOTHING:
        yield "No further picket in this stretch"
        return
    yield f"Set {plural(resumed.relaid, 'picket')} in this stretch (planned {planned})"
    yield from (f"  {line}" for line in _relay_words(resumed, again, relay))


def _relay_words(resumed: Resumed, again: Again, relay: Relay) -> Iterator[str]:
    """The gaps and rips of one way to lay the rest."""
    fine = Words.of_layout(resumed.after.units)
    gap, last = again.gap, again.gap + relay.departure
    if relay.kind is not RelayKind.NOTHING:
        if fine.length(last) == fine.length(gap):
            other = abs(relay.departure) * len(relay.gaps) >= fine.mark
            yield f"gap {fine.length(last)}, as before{_by_spacer(relay, last, fine) if other else ''}"
        elif not relay.within:
            yield f"gap from {fine.length(gap)} to {fine.length(last)}"
        elif relay.change < abs(relay.departure) - SAME_LENGTH and relay.change > 0:
            steps = int(np.ceil(abs(relay.departure) / relay.change - SAME_LENGTH))
            yield (
                f"gap from {fine.length(gap)} to {fine.length(last)} over {plural(steps, 'board')}, "
                f"{fine.length(relay.change)} a board, then the same"
            )
        else:
            yield f"gap {fine.length(last)} instead of {fine.length(gap)}{_by_spacer(relay, last, fine)}"
    if relay.ripped:
        yield f"{relay.kind} to {fine.length(relay.ripped[-1])}"
    if relay.end_gap > fine.mark / 2:
        yield f"{fine.length(relay.end_gap)} stays open at the end"


def _by_spacer(relay: Relay, gap: float, fine: Words) -> str:
    """How far the last board comes off where its gaps are set by a spacer as the gap is told."""
    told = to_marks(gap, fine.mark) * fine.mark
    off = float(told - gap) * len(relay.gaps)
    if abs(off) < fine.mark:
        return ""
    far = "too far" if off > 0 else "too near"
    return f" (by a spacer of {fine.length(told)} the last board comes {fine.length(abs(off))} {far})"


def _others(resumed: Resumed) -> Iterator[str]:
    again = resumed.again
    if again is None or not again.others:
        return
    yield "Next best"
    row = "".join(f" of the {name}" for name in row_names(resumed.boards.pattern)[:1])
    for relay in again.others[:MOST_OTHERS]:
        words = "; ".join(_relay_words(resumed, again, relay)) or "nothing more"
        beyond = "" if relay.within else ", over the limit"
        yield f"  {plural(len(relay), 'board')}{row}: {words}{beyond}"


def _after_stretch(resumed: Resumed) -> Iterator[str]:
    again, count, new = resumed.again, len(resumed.old.slots), len(resumed.new.slots)
    first = resumed.last + again.replaced if again else count
    if first >= count:
        return
    yield ""
    text = f"The plan's pickets {first + 1}-{count}, past this stretch"
    now = resumed.last + resumed.relaid
    same = new - now == count - first and np.allclose(
        resumed.new.slots.left[now:], resumed.old.slots.left[first:]
    )
    where = "stand where they were planned" if same else "are laid anew with boards of this width"
    numbers = "" if (now, new) == (first, count) else f" and are now {now + 1}-{new}"
    yield f"{text}, {where}{numbers}."


def _other_runs(resumed: Resumed) -> Iterator[str]:
    """The runs not begun, which are laid for boards of another width than before."""
    words = resumed.after.words
    for was, now in zip(resumed.before.runs, resumed.after.runs, strict=True):
        if now.run.name != resumed.new.run.name and was.layout.width != now.layout.width:
            width, count = words.width(now.layout.width), len(now.slots)
            planned = "" if count == len(was.slots) else f" (planned {len(was.slots)})"
            yield ""
            yield f"{now.run.name}, not begun, is laid for boards of {width} too: {count} pickets{planned}."


def board_table(resumed: Resumed) -> Table:
    """Boards by length, as the buying list has them: planned for the pickets to come and those of gates,
    needed, spare, left, to buy, over; the left ones where they were counted or any were on hand."""
    before, stock = resumed.needed_before(), resumed.after.job.pickets.stock
    counted = resumed.ask.built.left is not None or any(one.on_hand for one in stock)
    columns = columns_of(
        "length:sold | planned:count | needed:count | spare:count | boards left:count | to buy:count | "
        "left over:count"
    )
    rows: list[tuple[Cell, ...]] = []
    own = resumed.after.families.pickets
    for k, (one, boards) in enumerate(zip(own.offered, boards_of_pickets(resumed.after), strict=True)):
        planned, begun = None if before is None else int(before[k]), own.begun[k]
        left, over = (one.on_hand - begun, one.on_hand - boards.taken) if counted else (None, None)
        need = max(0, boards.need - begun)
        rows.append((one.length, planned, need, boards.spare or None, left, boards.to_buy, over))
    return Table(name="resume_boards", columns=columns, rows=rows)


def _longer(resumed: Resumed) -> Iterator[str]:
    """Boards on hand that are used where shorter ones would do, of lengths of which more are needed so than
    were planned."""
    boards, words, before = boards_of_pickets(resumed.after), resumed.after.words, resumed.needed_before()
    planned = [b.need for b in boards] if before is None else before.tolist()
    rows = zip(resumed.after.families.pickets.offered, boards, planned, strict=True)
    longer = [f"{b.longer} of {words.sold_length(s.length)}" for s, b, n in rows if b.longer and b.need > n]
    if longer:
        yield f"{listed(longer)} on hand go where a shorter length would do, which then need not be bought"


def change_table(resumed: Resumed, stretch_only: bool = False) -> Table:
    """Every picket to come beside the one of the same number in the plan.

    `stretch_only`: leave out those past the stretch that was laid again. A picket of the plan that falls away
    has a row without new edges.
    """
    columns = columns_of(
        "picket:count | in the plan:count | gap before:space | left edge:station | right edge:station | "
        "planned right:station | kept:length | planned kept:length | change:length | from stock:sold | look"
    )
    rows = list(_change_rows(resumed, stretch_only))
    return Table(name="resume_chart", columns=columns, rows=rows)


def _change_rows(resumed: Resumed, stretch_only: bool) -> Iterator[tuple[Cell, ...]]:
    old_run, run, mark, last = resumed.old, resumed.new, resumed.after.mark, resumed.last
    again, gaps = resumed.again, _gaps_before(resumed)
    past = last + resumed.relaid if stretch_only else len(run.slots)
    stock = [s.length for s in resumed.after.stock.offered]
    for i in np.flatnonzero(run.layout.coming[:past]).tolist():
        old = resumed.planned_number(i + 1)
        kept = float(run.cuts.kept[i] * mark)
        planned = None if old is None else float(old_run.cuts.kept[old - 1] * mark)
        change = None if planned is None or abs(kept - planned) < mark / 2 else kept - planned
        yield (
            i + 1,
            old,
            gaps[i],
            float(run.slots.left[i]),
            float(run.slots.right[i]),
            None if old is None else float(old_run.slots.right[old - 1]),
            kept,
            planned,
            change,
            stock[run.stock[i]] if run.stock[i] != NO_STOCK else "none",
            ", ".join(flags_of(run.flags, i)),
        )
    if again is not None:
        met = {resumed.planned_number(i + 1) for i in range(last, len(run.slots))}
        end = last + again.replaced if stretch_only else len(old_run.slots)
        for old in sorted(set(range(last + 1, end + 1)) - met):
            right, kept = float(old_run.slots.right[old - 1]), float(old_run.cuts.kept[old - 1] * mark)
            yield (None, old, None, None, None, right, None, kept, None, None, "falls away")


def _gaps_before(resumed: Resumed) -> list[float | None]:
    """Space to the board before in the same row; None for the first of a row or past an opening."""
    slots, rows = resumed.new.slots, resumed.new.layout.row
    gaps = np.full(len(slots), np.inf)
    for row in range(2):
        own = np.flatnonzero(rows == row)
        gaps[own[1:]] = slots.left[own][1:] - slots.right[own][:-1]
    widest = slots.width.max(initial=0.0) * 1.5
    return [gap if gap < widest else None for gap in gaps.tolist()]


def resume_record(resumed: Resumed) -> dict[str, Any]:
    """The same for machines; lengths in the job's unit."""
    words, again = resumed.after.words, resumed.again
    number = words.number
    return {
        "format": FORMAT,
        "title": resumed.after.job.title,
        "units": str(words.system),
        "length_unit": words.unit,
        "run": resumed.new.run.name,
        "after": resumed.last,
        "at": number(resumed.at),
        "shift": number(again.at - again.planned) if again else 0.0,
        "limit": number(again.limit) if again else None,
        "board_width": number(resumed.new.layout.width),
        "stretch_end": number(again.end) if again else None,
        "chosen": _relay_record(again.relay, words) if again else None,
        "others": [_relay_record(r, words) for r in again.others] if again else [],
        "pickets": json_records(change_table(resumed), words),
        "boards": [
            {**dict(zip(_BOARDS, row.values(), strict=True)), "spare": row["spare"] or 0}
            for row in json_records(board_table(resumed), words)
        ],
        "assumed": dict(resumed.ask.assumed),
        "doubts": [p.found for p in resumed.doubts],
        "provisional": list(provisional_words(grounds_of(resumed.after))),
        "problems": [p.as_dict() for p in resumed.problems],
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
