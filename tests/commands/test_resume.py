"""`fencegrade resume` and `plumb --job` as they are typed."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from leaning import leaning

Run = Callable[..., Any]


def test_the_rest_is_laid_again(run: Run, job: Path) -> None:
    done = run("resume", job, "--after", "20", "--at", "9 ft 7-3/4 in")
    assert (done.status, done.err) == (0, "")
    assert "lane side: after picket 20 of 50, at 9' 7-3/4\"" in done.out
    assert "pickets 1-20 are up and stay as they are" in done.out
    assert "Old and new" in done.out
    assert "planned right" in done.out
    assert "limit = 1/8 in" in done.out
    assert "CANNOT BE DONE" not in done.out


def test_what_no_gap_within_the_limit_hides_is_said(run: Run, job: Path) -> None:
    done = run("resume", job, "--after", "49", "--at", "23 ft 6 in")
    assert "CANNOT BE DONE within 1/8 in a board; this is the best that can\n" in done.out
    assert "Set 1 picket in this stretch (planned 1)\n  gap from 1/4 in to 1/2 in\n" in done.out


def test_as_planned_says_so(run: Run, job: Path) -> None:
    done = run("resume", job, "--after", "0")
    assert done.status == 0
    assert "As planned: 50 pickets to come" in done.out


def test_boards_left_say_what_to_buy(run: Run, job: Path) -> None:
    done = run("resume", job, "--after", "20", "--at", "9 ft 7 in", "--left", "6 ft:5", "--left", "8 ft:4")
    assert done.status == 0
    # 30 to come, of which 29 are too tall for a board of 6 ft or need wood to mark
    assert "fewer boards are left than are needed: 25 more, 25 of 8 ft" in done.out


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


def test_an_edge_is_kept_whole_and_every_command_reads_it(run: Run, job: Path, tmp_path: Path) -> None:
    done = run("resume", job, "--after", "20", "--at", "9 ft 7-3/4 in", "--left", "6 ft:40", "--keep")
    assert (done.status, done.err) == (0, "")
    assert done.out.endswith(f"Written\n  {job / 'built.toml'}\n")
    plan = json.loads(run("plan", job, "--json").out)
    pickets = plan["runs"][0]["pickets"]
    assert [p["number"] for p in pickets if "stands" in p["flags"]] == list(range(1, 21))
    assert pickets[19]["right"] == 115.75
    assert pickets[-1]["right"] == 288.0
    assert "after picket 20 of 50, at 9' 7-3/4\"" in run("resume", job).out
    assert run("resume", job, "--after", "12", "--at", "6 ft").errors == [
        '--after: picket 20 is up by built.toml run "lane side", but 12 are said to be; correct the one or '
        "the other"
    ]
    by_hand = "# Monday\n" + (job / "built.toml").read_text()
    (job / "built.toml").write_text(by_hand)
    again = run("resume", job, "--after", "20", "--at", "9 ft 7-1/4 in", "--keep")
    assert again.status == 0
    assert (job / "built.toml").read_text().count("[[run.picket]]") == 1
    (beside,) = job.glob("built.*.toml")
    assert beside.read_text() == by_hand
    assert again.out.endswith(f"Written\n  {beside}\n  {job / 'built.toml'}\n")
    out = tmp_path / "sheets"
    assert run("resume", job, "--out", out).status == 0
    names = sorted(p.name for p in out.iterdir() if not p.name.startswith("."))
    assert names == ["resume.json", "resume.txt", "resume_boards.csv", "resume_chart.csv"]
    with (out / "resume_chart.csv").open(newline="") as file:
        assert next(csv.DictReader(file))["picket"] == "21"


def test_a_station_that_contradicts_the_count_is_doubted(run: Run, job: Path) -> None:
    """20 boards of 5-1/2 in with gaps of 1/4 in end at 9' 7-1/16"; a board more, and 1/8 in a board."""
    words = ("resume", job, "--after", "20", "--at")
    done = run(*words, "10 ft 0-1/2 in")
    assert done.out.startswith("COUNT AGAIN\n  20 boards end at 9' 7-1/16\"; 10' 0-1/2\" is one board more\n")
    kept = run(*words, "10 ft 0-1/2 in", "--keep")
    assert kept.status == 1
    assert kept.errors[0].startswith("--keep: nothing is kept: 20 boards end at")
    assert not (job / "built.toml").exists()
    near = run(*words, "9 ft 9-9/16 in")
    assert "is 2-1/2 in more, 1/8 in a board" in near.out
    assert "COUNT AGAIN" not in run(*words, "9 ft 9 in").out
    wider = run(*words, "9 ft 9-9/16 in", "--width", "5-5/8 in", "--keep")
    assert "COUNT AGAIN" not in wider.out
    assert wider.status == 0
    assert 'width = "5-5/8 in"' in (job / "built.toml").read_text()
    assert run("resume", job, "--after", "21", "--at", "11 ft", "--keep", "--sure").status == 0


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
            "board's far edge, and the post as set",
        ),
        (
            ("--after", "20", "--at", "4 ft"),
            '--at: 4\' 0" lies before picket 20 can end: the boards from 0" on reach at least 7\' 4"; check '
            "the station, that of its far edge, and the count",
        ),
        (
            ("--after", "60", "--at", "20 ft"),
            "--after: the plan has no picket 60, only 50; check the number",
        ),
        (
            ("--after", "20", "--at", "9 ft 7 in", "--run", "lane"),
            '--run: no run is called "lane"; did you mean "lane side"?',
        ),
        (
            ("--after", "20", "--at", "115"),
            "--at: 115 has no unit; write the unit after it: "
            "115 ft, 115 in, 115 m or 115 mm, whichever was read",
        ),
        (
            ("--after", "-3", "--at", "9 ft"),
            "--after: -3 pickets cannot be up; write how many are",
        ),
        ((), "--after: it is not said how many pickets are up; say how many, or write them in built.toml"),
        (
            ("--keep", "--after", "0"),
            "--keep: nothing is said that could be kept; say how many are up, and where the last one ends",
        ),
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
    assert [line.split(":")[0] for line in done.errors] == ["--at", "--left", "--limit"]


def test_a_lean_of_a_job(run: Run, job: Path) -> None:
    done = run(
        "plumb",
        *leaning("3/8 in"),
        "--job",
        job,
        "--after",
        "20",
        "--json",
    )
    answer = json.loads(done.out)
    assert (answer["run"], answer["after"]) == ("lane side", 20)
    assert [p["number"] for p in answer["pickets"]] == list(range(21, 21 + answer["boards"]))
    tapers = sum(p["gap_top"] - p["gap_bottom"] for p in answer["pickets"])
    assert tapers == pytest.approx(answer["lean"], abs=1e-3)
    shown = run("plumb", *leaning("3/8 in"), "--job", job, "--after", "20")
    assert shown.out.startswith("lane side, picket 20\n")
    assert "Edges are stations" in shown.out


def test_a_lean_that_was_written_down(run: Run, job: Path) -> None:
    """The same answer, lean and picket taken from the record; its width too."""
    told = run("plumb", *leaning("3/8 in"), "--job", job, "--after", "20").out
    (job / "built.toml").write_text(
        '[[run]]\nname = "lane side"\n[[run.picket]]\nnumber = 20\nfar_edge = "9 ft 7-1/16 in"\n'
        'lean = ["3/8 in", "4 ft"]\n'
    )
    assert run("plumb", "--job", job).out.split("Assumed")[0] == told.split("Assumed")[0]
    alone = run("plumb", "--job", job, "--after", "21")
    assert alone.errors == [
        "--lean: the lean of picket 21 is neither given nor written down; say how much over which height, or "
        "write lean in built.toml"
    ]
    assert run("plumb").status == 2


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--job", "JOB"), "--after: it is not said which picket leans; say its number"),
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
            "--after: 51 pickets are said to be up, but the plan has 50 in lane side; write 1 to 50",
        ),
        (
            ("--job", "JOB", "--after", "3", "--width", "5 in"),
            "--width: the job already says it; leave it out, or ask without the job",
        ),
        (("--after", "3"), "--after: is known from a job alone; add --job JOB"),
    ],
)
def test_mistakes_of_a_lean_of_a_job(run: Run, job: Path, words: tuple[str, ...], line: str) -> None:
    given = [job if w == "JOB" else w for w in words]
    done = run("plumb", *leaning("3/8 in"), *given)
    assert (done.status, done.out, done.errors) == (1, "", [line])
