"""Posts, rails, gates, low ground and the buying list on paper."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from fencegrade.fence.gates.frame import LeafFrame
from fencegrade.fence.gates.gates import CAUTIONS, GatePlan, LeafPickets, describe
from fencegrade.fence.low_ground.gaps import GapAction, GapStretch
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import Work
from fencegrade.sheets.facts import missing_words
from fencegrade.sheets.paper.cover import draw_cautions, draw_facts
from fencegrade.sheets.paper.grid import Grid, draw_grid, grid_of, without
from fencegrade.sheets.paper.page import MIDDLE, Paper, Shape, text_width
from fencegrade.sheets.proof import proof_words
from fencegrade.sheets.run_words import concrete_lines, frame_words
from fencegrade.sheets.schedules import (
    board_table,
    buying_table,
    gap_table,
    post_table,
    rail_table,
    wind_table,
)
from fencegrade.sheets.tables import Cell, Column, Kind, Table
from fencegrade.sheets.work import low_ground_lines, risk_lines
from fencegrade.units import format_pressure
from fencegrade.units.words import Words

_OVER_STRING = "top over string"


def draw_posts(paper: Paper, plan: FencePlan, index: int) -> None:
    """The post schedule of a run, with the cautions of digging and setting."""
    words = Words.of(plan.job.job)
    paper.new_page("Posts")
    paper.write(
        f"Stations are the middles of the posts. Hole {words.length(plan.job.posts.hole_diameter)} wide; its "
        "depth counts the gravel. Set posts long, then mark every top from the string and cut to the marks.",
        12.5,
    )
    table = post_table(plan, index)
    why = [c.head for c in table.columns if c.head == "set by" or c.head.startswith("by ")]
    bags = [c.head for c in table.columns if c.head.startswith("bags of")]
    main = _said_over_string(without(table, [*why, *bags, "in ground"]), words)
    draw_grid(paper, grid_of(main, words, bold=(0, 1), size=13.0, row=24.0, tick=True))
    paper.second_heading("How deep, and by which rule", 100)
    other = [c.head for c in table.columns if c.head not in {"post", "in ground", *why, *bags}]
    draw_grid(paper, grid_of(without(table, other), words, bold=(0, 1), size=12.0, row=18.0))
    _draw_wind(paper, plan, index, words)
    draw_cautions(paper, plan, Work.DIGGING, Work.POSTS, Work.LIFTING)


def _draw_wind(paper: Paper, plan: FencePlan, index: int, words: Words) -> None:
    """The screen of wind and soil of a run, post by post, with everything it takes."""
    screen = plan.runs[index].wind
    if screen is None:
        return
    paper.second_heading("Wind and soil: a screen, not a design", 100)
    pressure = format_pressure(screen.pressure, words.system)
    paper.write(f"Pressure on the fence: {pressure}.", 11.5)
    draw_grid(paper, grid_of(wind_table(plan, index), words, bold=(0, 4), size=11.0, row=16.0))
    paper.write(f"Taken: {'; '.join(screen.assumptions)}.", 9.5, after=6)


def _said_over_string(table: Table, words: Words) -> Table:
    """The post table with the top over or under the string in words, not by a sign."""
    if _OVER_STRING not in table.heads:
        return table
    k = table.heads.index(_OVER_STRING)
    rows: list[list[Cell]] = [list(row) for row in table.rows]
    over = [cell for cell in (row[k] for row in rows) if isinstance(cell, float)]
    columns = list(table.columns)
    said: dict[Cell, Cell] = {value: value for value in over}
    if over and max(over) <= 0:
        columns[k] = Column(head="top under string", kind=Kind.LENGTH)
        said = {value: -value for value in over}
    elif over and min(over) < 0:
        columns[k] = Column(head="top from string", kind=Kind.LENGTH)
        said = {v: f"{words.length(abs(v))} {'over' if v >= 0 else 'under'}" for v in over}
    rows = [[*r[:k], said.get(r[k]), *r[k + 1 :]] for r in rows]
    return replace(table, columns=tuple(columns), rows=[tuple(r) for r in rows])


def draw_rails(paper: Paper, plan: FencePlan, index: int) -> None:
    """Where the rails of a run are marked on its posts."""
    words = Words.of(plan.job.job)
    paper.new_page("Rail marks")
    paper.write(
        "Row 1 is the top rail. The two marks are its upper edge over the ground at the bay's left and right "
        "post; where the ground at a post is rough, measure down from the top line instead. The end cut is "
        "how far off square. A rail over two bays is cut once, with the first of them.",
        12.5,
    )
    table = _short_heads(without(rail_table(plan, index), ("length in the bay",)))
    grid = grid_of(table, words, bold=(0, 1), size=13.0, row=20.0, tick=True)
    draw_grid(paper, replace(grid, right=(True,) * len(grid.heads)))
    draw_cautions(paper, plan, Work.FIXING)


_SHORT = {"upper edge above ground at left post": "mark at left", "at right post": "mark at right"}


def _short_heads(table: Table) -> Table:
    """The rail table with headings and cells that fit on paper."""
    columns = tuple(replace(c, head=_SHORT.get(c.head, c.head)) for c in table.columns)
    rows = [tuple(_short_cell(cell) for cell in row) for row in table.rows]
    over = table.heads.index("runs over")
    if all(row[over] is None for row in rows):
        return without(replace(table, columns=columns, rows=rows), ("runs over",))
    return replace(table, columns=columns, rows=rows)


def _short_cell(cell: Cell) -> Cell:
    if not isinstance(cell, str):
        return cell
    return None if cell == "its bay" else cell.replace(" deg off square", "°")


def draw_gates(paper: Paper, plan: FencePlan, index: int) -> None:
    """A page for every gate of a run."""
    run, words = plan.runs[index], Words.of(plan.job.job)
    leaves = _numbered_leaves(plan)
    first = sum(len(r.leaves) for r in plan.runs[:index])
    hung = 0
    for number, gate in enumerate(run.layout.gates, start=1):
        paper.new_page(f"Gate {number}" if len(run.layout.gates) > 1 else "Gate")
        own = run.frames[hung : hung + len(gate.chosen)]
        hung += len(gate.chosen)
        draw_facts(paper, list(_gate_facts(gate, own, words)), 14.0)
        for text in CAUTIONS:
            paper.write(text, 12.0, after=3)
        for k in range(len(gate.chosen)):
            title = "Pickets of the leaf" if len(gate.chosen) == 1 else f"Pickets of leaf {k + 1}"
            paper.second_heading(title, 90)
            draw_grid(paper, _leaf_grid(plan, *leaves[first], words))
            first += 1


def _gate_facts(gate: GatePlan, frames: Sequence[LeafFrame], words: Words) -> Iterator[tuple[str, str]]:
    a, wide = gate.gate.station, gate.gate.width
    yield "opening", f"{words.station(a)} to {words.station(a + wide)}, {words.length(wide)} clear"
    yield "leaves", f"{len(gate.chosen)}, each {words.length(gate.leaf_width)} wide"
    for k, fit in enumerate(gate.chosen, start=1):
        hinge, latch = words.length(fit.hinge_height), words.length(fit.latch_height)
        yield f"leaf {k}" if len(gate.chosen) > 1 else "hang it as", describe(fit)
        yield "its bottom, shut", f"{hinge} over the ground at the hinge, {latch} at the latch"
        yield "its frame", frame_words(frames[k - 1], words).removeprefix("frame: ")
    yield "left and right", "as seen looking along the run from its start"


def _numbered_leaves(plan: FencePlan) -> list[tuple[LeafPickets, Sequence[int]]]:
    """Every leaf of the job, with the stock (tape marks) of each of its pickets."""
    leaves = [leaf for run in plan.runs for leaf in run.leaves]
    family = plan.families.gate_pickets
    stock = family.stock_of().tolist() if family is not None else []
    ends = np.cumsum([len(leaf.kept) for leaf in leaves]).tolist()
    return [(leaf, stock[end - len(leaf.kept) : end]) for leaf, end in zip(leaves, ends, strict=True)]


def _leaf_grid(plan: FencePlan, leaf: LeafPickets, stock: Sequence[int], words: Words) -> Grid:
    rows = [
        (str(k + 1), words.length(kept * plan.mark), words.length(board * plan.mark) if board else "none")
        for k, (kept, board) in enumerate(zip(leaf.kept.tolist(), stock, strict=True))
    ]
    heads = ("leaf picket", "keep", "from stock")
    right = (True, True, True)
    return Grid(heads=heads, rows=rows, right=right, bold=frozenset({0, 1}), size=15.0, row=22.0, tick=True)


def draw_low_ground(paper: Paper, plan: FencePlan, index: int) -> None:
    """Where gaps stay, are closed by longer boards or soil, or are kept open, as a map and a list."""
    run, words = plan.runs[index], Words.of(plan.job.job)
    if not run.gaps:
        paper.second_heading("Gaps and soil")
        paper.write("No gap under this run is larger than the job allows.", 14.0)
        if index == 0:
            draw_cautions(paper, plan, Work.SOIL)
        return
    paper.new_page("Gaps and soil")
    draw_cautions(paper, plan, Work.SOIL)
    paper.write(
        "Walk the line with this list. The bar is the whole run; its numbers are those of the list.", 12.5
    )
    _draw_map(paper, run, words)
    table = gap_table(plan, index)
    columns = (Column(head="no."), *table.columns)
    rows = [(str(k), *row) for k, row in enumerate(table.rows, start=1)]
    listed = replace(table, columns=columns, rows=rows)
    grid = grid_of(listed, words, bold=(0,), size=13.0, row=22.0, tick=True)
    draw_grid(paper, replace(grid, right=tuple(head != "pickets" for head in grid.heads)))
    paper.write(
        "The deepest gap is what would stay open if nothing were done. fill: soil up to the clearance; "
        "longer board: already in the cut chart; kickboard: a board along the ground; leave open: for water; "
        "none: the gap stays, scribe or fill by hand.",
        11.5,
    )


_LEVELS = 3
"""Rows of numbers over the map, so that those of neighbours find room."""
_LOOK: dict[GapAction, tuple[float, bool]] = {
    GapAction.FILL: (0.0, False),
    GapAction.LONGER_BOARD: (1.0, False),
    GapAction.LEAVE_OPEN: (1.0, True),
    GapAction.KICKBOARD: (MIDDLE, False),
    GapAction.NONE: (1.0, True),
}
"""Filling of a stretch on the map, and whether it is crossed out."""


def _draw_map(paper: Paper, run: RunPlan, words: Words) -> None:
    """The run as a bar with its stretches of low ground."""
    per = paper.width / (run.end - run.start)
    y = paper.y + 18 + 13 * (_LEVELS - 1)
    taken = [-1e9] * _LEVELS
    for k, gap in enumerate(run.gaps, start=1):
        x, wide = paper.left + (gap.start - run.start) * per, max((gap.end - gap.start) * per, 1.5)
        _draw_stretch(paper, gap, x, y, wide)
        half = text_width(str(k), 11.0, True) / 2 + 2
        level = next((n for n, end in enumerate(taken) if x + wide / 2 - half > end), None)
        if level is not None:
            paper.text(x + wide / 2, y - 4 - 13 * level, str(k), 11.0, bold=True, anchor=0.5)
            taken[level] = x + wide / 2 + half
    paper.line(paper.left, y + 16, paper.right, y + 16, width=1.6)
    paper.text(paper.left, y + 30, words.station(run.start), 11.0)
    paper.text(paper.right, y + 30, words.station(run.end), 11.0, anchor=1.0)
    paper.y = y + 40


def _draw_stretch(paper: Paper, gap: GapStretch, x: float, y: float, wide: float) -> None:
    fill, crossed = _LOOK[gap.action]
    paper.frame(x, y, wide, 16, width=1.0, fill=fill)
    if crossed:
        for pair in (((x, y), (x + wide, y + 16)), ((x, y + 16), (x + wide, y))):
            paper.add(Shape(points=pair, width=0.8))


def draw_buying(paper: Paper, plan: FencePlan) -> None:
    """The buying list, and from which boards rails are cut; posts have their boards in their schedule."""
    words = Words.of(plan.job.job)
    paper.place = _every_run(plan)
    paper.new_page("Buying list")
    draw_grid(paper, _buying_grid(plan, words))
    for line in missing_words(plan, words):
        paper.write(f"NOT ENOUGH: {line}.", 12.5, bold=True)
    if not plan.families.pickets.unserved:
        proof = proof_words(
            plan.families.pickets.plan, lambda marks: words.length(marks * plan.mark), words.money
        )
        paper.write(f"Pickets: {proof}", 11.5)
    for line in (*concrete_lines(plan), *risk_lines(plan, words)):
        paper.write(line.strip(), 11.5)
    if told := [line.strip() for line in low_ground_lines(plan, words)]:
        paper.write(f"{told[0]}: {'; '.join(told[1:])}", 11.5)
    draw_cautions(paper, plan, Work.LIFTING)
    for name, family in plan.families.named().items():
        if name not in {"pickets", "gate_pickets", "posts", "gate_posts"}:
            table = _without_only_run(board_table(plan, name, family), plan)
            paper.new_page(table.title)
            draw_grid(paper, grid_of(table, words, bold=(0,), size=12.0, row=21.0, tick=True))


def _buying_grid(plan: FencePlan, words: Words) -> Grid:
    """The buying list with everything but parts and units lined up on the right."""
    grid = grid_of(buying_table(plan), words, bold=(0, 7), size=12.0, row=24.0, tick=True)
    return replace(grid, right=tuple(head not in {"part", "section", "unit"} for head in grid.heads))


def _without_only_run(table: Table, plan: FencePlan) -> Table:
    """A table of boards that does not repeat the name of a job's only run."""
    if len(plan.runs) > 1:
        return table
    name = f"{plan.runs[0].run.name} "
    rows = [tuple(c.replace(name, "") if isinstance(c, str) else c for c in row) for row in table.rows]
    return replace(table, rows=rows)


def _every_run(plan: FencePlan) -> str:
    return plan.runs[0].run.name if len(plan.runs) == 1 else "all runs"
