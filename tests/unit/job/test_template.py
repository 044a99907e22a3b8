"""What `new` writes is a sound job as it stands, and its remarks are sound keys once uncommented."""

import csv
import re
from pathlib import Path

import pytest

from fencegrade.job.defaults import default_tables
from fencegrade.job.read import read_job
from fencegrade.job.template import blank_survey, job_template
from fencegrade.problems import JobMistakesError
from fencegrade.units import UnitSystem

SYSTEMS = list(UnitSystem)


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


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_remark_is_a_sound_key_once_its_mark_is_taken_away(tmp_path: Path, system: UnitSystem) -> None:
    head, body = job_template(system).split("[job]")
    loose = "[job]" + re.sub(r"^# ", "", body, flags=re.MULTILINE).replace("price = 0.00", "price = 4.10")
    assert loose.count("[[run.gate]]") == loose.count("[[run.string]]") == 1
    survey = filled(blank_survey(system)) + "30,20\n"
    with_room = survey if system is UnitSystem.METRIC else survey + "96,20\n"
    job = read_job(written(tmp_path, loose, with_room))
    assert job.runs[0].gate
    assert job.runs[0].string[0].pull
    assert job.top.most_height
    assert all(line.startswith("#") for line in head.strip().splitlines())


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
