from types import SimpleNamespace

import numpy as np
import pytest
from rail_bays import bays_of

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.rails.pieces import _pair_up, long_pieces
from fencegrade.fence.rails.rails import (
    rail_rows,
)
from fencegrade.fence.tops.level import level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import ground_line


def test_long_rails_run_over_two_bays_with_joints_staggered(make: SimpleNamespace) -> None:
    line = make.ground(384)
    bays = bays_of(make, line, 384, "16 ft 2 in")
    top = level_top(line, 0, 384, 72)
    rows, _ = rail_rows(make.run(), bays, top, line, make.rails("16 ft 2 in"), 2.0, make.say)
    pieces = long_pieces(rows, bays, top)
    runs: dict[int, list[tuple[int, int]]] = {row: [] for row in range(3)}
    for row, a, b in zip(pieces.row, pieces.first_bay, pieces.last_bay, strict=True):
        runs[int(row)].append((int(a), int(b)))
    assert runs == {0: [(0, 1), (2, 3)], 1: [(0, 0), (1, 2), (3, 3)], 2: [(0, 1), (2, 3)]}
    assert pieces.length.max() == pytest.approx(193.75)
    assert len(pieces) == 7
    # on all five posts each; a joint at a post is two ends there: one in the first row, two in the second
    assert [int(pieces.on_posts[pieces.row == row].sum()) for row in range(3)] == [6, 7, 6]
    assert len(rows.bay) == 12


def test_lapped_rails_over_two_bays_count_the_middle_lap_once(make: SimpleNamespace) -> None:
    line = make.ground(192)
    bays = bays_of(make, line, 192, "200 in", joint="lapped")
    top = level_top(line, 0, 192, 72)
    rows, _ = rail_rows(
        make.run(), bays, top, line, make.rails("200 in", count=1, joint="lapped"), 2.0, make.say
    )
    pieces = long_pieces(rows, bays, top)
    assert pieces.length == pytest.approx([192 + 3.5])


def test_rails_do_not_run_over_a_step_or_a_gate(make: SimpleNamespace) -> None:
    line = make.ground(192)
    bays = bays_of(make, line, 192, "200 in")
    step = TopLine(
        style=TopStyle.STEPPED, stations=np.array([0.0, 96, 96, 192]), elevations=np.array([72.0, 72, 60, 60])
    )
    rows, _ = rail_rows(make.run(), bays, step, line, make.rails("200 in"), 2.0, make.say)
    pieces = long_pieces(rows, bays, step)
    assert [int((pieces.row == r).sum()) for r in range(3)] == [2, 2, 1]  # the lowest rail makes no step
    run = make.run(gate=[{"station": "80 in", "width": "40 in"}])
    gated, _ = lay_bays(run, make.posts(), make.rails("200 in"), line, 0.0, 192.0)
    assert gated is not None
    top = level_top(line, 0, 192, 72)
    rows, _ = rail_rows(run, gated, top, line, make.rails("200 in"), 2.0, make.say)
    assert len(long_pieces(rows, gated, top)) == len(rows)


@pytest.mark.parametrize(
    ("heights", "joined"),
    [
        ((72.0, 81.6, 91.2), True),  # on up
        ((91.2, 81.6, 72.0), True),
        ((72.0, 81.6, 72.0), False),  # over a crest
        ((81.6, 72.0, 81.6), False),
    ],
)
def test_a_rail_over_two_bays_is_straight(
    make: SimpleNamespace, heights: tuple[float, ...], joined: bool
) -> None:
    """9.6 in rise in 96 by 192: the long rail is level 192 and half a post at both ends, along the slope."""
    line = ground_line([0, 96, 192], [z - 72 for z in heights])
    bays = bays_of(make, line, 192, "200 in")
    top = TopLine(style=TopStyle.RACKED, stations=bays.posts, elevations=np.array(heights))
    rails = make.rails("200 in", count=1)
    rows, _ = rail_rows(make.run(), bays, top, line, rails, 2.0, make.say)
    pieces = long_pieces(rows, bays, top)
    assert (len(pieces) == 1) == joined
    if joined:
        assert pieces.length == pytest.approx([195.5 * 1.01**0.5])


@pytest.mark.parametrize("step", [12.0, -12.0])
@pytest.mark.parametrize(("reach", "long"), [("195.5 in", 1), ("195.4375 in", 2)])
def test_a_rail_as_long_as_the_longest_stock_runs_over_two_bays(
    make: SimpleNamespace, step: float, reach: str, long: int
) -> None:
    line = make.ground(192)
    bays, rails = bays_of(make, line, 192, reach), make.rails(reach, count=1)
    level = level_top(line, 0, 192, 72)
    rows, _ = rail_rows(make.run(), bays, level, line, rails, 2.0, make.say)
    assert len(long_pieces(rows, bays, level)) == long
    stepped = TopLine(
        style=TopStyle.STEPPED,
        stations=np.array([0.0, 96, 96, 192]),
        elevations=72 + np.array([0.0, 0, step, step]),
    )
    rows, _ = rail_rows(make.run(), bays, stepped, line, make.rails(reach, count=1), 2.0, make.say)
    assert len(long_pieces(rows, bays, stepped)) == 2


@pytest.mark.parametrize(
    ("joined", "alone", "pairs"),
    [
        ({0: 1, 1: 2, 2: 3, 3: 4}, False, [(0, 1), (2, 3), (4, 4)]),
        ({0: 1, 1: 2, 2: 3, 3: 4}, True, [(0, 0), (1, 2), (3, 4)]),
        # a second line begins with 2: its first is alone again
        ({0: 1, 2: 3, 3: 4}, False, [(0, 1), (2, 3), (4, 4)]),
        ({0: 1, 2: 3, 3: 4}, True, [(0, 0), (1, 1), (2, 2), (3, 4)]),
        ({0: 1, 1: 2, 3: 4}, True, [(0, 0), (1, 2), (3, 3), (4, 4)]),
        ({}, True, [(0, 0), (1, 1), (2, 2), (3, 3), (4, 4)]),
    ],
)
def test_rails_are_joined_by_twos_the_first_of_every_odd_line_alone(
    joined: dict[int, int], alone: bool, pairs: list[tuple[int, int]]
) -> None:
    assert _pair_up(np.arange(5), joined, alone) == pairs


@pytest.mark.parametrize(("slope", "ends"), [(0.0087, 0.0), (0.0088, 3.5 * 0.0088), (-0.1, 0.35)])
def test_ends_a_hair_off_square_take_nothing_of_a_board(
    make: SimpleNamespace, slope: float, ends: float
) -> None:
    """Half a degree is a slope of 0.00873: a fence a little off level takes no longer boards."""
    line = ground_line([0, 96, 192], [0, 96 * slope, 192 * slope])
    bays = bays_of(make, line, 192, "10 ft")
    top = TopLine(
        style=TopStyle.SLOPED,
        stations=np.array([0.0, 192.0]),
        elevations=np.array([72.0, 72.0 + 192 * slope]),
    )
    rows, _ = rail_rows(make.run(), bays, top, line, make.rails("10 ft"), 2.0, make.say)
    assert long_pieces(rows, bays, top).ends == pytest.approx(np.full(len(rows), ends))
