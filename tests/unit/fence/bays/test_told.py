"""What is said of bays, each sentence whole, at and on both sides of its threshold."""

from types import SimpleNamespace
from typing import Any

import pytest

from fencegrade.fence.bays.bays import BESIDE, lay_bays
from fencegrade.fence.bays.given_posts import Reason, keep_outs
from fencegrade.ground.profile import ground_line


def _has_to_stand(reason: str, stretch: str) -> str:
    return (
        f'mistake, herb garden, 0": the end post has to stand in the {reason} stretch {stretch}; move the '
        "end, gate "
        "or face clear of the stretch, or correct the stretch"
    )


def _reaches(reason: str, start: str = '4-7/8"', by: str = "1/8 in") -> str:
    return (
        f'warning, herb garden, 0": the hole of the end post reaches {by} into the {reason} stretch {start} '
        "to 1' 8\"; cut the hole off there and dig it as much longer on its other sides, by hand; a wall, "
        "rock or pipe is not dug"
    )


STANDS_IN = (
    'warning, herb garden, 0": 1/8 in of the end post and 3-3/8 in of its hole would stand in the no_post '
    'stretch 1-5/8" to 1\' 8"; a wall, rock or pipe is not dug; the readings end here: '
    "read the ground farther and move this end of the run by 1/8 in toward the run's start in the job "
    "file, or correct the stretch"
)
OLD_HOLE = (
    'warning, herb garden, 0": the new end post stands in the hole of the old one; dig out the old '
    "concrete, or move "
    "the end of the run"
)
NO_ROOM = (
    "mistake, herb garden, 12' {0}: there is no room for a post between two gate openings at 12' {0}; keep "
    "openings a "
    "post's width (3-1/2 in) or more apart"
)
PAST_END = (
    "mistake, herb garden, gate 1: the opening {} leaves no room for a gate post within the run, 0\" to 40' "
    '0"; keep '
    "the opening 1-3/4 in (half a post) inside the run's ends, where the end post then serves as gate post"
)
TOO_FAR = "; allow a wider post spacing, or give the posts a place in the stretch"


def post(station: str, **keys: Any) -> dict[str, Any]:
    return {"existing_post": [{"station": station, **keys}]}


def gates(*stations: str) -> dict[str, Any]:
    return {"gate": [{"station": s, "width": "48 in"} for s in stations]}


def closed(key: str, start: str, end: str) -> dict[str, Any]:
    return {key: [{"start": start, "end": end} | ({"height": "4 in"} if key == "keep_open" else {})]}


@pytest.mark.parametrize(
    ("run", "told"),
    [
        # the hole of the first post reaches 5 in along the run, and no post may stand in the stretch
        (closed("no_post", "5 in", "20 in"), []),
        (closed("no_post", "4-7/8 in", "20 in"), [_reaches("no_post")]),
        # and the post itself 1-3/4 in
        (closed("no_post", "1-3/4 in", "20 in"), [_reaches("no_post", '1-3/4"', "3-1/4 in")]),
        (closed("no_post", "1-5/8 in", "20 in"), [STANDS_IN]),
        (closed("root", "4-7/8 in", "20 in"), [_reaches("root")]),
        (closed("keep_open", "4-7/8 in", "20 in"), [_reaches("keep_open")]),
        (closed("no_post", "-5 in", "2 in"), [_has_to_stand("no_post", '-5" to 2"')]),
        (post("0 in", keep=False), [OLD_HOLE]),
        (post("9-7/8 in", keep=False), [OLD_HOLE]),
        (post("10 in", keep=False), []),
        # posts of 3-1/2 in
        (post("3-1/2 in"), []),
        (
            post("3-3/8 in"),
            [
                'mistake, herb garden, 3-3/8": the end post at 0" and the existing post at 3-3/8" overlap: '
                "centres are "
                "3-3/8 in apart, a post is 3-1/2 in wide; move one of them by the missing width, or let one "
                "post serve "
                "for both"
            ],
        ),
        (
            post("481 in"),
            [
                'mistake, herb garden, existing_post 1: the post at 40\' 1" stands outside the run, 0" to '
                "40' 0\"; "
                "correct its station, or let the run reach it"
            ],
        ),
        # gates: beside each other, at an end, on posts that stand
        (gates("100 in", "151.5 in"), []),
        (gates("100 in", "151.375 in"), [NO_ROOM.format('5-5/8"')]),
        (gates("100 in", "148 in"), [NO_ROOM.format('2-1/4"')]),
        (gates("1-3/4 in"), []),
        (gates("1-5/8 in"), [PAST_END.format('1-5/8" to 4\' 1-5/8"')]),
        (gates("430-1/4 in"), []),
        (gates("430-3/8 in"), [PAST_END.format("35' 10-3/8\" to 39' 10-3/8\"")]),
        (
            gates("100 in") | post("120 in"),
            [
                "mistake, herb garden, 10' 0\": the existing post at 10' 0\" stands in the gate opening "
                "after "
                "8' 2-1/4\"; move the gate clear of the post by half a post's width, or take the post out"
            ],
        ),
        (gates("200 in") | post("194.75 in"), []),
        (
            gates("200 in") | post("194.875 in"),
            [
                "note, herb garden, 16' 2-7/8\": the post that stands here serves as gate post; the opening "
                "is 3-3/8 in wider; make the gate to the opening as it stands"
            ],
        ),
        # half a hole on either side: 95 to 191 in is just a bay
        (closed("no_post", "100 in", "186 in"), []),
        (
            closed("no_post", "100 in", "187 in"),
            [
                "mistake, herb garden, 7' 11\" to 16' 0\": no post can stand between 7' 11\" and 16' 0\" "
                "([[run.no_post]] 8' 4\" to 15' 7\", with half a hole, 5 in, on either side), "
                f"and the largest post spacing, 96 in, is 1 in too short for that bay{TOO_FAR}"
            ],
        ),
        # every one of them at once, the last up to the run's end, and not those that can be spanned
        (
            {
                "no_post": [
                    {"start": a, "end": b}
                    for a, b in (("60 in", "147 in"), ("180 in", "260 in"), ("300 in", "388 in"))
                ],
                "root": [{"start": "389 in", "end": "474 in"}],
            },
            [
                "mistake, herb garden, 4' 7\" to 12' 8\": no post can stand between 4' 7\" and 12' 8\" "
                "([[run.no_post]] 5' 0\" to 12' 3\", with half a hole, 5 in, on either side), "
                f"and the largest post spacing, 96 in, is 1 in too short for that bay{TOO_FAR}",
                "mistake, herb garden, 24' 7\" to 40' 0\": no post can stand between 24' 7\" and 40' 0\" "
                "([[run.no_post]] 25' 0\" to 32' 4\" and [[run.root]] 32' 5\" to 39' 6\", with half a hole, "
                "5 in, on either side of each), "
                "and the largest post spacing, 96 in, is 89 in too short and the longest rail, 120 in, is "
                "66-3/4 in too short for that bay; allow a wider post spacing and offer a longer rail, or "
                "give the posts a place in the stretch",
            ],
        ),
        (
            closed("keep_open", "100 in", "196 in"),
            [
                "warning, herb garden, 8' 4\" to 16' 4\": the posts at 8' 4\" and 16' 4\" stand at the edge "
                "of the stretch kept open, their holes reach into it: no other place keeps every bay within "
                "the rails and the spacing; offer a longer rail or a wider spacing to clear it, and ask the "
                "drainage authority"
            ],
        ),
        (
            closed("keep_open", "100 in", "197 in"),
            [
                "mistake, herb garden, 8' 4\" to 16' 5\": no post can stand between 8' 4\" and 16' 5\" "
                "([[run.keep_open]] 8' 4\" to 16' 5\"), and "
                f"the largest post spacing, 96 in, is 1 in too short for that bay{TOO_FAR}{BESIDE}"
            ],
        ),
    ],
)
def test_what_is_said_of_posts(make: SimpleNamespace, run: dict[str, Any], told: list[str]) -> None:
    bays, problems = lay_bays(
        make.run(**run), make.posts(), make.rails("10 ft"), make.ground(480), 0.0, 480.0
    )
    assert [f"{p.severity}, {p}" for p in problems] == told
    assert (bays is None) == any(t.startswith("mistake") for t in told)


@pytest.mark.parametrize(
    ("spacing", "rail", "told"),
    [
        ("3-1/2 in", "10 ft", "with a spacing of 3-1/2 in and rails of 10 ft"),
        ("8 ft", "3-1/2 in", "with a spacing of 96 in and rails of 3-1/2 in"),
        ("8 ft", "3-5/8 in", None),
    ],
)
def test_a_bay_of_nothing_but_posts(make: SimpleNamespace, spacing: str, rail: str, told: str | None) -> None:
    posts, rails = make.posts(spacing=spacing), make.rails(rail)
    _, problems = lay_bays(make.run(), posts, rails, make.ground(480), 0.0, 480.0)
    found = [str(p) for p in problems if "nothing between" in p.found]
    assert found == [
        f"herb garden, posts: {told} there is nothing between posts 3-1/2 in wide; check the units of "
        "spacing, width and rail stock"
    ] * bool(told)


@pytest.mark.parametrize(("station", "posts"), [("103-3/8 in", 1), ("103-1/2 in", 2)])
def test_a_face_within_a_post_s_width_needs_none_of_its_own(
    make: SimpleNamespace, station: str, posts: int
) -> None:
    line = ground_line([0, 100, 100, 480], [0, 0, -9, -9])
    bays, _ = lay_bays(make.run(**post(station)), make.posts(), make.rails("10 ft"), line, 0.0, 480.0)
    assert bays is not None
    assert int(((bays.posts > 99) & (bays.posts < 104)).sum()) == posts


def test_stretches_that_hold_no_post_in_order(make: SimpleNamespace) -> None:
    run = make.run(
        **closed("no_post", "50 in", "60 in"),
        **closed("root", "10 in", "20 in"),
        **closed("keep_open", "10 in", "15 in"),
        existing_post=[{"station": "40 in", "keep": False}, {"station": "90 in"}],
    )
    assert [(k.start, k.end, k.reason) for k in keep_outs(run, 10.0)] == [
        (10, 15, Reason.KEEP_OPEN),
        (10, 20, Reason.ROOT),
        (35, 45, Reason.OLD_HOLE),
        (50, 60, Reason.NO_POST),
    ]


@pytest.mark.parametrize(
    ("opening", "closed", "remedy"),
    [
        (198.0, (197.0, 201.0), "move the opening by 1 in toward the run's start"),
        (198.0, (194.0, 195.5), "move the opening by 1 in toward the run's end"),
        (10.0, (9.0, 13.0), "move the opening and this end of the run by 1 in toward the run's start"),
        (
            1.75,
            (1.0, 3.0),
            "the readings end here: read the ground farther and move the opening and this end",
        ),
    ],
)
def test_what_clears_a_post_is_told_with_its_direction(
    make: SimpleNamespace, opening: float, closed: tuple[float, float], remedy: str
) -> None:
    """A gate post that is the run's first takes the end along; nothing is sent past the readings."""
    first = max(opening - 1.75, 0.0) if opening < 100 else 8.25
    kept_out = [{"start": f"{closed[0]} in", "end": f"{closed[1]} in"}]
    run = make.run(gate=[{"station": f"{opening} in", "width": "4 ft"}], no_post=kept_out)
    _, told = lay_bays(run, make.posts(), make.rails("10 ft"), make.ground(480), first, 480.0)
    (found,) = [
        p for p in told if "a wall, rock or pipe is not dug" in f"{p.found}" and "would stand" in p.found
    ]
    assert found.remedy.startswith(remedy)


def test_the_opening_of_another_run_is_not_moved_for_a_post_they_share(make: SimpleNamespace) -> None:
    kept_out = [{"start": "475 in", "end": "479 in"}]
    told = make.run(no_post=kept_out), make.posts(), make.rails("10 ft"), make.ground(500), 0.0, 480.0
    for hung in ((False, False), (False, True)):
        _, found = lay_bays(*told, hung=hung)
        assert [p.remedy.split(" in the")[0] for p in found] == [
            "move this end of the run by 3/4 in toward the run's end"
        ]


def test_posts_of_unlike_width_overlap_by_half_of_both(make: SimpleNamespace) -> None:
    """4 in from the end, which hangs a gate of another run: half of 3-1/2 and half of 5-1/2 are 4-1/2."""
    posts = make.posts(gate_width="5-1/2 in", gate_stock=[{"length": "10 ft"}])
    run = make.run(existing_post=[{"station": "476 in"}])
    _, told = lay_bays(run, posts, make.rails("10 ft"), make.ground(480), 0.0, 480.0, hung=(False, True))
    assert [p.found.split(": ")[1] for p in told] == [
        "centres are 4 in apart, half of each comes to 4-1/2 in"
    ]
