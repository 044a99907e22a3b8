"""The formats of `--json` answers: their schemas as they lie in the package, and answers held to them."""

import json
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import Any

from jsonschema import Draft202012Validator

NAMES = ("plan", "check", "compare", "heights", "boards", "resume", "plumb")
_OF_FORMAT = {"comparison": "compare"}


def schema_text(name: str) -> str:
    """A format's schema as it lies in the package."""
    return files("fencegrade.sheets").joinpath("schemas", f"{name}.json").read_text(encoding="utf-8")


def closed(schema: Any) -> Any:
    """The schema with every key forbidden that it does not describe.

    Programs that read an answer must bear new keys; the program that prints it may print none without a word.
    """
    if isinstance(schema, list):
        return [closed(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    found = {key: closed(part) for key, part in schema.items()}
    if isinstance(schema.get("properties"), dict) and "additionalProperties" not in schema:
        found["additionalProperties"] = False
    return found


@cache
def validator(name: str) -> Draft202012Validator:
    """What holds an answer against the closed schema of a format."""
    schema = json.loads(schema_text(name))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(closed(schema))


def format_faults(answer: Any) -> Iterator[str]:
    """Where an answer leaves the format that it names; at most three places."""
    named = answer.get("format") if isinstance(answer, dict) else None
    _, _, word = str(named).removesuffix("/1").partition("fencegrade-")
    name = _OF_FORMAT.get(word, word)
    if name not in NAMES:
        yield f"no format is called {named!r}"
        return
    for number, error in enumerate(validator(name).iter_errors(answer)):
        if number == 3:
            return
        yield f"{name}: {error.json_path}: {error.message[:200]}"
