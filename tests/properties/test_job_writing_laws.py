"""Laws of the job writer: a job written and read again is the same job."""

import dataclasses
import math
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fencegrade import units
from fencegrade.job import fields, records
from fencegrade.job.defaults import default_tables
from fencegrade.job.read import read_job
from fencegrade.job.records import JobFile
from fencegrade.job.schema import Key, keys
from fencegrade.job.site import Site
from fencegrade.job.write import job_text
from fencegrade.units import UnitSystem
from fencegrade.units.exact_text import exact_length

SAMPLES = Path(__file__).parents[2] / "sample_runs"
SYSTEMS = st.sampled_from(list(UnitSystem))


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    """Round numbers as people write them, and any others."""
    inches = st.integers(math.ceil(low * 16), math.floor(high * 16)).map(lambda n: n / 16)
    millimetres = st.integers(math.ceil(low * 25.4), math.floor(high * 25.4)).map(
        lambda n: units.parse_length(f"{n} mm")
    )
    return st.one_of(inches, millimetres, st.floats(low, high, allow_nan=False))


def number(chance: Random, low: float, high: float) -> float:
    """A number as people write them in inches or millimetres, or any other."""
    any_number = chance.uniform(low, high)
    sixteenths, millimetres = round(any_number * 16) / 16, units.parse_length(f"{any_number * 25.4:.0f} mm")
    return chance.choice([v for v in (sixteenths, millimetres, any_number) if low <= v <= high])


WORDS = ["north side", 'the "old" end', "sage \\ thyme", "Kräutergarten", "=1+1", "#", "a\tb", "'", "€", "木"]
VALUES: list[tuple[Any, Callable[[Random], Any]]] = [
    (fields.Length, lambda chance: number(chance, -5000, 5000)),
    (fields.Extent, lambda chance: number(chance, 0, 500)),
    (fields.Size, lambda chance: number(chance, 0.01, 500)),
    (fields.Pull, lambda chance: number(chance, 0.01, 500)),
    (fields.LineWeight, lambda chance: chance.uniform(1e-9, 1)),
    (fields.Mass, lambda chance: number(chance, 0.01, 500)),
    (fields.Volume, lambda chance: number(chance, 0.01, 500)),
    (fields.Speed, lambda chance: number(chance, 0.1, 300)),
    (fields.Pressure, lambda chance: number(chance, 0.1, 5000)),
    (fields.Angle, lambda chance: chance.uniform(0.001, 3.14)),
    (fields.Slope, lambda chance: chance.uniform(-3, 3)),
    (fields.Price, lambda chance: chance.choice([0.0, 4.1, 7.0, chance.uniform(0, 1e6), 1e-7])),
    (fields.Count, lambda chance: chance.randint(0, 1000)),
    (fields.Factor, lambda chance: chance.uniform(1, 3)),
    (fields.Rate, lambda chance: chance.uniform(0.01, 100)),
    (fields.Share, lambda chance: chance.uniform(0, 0.6)),
    (fields.Chance, lambda chance: chance.uniform(0.01, 0.99)),
    (fields.SideSlope, lambda chance: chance.uniform(0, 20)),
    (fields.Sign, lambda chance: chance.choice(["", "$", "€", '"', "\\"])),
    (fields.Text, lambda chance: chance.choice(WORDS)),
    (bool, lambda chance: chance.random() < 0.5),
]


def value(chance: Random, key: Key) -> Any:
    if key.table is not None:
        return record(chance, key.table)
    if key.name in ("leaves", "box"):
        return chance.randint(1, 2)
    for kind, draw in VALUES:
        if kind == key.kind:
            return draw(chance)
    return chance.choice(list(key.kind))


def record(chance: Random, table: Any) -> Any:
    """Any record of a table: keys that may be silent are silent half the time."""
    held: dict[str, Any] = {}
    types = {f.name: f.type for f in dataclasses.fields(table)}
    for key in keys(table):
        if not key.required and chance.random() < 0.5:
            continue
        if key.listed:
            open_ended = "..." in str(types[key.name]) or "Ellipsis" in str(types[key.name])
            count = chance.randint(0, 2) if open_ended else {"swing_rise": 3}.get(key.name, 2)
            held[key.name] = tuple(value(chance, key) for _ in range(count))
        else:
            held[key.name] = value(chance, key)
    return table(**held)


def any_job_file(seed: int) -> JobFile:
    chance = Random(seed)
    runs = [record(chance, records.Run) for _ in range(chance.randint(1, 2))]
    named = [dataclasses.replace(r, name=f"run {i}", survey="s.csv") for i, r in enumerate(runs)]
    tables = {k.name: record(chance, k.table) for k in keys(JobFile) if k.name not in ("run", "site")}
    site = record(chance, Site) if chance.random() < 0.5 else None
    return JobFile(run=tuple(named), site=site, **tables)


def read_back(text: str) -> JobFile:
    """The records in a text, by the reader's own steps, without its checks between values and its surveys."""
    import tomllib

    from fencegrade.job import read

    tree = tomllib.loads(text)
    list(read._fill(tree, read._units_of(tree)))
    return read._FILE.validate_python(tree, context=fields.FROM_FILE)


@given(job=st.integers(0, 10**6).map(any_job_file))
def test_records_written_and_read_are_the_same_records(job: JobFile) -> None:
    assert read_back(job_text(job)) == job


@example(system=UnitSystem.METRIC, inches=999999999.99)
@given(system=SYSTEMS, inches=floats(-1e9, 1e9))
def test_a_length_written_and_read_is_exactly_the_same_length(system: UnitSystem, inches: float) -> None:
    assert units.parse_length(exact_length(inches, system)) == inches


@given(inches=floats(0.01, 4000))
def test_a_metric_record_is_written_in_metric(inches: float) -> None:
    assert exact_length(inches, UnitSystem.METRIC).endswith("m")


@pytest.mark.parametrize("sample", ["herb_garden", "paddock_lane"])
def test_a_whole_job_written_and_read_is_the_same_job_with_the_same_assumptions(
    tmp_path: Path, sample: str
) -> None:
    job = read_job(SAMPLES / sample)
    tables = {k.name: getattr(job, k.name) for k in keys(JobFile) if k.name != "run"}
    file = JobFile(run=job.runs, **tables)
    (tmp_path / "job.toml").write_text(job_text(file, [a.key for a in job.assumed]), encoding="utf-8")
    for run in job.runs:
        (tmp_path / run.survey).write_bytes((SAMPLES / sample / run.survey).read_bytes())
    assert read_job(tmp_path) == job


@pytest.mark.parametrize("system", list(UnitSystem))
def test_defaults_are_written_as_the_list_of_defaults_has_them(system: UnitSystem) -> None:
    """Values that builders would write come out as builders would write them."""
    written = {v for table in default_tables(system).values() for v in table.values() if isinstance(v, str)}
    lengths = sorted(v for v in written if v.endswith((" in", " ft", " mm", " m")))
    for text in lengths:
        again = exact_length(units.parse_length(text), system)
        assert units.parse_length(again) == units.parse_length(text)
        assert len(again) <= len(text) + 2, (text, again)
