"""A job that lies in no folder: the same tables and surveys, handed over by another program."""

import csv
import io
import math
from collections.abc import Collection, Iterator, Mapping
from copy import deepcopy
from dataclasses import replace
from typing import Any

from fencegrade.job.as_built import FILE as BUILT
from fencegrade.job.as_built import as_built_of
from fencegrade.job.read import Job, sound_parts_of, what_stands
from fencegrade.job.survey import Survey
from fencegrade.job.survey_csv import survey_of
from fencegrade.job.toml_text import toml_tree
from fencegrade.problems import JobMistakesError, Problem, mistake, raise_mistakes, refuse

Columns = Mapping[str, Collection[Any]]
"""Columns of a survey by their headings, such as `station [ft]`, one after another as in the CSV."""

_NAME = "job.toml"


def job_from(
    job: str | Mapping[str, Any],
    surveys: Mapping[str, str | Columns],
    built: str | Mapping[str, Any] | None = None,
) -> Job:
    """Make a job without any file: the same checks, defaults and mistakes as for a folder.

    Parameters
    ----------
    job : text or mapping
        What `job.toml` would hold, as its text or as tables within tables. Lengths are texts with their unit.
    surveys : mapping
        By the name a run's `survey` gives: the text of the CSV, or its columns, each (n,), by heading with
        the unit in it (`station [ft]`). None and nan are empty cells.
    built : text or mapping
        What stands, as `built.toml` would hold it: its text or its tables. Nothing stands if None.

    Returns
    -------
    Job
        As `read_job` gives it. Its tables are frozen records in inches, pounds and the job's money;
        `dataclasses.replace` makes another job of it. Errors: JobMistakesError with every mistake, each with
        its place.
    """
    tree = _tables(job, _NAME)
    made, problems = sound_parts_of(tree, _NAME, lambda named: _survey(named, surveys))
    if built is not None:
        stands, wrong = what_stands(lambda: as_built_of(_tables(built, BUILT)), tree)
        made, problems = replace(made, built=stands), (*problems, *wrong)
    raise_mistakes(problems)
    return made


def _tables(given: str | Mapping[str, Any], name: str) -> dict[str, Any]:
    """The tables of a text or a mapping, which may be written into."""
    return toml_tree(given, name) if isinstance(given, str) else deepcopy(dict(given))


def _survey(named: str, surveys: Mapping[str, str | Columns]) -> tuple[Survey | None, tuple[Problem, ...]]:
    given = surveys.get(named)
    if given is None:
        known = ", ".join(surveys) or "none"
        return None, (mistake(named, "no such survey was given", f"those given are: {known}"),)
    try:
        text = given if isinstance(given, str) else _csv_text(named, given)
    except JobMistakesError as error:
        return None, error.problems
    return survey_of(text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n"), named)


def _csv_text(named: str, columns: Columns) -> str:
    """Columns as the CSV that the reader knows. Errors: JobMistakesError where they are not equally long."""
    lengths = {len(column) for column in columns.values()}
    if len(lengths) > 1:
        found = f"columns of {' and '.join(map(str, sorted(lengths)))} values"
        refuse(named, found, "give every column a value for each reading")
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(columns)
    write.writerows(zip(*(_cells(column) for column in columns.values()), strict=True))
    return out.getvalue()


def _cells(column: Collection[Any]) -> Iterator[str]:
    """Cells as text; numbers with nine decimals, far finer than any tape."""
    for value in column:
        if value is None or (not isinstance(value, str) and math.isnan(value)):
            yield ""
        else:
            yield value if isinstance(value, str) else f"{float(value):.9f}"
