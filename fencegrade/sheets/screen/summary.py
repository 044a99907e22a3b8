"""The plan at a glance, on one screen: the answer and what is to decide come last, in sight."""

from collections.abc import Iterator

import numpy as np

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.tops.table import style_words
from fencegrade.planning.buying import SCREW_KIND, BuyingList, BuyLine, buying_list
from fencegrade.planning.higher_or_lower import better_height
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.planning.run import spaces_not_asked
from fencegrade.planning.totals import Totals, plan_totals
from fencegrade.problems import Severity
from fencegrade.sheets.cautions import said_in
from fencegrade.sheets.digging import is_checked
from fencegrade.sheets.facts import (
    EVERY_UP,
    UNTIL_READ,
    before_buying,
    board_words,
    cost_words,
    grounds_of,
    height_words,
    open_below,
    provisional_words,
    run_facts,
    space_sizes,
    tops_words,
    up_words,
    waiting_words,
)
from fencegrade.sheets.height_words import moved_words
from fencegrade.sheets.mark_in_place import least_sure, sure
from fencegrade.sheets.run_words import corner_lines, gate_lines, run_cost_lines
from fencegrade.sheets.screen.wrapping import WIDTH, indented, section, wrapped
from fencegrade.sheets.work import carried_words, risk_lines
from fencegrade.units.words import Words, numbers, plural

DIG_FIRST = (
    "Before digging: buried lines marked [(811 in the US)|(one-call service)], permit, boundary; water, "
    "pool, wall and tall fence have rules of their own. Other cautions stand with their task on the sheets."
)

_FIRST_TOLD = (
    "units",
    "stock",
    "style",
    "least_height",
    "width",
    "spacing",
    "clearance",
    "most_gap",
    "depth_share",
)
"""Keys told first when they are assumed, since they shape what is bought."""

_ASSUMED_LINES = 2


def summary_lines(plan: FencePlan, *, more: str = "", written: str = "") -> Iterator[str]:
    """The summary on the screen, line by line, at most 100 columns wide.

    `more`: how all of it is shown, in a few words; `written`: where the sheets are.
    """
    yield from wrapped(title_line(plan))
    yield from _assumed(plan, more)
    if not is_checked(plan):
        yield from wrapped(said_in(plan.units, DIG_FIRST))
    if written:
        yield from wrapped(written)
    yield ""
    yield from buying_lines(plan)
    yield ""
    yield "The fence"
    for run in plan.runs:
        yield from indented(_run_lines(plan, run))
    yield from indented(corner_lines(plan))
    yield from section("Sure of", _sure_lines(plan))
    yield from section("To decide", _to_decide(plan))


def title_line(plan: FencePlan) -> str:
    """What the plan is of: `Herb garden: level top, 64' 0", 139 boards, 11 posts, 1 gate`."""
    words, totals = plan.words, plan_totals(plan)
    length = words.station(sum(run.end - run.start for run in plan.runs))
    posts = sum(len(f.asked) for name, f in plan.families.named().items() if name in {"posts", "gate_posts"})
    gates = sum(len(run.run.gate) for run in plan.runs)
    parts = [
        f"{style_words(plan.styles)} top",
        length,
        plural(totals.pickets, "picket") + up_words(plan.runs),
        plural(posts, "post") + " to set",
    ]
    if gates:
        parts.append(plural(gates, "gate"))
    return f"{plan.job.title}: {', '.join(parts)}"


def _assumed(plan: FencePlan, more: str) -> list[str]:
    """What stands in for what the job does not say, in a few lines: what is bought first, then sizes."""
    behind = f" ({more})." if more else "."
    if not plan.job.assumed:
        return wrapped("Assumed: nothing, the job says everything itself" + behind)
    first = sorted(plan.job.assumed, key=lambda a: _first_told(a.key))
    for shown in range(len(first), 0, -1):
        rest = len(first) - shown
        told = "; ".join(f"{a.key} = {a.value}" for a in first[:shown])
        lines = wrapped(f"Assumed: {told}" + (f"; and {rest} more" if rest else "") + behind)
        if len(lines) <= _ASSUMED_LINES:
            break
    return lines


def _first_told(key: str) -> tuple[int, bool]:
    """The place of an assumed key such as `[pickets] stock` on the screen."""
    table, _, name = key.partition("] ")
    place = _FIRST_TOLD.index(name) if name in _FIRST_TOLD else len(_FIRST_TOLD)
    return place, table != "[pickets"


def buying_lines(plan: FencePlan) -> Iterator[str]:
    """What to buy, a line a thing, with what of it is on hand and what it costs."""
    words, totals, bought = plan.words, plan_totals(plan), buying_list(plan)
    yield from wrapped(_together(plan, bought, words) if bought.lines else "Nothing is left to buy")
    yield from indented(provisional_words(grounds_of(plan)))
    yield from indented(before_buying(plan))
    rows = [_buying_row(line, words) for line in bought.lines]
    wide = [max((len(row[k]) for row in rows), default=0) for k in range(4)]
    wide[1] = min(wide[1], WIDTH - 6 - wide[0] - wide[2] - wide[3])
    for count, thing, pile, cost in rows:
        first, *rest = wrapped(thing, width=wide[1], hang=2) or [""]
        line = f"  {count:>{wide[0]}} {first:<{wide[1]}} {pile:>{wide[2]}} {cost:>{wide[3]}}"
        yield line.rstrip()
        yield from (f"  {'':>{wide[0]}} {text}" for text in rest)
    yield from (f"  {line}" for line in run_cost_lines(plan))
    if totals.boards or not up_words(plan.runs):
        yield f"  pickets{' to come' if up_words(plan.runs) else ''}: {_cut_words(totals, words)}"


def _together(plan: FencePlan, bought: BuyingList, words: Words) -> str:
    """The head of the list: its cost, what has no price, its weight and the trips it takes."""
    cost = f", {cost_words(bought.cost, plan.missing, words)}" if bought.cost is not None else ""
    have = "has" if len(bought.unpriced) == 1 else "have"
    and_ = ", and" if plan.missing else ""
    without = f"{and_} without {'; '.join(bought.unpriced)}, which {have} no price"
    missing = without if bought.unpriced and bought.cost is not None else ""
    return f"To buy{cost}{missing}; {carried_words(plan, bought, words)}"


def _cut_words(totals: Totals, words: Words) -> str:
    return f"{totals.cuts} cut, from {plural(totals.boards, 'board')}; {words.station(totals.waste)} wasted"


def _buying_row(line: BuyLine, words: Words) -> tuple[str, str, str, str]:
    """How many, what, how many on hand, and the cost of one line."""
    pile = f"{line.on_hand:g}{' more' if line.to_buy else ''} on hand" if line.on_hand else ""
    pile += _spare_there(line)
    cost = words.money(line.total) if line.total is not None and line.to_buy else ""
    return f"{line.to_buy:g}" if line.to_buy else "-", buy_words(line, words, count=False), pile, cost


ON_HAND = ", on hand"
"""Behind a line of which nothing is to be bought."""


def buy_words(line: BuyLine, words: Words, *, count: bool = True) -> str:
    """A line of the buying list as a short text: `72 pickets of 5 ft, 1x4 (5/8 x 3-1/2 in), pointed`.

    `count`: with how many to buy in front and how many are on hand behind; without, what all screws are of is
    left to the list.
    """
    shown = line.to_buy or line.on_hand
    pile = (
        (f" ({line.on_hand:g} more on hand{_spare_there(line)})" if line.to_buy else ON_HAND)
        if line.on_hand and count
        else ""
    )
    spares = line.spare - line.spare_there if line.to_buy else line.spare
    spare = f", {spares:g} of them spare" if spares else ""
    kind = f", {line.section}" if line.section and (count or line.section != SCREW_KIND) else ""
    length = "" if line.length is None else words.sold_length(line.length)
    many = f"{shown:g} " if count else ""
    part = line.part.removesuffix("s") if shown == 1 else line.part
    if line.unit == "piece":
        return f"{many}{part.removesuffix('e') if part.endswith('latche') else part}{kind}{pile}"
    if line.unit in {"board", "post"}:
        return f"{many}{part} of {length}{kind}{spare}{pile}"
    length = f", {length}" if length else ""
    return f"{many}{_units(line)} of {line.part}{length}{kind}{spare}{pile}"


def _spare_there(line: BuyLine) -> str:
    """How many of those on hand are spares, where others are bought."""
    return f", {line.spare_there:g} of them spare" if line.spare_there and line.to_buy else ""


def _units(line: BuyLine) -> str:
    """The unit of a line for its count: `20 bags (80 lb)`, `half`s and ones stay single."""
    unit, _, of = line.unit.partition(" of ")
    many = f"{unit}{'es' if unit.endswith('x') else 's'}" if (line.to_buy or line.on_hand) > 1 else unit
    return f"{many} ({of})" if of else many


def _run_lines(plan: FencePlan, run: RunPlan) -> Iterator[str]:
    """One run: its tops, its boards, its spaces, what stays open, its gates."""
    words = plan.words
    count = plural(len(run.slots), "picket") + up_words([run])
    yield f"{run.run.name}, {words.station(run.end - run.start)} long, {count}"
    facts = run_facts(plan, run)
    yield f"  picket tops {tops_words(run, words)}"
    yield f"  height above the ground {height_words(plan, facts, words)}"
    wanted = plan.job.pickets.spacing
    asked = f"; {words.given(wanted)} is wanted" if spaces_not_asked(run, wanted) else ""
    yield f"  boards {board_words(facts, words)}; spaces {space_sizes(run, words)}{asked}"
    at = words.station(facts.station)
    gap = open_below(run, facts.open_widest - 1, words)
    yield f"  largest gap under a picket {gap}, picket {facts.open_widest}, station {at}"
    yield from gate_lines(run, words)


def _sure_lines(plan: FencePlan) -> Iterator[str]:
    """Which boards can be cut from the chart now, which are marked in place, and what spares would cover."""
    words = plan.words
    doubtful = [np.flatnonzero(run.flags[PicketFlag.MARK_IN_PLACE]) + 1 for run in plan.runs]
    certain, marked = sum(int(sure(run).sum()) for run in plan.runs), sum(len(d) for d in doubtful)
    coming = sum(int(run.layout.coming.sum()) for run in plan.runs)
    count = plan.picket_count
    doubted = [run.run.name for run in plan.runs if run.ground.provisional]
    if coming and doubted:
        yield f"no board of {' and '.join(doubted)} {UNTIL_READ}"
    if count and not coming:
        yield EVERY_UP
    elif not marked:
        every = "all " if certain == coming and certain > 1 else ""
        to_come = " to come" if coming < count else ""
        yield f"{every}{plural(certain, 'board')}{to_come} can be cut from the chart now"
    else:
        names = [
            (f"{run.run.name} " if len(plan.runs) > 1 else "") + numbers(d.tolist())
            for run, d in zip(plan.runs, doubtful, strict=True)
            if len(d)
        ]
        are = "is" if marked == 1 else "are"
        now = f"{plural(certain, 'board')} can be cut now"
        yield f"{now}; {marked} {are} marked in place: {'; '.join(names)}"
    if worst := least_sure(plan.runs):
        yield worst
    if coming and waiting_words(plan):
        yield "that is of the ground alone: if posts lead to a lower fence, the boards are others"
    yield from risk_lines(plan, words)


def _to_decide(plan: FencePlan) -> Iterator[str]:
    """A line a little higher or lower where that spares something, and every warning of the plan: first where
    readings are doubted, on which what is spared rests."""
    moved = better_height(plan)
    other_height = [] if moved is None else [f"top {moved_words(moved, plan.words)}"]
    warnings = [str(p) for p in plan.problems if p.severity is not Severity.NOTE]
    doubted = any(ground.provisional for ground in grounds_of(plan))
    yield from [*warnings, *other_height] if doubted else [*other_height, *warnings]
