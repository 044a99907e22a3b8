"""Layout strips at full size: print, tape together, lay along a rail, and mark the edges of the pickets.

     page 1            page 2
|####|  |####|  |##  ##|  |####|  |
0 start           ^ joins: lay line on line          start again here
"""

import math
from collections.abc import Iterator

import numpy as np
from msgspec import Struct

from fencegrade.fence.pickets.patterns import row_names
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings.picture import PALE, Shape
from fencegrade.sheets.facts import provisional_mark
from fencegrade.sheets.paper.page import POINTS, Paper
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.tolerances import ROUNDING, WHOLE
from fencegrade.units.words import Words, plural, ranges

LONGEST = 96.0
"""Longest strip (in): about a bay; it is moved along and used again."""
MOST_STRIPS = 8
"""Strips of different spaces that are printed; further ones are named in words."""
_ALIKE = 1 / 64
"""Spaces (in) that differ by no more than this share a strip."""
_JOINT = 18.0
"""Points about a join that are kept free of names."""
_ACROSS = 3
"""Pieces of a strip side by side on one page."""


class PoleLayout(Struct, frozen=True, kw_only=True, eq=False):
    """One strip: where its pickets begin and end (k, inches from its zero), where it is begun again, and
    the pickets (numbers from 1) it lays out, also as first and last of those that follow each other in their
    row.
    """

    left: Floats
    right: Floats
    length: float
    spacing: float
    pickets: tuple[int, ...]
    stretches: tuple[tuple[int, int], ...]


def pole_layouts(run: RunPlan) -> list[PoleLayout]:
    """The strips of one run: one for each space between whole pickets of the first row.

    Spaces between the same two neighbours count as one where they differ by less than 1/64 in. A picket
    belongs to the strip of the space after it, the last of a stretch to that before it.
    """
    row = np.flatnonzero(run.layout.row == 0)
    left, right = run.slots.left[row], run.slots.right[row]
    gaps = left[1:] - right[:-1]
    width = float(np.median(right - left)) if len(row) else 0.0
    usual = (np.abs((right - left)[:-1] - width) < _ALIKE) & (gaps < 3 * width)
    found: dict[int, list[int]] = {}
    for k in np.flatnonzero(usual).tolist():
        found.setdefault(round(float(gaps[k]) / _ALIKE), []).append(k)
    layouts = []
    for members in sorted(found.values(), key=len, reverse=True):
        spacing = float(np.median(gaps[members]))
        which = sorted({*members, *(k + 1 for k in members)})
        layouts.append(_layout(width, spacing, row, np.array(which)))
    return layouts


def _layout(width: float, spacing: float, row: Indices, which: Indices) -> PoleLayout:
    """One strip for `which` places of a row; `row`: the pickets of that row, counted from 0."""
    pitch, numbers = width + spacing, row[which] + 1
    count = max(1, min(len(which), math.floor(LONGEST / pitch)))
    left: Floats = np.arange(count, dtype=np.float64) * pitch
    groups = np.split(numbers, np.flatnonzero(np.diff(which) > 1) + 1)
    return PoleLayout(
        left=left,
        right=left + width,
        length=pitch * count,
        spacing=spacing,
        pickets=tuple(numbers.tolist()),
        stretches=tuple((int(g[0]), int(g[-1])) for g in groups),
    )


def story_pole(plan: FencePlan) -> bytes:
    """The layout strips of every run at full size, as PDF.

    `plan`: a whole plan. Result: the same bytes for the same plan. Each page holds pieces of a strip that
    overlap by their joins, and a ruler of 4 in or 100 mm to check the printer by.
    """
    return pole_paper(plan).pdf("Layout strips at full size")


def pole_paper(plan: FencePlan) -> Paper:
    """The pages of the layout strips before they become a PDF."""
    words = plan.words
    paper = Paper(system=plan.units, title=plan.job.title)
    for run in plan.runs:
        paper.place, paper.warned = run.run.name, provisional_mark((run.ground,))
        layouts, rows = pole_layouts(run), row_names(plan.job.pickets.pattern)
        for layout in layouts[:MOST_STRIPS]:
            _draw_strip(paper, layout, words, f"{rows[0]}, " if rows else "")
        told = _left_out(len(layouts))
        if told:
            paper.new_page("Layout strip")
            paper.write(told)
    return paper


def _left_out(spaces: int) -> str:
    """What is said of a run with so many spaces of which not all have a strip, or that has none."""
    if not spaces:
        return "No two whole pickets stand side by side on this run: there is nothing to lay out."
    more = spaces - MOST_STRIPS
    if more <= 0:
        return ""
    occur = plural(more, "more space occurs", "more spaces occur")
    return f"{occur} on this run; take the edges from cut_chart.csv."


def _draw_strip(paper: Paper, layout: PoleLayout, words: Words, row: str) -> None:
    """One strip on as many pages as its pieces need; `row`: the row of pickets it lays out, where there are
    two.
    """
    imperial = paper.system is UnitSystem.IMPERIAL
    overlap = 0.5 if imperial else 10 / MM_PER_INCH
    _begin_page(paper, layout, words, row)
    useful = math.floor((paper.room / POINTS - 0.25) * 2) / 2 if imperial else 200 / MM_PER_INCH
    step = useful - overlap
    count = max(1, math.ceil((layout.length - overlap) / step - WHOLE))
    top = paper.y + 12
    for piece in range(count):
        if piece and piece % _ACROSS == 0:
            paper.continue_page()
            _draw_ruler(paper)
            paper.y = top
        x = paper.left + (piece % _ACROSS) * (paper.width + 12) / _ACROSS
        _draw_piece(paper, layout, piece, piece == count - 1, x, top, (step, useful, overlap))


def _begin_page(paper: Paper, layout: PoleLayout, words: Words, row: str) -> None:
    paper.new_page("Layout strip at full size")
    width = words.length(float(layout.right[0] - layout.left[0]))
    paper.write(
        f"Pickets {width} wide, {words.space(layout.spacing)} apart: "
        f"{row}{ranges(layout.stretches, most=5)}. Print at 100 %, check the ruler, cut the pieces out, tape "
        "join on join. Zero to the edge of a picket; at the arrow begin again.",
        11.0,
    )
    _draw_ruler(paper)


def _draw_ruler(paper: Paper) -> None:
    """A ruler of known length along the heading, and what it must measure."""
    imperial = paper.system is UnitSystem.IMPERIAL
    steps, step = (8, 0.5) if imperial else (10, 10 / MM_PER_INCH)
    long = steps * step * POINTS
    x = paper.right - long
    y = paper.y + 12
    paper.line(x, y, x + long, y, width=1.2)
    for k in range(steps + 1):
        tall = 9 if k in {0, steps} else 6
        paper.line(x + k * step * POINTS, y, x + k * step * POINTS, y - tall, width=1.0)
    paper.text(paper.left, y, f"this ruler must measure {'4 in' if imperial else '100 mm'}:", 11.0, bold=True)
    paper.y = y + 6


def _draw_piece(
    paper: Paper,
    layout: PoleLayout,
    piece: int,
    last: bool,
    x: float,
    top: float,
    sizes: tuple[float, float, float],
) -> None:
    """One piece of a strip: zero at its top, joins at both ends, the edges of pickets across it."""
    step, useful, overlap = sizes
    start, wide = piece * step, paper.width / _ACROSS - 16
    end = min(start + useful, layout.length)
    foot = top + (end - start) * POINTS
    paper.frame(x, top, wide, foot - top, width=0.7)
    for a, b in zip(layout.left, layout.right, strict=True):
        low, high = max(float(a), start), min(float(b), end)
        if high > low:
            _draw_picket(paper, (float(a), float(b)), (low, high), start, x, top, wide)
    edges = [top + (float(e) - start) * POINTS for e in (*layout.left, *layout.right)]
    for at, name in _joins(piece, last, start, end, overlap):
        y = top + (at - start) * POINTS
        paper.line(x - 5, y, x + wide + 5, y, width=0.8, dashes=(4.0, 2.0))
        free = (d for d in (-3.0, 9.5) if all(not y + d - 8 < e < y + d + 3 for e in edges))
        paper.text(x + wide - 4, y + next(free, -3.0), name, 8.5, anchor=1.0)
    if last:
        _draw_arrow(paper, x, foot, wide)


def _draw_picket(
    paper: Paper,
    edges: tuple[float, float],
    seen: tuple[float, float],
    start: float,
    x: float,
    top: float,
    wide: float,
) -> None:
    """The part of a picket that is on a piece; its true edges in heavy lines."""
    low, high = (top + (at - start) * POINTS for at in seen)
    paper.frame(x + 0.5, low, wide * 0.62, high - low, width=0, fill=PALE)
    for edge, at in zip(edges, seen, strict=True):
        if abs(edge - at) < ROUNDING:
            y = top + (at - start) * POINTS
            paper.line(x, y, x + wide, y, width=1.3)
    if high - low > 3 * _JOINT:
        paper.text(x + 6, (low + high) / 2 + 4, "picket", 10.5, bold=True)


def _joins(piece: int, last: bool, start: float, end: float, overlap: float) -> Iterator[tuple[float, str]]:
    """Where this piece meets its neighbours: the middle of each overlap."""
    if piece:
        yield start + overlap / 2, f"join {piece}"
    if not last:
        yield end - overlap / 2, f"join {piece + 1}"


def _draw_arrow(paper: Paper, x: float, y: float, wide: float) -> None:
    paper.line(x, y, x + wide, y, width=1.6)
    paper.add(
        Shape(points=((x + 8, y + 10), (x + 13, y + 2), (x + 18, y + 10)), width=0.8, fill=0.0, closed=True)
    )
    paper.text(x + 24, y + 11, "begin again here", 9.5, bold=True)
