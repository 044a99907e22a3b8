"""A contour top over faces and sharp ground."""

import numpy as np
import pytest
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.contour import _between_faces, _ceiling, _corners, _following, _may_bend, _steps
from fencegrade.fence.tops.contour import choose as choose_contour
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import ground_alone
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import ground_line


def test_face_splits_a_contour_top() -> None:
    line = straight_ground([0, 96, 96, 192], [0, 4, -30, -30])
    choice = choose_contour(build(line))
    # before the face the boards' uphill edges lift it by half a board's rise, 4/96 x 2.75 in
    assert choice.top.steps == pytest.approx([-34 - 4 / 96 * 2.75], abs=0.01)
    assert choice.top.largest_bend == pytest.approx(0, abs=1e-7)
    assert any("face" in p.found for p in choice.problems)


def test_sharp_steps_between_neighbours_are_named() -> None:
    line = straight_ground([0, 96, 120, 216], [0, 0, 18, 18])
    choice = choose_contour(build(line))
    assert any("neighbouring tops differ" in p.found for p in choice.problems)


def test_corners_of_a_long_run_stay_where_the_line_may_bend() -> None:
    """Three blocks of sixteen and a rest: straight, bent by a hair too much, with a face."""
    x = np.array([*range(40), 39, *range(40, 59)], dtype=float)
    z = np.where(x < 24, 0.5 * x, 12.0) + np.where(np.arange(60) > 40, 9.0, 0.0)
    z[:16] += np.linspace(0, 0.0009, 16)
    assert np.flatnonzero(_may_bend(x, z)).tolist() == [0, *range(16, 60)]
    z[8] += 0.0012
    assert _may_bend(x, z).all()


def test_between_corners_of_a_long_run_no_picket_needs_a_dearer_board(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Smoothed by up to 6 in at the corners, but for the pickets between whose board is nearly all used."""
    wish = build(straight_ground([0, 192, 384], [0, 0, 12]))
    x = np.array([0.0, 96.0, 192.0, 288.0, 384.0])
    follows = np.array([72.0, 72.0, 72.0, 78.0, 84.0])
    crown = np.interp(wish.slots.centre, x, follows)
    highest = _ceiling(wish, x, follows)
    most = wish.cost.ceiling(crown)
    assert np.all(np.interp(wish.slots.centre, x, highest) < most)
    assert (highest - follows).max() > 1


ROW = np.array([6.0 * k for k in range(9)])


@pytest.mark.parametrize(
    ("tops", "told"),
    [
        ([72.0] * 4 + [73.0625] * 5, None),  # half a mark over an inch is an inch
        ([72.0] * 4 + [73.125] * 5, "1' 8-3/4\": {}pickets 4-5; most between 4 and 5, 1-1/8 in"),
        ([72.0] * 4 + [70.875] * 5, "1' 8-3/4\": {}pickets 4-5; most between 4 and 5, 1-1/8 in"),
        ([72.0, 74.0, 72.0] + [72.0] * 6, '2-3/4": {}pickets 1-2, 2-3; most between 1 and 2, 2 in'),
        (
            [72.0, 74.0, 72.0, 75.0, 72.0, 74.0, 72.0, 72.0, 72.0],
            "1' 2-3/4\": {}pickets 1-2, 2-3, 3-4, 4-5, 5-6, 6-7; most between 3 and 4, 3 in",
        ),
        (
            [72.0, 74.0, 72.0, 75.0, 72.0, 74.0, 72.0, 74.0, 72.0],
            "1' 2-3/4\": {}pickets 1-2, 2-3, 3-4, 4-5, 5-6, 6-7 and 2 more; most between 3 and 4, 3 in",
        ),
    ],
)
def test_neighbours_an_inch_apart_are_told_up_to_six(tops: list[float], told: str | None) -> None:
    wish = build(ground_line([0, 100], [0, 0]), slots=Slots(left=ROW, right=ROW + 5.5))
    top = TopLine(style=TopStyle.CONTOUR, stations=wish.slots.centre, elevations=np.array(tops))
    over = "neighbouring tops differ by over 1 in: "
    assert [str(p) for p in _steps(wish, top)] == [
        f"paddock lane, at {(told or '').format(over)}; choose a racked or stepped top there"
    ] * bool(told)


def test_tops_apart_by_a_gate_or_a_face_are_no_neighbours() -> None:
    """Middles 11 in apart, twice a picket's width, are; a face is told by itself."""
    left = np.array([0.0, 10.9, 21.9, 40.0])
    wish = build(ground_line([0, 30, 30, 60], [0, 0, 4, 4]), slots=Slots(left=left, right=left + 5.5))
    top = TopLine(
        style=TopStyle.CONTOUR,
        stations=np.array([0.0, 8.0, 8.1, 30.0, 30.0, 60.0]),
        elevations=np.array([72.0, 72.0, 74.0, 74.0, 78.0, 78.0]),
    )
    found = [str(p) for p in _steps(wish, top)]
    assert found[0] == "paddock lane, at 2' 6\": the top steps 4 in at a face of the ground"
    assert [p.split("; ")[1] for p in found[1:]] == ["most between 1 and 2, 2 in"]


def test_corners_stand_over_pickets_at_the_ends_and_twice_at_a_face() -> None:
    line = ground_line([0, 50, 50, 100], [0, 0, 5, 5])
    row = Slots(left=np.array([-3.0, 20.0, 47.0, 97.0]), right=np.array([3.0, 26.0, 53.0, 103.0]))
    assert _corners(line, row, 0.0, 100.0).tolist() == [0, 23, 50, 50, 100]


@pytest.mark.parametrize(
    ("after", "index", "found"),
    [(0, 14, 14), (0, 13, 10), (0, 12, 10), (0, 11, 10), (0, 10, 10), (8, 12, 12), (6, 13, 10), (7, 13, 13)],
)
def test_parts_meet_away_from_faces(after: int, index: int, found: int) -> None:
    """Corners 12 and 13 stand at a face: a part ends at the last corner clear of it, if far enough on."""
    x = np.array([*range(13), *range(12, 20)], dtype=float)
    assert _between_faces(x, after, index) == found


def test_following_lifts_both_ends_of_a_pierced_piece() -> None:
    under = ground_alone(straight_ground([0, 50, 100, 150, 200], [0, 4, 0, -1, 0]))
    assert _following(under, np.array([0.0, 100, 200]), 72.0).tolist() == [76, 76, 72]
