"""A contour top over faces and sharp ground."""

import pytest
from straight_ground import straight_ground
from top_wishes import build, largest_bend

from fencegrade.fence.tops.contour import choose as choose_contour


def test_face_splits_a_contour_top() -> None:
    line = straight_ground([0, 96, 96, 192], [0, 4, -30, -30])
    choice = choose_contour(build(line))
    # before the face the boards' uphill edges lift it by half a board's rise, 4/96 x 2.75 in
    assert choice.top.steps == pytest.approx([-34 - 4 / 96 * 2.75], abs=0.01)
    assert largest_bend(choice.top) == pytest.approx(0, abs=1e-7)
    assert any("face" in p.found for p in choice.problems)


def test_sharp_steps_between_neighbours_are_named() -> None:
    line = straight_ground([0, 96, 120, 216], [0, 0, 18, 18])
    choice = choose_contour(build(line))
    assert any("neighbouring tops differ" in p.found for p in choice.problems)
