"""A CSV text to rows of cells, as spreadsheets and people write them.

The standard csv reader is not used, because it eats the inch marks of cells such as `63 1/2"`: here a
quotation mark means quoting only where it opens a cell and its partner ends it.
"""

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field

from msgspec import Struct

from fencegrade.job.text_file import at_line, printable
from fencegrade.problems import Problem, mistake
from fencegrade.units.words import numbers

MOST_LINE = 100_000
MOST_LISTED = 50
MOST_COUNTED = 100_000
"""After so many mistakes the rest of a file is not looked at."""

FIRST_LISTED = 20

_AS_OFTEN = 4
"""Lines with one and the same mistake from which it is told once."""

Row = tuple[int, list[str] | Problem]
"""A row's first line in the file, counted from one, and its cells, or the mistake that hides them."""

A_SURVEY = 'write a header such as "station [ft],drop [in]" and a row for each reading'

_SEPARATORS = {"\t": "a tab", ";": "a semicolon", ",": "a comma"}
_FORMULA_ERROR = re.compile(r"#(?:N/A|DIV/0!|REF!|VALUE!|NAME\?|NUM!|NULL!|SPILL!|CALC!|#+)", re.IGNORECASE)
_QUOTED_TEXT = re.compile(r'[^"]*+(?:""[^"]*+)*+"')
_SEPARATOR_LINE = re.compile(r'"?sep=([,;\t])"?[,;\t]*', re.IGNORECASE)
_NAME_AND_UNIT = re.compile(r"([^\[(]*)(?:[\[(][^\])]*[\])]?)?")
_MORE_TEXT = -1


class CellTable(Struct, frozen=True, kw_only=True):
    """The header's line and cells, and the rows under it; cells stand without the blanks around them."""

    separator: str
    header: tuple[int, list[str]]
    rows: Iterator[Row]

    @property
    def separator_name(self) -> str:
        """The separator in words."""
        return _SEPARATORS[self.separator]


@dataclass(slots=True, kw_only=True)
class FileMistakes:
    """The mistakes of one file with their lines; those far beyond `MOST_LISTED` are only counted."""

    place: str
    found: list[tuple[int, Problem]] = field(default_factory=list)
    count: int = 0

    def add(self, line: int, found: str, remedy: str) -> None:
        """Note a mistake on a line."""
        self.keep(line, mistake(at_line(self.place, line), found, remedy))

    def keep(self, line: int, problem: Problem) -> None:
        """Keep a problem of a line; far beyond the most that are listed only the earliest lines stay."""
        self.count += 1
        if len(self.found) < 2 * MOST_LISTED:
            self.found.append((line, problem))
        elif line < self.found[-1][0]:
            self.found[-1] = (line, problem)

    @property
    def enough(self) -> bool:
        """Whether there are so many that the file need not be read on."""
        return self.count >= MOST_COUNTED

    def problems(self) -> tuple[Problem, ...]:
        """Those found, in the order of lines, one mistake of several lines once, the surplus as one line that
        counts it.
        """
        by_line = sorted(self.found, key=lambda pair: pair[0])
        if self.count <= MOST_LISTED:
            return tuple(self._once(by_line))
        ordered = [problem for _, problem in by_line]
        more = mistake(
            self.place,
            f"{'at least ' * self.enough}{self.count - FIRST_LISTED:,} more mistakes are not listed",
            "cure those above, then read the file again",
        )
        return (*ordered[:FIRST_LISTED], more)

    def _once(self, found: Sequence[tuple[int, Problem]]) -> Iterator[Problem]:
        """Each mistake in the order of its first line, with all lines where `_AS_OFTEN` or more make it."""
        lines: dict[tuple[str, str], list[int]] = {}
        for line, problem in found:
            lines.setdefault((problem.found, problem.remedy), []).append(line)
        told = set()
        for _, problem in found:
            which = (problem.found, problem.remedy)
            if len(lines[which]) < _AS_OFTEN:
                yield problem
            elif which not in told:
                told.add(which)
                yield mistake(f"{self.place} lines {numbers(lines[which], most=12)}", *which)


def shown(text: str, most: int = 40) -> str:
    """Text from the file in quotation marks, fit for a message: printable and short."""
    clean = printable(text)
    return f'"{clean}"' if len(clean) <= most else f'"{clean[: most - 3]}..."'


def split_table(
    text: str, place: str, names: Collection[str], start_with: str = A_SURVEY
) -> CellTable | Problem:
    """The text as a header and the rows under it.

    text: as `read_text` gives it. place: how messages name the file.
    names: column names that may stand in the header; they tell the separator.
    start_with: what to write into a file that is empty.
    Result: the table, its rows still to be walked; or a mistake where there is no header.
    Comments (`#` first), blank lines and rows of empty cells are left out.
    """
    lines = text.split("\n")
    start = _first_line(lines, 0)
    declared = _SEPARATOR_LINE.fullmatch(lines[start].strip()) if start < len(lines) else None
    if declared:
        start = _first_line(lines, start + 1)
    if start == len(lines):
        found = "the file holds no header and no rows" if text.strip() else "the file is empty"
        return mistake(place, found, start_with)
    if len(lines[start]) > MOST_LINE:
        return _too_long(place, start)
    separator = declared[1] if declared else _separator(lines[start], names)
    header, after = _split_row(lines, start, separator, 0)
    if header is None:
        return _unclosed(place, start)
    while header and not header[-1]:
        header.pop()
    rows = _rows(lines, after, separator, len(header), place)
    return CellTable(separator=separator, header=(start + 1, header), rows=rows)


def _first_line(lines: Sequence[str], start: int) -> int:
    """Index of the first line from `start` that is neither blank nor a comment."""
    for index in range(start, len(lines)):
        blank = not "".join(lines[index].split()).strip(',;"')
        if not blank and not _is_comment(lines[index]):
            return index
    return len(lines)


def _is_comment(line: str) -> bool:
    """Whether a line is a comment, not a row that begins with a spreadsheet's error value or a quoted `#`."""
    bare = line.lstrip()
    if bare.startswith('"'):
        quoted = _QUOTED_TEXT.match(bare, 1)
        return bare[1:].lstrip().startswith("#") and bool(quoted and not bare[quoted.end() :].strip(" \t,;"))
    if not bare.startswith("#"):
        return False
    first, _, rest = re.sub("[\t;]", ",", bare).partition(",")
    return not (_FORMULA_ERROR.fullmatch(first.strip()) and rest.strip(", "))


def _separator(line: str, names: Collection[str]) -> str:
    """The separator under which most of the header's cells are known columns."""

    def weight(separator: str) -> tuple[int, int]:
        cells, _ = _split_row([line], 0, separator, 0)
        parted = [_NAME_AND_UNIT.fullmatch(cell) for cell in cells or []]
        known = sum(match is not None and match[1].strip().lower() in names for match in parted)
        return known if separator in line else 0, line.count(separator)

    best = max(_SEPARATORS, key=weight)
    return best if best in line else ","


def _rows(lines: Sequence[str], start: int, separator: str, columns: int, place: str) -> Iterator[Row]:
    index = start
    while index < len(lines):
        line = lines[index]
        first = index
        index += 1
        if not line or line.isspace():
            continue
        if len(line) > MOST_LINE:
            yield first + 1, _too_long(place, first)
        elif "#" in line and _is_comment(line):
            continue
        elif '"' not in line:
            cells = [cell.strip() for cell in line.split(separator)]
            if any(cells):
                yield first + 1, cells
        else:
            quoted, index = _split_row(lines, first, separator, columns)
            if quoted is None:
                yield first + 1, _unclosed(place, first)
            elif any(quoted[1:]) or (quoted[0] and not quoted[0].startswith("#")):
                yield first + 1, quoted


def _split_row(
    lines: Sequence[str], first: int, separator: str, columns: int
) -> tuple[list[str] | None, int]:
    """The cells of the row that begins at a line, and the index of the next row's line.

    The cells are None where a quotation mark is opened and never closed; the next line is then tried afresh.
    """
    index, position = first, 0
    cells: list[str] = []
    while True:
        line = lines[index]
        opening = _blanks_end(line, position, separator)
        end = _closing(line, opening + 1, separator) if line.startswith('"', opening) else _MORE_TEXT
        if end is None:
            run_on = _run_on(lines, index, opening + 1, separator, columns)
            if run_on is None:
                return None, first + 1
            text, index, position = run_on
            line = lines[index]
        elif end == _MORE_TEXT:
            stop = line.find(separator, position)
            text, position = (line[position:], len(line)) if stop < 0 else (line[position:stop], stop)
        else:
            text, position = line[opening + 1 : end].replace('""', '"'), end + 1
        cells.append(text.strip())
        position = _blanks_end(line, position, separator)
        if position >= len(line):
            return cells, index + 1
        position += 1


def _blanks_end(line: str, position: int, separator: str) -> int:
    """Position of the first character that is not blank, a separator counting as a character."""
    while position < len(line) and line[position].isspace() and line[position] != separator:
        position += 1
    return position


def _closing(line: str, position: int, separator: str) -> int | None:
    """Position of the mark that closes a quoted cell; None where no mark closes it on this line.

    `_MORE_TEXT` where text follows the closing mark, so that the marks are inch marks or part of the words.
    """
    match = _QUOTED_TEXT.match(line, position)
    if match is None:
        return None
    after = _blanks_end(line, match.end(), separator)
    return match.end() - 1 if after == len(line) or line[after] == separator else _MORE_TEXT


def _run_on(
    lines: Sequence[str], index: int, position: int, separator: str, columns: int
) -> tuple[str, int, int] | None:
    """A quoted cell that runs over line ends: its text, and the line and position after its closing mark.

    None where nothing closes it, or where a line that looks like a row of its own would be swallowed.
    """
    parts = [lines[index][position:]]
    size = 0
    while index + 1 < len(lines) and size <= MOST_LINE:
        index += 1
        line = lines[index]
        end = _closing(line, 0, separator)
        part = line if end is None else line[:end]
        if end == _MORE_TEXT or _looks_like_row(part, separator, columns):
            return None
        parts.append(part)
        size += len(part) + 1
        if end is not None:
            return "\n".join(parts).replace('""', '"'), index, end + 1
    return None


def _looks_like_row(part: str, separator: str, columns: int) -> bool:
    head, found, _ = part.partition(separator)
    number = not head.strip() or head.strip(" +-.")[:1].isdigit()
    return bool(found) and (number or part.count(separator) >= columns - 1 > 0)


def _unclosed(place: str, index: int) -> Problem:
    return mistake(
        at_line(place, index + 1),
        "a quotation mark opens a cell and nothing closes it",
        'take it out, or close it and write an inch mark inside as two, as in "63 1/2"""',
    )


def _too_long(place: str, index: int) -> Problem:
    return mistake(
        at_line(place, index + 1),
        f"the line is longer than {MOST_LINE:,} characters",
        "check that the file is a survey; put each reading on a line of its own",
    )
