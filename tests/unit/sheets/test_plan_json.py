"""The plan for machines: its shape, its figures, and that it is always sound JSON."""

import io
import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from fencegrade.plan import FencePlan
from fencegrade.sheets.plan_json import write_plan_json
from fencegrade.sheets.summary import plan_totals
from fencegrade.units import UnitSystem

MakePlan = Callable[..., FencePlan]


def as_json(plan: FencePlan) -> dict[str, Any]:
    out = io.StringIO()
    write_plan_json(plan, out)

    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is no JSON")

    found: dict[str, Any] = json.loads(out.getvalue(), parse_constant=refuse)
    return found


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
    assert (first["on_hand"], first["to_buy"]) == (7, first["count"] - 7)
    assert found["runs"][0]["top_line"][0] == [0.0, float(plan.runs[0].top.elevations[0])]
    assert [p["message"] for p in found["problems"]] == [p.message for p in plan.problems]


def test_a_metric_plan_is_in_millimetres(make_plan: MakePlan) -> None:
    plan = make_plan(style="level")
    metric = replace(plan, job=replace(plan.job, job=replace(plan.job.job, units=UnitSystem.METRIC)))
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
