"""Where fills may lie and which rows go on from one another, each at its threshold."""

import math
from typing import Any

import numpy as np
import pytest
from low_runs import RUN, pickets_of
from msgspec.structs import replace
from straight_ground import straight_ground

from fencegrade.fence.low_ground.fill_places import (
    LowRun,
    _joined,
    _least_rows,
    _shared,
    fill_rows,
    gate_swing,
    soil_bars,
    touches,
)
from fencegrade.fence.low_ground.soil_body import Section, depth_moments
from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.pickets.wishes import picket_zones
from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.level import level_at
from fencegrade.job.choices import BottomCut, HingePost, LowGround
from fencegrade.job.records import Gate, Run, Soil
from fencegrade.units.arrays import Floats, Indices

NONE = (np.empty(0), np.empty(0))


def soil(**keys: Any) -> Soil:
    table = {"price": 40.0, "most_depth": 6.0, "crest": 12.0, "side_slope": 2.0, "loose_factor": 1.25}
    return Soil(low_ground=LowGround.SOIL, **(table | keys))


def low(lefts: list[float], faces: tuple[float, ...] = (), top: float = 78.0, end: float = 60.0) -> LowRun:
    """Pickets 5 in wide from these stations on over level ground with faces of no height worth the name."""
    x = [0.0, *(f for f in faces for _ in (0, 1)), end]
    z = [0.0, *(0.0 if k % 2 == 0 else -1e-4 for k in range(2 * len(faces))), 0.0 if not faces else -1e-4]
    line = straight_ground(x, z)
    slots = Slots(left=np.array(lefts), right=np.array(lefts) + 5)
    zones = picket_zones(slots, RUN, pickets_of())
    tops = level_at(0, end, top)
    return LowRun(
        run=RUN,
        line=line,
        start=0.0,
        end=end,
        slots=slots,
        zones=zones,
        cuts=cut_pickets(line, slots, tops, zones.clearance, BottomCut.SQUARE, 0.125),
    )


@pytest.mark.parametrize(
    ("left", "right", "touched"),
    [
        (0.0, 10.0, False),
        (0.0, 10.25, True),
        (12.0, 13.0, True),
        (19.75, 30.0, True),
        (20.0, 30.0, False),
        (5.0, 25.0, True),
        (20.0, 40.0, False),
        (20.0, 40.25, True),
        (50.0, 60.0, False),
    ],
)
def test_boards_that_only_meet_a_stretch_do_not_touch_it(left: float, right: float, touched: bool) -> None:
    """Stretches from 10 to 20 and from 40 to 50 in."""
    starts, ends = np.array([10.0, 40.0]), np.array([20.0, 50.0])
    assert touches(np.array([left]), np.array([right]), starts, ends).tolist() == [touched]


@pytest.mark.parametrize(
    ("open_angle", "hinge", "before", "after"),
    [
        # up to a right angle a leaf stays over its opening; half open past it it reaches cos 60 deg of itself
        (None, None, 0.0, 0.0),
        (math.radians(60), HingePost.START, 0.0, 0.0),
        (math.radians(120), HingePost.START, 24.0, 0.0),
        (math.radians(120), HingePost.END, 0.0, 24.0),
        (math.pi, None, 48.0, 48.0),
    ],
)
def test_no_soil_lies_where_a_leaf_sweeps(
    open_angle: float | None, hinge: HingePost | None, before: float, after: float
) -> None:
    one = Gate(station=100.0, width=48.0, open_angle=open_angle, hinge=hinge)
    two = Gate(station=300.0, width=96.0, leaves=2, open_angle=open_angle)
    run = Run(name="herb bed", survey="herb.csv", gate=(one, two))
    past = max(before, after)
    swept = [(100.0 - before, 148.0 + after), (300.0 - past, 396.0 + past)]
    assert np.array(gate_swing(run)) == pytest.approx(np.array(swept))


def joined(
    run: LowRun,
    boards: list[int],
    surface: list[tuple[float, float]],
    stock: list[int] | None = None,
    free: tuple[Floats, Floats] = NONE,
) -> list[bool]:
    board: Indices = np.array(boards, dtype=np.int64)
    kinds: Indices = np.array(stock or [0] * len(boards), dtype=np.int64)
    left, right = np.array([a for a, _ in surface]), np.array([b for _, b in surface])
    return [bool(x) for x in _joined(run, board, kinds, left, right, soil(), free)]


LEVEL = [(4.0, 4.0)] * 3


def test_the_next_board_of_the_same_stock_goes_on() -> None:
    run = low([0.0, 6.0, 12.0, 18.0])
    assert joined(run, [0, 1, 2], LEVEL) == [False, True, True]
    assert joined(run, [0, 2, 3], LEVEL) == [False, False, True]
    assert joined(run, [0, 1, 2], LEVEL, [0, 0, 1]) == [False, True, False]
    assert joined(run, [1], LEVEL[:1]) == [False]


@pytest.mark.parametrize(("step", "goes_on"), [(3.0, True), (3.125, False), (-3.0, True), (-3.125, False)])
def test_a_surface_no_steeper_than_the_sides(step: float, goes_on: bool) -> None:
    """Boards 6 in apart at their middles and sides of 2 : 1: 3 in from one to the next."""
    run = low([0.0, 6.0])
    assert joined(run, [0, 1], [(9.0, 4.0), (4.0 + step, 9.0)]) == [False, goes_on]


@pytest.mark.parametrize(
    ("face", "goes_on"), [(4.75, True), (5.0, False), (5.5, False), (6.0, False), (6.25, True)]
)
def test_a_face_between_two_boards_parts_their_fill(face: float, goes_on: bool) -> None:
    run = low([0.0, 6.0], (face,))
    assert joined(run, [0, 1], LEVEL[:2]) == [False, goes_on]


@pytest.mark.parametrize(
    ("start", "end", "goes_on"), [(3.0, 5.0, True), (3.0, 5.25, False), (5.75, 9.0, False), (6.0, 9.0, True)]
)
def test_a_stretch_free_of_soil_parts_a_fill(start: float, end: float, goes_on: bool) -> None:
    run = low([0.0, 6.0])
    free = (np.array([start]), np.array([end]))
    assert joined(run, [0, 1], LEVEL[:2], free=free) == [False, goes_on]


@pytest.mark.parametrize(("most_depth", "rows"), [(4.0, [0, 1, 2]), (3.875, [])])
def test_rows_up_to_the_greatest_depth(most_depth: float, rows: list[int]) -> None:
    """Tops at 78 over level ground: boards of 72 in stand 6 in off it, 2 of them wanted, so 4 in of soil."""
    run = low([0.0, 6.0, 12.0])
    lengths = np.array([round(72 / 0.125), round(96 / 0.125)], dtype=np.int64)
    made = fill_rows(run, lengths, soil(most_depth=most_depth), 0.125)
    assert made.board.tolist() == rows
    assert made.stock.tolist() == [0] * len(rows)
    assert made.left_surface == pytest.approx([4.0] * len(rows))
    assert made.deepest == pytest.approx([4.0] * len(rows))


@pytest.mark.parametrize(("most_depth", "deep"), [(4.0, False), (3.875, True)])
def test_soil_as_deep_as_it_may_be_is_not_too_deep(most_depth: float, deep: bool) -> None:
    """The boards of 72 in as before, 4 in over where soil is to reach."""
    run = low([0.0, 6.0, 12.0])
    cuts = replace(run.cuts, gap=np.full(3, 6.0), bottom_left=np.full(3, 6.0), bottom_right=np.full(3, 6.0))
    bars = soil_bars(run, cuts, soil(most_depth=most_depth))
    assert {cause for cause, barred in bars.items() if barred.any()} == (
        {"most_depth under [soil] in the job file"} if deep else set()
    )


@pytest.mark.parametrize(
    ("second", "shared"),
    [
        # level tops half an inch apart: the lower all along
        ((3.5, 3.5), [3.5, 3.5, 3.5]),
        # one falls from 5 to 3 where the other rises from 3-1/2 to 4-1/2: level with each other in the middle
        ((3.5, 6.0), [3.5, 4.0, 3.0]),
    ],
)
def test_boards_that_overlap_share_the_soil_under_the_lower_top(
    second: tuple[float, float], shared: list[float]
) -> None:
    """Boards from 0 to 5 and 3 to 8 over level ground: at 3, 4 and 5 the lower of both tops is `shared`."""
    run, section = low([0.0, 3.0]), Section(crest=12.0, side_slope=2.0)
    first = (4.0, 4.0) if second == (3.5, 3.5) else (8.0, 3.0)
    surface = np.array([first, second])
    told = _shared(run, np.array([0, 1]), surface[:, 0], surface[:, 1], np.array([1]), section)
    x = np.array([3.0, 4.0, 5.0])
    parts = depth_moments(run.line, x[:-1], x[1:], np.array(shared[:-1]), np.array(shared[1:]))
    assert told == pytest.approx([section.volume(parts).sum()])


def test_which_board_each_taper_ends_under() -> None:
    """4 in deep, 2 in of length an inch of depth: 8 in long; boards at 0-5, 6-11, 12-17, 18-23."""
    run = low([0.0, 6.0, 12.0, 18.0])
    lengths = np.array([round(72 / 0.125)], dtype=np.int64)
    made = fill_rows(run, lengths, soil(end_slope=2.0, most_depth=6.0), 0.125)
    assert made.after.reach == pytest.approx([13.0, 19.0, 25.0, 31.0])
    assert made.after.board.tolist() == [2, 3, 3, 3]
    assert made.before.reach == pytest.approx([0.0, 0.0, 4.0, 10.0])
    assert made.before.board.tolist() == [0, 0, 0, 1]


@pytest.mark.parametrize("down", [0.0, 0.125, 0.625])
def test_past_the_fence_s_end_a_taper_lies_on_the_ground_as_surveyed(down: float) -> None:
    """Its last board ends an inch before the fence does, 4 in of soil beneath it drawn out 2 in an inch: past
    the fence 3-1/2 in are left, over level ground, ground that falls, and ground that falls faster than soil
    lies, where no fill may end."""
    run = low([48.0, 54.0], end=60.0)
    run = replace(run, line=straight_ground([0.0, 60.0, 140.0], [0.0, 0.0, -80.0 * down]))
    lengths = np.array([round(72 / 0.125)], dtype=np.int64)
    made = fill_rows(run, lengths, soil(end_slope=2.0), 0.125)
    assert made.after.possible[1] == (down < 0.5)
    if down < 0.5:
        long = 3.5 / (0.5 - down)
        first, second = 3.75 + 3.5 * long / 2, (4**3 - 3.5**3) / 1.5 + 3.5**2 * long / 3
        assert made.after.volume[1] == pytest.approx((12 * first + 2 * second) / 1728)
        assert made.after.reach[1] == 60.0, "told as far as the fence goes"


@pytest.mark.parametrize(
    ("slope", "ahead", "back"), [(1.5, [1, 2], [0, 1]), (1.75, [2, 2], [0, 0]), (0.25, [1, 2], [0, 1])]
)
def test_a_taper_that_ends_between_two_boards(slope: float, ahead: list[int], back: list[int]) -> None:
    """6 in long it ends at 11, the right edge of the second board and where the gap after it begins."""
    run = low([0.0, 6.0, 12.0])
    lengths = np.array([round(72 / 0.125)], dtype=np.int64)
    made = fill_rows(run, lengths, soil(end_slope=slope), 0.125)
    assert (made.after.board.tolist()[:2], made.before.board.tolist()[1:]) == (ahead, back)


@pytest.mark.parametrize(
    ("least", "rows"),
    [
        # never one board alone; boards at 0-5, 6-11, 12-17 and 18-23
        (0.0, [1, 2, 3, -1]),
        (11.0, [1, 2, 3, -1]),
        (11.25, [2, 3, -1, -1]),
        (17.0, [2, 3, -1, -1]),
        (17.125, [3, -1, -1, -1]),
        (23.0, [3, -1, -1, -1]),
        (23.125, [-1, -1, -1, -1]),
    ],
)
def test_how_many_rows_make_the_least_length(least: float, rows: list[int]) -> None:
    board: Indices = np.arange(4, dtype=np.int64)
    slots = low([0.0, 6.0, 12.0, 18.0]).slots
    together = np.array([False, True, True, True])
    assert _least_rows(slots, board, together, least).tolist() == rows
    parted = np.array([False, True, False, True])
    assert _least_rows(slots, board, parted, 0.0).tolist() == [1, -1, 3, -1]
