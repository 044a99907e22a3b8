"""The readings reduced, and a level book as a surveyor writes it: worked by hand."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fencegrade.job.read import Job
from fencegrade.planning.check import ground_reports
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.folder import write_check

WriteJob = Callable[..., Job]

BOOK = """station [ft],backsight [in],intermediate [in],foresight [in],known [in],note
0,48,,,100,
8,,50,,,
16,,52.5,,,"break, toe"
24,40,,54,,
32,,38,,,
40,,,36.1,98,
"""
STRING = "station [ft],drop [in],note\n0,20,\n8,21,\n8,21.25,\n16,24,break\n24,23,\n32,22,\n40,21,\n"


def written(job: Job, folder: Path) -> tuple[dict[str, Any], dict[str, list[list[str]]]]:
    plan = plan_fence(job)
    paths = write_check(plan, ground_reports(plan), folder)
    tables = {p.name: list(csv.reader(io.StringIO(p.read_text()))) for p in paths if p.suffix == ".csv"}
    return json.loads((folder / "check.json").read_text()), tables


def test_a_level_book_with_its_sums_and_their_check(write_job: WriteJob, tmp_path: Path) -> None:
    """Backsights 88.0, foresights 90.1, rises 2.0 + 1.9, falls 2.0 + 2.5 + 1.5: all three differ by -2.1."""
    tree, tables = written(write_job(lane=BOOK), tmp_path / "out")
    rows = tables["level_book.csv"]
    assert [r[6] for r in rows[1:7]] == ["148.0", "", "", "134.0", "", ""]
    assert [(r[7], r[8]) for r in rows[1:7]] == [
        ("", ""),
        ("", "2.0"),
        ("", "2.5"),
        ("", "1.5"),
        ("2.0", ""),
        ("1.9", ""),
    ]
    assert [r[9] for r in rows[1:7]] == ["100.0", "98.0", "95.5", "94.0", "96.0", "97.9"]
    sums, check = rows[7:]
    assert (sums[3], sums[5], sums[7], sums[8]) == ("88.0", "90.1", "3.9", "6.0")
    assert (check[3], check[7], check[9]) == ("-2.1", "-2.1", "-2.1")
    (run,) = tree["runs"]
    assert run["level_book"][3]["height_of_instrument"] == 134.0
    assert run["breaks"] == [192.0]
    assert not run["provisional"]


def test_every_reading_with_its_own_elevation(write_job: WriteJob, tmp_path: Path) -> None:
    tree, tables = written(write_job(lane=STRING), tmp_path / "out")
    assert "level_book.csv" not in tables
    rows = [r[1:3] + r[4:7] + r[8:] for r in tables["readings.csv"][1:5]]
    assert rows == [
        ["2", "0.0", "20.0", "-20.0", "-20.0", ""],
        ["3", "96.0", "21.0", "-21.0", "-21.125", ""],
        ["4", "96.0", "21.25", "-21.25", "-21.125", ""],
        ["5", "192.0", "24.0", "-24.0", "-24.0", "break"],
    ]
    assert tree["runs"][0]["elevations"][1] == {
        "line": 3,
        "station": 96.0,
        "as_written": 21.0,
        "elevation": -21.0,
        "used": -21.125,
    }


def test_points_with_how_far_off_the_line_they_were_read(write_job: WriteJob, tmp_path: Path) -> None:
    """Along the y axis, 0.5 ft to the right of it and 0.25 ft to the left."""
    survey = "x [ft],y [ft],z [ft]\n0,0,10\n0.5,8,10\n-0.25,16,10\n0,24,10\n"
    job = write_job(a=(survey, 'from_xy = ["0 ft", "0 ft"]\nto_xy = ["0 ft", "24 ft"]'))
    tree, tables = written(job, tmp_path / "out")
    assert [r[-1] for r in tables["readings.csv"]] == ["offset [in]", "0.0", "-6.0", "3.0", "0.0"]
    assert [r["offset"] for r in tree["runs"][0]["elevations"]] == [0.0, -6.0, 3.0, 0.0]
    told = (tmp_path / "out" / "check.txt").read_text()
    assert "\n  points lie up to 6 in off the line of the run, at 8' 0\"; they are taken square" in told


def test_strings_with_what_they_differ_by_where_both_were_read(write_job: WriteJob, tmp_path: Path) -> None:
    """B hangs 24 and 24-1/4 in lower by its two stakes: 1/8 in of either is left at each."""
    rows = "0,30,A\n8,31,A\n16,33,A\n24,34,A\n16,9,B\n24,9.75,B\n32,10,B\n40,12,B\n"
    survey = f"station [ft],drop [in],string\n{rows}"
    strings = [("A", "0 ft", "24 ft", 'height = "0 in"'), ("B", "16 ft", "40 ft", "")]
    keys = "".join(f'[[run.string]]\nid = "{i}"\nstart = "{a}"\nend = "{b}"\n{h}\n' for i, a, b, h in strings)
    tree, _ = written(write_job(a=(survey, keys)), tmp_path / "out")
    assert tree["runs"][0]["ties"] == [
        {"station": x, "strings": ["A", "B"], "apart": 0.125} for x in (192.0, 288.0)
    ]
    told = (tmp_path / "out" / "check.txt").read_text()
    assert (
        "\n  strings differ by at most 1/8 in on 2 stakes read from more than one, most at 16' 0\"\n" in told
    )
