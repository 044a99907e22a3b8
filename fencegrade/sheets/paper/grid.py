"""A table on paper: columns as wide as they must be, rows that stay whole, headings again on every page."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fencegrade.sheets.paper.page import BODY, LINE, MIDDLE, Paper, Shape, text_width, wrapped
from fencegrade.sheets.tables import Kind, Table
from fencegrade.units.words import Words

LEAST_SIZE = 7.0
_PAD = 5.0
_TICK = 15.0
"""Side of a box to tick."""
_HEAD = 0.78
"""Type size of headings over that of the rows."""

Note = tuple[str, bool]
"""A remark under a row, and whether it stands for a board that is left long and marked in place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A table that is ready to be set.

    `right`: columns whose cells line up on the right; `bold`: columns in bold type; `size`: type size; `row`:
    least height of a row; `tick`: a box to tick ends every row; `notes`: remarks by row, beside the cells
    where there is room, else under the row.
    """

    heads: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    right: tuple[bool, ...]
    bold: frozenset[int] = frozenset()
    size: float = BODY
    row: float = 20.0
    tick: bool = False
    notes: Mapping[int, Sequence[Note]] | None = None


def grid_of(
    table: Table,
    words: Words,
    *,
    bold: Sequence[int] = (),
    size: float = BODY,
    row: float = 20.0,
    tick: bool = False,
) -> Grid:
    """A grid from a table as data, without the columns that no row fills."""
    rows = list(table.written(words))
    keep = [k for k in range(len(table.columns)) if any(r[k] for r in rows)]
    return Grid(
        heads=tuple(table.columns[k].head for k in keep),
        rows=[tuple(r[k] for k in keep) for r in rows],
        right=tuple(table.columns[k].kind is not Kind.TEXT for k in keep),
        bold=frozenset(keep.index(b) for b in bold if b in keep),
        size=size,
        row=row,
        tick=tick,
    )


def without(table: Table, heads: Collection[str]) -> Table:
    """A table without the columns of these headings."""
    keep = [k for k, column in enumerate(table.columns) if column.head not in heads]
    return replace(
        table,
        columns=tuple(table.columns[k] for k in keep),
        rows=[tuple(row[k] for k in keep) for row in table.rows],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Set:
    """A grid with its columns' widths, and its lines of headings."""

    grid: Grid
    widths: tuple[float, ...]
    heads: tuple[tuple[str, ...], ...]
    beside: bool

    @property
    def head_size(self) -> float:
        return self.grid.size * _HEAD

    @property
    def head_height(self) -> float:
        return LINE * self.head_size * max(map(len, self.heads), default=1) + 6


def draw_grid(paper: Paper, grid: Grid) -> None:
    """Set a grid where the next thing goes; its type gets smaller if it is too wide for the page."""
    grid = _squeezed(paper, grid)
    laid = _laid(grid, paper.width - (_TICK + 2 * _PAD if grid.tick else 0.0))
    first = _row_height(laid, grid.rows[0], 0) if grid.rows else 0.0
    paper.ensure(laid.head_height + first)
    _draw_heads(paper, laid)
    for number, row in enumerate(grid.rows):
        if paper.ensure(_row_height(laid, row, number)):
            _draw_heads(paper, laid)
        _draw_row(paper, laid, row, number)
    paper.y += 8


def grid_height(paper: Paper, grid: Grid) -> float:
    """Height (points) that a grid takes on one page."""
    laid = _laid(grid, paper.width - (_TICK + 2 * _PAD if grid.tick else 0.0))
    return laid.head_height + sum(_row_height(laid, row, k) for k, row in enumerate(grid.rows)) + 8


def _squeezed(paper: Paper, grid: Grid) -> Grid:
    """The grid with rows a little closer, where that keeps it on this page."""
    closer = replace(grid, row=0.88 * grid.row)
    if grid_height(paper, grid) > paper.room + 8 >= grid_height(paper, closer):
        return closer
    return grid


def _laid(grid: Grid, room: float) -> _Set:
    """Widths of the columns: as wide as they like, texts narrower if they must be, all in smaller type if
    that is not enough."""
    while True:
        like = [_natural(grid, k) for k in range(len(grid.heads))]
        least = [_least(grid, k) for k in range(len(grid.heads))]
        if sum(least) <= room or grid.size <= LEAST_SIZE:
            break
        grid = replace(grid, size=max(LEAST_SIZE, grid.size - 0.5))
    told = _notes_width(grid)
    beside = 0 < told <= room - sum(like)
    room -= told if beside else 0.0
    over = sum(like) - room
    if over > 0:
        give = [a - b for a, b in zip(like, least, strict=True)]
        share = min(1.0, over / sum(give)) if sum(give) > 0 else 0.0
        widths = [a - share * g for a, g in zip(like, give, strict=True)]
    else:
        extra = min(-over / len(like), 2.2 * grid.size)
        widths = [a + extra for a in like]
    size = grid.size * _HEAD
    heads = tuple(
        tuple(wrapped(head, width - _PAD, size, bold=True))
        for head, width in zip(grid.heads, widths, strict=True)
    )
    return _Set(grid=grid, widths=tuple(widths), heads=heads, beside=beside)


def _notes_width(grid: Grid) -> float:
    """Width of the remarks, if they stand beside the cells."""
    size = _note_size(grid)
    texts = [text for notes in (grid.notes or {}).values() for text, _ in notes]
    return max((text_width(text, size, True) + 1.5 * size + _PAD for text in texts), default=0.0)


def _natural(grid: Grid, column: int) -> float:
    """Width at which no cell of a column is wrapped."""
    bold = column in grid.bold
    cells = max((text_width(row[column], grid.size, bold) for row in grid.rows), default=0.0)
    return max(cells, _widest_word(grid.heads[column], grid.size * _HEAD, True)) + 2 * _PAD


def _least(grid: Grid, column: int) -> float:
    """Least width of a column: that of its widest word; of a whole cell where it lines up on the right."""
    if grid.right[column]:
        return _natural(grid, column)
    bold = column in grid.bold
    cells = max((_widest_word(row[column], grid.size, bold) for row in grid.rows), default=0.0)
    head = _widest_word(grid.heads[column], grid.size * _HEAD, True)
    return max(min(cells, 90.0), head) + 2 * _PAD


def _widest_word(text: str, size: float, bold: bool) -> float:
    return max((text_width(word, size, bold) for word in text.split()), default=0.0)


def _cells(laid: _Set, row: tuple[str, ...]) -> Iterator[list[str]]:
    grid = laid.grid
    for k, (cell, width) in enumerate(zip(row, laid.widths, strict=True)):
        yield wrapped(cell, width - 2 * _PAD + 0.5, grid.size, k in grid.bold)


def _note_size(grid: Grid) -> float:
    return min(12.0, grid.size)


def _row_height(laid: _Set, row: tuple[str, ...], number: int) -> float:
    grid = laid.grid
    lines = max((len(c) for c in _cells(laid, row)), default=1)
    high = max(grid.row, LINE * grid.size * lines + 3)
    told = LINE * _note_size(grid) * len((grid.notes or {}).get(number, ()))
    return max(high, told + 3) if laid.beside else high + told


def _draw_heads(paper: Paper, laid: _Set) -> None:
    x, size = paper.left, laid.head_size
    lines = max(map(len, laid.heads), default=1)
    for head, width, right in zip(laid.heads, laid.widths, laid.grid.right, strict=True):
        for k, line in enumerate(head):
            y = paper.y + size * (0.95 + LINE * (lines - len(head) + k))
            at, anchor = (x + width - _PAD, 1.0) if right else (x + _PAD, 0.0)
            paper.text(at, y, line, size, bold=True, anchor=anchor)
        x += width
    paper.y += laid.head_height
    paper.line(paper.left, paper.y, paper.right, paper.y, width=1.4)


def _draw_row(paper: Paper, laid: _Set, row: tuple[str, ...], number: int) -> None:
    grid, x = laid.grid, paper.left
    cells = list(_cells(laid, row))
    lines = max(map(len, cells), default=1)
    high = max(grid.row, LINE * grid.size * lines + 3)
    if laid.beside:
        high = _row_height(laid, row, number)
    top = paper.y + (high - LINE * grid.size * lines) / 2
    for k, (cell, width) in enumerate(zip(cells, laid.widths, strict=True)):
        for m, line in enumerate(cell):
            at, anchor = (x + width - _PAD, 1.0) if grid.right[k] else (x + _PAD, 0.0)
            paper.text(at, top + grid.size * (0.95 + LINE * m), line, grid.size, k in grid.bold, anchor)
        x += width
    if grid.tick:
        paper.box(paper.right - _TICK - 2, paper.y + (high - _TICK) / 2, _TICK)
    if laid.beside:
        told = LINE * _note_size(grid) * len((grid.notes or {}).get(number, ()))
        _draw_notes(paper, grid, number, x + 0.5 * _note_size(grid), paper.y + (high - told) / 2)
        paper.y += high
    else:
        paper.y = _draw_notes(paper, grid, number, paper.left + 22, paper.y + high)
    fifth = number % 5 == 4
    paper.line(
        paper.left, paper.y, paper.right, paper.y, width=1.0 if fifth else 0.5, grey=0.0 if fifth else MIDDLE
    )


def _draw_notes(paper: Paper, grid: Grid, number: int, x: float, y: float) -> float:
    """Remarks of a row from a place downward, and where they end.

    Each stands behind its shape: a diamond where a board is left long, else a triangle.
    """
    size = _note_size(grid)
    for text, in_place in (grid.notes or {}).get(number, ()):
        paper.add(flag_shape(x, y + 0.55 * size, 0.42 * size, in_place))
        paper.text(x + 0.9 * size, y + 0.95 * size, text, size, bold=True)
        y += LINE * size
    return y


def flag_shape(x: float, y: float, half: float, in_place: bool) -> Shape:
    """The shape that stands for a remark: a diamond for a board marked in place, else a triangle."""
    corners = (
        ((x, y - half), (x + half, y), (x, y + half), (x - half, y))
        if in_place
        else ((x, y - half), (x + half, y + half), (x - half, y + half))
    )
    return Shape(points=corners, width=0.8, fill=0.0, closed=True)
