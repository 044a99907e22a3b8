"""What each choice for low ground costs, how far the boards would do, hours, trips and tools, in words."""

from collections.abc import Iterator

from fencegrade.fence.enough_stock import StockRisk
from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.stock_steps import have_prices
from fencegrade.job.choices import BottomCut, LowGround
from fencegrade.planning.buying import BuyingList, buying_list, crew_hours, trips
from fencegrade.planning.doubt import LONG_END
from fencegrade.planning.marked import marked_pickets, plan_risk
from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.facts import spacers
from fencegrade.units import MASS, format_share
from fencegrade.units.words import Words, listed, plural

_CHOICES = {
    LowGround.BOARDS: "longer boards alone",
    LowGround.SOIL: "soil wherever it may go",
    LowGround.KICKBOARD: "kickboards wherever they serve",
    LowGround.CHEAPEST: "the cheapest of them, stretch by stretch",
}

_SHORT = {
    LowGround.BOARDS: "boards alone",
    LowGround.SOIL: "soil",
    LowGround.KICKBOARD: "kickboards",
    LowGround.CHEAPEST: "the cheapest",
}
"""The same in a list that ends with the cheapest."""


def low_ground_lines(plan: FencePlan, words: Words) -> Iterator[str]:
    """What each way of closing low ground would cost; nothing with boards alone, or once some stand."""
    bills = plan.low_ground.bills
    if len(bills) < 2 or not all(run.layout.coming.all() for run in plan.runs):
        return
    told = {(round(b.total, 2), b.over_gap, b.unserved) for b in bills.values()}
    if len(told) == 1:
        yield "Low ground"
        names = listed([_SHORT[choice] for choice in bills])
        yield f"  {names} of {'both' if len(bills) < 4 else 'them'} come to the same here"
        return
    priced = have_prices(plan.job.pickets.stock)
    marked = marked_pickets(plan)
    doubt = marked.more + marked.charted_more
    more = f", and {words.money(doubt)} for boards taken longer in doubt" if doubt else ""
    yield "Low ground, each before what boards taken longer in doubt may add"
    for choice, bill in bills.items():
        cost = words.money(bill.total) if priced else f"{words.station(bill.timber)} of boards"
        left = f"; {plural(bill.over_gap, 'picket')} left over the gap" if bill.over_gap else ""
        missing = f"; no stock for {plural(bill.unserved, 'picket')}" if bill.unserved else ""
        if bill.compacted and plan.job.soil.price is None:
            cost += " and the soil, which has no price"
        chosen = f"{more}, as planned" if choice is plan.low_ground.choice else ""
        yield f"  {_CHOICES[choice]}: {cost}{left}{missing}{chosen}"


def risk_lines(plan: FencePlan, words: Words) -> Iterator[str]:
    """What is bought for the pickets to be marked in place: longer boards, or whole ones and spares."""
    risk, marked = plan_risk(plan), marked_pickets(plan)
    if marked.charted and marked.charted_more:
        yield (
            f"{plural(marked.charted, 'board')} from longer stock than the least needed, for "
            f"{words.money(marked.charted_more)}, to be sure enough."
        )
    if risk is None:
        return
    parts = [f"Marked in place: {plural(marked.count, 'picket')}"]
    if marked.longer:
        more = f", for {words.money(marked.more)}" if marked.more else ""
        parts.append(
            f"{marked.longer} of them from longer stock than their expected length needs{more}, less than "
            "short boards and their spares"
        )
    if marked.may_be_short:
        parts.append(f"{marked.may_be_short} may turn out short, about {risk.short:.1f} of them")
        parts.append(_spares(plan, risk, words))
    else:
        parts.append(f"every board reaches in {format_share(LONG_END, 0)} of cases")
    if risk.unserved:
        parts.append(
            f"{plural(risk.unserved, 'picket')} may need more than the longest stock and "
            f"{'stands' if risk.unserved == 1 else 'stand'} with more open below then"
        )
    yield "; ".join(parts) + "."


def _spares(plan: FencePlan, risk: StockRisk, words: Words) -> str:
    """How many spares make up for boards that turn out short, and how many of them are on the list, or on
    hand and left."""
    listed = {b.length: b for b in buying_list(plan).lines if b.part == "pickets"}
    left = plan.families.pickets_left_on_hand()
    told, lacking = [], False
    for stock, idle, n in zip(plan.stock.offered, left, risk.spares.tolist(), strict=True):
        if n:
            line = listed.get(stock.length)
            here = min(int(line.spare) if line else 0, n)
            more = min(idle - (int(line.spare_there) if line else 0), n - here)
            lacking |= here + more < n
            pile = f", {more} left on hand" if more else ""
            told.append(
                f"{n} of {words.sold_length(stock.length)} ({here or 'none'} of them on the list{pile})"
            )
    if not told:
        use = "would help" if risk.unserved else "is needed"
        return f"no spare {use} in {format_share(risk.chance, 0)} of cases"
    more = "; a larger spare under [pickets] in the job file puts more on it" if lacking else ""
    return f"spares that cover that in {format_share(risk.chance, 0)} of cases: {', '.join(told)}{more}"


def pace_words(plan: FencePlan) -> str:
    """Hours at the job's own paces; empty where it names none."""
    hours = crew_hours(plan)
    if not hours:
        return ""
    each = ", ".join(f"{what} {h:.1f} h" for what, h in hours.items())
    laid = [gap.action for run in plan.runs for gap in run.gaps]
    parts = {
        "gates": any(run.frames for run in plan.runs),
        "soil": GapAction.FILL in laid,
        "kickboards": GapAction.KICKBOARD in laid,
    }
    without = listed([*(part for part, there in parts.items() if there), "waiting for concrete"])
    return f"{each}; {sum(hours.values()):.1f} h together, without {without}"


def carried_words(plan: FencePlan, bought: BuyingList, words: Words) -> str:
    """The weight of what is bought, and the trips it takes with the job's vehicle where that is known."""
    journeys, weight = trips(plan, bought), MASS.format(bought.weight, words.system, places=0)
    return f"{weight} to carry" + (f", {plural(journeys, 'trip')} with your vehicle" if journeys else "")


def work_lines(plan: FencePlan) -> Iterator[str]:
    """Hours at the job's own paces, and the tools the plan implies."""
    if told := pace_words(plan):
        yield f"Work at your pace: {told}."
    yield f"Tools: {', '.join(tools(plan))}."


def tools(plan: FencePlan) -> Iterator[str]:
    """The tools a plan implies."""
    words, job = plan.words, plan.job
    yield f"auger or spade for holes of {words.length(job.posts.hole_diameter)}"
    yield f"level of {words.height(48.0) if words.unit == 'in' else '1200 mm'}"
    yield "string, stakes and tape"
    yield "saw with a stop block"
    cut = list(dict.fromkeys(text for run in plan.runs for text in spacers(run, words)[:3]))
    if cut:
        yield f"spacer{'s' if len(cut) > 1 else ''} of {', '.join(cut)}"
    if job.pickets.bottom_cut is BottomCut.SCRIBED or any(r.closing.kickboards for r in plan.runs):
        yield "scriber and jigsaw"
    yield "driver"
    if len(plan.runs[0].posts):
        yield "two clamps and a brace for each post while it sets"
