"""The plan for machines: `plan.json`, format `fencegrade-plan/1`."""

import json
import math
from collections.abc import Callable, Iterator
from typing import Any, TextIO

import numpy as np

from fencegrade.fence.low_ground.bill import soil_unit
from fencegrade.fence.pickets.flags import every_flags
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.table import style_words
from fencegrade.ground.survey_line import string_at
from fencegrade.job.records import Stock
from fencegrade.planning.buying import BuyLine, buying_list
from fencegrade.planning.families import Family
from fencegrade.planning.hanging import pickets_over_line, posts_over_line, tops_over_line
from fencegrade.planning.part_families import PostsToSet, stock_by_post
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.planning.run import run_spaces
from fencegrade.planning.totals import plan_totals
from fencegrade.sheets.facts import grounds_of, provisional_words
from fencegrade.sheets.gates_and_wind_json import gate_records, wind_record
from fencegrade.sheets.rail_lines import rails_taken
from fencegrade.sheets.tables import plain_rows
from fencegrade.units import VOLUME
from fencegrade.units.arrays import Floats
from fencegrade.units.words import Words

FORMAT = "fencegrade-plan/1"
_ENCODE = json.JSONEncoder(allow_nan=False).encode


def write_plan_json(plan: FencePlan, out: TextIO) -> None:
    """Write the plan as JSON, picket by picket, so that memory does not grow with the run."""
    head, runs, tail, rails = _head(plan), plan.runs, _tail(plan), _rails(plan)
    own = plan.posts_to_set
    stock = stock_by_post(plan.families, own)
    out.write("{")
    out.write(",\n ".join(f"{json.dumps(k)}: {json.dumps(v)}" for k, v in head.items()))
    out.write(',\n "runs": [')
    for index, run in enumerate(runs):
        out.write(",\n  {" if index else "\n  {")
        before, after = _run(plan, run, own[index], stock[index], rails[index])
        out.writelines(f"{json.dumps(k)}: {_text(v)},\n   " for k, v in before.items())
        out.write('"pickets": [')
        for number, picket in enumerate(picket_records(plan, index)):
            out.write((",\n    " if number else "\n    ") + _text(picket))
        out.write("]")
        for key, value in after.items():
            out.write(f",\n   {json.dumps(key)}: ")
            out.writelines(_parts(value))
        out.write("}")
    out.write("]")
    out.writelines(f",\n {json.dumps(k)}: {_text(v)}" for k, v in tail.items())
    out.write("}\n")


def _text(value: Any) -> str:
    return _ENCODE(value)


def _parts(value: Any) -> Iterator[str]:
    """The text of a value; that of an iterator is a list, one of its values after another."""
    if not isinstance(value, Iterator):
        yield _text(value)
        return
    yield "["
    for index, one in enumerate(value):
        yield (", " if index else "") + _text(one)
    yield "]"


def _head(plan: FencePlan) -> dict[str, Any]:
    words = plan.words
    return {
        "format": FORMAT,
        "title": plan.job.title,
        "units": str(words.system),
        "length_unit": words.unit,
        "top": style_words(plan.styles),
    }


def _run(
    plan: FencePlan,
    run: RunPlan,
    own: PostsToSet,
    stock: list[Stock | None],
    rails: Iterator[dict[str, Any]],
) -> tuple[dict[str, Any], dict[str, Any]]:
    """What stands before and after the pickets of a run; what there is much of as iterators."""
    number = plan.words.number
    gaps = (
        {
            "start": number(g.start),
            "end": number(g.end),
            "deepest": number(g.deepest),
            "action": str(g.action),
            "fill_volume": soil_volume(plan, g.fill_volume),
        }
        for g in run.gaps
    )
    line = ([number(x), number(z)] for x, z in zip(run.top.stations, run.top.elevations, strict=True))
    spacing = (
        {
            "row": s.row + 1,
            "first": s.first,
            "last": s.last,
            "start": number(s.start),
            "end": number(s.end),
            "gap": round(s.gap * number(1.0), 9),
        }
        for s in run_spaces(run)
    )
    before = {
        "name": run.run.name,
        "top": str(run.top.style),
        "start": number(run.start),
        "end": number(run.end),
    }
    return before, {
        "gaps": gaps,
        "spacing": spacing,
        "posts": _posts(plan, run, own, stock),
        "rails": rails,
        "top_line": line,
        "gates": gate_records(run, plan.words),
        "wind": wind_record(run, plan.units),
    }


def _posts(
    plan: FencePlan, run: RunPlan, own: PostsToSet, stock: list[Stock | None]
) -> Iterator[dict[str, Any]]:
    """The posts of a run; one that stands, or that another run sets, has no depth and stock."""
    posts, number = run.posts, plan.words.number
    over, tops = posts_over_line(run), tops_over_line(run, posts.station)
    for i in range(len(posts)):
        bought, dug, gate = stock[i], bool(own.wanted[i]), bool(posts.gate[i])
        width, thickness = plan.job.posts.section(gate)
        yield {
            "number": i + 1,
            "station": number(posts.station[i]),
            "kind": str(posts.kinds[i]),
            "ground": number(posts.ground[i]),
            "top": number(posts.top[i]) if posts.known[i] else None,
            "top_over_string": _known(number, over[i]),
            "tops_over_string": _known(number, tops[i]),
            "string": string_at(run.ground, float(posts.station[i])),
            "above_ground": number(posts.above[i]) if posts.known[i] else None,
            "depth": number(own.depth[i]) if dug else None,
            "hole": number(own.depth[i] + plan.job.posts.gravel) if dug else None,
            "hole_diameter": number(plan.job.posts.hole(gate)) if dug else None,
            "set_by": posts.set_by(i) if dug else None,
            "width": number(width) if dug else None,
            "thickness": number(thickness) if dug else None,
            "stock": number(bought.length) if bought else None,
            "standing": bool(posts.standing[i]),
            "shared_with": run.run.join if i == 0 else None,
        }


def _known(number: Callable[[float], float], inches: float) -> float | None:
    """A length, or None where nothing is known of it."""
    return number(inches) if math.isfinite(inches) else None


def _rails(plan: FencePlan) -> list[Iterator[dict[str, Any]]]:
    """The rails of every run, piece by piece, with the board each is cut from; none for those that are up."""
    stock = plan.families.rails.sold_of()
    ends = np.cumsum([int(run.rails_coming.sum()) for run in plan.runs])[:-1]
    return [_run_rails(plan, index, own) for index, own in enumerate(np.split(stock, ends))]


def _run_rails(plan: FencePlan, index: int, stock: Floats) -> Iterator[dict[str, Any]]:
    """The rails of one run; `stock` (in): the boards of those to be cut, and after them of gate frames."""
    run = plan.runs[index]
    pieces, coming, number = run.rail_pieces, run.rails_coming, plan.words.number
    lengths, taken = pieces.cut(plan.mark), rails_taken(plan, index)
    place = np.cumsum(coming) - 1
    for k in range(len(pieces)):
        yield {
            "bay": int(pieces.first_bay[k]) + 1,
            "last_bay": int(pieces.last_bay[k]) + 1,
            "row": int(pieces.row[k]) + 1,
            "length": number(lengths[k]),
            "taken": number(taken[k]) if coming[k] else None,
            "stock": number(float(stock[place[k]])) or None if coming[k] else None,
            "fits": bool(pieces.fits[k]),
            "standing": not coming[k],
        }


def picket_records(plan: FencePlan, index: int) -> Iterator[dict[str, Any]]:
    """Every picket of one run as plain values, lengths in the plan's unit."""
    run, number = plan.runs[index], plan.words.number
    cuts, slots = run.cuts, run.slots
    lengths = [number(s.length) for s in plan.stock.offered]
    columns = (slots.left, slots.right, cuts.top, cuts.bottom_left, cuts.bottom_right, cuts.kept * plan.mark)
    more = (run.stock, plan.trims[index], slots.width, cuts.gap, cuts.height, cuts.tallest)
    several = len(run.ground.strings) > 1
    sure = (pickets_over_line(run), run.doubt.outside, run.doubt.from_chart & (not run.ground.provisional))
    rows = zip(plain_rows(*columns, *more, *sure), every_flags(run.flags, len(slots)), strict=True)
    for place, (row, flags) in enumerate(rows, start=1):
        left, right, top, low_left, low_right, kept, stock, trim, width, gap, height, tallest, *rest = row
        over_line, outside, from_chart = rest
        served = stock != NO_STOCK
        yield {
            "number": place,
            "left": number(left),
            "right": number(right),
            "top_left": number(top),
            "top_right": number(top),
            "bottom_left": number(low_left),
            "bottom_right": number(low_right),
            "length": number(kept),
            "stock": lengths[stock] if served else None,
            "trim": number(trim) if served else None,
            "rip": number(width) if run.ripped[place - 1] else None,
            "gap": number(gap),
            "height": number(height),
            "tallest": number(tallest),
            "top_over_string": _known(number, over_line),
            "string": string_at(run.ground, (left + right) / 2) if several else None,
            "chance_outside": round(outside, 4),
            "from_chart": from_chart,
            "flags": flags,
        }


def soil_volume(plan: FencePlan, cubic_feet: float) -> float:
    """A volume in the unit soil is bought in, clean to a millionth."""
    return round(VOLUME.value_in(cubic_feet, soil_unit(plan.units)), 6)


def _family_stock(family: Family, number: Callable[[float], float]) -> list[dict[str, Any]]:
    """Boards of each length: all that are used, those on hand and those to buy."""
    rows = zip(family.offered, family.counts(True), family.counts(False), strict=True)
    return [
        {
            "length": number(s.length),
            "count": on_hand + bought,
            "price": s.price,
            "on_hand": on_hand,
            "to_buy": bought,
        }
        for s, on_hand, bought in rows
        if on_hand + bought
    ]


def _cutting(family: Family, number: Callable[[float], float]) -> dict[str, Any]:
    plan, mark = family.plan, family.mark

    def worth(value: float) -> float:
        return value if plan.priced else number(value * mark)

    return {
        "boards": [
            {
                "stock": number(family.sold(b)),
                "pieces": [number(p * mark) for p in b.pieces],
                "ends": number(ends * mark),
                "offcut": number(family.left(b)),
                "count": b.count,
            }
            for b, ends in zip(plan.boards, family.ends_by_board(), strict=True)
        ],
        "cost": worth(plan.cost),
        "waste": number(family.waste),
        "kept": number(plan.kept * mark),
        "lower_bound": worth(plan.lower_bound),
        "proven": plan.proven,
        "unit": "money" if plan.priced else "length",
    }


def _bought(line: BuyLine, number: Callable[[float], float]) -> dict[str, Any]:
    """A line of the buying list: what is bought of what, not what is on hand."""
    return {
        "what": line.part,
        "section": line.section or None,
        "length": None if line.length is None else number(line.length),
        "count": line.to_buy,
        "unit": line.unit,
        "price": line.price,
        "cost": line.total,
    }


def _concrete(plan: FencePlan, words: Words) -> dict[str, Any]:
    """Concrete and gravel of all holes; volumes in the unit soil is bought in."""
    concrete = plan.concrete
    return {
        "net": soil_volume(plan, concrete.net),
        "ordered": soil_volume(plan, concrete.ordered),
        "gravel": soil_volume(plan, concrete.gravel),
        "unit": soil_unit(plan.units),
        "bags": concrete.bags_in_all,
        "bag_weight": words.mass(concrete.bag_weight),
        "weight": words.mass(concrete.weight),
        "gravel_bags": concrete.gravel_bags,
        "weight_unit": words.mass_unit,
    }


def _tail(plan: FencePlan) -> dict[str, Any]:
    words = plan.words
    number = words.number
    families = plan.families.named()
    totals, bought = plan_totals(plan), buying_list(plan)
    return {
        "stock": {name: _family_stock(f, number) for name, f in families.items()},
        "cutting": {name: _cutting(f, number) for name, f in families.items()},
        "soil": {
            "compacted": soil_volume(plan, plan.low_ground.bill.compacted),
            "loose": soil_volume(plan, plan.low_ground.bill.loose),
            "unit": soil_unit(plan.units),
            "choice": str(plan.low_ground.choice),
        },
        "concrete": _concrete(plan, words),
        "screws": [
            {
                "use": s.use,
                "length": number(s.length),
                "counted": s.counted,
                "needed": s.needed,
                "boxes": s.boxes,
            }
            for s in plan.screws
        ],
        "buying": [_bought(line, number) for line in bought.lines],
        "missing": [m.as_dict(number) for m in plan.missing],
        "totals": {
            "pickets": totals.pickets,
            "boards": totals.boards,
            "cost": totals.cost,
            "cost_by_run": None if bought.cost is None else bought.cost_by_run(len(plan.runs)),
            "cuts": totals.cuts,
            "waste": number(totals.waste),
        },
        "assumed": [{"key": a.key, "value": a.value} for a in plan.job.assumed],
        "provisional": list(provisional_words(grounds_of(plan))),
        "problems": [p.as_dict() for p in plan.problems],
    }
