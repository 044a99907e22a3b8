"""Validation errors of the job file as problems a builder can act on."""

import dataclasses
import difflib
from collections.abc import Container, Iterator
from enum import StrEnum
from itertools import islice
from typing import Any, get_args, get_origin

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from fencegrade.job.defaults import default_tables
from fencegrade.job.fields import printable, shown_value
from fencegrade.job.records import JobFile
from fencegrade.problems import Problem, mistake
from fencegrade.units import UnitError, UnitSystem

Location = tuple[int | str, ...]

MOST_LISTED = 50
"""Further mistakes of one job file are only counted."""


def explain_errors(error: ValidationError, file: str) -> Iterator[Problem]:
    """Each validation error as a mistake with its place in `file`, what was found and what to do."""
    details = error.errors(include_url=False)
    for detail in islice(details, MOST_LISTED):
        found, remedy = _words(detail)
        yield mistake(key_place(file, detail["loc"]), printable(found), remedy)
    if len(details) > MOST_LISTED:
        more = f"{len(details) - MOST_LISTED:,} more mistakes are not listed"
        yield mistake(file, more, "cure those above, then try again")


def key_place(file: str, location: Location) -> str:
    """A key's place: `job.toml [pickets] width`, or in a list of tables `job.toml run 1, gate 2, width`."""
    if not location:
        return file
    head, *rest = location
    if not rest:
        return f"{file} [{_shown(str(head))}]"
    if isinstance(rest[0], str):
        return f"{file} [{head}] {_dotted(tuple(rest))}"
    return f"{file} {_dotted(location)}"


def _dotted(location: Location) -> str:
    text = ""
    for part in location:
        text += f" {part + 1}" if isinstance(part, int) else f", {_shown(part)}" if text else _shown(part)
    return text


def _shown(part: str) -> str:
    return printable(part, 60)


def _words(detail: ErrorDetails) -> tuple[str, str]:
    """What was found and what to do."""
    kind, value, location = detail["type"], detail["input"], detail["loc"]
    match kind:
        case "value_error":
            return _own_words(detail["ctx"]["error"])
        case "missing" if isinstance(location[-1], int):
            return "is missing", _list_remedy(location[:-1])
        case "missing":
            return "is missing", _missing_remedy(location)
        case "unexpected_keyword_argument":
            return "is not a key that is known here", _nearest(location)
        case "enum":
            return f"{shown_value(value)} is not one of the choices", _choices(location)
        case "dataclass_type":
            return f"{shown_value(value)} stands where a table belongs", "write it as a table with its keys"
        case "tuple_type":
            return f"{shown_value(value)} stands where a list belongs", _list_remedy(location)
        case "too_long":
            return f"a list of {len(value)} is too long", _list_remedy(location)
        case "string_type":
            return f"{shown_value(value)} is not a text", "write it in quotes"
        case "string_too_long":
            return f"{shown_value(value)} is too long", f"keep it to {detail['ctx']['max_length']} characters"
        case _ if kind.startswith("bool"):
            return f"{shown_value(value)} is neither true nor false", "write true or false, without quotes"
    return f"{shown_value(value)} cannot be used: {detail['msg']}", "correct the value"


def _own_words(error: ValueError) -> tuple[str, str]:
    """The two halves of an error that one of our own readers raised."""
    if isinstance(error, UnitError):
        remedy = error.remedy.removesuffix(".")
        return error.found.removesuffix(".").replace("The ", "the "), remedy[:1].lower() + remedy[1:]
    found, _, remedy = str(error).rpartition("; ")
    return found, remedy


def _missing_remedy(location: Location) -> str:
    kind, description = _field(location)
    path = ".".join(str(part) for part in location if isinstance(part, str))
    if table := _item_table(kind):
        return f"add [[{path}]] with its {_required(table)}"
    if dataclasses.is_dataclass(kind):
        return f"add [{path}] with its {_required(kind, filled=default_tables(UnitSystem.IMPERIAL)[path])}"
    return f"add {location[-1]} ({description})"


def _required(table: Any, filled: Container[str] = ()) -> str:
    """The keys of a table that have no default; those `filled` are put in by the reader."""
    fields: list[tuple[str, Any]] = [(f.name, f.default) for f in dataclasses.fields(table)]
    return " and ".join(name for name, default in fields if default.is_required() and name not in filled)


def _list_remedy(location: Location) -> str:
    kind, _ = _field(location)
    path = ".".join(str(part) for part in location if isinstance(part, str))
    if _item_table(kind):
        return f"write it as [[{path}]], in double brackets"
    if get_origin(kind) is tuple or any(get_origin(a) is tuple for a in get_args(kind)):
        two = Ellipsis not in get_args(kind)
        return (
            'write one x and one y, such as ["12 ft", "30 ft"]' if two else 'write a list, such as ["0 ft"]'
        )
    return "write a list in brackets"


def _choices(location: Location) -> str:
    kind, _ = _field(location)
    *most, last = (f'"{choice}"' for choice in _enum_of(kind))
    return f"write {', '.join(most)} or {last}"


def _enum_of(kind: Any) -> type[StrEnum]:
    chosen: type[StrEnum] = next(
        k for k in (kind, *get_args(kind)) if isinstance(k, type) and issubclass(k, StrEnum)
    )
    return chosen


def _nearest(location: Location) -> str:
    """A remedy that names the nearest known key, or lists those there are."""
    known = _known_keys(location[:-1])
    written = str(location[-1])[:60].lower()
    for usual, here in (("min_", "least_"), ("max_", "most_")):
        if (own := here + written.removeprefix(usual)) in known and written.startswith(usual):
            return f'did you mean "{own}"?'
    close = difflib.get_close_matches(written, known, n=1, cutoff=0.5)
    if close:
        return f'did you mean "{close[0]}"?'
    return f"known here: {', '.join(known)}"


def _known_keys(location: Location) -> list[str]:
    """The keys that may stand in the table at `location`."""
    table = JobFile if not location else _field(location)[0]
    table = _item_table(table) or table
    return [f.name for f in dataclasses.fields(table)]


def _field(location: Location) -> tuple[Any, str]:
    """The type of the key at `location`, and the line that documents it."""
    kind: Any = JobFile
    description = ""
    for part in location:
        if isinstance(part, int):
            continue
        table = _item_table(kind) or kind
        field = next(f for f in dataclasses.fields(table) if f.name == part)
        kind, description = field.type, getattr(field.default, "description", "") or ""
    return kind, description


def _item_table(kind: Any) -> Any:
    """The table that a list of tables holds, or None for anything else."""
    return next((a for a in get_args(kind) if isinstance(a, type) and dataclasses.is_dataclass(a)), None)
