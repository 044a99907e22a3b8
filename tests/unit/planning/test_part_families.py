"""Posts, rails and gate pickets as families of their own."""

from collections.abc import Callable

import numpy as np
import pytest
from msgspec.structs import replace

from fencegrade.fence.low_ground.bill import bill_for
from fencegrade.fence.low_ground.kickboard import Kickboard
from fencegrade.fence.posts.posts import one_post_each
from fencegrade.fence.stock import Needs, choose_stock
from fencegrade.job.read import Job
from fencegrade.planning.part_families import kickboard_family, posts_to_set
from fencegrade.planning.plan import plan_fence

WriteJob = Callable[..., Job]

_EMPTY = np.zeros(0, dtype=np.int64)
NONE = Needs(full=_EMPTY, room=np.zeros(0), long_end=_EMPTY, sure=_EMPTY, mark=0.125)
"""No picket at all."""


CORNER = {
    "west": "station [ft],elevation [in]\n0,0\n8,3\n16,8\n",
    "north": ("station [ft],elevation [in]\n0,8\n8,2\n16,-12\n", 'join = "west"'),
}


class TestCornerPost:
    def test_it_is_bought_and_set_once(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job(**CORNER), "level")
        posts = [len(r.posts) for r in plan.runs]
        assert plan.families.posts.plan.board_count == sum(posts) - 1
        names = [n for b in plan.families.posts.traced() for n in b.names]
        assert f"west post {posts[0]}" in names
        assert "north post 1" not in names

    def test_it_is_as_long_as_the_higher_top_asks(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job(**CORNER), "stepped")
        west, north = (r.posts for r in plan.runs)
        own = posts_to_set(plan.job, [west, north])
        assert own[0].total[-1] == max(west.total[-1], north.total[0])
        assert own[0].depth[-1] == max(west.depth[-1], north.depth[0])
        assert own[0].wanted[-1]
        assert not own[1].wanted[0]

    @pytest.mark.parametrize("higher", [0, 1])
    def test_both_runs_tell_one_height_by_the_higher_top(self, write_job: WriteJob, higher: int) -> None:
        """Two tops that do not meet: the post they share is cut once, and both sheets say where."""
        humped = "station [ft],elevation [in]\n0,8\n8,20\n16,8\n"
        west, north = (CORNER["west"], humped) if higher else (humped, CORNER["north"][0])
        plan = plan_fence(write_job(west=west, north=(north, 'join = "west"')), "stepped")
        one, two = plan.runs
        tops = one.top.elevations[-1], two.top.elevations[0]
        assert (tops[1] > tops[0] + 1) if higher else (tops[0] > tops[1] + 1)
        height = plan.job.posts.height
        assert one.posts.top[-1] == two.posts.top[0] == max(tops) + height
        assert one.posts.above[-1] == pytest.approx(two.posts.above[0])
        assert one.posts.total[-1] >= one.posts.above[-1] + plan.job.posts.least_depth

    def test_what_concerns_it_is_said_of_the_run_that_ends_there(self, write_job: WriteJob) -> None:
        """Tops at 6 ft: every post is one of 8 ft instead of 10 ft, told run by run, the shared one once."""
        flat = "station [ft],elevation [in]\n0,8\n8,8\n16,8\n"
        top = '[top]\nleast_height = "6 ft"'
        plan = plan_fence(write_job(top, west=flat, north=(flat, 'join = "west"')), "level")
        told = [p.place for p in plan.problems if "a post of 8 ft suffices" in p.found]
        count = len(plan.runs[0].posts)
        assert told == [f"west, posts 1-{count}", f"north, posts 2-{count}"]

    @pytest.mark.parametrize("deeper", [0, 1])
    def test_it_is_as_deep_as_the_deeper_run_asks(self, write_job: WriteJob, deeper: int) -> None:
        plan = plan_fence(write_job(**CORNER), "level")
        schedules, at = [r.posts for r in plan.runs], (-1, 0)
        own = schedules[deeper]
        asked = tuple(replace(c, depth=c.depth + 30) for c in own.choices)
        schedules[deeper] = replace(own, choices=asked)
        one = one_post_each(schedules, [(0, 1)], plan.job.posts)
        depths = [s.depth[k] for s, k in zip(one, at, strict=True)]
        assert depths == pytest.approx([max(c.depth[at[deeper]] for c in asked)] * 2)

    def test_it_is_a_gate_post_where_a_gate_of_either_run_is_beside_it(self, write_job: WriteJob) -> None:
        """A leaf hung on the corner, by the run that starts there: the post is bought and dug as a gate's."""
        gate = 'join = "west"\n[[run.gate]]\nstation = "1-3/4 in"\nwidth = "4 ft"\n'
        own = '[[posts.gate_stock]]\nlength = "12 ft"\n'
        plan = plan_fence(write_job(own, west=CORNER["west"], north=(CORNER["north"][0], gate)), "level")
        west, north = (r.posts for r in plan.runs)
        assert north.gate[0]
        assert plan.families.gate_posts is not None
        names = [n for b in plan.families.gate_posts.traced() for n in b.names]
        assert sorted(names) == ["north post 2", f"west post {len(west)}"]
        assert west.depth[-1] == north.depth[0] >= plan.job.posts.least_depth + plan.job.posts.gate_deeper

    @pytest.mark.parametrize("named_by", [0, 1])
    def test_one_that_stands_in_either_run_stands_in_both(self, write_job: WriteJob, named_by: int) -> None:
        """It is neither bought nor judged, by whichever run it is named, and as high in both."""
        old = '\n[[run.existing_post]]\nstation = "{} ft"\nheight = "5 ft"'
        keys = ["", 'join = "west"']
        keys[named_by] += old.format(0 if named_by else 16)
        runs = {"west": (CORNER["west"], keys[0]), "north": (CORNER["north"][0], keys[1])}
        plan = plan_fence(write_job('[site]\nwind_speed = "115 mph"', **runs), "level")
        west, north = plan.runs
        to_set = len(west.posts) + len(north.posts) - 2
        assert plan.families.posts.plan.board_count == plan.posts_judged == plan.posts_failing == to_set
        assert west.posts.above[-1] == north.posts.above[0] == 60
        assert west.wind is not None
        assert north.wind is not None
        assert not west.wind.judged[-1]
        assert not north.wind.judged[0]


GATE = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"'


def test_gate_pickets_take_what_the_run_leaves_on_hand(write_job: WriteJob) -> None:
    level = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
    stock = '[[pickets.stock]]\nlength = "6 ft"\nprice = 4.0\non_hand = 45\n'
    plan = plan_fence(write_job(stock=stock, lane=(level, GATE)))
    gate = plan.families.gate_pickets
    assert gate is not None
    run = plan.families.pickets.counts(True)[0]
    assert run == len(plan.runs[0].slots)
    assert gate.counts(True)[0] == min(45 - run, gate.plan.board_count)
    long = plan_fence(write_job('[top]\nleast_height = "4 ft"\n', stock=stock, lane=(level, GATE))).families
    assert long.gate_pickets is not None
    kept = (long.pickets.plan.kept, long.gate_pickets.plan.kept)
    assert kept == (0, 0), "one board gives one picket, of the fence and of a gate: its offcut is waste"


def test_rails_are_named_by_run_bay_and_row(write_job: WriteJob) -> None:
    plan = plan_fence(write_job())
    names = [n for b in plan.families.rails.traced() for n in b.names]
    assert len(names) == len(set(names)) == len(plan.runs[0].rail_pieces)
    assert "lane bay 1 row 1" in names
    asked = plan.families.rails.asked * plan.mark
    assert np.all(asked <= plan.runs[0].rail_pieces.length + 1e-6)
    assert np.all(asked > plan.runs[0].rail_pieces.length - plan.mark - 1e-6)


def test_kickboards_are_one_board_each_of_the_shortest_that_reaches(write_job: WriteJob) -> None:
    """Two of 40 in could come from one of 96 in, and are counted as two boards, as what chose them does."""
    stock = "".join(f'[[soil.kickboard]]\nlength = "{n} ft"\nprice = {p}\n' for n, p in ((8, 5), (4, 4)))
    job = write_job(f'[soil]\nlow_ground = "kickboard"\n{stock}')
    one = Kickboard(start=0.0, end=40.0, first=1, last=7, length=40.0, stock=0)
    made = kickboard_family(job, [[one, replace(one, first=8, last=14)], [replace(one, length=90.0)]], "ab")
    assert made is not None
    assert made.counts(False) == [2, 1]
    assert [s.length for s in made.offered] == [48.0, 96.0]
    assert [made.name_of(k) for k in range(3)] == [
        "a under pickets 1-7", "a under pickets 8-14", "b under pickets 1-7",
    ]  # fmt: skip


@pytest.mark.parametrize("held", [(0, 0, 1), (1, 0, 0), (0, 2, 1), (2, 3, 4)])
@pytest.mark.parametrize("limit", ["", "limit = 0"])
def test_the_bill_of_kickboards_is_what_the_list_buys(
    write_job: WriteJob, held: tuple[int, ...], limit: str
) -> None:
    rows = zip((4, 8, 12), (4, 5, 11), held, ("", limit, ""), strict=True)
    stock = "".join(
        f'[[soil.kickboard]]\nlength = "{n} ft"\nprice = {p}\non_hand = {h}\n{no}\n' for n, p, h, no in rows
    )
    job = write_job(f'[soil]\nlow_ground = "kickboard"\n{stock}')
    lengths = np.array([40.0, 95.9, 96.0, 47.0, 130.0])
    laid = [Kickboard(start=0.0, end=x, first=1, last=7, length=x, stock=0) for x in lengths.tolist()]
    made = kickboard_family(job, [laid], "a")
    bill = bill_for(choose_stock(NONE, job.pickets.stock), 0.0, lengths, job.soil, job.units, 0, job.tape)
    assert made is not None
    assert bill.kickboards == made.plan.cost


def test_a_post_is_asked_for_at_the_mark_above_its_need(write_job: WriteJob) -> None:
    plan = plan_fence(write_job('[posts]\ndepth_share = "1/3"\n'), "contour")
    asked, wanted = plan.families.posts.asked * plan.mark, plan.runs[0].posts.total
    assert np.any(np.abs(wanted / plan.mark - np.round(wanted / plan.mark)) > 0.01)
    assert np.all(asked >= wanted - 1e-6)
    assert np.all(asked < wanted + plan.mark)


def test_gate_posts_of_their_own_stock_are_a_family_and_may_fall_short(write_job: WriteJob) -> None:
    level = "station [ft],elevation [in]\n0,0\n12,0\n24,0\n"
    gate = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"'
    keys = '[posts]\ngate_width = "5-1/2 in"\n[[posts.stock]]\nlength = "10 ft"\n[[posts.gate_stock]]\n'
    plan = plan_fence(write_job(keys + 'length = "12 ft"\n', lane=(level, gate)))
    own = plan.families.gate_posts
    assert own is not None
    assert len(own.asked) == 2
    assert len(own.asked) + len(plan.families.posts.asked) == len(plan.runs[0].posts)
    short = plan_fence(write_job(keys + 'length = "6 ft"\n', lane=(level, gate)))
    (missing,) = short.missing
    assert (missing.part, missing.table, missing.count) == ("gate post", "[[posts.gate_stock]]", 2)
