import math

import numpy as np
import pytest

from fencegrade.fence.pickets.patterns import (
    DEFINITIONS,
    Facing,
    hidden_angle,
    in_the_way,
    lay_pattern,
    row_names,
)
from fencegrade.job.choices import Fit, Pattern
from fencegrade.units import UnitSystem

IN, MM = UnitSystem.IMPERIAL, UnitSystem.METRIC


def _facing(
    pattern: Pattern, length: float = 5.5 * 20 + 3.5 * 19, width: float = 5.5, spacing: float = 3.5
) -> Facing:
    return lay_pattern(pattern, 0.0, length, width, spacing, Fit.EVEN_GAPS)


def test_board_on_board_counts_and_overlap() -> None:
    """5-1/2 in boards 3-1/2 in apart overlap 1 in."""
    facing = _facing(Pattern.BOARD_ON_BOARD)
    slots, row = facing.in_order()
    assert (len(facing.first), len(facing.second), len(slots)) == (20, 19, 39)
    assert len(slots) == pytest.approx(2 * 176.5 / 9, abs=1)
    assert row.tolist() == [0, 1] * 19 + [0]
    assert slots.right[:-1] - slots.left[1:] == pytest.approx(np.full(38, 1.0))
    assert hidden_angle(1.0, 0.0) == pytest.approx(math.pi / 2)
    assert facing.second.left[0] == pytest.approx(4.5)
    assert facing.second.right[0] == pytest.approx(10.0)


def test_shadowbox_hides_to_an_angle() -> None:
    facing = _facing(Pattern.SHADOWBOX, 5.5 * 10 + 4 * 9, spacing=4.0)
    assert facing.first.right[:-1] - facing.second.left == pytest.approx(np.full(9, 0.75))
    assert math.degrees(hidden_angle(0.75, 1.5)) == pytest.approx(26.6, abs=0.05)


def test_side_by_side_is_one_row() -> None:
    facing = lay_pattern(Pattern.SIDE_BY_SIDE, 0, 5.5 * 10 + 0.25 * 9, 5.5, 0.25, Fit.EVEN_GAPS)
    assert (len(facing.first), len(facing.second)) == (10, 0)


def test_rows_tile_what_they_cover() -> None:
    facing = _facing(Pattern.BOARD_ON_BOARD)
    assert (facing.second.left < facing.first.right[:-1]).all()
    assert (facing.second.right > facing.first.left[1:]).all()


def test_every_pattern_is_defined() -> None:
    for pattern in Pattern:
        assert str(pattern).replace("_", " ") in DEFINITIONS[pattern].lower()


def test_a_narrow_stretch_has_one_picket_and_no_second_row() -> None:
    facing = _facing(Pattern.SHADOWBOX, 6.0)
    assert (len(facing.first), len(facing.second)) == (1, 0)


def test_what_the_rows_are_called_and_which_is_measured() -> None:
    assert row_names(Pattern.SIDE_BY_SIDE) == ()
    assert row_names(Pattern.BOARD_ON_BOARD) == ("back row", "front row")
    assert in_the_way(Pattern.SHADOWBOX, 8) == (
        "picket 8 is of the other face, which follows the first face",
        "one of the first face, 7 or 9",
    )


def test_what_just_touches_shows_nothing_but_straight_on() -> None:
    assert hidden_angle(0.0, 1.5) == 0.0
    assert hidden_angle(-0.1, 1.5) == 0.0
    assert hidden_angle(0.5, 1.5) == pytest.approx(math.atan(1 / 3))
