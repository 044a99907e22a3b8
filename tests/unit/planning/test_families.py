"""What is cut from which board, traced back to the place each piece goes to."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from fencegrade.job.read import Job
from fencegrade.job.records import Stock
from fencegrade.planning.families import Family, family, picket_names
from fencegrade.planning.part_families import posts_to_set
from fencegrade.planning.plan import FencePlan, plan_fence

WriteJob = Callable[..., Job]


def made(asked: list[int], stock: list[tuple[float, float | None, int]], **keys: object) -> Family:
    offered = [Stock(length=a, price=p, on_hand=n) for a, p, n in stock]
    return family(np.array(asked, dtype=np.int64), lambda i: f"p{i}", offered, 1.0, **keys)  # type: ignore[arg-type]


def test_every_piece_is_laid_once_and_traced() -> None:
    found = made([40, 30, 40, 20, 30], [(100, 5.0, 0)], kerf=1.0)
    names = [n for board in found.traced() for n in board.names]
    assert sorted(names) == [f"p{i}" for i in range(5)]
    for board in found.traced():
        for length, name in zip(board.pieces, board.names, strict=True):
            assert found.asked[int(name[1:])] == length


def test_what_is_longer_than_any_board_is_left_out_and_named() -> None:
    found = made([40, 130, 101], [(100, 5.0, 0)])
    assert found.unserved == (1, 2)
    assert found.stock_of().tolist() == [100, 0, 0]


def test_slack_lets_a_piece_serve_and_says_what_was_taken() -> None:
    found = made([101, 50], [(100, 5.0, 0)], slack=np.array([2, 0]))
    assert not found.unserved
    (long,) = [b for b in found.traced() if "p0" in b.names]
    assert long.pieces == (100,)


def test_nothing_asked_is_a_plan_of_nothing() -> None:
    found = made([], [(100, 5.0, 0)])
    assert (list(found.traced()), found.counts(True), found.counts(False)) == ([], [0], [0])


def test_boards_on_hand_are_counted_apart() -> None:
    found = made([90, 90, 90], [(100, 5.0, 2)], one_piece=True)
    assert (found.counts(True), found.counts(False)) == ([2], [1])


def test_kerf_and_least_offcut_are_rounded_to_the_safe_side() -> None:
    """Two pieces of 49 and 50 with a kerf of 0.4 marks: counted as one mark, they just fit 100."""
    assert made([49, 50], [(100, 5.0, 0)], kerf=0.4).plan.board_count == 1
    assert made([50, 50], [(100, 5.0, 0)], kerf=0.4).plan.board_count == 2
    assert made([90], [(100, 5.0, 0)], least_offcut=9.5).plan.kept == 10
    assert made([91], [(100, 5.0, 0)], least_offcut=9.5).plan.kept == 0


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
        told = [p.place for p in plan.problems if "a post of" in p.found and p.place.startswith("north")]
        assert all("posts 1" not in place and not place.endswith("post 1") for place in told)

    @pytest.mark.parametrize("deeper", [0, 1])
    def test_it_is_as_deep_as_the_deeper_run_asks(self, write_job: WriteJob, deeper: int) -> None:
        plan = plan_fence(write_job(**CORNER), "level")
        schedules = [r.posts for r in plan.runs]
        schedules[deeper] = replace(schedules[deeper], depth=schedules[deeper].depth + 30)
        own = posts_to_set(plan.job, schedules)
        assert own[0].depth[-1] == schedules[deeper].depth[-1 if deeper == 0 else 0]

    def test_one_that_stands_is_not_bought(self, write_job: WriteJob) -> None:
        north = (CORNER["north"][0], 'join = "west"\n[[run.existing_post]]\nstation = "0 ft"')
        plan = plan_fence(write_job(west=CORNER["west"], north=north), "level")
        posts = [len(r.posts) for r in plan.runs]
        assert plan.families.posts.plan.board_count == sum(posts) - 2


class TestFlatEnds:
    """Flat ends let a board give several pickets."""

    @pytest.fixture
    def plan(self, write_job: WriteJob) -> FencePlan:
        stock = '[[pickets.stock]]\nlength = "8 ft"\nprice = 5.0\n'
        level = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n"
        top = '[top]\nleast_height = "32 in"'
        return plan_fence(write_job(top, pickets='top_end = "flat"', stock=stock, lane=level))

    def test_a_board_gives_as_many_as_fit(self, plan: FencePlan) -> None:
        """30 in kept, three and two cuts of 1/8 in make 90-1/4 in of 96 in."""
        count = len(plan.runs[0].slots)
        assert plan.families.pickets.plan.board_count == -(-count // 3)
        assert plan.stock.used.sum() == -(-count // 3)

    def test_every_picket_has_the_stock_of_its_board(self, plan: FencePlan) -> None:
        assert set(plan.runs[0].stock.tolist()) == {0}
        names = Counter(n for b in plan.families.pickets.traced() for n in b.names)
        assert names == Counter(f"picket {i + 1}" for i in range(len(plan.runs[0].slots)))

    def test_pickets_of_several_runs_are_named_with_their_run(self) -> None:
        name_of = picket_names([("lane", 3), ("empty", 0), ("yard", 2)])
        named = ["lane picket 1", "lane picket 2", "lane picket 3", "yard picket 1", "yard picket 2"]
        assert [name_of(i) for i in range(5)] == named

    def test_what_a_gap_allows_is_given_once(self, write_job: WriteJob) -> None:
        """Of 49 in, 1 in may stay open; boards of 48-1/2 in have used half of it, so 95-1/2 in give one."""
        stock = "".join(
            f'[[pickets.stock]]\nlength = "{a}"\nprice = {p}\n'
            for a, p in (("48-1/2 in", 5), ("95-1/2 in", 6))
        )
        level = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n"
        top = '[top]\nleast_height = "51 in"'
        plan = plan_fence(write_job(top, pickets='top_end = "flat"', stock=stock, lane=level))
        (run,) = plan.runs
        assert float(run.cuts.gap.max()) <= 3 + 1e-9
        assert plan.families.pickets.plan.board_count == len(run.slots)


def test_gate_pickets_take_what_the_run_leaves_on_hand(write_job: WriteJob) -> None:
    level = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
    stock = '[[pickets.stock]]\nlength = "6 ft"\nprice = 4.0\non_hand = 45\n'
    plan = plan_fence(write_job(stock=stock, lane=(level, '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"')))
    gate = plan.families.gate_pickets
    assert gate is not None
    run = plan.families.pickets.counts(True)[0]
    assert run == len(plan.runs[0].slots)
    assert gate.counts(True)[0] == min(45 - run, gate.plan.board_count)


def test_rails_are_named_by_run_bay_and_row(write_job: WriteJob) -> None:
    plan = plan_fence(write_job())
    names = [n for b in plan.families.rails.traced() for n in b.names]
    assert len(names) == len(set(names)) == len(plan.runs[0].rail_pieces)
    assert "lane bay 1 row 1" in names
    asked = plan.families.rails.asked * plan.mark
    assert np.all(asked <= plan.runs[0].rail_pieces.length + 1e-6)
    assert np.all(asked > plan.runs[0].rail_pieces.length - plan.mark - 1e-6)


def test_a_post_is_asked_for_at_the_mark_above_its_need(write_job: WriteJob) -> None:
    plan = plan_fence(write_job('[posts]\ndepth_share = "1/3"\n'), "contour")
    asked, wanted = plan.families.posts.asked * plan.mark, plan.runs[0].posts.total
    assert np.any(np.abs(wanted / plan.mark - np.round(wanted / plan.mark)) > 0.01)
    assert np.all(asked >= wanted - 1e-6)
    assert np.all(asked < wanted + plan.mark)


def test_the_saw_takes_its_kerf_from_a_board_that_gives_one_piece(write_job: WriteJob) -> None:
    """Piece, kerf and what is left make the board; less than a kerf over is all dust."""
    gate = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"'
    level = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
    plan = plan_fence(write_job(lane=(level, gate)))
    kerf = round(plan.job.job.kerf / plan.mark)
    assert kerf > 0
    for one in (plan.families.pickets, plan.families.gate_pickets, plan.families.posts):
        assert one is not None
        for board in one.plan.boards:
            assert board.offcut == max(0, board.stock - board.pieces[0] - kerf)


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
