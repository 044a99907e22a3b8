"""The heights tables: at which height of the line boards change stock, and what that saves or costs."""

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

from msgspec.structs import replace

from fencegrade.fence.tops.table import TopStyle
from fencegrade.planning.heights import JobHeights, RunHeights
from fencegrade.sheets.facts import as_before, provisional_words
from fencegrade.sheets.height_words import OF_WHAT_LINE, counted_words, moved_words
from fencegrade.sheets.screen.wrapping import wrapped
from fencegrade.sheets.tables import Cell, Table, columns_of, filled_columns, text_lines
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, plural

FORMAT = "fencegrade-heights/1"
_MOST_ROWS = 24
_NOTHING = 0.005
"""In the job's money, or inches."""


def heights_table(found: JobHeights, entry: RunHeights) -> Table:
    """Every height at which a board changes stock, lowest line first."""
    words = found.job.words
    lengths = found.lengths
    stocks = "".join(f" | boards of {words.sold_length(length)}:count" for length in lengths)
    columns = columns_of(
        f"moved by:length{stocks} | without board:count | cut:count | "
        f"cost:{'money' if found.priced else 'length'} | lowest:height | tallest:height | mark"
    )
    table, over = entry.table, entry.over_limit
    rows: list[tuple[Cell, ...]] = [
        (
            float(table.offset[i]),
            *(int(n) for n in table.boards[i]),
            int(table.unserved[i]) or None,
            int(table.cuts[i]),
            float(table.cost[i]),
            float(table.shortest[i]),
            float(table.tallest[i]),
            ", ".join(["knee"] * bool(table.knee[i]) + ["over the limit"] * bool(over[i])) or None,
        )
        for i in range(len(table))
    ]
    title = f"Heights of the {entry.style} line, {entry.run}"
    return Table(name=f"heights_{entry.style}", title=title, columns=columns, rows=rows)


def heights_lines(found: JobHeights, *, more: str = "") -> Iterator[str]:
    """The tables on the screen, thinned to the knees where they are long, each with advice in words.

    `more`: how the tables of other tops than the job's are seen; all of them stand here where it is empty.
    """
    words = found.job.words
    yield f"{found.job.title}: what a lower or higher line would change"
    yield from as_before(found.job)
    yield from provisional_words(found.grounds)
    yield from wrapped(
        f"{counted_words(found.job)} Each row holds up to and with its height; at a knee a little lower "
        "saves less than a little higher costs."
    )
    yield from wrapped(OF_WHAT_LINE)
    own = {run.name: run.style or found.job.top.style for run in found.job.runs}
    shown = [entry for entry in found.tables if not more or entry.style is own[entry.run]]
    for entry in sorted(shown, key=lambda e: list(own).index(e.run)):
        yield ""
        yield from _table_lines(found, entry, words)
        for line in _advice(found, entry, words):
            yield from wrapped(line)
    if len(shown) < len(found.tables):
        yield ""
        yield from wrapped(f"The tables of other tops: {more}.")
    yield from _worth_a_look(found, [None] if more else list(TopStyle), words)


def _worth_a_look(found: JobHeights, styles: Sequence[TopStyle | None], words: Words) -> Iterator[str]:
    """What the line of the whole fence a little higher or lower spares, under the job's top or others."""
    for style in styles:
        moved = found.moved(style)
        if moved is not None:
            yield ""
            under = "The fence as asked for" if style is None else f"The fence with a {style} top"
            yield from wrapped(f"{under}, worth a look: {moved_words(moved, words)}.")


def _table_lines(found: JobHeights, entry: RunHeights, words: Words) -> Iterator[str]:
    """One table, thinned where it is long."""
    full = heights_table(found, entry)
    yield full.title.upper()
    rows = list(full.rows)
    if len(rows) > _MOST_ROWS:
        here = entry.table.row_at(0.0)
        rows = [r for i, r in enumerate(rows) if entry.table.knee[i] or abs(i - here) <= 4]
        yield f"{len(rows)} of {len(entry.table)} heights: the knees, and those about the present line"
    yield from text_lines(filled_columns(replace(full, rows=rows)), words)


def _advice(found: JobHeights, entry: RunHeights, words: Words) -> Iterator[str]:
    """What the sharpest knee below the present line saves."""
    table = entry.table
    top = float(table.offset[-1])
    if top < -SAME_LENGTH:
        yield (
            f"The line as it stands is {words.length(-top)} over the last row: more pickets than there are "
            "without board outgrow the longest stock."
        )
    drop = entry.drop
    if drop is None or not drop.shorter:
        return

    def worth(value: float) -> str:
        return words.money(value) if found.priced else words.station(value)

    lowest, wanted = float(table.shortest[drop.row]), found.job.top.least_height
    under = f", less than the {words.height(wanted)} wanted" if lowest < wanted - SAME_LENGTH else ""
    doubt = (
        ""
        if worth(drop.saved) == worth(drop.drawn) or drop.drawn <= _NOTHING
        else (f" ({worth(drop.drawn)} as drawn, before the boards that `plan` takes longer in doubt)")
    )
    have = f"{plural(drop.served, 'picket')} that no stock serves now {'has' if drop.served == 1 else 'have'}"
    gained = f"; {have} a board then" if drop.served else ""
    what = f"saves {worth(drop.saved)} of boards" if drop.saved > _NOTHING else "saves nothing"
    yield (
        f"Drop the line {words.length(-float(table.offset[drop.row]))} and {plural(drop.shorter, 'board')} "
        f"{'goes' if drop.shorter == 1 else 'go'} to a shorter stock, which {what}{doubt}{gained}; the "
        f"fence is then {words.height(lowest)} at its lowest{under}."
    )


def heights_json(found: JobHeights) -> dict[str, Any]:
    """The tables as plain values, lengths in the job's unit."""
    words = found.job.words
    number = words.number
    lengths = [number(s) for s in found.lengths]
    money = partial(round, ndigits=2) if found.priced else number
    return {
        "format": FORMAT,
        "title": found.job.title,
        "length_unit": words.unit,
        "stock": lengths,
        "provisional": list(provisional_words(found.grounds)),
        "runs": [
            {
                "name": entry.run,
                "top": str(entry.style),
                "heights": [
                    {
                        "moved_by": number(entry.table.offset[i]),
                        "cost": money(float(entry.table.cost[i])),
                        "boards": [int(n) for n in entry.table.boards[i]],
                        "unserved": int(entry.table.unserved[i]),
                        "cut": int(entry.table.cuts[i]),
                        "lowest": number(entry.table.shortest[i]),
                        "tallest": number(entry.table.tallest[i]),
                        "knee": bool(entry.table.knee[i]),
                        "over_limit": bool(over),
                    }
                    for i, over in enumerate(entry.over_limit.tolist())
                ],
            }
            for entry in found.tables
        ],
    }
