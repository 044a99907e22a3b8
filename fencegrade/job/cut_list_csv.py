"""A cut list written as a table: one row a length of pieces or of stock.

what,length [in],count,price,name
piece,31 1/2,12,,planter side
stock,96,,7.20,
kerf,1/8,,,
"""

from typing import Any

from fencegrade.job.csv_text import FileMistakes, shown, split_table
from fencegrade.job.explain import Location
from fencegrade.job.rows import Lines
from fencegrade.job.survey_header import name_and_unit
from fencegrade.job.text_file import printable
from fencegrade.problems import JobMistakesError, Problem, raise_mistakes
from fencegrade.units import UnitError, known_length_unit, parse_length

COLUMNS = {
    "what": ("what", "kind", "type"),
    "length": ("length", "lengths", "size"),
    "count": ("count", "qty", "quantity", "number", "how many"),
    "price": ("price", "cost", "each"),
    "on_hand": ("on_hand", "on hand", "in hand", "have"),
    "limit": ("limit", "at most"),
    "name": ("name", "label", "part", "note", "notes", "use"),
}
"""The columns, each with the spellings that are read."""

A_LIST = "write a header such as what,length [in],count,price,name and a row for each piece and each stock"

_SPELT = {spelling: name for name, spellings in COLUMNS.items() for spelling in spellings}
_SQUARE = str.maketrans("()", "[]")
_ROWS = {
    "pieces": ("piece", "pieces", "cut", "cuts"),
    "stock": ("stock", "board", "boards"),
    "kerf": ("kerf", "saw", "saw cut"),
    "least_offcut": ("least_offcut", "least offcut"),
}
_KINDS = {spelling: kind for kind, spellings in _ROWS.items() for spelling in spellings}


def cut_list_tree(text: str, place: str) -> tuple[dict[str, Any], Lines]:
    """A CSV list as the tree its JSON form would give.

    `text` of the file; `place`: how messages name it. Result: the tree, and the line of each of its rows by
    the row's place in it. Errors: JobMistakesError with every mistake of the table itself.
    """
    table = split_table(text, place, _SPELT.keys(), A_LIST)
    if isinstance(table, Problem):
        raise JobMistakesError([table])
    mistakes = FileMistakes(place=place)
    line, header = table.header
    heads = [_head(cell, line, mistakes) for cell in header]
    _missing([name for name, _ in heads], line, mistakes)
    raise_mistakes(mistakes.problems())
    tree: dict[str, Any] = {"pieces": [], "stock": []}
    lines: dict[Location, int] = {}
    for line, cells in table.rows:
        if isinstance(cells, Problem):
            mistakes.keep(line, cells)
            continue
        row = {n: _value(n, c, u, table.separator) for (n, u), c in zip(heads, cells, strict=False) if c}
        if row and len([c for c in cells if c]) > len(row):
            mistakes.add(line, f"{len(cells)} cells under {len(heads)} columns", "check the separators")
        _place_row(tree, lines, row, line, mistakes)
    raise_mistakes(mistakes.problems())
    return tree, lines


def _head(cell: str, line: int, mistakes: FileMistakes) -> tuple[str, str | None]:
    """A column's name and the unit of its lengths."""
    spelt, text = name_and_unit(cell.translate(_SQUARE))
    name = _SPELT.get(spelt, "")
    if not name:
        mistakes.add(line, f"column {shown(cell)} is not known", f"the columns are {', '.join(COLUMNS)}")
    unit = known_length_unit(text) if text and name == "length" else None
    if text and name == "length" and unit is None:
        mistakes.add(line, f"{shown(text)} is not a unit of length", 'write "length [in]" or "length [mm]"')
    return name, unit


def _missing(names: list[str], line: int, mistakes: FileMistakes) -> None:
    for name in ("what", "length"):
        if name not in names and "" not in names:
            remedy = "write a header such as what,length [in],count,price,name"
            mistakes.add(line, f'column "{name}" is missing', remedy)
    for name in sorted({n for n in names if n and names.count(n) > 1}):
        mistakes.add(line, f'column "{name}" stands there twice', "keep one of them")


def _value(name: str, cell: str, unit: str | None, separator: str) -> Any:
    if name == "length":
        return _length(cell, unit)
    if name in {"what", "name"}:
        return printable(cell)
    try:
        value = float(cell.replace(",", ".") if separator != "," else cell)
    except ValueError:
        return cell
    return int(value) if value.is_integer() else value


def _length(cell: str, unit: str | None) -> str | int:
    """A length with its own unit or the column's; a whole number where there is neither."""
    if unit is None:
        return int(cell) if cell.isdecimal() else cell
    try:
        parse_length(cell)
    except UnitError:
        return f"{cell} {unit}"
    return cell


def _place_row(
    tree: dict[str, Any], lines: dict[Location, int], row: dict[str, Any], line: int, mistakes: FileMistakes
) -> None:
    what = str(row.pop("what", "piece")).lower()
    kind = _KINDS.get(what)
    if kind is None:
        found = f"{shown(what)} is neither piece, stock, kerf nor least_offcut"
        mistakes.add(line, found, "write one of them under what")
    elif kind in {"pieces", "stock"}:
        if kind == "stock":
            row.pop("name", None)
            if "count" in row and "on_hand" not in row:
                row["on_hand"] = row.pop("count")
        lines[kind, len(tree[kind])] = line
        tree[kind].append(row)
    elif kind in tree:
        mistakes.add(line, f"{kind} stands there twice", "keep one of them")
    else:
        lines[(kind,)] = line
        tree[kind] = row.get("length")
