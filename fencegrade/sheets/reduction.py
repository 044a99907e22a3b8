"""The readings reduced: every elevation, and a level book as a surveyor writes it, as tables and as JSON."""

from collections.abc import Iterator
from typing import Any

from fencegrade.ground.reduction import ONLY_STRING, LevelPage
from fencegrade.ground.survey import RunGround
from fencegrade.sheets.tables import Table, columns_of, json_records
from fencegrade.units.words import Words


def readings_table(ground: RunGround, points: bool) -> Table:
    """Every reading of a run in order of station: its line, level station, set-up and elevation.

    `used` is the mean of all readings of the spot, which the line goes through; `marks` as in its note.
    `points`: whether a run of the table was read by points, which lie off its line, left positive.
    """
    return Table(
        name="readings",
        columns=columns_of(
            "line:count | station:length | set-up | as written:length | elevation:length | used:length | "
            f"side | marks{' | offset:length' if points else ''}"
        ),
        rows=[row if points else row[:-1] for row in _reading_rows(ground)],
    )


def _reading_rows(ground: RunGround) -> Iterator[tuple[Any, ...]]:
    by_line = {r.line: r for r in ground.reduction.readings}
    for station, used, lines in zip(ground.stations, ground.elevations, ground.levels.lines, strict=True):
        for line in lines:
            r = by_line[line]
            setup = "" if r.setup in (None, ONLY_STRING) else str(r.setup)
            side, marks = str(r.side or ""), " ".join(sorted(r.marks))
            yield line, float(station), setup, r.raw, r.elevation, float(used), side, marks, r.offset


def level_table(ground: RunGround, page: LevelPage) -> Table:
    """A level book reduced by height of instrument and by rise and fall, with its sums and their check."""
    return Table(
        name="level_book",
        columns=columns_of(
            "line | station:length | backsight:length | intermediate:length | foresight:length | "
            "height of instrument:length | rise:length | fall:length | elevation:length | adjusted:length"
        ),
        rows=[*_level_rows(page), *_sum_rows(page)],
    )


def _level_rows(page: LevelPage) -> Iterator[tuple[Any, ...]]:
    instruments = iter(page.instrument)
    for row, step in zip(page.rows, page.steps, strict=True):
        instrument = next(instruments) if row.backsight is not None else None
        rise = step if step is not None and step >= 0 else None
        fall = -step if step is not None and step < 0 else None
        sights = (row.backsight, row.intermediate, row.foresight)
        yield str(row.line), row.station, *sights, instrument, rise, fall, row.elevation, row.adjusted


def _sum_rows(page: LevelPage) -> Iterator[tuple[Any, ...]]:
    """Sums over the closed set-ups, and the three differences that must be one figure."""
    rises, falls = page.rises_and_falls
    blank = None
    yield "sums", blank, page.backsights, blank, page.foresights, blank, rises, falls, blank, blank
    sights, steps = page.backsights - page.foresights, rises - falls
    yield "check", blank, sights, blank, blank, blank, steps, blank, page.rise, blank


def level_check_line(page: LevelPage, words: Words) -> str:
    """The arithmetic check of a level book in one line."""
    rises, falls = page.rises_and_falls
    sights, steps = words.length(page.backsights - page.foresights), words.length(rises - falls)
    agree = "they agree" if page.checks else "they do not agree"
    return (
        f"level book: backsights less foresights {sights}, rises less falls {steps}, last less first "
        f"elevation {words.length(page.rise)}: {agree}"
    )


def table_json(table: Table, words: Words) -> list[dict[str, Any]]:
    """A table's rows as plain values by heading, lengths in the job's unit; empty cells are left out."""
    return [
        {key: cell for key, cell in row.items() if cell is not None and cell != ""}
        for row in json_records(table, words)
    ]
