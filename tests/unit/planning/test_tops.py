"""The wish that is handed to the top families, and tops that meet at corners."""

from collections.abc import Callable

import numpy as np
import pytest

from fencegrade.fence.tops.asked import TopChoice
from fencegrade.fence.tops.table import USUAL, TopStyle
from fencegrade.job.read import Job
from fencegrade.planning.layout import RunLayout, joined_corners, lay_out, survey_grounds
from fencegrade.planning.plan import plan_fence
from fencegrade.planning.tops import styles_asked, top_lines, top_wish

WriteJob = Callable[..., Job]

WEST = "station [ft],elevation [in]\n0,0\n8,3\n16,8\n24,6\n"
NORTH = "station [ft],elevation [in]\n0,6\n8,-2\n16,-12\n24,-10\n"


def laid(job: Job, style: TopStyle) -> tuple[RunLayout, ...]:
    return lay_out(job, survey_grounds(job)[0], [style] * len(job.runs))[0]


def corner(write_job: WriteJob) -> Job:
    return write_job(
        '[top]\nleast_height = "5 ft"\nmost_height = "7 ft"', west=WEST, north=(NORTH, 'join = "west"')
    )


def test_the_wish_says_what_the_job_says(write_job: WriteJob) -> None:
    job = corner(write_job)
    layout = laid(job, TopStyle.LEVEL)[1]
    wish = top_wish(job, layout)
    assert (wish.name, wish.start, wish.end, wish.least_height, wish.most_height, wish.mark) == (
        "north", 0.0, 288.0, 60.0, 84.0, 0.125,
    )  # fmt: skip
    assert wish.posts is layout.bays.posts
    assert wish.slots is layout.slots


def test_boards_on_offer_are_what_the_wish_costs(write_job: WriteJob) -> None:
    job = write_job(lane=WEST)
    wish = top_wish(job, laid(job, TopStyle.LEVEL)[0])
    crown = np.full(len(wish.slots), 8 + 72.0)  # the highest ground and the least height
    low = wish.line.lowest(wish.slots.left, wish.slots.right)
    needed = crown - wish.line.highest(wish.slots.left, wish.slots.right) - 2
    boards = np.where((needed <= 72 + 1e-9) | (crown - 72 - low <= 3 + 1e-9), 4.0, 6.5)
    assert wish.cost.boards(crown) == pytest.approx(boards.sum())


@pytest.mark.parametrize(("most", "over"), [('most_height = "7 ft"', True), ("", False)])
def test_a_picket_over_the_local_limit_is_charged(write_job: WriteJob, most: str, over: bool) -> None:
    job = write_job(f'[top]\nleast_height = "5 ft"\n{most}', lane=WEST)
    wish = top_wish(job, laid(job, TopStyle.LEVEL)[0])
    crown = wish.line.lowest(wish.slots.left, wish.slots.right) + 85.0
    charged = wish.cost.total(crown) > wish.cost.boards(crown) + 1e-6
    assert not wish.cost.unserved(crown).any()
    assert charged is over


def test_corners_are_found_by_name(write_job: WriteJob) -> None:
    job = write_job(c=(NORTH.replace("0,6", "0,-10"), 'join = "b"'), a=WEST, b=(NORTH, 'join = "a"'))
    assert joined_corners(laid(job, TopStyle.LEVEL)) == [(2, 0), (1, 2)]


@pytest.mark.parametrize("style", [TopStyle.LEVEL, TopStyle.SLOPED, TopStyle.RACKED])
def test_joined_tops_meet(write_job: WriteJob, style: TopStyle) -> None:
    job = corner(write_job)
    layouts = laid(job, style)
    choices, problems = top_lines(job, layouts)
    assert choices[0].top.elevations[-1] == pytest.approx(choices[1].top.elevations[0], abs=1e-6)
    assert not [p for p in problems if p.place.startswith("corner")]
    for layout, choice in zip(layouts, choices, strict=True):
        assert choice.least_height >= 60 - 1e-6
        assert choice.top.stations[[0, -1]].tolist() == [layout.start, layout.end]


@pytest.mark.parametrize("style", [TopStyle.STEPPED, TopStyle.CONTOUR])
def test_tops_that_cannot_be_joined_say_their_step(write_job: WriteJob, style: TopStyle) -> None:
    job = corner(write_job)
    choices, problems = top_lines(job, laid(job, style))
    step = choices[1].top.elevations[0] - choices[0].top.elevations[-1]
    said = [p for p in problems if p.place == "corner of west and north"]
    assert len(said) == (abs(step) > 1e-6)
    assert all(p.found.startswith(f"the top steps {'up' if step > 0 else 'down'} ") for p in said)


def test_a_run_has_its_own_top(write_job: WriteJob) -> None:
    job = write_job(west=(WEST, 'style = "contour"'), north=NORTH)
    assert styles_asked(job) == (TopStyle.CONTOUR, USUAL)
    assert styles_asked(job, TopStyle.RACKED) == (TopStyle.RACKED,) * 2
    grounds = survey_grounds(job)[0]
    choices, _ = top_lines(job, lay_out(job, grounds, styles_asked(job))[0])
    alone = [plan_fence(job, style) for style in styles_asked(job)]
    assert "[top] style" in {a.key for a in job.assumed}
    assert not any("[top] style" in {a.key for a in plan.job.assumed} for plan in alone)
    for choice, top in zip(choices, (plan.runs[k].top for k, plan in enumerate(alone)), strict=True):
        assert choice.top.style is top.style
        assert choice.top.elevations == pytest.approx(top.elevations)


@pytest.mark.parametrize(
    ("style", "key", "measured"),
    [
        (TopStyle.STEPPED, 'most_step = "1 in"', lambda c: c.largest_step <= 1 + 1e-9),
        (TopStyle.STEPPED, "equal_steps = true", lambda c: len({*np.abs(c.top.steps).round(6)} - {0.0}) <= 1),
        (TopStyle.SLOPED, 'most_slope = "1 %"', lambda c: c.steepest <= 0.01 + 1e-9),
        (TopStyle.RACKED, 'most_slope = "1 %"', lambda c: c.steepest <= 0.01 + 1e-6),
    ],
)
def test_limits_of_a_top_are_keys(
    write_job: WriteJob, style: TopStyle, key: str, measured: Callable[[TopChoice], bool]
) -> None:
    rough = "station [ft],elevation [in]\n0,0\n8,9\n16,2\n24,-4\n32,-15\n"
    free, held = (
        top_lines(job, laid(job, style))[0][0]
        for job in (write_job(west=rough), write_job(f"[top]\n{key}", west=rough))
    )
    assert not measured(free)
    assert measured(held)


def test_runs_that_do_not_meet_have_their_own_best(write_job: WriteJob) -> None:
    job = write_job(west=WEST, north=NORTH)
    choices, problems = top_lines(job, laid(job, TopStyle.LEVEL))
    assert [c.top.elevations[0] for c in choices] == pytest.approx([8 + 74, 6 + 74])
    assert not problems
