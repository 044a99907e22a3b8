"""A list of pieces and stock to be cut, read from JSON or CSV: the input of `boards`."""

import json
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, StrictBool, ValidationInfo
from pydantic.dataclasses import dataclass

from fencegrade.job.cut_list_csv import cut_list_tree
from fencegrade.job.explain import Location
from fencegrade.job.fields import CLOSED, FROM_FILE, LEAST_PRICE, Count, explained, price_of, shown_value
from fencegrade.job.rows import Lines, place_in, records_of
from fencegrade.job.schema import NO_KEY, Place
from fencegrade.job.text_file import PLAIN_FILE, at_line, printable, sound_text
from fencegrade.problems import Problem, mistake, refuse
from fencegrade.units import UnitSystem, parse_length, system_of
from fencegrade.units.typed import plain_text

MOST_LENGTH = 1e7
"""Inches, or whole numbers without a unit; anything longer is a slip."""

_UNIT = re.compile(r"[a-z'\"]")
"""What stands in a length only where it has a unit."""

MOST_NAME = 200
"""Characters kept of a piece's name."""


def _length(least: float) -> Callable[[Any, ValidationInfo], float]:
    """A reader of lengths over `least`: a text with its unit, or a whole number."""

    def read(value: Any, info: ValidationInfo) -> float:
        if isinstance(value, float) and info.context != FROM_FILE:
            return value
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        if isinstance(value, bool) or not isinstance(value, str | int):
            raise ValueError(
                f'{shown_value(value)} is not a length; write "31-1/2 in", or whole numbers alone throughout'
            )
        try:
            length = float(value) if isinstance(value, int) else parse_length(value)
        except OverflowError:
            length = math.inf
        if length < 0 and least < 0:
            raise ValueError(f"{shown_value(value)} is below zero; check the sign")
        if length <= least:
            raise ValueError(f"{shown_value(value)} is not more than zero; write the length of the board")
        if length > MOST_LENGTH:
            raise ValueError(f"{shown_value(value)} is longer than {MOST_LENGTH:,.0f}; check the unit")
        return length

    return read


def _price(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < math.inf:
        raise ValueError(
            f"{shown_value(value)} is not a price; write a number above zero; count boards that cost nothing "
            "as on_hand"
        )
    if value < LEAST_PRICE:
        raise ValueError(f"a price of {value:g} is under {LEAST_PRICE}; check the decimal point")
    return price_of(value)


Long = Annotated[float, BeforeValidator(_length(0.0))]
Wide = Annotated[float, BeforeValidator(_length(math.nextafter(0.0, -1.0)))]
Cost = Annotated[float, BeforeValidator(_price)]
Label = Annotated[str, BeforeValidator(lambda value: printable(str(value or ""))[:MOST_NAME])]


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class ListPiece:
    """Pieces of one length: inches, or a whole number where the list has no units; `place` in the list."""

    length: Long = explained('such as "31-1/2 in", or whole numbers alone throughout')
    count: Count = explained("how many are wanted", default=1)
    name: Label = explained("what they are for", default="")
    place: Place = ""


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class ListStock:
    """Boards of one length; `limit` is how many more can be bought, None for any number."""

    length: Long = explained('such as "8 ft", or whole numbers alone throughout')
    price: Cost | None = explained("what one costs", default=None)
    on_hand: Count = explained("how many are there already", default=0)
    limit: Count | None = explained("how many more can be bought", default=None)
    place: Place = ""

    @property
    def offered(self) -> bool:
        """Whether there is any such board."""
        return self.on_hand > 0 or self.limit != 0


@dataclass(frozen=True, slots=True, kw_only=True, config=CLOSED)
class CutList:
    """A whole list. With `whole` every length is a plain whole number without a unit; `metric` if in mm."""

    stock: tuple[ListStock, ...] = explained("boards on offer", default=())
    pieces: tuple[ListPiece, ...] = explained("what is to be cut", default=())
    kerf: Wide = explained("width of the saw's cut", default=0.0)
    least_offcut: Wide = explained("shortest offcut worth keeping", default=0.0)
    one_piece: StrictBool = explained("true for one piece a board", default=False)
    place: Place = ""
    whole: Annotated[bool, NO_KEY] = True
    metric: Annotated[bool, NO_KEY] = False


def read_cut_list(path: Path) -> CutList:
    """Read a cut list, JSON or CSV by its first character.

    Errors: JobMistakesError with every mistake of the file, each with its place.
    """
    place = printable(path.name or str(path))
    text = sound_text(path, place, PLAIN_FILE)
    if text.lstrip()[:1] not in {"{", "["}:
        return _list_of(*cut_list_tree(text, place), place)
    tree = _json(text, place)
    if not isinstance(tree, dict):
        refuse(place, "holds no table", 'write {"stock": [...], "pieces": [...]}')
    return _list_of(tree, {}, place)


def _json(text: str, place: str) -> Any:
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        found = f"is not valid JSON: {error.msg} at column {error.colno}"
        refuse(at_line(place, error.lineno), found, "check quotes, commas and brackets there")
    except RecursionError:
        refuse(place, "is nested too deeply", "write the plain list")
    except ValueError:
        refuse(place, "holds a number of thousands of digits", "take it out")


def _list_of(tree: dict[str, Any], lines: Lines, place: str) -> CutList:
    """The list of a tree; `lines` of a CSV, none for JSON."""
    lengths = list(_written_lengths(tree))
    told = [*_empty_lists(tree, place, lines), *_one_kind_of_length(lengths, place, lines)]
    priced = {place_in(place, ("stock", k), lines) for k in _with_a_price(tree)}
    listed = records_of(CutList, tree, place, lambda found: (*told, *_contradictions(found, priced)), lines)
    texts = [value for _, value in lengths if isinstance(value, str)]
    metric = any(system_of(text) is UnitSystem.METRIC for text in texts)
    return replace(listed, whole=not texts, metric=metric)


def _written_lengths(tree: dict[str, Any]) -> Iterator[tuple[Location, str | float]]:
    """Every length as it is written, with its place; a bare 0 of a width goes with any list."""
    found: list[tuple[Location, Any]] = []
    for key in ("stock", "pieces"):
        rows = tree.get(key)
        for k, row in enumerate(rows if isinstance(rows, list) else []):
            found.append(((key, k, "length"), row.get("length") if isinstance(row, dict) else None))
    found += [((key,), tree[key]) for key in ("kerf", "least_offcut") if tree.get(key, 0) != 0]
    for at, value in found:
        whole = isinstance(value, int | float) and not isinstance(value, bool) and value == value // 1
        if isinstance(value, str) or whole:
            yield at, value


def _one_kind_of_length(
    lengths: list[tuple[Location, str | float]], place: str, lines: Lines
) -> Iterator[Problem]:
    bare = [(at, value) for at, value in lengths if not isinstance(value, str)]
    if bare and len(bare) < len(lengths):
        at, value = bare[0]
        with_unit = any(isinstance(v, str) and _UNIT.search(plain_text(v)) for _, v in lengths)
        why = "though other lengths have one" if with_unit else "and only whole numbers throughout go without"
        found = f"{value} has no unit {why}"
        yield mistake(place_in(place, at, lines), found, "give every length a unit")


def _empty_lists(tree: dict[str, Any], place: str, lines: Lines) -> Iterator[Problem]:
    """Lists that are missing or none; they are left empty in the tree."""
    for key, one in (("stock", "stock"), ("pieces", "piece")):
        rows = tree.get(key)
        if not isinstance(rows, list) or not rows:
            remedy = f'add a row "{one},96 in"' if lines else f'write "{key}": [{{...}}, ...]'
            yield mistake(f"{place} {key}", "is not a list" if rows else "there is none", remedy)
            tree[key] = []


def _with_a_price(tree: dict[str, Any]) -> list[int]:
    """Rows of stock, from 0, that say a price, right or wrong."""
    return [
        k for k, row in enumerate(tree["stock"]) if isinstance(row, dict) and row.get("price") is not None
    ]


def _contradictions(listed: CutList, priced: set[str]) -> Iterator[Problem]:
    """Mistakes between the boards: some with a price and some without, or none to be had.

    `priced`: places of those that say a price, which is gone where it is wrong.
    """
    bought = [s for s in listed.stock if s.limit != 0]
    missing = [s for s in bought if s.price is None and s.place not in priced]
    for one in missing if len(missing) < len(bought) else []:
        found = "has no price but other lengths have one"
        yield mistake(one.place, found, "give every length a price, or none")
    if listed.stock and not any(s.offered for s in listed.stock):
        found, remedy = "there is no board to cut", "raise a limit, or say how many are on_hand"
        yield mistake(f"{listed.place} stock", found, remedy)
