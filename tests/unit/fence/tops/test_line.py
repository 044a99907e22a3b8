"""The top line as straight pieces."""

import numpy as np
import pytest

from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle

LINE = TopLine(
    style=TopStyle.STEPPED,
    stations=np.array([0.0, 10.0, 10.0, 20.0, 30.0]),
    elevations=np.array([5.0, 5.0, 3.0, 4.0, 7.0]),
)


def test_sides_differ_at_a_step_alone() -> None:
    before, after = LINE.sides(np.array([0.0, 5.0, 10.0, 15.0, 30.0]))
    assert before == pytest.approx([5, 5, 5, 3.5, 7])
    assert after == pytest.approx([5, 5, 3, 3.5, 7])


def test_pieces_shorter_than_an_inch_count() -> None:
    short = TopLine(
        style=TopStyle.CONTOUR,
        stations=np.array([0.0, 0.5, 1.25, 1.25, 11.25]),
        elevations=np.array([0.0, 0.25, 0.325, 0.5, 2.5]),
    )
    assert short.slopes == pytest.approx([0.5, 0.1, 0.2])
    assert short.steps == pytest.approx([0.175])
    assert short.bends == pytest.approx([-0.4])
    assert short.largest_bend == pytest.approx(0.4)


def test_slopes_steps_and_bends() -> None:
    assert LINE.slopes == pytest.approx([0, 0.1, 0.3])
    assert LINE.steps == pytest.approx([-2])
    # the corner at 20; the step at 10 is no bend
    assert LINE.bends == pytest.approx([0.2])
    assert LINE.largest_bend == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("off", "straight", "level"), [(0.5, False, True), (0.625, True, True), (0.49, False, False)]
)
def test_how_far_a_line_may_stray(off: float, straight: bool, level: bool) -> None:
    """From 5 up to 6 and back to 5-3/4: 5/8 in over the straight line between the ends."""
    bent = TopLine(
        style=TopStyle.RACKED, stations=np.array([0.0, 10.0, 20.0]), elevations=np.array([5.0, 6.0, 5.75])
    )
    assert bent.straight_within(off) == straight
    assert bent.level_within(off) == level
