from types import SimpleNamespace

import numpy as np
import pytest

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.ground.profile import ground_line
from fencegrade.problems import Severity

FOOT = 12.0


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


def test_level_rails_have_no_slope(make: SimpleNamespace) -> None:
    ground = make.ground(480, 0.2)
    sloped, _ = lay_bays(make.run(), make.posts(), make.rails(), ground, 0.0, 480.0)
    level, _ = lay_bays(make.run(), make.posts(), make.rails(), ground, 0.0, 480.0, lambda a, b: 0.0)
    assert sloped is not None
    assert level is not None
    assert len(sloped) == len(level) == 6
    assert sloped.rail[1] == pytest.approx(sloped.width[1] * 1.04**0.5)
    assert level.rail[1] == pytest.approx(level.width[1])


def test_a_pipe_moves_the_post_and_its_hole(make: SimpleNamespace) -> None:
    run = make.run(no_post=[{"start": "190 in", "end": "200 in"}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert not problems
    assert len(bays) == 6
    inside = (bays.posts > 190 - 5 + 1e-6) & (bays.posts < 200 + 5 - 1e-6)
    assert not inside.any()


def test_a_water_way_takes_posts_at_its_edge_only_where_nothing_else_reaches(make: SimpleNamespace) -> None:
    """A swale of 8 ft and posts 8 ft apart: the post in its middle must move (own case)."""
    run = make.run(keep_open=[{"start": "20 ft", "end": "28 ft", "height": "4 in"}])
    ground = make.ground(576)
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), ground, 0.0, 576.0)
    assert bays is not None
    assert bays.posts / FOOT == pytest.approx([0, 20 / 3, 40 / 3, 20, 28, 28 + 20 / 3, 28 + 40 / 3, 48])
    assert [p.severity for p in problems] == [Severity.WARNING]
    assert "20' 0\" and 28' 0\"" in problems[0].found
    wide, problems = lay_bays(run, make.posts(spacing="9 ft"), make.rails("10 ft"), ground, 0.0, 576.0)
    assert wide is not None
    assert not problems
    assert not ((wide.posts > 235 + 1e-6) & (wide.posts < 341 - 1e-6)).any()


def test_a_stretch_nothing_reaches_across_is_named_with_the_missing_inches(make: SimpleNamespace) -> None:
    run = make.run(no_post=[{"start": "100 in", "end": "200 in"}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is None
    (found,) = problems
    assert found.severity is Severity.MISTAKE
    assert "7' 11\" to 17' 1\"" in found.place
    assert "14 in too short" in found.found
    rails = make.rails("8 ft")
    bays, problems = lay_bays(run, make.posts(spacing="10 ft"), rails, make.ground(480), 0.0, 480.0)
    assert bays is None
    assert "the longest rail, 96 in, is 14 in too short" in problems[0].found


def test_gate_openings_hold_no_bay_and_no_rail(make: SimpleNamespace) -> None:
    run = make.run(gate=[{"station": "200 in", "width": "48 in"}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert not problems
    gate_posts = [x for x, kind in zip(bays.posts, bays.kinds, strict=True) if kind is PostKind.GATE]
    assert gate_posts == pytest.approx([198.25, 249.75])
    assert not any(a < 224 < b for a, b in zip(bays.left, bays.right, strict=True))
    last = np.flatnonzero(bays.right == gate_posts[0])[0]
    assert bays.rail[last] == pytest.approx(bays.width[last] + 1.75)


def test_a_gate_at_the_end_hangs_on_the_end_post(make: SimpleNamespace) -> None:
    run = make.run(gate=[{"station": "1-3/4 in", "width": "48 in"}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert not problems
    assert bays.posts[:2] == pytest.approx([0, 51.5])
    assert bays.kinds[:2] == (PostKind.GATE, PostKind.GATE)
    assert bays.first[0] == 1


def test_gates_a_post_apart_share_it(make: SimpleNamespace) -> None:
    gates = [{"station": "100 in", "width": "48 in"}, {"station": "151.5 in", "width": "40 in"}]
    bays, problems = lay_bays(
        make.run(gate=gates), make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0
    )
    assert bays is not None
    assert not problems
    assert [x for x in bays.posts if 90 < x < 200] == pytest.approx([98.25, 149.75, 193.25])
    assert not ((bays.left > 90) & (bays.left < 190)).any()


def test_a_face_gets_a_post_and_rails_take_the_ground_on_their_side(make: SimpleNamespace) -> None:
    ground = ground_line([0, 192, 192, 384], [0, 0, -36, -36])
    bays, _ = lay_bays(make.run(), make.posts(), make.rails("10 ft"), ground, 0.0, 384.0)
    assert bays is not None
    assert bays.posts == pytest.approx([0, 96, 192, 288, 384])
    assert bays.kinds[2] is PostKind.FACE
    assert bays.slope == pytest.approx([0, 0, 0, 0])


def test_posts_that_stand_stay_and_make_uneven_bays(make: SimpleNamespace) -> None:
    run = make.run(existing_post=[{"station": "90 in"}, {"station": "250 in", "height": "70 in"}])
    posts = make.posts(fixed=["0 ft", "170 in"])
    bays, problems = lay_bays(run, posts, make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert not problems
    assert bays.posts == pytest.approx([0, 90, 170, 250, 250 + 230 / 3, 250 + 460 / 3, 480])
    assert bays.standing.tolist() == [True, True, True, True, False, False, False]
    assert bays.rail == pytest.approx(bays.width + np.array([1.75, 0, 0, 0, 0, 1.75]))


def test_a_post_that_is_given_up_is_set_beside_its_old_hole(make: SimpleNamespace) -> None:
    run = make.run(existing_post=[{"station": "96 in", "keep": False}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(384), 0.0, 384.0)
    assert bays is not None
    assert not problems
    assert np.abs(bays.posts - 96).min() >= 10 - 1e-6


def test_a_gate_on_a_post_that_stands_farther_off_is_wider(make: SimpleNamespace) -> None:
    run = make.run(gate=[{"station": "200 in", "width": "48 in"}], existing_post=[{"station": "197 in"}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert 197.0 in bays.posts
    assert 198.25 not in bays.posts
    assert "1-1/4 in wider" in problems[0].found


def test_how_much_wider_is_told_for_each_side_of_a_gate(make: SimpleNamespace) -> None:
    """The opening of 48 in from 200 in wants posts at 198-1/4 and 249-3/4."""
    run = make.run(
        gate=[{"station": "200 in", "width": "48 in"}],
        existing_post=[{"station": "197 in"}, {"station": "252.5 in"}],
    )
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    gates = [k is PostKind.GATE for k in bays.kinds]
    assert bays.posts[gates] == pytest.approx([197, 252.5])
    assert bays.standing.tolist() == gates
    assert [p.found.split("; ")[1] for p in problems] == [
        "the opening is 1-1/4 in wider",
        "the opening is 2-3/4 in wider",
    ]


def test_posts_that_stand_where_the_gate_wants_them_are_its_posts(make: SimpleNamespace) -> None:
    run = make.run(
        gate=[{"station": "200 in", "width": "48 in"}],
        existing_post=[{"station": "198.25 in"}, {"station": "249.75 in"}],
    )
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert not problems
    assert bays.posts[bays.standing] == pytest.approx([198.25, 249.75])
    assert [k for k, s in zip(bays.kinds, bays.standing, strict=True) if s] == [PostKind.GATE] * 2


@pytest.mark.parametrize("station", ["199 in", "249 in"])
def test_a_post_that_would_narrow_the_opening_is_no_gate_post(make: SimpleNamespace, station: str) -> None:
    run = make.run(gate=[{"station": "200 in", "width": "48 in"}], existing_post=[{"station": station}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is None
    assert any(p.severity is Severity.MISTAKE for p in problems)


@pytest.mark.parametrize(
    ("closed", "posts"),
    [
        # a hole is 10 in wide, so no centre from 70 to 95: 70, then 85 and 85, beats 95 and twice 72-1/2
        ([(75, 90)], [70, 155]),
        # no centre from 145 to 170: the same from the other end
        ([(150, 165)], [85, 170]),
        # none from 65 to 85 and from 155 to 185: the sum of squares is 19350 by 85 and 155, 19550 by 65
        # and 155, 20137.5 by 92-1/2 and 185
        ([(70, 80), (160, 180)], [85, 155]),
        # none from 55 to 85 and from 155 to 175: the same from the other end
        ([(60, 80), (160, 170)], [85, 155]),
    ],
)
def test_posts_take_the_more_even_side_of_a_closed_stretch(
    make: SimpleNamespace, closed: list[tuple[float, float]], posts: list[float]
) -> None:
    """20 ft in three bays of 100 in at most: 80 and 160 in, were nothing in the way."""
    run = make.run(no_post=[{"start": f"{a} in", "end": f"{b} in"} for a, b in closed])
    bays, problems = lay_bays(
        run, make.posts(spacing="100 in"), make.rails("20 ft"), make.ground(240), 0.0, 240.0
    )
    assert bays is not None
    assert not problems
    assert bays.posts == pytest.approx([0, *posts, 240])


def test_a_narrow_place_between_pipes_is_found_far_along_a_run(make: SimpleNamespace) -> None:
    """The last 20 ft of 220 ft, after a post that stands: no centre from 70 to 95 in past it, so 70, and then
    the middle of the rest, 155, which is free only from 153 to 157."""
    closed = [(72, 93), (150, 151), (159, 160)]
    run = make.run(
        no_post=[{"start": f"{2400 + a} in", "end": f"{2400 + b} in"} for a, b in closed],
        existing_post=[{"station": "2400 in"}],
    )
    posts = make.posts(spacing="100 in", hole_diameter="4 in")
    bays, problems = lay_bays(run, posts, make.rails("20 ft"), make.ground(2640), 0.0, 2640.0)
    assert bays is not None
    assert not problems
    assert bays.posts[-4:] - 2400 == pytest.approx([0, 70, 155, 240])


@pytest.mark.parametrize(
    ("run_keys", "post_keys", "place", "found"),
    [
        ({"existing_post": [{"station": "-1 ft"}]}, {}, "existing_post 1", "outside the run"),
        ({"gate": [{"station": "0 ft", "width": "4 ft"}]}, {}, "gate 1", "no room for a gate post"),
        ({"gate": [{"station": "38 ft", "width": "4 ft"}]}, {}, "gate 1", "no room for a gate post"),
        (
            {"gate": [{"station": "10 ft", "width": "4 ft"}]},
            {"fixed": ["12 ft"]},
            "12' 0\"",
            "stands in the gate",
        ),
        ({"gate": [{"station": "3 in", "width": "4 ft"}]}, {}, "1-1/4", "overlap"),
        ({"no_post": [{"start": "-1 ft", "end": "1 ft"}]}, {}, 'herb garden, 0"', "has to stand in"),
        ({}, {"fixed": ["2 in"]}, '2"', "overlap"),
    ],
)
def test_contradictions_are_named(
    make: SimpleNamespace, run_keys: dict, post_keys: dict, place: str, found: str
) -> None:
    bays, problems = lay_bays(
        make.run(**run_keys), make.posts(**post_keys), make.rails("10 ft"), make.ground(480), 0.0, 480.0
    )
    assert bays is None
    mistakes = [p for p in problems if p.severity is Severity.MISTAKE]
    assert any(place in p.place and found in p.found and p.remedy for p in mistakes), [
        str(p) for p in mistakes
    ]


def test_a_root_keeps_posts_out(make: SimpleNamespace) -> None:
    """Bays of 8 ft would put a post at 16 ft; the root from 15' 6" to 16' 6" and half a hole keep it out."""
    run = make.run(root=[{"start": "186 in", "end": "198 in"}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert not problems
    assert not ((bays.posts > 186 - 5 + 1e-6) & (bays.posts < 198 + 5 - 1e-6)).any()


@pytest.mark.parametrize("key", ["no_post", "root", "keep_open"])
def test_a_face_where_no_post_can_stand_gets_none(make: SimpleNamespace, key: str) -> None:
    stretch = {"start": "180 in", "end": "204 in"} | ({"height": "4 in"} if key == "keep_open" else {})
    ground = ground_line([0, 192, 192, 480], [0, 0, -10, -10])
    bays, problems = lay_bays(
        make.run(**{key: [stretch]}), make.posts(), make.rails("10 ft"), ground, 0.0, 480.0
    )
    assert bays is not None
    assert not any(p.severity is Severity.MISTAKE for p in problems)
    assert not ((bays.posts > 180) & (bays.posts < 204)).any()


def test_fixed_posts_of_another_run_are_let_be(make: SimpleNamespace) -> None:
    posts = make.posts(fixed=["4 ft", "80 ft"])
    bays, problems = lay_bays(make.run(), posts, make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert not problems
    assert 48.0 in bays.posts


def test_a_hole_that_reaches_into_a_pipe_stretch_at_an_end_is_warned_of(make: SimpleNamespace) -> None:
    run = make.run(no_post=[{"start": "3 in", "end": "12 in"}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert [p.severity for p in problems] == [Severity.WARNING]
    assert "the hole of the end post reaches into" in problems[0].found


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
