"""Every string height at which a board changes stock."""

import numpy as np
import pytest
from msgspec.structs import replace
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.level import choose as choose_level
from fencegrade.fence.tops.string_heights import StringHeights, string_heights
from fencegrade.ground.profile import GroundLine


def test_rows_of_three_pickets() -> None:
    line = straight_ground([0, 30], [0, 0])
    slots = Slots(left=np.array([0.0, 10.0, 20.0]), right=np.array([5.0, 15.0, 25.0]))
    wish = build(line, slots=slots, least=60.0)
    heights = string_heights(line, slots, choose_level(wish).top, wish.cost)
    # line at 60, foot at 2: a 72 in board serves up to 74-1/8, a 96 in board to 98-1/8
    assert heights.offset == pytest.approx([14.125, 38.125], abs=1e-6)
    assert heights.cost == pytest.approx([3 * 3.6, 3 * 6.1])
    assert heights.shortest == pytest.approx([74.125, 98.125], abs=1e-6)
    assert heights.tallest == pytest.approx([74.125, 98.125], abs=1e-6)
    assert heights.boards.tolist() == [[3, 0], [0, 3]]


def test_rows_on_the_tape_and_the_boards_cut_there() -> None:
    """Feet at 2, 2 and 4 in: whole boards of 72 in from 74 (76) up to under 74-1/8 (76-1/8)."""
    line = straight_ground([0, 18, 18, 30], [0, 0, 2, 2])
    slots = Slots(left=np.array([0.0, 10.0, 20.0]), right=np.array([5.0, 15.0, 25.0]))
    wish = build(line, slots=slots, least=60.0)
    heights = string_heights(line, slots, choose_level(wish).top, wish.cost, mark=0.5)
    # the line stands at 62; up to 74 the two low ones are whole, up to 76 the third, in 96 in boards the two
    assert heights.offset == pytest.approx([0, 12, 14, 36])
    assert heights.boards.tolist() == [[3, 0], [3, 0], [1, 2], [0, 3]]
    assert heights.cuts.tolist() == [3, 1, 2, 1]


def test_floor_leaves_low_rows_out(swale: GroundLine) -> None:
    wish = build(swale)
    top = choose_level(wish).top
    every = string_heights(swale, wish.slots, top, wish.cost)
    some = string_heights(swale, wish.slots, top, wish.cost, lowest=66.0)
    kept = every.shortest >= 66.0 - 1e-9
    assert some.offset == pytest.approx(every.offset[kept])
    assert some.cost == pytest.approx(every.cost[kept])
    assert some.boards.tolist() == every.boards[kept].tolist()


def test_knees_are_a_convex_chain_under_all_rows(swale: GroundLine) -> None:
    wish = build(swale)
    heights = string_heights(swale, wish.slots, choose_level(wish).top, wish.cost, lowest=55.0)
    x, y = heights.offset[heights.knee], heights.cost[heights.knee]
    assert np.all(np.diff(np.diff(y) / np.diff(x)) > -1e-9)
    assert np.all(heights.cost >= np.interp(heights.offset, x, y) - 1e-9)


def test_sharpest_saves_more_for_its_inches_than_the_rest(swale: GroundLine) -> None:
    wish = build(swale)
    heights = string_heights(swale, wish.slots, choose_level(wish).top, wish.cost, lowest=55.0)
    row, last = heights.sharpest, heights.row_at(0.0)
    above = (heights.cost[last] - heights.cost[row]) / (heights.offset[last] - heights.offset[row])
    below = (heights.cost[row] - heights.cost[0]) / (heights.offset[row] - heights.offset[0])
    assert above > below


def rows(offset: list[float], cost: list[float]) -> StringHeights:
    """Heights of a line with these offsets and costs; what else they hold is of no matter here."""
    at, money = np.array(offset), np.array(cost)
    none = np.zeros(len(offset), dtype=np.int64)
    return StringHeights(
        offset=at,
        cost=money,
        shortest=at + 72,
        tallest=at + 72,
        boards=none[:, None],
        unserved=none,
        cuts=none,
        knee=none > 0,
    )


def test_the_row_that_holds_is_the_next_one_up() -> None:
    heights = rows([-10.0, -4.0, 2.5], [1.0, 2.0, 3.0])
    raised = [-12.0, -10.0, -9.875, -4.0, -3.875, 0.0, 2.5, 2.625, 90.0]
    assert [heights.row_at(x) for x in raised] == [0, 0, 1, 1, 2, 2, 2, 2, 2]


@pytest.mark.parametrize(
    ("offset", "cost", "row"),
    [
        # from -10 to 0 the straight share at -4 is 6.4 and at -8 it is 2.8
        ([-10.0, -4.0, 0.0], [1.0, 2.0, 10.0], 1),
        ([-10.0, -4.0, 0.0], [1.0, 6.4, 10.0], None),
        ([-10.0, -4.0, 0.0], [1.0, 8.0, 10.0], None),
        ([-10.0, 0.0], [1.0, 10.0], None),
        ([-10.0, -8.0, -4.0, 0.0], [1.0, 2.0, 4.0, 10.0], 2),
        # rows above the present line have no say
        ([-10.0, -4.0, 0.0, 6.0], [1.0, 6.4, 10.0, 90.0], None),
    ],
)
def test_sharpest_lies_farthest_under_the_straight_share(
    offset: list[float], cost: list[float], row: int | None
) -> None:
    assert rows(offset, cost).sharpest == row


def test_a_longer_board_that_costs_less_is_taken_and_cut() -> None:
    """Boards of 8 ft for less than those of 6 ft: every picket takes one, and none of them is used whole."""
    line = straight_ground([0, 30], [0, 0])
    slots = Slots(left=np.array([0.0, 10.0, 20.0]), right=np.array([5.0, 15.0, 25.0]))
    wish = build(line, slots=slots, least=60.0)
    cheap = replace(wish.cost, stock_costs=np.array([6.1, 3.6]))
    heights = string_heights(line, slots, choose_level(wish).top, cheap)
    assert heights.boards.tolist() == [[0, 3], [0, 3]]
    assert heights.cost == pytest.approx([3 * 3.6] * 2)
    assert heights.cuts.tolist() == [3, 0], "72 in boards would be whole in the first row, 96 in ones are cut"


def rolling(seed: int) -> GroundLine:
    generator = np.random.default_rng(seed)
    return straight_ground(np.arange(6) * 24.0, np.round(np.cumsum(generator.normal(0, 5, 6)) * 8) / 8)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("lowest", [0.0, 58.0])
def test_rows_are_what_every_picket_alone_would_ask_for(seed: int, lowest: float) -> None:
    """Picket by picket: the shortest stock that serves it with the line moved, and whether it is whole."""
    line = rolling(seed)
    wish = build(line, stock=((60.0, 3.0), (72.0, 3.6), (96.0, 6.1)), least=60.0)
    top = choose_level(wish).top
    crown, reach = top.at(wish.slots.centre), wish.cost.stock_reach
    heights = string_heights(line, wish.slots, top, wish.cost, lowest=lowest)
    least = float(choose_level(wish).least_height)
    tallest = float((crown - line.lowest(wish.slots.left, wish.slots.right)).max())
    changes = (reach - crown[:, None]).ravel()
    roof = min(c for c in reach[:, -1] - crown if c >= lowest - least)
    wanted = np.unique(np.round(changes[(changes >= lowest - least) & (changes <= roof)], 7))
    assert heights.offset == pytest.approx(wanted, abs=1e-6)
    assert heights.shortest == pytest.approx(least + heights.offset)
    assert heights.tallest == pytest.approx(tallest + heights.offset)
    for k, offset in enumerate(heights.offset):
        shortest = [int((crown[i] + offset > reach[i] + 1e-7).sum()) for i in range(len(crown))]
        assert heights.boards[k].tolist() == [shortest.count(s) for s in range(3)]
        assert heights.unserved[k] == shortest.count(3)
        assert heights.cost[k] == pytest.approx(sum([3.0, 3.6, 6.1, 0.0][s] for s in shortest))
        whole = [
            s < 3 and crown[i] + offset > wish.cost.full_least[i, s] - 1e-7 for i, s in enumerate(shortest)
        ]
        assert heights.cuts[k] == len(crown) - shortest.count(3) - sum(whole)


@pytest.mark.parametrize("seed", range(8))
def test_rows_on_a_tape_hold_at_the_highest_mark_of_each(seed: int) -> None:
    line, mark = rolling(seed), 0.125
    wish = build(line, least=60.0)
    top = choose_level(wish).top
    crown, reach = top.at(wish.slots.centre), wish.cost.stock_reach
    free = string_heights(line, wish.slots, top, wish.cost)
    taped = string_heights(line, wish.slots, top, wish.cost, mark=mark)
    highest = np.floor(free.offset / mark + 1e-6) * mark
    assert set(np.round(taped.offset, 6)) - {0.0} == set(np.round(highest, 6)) - {0.0}
    assert np.all(np.diff(taped.offset) > 0)
    for k, offset in enumerate(taped.offset):
        shortest = [int((crown[i] + offset > reach[i] + 1e-7).sum()) for i in range(len(crown))]
        assert taped.boards[k].tolist() == [shortest.count(s) for s in range(2)]
        assert taped.cost[k] == pytest.approx(sum([3.6, 6.1, 0.0][s] for s in shortest))
        whole = [
            s < 2 and crown[i] + offset > wish.cost.full_least[i, s] - 1e-7 for i, s in enumerate(shortest)
        ]
        assert taped.cuts[k] == len(crown) - shortest.count(2) - sum(whole)
