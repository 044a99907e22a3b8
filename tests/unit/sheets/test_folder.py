"""Every sheet of a plan in one folder: which files, and that they agree with one another."""

import csv
import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from heights import job_heights

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.read import Job
from fencegrade.planning.check import ground_reports
from fencegrade.planning.compare import compare_tops
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.drawings.cut_patterns import family_patterns
from fencegrade.sheets.drawings.save import svg_bytes
from fencegrade.sheets.folder import (
    named_cut_boards,
    write_check,
    write_comparison,
    write_heights,
    write_plan_sheets,
)

WriteJob = Callable[..., Job]

LANE = "station [ft],elevation [in]\n0,0\n8,-4\n16,-10\n24,-3\n"
GATE = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"'
WEST = "station [ft],elevation [in]\n0,0\n8,3\n16,8\n"
NORTH = ("station [ft],elevation [in]\n0,8\n8,2\n16,-6\n", 'join = "west"')


def names(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir() if not p.name.startswith(".")}


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_plan_of_one_run(write_job: WriteJob, tmp_path: Path) -> None:
    out = tmp_path / "out"
    written = write_plan_sheets(plan_fence(write_job(lane=LANE)), out)
    assert {p.name for p in written} == names(out) >= {
        "plan.json", "cut_chart.csv", "cut_chart.txt", "posts.csv", "rails.csv", "gaps.csv", "buying.csv",
        "posts_boards.csv", "rails_boards.csv", "rails_boards.svg", "rails_boards.png", "elevation.svg",
        "elevation.png",
    }  # fmt: skip
    assert not {"gates.csv", "pickets_boards.csv", "pickets_boards.svg"} & names(out)


@pytest.mark.usefixtures("no_paper")
def test_gates_and_flat_pickets_have_their_sheets(write_job: WriteJob, tmp_path: Path) -> None:
    out = tmp_path / "out"
    job = write_job(pickets='top_end = "flat"', lane=(LANE, GATE))
    write_plan_sheets(plan_fence(job), out)
    wanted = {"gates.csv", "pickets_boards.csv", "pickets_boards.svg", "gate_pickets_boards.csv"}
    assert names(out) >= wanted | {"gate_pickets_boards.svg"}
    assert len(rows(out / "gates.csv")) == 8


@pytest.mark.usefixtures("no_paper")
def test_two_rows_are_defined_by_a_drawing(write_job: WriteJob, tmp_path: Path) -> None:
    job = write_job(pickets='pattern = "shadowbox"\nspacing = "2-1/2 in"', lane=LANE)
    write_plan_sheets(plan_fence(job), tmp_path / "out")
    assert "shadowbox, this job" in (tmp_path / "out" / "pattern.svg").read_text()


@pytest.mark.usefixtures("no_paper")
def test_tables_and_json_agree(write_job: WriteJob, tmp_path: Path) -> None:
    out = tmp_path / "out"
    plan = plan_fence(write_job(west=WEST, north=NORTH), "racked")
    write_plan_sheets(plan, out)
    tree = json.loads((out / "plan.json").read_text())
    posts = rows(out / "posts.csv")
    assert [p["run"] for p in posts] == [r["name"] for r in tree["runs"] for _ in r["posts"]]
    in_json = [p for r in tree["runs"] for p in r["posts"]]
    assert [p["from stock [in]"] for p in posts] == [str(p["stock"] or "") for p in in_json]
    bought = Counter(float(p["from stock [in]"]) for p in posts if p["from stock [in]"])
    assert bought == Counter({s["length"]: s["count"] for s in tree["stock"]["posts"]})
    cut = Counter(float(r["cut to [in]"]) for r in rows(out / "rails.csv") if r["cut to [in]"])
    assert cut == Counter(r["length"] for run in tree["runs"] for r in run["rails"])
    assert cut == Counter(
        p for b in tree["cutting"]["rails"]["boards"] for p in b["pieces"] for _ in range(b["count"])
    )
    total = sum(round(float(r["total"]) * 100) for r in rows(out / "buying.csv") if r["total"])
    assert total / 100 == tree["totals"]["cost"]
    pickets = rows(out / "cut_chart.csv")
    assert len(pickets) == sum(len(r["pickets"]) for r in tree["runs"])


def test_patterns_drawn_are_the_boards_planned(write_job: WriteJob) -> None:
    plan = plan_fence(write_job(lane=LANE), "racked")
    patterns = family_patterns(plan, plan.families.rails)
    assert sum(p.count for p in patterns) == plan.families.rails.plan.board_count
    for pattern, board in zip(patterns, plan.families.rails.plan.boards, strict=True):
        assert sum(pattern.pieces) == pytest.approx(sum(board.pieces) * plan.mark)
        assert bool(pattern.names) == (board.count == 1)
        assert len(pattern.names) in {0, len(pattern.pieces)}


@pytest.mark.parametrize("cut", ["square", "scribed"])
def test_bars_of_scribed_boards_say_that_their_slants_are_not_drawn(write_job: WriteJob, cut: str) -> None:
    job = write_job(pickets=f'top_end = "flat"\nbottom_cut = "{cut}"', lane=LANE)
    plan = plan_fence(job, "level")
    drawn = dict(named_cut_boards(plan))
    slanted = any((r.cuts.kept_left != r.cuts.kept_right).any() for r in plan.runs)
    assert slanted == (cut == "scribed")
    said = "slants drawn square, by the longer side"
    told = [said in svg_bytes(drawn[f"{name}_boards"]).decode() for name in ("pickets", "rails")]
    assert told == [slanted, False]


def test_comparison(write_job: WriteJob, tmp_path: Path) -> None:
    write_comparison(compare_tops(write_job(lane=LANE)), tmp_path / "one")
    assert names(tmp_path / "one") == {
        "comparison.json", "comparison.csv", "comparison.txt", "comparison.svg", "comparison.png",
    }  # fmt: skip


def test_comparison_of_two_runs_has_a_drawing_each(write_job: WriteJob, tmp_path: Path) -> None:
    write_comparison(compare_tops(write_job(west=WEST, north=NORTH)), tmp_path / "two")
    assert names(tmp_path / "two") >= {"comparison_1.svg", "comparison_2.svg"}


def test_heights_are_numbered_by_run(write_job: WriteJob, tmp_path: Path) -> None:
    """Where there are several; those of one run stand among the samples."""
    write_heights(job_heights(write_job(west=WEST, north=NORTH)), tmp_path / "two")
    tables = {n for n in names(tmp_path / "two") if n.endswith(".csv")}
    assert tables == {f"heights_{s}_{k}.csv" for s in TopStyle for k in (1, 2)}


def test_check(write_job: WriteJob, tmp_path: Path) -> None:
    plan = plan_fence(write_job(west=WEST, north=NORTH))
    write_check(plan, ground_reports(plan), tmp_path / "out")
    assert names(tmp_path / "out") >= {"check.json", "check.txt", "ground.svg", "ground_2.svg"}
    tree = json.loads((tmp_path / "out" / "check.json").read_text())
    assert [r["name"] for r in tree["runs"]] == ["west", "north"]
