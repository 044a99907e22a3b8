"""Files that are lists of tables: a raw tree to its records, every mistake with its place, all at once."""

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from typing import Any, TypeVar, get_args

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from fencegrade.job.explain import Location, explain_errors, in_words
from fencegrade.job.fields import FROM_FILE
from fencegrade.job.schema import NO_KEY, key_at
from fencegrade.job.text_file import at_line
from fencegrade.problems import Problem, mistake, raise_mistakes, refuse

MOST_ROWS = 100_000

Record = TypeVar("Record")
Lines = Mapping[Location, int]
"""Lines of a file by the place of what stands on them in the tree."""


def place_in(file: str, location: Location, lines: Lines, told: Callable[[Location], str] = in_words) -> str:
    """How a place in a tree is pointed at: `list.json pieces 2`, as `told`, or in a CSV `list.csv line 3`."""
    for depth in (2, 1):
        if location[:depth] in lines:
            rest = told(location[depth:])
            return at_line(file, lines[location[:depth]]) + (f", {rest}" if rest else "")
    return f"{file} {told(location)}".rstrip()


def records_of(
    record: type[Record],
    tree: dict[str, Any],
    file: str,
    contradictions: Callable[[Record], Iterable[Problem]],
    lines: Lines | None = None,
    told: Callable[[Location], str] = in_words,
) -> Record:
    """The record that a tree holds, each row with its place.

    `record`: what it is read into; `file`: its name; `contradictions`: mistakes between values, looked for in
    whatever is sound; `lines`: where rows stand in a file that has lines; `told`: a place within the tree in
    words. Errors: JobMistakesError with every mistake.
    """
    reader, where = TypeAdapter(record), partial(place_in, file, lines=lines or {}, told=told)
    own = [f.name for f in dataclasses.fields(record) if NO_KEY in get_args(f.type)]  # type: ignore[arg-type]
    problems = list(_put_places(tree, (), where, own))
    try:
        found = reader.validate_python(tree, context=FROM_FILE)
    except ValidationError as error:
        problems += explain_errors(error, file, record, where)
        found = reader.validate_python(_sound(tree, error, record), context=FROM_FILE)
    raise_mistakes([*problems, *contradictions(found)])
    return found


def _put_places(
    table: dict[str, Any], at: Location, where: Callable[[Location], str], own: Iterable[str]
) -> Iterator[Problem]:
    """Write into every row where it stands; yields the mistakes of a file that says what is not for it."""
    for key in [key for key in own if key in table]:
        yield mistake(where((*at, key)), "is not a key that is known here", "take it out")
        del table[key]
    for key, rows in table.items():
        if isinstance(rows, list):
            if len(rows) > MOST_ROWS:
                found = f"{len(rows):,} entries are too many"
                refuse(where((*at, key)), found, f"keep to {MOST_ROWS:,}")
            for k, row in enumerate(rows):
                if isinstance(row, dict):
                    yield from _put_places(row, (*at, key, k), where, ("place",))
    table["place"] = where(at)


def _sound(tree: dict[str, Any], error: ValidationError, record: Any) -> dict[str, Any]:
    """The tree without what holds mistakes, so that the rest is looked at as well."""
    details = error.errors(include_url=False, include_context=False)
    for *path, last in sorted({_broken(detail, record) for detail in details}, reverse=True):
        table: Any = tree
        for part in path:
            table = table[part]
        del table[last]
    return tree


def _broken(detail: ErrorDetails, record: Any) -> Location:
    """The place of what must go with a mistake: its key, or the row that needs the key."""
    place = detail["loc"]
    while isinstance(place[-1], int):
        place = place[:-1]
    unknown = detail["type"] == "unexpected_keyword_argument"
    needed = not unknown and key_at([p for p in place if isinstance(p, str)], record).required
    return place[:-1] if needed else place
