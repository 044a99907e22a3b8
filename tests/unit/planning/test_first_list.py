"""What a board that is cut in part still gives."""

import numpy as np
import pytest

from fencegrade.job.records import Stock
from fencegrade.planning.families import family
from fencegrade.planning.first_list import FirstList
from fencegrade.planning.laid import Begun


@pytest.mark.parametrize(
    ("up", "wood", "begun"),
    [
        ([0], [40, 30, 20], [(0, 1, 2)]),
        ([0], [40, 30, 23], [(0, 1, 2)]),  # 96 = 40 + 1 + 30 + 1 + 24
        ([0], [40, 30, 25], [(0, 1)]),
        ([0], [40, 55, 20], [(0, 1)]),
        ([0], [40, 56, 20], [(0, 2)]),
        ([0], [40, 56, 57], []),
        ([1, 2], [40, 30, 20], [(1, 2, 0)]),
        ([0, 1, 2], [40, 30, 20], []),
        ([], [40, 30, 20], []),
    ],
)
def test_a_board_begun_gives_what_it_was_to_as_far_as_there_is_wood(
    up: list[int], wood: list[int], begun: list[tuple[int, ...]]
) -> None:
    asked, standing = np.array([40, 30, 20]), np.zeros(3, dtype=bool)
    standing[up] = True
    whole = family(asked, str, [Stock(length=48.0), Stock(length=96.0)], 1.0, kerf=1.0)
    first = FirstList(kept=asked, family=whole, up=standing, known=True)
    assert first.begun(np.array(wood)) == tuple(Begun(entry=1, members=members) for members in begun)
    assert first.started_since(~standing) == [0, int(not up)]
