"""The five tops side by side: each figure from its own plan, and what breaks which wish."""

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from in_json import as_json

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.read import Job
from fencegrade.planning import compare
from fencegrade.planning.buying import buying_list
from fencegrade.planning.compare import (
    ComparedStyle,
    Comparison,
    Used,
    _broken,
    _keeps_wishes,
    _measured,
    _mixes,
    against_cheapest,
    cheapest_of,
    compare_on,
    compare_tops,
    least_of,
)
from fencegrade.planning.higher_or_lower import WISHES
from fencegrade.planning.layout import survey_grounds
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.problems import JobMistakesError, mistake

WriteJob = Callable[..., Job]
pytestmark = pytest.mark.usefixtures("no_other_height")

ROLLING = "station [ft],elevation [in]\n0,0\n8,-3\n16,-10\n24,-12\n32,-1\n40,2\n"
LEVEL = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
STEEP = "station [ft],elevation [in]\n0,0\n8,30\n16,62\n24,90\n"

PRICED_POSTS = (
    '[[posts.stock]]\nlength = "8 ft"\nprice = 9.0\n[[posts.stock]]\nlength = "10 ft"\nprice = 14.0\n'
)


@pytest.fixture(scope="module")
def rolling(write_once: WriteJob) -> Comparison:
    return compare_tops(write_once('[top]\nmost_height = "6 ft 8 in"', lane=ROLLING))


def test_all_five_in_order(rolling: Comparison) -> None:
    assert [s.name for s in rolling.styles] == list(TopStyle)


def test_each_row_is_what_plan_gives(rolling: Comparison) -> None:
    for row in rolling.styles:
        plan = plan_fence(rolling.job, row.styles[0])
        run = plan.runs[0]
        assert row.used.cost == buying_list(plan).cost
        used = plan.stock.used.tolist()
        assert dict(row.used.boards) == {
            s.length: n for s, n in zip(plan.stock.offered, used, strict=True) if n
        }
        assert row.seen.worst_gap == run.cuts.gap.max()
        assert row.seen.tallest == run.cuts.tallest.max()
        assert row.seen.shortest == run.cuts.height.min()
        assert row.used.trimmed == pytest.approx(np.nansum(plan.trims[0]))
        assert row.used.cut == (plan.trims[0] > 1e-6).sum()
        assert sum(n for _, n in row.used.posts) == len(run.posts)
        assert sum(n for _, n in row.used.rails) == plan.families.rails.plan.board_count


def test_the_cheapest_is_sound_and_no_sound_one_costs_less(rolling: Comparison) -> None:
    best = rolling.cheapest
    assert best is not None
    assert not best.broken
    assert best.price == min(s.price for s in rolling.styles if s.sound)
    assert any(s.broken for s in rolling.styles), "the level line passes 6 ft 8 in over the dip"


def test_wishes_that_are_broken_are_counted(rolling: Comparison) -> None:
    level = rolling.styles[0]
    assert level.plan is not None
    over = int((level.plan.runs[0].cuts.tallest > 80 + 1e-6).sum())
    assert over > 0
    assert f"{over} pickets over the height limit" in level.broken


def test_order_laws(rolling: Comparison) -> None:
    """Sloped is no dearer than level; a contour needs no more long boards than level."""
    rows = {s.styles[0]: s for s in rolling.styles}
    assert rows[TopStyle.SLOPED].price <= rows[TopStyle.LEVEL].price + 1e-9
    long = {k: dict(v.used.boards).get(96.0, 0) for k, v in rows.items()}
    assert long[TopStyle.CONTOUR] <= long[TopStyle.LEVEL]


def test_on_level_ground_all_agree_but_for_the_steps_gaps(write_job: WriteJob) -> None:
    rows = compare_tops(write_job(lane=LEVEL)).styles
    assert {(r.seen.shortest, r.seen.tallest, r.seen.largest_step) for r in rows} == {(74.0, 74.0, 0.0)}
    assert len({r.used.cost for r in rows if r.styles[0] is not TopStyle.STEPPED}) == 1


def test_a_top_without_boards_for_every_picket_is_not_weighed(write_job: WriteJob) -> None:
    """What a plan leaves out makes it no cheaper."""
    found = compare_tops(write_job(lane=STEEP))
    level = found.styles[0]
    assert level.used.unserved > 0
    assert not level.sound
    assert f"no stock for {level.used.unserved} pickets" in level.broken
    assert against_cheapest(found.styles, found.styles[3])[0] is None
    assert against_cheapest(found.styles, None) == [None] * len(TopStyle)


def test_posts_that_no_length_serves_break_a_wish(write_job: WriteJob) -> None:
    found = compare_tops(write_job('[[posts.stock]]\nlength = "6 ft"\n', lane=LEVEL))
    assert all("no stock for 4 posts" in s.broken for s in found.styles)
    assert found.cheapest is None


def test_rails_that_do_not_fit_break_a_wish(write_job: WriteJob) -> None:
    """A contour top comes down into a ditch between two posts, where rails run straight on."""
    ditch = "station [ft],elevation [in]\n0,0\n9,0\n10,-30\n14,-30\n15,0\n24,0\n"
    plan = plan_fence(write_job('[top]\nleast_height = "36 in"\n', lane=ditch), "contour")
    assert "rails do not fit in 1 bay" in list(_broken(plan))
    assert not _keeps_wishes(plan.runs[0])
    assert sum("(does not fit)" in name for b in plan.families.rails.traced() for name in b.names) == 3
    told = as_json(plan)["runs"][0]["rails"]
    assert [r["fits"] for r in told if r["bay"] == 2] == [False] * 3
    assert all(r["fits"] for r in told if r["bay"] != 2)


def test_without_prices_timber_decides(write_job: WriteJob) -> None:
    stock = '[[pickets.stock]]\nlength = "6 ft"\n[[pickets.stock]]\nlength = "8 ft"\n'
    found = compare_tops(write_job(stock=stock, lane=ROLLING))
    assert all(s.used.cost is None for s in found.styles)
    for row in found.styles:
        assert row.price == row.used.timber == sum(length * n for length, n in row.used.boards)
    assert found.cheapest is not None
    more = against_cheapest(found.styles, found.cheapest)
    assert min(m for m in more if m is not None) == 0.0


# A stretch of 74 in without posts: level rails of 8 ft reach over it, those along the slope do not.
NARROW = '[rails]\n[[rails.stock]]\nlength = "8 ft"\n[posts]\nhole_diameter = "6 in"\n'


def test_a_top_that_cannot_be_built_keeps_its_place_with_the_reason(write_job: WriteJob) -> None:
    keys = '[[run.no_post]]\nstart = "7 ft"\nend = "14 ft 4 in"'
    found = compare_tops(write_job(NARROW, lane=(STEEP, keys)))
    rows = {s.styles[0]: s for s in found.styles}
    assert rows[TopStyle.LEVEL].plan is not None
    refused = rows[TopStyle.RACKED]
    assert refused.plan is None
    assert refused.reason.startswith("lane, ")
    assert "too short for that bay" in refused.reason
    assert not refused.sound


def test_a_mistake_that_stops_every_top_is_told_once(write_job: WriteJob) -> None:
    keys = '[[run.no_post]]\nstart = "2 ft"\nend = "22 ft"'
    job = write_job(lane=(LEVEL, keys))
    grounds, _ = survey_grounds(job)
    with pytest.raises(JobMistakesError) as caught:
        compare_on(job, grounds)
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].place.startswith("lane, ")


def test_a_corner_post_counts_once(write_job: WriteJob) -> None:
    west = "station [ft],elevation [in]\n0,0\n8,3\n16,8\n"
    north = "station [ft],elevation [in]\n0,8\n8,2\n16,-2\n"
    storm = '[site]\nwind_speed = "200 mph"\n'
    for row in compare_tops(write_job(storm, west=west, north=(north, 'join = "west"'))).styles:
        assert row.plan is not None
        once = sum(len(r.posts) for r in row.plan.runs) - 1
        assert sum(n for _, n in row.used.posts) == row.plan.posts_judged == row.plan.posts_failing == once


HILL = "station [ft],elevation [in]\n0,0\n8,9\n16,20\n24,33\n32,40\n"
SOUTH = "station [in],elevation [in]\n0,0\n93,0\n186,0\n279,0\n372,0\n"


def test_the_cheapest_mix_by_run_is_offered_where_it_is_cheaper(write_job: WriteJob) -> None:
    """In the south 13 pickets a bay do, half gaps at both ends, where flush rows take one more; the hill is
    cheapest under another top."""
    wide = 'width = "3-1/2 in"\nspacing = "3-1/2 in"'
    found = compare_tops(write_job(PRICED_POSTS, pickets=wide, south=SOUTH, hill=HILL))
    pure, mixes = found.styles[: len(TopStyle)], found.styles[len(TopStyle) :]
    assert all(len(set(s.styles)) == 1 for s in pure)
    (mix,) = mixes
    assert mix.name == f"south {mix.styles[0]}, hill {mix.styles[1]}"
    assert mix.sound
    assert found.cheapest is mix
    assert mix.price < min(s.price for s in pure if s.sound)
    assert mix.plan is not None
    assert mix.plan.styles == mix.styles


DITCH = "station [ft],elevation [in]\n0,0\n4,0\n4.5,-14\n5,0\n9,0\n"


def test_no_mix_is_offered_where_no_style_keeps_the_wishes_of_a_run(write_job: WriteJob) -> None:
    """Over a ditch a board wide every style leaves too much open: which is cheapest there is not known."""
    wide = 'width = "3-1/2 in"\nspacing = "3-1/2 in"'
    hill = "station [ft],elevation [in]\n0,0\n8,14\n"
    found = compare_tops(write_job(PRICED_POSTS, pickets=wide, hill=hill, ditch=DITCH))
    assert found.cheapest is None
    assert [s.name for s in found.styles] == list(TopStyle)


def test_the_mix_of_the_job_itself_is_among_the_tops(write_job: WriteJob) -> None:
    found = compare_tops(write_job(south=(LEVEL, 'style = "racked"'), hill=(HILL, 'style = "stepped"')))
    assert "south racked, hill stepped" in [s.name for s in found.styles]


def test_what_has_no_price_counts_for_no_top(write_job: WriteJob) -> None:
    found = compare_tops(write_job(PRICED_POSTS, lane=ROLLING))
    assert "rails" in found.unpriced
    for row in found.styles:
        assert row.plan is not None
        lines = [line for line in buying_list(row.plan).lines if line.part not in found.unpriced]
        assert row.price == pytest.approx(sum(line.total or 0.0 for line in lines))


def test_the_steepest_rail_is_that_of_all_runs(write_job: WriteJob) -> None:
    """Racked over a lane that is level for a bay and then climbs, beside a level run: the climb counts."""
    climbing = "station [ft],elevation [in]\n0,0\n8,0\n16,12\n24,24\n"
    for runs in ({"west": climbing, "north": LEVEL}, {"west": LEVEL, "north": climbing}):
        racked = _measured(plan_fence(write_job(**runs), TopStyle.RACKED), "racked")
        assert racked.seen.steepest == pytest.approx(12 / 96, abs=0.02)


def compared(price: float | None, timber: float = 0.0, **keys: Any) -> ComparedStyle:
    """A top as the ranking sees it, with any plan."""
    plan: Any = SimpleNamespace()
    return ComparedStyle(
        **{
            "styles": (TopStyle.LEVEL,),
            "name": "level",
            "plan": plan,
            "used": Used(cost=price, timber=timber),
            **keys,
        }
    )


LACKING: Any = SimpleNamespace(part="post", count=2)


def test_ranks_ties_and_what_is_sound() -> None:
    dear, cheap, tie, near = compared(20.0), compared(10.0), compared(10.004), compared(10.005)
    broken = compared(1.0, broken=("lower than the least height",))
    lacking = compared(2.0, missing=(LACKING,))
    unplanned = compared(3.0, plan=None)
    every = [broken, lacking, unplanned, dear, near, cheap, tie]
    assert [s.sound for s in every] == [False] * 3 + [True] * 4
    assert cheapest_of(every) is cheap
    assert least_of(every) == (cheap, tie)
    assert against_cheapest(every, cheap) == pytest.approx([-9.0, None, None, 10.0, 0.005, 0.0, 0.004])
    assert cheapest_of([broken]) is None
    assert least_of([broken]) == ()
    assert compared(None, 500.0).price == 500.0


@pytest.mark.parametrize(
    ("over", "gaps", "low", "missing", "told"),
    [
        (0, 0, 72.0, (), []),
        (1, 2, 72.0, (), ["1 picket over the height limit", "2 pickets with too large a gap"]),
        (0, 0, 71.9, (LACKING,), ["lower than the least height", "no stock for 2 posts"]),
    ],
)
def test_wishes_that_a_plan_breaks_in_words(
    over: int, gaps: int, low: float, missing: Any, told: list[str]
) -> None:
    count = {PicketFlag.OVER_HEIGHT: over, PicketFlag.GAP: gaps}
    fit = SimpleNamespace(crowded=[])
    runs = [SimpleNamespace(rails=fit, choice=SimpleNamespace(least_height=x)) for x in (80.0, low)]
    plan: Any = SimpleNamespace(
        flagged=count.get,
        runs=runs,
        job=SimpleNamespace(top=SimpleNamespace(least_height=72.0)),
        missing=missing,
    )
    assert list(_broken(plan)) == told


def test_a_run_keeps_its_wishes_where_every_post_is_served_and_no_picket_breaks_one(
    write_job: WriteJob,
) -> None:
    """Each alone is enough to break them."""
    sound, posts, pickets = (
        plan_fence(write_job(more, lane=ground)).runs[0]
        for more, ground in (
            ("", LEVEL),
            ('[[posts.stock]]\nlength = "6 ft"\n', LEVEL),
            (PRICED_POSTS.replace("10 ft", "20 ft"), STEEP),
        )
    )
    assert [_keeps_wishes(run) for run in (sound, posts, pickets)] == [True, False, False]
    assert not any(posts.flags[flag].any() for flag in WISHES)
    assert not (pickets.posts.stock == NO_STOCK).any()


def test_only_the_mix_that_the_job_asks_for_is_told_where_it_cannot_be_built(
    write_job: WriteJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = write_job(lane=ROLLING)
    job = replace(
        job, runs=(job.runs[0], replace(job.runs[0], name="side")), surveys=(*job.surveys, *job.surveys)
    )
    asked, other = (TopStyle.LEVEL, TopStyle.RACKED), (TopStyle.RACKED, TopStyle.LEVEL)
    refused = JobMistakesError([mistake("lane", "it is so", "change it")])

    def no_plan(*_: Any) -> FencePlan:
        raise refused

    monkeypatch.setattr(compare, "plan_on", no_plan)
    monkeypatch.setattr(compare, "with_tops", lambda job, _: job)
    monkeypatch.setattr(compare, "styles_asked", lambda _: asked)
    monkeypatch.setattr(compare, "_cheapest_by_run", lambda *_: other)
    assert [(s.styles, s.plan) for s in _mixes(job, [], [])] == [(asked, None)]
