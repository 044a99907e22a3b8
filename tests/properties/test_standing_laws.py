"""Laws of the fence as it stands: a record that agrees changes nothing, and steps taken one by one or at once
come to the same."""

import tempfile
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from examples import few
from hypothesis import assume, given
from hypothesis import strategies as st

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.survey import RunGround
from fencegrade.job.as_built import AsBuilt, BoardsLeft, BuiltRun, PicketUp
from fencegrade.job.choices import Fit
from fencegrade.job.read import Job, read_job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.layout import survey_grounds
from fencegrade.planning.plan import FencePlan, plan_on
from fencegrade.problems import JobMistakesError

STYLES = ["level", "sloped", "stepped", "racked", "contour"]
cases = st.tuples(
    st.sampled_from(STYLES),
    st.sampled_from([str(f) for f in Fit]),
    st.sampled_from(["side by side", "board on board"]),
)


@cache
def a_job(fit: str, pattern: str) -> tuple[Job, list[RunGround]]:
    folder = Path(tempfile.mkdtemp())
    (folder / "job.toml").write_text(
        '[job]\ntitle = "Paddock lane"\nunits = "imperial"\n[[run]]\nname = "lane"\nsurvey = "lane.csv"\n'
        '[[run.gate]]\nstation = "12 ft"\nwidth = "4 ft"\n'
        f'[pickets]\nfit = "{fit}"\npattern = "{pattern}"\nspacing = "1 in"\n'
        '[[pickets.stock]]\nlength = "6 ft"\nprice = 4\n[[pickets.stock]]\nlength = "8 ft"\nprice = 6\n'
        "on_hand = 9\n"
        '[[pickets.stock]]\nlength = "12 ft"\nprice = 11\n'
    )
    drops = "".join(f"{x},{20 + 6 * np.sin(x / 5):.2f}\n" for x in range(0, 31, 3))
    (folder / "lane.csv").write_text(f"station [ft],drop [in]\n{drops}")
    job = read_job(folder)
    return job, survey_grounds(job)[0]


def planned(
    case: tuple[str, str, str], *pickets: PicketUp, left: tuple[BoardsLeft, ...] | None = None
) -> FencePlan:
    job, grounds = a_job(case[1], case[2])
    built = AsBuilt(run=(BuiltRun(name="lane", picket=pickets),), left=left)
    return plan_on(replace(job, built=built), grounds, [TopStyle(case[0])])


def planned_with_edge(
    case: tuple[str, str, str], picket: PicketUp, **more: tuple[BoardsLeft, ...]
) -> FencePlan:
    """A plan after an edge that a fence can have.

    One past its bay, or short of a board past the gate, is refused as a slip and drawn again;
    tests/commands/test_resume.py has the sentences.
    """
    try:
        return planned(case, picket, **more)
    except JobMistakesError as error:
        assume(not any(" lies beyond " in p.found or " can end: " in p.found for p in error.problems))
        raise


@cache
def first_plan(case: tuple[str, str, str]) -> FencePlan:
    return planned(case)


def a_picket(plan: FencePlan, share: float) -> int:
    """Number of a picket of the first row about a share of the run along."""
    row = np.flatnonzero(plan.runs[0].layout.row == 0)
    return int(row[min(len(row) - 1, int(share * len(row)))]) + 1


def edge(plan: FencePlan, number: int) -> float:
    return float(plan.runs[0].slots.right[number - 1])


def same_fence(a: FencePlan, b: FencePlan) -> None:
    """Boards, rails and posts stand alike; what is to be bought is not looked at."""
    x, y = a.runs[0], b.runs[0]
    assert x.slots.left == pytest.approx(y.slots.left, abs=1e-6)
    assert x.slots.right == pytest.approx(y.slots.right, abs=1e-6)
    assert x.cuts.kept.tolist() == y.cuts.kept.tolist()
    assert x.cuts.kept_left.tolist() == y.cuts.kept_left.tolist()
    assert x.posts.station.tolist() == y.posts.station.tolist()
    assert x.rail_pieces.length == pytest.approx(y.rail_pieces.length)
    assert [g.start for g in x.gaps] == pytest.approx([g.start for g in y.gaps])
    for flag in PicketFlag:
        if flag not in (PicketFlag.STANDS, PicketFlag.MARK_IN_PLACE, PicketFlag.RIPPED, PicketFlag.SLIVER):
            assert x.flags[flag].tolist() == y.flags[flag].tolist()


@given(case=cases, share=st.floats(0, 1), rounded=st.sampled_from([0.0, 1 / 32, 1 / 16]))
@few(12)
def test_a_record_that_agrees_with_the_plan_changes_nothing(
    case: tuple[str, str, str], share: float, rounded: float
) -> None:
    """Also where the edge is written as the sheet prints it, to the sixteenth."""
    plan = first_plan(case)
    number = a_picket(plan, share)
    at = edge(plan, number)
    at = round(at / rounded) * rounded if rounded else at
    after = planned(case, PicketUp(number=number, far_edge=min(at, plan.runs[0].end)))
    same_fence(plan, after)
    assert after.runs[0].layout.coming.tolist() == [k >= number for k in range(len(plan.runs[0].slots))]
    coming = after.runs[0].layout.coming
    assert after.runs[0].stock[coming].tolist() == plan.runs[0].stock[coming].tolist()
    assert int(after.stock.used.sum()) == int(coming.sum())
    eight = plan.runs[0].stock == 1  # those on hand and those bought look alike: what is there is used first
    theirs = min(max(0, 9 - int(eight[~coming].sum())), int(eight[coming].sum()))
    assert int((after.stock.used - after.stock.bought).sum()) == theirs


@given(case=cases, shares=st.tuples(st.floats(0.05, 0.5), st.floats(0.5, 0.9)), off=st.floats(-0.06, 0.06))
@few(12)
def test_resuming_where_the_last_answer_said_changes_nothing_more(
    case: tuple[str, str, str], shares: tuple[float, float], off: float
) -> None:
    """One step off the plan, then a second edge where the first answer put it: the answer of the one step."""
    plan = first_plan(case)
    number = a_picket(plan, shares[0])
    at = edge(plan, number) + off * number
    assume(at < 141 or 192 < at < plan.runs[0].end - 3)
    first = PicketUp(number=number, far_edge=at)
    once = planned_with_edge(case, first)
    second = a_picket(once, shares[1])
    assume(second > number)
    twice = planned(case, first, PicketUp(number=second, far_edge=edge(once, second)))
    same_fence(once, twice)
    up = once.runs[0].slots
    assert up.right[number - 1] == at or abs(at - edge(plan, number)) <= 1 / 32 + 1e-6


@given(
    case=cases,
    share=st.floats(0.05, 0.9),
    off=st.floats(-0.06, 0.06),
    held=st.tuples(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60)),
)
@few(10)
def test_what_is_to_come_fills_the_run_and_is_bought_less_what_is_left(
    case: tuple[str, str, str], share: float, off: float, held: tuple[int, int, int]
) -> None:
    plan = first_plan(case)
    number = a_picket(plan, share)
    at = edge(plan, number) + off * number
    assume(at < 141 or 192 < at < plan.runs[0].end - 3)
    left = tuple(BoardsLeft(length=12.0 * n, count=count) for n, count in zip((6, 8, 12), held, strict=True))
    after = planned_with_edge(case, PicketUp(number=number, far_edge=at), left=left)
    run = after.runs[0]
    first = run.layout.row == 0
    spaces = run.slots.left[first][1:] - run.slots.right[first][:-1]
    assert (spaces >= -1e-6).all()
    assert run.slots.right[first].max() <= run.end + 1e-6
    if case[1] == "even gaps" and case[0] != "stepped":
        assert run.slots.right[first].max() == pytest.approx(run.end)
    used = after.stock.used
    assert int(used.sum()) == int(run.layout.coming.sum())
    assert (after.stock.bought == np.maximum(used - np.array(held), after.stock.bought)).all()
    assert (used - after.stock.bought <= np.array(held)).all()
    lines = [line for line in buying_list(after).lines if line.part == "pickets"]
    assert sum(line.to_buy for line in lines) == int(after.stock.bought.sum())
