import math
from types import SimpleNamespace

import numpy as np
import pytest

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.pickets.patterns import DEFINITIONS, hidden_angle, lay_pattern
from fencegrade.fence.rails.rails import rail_rows
from fencegrade.fence.rails.screws import crossings, picket_screws, rail_screws, screw_length
from fencegrade.fence.tops.level import level_top
from fencegrade.job.choices import Fit, Pattern
from fencegrade.job.site import Fasteners
from fencegrade.units import UnitSystem

IN, MM = UnitSystem.IMPERIAL, UnitSystem.METRIC


def _facing(pattern: Pattern, length: float = 5.5 * 20 + 3.5 * 19, width: float = 5.5, spacing: float = 3.5):
    return lay_pattern(pattern, 0.0, length, width, spacing, Fit.EVEN_GAPS, 1.5)


def test_board_on_board_counts_and_overlap() -> None:
    """5-1/2 in boards 3-1/2 in apart overlap 1 in."""
    facing = _facing(Pattern.BOARD_ON_BOARD)
    assert (len(facing.first), len(facing.second), facing.count) == (20, 19, 39)
    assert facing.count == pytest.approx(2 * 176.5 / 9, abs=1)
    assert facing.overlap == pytest.approx(1.0)
    assert hidden_angle(facing) == pytest.approx(math.pi / 2)
    assert facing.second.left[0] == pytest.approx(4.5)
    assert facing.second.right[0] == pytest.approx(10.0)


def test_shadowbox_hides_to_an_angle() -> None:
    facing = _facing(Pattern.SHADOWBOX, 5.5 * 10 + 4 * 9, spacing=4.0)
    assert facing.overlap == pytest.approx(0.75)
    assert math.degrees(hidden_angle(facing)) == pytest.approx(26.6, abs=0.05)
    assert hidden_angle(facing, -0.1) == 0


def test_side_by_side_the_overlap_is_the_gap_with_a_minus() -> None:
    facing = lay_pattern(Pattern.SIDE_BY_SIDE, 0, 5.5 * 10 + 0.25 * 9, 5.5, 0.25, Fit.EVEN_GAPS, 1.5)
    assert facing.count == 10
    assert facing.overlap == pytest.approx(-0.25)
    assert hidden_angle(facing) == 0


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


def test_screws_by_crossing() -> None:
    """1,669 pickets on three rails: 10,014 screws, 10,515 with five in a hundred more."""
    (screws,) = picket_screws(1669 * 3, 0.625, 1.5, Pattern.SIDE_BY_SIDE, Fasteners(), IN)
    assert (screws.counted, screws.needed) == (10_014, 10_515)
    assert screws.boxes == 31
    assert screws.length == 1.625


def test_screws_through_two_boards() -> None:
    first, second = picket_screws(np.array([60, 57]), 0.625, 1.5, Pattern.BOARD_ON_BOARD, Fasteners(), IN)
    assert (first.length, second.length) == (1.625, 2.5)
    assert (first.counted, second.counted) == (120, 114)


def test_a_screw_that_would_come_out_behind_is_said() -> None:
    assert screw_length(0.625, 0.75, IN) == (1.625, True)
    assert screw_length(0.625, 1.5, IN) == (1.625, False)


def test_rail_ends_take_two_screws_each() -> None:
    """A 2x rail goes to its posts by 3 in screws; 38 mm by 80 mm ones."""
    screws = rail_screws(303, 1.5, 3.5, Fasteners(), IN)
    assert (screws.counted, screws.length, screws.framing) == (1212, 3.0, True)
    assert rail_screws(1, 38 / 25.4, 90 / 25.4, Fasteners(), MM).length * 25.4 == pytest.approx(80)


def test_metric_screws_have_metric_lengths() -> None:
    (screws,) = picket_screws(9, 16 / 25.4, 38 / 25.4, Pattern.SIDE_BY_SIDE, Fasteners(), MM)
    assert screws.length * 25.4 == pytest.approx(50)


def test_crossings_follow_the_rows_of_each_bay(make: SimpleNamespace) -> None:
    line = make.ground(192)
    bays, _ = lay_bays(make.run(), make.posts(), make.rails("10 ft"), line, 0.0, 192.0)
    assert bays is not None
    rows, _ = rail_rows(
        make.run(), bays, level_top(line, 0, 192, 72), line, make.rails("10 ft"), 2.0, make.say
    )
    assert crossings(np.array([1.0, 50, 97, 191]), bays, rows) == 12
    low, _ = rail_rows(
        make.run(), bays, level_top(line, 0, 192, 40), line, make.rails("10 ft"), 2.0, make.say
    )
    assert crossings(np.array([1.0, 50, 97, 191]), bays, low) == 8
