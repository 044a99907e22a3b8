"""Flags of pickets: one by one and in a row they are the same, in a fixed order."""

import numpy as np

from fencegrade.fence.pickets.flags import PicketFlag, every_flags, flags_of

FLAGS = {
    PicketFlag.GAP: np.array([False, True, True]),
    PicketFlag.NO_STOCK: np.array([False, False, True]),
    PicketFlag.OVER_HEIGHT: np.zeros(3, dtype=bool),
}


def test_flags_stand_in_the_order_of_the_list() -> None:
    assert flags_of(FLAGS, 2) == ["no stock long enough", "scribe or fill"]


def test_every_picket_has_its_own_flags() -> None:
    assert list(every_flags(FLAGS, 3)) == [flags_of(FLAGS, i) for i in range(3)]
    assert list(every_flags({}, 2)) == [[], []]
