"""Validation errors of job file and as-built record as problems a builder can act on."""

import difflib
from collections.abc import Callable, Iterable, Iterator
from itertools import islice
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from fencegrade.job.defaults import default_tables
from fencegrade.job.fields import Text, printable, shown_value
from fencegrade.job.records import JobFile
from fencegrade.job.schema import Key, key_at, keys, tables
from fencegrade.problems import Problem, mistake
from fencegrade.units import UnitError, UnitSystem
from fencegrade.units.words import listed

_OTHER_WORDS = (
    (
        frozenset({"paved", "paving", "pavement", "path", "walk", "drive", "driveway", "patio", "concrete"}),
        "keep_open",
        "no soil and no post there; with its height, the least open height under the pickets",
    ),
    (
        frozenset({"ditch", "drain", "stream", "creek", "water", "swale"}),
        "keep_open",
        "no soil, no post there",
    ),
    (frozenset({"tree", "trunk", "stump", "roots"}), "root", "no soil, no post there"),
    (frozenset({"pipe", "rock", "cable"}), "no_post", "no post there"),
    (frozenset({"bed", "flower_bed", "no_fill"}), "no_soil", "no soil there, posts may stand"),
    (frozenset({"post", "posts", "old_post", "standing_post"}), "existing_post", "one that stands already"),
    (
        frozenset({"wall", "house", "building"}),
        "start",
        "a fence at a wall has a post beside it: station 0 is its middle, half a post from the wall",
    ),
    (frozenset({"corner", "turn", "joins"}), "join", "the name of the run at whose far end this one starts"),
    (frozenset({"opening", "door", "gates"}), "gate", "an opening"),
)
"""What a builder may call what a key of a run is for, that key, and what it does."""

Location = tuple[int | str, ...]

MOST_LISTED = 50
"""Further mistakes of one job file are only counted."""

_SURELY = 0.85
"""Likeness from which a key of the same table was meant, whatever other tables hold."""

_MOST_PLACES = 3
"""Tables that are named for a key; one that more of them have tells nothing."""


def explain_errors(
    error: ValidationError,
    file: str,
    record: Any = JobFile,
    place_of: Callable[[Location], str] | None = None,
) -> Iterator[Problem]:
    """Each validation error as a mistake with its place, what was found and what to do.

    `file`: its name; `record`: what it is read into; `place_of`: how places are told, else as `key_place`.
    """
    details = error.errors(include_url=False)
    for detail in islice(details, MOST_LISTED):
        found, remedy = _words(detail, record)
        place = key_place(file, detail["loc"]) if place_of is None else place_of(detail["loc"])
        yield mistake(place, printable(found), remedy)
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
        return f"{file} [{head}] {in_words(tuple(rest))}"
    return f"{file} {in_words(location)}"


def in_words(location: Location) -> str:
    """A place within a file as a person counts: `run 1, gate 2, width`."""
    text = ""
    for part in location:
        text += f" {part + 1}" if isinstance(part, int) else f", {_shown(part)}" if text else _shown(part)
    return text


def _shown(part: str) -> str:
    return printable(part, 60)


def _words(detail: ErrorDetails, record: Any) -> tuple[str, str]:
    """What was found and what to do."""
    kind, value, location = detail["type"], detail["input"], detail["loc"]
    match kind:
        case "value_error":
            return _own_words(detail["ctx"]["error"])
        case "missing" if isinstance(location[-1], int):
            return "is missing", _list_remedy(location[:-1], record)
        case "missing":
            return "is missing", _missing_remedy(location, record)
        case "unexpected_keyword_argument":
            return "is not a key that is known here", _nearest(location, record)
        case "enum":
            return f"{shown_value(value)} is not one of the choices", _choices(location, record)
        case "dataclass_type":
            return f"{shown_value(value)} stands where a table belongs", "write it as a table with its keys"
        case "tuple_type":
            return f"{shown_value(value)} stands where a list belongs", _list_remedy(location, record)
        case "too_long":
            return f"a list of {len(value)} is too long", _list_remedy(location, record)
        case "less_than_equal" | "greater_than_equal":
            least, most = (detail["ctx"].get(bound) for bound in ("ge", "le"))
            told = f"is over {most}" if least is None else f"is under {least}"
            return f"{shown_value(value)} {told}", "check the number"
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
        found, remedy = error.halves
        return found.replace("The ", "the "), remedy
    found, _, remedy = str(error).rpartition("; ")
    return found, remedy


def _missing_remedy(location: Location, record: Any) -> str:
    key, path = _key(location, record)
    if key.table is None:
        return f"add {key.name} ({key.description})"
    filled = () if key.listed else default_tables(UnitSystem.IMPERIAL).get(path, ())
    required = [inner.name for inner in keys(key.table) if inner.required and inner.name not in filled]
    heading = f"[[{path}]]" if key.listed else f"[{path}]"
    return f"add {heading} with its {' and '.join(required)}"


def _list_remedy(location: Location, record: Any) -> str:
    key, path = _key(location, record)
    if key.table is not None:
        return f"write it as [[{path}]], in double brackets"
    if key.count == 2:
        return 'write one x and one y, such as ["12 ft", "30 ft"]'
    if key.count:
        return f"write a list of {key.count}, in brackets"
    return "write a list of texts, in brackets" if key.kind == Text else 'write a list, such as ["0 ft"]'


def _choices(location: Location, record: Any) -> str:
    key, _ = _key(location, record)
    choices = (f'"{choice}"' for choice in key.kind)
    return f"write {listed(choices, 'or')}"


def _nearest(location: Location, record: Any) -> str:
    """A remedy that says in which table a key belongs that is known elsewhere, or names the nearest here."""
    names = _names(location[:-1])
    known = [key.name for key in keys(key_at(names, record).table if names else record)]
    written = str(location[-1])[:60].lower()
    for said, own, why in _OTHER_WORDS:
        if written in said and own in known:
            return f'write it as "{own}" ({why})'
    for usual, here in (("min_", "least_"), ("max_", "most_")):
        if (own := here + written.removeprefix(usual)) in known and written.startswith(usual):
            return f'did you mean "{own}"?'
    if difflib.get_close_matches(written, known, n=1, cutoff=_SURELY):
        return nearest_of(written, known)
    return _elsewhere(written, names, record) or nearest_of(written, known)


def _elsewhere(written: str, names: list[str], record: Any) -> str:
    """In which other tables a key or table of this name belongs; empty where there is none."""
    every = list(tables(record))
    where = [t for t in every if written in (key.name for key in keys(t.record) if key.table is None)]
    inner = [t.heading for t in every if t.path[-1] == written and len(t.path) > 1]
    if inner:
        return f"write it as {' or '.join(inner)}"
    if not 0 < len(where) <= _MOST_PLACES:
        return ""
    whole = len(where) == 1 and "run" in names and "run" not in where[0].path
    return f"{written} belongs under {' or '.join(t.heading for t in where)}" + (
        "; it holds for every run" if whole else ""
    )


def nearest_of(name: str, known: Iterable[str]) -> str:
    """A remedy that names the nearest known name, or lists those there are."""
    names = list(known)
    close = difflib.get_close_matches(name[:60], names, n=1, cutoff=0.5)
    return f'did you mean "{close[0]}"?' if close else f"known here: {', '.join(names)}"


def _key(location: Location, record: Any) -> tuple[Key, str]:
    """The key at a location, and its path with dots."""
    names = _names(location)
    return key_at(names, record), ".".join(names)


def _names(location: Location) -> list[str]:
    return [part for part in location if isinstance(part, str)]
