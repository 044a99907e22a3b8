from types import SimpleNamespace

import numpy as np
import pytest
from rail_bays import bays_of

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.rails.pieces import long_pieces
from fencegrade.fence.rails.rails import (
    rail_rows,
)
from fencegrade.fence.tops.level import level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle


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
