"""The plan for machines: its shape, its figures, and that it is always sound JSON."""

import itertools
import json
import re
from collections.abc import Callable
from dataclasses import replace
from importlib import resources
from typing import Any

import pytest
from in_json import as_json
from msgspec import structs

from fencegrade.job.as_built import AsBuilt, BuiltRun, PicketUp
from fencegrade.job.read import Job
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.planning.totals import plan_totals
from fencegrade.sheets.drawings.cut_patterns import family_patterns
from fencegrade.sheets.page.page import phone_page
from fencegrade.sheets.schedules import board_table
from fencegrade.sheets.screen.details import detail_lines
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.units import UnitSystem

from .conftest import SURVEY

GATE_TEXT = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"'
MakePlan = Callable[..., FencePlan]
WriteJob = Callable[..., Job]


PICKET = {
    "number", "left", "right", "top_left", "top_right", "bottom_left", "bottom_right", "length", "stock",
    "trim", "rip", "gap", "height", "tallest", "flags",
}  # fmt: skip


def test_the_shape_is_the_one_promised(make_plan: MakePlan) -> None:
    found = as_json(make_plan())
    assert found["format"] == "fencegrade-plan/1"
    assert (found["title"], found["units"], found["length_unit"], found["top"]) == (
        "Herb garden", "imperial", "in", "level",
    )  # fmt: skip
    assert {"runs", "stock", "cutting", "soil", "totals", "problems"} <= set(found)
    (run,) = found["runs"]
    assert {"name", "start", "end", "pickets", "gaps", "posts", "rails", "top_line"} <= set(run)
    assert set(run["pickets"][0]) >= PICKET
    assert {"pickets", "posts", "rails"} <= set(found["stock"])
    assert {"compacted", "loose", "unit"} <= set(found["soil"])
    assert {"cost", "cuts", "waste"} <= set(found["totals"])
    for gap in run["gaps"]:
        assert set(gap) >= {"start", "end", "deepest", "action", "fill_volume"}
        assert gap["action"] in {"none", "fill", "longer board", "leave open"}
    for problem in found["problems"]:
        assert set(problem) >= {"severity", "place", "message"}


def test_a_stock_board_has_one_name_its_length_as_sold(make_plan: MakePlan) -> None:
    """Boards of no whole marks are told by their own length wherever they are named, and what is wasted of
    them is what the pieces leave of that."""
    job = make_plan(pickets='top_end = "flat"', top=GATE_TEXT).job
    every: dict[str, Any] = {"pickets": job.pickets, "posts": job.posts, "rails": job.rails}
    parts = {
        name: replace(part, stock=tuple(replace(s, length=s.length + 0.07) for s in part.stock))
        for name, part in every.items()
    }
    plan = plan_fence(replace(job, **parts))
    found, say = as_json(plan), plan.words
    told = {say.sold_length(s.length) for part in parts.values() for s in part.stock}
    assert all(name.endswith(".07 in") for name in told)
    for part, family in plan.families.named().items():
        sold = {s["length"] for s in found["stock"][part]}
        boards = found["cutting"][part]["boards"]
        assert (
            {b["stock"] for b in boards} == sold == {row[1] for row in board_table(plan, part, family).rows}
        )
        cut = sum(b["count"] * (b["stock"] - sum(b["pieces"])) for b in boards)
        wasted = found["cutting"][part]["waste"] + found["cutting"][part]["kept"]
        assert wasted == pytest.approx(cut, abs=1e-3)
        assert {p.stock for p in family_patterns(plan, family)} <= sold
    assert found["totals"]["waste"] == found["cutting"]["pickets"]["waste"]
    assert {r["stock"] for r in found["runs"][0]["rails"]} <= {s["length"] for s in found["stock"]["rails"]}
    shown = " ".join([*summary_lines(plan), *detail_lines(plan), phone_page(plan, []).decode()])
    assert told >= set(re.findall(r"(?:from|of) (\d+\.\d+ in)", shown)) >= {say.sold_length(72.07)}


def test_rails_are_counted_from_the_top_as_their_schema_says(make_plan: MakePlan) -> None:
    plan = make_plan()
    rails, rows = as_json(plan)["runs"][0]["rails"], plan.runs[0].rails
    first = float(rows.drop[rows.row == 0].max())
    assert first < float(rows.drop[rows.row > 0].min())
    words = json.loads((resources.files("fencegrade.sheets") / "schemas" / "plan.json").read_text("utf-8"))
    described = words["properties"]["runs"]["items"]["properties"]["rails"]["items"]["properties"]["row"]
    assert described["description"] == "1 is the top rail"
    assert {r["row"] for r in rails} == set(range(1, int(rows.row.max()) + 2))


def test_what_is_bought_adds_up_and_everything_taken_is_told(write_job: WriteJob) -> None:
    priced = '[posts]\nbag_price = 6.35\n[fasteners]\nbox_price = 9.99\n[site]\nwind_speed = "45 m/s"\n'
    stock = '[[pickets.stock]]\nlength = "1.8 m"\nprice = 2.333\n'
    level = "station [m],elevation [mm]\n0,0\n4,0\n8,0\n"
    gate = '[[run.gate]]\nstation = "3 m"\nwidth = "2.4 m"\nleaves = 2\n'
    plan = plan_fence(write_job(priced, units="metric", stock=stock, lane=(level, gate)))
    found = as_json(plan)
    cents = [round(b["cost"] * 100) for b in found["buying"] if b["cost"] is not None]
    assert found["totals"]["cost"] == sum(cents) / 100
    assert found["totals"]["cost_by_run"] == [found["totals"]["cost"]]
    for b in found["buying"]:
        assert set(b) == {"what", "section", "length", "count", "unit", "price", "cost"}
        assert b["cost"] is None or abs(b["count"] * b["price"] - b["cost"]) < 0.0051
    assert {(a["key"], a["value"]) for a in found["assumed"]} >= {("[posts] depth_share", "1/3")}
    assert found["concrete"]["weight_unit"] == "kg"
    assert found["concrete"]["bags"] * 25.0 == pytest.approx(found["concrete"]["weight"], abs=0.1)
    assert [s["boxes"] for s in found["screws"]] == [s.boxes for s in plan.screws]
    (run,) = found["runs"]
    (hung,) = run["gates"]
    assert (hung["number"], hung["start"], hung["end"], hung["leaves"]) == (1, 3000.0, 5400.0, 2)
    assert (hung["hinge"], len(hung["hung"])) == ("both", 2)
    assert [h["weight"] for h in hung["hung"]] == [
        pytest.approx(f.weight * 0.45359237, abs=0.005) for f in plan.runs[0].frames
    ]
    assert {p["hole_diameter"] for p in run["posts"]} == {250.0}
    assert {p["set_by"] for p in run["posts"]} == {
        plan.runs[0].posts.set_by(k) for k in range(len(run["posts"]))
    }
    wind, screen = run["wind"], plan.runs[0].wind
    assert screen is not None
    assert wind["units"] == {"pressure": "kPa", "force": "N", "moment": "N m"}
    assert wind["pressure"] == pytest.approx(screen.load.pressure * 0.04788026, abs=1e-4)
    assert wind["posts"][1]["moment"] == pytest.approx(screen.moment[1] * 1.3558179, abs=0.06)
    assert wind["assumed"] == list(screen.assumptions)


@pytest.mark.parametrize("bottom", ["square", "scribed"])
def test_the_figures_of_each_picket_agree_with_one_another(make_plan: MakePlan, bottom: str) -> None:
    for n, p in enumerate(as_json(make_plan(bottom=bottom))["runs"][0]["pickets"]):
        assert p["number"] == n + 1
        sides = p["top_left"] - p["bottom_left"], p["top_right"] - p["bottom_right"]
        assert p["length"] == pytest.approx(max(sides), abs=2e-4)
        assert p["length"] + p["trim"] == pytest.approx(p["stock"], abs=2e-4)
        assert p["length"] / 0.125 == pytest.approx(round(p["length"] / 0.125))
        assert p["height"] <= p["tallest"]
        assert p["gap"] >= 2.0 - 1e-4
        if bottom == "square":
            assert p["gap"] == pytest.approx(p["tallest"] - p["length"], abs=3e-4)


def test_it_says_what_the_plan_says(make_plan: MakePlan) -> None:
    plan = make_plan(there=7)
    found, totals, run = as_json(plan), plan_totals(plan), plan.runs[0]
    pickets = found["runs"][0]["pickets"]
    assert len(pickets) == len(run.slots) == found["totals"]["pickets"]
    assert [round(p["length"] / 0.125) for p in pickets] == run.cuts.kept.tolist()
    assert found["totals"]["cost"] == totals.cost
    assert found["totals"]["cuts"] == totals.cuts
    counts = {s["length"]: s["count"] for s in found["stock"]["pickets"]}
    assert counts == {s.length: int(n) for s, n in zip(plan.stock.offered, plan.stock.used, strict=True) if n}
    first = next(s for s in found["stock"]["pickets"] if s["length"] == 72)
    there = min(7, first["count"])
    assert (first["on_hand"], first["to_buy"]) == (there, first["count"] - there)
    assert found["runs"][0]["top_line"][0] == [0.0, float(plan.runs[0].top.elevations[0])]
    assert [p["message"] for p in found["problems"]] == [p.message for p in plan.problems]


def test_a_metric_plan_is_in_millimetres(make_plan: MakePlan) -> None:
    plan = make_plan(style="level")
    metric = structs.replace(
        plan,
        job=replace(plan.job, job=replace(plan.job.job, units=UnitSystem.METRIC)),
    )
    inches, millimetres = as_json(plan), as_json(metric)
    assert millimetres["length_unit"] == "mm"
    for a, b in zip(inches["runs"][0]["pickets"], millimetres["runs"][0]["pickets"], strict=True):
        for key in ("left", "length", "gap", "stock", "tallest"):
            assert b[key] == pytest.approx(a[key] * 25.4, abs=0.002)


def test_what_no_board_serves_has_no_stock(make_plan: MakePlan) -> None:
    deep = "station [ft],drop [in]\n0,20\n8,20\n12,70\n16,20\n24,20\n"
    pickets = as_json(make_plan(survey=deep))["runs"][0]["pickets"]
    missing = [p for p in pickets if "no stock long enough" in p["flags"]]
    assert missing
    assert all(p["stock"] is None and p["trim"] is None for p in missing)


@pytest.mark.parametrize("style", ["level", "sloped", "stepped", "racked", "contour"])
def test_any_top_and_any_title_is_sound_json(make_plan: MakePlan, style: str) -> None:
    title = r"Küche \"<b>\" \\ </script> \u001b[31m 柵"
    found = as_json(make_plan(title=title, style=style))
    assert found["top"] == style
    assert found["title"] == 'Küche "<b>" \\ </script>  [31m 柵'


LEVEL = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"


def test_a_cutting_plan_without_prices_counts_length(write_job: WriteJob) -> None:
    stock = '[[pickets.stock]]\nlength = "6 ft"\n'
    for units, system, board in (("imperial", "in", 72.0), ("metric", "mm", 1828.0)):
        found = as_json(plan_fence(write_job(units=units, stock=stock, lane=LEVEL)))
        cutting, (offered,) = found["cutting"]["pickets"], found["stock"]["pickets"]
        assert (cutting["unit"], found["length_unit"]) == ("length", system)
        assert cutting["cost"] == pytest.approx(offered["count"] * board, rel=1e-3)
        assert cutting["lower_bound"] <= cutting["cost"]


def test_only_a_ripped_picket_has_a_rip(write_job: WriteJob) -> None:
    short = "station [ft],elevation [in]\n0,0\n5,0\n10,0\n"
    (run,) = as_json(plan_fence(write_job(pickets='fit = "rip last"', lane=short)))["runs"]
    *whole, last = run["pickets"]
    assert {p["rip"] for p in whole} == {None}
    assert last["rip"] == pytest.approx(last["right"] - last["left"], abs=2e-4)
    assert last["rip"] < 5.5


def test_a_ripped_picket_has_its_rip_once_it_stands_and_a_narrow_one_has_none(write_job: WriteJob) -> None:
    """On 117 in 20 boards of 5-1/2 and spaces of 1/4 in leave a last one of 2; five came 1/8 in narrower."""
    job = write_job(pickets='fit = "rip last"', lane="station [ft],elevation [in]\n0,0\n5,0\n9.75,0\n")
    narrow, last = PicketUp(number=5, far_edge=5 * 5.375 + 1), PicketUp(number=21, far_edge=117.0)
    for up, rips in (((narrow, last), [21]), ((last,), [21]), ((narrow,), [])):
        built = AsBuilt(run=(BuiltRun(name="lane", picket=up),))
        (run,) = as_json(plan_fence(replace(job, built=built)))["runs"]
        standing = [p for p in run["pickets"] if "stands" in p["flags"]]
        assert len(standing) == up[-1].number
        assert [p["number"] for p in standing if p["rip"] is not None] == rips
        assert all(p["rip"] == pytest.approx(p["right"] - p["left"], abs=2e-4) for p in standing if p["rip"])


def test_each_run_has_its_own_rails(write_job: WriteJob) -> None:
    slope = "station [ft],elevation [in]\n0,0\n8,9\n16,18\n"
    plan = plan_fence(write_job(flat=LEVEL, bank=slope), "sloped")
    for run, found in zip(plan.runs, as_json(plan)["runs"], strict=True):
        lengths = [rail["length"] for rail in found["rails"]]
        assert lengths == pytest.approx(run.rail_pieces.length.tolist(), abs=plan.mark + 1e-6)
    rails = as_json(plan)["runs"]
    assert rails[0]["rails"][0]["length"] < rails[1]["rails"][0]["length"]


def test_a_hole_is_as_deep_as_post_and_gravel(write_job: WriteJob) -> None:
    plan = plan_fence(write_job('[posts]\ngravel = "5 in"', lane=LEVEL))
    for post in as_json(plan)["runs"][0]["posts"]:
        assert post["hole"] == pytest.approx(post["depth"] + 5, abs=1e-3)


def test_loose_soil_is_the_compacted_and_its_swell(write_job: WriteJob) -> None:
    soil = '[soil]\nlow_ground = "soil"\nprice = 40.0\nmost_depth = "12 in"\nloose_factor = 1.4\n'
    found = as_json(plan_fence(write_job(soil)))
    volume = sum(gap["fill_volume"] for gap in found["runs"][0]["gaps"])
    assert found["soil"]["unit"] == "yd3"
    assert found["soil"]["compacted"] == pytest.approx(volume, abs=1e-5)
    assert found["soil"]["compacted"] > 0
    assert found["soil"]["loose"] == pytest.approx(1.4 * found["soil"]["compacted"], abs=1e-5)


def test_spaces_are_those_between_the_edges_and_not_rounded(make_plan: MakePlan) -> None:
    (run,) = as_json(make_plan(pickets='spacing = "5/8 in"'))["runs"]
    pickets = run["pickets"]
    (laid,) = run["spacing"]
    assert (laid["start"], laid["end"]) == (pickets[0]["left"], pickets[-1]["right"])
    for before, after in itertools.pairwise(pickets):
        assert after["left"] - before["right"] == pytest.approx(laid["gap"], abs=2e-4)
    assert laid["gap"] * 32 != round(laid["gap"] * 32)


def test_tops_are_told_over_the_string_at_each_picket_and_post(make_plan: MakePlan) -> None:
    """The string is level at 0 in these readings, so a height over it is an elevation."""
    survey = SURVEY.replace("\n", ",A\n").replace("[in],A", "[in],string")
    (run,) = as_json(make_plan(style="contour", survey=survey))["runs"]
    assert {p["string"] for p in run["pickets"]} == {None}, "named where there are several"
    assert [p["top_over_string"] for p in run["pickets"]] == [p["top_left"] for p in run["pickets"]]
    assert [p["top_over_string"] for p in run["posts"]] == [p["top"] for p in run["posts"]]
