"""Validation errors of the job file as problems a builder can act on."""

import dataclasses
import difflib
from collections.abc import Iterator
from typing import Any, get_args

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from fencegrade.job.records import JobFile
from fencegrade.problems import Problem, mistake
from fencegrade.units import UnitError

Location = tuple[int | str, ...]


def explain_errors(error: ValidationError, file: str) -> Iterator[Problem]:
    """Each validation error as a mistake with its place in `file`, what was found and what to do."""
    for detail in error.errors(include_url=False):
        yield mistake(key_place(file, detail["loc"]), *_words(detail))


def key_place(file: str, location: Location) -> str:
    """A key's place: `job.toml [pickets] width`, or `job.toml run[0].gate[1].width` within a list of tables."""
    if not location:
        return file
    head, *rest = location
    if len(location) > 1 and isinstance(rest[0], str):
        path = _dotted(tuple(rest))
        return f"{file} [{head}] {path}"
    if len(location) == 1 and head in _known_keys(()):
        return f"{file} [{head}]"
    return f"{file} {_dotted(location)}"


def _dotted(location: Location) -> str:
    text = ""
    for part in location:
        text += f"[{part}]" if isinstance(part, int) else f".{_shown(part)}" if text else _shown(part)
    return text


def _shown(part: str) -> str:
    """A key as a place can show it: no control characters, not endless."""
    clean = "".join(c if c.isprintable() else "?" for c in part)
    return clean if len(clean) <= 60 else clean[:57] + "..."


def _words(detail: ErrorDetails) -> tuple[str, str]:
    """What was found and what to do."""
    kind, value = detail["type"], detail["input"]
    context: dict[str, Any] = detail.get("ctx", {})
    if kind == "value_error":
        error = context["error"]
        if isinstance(error, UnitError):
            return error.found, error.remedy
        found, _, remedy = str(error).rpartition("; ")
        return (found, remedy) if found else (remedy, "correct the value")
    if kind == "missing":
        return "is missing", "add it to the job file"
    if kind == "unexpected_keyword_argument":
        return "is not a key that is known here", _nearest(detail["loc"])
    if kind == "enum":
        return f"{_brief(value)} is not one of the choices", f"write {context['expected']}"
    if kind in {"dataclass_type", "dataclass_exact_type"}:
        return f"{_brief(value)} stands where a table belongs", "write it as a table with its keys"
    if kind == "tuple_type":
        return f"{_brief(value)} stands where a list belongs", "write [[double brackets]] or [a, list]"
    if kind == "bool_type" or kind.startswith("bool"):
        return f"{_brief(value)} is not true or false", "write true or false without quotes"
    if kind == "missing_argument" or kind.startswith("too_"):
        return f"{_brief(value)} has the wrong number of entries", "write one x and one y"
    if kind.startswith("string"):
        return f"{_brief(value)} is not a text that fits here", "write a short text in quotes"
    return f"{_brief(value)} cannot be used: {detail['msg']}", "correct the value"


def _brief(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _nearest(location: Location) -> str:
    """A remedy that names the nearest known key, or lists those there are."""
    known = _known_keys(location[:-1])
    close = difflib.get_close_matches(str(location[-1]), known, n=1, cutoff=0.5)
    if close:
        return f"did you mean {close[0]!r}?"
    return f"known here: {', '.join(known)}"


def _known_keys(location: Location) -> list[str]:
    """The keys that may stand in the table at `location`."""
    kind: Any = JobFile
    for part in location:
        if isinstance(part, str):
            kind = next((f.type for f in dataclasses.fields(kind) if f.name == part), JobFile)
            inner = [a for a in get_args(kind) if dataclasses.is_dataclass(a)]
            kind = inner[0] if inner else kind
    return [f.name for f in dataclasses.fields(kind)] if dataclasses.is_dataclass(kind) else []
