"""Boards of one pile: how wide they came in one run tells of those to come in the others."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hollow import HOLLOW, a_job

from fencegrade.building.resume import record_to_keep, resume_fence
from fencegrade.building.resume_ask import read_ask
from fencegrade.job.as_built import AsBuilt, BuiltRun, PicketUp, PostSet
from fencegrade.job.read import Job, read_job
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.page.record import record_view
from fencegrade.sheets.screen.resume_text import resume_lines


def two_runs(folder: Path, pickets: str = "") -> Job:
    """The hollow fenced twice: the lane, and the same ground behind it with a gate."""
    a_job(folder, pickets=pickets)
    (folder / "back.csv").write_text(HOLLOW)
    with (folder / "job.toml").open("a") as file:
        file.write(
            '[[run]]\nname = "behind"\nsurvey = "back.csv"\n[[run.gate]]\nstation = "16 ft"\nwidth = "4 ft"\n'
        )
    return read_job(folder)


def built(job: Job, *runs: BuiltRun) -> FencePlan:
    return plan_fence(replace(job, built=AsBuilt(run=runs)))


def up(plan: FencePlan, number: int, beyond: float, run: int = 0, **keys: float) -> BuiltRun:
    at = float(plan.runs[run].slots.right[number - 1]) + beyond
    picket = PicketUp(number=number, far_edge=at)
    return BuiltRun(name=plan.runs[run].run.name, picket=(picket,), **keys)  # type: ignore[arg-type]


def whole_widths(plan: FencePlan, run: int) -> np.ndarray:
    return plan.runs[run].slots.width


def test_a_run_not_begun_is_laid_for_boards_as_wide_as_came(tmp_path: Path) -> None:
    """30 boards that reach 0.9 in too far are 0.03 in wider each; those of the gate come from that pile too.
    Nine tell nothing, and posts set do not begin a row."""
    job = two_runs(tmp_path)
    first = plan_fence(job)
    plan = built(job, up(first, 30, 0.9))
    assert whole_widths(plan, 1) == pytest.approx(np.full(len(plan.runs[1].slots), 5.53))
    assert plan.runs[1].leaves[0].slots.width.max() == pytest.approx(5.53)
    assert [p.found for p in plan.problems if p.place == "behind" and "laid for" in p.found] == [
        "laid for boards 5.530 in wide, as they came so far, not 5.500 in"
    ]
    assert built(job, up(first, 9, 0.27)).runs[1].layout.width == 5.5
    set_post = BuiltRun(name="behind", post=(PostSet(number=1, station=0.0),))
    assert built(job, up(first, 30, 0.9), set_post).runs[1].layout.width == pytest.approx(5.53)


def test_runs_begun_tell_of_the_rest_each_by_its_boards(tmp_path: Path) -> None:
    job = two_runs(tmp_path)
    with (tmp_path / "job.toml").open("a") as file:
        file.write('[[run]]\nname = "third"\nsurvey = "back.csv"\n')
    job = read_job(tmp_path)
    first = plan_fence(job)
    plan = built(job, up(first, 30, 0.9), up(first, 10, 0.0, run=1))
    assert [run.layout.width for run in plan.runs] == pytest.approx(
        [5.53, 5.5, (30 * 5.53 + 10 * 5.5) / 40], abs=5e-4
    )


def test_a_run_begun_keeps_what_it_was_laid_for(tmp_path: Path) -> None:
    """Its numbers are those of the row it was laid as; later boards of another run move none of it."""
    job = two_runs(tmp_path)
    first = plan_fence(job)
    job = replace(job, built=AsBuilt(run=(up(first, 30, 0.9),)))
    plan = plan_fence(job)
    at = float(plan.runs[1].slots.right[11])
    found = resume_fence(job, read_ask(job, run="behind", after=12, texts={"at": f"{at!r} in"}))
    kept = record_to_keep(found)
    assert kept.of("behind").board_width == pytest.approx(5.53)
    assert kept.of("lane side").board_width is None
    assert found.new.slots.left == pytest.approx(plan.runs[1].slots.left)
    assert not any("boards run" in line for line in resume_lines(found))
    later = replace(kept, run=(*(r for r in kept.run if r.name == "behind"), up(first, 30, -0.9)))
    after = plan_fence(replace(job, built=later))
    assert after.runs[0].layout.width == pytest.approx(5.47)
    assert after.runs[1].slots.left == pytest.approx(plan.runs[1].slots.left)
    text = record_view(plan)["runs"]["behind"]
    assert 'board_width = "5.53 in"' in text["text"]
    assert "board_width" not in text["bare"]


def test_resume_tells_of_the_other_runs(tmp_path: Path) -> None:
    job = two_runs(tmp_path)
    at = float(plan_fence(job).runs[0].slots.right[29]) + 0.9
    ask = read_ask(job, run="lane side", after=30, texts={"at": f"{at!r} in"})
    lines = list(resume_lines(resume_fence(job, ask)))
    (told,) = [line for line in lines if line.startswith("behind")]
    assert told.startswith("behind, not begun, is laid for boards of 5.530 in too: ")


def test_what_wide_boards_come_to_is_told_over_the_row_they_add_up_in(tmp_path: Path) -> None:
    """Of 31 boards in two rows 16 stand in the first: at 1/32 in more each they reach 1/2 in farther."""
    job = two_runs(tmp_path, 'pattern = "board on board"\nspacing = "3 in"')
    first = plan_fence(job).runs[0]
    at, hung = float(first.slots.right[30]) + 0.5, int((first.layout.row[:31] == 0).sum())
    found = resume_fence(job, read_ask(job, run="lane side", after=31, texts={"at": f"{at!r} in"}))
    assert hung == 16
    told = [line.strip() for line in resume_lines(found) if "boards run" in line]
    assert told == [
        "boards run 5.531 in wide on average, planned 5.500 in: 1/2 in more over 16 boards of the back row"
    ]
    assert found.new.slots.width[31:] == pytest.approx(np.full(len(found.new.slots) - 31, 5.5 + 0.5 / 16))
