"""Laws of bays, posts and rails on ground drawn at random."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from post_runs import checked_posts
from written import written

from fencegrade.fence.bays.bays import Bays, lay_bays
from fencegrade.fence.rails.pieces import long_pieces
from fencegrade.fence.rails.rails import rail_rows
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.level import level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.records import Posts, Rails, Run
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

SAY = Words(system=UnitSystem.IMPERIAL, mark=1 / 8)
HEIGHTS = st.lists(st.integers(-20, 20), min_size=6, max_size=6)
RAIL = st.integers(60, 140).map(float)
JOINT = st.sampled_from(["butted", "lapped"])
LONG = st.sampled_from([1, 5, 20, 40, 40, 110, 150])
"""Inches of a stretch without posts; over the longest no rail reaches."""
STRETCH = st.tuples(st.integers(8, 440), LONG).map(lambda s: (s[0], s[0] + s[1]))
LENGTH = 600.0


def _ground(heights: list[int]) -> GroundLine:
    return ground_line(np.linspace(0, LENGTH, len(heights)), np.array(heights, dtype=float))


def _posts(**keys: Any) -> Posts:
    table = {
        "width": "3-1/2 in",
        "spacing": "8 ft",
        "height": "-6 in",
        "hole_diameter": "10 in",
        "least_depth": "24 in",
        "stock": [{"length": "8 ft"}, {"length": "10 ft"}],
    }
    return Posts(**{**table, **keys})


def _rails(length: float, joint: str = "butted") -> Rails:
    return written(Rails, height="3-1/2 in", joint=joint, stock=[{"length": f"{length} in"}])


def _lay(line: GroundLine, rails: Rails, *closed: tuple[int, int], **post_keys: Any) -> Bays | None:
    stretches = [{"start": f"{a} in", "end": f"{b} in"} for a, b in closed]
    run = written(Run, name="paddock lane", survey="lane.csv", no_post=stretches)
    return lay_bays(run, _posts(**post_keys), rails, line, 0.0, LENGTH)[0]


@given(HEIGHTS, RAIL, st.lists(STRETCH, max_size=2), STRETCH)
def test_one_more_stretch_without_posts_never_lowers_the_bays(
    heights: list[int], rail: float, closed: list[tuple[int, int]], more: tuple[int, int]
) -> None:
    before = _lay(_ground(heights), _rails(rail), *closed)
    after = _lay(_ground(heights), _rails(rail), *closed, more)
    if before is None:
        assert after is None
    elif after is not None:
        assert len(after) >= len(before)


@given(HEIGHTS, RAIL, st.integers(1, 30), st.lists(STRETCH, max_size=2), JOINT)
def test_a_longer_rail_never_raises_the_bays(
    heights: list[int], rail: float, more: int, closed: list[tuple[int, int]], joint: str
) -> None:
    short = _lay(_ground(heights), _rails(rail, joint), *closed)
    long = _lay(_ground(heights), _rails(rail + more, joint), *closed)
    if short is not None:
        assert long is not None
        assert len(long) <= len(short)


@given(HEIGHTS, RAIL, st.lists(STRETCH, max_size=3), JOINT)
def test_every_rail_bears_on_both_posts_and_is_within_stock(
    heights: list[int], rail: float, closed: list[tuple[int, int]], joint: str
) -> None:
    line = _ground(heights)
    bays = _lay(line, _rails(rail, joint), *closed)
    if bays is None:
        return
    clear = (bays.width - 3.5) * np.hypot(1, bays.slope)
    bearing = 1.75 if joint == "butted" else 3.5
    assert (bays.rail >= clear + 2 * bearing * np.hypot(1, bays.slope) - 1e-9).all()
    assert (bays.rail <= rail + 1e-5).all()
    assert (bays.width >= 3.5 - 1e-9).all()
    assert (bays.width <= 96 + 1e-5).all()
    assert bays.width.sum() == pytest.approx(LENGTH)
    rise = line.elevation(bays.right) - line.elevation(bays.left)
    assert bays.slope * bays.width == pytest.approx(rise, abs=1e-9)


@given(RAIL, st.lists(STRETCH, max_size=3), JOINT)
def test_a_level_run_walked_from_the_other_end_has_the_same_bays(
    rail: float, closed: list[tuple[int, int]], joint: str
) -> None:
    line = _ground([0] * 6)
    mirrored = [(int(LENGTH) - b, int(LENGTH) - a) for a, b in closed]
    there, back = _lay(line, _rails(rail, joint), *closed), _lay(line, _rails(rail, joint), *mirrored)
    assert (there is None) == (back is None)
    if there is not None and back is not None:
        assert len(there) == len(back)
        assert (there.width**2).sum() == pytest.approx((back.width**2).sum(), rel=1e-3)


@given(HEIGHTS, RAIL, st.integers(1, 5))
def test_a_post_that_stands_is_where_it_was(heights: list[int], rail: float, place: int) -> None:
    bays = _lay(_ground(heights), _rails(rail), fixed=[f"{place * 97} in"])
    assert bays is not None
    assert place * 97.0 in bays.posts


@given(HEIGHTS, st.floats(0, 48), st.floats(0, 0.5))
def test_posts_are_as_deep_as_every_rule_asks_and_stock_serves(
    heights: list[int], least: float, share: float
) -> None:
    line = _ground(heights)
    bays = _lay(line, _rails(120))
    assert bays is not None
    posts = _posts(least_depth=f"{least} in", depth_share=share)
    run = written(Run, name="paddock lane", survey="lane.csv")
    schedule, _ = checked_posts(run, bays, level_top(line, 0, LENGTH, 72), line, posts, SAY)
    for choice in schedule.choices:
        assert (schedule.depth >= choice.depth - 1e-9).all()
    assert (schedule.depth >= share * schedule.total - 1e-6).all()
    assert schedule.total == pytest.approx(schedule.above + schedule.depth)
    served = schedule.stock != NO_STOCK
    lengths = np.array([s.length for s in schedule.sold.line])[schedule.stock[served]]
    assert lengths - schedule.cut_off[served] == pytest.approx(schedule.total[served])
    assert (schedule.total[~served] > 120).all()


@given(HEIGHTS, st.floats(-30, 30))
def test_moving_the_datum_moves_no_post_and_no_rail(heights: list[int], up: float) -> None:
    line = _ground(heights)
    moved = ground_line(line.stations, line.elevations + up)
    one, two = _lay(line, _rails(96)), _lay(moved, _rails(96))
    assert one is not None
    assert two is not None
    assert one.posts == pytest.approx(two.posts, abs=1e-4)
    assert one.rail == pytest.approx(two.rail, abs=1e-4)


@given(HEIGHTS, st.integers(40, 110))
def test_rails_stay_over_the_clearance_and_under_the_top(heights: list[int], least: int) -> None:
    line = _ground(heights)
    bays = _lay(line, _rails(96))
    assert bays is not None
    top = TopLine(
        style=TopStyle.RACKED, stations=bays.posts, elevations=line.elevation(bays.posts) + float(least)
    )
    rails = _rails(96)
    rows, _ = rail_rows(Run(name="a", survey="a.csv"), bays, top, line, rails, 2.0, SAY)
    assert (rows.length > 0).all()
    x = np.linspace(0, 1, 41)
    for i in np.flatnonzero(rows.row == np.bincount(rows.bay)[rows.bay] - 1):
        left, right = bays.left[rows.bay[i]], bays.right[rows.bay[i]]
        stations = left + (right - left) * x
        under = np.interp(stations, top.stations, top.elevations) - rows.drop[i] - rails.height
        assert (under - line.elevation(stations) >= 2 - 1e-6).all()


@given(HEIGHTS, st.integers(96, 240))
def test_rails_over_two_bays_cover_every_bay_once(heights: list[int], stock: int) -> None:
    line = _ground(heights)
    bays = _lay(line, _rails(float(stock)))
    assert bays is not None
    top = level_top(line, 0, LENGTH, 72)
    rows, _ = rail_rows(Run(name="a", survey="a.csv"), bays, top, line, _rails(float(stock)), 2.0, SAY)
    pieces = long_pieces(rows, bays, top)
    covered = [
        (row, bay)
        for row, a, b in zip(pieces.row, pieces.first_bay, pieces.last_bay, strict=True)
        for bay in range(a, b + 1)
    ]
    assert sorted(covered) == sorted(zip(rows.row.tolist(), rows.bay.tolist(), strict=True))
    assert (pieces.length <= stock + 1e-5).all()
    assert len(pieces) <= len(rows.bay)
