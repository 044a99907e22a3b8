"""The outlines of pickets."""

from types import SimpleNamespace
from typing import Any

import numpy as np

from fencegrade.fence.slots import Slots
from fencegrade.job.choices import TopEnd
from fencegrade.sheets.drawings.picket_shapes import picket_outlines


def test_ears_are_cut_off_by_an_inch_or_half_a_narrow_board() -> None:
    slots = Slots(left=np.array([0.0, 6.0]), right=np.array([5.5, 7.5]))
    cuts: Any = SimpleNamespace(
        top=np.array([72.0, 70.0]), bottom_left=np.array([0.0, 2.0]), bottom_right=np.array([1.0, 2.0])
    )
    wide, narrow = picket_outlines(slots, cuts, TopEnd.DOG_EARED).tolist()
    assert wide == [[0, 0], [0, 71], [1, 72], [4.5, 72], [5.5, 71], [5.5, 1]]
    assert narrow == [[6, 2], [6, 69.25], [6.75, 70], [6.75, 70], [7.5, 69.25], [7.5, 2]]
