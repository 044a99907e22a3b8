"""What a record says against the plan, each sentence whole and at its threshold; planned but once."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fencegrade.fence.tops.asked import TopChoice
from fencegrade.job.as_built import (
    AsBuilt,
    BoardsLeft,
    BuiltRun,
    CutAlike,
    LeftOut,
    MeasuredGround,
    PicketUp,
    PostSet,
)
from fencegrade.job.read import Job, read_job
from fencegrade.planning.layout import RunLayout, survey_grounds
from fencegrade.planning.plan import laid_and_topped
from fencegrade.planning.standing import as_it_stands
from fencegrade.planning.tops import styles_asked
from fencegrade.problems import JobMistakesError

Planned = tuple[Job, tuple[RunLayout, ...], tuple[TopChoice, ...]]


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    """40 ft with a gate from 16 to 20 ft, its posts every 8 ft at most, pickets of 5-1/2 in."""
    folder: Path = tmp_path_factory.mktemp("herb")
    (folder / "job.toml").write_text(
        '[job]\ntitle = "Herb garden"\nunits = "imperial"\n'
        '[[run]]\nname = "lane side"\nsurvey = "lane.csv"\n'
        '[[run.gate]]\nstation = "16 ft"\nwidth = "4 ft"\n'
        '[[pickets.stock]]\nlength = "6 ft"\nprice = 4.0\n[[pickets.stock]]\nlength = "8 ft"\nprice = 6.0\n'
    )
    (folder / "lane.csv").write_text("station [ft],drop [in]\n0,20\n8,21\n16,22\n20,22\n30,24\n40,26\n")
    job = read_job(folder)
    grounds, _ = survey_grounds(job)
    layouts, choices, _ = laid_and_topped(job, grounds, styles_asked(job))
    return job, tuple(layouts), tuple(choices)


def stood(
    planned: Planned, left: tuple[BoardsLeft, ...] | None = None, **run: Any
) -> tuple[RunLayout, list[str]]:
    """The layout as it stands, and all that is said of the record; mistakes alone where there are some."""
    job, layouts, choices = planned
    built = AsBuilt(run=(BuiltRun(name="lane side", **run),), left=left)
    try:
        (layout,), _, told = as_it_stands(replace(job, built=built), layouts, choices)
    except JobMistakesError as error:
        return layouts[0], [f"{p.severity}, {p}" for p in error.problems]
    assert all(p.on_record for p in told)
    return layout, [f"{p.severity}, {p}" for p in told]


PLAN = (0.0, 95.125, 190.25, 241.75, 321.1666666667, 400.5833333333, 480.0)
FROM_PLAN = "from its plan, toward the {}; rails and boards to come are planned from it"
PAST = (
    "note, lane side: post 7 stands {} past the last reading, where the boards end; set the last board to "
    "the post; the ground there was not measured"
)
CHECK = "check number and station"


@pytest.mark.parametrize(
    ("number", "station", "told"),
    [
        # half an inch from its plan is no news, an eighth of the spacing looks like a slip, half a bay is
        (2, 95.625, []),
        (2, 95.6875, [f"note, lane side, post 2: stands 9/16 in {FROM_PLAN.format('end')}"]),
        (2, 94.625, []),
        (2, 94.5625, [f"note, lane side, post 2: stands 9/16 in {FROM_PLAN.format('start')}"]),
        (
            2,
            143.125,
            [
                "warning, lane side, post 2: stands 48 in from its plan, toward the end; check its number, "
                "its run and its station; rails and boards to come are planned from it",
                "warning, lane side, bay 1: no rail reaches between the posts as set: 144-7/8 in is needed, "
                "the longest is 144 in; set a post again, add one between, or buy a longer rail",
            ],
        ),
        (2, 143.1875, [f"mistake, built.toml, station: post 2 is 48-1/16 in from its plan; {CHECK}"]),
        # past the last reading: told from 1/16 in on, a slip from a post's width on
        (7, 480.0625, []),
        (7, 480.125, [PAST.format("1/8 in")]),
        (
            7,
            483.5,
            [
                f"note, lane side, post 7: stands 3-1/2 in {FROM_PLAN.format('end')}",
                PAST.format("3-1/2 in"),
            ],
        ),
        (
            7,
            483.5625,
            [
                "mistake, built.toml, station: 40' 3-9/16\" lies outside the readings; take a reading there "
                "and add it to the survey"
            ],
        ),
        (
            1,
            -3.5,
            [
                f"note, lane side, post 1: stands 3-1/2 in {FROM_PLAN.format('start')}",
                "note, lane side: post 1 stands 3-1/2 in before the first reading, where the boards begin; "
                "set the first board to the post; the ground there was not measured",
                "warning, lane side, bay 1: 98-5/8 in between the posts as set is more than the spacing, 96 "
                "in; check both stations; a post or a stiffer rail may be needed between",
            ],
        ),
        (
            1,
            -3.625,
            [
                'mistake, built.toml, station: -3-5/8" lies outside the readings; take a reading there and '
                "add it to the survey"
            ],
        ),
        (
            8,
            480.0,
            [
                "mistake, built.toml, number: the plan has no post 8 in lane side, only 7; check the number",
            ],
        ),
    ],
)
def test_what_is_said_of_a_post_as_set(
    planned: Planned, number: int, station: float, told: list[str]
) -> None:
    layout, found = stood(planned, post=(PostSet(number=number, station=station),))
    assert found == told
    stations, standing = list(PLAN), [False] * 7
    if not found or not found[0].startswith("mistake"):
        stations[number - 1], standing[number - 1] = station, True
        assert (layout.start, layout.end) == (0.0, 480.0), "no board over ground that nobody read"
    assert layout.bays.posts == pytest.approx(stations)
    assert layout.bays.standing.tolist() == standing


@pytest.mark.parametrize(
    ("second", "told"),
    [
        (443.5, []),
        # a post is 3-1/2 in wide, and half an inch of that is let pass
        (443.0, []),
        (
            442.9375,
            [
                "mistake, built.toml, post: posts 6 and 7 stand in each other: a post is 3-1/2 in wide, and "
                f"their middles are 2-15/16 in apart; {CHECK}; each is the middle of its post"
            ],
        ),
        (
            432.5,
            [
                "mistake, built.toml, post: posts 6 and 7 stand in the other order, 7-1/2 in apart; "
                f"{CHECK}; each is the middle of its post"
            ],
        ),
    ],
)
def test_posts_that_stand_in_each_other(planned: Planned, second: float, told: list[str]) -> None:
    posts = (PostSet(number=6, station=440.0), PostSet(number=7, station=second))
    _, found = stood(planned, post=posts)
    assert [t for t in found if t.startswith("mistake")] == told


@pytest.mark.parametrize(
    ("posts", "opening", "told"),
    [
        ({3: 191.0}, (192.75, 47.25), "47-1/4 in"),
        ({4: 243.0}, (192.0, 49.25), "49-1/4 in"),
        ({3: 188.5, 4: 243.5}, (190.25, 51.5), "51-1/2 in"),
        ({2: 95.0}, (192.0, 48.0), None),
    ],
)
def test_an_opening_is_what_its_posts_leave(
    planned: Planned, posts: dict[int, float], opening: tuple[float, float], told: str | None
) -> None:
    layout, found = stood(planned, post=tuple(PostSet(number=n, station=x) for n, x in posts.items()))
    assert (layout.run.gate[0].station, layout.run.gate[0].width) == opening
    said = (
        f"warning, lane side, gate 1: the opening as it stands is {told} wide, planned 48 in; make the gate "
        "to the opening"
    )
    assert [t for t in found if "opening" in t] == [said] * (told is not None)
    before = planned[1][0].gates[0].leaf_width
    assert layout.gates[0].leaf_width == pytest.approx(before + opening[1] - 48)


@pytest.mark.parametrize(
    ("beyond", "told"),
    [
        (0.03125, []),
        (
            0.0625,
            [
                "warning, lane side: picket 75 stands 1/16 in past the run's end; it is planned as if it "
                "ended there; rip it where something must meet it"
            ],
        ),
        (
            2.75,
            [
                "warning, lane side: picket 75 stands 2-3/4 in past the run's end; it is planned as if it "
                "ended there; rip it where something must meet it"
            ],
        ),
        (
            2.875,
            [
                "mistake, built.toml, far_edge: 40' 2-7/8\" lies beyond 40' 0\", where the run ends; check "
                "the station, that of the last board's far edge, and the post as set"
            ],
        ),
    ],
)
def test_a_last_board_up_to_half_its_width_past_the_end(
    planned: Planned, beyond: float, told: list[str]
) -> None:
    layout, found = stood(planned, picket=(PicketUp(number=75, far_edge=480.0 + beyond),))
    assert found == told
    assert layout.slots.right[-1] == pytest.approx(480.0, abs=0.04)


@pytest.mark.parametrize(("beyond", "mistaken"), [(0.25, False), (2.75, False), (2.875, True)])
def test_a_last_board_up_to_half_its_width_into_an_opening(
    planned: Planned, beyond: float, mistaken: bool
) -> None:
    layout, found = stood(planned, picket=(PicketUp(number=33, far_edge=192.0 + beyond),))
    assert [t.split(",")[0] for t in found] == ["mistake" if mistaken else "warning"]
    wanted = (192.0, 48.0) if mistaken else (192.0 + beyond, 48.0 - beyond)
    assert (layout.run.gate[0].station, layout.run.gate[0].width) == wanted


@pytest.mark.parametrize(
    ("last", "standing", "railed"), [(5, 2, 1), (16, 2, 1), (17, 3, 2), (33, 3, 2), (34, 5, 3), (75, 7, 5)]
)
def test_posts_behind_the_last_board_stand_and_their_rails_are_up(
    planned: Planned, last: int, standing: int, railed: int
) -> None:
    """Picket 16 ends before the second post and 17 past it: then the third, which that bay's rails end on."""
    edge = float(planned[1][0].slots.right[last - 1])
    layout, found = stood(planned, picket=(PicketUp(number=last, far_edge=edge),))
    assert found == []
    assert layout.bays.standing.tolist() == [k < standing for k in range(7)]
    assert layout.standing is not None
    assert layout.standing.railed.tolist() == [k < railed for k in range(5)]
    assert layout.standing.up.tolist() == [k < last for k in range(75)]


def test_lengths_of_what_is_up_and_of_what_is_listed(planned: Planned) -> None:
    """Pickets 1 to 5 are up, of them 2 and 3 left out; 1 to 8 and 75 were cut by the list, 5 otherwise."""
    edge = float(planned[1][0].slots.right[4])
    layout, found = stood(
        planned,
        picket=(PicketUp(number=5, far_edge=edge, kept=70.0),),
        cut=(CutAlike(kept=71.0, pickets="1-8, 75, 76"),),
        later=(LeftOut(first=2, last=3),),
    )
    assert found == []
    stands = layout.standing
    assert stands is not None
    up = [True, False, False, True, True]
    assert stands.up.tolist() == up + [False] * 70
    kept = [71.0, np.nan, np.nan, 71.0, 70.0] + [np.nan] * 70
    cut = [np.nan, 71.0, 71.0, np.nan, np.nan, 71.0, 71.0, 71.0] + [np.nan] * 66 + [71.0]
    np.testing.assert_array_equal(stands.kept, kept)
    np.testing.assert_array_equal(stands.cut, cut)


@pytest.mark.parametrize(
    ("run", "told"),
    [
        ({"later": (LeftOut(first=3, last=9),)}, []),
        (
            {"later": (LeftOut(first=3, last=10),)},
            [
                "mistake, built.toml, last: picket 10 is past the last one up, 10, and comes later anyway; "
                "keep what was left out below the last one up"
            ],
        ),
        ({"measured": (MeasuredGround(number=75, drop=(79.5,)),)}, []),
        (
            {"measured": (MeasuredGround(number=76, drop=(78.0,)),)},
            ["mistake, built.toml, number: the fence has no picket 76, only 75; check the number"],
        ),
        ({"measured": (MeasuredGround(number=33, drop=(76.5,), left_edge=189.25),)}, []),
        (
            {"measured": (MeasuredGround(number=33, drop=(78.0,), left_edge=189.3125),)},
            [
                "warning, built.toml, left_edge: no board begins at 15' 9-5/16\", where this one did; "
                "measure the boards there again"
            ],
        ),
    ],
)
def test_rows_for_pickets_that_are_not_there(planned: Planned, run: dict[str, Any], told: list[str]) -> None:
    """Ten are up; picket 33 begins at 186-1/2 in, and half a board is 2-3/4 in."""
    edge = float(planned[1][0].slots.right[9])
    _, found = stood(planned, picket=(PicketUp(number=10, far_edge=edge),), **run)
    assert [t for t in found if "gap" not in t] == told


def test_boards_left_are_counted_after_the_last_one_up(planned: Planned) -> None:
    left = (BoardsLeft(length=72.0, count=3),)
    edge = float(planned[1][0].slots.right[4])
    _, found = stood(planned, left, picket=(PicketUp(number=5, far_edge=edge),))
    assert found == [
        "note, built.toml: the boards left are taken as counted when the last one up was picket 5 of lane "
        "side; count them again if more went up since"
    ]
    assert stood(planned, left) == (planned[1][0], [])
