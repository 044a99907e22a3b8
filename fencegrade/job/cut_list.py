"""A list of pieces and stock to be cut, read from JSON or CSV: the input of `boards`."""

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from fencegrade.job.cut_list_csv import cut_list_tree
from fencegrade.job.text_file import PLAIN_FILE, printable, sound_text
from fencegrade.problems import Problem, mistake, raise_mistakes, refuse
from fencegrade.units import UnitError, UnitSystem, parse_length, system_of

MOST_LENGTH = 1e7
"""Inches, or whole numbers without a unit; anything longer is a slip."""

MOST_COUNT = 10_000_000
MOST_NAME, MOST_SHOWN = 200, 60
"""Characters kept of a piece's name, and shown of a key that is not known."""

_KEYS = {
    "": {"kerf", "stock", "pieces", "least_offcut", "one_piece"},
    "stock": {"length", "price", "on_hand", "limit"},
    "pieces": {"length", "count", "name"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ListPiece:
    """Pieces of one length: inches, or a whole number where the list has no units; `place` in the list."""

    place: str
    length: float
    count: int
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ListStock:
    """Boards of one length; `limit` is how many more can be bought, None for any number."""

    place: str
    length: float
    price: float | None
    on_hand: int
    limit: int | None

    @property
    def offered(self) -> bool:
        """Whether there is any such board."""
        return self.on_hand > 0 or self.limit != 0


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
    """Read a cut list, JSON or CSV by its first character.

    Errors: JobMistakesError with every mistake of the file, each with its place.
    """
    place = printable(path.name or str(path))
    text = sound_text(path, place, PLAIN_FILE)
    if text.lstrip()[:1] in {"{", "["}:
        return _ListReader(place, None).whole_list(_json(text, place))
    tree, lines = cut_list_tree(text, place)
    return _ListReader(place, lines).whole_list(tree)


def _json(text: str, place: str) -> Any:
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        found = f"is not valid JSON: {error.msg} at column {error.colno}"
        refuse(f"{place} line {error.lineno}", found, "check quotes, commas and brackets there")
    except RecursionError:
        refuse(place, "is nested too deeply", "write the plain list")
    except ValueError:
        refuse(place, "holds a number of thousands of digits", "take it out")


class _ListReader:
    """Turns the raw tree into records and collects what is wrong.

    `lines`: for a CSV list, the line of each row of the tree, by its place (`pieces[2]`); None for JSON.
    """

    def __init__(self, place: str, lines: Mapping[str, int] | None) -> None:
        self.place = place
        self.from_csv = lines is not None
        self.lines = lines or {}
        self.problems: list[Problem] = []
        self.lengths: list[tuple[str, str | int]] = []

    def whole_list(self, tree: Any) -> CutList:
        if not isinstance(tree, dict):
            self._wrong("", "holds no table", 'write {"stock": [...], "pieces": [...]}')
            raise_mistakes(self.problems)
        self._keys(tree, "", "")
        stock = tuple(self._stock(tree))
        pieces = tuple(self._pieces(tree))
        kerf = self._width(tree, "kerf")
        least = self._width(tree, "least_offcut")
        one_piece = tree.get("one_piece", False)
        if not isinstance(one_piece, bool):
            self._wrong("one_piece", f"{_shown(one_piece)} is neither true nor false", "write true or false")
        self._one_kind_of_length()
        self._prices(stock)
        if stock and not any(s.offered for s in stock):
            self._wrong("stock", "there is no board to cut", "raise a limit, or say how many are on_hand")
        raise_mistakes(self.problems)
        texts = [v for _, v in self.lengths if isinstance(v, str)]
        return CutList(
            place=self.place,
            pieces=pieces,
            stock=stock,
            kerf=kerf,
            least_offcut=least,
            one_piece=one_piece,
            whole=not texts,
            metric=any(system_of(t) is UnitSystem.METRIC for t in texts),
        )

    def _width(self, tree: dict[str, Any], key: str) -> float:
        """Kerf or least offcut: a length that may be zero; a bare 0 goes with any list."""
        value = tree.get(key, 0)
        if value == 0 and not isinstance(value, bool):
            return 0.0
        return self._length(value, key, least=0.0)

    def _one_kind_of_length(self) -> None:
        texts = [v for _, v in self.lengths if isinstance(v, str)]
        bare = [(where, v) for where, v in self.lengths if not isinstance(v, str)]
        if texts and bare:
            where, value = bare[0]
            self._wrong(
                where, f"{value} has no unit though other lengths have one", "give every length a unit"
            )

    def _prices(self, stock: tuple[ListStock, ...]) -> None:
        """Either every length that can be bought has a price, or none."""
        bought = [s for s in stock if s.limit != 0]
        missing = [s for s in bought if s.price is None]
        if missing and len(missing) < len(bought):
            for one in missing:
                found = "has no price but other lengths have one"
                self.problems.append(mistake(one.place, found, "give every length a price, or none"))

    def _stock(self, tree: dict[str, Any]) -> Iterator[ListStock]:
        for where, row in self._rows(tree, "stock"):
            price = row.get("price")
            if price is not None and (not _is_number(price) or price <= 0):
                remedy = "write a number above zero; count boards that cost nothing as on_hand"
                self._wrong(f"{where}.price", f"{_shown(price)} is not a price", remedy)
                price = 1
            yield ListStock(
                place=self._place(where),
                length=self._length(row.get("length"), f"{where}.length"),
                price=price,
                on_hand=self._count(row.get("on_hand", 0), f"{where}.on_hand"),
                limit=None if row.get("limit") is None else self._count(row["limit"], f"{where}.limit"),
            )

    def _pieces(self, tree: dict[str, Any]) -> Iterator[ListPiece]:
        for where, row in self._rows(tree, "pieces"):
            yield ListPiece(
                place=self._place(where),
                length=self._length(row.get("length"), f"{where}.length"),
                count=self._count(row.get("count", 1), f"{where}.count"),
                name=printable(str(row.get("name") or ""))[:MOST_NAME],
            )

    def _rows(self, tree: dict[str, Any], key: str) -> Iterator[tuple[str, dict[str, Any]]]:
        rows = tree.get(key)
        if not isinstance(rows, list) or not rows:
            row = "piece" if key == "pieces" else key
            remedy = f'add a row "{row},96 in"' if self.from_csv else f'write "{key}": [{{...}}, ...]'
            self._wrong(key, "is not a list" if rows else "there is none", remedy)
            return
        for index, row in enumerate(rows):
            where = f"{key}[{index}]"
            if isinstance(row, dict):
                self._keys(row, key, where)
                yield where, row
            else:
                self._wrong(where, f"{_shown(row)} is not a table", 'write {"length": ..., ...}')

    def _keys(self, row: dict[str, Any], kind: str, where: str) -> None:
        known = sorted(_KEYS[kind])
        for key in [k for k in row if k not in _KEYS[kind]]:
            near = get_close_matches(key, known, n=1)
            remedy = f'did you mean "{near[0]}"?' if near else f"known: {', '.join(known)}"
            shown = printable(key)[:MOST_SHOWN]
            self._wrong(f"{where}.{shown}" if where else shown, "is not known here", remedy)

    def _length(self, value: Any, where: str, least: float | None = None) -> float:
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        if isinstance(value, bool) or not isinstance(value, str | int):
            shown = "nothing" if value is None else _shown(value)
            self._wrong(
                where, f"{shown} is not a length", 'write "31-1/2 in", or whole numbers alone throughout'
            )
            return 1.0
        self.lengths.append((where, value))
        try:
            length = float(value) if isinstance(value, int) else parse_length(value)
        except UnitError as error:
            self._wrong(where, error.found.rstrip("."), error.remedy.rstrip("."))
            return 1.0
        except OverflowError:
            length = math.inf
        if length < 0 or (length == 0 and least is None):
            self._wrong(where, f"{_shown(value)} is not more than zero", "write the length of the board")
        elif length > MOST_LENGTH:
            self._wrong(where, f"{_shown(value)} is longer than {MOST_LENGTH:,.0f}", "check the unit")
        return length

    def _count(self, value: Any, where: str) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= MOST_COUNT:
            found = f"{_shown(value)} is not a count"
            self._wrong(where, found, f"write a whole number from 0 to {MOST_COUNT:,}")
            return 0
        return value

    def _place(self, where: str) -> str:
        """A place of the tree as the builder finds it: its line in a CSV, its path in JSON."""
        row, _, key = where.partition(".")
        if row in self.lines:
            return f"{self.place} line {self.lines[row]}" + (f", {key}" if key else "")
        return f"{self.place} {where}" if where else self.place

    def _wrong(self, where: str, found: str, remedy: str) -> None:
        self.problems.append(mistake(self._place(where), found, remedy))


def _shown(value: Any, most: int = 40) -> str:
    """A value of the file, fit for a message."""
    text = printable(json.dumps(value, ensure_ascii=False, default=str))
    return text if len(text) <= most else f"{text[: most - 3]}..."


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
