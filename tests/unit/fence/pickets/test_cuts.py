"""Cuts worked by hand on straight ground, and the promises of rounding and shortening."""

import numpy as np
import pytest

from fencegrade.fence.pickets.cuts import (
    Cuts,
    cut_again,
    cut_over,
    cut_pickets,
    cut_to,
    marks_down,
    marks_up,
    shortened,
)
from fencegrade.fence.pickets.ground_below import BareGround
from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import BottomCut
from fencegrade.units.arrays import as_one

MARK = 0.125


def straight_top(height: float, slope: float = 0.0) -> TopLine:
    """A top line through 0 at `height` with one slope."""
    ends = np.array([0.0, 1000.0])
    return TopLine(style=TopStyle.SLOPED, stations=ends, elevations=height + slope * ends)


def slots(*edges: tuple[float, float]) -> Slots:
    return Slots(left=np.array([a for a, _ in edges]), right=np.array([b for _, b in edges]))


def cut(
    line: GroundLine,
    where: Slots,
    top: TopLine,
    clearance: float = 2.0,
    bottom: BottomCut = BottomCut.SQUARE,
    mark: float = MARK,
) -> Cuts:
    return cut_pickets(line, where, top, np.full(len(where), clearance), bottom, mark)


@pytest.fixture
def slope() -> GroundLine:
    """Ground that rises 1 in 10, straight because three readings are too few for a curve."""
    return ground_line([0.0, 50.0, 100.0], [0.0, 5.0, 10.0])


def test_level_ground(slope: GroundLine) -> None:
    flat = ground_line([0.0, 100.0], [3.0, 3.0])
    cuts = cut(flat, slots((0, 5), (95, 100)), straight_top(75.0))
    assert (cuts.kept * MARK).tolist() == [70.0, 70.0]
    assert cuts.gap.tolist() == [2.0, 2.0]
    assert cuts.height.tolist() == cuts.tallest.tolist() == [72.0, 72.0]


def test_a_square_cut_clears_the_high_side_and_opens_at_the_low_one(slope: GroundLine) -> None:
    # under [20, 25] the ground runs from 2 to 2.5: bottom at 4.5, gap 2.5 at the left
    cuts = cut(slope, slots((20, 25)), straight_top(80.0))
    assert cuts.kept[0] * MARK == 75.5
    assert cuts.bottom_left[0] == cuts.bottom_right[0] == 4.5
    assert cuts.gap[0] == pytest.approx(2.5)
    assert (cuts.height[0], cuts.tallest[0]) == (77.5, 78.0)


def test_a_scribed_cut_follows_the_ground(slope: GroundLine) -> None:
    # under [20, 30] from 2 to 3: the left side is 80 - 4 = 76, the right 75
    cuts = cut(slope, slots((20, 30)), straight_top(80.0), bottom=BottomCut.SCRIBED)
    assert (cuts.kept_left[0] * MARK, cuts.kept_right[0] * MARK) == (76.0, 75.0)
    assert cuts.kept[0] == cuts.kept_left[0]
    assert cuts.gap[0] == pytest.approx(2.0)
    assert (cuts.bottom_left[0], cuts.bottom_right[0]) == (4.0, 5.0)


def test_a_scribed_cut_is_raised_over_a_hump() -> None:
    # straight 0, 4, 0 under a picket: the chord is level at 0, touches the hump at 4
    hump = ground_line([0.0, 5.0, 10.0], [0.0, 4.0, 0.0])
    cuts = cut(hump, slots((0, 10)), straight_top(76.0), bottom=BottomCut.SCRIBED)
    assert cuts.kept[0] * MARK == 70.0
    assert cuts.gap[0] == pytest.approx(6.0)


def test_the_longer_side_is_on_the_low_side(slope: GroundLine) -> None:
    falling = ground_line([0.0, 50.0, 100.0], [10.0, 5.0, 0.0])
    up = cut(slope, slots((40, 50)), straight_top(90.0), bottom=BottomCut.SCRIBED)
    down = cut(falling, slots((50, 60)), straight_top(90.0), bottom=BottomCut.SCRIBED)
    assert up.kept_left[0] > up.kept_right[0]
    assert (up.kept_left[0], up.kept_right[0]) == (down.kept_right[0], down.kept_left[0])


def test_a_sloping_top_is_taken_at_the_middle() -> None:
    flat = ground_line([0.0, 100.0], [0.0, 0.0])
    cuts = cut(flat, slots((10, 20)), straight_top(72.0, slope=0.1))
    assert cuts.top[0] == 73.5
    assert cuts.kept[0] * MARK == 71.5


def test_rounding_shortens_at_the_bottom_and_never_moves_the_top() -> None:
    flat = ground_line([0.0, 100.0], [0.0, 0.0])
    cuts = cut(flat, slots((0, 5)), straight_top(72.1))
    assert cuts.top[0] == 72.1
    assert cuts.kept[0] * MARK == 70.0
    assert cuts.bottom_left[0] == pytest.approx(2.1)
    assert cuts.gap[0] == pytest.approx(2.1)


def test_each_picket_has_its_own_clearance(slope: GroundLine) -> None:
    where = slots((0, 5), (10, 15))
    cuts = cut_pickets(slope, where, straight_top(80.0), np.array([1.0, 4.0]), BottomCut.SQUARE, MARK)
    assert (cuts.kept * MARK).tolist() == [78.5, 74.5]


@pytest.mark.parametrize("bottom", list(BottomCut))
def test_ground_outside_the_readings_is_refused(slope: GroundLine, bottom: BottomCut) -> None:
    with pytest.raises(ValueError, match="readings"):
        cut(slope, slots((98, 101)), straight_top(80.0), bottom=bottom)


def test_at_a_face_each_side_keeps_its_own_ground() -> None:
    wall = ground_line([0.0, 50.0, 50.0, 100.0], [0.0, 0.0, -30.0, -30.0])
    for bottom in BottomCut:
        cuts = cut(wall, slots((45, 50), (50, 55)), straight_top(72.0), bottom=bottom)
        assert (cuts.kept * MARK).tolist() == [70.0, 100.0]
        assert cuts.gap.tolist() == [2.0, 2.0]


@pytest.mark.parametrize(
    ("inches", "mark", "marks"),
    [
        (70.0, 0.125, 560),
        (69.9999999999, 0.125, 560),
        (69.99, 0.125, 559),
        (70.124, 0.125, 560),
        (0.3, 0.1, 3),
        (1600 / 25.4, 1 / 25.4, 1600),
        (-0.05, 0.125, -1),
    ],
)
def test_marks_are_rounded_down_but_for_a_hair(inches: float, mark: float, marks: int) -> None:
    assert marks_down(np.array([inches]), mark).tolist() == [marks]


def test_a_short_board_loses_alike_on_both_sides(slope: GroundLine) -> None:
    cuts = cut(slope, slots((20, 30), (30, 40)), straight_top(80.0), bottom=BottomCut.SCRIBED)
    board = np.array([int(72 / MARK)] * 2)
    short = shortened(cuts, board, MARK)
    loss = (cuts.kept - board) * MARK
    assert short.kept.tolist() == board.tolist()
    assert (short.kept_left - short.kept_right).tolist() == (cuts.kept_left - cuts.kept_right).tolist()
    assert short.gap == pytest.approx(cuts.gap + loss)
    assert short.bottom_left == pytest.approx(cuts.bottom_left + loss)
    assert short.bottom_right == pytest.approx(cuts.bottom_right + loss)
    assert short.top.tolist() == cuts.top.tolist()
    assert short.height.tolist() == cuts.height.tolist()


def test_a_board_that_is_long_enough_changes_nothing(slope: GroundLine) -> None:
    cuts = cut(slope, slots((20, 30)), straight_top(80.0))
    same = shortened(cuts, cuts.kept + 5, MARK)
    assert same.kept.tolist() == cuts.kept.tolist()
    assert same.gap.tolist() == cuts.gap.tolist()


def test_joined_cuts_stand_in_order(slope: GroundLine) -> None:
    one = cut(slope, slots((20, 25)), straight_top(80.0))
    two = cut(slope, slots((60, 65), (70, 75)), straight_top(80.0))
    assert as_one([one, two]).kept.tolist() == [*one.kept, *two.kept]


def test_marks_up_hold_the_length_and_a_hair_over_is_on_the_mark() -> None:
    assert marks_up(np.array([2.0, 2.001, 2.124, 2.125, 2.125 + 1e-9]), MARK).tolist() == [16, 17, 17, 17, 17]


@pytest.mark.parametrize(
    ("bottom", "left", "right", "gap"),
    [
        # edges at 4 and 6, 2 in clear: 80 - 6 - 2 all across, so 4 in open over the lower edge; or 74 and 72
        (BottomCut.SQUARE, 72.0, 72.0, 4.0),
        (BottomCut.SCRIBED, 74.0, 72.0, 2.0),
    ],
)
def test_a_board_over_ground_measured_at_both_edges(
    bottom: BottomCut, left: float, right: float, gap: float
) -> None:
    plain = cut(ground_line([0.0, 100.0], [0.0, 0.0]), slots((0, 5), (6, 11), (12, 17)), straight_top(80.0))
    made = cut_over(plain, np.array([1]), np.array([[4.0, 6.0]]), np.array([2.0]), bottom, MARK)
    assert (made.kept_left * MARK).tolist() == [78, left, 78]
    assert (made.kept_right * MARK).tolist() == [78, right, 78]
    assert (made.kept * MARK).tolist() == [78, left, 78]
    assert made.bottom_left.tolist() == [2, 80 - left, 2]
    assert made.bottom_right.tolist() == [2, 80 - right, 2]
    assert made.gap.tolist() == [2, gap, 2]
    assert made.height.tolist() == [80, 74, 80]
    assert made.tallest.tolist() == [80, 76, 80]
    turned = cut_over(plain, np.array([1]), np.array([[6.0, 4.0]]), np.array([2.0]), bottom, MARK)
    assert (turned.kept_right[1], turned.kept_left[1]) == (made.kept_left[1], made.kept_right[1])
    assert (turned.kept[1], turned.gap[1], turned.height[1]) == (made.kept[1], gap, 74)


@pytest.mark.parametrize("kept", [71.0, 73.0])
def test_a_board_as_it_was_really_cut(slope: GroundLine, kept: float) -> None:
    """Over 3.5 to 4 in of ground, 2 clear: 72 in on the high side; longer or shorter both sides move."""
    plain = cut(slope, slots((35, 40)), straight_top(78.0), bottom=BottomCut.SCRIBED)
    assert (plain.kept_left[0] * MARK, plain.kept_right[0] * MARK) == (72.5, 72.0)
    made = cut_to(plain, np.array([kept / MARK], dtype=np.int64), MARK)
    less = 72.5 - kept
    assert (made.kept_left[0] * MARK, made.kept_right[0] * MARK) == (kept, kept - 0.5)
    assert made.kept[0] * MARK == kept
    assert made.bottom_left[0] == plain.bottom_left[0] + less
    assert made.bottom_right[0] == plain.bottom_right[0] + less
    assert made.gap[0] == plain.gap[0] + less


def test_some_boards_are_cut_again_over_other_ground(slope: GroundLine) -> None:
    """The last of three again over ground 10 in higher, its wanted space 1 in; heights stay as surveyed."""
    where = slots((0, 5), (6, 11), (35, 40))
    for bottom, left in ((BottomCut.SQUARE, 63.0), (BottomCut.SCRIBED, 63.5)):
        plain = cut(slope, where, straight_top(78.0), bottom=bottom)
        higher = ground_line([0.0, 50.0, 100.0], [10.0, 15.0, 20.0])
        below = BareGround(line=higher, left=where.left[2:], right=where.right[2:])
        made = cut_again(plain, np.array([2]), below, np.array([1.0]), bottom, MARK)
        assert (made.kept_left[2] * MARK, made.kept_right[2] * MARK) == (left, 63.0)
        assert made.kept[2] * MARK == left
        assert (made.bottom_left[2], made.bottom_right[2]) == (78 - left, 15.0)
        assert made.gap[2] == pytest.approx(15 - 13.5 if bottom is BottomCut.SQUARE else 1.0)
        for name in ("kept", "kept_left", "kept_right", "bottom_left", "bottom_right", "gap"):
            assert getattr(made, name)[:2].tolist() == getattr(plain, name)[:2].tolist()
        assert made.height is plain.height
        assert made.tallest is plain.tallest
