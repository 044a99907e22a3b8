"""`fencegrade resume` and `plumb --job` as they are typed."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

BUILT = """
run = "lane side"
checked_by = "Own hand"
checked_on = "2 May"
[[board]]
number = 12
right_edge = "5 ft 9 in"
gap = "4 in"
[[left]]
length = "6 ft"
count = 10
[[post]]
number = 2
station = "8 ft 2 in"
top = "60 in"
"""


@pytest.fixture
def built(tmp_path: Path) -> Path:
    path = tmp_path / "built.toml"
    path.write_text(BUILT)
    return path


def test_the_rest_is_laid_again(run: Run, job: Path) -> None:
    done = run("resume", job, "--after", "20", "--at", "9 ft 7-3/4 in")
    assert (done.status, done.err) == (0, "")
    assert "lane side: after picket 20 of 50, at 9' 7-3/4\"" in done.out
    assert "pickets 1-20 are up and stay as they are" in done.out
    assert "Old and new" in done.out
    assert "planned right" in done.out
    assert "--limit = 1/8 in" in done.out


def test_as_planned_says_so(run: Run, job: Path) -> None:
    done = run("resume", job, "--after", "0")
    assert done.status == 0
    assert "As planned: 50 pickets to come in this stretch" in done.out
    assert "--at = the start of the run" in done.out


def test_boards_left_say_what_to_buy(run: Run, job: Path) -> None:
    done = run("resume", job, "--after", "20", "--at", "9 ft 7 in", "--left", "6 ft:5", "--left", "8 ft:4")
    assert done.status == 0
    assert "fewer boards are left than are needed: 21 more" in done.out


def test_json_is_the_answer_alone(run: Run, job: Path) -> None:
    done = run("resume", job, "--after", "20", "--at", "9 ft 7-3/4 in", "--json")
    answer = json.loads(done.out)
    assert answer["format"] == "fencegrade-resume/1"
    assert answer["pickets"][0]["picket"] == 21
    assert answer["pickets"][-1]["right_edge"] == 288.0
    assert answer["chosen"]["within"] is True
    gaps = sum(answer["chosen"]["gaps"])
    width = sum(p["right_edge"] - p["left_edge"] for p in answer["pickets"])
    assert gaps + width + answer["at"] == pytest.approx(288.0, abs=0.02)


def test_files_and_record(run: Run, job: Path, built: Path, tmp_path: Path) -> None:
    out = tmp_path / "sheets"
    done = run("resume", job, "--built", built, "--out", out)
    assert (done.status, done.err) == (0, "")
    assert "As built, lane side: checked by Own hand on 2 May" in done.out
    assert "[ ] lane side, post 2: stands" in done.out
    assert "[ ] lane side, picket 12: the gap under it is 4 in" in done.out
    names = sorted(p.name for p in out.iterdir() if not p.name.startswith("."))
    assert names == [
        "built_boards.csv",
        "built_posts.csv",
        "built_rails.csv",
        "resume.json",
        "resume.txt",
        "resume_boards.csv",
        "resume_chart.csv",
    ]
    with (out / "resume_chart.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows[0]["picket"] == "13"
    assert json.loads((out / "resume.json").read_text())["as_built"]["posts"][0]["station"] == 98.0


def test_a_foreign_file_is_not_replaced(run: Run, job: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "resume.txt").write_text("mine")
    words = ("resume", job, "--after", "0", "--out", tmp_path / "out")
    done = run(*words)
    assert done.status == 1
    assert "was not written by fencegrade" in done.err
    assert (tmp_path / "out" / "resume.txt").read_text() == "mine"
    assert run(*words, "--force").status == 0


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (
            ("--after", "20", "--at", "30 ft"),
            "--at: 30' 0\" lies beyond 24' 0\", where the run ends; check the station, that of the last "
            "board's far edge",
        ),
        (
            ("--after", "20", "--at", "4 ft"),
            '--at: 4\' 0" lies before picket 20 can end: 20 boards from 0" on reach at least 7\' 4"; check '
            "the station, that of its far edge, and the count",
        ),
        (
            ("--after", "60", "--at", "20 ft"),
            "--after: 60 pickets are said to be up, but the plan has 50 in lane side; write 0 to 50",
        ),
        (
            ("--after", "20", "--at", "9 ft 7 in", "--run", "lane"),
            '--run: no run is called "lane"; did you mean "lane side"?',
        ),
        (
            ("--after", "20", "--at", "115"),
            "--at: 115 has no unit; write the unit after it, as in 115 in or 115 mm",
        ),
        (
            ("--after", "-3", "--at", "9 ft"),
            "--after: -3 pickets are said to be up, but the plan has 50 in lane side; write 0 to 50",
        ),
        (("--built", "nowhere.toml"), "nowhere.toml: there is no such file; check the name and the folder"),
    ],
)
def test_mistakes_in_one_line(run: Run, job: Path, words: tuple[str, ...], line: str) -> None:
    done = run("resume", job, *words)
    assert (done.status, done.out) == (1, "")
    assert done.errors == [line]


def test_every_mistake_at_once(run: Run, job: Path) -> None:
    done = run("resume", job, "--after", "x", "--at", "9 ft")
    assert done.status == 2
    done = run("resume", job, "--after", "90", "--at", "9", "--left", "6 ft", "--limit", "0 in")
    assert done.status == 1
    assert [line.split(":")[0] for line in done.errors] == ["--after", "--limit", "--left", "--at"]


def test_a_lean_of_a_job(run: Run, job: Path) -> None:
    done = run("plumb", "--lean", "3/8 in", "--over", "4 ft", "--job", job, "--after", "20", "--json")
    answer = json.loads(done.out)
    assert (answer["run"], answer["after"]) == ("lane side", 20)
    assert [p["number"] for p in answer["pickets"]] == list(range(21, 21 + answer["boards"]))
    tapers = sum(p["gap_top"] - p["gap_bottom"] for p in answer["pickets"])
    assert tapers == pytest.approx(answer["lean"], abs=1e-3)
    shown = run("plumb", "--lean", "3/8 in", "--over", "4 ft", "--job", job, "--after", "20")
    assert shown.out.startswith("lane side, picket 20\n")
    assert "Edges are stations" in shown.out


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--job", "JOB"), "--after: it is not said which picket leans; add --after N, its number"),
        (
            ("--job", "JOB", "--after", "0"),
            "--after: no picket is up, so none leans; write the leaning one's number",
        ),
        (
            ("--job", "JOB", "--after", "50"),
            "--after: picket 50 is the last before 24' 0\"; set it plumb again",
        ),
        (
            ("--job", "JOB", "--after", "51"),
            "--after: 51 pickets are said to be up, but the plan has 50 in lane side; write 0 to 50",
        ),
        (
            ("--job", "JOB", "--after", "3", "--width", "5 in"),
            "--width: the job already says it; take it out, or take --job out",
        ),
        (("--after", "3"), "--after: a run and its pickets are known from a job alone; add --job JOB"),
    ],
)
def test_mistakes_of_a_lean_of_a_job(run: Run, job: Path, words: tuple[str, ...], line: str) -> None:
    given = [job if w == "JOB" else w for w in words]
    done = run("plumb", "--lean", "3/8 in", "--over", "4 ft", *given)
    assert (done.status, done.out, done.errors) == (1, "", [line])
