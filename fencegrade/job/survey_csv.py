"""The only reader of survey CSV files: cells to the readings of one run.

Every mistake of a file is found in one pass and reported with its line. No number is given a unit by guess.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from fencegrade.job.csv_text import CellTable, FileMistakes, shown, split_table
from fencegrade.job.fields import MOST_TEXT
from fencegrade.job.survey import Side, Survey
from fencegrade.job.survey_header import (
    COLUMN_NAMES,
    WORDS,
    Layout,
    name_and_unit,
    read_header,
    unit_examples,
)
from fencegrade.job.text_file import SURVEY_FILE, printable, read_text
from fencegrade.problems import Problem
from fencegrade.units import UnitError, parse_length
from fencegrade.units.lengths import INCHES_PER
from fencegrade.units.words import listed

MOST_READINGS = 100_000
"""A survey with more is refused as soon as it is met; its ground would be many miles in one run."""

MOST_FEET = 1_000_000
MOST_GRID_FEET = 80_000_000

_CHAINAGE = re.compile(r"\d+\+\d.*")
_PLAIN = re.compile(r"([+-]?[0-9]{1,15})(?:\.([0-9]{1,15}))?")
_THOUSANDS = re.compile(r"(?<![0-9])[1-9][0-9]{0,2},[0-9]{3}(?![0-9])")
_POINT = re.compile(r"\.\d")
_COMMA_IN_NUMBER = re.compile(r"\d,\d|(?<!\S)[+-]?,\d")


def read_survey(path: Path) -> tuple[Survey | None, tuple[Problem, ...]]:
    """Read one run's survey CSV.

    path: the file; messages and the survey go by its own name.
    Result: the survey, lengths in inches and rows in file order, or None where anything is wrong; and every
    mistake of the file in order of lines (the first 20 and their number where there are more than 50).
    Range: up to 200 MB, 100,000 readings, and lengths to 1,000,000 ft (x and y to 80,000,000 ft).
    """
    named = printable(path.name or str(path))
    return survey_of(read_text(path, named, SURVEY_FILE), named)


def survey_of(text: str | Problem, named: str) -> tuple[Survey | None, tuple[Problem, ...]]:
    """The survey that a CSV text holds, or the one problem that kept it from being read; as `read_survey`.

    `text` with plain line feeds; `named`: how messages and the survey name it.
    """
    if isinstance(text, Problem):
        return None, (text,)
    table = split_table(text, named, COLUMN_NAMES)
    if isinstance(table, Problem):
        return None, (table,)
    mistakes = FileMistakes(place=named)
    layout = read_header(table, mistakes)
    if layout is None:
        return None, mistakes.problems()
    numbers = _Numbers(separator=table.separator)
    columns = [
        _Column(name=name, index=index, unit=unit, filled=name in layout.kind.filled, numbers=numbers)
        for name, index, unit in layout.columns
    ]
    rows = tuple(_read_rows(table, layout, columns, mistakes))
    _report_bare(columns, mistakes)
    numbers.report(mistakes)
    if mistakes.count:
        return None, mistakes.problems()
    figures = {*layout.kind.tells} - WORDS
    of_figures, of_stations = (
        {unit or "" for name, _, unit in layout.columns if name in columns}
        for columns in (figures, {"station"})
    )
    return layout.kind.survey(
        source=named, rows=rows, unit=_only(of_figures), station_unit=_only(of_stations)
    ), ()


def _only(units: set[str]) -> str:
    """The one unit that columns share; empty where they share none."""
    return units.pop() if len(units) == 1 else ""


class _CellError(Exception):
    """A cell that cannot be read: what was found and what to do."""

    def __init__(self, found: str, remedy: str) -> None:
        self.found = found
        self.remedy = remedy
        super().__init__(found)


@dataclass(slots=True, kw_only=True)
class _Numbers:
    """How the file writes decimals: the first line with each mark, and the first doubtful comma.

    A semicolon between columns is only ever written where the decimal mark is a comma; a tab says nothing.
    """

    separator: str
    comma_line: int = 0
    point_line: int = 0
    sure_comma: bool = False
    doubt_line: int = 0
    doubt: str = ""

    def with_point(self, name: str, cell: str, line: int) -> str:
        """A cell of the column `name` with its decimal comma, where the file may hold one, as a point.

        Errors: _CellError.
        """
        if "," not in cell or not _COMMA_IN_NUMBER.search(cell):
            if not self.point_line and self.separator != "," and _POINT.search(cell):
                self.point_line = line
            return cell
        if self.separator == ",":
            raise _CellError(
                f"{name} {shown(cell)} has a comma in a number",
                "write a decimal point and no thousands mark, such as 63.5",
            )
        if _POINT.search(cell) or cell.count(",") > 1:
            raise _CellError(
                f"{name} {shown(cell)} can be read in two ways",
                "write one decimal mark and no thousands mark, such as 1234,5",
            )
        self.comma_line = self.comma_line or line
        if self.separator == ";" or not _THOUSANDS.search(cell):
            self.sure_comma = True
        elif not self.doubt_line:
            self.doubt_line, self.doubt = line, f"{name} {shown(cell)}"
        return cell.replace(",", ".")

    def report(self, mistakes: FileMistakes) -> None:
        """Report two decimal marks in one file, and commas that may be either."""
        if self.comma_line and self.point_line:
            mistakes.add(
                max(self.comma_line, self.point_line),
                f"decimal commas (line {self.comma_line}) and points (line {self.point_line}) in one file",
                "write all decimals one way, and no thousands marks",
            )
        elif self.doubt_line and not self.sure_comma:
            mistakes.add(
                self.doubt_line,
                f"the comma of {self.doubt} may mark decimals or thousands",
                "write a decimal point, or no comma at all",
            )


@dataclass(slots=True, kw_only=True)
class _Column:
    """One column of the file, and the numbers without a unit met in it."""

    name: str
    index: int
    unit: str | None
    filled: bool
    numbers: _Numbers
    bare: int = 0
    bare_line: int = 0
    bare_text: str = ""
    times: int = field(init=False)
    over: int = field(init=False)

    def __post_init__(self) -> None:
        self.times, self.over = INCHES_PER[self.unit or "in"].as_integer_ratio()

    @property
    def most_feet(self) -> int:
        """The largest length the column may hold, in feet."""
        return MOST_GRID_FEET if self.name in ("x", "y") else MOST_FEET

    def read(self, cell: str, line: int) -> Any:
        """The cell's value: inches, a side or text; None where it is left empty.

        Errors: _CellError.
        """
        if not cell:
            if self.filled:
                raise _CellError(f"{self.name} is empty", "fill it in, or delete the row")
            return "" if self.name == "note" else None
        if self.name == "string" and len(cell) > MOST_TEXT:
            raise _CellError(f"string is {len(cell)} characters long", f"keep it under {MOST_TEXT}")
        if self.name in WORDS:
            return _side(cell) if self.name == "side" else printable(cell)
        text = cell if "," not in cell and "." not in cell else self.numbers.with_point(self.name, cell, line)
        plain = _PLAIN.fullmatch(text) if self.unit else None
        value = self._plain(plain) if plain else self._length(text, cell, line)
        if abs(value) > 12.0 * self.most_feet:
            found = f"{self.name} {shown(cell)} is beyond {self.most_feet:,} ft"
            raise _CellError(found, "check the number and its unit")
        return value

    def _plain(self, number: re.Match[str]) -> float:
        """A decimal number in the header's unit; exact until one division, as `parse_length` has it."""
        whole, decimals = number[1], number[2] or ""
        tens: int = 10 ** len(decimals)
        return int(whole + decimals) * self.times / (self.over * tens)

    def _length(self, text: str, cell: str, line: int) -> float:
        length = _parsed(text, self.unit)
        if isinstance(length, float):
            return length
        fault = length if self.unit else _parsed(text, "in")
        if isinstance(fault, UnitError):
            raise self._unreadable(text, cell, fault)
        self.bare += 1
        if self.bare == 1:
            self.bare_line, self.bare_text = line, cell
        return 0.0  # never used: the whole column is refused

    def _unreadable(self, text: str, cell: str, error: UnitError) -> _CellError:
        found = f"{self.name} {shown(cell)} is not a length"
        if cell.startswith("#"):
            return _CellError(found, "it is a spreadsheet's error mark; cure the formula, or delete the row")
        if _CHAINAGE.fullmatch(text):
            return _CellError(found, 'write the distance from the start of the run, such as "125 ft"')
        if error.found.endswith("cannot be read as a length."):
            bare = _METRIC_EXAMPLES.get(self.unit or "", "63.5, 63 1/2 or 5' 3 1/2\"")
            example = bare if self.unit else "63.5 in, 63 1/2 in or 5' 3 1/2\""
            return _CellError(found, f"write it like {example}")
        remedy = printable(error.remedy).removesuffix(".")
        found = printable(f"{self.name} {error.found}").removesuffix(".")
        return _CellError(found, remedy[:1].lower() + remedy[1:])


_METRIC_EXAMPLES = {"mm": "1613 or 1613.5", "cm": "161.3", "m": "1.613"}


@lru_cache(maxsize=10_000)
def _parsed(text: str, unit: str | None) -> float | UnitError:
    """A length in inches or what is wrong with it; remembered, since readings repeat."""
    try:
        return parse_length(text, unit)
    except UnitError as error:
        return error.with_traceback(None)


def _side(cell: str) -> Side:
    try:
        return Side(cell.lower())
    except ValueError:
        raise _CellError(
            f"side {shown(cell)} is not a side",
            'write "before" or "after" the vertical face, or leave it empty',
        ) from None


def _read_rows(
    table: CellTable, layout: Layout, columns: Sequence[_Column], mistakes: FileMistakes
) -> Iterator[Any]:
    """The records of all sound rows; what is wrong with the others goes to `mistakes`."""
    unnamed = {index for index, name in enumerate(layout.names) if not name}
    record = layout.kind.record
    may_be_empty = not layout.kind.filled
    empty = True
    for number, (line, cells) in enumerate(table.rows):
        empty = False
        if number == MOST_READINGS:
            remedy = "keep a reading every foot or so, or divide the run and its survey into several"
            mistakes.add(line, f"more than {MOST_READINGS:,} readings", remedy)
            return
        if mistakes.enough:
            return
        if isinstance(cells, Problem):
            mistakes.keep(line, cells)
        elif _fits(line, cells, table, layout, mistakes):
            for index in [i for i in unnamed if cells[i]]:
                unnamed.remove(index)
                found = f"column {index + 1} holds {shown(cells[index])} and has no name"
                mistakes.add(line, found, "name it in the header, or empty it")
            values = _row_values(line, cells, columns, mistakes)
            if values is None:
                continue
            if may_be_empty and _no_figure(values, layout):
                remedy = f"fill in {listed(layout.kind.tells, 'or')}, or delete the row"
                mistakes.add(line, f"no {layout.kind.figure} in this row", remedy)
            elif layout.whole:
                yield record(line=line, **values)
    if empty:
        mistakes.add(
            table.header[0],
            "a header and no readings under it",
            "write a row for each reading; a line that begins with # is a comment",
        )


def _fits(line: int, cells: list[str], table: CellTable, layout: Layout, mistakes: FileMistakes) -> bool:
    """Whether a row has a cell for each column; blank ends are cut off and a missing note filled up."""
    names = layout.names
    if cells[0].lower().startswith(names[0]) and _is_header_again(cells, names):
        mistakes.add(line, "the header stands here again", "delete this row")
        return False
    while len(cells) > len(names) and not cells[-1]:
        cells.pop()
    missing = names[len(cells) :]
    if len(cells) == len(names) or (missing and all(name in ("note", "") for name in missing)):
        cells.extend("" for _ in missing)
        return True
    word = table.separator_name
    if missing and table.separator == "," and len(cells) == 1 and cells[0].count(";") + 1 == len(names):
        remedy = "this row has semicolons and the heading commas: write the same in both"
    elif missing:
        remedy = f"write one for each of {', '.join(n for n in names if n)}, with {word} between"
    else:
        also = ", and decimals with a point" if table.separator == "," else ""
        remedy = f"put words that hold {word} in quotation marks{also}"
    mistakes.add(line, f"{len(cells)} cell{'s' * (len(cells) != 1)} under {len(names)} columns", remedy)
    return False


def _is_header_again(cells: Sequence[str], names: Sequence[str]) -> bool:
    filled = [name_and_unit(cell)[0] for cell in cells if cell]
    return filled == [name for name in names if name]


def _row_values(
    line: int, cells: Sequence[str], columns: Sequence[_Column], mistakes: FileMistakes
) -> Mapping[str, Any] | None:
    """The record's fields; None where a cell cannot be read."""
    before = mistakes.count
    values: dict[str, Any] = {}
    for column in columns:
        try:
            values[column.name] = column.read(cells[column.index], line)
        except _CellError as error:
            mistakes.add(line, error.found, error.remedy)
    return values if mistakes.count == before else None


def _no_figure(values: Mapping[str, Any], layout: Layout) -> bool:
    """Whether a row holds none of the figures that tell its kind, as far as they can be read."""
    names = layout.kind.tells
    return all(values.get(name) is None and (name in values or name not in layout.names) for name in names)


def _report_bare(columns: Sequence[_Column], mistakes: FileMistakes) -> None:
    """Report numbers without a unit, once a column."""
    for column in columns:
        if column.bare:
            more = f" (and {column.bare - 1:,} more in this column)" if column.bare > 1 else ""
            mistakes.add(
                column.bare_line,
                f"{column.name} {shown(column.bare_text)} has no unit{more}",
                f"write it once in the header, {unit_examples(column.name)}, or on each value; it is not "
                "guessed, because 0.1 ft is 1.2 in",
            )
