"""At the saw: the stop and which boards it serves, stack by stack; then the boards that are left long."""

from collections.abc import Iterator
from itertools import groupby

from reportlab.platypus import Flowable

from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.cautions import CHECK_THREE, Work
from fencegrade.sheets.charts import Setting, angle_words, end_to_cut, settings, stops
from fencegrade.sheets.mark_in_place import how_to_mark, left_long, numbered_steps, short_words
from fencegrade.sheets.paper.blocks import (
    boxed,
    cautions_once,
    first_to_come,
    grid,
    heading,
    kept,
    title,
    words,
)
from fencegrade.sheets.paper.sheet import Look, room_for
from fencegrade.sheets.shared_boards import HOW_TO_CUT, shared_rows
from fencegrade.units.words import Words, numbers, plural

_KEPT_ROWS = 12
"""Groups of boards to mark in place that stand on one page with how they are marked; more may run on."""


def at_the_saw(plan: FencePlan, index: int, look: Look, place: str) -> Iterator[Flowable]:
    """The boards of one run as they are cut."""
    say = plan.words
    found = settings(plan, index)
    yield from title("At the saw", place)
    yield boxed(CHECK_THREE)
    cut = sum(len(s.pickets) for s in found if s.cut)
    yield words(
        f"{end_to_cut(plan)} Lengths are rounded down to {say.length(plan.mark)}: cut to the mark, never "
        f"longer. {plural(stops(found), 'setting')} of the stop for {plural(cut, 'board')}."
    )
    if any(s.short is not None for s in found):
        yield words(
            "Slanted cuts: the stop holds the long side; the angle is off square, and the short side stands "
            "toward the start of the run or toward its end, as said."
        )
    yield from cautions_once(plan, index, Work.CUTTING, first=first_to_come(plan))
    for stock, members in groupby(found, key=lambda s: s.stock):
        yield room_for(80)
        yield _stack(plan, list(members), stock, look, say)
    yield from _left_long(plan, index, look, say)


def _stack(plan: FencePlan, found: list[Setting], stock: float, look: Look, say: Words) -> Flowable:
    slanted = any(s.short is not None for s in found)
    count = sum(len(s.pickets) for s in found)
    rows = []
    for s in found:
        cells = [say.length(s.kept) if s.cut else "whole"]
        if slanted:
            short = "" if s.short is None else say.length(s.short)
            cells += [angle_words(s), short, s.toward]
        rows.append([*cells, f"{len(s.pickets)}", s.names(say)])
    heads = ("stop at", *(("angle", "short side", "short to") if slanted else ()), "count", "pickets")
    over = (words(f"From {say.sold_length(stock)} boards, {plural(count, 'piece')}", bold=True),)
    return grid(
        look.width, heads, rows, left=("pickets", "short to"), bold=("stop at",), tick=True, over=over
    )


def _left_long(plan: FencePlan, index: int, look: Look, say: Words) -> Iterator[Flowable]:
    """Boards that are marked where they stand: no stop, and no box that says they are cut."""
    groups = list(left_long(plan, index))
    if not groups:
        return
    rows = [
        (
            numbers(g.pickets),
            f"{len(g.pickets)}",
            say.sold_length(g.stock),
            f"{say.station(g.start)} to {say.station(g.end)}",
            f"{say.length(g.low)} to {say.length(g.high)}{short_words(g, say)}",
        )
        for g in groups
    ]
    heads = ("pickets", "count", "stock", "outer edges", "length to expect")
    steps = words(numbered_steps(how_to_mark(plan)), small=True)
    told = [heading("Not at the saw: leave long, mark in place"), steps]
    table = grid(look.width, heads, rows, left=("pickets", *heads[3:]), bold=("pickets",))
    if len(rows) <= _KEPT_ROWS:
        yield kept([*told, table])
    else:
        yield from (kept(told), table)


def boards_of_several(plan: FencePlan, look: Look, place: str) -> Iterator[Flowable]:
    """Boards that give more than one picket, with the pickets they give."""
    rows = list(shared_rows(plan, plan.words))
    if not rows:
        return
    yield room_for(140)
    yield from title("Boards that give more than one picket", place)
    yield words("Every other board gives one picket. Cut the longest piece first.")
    if any("♦" in pieces for _, _, pieces, _ in rows):
        yield words(HOW_TO_CUT)
    heads = ("boards", "of", "pieces, as cut", "left over each")
    yield grid(look.width, heads, rows, left=("pieces, as cut",), bold=("boards",), tick=True)
