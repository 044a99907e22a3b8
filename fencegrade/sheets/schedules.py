"""Posts, rails, gates, gaps and the buying list, as tables."""

import math
from collections.abc import Iterator, Sequence
from heapq import merge
from operator import itemgetter

import numpy as np

from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.posts.concrete import hole_volumes
from fencegrade.fence.posts.wind import WindScreen
from fencegrade.fence.rails.pieces import SQUARE
from fencegrade.figures.concrete import bag_yield
from fencegrade.ground.survey_line import string_at
from fencegrade.job.choices import HingePost
from fencegrade.planning.buying import BuyLine, bag_weight_words, buying_list
from fencegrade.planning.families import Family
from fencegrade.planning.hanging import measured_from, posts_over_line
from fencegrade.planning.part_families import PostsToSet, stock_by_post
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.facts import gap_action
from fencegrade.sheets.gates_and_wind_json import wind_record
from fencegrade.sheets.rail_lines import rails_taken
from fencegrade.sheets.shared_boards import traced_boards
from fencegrade.sheets.tables import Cell, Table, columns_of
from fencegrade.units.tolerances import SAME_LENGTH, WHOLE


def post_table(plan: FencePlan, index: int) -> Table:
    """The posts of one run: where, how deep the hole by which rule, how long, and the mark of the top.

    Every rule's own depth stands beside the one taken. A post that stands, and the first one of a run that
    joins another, which is the other's last, need no hole.
    """
    run, words = plan.runs[index], plan.words
    bag = bag_weight_words(plan.job.posts.bag, words.system)
    rules = "".join(f" | by {choice.rule}:length" for choice in run.posts.choices)
    columns = columns_of(
        f"post:count | station:station | kind | hole:length | in ground:length | set by{rules} | "
        f"bags of {bag}:count | top above ground:to_set | top over {measured_from(plan)}:over | string | "
        "length needed:length | from stock:sold"
    )
    rows = _all_post_rows(plan, index, len(columns))
    return Table(name="posts", title=f"Posts, {run.run.name}", columns=columns, rows=rows)


def _all_post_rows(plan: FencePlan, index: int, width: int) -> Iterator[tuple[Cell, ...]]:
    """New posts and old ones in order of station."""
    old_ones = sorted(_old_rows(plan, index), key=itemgetter(0))
    old = [("old", station, told, *[None] * (width - 3)) for station, told in old_ones]
    return merge(_post_rows(plan, index), old, key=itemgetter(1))


def _post_rows(plan: FencePlan, index: int) -> Iterator[tuple[Cell, ...]]:
    run = plan.runs[index]
    every = plan.posts_to_set
    posts, own = run.posts, every[index]
    bags, stock = _bags(plan, own), stock_by_post(plan.families, every)[index]
    over, needed = posts_over_line(run).tolist(), posts.sold.to_marks_up(own.total)
    for i in range(len(posts)):
        dug = bool(own.wanted[i])
        length = stock[i]
        yield (
            i + 1,
            float(posts.station[i]),
            _kind(plan, index, i),
            float(own.depth[i]) + plan.job.posts.gravel if dug else None,
            float(own.depth[i]) if dug else None,
            posts.set_by(i) if dug else None,
            *(float(choice.depth[i]) if dug else None for choice in posts.choices),
            bags[i] if dug else None,
            float(posts.above[i]) if posts.known[i] else "not measured",
            over[i] if math.isfinite(over[i]) else None,
            string_at(run.ground, float(posts.station[i])),
            float(needed[i]) if dug else None,
            length.length if length else "none" if dug else None,
        )


def _kind(plan: FencePlan, index: int, post: int) -> str:
    """A post by its job: an end, a corner with the runs it joins, the hinge or latch post of a gate."""
    run = plan.runs[index]
    kind = str(run.posts.kinds[post])
    if run.posts.standing[post]:
        return f"{kind}, stands"
    corner, shared = _corner(plan, index, post)
    hung = [_leaves_on(r, float(r.posts.station[k])) for r, k in shared]
    gates = [f"{kind}, {hangs}" for hangs in dict.fromkeys(hung) if hangs]
    if run.posts.kinds[post] is not PostKind.GATE or not gates:
        return corner or kind
    return "; ".join([corner, *gates] if corner else gates)


def _corner(plan: FencePlan, index: int, post: int) -> tuple[str, list[tuple[RunPlan, int]]]:
    """What a post is called where runs meet, else empty; the runs that share it, and its place in each."""
    run = plan.runs[index]
    if post == 0 and run.run.join is not None:
        before = next(r for r in plan.runs if r.run.name == run.run.join)
        after = [r for r in plan.runs if r.run.join == run.run.join]
        return f"corner, with {run.run.join}", [(before, -1), *((r, 0) for r in after)]
    after = [r for r in plan.runs if r.run.join == run.run.name]
    if post == len(run.posts) - 1 and after:
        return f"corner, with {' and '.join(r.run.name for r in after)}", [
            (run, -1),
            *((r, 0) for r in after),
        ]
    return "", [(run, post)]


def _leaves_on(run: RunPlan, station: float) -> str:
    """Whether a gate's leaf hangs on, or shuts against, the gate post at a station (in)."""
    for gate in run.layout.gates:
        first, last = gate.gate.station, gate.gate.end
        near = HingePost.START if abs(station - first) < abs(station - last) else HingePost.END
        if min(abs(station - first), abs(station - last)) < run.layout.bays.sizes.max():
            return "hinges" if any(fit.hinge is near for fit in gate.chosen) else "latch"
    return ""


def post_is_set(run: RunPlan, row: Sequence[Cell]) -> bool:
    """Whether the post of a row of `post_table` is set already."""
    return isinstance(row[0], int) and bool(run.posts.standing[row[0] - 1])


def _old_rows(plan: FencePlan, index: int) -> Iterator[tuple[float, str]]:
    """Old posts that come out: the station of each, and where the nearest new post goes."""
    run, words = plan.runs[index], plan.words
    for old in run.layout.run.existing_post:
        if not old.keep and len(run.posts):
            off = run.posts.station - old.station
            k = int(np.argmin(np.abs(off)))
            way = "after" if off[k] > 0 else "before"
            where = (
                f"{words.length(abs(float(off[k])))} {way} it"
                if abs(off[k]) > SAME_LENGTH
                else "in its place"
            )
            yield old.station, f"old, comes out: post {k + 1} stands {where}"


def _bags(plan: FencePlan, own: PostsToSet) -> list[int]:
    """Whole bags of concrete for the hole of each post."""
    holes = hole_volumes(own.depth, own.schedule.gate, plan.job.posts)
    return [math.ceil(v / bag_yield(plan.job.posts.bag) - WHOLE) for v in holes.tolist()]


def wind_table(plan: FencePlan, index: int) -> Table:
    """The screen of wind and soil of a run, post by post; no rows where the job has no site."""
    run, record = plan.runs[index], wind_record(plan.runs[index], plan.units)
    units = record["units"] if record else {"force": "", "moment": ""}
    force, moment = units["force"], units["moment"]
    columns = columns_of(
        f"post:count | force [{force}]:count | moment at the ground [{moment}]:count"
        f" | the post carries [{moment}]:count | depth asked:length | depth planned:length | case | passes"
    )
    rows: list[tuple[Cell, ...]] = [
        (
            own["number"],
            own["force"],
            own["moment"],
            own["carried"] if own["judged"] else None,
            float(screen.depth[k]),
            float(run.posts.depth[k]) if own["judged"] else None,
            own["case"],
            _passes(screen, k) if own["judged"] else "not judged",
        )
        for screen in ([run.wind] if run.wind else [])
        for k, own in enumerate(record["posts"] if record else [])
    ]
    return Table(name="wind", title=f"Wind and soil, {run.run.name}", columns=columns, rows=rows)


def _passes(screen: WindScreen, k: int) -> str:
    """Whether a post that is judged passes, or where it does not."""
    fails = [] if screen.stands[k] else ["not in the soil"]
    fails += [] if screen.holds[k] else ["not in bending"]
    fails += ["not until wind_speed is confirmed"] if screen.doubted else []
    return ", ".join(fails) or "yes"


def rail_table(plan: FencePlan, index: int) -> Table:
    """Where each rail's upper edge is marked on the two posts of its bay, and how long it is cut; what stands
    is cut no more.

    A rail that runs over two bays is cut once, with the first of them.
    """
    columns = columns_of(
        "bay:count | row:count | posts | upper edge above ground at left post:over | at right post:over | "
        "below the top line:length | length in the bay:length | cut to:length | takes of a board:length | "
        "runs over | end cut"
    )
    run = plan.runs[index]
    return Table(name="rails", title=f"Rails, {run.run.name}", columns=columns, rows=_rail_rows(plan, index))


def _rail_rows(plan: FencePlan, index: int) -> Iterator[tuple[Cell, ...]]:
    run = plan.runs[index]
    rows, pieces, coming = run.rails, run.rail_pieces, run.rails_coming
    cut, taken = pieces.cut(plan.mark), rails_taken(plan, index)
    piece = np.zeros((len(run.layout.bays), int(rows.row.max(initial=-1)) + 1), dtype=np.int64)
    for bay in (pieces.first_bay, pieces.last_bay):
        piece[bay, pieces.row] = np.arange(len(pieces))
    for i in range(len(rows)):
        first = int(run.layout.bays.first[rows.bay[i]]) + 1
        k = piece[rows.bay[i], rows.row[i]]
        starts, ends = int(pieces.first_bay[k]), int(pieces.last_bay[k])
        yield (
            int(rows.bay[i]) + 1,
            int(rows.row[i]) + 1,
            f"{first} to {first + 1}",
            float(rows.left_mark[i]) if rows.fits[i] else None,
            float(rows.right_mark[i]) if rows.fits[i] else None,
            float(rows.drop[i]),
            float(rows.length[i]),
            float(cut[k]) if rows.bay[i] == starts and coming[k] else None,
            float(taken[k]) if rows.bay[i] == starts and coming[k] else None,
            f"bays {starts + 1}-{ends + 1}" if ends > starts else "its bay",
            "stands"
            if not coming[k]
            else _end_cut(abs(float(rows.angle[i])))
            if rows.fits[i]
            else "does not fit",
        )


def _end_cut(angle: float) -> str:
    """How the ends of a rail are cut, `angle` (radians) off square."""
    return f"{math.degrees(angle):.1f} deg off square" if angle >= SQUARE else "square"


def gap_table(plan: FencePlan, index: int) -> Table:
    """The stretches of low ground to walk along, and what is done about each."""
    run = plan.runs[index]
    columns = columns_of(
        "from:station | to:station | first picket:count | last picket:count | deepest gap:length | action | "
        "soil deep:length | fill:volume"
    )
    rows: list[tuple[Cell, ...]] = [
        (
            g.start,
            g.end,
            g.first,
            g.last,
            g.deepest,
            gap_action(run, g),
            g.fill_depth or None,
            g.fill_volume or None,
        )
        for g in run.gaps
    ]
    return Table(name="gaps", title=f"Low ground, {run.run.name}", columns=columns, rows=rows)


_BESIDE_BOARDS = (GapAction.FILL, GapAction.KICKBOARD)
"""What is done about low ground once the boards are up."""


def gap_is_closed(run: RunPlan, row: Sequence[Cell]) -> bool:
    """Whether all boards of a row of `gap_table` are up and no soil or kickboard goes there."""
    first, last, action = row[2], row[3], row[5]
    assert isinstance(first, int)
    assert isinstance(last, int)
    return action not in _BESIDE_BOARDS and not run.layout.coming[first - 1 : last].any()


def buying_table(plan: FencePlan) -> Table:
    """Everything to buy, as a yard sells it; counts, prices and weights are numbers."""
    columns = columns_of(
        "part | section | length:sold | unit | need:count | spare:count | on hand:count | "
        "to buy:count | price:price | total:money | weight:mass"
    )
    rows = [_buy_row(line) for line in buying_list(plan).lines]
    return Table(name="buying", title="Buying list", columns=columns, rows=rows)


_TO_BUY = 7
"""Place of the column `to buy` there."""


def nothing_to_buy(row: Sequence[Cell]) -> bool:
    """Whether all that a row of `buying_table` needs is on hand."""
    return not row[_TO_BUY]


def _buy_row(line: BuyLine) -> tuple[Cell, ...]:
    return (
        line.part,
        line.section or None,
        line.length,
        line.unit,
        _count(line.need),
        _count(line.spare) if line.spare else None,
        _count(line.on_hand) if line.on_hand else None,
        _count(line.to_buy),
        line.price,
        line.total,
        line.weight,
    )


def _count(value: float) -> int | float:
    return int(value) if float(value).is_integer() else value


def board_table(plan: FencePlan, name: str, family: Family) -> Table:
    """Each board of a family, a row a piece: how long it is cut and where it goes; ♦: left long.

    What is left of a board, and what the slanted ends of rails take of it, stands at its last piece.
    """
    slanted = name == "rails"
    columns = columns_of(
        "board:count | from stock:sold | piece:count | cut to:length | for "
        f"{'| slanted ends:length ' if slanted else ''}| left over:length"
    )
    return Table(name=f"{name}_boards", columns=columns, rows=_board_rows(plan, family, slanted))


def _board_rows(plan: FencePlan, family: Family, slanted: bool) -> Iterator[tuple[Cell, ...]]:
    mark = plan.mark
    for number, board in enumerate(traced_boards(plan, family), start=1):
        last = len(board.pieces)
        for k, (length, name) in enumerate(zip(board.pieces, board.names, strict=True), start=1):
            ends = (board.ends * mark,) if slanted else ()
            rest = (*ends, board.left) if k == last else (None,) * (len(ends) + 1)
            yield number, board.sold, k, length * mark, name, *(x or None for x in rest)
