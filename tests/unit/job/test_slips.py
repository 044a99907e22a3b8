"""Everyday slips of files and columns, and the words that cure them."""

from pathlib import Path

import pytest
from small_job import mistakes_of

from fencegrade.ground.readings import exchanged
from fencegrade.job.read import read_job
from fencegrade.planning.plan import plan_fence

JOB = '[job]\ntitle = "x"\nunits = "imperial"\n[[run]]\nname = "a"\nsurvey = "north.csv"\n'
STOCK = '[[pickets.stock]]\nlength = "6 ft"\nprice = {price}\n'
SURVEY = "station [ft],drop [in]\n0,30\n4,31\n8,33\n"


def told(folder: Path) -> list[str]:
    return mistakes_of(lambda: plan_fence(read_job(folder)))


def write(folder: Path, survey: str = SURVEY, name: str = "north.csv", price: str = "2.85") -> Path:
    (folder / "job.toml").write_text(JOB + STOCK.format(price=price), encoding="utf-8")
    (folder / name).write_text(survey, encoding="utf-8")
    return folder


def test_a_decimal_comma_in_the_job_file(tmp_path: Path) -> None:
    (line,) = told(write(tmp_path, price="2,85"))
    assert line == (
        "job.toml line 9: is not valid TOML: Expected newline or end of document after a statement; "
        "write the number with a point: 2.85"
    )


def test_another_fault_of_a_line_keeps_the_plain_remedy(tmp_path: Path) -> None:
    (line,) = told(write(tmp_path, price="about 3"))
    assert line.startswith("job.toml line 9: is not valid TOML: ")
    assert line.endswith('; write key = "value", with texts and lengths in quotes')


@pytest.mark.parametrize("name", ["North.CSV", "north.csv.txt"])
def test_a_file_of_nearly_the_name(tmp_path: Path, name: str) -> None:
    (line,) = told(write(tmp_path, name=name))
    assert line == (
        f'north.csv: there is no such file; the folder holds "{name}": write the same name in both places'
    )


def test_a_file_of_another_name(tmp_path: Path) -> None:
    (line,) = told(write(tmp_path, name="south.csv"))
    assert line == "north.csv: there is no such file; check the name and the folder"


def test_semicolons_under_a_heading_with_commas(tmp_path: Path) -> None:
    lines = told(write(tmp_path, survey="station [ft],drop [in]\n0;30\n4;31\n"))
    assert lines[0] == (
        "north.csv line 2: 1 cell under 2 columns; this row has semicolons and the heading commas: "
        "write the same in both"
    )


def test_stations_under_drop_and_drops_under_station(tmp_path: Path) -> None:
    rows = "station [ft],drop [in]\n30,0\n31,48\n30.5,96\n33,144\n36,192\n"
    (line,) = told(write(tmp_path, survey=rows))
    assert line == (
        "north.csv line 2: the drops rise all along from 0 and the stations do not; "
        "station and drop look exchanged: put the distances along the string under station"
    )


def test_only_a_column_that_reads_like_stations_is_doubted() -> None:
    there, fro = [0.0, 4.0, 8.0, 12.0], [30.0, 31.0, 30.5, 33.0]
    assert exchanged(fro, there)
    assert not exchanged(there, fro), "as it should be"
    assert not exchanged(there, there), "a slope that rises evenly is a slope"
    assert not exchanged(fro, [1.0, 4.0, 8.0, 12.0]), "a tape begins at nothing"
    assert not exchanged(fro[:3], there[:3]), "three readings are too few to tell"
