"""Low ground, the list for the yard, boards for rails, what was assumed, and sources."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import groupby

from reportlab.platypus import Flowable

from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.planning.buying import buying_list
from fencegrade.planning.families import Family, TracedBoard
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import Work
from fencegrade.sheets.facts import before_buying, cost_words, unpriced_words, widest_of
from fencegrade.sheets.paper.blocks import grid, heading, named, title, words
from fencegrade.sheets.paper.sheet import Look, room_for
from fencegrade.sheets.plan_cautions import work_cautions
from fencegrade.sheets.practice import KICKBOARD
from fencegrade.sheets.proof import pickets_proof
from fencegrade.sheets.rail_lines import nothing_to_spare, spare_words
from fencegrade.sheets.run_words import concrete_lines
from fencegrade.sheets.schedules import buying_table, gap_is_closed, gap_table, nothing_to_buy
from fencegrade.sheets.shared_boards import alike
from fencegrade.sheets.sources import sources_used
from fencegrade.sheets.tables import Kind, Table, filled_columns, without
from fencegrade.sheets.work import low_ground_lines, risk_lines
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbers

_ACTIONS = (
    (GapAction.FILL, "soil up to the clearance, lower over its sloping ends"),
    (GapAction.LONGER_BOARD, "already among the boards"),
    (GapAction.KICKBOARD, "a board along the ground, from post to post"),
    (GapAction.LEAVE_OPEN, "for water or a path, as the job keeps it open"),
)
"""What is done about low ground, in few words."""


def low_ground(plan: FencePlan, index: int, look: Look, place: str) -> Iterator[Flowable]:
    """Where gaps stay, are closed by longer boards or soil, or are kept open, if there are any."""
    run, say = plan.runs[index], plan.words
    if not run.gaps:
        return
    yield room_for(150)
    yield from title("Low ground", place)
    told = "; ".join(
        f"{action}: {what}" for action, what in _ACTIONS if any(g.action is action for g in run.gaps)
    )
    left = f"With all this done at most {widest_of(run, say)} stays open under the boards{_leaves(run, say)}."
    yield words(f"Deepest is what would stay open if nothing were done. {left} {told}.", small=True)
    if run.closing.kickboards:
        yield words(KICKBOARD, small=True)
    yield from (words(c.whole, small=True) for c in work_cautions(plan, Work.SOIL))
    table = gap_table(plan, index)
    done = [k for k, row in enumerate(table.rows) if gap_is_closed(run, row)]
    yield table_grid(filled_columns(table), say, look.width, done)


def _leaves(run: RunPlan, say: Words) -> str:
    """What stays open under the shut leaf of a gate where it is more than under any board."""
    widest = float(run.cuts.gap.max())
    leaves = [
        f", {say.length(fit.open_height)} under gate {number}{f' leaf {k}' if len(gate.chosen) > 1 else ''}"
        for number, gate in enumerate(run.layout.gates, start=1)
        for k, fit in enumerate(gate.chosen, start=1)
        if fit.open_height > widest + SAME_LENGTH
    ]
    return "".join(leaves)


def table_grid(
    table: Table, say: Words, width: float, done: Collection[int] = (), under: str = ""
) -> Flowable:
    """A table as data, set as a grid with its first column in bold; `done`: rows without a tick; `under`:
    heading of a column whose cells stand under their rows.
    """
    left = [c.head for c in table.columns if c.kind is Kind.TEXT]
    rows, heads, notes = list(table.written(say)), table.heads, dict[int, str]()
    if under in heads:
        at = heads.index(under)
        notes = {k: row[at] for k, row in enumerate(rows) if row[at]}
        rows, heads = [row[:at] + row[at + 1 :] for row in rows], heads[:at] + heads[at + 1 :]
    return grid(
        width, heads, rows, left=left, bold=heads[:1], tick=True, done=done, size=10.0, row=16.0, notes=notes
    )


def yard_list(plan: FencePlan, look: Look, place: str) -> Iterator[Flowable]:
    """The list for the yard, and from which boards rails are cut."""
    say = plan.words
    yield from title("The yard's list", place)
    yield from (words(f"{text}.", bold=True) for text in before_buying(plan))
    table, cost = buying_table(plan), buying_list(plan).cost
    done = [k for k, row in enumerate(table.rows) if nothing_to_buy(row)]
    yield table_grid(without(filled_columns(table), ("need",)), say, look.width, done, "section")
    if cost is not None:
        yield named(f"Together {cost_words(cost, plan.missing, say)}.", unpriced_words(plan))
    if proof := pickets_proof(plan):
        yield words(f"{proof[0].upper()}{proof[1:]}", small=True)
    for line in (*concrete_lines(plan), *filter(None, [spare_words(plan, say)]), *risk_lines(plan, say)):
        yield words(line.strip(), small=True)
    if told := [line.strip() for line in low_ground_lines(plan, say)]:
        yield words(f"{told[0]}: {'; '.join(told[1:])}", small=True)


def boards_by_family(plan: FencePlan, width: float) -> Iterator[Flowable]:
    """From which boards rails and other long pieces are cut."""
    say = plan.words
    for name, family in plan.families.named().items():
        if name not in {"pickets", "gate_pickets", "posts", "gate_posts"}:
            yield room_for(120)
            yield heading(f"Boards for {name}")
            yield _alike_boards(plan, family, say, width)


def _alike_boards(plan: FencePlan, family: Family, say: Words, width: float) -> Flowable:
    """Boards that are cut alike as one row, numbered as they are drawn; under it what its pieces are for."""
    same = list(alike(plan, family))
    rows = [
        (
            f"{number}",
            f"{len(boards)}",
            say.sold_length(boards[0].sold),
            ", ".join(say.length(p * plan.mark).removesuffix(f" {say.unit}") for p in boards[0].pieces),
            "no spare"
            if family is plan.families.rails and nothing_to_spare(plan, boards[0])
            else say.length(boards[0].left)
            if boards[0].left
            else "",
        )
        for number, boards in enumerate(same, start=1)
    ]
    notes = {k: _for_what(boards) for k, boards in enumerate(same)}
    heads = ("no.", "boards", "of", f"pieces, as cut [{say.unit}]", "left over")
    return grid(width, heads, rows, left=heads[3:4], bold=heads[3:4], tick=True, notes=notes)


def _for_what(boards: Sequence[TracedBoard]) -> str:
    """What the pieces of boards cut alike are for, piece by piece: `lane bay 6 row 1-3, bay 7 row 1`."""
    return "; then ".join(_named(names) for names in zip(*(b.names for b in boards), strict=True))


def _named(names: Iterable[str]) -> str:
    """Names that differ in their last number alone told together."""
    found: dict[str, list[int]] = {}
    for name in names:
        front, _, last = name.rpartition(" ")
        counted = last.isdecimal()
        found.setdefault(front if counted else name, []).extend([int(last)] if counted else [])
    return ", ".join(f"{front} {numbers(sorted(own), 60)}" if own else front for front, own in found.items())


def assumed(plan: FencePlan, look: Look, place: str) -> Iterator[Flowable]:
    """In two columns: boards for rails, what was assumed, and where figures come from."""
    yield from boards_by_family(plan, look.column)
    yield room_for(120)
    yield from title("Assumed, and sources", place)
    if plan.job.assumed:
        yield words("The job file is silent here, so common practice was taken:", small=True)
        for table, keys in groupby(plan.job.assumed, key=lambda a: a.key.partition("] ")[0]):
            told = "; ".join(f"{a.key.partition('] ')[2]} {a.value}" for a in keys)
            yield named(f"{table}]", told, small=True)
    else:
        yield words("Nothing: the job file names every value.", small=True)
    yield heading("Sources of the figures used")
    for what, source in sources_used(plan):
        yield words(f"{what}: {source}", small=True)
    yield named(
        "What these sheets are.",
        "Lengths and quantities computed from your own measurements. They are no design, no permit and no "
        "legal advice: local codes and licensed practice come first.",
        small=True,
    )
