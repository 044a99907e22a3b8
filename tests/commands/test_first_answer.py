"""The first answer: the name alone at a terminal, a bare survey with a few options, a job made of it."""

import json
import os
import pty
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fencegrade.job.read import read_job

Run = Callable[..., Any]
LATE = "station [ft],drop [in],Notes\n0,20,oak\n4,21,\n8,22,\n12,22,\n2,20.5,read later\n"


def at_terminal(folder: Path) -> str:
    ours, theirs = pty.openpty()
    code = "from fencegrade.cli.main import main; main()"
    command = [sys.executable, "-c", code]
    done = subprocess.run(command, stdin=theirs, stdout=theirs, stderr=theirs, cwd=folder, timeout=60)
    os.close(theirs)
    assert done.returncode == 0
    return os.read(ours, 100_000).decode().replace("\r", "")


def test_the_name_alone_says_what_to_type_and_what_is_here(run: Run, job: Path, tmp_path: Path) -> None:
    shown = at_terminal(tmp_path).splitlines()
    assert len(shown) <= 10
    assert "fencegrade new my-fence" in "\n".join(shown)
    assert f"In this folder: {job.name}; type fencegrade plan {job.name}" in shown
    assert "In this folder: a job; type fencegrade plan ." in at_terminal(job)
    done = run()
    assert done.status == 2
    assert done.out.startswith("Usage: ")


def test_a_bare_survey_takes_what_differs_most(run: Run, tmp_path: Path) -> None:
    survey = tmp_path / "yard.csv"
    survey.write_text(LATE)
    words = ("--least-height", "5 ft", "--boards", "5 ft:3.10", "--boards", "6 ft:4.10", "--spacing", "1 in")
    done = run("plan", survey, *words, "--top", "level", "--json")
    assert (done.status, done.err) == (0, "")
    plan = json.loads(done.out)
    assert {s["length"]: s["price"] for s in plan["stock"]["pickets"]}.items() <= {
        60.0: 3.1,
        72.0: 4.1,
    }.items()
    assert "[top] style" not in {a["key"] for a in plan["assumed"]}
    gaps = plan["runs"][0]["spacing"]
    assert all(0.5 < g["gap"] < 1.5 for g in gaps)
    assert not any("is wanted" in p["message"] for p in plan["problems"])
    wide = " ".join(run("plan", survey, "--spacing", "30 in").out.split())
    assert "is wanted" in wide
    assert min(p["height"] for p in plan["runs"][0]["pickets"]) == pytest.approx(60.0, abs=0.2)
    assert run("plan", survey, "--least-height", "5").errors == [
        "--least-height: 5 has no unit; write the unit after it: 5 ft, 5 in, 5 m or 5 mm, whichever was read"
    ]
    low = run("plan", survey, "--least-height", "0 in", "--spacing", "-1 in", "--boards", "0 ft").errors
    assert sorted(e.partition(":")[0] for e in low) == ["--boards", "--least-height", "--spacing"]
    assert run("plan", survey, "--boards", "6 ft:dear").errors[0].startswith("--boards: ")
    assert "€" in run("plan", survey, "--boards", "6 ft:4.10 €", "--boards", "7 ft:5").out
    assert run("plan", survey, "--boards", "6 ft:€4.10", "--boards", "7 ft:$5").errors == [
        "--boards: $5 is in $, and prices before are in €. Write all of a job in one money."
    ]


def test_options_of_a_bare_survey_do_not_overrule_a_job(run: Run, job: Path) -> None:
    assert run("plan", job, "--spacing", "1 in").errors == [
        "--spacing: the job file says it already; change it there"
    ]


def test_a_survey_becomes_a_job(run: Run, tmp_path: Path) -> None:
    survey, folder = tmp_path / "yard.csv", tmp_path / "yard"
    survey.write_text(LATE)
    assert run("new", folder, "--survey", survey).status == 0
    assert (folder / "yard.csv").read_text() == LATE
    assert len(read_job(folder).surveys[0].rows) == 5
    assert run("plan", folder).status == 0
    assert run("new", folder, "--survey", survey).status == 1
    survey.write_text("station [ft],drop [in]\n0,x\n")
    assert "yard.csv line 2" in run("new", tmp_path / "other", "--survey", survey).err
    assert not (tmp_path / "other").exists()


def test_a_survey_in_the_folder_of_its_job_stays_as_it_is(run: Run, tmp_path: Path) -> None:
    survey = tmp_path / "yard.csv"
    survey.write_text(LATE)
    assert run("new", tmp_path, "--survey", survey).status == 0
    assert survey.read_text() == LATE
    assert [p.name for p in tmp_path.glob("yard*")] == ["yard.csv"]
    assert run("plan", tmp_path).status == 0


def test_a_row_read_later_stands_in_its_place_and_is_told(run: Run, tmp_path: Path) -> None:
    survey = tmp_path / "yard.csv"
    survey.write_text(LATE)
    told = json.loads(run("plan", survey, "--json").out)["problems"]
    assert any(p["place"] == "yard.csv line 6" and "stands at the end" in p["message"] for p in told)
    survey.write_text(LATE.replace("2,20.5", "4,21.25,\n0,20.1,\n2,20.5"))
    told = json.loads(run("plan", survey, "--json").out)["problems"]
    assert any(p["place"] == "yard.csv line 8" and "stands at the end" in p["message"] for p in told)
    survey.write_text(LATE.replace("2,20.5", "14,20.5"))
    assert "stands at the end" not in run("plan", survey, "--json").out
    survey.write_text(LATE.replace("8,22", "5,22").replace("4,21", "6,21"))
    assert "comes after 6' 0\" (line 3)" in run("plan", survey).err


def test_a_column_that_is_not_known_is_asked_about(run: Run, tmp_path: Path) -> None:
    survey = tmp_path / "yard.csv"
    for head in ("Down to dirt [in]", "height [in]"):
        survey.write_text(LATE.replace("drop [in]", head))
        (line,) = run("plan", survey).errors
        assert 'if it is how far down from the string to the ground, write "drop [in]"' in line
        assert "delete" not in line
