"""The fence as it stands: posts as set, ground measured in place, boards cut otherwise, stretches left."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hollow import HOLLOW, a_job
from small_job import mistakes_of

from fencegrade.building.record import as_it_hangs, with_lists
from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.as_built import (
    AsBuilt,
    BoardsLeft,
    BuiltRun,
    CutAlike,
    LeftOut,
    MeasuredGround,
    PicketUp,
    PostSet,
    TopPoint,
)
from fencegrade.job.read import Job
from fencegrade.job.records import Stock
from fencegrade.planning.buying import buying_list
from fencegrade.planning.hanging import posts_over_line, spaces_to_set, tops_over_line
from fencegrade.planning.layout import rail_lengths
from fencegrade.planning.measured import BESIDE, believed_off
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.problems import JobMistakesError, Severity
from fencegrade.sheets.drawings.parts import run_parts
from fencegrade.sheets.facts import as_before, run_facts, used_words
from fencegrade.sheets.rail_lines import rail_marks
from fencegrade.sheets.schedules import gap_table
from fencegrade.units import parse_length


def standing(
    job: Job, under: str | None = None, left: tuple[BoardsLeft, ...] | None = None, **run: Any
) -> FencePlan:
    built = AsBuilt(run=(BuiltRun(name="lane side", **run),), left=left)
    return plan_fence(replace(job, built=built), under)


def edge(plan: FencePlan, number: int) -> float:
    return float(plan.runs[0].slots.right[number - 1])


def up(plan: FencePlan, number: int, beyond: float = 0.0, **more: Any) -> PicketUp:
    return PicketUp(number=number, far_edge=edge(plan, number) + beyond, **more)


def faults(job: Job, **run: Any) -> list[str]:
    return mistakes_of(lambda: standing(job, **run))


def test_no_listed_board_is_cut_again_for_a_hair(tmp_path: Path) -> None:
    """A board may have been cut by the list: 1/32 in less under it than wanted is none, 1/16 in is."""
    flat = "station [ft],drop [in]\n" + "".join(f"{x},{{0}}\n" for x in range(0, 44, 4))
    listed = plan_fence(a_job(tmp_path, flat.format("20.0"), 'stop_settings = "every length"'))
    kept = listed.runs[0].cuts.kept
    top = listed.runs[0].top
    hung = tuple(TopPoint(station=s, elevation=float(top.at(np.array(s)))) for s in (0.0, 480.0))

    def cut_now(drop: str) -> set[int]:
        job = a_job(tmp_path, flat.format(drop), 'stop_settings = "every length"')
        cut = (CutAlike(kept=float(kept[0]) * job.tape, pickets=f"1-{len(kept)}"),)
        plan = standing(job, top=hung, picket=(up(listed, 3),), cut=cut)
        gap = plan.runs[0].cuts.gap[5:]
        assert gap.min() >= 2 - 1 / 32
        return set((plan.runs[0].cuts.kept[5:] - kept[0]).tolist())

    assert set((kept - kept[0]).tolist()) == {0}
    assert cut_now("19.98") == {0}
    assert cut_now("19.95") == {-1}


def test_what_stands_is_neither_cut_nor_bought_again(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    first = plan_fence(job)
    plan = standing(job, picket=(up(first, 30, 0.9),))
    run, count = plan.runs[0], len(plan.runs[0].slots)
    assert np.flatnonzero(run.flags[PicketFlag.STANDS]).tolist() == list(range(30))
    assert not run.flags[PicketFlag.NO_STOCK].any()
    assert len(plan.families.pickets.asked) == count - 30
    reached = edge(first, 30) + 0.9
    ahead = int((run.posts.station < reached).sum())
    assert run.posts.standing.tolist() == [k <= ahead for k in range(len(run.posts))], "to the end of its bay"
    assert len(plan.families.posts.asked) == len(run.posts) - ahead - 1
    assert (run.rails_coming == (run.layout.bays.left >= reached)[run.rail_pieces.first_bay]).all()
    assert len(plan.families.rails.asked) == int(run.rails_coming.sum())
    assert run.slots.right[-1] == pytest.approx(480.0)
    assert edge(plan, 15) == pytest.approx(edge(first, 15) + 15 * 0.03), "each board as wide as those to come"


def test_boards_that_run_wide_or_narrow_are_believed(tmp_path: Path) -> None:
    """30 boards that reach 0.9 in too far are 0.03 in wider each; a width written is taken at once."""
    job = a_job(tmp_path)
    first = plan_fence(job)

    def width(*pickets: PicketUp) -> float:
        return standing(job, picket=pickets).runs[0].layout.width

    assert width(up(first, 30, 0.9)) == pytest.approx(5.53)
    assert width(up(first, 9, 0.27)) == pytest.approx(5.5)
    assert width(up(first, 9, -0.9, width=5.4)) == pytest.approx(5.4)
    assert width(up(first, 9, 0.0, width=2.0)) == pytest.approx(5.5)
    plan = standing(job, picket=(up(first, 9, -1.0625, width=5.382),))
    told = [str(p) for p in plan.problems]
    assert not any("boards end at" in t for t in told)
    assert not plan.runs[0].flags[PicketFlag.RIPPED].any()
    coming = plan.runs[0].slots.width[9:]
    assert coming == pytest.approx(np.full(len(coming), 5.382))


def test_a_board_cut_short_stands_with_the_gap_it_leaves(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    first = plan_fence(job)
    was = float(first.runs[0].cuts.kept[11] * first.mark)
    plan = standing(job, picket=(up(first, 12, kept=was - 4.0), up(first, 20)))
    cuts, before = plan.runs[0].cuts, first.runs[0].cuts
    assert cuts.kept[11] * plan.mark == was - 4.0
    assert cuts.gap[11] == pytest.approx(before.gap[11] + 4.0)
    assert cuts.gap[10] == pytest.approx(before.gap[10])
    assert plan.runs[0].flags[PicketFlag.GAP][11]
    (told,) = [p.remedy for p in plan.problems if "what stands leaves" in p.found]
    assert told == f"fill beneath it, or take it down and hang one of {plan.words.length(was)}"
    assert [row[2:6:3] for row in gap_table(plan, 0).rows if row[5] not in set(GapAction)] == [
        (12, "fill, or hang a longer one")
    ]


def test_a_board_said_to_reach_into_the_ground_is_doubted(tmp_path: Path) -> None:
    """To its place in the ground, and what the readings leave likely, it may; an inch more is a slip."""
    first = plan_fence(a_job(tmp_path))
    down = float(first.runs[0].cuts.tallest[11])
    likely = float(believed_off(first.runs[0].ground, first.runs[0].slots)[11])

    def told(kept: float) -> list[str]:
        plan = standing(first.job, picket=(up(first, 12, kept=kept), up(first, 20)))
        return [p.found for p in plan.problems if p.place.endswith("kept")]

    assert told(down + likely - 0.01) == told(down - 30) == []
    (found,) = told(down + likely + 1)
    assert "from the line of the tops reaches" in found
    assert "into the ground through the readings" in found


def test_a_board_that_stands_too_short_is_offered_where_it_is_long_enough(tmp_path: Path) -> None:
    """The ground rises by 10 in past the boards that are up: the first board there that is no longer."""
    job = a_job(tmp_path, survey="station [ft],drop [in]\n0,30\n12,30\n20,20\n40,20\n")
    first = plan_fence(job)
    was = float(first.runs[0].cuts.kept[11] * first.mark)
    plan = standing(job, picket=(up(first, 12, kept=was - 4.0), up(first, 20)))
    (told,) = [p.remedy for p in plan.problems if "what stands leaves" in p.found]
    kept, coming = plan.runs[0].cuts.kept, plan.runs[0].doubt.from_chart & plan.runs[0].layout.coming
    fits = [k for k in np.flatnonzero(coming) if kept[k] <= kept[11]]
    best = max(fits, key=lambda k: (kept[k], -k))
    assert told.endswith(f" (it is long enough for picket {best + 1})")


def test_a_measured_board_is_found_where_it_stood(tmp_path: Path) -> None:
    """Of boards laid again there is one fewer: by its edge a measurement stays at its place."""
    job = a_job(tmp_path)
    first = plan_fence(job)
    last = up(first, 10, beyond=4.5)
    k = 29
    edge = float(first.runs[0].slots.left[k])
    drop = (float(first.runs[0].cuts.tallest[k]) + 3.0,)
    plan = standing(job, picket=(last,))
    moved = int(np.argmin(np.abs(plan.runs[0].slots.left - edge)))
    assert moved == k - 1
    between = float(plan.runs[0].slots.left[k : k + 2].mean())
    rows = (MeasuredGround(number=k + 1, drop=drop, left_edge=edge),)
    plan = standing(job, picket=(last,), measured=rows)
    assert np.flatnonzero(plan.runs[0].layout.measured).tolist() == [moved]
    rows = (MeasuredGround(number=300, drop=drop, left_edge=between),)
    gone = standing(job, picket=(last,), measured=rows)
    assert not gone.runs[0].layout.measured.any()
    assert any("no board begins at" in p.found for p in gone.problems)


def test_ground_measured_in_place_decides_its_board(tmp_path: Path) -> None:
    """Top less drop is the ground: a board of 74 in down to the higher edge is 72 in long, past doubt."""
    job = a_job(tmp_path, survey="station [ft],drop [in]\n0,20\n20,34\n40,20\n")
    first = plan_fence(job)
    doubted = np.flatnonzero(first.runs[0].flags[PicketFlag.MARK_IN_PLACE])
    assert {29, 30, 31} <= set(doubted.tolist())
    rows = (MeasuredGround(number=30, drop=(74.0, 74.75)), MeasuredGround(number=31, drop=(79.5,)))
    plan = standing(job, picket=(up(first, 4),), measured=rows)
    run = plan.runs[0]
    assert run.cuts.kept[29] * plan.mark == 72.0
    assert run.cuts.gap[29] == pytest.approx(2.75)
    assert run.cuts.kept[30] * plan.mark == 77.5
    assert not run.flags[PicketFlag.MARK_IN_PLACE][[29, 30]].any()
    assert run.flags[PicketFlag.MARK_IN_PLACE][31]
    line, top = run.ground.profile.line, float(run.cuts.top[29])
    assert line.highest(run.slots.left[29:30], run.slots.right[29:30])[0] == pytest.approx(top - 74.0)


@pytest.mark.parametrize(("off", "told"), [(0.9, ""), (1.1, "under"), (-0.9, ""), (-1.1, "over")])
def test_ground_measured_outside_the_length_to_expect_is_doubted(
    tmp_path: Path, off: float, told: str
) -> None:
    """Its length is told with what the readings leave likely in 95 cases of 100; an inch more is let be.
    Until it is measured again or confirmed, the board is not cut from the list."""
    job = a_job(tmp_path, survey="station [ft],drop [in]\n0,20\n20,34\n40,20\n")
    run = standing(job).runs[0]
    depth = float((run.cuts.top - run.ground.line.highest(run.slots.left, run.slots.right))[29])
    drop = depth + off * (float(run.doubt.half[29]) + BESIDE)
    plan = standing(job, measured=(MeasuredGround(number=30, drop=(drop, drop)),))
    said = [p.found for p in plan.problems if p.place.endswith("drop")]
    assert bool(said) == bool(told)
    assert all(f" {told} the line through the readings" in s for s in said)
    assert bool(plan.runs[0].doubt.from_chart[29]) == (not told)
    plan = standing(job, measured=(MeasuredGround(number=30, drop=(drop, drop), confirmed=True),))
    assert plan.runs[0].doubt.from_chart[29]
    assert not any(p.place.endswith("drop") for p in plan.problems)


def test_a_post_off_its_mark_takes_its_rails_along(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    first = plan_fence(job)
    station = first.runs[0].posts.station.copy()
    station[2] += 1.5
    plan = standing(job, post=(PostSet(number=3, station=float(station[2]), top=70.0),))
    run = plan.runs[0]
    uncut = standing(job, post=(PostSet(number=3, station=float(station[2])),)).runs[0]
    wanted = tops_over_line(uncut, uncut.posts.station) + job.posts.height
    assert posts_over_line(uncut) == pytest.approx(wanted)  # set long: still to be cut there
    assert run.posts.station.tolist() == station.tolist()
    assert run.layout.bays.width[1] == pytest.approx(station[2] - station[1])
    assert run.posts.standing.tolist() == [k == 2 for k in range(len(station))]
    assert run.posts.above[2] == 70.0
    assert run.slots.left == pytest.approx(first.runs[0].slots.left)
    told = [str(p) for p in plan.problems]
    assert any("post 3: stands 1-1/2 in from its plan, toward the end" in t for t in told)
    bay = (run.rail_pieces.first_bay <= 1) & (run.rail_pieces.last_bay >= 1)
    assert not np.allclose(run.rail_pieces.length[bay], first.runs[0].rail_pieces.length[bay])


@pytest.mark.parametrize(
    ("number", "off", "top", "words"),
    [
        (3, 1.0, None, ""),
        (3, 1.25, None, "bay 2: 97-1/4 in between the posts as set is more than the spacing, 96 in"),
        (3, 13.0, None, "stands 13 in from its plan, toward the end; check its number, its run"),
        (2, -8.0, None, "lane side, bay 2: 104 in between the posts as set is more than the spacing, 96 in"),
        (2, 9.0, None, "post 2: stands at 8' 9\", in the root from 8' 8\" to 8' 10\""),
        (2, 1.0, None, ""),
        (2, 0.0, 100.0, "100 in over the ground is more than the longest post, 96 in"),
        (2, 0.0, 90.0, ""),
    ],
)
def test_slips_of_posts_as_set_are_told(
    tmp_path: Path, number: int, off: float, top: float | None, words: str
) -> None:
    """What a decimal, a run or a number written wrong makes of a post stands among what is to be decided."""
    root = '[[run.root]]\nstart = "8 ft 8 in"\nend = "8 ft 10 in"\n'
    more = '[rails]\n[[rails.stock]]\nlength = "12 ft"\n[posts]\n[[posts.stock]]\nlength = "8 ft"\n'
    job = a_job(tmp_path, run=root, rest=more)
    station = 96.0 * (number - 1) + off
    plan = standing(job, post=(PostSet(number=number, station=station, top=top),))
    told = [str(p) for p in plan.problems if p.severity is Severity.WARNING and p.on_record]
    slips = [t for t in told if "as set" in t or "stands" in t or "over the ground" in t]
    assert any(words in t for t in slips) if words else not slips, told


def test_an_end_post_and_a_gate_post_move_what_lies_against_them(tmp_path: Path) -> None:
    job = a_job(tmp_path, run='[[run.gate]]\nstation = "16 ft"\nwidth = "4 ft"')
    first = plan_fence(job).runs[0]
    number = int(np.flatnonzero(np.abs(first.posts.station - (192.0 - 1.75)) < 1e-6)[0]) + 1
    last = len(first.posts)
    posts = (PostSet(number=number, station=189.25), PostSet(number=last, station=479.0))
    plan = standing(job, post=posts)
    run = plan.runs[0]
    assert run.run.gate[0].station == 191.0
    assert run.run.gate[0].width == 49.0
    assert run.end == 479.0
    assert run.slots.right[-1] == pytest.approx(479.0)
    assert float(run.slots.right[run.slots.right < 195].max()) == pytest.approx(191.0)
    assert any("the opening as it stands is 49 in wide, planned 48 in" in str(p) for p in plan.problems)


@pytest.mark.parametrize("style", ["level", "racked"])
def test_an_end_post_past_the_readings_keeps_its_place_its_top_and_its_rails(
    tmp_path: Path, style: str
) -> None:
    """The rails run to the far face of the post, the boards to the last reading as planned."""
    job = a_job(tmp_path)
    first = plan_fence(job, style).runs[0]
    last = len(first.posts)
    posts = (PostSet(number=1, station=-2.0, top=61.0), PostSet(number=last, station=483.0, top=62.0))
    run = standing(job, style, post=posts).runs[0]
    assert run.posts.station[[0, -1]].tolist() == [-2.0, 483.0]
    assert run.posts.above[[0, -1]].tolist() == [61.0, 62.0]
    assert run.posts.top - run.posts.above == pytest.approx(first.posts.ground)
    longer = rail_lengths(run.layout, run.top) - rail_lengths(first.layout, first.top)
    assert longer[[0, -1]] == pytest.approx([2.0, 3.0], abs=0.02)
    assert longer[1:-1] == pytest.approx(0.0)
    assert run.slots.left.tolist() == first.slots.left.tolist()
    assert run.cuts.kept.tolist() == first.cuts.kept.tolist()
    assert np.isfinite(posts_over_line(run)).all()
    (drawn,) = run_parts(run, np.inf)
    assert (drawn.start, drawn.end) == (-2.0, 483.0)
    slopes = run.top.slopes[[0, -1]], first.top.slopes[[0, -1]]
    assert slopes[0] == pytest.approx(slopes[1])


def test_a_gate_whose_post_takes_it_past_the_readings_is_refused(tmp_path: Path) -> None:
    job = a_job(tmp_path, run='[[run.gate]]\nstation = "35 ft 10-1/4 in"\nwidth = "4 ft"')
    last = len(plan_fence(job).runs[0].posts)
    told = faults(job, post=(PostSet(number=last, station=482.0),))
    assert told == [
        "lane side, gate 1: the opening as set, 35' 10-1/4\" to 40' 0-1/4\", "
        "reaches the end of the readings; "
        "take a reading there and add it to the survey"
    ]
    run = standing(job, post=(PostSet(number=last, station=481.0),)).runs[0]
    assert run.run.gate[0].width == 49.0


def test_a_gate_off_its_planned_width_is_told_of_as_it_is_made(tmp_path: Path) -> None:
    slope = "station [ft],drop [in]\n0,20\n10,40\n20,60\n30,80\n40,100\n"
    job = a_job(tmp_path, slope, run='[[run.gate]]\nstation = "16 ft"\nwidth = "4 ft"')
    before = plan_fence(job)
    post = int(np.abs(before.runs[0].posts.station - 192.0).argmin())
    moved = PostSet(number=post + 1, station=float(before.runs[0].posts.station[post]) - 2.0)
    leaves = [
        [p.found for p in plan.problems if p.found.startswith("a leaf of ")]
        for plan in (before, standing(job, post=(moved,)))
    ]
    assert [len(told) for told in leaves] == [1, 1]
    assert leaves[0] != leaves[1]


@pytest.mark.parametrize("style", ["stepped", "racked"])
def test_steps_and_bends_go_where_their_posts_were_set(tmp_path: Path, style: str) -> None:
    job = a_job(tmp_path)
    first = plan_fence(job, style)
    station = float(first.runs[0].posts.station[2])
    plan = standing(job, style, post=(PostSet(number=3, station=station + 2.0),))
    assert (np.abs(plan.runs[0].top.stations - station - 2.0) < 1e-6).any()
    assert not (np.abs(plan.runs[0].top.stations - station) < 1e-6).any()
    assert (plan.runs[0].top.elevations == first.runs[0].top.elevations).all()
    if style == "stepped":
        before, after = (
            plan.runs[0].slots.right <= station + 2.001,
            plan.runs[0].slots.left >= station + 1.999,
        )
        assert (before | after).all()


def test_an_edge_where_the_sheets_with_the_posts_as_set_have_it_is_not_doubted(tmp_path: Path) -> None:
    """Sheets are made again once posts stand: their edges are those of the bay as it is now."""
    job = a_job(tmp_path, pickets='spacing = "1 in"')
    first = plan_fence(job, "stepped").runs[0]
    post = PostSet(number=2, station=float(first.posts.station[1]) + 5.0)
    sheets = standing(job, "stepped", post=(post,))
    last = int((sheets.runs[0].slots.right < post.station).sum())
    plan = standing(job, "stepped", post=(post,), picket=(up(sheets, last),))
    assert not [p for p in plan.problems if p.place.endswith("far_edge")]
    assert plan.runs[0].slots.right == pytest.approx(sheets.runs[0].slots.right)
    before = int((first.slots.right < first.posts.station[1]).sum())
    hung = PicketUp(number=before, far_edge=float(first.slots.right[before - 1]))
    plan = standing(job, "stepped", post=(post,), picket=(hung,))
    assert plan.runs[0].slots.right[:before] == pytest.approx(first.slots.right[:before])


def test_boards_of_a_length_that_was_not_counted_are_still_there(tmp_path: Path) -> None:
    """Of 6 ft nothing is said: what the list gave to the pickets that are up is gone from 40, no more."""
    job = a_job(tmp_path)
    stock = tuple(replace(s, on_hand=40) for s in job.pickets.stock)
    job = replace(job, pickets=replace(job.pickets, stock=stock))
    first = plan_fence(job)
    counted = standing(job, left=(BoardsLeft(length=96.0, count=9),), picket=(up(first, 10),))
    silent = standing(job, picket=(up(first, 10),))
    six, eight = counted.stock.offered
    assert (six.on_hand, eight.on_hand) == (silent.stock.offered[0].on_hand, 9)
    assert 0 < six.on_hand <= 40


@pytest.mark.parametrize(
    ("flat", "up_now", "stock", "there"),
    [  # length, price, on hand, limit; the first three pickets take 6 ft, those after them 8 ft
        (False, 3, [(72, 4, 0, 0), (84, None, 5, 0), (96, 6, 0, None)], 5),
        (False, 10, [(72, 4, 0, None), (96, 6, 9, None)], 2),
        (True, 7, [(72, 4, 0, None), (96, 6, 0, None), (192, 9, 3, None)], 0),
    ],
)
def test_what_stands_was_cut_from_boards_on_hand_first_and_from_no_more_than_it_takes(
    tmp_path: Path, flat: bool, up_now: int, stock: list[tuple[Any, ...]], there: int
) -> None:
    """A length that is sold no more and not there was sold when what stands was cut of it; boards of one
    length look alike, and those on hand go first; one that is begun is there for the rest of its pieces."""
    job = a_job(tmp_path, pickets='top_end = "flat"' if flat else "")
    keys = ("length", "price", "on_hand", "limit")
    offered = tuple(replace(job.pickets.stock[0], **dict(zip(keys, row, strict=True))) for row in stock)
    job = replace(job, pickets=replace(job.pickets, stock=offered))
    plan = standing(job, picket=(up(plan_fence(job), up_now),))
    own = plan.families.pickets
    assert sum(s.on_hand for s in own.offered) - sum(own.begun) == there
    up_yet = {f"picket {k + 1}" for k in range(up_now)}
    with_others = [b for b in own.traced() if up_yet & set(b.names)]
    assert bool(with_others) == bool(sum(own.begun)) == flat


@pytest.mark.parametrize(("up_now", "fewer"), [(4, (1, 0)), (60, (0,))])
def test_what_was_bought_for_the_whole_fence_is_just_enough_for_the_rest(
    tmp_path: Path, up_now: int, fewer: tuple[int, ...]
) -> None:
    """All posts, rails and bags of the list written as on hand: the rest buys none of them, with one fewer
    of each just that one, also where a post came out higher than planned."""
    bare = a_job(tmp_path)
    bought = {(b.part, b.length): int(b.to_buy) for b in buying_list(plan_fence(bare)).lines}

    def with_bought(less: int) -> Job:
        def stocked(stock: tuple[Stock, ...], part: str) -> tuple[Stock, ...]:
            held = [max(bought.get((part, s.length), 0) - less, 0) for s in stock]
            return tuple(replace(s, on_hand=n) for s, n in zip(stock, held, strict=True))

        mix, gravel = (bought[part, None] - less for part in ("concrete mix", "gravel"))
        held = stocked(bare.posts.stock, "posts")
        posts = replace(bare.posts, stock=held, bags_on_hand=mix, gravel_bags_on_hand=gravel)
        return replace(bare, posts=posts, rails=replace(bare.rails, stock=stocked(bare.rails.stock, "rails")))

    first = plan_fence(bare)
    schedule = first.runs[0].posts
    taller = PostSet(number=1, station=float(schedule.station[0]), top=float(schedule.above[0]) + 2.0)
    for less in fewer:
        plan = standing(with_bought(less), picket=(up(first, up_now),), post=(taller,))
        to_buy = {(b.part, b.length): b.to_buy for b in buying_list(plan).lines}
        for part in ("posts", "rails", "concrete mix", "gravel"):
            lengths = [n for p, n in bought if p == part]
            assert [to_buy.get((part, n), 0) for n in lengths] == [less] * len(lengths), part
    used = re.findall(r"(\d+|none) of the (\d+) posts of", told := used_words(plan))
    assert sum(int(n) for n, _ in used if n != "none") == int(plan.runs[0].posts.standing.sum())
    assert re.search(rf"\d+ of the {bought['concrete mix', None]} bags of concrete mix", told)
    assert "rails of " in told


@pytest.mark.parametrize("style", [TopStyle.STEPPED, TopStyle.RACKED])
def test_the_rest_may_have_another_top_as_a_run_of_its_own(tmp_path: Path, style: TopStyle) -> None:
    """As the mistake says where one is asked for: what stands is as it was, and the rest under its own."""
    job = a_job(tmp_path, run='style = "level"')
    first = plan_fence(job)
    begun = AsBuilt(run=(BuiltRun(name="lane side", picket=(up(first, 20),)),))
    built = as_it_hangs(with_lists(begun, first), first, 0)
    record = AsBuilt(run=(built,))
    (refused,) = mistakes_of(lambda: plan_fence(replace(job, built=record), style))
    at = re.search(r'from post (\d) on, .* end = "([^"]+)", and .* start = "([^"]+)"', refused)
    assert at is not None
    post, end, start = at.groups()
    assert first.runs[0].posts.station[int(post) - 1] == parse_length(end) == parse_length(start)
    rest = f'survey = "lane.csv"\njoin = "lane side"\nstart = "{start}"\nstyle = "{style}"'
    halves = a_job(tmp_path, run=f'style = "level"\nend = "{end}"\n[[run]]\nname = "the rest"\n{rest}')
    plan = plan_fence(replace(halves, built=record))
    stands, on = plan.runs
    assert [r.top.style for r in plan.runs] == [TopStyle.LEVEL, style]
    assert int((~stands.layout.coming).sum()) == 20
    assert edge(plan, 20) == edge(first, 20)
    listed = np.flatnonzero(first.runs[0].doubt.from_chart[:20])
    assert len(listed) > 5
    assert stands.cuts.kept[listed].tolist() == first.runs[0].cuts.kept[listed].tolist()
    assert stands.posts.standing.all()
    assert on.posts.standing.tolist() == [True, *[False] * (len(on.posts) - 1)]
    assert on.end == first.runs[0].end
    assert sum(len(r.posts) for r in plan.runs) == len(first.runs[0].posts) + 1
    told = list(as_before(replace(job, built=record)))
    assert told[1].startswith("What stands keeps its top: lane side its level one. Another can be had for")
    assert (list(as_before(replace(job, built=begun))), list(as_before(job))) == (told[:1], [])
    last = PicketUp(number=len(first.runs[0].slots), far_edge=first.runs[0].end)
    whole = AsBuilt(run=(replace(built, picket=(last,)),))
    (refused,) = mistakes_of(lambda: plan_fence(replace(job, built=whole), style))
    assert refused.endswith("plan it with a level top")


def test_boards_left_are_told_with_the_picket_they_were_counted_after(tmp_path: Path) -> None:
    """A count written by hand goes stale once more boards go up: since when it holds is said."""
    job = a_job(tmp_path)
    first, left = plan_fence(job), (BoardsLeft(length=96.0, count=9),)
    told = [p for p in standing(job, left=left, picket=(up(first, 30, 0.9),)).problems if p.on_record]
    assert "taken as counted when the last one up was picket 30 of lane side; count them again" in str(
        told[-1]
    )
    assert not any(p.on_record for p in standing(job, left=left).problems)


@pytest.mark.parametrize("begun", ["lane side", "far side"])
def test_the_post_at_a_corner_stands_in_both_runs(tmp_path: Path, begun: str) -> None:
    join = 'survey = "lane.csv"\njoin = "lane side"\n[[run.string]]\nheight = "0 in"'
    far = f'[[run]]\nname = "far side"\n{join}'
    job = a_job(tmp_path, run=far)
    lane = begun == "lane side"
    first = plan_fence(job).runs[0 if lane else 1]
    number = len(first.slots) if lane else 3
    edge_up = PicketUp(number=number, far_edge=float(first.slots.right[number - 1]))
    built = AsBuilt(run=(BuiltRun(name=begun, picket=(edge_up,)),))
    plan = plan_fence(replace(job, built=built))
    ends, starts = (run.posts.standing for run in plan.runs)
    assert (bool(ends[-1]), bool(starts[0])) == (True, True)
    assert (bool(ends[0]), bool(starts[-1])) == (lane, False)
    assert sum(int(own.up.sum()) for own in plan.posts_to_set) == int(ends.sum() + starts.sum()) - 1


@pytest.mark.parametrize("how", ["old", "set"])
@pytest.mark.parametrize("told", [None, "lane side", "far side"])
def test_the_post_at_a_corner_is_counted_once_as_what_it_is(
    tmp_path: Path, how: str, told: str | None
) -> None:
    """Whichever run tells of it: an old one is neither set nor up, one that was set is up, else it is to be
    set; all of it in the run that ends there, and nothing in the one that starts."""
    at = {"lane side": 40.0, "far side": 0.0}
    rows = {
        name: f'[[run.existing_post]]\nstation = "{feet} ft"\n' if (how, told) == ("old", name) else ""
        for name, feet in at.items()
    }
    job = a_job(tmp_path, run=rows["lane side"] + CORNER + rows["far side"])
    if how == "set" and told is not None:
        post = PostSet(number=6 if told == "lane side" else 1, station=12 * at[told])
        job = replace(job, built=AsBuilt(run=(BuiltRun(name=told, post=(post,)),)))
    ends, starts = plan_fence(job).posts_to_set
    assert (ends.wanted[-1], ends.up[-1]) == (told is None, told is not None and how == "set")
    assert not ends.up[:-1].any()
    assert not starts.up.any()
    assert ends.wanted[:-1].all()
    assert starts.wanted.tolist() == [False, *[True] * (len(starts.wanted) - 1)]


CORNER = (
    '[[run]]\nname = "far side"\nsurvey = "lane.csv"\njoin = "lane side"\n[[run.string]]\nheight = "0 in"\n'
)


@pytest.mark.parametrize("old", [True, False])
@pytest.mark.parametrize(
    ("lane", "far", "told"),
    [(50.0, None, 50.0), (None, 51.0, 51.0), (50.0, 50.25, 50.0), (50.0, 51.0, None)],
)
def test_the_post_at_a_corner_has_one_top(
    tmp_path: Path, old: bool, lane: float | None, far: float | None, told: float | None
) -> None:
    """Whichever run gives it, for a post set for the job and for an old one; two that differ are refused."""
    given = {"lane side": (40, lane), "far side": (0, far)}

    def as_old(name: str) -> str:
        feet, top = given[name]
        height = "" if top is None else f'height = "{top} in"\n'
        return f'[[run.existing_post]]\nstation = "{feet} ft"\n{height}' if old else ""

    def planned() -> FencePlan:
        job = a_job(tmp_path, run=as_old("lane side") + CORNER + as_old("far side"))
        rows = [
            BuiltRun(name=name, post=(PostSet(number=6 if feet else 1, station=12.0 * feet, top=top),))
            for name, (feet, top) in given.items()
            if top is not None
        ]
        return plan_fence(job if old else replace(job, built=AsBuilt(run=tuple(rows))))

    if told is None:
        found = "lane side, post 6: is post 1 of far side too, and its top is 1 in lower here than there; "
        assert mistakes_of(planned) == [found + "measure it again, and correct the one that is wrong"]
    else:
        ends, starts = planned().runs
        assert ends.posts.top[-1] == pytest.approx(starts.posts.top[0])
        assert (ends.posts.above[-1], starts.posts.above[0]) == pytest.approx((told, told))


def test_a_stretch_left_for_later_is_still_to_come(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    first = plan_fence(job)
    plan = standing(job, picket=(up(first, 10), up(first, 30)), later=(LeftOut(first=11, last=14),))
    coming = plan.runs[0].layout.coming
    assert np.flatnonzero(~coming).tolist() == [*range(10), *range(14, 30)]
    assert len(plan.families.pickets.asked) == int(coming.sum())
    name = plan.families.pickets.name_of
    assert [name(0), name(4)] == ["picket 11", "picket 31"]
    found = faults(job, picket=(up(first, 10),), later=(LeftOut(first=9, last=12),))
    assert found == [
        "built.toml, last: picket 12 is past the last one up, 10, and comes later anyway; keep what was left "
        "out below the last one up"
    ]


def test_spacers_and_marks_are_those_of_what_is_to_come(tmp_path: Path) -> None:
    """Boards 11-14 come later and 31 on: the spaces beside them are set, and rails are marked for them."""
    job = a_job(tmp_path)
    first = plan_fence(job)
    plan = standing(job, picket=(up(first, 10), up(first, 30)), later=(LeftOut(first=11, last=14),))
    run, count = plan.runs[0], len(plan.runs[0].slots)
    between = [(s.first, s.last, s.spaces) for s in spaces_to_set(run)]
    assert between == [(10, 15, 5), (30, count, count - 30)]
    coming = set(run.rail_pieces.first_bay[run.rails_coming].tolist())
    assert 0 < len(coming) < len(run.layout.bays)
    assert set(rail_marks(run)) == {b + k for b in coming for k in (1, 2)}


def test_a_reading_taken_later_moves_no_top(tmp_path: Path) -> None:
    """The line that was written down stays; without it a higher reading would lift all of it."""
    job = a_job(tmp_path)
    first = plan_fence(job)
    top = tuple(
        TopPoint(station=x, elevation=z)
        for x, z in zip(
            first.runs[0].top.stations.tolist(), first.runs[0].top.elevations.tolist(), strict=True
        )
    )
    later = a_job(tmp_path, survey=HOLLOW.replace("40,20", "37,19\n40,20"))
    assert plan_fence(later).runs[0].top.elevations[0] != top[0].elevation
    record: dict[str, Any] = {"picket": (up(first, 12),), "style": TopStyle.LEVEL, "top": top}
    plan = standing(later, **record)
    assert plan.runs[0].top.elevations.tolist() == [p.elevation for p in top]
    low = np.flatnonzero(plan.runs[0].cuts.height < later.top.least_height - 1 / 16) + 1
    under = run_facts(plan, plan.runs[0]).under
    assert 0 < len(under) == int((low > 12).sum())
    assert set(under) <= set(low.tolist())
    with pytest.raises(JobMistakesError, match="lane side stands under a level top, and a sloped one is"):
        standing(later, "sloped", **record)


def test_boards_delivered_in_other_counts(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    first = plan_fence(job)
    left = (BoardsLeft(length=72.0, count=0), BoardsLeft(length=96.0, count=500))
    plan = standing(job, left=left, picket=(up(first, 30),))
    assert not plan.stock.bought.any()
    assert plan.stock.used.tolist() == [0, len(plan.runs[0].slots) - 30]
    none_up = standing(job, left=left)
    assert not none_up.stock.bought.any(), "boards that were delivered count before the first is up"
    assert none_up.stock.used.tolist() == [0, len(first.runs[0].slots)]
    with pytest.raises(JobMistakesError, match="no picket stock of 7 ft, only 6 ft, 8 ft"):
        standing(job, left=(BoardsLeft(length=84.0, count=3),))


def test_mistakes_of_a_record_against_the_plan(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    first = plan_fence(job)
    assert faults(job, picket=(up(first, 5), PicketUp(number=6, far_edge=20.0))) == [
        "built.toml, far_edge: 1' 8\" is not past 2' 4-3/8\", where the edge before it lies; check number "
        "and station"
    ]
    assert faults(job, picket=(PicketUp(number=200, far_edge=300.0),)) == [
        f"built.toml, number: the plan has no picket 200, only {len(first.runs[0].slots)}; check the number"
    ]
    posts = (PostSet(number=2, station=300.0), PostSet(number=99, station=20.0))
    found = faults(job, post=posts, measured=(MeasuredGround(number=5, drop=(40.0,)),))
    assert [line.split(":")[0] for line in found] == ["built.toml, station", "built.toml, number"]
    near = [PostSet(number=2, station=142.0), PostSet(number=3, station=144.75)]
    (inside,) = faults(job, post=tuple(near))
    told = "posts 2 and 3 stand in each other: a post is 3-1/2 in wide, and their middles are 2-3/4 in apart"
    assert told in inside
    assert standing(job, post=(near[0], PostSet(number=3, station=145.125)))
    assert "has no picket 300" in faults(job, measured=(MeasuredGround(number=300, drop=(40.0,)),))[0]


@pytest.mark.parametrize("pattern", ["side by side", "board on board"])
def test_a_last_board_may_stand_a_little_into_an_opening(tmp_path: Path, pattern: str) -> None:
    """The gate is made to what the boards leave, and the boards past it stay; half a board is a slip."""
    gate = '[[run.gate]]\nstation = "16 ft"\nwidth = "4 ft"'
    job = a_job(tmp_path, run=gate, pickets=f'pattern = "{pattern}"\nspacing = "3 in"')
    first = plan_fence(job)
    last = int((first.runs[0].slots.right <= 192.0 + 1e-6).sum())
    plan = standing(job, picket=(up(first, last - 4), up(first, last, 0.75)))
    run = plan.runs[0]
    assert (run.run.gate[0].station, run.run.gate[0].width) == (192.75, 47.25)
    assert run.layout.gates[0].leaf_width == pytest.approx(first.runs[0].layout.gates[0].leaf_width - 0.75)
    assert edge(plan, last) == 192.75
    assert run.slots.left[last:] == pytest.approx(first.runs[0].slots.left[last:], abs=0.1)
    assert "the opening as it stands is 47-1/4 in wide, planned 48 in" in str(plan.problems)
    assert "lies beyond 16' 0\"" in faults(job, picket=(up(first, last, 3.0),))[0]
    assert "lies beyond" in faults(job, picket=(up(first, last - 2, 18.0),))[0]


def test_a_last_board_may_stand_a_little_past_the_end(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    count = len((first := plan_fence(job)).runs[0].slots)
    plan = standing(job, picket=(up(first, count, 0.25),))
    assert edge(plan, count) == 480.0
    assert f"picket {count} stands 1/4 in past the run's end" in str(plan.problems)
    assert "lies beyond 40' 0\", where the run ends" in faults(job, picket=(up(first, count, 3.0),))[0]


def test_two_rows_are_laid_again_together(tmp_path: Path) -> None:
    job = a_job(tmp_path, pickets='pattern = "board on board"\nspacing = "3-1/2 in"')
    first = plan_fence(job)
    plan = standing(job, picket=(up(first, 21, 1.5),))
    layout = plan.runs[0].layout
    one, two = layout.row == 0, layout.row == 1
    middle = (layout.slots.right[one][:-1] + layout.slots.left[one][1:]) / 2
    assert layout.slots.centre[two][-5:] == pytest.approx(middle[-5:])
    assert (
        "picket 22 is of the front row, which follows the back row" in faults(job, picket=(up(first, 22),))[0]
    )
