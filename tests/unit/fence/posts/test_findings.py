from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from post_runs import PRICED, checked_posts, posts_at, posts_on_the_level, posts_over_a_dip

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.posts.findings import _standing_off
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.level import level_top
from fencegrade.ground.profile import ground_line
from fencegrade.problems import JobMistakesError, Severity
from fencegrade.units import to_marks

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
    assert found.remedy == "let it show, or, where it is yours, cut it down once the rails hang"


@pytest.mark.parametrize("of_line", [0.0, 0.03, 0.06, 0.11])
def test_what_a_standing_post_is_off_is_the_difference_of_the_heights_told(
    make: SimpleNamespace, of_line: float
) -> None:
    """A post of 95.1 in, where the tops want 89: the sheet tells both over the string, to 1/8 in."""
    standing = [{"station": "24 ft", "height": "95.1 in"}]
    schedule, _ = posts_over_a_dip(make, make.posts(), existing_post=standing)
    k = int(np.flatnonzero(schedule.station == 288)[0])
    crown = schedule.top.copy()
    crown[k] -= 6.1
    line = np.full(len(crown), of_line)
    (found,) = _standing_off(make.run(), schedule, crown, crown < -1e9, line, None, make.say)
    own, wanted = (to_marks(float(z[k]) - of_line, 1 / 8) for z in (schedule.top, crown))
    assert f"stands here is {make.say.length((own - wanted) / 8)} higher" in found.found


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
    assert found.found.endswith(f"run into one; post {last - 1} is a gate's and post {last} is the run's end")
    assert found.remedy == "move the gate so that one post serves both, or set the two in one hole"


def test_no_gate_is_moved_where_there_is_none(make: SimpleNamespace) -> None:
    """9-7/8 in from the end of the run a post stands clear of a ditch, its wood on the edge."""
    wet = [{"start": "36 ft", "end": "39 ft 3/8 in", "height": "4 in"}]
    stations = (0.0, 96.0, 192.0, 288.0, 384.0, 470.125, 480.0)
    _, told = posts_at(make, make.posts(), *stations, keep_open=wet)
    (kept,) = [one for one in told if "run into one" in one]
    assert kept.endswith(
        "run into one; post 6 stands beside the keep_open stretch 36' 0\" to 39' 0-3/8\" and post 7 is the "
        "run's end; set the two in one hole, or end the run where one post serves both"
    )
    assert "gate" not in kept


def test_the_gate_of_a_run_that_starts_at_its_end_is_not_moved(make: SimpleNamespace) -> None:
    """The last post hangs another run's gate: no opening of this run is beside it."""
    posts = make.posts(gate_hole_diameter="10 in")
    (told,) = [t for t in posts_at(make, posts, 0.0, 96.0, 102.0, gates=(2,))[1] if "run into one" in t]
    assert told.endswith(
        "run into one; post 3 is the run's end; set the two in one hole, or end the run where one post "
        "serves both"
    )


def test_a_gate_on_the_run_s_first_post_is_both(make: SimpleNamespace) -> None:
    """1-3/4 in from its start, 5 in wide: its two posts are 8-1/2 in apart."""
    gate = [{"station": "1-3/4 in", "width": "5 in"}]
    _, problems = posts_over_a_dip(make, make.posts(hole_diameter="10 in"), gate=gate)
    (found,) = [p for p in problems if "run into one" in p.found]
    assert found.found.endswith("; post 1 is the run's start and a gate's and post 2 is a gate's")
    assert found.remedy.startswith("move the gate so that")


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
    """A top 3 in under 6 ft wants 33 in of 99; an 8 ft post leaves 30, 31.3 %."""
    schedule, problems = posts_on_the_level(make, make.posts(height="-6 in", stock=PRICED), top=72.0)
    assert schedule.total == pytest.approx(np.full(6, 99.0))
    (told,) = [p for p in problems if "more than a post of" in p.found]
    assert told.found.startswith("3 in more than a post of 8 ft gives; it would leave 30 in")
    assert told.found.endswith("(31.3 %), 27.00 less")
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


INTO_ONE = (
    "warning, herb garden, posts 2 and 3: their middles are 9-7/8 in apart and a hole is 10 in wide: the two "
    "holes run into one; set the two in one hole"
)
BETWEEN = "of ground stays between their holes; set and fill the first before the second is dug"


@pytest.mark.parametrize(
    ("apart", "told"),
    [
        (9.875, [INTO_ONE]),
        (10.0, [f"note, herb garden, posts 2 and 3: only 0 in {BETWEEN}"]),
        (15.875, [f"note, herb garden, posts 2 and 3: only 5-7/8 in {BETWEEN}"]),
        (16.0, []),
    ],
)
def test_holes_under_6_in_apart_are_told(make: SimpleNamespace, apart: float, told: list[str]) -> None:
    posts = make.posts()
    assert posts_at(make, posts, 0.0, 96.0, 96.0 + apart, 192.0)[1] == told
    assert posts_at(make, posts, 0.0, 96.0, 96.0 + apart, 192.0, standing=(1,))[1] == []


def test_holes_of_unlike_width_are_apart_by_half_of_both(make: SimpleNamespace) -> None:
    """Half of 16 and half of 10 are 13 in, and 6 between them."""
    posts = make.posts(gate_hole_diameter="16 in", gate_deeper="0 in")
    said = f"note, herb garden, posts 1 and 2: only 5-7/8 in {BETWEEN}"
    assert posts_at(make, posts, 0.0, 18.875, 96.0, gates=(1,))[1] == [said]
    assert posts_at(make, posts, 0.0, 19.0, 96.0, gates=(1,))[1] == []
    (told,) = posts_at(make, posts, 0.0, 12.875, 96.0, gates=(1,))[1]
    assert "12-7/8 in apart and half of each hole comes to 13 in: the two holes run into one" in told


AUGER = (
    "deep with their gravel; a common auger drills 36 in; hire one with an extension, or dig the rest with a "
    "clamshell digger and a bar"
)


@pytest.mark.parametrize(
    ("least", "run", "told"),
    [
        ("30 in", {}, []),
        ("30-1/8 in", {}, [f"note, herb garden, posts 1-3: holes up to 36-1/8 in {AUGER}"]),
        # the first post of a run that joins another is the other's last
        ("30-1/8 in", {"join": "back"}, [f"note, herb garden, posts 2-3: holes up to 36-1/8 in {AUGER}"]),
    ],
)
def test_an_auger_drills_36_in_gravel_and_all(
    make: SimpleNamespace, least: str, run: dict[str, Any], told: list[str]
) -> None:
    posts = make.posts(depth_share=0.0, least_depth=least, gravel="6 in")
    assert posts_at(make, posts, 0.0, 96.0, 192.0, **run)[1] == told


NARROW = (
    "warning, herb garden, holes: a hole of 8 in leaves too little concrete round a post of 3-1/2 in by "
    "3-1/2 in: 9 in is asked for, 4 in more than its diagonal (International Building Code 1807.3.3 (not "
    "checked against the document)); dig a wider one ({} under [posts] in the job file), or ask the local "
    "authority"
)


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"hole_diameter": "8 in"}, [NARROW.format("hole_diameter")]),
        ({"gate_hole_diameter": "8 in"}, [NARROW.format("gate_hole_diameter")]),
        ({"hole_diameter": "8 in", "gate_hole_diameter": "10 in"}, [NARROW.format("hole_diameter")]),
        ({}, []),
        # 7-1/2 in posts: 14.61 in for concrete, 15 for twice their width
        (
            {"width": "7-1/2 in", "hole_diameter": "14-3/4 in"},
            [
                "note, herb garden, holes: 14-3/4 in is less than twice the posts' width; three times the "
                "width with concrete, twice with tamped earth is common practice"
            ],
        ),
        ({"width": "7-1/2 in", "hole_diameter": "15 in"}, []),
    ],
)
def test_holes_too_narrow_for_line_or_gate_posts(
    make: SimpleNamespace, keys: dict[str, str], told: list[str]
) -> None:
    posts = make.posts(gate_deeper="0 in", **keys)
    assert posts_at(make, posts, 0.0, 48.0, 96.0, gates=(1,))[1] == told
    assert posts_at(make, posts, 0.0, 48.0, 96.0, 144.0, gates=(1,), standing=(0,))[1] == told
    assert posts_at(make, posts, 0.0, 48.0, 96.0, gates=(1,), standing=(0, 1, 2))[1] == []


def test_the_longest_of_the_posts_no_stock_serves_is_told(make: SimpleNamespace) -> None:
    line = ground_line([0, 60, 120], [0, -6, -12])
    posts = make.posts("8 ft", least_depth="36 in", depth_share=0.0)
    schedule, told = posts_at(make, posts, 0.0, 60.0, 120.0, top=62.0, line=line)
    assert schedule.stock.tolist() == [0, NO_STOCK, NO_STOCK]
    assert told[0] == (
        "warning, herb garden, posts 2-3: no stock serves: post 3 at 10' 0\" needs 6' 0\" above the ground "
        "and 36 in in it (least depth), a post of 108 in; the longest post is 8 ft, 12 in too short; add a "
        "longer post, lower the top ([top] least_height), or change the depth rule where the local code "
        "allows"
    )


@pytest.mark.parametrize(
    ("height", "railed", "least", "told"),
    [
        (
            "61-5/8 in",
            (1,),
            None,
            [
                "warning, herb garden, post 2 at 5' 0\": the post that stands here is 3/8 in too short for "
                "this top; let the pickets stand higher over the post, or set a new post"
            ],
        ),
        (
            "58-5/8 in",
            None,
            60.0,
            [
                "warning, herb garden, post 2 at 5' 0\": the post that stands here is 3-3/8 in too short for "
                "this top; lower the tops of all runs: write 56-5/8 in or less as [top] least_height and "
                "plan again; or let the pickets stand higher over the post, or set a new post"
            ],
        ),
        ("61-5/8 in", (0, 1), 60.0, []),
        ("61-3/4 in", None, 60.0, []),
        ("62 in", None, 60.0, []),
        ("62-1/4 in", None, 60.0, []),
        (
            "62-3/8 in",
            (0, 1),
            60.0,
            [
                "note, herb garden, post 2 at 5' 0\": the post that stands here is 3/8 in higher than this "
                "top wants it; let it show, or, where it is yours, cut it down once the rails hang"
            ],
        ),
    ],
)
def test_a_post_that_stands_and_is_not_as_high_as_wanted(
    make: SimpleNamespace, height: str, railed: tuple[int, ...] | None, least: float | None, told: list[str]
) -> None:
    """What the tape and the ground may be off when they are read again, 1/4 in, moves no fence."""
    posts = make.posts(height="0 in", depth_share=0.0, least_depth="31 in", gravel="0 in")
    there = [{"station": "60 in", "height": height}]
    at = (0.0, 60.0, 120.0)
    found = posts_at(make, posts, *at, standing=(1,), railed=railed, least_height=least, existing_post=there)
    assert found[1] == told


@pytest.mark.parametrize(
    ("least", "join", "post"), [("30 in", None, 0), ("29-7/8 in", None, 1), ("29-7/8 in", "back", 2)]
)
def test_a_third_of_a_post_is_in_the_ground(
    make: SimpleNamespace, least: str, join: str | None, post: int
) -> None:
    """60 in of each stand over the ground."""
    _, told = posts_at(make, make.posts(depth_share=0.0, least_depth=least), 0.0, 60.0, 120.0, join=join)
    at = ["", '0"', "5' 0\""][post]
    assert told == [
        f"warning, herb garden, post {post} at {at}: 29-7/8 in of 89-7/8 in is in the ground (33.2 %), less "
        "than the third that is common practice; dig the tall posts' holes deeper, or ask what the local "
        "code wants"
    ] * bool(post)


@pytest.mark.parametrize(
    ("keys", "stations", "place"),
    [
        ({}, (0.0, 72.0, 145.0), "1 bay from 6' 0\" to 12' 1\""),
        ({}, (0.0, 73.0, 146.0), '2 bays from 0" to 12\' 2"'),
        ({}, (0.0, 72.0, 144.0), None),
        ({"thickness": "5-1/2 in"}, (0.0, 72.0, 145.0), "1 bay from 6' 0\" to 12' 1\""),
        ({"width": "5-1/2 in", "thickness": "3-1/2 in"}, (0.0, 72.0, 145.0), "1 bay from 6' 0\" to 12' 1\""),
        ({"width": "5-1/2 in"}, (0.0, 72.0, 145.0), None),
    ],
)
def test_tall_bays_are_counted_and_placed(
    make: SimpleNamespace, keys: dict[str, str], stations: tuple[float, ...], place: str | None
) -> None:
    posts = make.posts("16 ft", height="-2 in", hole_diameter="16 in", gravel="0 in", depth_share=0.0, **keys)
    line = ground_line([0.0, 60.0, stations[-1]], [0.0, 0.0, -1.0])
    told = [t for t in posts_at(make, posts, *stations, top=79.0, line=line)[1] if "tops stand" in t]
    wide = posts.width if place else 0
    assert told == [
        f"warning, herb garden, {place}: tops stand up to 6' 8\" over the ground on posts "
        f"{make.say.fine(wide)} wide; take larger posts or set them closer, dig deeper, or ask the local "
        "authority: some ask for it above 6' 6\""
    ] * bool(place)


@pytest.mark.parametrize(("height", "buried"), [("-61-7/8 in", False), ("-62 in", True)])
def test_a_post_as_high_as_the_ground_is_buried(make: SimpleNamespace, height: str, buried: bool) -> None:
    posts = make.posts(height=height)
    if not buried:
        assert posts_at(make, posts, 0.0, 96.0, 192.0)[0].above == pytest.approx([0.125] * 3)
        return
    with pytest.raises(JobMistakesError) as found:
        posts_at(make, posts, 0.0, 96.0, 192.0, standing=(0,))
    assert [str(p) for p in found.value.problems] == [
        "herb garden, posts 2-3: no post stands above the ground: at 8' 0\" the tops are 62 in over it and "
        "[posts] height puts the post 62 in below them; write a height nearer to 0, such as -6 in or -150 mm"
    ]


WALL = (
    "the ground from 5' 0\" to 15' 0\" stands between two faces, as the top of a wall does; if it is one, "
    "dig no hole there: ask an engineer what it carries and how posts are anchored on it, and take their "
    "holes and concrete off the list"
)


@pytest.mark.parametrize(("standing", "told"), [((), [f"warning, herb garden, post 3: {WALL}"]), ((2,), [])])
def test_new_posts_between_the_faces_of_a_wall_and_not_at_them(
    make: SimpleNamespace, standing: tuple[int, ...], told: list[str]
) -> None:
    line = ground_line([0, 60, 60, 180, 180, 240], [0, 0, 10, 10, 0, 0])
    assert (
        posts_at(make, make.posts(), 0.0, 60.0, 120.0, 180.0, 240.0, line=line, standing=standing)[1] == told
    )


def _sold(eight: float | None, ten: float | None) -> list[dict[str, Any]]:
    return [{"length": "8 ft", "price": eight}, {"length": "10 ft", "price": ten}]


@pytest.mark.parametrize(
    ("stock", "gates", "saved"),
    [
        (_sold(14.0, 18.5), (), {"posts 1-3": (", 13.50 less", " than one of 10 ft")}),
        (
            _sold(14.0, 18.5),
            (1,),
            {
                "posts 1, 3": (", 9.00 less", " than one of 10 ft"),
                "post 2": (", 4.50 less", " than one of 10 ft"),
            },
        ),
        (_sold(14.0, 14.0), (), {"posts 1-3": ("", "")}),
        (_sold(None, None), (), {"posts 1-3": ("", "")}),
        (_sold(14.0, 18.5)[:1], (), {"posts 1-3": ("", "")}),
    ],
)
def test_what_a_shorter_post_spares_taken_or_to_be_had(
    make: SimpleNamespace,
    stock: list[dict[str, Any]],
    gates: tuple[int, ...],
    saved: dict[str, tuple[str, str]],
) -> None:
    """68 in over the ground want 34 in it; 8 ft leave 28, which is 29.2 % of it."""
    keys = {"height": "-6 in", "stock": stock, "gate_deeper": "0 in", "gravel": "0 in"}
    for tolerance in (0.0, 0.05):
        posts = make.posts(share_tolerance=tolerance, **keys)
        _, told = posts_at(make, posts, 0.0, 96.0, 192.0, top=74.0, gates=gates)
        left = "28 in in the ground (29.2 %)"
        assert [t for t in told if "8 ft gives" in t or "suffices" in t] == [
            f"note, herb garden, {place}: a post of 8 ft suffices: it leaves {left}, 6 in less than "
            f"the usual third asks{less}{than}; where the full share is wanted, write "
            'share_tolerance = "0 %" under [posts] in the job file'
            if tolerance
            else f"note, herb garden, {place}: 6 in more than a post of 8 ft gives; it would leave "
            f"{left}{less}; where that is enough, write depth_share = 0.291 under [posts] in the job file"
            for place, (less, than) in saved.items()
        ]


def test_a_share_eased_is_held_against_the_one_the_job_asks(make: SimpleNamespace) -> None:
    """60 in over the ground want 40 in it for two fifths; 8 ft leave 36, which is 37.5 % of it."""
    posts = make.posts("8 ft", "10 ft", depth_share=0.4, share_tolerance=0.05, gate_deeper="0 in")
    _, told = posts_at(make, posts, 0.0, 96.0, 192.0, top=62.0)
    (found,) = [t for t in told if "suffices" in t]
    assert "36 in in the ground (37.5 %), 4 in less than the 40 % of depth_share asks" in found
    assert "third" not in found
