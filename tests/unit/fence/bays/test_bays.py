from types import SimpleNamespace

import numpy as np
import pytest

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.ground.profile import ground_line
from fencegrade.problems import Severity


def test_level_ground_is_divided_evenly(make: SimpleNamespace) -> None:
    bays, problems = lay_bays(make.run(), make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert not problems
    assert bays.posts == pytest.approx([0, 96, 192, 288, 384, 480])
    assert bays.rail == pytest.approx([97.75, 96, 96, 96, 97.75])
    assert bays.kinds[0] is bays.kinds[-1] is PostKind.END
    assert set(bays.kinds[1:-1]) == {PostKind.LINE}


def test_an_8_ft_rail_does_not_reach_8_ft_centres_at_the_ends(make: SimpleNamespace) -> None:
    """The first bay from an outer face is 94-1/4 in: common practice, arithmetic from the half post."""
    bays, _ = lay_bays(make.run(), make.posts(), make.rails("8 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert len(bays) == 6
    bays, _ = lay_bays(make.run(), make.posts(), make.rails("8 ft"), make.ground(476.5), 0.0, 476.5)
    assert bays is not None
    assert bays.width == pytest.approx([94.25, 96, 96, 96, 94.25])


def test_lapped_rails_cover_both_posts(make: SimpleNamespace) -> None:
    bays, _ = lay_bays(
        make.run(), make.posts(), make.rails("8 ft", joint="lapped"), make.ground(277.5), 0.0, 277.5
    )
    assert bays is not None
    assert bays.width == pytest.approx([92.5, 92.5, 92.5])
    assert bays.rail == pytest.approx([96, 96, 96])


def test_a_smaller_bearing_lets_rails_reach_farther(make: SimpleNamespace) -> None:
    rails = make.rails("8 ft", bearing="1 in")
    bays, _ = lay_bays(make.run(), make.posts(spacing="9 ft"), rails, make.ground(287.5), 0.0, 287.5)
    assert bays is not None
    assert bays.rail == pytest.approx(bays.width + np.array([1.0, -1.5, 1.0]))


def test_a_post_stands_whole_beside_water_that_its_hole_must_reach_into(make: SimpleNamespace) -> None:
    """Six inches are free, enough for a post of 3-1/2 in but not for its hole of 10 in."""
    water = [("9 in", "60 in"), ("66 in", "135 in")]
    run = make.run(keep_open=[{"start": a, "end": b, "height": "4 in"} for a, b in water])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(144), 0.0, 144.0)
    assert bays is not None
    assert bays.posts == pytest.approx([0, 64.25, 144])
    assert any("its hole reaches into it" in p.found for p in problems)


def test_level_rails_have_no_slope(make: SimpleNamespace) -> None:
    ground = make.ground(480, 0.2)
    sloped, _ = lay_bays(make.run(), make.posts(), make.rails(), ground, 0.0, 480.0)
    level, _ = lay_bays(make.run(), make.posts(), make.rails(), ground, 0.0, 480.0, lambda a, b: 0.0)
    assert sloped is not None
    assert level is not None
    assert len(sloped) == len(level) == 6
    assert sloped.rail[1] == pytest.approx(sloped.width[1] * 1.04**0.5)
    assert level.rail[1] == pytest.approx(level.width[1])


def test_ground_steeper_than_45_degrees_never_gets_a_rail_that_does_not_reach(make: SimpleNamespace) -> None:
    """A nearer post may then need a longer rail than a farther one."""
    rng = np.random.default_rng(3)
    laid = 0
    for _ in range(60):
        ground = ground_line(np.linspace(0, 300, 7), rng.normal(0, 90, 7))
        run = make.run(no_post=[{"start": "66 in", "end": "74 in"}, {"start": "150 in", "end": "160 in"}])
        bays, problems = lay_bays(run, make.posts(), make.rails("12 ft"), ground, 0.0, 300.0)
        assert (bays is None) == any(p.severity is Severity.MISTAKE for p in problems)
        if bays is not None:
            laid += 1
            assert (bays.rail <= 144 + 1e-5).all()
            assert (bays.width >= 3.5).all()
    assert laid > 20


def test_a_rail_covers_a_stouter_gate_post_whole(make: SimpleNamespace) -> None:
    """A 5-1/2 in gate post: its middle 2-3/4 in off the opening, and the rail past that middle by as much."""
    posts = make.posts(gate_width="5-1/2 in", gate_stock=[{"length": "10 ft"}])
    run = make.run(gate=[{"station": "192 in", "width": "48 in"}])
    bays, _ = lay_bays(run, posts, make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    k = int(np.flatnonzero(np.isclose(bays.right, 192 - 2.75))[0])
    assert bays.extra[k] == pytest.approx(2.75 + (1.75 if bays.left[k] == 0 else 0.0))
    assert bays.sizes.max() == 5.5
