"""A straight line lowered onto the ground, on ground worked by hand."""

import numpy as np
import pytest
from straight_ground import straight_ground

from fencegrade.fence.tops.line_on_ground import (
    deepest_under_chords,
    ground_alone,
    highest_over_chords,
    lowest_at,
    touches,
)
from fencegrade.ground.profile import ground_line

NONE = np.empty(0)


def test_no_stretch_has_no_touch() -> None:
    line = ground_line([0, 50, 100], [0, 4, 0])
    for found in (touches(ground_alone(line), NONE, NONE, NONE), lowest_at(line, NONE, NONE)):
        assert [v.shape for v in found] == [(0,), (0,)]


def test_a_step_alone_is_no_chord() -> None:
    line = straight_ground([0, 50, 100], [0, 4, 0])
    over, at = highest_over_chords(ground_alone(line), np.array([50.0, 50.0]), np.array([9.0, 5.0]))
    assert over.tolist() == [-np.inf]
    assert at.tolist() == [50.0]


def test_chords_over_a_ridge() -> None:
    line = straight_ground([0, 50, 100], [0, 4, 0])
    x, z = np.array([0.0, 100.0, 100.0]), np.array([1.0, 3.0, 0.0])
    over, at = highest_over_chords(ground_alone(line), x, z)
    # the chord is at 2 over the ridge at 50, where the ground is at 4
    assert over.tolist() == pytest.approx([2, -np.inf])
    assert at[0] == 50
    deep, where = deepest_under_chords(line, x, z)
    assert deep.tolist() == pytest.approx([3, -np.inf])
    assert where[0] == 100
