"""While the fence is going up: what is left of a run laid again from where the last board really ends."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fencegrade.building.relay import Relay, RelayKind, lay_again
from fencegrade.building.resume_ask import Ask
from fencegrade.building.resume_rest import rest_of, spliced, top_as_set
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.pickets.cuts import Cuts, Marks, cut_pickets
from fencegrade.fence.pickets.flags import Flags, PicketFlag
from fencegrade.fence.pickets.wishes import Zones, picket_zones
from fencegrade.fence.slots import Slots
from fencegrade.fence.stock import NO_STOCK, Boards, StockChoice
from fencegrade.fence.tops.height_limit import check_heights
from fencegrade.fence.tops.line import TopLine
from fencegrade.job.records import TopEnd
from fencegrade.planning.families import Family
from fencegrade.planning.picket_boards import board_pickets
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan, sure_of_ground
from fencegrade.problems import Problem, note, warning
from fencegrade.units.words import Words, numbered

_HAIR = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RestCuts:
    """The pickets that are still to be set, (n,) each in order, with the boards they take.

    `slots`, `row`, `zones` as in a plan; `full`: lengths in tape marks before stock is chosen; `cuts` as they
    are to be cut; `stock`: index into `choice.offered`, or NO_STOCK; `family`: what is cut from which board.
    """

    slots: Slots
    row: NDArray[np.int64]
    zones: Zones
    full: Marks
    cuts: Cuts
    stock: Marks
    flags: Flags
    choice: StockChoice
    family: Family

    def __len__(self) -> int:
        return len(self.slots)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Resumed:
    """What is left of a run, laid and cut again.

    `relay`: how the rest of the stretch is laid, `others` the next best ways; `gap` as it stands and `width`
    taken for the boards to come (in); `stretch_end` (in) as planned or as its post was set; `replaced`: how
    many pickets of the plan the relay stands for; `top`: the line the tops follow; `rest`: the pickets to
    come; `left`: boards left of each stock length; `buy`: boards still to buy of each; `over`: boards of each
    that stay unused; `problems`: what the builder must see.
    """

    plan: FencePlan
    ask: Ask
    relay: Relay
    others: tuple[Relay, ...]
    gap: float
    width: float
    stretch_end: float
    replaced: int
    top: TopLine
    rest: RestCuts
    left: tuple[int, ...]
    buy: tuple[int, ...]
    over: tuple[int, ...]
    problems: tuple[Problem, ...]

    @property
    def run(self) -> RunPlan:
        """The run as planned."""
        return self.plan.runs[self.ask.run]

    @property
    def slots(self) -> Slots:
        """Every picket of the run: those up where the plan has them, and those to come."""
        up, rest = self.run.slots, self.rest.slots
        return Slots(
            left=np.append(up.left[: self.ask.after], rest.left),
            right=np.append(up.right[: self.ask.after], rest.right),
        )

    @property
    def shift(self) -> float:
        """How far (in) the last edge lies beyond its plan; zero before the first board."""
        after = self.ask.after
        return self.ask.at - (float(self.run.slots.right[after - 1]) if after else self.run.start)

    def planned_number(self, number: int) -> int | None:
        """The plan's number (from 1) for a picket of the new count; None where it has none."""
        new = len(self.rest) - (len(self.run.slots) - self.ask.after)
        if number <= self.ask.after + min(self.replaced, self.replaced + new):
            return number
        if number > self.ask.after + self.replaced + new:
            return number - new
        return None


def resume_fence(plan: FencePlan, ask: Ask) -> Resumed:
    """Lay what is left of a stretch again, and cut what is left of its run.

    `plan`: as the fence was planned; `ask`: as `read_ask` gives it. Boards up to `ask.after` stay as they
    are; stretches past the next gate, face or end (or, with a stepped top, post) stay as planned. Result:
    the rest. Errors: none of the builder's, which `read_ask` finds. Source: own derivation.
    """
    run = plan.runs[ask.run]
    stretch, rest = rest_of(plan, ask)
    best, *others = lay_again(rest)
    slots, row = spliced(plan, ask, stretch, best)
    top = top_as_set(plan, ask)
    left = _boards_left(plan, ask)
    cut = _cut(plan, ask, slots, row, top, left, rest.width)
    used = [int(n) for n in np.asarray(cut.choice.used) - np.asarray(cut.choice.bought)]
    resumed = Resumed(
        plan=plan,
        ask=ask,
        relay=best,
        others=tuple(others),
        gap=rest.gap,
        width=rest.width,
        stretch_end=rest.end,
        replaced=stretch.past - ask.after,
        top=top,
        rest=cut,
        left=left,
        buy=tuple(int(n) for n in cut.choice.bought),
        over=tuple(a - b for a, b in zip(left, used, strict=True)),
        problems=(),
    )
    say = Words(system=plan.job.job.units, mark=plan.mark)
    return replace(resumed, problems=tuple(_remarks(resumed, run, say)))


def _boards_left(plan: FencePlan, ask: Ask) -> tuple[int, ...]:
    """Boards left of each stock length: as counted, or those the plan has for the pickets to come.

    Where a board gives several pickets, one that was cut for a picket already up counts as used.
    """
    kinds = len(plan.stock.offered)
    if ask.left is not None:
        return ask.left
    before = sum(len(r.slots) for r in plan.runs[: ask.run])
    run = plan.runs[ask.run]
    if plan.job.pickets.top_end is not TopEnd.FLAT:
        rest = run.stock[ask.after :]
        counted = np.bincount(rest[rest != NO_STOCK], minlength=kinds)
        return tuple(int(n) for n in counted)
    up, past = before + ask.after, before + len(run.slots)
    counts = Counter(
        board.entry
        for board, members in plan.families.pickets.laid()
        if any(up <= m < past for m in members) and not any(before <= m < up for m in members)
    )
    return tuple(counts[k] for k in range(kinds))


def _cut(
    plan: FencePlan,
    ask: Ask,
    slots: Slots,
    row: NDArray[np.int64],
    top: TopLine,
    left: Sequence[int],
    width: float,
) -> RestCuts:
    """Lengths, stock and flags of the pickets to come, from the boards that are left."""
    run, mark = plan.runs[ask.run], plan.mark
    line = run.ground.profile.line
    offered = tuple(replace(s, on_hand=n) for s, n in zip(plan.stock.offered, left, strict=True))
    job = replace(plan.job, pickets=replace(plan.job.pickets, stock=offered))
    pickets = job.pickets
    zones = picket_zones(slots, run.run, pickets)
    full = cut_pickets(line, slots, top, zones.clearance, pickets.bottom_cut, mark)
    bays = run.layout.bays
    whole = bays.left >= ask.at - _HAIR
    low = LowRun(
        run=run.run,
        line=line,
        start=run.start,
        end=run.end,
        slots=slots,
        zones=zones,
        cuts=full,
        bays=tuple(zip(bays.left[whole].tolist(), bays.right[whole].tolist(), strict=True)),
        no_soil=tuple((s.start, s.end) for s in run.run.root),
    )
    boarded = board_pickets(job, [low], compare=False)
    (boards,) = boarded.runs
    return RestCuts(
        slots=slots,
        row=row,
        zones=zones,
        full=boards.needs.full,
        cuts=boards.cuts,
        stock=boards.stock,
        flags=_flags(plan, run, slots, zones, boards, top, width),
        choice=boarded.stock,
        family=boarded.family,
    )


def _flags(
    plan: FencePlan,
    run: RunPlan,
    slots: Slots,
    zones: Zones,
    boards: Boards,
    top: TopLine,
    width: float,
) -> Flags:
    """What must be seen of each picket to come, by the same rules as in the plan."""
    job, line = plan.job, run.ground.profile.line
    over = np.zeros(len(slots), dtype=bool)
    if job.top.most_height is not None and len(slots):
        over = check_heights(line, slots, top, job.top.most_height, job.top.measured).over
    full = min(width, job.pickets.width)
    return {
        PicketFlag.NO_STOCK: boards.unserved,
        PicketFlag.OVER_HEIGHT: over,
        PicketFlag.GAP: (boards.cuts.gap > zones.most_gap + _HAIR) & ~zones.open,
        PicketFlag.RIPPED: slots.width < full - _HAIR,
        PicketFlag.SLIVER: slots.width < full / 2 - _HAIR,
        PicketFlag.MARK_IN_PLACE: ~sure_of_ground(run.ground.profile, slots, boards.cuts, zones),
    }


def _remarks(resumed: Resumed, run: RunPlan, say: Words) -> Iterator[Problem]:
    ask, relay = resumed.ask, resumed.relay
    place = f"{run.run.name}, after picket {ask.after}"
    yield from _miscounted(resumed, run, place, say)
    yield from _out_of_limit(resumed, place, say)
    for post in ask.posts:
        past = post.station - run.ground.profile.end
        if past > 1 / 16:
            found = f"post {post.number} stands {say(past)} past the last reading, where the boards end"
            yield note(place, found, "set the last board to the post; the ground there was not measured")
    if relay.sliver:
        yield warning(
            place,
            f"the last board comes to {say(min(relay.ripped))}, under half a board",
            "nothing within the limit avoids it; a wider board or a moved post would",
        )
    short = [
        f"{n} of {say(stock.length)}"
        for n, stock in zip(resumed.buy, resumed.rest.choice.offered, strict=True)
        if n
    ]
    if short:
        yield warning(
            place,
            f"fewer boards are left than are needed: {sum(resumed.buy)} more, {', '.join(short)}",
            "buy them, or lay them aside from another run",
        )
    missing = np.flatnonzero(resumed.rest.flags[PicketFlag.NO_STOCK])
    if len(missing):
        worst = missing[np.argmax(resumed.rest.full[missing])]
        yield warning(
            f"{run.run.name}, {numbered('picket', missing + ask.after)}",
            f"no stock serves: {say(float(resumed.rest.full[worst]) * say.mark)} is needed at picket "
            f"{worst + ask.after + 1}",
            "add a longer stock, or lower the tops to come",
        )
    low = resumed.rest.cuts.height < resumed.plan.job.top.least_height - 1 / 16
    if ask.built is not None and low.any() and resumed.top is not run.top:
        worst = int(np.argmin(resumed.rest.cuts.height))
        yield warning(
            f"{run.run.name}, {numbered('picket', np.flatnonzero(low) + ask.after)}",
            f"the posts as set bring the top down to {say(float(resumed.rest.cuts.height[worst]))} over the "
            f"ground at picket {worst + ask.after + 1}",
            "let the tops follow the plan there",
        )


def _miscounted(resumed: Resumed, run: RunPlan, place: str, say: Words) -> Iterator[Problem]:
    """A drift of more than half a board is more likely a slip of the count than of the saw."""
    ask = resumed.ask
    if not ask.after or abs(resumed.shift) <= (resumed.width + resumed.gap) / 2:
        return
    near = int(np.argmin(np.abs(run.slots.right - ask.at))) + 1
    nearest = f"that of picket {near}" if near != ask.after else "still nearest to it"
    yield warning(
        place,
        f"its far edge is planned at {say.station(float(run.slots.right[ask.after - 1]))}, "
        f"{say(abs(resumed.shift))} from where it was measured; the edge planned nearest is {nearest}",
        "count the boards again",
    )


def _out_of_limit(resumed: Resumed, place: str, say: Words) -> Iterator[Problem]:
    """Where full boards cannot be made to fit unseen: the best that can, or what is done instead."""
    relay, limit = resumed.relay, say(resumed.ask.limit)
    if not relay.within:
        yield warning(
            place,
            f"nothing fits within {limit} a board; the best takes {say(relay.change)}",
            "set fewer boards before measuring next time, or allow a larger limit",
        )
        return
    full = [r for r in resumed.others if r.kind is RelayKind.FULL_BOARDS]
    if relay.ripped and relay.kind is not RelayKind.AS_PLANNED and full and not full[0].within:
        yield note(
            place,
            f"full boards alone do not fit within {limit} a board: {len(full[0])} would take "
            f"{say(full[0].change)}",
            f"so the rest is ripped to {', '.join(say(x) for x in relay.ripped)}",
        )
