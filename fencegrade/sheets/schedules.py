"""Posts, rails, gates, gaps and the buying list, as tables."""

import math
from collections.abc import Iterator

from fencegrade.buying import BuyLine, buying_list
from fencegrade.families import Family
from fencegrade.fence.posts import NO_POST
from fencegrade.plan import FencePlan, RunPlan
from fencegrade.sheets.tables import Cell, Column, Kind, Table
from fencegrade.sheets.words import Words, numbers
from fencegrade.units import format_mass, format_volume


def post_table(plan: FencePlan, index: int) -> Table:
    """The posts of one run: where, how deep the hole, how long, and the mark of the top."""
    run = plan.runs[index]
    columns = (
        Column(head="post", kind=Kind.COUNT),
        Column(head="station", kind=Kind.STATION),
        Column(head="kind"),
        Column(head="hole", kind=Kind.LENGTH),
        Column(head="in ground", kind=Kind.LENGTH),
        Column(head="top above ground", kind=Kind.HEIGHT),
        Column(head="top over string", kind=Kind.LENGTH),
        Column(head="length needed", kind=Kind.LENGTH),
        Column(head="from stock", kind=Kind.LENGTH),
    )
    return Table(name="posts", title=f"Posts, {run.run.name}", columns=columns, rows=list(_post_rows(run)))


def _post_rows(run: RunPlan) -> Iterator[tuple[Cell, ...]]:
    posts = run.posts
    for i in range(len(posts)):
        standing = bool(posts.standing[i])
        yield (
            i + 1,
            float(posts.station[i]),
            f"{posts.kinds[i]}, stands" if standing else str(posts.kinds[i]),
            None if standing else float(posts.hole[i]),
            None if standing else float(posts.depth[i]),
            float(posts.above[i]),
            over_string(run, float(posts.station[i]), float(posts.top[i])),
            None if standing else float(posts.total[i]),
            _post_stock(run, i),
        )


def _post_stock(run: RunPlan, index: int) -> Cell:
    stock = run.posts.stock[index]
    if stock != NO_POST:
        return run.posts.offered[stock].length
    return None if run.posts.standing[index] else "none"


def over_string(run: RunPlan, station: float, elevation: float) -> float | None:
    """How far (in) an elevation lies over the string at a station; None where no string hangs there."""
    for string in run.ground.strings:
        if string.start <= station <= string.end:
            return elevation - float(string.elevation(station))
    return None


def rail_table(plan: FencePlan, index: int) -> Table:
    """Where each rail's upper edge is marked on the two posts of its bay, and how long it is."""
    run, rows = plan.runs[index], plan.runs[index].rails
    columns = (
        Column(head="bay", kind=Kind.COUNT),
        Column(head="row", kind=Kind.COUNT),
        Column(head="posts"),
        Column(head="left mark above ground", kind=Kind.LENGTH),
        Column(head="right mark above ground", kind=Kind.LENGTH),
        Column(head="below the top line", kind=Kind.LENGTH),
        Column(head="length along the slope", kind=Kind.LENGTH),
        Column(head="end cut off square"),
    )
    body: list[tuple[Cell, ...]] = []
    for i in range(len(rows)):
        first = int(run.layout.bays.first[rows.bay[i]]) + 1
        angle = math.degrees(float(rows.angle[i]))
        body.append(
            (
                int(rows.bay[i]) + 1,
                int(rows.row[i]) + 1,
                f"{first} to {first + 1}",
                float(rows.left_mark[i]),
                float(rows.right_mark[i]),
                float(rows.drop[i]),
                float(rows.length[i]),
                f"{abs(angle):.1f} deg" if abs(angle) >= 0.05 else "square",
            )
        )
    return Table(name="rails", title=f"Rails, {run.run.name}", columns=columns, rows=body)


def gap_table(plan: FencePlan, index: int) -> Table:
    """The stretches of low ground to walk along, and what is done about each."""
    run = plan.runs[index]
    columns = (
        Column(head="from", kind=Kind.STATION),
        Column(head="to", kind=Kind.STATION),
        Column(head="pickets"),
        Column(head="deepest gap", kind=Kind.LENGTH),
        Column(head="action"),
        Column(head="fill"),
    )
    system = plan.job.job.units
    rows: list[tuple[Cell, ...]] = [
        (
            g.start,
            g.end,
            numbers(range(g.first, g.last + 1)),
            g.deepest,
            str(g.action),
            format_volume(g.fill_volume, system) if g.fill_volume else None,
        )
        for g in run.gaps
    ]
    return Table(name="gaps", title=f"Low ground, {run.run.name}", columns=columns, rows=rows)


def buying_table(plan: FencePlan) -> Table:
    """Everything to buy."""
    words = Words.of(plan.job.job)
    columns = (
        Column(head="part"),
        Column(head="size"),
        Column(head="unit"),
        Column(head="need"),
        Column(head="spare"),
        Column(head="on hand"),
        Column(head="to buy"),
        Column(head="price", kind=Kind.MONEY),
        Column(head="total", kind=Kind.MONEY),
        Column(head="weight"),
    )
    rows = [_buy_row(plan, line, words) for line in buying_list(plan).lines]
    return Table(name="buying", title="Buying list", columns=columns, rows=rows)


def _buy_row(plan: FencePlan, line: BuyLine, words: Words) -> tuple[Cell, ...]:
    system = plan.job.job.units
    size: str | None = None
    if line.size is not None:
        size = format_mass(line.size, system) if line.unit == "bag" else words.length(line.size)
    return (
        line.part,
        size,
        line.unit,
        _count(line.need),
        _count(line.spare) if line.spare else None,
        _count(line.on_hand) if line.on_hand else None,
        _count(line.to_buy),
        line.price,
        line.total,
        None if line.weight is None else format_mass(line.weight, system),
    )


def _count(value: float) -> str:
    return str(int(value)) if float(value).is_integer() else f"{value:.1f}"


def board_table(plan: FencePlan, name: str, family: Family) -> Table:
    """Each board of a family with the pieces cut from it and where they go."""
    mark = plan.mark
    words = Words.of(plan.job.job)
    columns = (
        Column(head="board", kind=Kind.COUNT),
        Column(head="from stock", kind=Kind.LENGTH),
        Column(head="pieces, as cut"),
        Column(head="left over", kind=Kind.LENGTH),
    )
    rows: list[tuple[Cell, ...]] = []
    for number, board in enumerate(family.traced(), start=1):
        cuts = "; ".join(
            f"{words.length(p * mark)} {n}" for p, n in zip(board.pieces, board.names, strict=True)
        )
        rows.append((number, board.stock * mark, cuts, board.offcut * mark or None))
    return Table(
        name=f"{name}_boards", title=f"Boards for {name.replace('_', ' ')}", columns=columns, rows=rows
    )
