"""What is hung by: heights over the string as it hung, and clear openings."""

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fencegrade.fence.pickets.spacing import Spacing
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.as_built import AsBuilt, BuiltRun, PicketUp
from fencegrade.job.read import Job
from fencegrade.planning.hanging import (
    measured_from,
    openings,
    pickets_over_line,
    tops_over_line,
    where_bays_meet,
)
from fencegrade.planning.plan import plan_fence
from fencegrade.planning.run import run_spaces

WriteJob = Callable[..., Job]

LANE = "station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n"
GATE = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"'


def test_a_sagging_string_is_farther_under_a_level_top_at_mid_span(write_job: WriteJob) -> None:
    """Source: own derivation; the sag measured at mid-span is what the string hangs below its ends."""
    sag = '[[run.string]]\nstart = "0 ft"\nend = "24 ft"\nheight = "0 in"\nsag = "1/2 in"'
    (run,) = plan_fence(write_job(lane=(LANE, sag)), "level").runs
    over = tops_over_line(run, np.array([0.0, 144.0, 288.0]))
    assert over[1] - over[0] == pytest.approx(0.5, abs=1e-3)
    assert over[0] == pytest.approx(over[2])


def test_a_top_over_the_string_and_the_drop_make_the_height_over_ground(write_job: WriteJob) -> None:
    (run,) = plan_fence(write_job(lane=LANE), "contour").runs
    stations, drops = np.array([0.0, 72.0, 120.0]), np.array([20.0, 20.0, 24.0])
    over_ground = run.top.at(stations) - run.ground.profile.line.elevation(stations)
    assert tops_over_line(run, stations) + drops == pytest.approx(over_ground)
    assert len(pickets_over_line(run)) == len(run.slots)


def test_openings_and_spaces_with_the_boards_fill_the_run(write_job: WriteJob) -> None:
    (run,) = plan_fence(write_job(lane=(LANE, GATE)), "level").runs
    start, gate, end = openings(run)
    assert (gate.gate, gate.posts) == (1, 48.0)
    assert gate.clear == pytest.approx(48.0)
    spaces = sum(s.gap * s.spaces for s in run_spaces(run))
    boards = float(run.slots.width.sum())
    assert start.clear + boards + spaces + gate.clear + end.clear == pytest.approx(run.end - run.start)


def test_a_board_up_past_its_post_narrows_the_opening_and_not_the_posts(write_job: WriteJob) -> None:
    job = write_job(lane=(LANE, GATE))
    (planned,) = plan_fence(job, "level").runs
    last = int((planned.slots.right <= 96.0 + 1e-6).sum())
    built = AsBuilt(run=(BuiltRun(name="lane", picket=(PicketUp(number=last, far_edge=96.25),)),))
    (run,) = plan_fence(replace(job, built=built), "level").runs
    _, gate, _ = openings(run)
    assert [gate.clear, gate.posts] == pytest.approx([47.75, 48.0])


def hung(**parts: Any) -> Any:
    """As much of a run's plan as is read for what hangs."""
    return SimpleNamespace(**parts)


@pytest.mark.parametrize(
    ("posts", "faces", "spaces", "style", "meets"),
    [
        ([0.0, 50.0, 100.0], [], 1, TopStyle.STEPPED, True),
        ([0.0, 50.0, 100.0], [], 1, TopStyle.SLOPED, False),
        ([0.0, 50.0, 100.0], [], 2, TopStyle.STEPPED, False),
        ([0.0, 45.0, 55.0], [], 1, TopStyle.STEPPED, False),
        ([0.0, 100.0], [50.0], 1, TopStyle.STEPPED, True),
        ([0.0, 100.0], [50.0], 1, TopStyle.SLOPED, True),
        ([0.0, 100.0], [55.0], 1, TopStyle.STEPPED, False),
    ],
)
def test_the_space_over_a_post_at_which_two_bays_meet(
    posts: list[float], faces: list[float], spaces: int, style: TopStyle, meets: bool
) -> None:
    """A stretch from 45 to 55 in; rows that are not laid bay by bay run on past a post, also where a stretch
    has but one space left."""
    space = Spacing(row=0, first=3, last=3 + spaces, start=45.0, end=55.0, gap=1.0, spaces=spaces)
    line = SimpleNamespace(faces=np.array(faces))
    run = hung(
        posts=SimpleNamespace(station=np.array(posts)),
        ground=SimpleNamespace(line=line),
        layout=SimpleNamespace(style=style),
    )
    assert where_bays_meet(run, space) == meets


@pytest.mark.parametrize(
    ("strings", "name"),
    [([True], "string"), ([False], "survey's zero"), ([False, True, True], "string or survey's zero")],
)
def test_what_heights_are_told_over(strings: list[bool], name: str) -> None:
    runs = [SimpleNamespace(ground=SimpleNamespace(strings=(1,) * one)) for one in strings]
    assert measured_from(hung(runs=runs)) == name


@pytest.mark.parametrize(
    ("left", "found"),
    [
        # pickets of 5 in: openings at both ends and at the gate from 20 to 40 in
        ([2.0, 14.0, 41.0, 94.0], [(0, 2, None), (19, 41, 20), (99, 100, None)]),
        ([2.0, 15.0, 40.0, 95.0], [(0, 2, None), (20, 40, 20), (100, 100, None)]),
        # nothing before the gate, nothing after it
        ([41.0, 94.0], [(0, 41, None), (20, 41, 20), (99, 100, None)]),
        ([2.0, 14.0], [(0, 2, None), (19, 40, 20), (19, 100, None)]),
    ],
)
def test_openings_lie_between_the_boards_beside_them(
    left: list[float], found: list[tuple[float, float, float | None]]
) -> None:
    row = np.array(left)
    gate = SimpleNamespace(station=20.0, width=20.0, end=40.0)
    run = hung(
        slots=SimpleNamespace(left=row, right=row + 5),
        run=SimpleNamespace(gate=[gate]),
        layout=SimpleNamespace(
            bays=SimpleNamespace(posts=np.array([2.0, 18, 42, 98]), sizes=np.array([4.0, 4, 4, 4]))
        ),
        start=0.0,
        end=100.0,
    )
    made = openings(run)
    assert [(o.start, o.end, o.posts) for o in made] == found
    assert [o.gate for o in made] == ([None, 1, None] if left else [])
    assert [o.clear for o in made] == [b - a for a, b, _ in found]
