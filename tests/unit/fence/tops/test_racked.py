"""Racked and contour tops: limits and what is said of them."""

import numpy as np
import pytest
from msgspec.structs import replace
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.tops import cheapest_near
from fencegrade.fence.tops.asked import Proof, TopLimits, TopWish
from fencegrade.fence.tops.racked import choose as choose_racked
from fencegrade.ground.profile import GroundLine

POSTS = np.arange(7) * 96.0


@pytest.fixture
def wish(swale: GroundLine) -> TopWish:
    return build(swale, posts=POSTS, most_height=73.0)


def test_corners_stand_at_posts(wish: TopWish) -> None:
    assert choose_racked(wish).top.stations == pytest.approx(POSTS)


def test_posts_inside_the_ends_stand_for_them(wish: TopWish) -> None:
    inset = POSTS.copy()
    inset[0], inset[-1] = 1.75, 574.25
    assert choose_racked(replace(wish, posts=inset)).top.stations == pytest.approx(POSTS)


def test_slope_limit_is_kept(wish: TopWish) -> None:
    free = choose_racked(wish)
    choice = choose_racked(replace(wish, limits=TopLimits(most_slope=0.05)))
    assert free.steepest > 0.1
    assert choice.steepest <= 0.05 + 1e-7
    assert choice.least_height >= 72 - 1e-9
    assert choice.timber > free.timber


def test_without_a_solver_the_corners_are_level(wish: TopWish, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fencegrade.fence.tops.racked.cheapest_meeting", lambda *_: None)
    choice = choose_racked(wish)
    assert choice.top.stations == pytest.approx(POSTS)
    assert choice.top.elevations == pytest.approx(48.0)
    assert choice.proof is Proof.NONE


def test_no_slope_at_all_gives_a_level_line(wish: TopWish) -> None:
    choice = choose_racked(replace(wish, limits=TopLimits(most_slope=0.0)))
    assert choice.top.elevations == pytest.approx(48.0, abs=1e-4)


def test_should_the_programme_fail_the_line_is_level_and_says_so(
    wish: TopWish, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cheapest_near, "solve_chains", lambda *_: None)
    choice = choose_racked(wish)
    assert choice.top.elevations == pytest.approx(48.0)
    assert choice.proof is Proof.NONE


def test_dips_are_named(wish: TopWish) -> None:
    said = [p for p in choose_racked(wish).problems if "dips" in p.found]
    assert said
    assert "73 in" in said[0].found


def test_face_splits_a_racked_top() -> None:
    line = straight_ground([0, 96, 96, 192], [0, 0, -30, -30])
    choice = choose_racked(build(line, posts=(0, 98, 192)))
    assert choice.top.steps == pytest.approx([-30], abs=1e-4)
    assert choice.top.stations == pytest.approx([0, 96, 96, 192])
