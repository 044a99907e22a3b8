"""The header of a survey CSV: which kind of survey it is, and what each column holds."""

import re
from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from msgspec import Struct

from fencegrade.job.csv_text import CellTable, FileMistakes, shown
from fencegrade.job.survey import KINDS, SurveyKind
from fencegrade.units import is_length, known_length_unit
from fencegrade.units.words import listed

COLUMN_NAMES = tuple(dict.fromkeys(name for kind in KINDS for name in kind.columns))
WORDS = frozenset(name for kind in KINDS for name in kind.words)
"""Columns that hold words, not lengths."""
_OTHER_NAMES = {
    "depth": "drop",
    "reading": "drop",
    "bs": "backsight",
    "is": "intermediate",
    "fs": "foresight",
    "elev": "elevation",
    "level": "elevation",
    "distance": "station",
    "chainage": "station",
    "easting": "x",
    "northing": "y",
    "setup": "string",
}
_NOTES = {"notes", "remark", "remarks", "comment", "comments"}
"""Other words for a note, taken as they are: nothing is computed from it."""

_HEADER_CELL = re.compile(r"([^\[\]]*)(?:\[([^\[\]]*)\])?")
_HEADER_EXAMPLE = '"station [ft],drop [in]"'


class Layout(Struct, frozen=True, kw_only=True):
    """What the header says: the kind, and every header cell's name in lower case.

    columns: name, index of the cell, unit or None, of each column that can be read.
    whole: the header has no mistake, so that records can be built.
    """

    kind: SurveyKind
    names: tuple[str, ...]
    columns: tuple[tuple[str, int, str | None], ...]
    whole: bool


def read_header(table: CellTable, mistakes: FileMistakes) -> Layout | None:
    """Read a table's header; its faults go to `mistakes`.

    Result: the layout, or None where it cannot even be told what kind of survey this is.
    """
    line, cells = table.header
    parted = [name_and_unit(cell) for cell in cells]
    names = tuple(name for name, _ in parted)
    if _no_header(cells, names, line, mistakes):
        return None
    meant = {_report_unknown(cell, name, line, mistakes) for cell, name in zip(cells, names, strict=True)}
    kind = _kind(names, line, mistakes, sure=meant == {None})
    if kind is None:
        return None
    _report_needs(kind, names, meant, line, mistakes)
    columns = []
    for index, (name, unit_text) in enumerate(parted):
        if name not in kind.columns:
            continue
        if names.index(name) < index:
            mistakes.add(line, f'column "{name}" stands twice', "delete or rename one of them")
            continue
        unit, fits = _unit(name, unit_text, line, mistakes)
        if fits:
            columns.append((name, index, unit))
    return Layout(kind=kind, names=names, columns=tuple(columns), whole=not mistakes.count)


def name_and_unit(cell: str) -> tuple[str, str | None]:
    """A header cell's name in lower case and the text in its square brackets."""
    match = _HEADER_CELL.fullmatch(cell)
    name, unit = match.groups() if match else (cell, None)
    plain = " ".join(name.lower().split())
    return "note" if plain in _NOTES else plain, unit if unit is None else unit.strip()


def unit_examples(name: str) -> str:
    """How a header may give a column its unit."""
    imperial, metric = ("in", "mm") if name == "drop" else ("ft", "m")
    return f'"{name} [{imperial}]" or "{name} [{metric}]"'


def _no_header(cells: Sequence[str], names: Sequence[str], line: int, mistakes: FileMistakes) -> bool:
    """Report a first row that is no header: numbers, or names that nothing separates."""
    if any(name in COLUMN_NAMES for name in names):
        return False
    if any(is_length(cell.replace(",", "."), "in") for cell in cells if cell):
        mistakes.add(
            line,
            "the first row holds numbers, so nothing says what the columns are",
            f"put a header above it, such as {_HEADER_EXAMPLE}",
        )
        return True
    if len(cells) == 1 and sum(word in COLUMN_NAMES for word in re.split(r"\W+", cells[0].lower())) > 1:
        mistakes.add(
            line,
            "nothing separates the columns of the header",
            f"separate them by a comma, a semicolon or a tab, such as {_HEADER_EXAMPLE}",
        )
        return True
    return False


def _report_unknown(cell: str, name: str, line: int, mistakes: FileMistakes) -> str | None:
    """Report a column that is not known; the one meant, "" if none, None if all is well."""
    if name in COLUMN_NAMES or not cell:
        return None
    words = re.split(r"[\W_]+", cell.lower().strip("()[]{}<> "))
    unit = known_length_unit(words[-1]) and len(words) > 1
    meant = _nearest(" ".join(words[:-1]) if unit else name)
    if not meant and (unit or "[" in cell):
        size = next((w for w in reversed(words) if known_length_unit(w)), "in")
        remedy = (
            f'if it is how far down from the string to the ground, write "drop [{size}]"; if heights of the '
            f'ground, "elevation [{size}]"; else move its text to "note"'
        )
    elif not meant:
        remedy = f'delete it, or move its text to "note"; the columns are {", ".join(COLUMN_NAMES)}'
    elif unit and meant not in WORDS:
        remedy = f'write "{meant} [{words[-1]}]"'
    else:
        remedy = f'call it "{meant}" if that is meant, or delete it'
    mistakes.add(line, f"column {shown(cell)} is not known", remedy)
    return meant


def _nearest(name: str) -> str:
    if name in COLUMN_NAMES:
        return name
    return _OTHER_NAMES.get(name) or next(iter(get_close_matches(name, COLUMN_NAMES, n=1, cutoff=0.7)), "")


def _kind(names: Sequence[str], line: int, mistakes: FileMistakes, *, sure: bool) -> SurveyKind | None:
    """The one kind the columns tell; where none does, that is only reported if every name is known."""
    told = {kind.name: name for kind in reversed(KINDS) for name in kind.tells if name in names}
    if len(told) == 1:
        return next(kind for kind in KINDS if kind.name in told)
    if told:
        listed = " and ".join(f'"{told[k.name]}" ({k.name})' for k in KINDS if k.name in told)
        mistakes.add(line, f"columns of different kinds: {listed}", "keep one kind of reading in a file")
    elif sure:
        wanted = (_named(n for n in (*kind.needs, *kind.one_of[-1:]) if n != "station") for kind in KINDS)
        mistakes.add(line, "no column holds a reading", f"add {', or '.join(wanted)}")
    return None


def _named(columns: Iterable[str]) -> str:
    """Columns in words: `"x", "y" and "z"`."""
    return listed(f'"{name}"' for name in columns)


def _report_needs(
    kind: SurveyKind, names: Sequence[str], meant: set[str | None], line: int, mistakes: FileMistakes
) -> None:
    """Report needed columns that are missing, unless named wrongly, and columns of no use with this kind."""
    for name in kind.needs:
        if name not in names and name not in meant:
            mistakes.add(
                line,
                f'column "{name}" is missing, and {kind.name} need it',
                f"add it, such as {unit_examples(name)}",
            )
    if kind.one_of and not {*kind.one_of} & {*names, *meant}:
        mistakes.add(
            line,
            f"columns {_named(kind.one_of)} are both missing, and {kind.name} needs one",
            f"add one, such as {unit_examples(kind.one_of[-1])}",
        )
    for name in dict.fromkeys(names):
        if name in COLUMN_NAMES and name not in kind.columns:
            mistakes.add(
                line,
                f'column "{name}" has no use with {kind.name}',
                f'delete it, or move its text to "note"; the columns are {", ".join(kind.columns)}',
            )


def _unit(name: str, text: str | None, line: int, mistakes: FileMistakes) -> tuple[str | None, bool]:
    """The header's unit for a column, and whether the column can be read with it."""
    if text is None:
        return None, True
    if name in WORDS:
        mistakes.add(line, f'column "{name}" takes no unit', f'write "{name}" alone')
        return None, False
    unit = known_length_unit(text)
    if unit is None:
        mistakes.add(
            line,
            f'{shown(text)} in column "{name}" is not a unit of length',
            f"write {unit_examples(name)}",
        )
    return unit, unit is not None
