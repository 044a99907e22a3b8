"""From a job folder to one whole `Job`, with every mistake of job file and surveys reported together."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from itertools import islice
from pathlib import Path, PureWindowsPath
from typing import Any

from pydantic import TypeAdapter, ValidationError

from fencegrade.job.as_built import FILE as BUILT
from fencegrade.job.as_built import NOTHING_BUILT, AsBuilt, read_as_built
from fencegrade.job.checks import check_job
from fencegrade.job.defaults import (
    FROM_BOARDS,
    ONLY_BESIDE,
    bare_survey_stock,
    default_tables,
    height_of_whole_boards,
)
from fencegrade.job.explain import explain_errors, nearest_of
from fencegrade.job.fields import FROM_FILE, MOST_TEXT, printable, shown_value
from fencegrade.job.records import JobFile, JobTable, Pickets, Posts, Rails, Run, Soil, Top
from fencegrade.job.site import Crew, Fasteners, Site
from fencegrade.job.survey import StringSurvey, Survey
from fencegrade.job.survey_csv import read_survey
from fencegrade.job.text_file import JOB_FILE, SURVEY_FILE, read_text
from fencegrade.job.toml_text import toml_tree
from fencegrade.job.unusual import far_string, unusual, wind_doubted
from fencegrade.problems import JobMistakesError, Problem, mistake, raise_mistakes
from fencegrade.units import UnitSystem, system_of
from fencegrade.units.words import Words

MOST_RUNS = 1_000
MOST_ENTRIES = 10_000
"""A job file with more runs, or a longer list of anything else, is refused as well."""

SurveyNamed = Callable[[str], tuple[Survey | None, tuple[Problem, ...]]]

_FILE = TypeAdapter(JobFile)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """A default that was taken: the key as it stands in the job file, its value as text, and as the record
    of its table took it.
    """

    key: str
    value: str
    taken: Any = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One whole job: what the builder wrote, their surveys, and what was assumed where they were silent.

    `place` is the job file's name, `run_places` how each run is pointed at in it; `defaults` are those taken
    when it was read; `built` is what stands so far, by the file beside it.
    """

    place: str
    job: JobTable
    run_places: tuple[str, ...]
    runs: tuple[Run, ...]
    surveys: tuple[Survey, ...]
    top: Top
    pickets: Pickets
    posts: Posts
    rails: Rails
    soil: Soil
    site: Site | None
    fasteners: Fasteners
    crew: Crew
    defaults: tuple[Assumed, ...]
    built: AsBuilt = NOTHING_BUILT

    @property
    def assumed(self) -> tuple[Assumed, ...]:
        """The defaults that still hold: those taken when it was read, and not changed since."""
        return tuple(d for d in self.defaults if _now(self, d.key) == d.taken)

    @property
    def mistakes(self) -> tuple[Problem, ...]:
        """What contradicts another of its values, as they now are; none in a job that was read and not
        changed since."""
        file = JobFile(run=self.runs, **_tables(self))
        return tuple(check_job(file, self.place, range(len(self.runs))))

    @property
    def notes(self) -> tuple[Problem, ...]:
        """What is doubted in it by its values alone, as they now are."""
        runs = zip(self.runs, self.surveys, strict=True)
        return (*unusual(self, self.runs, self.place), *_far_strings(self.job, self.place, runs))

    @property
    def title(self) -> str:
        """The job's name."""
        return self.job.title

    @property
    def units(self) -> UnitSystem:
        """The units it is written in."""
        return self.job.units

    @property
    def wind_doubted(self) -> bool:
        """Whether the wind speed is doubted and not confirmed, so that no post passes by it yet."""
        return wind_doubted(self.site, self.job)

    @property
    def tape(self) -> float:
        """The finest mark of the tape (in)."""
        return self.job.tape

    @property
    def words(self) -> Words:
        """How its numbers are written."""
        return Words.of(self.job)


def read_job(path: Path | str) -> Job:
    """Read a job: a folder, its `job.toml`, or a bare survey CSV (then everything else is the default).

    `path`: where it lies. Result: the job with its surveys, nothing computed yet. Errors:
    JobMistakesError with every mistake of the job file and of its surveys, each with its place.
    """
    job, problems = read_sound_parts(path)
    raise_mistakes(problems)
    return job


def job_folder(path: Path | str) -> Path:
    """The folder of a job, from what a command was given: the folder itself, its job file or a survey."""
    path = Path(path)
    return path if path.is_dir() else path.parent


def read_sound_parts(
    path: Path | str, said: Mapping[tuple[str, str], Any] | None = None
) -> tuple[Job, tuple[Problem, ...]]:
    """Read as much of a job as is sound, so that later steps can add their findings to the same report.

    `path`: as for `read_job`; `said`: table and key of what is told beside a bare survey, as a job file would
    have it. Result: the job, with defaults for its broken tables and without its broken
    runs, and every problem found. Errors: JobMistakesError where nothing can be read at all.
    """
    path = Path(path)
    if path.suffix.lower() in {".csv", ".tsv", ".txt"} and not path.is_dir():
        return _bare_survey(path, said or {})
    if said:
        found, remedy = "the job file says it already", "change it there"
        raise JobMistakesError([mistake(f"[{t}] {k}", found, remedy) for t, k in said])
    return _job_file(path / "job.toml" if path.is_dir() else path)


def _job_file(path: Path) -> tuple[Job, tuple[Problem, ...]]:
    tree = _load(path)
    job, problems = sound_parts_of(
        tree,
        printable(path.name),
        lambda named: read_survey(
            path.parent / PureWindowsPath(named).as_posix()
        ),  # separators of any system
    )
    built, wrong = _built(path.parent / BUILT, tree)
    return replace(job, built=built), (*problems, *wrong)


def sound_parts_of(tree: dict[str, Any], name: str, read: SurveyNamed) -> tuple[Job, tuple[Problem, ...]]:
    """As `read_sound_parts`, of a job file's tree, which is filled with the defaults in place.

    `name` of the job file; `read`: the survey of a name that a run gives, or its mistakes.
    """
    raise_mistakes(_too_many(tree, name))
    system = _units_of(tree)
    assumed = tuple(_fill(tree, system))
    file, numbers, problems = _checked(tree, system, name)
    surveys, found = _surveys(tree, name, read)
    sound = [(i, run) for i, run in zip(numbers, file.run, strict=True) if i in surveys]
    job = _job(
        file,
        name,
        {f"{name} run {i + 1}": (run, surveys[i]) for i, run in sound},
        assumed,
    )
    return job, (*problems, *found)


def _built(path: Path, tree: dict[str, Any]) -> tuple[AsBuilt, list[Problem]]:
    """What stands by the file beside the job, nothing where there is none, and the mistakes in it."""
    if not path.exists():
        return NOTHING_BUILT, []
    return what_stands(lambda: read_as_built(path), tree)


def what_stands(read: Callable[[], AsBuilt], tree: dict[str, Any]) -> tuple[AsBuilt, list[Problem]]:
    """What a record says that stands, and the mistakes in it; nothing where it cannot be read.

    `read` gives it; `tree` of the job file, whose runs alone can stand.
    """
    try:
        built = read()
    except JobMistakesError as error:
        return NOTHING_BUILT, list(error.problems)
    names = [_name_of(run) for run in _listed_runs(tree)]
    strange = [run for run in built.run if run.name not in names]
    return built, [
        mistake(f"{run.place}, name", f'no run is called "{run.name}"', nearest_of(run.name, names))
        for run in strange
    ]


def _bare_survey(path: Path, said: Mapping[tuple[str, str], Any]) -> tuple[Job, tuple[Problem, ...]]:
    survey, problems = read_survey(path)
    system = system_of_survey(path)
    name = path.stem.strip()[:MOST_TEXT] or "survey"
    tree: dict[str, Any] = {
        "job": {"title": name, "units": str(system)},
        "run": [{"name": name, "survey": "survey.csv"}],
        "pickets": {"stock": bare_survey_stock(system)},
    }
    for (table, key), value in said.items():
        tree.setdefault(table, {})[key] = value
    assumed = [Assumed(key="[job] units", value=str(system)), *_fill(tree, system)]
    if ("pickets", "stock") not in said:
        offered = ", ".join(s["length"] for s in bare_survey_stock(system))
        assumed.append(Assumed(key="[pickets] stock", value=offered))
    try:
        file = _FILE.validate_python(tree, context=FROM_FILE)
    except ValidationError as error:
        raise JobMistakesError([*explain_errors(error, path.name), *problems]) from None
    job = _job(file, path.name, {path.name: (file.run[0], survey)} if survey else {}, tuple(assumed))
    return job, (*problems, *check_job(file, path.name, [0]))


def _job(
    file: JobFile, place: str, runs: Mapping[str, tuple[Run, Survey]], assumed: tuple[Assumed, ...]
) -> Job:
    return Job(
        place=place,
        run_places=tuple(runs),
        runs=tuple(run for run, _ in runs.values()),
        surveys=tuple(survey for _, survey in runs.values()),
        defaults=tuple(replace(a, taken=_now(file, a.key)) for a in assumed),
        **_tables(file),
    )


def _tables(of: "Job | JobFile") -> dict[str, Any]:
    """The tables of a job by name, all but its runs."""
    return {table.name: getattr(of, table.name) for table in fields(JobFile) if table.name != "run"}


def _now(tables: "Job | JobFile", key: str) -> Any:
    """What a key such as `[pickets] width` holds."""
    table, _, name = key.removeprefix("[").partition("] ")
    return getattr(getattr(tables, table), name)


def _far_strings(job: JobTable, place: str, runs: Iterable[tuple[Run, Survey]]) -> Iterator[Problem]:
    for run, survey in runs:
        if isinstance(survey, StringSurvey):
            last = max(row.station for row in survey.rows)
            yield from far_string(run, place, last, job.confirmed, Words.of(job))


def _checked(tree: dict[str, Any], system: UnitSystem, name: str) -> tuple[JobFile, list[int], list[Problem]]:
    """The job file as far as it is sound, which of its runs are, and every mistake in it."""
    problems = []
    try:
        file = _FILE.validate_python(tree, context=FROM_FILE)
        numbers = list(range(len(file.run)))
    except ValidationError as error:
        problems = list(explain_errors(error, name))
        file, numbers = _sound(tree, error, system)
    if tree.get("run") == []:
        problems.append(mistake(f"{name} [run]", "there is no run", "add [[run]] with its name and survey"))
    broken = {_name_of(run) for i, run in enumerate(_listed_runs(tree)) if i not in numbers}
    return file, numbers, [*problems, *check_job(file, name, numbers, broken)]


def _sound(tree: dict[str, Any], error: ValidationError, system: UnitSystem) -> tuple[JobFile, list[int]]:
    """The job file with defaults for its broken tables and without its broken runs."""
    places = [detail["loc"] for detail in error.errors(include_url=False, include_context=False)]
    broken = {place[0] for place in places}
    whole: dict[str, Any] = default_tables(system)
    whole["job"] |= {"title": "-", "units": str(system)}
    whole["pickets"]["stock"] = bare_survey_stock(system)
    kept = {table: default if table in broken else tree[table] for table, default in whole.items()}
    broken_runs = {place[1] for place in places if place[0] == "run" and len(place) > 1}
    runs = _listed_runs(tree)
    numbers = [i for i in range(len(runs)) if i not in broken_runs]
    return _FILE.validate_python(kept | {"run": [runs[i] for i in numbers]}, context=FROM_FILE), numbers


def _listed_runs(tree: dict[str, Any]) -> list[Any]:
    runs = tree.get("run")
    return runs if isinstance(runs, list) else []


def _name_of(run: Any) -> str:
    """The name of a run that may be broken; empty where it has none."""
    named = run.get("name") if isinstance(run, dict) else None
    return named.strip() if isinstance(named, str) else ""


def _too_many(tree: dict[str, Any], name: str) -> Iterator[Problem]:
    """Lists that no fence needs, which would only take for ever to check."""
    if len(_listed_runs(tree)) > MOST_RUNS:
        found = f"{len(_listed_runs(tree)):,} runs are more than {MOST_RUNS:,}"
        yield mistake(f"{name} [run]", found, "divide the job into several")
    inner = [run for run in _listed_runs(tree) if isinstance(run, dict)]
    for table in [*inner, *(t for t in tree.values() if isinstance(t, dict))]:
        for key, value in table.items():
            if isinstance(value, list) and len(value) > MOST_ENTRIES:
                found = f"a list of {len(value):,} is longer than {MOST_ENTRIES:,}"
                yield mistake(f"{name}, {printable(key)}", found, "divide the job into several")


def _outside(named: str) -> bool:
    """Whether a survey's name leads out of the job's folder, in the words of any system."""
    windows = PureWindowsPath(named)
    return bool(windows.anchor) or ".." in windows.parts


def _surveys(tree: dict[str, Any], name: str, read: SurveyNamed) -> tuple[dict[int, Survey], list[Problem]]:
    """Every survey that a run names, sound or not in its other keys, and the mistakes in them."""
    surveys: dict[int, Survey] = {}
    problems: list[Problem] = []
    for number, run in enumerate(_listed_runs(tree)):
        named = run.get("survey") if isinstance(run, dict) else None
        if not isinstance(named, str) or not named.strip() or len(named) > MOST_TEXT:
            continue
        if _outside(named.strip()):
            found_there = f"{shown_value(named)} lies outside the folder of the job"
            remedy = "put the survey beside the job file, or in a folder below it, and write its name"
            problems.append(mistake(f"{name} run {number + 1}, survey", found_there, remedy))
            continue
        survey, found = read(named.strip())
        problems += [p for p in found if p not in problems]
        if survey is not None:
            surveys[number] = survey
    return surveys, problems


def _load(path: Path) -> dict[str, Any]:
    """The raw tree of a job file. Errors: JobMistakesError for a file that cannot be read as TOML."""
    name = printable(path.name)
    text = read_text(path, name, JOB_FILE)
    if isinstance(text, Problem):
        raise JobMistakesError([_no_job(path) if _is_missing(path) else text])
    return toml_tree(text, name)


def _is_missing(path: Path) -> bool:
    try:
        return not path.exists()
    except (OSError, ValueError):
        return False


def _no_job(path: Path) -> Problem:
    start = "start one with: fencegrade new FOLDER"
    if path.name != "job.toml" or not path.parent.is_dir():
        return mistake(str(path), "there is no such file or folder", f"check the path, or {start}")
    surveys = sorted(p.name for p in path.parent.iterdir() if p.suffix.lower() == ".csv")
    remedy = f"give the survey {surveys[0]} itself" if surveys else "check the path"
    return mistake(str(path), "the folder holds no job.toml", f"{remedy}, or {start}")


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
        written = frozenset(given)
        for key, value in keys.items():
            if key not in given and ONLY_BESIDE.get((table, key)) not in written:
                if (table, key) == FROM_BOARDS:
                    value = height_of_whole_boards(tree.get("pickets"), given, system)
                given[key] = value
                if value != "":
                    yield Assumed(key=f"[{table}] {key}", value=_as_text(value))


def _as_text(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(v["length"] for v in value)
    return str(value)


def system_of_survey(path: Path) -> UnitSystem:
    """Metric if the survey's header names a metric unit or, without one, its first values carry one."""
    text = read_text(path, path.name, SURVEY_FILE)
    if isinstance(text, Problem):
        return UnitSystem.IMPERIAL
    lines = (line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#"))
    head = list(islice(lines, 20))
    named = re.findall(r"[\[(]\s*([a-z]+)", "".join(head[:1]).lower())
    written = re.findall(r"\d\s*(mm|cm|m)\b", " ".join(head[1:]).lower())
    metric = any(system_of(word) is UnitSystem.METRIC for word in named or written)
    return UnitSystem.METRIC if metric else UnitSystem.IMPERIAL
