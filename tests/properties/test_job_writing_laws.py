"""Laws of the job writer: a job written and read again is the same job."""

import dataclasses
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fencegrade import units
from fencegrade.job import fields, records
from fencegrade.job.defaults import default_tables
from fencegrade.job.read import read_job
from fencegrade.job.records import JobFile
from fencegrade.job.schema import Key, keys
from fencegrade.job.write import exact_length, job_text
from fencegrade.units import UnitSystem

SAMPLES = Path(__file__).parents[2] / "sample_runs"
SYSTEMS = st.sampled_from(list(UnitSystem))


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    """Round numbers as people write them, and any others."""
    inches = st.integers(math.ceil(low * 16), math.floor(high * 16)).map(lambda n: n / 16)
    millimetres = st.integers(math.ceil(low * 25.4), math.floor(high * 25.4)).map(
        lambda n: units.parse_length(f"{n} mm")
    )
    return st.one_of(inches, millimetres, st.floats(low, high, allow_nan=False))


VALUES: list[tuple[Any, st.SearchStrategy[Any]]] = [
    (fields.Length, floats(-5000, 5000)),
    (fields.Extent, floats(0, 5000)),
    (fields.Size, floats(0.01, 5000)),
    (fields.Pull, floats(0.01, 500)),
    (fields.LineWeight, st.floats(1e-9, 1)),
    (fields.Mass, floats(0.01, 500)),
    (fields.Volume, floats(0.01, 500)),
    (fields.Speed, floats(0.1, 300)),
    (fields.Pressure, floats(0.1, 5000)),
    (fields.Angle, st.floats(0.001, 3.14)),
    (fields.Slope, st.floats(-3, 3)),
    (fields.Price, st.one_of(st.integers(0, 99).map(float), st.floats(0, 1e6))),
    (fields.Count, st.integers(0, 1000)),
    (fields.Factor, st.floats(1, 3)),
    (fields.Share, st.floats(0, 0.6)),
    (fields.SideSlope, st.floats(0, 20)),
    (fields.Sign, st.text(max_size=8)),
    (fields.Text, st.text(min_size=1, max_size=40).filter(lambda t: t.strip())),
    (bool, st.booleans()),
]


def value(draw: st.DrawFn, key: Key) -> Any:
    if key.table is not None:
        return record(draw, key.table)
    if key.name == "leaves":
        return draw(st.integers(1, 2))
    if key.name == "box":
        return draw(st.integers(1, 500))
    for kind, strategy in VALUES:
        if kind == key.kind:
            return draw(strategy)
    return draw(st.sampled_from(list(key.kind)))


def record(draw: st.DrawFn, table: Any) -> Any:
    """Any record of a table: keys that may be silent are silent half the time."""
    held: dict[str, Any] = {}
    types = {f.name: str(f.type) for f in dataclasses.fields(table)}
    for key in keys(table):
        if not key.required and draw(st.booleans()):
            continue
        if key.listed:
            fixed = types[key.name].count("Annotated") if "..." not in types[key.name] else 0
            count = fixed or draw(st.integers(0, 2))
            held[key.name] = tuple(value(draw, key) for _ in range(count))
        else:
            held[key.name] = value(draw, key)
    return table(**held)


@st.composite
def job_files(draw: st.DrawFn) -> JobFile:
    run = [record(draw, records.Run) for _ in range(draw(st.integers(1, 2)))]
    named = [dataclasses.replace(r, name=f"run {i}", survey="s.csv") for i, r in enumerate(run)]
    tables = {k.name: record(draw, k.table) for k in keys(JobFile) if k.name != "run" and k.required}
    site = record(draw, records.Site) if draw(st.booleans()) else None
    return JobFile(run=tuple(named), site=site, fasteners=record(draw, records.Fasteners), **tables)


def read_back(text: str) -> JobFile:
    """The records in a text, by the reader's own steps, without its checks between values and its surveys."""
    import tomllib

    from fencegrade.job import read

    tree = tomllib.loads(text)
    list(read._fill(tree, read._units_of(tree)))
    return read._FILE.validate_python(tree, context=fields.FROM_FILE)


@given(job=job_files())
def test_records_written_and_read_are_the_same_records(job: JobFile) -> None:
    assert read_back(job_text(job)) == job


@given(system=SYSTEMS, inches=floats(-1e6, 1e6))
def test_a_length_written_and_read_is_exactly_the_same_length(system: UnitSystem, inches: float) -> None:
    assert units.parse_length(exact_length(inches, system)) == inches


@given(job=job_files())
def test_writing_twice_changes_nothing(job: JobFile) -> None:
    text = job_text(job)
    assert job_text(read_back(text)) == text


@pytest.mark.parametrize("sample", ["herb_garden", "paddock_lane"])
def test_a_whole_job_written_and_read_is_the_same_job_with_the_same_assumptions(
    tmp_path: Path, sample: str
) -> None:
    job = read_job(SAMPLES / sample)
    (tmp_path / "job.toml").write_text(job_text(job), encoding="utf-8")
    for run in job.runs:
        (tmp_path / run.survey).write_bytes((SAMPLES / sample / run.survey).read_bytes())
    assert read_job(tmp_path) == job


@pytest.mark.parametrize("system", list(UnitSystem))
def test_defaults_are_written_as_the_list_of_defaults_has_them(system: UnitSystem) -> None:
    """Values that builders would write come out as builders would write them."""
    written = {v for table in default_tables(system).values() for v in table.values() if isinstance(v, str)}
    lengths = sorted(v for v in written if v.endswith(("in", "ft", "mm", "m")) and v[-3] == " " or " m" in v)
    for text in lengths:
        again = exact_length(units.parse_length(text), system)
        assert units.parse_length(again) == units.parse_length(text)
        assert len(again) <= len(text) + 2, (text, again)
