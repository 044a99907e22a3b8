"""While the fence is going up: what a new edge changes, as two plans of the same fence side by side."""

import dataclasses

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.building.record import as_it_hangs, with_lists
from fencegrade.building.resume_ask import Ask
from fencegrade.fence.pickets.relay import RelayKind
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.as_built import AsBuilt
from fencegrade.job.choices import TopEnd
from fencegrade.job.read import Job
from fencegrade.job.records import Pickets
from fencegrade.planning.buying import boards_of_pickets
from fencegrade.planning.layout import survey_grounds
from fencegrade.planning.plan import FencePlan, plan_on
from fencegrade.planning.row import Again, edge_of
from fencegrade.planning.run import RunPlan
from fencegrade.planning.tops import styles_asked, with_tops
from fencegrade.problems import Problem, Severity, note, refuse, warning
from fencegrade.units.arrays import Indices


class Resumed(Struct, frozen=True, kw_only=True, eq=False):
    """A fence before and after an edge was measured.

    `before`: the plan without it; `after`: with it; `doubts`: why the edge or the count is doubted;
    `problems`: what else the builder must see.
    """

    ask: Ask
    before: FencePlan
    after: FencePlan
    doubts: tuple[Problem, ...]
    problems: tuple[Problem, ...]

    @property
    def old(self) -> RunPlan:
        """The run before."""
        return self.before.runs[self.ask.run]

    @property
    def new(self) -> RunPlan:
        """The run now."""
        return self.after.runs[self.ask.run]

    @property
    def boards(self) -> Pickets:
        """What the job says of its pickets."""
        return self.after.job.pickets

    @property
    def laid_for(self) -> float:
        """The width (in) of the boards that the run was laid for before any of it was up."""
        written = self.after.job.built.of(self.new.run.name).board_width
        return written or self.boards.width

    @property
    def last(self) -> int:
        """Number of the last picket up."""
        up = np.flatnonzero(~self.new.layout.coming)
        return int(up[-1]) + 1 if len(up) else 0

    @property
    def again(self) -> Again | None:
        """How the rest was laid again; None where the last edge agrees with the plan."""
        standing = self.new.layout.standing
        again = None if standing is None else standing.again
        return again if again is not None and again.after == self.last else None

    @property
    def at(self) -> float:
        """Station (in) of the last edge up, or the start of the run."""
        return float(self.new.slots.right[self.last - 1]) if self.last else self.new.start

    @property
    def relaid(self) -> int:
        """How many pickets are to come in the stretch that was laid again."""
        if self.again is None:
            return 0
        centre = self.new.slots.centre
        return int(((centre > self.at) & (centre < self.again.end)).sum())

    def planned_number(self, number: int) -> int | None:
        """The number that a picket had before; None where it had none."""
        again, count = self.again, len(self.old.slots)
        if again is None:
            return number if number <= count else None
        before, now = self.last + again.replaced, self.last + self.relaid
        if number <= now:
            return number if number <= before else None
        return number - now + before if number - now + before <= count else None

    def needed_before(self) -> Indices | None:
        """Boards of each length the plan had for the pickets to come and for those of gates, which are cut
        from the same pile; None where boards are shared."""
        if self.boards.top_end is TopEnd.FLAT:
            return None
        parts = []
        for k, run in enumerate(self.before.runs):
            coming = run.layout.coming.copy()
            if k == self.ask.run:
                coming[: self.last] = False
            parts.append(run.stock[coming])
        stock = np.concatenate(parts)
        needed = np.bincount(stock[stock >= 0], minlength=len(self.before.stock.offered)).astype(np.int64)
        gates = self.before.families.gate_pickets
        return needed if gates is None else needed + gates.counts(True) + gates.counts(False)


def resume_fence(job: Job, ask: Ask, style: TopStyle | str | None = None) -> Resumed:
    """What a measured edge changes.

    `job`: with its record as it was; `ask`: as `read_ask` gives it; `style`: a top instead of the job's.
    Errors: JobMistakesError with every mistake in the record, the new edge included.
    """
    if style:
        job = with_tops(job, styles_asked(job, TopStyle(style)))
    grounds, found = survey_grounds(job)
    chosen = styles_asked(job)
    name = job.runs[ask.run].name
    number = ask.picket.number if ask.picket else 0
    known = job.built.of(name)
    so_far = () if ask.picket is None else tuple(p for p in known.picket if p.number != number)
    earlier = job.built.with_run(dataclasses.replace(known, picket=so_far))
    before = plan_on(dataclasses.replace(job, built=earlier), grounds, chosen, found)
    last = max((p.number for p in known.picket), default=0)
    ask, taken = _off_the_pile(before, replace(ask, built=with_lists(ask.built, before)), last)
    after = plan_on(dataclasses.replace(job, built=ask.built), grounds, chosen, found)
    resumed = Resumed(ask=ask, before=before, after=after, doubts=(), problems=())
    fresh = [p for p in after.problems if p not in before.problems and p.severity is not Severity.NOTE]
    doubts = tuple(p for p in fresh if ask.picket is not None and p.place == edge_of(ask.picket))
    told = [p for p in fresh if p not in doubts]
    return replace(
        resumed, doubts=doubts, problems=(*_out_of_limit(resumed), *taken, *_short(resumed), *told)
    )


def _off_the_pile(before: FencePlan, ask: Ask, last: int) -> tuple[Ask, list[Problem]]:
    """A pile counted when picket `last` was up, less the boards begun since for those up by now."""
    rows, picket, first = ask.built.left, ask.picket, before.first
    if ask.counted or not rows or picket is None or first is None:
        return ask, []
    own = [run.layout.coming & False for run in before.runs]
    own[ask.run][last : picket.number] = True
    for out in ask.built.of(before.runs[ask.run].run.name).later:
        own[ask.run][out.first - 1 : out.last] = False
    gone = first.started_since(np.concatenate(own))
    by_length = {round(s.length / before.mark): n for s, n in zip(first.family.offered, gone, strict=True)}
    taken = [min(by_length.get(round(row.length / before.mark), 0), row.count) for row in rows]
    if not any(taken):
        return ask, []
    left = tuple(dataclasses.replace(row, count=row.count - n) for row, n in zip(rows, taken, strict=True))
    words = before.words
    told = ", ".join(f"{n} of {words.sold_length(r.length)}" for r, n in zip(rows, taken, strict=True) if n)
    found = f"{told} are taken off what was left, for the pickets that went up since"
    remedy = "count the pile, and say what is left where it differs"
    return replace(ask, built=dataclasses.replace(ask.built, left=left)), [note("boards left", found, remedy)]


def _out_of_limit(resumed: Resumed) -> list[Problem]:
    """Where full boards cannot be made to fit unseen: the best that can, or what is done instead."""
    again = resumed.again
    if again is None:
        return []
    words = resumed.after.words
    relay, limit = again.relay, words.given(again.limit)
    place = f"{resumed.new.run.name}, after picket {resumed.last}"
    if not relay.within:
        found = f"nothing fits within {limit} a board; the best takes {words.fine(relay.change)}"
        remedy = "set fewer boards before measuring next time, or allow a larger limit"
        return [warning(place, found, remedy)]
    told = []
    if relay.sliver:
        found = f"the last board comes to {words.fine(min(relay.ripped))}, under half a board"
        remedy = "nothing within the limit avoids it; a wider board or a moved post would"
        told.append(warning(place, found, remedy))
    full = [r for r in again.others if r.kind is RelayKind.FULL_BOARDS]
    if relay.ripped and full and not full[0].within:
        found = (
            f"full boards alone do not fit within {limit} a board: {len(full[0])} would take "
            f"{words.fine(full[0].change)}"
        )
        told.append(
            note(place, found, f"so the rest is ripped to {', '.join(words.fine(x) for x in relay.ripped)}")
        )
    return told


def _short(resumed: Resumed) -> list[Problem]:
    """Boards counted as left that are fewer than the pickets to come and their spares need."""
    boards, words = boards_of_pickets(resumed.after), resumed.after.words
    bought = sum(b.to_buy for b in boards)
    if resumed.ask.built.left is None or not bought:
        return []
    rows = zip(resumed.after.stock.offered, boards, strict=True)
    more = [f"{b.to_buy} of {words.sold_length(stock.length)}" for stock, b in rows if b.to_buy]
    spare = " with the spares" if any(b.spare for b in boards) else ""
    found = f"fewer boards are left than are needed{spare}: {bought} more, {', '.join(more)}"
    return [warning("boards left", found, "buy them, or lay them aside from another run")]


def record_to_keep(resumed: Resumed) -> AsBuilt:
    """The record with the new edge, with the line of the tops as it hangs, written down once, and with the
    lengths that boards were cut to. The run being built comes last, where rows are added by hand.

    Errors: JobMistakesError where nothing was said of a picket.
    """
    ask = resumed.ask
    if ask.picket is None:
        found = "nothing is said that could be kept"
        refuse("keep", found, "say how many are up, and where the last one ends")
    built = ask.built
    for k, run in enumerate(resumed.after.runs):
        if built.of(run.run.name).picket:
            built = built.with_run(as_it_hangs(built, resumed.after, k))
    here = resumed.after.runs[ask.run].run.name
    return dataclasses.replace(built, run=tuple(sorted(built.run, key=lambda r: r.name == here)))
