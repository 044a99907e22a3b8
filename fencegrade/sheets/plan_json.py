"""The plan for machines: `plan.json`, format `fencegrade-plan/1`."""

import json
from collections.abc import Iterator
from typing import Any, TextIO

from fencegrade.fence.flags import flags_of
from fencegrade.fence.stock import NO_STOCK
from fencegrade.plan import FencePlan, RunPlan
from fencegrade.sheets.summary import plan_totals
from fencegrade.sheets.words import Words

FORMAT = "fencegrade-plan/1"


def write_plan_json(plan: FencePlan, out: TextIO) -> None:
    """Write the plan as JSON, picket by picket, so that memory does not grow with the run."""
    head, runs, tail = _head(plan), plan.runs, _tail(plan)
    out.write("{")
    out.write(",\n ".join(f"{json.dumps(k)}: {json.dumps(v, ensure_ascii=False)}" for k, v in head.items()))
    out.write(',\n "runs": [')
    for index, run in enumerate(runs):
        out.write(",\n  {" if index else "\n  {")
        before, after = _run(plan, run)
        out.writelines(f"{json.dumps(k)}: {_text(v)},\n   " for k, v in before.items())
        out.write('"pickets": [')
        for number, picket in enumerate(picket_records(plan, index)):
            out.write((",\n    " if number else "\n    ") + _text(picket))
        out.write("]")
        out.writelines(f",\n   {json.dumps(k)}: {_text(v)}" for k, v in after.items())
        out.write("}")
    out.write("]")
    out.writelines(f",\n {json.dumps(k)}: {_text(v)}" for k, v in tail.items())
    out.write("}\n")


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _head(plan: FencePlan) -> dict[str, Any]:
    words = Words.of(plan.job.job)
    return {
        "format": FORMAT,
        "title": plan.job.job.title,
        "units": str(words.system),
        "length_unit": words.unit,
        "top": str(plan.style),
    }


def _run(plan: FencePlan, run: RunPlan) -> tuple[dict[str, Any], dict[str, Any]]:
    """What stands before and after the pickets of a run."""
    number = Words.of(plan.job.job).number
    gaps = [
        {
            "start": number(g.start),
            "end": number(g.end),
            "deepest": number(g.deepest),
            "action": str(g.action),
            "fill_volume": g.fill_volume,
        }
        for g in run.gaps
    ]
    line = [
        [number(x), number(z)] for x, z in zip(run.top.stations, run.top.elevations, strict=True)
    ]
    before = {"name": run.run.name, "start": number(run.start), "end": number(run.end)}
    return before, {"gaps": gaps, "posts": [], "rails": [], "top_line": line}


def picket_records(plan: FencePlan, index: int) -> Iterator[dict[str, Any]]:
    """Every picket of one run as plain values, lengths in the plan's unit."""
    run, number = plan.runs[index], Words.of(plan.job.job).number
    cuts, slots, trims = run.cuts, run.slots, plan.trims[index]
    full_width = plan.job.pickets.width
    for i in range(len(slots)):
        served = run.stock[i] != NO_STOCK
        width = float(slots.right[i] - slots.left[i])
        yield {
            "number": i + 1,
            "left": number(slots.left[i]),
            "right": number(slots.right[i]),
            "top_left": number(cuts.top[i]),
            "top_right": number(cuts.top[i]),
            "bottom_left": number(cuts.bottom_left[i]),
            "bottom_right": number(cuts.bottom_right[i]),
            "length": number(cuts.kept[i] * plan.mark),
            "stock": number(plan.stock.offered[run.stock[i]].length) if served else None,
            "trim": number(trims[i]) if served else None,
            "rip": number(width) if width < full_width - 1e-6 else None,
            "gap": number(cuts.gap[i]),
            "height": number(cuts.height[i]),
            "tallest": number(cuts.tallest[i]),
            "flags": flags_of(run.flags, i),
        }


def _tail(plan: FencePlan) -> dict[str, Any]:
    number = Words.of(plan.job.job).number
    stock = plan.stock
    pickets = [
        {
            "length": number(s.length),
            "count": int(used),
            "price": s.price,
            "on_hand": int(used - bought),
            "to_buy": int(bought),
        }
        for s, used, bought in zip(stock.offered, stock.used, stock.bought, strict=True)
        if used
    ]
    totals = plan_totals(plan)
    return {
        "stock": {"pickets": pickets, "posts": [], "rails": []},
        "cutting": {},
        "soil": {"compacted": 0.0, "loose": 0.0, "unit": "yd3" if number(1.0) == 1.0 else "m3"},
        "totals": {
            "pickets": totals.pickets,
            "boards": totals.boards,
            "cost": totals.cost,
            "cuts": totals.cuts,
            "waste": number(totals.waste),
        },
        "problems": [
            {"severity": str(p.severity), "place": p.place, "message": p.message} for p in plan.problems
        ],
    }
