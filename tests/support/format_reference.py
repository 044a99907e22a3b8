"""The reference of what `--json` prints, made from the schemas in the package: every key in one line."""

import json
from collections.abc import Iterator
from typing import Any

from formats import NAMES, schema_text

_TYPES = {"boolean": "true or false", "integer": "whole number", "string": "text", "array": "list"}


def formats_markdown() -> str:
    """Every format with its keys: what each is, and what kind of value it has."""
    return "\n".join(line for name in NAMES for line in _lines(name)) + "\n"


def _lines(name: str) -> Iterator[str]:
    schema = json.loads(schema_text(name))
    yield f"**`{name}`** {schema['title'][:1].lower()}{schema['title'][1:]}. {schema['description']}"
    yield f"Its schema is `fencegrade/sheets/schemas/{name}.json`."
    yield ""
    yield "| key | what it is | value |"
    yield "|---|---|---|"
    yield from _rows(schema, schema, "", {})
    yield ""


def _rows(whole: Any, schema: Any, path: str, told: dict[str, str]) -> Iterator[str]:
    needed = schema.get("required", [])
    for key, part in schema.get("properties", {}).items():
        place = f"{path}{key}"
        what = part["description"] + ("" if key in needed else "; may be absent")
        known = told.get(part.get("$ref", ""))
        inner = _inner(whole, part)
        yield f"| `{place}` | {what} | {f'as `{known}`' if known else _value(inner)} |"
        if known:
            continue
        if "$ref" in part:
            told[part["$ref"]] = place
        items = inner.get("items") or {}
        yield from _rows(whole, inner, f"{place}.", told)
        if items:
            yield from _rows(whole, items, f"{place}[].", told)


def _inner(whole: Any, part: Any) -> Any:
    """The part itself, or the one it refers to."""
    _, _, name = part.get("$ref", "").rpartition("/")
    return whole["$defs"][name] if name else part


def _value(part: Any) -> str:
    """What kind of value a key has, in words."""
    if "const" in part:
        return f"`{part['const']}`"
    if "enum" in part:
        *most, last = ["null" if word is None else f"`{word}`" for word in part["enum"]]
        return f"{', '.join(most)} or {last}"
    kinds = [part["type"]] if isinstance(part["type"], str) else part["type"]
    words = " or ".join(_TYPES.get(kind, kind) for kind in kinds)
    if "array" in kinds and "prefixItems" in part.get("items", {}):
        return f"{words} of [{', '.join(p['description'] for p in part['items']['prefixItems'])}]"
    if "array" in kinds and "properties" not in part.get("items", {}):
        return f"{words} of {_value(part['items'])}"
    return "table" + " or null" * ("null" in kinds) if "object" in kinds else words
