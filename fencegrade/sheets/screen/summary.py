"""The plan at a glance: figures first, then the words that stand on the screen."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.tops.table import style_words
from fencegrade.planning.buying import BuyLine, buying_list
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.problems import Severity
from fencegrade.sheets.cautions import CHECK_THREE, cautions
from fencegrade.sheets.facts import height_words, missing_words, run_facts
from fencegrade.sheets.proof import proof_words
from fencegrade.sheets.run_words import (
    concrete_lines,
    corner_lines,
    gate_lines,
    pattern_lines,
    wind_lines,
)
from fencegrade.sheets.screen.delivered_text import board_lines
from fencegrade.sheets.work import low_ground_lines, risk_lines, work_lines
from fencegrade.units import format_mass
from fencegrade.units.words import Words, plural


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """Counts and sums of a plan.

    `boards` for pickets, `to_buy` of them; `unserved` pickets no stock serves; `cuts` pickets that are cut;
    `waste` of picket boards and `offcuts` of them worth keeping (in); `cost` of the buying list, None
    without prices.
    """

    pickets: int
    boards: int
    to_buy: int
    unserved: int
    cuts: int
    waste: float
    offcuts: float
    cost: float | None


def plan_totals(plan: FencePlan) -> Totals:
    """The sums of a plan's pickets."""
    trims = np.concatenate(plan.trims)
    served = ~np.isnan(trims)
    return Totals(
        pickets=len(trims),
        boards=int(plan.stock.used.sum()),
        to_buy=int(plan.stock.bought.sum()),
        unserved=sum(int(r.flags[PicketFlag.NO_STOCK].sum()) for r in plan.runs),
        cuts=int((trims[served] > 1e-6).sum()),
        waste=plan.families.pickets.plan.waste * plan.mark,
        offcuts=plan.families.pickets.plan.kept * plan.mark,
        cost=buying_list(plan).cost,
    )


def summary_lines(plan: FencePlan) -> Iterator[str]:
    """The summary on the screen, line by line."""
    words, totals = Words.of(plan.job.job), plan_totals(plan)
    yield f"{plan.job.job.title}: {style_words(plan.styles)} top"
    yield ""
    yield "To buy"
    yield from _to_buy(plan, words, totals)
    for run in plan.runs:
        yield ""
        yield from _run_lines(plan, run, words)
        yield from gate_lines(run, words)
    yield from _section("Corners", [f"  {line}" for line in corner_lines(plan)])
    yield from _section("Pattern", [f"  {line}" for line in pattern_lines(plan)])
    yield from _section("Wind and soil, a screen and no design", list(wind_lines(plan)))
    grounds = [r.ground for r in plan.runs]
    for lines in (low_ground_lines(plan, words), risk_lines(plan, words), board_lines(plan.job, grounds)):
        told = list(lines)
        if told:
            yield ""
            yield from told
    yield ""
    yield from work_lines(plan, buying_list(plan))
    shown = [p for p in plan.problems if p.severity is not Severity.NOTE]
    if shown:
        yield ""
        yield "Look at"
        yield from (f"  {p}" for p in shown)
    if plan.job.assumed:
        yield ""
        yield "Assumed, since the job does not say"
        yield from (f"  {a.key} = {a.value}" for a in plan.job.assumed)
    yield ""
    yield CHECK_THREE
    yield "Cautions"
    yield from (f"  {c.short}" for c in cautions(plan))


def _section(title: str, lines: list[str]) -> Iterator[str]:
    if lines:
        yield ""
        yield title
        yield from lines


def _to_buy(plan: FencePlan, words: Words, totals: Totals) -> Iterator[str]:
    bought = buying_list(plan)
    yield from (f"  NOT ENOUGH: {line}" for line in missing_words(plan, words))
    for line in bought.lines:
        price = f" at {words.price(line.price)}" if line.price is not None else ""
        yield f"  {buy_words(line, words)}{price}"
    if bought.cost is not None:
        without = f" (no price for {'; '.join(bought.unpriced)})" if bought.unpriced else ""
        yield f"  together {words.money(bought.cost)}{without}"
    yield f"  {format_mass(bought.weight, words.system)} to carry in all"
    wasted = words.length(totals.waste)
    yield f"  pickets: {totals.cuts} cut, from {plural(totals.boards, 'board')}; {wasted} wasted"
    if not totals.unserved:
        proof = proof_words(
            plan.families.pickets.plan, lambda marks: words.length(marks * plan.mark), words.money
        )
        yield f"  pickets: {proof}"
    yield from concrete_lines(plan)


def buy_words(line: BuyLine, words: Words) -> str:
    """A line of the buying list as a short text: `72 pickets of 5 ft, 1x4 (5/8 x 3-1/2 in), pointed`."""
    pile = f" ({line.on_hand:g}{' more' if line.to_buy else ''} on hand)" if line.on_hand else ""
    spare = f", {line.spare:g} of them spare" if line.spare else ""
    section = f", {line.section}" if line.section else ""
    length = "" if line.length is None else words.sold_length(line.length)
    if line.unit == "board":
        part = line.part.removesuffix("s") if line.to_buy == 1 else line.part
        return f"{line.to_buy:g} {part} of {length}{section}{spare}{pile}"
    length = f", {length}" if length else ""
    return f"{line.to_buy:g} {_units(line)} of {line.part}{length}{section}{spare}{pile}"


def _units(line: BuyLine) -> str:
    """The unit of a line for its count: `20 bags (80 lb)`, `half`s and ones stay single."""
    unit, _, of = line.unit.partition(" of ")
    many = f"{unit}{'es' if unit.endswith('x') else 's'}" if line.to_buy > 1 else unit
    return f"{many} ({of})" if of else many


def _run_lines(plan: FencePlan, run: RunPlan, words: Words) -> Iterator[str]:
    count = len(run.slots)
    yield f"{run.run.name}, {words.station(run.end - run.start)} long, {plural(count, 'picket')}"
    if count == 0:
        yield "  no picket stands here"
        return
    facts = run_facts(plan, run)
    short, long = facts.kept
    yield (
        f"  kept lengths {words.length(short)} (picket {facts.shortest}) "
        f"to {words.length(long)} (picket {facts.longest})"
    )
    if facts.space is not None:
        yield f"  space between pickets {words.length(facts.space)}"
    worst, at = facts.open_widest, words.station(facts.station)
    yield f"  largest gap under a picket {words.length(facts.gap)}, picket {worst}, station {at}"
    yield f"  height above the ground {height_words(plan, facts, words)}"
