"""`fencegrade heights`: every height at which a board changes stock."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fencegrade.fence.tops.table import TopStyle

Run = Callable[..., Any]


def test_json_alone(run: Run, job: Path) -> None:
    done = run("heights", job, "--json")
    assert (done.status, done.err) == (0, "")
    tree = json.loads(done.out)
    assert tree["format"] == "fencegrade-heights/1"
    assert [(r["name"], r["top"]) for r in tree["runs"]] == [("lane side", style) for style in TopStyle]
    for table in tree["runs"]:
        moved = [h["moved_by"] for h in table["heights"]]
        assert moved == sorted(moved)


def test_the_screen(run: Run, job: Path) -> None:
    done = run("heights", job)
    assert (done.status, done.err) == (0, "")
    assert "HEIGHTS OF THE LEVEL LINE, LANE SIDE" in done.out
    assert "boards of 6 ft" in done.out


def test_out(run: Run, job: Path, tmp_path: Path) -> None:
    done = run("heights", job, "--out", tmp_path / "out")
    assert (done.status, done.err) == (0, "")
    names = {"heights.json", "heights_level.csv", "heights_level.svg", "heights_sloped.csv"}
    assert {p.name for p in (tmp_path / "out").iterdir()} >= names


def test_mistakes_of_job_and_survey_come_together(run: Run, job: Path) -> None:
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text.replace("price = 4.10", "price = -4.10"))
    (job / "lane.csv").write_text("station [ft],drop [in]\n0,20\n8,-3\n16,20\n24,20\n")
    done, planned = run("heights", job), run("plan", job)
    assert (done.status, done.out) == (1, "")
    assert done.errors == planned.errors
    assert len(done.errors) == 2


def test_wrong_usage(run: Run) -> None:
    assert run("heights").status == 2
