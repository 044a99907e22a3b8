from types import SimpleNamespace

import pytest

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.problems import Severity

FOOT = 12.0


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
    spacing, rail = "the largest post spacing, 96 in, is 14 in", "the longest rail, 96 in, is 14 in"
    wider, longer = "allow a wider post spacing", "offer a longer rail"
    for posts, rails, falls_short, remedy in (
        ("8 ft", "10 ft", spacing, wider),
        ("10 ft", "8 ft", rail, longer),
        ("8 ft", "8 ft", f"{spacing} too short and {rail}", f"{wider} and {longer}"),
    ):
        told = (make.posts(spacing=posts), make.rails(rails), make.ground(480), 0.0, 480.0)
        _, problems = lay_bays(run, *told)
        assert problems[0].found.endswith(f", and {falls_short} too short for that bay")
        assert problems[0].remedy == f"{remedy}, or give the posts a place in the stretch"


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


def test_a_root_keeps_posts_out(make: SimpleNamespace) -> None:
    """Bays of 8 ft would put a post at 16 ft; the root from 15' 6" to 16' 6" and half a hole keep it out."""
    run = make.run(root=[{"start": "186 in", "end": "198 in"}])
    bays, problems = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0)
    assert bays is not None
    assert not problems
    assert not ((bays.posts > 186 - 5 + 1e-6) & (bays.posts < 198 + 5 - 1e-6)).any()
