"""The reference of `job.toml`, made from the records and the defaults: every key in one line."""

from collections.abc import Iterator
from typing import Any

from fencegrade.job import fields
from fencegrade.job.defaults import FROM_BOARDS, default_tables
from fencegrade.job.schema import Key, Table, is_choice, keys, tables
from fencegrade.job.write import value_text
from fencegrade.units import UnitSystem

_KINDS: tuple[tuple[Any, str], ...] = (
    (fields.Length, "length"),
    (fields.Extent, "length"),
    (fields.Size, "length"),
    (fields.Pull, "force"),
    (fields.LineWeight, "weight by length"),
    (fields.Mass, "weight"),
    (fields.Volume, "volume"),
    (fields.Speed, "speed"),
    (fields.Pressure, "pressure"),
    (fields.Angle, "angle"),
    (fields.Slope, "slope"),
    (fields.Price, "number"),
    (fields.Count, "whole number"),
    (fields.Factor, "number, 1 to 3"),
    (fields.Rate, "number"),
    (fields.Share, "number or fraction, 0 to 0.6"),
    (fields.Chance, "number or fraction, 0 to 1"),
    (fields.SideSlope, "number, 0 to 20"),
    (fields.Sign, "text"),
    (fields.Text, "text"),
    (bool, "true or false"),
)

_PLAIN = (fields.Factor, fields.Rate, fields.Share, fields.Chance, fields.SideSlope)


def reference_markdown() -> str:
    """Every table of the job file with its keys: what each is, how it is written, and its two defaults."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    above = {t.path: t for t in tables()}
    for table in above.values():
        yield f"**`{table.heading}`** {_purpose(table, above)}"
        yield ""
        yield "| key | what it is | written as | imperial | metric |"
        yield "|---|---|---|---|---|"
        for key in keys(table.record):
            if key.table is None or (len(table.path) == 1 and _default(table, key, UnitSystem.METRIC)):
                yield _row(table, key)
        yield ""


def _purpose(table: Table, above: dict[tuple[str, ...], Table]) -> str:
    """The line that documents a table: its record's, or that of the key it stands under."""
    if len(table.path) == 1:
        return str(table.record.__doc__).rpartition("`: ")[2]
    own = next(k for k in keys(above[table.path[:-1]].record) if k.name == table.path[-1])
    return own.description + "."


def _row(table: Table, key: Key) -> str:
    system_defaults = [_default(table, key, system) for system in UnitSystem]
    shown = ["**needed**" if key.required and not d else d or "–" for d in system_defaults]
    cells = [f"`{key.name}`", key.description, written_as(key), *shown]
    return f"| {' | '.join(c.replace('|', '&#124;') for c in cells)} |"


def written_as(key: Key) -> str:
    """What kind of value a key takes, in words."""
    if key.table is not None:
        return "tables of their own"
    if is_choice(key.kind):
        told = all(choice in key.description for choice in key.kind)
        return "one of these words" if told else " or ".join(f"`{choice}`" for choice in key.kind)
    named = next(words for kind, words in _KINDS if kind == key.kind)
    return f"list, each a {named}" if key.listed else named


def _default(table: Table, key: Key, system: UnitSystem) -> str:
    """The value taken where the key is left out, as it would be written; empty where there is none."""
    filled = default_tables(system).get(table.path[0], {}) if len(table.path) == 1 else {}
    if (*table.path, key.name) == FROM_BOARDS:
        return "of the boards"
    if key.name in filled:
        value = filled[key.name]
        return ", ".join(v["length"] for v in value) if isinstance(value, list) else str(value) or "none"
    if key.required or key.fallback is None or key.listed:
        return ""
    if key.kind in _PLAIN:
        return f"{key.fallback:.3g}"
    return value_text(key.fallback, key.kind, system).strip('"')
