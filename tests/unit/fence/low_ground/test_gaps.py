"""Low ground joined into stretches."""

import numpy as np
import pytest

from fencegrade.fence.low_ground.gaps import GapAction, gap_stretches
from fencegrade.fence.slots import Slots

ROW = Slots(left=np.arange(0, 36, 6.0), right=np.arange(0, 36, 6.0) + 5)


def test_neighbours_of_one_action_are_one_stretch() -> None:
    actions = np.array(["", "longer board", "longer board", "leave open", "", "longer board"])
    found = gap_stretches(ROW, np.array([1.0, 4.0, 6.0, 9.0, 1.0, 5.0]), actions)
    assert [(g.first, g.last, g.deepest, g.action) for g in found] == [
        (2, 3, 6.0, GapAction.LONGER_BOARD),
        (4, 4, 9.0, GapAction.LEAVE_OPEN),
        (6, 6, 5.0, GapAction.LONGER_BOARD),
    ]
    assert [(g.start, g.end) for g in found] == [(6, 17), (18, 23), (30, 35)]


def test_nothing_low_gives_no_stretch() -> None:
    assert gap_stretches(ROW, np.ones(6), np.array([""] * 6)) == ()
    empty = Slots(left=np.empty(0), right=np.empty(0))
    assert gap_stretches(empty, np.empty(0), np.array([], dtype="U12")) == ()


def test_a_whole_run_is_one_stretch() -> None:
    (only,) = gap_stretches(ROW, np.arange(6.0), np.array(["none"] * 6))
    assert (only.first, only.last, only.deepest) == (1, 6, 5.0)


def test_an_unknown_action_is_refused() -> None:
    with pytest.raises(ValueError, match="dig"):
        gap_stretches(ROW, np.ones(6), np.array(["dig"] * 6))
