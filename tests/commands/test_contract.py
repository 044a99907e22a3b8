"""What other programs may count on: keys of the job file, `plan.json` and `boards --json`, Python names."""

import inspect
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from formats import format_faults

import fencegrade

Run = Callable[..., Any]

JOB = """
[job]
title = "Orchard windbreak"
units = "imperial"
tape = "1/8 in"
currency = "$"

[[run]]
name = "north side"
survey = "north.csv"
start = "0 ft"
end = "96 ft"
[[run.string]]
id = "A"
start = "0 ft"
end = "48 ft"
height = "0 in"
fall = "0 in"
weight = "1.4 g/m"
pull = "10 lbf"
[[run.string]]
id = "B"
start = "48 ft"
end = "96 ft"
sag = "3/8 in"
[[run.gate]]
station = "40 ft"
width = "4 ft"
[[run.no_post]]
start = "60 ft"
end = "62 ft"
[[run.keep_open]]
start = "50 ft"
end = "53 ft"
height = "4 in"
[[run.clearance]]
start = "0 ft"
end = "8 ft"
height = "1 in"

[top]
style = "level"
least_height = "6 ft"
most_height = "7 ft"
measured = "every point"

[pickets]
width = "5-1/2 in"
spacing = "0 in"
pattern = "side by side"
fit = "rip last"
top_end = "dog-eared"
bottom_cut = "square"
clearance = "2 in"
most_gap = "3 in"
[[pickets.stock]]
length = "6 ft"
price = 4.10
on_hand = 7
[[pickets.stock]]
length = "8 ft"
price = 6.85

[posts]
width = "3-1/2 in"
spacing = "8 ft"
height = "-6 in"
hole_diameter = "10 in"
least_depth = "24 in"
fixed = ["0 ft", "48 ft"]
[[posts.stock]]
length = "8 ft"
price = 14.0
[[posts.stock]]
length = "12 ft"
price = 22.0

[rails]
height = "3-1/2 in"
count = 3
joint = "butted"
[[rails.stock]]
length = "8 ft"
price = 7.0

[soil]
low_ground = "cheapest"
price = 40.0
most_depth = "6 in"
crest = "12 in"
side_slope = 3.0
loose_factor = 1.25
"""
DROPS = {
    "A": ((0, 30), (8, 31), (16, 34), (24, 36), (32, 38), (40, 42), (48, 44)),
    "B": ((48, 30), (52, 37), (56, 35), (64, 34), (72, 60), (76, 66), (80, 58), (88, 36), (96, 30)),
}
"""Readings (ft, in) of our own: a fall, a hollow for water at 52 ft and one at 76 ft that no board spans."""


@pytest.fixture
def orchard(tmp_path: Path) -> Path:
    folder = tmp_path / "orchard"
    folder.mkdir()
    (folder / "job.toml").write_text(JOB)
    rows = [f"{x},{drop},{name}\n" for name, readings in DROPS.items() for x, drop in readings]
    (folder / "north.csv").write_text("station [ft],drop [in],string\n" + "".join(rows))
    return folder


@pytest.fixture
def plan(run: Run, orchard: Path) -> dict[str, Any]:
    done = run("plan", orchard, "--json")
    assert (done.status, done.err) == (0, "")
    found: dict[str, Any] = json.loads(done.out)
    return found


def test_every_key_of_the_job_is_read(orchard: Path) -> None:
    job = fencegrade.read_job(orchard)
    (run,) = job.runs
    a, b = run.string
    assert (a.id, a.start, a.end, a.height, a.fall, a.sag) == ("A", 0.0, 576.0, 0.0, 0.0, None)
    assert a.weight is not None
    assert a.pull is not None
    assert (b.height, b.sag, b.weight) == (None, 0.375, None)
    assert [(g.station, g.width) for g in run.gate] == [(480.0, 48.0)]
    assert [(s.start, s.end) for s in run.no_post] == [(720.0, 744.0)]
    assert [(s.start, s.end, s.height) for s in run.keep_open] == [(600.0, 636.0, 4.0)]
    assert [(s.start, s.end, s.height) for s in run.clearance] == [(0.0, 96.0, 1.0)]
    assert (job.top.least_height, job.top.most_height, str(job.top.measured)) == (72.0, 84.0, "every point")
    assert [(s.length, s.price, s.on_hand) for s in job.pickets.stock] == [(72.0, 4.1, 7), (96.0, 6.85, 0)]
    assert (job.posts.height, job.posts.least_depth, job.posts.fixed) == (-6.0, 24.0, (0.0, 576.0))
    assert (job.rails.count, str(job.rails.joint)) == (3, "butted")
    assert (job.soil.price, job.soil.side_slope, job.soil.loose_factor) == (40.0, 3.0, 1.25)


def test_plan_json_has_the_format_promised(plan: dict[str, Any]) -> None:
    assert not list(format_faults(plan))
    assert (plan["format"], plan["units"], plan["length_unit"]) == ("fencegrade-plan/1", "imperial", "in")
    (run,) = plan["runs"]
    assert (run["name"], run["start"], run["end"]) == ("north side", 0, 1152)
    for key in ("pickets", "gaps", "spacing", "gates", "posts", "rails", "top_line"):
        assert run[key], key


def test_a_picket_no_board_serves_has_neither_stock_nor_trim(plan: dict[str, Any]) -> None:
    pickets = plan["runs"][0]["pickets"]
    short = [p for p in pickets if p["stock"] is None]
    assert 0 < len(short) < len(pickets)
    for picket in pickets:
        assert (picket["trim"] is None) == (picket["stock"] is None)
        assert ("no stock long enough" in picket["flags"]) == (picket["stock"] is None)
        if picket["stock"] is not None:
            assert picket["trim"] == pytest.approx(picket["stock"] - picket["length"], abs=1e-3)


def test_what_keeps_pickets_and_posts_away_does(plan: dict[str, Any]) -> None:
    (run,) = plan["runs"]
    stations = [post["station"] for post in run["posts"]]
    assert not [x for x in stations if 720 < x < 744 or 600 < x < 636]
    assert {0.0, 576.0} <= set(stations)
    assert not [p for p in run["pickets"] if p["left"] < 528 - 1e-6 and p["right"] > 480 + 1e-6]
    water = [g for g in run["gaps"] if g["start"] < 636 and g["end"] > 600]
    assert {g["action"] for g in water} == {"leave open"}


def test_boards_in_every_cutting_plan_add_up(plan: dict[str, Any]) -> None:
    """Pieces, kerfs and what is left make the board; less than a kerf left is all dust."""
    kerf = 0.125
    for family in plan["cutting"].values():
        for board in family["boards"]:
            taken = sum(board["pieces"]) + kerf * len(board["pieces"])
            assert taken - kerf + board["ends"] <= board["stock"] + 1e-3
            assert board["offcut"] == pytest.approx(max(0.0, board["stock"] - taken), abs=1e-3)
        assert family["lower_bound"] <= family["cost"] + 1e-9


def test_boards_json(run: Run, tmp_path: Path) -> None:
    asked = {
        "kerf": 1,
        "stock": [{"length": 96, "price": 1, "on_hand": 3}],
        "pieces": [{"length": 31, "count": 9}],
    }
    (tmp_path / "list.json").write_text(json.dumps(asked))
    done = run("boards", tmp_path / "list.json", "--json")
    assert (done.status, done.err) == (0, "")
    found = json.loads(done.out)
    assert not list(format_faults(found))
    assert sorted(p for b in found["boards"] for p in b["pieces"] * b["count"]) == [31] * 9


@pytest.mark.parametrize("words", [("compare",), ("heights",), ("check",)])
def test_other_answers_for_machines_are_one_json_value(
    run: Run, orchard: Path, words: tuple[str, ...]
) -> None:
    done = run(*words, orchard, "--json")
    assert (done.status, done.err) == (0, "")
    assert not list(format_faults(json.loads(done.out)))


def test_exit_status(run: Run, orchard: Path) -> None:
    assert run("check", orchard).status == 0
    assert run("plan", orchard, "--top", "wavy").status == 2
    (orchard / "job.toml").write_text(JOB.replace('width = "4 ft"', 'width = "4"', 1))
    done = run("plan", orchard)
    assert (done.status, done.out) == (1, "")
    assert "run 1, gate 1, width" in done.err


def test_the_python_names() -> None:
    plain = {name: list(inspect.signature(getattr(fencegrade, name)).parameters) for name in (
        "read_job", "plan_fence", "compare_tops", "fit_ground",
    )}  # fmt: skip
    assert plain == {
        "read_job": ["path"],
        "plan_fence": ["job", "style"],
        "compare_tops": ["job"],
        "fit_ground": ["stations", "elevations", "reading_error", "breaks"],
    }
    assert list(inspect.signature(fencegrade.cut_plan).parameters)[:3] == ["pieces", "stock", "kerf"]
    assert inspect.signature(fencegrade.cut_plan).parameters["kerf"].default == 0


def test_a_ground_profile_answers_what_is_promised() -> None:
    ground = fencegrade.fit_ground([0, 48, 96, 144], [0.0, 4.0, 3.0, -2.0])
    x = np.array([0.0, 20.0, 100.0])
    low, high = ground.band(x)
    assert low.shape == high.shape == x.shape
    assert np.all((low <= ground.elevation(x)) & (ground.elevation(x) <= high))
    narrow = ground.band(x, level=0.5)
    assert np.all(narrow[1] - narrow[0] <= high - low)
    assert [float(ground.highest(0.0, 144.0)), float(ground.lowest(0.0, 144.0))] == pytest.approx([4.0, -2.0])


def test_a_job_is_planned_and_compared_from_python(job: Path) -> None:
    read = fencegrade.read_job(job)
    assert isinstance(read, fencegrade.Job)
    assert fencegrade.plan_fence(read, style="stepped").styles == ("stepped",)
    assert isinstance(fencegrade.compare_tops(read), fencegrade.Comparison)
