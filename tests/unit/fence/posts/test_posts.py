from types import SimpleNamespace

import numpy as np
import pytest
from post_runs import PRICED, checked_posts, dip, posts_at, posts_on_the_level, posts_over_a_dip

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.posts.posts import (
    DepthRule,
    crown_at_posts,
)
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.level import level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import ground_line

"""A dip of 19 in over 48 ft, string to ground each 4 ft, inches (own case; string level at 0)."""


def test_above_ground_and_the_depth_of_each_rule(make: SimpleNamespace) -> None:
    schedule, problems = posts_over_a_dip(make, make.posts())
    assert schedule.above == pytest.approx([70, 72, 80, 89, 81, 72, 70])
    share, least = schedule.choices
    assert (share.rule, least.rule) == (DepthRule.SHARE, DepthRule.LEAST)
    assert least.depth == pytest.approx(np.full(7, 24.0))
    assert schedule.total == pytest.approx([105, 108, 120, 133.5, 121.5, 108, 105])
    assert schedule.depth == pytest.approx(share.depth)
    assert [schedule.sold.line[k].length for k in schedule.stock] == [120, 120, 120, 144, 144, 120, 120]
    assert schedule.cut_off == pytest.approx([15, 12, 0, 10.5, 22.5, 12, 15])
    assert any("posts 3-1/2 in wide" in p.found for p in problems)


def test_thirty_inches_everywhere_needs_ten_foot_posts(make: SimpleNamespace) -> None:
    schedule, problems = posts_over_a_dip(make, make.posts(least_depth="30 in", depth_share=0))
    assert [s.length for s in schedule.sold.line] == [96, 120, 144]
    assert schedule.stock.tolist() == [1] * 7
    shallow = next(p for p in problems if "less than the third" in p.found)
    assert "24' 0\"" in shallow.place


def test_the_tallest_post_in_a_2_ft_hole_is_a_fifth_in_the_ground(make: SimpleNamespace) -> None:
    schedule, problems = posts_over_a_dip(make, make.posts(depth_share=0))
    assert schedule.share.min() == pytest.approx(24 / 113)
    assert any("(21.2 %)" in p.found for p in problems)


def test_gate_posts_go_deeper(make: SimpleNamespace) -> None:
    schedule, _ = posts_over_a_dip(make, make.posts(), gate=[{"station": "100 in", "width": "48 in"}])
    gate = np.array([k is PostKind.GATE for k in schedule.kinds])
    assert schedule.depth[gate] == pytest.approx(schedule.above[gate] / 2 + 6)
    assert schedule.depth[~gate] == pytest.approx(np.maximum(schedule.above[~gate] / 2, 24))


def test_wind_depth_counts_where_it_is_asked_for(make: SimpleNamespace) -> None:
    line, run, posts = dip(), make.run(), make.posts()
    bays, _ = lay_bays(run, posts, make.rails("10 ft"), line, 0.0, 576.0)
    assert bays is not None
    wind = np.array([10.0, 60, 10, 10, 10, 10, 10])
    schedule, _ = checked_posts(run, bays, level_top(line, 0, 576, 72), line, posts, make.say, wind)
    assert schedule.depth[1] == pytest.approx(60)
    assert schedule.choices[schedule.rule[1]].rule is DepthRule.WIND
    assert schedule.choices[schedule.rule[0]].rule is DepthRule.SHARE


def test_posts_that_stand_need_no_stock_and_are_seen_where_they_are_too_short(make: SimpleNamespace) -> None:
    standing = [{"station": "24 ft", "height": "80 in"}]
    schedule, problems = posts_over_a_dip(make, make.posts(), existing_post=standing)
    k = int(np.flatnonzero(schedule.station == 288)[0])
    assert schedule.standing[k]
    assert schedule.stock[k] == NO_STOCK
    assert any("stands here is 9 in too short" in p.found for p in problems)
    assert (schedule.above[k], schedule.top[k] - schedule.ground[k]) == pytest.approx((80, 80))
    for railed, told in ((k, True), (k + 1, False)):
        _, problems = posts_over_a_dip(make, make.posts(), railed, existing_post=standing)
        assert any("too short" in p.found for p in problems) is told


def test_a_post_at_a_step_serves_the_higher_side(make: SimpleNamespace) -> None:
    line = make.ground(192)
    run, posts = make.run(), make.posts()
    bays, _ = lay_bays(run, posts, make.rails("10 ft"), line, 0.0, 192.0)
    assert bays is not None
    top = TopLine(
        style=TopStyle.STEPPED, stations=np.array([0.0, 96, 96, 192]), elevations=np.array([72.0, 72, 80, 80])
    )
    schedule, _ = checked_posts(run, bays, top, line, posts, make.say)
    assert schedule.above == pytest.approx([70, 78, 78])


def test_a_post_at_a_face_is_measured_from_below(make: SimpleNamespace) -> None:
    line = ground_line([0, 96, 96, 192], [0, 0, -34, -34])
    run, posts = make.run(), make.posts()
    bays, _ = lay_bays(run, posts, make.rails("10 ft"), line, 0.0, 192.0)
    assert bays is not None
    schedule, problems = checked_posts(run, bays, level_top(line, 0, 192, 72), line, posts, make.say)
    assert schedule.above == pytest.approx([70, 104, 104])
    assert any("engineer" in p.remedy for p in problems)


def test_a_shorter_post_is_taken_where_a_little_under_a_third_is_allowed(make: SimpleNamespace) -> None:
    """Boards of 6 ft 2 in off the soil, posts 6 in under them: a third asks 34 in, an 8 ft post leaves 28."""
    posts = make.posts(height="-6 in", share_tolerance=0.05, stock=PRICED)
    schedule, problems = posts_on_the_level(make, posts)
    assert schedule.above == pytest.approx(np.full(6, 68.0))
    assert schedule.depth == pytest.approx(np.full(6, 28.0))
    assert {schedule.set_by(k) for k in range(6)} == {"stock length"}
    (told,) = [p for p in problems if "8 ft suffices" in p.found]
    assert "28 in in the ground (29.2 %), 6 in less than the usual third asks" in told.found
    assert "27.00 less than one of 10 ft" in told.found
    assert not any("less than the third" in p.found for p in problems)
    assert (
        posts_on_the_level(make, make.posts(height="-6 in", share_tolerance=0.04, stock=PRICED))[0].depth[0]
        > 33.9
    )


def test_the_least_depth_and_the_frost_are_never_eased(make: SimpleNamespace) -> None:
    for key in ("least_depth", "frost_depth"):
        posts = make.posts(height="-6 in", share_tolerance=0.05, stock=PRICED, **{key: "29 in"})
        assert not posts_on_the_level(make, posts)[0].eased.any()
    frozen, _ = posts_on_the_level(make, make.posts(height="-6 in", frost_depth="42 in", stock=PRICED))
    assert frozen.depth == pytest.approx(np.full(6, 42.0))
    assert frozen.set_by(0) == "frost"


def test_gate_posts_of_their_own_section_stand_clear_of_the_opening(make: SimpleNamespace) -> None:
    posts = make.posts(gate_width="5-1/2 in", gate_hole_diameter="16 in", gate_stock=[{"length": "12 ft"}])
    schedule, problems = posts_over_a_dip(make, posts, gate=[{"station": "192 in", "width": "48 in"}])
    left, right = np.flatnonzero(schedule.gate)
    assert schedule.station[[left, right]] == pytest.approx([192 - 2.75, 240 + 2.75])
    assert schedule.sold.of(int(left))[int(schedule.stock[left])].length == 144
    assert posts.section(gate=True) == (5.5, 5.5)
    assert any("a common auger drills 36 in" in p.found for p in problems)


@pytest.mark.parametrize(
    ("ends", "crown"),
    [((80.0, 90.0), [74, 66, 84]), ((60.0, 70.0), [66, 66, 66]), ((-np.inf, 73.0), [66, 66, 67])],
)
def test_a_corner_s_post_serves_the_higher_of_two_tops(
    make: SimpleNamespace, ends: tuple[float, float], crown: list[float]
) -> None:
    line, posts = make.ground(192), make.posts(height="-6 in")
    bays, _ = lay_bays(make.run(), posts, make.rails("10 ft"), line, 0.0, 192.0)
    assert bays is not None
    assert crown_at_posts(level_top(line, 0, 192, 72), bays, posts, ends).tolist() == crown


@pytest.mark.parametrize(("before", "after"), [(0.0, -34.0), (-34.0, 0.0)])
def test_a_post_at_a_face_stands_on_its_lower_side(
    make: SimpleNamespace, before: float, after: float
) -> None:
    line = ground_line([0, 96, 96, 192], [before, before, after, after])
    schedule, _ = posts_at(make, make.posts("16 ft", height="0 in"), 0.0, 96.0, 192.0, top=60.0, line=line)
    assert schedule.ground.tolist() == [before, -34, after]
    assert schedule.above.tolist() == [60 - before, 94, 60 - after]


def test_posts_that_stand_by_what_is_known_of_them(make: SimpleNamespace) -> None:
    """Five that stand: of a known height, not measured, given up, and one whose top the ground would bury."""
    line = ground_line([0, 60, 120, 180, 240], [0, 0, 0, 0, 70])
    there = [
        {"station": "60 in", "height": "80 in"},
        {"station": "120 in"},
        {"station": "180 in", "height": "90 in", "keep": False},
    ]
    posts = make.posts(height="0 in", least_depth="24 in")
    schedule, _ = posts_at(
        make, posts, 0.0, 60.0, 120.0, 180.0, 240.0, standing=(1, 2, 3, 4), line=line, existing_post=there
    )
    assert schedule.above.tolist() == [62, 80, 62, 62, 0]
    assert schedule.top.tolist() == [62, 80, 62, 62, 62]
    assert schedule.known.tolist() == [True, True, False, False, False]
    eased = schedule.eased_by(make.posts(share_tolerance=0.2))
    assert eased.stock.tolist() == [0, NO_STOCK, NO_STOCK, NO_STOCK, NO_STOCK]
    assert eased.eased.tolist() == [False] * 5


def test_a_gate_post_is_eased_by_the_share_alone_and_stays_deeper(make: SimpleNamespace) -> None:
    """68 in over the ground want 34, for a gate 40; by a quarter 22-2/3 and 28-2/3, by less for 28."""
    posts = make.posts("8 ft", "10 ft", height="-6 in", least_depth="20 in", share_tolerance=1 / 12)
    schedule, _ = posts_at(make, posts, 0.0, 96.0, 192.0, top=74.0, gates=(1,))
    assert schedule.eased.tolist() == [True, False, True]
    assert schedule.depth == pytest.approx([28, 40, 28])
    near = schedule.eased_by(make.posts("8 ft", "10 ft", share_tolerance=0.09))
    assert near.depth == pytest.approx([28, 28, 28])
    assert near.stock.tolist() == [0, 0, 0]
    for same in (make.posts(share_tolerance=0.0), make.posts(depth_share=0.0, share_tolerance=0.05)):
        kept, _ = posts_at(make, same, 0.0, 96.0, 192.0, top=74.0)
        assert not kept.eased.any()
        assert kept.depth == pytest.approx(np.max([c.depth for c in kept.choices], axis=0))
