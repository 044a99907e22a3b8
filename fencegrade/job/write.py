"""A job as the text of its `job.toml`: read again it is the same job, every length exact."""

import json
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from fencegrade import units
from fencegrade.job import fields
from fencegrade.job.defaults import default_tables
from fencegrade.job.exact import decimals, exact_length
from fencegrade.job.records import JobFile
from fencegrade.job.schema import Key, keys
from fencegrade.units import UnitSystem


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
    for known, measure in _MEASURES:
        if kind == known:
            return json.dumps(measure.text(value, system))
    return repr(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Measure:
    """How one kind of measurement is written: its reader, a handy unit of each system, one always exact."""

    parse: Callable[[str], float]
    number_in: Callable[[float, str], float]
    imperial: str
    metric: str
    exact: str

    def text(self, value: float, system: UnitSystem) -> str:
        unit = self.imperial if system is UnitSystem.IMPERIAL else self.metric
        handy = decimals(self.number_in(value, unit), unit)
        return next((t for t in handy if self.parse(t) == value), f"{value!r}{self.exact}")


def _percent(slope: float, _: str) -> float:
    return float(Fraction(slope) * 100)


def _measure(quantity: units.Quantity, imperial: str, metric: str, exact: str) -> _Measure:
    return _Measure(
        parse=quantity.parse, number_in=quantity.value_in, imperial=imperial, metric=metric, exact=exact
    )


_MEASURES: tuple[tuple[Any, _Measure], ...] = (
    (fields.Pull, _measure(units.FORCE, "lbf", "N", " lbf")),
    (fields.LineWeight, _measure(units.LINE_WEIGHT, "lb/ft", "g/m", " lb/in")),
    (fields.Mass, _measure(units.MASS, "lb", "kg", " lb")),
    (fields.Volume, _measure(units.VOLUME, "cu ft", "l", " cu ft")),
    (fields.Speed, _measure(units.SPEED, "mph", "m/s", " mph")),
    (fields.Pressure, _measure(units.PRESSURE, "psf", "kPa", " psf")),
    (fields.Angle, _measure(units.ANGLE, "deg", "deg", " rad")),
    (
        fields.Slope,
        _Measure(parse=units.parse_slope, number_in=_percent, imperial="%", metric="%", exact=":1"),
    ),
)
