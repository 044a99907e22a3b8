"""Posts, rails, gates, low ground, buying and boards as tables: what stands in them is the plan's."""

import csv
import dataclasses
import io
import math
from collections.abc import Callable
from itertools import groupby
from typing import Any

import numpy as np
import pytest

from fencegrade.ground.survey_line import over_line
from fencegrade.job.read import Job
from fencegrade.planning.buying import BuyingList, BuyLine, buying_list
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.drawings.parts import posts_in, run_parts
from fencegrade.sheets.gates_and_wind_json import wind_record
from fencegrade.sheets.page.page import phone_page
from fencegrade.sheets.plan_json import _posts
from fencegrade.sheets.rail_lines import rail_marks, rails_past_posts
from fencegrade.sheets.run_words import wind_lines
from fencegrade.sheets.schedules import (
    board_table,
    buying_table,
    gap_table,
    post_table,
    rail_table,
    wind_table,
)
from fencegrade.sheets.tables import Table, csv_text
from fencegrade.units.words import Words

WriteJob = Callable[..., Job]

LANE = "station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n"
CORNER = {
    "west": "station [ft],elevation [in]\n0,0\n8,3\n16,8\n",
    "north": ("station [ft],elevation [in]\n0,8\n8,2\n16,-12\n", 'join = "west"'),
}


def records(table: Table) -> list[dict[str, Any]]:
    return [dict(zip(table.heads, row, strict=True)) for row in table.rows]


class TestPosts:
    def test_every_post_with_its_hole_and_length(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job(lane=LANE))
        posts, rows = plan.runs[0].posts, records(post_table(plan, 0))
        assert [r["post"] for r in rows] == list(range(1, len(posts) + 1))
        for i, row in enumerate(rows):
            assert row["station"] == posts.station[i]
            assert row["hole"] == pytest.approx(row["in ground"] + 6)
            needed = row["top above ground"] + row["in ground"]
            assert 0 <= row["length needed"] - needed < plan.mark - 1e-6 or row["length needed"] == needed
            assert row["from stock"] >= row["length needed"] - 1e-6

    def test_each_rule_stands_beside_the_depth_it_sets(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job('[posts]\nleast_depth = "34 in"', lane=LANE))
        rows = records(post_table(plan, 0))
        rules = {"by share of the post's length", "by least depth"}
        for row in rows:
            assert rules <= set(row)
            depths = {rule.removeprefix("by "): row[rule] for rule in rules}
            assert row["in ground"] == max(depths.values())
            assert depths[row["set by"]] == row["in ground"]
        assert {r["set by"] for r in rows} == {"least depth", "share of the post's length"}

    def test_wind_has_a_column_where_it_sets_the_depth(self, write_job: WriteJob) -> None:
        site = '[site]\nwind_speed = "90 mph"\nsets_depth = true'
        row = records(post_table(plan_fence(write_job(site, lane=LANE)), 0))[1]
        assert row["set by"] == "wind and soil"
        assert row["in ground"] == row["by wind and soil"] > row["by least depth"]

    def test_bags_a_hole(self, write_job: WriteJob) -> None:
        """A 10 in hole 30 in deep about a 3-1/2 in post holds 1.151 cu ft; an 80 lb bag yields 0.6: two."""
        tables = '[posts]\nleast_depth = "30 in"\ndepth_share = 0'
        plan = plan_fence(write_job(tables, lane=LANE))
        assert {r["bags of 80 lb"] for r in records(post_table(plan, 0))} == {2}
        assert plan.concrete.net == pytest.approx(1.151 * len(plan.runs[0].posts), abs=5e-3)

    def test_a_post_that_stands_needs_no_hole(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job(lane=(LANE, '[[run.existing_post]]\nstation = "8 ft"')))
        (row,) = [r for r in records(post_table(plan, 0)) if "stands" in r["kind"]]
        empty = {k for k, v in row.items() if v is None}
        assert {"hole", "in ground", "set by", "length needed", "from stock", "bags of 80 lb"} <= empty
        assert row["top above ground"] == "not measured"

    def test_a_post_longer_than_any_stock_says_none(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job('[[posts.stock]]\nlength = "8 ft"', lane=LANE))
        assert "none" in {r["from stock"] for r in records(post_table(plan, 0))}

    def test_a_corner_post_stands_with_the_run_that_ends_there(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job(**CORNER), "stepped")
        west, north = (records(post_table(plan, k)) for k in (0, 1))
        assert north[0]["kind"] == "corner, with west"
        assert (north[0]["hole"], north[0]["from stock"]) == (None, None)
        totals = [plan.runs[0].posts.total[-1], plan.runs[1].posts.total[0]]
        assert west[-1]["length needed"] == max(totals)

    def test_a_corner_post_has_one_depth_wherever_it_is_told(self, write_job: WriteJob) -> None:
        """Its last bay in the west is short, so the wind on the north alone asks for so much."""
        site = '[site]\nwind_speed = "115 mph"\nsoil = "clay"\nsets_depth = true\n'
        short = '[[run.existing_post]]\nstation = "15 ft"\n'
        plan = plan_fence(write_job(site, west=(CORNER["west"], short), north=CORNER["north"]), "stepped")
        west, north = plan.runs
        assert west.wind is not None
        assert north.wind is not None
        deep = north.wind.depth[0]
        assert deep > west.wind.depth[-1]
        told = records(post_table(plan, 0))[-1]
        assert {told["in ground"], told["by wind and soil"], plan.posts_to_set[0].depth[-1]} == {deep}
        assert [records(wind_table(plan, k))[i]["depth planned"] for k, i in ((0, -1), (1, 0))] == [deep] * 2
        parts = [(run, posts_in(run, run_parts(run, math.inf)[0])) for run in plan.runs]
        drawn = [parts[0][1][-1], parts[1][1][0]]
        assert [post.ground - post.foot for post in drawn] == [deep] * 2
        assert np.unique([run.posts.total[i] for run, i in ((west, -1), (north, 0))]).size == 1

    def test_marks_above_the_string(self, write_job: WriteJob) -> None:
        """String level at 0, lowest drop 20: the level top is at 54, post tops 6 in under it."""
        rows = records(post_table(plan_fence(write_job(lane=LANE)), 0))
        assert {r["top over string"] for r in rows} == {48.0}

    def test_without_a_string_tops_are_told_over_the_survey_s_zero(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job())
        rows = records(post_table(plan, 0))
        assert [r["top over survey's zero"] for r in rows] == pytest.approx(plan.runs[0].posts.top.tolist())


class TestRails:
    def test_a_rail_marked_over_a_post_that_stands_is_told(self, write_job: WriteJob) -> None:
        """The mark of the top rail lies in the post's top or lower unless the post is too short."""
        for height, past in (("6 ft", False), ("30 in", True)):
            stands = f'[[run.existing_post]]\nstation = "8 ft"\nheight = "{height}"'
            run = plan_fence(write_job(lane=(LANE, stands))).runs[0]
            post = int(np.flatnonzero(run.posts.standing)[0]) + 1
            (mark,) = rail_marks(run)[post][0]
            wanted = mark - float(over_line(run.ground, run.posts.station, run.posts.top)[post - 1])
            assert rails_past_posts(run) == ({post: pytest.approx(wanted)} if past else {})

    def test_marks_lie_under_the_top_line(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job(lane=LANE), "racked")
        run = plan.runs[0]
        line = run.ground.profile.line
        for row in records(rail_table(plan, 0)):
            first = int(row["posts"].split(" to ")[0]) - 1
            left, right = run.posts.station[first], run.posts.station[first + 1]
            tops = run.top.at(np.array([left, right]))
            marks = [row["upper edge above ground at left post"], row["at right post"]]
            ground = [float(line.elevation(left)), float(line.elevation(right))]
            for top, mark, level in zip(tops, marks, ground, strict=True):
                assert top - (level + mark) == pytest.approx(row["below the top line"])

    def test_every_run_has_as_many_rows_in_each_bay(self, write_job: WriteJob) -> None:
        deep = "station [ft],elevation [in]\n0,0\n8,0\n16,-16\n24,-18\n32,0\n"
        plan = plan_fence(write_job(lane=deep), "level")
        rows = plan.runs[0].rails
        counts = np.bincount(rows.bay)
        assert set(counts.tolist()) == {4}

    def test_a_rail_over_two_bays_is_cut_once(self, write_job: WriteJob) -> None:
        level = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
        rails = '[rails]\ncount = 2\n[[rails.stock]]\nlength = "16 ft 2 in"'
        plan = plan_fence(write_job(rails, lane=level))
        rows = records(rail_table(plan, 0))
        cut = sorted(r["cut to"] for r in rows if r["cut to"] is not None)
        assert len(cut) == len(plan.runs[0].rail_pieces) < len(rows)
        assert cut == sorted((plan.families.rails.asked * plan.mark).tolist())
        over_two = [r for r in rows if r["runs over"].startswith("bays")]
        assert len(over_two) == 2 * sum(r["cut to"] is not None for r in over_two)
        assert all(str(r["bay"]) in r["runs over"].removeprefix("bays ").split("-") for r in over_two)

    def test_end_cuts(self, write_job: WriteJob) -> None:
        slope = "station [ft],elevation [in]\n0,0\n8,12\n16,24\n"
        plan = plan_fence(write_job(lane=slope), "racked")
        assert {r["end cut"] for r in records(rail_table(plan, 0))} == {"7.1 deg off square"}  # atan(1/8)
        assert {r["end cut"] for r in records(rail_table(plan_fence(write_job(lane=slope)), 0))} == {"square"}


def test_low_ground_is_walked_along(write_job: WriteJob) -> None:
    plan = plan_fence(write_job(lane=LANE))
    rows = records(gap_table(plan, 0))
    assert len(rows) == len(plan.runs[0].gaps) > 0
    assert [r["deepest gap"] for r in rows] == [g.deepest for g in plan.runs[0].gaps]
    slots = plan.runs[0].slots
    assert [r["from"] for r in rows] == [slots.left[r["first picket"] - 1] for r in rows]
    assert [r["to"] for r in rows] == [slots.right[r["last picket"] - 1] for r in rows]


def test_soil_is_a_number_with_its_unit_in_the_heading(write_job: WriteJob) -> None:
    soil = '[soil]\nlow_ground = "soil"\nprice = 40.0\n'
    plan = plan_fence(write_job(soil, lane=LANE))
    filled = [g.fill_volume for g in plan.runs[0].gaps if g.fill_volume]
    heads, *rows = csv_text(gap_table(plan, 0), plan.words).splitlines()
    assert heads.endswith(",fill [cu ft]")
    assert [float(r.rpartition(",")[2]) for r in rows if not r.endswith(",")] == pytest.approx(
        filled, abs=1e-4
    )


def test_an_old_post_that_comes_out_is_on_the_sheet(write_job: WriteJob) -> None:
    old = '[[run.existing_post]]\nstation = "8 ft"\nkeep = false\n'
    plan = plan_fence(write_job(lane=(LANE, old)))
    rows = records(post_table(plan, 0))
    at = [r["post"] for r in rows].index("old")
    assert rows[at]["station"] == 96.0
    off = plan.runs[0].posts.station - 96.0
    k = int(np.argmin(np.abs(off)))
    assert abs(off[k]) >= 5.0
    assert f"comes out: post {k + 1} stands" in rows[at]["kind"]
    assert [r["station"] for r in rows] == sorted(r["station"] for r in rows)


def test_gate_posts_and_corners_are_named(write_job: WriteJob) -> None:
    gate = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"\nhinge = "end"\n'
    plan = plan_fence(write_job(lane=(LANE, gate), side=(LANE, 'join = "lane"')))
    kinds = [r["kind"] for r in records(post_table(plan, 0))]
    assert [k for k in kinds if k.startswith("gate")] == ["gate, latch", "gate, hinges"]
    assert (kinds[0], kinds[-1]) == ("end", "corner, with side")
    assert records(post_table(plan, 1))[0]["kind"] == "corner, with lane"


@pytest.mark.parametrize("hinge", ["start", "end"])
def test_a_corner_post_that_hangs_a_gate_is_named_by_both(write_job: WriteJob, hinge: str) -> None:
    gate = f'join = "lane"\n[[run.gate]]\nstation = "1-3/4 in"\nwidth = "4 ft"\nhinge = "{hinge}"\n'
    plan = plan_fence(write_job(lane=LANE, side=(LANE, gate), back=(LANE, 'join = "lane"')), "level")
    told = "gate, hinges" if hinge == "start" else "gate, latch"
    kinds = [[r["kind"] for r in records(post_table(plan, k))] for k in range(3)]
    assert kinds[0][-1] == f"corner, with side and back; {told}"
    assert [own[0] for own in kinds[1:]] == [f"corner, with lane; {told}"] * 2
    assert sum("gate" in kind for own in kinds for kind in own) == 4


def test_the_screen_of_wind_stands_in_its_table(write_job: WriteJob) -> None:
    plan = plan_fence(write_job('[site]\nwind_speed = "115 mph"\nsoil = "sand"\n', lane=LANE))
    screen, rows = plan.runs[0].wind, records(wind_table(plan, 0))
    assert screen is not None
    assert [r["depth asked"] for r in rows] == screen.depth.tolist()
    assert {"not in the soil" in r["passes"] for r in rows} == {True}
    told = wind_record(plan.runs[0], plan.units)
    assert told is not None
    for row, post in zip(rows, told["posts"], strict=True):
        assert row["force [lbf]"] == post["force"]
        assert row["moment at the ground [ft lbf]"] == post["moment"]
        assert row["the post carries [ft lbf]"] == post["carried"]
    page = phone_page(plan, []).decode()
    assert all(f">{post['force']}<" in page for post in told["posts"])
    assert records(wind_table(plan_fence(write_job(lane=LANE)), 0)) == []


def test_no_post_that_stands_passes_the_screen_of_wind_or_fails_it(write_job: WriteJob) -> None:
    """Nobody knows how deep it is or what it is of: no table, no answer and no count judges it."""
    site = '[site]\nwind_speed = "115 mph"\nsoil = "sand"\n'
    stands = '[[run.existing_post]]\nstation = "0 ft"\n[[run.existing_post]]\nstation = "16 ft"\n'
    plan = plan_fence(write_job(site, lane=(LANE, stands)))
    (run,), rows = plan.runs, records(wind_table(plan, 0))
    told = wind_record(run, plan.units)
    assert told is not None
    assert [k for k, row in enumerate(rows) if row["passes"] == "not judged"] == [0, 2]
    for row, post, stood in zip(rows, told["posts"], run.posts.standing.tolist(), strict=True):
        assert (row["passes"] == "not judged") == (not post["judged"]) == stood
        assert (row["depth planned"] is None) == (row["the post carries [ft lbf]"] is None) == stood
        assert not (stood and (post["soil_passes"] or post["bending_passes"] or post["carried"]))
    assert plan.posts_judged == len(run.posts) - 2
    assert plan.posts_failing == sum(row["passes"] not in ("yes", "not judged") for row in rows) > 0
    (found,) = [p.found for p in plan.problems if "the soil screen" in p.found]
    assert found.startswith(f"{plan.posts_failing} of {plan.posts_judged} posts do not pass")
    old = '[[run.existing_post]]\nstation = "{} ft"\n'
    whole = plan_fence(write_job(site, lane=(LANE, "".join(old.format(x) for x in (0, 8, 16, 24)))))
    assert whole.posts_judged == whole.posts_failing == 0
    assert not any("do not pass" in p.found for p in whole.problems)
    assert all("not judged" in line for line in wind_lines(whole) if "taken" not in line)


def test_a_post_nobody_measured_has_no_height_over_the_string(write_job: WriteJob) -> None:
    stands = '[[run.existing_post]]\nstation = "8 ft"\n'
    for known in ("", 'height = "50 in"\n'):
        plan = plan_fence(write_job(lane=(LANE, stands + known)))
        (row,) = [r for r in records(post_table(plan, 0)) if "existing" in r["kind"]]
        assert (row["top above ground"] == "not measured") == (row["top over string"] is None) == (not known)
        post = list(_posts(plan, plan.runs[0], plan.posts_to_set[0], [None] * len(plan.runs[0].posts)))[
            row["post"] - 1
        ]
        assert post["above_ground"] == (50.0 if known else None)
        assert (post["top"] is None) == (post["top_over_string"] is None) == (not known)


class TestBuying:
    def test_every_line_of_the_list_once(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job(lane=LANE))
        rows = records(buying_table(plan))
        assert [(r["part"], r["total"]) for r in rows] == [(x.part, x.total) for x in buying_list(plan).lines]

    def test_numbers_stand_in_number_columns(self, write_job: WriteJob) -> None:
        metric = "station [m],elevation [mm]\n0,0\n3,10\n6,0\n"
        stock = '[[pickets.stock]]\nlength = "1.8 m"\nprice = 2.125\n'
        plan = plan_fence(write_job(units="metric", stock=stock, lane=metric))
        rows = list(csv.DictReader(io.StringIO(csv_text(buying_table(plan), Words.of(plan.job.job)))))
        for row in rows:
            for head in (
                "length [mm]",
                "need",
                "spare",
                "on hand",
                "to buy",
                "price",
                "total",
                "weight [kg]",
            ):
                float(row[head] or 0)
        (pickets,) = [r for r in rows if r["part"] == "pickets"]
        assert (pickets["length [mm]"], pickets["price"]) == ("1800.0", "2.125")
        assert pickets["total"] == f"{int(pickets['to buy']) * 2.125 + 1e-9:.2f}"


def test_boards_name_every_piece_with_its_place_and_what_is_left(write_job: WriteJob) -> None:
    plan: FencePlan = plan_fence(write_job(lane=LANE))
    family, run = plan.families.rails, plan.runs[0]
    rows = records(board_table(plan, "rails", family))
    assert sorted(r["cut to"] for r in rows) == sorted((family.asked * plan.mark).tolist())
    assert sum(r["for"].startswith("lane bay") for r in rows) == len(rows) == len(run.rail_pieces)
    boards = [list(pieces) for _, pieces in groupby(rows, key=lambda r: r["board"])]
    assert [pieces[0]["board"] for pieces in boards] == list(range(1, family.plan.board_count + 1))
    for pieces in boards:
        assert [r["piece"] for r in pieces] == list(range(1, len(pieces) + 1))
        *others, last = (r["left over"] for r in pieces)
        assert not any(others)
        sawn = pieces[0]["from stock"] - sum(r["cut to"] for r in pieces) - (last or 0.0)
        assert 0 <= sawn <= len(pieces) * plan.job.job.kerf + plan.mark


def test_nothing_passes_a_doubted_wind_until_it_is_confirmed(write_job: WriteJob) -> None:
    slow = '[posts]\nleast_depth = "5 ft"\n[site]\nwind_speed = "9 mph"\n'
    for confirmed in (False, True):
        job = write_job(slow, lane=LANE, job='confirmed = ["[site] wind_speed"]' if confirmed else "")
        plan = plan_fence(job)
        record = wind_record(plan.runs[0], plan.units)
        assert record is not None
        assert record["speed_doubted"] is not confirmed
        assert {p["soil_passes"] and p["bending_passes"] for p in record["posts"]} == {confirmed}
        told = "yes" if confirmed else "not until wind_speed is confirmed"
        assert {r["passes"] for r in records(wind_table(plan, 0))} == {told}


def test_a_wind_changed_in_memory_is_doubted_by_what_it_is_now(write_job: WriteJob) -> None:
    job = write_job('[site]\nwind_speed = "9 mph"\n', lane=LANE)
    assert job.site is not None
    faster = dataclasses.replace(job, site=dataclasses.replace(job.site, wind_speed=115.0))
    assert [job.wind_doubted, faster.wind_doubted] == [True, False]
    assert not dataclasses.replace(job, site=None).wind_doubted


def test_what_is_bought_is_written_whole_where_it_is_whole(
    write_job: WriteJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Soil of just two cubic yards is `2`, of a half more `2.5`; what there is none of stays empty."""
    plan = plan_fence(write_job(lane=LANE))
    lines = (
        BuyLine(part="soil", unit="yd3", need=2.0, to_buy=2.5, price=38.125, weight=5000.04),
        BuyLine(
            part="rails", unit="board", need=3, to_buy=1, spare=1.0, on_hand=2.0, length=96.0, section="2x4"
        ),
    )
    monkeypatch.setattr("fencegrade.sheets.schedules.buying_list", lambda _: BuyingList(lines=lines))
    assert csv_text(buying_table(plan), plan.words).splitlines()[1:] == [
        "soil,,,yd3,2,,,2.5,38.125,95.31,5000.0",
        "rails,2x4,96.0,board,3,1,2,1,,,",
    ]
    assert [row[4:8] for row in buying_table(plan).written(plan.words)] == [
        ("2", "", "", "2.5"),
        ("3", "1", "2", "1"),
    ]
