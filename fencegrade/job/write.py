"""A job as the text of its `job.toml`: read again it is the same job, every length exact."""

import json
from collections.abc import Collection, Iterator
from fractions import Fraction
from typing import Any

from fencegrade import units
from fencegrade.job import fields
from fencegrade.job.defaults import default_tables
from fencegrade.job.records import JobFile
from fencegrade.job.schema import Key, keys
from fencegrade.units import UnitSystem
from fencegrade.units.exact_text import decimals, exact_length


def job_text(job: JobFile, assumed: Collection[str] = ()) -> str:
    """The job as TOML text.

    `job`: a job file's records; `assumed`: keys (`[posts] width`) that are left out, to be assumed again when
    the text is read. Result: text that `read_job` reads as equal records; lengths are written as the tape
    reads where that is exact, otherwise in as many decimals as it takes. Surveys are files of their own.
    """
    return "\n".join(file_lines(job, job.job.units, assumed)).strip() + "\n"


def file_lines(file: Any, system: UnitSystem, left_out: Collection[str] = ()) -> Iterator[str]:
    """The lines of a file of tables; `file`: the record it is read into, `left_out`: as in `job_text`."""
    defaults = default_tables(system)
    for key in keys(type(file)):
        held = getattr(file, key.name)
        filled = frozenset(defaults.get(key.name, ()))
        silent = frozenset(k for k in filled if f"[{key.name}] {k}" in left_out)
        for record in (held or ()) if key.listed else [held] if held is not None else []:
            lines = list(_table((key.name,), key, record, system, silent, filled))
            if len(lines) > 2 or (key.fallback is None and not key.required):
                yield from lines


def _table(
    path: tuple[str, ...],
    table: Key,
    record: Any,
    system: UnitSystem,
    silent: frozenset[str] = frozenset(),
    filled: frozenset[str] = frozenset(),
) -> Iterator[str]:
    """One table and those within it, without the keys in `silent` and those that hold their fallback.

    `filled`: keys whose default comes from the list of defaults, so that the record's own does not count.
    """
    dotted = ".".join(path)
    yield ""
    yield f"[[{dotted}]]" if table.listed else f"[{dotted}]"
    inner = []
    for key in keys(table.table):
        value = getattr(record, key.name)
        if key.name in silent or value in (None, "") or (value == key.fallback and key.name not in filled):
            continue
        if key.table is not None and value:
            inner.append(key)
            continue
        shown = [value_text(v, key.kind, system) for v in (value if key.listed else [value])]
        yield f"{key.name} = {'[' + ', '.join(shown) + ']' if key.listed else shown[0]}"
    for key in inner:
        for one in getattr(record, key.name):
            yield from _table((*path, key.name), key, one, system)


def value_text(value: Any, kind: Any, system: UnitSystem) -> str:
    """One value as it stands in the job file.

    `value`: as the record holds it; `kind`: its type, of `fields` or an enumeration; `system`: whose units
    lengths and weights are written in.
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        shown = [value_text(one, fields.Size, system) for one in value]
        return shown[0] if len(shown) == 1 else f"[{', '.join(shown)}]"
    if isinstance(value, str):
        return json.dumps(str(value), ensure_ascii=False)
    if kind in (fields.Length, fields.Extent, fields.Size):
        return json.dumps(exact_length(value, system))
    if kind == fields.Price and float(f"{value:.2f}") == value:
        return f"{value:.2f}"
    if kind == fields.Slope:
        percents = decimals(float(Fraction(value) * 100), "%")
        return json.dumps(next((t for t in percents if units.parse_slope(t) == value), f"{value!r}:1"))
    for known, quantity in _QUANTITIES:
        if kind == known:
            return json.dumps(_quantity_text(value, quantity, system))
    return repr(value)


def _quantity_text(value: float, quantity: units.Quantity, system: UnitSystem) -> str:
    """A quantity in a handy unit of the system where that is exact, otherwise in its base unit."""
    unit = _HANDY.get((quantity.name, system), quantity.printed[system][0])
    base = next(name for name, factor in quantity.units.items() if factor == 1)
    handy = decimals(quantity.value_in(value, unit), unit)
    return next((text for text in handy if quantity.parse(text) == value), f"{value!r} {base}")


_QUANTITIES: tuple[tuple[Any, units.Quantity], ...] = (
    (fields.Pull, units.FORCE),
    (fields.LineWeight, units.LINE_WEIGHT),
    (fields.Mass, units.MASS),
    (fields.Volume, units.VOLUME),
    (fields.Speed, units.SPEED),
    (fields.Pressure, units.PRESSURE),
    (fields.Angle, units.ANGLE),
)
_HANDY = {(units.VOLUME.name, UnitSystem.METRIC): "l"}
"""Units that are written where others are printed: bags are sold by the litre."""
