from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.bays.given_posts import PostKind, forced_posts
from fencegrade.ground.profile import ground_line
from fencegrade.problems import Severity


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
    make: SimpleNamespace, run_keys: dict[str, Any], post_keys: dict[str, Any], place: str, found: str
) -> None:
    bays, problems = lay_bays(
        make.run(**run_keys), make.posts(**post_keys), make.rails("10 ft"), make.ground(480), 0.0, 480.0
    )
    assert bays is None
    mistakes = [p for p in problems if p.severity is Severity.MISTAKE]
    assert any(place in p.place and found in p.found and p.remedy for p in mistakes), [
        str(p) for p in mistakes
    ]


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
    assert "the hole of the end post reaches 2 in into" in problems[0].found


@pytest.mark.parametrize(
    ("station", "first", "last"), [("0 in", True, False), ("480 in", False, True), ("200 in", False, False)]
)
def test_an_end_post_stands_where_one_is_there_already(
    make: SimpleNamespace, station: str, first: bool, last: bool
) -> None:
    run = make.run(existing_post=[{"station": station}])
    forced, problems = forced_posts(run, make.posts(), make.ground(480), 0.0, 480.0, make.say)
    assert problems == []
    assert (forced[0].standing, forced[-1].standing) == (first, last)
    assert (forced[0].kind, forced[-1].kind) == (PostKind.END, PostKind.END)
    assert (forced[0].station, forced[-1].station) == (0.0, 480.0)
    assert len(forced) == (2 if first or last else 3)


@pytest.mark.parametrize(
    ("station", "taken"), [("-1/8 in", False), ("480-1/8 in", False), ("479-7/8 in", True)]
)
def test_a_post_outside_the_run_is_a_mistake(make: SimpleNamespace, station: str, taken: bool) -> None:
    run = make.run(existing_post=[{"station": station}])
    _, problems = forced_posts(run, make.posts(), make.ground(480), 0.0, 480.0, make.say)
    at = {"-1/8 in": '-1/8"', "480-1/8 in": "40' 0-1/8\""}.get(station)
    said = (
        f'mistake, herb garden, existing_post 1: the post at {at} stands outside the run, 0" to 40\' 0"; '
        "correct its station, or let the run reach it"
    )
    assert [f"{p.severity}, {p}" for p in problems if "outside" in str(p)] == [said] * (not taken)


def test_a_face_post_that_would_stand_half_in_a_wall_is_set_beside_it(make: SimpleNamespace) -> None:
    run = make.run(no_post=[{"start": "192 in", "end": "240 in"}])
    wall = ground_line([0, 192, 192, 240, 240, 480], [0, 0, 12, 12, 0, 0])
    _, problems = lay_bays(run, make.posts(), make.rails("10 ft"), wall, 0.0, 480.0)
    assert len(problems) == 2
    for p in problems:
        assert p.found.startswith(
            "1-3/4 in of the face post and 5 in of its hole would stand in the no_post "
        )
        assert p.remedy.startswith("set the post 1-3/4 in aside, beside the stretch")
        assert "by hand" not in str(p)
