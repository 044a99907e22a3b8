"""`fencegrade check`: the readings, in words, as JSON and drawn."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from formats import format_faults

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
    (job / "lane.csv").write_text("station [in],drop [in]\n0,14\n4,15\n8,14-1/2\n12,16\n16,15\n")
    done = run("check", job / "lane.csv")
    assert done.status == 0
    *_, last = done.out.splitlines()
    assert last.startswith("PROVISIONAL: buy, cut and dig nothing for lane until what looks like a slip")


def test_readings_no_plan_can_be_made_of_are_reported_with_what_they_look_like(run: Run, job: Path) -> None:
    """Drops in millimetres under a heading in metres: check tells all of the ground, plan what to mend."""
    (job / "mm.csv").write_text("station [m],drop [m]\n0,250\n2,260\n4,275\n6,290\n")
    looks = "mm.csv: the drops, 250000 mm to 290000 mm, look like millimetres under a heading in metres"
    for command in ("check", "plan"):
        done = run(command, job / "mm.csv")
        assert done.status == 1
        assert ("mm: 4 readings" in done.out) == (command == "check")
        told = done.errors if command == "plan" else done.out.splitlines()
        assert [line.strip().partition(";")[0] for line in told if "look like" in line] == [looks]
    done = run("check", job / "mm.csv")
    assert "look like" not in done.err, "said once"


def test_json_where_no_plan_can_be_made_holds_what_the_screen_tells(run: Run, job: Path) -> None:
    """One reading that looks like a slip, and a post that cannot stand: each once, in one place."""
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text + '[posts]\nfixed = ["30 ft"]\n')
    (job / "lane.csv").write_text("station [in],drop [in]\n0,14\n4,15\n8,60\n12,16\n16,15\n20,15\n24,14\n")
    plain, done = run("check", job), run("check", job, "--json")
    found = json.loads(done.out)
    assert not list(format_faults(found))
    assert (done.status, done.errors) == (1, plain.errors)
    (line,) = done.errors
    assert line.startswith("job.toml [posts] fixed 1: the post at 30' 0\" stands outside the run, ")
    (side,) = found["runs"]
    assert (side["readings"], side["provisional"], side["pickets"]) == (7, True, [])
    told = plain.out.splitlines()
    told = [one.strip() for one in told[told.index("To know and to do") + 1 :] if one]
    assert [f"{p['place']}: {p['message']}" for p in found["problems"]] == told
    assert sum("lane.csv line 4: " in one for one in told) == 1


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
    assert done.status == 1
    assert done.out.startswith("Herb garden\n\nlane side: 6 readings\n"), "the readings are told all the same"
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
