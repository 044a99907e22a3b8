"""The record of what was built against the plan, and what is left to fix: words, tables and JSON."""

from collections.abc import Iterator
from typing import Any

from fencegrade.building.record import BuiltRecord, largest_off
from fencegrade.sheets.tables import Cell, Column, Kind, Table, filled_columns, text_lines
from fencegrade.units.words import Words


def record_lines(record: BuiltRecord, words: Words) -> Iterator[str]:
    """The record of one run, for the screen or a page."""
    by = f" by {record.checked_by}" if record.checked_by else ""
    on = f" on {record.checked_on}" if record.checked_on else ""
    yield f"As built, {record.run}: checked{by}{on}" if by or on else f"As built, {record.run}"
    if not record.checked_by:
        yield "  the file does not say who checked it: add checked_by"
    for table in (board_record_table(record), post_record_table(record), rail_record_table(record)):
        filled = filled_columns(table)
        if filled.columns:
            yield ""
            yield table.title
            yield from text_lines(filled, words)
    off = largest_off(record.boards)
    if off:
        yield f"  the edges lie up to {words.length(off)} from their plan"
    yield ""
    yield f"Left to fix (posts off by more than {words.length(record.tolerance)} are listed)"
    yield from (f"  [ ] {p}" for p in record.fixes)
    if not record.fixes:
        yield "  nothing among what was measured"


def board_record_table(record: BuiltRecord) -> Table:
    """Measured boards beside their plan."""
    columns = (
        Column(head="picket", kind=Kind.COUNT),
        Column(head="planned edge", kind=Kind.STATION),
        Column(head="edge", kind=Kind.STATION),
        Column(head="off plan", kind=Kind.LENGTH),
        Column(head="planned height", kind=Kind.LENGTH),
        Column(head="height", kind=Kind.LENGTH),
        Column(head="planned gap", kind=Kind.LENGTH),
        Column(head="gap", kind=Kind.LENGTH),
    )
    rows: list[tuple[Cell, ...]] = []
    for b in record.boards:
        edge = (
            (None, None, None) if b.right is None else (b.planned_right, b.right, b.right - b.planned_right)
        )
        height = (None, None) if b.height is None else (b.planned_height, b.height)
        gap = (None, None) if b.gap is None else (b.planned_gap, b.gap)
        rows.append((b.number, *edge, *height, *gap))
    return Table(name="built_boards", title="Boards as built", columns=columns, rows=rows)


def post_record_table(record: BuiltRecord) -> Table:
    """Posts as set beside their plan."""
    columns = (
        Column(head="post", kind=Kind.COUNT),
        Column(head="planned", kind=Kind.STATION),
        Column(head="set at", kind=Kind.STATION),
        Column(head="off plan", kind=Kind.LENGTH),
        Column(head="planned top", kind=Kind.LENGTH),
        Column(head="top", kind=Kind.LENGTH),
        Column(head="too high", kind=Kind.LENGTH),
    )
    rows: list[tuple[Cell, ...]] = []
    for p in record.posts:
        top = (None, None, None) if p.top is None else (p.planned_top, p.top, p.top - p.planned_top)
        rows.append((p.number, p.planned, p.station, p.station - p.planned, *top))
    return Table(name="built_posts", title="Posts as set", columns=columns, rows=rows)


def rail_record_table(record: BuiltRecord) -> Table:
    """Rails between the posts as set."""
    columns = (
        Column(head="bay", kind=Kind.COUNT),
        Column(head="rail planned", kind=Kind.LENGTH),
        Column(head="rail needed", kind=Kind.LENGTH),
        Column(head="longest offered", kind=Kind.LENGTH),
    )
    rows = [(r.bay, r.planned, r.needed, r.longest) for r in record.rails]
    return Table(name="built_rails", title="Rails between the posts as set", columns=columns, rows=rows)


def record_json(record: BuiltRecord, words: Words) -> dict[str, Any]:
    """The record for machines; lengths in the job's unit."""

    def length(inches: float | None) -> float | None:
        return None if inches is None else words.number(inches)

    return {
        "run": record.run,
        "checked_by": record.checked_by,
        "checked_on": record.checked_on,
        "tolerance": length(record.tolerance),
        "boards": [
            {
                "number": b.number,
                "planned_right": length(b.planned_right),
                "right": length(b.right),
                "planned_height": length(b.planned_height),
                "height": length(b.height),
                "planned_gap": length(b.planned_gap),
                "gap": length(b.gap),
            }
            for b in record.boards
        ],
        "posts": [
            {
                "number": p.number,
                "planned": length(p.planned),
                "station": length(p.station),
                "planned_top": length(p.planned_top),
                "top": length(p.top),
            }
            for p in record.posts
        ],
        "rails": [
            {
                "bay": r.bay,
                "planned": length(r.planned),
                "needed": length(r.needed),
                "longest": length(r.longest),
            }
            for r in record.rails
        ],
        "fixes": [{"place": p.place, "message": p.message} for p in record.fixes],
    }
