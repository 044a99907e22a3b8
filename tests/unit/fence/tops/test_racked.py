"""Racked and contour tops: limits and what is said of them."""

import numpy as np
import pytest
from msgspec.structs import replace
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.closed import Closed
from fencegrade.fence.tops import cheapest_near
from fencegrade.fence.tops.asked import Proof, TopLimits, TopWish
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.racked import _dips, _humps
from fencegrade.fence.tops.racked import choose as choose_racked
from fencegrade.fence.tops.table import TopStyle
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


HUMP = (
    "the ground humps {} over a line from post to post: picket tops at 72 in at both posts would leave {} "
    "there, so the top is lifted; a post at {at}, or the hump trimmed by so much, would keep it lower"
)


@pytest.mark.parametrize(
    ("rise", "mark", "told"),
    [(0.28125, 0.125, False), (0.3125, 0.125, True), (0.5, 1.0, False), (0.53125, 1.0, True)],
)
def test_a_hump_is_told_from_what_a_reading_is_right_to(rise: float, mark: float, told: bool) -> None:
    wish = build(straight_ground([0, 48, 96], [0, rise, 0]), posts=(0, 96), mark=mark)
    found = _humps(wish, np.array([0.0, 96.0]))
    words = wish.words
    said = HUMP.format(words.length(rise), words.length(72 - rise), at="4' 0\"")
    assert [str(p) for p in found] == [f"paddock lane, at 4' 0\": {said}"] * told


@pytest.mark.parametrize(
    ("no_post", "no_spade", "advice"),
    [
        ((40.0, 56.0), (60.0, 70.0), "the hump trimmed by so much would keep it lower"),
        ((60.0, 70.0), (47.0, 49.0), "a post at 4' 0\" would keep it lower"),
        ((40.0, 56.0), (47.0, 49.0), "neither a post nor a spade may go there; a contour top lies closer to"),
    ],
)
def test_no_post_or_spade_is_sent_where_it_may_not_go(
    no_post: tuple[float, float], no_spade: tuple[float, float], advice: str
) -> None:
    line = straight_ground([0, 48, 96], [0, 4, 0])
    closed = Closed(no_post=(no_post,), no_spade=(no_spade,))
    wish = build(line, posts=(0, 96), closed=closed)
    (found,) = _humps(wish, np.array([0.0, 96.0]))
    assert found.remedy.startswith(advice)
    dip = build(
        straight_ground([0, 48, 96], [0, -9, 0]),
        posts=(0, 96),
        most_height=75.0,
        closed=Closed(no_post=(no_post,)),
    )
    (told,) = _dips(dip, choose_racked(dip).top)
    assert ("set a post" in told.remedy) == (no_post == (60.0, 70.0))


@pytest.mark.parametrize(("count", "rest"), [(8, []), (9, ["1 more bay"]), (10, ["2 more bays"])])
def test_the_eight_worst_humps_are_told_in_order(count: int, rest: list[str]) -> None:
    """A bay of 8 ft each, the k-th with a hump of k inches, and the first with one too small to tell."""
    z = np.zeros(2 * count + 3)
    z[1::2] = [0.25, *range(1, count + 1)]
    x = np.array([48.0 * k for k in range(len(z))])
    found = [str(p) for p in _humps(build(straight_ground(x, z)), x[::2])]
    named = range(count - 7, count + 1)
    assert found == [
        f"paddock lane, at {8 * k + 4}' 0\": "
        + HUMP.format(f"{k} in", f"{72 - k} in", at=f"{8 * k + 4}' 0\"")
        for k in named
    ] + [f"paddock lane: smaller humps between the posts of {more}" for more in rest]


@pytest.mark.parametrize(
    ("dip", "most", "told"), [(8.0625, 80.0, False), (8.125, 80.0, True), (9.0, None, False)]
)
def test_a_dip_past_the_height_limit_is_told(dip: float, most: float | None, told: bool) -> None:
    """Half a tape mark past it is on it."""
    wish = build(straight_ground([0, 48, 96], [0, -dip, 0]), most_height=most)
    ends = np.array([0.0, 96.0])
    top = TopLine(style=TopStyle.RACKED, stations=ends, elevations=np.array([72.0, 72.0]))
    assert [str(p) for p in _dips(wish, top)] == [
        "paddock lane, at 4' 0\": the ground dips between posts: the top stands 80-1/8 in over it, the limit "
        "is 80 in; set a post in the dip, or choose a contour top"
    ] * told
