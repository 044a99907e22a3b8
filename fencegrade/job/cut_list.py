"""A list of pieces and stock to be cut, read from JSON or CSV: the input of `boards`."""

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fencegrade.job.csv_text import FileMistakes, printable, read_text, split_table
from fencegrade.job.survey_header import name_and_unit
from fencegrade.problems import JobMistakesError, Problem, mistake, raise_mistakes
from fencegrade.units import UnitError, parse_length

MOST_LENGTH = 1e7
"""Inches, or whole numbers without a unit; anything longer is a slip."""

MOST_COUNT = 10_000_000
_COLUMNS = ("what", "length", "count", "price", "on_hand", "name")
_KEYS = {
    "": {"kerf", "stock", "pieces", "least_offcut", "one_piece"},
    "stock": {"length", "price", "on_hand", "limit"},
    "pieces": {"length", "count", "name"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ListPiece:
    """Pieces of one length: inches, or a whole number where the list has no units."""

    length: float
    count: int
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ListStock:
    """Boards of one length; `limit` is how many more can be bought, None for any number."""

    length: float
    price: float | None
    on_hand: int
    limit: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CutList:
    """A whole list. With `whole` every length is a plain whole number without a unit; `metric` if in mm."""

    place: str
    pieces: tuple[ListPiece, ...]
    stock: tuple[ListStock, ...]
    kerf: float
    least_offcut: float
    one_piece: bool
    whole: bool
    metric: bool


def read_cut_list(path: Path) -> CutList:
    """Read a cut list, JSON or CSV by its ending.

    Errors: JobMistakesError with every mistake of the file, each with its place.
    """
    place = printable(path.name or str(path))
    text = read_text(path, place)
    if isinstance(text, Problem):
        raise JobMistakesError([text])
    tree = _json(text, place) if text.lstrip()[:1] in {"{", "["} else _csv(text, place)
    return _ListReader(place).whole_list(tree)


def _json(text: str, place: str) -> Any:
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        found = f"is not valid JSON: {error.msg} at column {error.colno}"
        raise JobMistakesError(
            [mistake(f"{place} line {error.lineno}", found, "check quotes, commas and brackets there")]
        ) from None
    except RecursionError:
        raise JobMistakesError([mistake(place, "is nested too deeply", "write the plain list")]) from None


def _csv(text: str, place: str) -> dict[str, Any]:
    """A CSV list as the tree its JSON form would give."""
    table = split_table(text, place, _COLUMNS)
    if isinstance(table, Problem):
        raise JobMistakesError([table])
    mistakes = FileMistakes(place=place)
    heads = [name_and_unit(cell) for cell in table.header[1]]
    for name, _ in heads:
        if name not in _COLUMNS:
            mistakes.add(table.header[0], f"unknown column {name!r}", f"known: {', '.join(_COLUMNS)}")
    tree: dict[str, Any] = {"pieces": [], "stock": []}
    for line, cells in table.rows:
        if isinstance(cells, Problem):
            mistakes.keep(line, cells)
            continue
        row = {n: _with_unit(c, u) for (n, u), c in zip(heads, cells, strict=False) if c}
        _place_row(tree, row, line, mistakes)
    raise_mistakes(mistakes.problems())
    return tree


def _with_unit(cell: str, unit: str | None) -> str:
    return f"{cell} {unit}" if unit and cell.replace(".", "", 1).isdigit() else cell


def _place_row(tree: dict[str, Any], row: dict[str, str], line: int, mistakes: FileMistakes) -> None:
    what = row.pop("what", "piece").lower()
    values: dict[str, Any] = {k: v if k in {"length", "name"} else _number(v) for k, v in row.items()}
    if isinstance(values.get("length"), str) and values["length"].isdigit():
        values["length"] = int(values["length"])
    if what in {"piece", "pieces"}:
        tree["pieces"].append(values)
    elif what == "stock":
        values.pop("name", None)
        if "count" in values:
            values["on_hand"] = values.pop("count")
        tree["stock"].append(values)
    elif what in {"kerf", "least_offcut"}:
        tree[what] = values.get("length")
    else:
        mistakes.add(line, f"{what!r} is neither piece, stock nor kerf", "write one of them under what")


def _number(text: str) -> Any:
    try:
        value = float(text)
    except ValueError:
        return text
    return int(value) if value.is_integer() else value


class _ListReader:
    """Turns the raw tree into records and collects what is wrong."""

    def __init__(self, place: str) -> None:
        self.place = place
        self.problems: list[Problem] = []
        self.lengths: list[str | int] = []

    def whole_list(self, tree: Any) -> CutList:
        if not isinstance(tree, dict):
            self._wrong("", "holds no table", 'write {"stock": [...], "pieces": [...]}')
            raise_mistakes(self.problems)
        self._keys(tree, "", "")
        stock = tuple(self._stock(tree))
        pieces = tuple(self._pieces(tree))
        kerf = self._length(tree.get("kerf", 0), "kerf", least=0.0) if tree.get("kerf") else 0.0
        offcut = tree.get("least_offcut")
        least = self._length(offcut, "least_offcut", least=0.0) if offcut else 0.0
        texts = [v for v in self.lengths if isinstance(v, str)]
        if texts and len(texts) < len(self.lengths):
            bare = next(v for v in self.lengths if not isinstance(v, str))
            self._wrong("", f"{bare} has no unit though other lengths have one", "give every length a unit")
        raise_mistakes(self.problems)
        return CutList(
            place=self.place,
            pieces=pieces,
            stock=stock,
            kerf=kerf,
            least_offcut=least,
            one_piece=tree.get("one_piece") is True,
            whole=not texts,
            metric=any(t.rstrip().endswith(("m", "M")) for t in texts),
        )

    def _stock(self, tree: dict[str, Any]) -> Iterator[ListStock]:
        for where, row in self._rows(tree, "stock"):
            price = row.get("price")
            if price is not None and (not _is_number(price) or price < 0):
                self._wrong(f"{where}.price", f"{price!r} is not a price", "write a number, zero or more")
                price = None
            yield ListStock(
                length=self._length(row.get("length"), f"{where}.length"),
                price=price,
                on_hand=self._count(row.get("on_hand", 0), f"{where}.on_hand"),
                limit=None if row.get("limit") is None else self._count(row["limit"], f"{where}.limit"),
            )

    def _pieces(self, tree: dict[str, Any]) -> Iterator[ListPiece]:
        for where, row in self._rows(tree, "pieces"):
            yield ListPiece(
                length=self._length(row.get("length"), f"{where}.length"),
                count=self._count(row.get("count", 1), f"{where}.count"),
                name=printable(str(row.get("name", ""))),
            )

    def _rows(self, tree: dict[str, Any], key: str) -> Iterator[tuple[str, dict[str, Any]]]:
        rows = tree.get(key)
        if not isinstance(rows, list) or not rows:
            self._wrong(
                key, "there is none" if not rows else "is not a list", f'write "{key}": [{{...}}, ...]'
            )
            return
        for index, row in enumerate(rows):
            where = f"{key}[{index}]"
            if isinstance(row, dict):
                self._keys(row, key, where)
                yield where, row
            else:
                self._wrong(where, f"{row!r} is not a table", 'write {"length": ..., ...}')

    def _keys(self, row: dict[str, Any], kind: str, where: str) -> None:
        for key in row.keys() - _KEYS[kind]:
            self._wrong(
                where or key, f"{key!r} is not known here", f"known: {', '.join(sorted(_KEYS[kind]))}"
            )

    def _length(self, value: Any, where: str, least: float | None = None) -> float:
        if isinstance(value, bool) or not isinstance(value, str | int):
            shown = "nothing" if value is None else repr(value)
            self._wrong(
                where, f"{shown} is not a length", 'write "31-1/2 in", or whole numbers alone throughout'
            )
            return 1.0
        self.lengths.append(value)
        try:
            length = float(value) if isinstance(value, int) else parse_length(value)
        except UnitError as error:
            self._wrong(where, error.found.rstrip("."), error.remedy)
            return 1.0
        if length < 0 or (length == 0 and least is None):
            self._wrong(where, f"{value!r} is not more than zero", "write the length of the board")
        elif length > MOST_LENGTH:
            self._wrong(where, f"{value!r} is longer than {MOST_LENGTH:,.0f}", "check the unit")
        return length

    def _count(self, value: Any, where: str) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= MOST_COUNT:
            self._wrong(where, f"{value!r} is not a count", f"write a whole number from 0 to {MOST_COUNT:,}")
            return 0
        return value

    def _wrong(self, where: str, found: str, remedy: str) -> None:
        place = f"{self.place} {where}" if where else self.place
        self.problems.append(mistake(place, found, remedy))


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
