"""Tables as data: what a sheet lists, before it becomes text, CSV, paper or a page."""

import csv
import io
from collections.abc import Collection, Iterable, Iterator, Sequence
from enum import Enum, auto
from typing import Any, TextIO

from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from fencegrade.units import MASS, VOLUME
from fencegrade.units.words import Words, price_digits

Cell = str | int | float | None

_BLOCK = 10_000
"""Rows made plain at a time."""

_FORMULA_SIGNS = frozenset("=+-@＝＋－＠")
"""What a formula begins with; spreadsheets that know East Asian widths take the wide signs too."""


class Kind(Enum):
    """What a column holds, and with it how its cells are written."""

    TEXT = auto()
    COUNT = auto()
    LENGTH = auto()
    SPACE = auto()
    STATION = auto()
    HEIGHT = auto()
    TO_SET = auto()
    MONEY = auto()
    PRICE = auto()
    SOLD = auto()
    OVER = auto()
    MASS = auto()
    VOLUME = auto()


_LENGTHS = frozenset({Kind.LENGTH, Kind.SPACE, Kind.STATION, Kind.HEIGHT, Kind.TO_SET, Kind.SOLD, Kind.OVER})
"""Kinds that are lengths, written in CSV as numbers of one unit."""


class Column(Struct, frozen=True, kw_only=True):
    """One column: its heading and what it holds. Lengths of every kind are inches in the rows, masses
    pounds, volumes cubic feet; a price may have more decimals than money.
    """

    head: str
    kind: Kind = Kind.TEXT

    @property
    def right(self) -> bool:
        """Whether its cells line up on the right."""
        return self.kind is not Kind.TEXT


def columns_of(heads: str) -> tuple[Column, ...]:
    """Columns by their headings, ` | ` between them, the kind after a colon: `post:count | kind`."""
    return tuple(
        Column(head=head, kind=Kind[kind.upper()] if kind else Kind.TEXT)
        for head, _, kind in (column.partition(":") for column in heads.split(" | "))
    )


class Table(Struct, frozen=True, kw_only=True):
    """A table: `name` for files, `title` where it stands under one, columns, and rows as wide as the columns.

    `rows` may be any iterable and is walked once; None stands for an empty cell.
    """

    name: str
    title: str = ""
    columns: tuple[Column, ...]
    rows: Iterable[Sequence[Cell]]

    @property
    def heads(self) -> tuple[str, ...]:
        """The headings."""
        return tuple(c.head for c in self.columns)

    def written(self, words: Words, stations: Words | None = None) -> Iterator[tuple[str, ...]]:
        """The rows as people read them; `stations`: words of stations where they have their own."""
        by_column = [(stations if k.kind is Kind.STATION else None) or words for k in self.columns]
        for row in self.rows:
            cells = zip(row, self.columns, by_column, strict=True)
            yield tuple(write_cell(cell, k.kind, own) for cell, k, own in cells)


def write_cell(cell: Cell, kind: Kind, words: Words) -> str:
    """One cell as people read it; an empty text for None."""
    if cell is None:
        return ""
    if isinstance(cell, str) or kind in {Kind.TEXT, Kind.COUNT}:
        return str(cell)
    match kind:
        case Kind.LENGTH:
            return words.length(cell)
        case Kind.SPACE:
            return words.space(cell)
        case Kind.HEIGHT:
            return words.height(cell)
        case Kind.TO_SET:
            return words.height_to_set(cell)
        case Kind.STATION:
            return words.station(cell)
        case Kind.SOLD:
            return words.sold_length(cell)
        case Kind.OVER:
            return over_line_words(cell, words)
        case Kind.MASS:
            return MASS.format(cell, words.system, places=0)
        case Kind.VOLUME:
            return VOLUME.format(cell, words.system)
        case Kind.PRICE:
            return words.price(cell)
        case _:
            return words.money(cell)


def over_line_words(inches: float, words: Words) -> str:
    """A height (in) over a line in words: `8-1/4 in`, `8-1/4 in under` where it lies below."""
    return f"{words.fine(abs(inches))}{' under' if inches < -words.fine_mark / 2 else ''}"


def sides_told(texts: Sequence[str]) -> list[str]:
    """One column of such words: where any lies below its line, the others say that they are over it."""
    below = any(text.endswith(" under") for text in texts)
    return [f"{t} over" if below and t[-1:].isalnum() and not t.endswith(" under") else t for t in texts]


def plain_rows(*columns: NDArray[Any]) -> Iterator[tuple[Any, ...]]:
    """Row by row, the values of equally long columns as plain numbers; only some rows are held at a time."""
    for first in range(0, len(columns[0]), _BLOCK):
        yield from zip(*(column[first : first + _BLOCK].tolist() for column in columns), strict=True)


def csv_text(table: Table, words: Words) -> str:
    """The table as CSV: lengths as plain numbers with the unit in the heading, texts made harmless."""
    out = io.StringIO()
    write_csv(table, words, out)
    return out.getvalue()


def write_csv(table: Table, words: Words, out: TextIO) -> None:
    """Write the table as `csv_text` gives it, row by row."""
    write = csv.writer(out, lineterminator="\n")
    write.writerow([_csv_head(c, words) for c in table.columns])
    for row in table.rows:
        write.writerow([_csv_cell(c, k.kind, words) for c, k in zip(row, table.columns, strict=True)])


def _csv_head(column: Column, words: Words) -> str:
    unit = ""
    if column.kind in _LENGTHS:
        unit = words.unit
    elif column.kind is Kind.MASS:
        unit = words.mass_unit
    elif column.kind is Kind.VOLUME:
        unit = _volume_unit(words)
    return f"{column.head} [{unit}]" if unit else column.head


def _volume_unit(words: Words) -> str:
    return VOLUME.printed[words.system][0]


def table_records(table: Table, words: Words) -> list[dict[str, Cell]]:
    """The rows by the headings of the CSV: lengths and weights in the unit named there, money as numbers."""
    return _records(table, [_csv_head(c, words) for c in table.columns], words)


def json_records(table: Table, words: Words) -> list[dict[str, Cell]]:
    """The rows as an answer in JSON holds them: numbers in the job's unit by the headings as single words."""
    return _records(table, [head.replace(" ", "_").replace("-", "_") for head in table.heads], words)


def _records(table: Table, keys: Sequence[str], words: Words) -> list[dict[str, Cell]]:
    kinds = [c.kind for c in table.columns]
    return [
        {key: _plain(cell, kind, words) for key, cell, kind in zip(keys, row, kinds, strict=True)}
        for row in table.rows
    ]


def _plain(cell: Cell, kind: Kind, words: Words) -> Cell:
    """A cell as a number of its column's unit, or as it is; words that a reader finds there are no number."""
    if cell is None or isinstance(cell, str):
        return cell if kind is Kind.TEXT else None
    if kind in _LENGTHS:
        return words.number(cell)
    if kind is Kind.VOLUME:
        return round(VOLUME.value_in(cell, _volume_unit(words)), 4)
    return round(words.mass(cell), 1) if kind is Kind.MASS else cell


def _csv_cell(cell: Cell, kind: Kind, words: Words) -> Cell:
    plain = _plain(cell, kind, words)
    if plain is None:
        return ""
    if isinstance(plain, str):
        return inert(plain)
    match kind:
        case Kind.MONEY:
            return f"{plain:.2f}"
        case Kind.PRICE:
            return price_digits(plain)
        case _:
            return plain


def inert(text: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    return "'" + text if text.lstrip()[:1] in _FORMULA_SIGNS or text[:1] in {"\t", "\r"} else text


def text_lines(table: Table, words: Words, stations: Words | None = None) -> Iterator[str]:
    """The table as text columns, each as wide as its widest cell, a rule under the headings.

    `stations`: words of stations, where what else there is stands to a finer mark.
    """
    rows = [table.heads, *table.written(words, stations)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(table.columns))]
    for index, row in enumerate(rows):
        cells = [
            cell.rjust(width) if column.right else cell.ljust(width)
            for cell, width, column in zip(row, widths, table.columns, strict=True)
        ]
        yield "  ".join(cells).rstrip()
        if index == 0:
            yield "  ".join("-" * width for width in widths)


def filled_columns(table: Table) -> Table:
    """The table without the columns that no row fills."""
    table = replace(table, rows=[tuple(row) for row in table.rows])
    filled = range(len(table.columns))
    return _columns(table, [k for k in filled if any(row[k] not in {None, ""} for row in table.rows)])


def without(table: Table, heads: Collection[str]) -> Table:
    """The table without the columns of these headings."""
    return _columns(table, [k for k, column in enumerate(table.columns) if column.head not in heads])


def _columns(table: Table, keep: Sequence[int]) -> Table:
    columns = tuple(table.columns[k] for k in keep)
    return replace(table, columns=columns, rows=[tuple(row[k] for k in keep) for row in table.rows])


def joined_runs(tables: Sequence[Table], runs: Sequence[str]) -> Table:
    """Tables of one kind, a run each, as one with the run's name in the first column."""
    rows = ((run, *row) for table, run in zip(tables, runs, strict=True) for row in table.rows)
    return Table(
        name=tables[0].name,
        columns=(Column(head="run"), *tables[0].columns),
        rows=rows,
    )
