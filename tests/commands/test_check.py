"""`fencegrade check`: the readings, in words, as JSON and drawn."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

Run = Callable[..., Any]


def test_json_alone(run: Run, job: Path) -> None:
    done = run("check", job, "--json")
    assert (done.status, done.err) == (0, "")
    tree = json.loads(done.out)
    assert tree["format"] == "fencegrade-check/1"
    assert tree["runs"][0]["readings"] == 6


def test_the_screen_ends_with_the_verdict(run: Run, job: Path) -> None:
    done = run("check", job)
    assert done.out.splitlines()[-1] == "No mistakes found."


def test_out(run: Run, job: Path, tmp_path: Path) -> None:
    done = run("check", job, "--out", tmp_path / "out")
    assert (done.status, done.err) == (0, "")
    names = {p.name for p in (tmp_path / "out").iterdir()}
    assert names >= {"check.json", "check.txt", "ground.svg", "ground.png"}
    text = (tmp_path / "out" / "check.txt").read_text().rstrip("\n")
    assert done.out.startswith(text)


def test_each_thing_to_know_is_said_once(run: Run, job: Path) -> None:
    lines = run("check", job).out.splitlines()
    told = lines[lines.index("To know and to do") + 1 : lines.index("No mistakes found.") - 1]
    assert told
    assert len(told) == len(set(told))


def test_a_mistake_anywhere_in_the_plan_is_found(run: Run, job: Path) -> None:
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text + '[posts]\nfixed = ["30 ft"]\n')
    done = run("check", job)
    assert (done.status, done.out) == (1, "")
    (line,) = done.errors
    assert line.startswith("job.toml [posts] fixed 1: the post at 30' 0\" stands outside the run, ")


def test_joined_runs_that_disagree(run: Run, job: Path) -> None:
    text = (job / "job.toml").read_text()
    again = '[[run]]\nname = "paddock"\nsurvey = "paddock.csv"\njoin = "lane side"\n[[pickets.stock]]'
    (job / "job.toml").write_text(text.replace("[[pickets.stock]]", again, 1))
    (job / "paddock.csv").write_text("station [ft],drop [in]\n0,14\n8,14\n16,21\n")
    for command in ("check", "plan", "compare", "heights"):
        done = run(command, job)
        assert (done.status, done.out) == (1, "")
        assert done.errors == [
            'job.toml run 2, join: the ground at the stake shared with "lane side" is -20 in by lane.csv and '
            "-14 in by paddock.csv: 6 in apart, 1/4 in allowed; carry one datum through the stake (height in "
            "[[run.string]], or one benchmark), or read it again; where only its string hangs at another "
            'height: height = "-6 in" in its [[run.string]]'
        ]


def test_wrong_usage(run: Run) -> None:
    assert run("check").status == 2
