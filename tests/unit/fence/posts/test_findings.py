from types import SimpleNamespace

import numpy as np
import pytest
from post_runs import PRICED, posts_on_the_level, posts_over_a_dip

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.posts.findings import checked_posts
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.level import level_top
from fencegrade.ground.profile import ground_line
from fencegrade.problems import JobMistakesError, Severity

"""A dip of 19 in over 48 ft, string to ground each 4 ft, inches (own case; string level at 0)."""


def test_depth_beyond_the_stock_is_named_with_the_missing_length(make: SimpleNamespace) -> None:
    schedule, problems = posts_over_a_dip(make, make.posts("8 ft", "10 ft"))
    assert schedule.stock.tolist() == [1, 1, 1, NO_STOCK, NO_STOCK, 1, 1]
    (missing,) = [p for p in problems if "no stock serves" in p.found]
    assert missing.place == "herb garden, posts 4-5"
    assert "post 4 at 24' 0\"" in missing.found
    assert "13-1/2 in too short" in missing.found
    assert schedule.cut_off[3] == 0


def test_a_post_that_stands_too_high_keeps_its_height(make: SimpleNamespace) -> None:
    standing = [{"station": "24 ft", "height": "95 in"}]
    schedule, problems = posts_over_a_dip(make, make.posts(), existing_post=standing)
    k = int(np.flatnonzero(schedule.station == 288)[0])
    assert schedule.above[k] == pytest.approx(95)
    (found,) = [p for p in problems if "stands here" in p.found]
    assert found.found == "the post that stands here is 6 in higher than this top wants it"
    assert found.remedy == "cut it down once the rails hang, or let it show"


def test_two_holes_that_run_into_one_are_told(make: SimpleNamespace) -> None:
    gate = [{"station": "43 ft 6 in", "width": "4 ft"}]
    schedule, problems = posts_over_a_dip(make, make.posts(hole_diameter="10 in"), gate=gate)
    (found,) = [p for p in problems if "run into one" in p.found]
    last = len(schedule.station)
    assert found.place.endswith(f"posts {last - 1} and {last}")
    apart = schedule.station[-1] - schedule.station[-2]
    assert 0 < apart < 10
    assert found.found.startswith(
        f"their middles are {make.say.fine(float(apart))} apart and a hole is 10 in wide"
    )
    assert found.remedy == "move the gate so that one post serves both, or set the two in one hole"


def test_a_hole_too_narrow_for_its_concrete_is_to_decide(make: SimpleNamespace) -> None:
    """International Building Code 1807.3.3, from memory: 4 in over the diagonal, 7.78 + 4 for a 6x6."""
    six = {"width": "5-1/2 in"}
    _, problems = posts_over_a_dip(make, make.posts(hole_diameter="10 in", **six))
    (found,) = [p for p in problems if "too little concrete" in p.found]
    assert found.severity is Severity.WARNING
    assert "11-13/16 in is asked for" in found.found
    for enough in (make.posts(hole_diameter="12 in", **six), make.posts(hole_diameter="9 in")):
        assert not any("too little concrete" in p.found for p in posts_over_a_dip(make, enough)[1])


def test_no_stock_at_all_is_said_once(make: SimpleNamespace) -> None:
    schedule, problems = posts_over_a_dip(make, make.posts(stock=[]))
    assert (schedule.stock == NO_STOCK).all()
    assert sum("no post length is offered" in p.found for p in problems) == 1


@pytest.mark.parametrize(
    ("top", "spacing", "width", "warned"),
    [
        (78.0, "73 in", "3-1/2 in", False),
        (78.125, "73 in", "3-1/2 in", True),
        (78.125, "72 in", "3-1/2 in", False),
        (78.125, "73 in", "3-5/8 in", False),
    ],
)
def test_small_posts_under_a_tall_top_stand_6_ft_apart(
    make: SimpleNamespace, top: float, spacing: str, width: str, warned: bool
) -> None:
    """Over 6-1/2 ft, posts 3-1/2 in thick and more than 6 ft apart: one place's rule, told as such."""
    posts = make.posts("16 ft", spacing=spacing, width=width)
    line = make.ground(2 * posts.spacing)
    bays, _ = lay_bays(make.run(), posts, make.rails("10 ft"), line, 0.0, line.end)
    assert bays is not None
    assert bays.width == pytest.approx([posts.spacing] * 2)
    _, problems = checked_posts(make.run(), bays, level_top(line, 0.0, line.end, top), line, posts, make.say)
    told = [p for p in problems if "tops stand up to" in p.found]
    assert bool(told) == warned
    assert all("2 bays" in p.place and "6' 6-1/8\" over the ground" in p.found for p in told)


def test_a_strict_share_says_what_a_shorter_post_would_leave(make: SimpleNamespace) -> None:
    """A top 3 in under 6 ft wants 33 in of 99; an 8 ft post leaves 30, 31 %."""
    schedule, problems = posts_on_the_level(make, make.posts(height="-6 in", stock=PRICED), top=72.0)
    assert schedule.total == pytest.approx(np.full(6, 99.0))
    (told,) = [p for p in problems if "more than a post of" in p.found]
    assert told.found.startswith("3 in more than a post of 8 ft gives; it would leave 30 in")
    assert told.found.endswith("(31 %), 27.00 less")
    share = float(told.remedy.split("depth_share = ")[1].split()[0])
    again, _ = posts_on_the_level(make, make.posts(height="-6 in", stock=PRICED, depth_share=share), top=72.0)
    assert {again.sold.line[k].length for k in again.stock} == {96.0}


def test_no_post_above_the_ground_is_a_mistake(make: SimpleNamespace) -> None:
    with pytest.raises(JobMistakesError, match="no post stands above the ground"):
        posts_on_the_level(make, make.posts(height="-76 in"))


@pytest.mark.parametrize(("crown", "told"), [(20.0, True), (-20.0, False)])
def test_posts_between_a_face_up_and_a_face_down_may_stand_on_a_wall(
    make: SimpleNamespace, crown: float, told: bool
) -> None:
    """A wall from 10 to 32 ft, and a sunken stretch, which is none."""
    line = ground_line([0, 120, 120, 384, 384, 480], [0, 0, crown, crown, 0, 0])
    bays, _ = lay_bays(make.run(), make.posts("12 ft"), make.rails("10 ft"), line, 0.0, 480.0)
    assert bays is not None
    top = level_top(line, 0.0, 480.0, 72.0)
    schedule, problems = checked_posts(make.run(), bays, top, line, make.posts("12 ft"), make.say)
    on_it = np.flatnonzero((schedule.station > 120) & (schedule.station < 384)) + 1
    assert len(on_it) == 2
    found = [p for p in problems if "top of a wall" in p.found]
    assert [p.place for p in found] == ([f"herb garden, posts {on_it[0]}-{on_it[1]}"] if told else [])
