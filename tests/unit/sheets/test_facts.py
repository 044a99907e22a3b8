"""The outstanding pickets of a run, and that screen, paper and page say the same of them."""

import io
import json
import re
from collections.abc import Callable
from dataclasses import replace as replace_job
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from drawn import svg_texts
from in_json import json_text
from msgspec.structs import replace
from pypdf import PdfReader

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.as_built import NOTHING_BUILT, BoardsLeft
from fencegrade.job.read import read_job
from fencegrade.planning.heights import heights_on
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.charts import chart_text, settings
from fencegrade.sheets.drawings.ground import ground_figures
from fencegrade.sheets.facts import (
    before_buying,
    begun_words,
    board_words,
    grounds_of,
    height_words,
    limit_line,
    open_below,
    over_height,
    provisional_words,
    run_facts,
    space_words,
    used_words,
    widest_open,
)
from fencegrade.sheets.folder import heights_drawing, named_cut_boards, named_elevations
from fencegrade.sheets.height_words import OF_WHAT_LINE, counted_words
from fencegrade.sheets.mark_in_place import from_chart
from fencegrade.sheets.page.page import phone_page
from fencegrade.sheets.page.views import run_views
from fencegrade.sheets.paper.cover import run_said, sure_words
from fencegrade.sheets.paper.field_sheets import field_sheets
from fencegrade.sheets.paper.layout_strips import pole_paper
from fencegrade.sheets.plan_json import picket_records
from fencegrade.sheets.plan_tables import plan_tables
from fencegrade.sheets.screen.heights_text import heights_json, heights_lines
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.units.words import Words

MakePlan = Callable[..., FencePlan]


@pytest.mark.parametrize("style", ["level", "contour"])
def test_they_are_those_of_the_pickets_one_by_one(make_plan: MakePlan, style: str) -> None:
    plan = make_plan(style=style)
    facts, pickets = run_facts(plan, plan.runs[0]), list(picket_records(plan, 0))
    short = min(pickets, key=lambda p: p["length"])
    long = max(pickets, key=lambda p: p["length"])
    widest = max(p["gap"] for p in pickets)
    assert (facts.shortest, facts.longest) == (short["number"], long["number"])
    assert facts.kept == pytest.approx((short["length"], long["length"]), abs=1e-4)
    assert facts.gap == pytest.approx(widest, abs=1e-4)
    assert pickets[facts.open_widest - 1]["gap"] == pytest.approx(widest, abs=1e-4)
    assert pickets[facts.open_widest - 1]["left"] < facts.station < pickets[facts.open_widest - 1]["right"]
    words = Words.of(plan.job.job)
    spaces = {words.space(b["left"] - a["right"]) for a, b in pairwise(pickets)}
    assert all(space in space_words(plan.runs[0], words) for space in spaces)
    assert facts.most_height == pytest.approx(max(p["tallest"] for p in pickets), abs=1e-4)
    assert facts.least_height == pytest.approx(min(p["height"] for p in pickets), abs=1e-4)
    assert facts.over == sum(p["tallest"] > 78 for p in pickets)


def test_boards_that_stand_are_not_among_those_to_cut(make_plan: MakePlan, tmp_path: Path) -> None:
    """The same count on the screen and on paper, which is that of the saw list."""
    make_plan(pickets='pattern = "shadowbox"\nspacing = "3 in"')
    (tmp_path / "built.toml").write_text(
        '[[run]]\nname = "lane side"\n[[run.picket]]\nnumber = 3\nfar_edge = "13-3/4 in"\n'
    )
    plan = plan_fence(read_job(tmp_path))
    sure = sum(len(s.pickets) for s in settings(plan, 0))
    assert sure == int(from_chart(plan.runs[0]).sum()) < len(plan.runs[0].slots) - 2
    screen = " ".join(" ".join(summary_lines(plan)).split())
    assert re.search(rf"\b{sure} boards (to come )?can be cut", screen)
    assert f"{sure} boards can be cut now" in sure_words(plan.runs[0])
    told = begun_words(plan)
    assert told.startswith("All of it is listed as it is still used")
    paper = " ".join(PdfReader(io.BytesIO(field_sheets(plan))).pages[0].extract_text().split())
    page = phone_page(plan, []).decode().replace("&#39;", "'")
    assert all(told in shown for shown in (screen, paper, page))
    assert not used_words(plan)
    stock = tuple(replace_job(s, on_hand=2) for s in plan.job.pickets.stock)
    held = plan_fence(replace_job(plan.job, pickets=replace_job(plan.job.pickets, stock=stock)))
    six, eight = (s.on_hand for s in held.stock.offered)
    assert f"{2 - six} of the 2 of 6 ft and {2 - eight or 'none'} of the 2 of 8 ft are taken as used" in (
        used_words(held)
    )
    assert used_words(held) in list(before_buying(held))
    wide = replace_job(plan.job, pickets=replace_job(plan.job.pickets, width=17.75))
    assert not [told for told in before_buying(plan) if "CHECK FIRST" in told]
    assert next(before_buying(replace(plan, job=wide))).startswith(
        "CHECK FIRST, before anything is bought: job.toml [pickets] width: 17-3/4 in is not the usual"
    )
    counted = replace_job(plan.job, built=replace_job(plan.job.built, left=()))
    assert begun_words(replace(plan, job=counted)).startswith("All but pickets is listed")
    assert not begun_words(replace(plan, job=replace_job(plan.job, built=NOTHING_BUILT)))
    pile = (BoardsLeft(length=72.0, count=9),)
    delivered = replace_job(plan.job, built=replace_job(NOTHING_BUILT, left=pile))
    assert begun_words(replace(plan, job=delivered)).startswith("All but pickets is listed")


def test_what_was_bought_is_told_where_to_write_it_by_what_is_still_to_buy(
    make_plan: MakePlan, tmp_path: Path
) -> None:
    """Of boards and bags that are all on hand nothing is to be taken off, added or counted."""
    make_plan()
    (tmp_path / "built.toml").write_text(
        '[[run]]\nname = "lane side"\n[[run.picket]]\nnumber = 3\nfar_edge = "17-1/4 in"\n'
    )
    job = read_job(tmp_path)
    plan = plan_fence(job)
    keys = " to on_hand, bags_on_hand and gravel_bags_on_hand in the job file"
    assert keys in begun_words(plan)
    assert begun_words(plan).endswith("or count pickets as [[left]] in built.toml")

    def there(count: int, table: Any) -> Any:
        return replace_job(table, stock=tuple(replace_job(s, on_hand=count) for s in table.stock))

    job = replace_job(job, pickets=there(99, job.pickets))
    boards = begun_words(plan_fence(job))
    assert keys in boards
    assert "[[left]]" not in boards
    job = replace_job(job, posts=there(99, job.posts), rails=there(99, job.rails))
    bags = begun_words(plan_fence(job))
    assert " to bags_on_hand and gravel_bags_on_hand in the job file" in bags
    posts = replace_job(job.posts, bags_on_hand=99, gravel_bags_on_hand=99)
    screws = begun_words(plan_fence(replace_job(job, posts=posts)))
    assert (
        screws == "All of it is listed as it is still used, whatever was bought before: take off what is left"
    )


def test_a_length_that_all_boards_have_is_said_once(make_plan: MakePlan) -> None:
    plan = make_plan(survey="station [ft],drop [in]\n0,20\n8,20\n16,20\n")
    facts, words = run_facts(plan, plan.runs[0]), Words.of(plan.job.job)
    assert board_words(facts, words) == f"all {words.length(facts.kept[0])}"
    page = dict(next(iter(run_views(plan))).facts)
    assert page["height above ground"] == f"{words.height(facts.least_height)} throughout"


def test_screen_paper_and_page_agree(make_plan: MakePlan) -> None:
    plan = make_plan(bottom="scribed")
    words, facts = Words.of(plan.job.job), run_facts(plan, plan.runs[0])
    screen = "\n".join(summary_lines(plan))
    paper = " ".join(PdfReader(io.BytesIO(field_sheets(plan))).pages[0].extract_text().split())
    page = dict(next(iter(run_views(plan))).facts)
    low, high = words.height(facts.least_height), words.height(facts.most_height)
    assert f"height above the ground {low} to {high}" in screen
    assert f"{low} to {high}" in paper
    assert page["height above ground"] == f"{low} to {high}"
    gap = words.length(facts.gap)
    assert f"largest gap under a picket {gap}, picket {facts.open_widest}" in screen
    assert f"{gap} (picket {facts.open_widest})" in paper
    assert page["largest gap below"] == f"{gap}, picket {facts.open_widest}"


def test_a_gap_a_hair_over_its_limit_is_told_so_everywhere(make_plan: MakePlan) -> None:
    """A limit a hair under the gap as it comes, so that both read the same on the tape."""
    plan = make_plan()
    run = plan.runs[0]
    worst = int(run.cuts.gap.argmax())
    most = np.full(len(run.slots), float(run.cuts.gap[worst]) - 0.01)
    zones = replace(run.layout.zones, most_gap=most)
    over = replace(
        run, layout=replace(run.layout, zones=zones), flags={**run.flags, PicketFlag.GAP: run.cuts.gap > most}
    )
    plan = replace(plan, runs=(over,))
    told = f"just over {plan.words.length(float(run.cuts.gap[worst]))}"
    assert widest_open(plan, plan.words) == told
    assert f"under a picket {told}, picket {worst + 1}" in "\n".join(summary_lines(plan))
    assert dict(next(iter(run_views(plan))).facts)["largest gap below"] == f"{told}, picket {worst + 1}"
    assert dict(run_said(plan, over, 0, plan.words))["Below them"].startswith(f"at most {told} ")


@pytest.mark.parametrize("style", list(TopStyle))
def test_no_board_is_lower_than_the_least_height(make_plan: MakePlan, style: TopStyle) -> None:
    plan = make_plan(style=style)
    facts = run_facts(plan, plan.runs[0])
    assert facts.least_height >= plan.job.top.least_height - 1e-6
    assert height_words(plan, facts, Words.of(plan.job.job)).startswith("6' 2\" to ")


@pytest.mark.parametrize("rule", ["every point", "average"])
def test_what_is_over_the_limit_is_counted_by_the_rule(make_plan: MakePlan, rule: str) -> None:
    plan = make_plan(top=f'least_height = "76 in"\nmeasured = "{rule}"')
    run, words = plan.runs[0], Words.of(plan.job.job)
    assert run.height_check is not None
    over = np.flatnonzero(run.height_check.over)
    texts = {over_height(run, int(i), words) for i in over}
    if rule == "average":
        assert texts == {f"{words.height(run.height_check.tallest)} on average"}
    else:
        assert len(texts) > 1
        assert not any("average" in t for t in texts)


def test_the_limit_of_an_average_is_met_by_the_top_moved_to_it(make_plan: MakePlan) -> None:
    plan = make_plan(top='least_height = "76 in"\nmeasured = "average"')
    run = plan.runs[0]
    assert run.height_check is not None
    x = np.linspace(run.start, run.end, 4001)
    ground = run.ground.profile.elevation(x)
    allowed = limit_line(run, 78.0, ground, x)
    assert float(np.trapezoid(allowed - ground, x)) / (run.end - run.start) == pytest.approx(78.0, abs=1e-3)
    assert (allowed < run.top.at(x)).all()


def test_a_gap_that_reads_as_its_limit_is_said_to_be_just_over(make_plan: MakePlan) -> None:
    run = (plan := make_plan()).runs[0]
    words = Words.of(plan.job.job)
    widest = int(run.cuts.gap.argmax())
    cuts = replace(run.cuts, gap=np.where(run.cuts.gap == run.cuts.gap[widest], 3.02, 0.0))
    assert open_below(replace(run, boards=replace(run.boards, cuts=cuts)), widest, words) == "just over 3 in"
    cuts = replace(run.cuts, gap=cuts.gap + 0.4)
    assert open_below(replace(run, boards=replace(run.boards, cuts=cuts)), widest, words) == "3-3/8 in"


def test_a_slip_makes_the_purchase_provisional_until_it_is_confirmed(make_plan: MakePlan) -> None:
    """Screen, page and JSON say so while a reading a foot off is not confirmed, and no longer."""
    rows = [20, 20.5, 21, 33.5, 22, 22.5, 22]
    survey = "station [ft],drop [in],note\n" + "".join(f"{4 * k},{d},{{}}\n" for k, d in enumerate(rows))
    doubted = make_plan(survey=survey.format(*[""] * 7))
    (told,) = provisional_words(grounds_of(doubted))
    assert told.startswith("PROVISIONAL: buy, cut and dig nothing for lane side")
    screen = "\n".join(summary_lines(doubted))
    assert told[:40] in screen
    assert phone_page(doubted, []).decode().count("PROVISIONAL") == 8
    assert "no board until what looks like a slip" in screen.replace(" of lane side", "")
    assert not re.search(r"[1-9]\d* boards?(?: to come)? can be cut", screen)
    assert sure_words(doubted.runs[0]).startswith("no board until")
    tree = json.loads(json_text(doubted))
    assert tree["provisional"] == [told]
    assert not any(p["from_chart"] for r in tree["runs"] for p in r["pickets"])
    assert chart_text(doubted).count("PROVISIONAL") == 3
    mark = told.partition(" until")[0]
    pages = [
        " ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(field_sheets(doubted))).pages
    ]
    assert all(mark in page for page in pages)
    assert f"{told}." in pages[0], "in its frame, with the reason"
    for name, table in plan_tables(doubted):
        assert all(row[-1] == mark for row in table.rows), name
        assert table.columns[-1].head == "provisional"
    heights = heights_on(doubted.job, grounds_of(doubted))
    assert told in list(heights_lines(heights))
    assert heights_json(heights)["provisional"] == [told]
    stairs = ("heights", heights_drawing(heights, heights.tables[0]))
    assert heights.priced == any("$" in text for text in svg_texts(stairs[1]))
    drawn_words, shown = (
        " ".join(" ".join(x).split()) for x in (svg_texts(stairs[1]), heights_lines(heights))
    )
    for note in (counted_words(doubted.job), OF_WHAT_LINE):
        assert note in drawn_words, "what the stair leaves out stands on it"
        assert note in shown
    grounds = [("ground", drawn) for drawn in ground_figures(doubted.runs[0].ground, doubted.job.job)]
    for _, drawn in [*named_elevations(doubted), *named_cut_boards(doubted), stairs, *grounds]:
        assert mark in " ".join(" ".join(svg_texts(drawn)).split())
    strips = pole_paper(doubted).pages
    assert all(mark in [getattr(item, "text", "") for item in page.items] for page in strips)
    sure = make_plan(survey=survey.format("", "", "", "confirmed", "", "", ""))
    assert not list(provisional_words(grounds_of(sure)))
    assert "PROVISIONAL" not in "\n".join(summary_lines(sure))
    assert "provisional" not in dict(plan_tables(sure))["cut_chart"].heads


def test_how_sure_the_least_sure_of_the_boards_to_cut_is(make_plan: MakePlan) -> None:
    """Screen and first sheet give the worst chance among the boards to be cut now, never a smaller one."""
    rows = (20, 20.5, 22, 26, 31, 27, 24)
    survey = "station [ft],drop [in]\n" + "".join(f"{4 * k},{d}\n" for k, d in enumerate(rows))
    plan = make_plan(survey=survey)
    (run,) = plan.runs
    told = re.search(r"the least sure, picket (\d+), .* in (\d+) cases of 100", sure_words(run))
    assert told is not None
    assert told[0] in " ".join(" ".join(summary_lines(plan)).split())
    number, cases = map(int, told.groups())
    worst = run.doubt.outside[from_chart(run)].max()
    assert run.doubt.outside[number - 1] == worst > 0.01
    assert worst * 100 <= cases < worst * 100 + 1
