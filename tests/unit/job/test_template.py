"""What `new` writes is a sound job as it stands, and its remarks are sound keys once uncommented."""

import copy
import csv
import re
import tomllib
from pathlib import Path

import pytest
from pydantic import TypeAdapter

from fencegrade.job.as_built import NOTHING_BUILT, parse_as_built
from fencegrade.job.defaults import default_tables
from fencegrade.job.fields import FROM_FILE
from fencegrade.job.read import read_job
from fencegrade.job.records import JobFile
from fencegrade.job.schema import keys, tables
from fencegrade.job.template import blank_built, blank_survey, job_template
from fencegrade.problems import JobMistakesError
from fencegrade.units import UnitSystem

SYSTEMS = list(UnitSystem)
FILE = TypeAdapter(JobFile)


def filled(survey: str) -> str:
    return re.sub(r"^# (\d+),$", r"\1,20", survey, flags=re.MULTILINE)


def written(folder: Path, job: str, survey: str) -> Path:
    (folder / "job.toml").write_text(job, encoding="utf-8")
    (folder / "north.csv").write_text(survey, encoding="utf-8")
    return folder


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_template_with_readings_is_a_sound_job(tmp_path: Path, system: UnitSystem) -> None:
    job = read_job(written(tmp_path, job_template(system), filled(blank_survey(system))))
    assert job.job.units is system
    assert len(job.pickets.stock) >= 2
    assert len(job.surveys[0].rows) >= 5


@pytest.mark.parametrize("system", SYSTEMS)
def test_it_says_what_the_defaults_are(tmp_path: Path, system: UnitSystem) -> None:
    """A job read from the template equals one whose tables are left to their defaults."""
    template = read_job(written(tmp_path, job_template(system), filled(blank_survey(system))))
    stock = "".join(f'[[pickets.stock]]\nlength = "{s.length} in"\n' for s in template.pickets.stock)
    short = (
        f'[job]\ntitle = "My fence"\nunits = "{system}"\n'
        f'[[run]]\nname = "north side"\nsurvey = "north.csv"\n{stock}'
    )
    silent = read_job(written(tmp_path, short, filled(blank_survey(system))))
    assert (template.job, template.runs, template.top) == (silent.job, silent.runs, silent.top)
    for key in default_tables(system)["pickets"]:
        assert getattr(template.pickets, key) == getattr(silent.pickets, key)
    assert not [a for a in template.assumed if a.key.startswith(("[job]", "[top]", "[pickets]"))]


def remarked(template: str) -> dict[tuple[str, ...], dict[str, object]]:
    """Every table of the template, open or in remarks, with its keys and their values."""
    found: dict[tuple[str, ...], dict[str, object]] = {}
    table: tuple[str, ...] = ()
    for line in template.splitlines():
        bare = line.removeprefix("# ")
        if heading := re.fullmatch(r"\[+([\w.]+)\]+(\s+#.*)?", bare):
            table = tuple(heading.group(1).split("."))
            found.setdefault(table, {})
        elif re.match(r"\w+ = ", bare):
            found[table] |= tomllib.loads(bare)
    return found


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_key_there_is_stands_in_it_with_a_value_that_is_sound(system: UnitSystem) -> None:
    found = remarked(job_template(system))
    tree = tomllib.loads(job_template(system))
    for name, defaults in default_tables(system).items():
        tree[name] = {**defaults, **tree.get(name, {})}
    for table in tables():
        for key in keys(table.record):
            if key.table is not None:
                continue
            assert key.name in found[table.path], (table.path, key.name)
            one = copy.deepcopy(tree)
            held = one["run"][0] if table.path[0] == "run" else one.setdefault(table.path[0], {})
            if len(table.path) > 1:
                held[table.path[1]] = [found[table.path]]
            else:
                held[key.name] = found[table.path][key.name]
            FILE.validate_python(one, context=FROM_FILE)


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_blank_record_holds_every_row_and_nothing_yet(system: UnitSystem) -> None:
    text = blank_built(system)
    assert parse_as_built(text) == NOTHING_BUILT
    built = parse_as_built(re.sub(r"^# (?=\[|\w+ = )", "", text, flags=re.MULTILINE))
    run = built.run[0]
    assert run.picket[0].lean
    assert all((run.picket[0].width, run.picket[0].kept, run.picket[0].gap, run.post[0].top))
    assert run.measured[0].drop
    assert run.later
    assert built.left


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_blank_survey_says_that_it_is_blank(tmp_path: Path, system: UnitSystem) -> None:
    with pytest.raises(JobMistakesError) as caught:
        read_job(written(tmp_path, job_template(system), blank_survey(system)))
    (problem,) = caught.value.problems
    assert "no readings" in problem.found
    assert "#" in problem.remedy
    header = next(r for r in csv.reader(blank_survey(system).splitlines()) if not r[0].startswith("#"))
    units = ("ft", "in") if system is UnitSystem.IMPERIAL else ("m", "mm")
    assert header == [f"station [{units[0]}]", f"drop [{units[1]}]"]
