"""What is cut from which board, traced back to the place each piece goes to."""

from collections import Counter
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from fencegrade.job.read import Job
from fencegrade.job.records import Stock
from fencegrade.planning.families import Families, Family, family, held_before, picket_names
from fencegrade.planning.plan import FencePlan, plan_fence

WriteJob = Callable[..., Job]


def made(asked: list[int], stock: list[tuple[float, float | None, int]], **keys: Any) -> Family:
    offered = [Stock(length=a, price=p, on_hand=n) for a, p, n in stock]
    return family(np.array(asked, dtype=np.int64), lambda i: f"p{i}", offered, 1.0, **keys)


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
    assert found.sold_of().tolist() == [100, 0, 0]


def test_pieces_longer_than_all_that_is_sold_take_those_on_hand_the_longest_first() -> None:
    left = [(110, 1), (150, 1), (130, 2)]
    offered = [Stock(length=n, on_hand=k, limit=0) for n, k in left] + [Stock(length=100, price=5.0)]
    asked = np.array([125, 105, 140, 118, 126, 90], dtype=np.int64)
    found = family(asked, lambda i: f"p{i}", offered, 1.0)
    assert found.unserved == (3,)
    assert found.sold_of().tolist() == [130, 110, 150, 0, 130, 100]
    assert (found.counts(True), found.counts(False)) == ([1, 1, 2, 0], [0, 0, 0, 1])


def test_what_is_missing_names_its_table_and_what_is_used_up() -> None:
    """Of two pieces over all that is sold one takes the board exactly as long; a shorter one is no use."""
    left = [Stock(length=101, on_hand=1, limit=0), Stock(length=100.5, on_hand=9, limit=0)]
    short = family(
        np.array([101, 101, 60], dtype=np.int64),
        lambda i: f"p{i}",
        [*left, Stock(length=60, price=1.0), Stock(length=100, price=5.0)],
        1.0,
    )
    tables = {
        "pickets": "[[pickets.stock]]",
        "gate_pickets": "[[pickets.stock]]",
        "kickboards": "[[soil.kickboard]]",
        "posts": "[[posts.stock]]",
        "gate_posts": "[[posts.gate_stock]]",
        "rails": "[[rails.stock]]",
    }
    found = Families(**dict.fromkeys(tables, short)).missing(1.0)
    assert [(m.part.replace(" ", "_") + "s", m.table) for m in found] == list(tables.items())
    assert {(m.count, m.needed, m.longest, m.used_up) for m in found} == {(1, 101, 100, ((101, 1),))}
    assert not Families(**dict.fromkeys(tables, made([100], [(100, 5.0, 0)]))).missing(1.0)


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


def test_a_board_on_hand_is_used_up_once_it_gave_all_it_was_to_give() -> None:
    """Two rails a board: the other half of one cut in part is there for those to come."""
    cut = made([47] * 5 + [100], [(100, 5.0, 3)], kerf=1.0)
    shared = sorted(sorted(members) for _, members in cut.laid())
    up = np.zeros(6, dtype=bool)
    up[shared[0][:1]] = True
    assert held_before(cut, up) == [0]
    up[shared[0]] = True
    assert held_before(cut, up) == [1]
    up[:] = True
    assert held_before(cut, up) == [3]
