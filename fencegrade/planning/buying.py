"""The buying list: each part as a yard sells it, with need, spare, on hand, to buy, price, weight."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.low_ground.bill import soil_bought, soil_unit
from fencegrade.fence.stock import NO_STOCK, by_length, cheapest_serving, shortest_serving
from fencegrade.figures.lumber import WOOD_WEIGHTS, Wood, nominal_size
from fencegrade.figures.soil import LOOSE_POUNDS_PER_CUBIC_FOOT
from fencegrade.job.choices import TopEnd
from fencegrade.job.read import Job
from fencegrade.planning.families import Families, Family
from fencegrade.planning.leaves import picket_wood
from fencegrade.planning.plan import FencePlan
from fencegrade.units import MASS, VOLUME, UnitSystem, format_length
from fencegrade.units.marks import reading_mark
from fencegrade.units.tolerances import SAME_COST, WHOLE

KICKBOARD_THICKNESS = 1.5
"""Inches, for its section and weight: a 2x board (see figures.lumber)."""

CUBIC_FOOT = 1728.0


class BuyLine(Struct, frozen=True, kw_only=True):
    """One line of the list.

    `part`: what it is for; `section`: of which section, kind and wood, in the yard's words; `length` of a
    board or screw (in); `unit`: what is counted; `need`: what the plan uses, `spare` on top of it, `on_hand`
    taken from the pile, `spare_there` of them as spares, `to_buy`; `price`: of one, None where the job names
    none; `weight`: of what is bought (lb), None where not known; `shares`: how much of it each run uses, on
    any scale, empty where unknown; `key_on_hand`: the key of the job file that says how much of it is there,
    empty where none does.
    """

    part: str
    unit: str
    need: float
    to_buy: float
    spare: float = 0
    on_hand: float = 0
    spare_there: float = 0
    section: str = ""
    length: float | None = None
    price: float | None = None
    weight: float | None = None
    shares: tuple[float, ...] = ()
    key_on_hand: str = ""

    @property
    def total(self) -> float | None:
        """Cost of the line, to the cent."""
        return None if self.price is None else round(self.to_buy * self.price + SAME_COST, 2)

    def cents_by_run(self, runs: int) -> list[int]:
        """The line's cost divided over the runs by its shares, whole cents that add up to it."""
        cents = (self.total or 0.0) * 100
        shares = np.array(self.shares if sum(self.shares) > 0 else [1.0] * runs)
        marks = np.round(np.cumsum(shares) / shares.sum() * cents).astype(np.int64)
        return [int(c) for c in np.diff(marks, prepend=0)]


class BuyingList(Struct, frozen=True, kw_only=True):
    """The whole list; `cost` sums the lines that have a price, None where none has."""

    lines: tuple[BuyLine, ...]

    @property
    def cost(self) -> float | None:
        """Cost of all priced lines, to the cent."""
        totals = [line.total for line in self.lines if line.total is not None]
        return round(sum(totals), 2) if totals else None

    def cost_by_run(self, runs: int) -> list[float]:
        """What each run's share of the list costs; the shares add up to `cost` to the cent."""
        cents = np.sum([line.cents_by_run(runs) for line in self.lines] or [[0] * runs], axis=0)
        return [round(int(c) / 100, 2) for c in cents]

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Parts whose price the job does not name."""
        return tuple(dict.fromkeys(line.part for line in self.lines if line.price is None and line.to_buy))

    @property
    def weight(self) -> float:
        """Weight of all that is bought, as far as known (lb)."""
        return sum(line.weight or 0.0 for line in self.lines)


def section_words(thickness: float, width: float, system: UnitSystem) -> str:
    """A section (in) as a yard names it: `4x4 (3-1/2 x 3-1/2 in)`, `90 x 90 mm`."""
    small, large = sorted((thickness, width))
    unit = "in" if system is UnitSystem.IMPERIAL else "mm"
    plain = " x ".join(
        format_length(v, system, reading_mark(system)).removesuffix(f" {unit}") for v in (small, large)
    )
    nominal = nominal_size(thickness, width) if system is UnitSystem.IMPERIAL else None
    return f"{plain} {unit}" if nominal is None else f"{nominal} ({plain} {unit})"


def buying_list(plan: FencePlan) -> BuyingList:
    """What a plan needs bought, line by line, boards longest last."""
    return BuyingList(lines=tuple(_lines(plan)))


class FromThePile(Struct, frozen=True, kw_only=True):
    """Boards of one length for the pickets to come and those of gates, which are of one pile: `need` of them
    and `spare`, of both together `taken` from those on hand and to be bought (`to_buy`); `longer`: how many
    of those on hand go, spares apart, where a shorter length on offer would do."""

    need: int
    spare: int
    taken: int
    to_buy: int
    longer: int


def boards_of_pickets(plan: FencePlan) -> list[FromThePile]:
    """What the buying list has of each stock offered for pickets."""
    lines = list(_picket_lines(plan))
    found = []
    offered = plan.families.pickets.offered
    for stock, longer in zip(offered, _longer(plan.families), strict=True):
        own = [b for b in lines if b.part in PICKET_PARTS and b.length == stock.length]
        counts = [[int(n) for n in (b.need, b.spare, b.on_hand, b.to_buy)] for b in own]
        need, spare, taken, to_buy = np.sum([[0] * 4, *counts], axis=0).tolist()
        found.append(FromThePile(need=need, spare=spare, taken=taken, to_buy=to_buy, longer=longer))
    return found


def _longer(families: Families) -> list[int]:
    """Boards of each stock on hand that go where a shorter one on offer would do."""
    own = families.pickets
    _, lengths = by_length(own.offered, own.mark)
    counts = np.zeros(len(lengths), dtype=np.int64)
    for family in filter(None, (own, families.gate_pickets)):
        entry, there = family.entry_of_boards()
        taken = entry[there & (shortest_serving(lengths, family.asked_of_boards()) < entry)]
        counts += np.bincount(taken, minlength=len(lengths))
    return counts.tolist()


PICKET_PARTS = ("pickets", "gate pickets")
"""Parts of the buying list that are of the boards of pickets."""


def _lines(plan: FencePlan) -> Iterator[BuyLine]:
    yield from _picket_lines(plan)
    yield from _post_and_rail_lines(plan)
    yield from _holes(plan, plan.job)
    yield from _soil(plan)
    yield from _screws(plan)
    yield from _hardware(plan)


class _Timber(Struct, frozen=True, kw_only=True):
    """How the boards of a family are named and weighed; sizes in inches."""

    part: str
    thickness: float
    width: float
    kind: str
    wood: Wood

    def section(self, system: UnitSystem) -> str:
        return f"{section_words(self.thickness, self.width, system)}, {self.kind}"

    def weight(self, length: float) -> float:
        """Pounds of a board of a length (in). Source: figures.lumber."""
        return length * self.thickness * self.width / CUBIC_FOOT * WOOD_WEIGHTS[self.wood].pounds


class _Spares(Struct, frozen=True, kw_only=True):
    """Spares of each length of stock: those `there` on hand, and those `bought`."""

    there: tuple[int, ...]
    bought: tuple[int, ...]


def _spares(families: Families, share: float) -> _Spares:
    """The spares of the boards of pickets and of gates, those of the longest first: each the shortest left on
    hand that is as long as what is cut from its board, else the cheapest sold that is, or the longest sold
    where none is."""
    offered, mark = families.pickets.offered, families.pickets.mark
    left = families.pickets_left_on_hand()
    _, lengths = by_length(offered, mark)
    asked = np.concatenate([f.asked_of_boards() for f in (families.pickets, families.gate_pickets) if f])
    used = np.bincount(shortest_serving(lengths, asked), minlength=len(offered)).tolist()
    serving = cheapest_serving(offered)[:-1]
    longest = max(k for k, s in enumerate(offered) if s.sold)
    sold = np.where(serving == NO_STOCK, longest, serving).tolist()
    there, bought, met = [0] * len(used), [0] * len(used), Counter[int]()
    for index in reversed(range(len(used))):
        before = math.ceil(met[sold[index]] * share - WHOLE)
        met[sold[index]] += used[index]
        lacking = math.ceil(met[sold[index]] * share - WHOLE) - before
        for longer in (*range(index, len(used)), *range(sold[index], index)):
            taken = min(lacking, left[longer] - there[longer])
            there[longer] += taken
            lacking -= taken
        bought[sold[index]] += lacking
    return _Spares(there=tuple(there), bought=tuple(bought))


def _picket_lines(plan: FencePlan) -> Iterator[BuyLine]:
    job, pickets, families = plan.job, plan.job.pickets, plan.families
    board = _Timber(
        part="pickets",
        thickness=pickets.thickness,
        width=pickets.width,
        kind=f"{pickets.top_end}" + ("" if pickets.top_end is not TopEnd.FLAT else " ends"),
        wood=picket_wood(pickets),
    )
    runs = [int(r.layout.coming.sum()) for r in plan.runs]
    spares = _spares(families, pickets.spare)
    yield from _boards(plan, board, families.pickets, _by_run(families.pickets, runs), spares)
    if families.gate_pickets is not None:
        leaves = [sum(len(leaf.kept) for leaf in r.leaves) for r in plan.runs]
        own = replace(board, part="gate pickets")
        yield from _boards(plan, own, families.gate_pickets, _by_run(families.gate_pickets, leaves))
    if families.kickboards is not None:
        kick = _Timber(
            part="kickboards",
            thickness=KICKBOARD_THICKNESS,
            width=job.soil.kickboard_width,
            kind=str(Wood.GROUND_CONTACT),
            wood=Wood.GROUND_CONTACT,
        )
        laid = [len(r.closing.kickboards) for r in plan.runs]
        yield from _boards(plan, kick, families.kickboards, _by_run(families.kickboards, laid))


def _post_and_rail_lines(plan: FencePlan) -> Iterator[BuyLine]:
    posts, rails, families = plan.job.posts, plan.job.rails, plan.families
    own = plan.posts_to_set
    apart = families.gate_posts is not None
    for part, family, gate in (("posts", families.posts, False), ("gate posts", families.gate_posts, True)):
        if family is None:
            continue
        width, thickness = posts.section(gate)
        timber = _Timber(part=part, thickness=thickness, width=width, kind=str(posts.wood), wood=posts.wood)
        count = [int((p.wanted & ((p.schedule.gate == gate) if apart else True)).sum()) for p in own]
        yield from _boards(plan, timber, family, _by_run(family, count))
    rail = _Timber(
        part="rails", thickness=rails.thickness, width=rails.height, kind=str(rails.wood), wood=rails.wood
    )
    pieces = [int(r.rails_coming.sum()) for r in plan.runs]
    yield from _boards(plan, rail, families.rails, _by_run(families.rails, pieces))


def _by_run(family: Family, pieces: Sequence[int]) -> dict[int, tuple[float, ...]]:
    """By the index of the stock, the length of pieces each run takes; `pieces`: how many each has."""
    run = np.repeat(np.arange(len(pieces)), pieces)
    entry, asked = family.by_piece().entry[: len(run)], family.asked[: len(run)]
    return {
        int(k): tuple(np.bincount(run[entry == k], asked[entry == k], minlength=len(pieces)).tolist())
        for k in np.unique(entry)
    }


def _boards(
    plan: FencePlan,
    timber: _Timber,
    family: Family,
    by_run: dict[int, tuple[float, ...]],
    spares: _Spares | None = None,
) -> Iterator[BuyLine]:
    """A family's boards by length, and its spares."""
    rows = zip(family.offered, family.counts(True), family.counts(False), strict=True)
    for index, (stock, taken, bought) in enumerate(rows):
        there, more = (0, 0) if spares is None else (spares.there[index], spares.bought[index])
        if not taken + bought + there + more:
            continue
        yield BuyLine(
            part=timber.part,
            section=timber.section(plan.units),
            length=stock.length,
            unit="post" if timber.part.endswith("posts") else "board",
            need=taken + bought,
            spare=there + more,
            on_hand=taken + there,
            spare_there=there,
            to_buy=bought + more,
            price=stock.price,
            weight=(bought + more) * timber.weight(stock.length),
            shares=by_run.get(index, ()),
            key_on_hand="on_hand",
        )


def _soil(plan: FencePlan) -> Iterator[BuyLine]:
    """Loose soil for the fills, in bags where the job names a bag, else by the half yard or metre."""
    soil, system = plan.job.soil, plan.units
    loose = plan.low_ground.bill.loose
    if loose <= 0:
        return
    word = "cubic yard" if system is UnitSystem.IMPERIAL else "cubic metre"
    need = VOLUME.value_in(loose, soil_unit(system))
    bought = soil_bought(loose, soil, system)
    if soil.bag is not None:
        word, need = f"bag of {_bag_words(soil.bag, system)}", bought.count
    yield BuyLine(
        part="soil",
        section="loose",
        unit=word,
        need=round(need, 3),
        to_buy=bought.count,
        price=bought.price,
        weight=bought.volume * LOOSE_POUNDS_PER_CUBIC_FOOT,
        shares=tuple(sum(gap.fill_volume or 0.0 for gap in run.gaps) for run in plan.runs),
    )


def _bag_words(cubic_feet: float, system: UnitSystem) -> str:
    return VOLUME.format(cubic_feet, system, None if system is UnitSystem.IMPERIAL else "l", None)


def _holes(plan: FencePlan, job: Job) -> Iterator[BuyLine]:
    """Concrete and gravel, in bags."""
    concrete, posts = plan.concrete, job.posts
    own = plan.posts_to_set
    shares = tuple(float(p.depth[p.wanted].sum()) for p in own)
    mix_left, gravel_left = bags_left(plan)
    mix = concrete.bags_in_all, concrete.bag_weight, posts.bag_price, mix_left, "bags_on_hand"
    gravel = (
        concrete.gravel_bags,
        posts.gravel_bag,
        posts.gravel_bag_price,
        gravel_left,
        "gravel_bags_on_hand",
    )
    for part, (bags, weight, price, left, key) in (("concrete mix", mix), ("gravel", gravel)):
        there = min(bags, left)
        if bags:
            yield BuyLine(
                part=part,
                unit=f"bag of {bag_weight_words(weight, job.units)}",
                need=bags,
                on_hand=there,
                to_buy=bags - there,
                price=price,
                weight=(bags - there) * weight,
                shares=shares,
                key_on_hand=key,
            )


def bags_left(plan: FencePlan) -> tuple[int, int]:
    """Bags of concrete mix and of gravel on hand that the holes of posts that stand leave."""
    posts, concrete = plan.job.posts, plan.concrete
    held = posts.bags_on_hand or 0, posts.gravel_bags_on_hand or 0
    return max(held[0] - concrete.bags_used, 0), max(held[1] - concrete.gravel_used, 0)


def bag_weight_words(pounds: float, system: UnitSystem) -> str:
    """The weight of a bag as it is printed on it: `80 lb`, `25 kg`, `22.5 kg`."""
    return MASS.format(pounds, system).replace(".0 ", " ")


def _screws(plan: FencePlan) -> Iterator[BuyLine]:
    use = plan.job.fasteners
    for screw in plan.screws:
        yield BuyLine(
            part=f"screws, {screw.use}",
            section=SCREW_KIND,
            length=screw.length,
            unit=f"box of {use.box}",
            need=screw.boxes,
            to_buy=screw.boxes,
            price=screw.box_price(use),
            shares=tuple(float(len(r.slots)) for r in plan.runs),
        )


def _hardware(plan: FencePlan) -> Iterator[BuyLine]:
    """What the gates hang on and shut with."""
    use, system = plan.job.fasteners, plan.units
    frames = [f for r in plan.runs for f in r.frames]
    if not frames:
        return
    heaviest = max(f.weight for f in frames)
    carries = f"strap or tee, for a leaf of {MASS.format(heaviest, system, places=0)}"
    gates = [[g.gate for g in r.layout.gates] for r in plan.runs]
    for part, section, price, counts in (
        ("gate hinges", carries, use.hinge_price, [sum(f.hinges for f in r.frames) for r in plan.runs]),
        ("gate latches", "", use.latch_price, [len(own) for own in gates]),
        ("drop rods", "", use.drop_rod_price, [sum(g.leaves == 2 for g in own) for own in gates]),
    ):
        if count := sum(counts):
            yield BuyLine(
                part=part,
                section=section,
                unit="piece",
                need=count,
                to_buy=count,
                price=price,
                shares=tuple(float(c) for c in counts),
            )


SCREW_KIND = "hot-dipped or stainless"
"""For treated wood: International Residential Code R317.3, hot-dip by ASTM A153 or stainless; not
checked against
the document."""


def crew_hours(plan: FencePlan) -> dict[str, float]:
    """Hours by kind of work, for the paces the job gives; waiting for concrete to set is not in them."""
    crew, own = plan.job.crew, plan.posts_to_set
    counts = {
        "setting posts": (sum(int(p.wanted.sum()) for p in own), crew.posts_an_hour),
        "fixing rails": (sum(int(r.rails_coming.sum()) for r in plan.runs), crew.rails_an_hour),
        "cutting and hanging pickets": (
            sum(int(r.layout.coming.sum()) for r in plan.runs),
            crew.pickets_an_hour,
        ),
    }
    return {what: count / pace for what, (count, pace) in counts.items() if pace}


def trips(plan: FencePlan, bought: BuyingList) -> int | None:
    """Trips for the weight bought with the job's payload; None where the job names none."""
    payload = plan.job.crew.payload
    return None if payload is None else math.ceil(bought.weight / payload - WHOLE)
