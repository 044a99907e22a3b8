"""One board, one length: whatever the top, the pattern, the soil and the stock, every list says the same."""

import io
import re
import tempfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from examples import few
from hypothesis import given
from hypothesis import strategies as st
from in_json import as_json
from numpy.typing import NDArray
from pypdf import PdfReader

from fencegrade.fence.pickets.cuts import Cuts, cut_pickets
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.job.read import Job, read_job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.compare import compare_tops
from fencegrade.planning.plan import FencePlan, RunPlan, plan_fence
from fencegrade.problems import JobMistakesError
from fencegrade.sheets.charts import chart_text, cut_chart_data, saw_list
from fencegrade.sheets.mark_in_place import about_words, to_expect
from fencegrade.sheets.page.page import phone_page
from fencegrade.sheets.page.views import plan_facts, run_views
from fencegrade.sheets.paper.field_sheets import field_sheets
from fencegrade.sheets.screen.compare_text import comparison_json
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.units import parse_length
from fencegrade.units.words import Words

MARK = 0.125
STEP = 1 / 64
STYLES = ["level", "sloped", "stepped", "racked", "contour"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Yard:
    """A job of one run as it is written down."""

    readings: tuple[tuple[float, float], ...]
    tables: str
    style: str

    def job(self) -> Job:
        with tempfile.TemporaryDirectory() as name:
            rows = "".join(f"{x},{z}\n" for x, z in self.readings)
            (Path(name) / "s.csv").write_text(f"station [in],elevation [in]\n{rows}")
            (Path(name) / "job.toml").write_text(
                f'[job]\ntitle = "x"\nunits = "imperial"\ntape = "{MARK} in"\n'
                f'[[run]]\nname = "lane"\nsurvey = "s.csv"\n{self.tables}'
            )
            return read_job(name)


def _stock(table: str, lengths: list[int], priced: bool, held: int) -> str:
    rows = []
    for k, length in enumerate(sorted(lengths)):
        price = f"price = {3 + 2.35 * k:.2f}\n" if priced else ""
        rows.append(f'[[{table}]]\nlength = "{length} in"\non_hand = {held if k == 0 else 0}\n{price}')
    return "".join(rows)


@st.composite
def yards(draw: st.DrawFn) -> Yard:
    """Rolling ground of 13 to 26 ft, every kind of fence on it, water kept open in some."""
    steps = draw(st.lists(st.integers(24, 60), min_size=4, max_size=6))
    falls = draw(st.lists(st.integers(-40, 24), min_size=len(steps), max_size=len(steps)))
    x, z = [0, *np.cumsum(steps).tolist()], [0.0, *(np.cumsum(falls) / 8).tolist()]
    priced = draw(st.booleans())
    water = ""
    if draw(st.integers(0, 3)) == 0:
        water = f'[[run.keep_open]]\nstart = "{x[2]} in"\nend = "{x[2] + 12} in"\nheight = "4 in"\n'
    low = draw(st.sampled_from(["soil", "soil", "cheapest", "kickboard", "boards"]))
    kick = _stock("soil.kickboard", [96, 120], priced, 0) if low in ("kickboard", "cheapest") else ""
    soil = (
        f'[soil]\nlow_ground = "{low}"\nend_slope = {draw(st.sampled_from([0, 3, 7]))}\nmost_depth = "8 in"\n'
    )
    soil += "price = 12.0\n" if priced else ""
    pattern = draw(st.sampled_from(["side by side", "board on board", "shadowbox"]))
    fit = draw(st.sampled_from(["even gaps", "rip last", "rip both ends"]))
    pickets = (
        f'[pickets]\nwidth = "5.5 in"\nspacing = "{draw(st.sampled_from([0, 0.25, 2]))} in"\n'
        f'pattern = "{pattern}"\nfit = "{fit}"\n'
        f'top_end = "{draw(st.sampled_from(["flat", "dog-eared"]))}"\n'
        f'bottom_cut = "{draw(st.sampled_from(["square", "scribed"]))}"\n'
        f'clearance = "2 in"\nmost_gap = "{draw(st.sampled_from([2.5, 3.25, 4]))} in"\n'
    )
    lengths = draw(
        st.lists(st.sampled_from([37, 38, 39, 41, 44, 75, 76, 79]), min_size=1, max_size=3, unique=True)
    )
    stock = _stock("pickets.stock", lengths, priced, draw(st.sampled_from([0, 0, 4])))
    return Yard(
        readings=tuple(zip(x, z, strict=True)),
        tables=f'{water}[top]\nleast_height = "40 in"\n{pickets}{stock}{soil}{kick}',
        style=draw(st.sampled_from(STYLES)),
    )


def planned(yard: Yard) -> FencePlan | None:
    """The plan; None where the ground is too steep for any board."""
    try:
        return plan_fence(yard.job(), yard.style)
    except JobMistakesError as error:
        if any("nothing is left of a picket" not in p.found for p in error.problems):
            raise
        return None


def the_law(plan: FencePlan) -> list[str]:
    """The lengths of the pickets as they are told, after it was seen that every list has the same."""
    told = as_json(plan)
    pickets = told["runs"][0]["pickets"]
    lengths = [p["length"] for p in pickets]
    assert all(p["height"] >= 40 - 1e-4 for p in pickets), "a board under the least height"
    laid = told["cutting"].get("kickboards", {}).get("boards", ())
    on_posts = sum(r["last_bay"] - r["bay"] + 2 for r in told["runs"][0]["rails"]) + 2 * sum(
        b["count"] for b in laid
    )
    assert told["screws"][-1]["counted"] == 2 * on_posts, "two screws wherever a piece lies on a post"
    served = [p["length"] for p in pickets if p["stock"] is not None]
    pieces = [x for b in told["cutting"]["pickets"]["boards"] for x in b["pieces"] * b["count"]]
    assert Counter(pieces) == Counter(served)
    assert [row[3] for row in cut_chart_data(plan).rows] == lengths
    saw: Counter[float] = Counter()
    for row in saw_list(plan, 0).rows:
        length, count = row[0], row[5]
        assert isinstance(length, float)
        assert isinstance(count, int)
        saw[length] += count
    assert saw == Counter(p["length"] for p in pickets if p["stock"] and "mark in place" not in p["flags"])
    for board in plan.families.pickets.traced():
        for piece, name in zip(board.pieces, board.names, strict=True):
            number = int(name.rpartition(" ")[2])
            assert piece * MARK == lengths[number - 1]
            assert board.stock * MARK == pickets[number - 1]["stock"]
    cards = [c for view in run_views(plan) for bay in view.bays for c in bay.cards]
    wanted = dict(enumerate(told_as(plan, pickets), start=1))
    marked = [p["number"] for p in pickets if "mark in place" in p["flags"]]
    assert [c.number for c in cards if c.kept == "LEAVE LONG"] == marked
    assert {c.number: c.expect.removeprefix("mark in place, ") or c.kept for c in cards} == wanted
    chart = chart_text(plan).split("SAW LIST")[0].splitlines()
    rows = {line.split()[0]: line for line in chart if line[:8].strip().isdigit()}
    assert all(text in rows[str(n)] for n, text in wanted.items())
    for n in marked:
        longest = parse_length(wanted[n].split(" to ")[-1].removeprefix("about "))
        assert lengths[n - 1] <= longest <= pickets[n - 1]["stock"], "more than is left of its board"
    return [*wanted.values()]


def told_as(plan: FencePlan, pickets: Sequence[dict[str, Any]]) -> list[str]:
    """The length of each picket as people read it, about what it comes to where it is marked in place."""
    words, (low, high) = Words.of(plan.job.job), to_expect(plan, 0)
    return [
        about_words(float(low[k]), float(high[k]), words)
        if "mark in place" in p["flags"]
        else words.length(p["length"])
        for k, p in enumerate(pickets)
    ]


@given(yard=yards())
def test_a_picket_has_one_length_in_every_list(yard: Yard) -> None:
    plan = planned(yard)
    if plan is not None:
        the_law(plan)


@few(3)
@given(yard=yards())
def test_a_picket_has_that_length_on_paper_and_on_the_page(yard: Yard) -> None:
    plan = planned(yard)
    if plan is None:
        return
    words = Words.of(plan.job.job)
    wanted = Counter(the_law(plan))
    pages = PdfReader(io.BytesIO(field_sheets(plan))).pages
    paper = " ".join(" ".join(page.extract_text().split()) for page in pages)
    page = phone_page(plan).decode("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    for length, count in wanted.items():
        # in a table of most columns the unit stands in the heading
        bare = f"keep [{words.unit}]" in paper and not length.startswith("about ")
        shown = length.split()[0] if bare else length
        assert len(re.findall(rf"(?<![\d/'.-]){re.escape(shown)}(?![\d/'.-])", paper)) >= count
        assert page.count(length) >= count


Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Laid:
    """The soil of a run on a fine grid that goes on past its ends, where the ground is taken as level."""

    x: Floats
    ground: Floats
    top: Floats


def laid(plan: FencePlan, run: RunPlan, full: Cuts) -> Laid:
    """The soil as the fills say: every board's own body, what lies between them, and both sloping ends.

    `full`: cuts over bare ground. Shares nothing with the plan but the cuts and the fills' outlines.
    """
    line, soil, slots = run.ground.profile.line, plan.job.soil, run.slots
    x = np.arange(run.start - 80, run.end + 80, STEP) + STEP / 2
    ground = line.elevation(np.clip(x, line.start, line.end))
    top = np.full(len(x), -np.inf)
    for fill in run.closing.fills:
        low = [np.inf, np.inf]
        stock = round(plan.stock.offered[fill.stock].length / MARK)
        edges = []
        for i in range(fill.first - 1, fill.last):
            loss = int(full.kept[i]) - stock
            ends = [
                float(full.top[i]) - (int(k[i]) - loss) * MARK - float(run.zones.clearance[i])
                for k in (full.kept_left, full.kept_right)
            ]
            a, b = float(slots.left[i]), float(slots.right[i])
            here = (x >= a) & (x <= b)
            top[here] = np.maximum(top[here], np.interp(x[here], [a, b], ends))
            edges.append((a, b, *ends))
        for (_, b, _, zb), (c, _, zc, _) in pairwise(edges):
            here = (x > b) & (x < c)
            top[here] = np.maximum(top[here], np.interp(x[here], [b, c], [zb, zc]))
        slope = max(soil.end_slope, 1e-6)
        low = [edges[0][2], edges[-1][3]]
        for edge, z, foot, way in (
            (fill.start, low[0], fill.foot_start, -1),
            (fill.end, low[1], fill.foot_end, 1),
        ):
            away = (x - edge) * way
            reach = (foot - edge) * way
            beyond = foot in (run.start, run.end)
            here = (away > 0) & ((away <= reach) | beyond)
            top[here] = np.maximum(top[here], z - away[here] / slope)
    return Laid(x=x, ground=ground, top=top)


@given(yard=yards())
def test_boards_keep_to_the_finished_ground_and_soil_is_what_lies_there(yard: Yard) -> None:
    """Clearance and gap of every board, and the volume of all soil, on a grid of 1/64 in."""
    plan = planned(yard)
    if plan is None:
        return
    (run,) = plan.runs
    line, soil = run.ground.profile.line, plan.job.soil
    bare = cut_pickets(line, run.slots, run.top, run.zones.clearance, plan.job.pickets.bottom_cut, MARK)
    found = laid(plan, run, bare)
    depth = np.maximum(found.top - found.ground, 0.0)
    volume = float(np.sum(soil.crest * depth + soil.side_slope * depth**2)) * STEP / 1728
    assert plan.low_ground.bill.compacted == pytest.approx(volume, rel=4e-3, abs=2e-4)
    finished = found.ground + depth
    open_under = run.zones.open | run.closing.boarded
    flagged = run.flags[PicketFlag.GAP] | run.boards.unserved | open_under
    most = run.zones.most_gap
    assert np.all((run.cuts.gap <= most + 1e-6) | flagged)
    assert np.all((run.cuts.kept >= run.boards.needs.least) | run.boards.unserved), (
        "none shorter than its gap allows"
    )
    for i in range(len(run.slots)):
        a, b = float(run.slots.left[i]), float(run.slots.right[i])
        here = (found.x > a + STEP) & (found.x < b - STEP)
        bottom = np.interp(found.x[here], [a, b], [run.cuts.bottom_left[i], run.cuts.bottom_right[i]])
        space = bottom - finished[here]
        slack = 2 * STEP * max(1.0, float(np.abs(np.diff(finished[here])).max(initial=0)) / STEP)
        if not run.closing.boarded[i]:
            assert space.min() >= run.zones.clearance[i] - 1e-6
            assert space.max() <= run.cuts.gap[i] + 1e-6
            assert run.cuts.gap[i] - space.max() <= slack + 0.05


@few(12)
@given(yard=yards())
def test_what_is_marked_in_place_has_wood_to_mark(yard: Yard) -> None:
    """Every picket says its chance; a board to be marked reaches its long end, or all of it may be short."""
    plan = planned(yard)
    if plan is None:
        return
    (run,), mark = plan.runs, plan.mark
    told = as_json(plan)["runs"][0]["pickets"]
    marked = run.flags[PicketFlag.MARK_IN_PLACE]
    needs, wood = run.boards.needs, run.boards.wood
    lower = run.ground.profile.spread.at(run.slots.centre).above(0.99)
    reach = needs.over_higher_ground(-lower).least
    lengths = np.append(plan.stock.lengths, 0)[run.stock]
    for i, picket in enumerate(told):
        doubtful = run.doubt.outside[i] > plan.job.pickets.most_chance
        assert marked[i] == (doubtful and not run.boards.unserved[i])
        assert picket["from_chart"] == (not doubtful and not run.ground.provisional)
        assert picket["chance_outside"] == pytest.approx(run.doubt.outside[i], abs=1e-4)
        if run.closing.on_soil[i] or run.closing.boarded[i]:
            assert picket["chance_outside"] == 0, "it is brought up to the board"
        if marked[i]:
            whole = wood[i] == lengths[i] or wood[i] == run.cuts.kept[i]
            assert wood[i] >= reach[i] or (whole and run.doubt.short[i] > 0.0099)
    for board, members in plan.families.pickets.laid():
        left = int(plan.families.pickets.left_long[list(members)].sum())
        assert sum(board.pieces) + left <= board.stock, "what is left on a piece is on its board"
    assert np.all(wood[~run.boards.unserved] >= run.cuts.kept[~run.boards.unserved])
    assert mark == MARK


@few(8)
@given(yard=yards())
def test_the_total_is_the_sum_of_the_list_as_printed(yard: Yard) -> None:
    plan = planned(yard)
    if plan is None:
        return
    told = as_json(plan)
    cents = [round(100 * line["cost"]) for line in told["buying"] if line["cost"] is not None]
    for line in told["buying"]:
        if line["price"] is not None:
            assert round(line["price"], 2) == line["price"]
            assert line["cost"] == pytest.approx(line["count"] * line["price"], abs=0.0051)
    cost = told["totals"]["cost"]
    assert cost == (sum(cents) / 100 if cents else None)
    assert cost == buying_list(plan).cost


def test_what_no_stock_serves_is_told_of_every_part_wherever_the_purchase_is() -> None:
    yard = Yard(
        readings=((0, 0), (60, 0), (120, 0), (180, 0), (240, 0)),
        tables='[top]\nleast_height = "6 ft"\n[[pickets.stock]]\nlength = "48 in"\nprice = 3.0\n'
        '[[pickets.stock]]\nlength = "8 ft"\non_hand = 3\nlimit = 0\n[[posts.stock]]\nlength = "40 in"\n'
        "[fasteners]\nbox_price = 9\n",
        style="level",
    )
    plan = plan_fence(yard.job(), "level")
    posts, pickets = len(plan.runs[0].posts), len(plan.runs[0].slots) - 3
    told = as_json(plan)["missing"]
    assert [m["used_up"] for m in told] == [[{"length": 96, "count": 3}], []]
    assert [(m["part"], m["count"], m["longest"]) for m in told] == [
        ("picket", pickets, 48),
        ("post", posts, 40),
    ]
    words = [f"no stock serves {pickets} pickets", f"no stock serves {posts} posts"]
    more = f"3 of 8 ft on hand are used up: get {pickets} more of 8 ft, or add a longer length"
    pages = PdfReader(io.BytesIO(field_sheets(plan))).pages
    paper = " ".join(" ".join(page.extract_text().split()) for page in pages)
    for place in (" ".join(" ".join(summary_lines(plan)).split()), str(list(plan_facts(plan)))):
        assert all(w in place for w in (*words, more))
    assert paper.count(more) == 2
    cost = f"{plan.words.money(buying_list(plan).cost or 0.0)} WITHOUT {pickets} pickets and {posts} posts "
    assert paper.count(f"To buy, {cost}that no stock serves") == paper.count(f"Together {cost}") == 1
    page = phone_page(plan).decode("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    for place in ("\n".join(summary_lines(plan)), str(list(plan_facts(plan))), page):
        assert cost in " ".join(place.split())
    assert all(paper.count(f"{w}, not in this list") == 2 for w in words), (
        "on the cover and under the buying list"
    )
    assert not any(t["feasible"] for t in comparison_json(compare_tops(yard.job()))["tops"])
