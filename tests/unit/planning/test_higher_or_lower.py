"""A line a few inches higher or lower: what it spares, planned whole."""

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.read import Job
from fencegrade.planning.compare import Comparison, _measured
from fencegrade.planning.higher_or_lower import (
    FEW,
    Bought,
    LineMoved,
    _as_safe,
    better_height,
    bought,
    counts_used,
)
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.height_words import moved_words
from fencegrade.sheets.screen.compare_text import comparison_json, comparison_lines
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.units.words import Words

WriteJob = Callable[..., Job]

LEVEL = "station [ft],elevation [in]\n0,0\n10,0\n20,0\n30,0\n40,0\n"
ROLLING = "station [ft],elevation [in]\n0,0\n8,-3\n16,-10\n24,-12\n32,-1\n40,2\n"
SIX = '[[pickets.stock]]\nlength = "6 ft"\nprice = 4.0\n'
SIX_HIGH = '[top]\nleast_height = "6 ft"\n'


def told(job: Job) -> str | None:
    moved = better_height(plan_fence(job))
    return None if moved is None else moved_words(moved, Words.of(job.job))


def test_boards_as_sold_stand_whole_and_there_is_nothing_to_better(write_job: WriteJob) -> None:
    """40 ft of level ground, 6 ft boards, nothing else said: whole boards on 8 ft posts."""
    job = write_job(stock=SIX, lane=LEVEL)
    plan = plan_fence(job)
    found = bought(plan)
    assert (found.boards, found.cuts) == (((72.0, 84),), 0)
    assert [length for length, _ in found.posts] == [96.0]
    assert told(job) is None


def test_two_inches_more_and_no_board_is_cut(write_job: WriteJob) -> None:
    job = write_job(SIX_HIGH, stock=SIX, job='currency = "$"', lane=LEVEL)
    plan, advice = plan_fence(job), "2 in higher: no board need be cut, same price"
    assert any(f"top {advice}" in line for line in summary_lines(plan))
    level = Comparison(job=job, styles=(_measured(plan, "level"),))
    assert level.styles[0].moved == better_height(plan)
    assert f"  {advice}" in list(comparison_lines(level))
    assert [top["worth_moving"] for top in comparison_json(level)["tops"]] == [advice]
    bare = write_job(SIX_HIGH, stock='[[pickets.stock]]\nlength = "6 ft"\n', lane=LEVEL)
    assert told(bare) == "2 in higher: no board need be cut, nothing more to buy"


def test_a_fence_the_wind_is_too_much_for_is_not_built_higher(write_job: WriteJob) -> None:
    """Two inches more spare every cut, but its posts do not pass the screen as they are."""
    calm, windy = (
        f'{SIX_HIGH}[site]\nwind_pressure = "{psf} psf"\nsoil = "gravel"\n' for psf in ("0.1", "16")
    )
    assert told(write_job(calm, stock=SIX, lane=LEVEL)) is not None
    assert told(write_job(windy, stock=SIX, lane=LEVEL)) is None


def test_a_limit_on_the_height_is_not_passed_for_it(write_job: WriteJob) -> None:
    assert told(write_job(f'{SIX_HIGH}most_height = "6 ft 1 in"\n', stock=SIX, lane=LEVEL)) is None


def test_a_quarter_inch_less_and_posts_are_shorter(write_job: WriteJob) -> None:
    """Tops at 75 in, posts 69 in over the ground: an 8 ft one leaves 27 in, a hair under the share let go."""
    posts = '[[posts.stock]]\nlength = "8 ft"\nprice = 9.0\n[[posts.stock]]\nlength = "10 ft"\nprice = 14.0\n'
    job = write_job(f'[top]\nleast_height = "75 in"\n{posts}', stock=SIX, job='currency = "$"', lane=LEVEL)
    assert told(job) == "1/4 in lower (least 6' 2-3/4\"): 6 posts of 8 ft instead of 10 ft, $30.00 less"


def test_less_and_boards_and_posts_fall_to_the_shorter_stock(write_job: WriteJob) -> None:
    """At 1-1/2 in less the gaps would stand at their limit, not surely; at 1-3/4 in posts gain too."""
    stock = SIX + SIX.replace("6 ft", "8 ft").replace("4.0", "6.5")
    job = write_job('[top]\nleast_height = "76-1/2 in"\n', stock=stock, job='currency = "$"', lane=LEVEL)
    assert told(job) == (
        "1-3/4 in lower (least 6' 2-3/4\"): 84 boards of 6 ft instead of 8 ft, no board need be cut, "
        "6 posts of 8 ft instead of 10 ft, $210.00 less"
    )


@pytest.mark.parametrize("style", list(TopStyle))
def test_what_is_told_is_what_a_plan_at_that_height_comes_to(write_job: WriteJob, style: TopStyle) -> None:
    job = write_job(SIX_HIGH, lane=ROLLING)
    plan = plan_fence(job, style)
    moved = better_height(plan)
    if moved is None:
        return
    assert abs(moved.by) <= FEW[job.job.units] + 1e-9
    lower = replace(job, top=replace(job.top, least_height=job.top.least_height + moved.by))
    assert moved.after == bought(plan_fence(lower, style))
    assert (moved.after.cost or 0) <= (moved.before.cost or 0) + 0.005


@pytest.mark.parametrize(
    ("was", "now", "by", "worth"),
    [
        # money where there are prices: a tenth saved, a tenth of the cuts spared, less a hundredth an inch
        ((200.0, 1000.0, 50), (180.0, 1000.0, 40), 1.0, 0.1 + 0.01 - 0.01),
        ((200.0, 1000.0, 50), (180.0, 500.0, 60), -2.0, 0.1 - 0.01 - 0.02),
        # else inches of timber
        ((None, 1000.0, 50), (None, 900.0, 50), 0.0, 0.1),
        ((200.0, 1000.0, 50), (None, 900.0, 0), 0.5, 0.1 + 0.05 - 0.005),
        # all of it is on hand: nothing is bought before
        ((None, 0.0, 50), (None, 0.0, 40), 1.0, 0.01 - 0.01),
    ],
)
def test_what_a_move_is_worth(was: Any, now: Any, by: float, worth: float) -> None:
    before, after = (
        Bought(boards=(), posts=(), rails=(), pickets=100, cuts=cuts, cost=cost, timber=timber)
        for cost, timber, cuts in (was, now)
    )
    moved = LineMoved(by=by, least_height=72.0, before=before, after=after)
    assert moved.worth == pytest.approx(worth)


def test_boards_of_one_length_are_counted_together() -> None:
    def family(counts: dict[float, tuple[int, int]]) -> Any:
        return SimpleNamespace(
            offered=[SimpleNamespace(length=length) for length in counts],
            counts=lambda held: [c[held] for c in counts.values()],
        )

    both = [family({96.0: (3, 1), 120.0: (0, 0)}), family({72.0: (2, 0), 96.0: (0, 5)})]
    assert counts_used(both) == ((72.0, 2), (96.0, 9))


@pytest.mark.parametrize(
    ("before", "after", "by", "safe"),
    [(0, 0, 1.0, True), (2, 2, -1.0, True), (2, 1, -1.0, True), (2, 3, -1.0, False), (2, 2, 1.0, False)],
)
def test_no_more_posts_fail_and_none_where_the_line_goes_up(
    before: int, after: int, by: float, safe: bool
) -> None:
    was: Any = SimpleNamespace(posts_failing=before)
    now: Any = SimpleNamespace(posts_failing=after)
    assert _as_safe(was, now, by) == safe
