"""The buying list: every part of the fence with need, spare, on hand, to buy, price and weight."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.enough_stock import RiskRun, StockRisk, stock_risk
from fencegrade.fence.low_ground.bill import soil_order
from fencegrade.job.read import Job
from fencegrade.job.records import TopEnd
from fencegrade.planning.families import Family
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.units import VOLUME, UnitSystem

TIMBER_DENSITY = 35.0
"""Pounds a cubic foot of timber: common practice for damp softwood, no source; wet boards are heavier."""

KICKBOARD_THICKNESS = 1.5
"""Inches, for its weight: a 2x board (see figures.lumber)."""

CUBIC_FOOT = 1728.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyLine:
    """One line of the list.

    `part`: what it is for; `size`: length of a board (in), weight of a bag (lb) or None; `unit`: what is
    counted; `need`: what the plan uses, `spare` on top of it, `on_hand` taken from the pile, `to_buy`;
    `price`: of one, None where the job names none; `weight`: of what is bought (lb), None where not known.
    """

    part: str
    unit: str
    need: float
    spare: float
    on_hand: float
    to_buy: float
    size: float | None = None
    price: float | None = None
    weight: float | None = None

    @property
    def total(self) -> float | None:
        """Cost of the line, to the cent."""
        return None if self.price is None else round(self.to_buy * self.price + 1e-9, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyingList:
    """The whole list; `cost` sums the lines that have a price, None where none has."""

    lines: tuple[BuyLine, ...]

    @property
    def cost(self) -> float | None:
        """Cost of all priced lines, to the cent."""
        totals = [line.total for line in self.lines if line.total is not None]
        return round(sum(totals), 2) if totals else None

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Parts whose price the job does not name."""
        return tuple(dict.fromkeys(line.part for line in self.lines if line.price is None and line.to_buy))

    @property
    def weight(self) -> float:
        """Weight of all that is bought, as far as known (lb)."""
        return sum(line.weight or 0.0 for line in self.lines)


def buying_list(plan: FencePlan) -> BuyingList:
    """What a plan needs bought, line by line, boards longest last."""
    return BuyingList(lines=tuple(_lines(plan)))


def _lines(plan: FencePlan) -> Iterator[BuyLine]:
    job = plan.job
    pickets, families = job.pickets, plan.families
    section = pickets.width * pickets.thickness
    yield from _boards("pickets", families.pickets, section, pickets.spare)
    if families.gate_pickets is not None:
        yield from _boards("gate pickets", families.gate_pickets, section, 0.0)
    if families.kickboards is not None:
        kick = job.soil.kickboard_width * KICKBOARD_THICKNESS
        yield from _boards("kickboards", families.kickboards, kick, 0.0)
    thickness = job.posts.thickness or job.posts.width
    yield from _boards("posts", families.posts, job.posts.width * thickness, 0.0)
    yield from _boards("rails", families.rails, job.rails.height * job.rails.thickness, 0.0)
    yield from _holes(plan, job)
    yield from _soil(plan)
    for screw in plan.screws:
        yield BuyLine(
            part=f"screws, {screw.use}",
            size=screw.length,
            unit="box",
            need=screw.boxes,
            spare=0,
            on_hand=0,
            to_buy=screw.boxes,
            price=job.fasteners.box_price,
        )


def _boards(part: str, family: Family, section: float, spare_share: float) -> Iterator[BuyLine]:
    """A family's boards by length; spares are bought in the length of the boards they stand in for."""
    rows = zip(family.offered, family.counts(True), family.counts(False), strict=True)
    for stock, on_hand, bought in rows:
        need = on_hand + bought
        if not need:
            continue
        spare = math.ceil(need * spare_share - 1e-9)
        yield BuyLine(
            part=part,
            size=stock.length,
            unit="board",
            need=need,
            spare=spare,
            on_hand=on_hand,
            to_buy=bought + spare,
            price=stock.price,
            weight=(bought + spare) * stock.length * section / CUBIC_FOOT * TIMBER_DENSITY,
        )


def _soil(plan: FencePlan) -> Iterator[BuyLine]:
    """Loose soil for the fills, in bags where the job names a bag, else by volume."""
    order = soil_order(plan.low_ground.bill.compacted, plan.job.soil)
    if order.loose <= 0:
        return
    system = plan.job.job.units
    bags = order.bags > 0
    volume = order.yards if system is UnitSystem.IMPERIAL else order.metres
    by_volume = "cubic yard" if system is UnitSystem.IMPERIAL else "cubic metre"
    count = order.bags if bags else round(volume, 3)
    price = plan.job.soil.price
    if bags and price is not None and plan.job.soil.bag is not None:
        price = price * VOLUME.value_in(plan.job.soil.bag, "yd3" if system is UnitSystem.IMPERIAL else "m3")
    yield BuyLine(
        part="soil, loose",
        unit="bag" if bags else by_volume,
        need=count,
        spare=0,
        on_hand=0,
        to_buy=count,
        price=price,
        weight=order.weight,
    )


def _holes(plan: FencePlan, job: Job) -> Iterator[BuyLine]:
    concrete = plan.concrete
    if concrete.bags_in_all:
        yield BuyLine(
            part="concrete mix",
            size=concrete.bag_weight,
            unit="bag",
            need=concrete.bags_in_all,
            spare=0,
            on_hand=0,
            to_buy=concrete.bags_in_all,
            price=job.posts.bag_price,
            weight=concrete.weight,
        )
    if concrete.gravel > 0:
        yield BuyLine(
            part="gravel",
            unit="cubic foot",
            need=concrete.gravel,
            spare=0,
            on_hand=0,
            to_buy=concrete.gravel,
        )


def plan_risk(plan: FencePlan) -> StockRisk | None:
    """How the picket boards would do if the ground is not quite as measured; None where boards are shared."""
    if plan.job.pickets.top_end is TopEnd.FLAT:
        return None
    runs = [
        RiskRun(
            profile=r.ground.profile,
            slots=r.slots,
            needs=r.closing.needs,
            allowed=r.closing.allowed,
            fixed=_fixed_pickets(r),
        )
        for r in plan.runs
        if len(r.slots)
    ]
    return stock_risk(runs, plan.stock, plan.mark) if runs else None


def _fixed_pickets(run: RunPlan) -> NDArray[np.bool_]:
    """Pickets over a fill or a kickboard, whose length does not follow the ground."""
    fixed = np.zeros(len(run.slots), dtype=bool)
    spans = [(f.first, f.last) for f in run.closing.fills]
    spans += [(k.first, k.last) for k in run.closing.kickboards]
    for first, last in spans:
        fixed[first - 1 : last] = True
    return fixed


def crew_hours(plan: FencePlan) -> dict[str, float]:
    """Hours by kind of work, for the paces the job gives; waiting for concrete to set is not in them."""
    crew = plan.job.crew
    counts = {
        "setting posts": (sum(int(r.posts.new.sum()) for r in plan.runs), crew.posts_an_hour),
        "fixing rails": (sum(len(r.rail_pieces) for r in plan.runs), crew.rails_an_hour),
        "cutting and hanging pickets": (sum(len(r.slots) for r in plan.runs), crew.pickets_an_hour),
    }
    return {what: count / pace for what, (count, pace) in counts.items() if pace}


def trips(plan: FencePlan, bought: BuyingList) -> int | None:
    """Trips for the weight bought with the job's payload; None where the job names none."""
    payload = plan.job.crew.payload
    return None if payload is None else math.ceil(bought.weight / payload - 1e-9)
