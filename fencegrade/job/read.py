"""From a job folder to one whole `Job`, with every mistake of the job file and its surveys reported together."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from fencegrade.job.checks import check_job
from fencegrade.job.defaults import bare_survey_stock, default_tables
from fencegrade.job.explain import explain_errors
from fencegrade.job.records import JobFile, JobTable, Pickets, Posts, Rails, Run, Soil, Top
from fencegrade.job.survey import Survey
from fencegrade.job.survey_csv import read_survey
from fencegrade.problems import JobMistakesError, Problem, mistake, raise_mistakes
from fencegrade.units import UnitSystem, known_length_unit

MOST_JOB_BYTES = 2_000_000
"""A larger job file is refused: no fence needs it."""

_METRIC_UNITS = {"mm", "cm", "m"}
_FILE = TypeAdapter(JobFile)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """A default that was taken: the key as it stands in the job file, and its value as text."""

    key: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One whole job: what the builder wrote, their surveys, and what was assumed where they were silent."""

    place: str
    job: JobTable
    runs: tuple[Run, ...]
    surveys: tuple[Survey, ...]
    top: Top
    pickets: Pickets
    posts: Posts
    rails: Rails
    soil: Soil
    assumed: tuple[Assumed, ...]
    notes: tuple[Problem, ...]


def read_job(path: Path | str) -> Job:
    """Read a job: a folder, its `job.toml`, or a bare survey CSV (then everything else is the default).

    `path`: where it lies. Result: the job with its surveys, nothing computed yet. Errors:
    JobMistakesError with every mistake of the job file and of its surveys, each with its place.
    """
    path = Path(path)
    if path.suffix.lower() in {".csv", ".tsv", ".txt"} and not path.is_dir():
        return _bare_survey(path)
    return _job_file(path / "job.toml" if path.is_dir() else path)


def _job_file(path: Path) -> Job:
    tree = _load(path)
    system = _units_of(tree)
    assumed = tuple(_fill(tree, system))
    return _whole(tree, path, assumed)


def _bare_survey(path: Path) -> Job:
    system = _system_of_survey(path)
    tree: dict[str, Any] = {
        "job": {"title": path.stem, "units": str(system)},
        "run": [{"name": path.stem, "survey": path.name}],
        "pickets": {"stock": bare_survey_stock(system)},
    }
    offered = ", ".join(s["length"] for s in bare_survey_stock(system))
    assumed = (
        Assumed(key="[job] units", value=str(system)),
        *_fill(tree, system),
        Assumed(key="[pickets] stock", value=offered),
    )
    return _whole(tree, path, assumed)


def _whole(tree: dict[str, Any], path: Path, assumed: tuple[Assumed, ...]) -> Job:
    try:
        file = _FILE.validate_python(tree)
    except ValidationError as error:
        raise JobMistakesError(explain_errors(error, path.name)) from None
    problems = list(check_job(file, path.name))
    surveys = []
    for index, run in enumerate(file.run):
        survey, found = read_survey(path.parent / run.survey)
        problems += found
        if survey is not None:
            surveys.append(survey)
        elif not found:
            problems.append(mistake(f"{path.name} run[{index}].survey", "no survey was read", "check the file"))
    raise_mistakes(problems)
    return Job(
        place=path.name,
        job=file.job,
        runs=file.run,
        surveys=tuple(surveys),
        top=file.top,
        pickets=file.pickets,
        posts=file.posts,
        rails=file.rails,
        soil=file.soil,
        assumed=assumed,
        notes=tuple(problems),
    )


def _load(path: Path) -> dict[str, Any]:
    """The raw tree of a job file. Errors: JobMistakesError for a file that cannot be read as TOML."""
    try:
        if path.stat().st_size > MOST_JOB_BYTES:
            raise _one(path.name, f"is larger than {MOST_JOB_BYTES:,} bytes", "keep readings in the survey CSV")
        text = path.read_bytes().decode("utf-8-sig")
        return tomllib.loads(text)
    except FileNotFoundError:
        where = "folder" if path.parent.is_dir() else "place"
        remedy = "check the path, or start one with: fencegrade new FOLDER"
        raise _one(str(path), f"there is no such job file in that {where}", remedy) from None
    except IsADirectoryError:
        raise _one(str(path), "is a folder, not a job file", "give the folder that holds job.toml") from None
    except PermissionError:
        raise _one(str(path), "may not be read", "change the file's permissions") from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise _one(
            f"{path.name} line {line}", "is not UTF-8 text", "save the file as UTF-8 in a plain text editor"
        ) from None
    except tomllib.TOMLDecodeError as error:
        raise _one(
            path.name, f"is not valid TOML: {error}", 'write key = "value", texts and lengths in quotes'
        ) from None
    except RecursionError:
        raise _one(path.name, "is nested too deeply", "write the tables of the job reference") from None
    except OSError as error:
        raise _one(str(path), f"cannot be read ({error.strerror})", "check the path") from None


def _one(place: str, found: str, remedy: str) -> JobMistakesError:
    return JobMistakesError([mistake(place, found, remedy)])


def _units_of(tree: dict[str, Any]) -> UnitSystem:
    """The job's units for filling defaults; anything unreadable is reported later by the validation."""
    job = tree.get("job")
    named = job.get("units") if isinstance(job, dict) else None
    return UnitSystem.METRIC if named == UnitSystem.METRIC.value else UnitSystem.IMPERIAL


def _fill(tree: dict[str, Any], system: UnitSystem) -> Iterator[Assumed]:
    """Put the defaults where the job file is silent, in place; yields each one taken."""
    for table, keys in default_tables(system).items():
        if table not in tree and table in {"job"}:
            continue
        given = tree.setdefault(table, {})
        if not isinstance(given, dict):
            continue
        for key, value in keys.items():
            if key not in given:
                given[key] = value
                if value != "":
                    yield Assumed(key=f"[{table}] {key}", value=_as_text(value))


def _as_text(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(v["length"] for v in value)
    return str(value)


def _system_of_survey(path: Path) -> UnitSystem:
    """Metric if the survey's first header names a metric unit or its first values carry one."""
    try:
        with path.open("rb") as file:
            head = file.read(4096).decode("utf-8", errors="replace").lower()
    except OSError:
        return UnitSystem.IMPERIAL
    units = {known_length_unit(word) for word in re.findall("[a-z]+", head)}
    return UnitSystem.METRIC if units & _METRIC_UNITS else UnitSystem.IMPERIAL
