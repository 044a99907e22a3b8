"""`fencegrade compare`: every top, one page, and what goes wrong in words."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fencegrade.fence.tops.table import TopStyle

Run = Callable[..., Any]


def test_the_screen_and_the_files_say_the_same(run: Run, job: Path, tmp_path: Path) -> None:
    done = run("compare", job, "--out", tmp_path / "tops")
    assert (done.status, done.err) == (0, "")
    text = (tmp_path / "tops" / "comparison.txt").read_text()
    assert done.out.startswith(text.rstrip("\n"))
    assert f"  {tmp_path}/tops/comparison.svg" in done.out
    assert json.loads((tmp_path / "tops" / "comparison.json").read_text())["title"] == "Herb garden"


def test_json_alone_agrees_with_plan_on_the_cost(run: Run, job: Path) -> None:
    done = run("compare", job, "--json")
    assert (done.status, done.err) == (0, "")
    tree = json.loads(done.out)
    assert tree["format"] == "fencegrade-comparison/1"
    tops = {t["top"]: t for t in tree["tops"]}
    assert list(tops) == [str(style) for style in TopStyle]
    for style in ("level", "contour"):
        plan = json.loads(run("plan", job, "--top", style, "--json").out)
        assert plan["totals"]["cost"] == tops[style]["cost"]
        (x, z) = zip(*plan["runs"][0]["top_line"], strict=True)
        slopes = np.diff(z) / np.diff(x)
        bend = np.abs(np.diff(slopes)).max(initial=0.0)
        assert tops[style]["largest_bend"] == pytest.approx(bend, abs=1e-4)
        assert (bend > 0.001) == (style == "contour")


def test_mistakes_are_those_of_plan(run: Run, job: Path) -> None:
    (job / "lane.csv").write_text("station [ft],drop [in]\n0,20\n8,-3\n16,20\n24,20\n")
    compared, planned = run("compare", job), run("plan", job)
    assert (compared.status, compared.out) == (1, "")
    assert compared.err == planned.err


def test_a_mistake_of_the_posts_is_told_once(run: Run, job: Path) -> None:
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(
        text.replace('"lane.csv"', '"lane.csv"\n[[run.no_post]]\nstart = "2 ft"\nend = "22 ft"')
    )
    compared, planned = run("compare", job), run("plan", job)
    assert (compared.status, compared.out) == (1, "")
    assert len(compared.errors) == 1
    assert compared.errors == planned.errors


def test_wrong_usage(run: Run, job: Path) -> None:
    for words in (["compare"], ["compare", job, "--top", "level"]):
        assert run(*words).status == 2


def test_a_tie_and_a_straight_contour_are_told(run: Run, tmp_path: Path) -> None:
    """On an even slope one line serves the sloped, the racked and the contour top alike."""
    (tmp_path / "lane.csv").write_text("station [ft],drop [in]\n0,30\n6,32\n12,34\n18,36\n24,38\n30,40\n")
    told = run("compare", tmp_path / "lane.csv").out
    for name, others in (("sloped", "racked and contour"), ("contour", "sloped and racked")):
        assert f"{name}: pickets 63 x 6 ft, the least, as {others}\n" in told
    assert told.count("  the tops come out in one straight line\n") == 2
    assert "The cheapest that keep every wish are sloped, racked and contour, one as cheap as the oth" in told
    planned = run("plan", tmp_path / "lane.csv", "--top", "contour").out
    assert "string; they come out in one straight line\n" in planned


def test_a_bare_survey(run: Run, job: Path) -> None:
    done = run("compare", job / "lane.csv")
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith("lane: tops side by side")
