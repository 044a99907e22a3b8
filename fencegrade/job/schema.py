"""The tables and keys of job file and as-built record as data, read from the records that define them.

One place for whoever walks a whole file: its writer, its template, its reference and its mistakes.
"""

import dataclasses
from collections.abc import Iterator, Sequence
from enum import StrEnum
from typing import Annotated, Any, get_args, get_origin

from msgspec import Struct

from fencegrade.job.records import JobFile

NO_KEY = "no key"
"""Marks a field of a record that its file has not."""

Place = Annotated[str, NO_KEY]
"""Where a row stands in its file, for what is found of it later."""


class Key(Struct, frozen=True, kw_only=True):
    """One key of a table.

    `kind` is the type of one value without `| None`; `listed` whether it holds a list of them, `count` how
    many where that is fixed; `table` the record it holds where it is a table of its own, else None;
    `fallback` what is taken where neither the job file nor the defaults say anything, `required` where there
    is no such value.
    """

    name: str
    kind: Any
    listed: bool
    count: int | None
    table: Any
    description: str
    fallback: Any
    required: bool


class Table(Struct, frozen=True, kw_only=True):
    """One table of the job file: its path of keys, its record, and whether it may stand more than once."""

    path: tuple[str, ...]
    record: Any
    repeated: bool

    @property
    def heading(self) -> str:
        """The table as it is headed in the file: `[top]`, `[[run.gate]]`."""
        dotted = ".".join(self.path)
        return f"[[{dotted}]]" if self.repeated else f"[{dotted}]"

    @property
    def words(self) -> str:
        """What the table is, in the line of its record."""
        return str(self.record.__doc__).splitlines()[0].partition(": ")[2].removesuffix(".")


def tables(file: Any = JobFile) -> Iterator[Table]:
    """Every table of a file, each followed by the tables within it."""
    for key in keys(file):
        if key.table is not None:
            yield from _within((key.name,), key)


def _within(path: tuple[str, ...], key: Key) -> Iterator[Table]:
    yield Table(path=path, record=key.table, repeated=key.listed)
    for inner in keys(key.table):
        if inner.table is not None:
            yield from _within((*path, inner.name), inner)


def keys(record: Any) -> Iterator[Key]:
    """The keys of a table's record, in order."""
    for field in dataclasses.fields(record):
        if NO_KEY in get_args(field.type):
            continue
        kind = _without_none(field.type)
        listed = get_origin(kind) is tuple
        args = get_args(kind) if listed else (kind,)
        one = args[0]
        make: Any = field.default_factory
        info: Any = field.default if make is dataclasses.MISSING else make()
        known = hasattr(info, "is_required")
        required = info.is_required() if known else info is dataclasses.MISSING
        yield Key(
            name=field.name,
            kind=one,
            listed=listed,
            count=len(args) if listed and Ellipsis not in args else None,
            table=one if dataclasses.is_dataclass(one) else None,
            description=(getattr(info, "description", "") or "") if known else "",
            fallback=None if required else info.default if known else info,
            required=required,
        )


def key_at(path: Sequence[str], file: Any = JobFile) -> Key:
    """The key at a path of names in a file: `("run", "gate", "width")`."""
    record = file
    for name in path:
        found = next(key for key in keys(record) if key.name == name)
        record = found.table
    return found


def _without_none(kind: Any) -> Any:
    """The type of a key that may be left out, without its `| None`."""
    args = get_args(kind)
    if type(None) not in args:
        return kind
    (only,) = (a for a in args if a is not type(None))
    return only


def is_choice(kind: Any) -> bool:
    """Whether a key's value is one of a few words."""
    return isinstance(kind, type) and issubclass(kind, StrEnum)
