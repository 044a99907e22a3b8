"""Cut patterns as bars: one bar a pattern, its pieces in order from the left, what is left over hatched.

1 [ 31-1/2 in | 31-1/2 in | 28 in |//offcut 4-5/8 in//]   3 boards of 8 ft
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle
from msgspec import Struct

from fencegrade.sheets.drawings import style
from fencegrade.sheets.drawings.canvas import (
    MARGIN,
    ONE_LINE,
    WIDTH,
    bare,
    titled_drawing,
)
from fencegrade.sheets.drawings.labels import Label, Spot, fitted, place_labels, text_size
from fencegrade.sheets.drawings.style import Hatch, house_style
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

ROWS = 12
"""Patterns on one sheet."""

_BAR = 0.3
_PITCH = 0.52
_NUMBER = 0.35
_COUNT = 1.75
"""Inches of paper: height of a bar, from bar to bar, room for a pattern's number and for its count."""


class CutPattern(Struct, frozen=True, kw_only=True):
    """How boards of one length are cut alike.

    `stock` length of the board and `pieces` cut from it, in order, with a saw `kerf` wide, leaving `offcut`,
    all in inches; `slants`: how much farther the ends of each piece come out at the upper edge, none where
    all are square; `count` such boards; `names` of the pieces, one each or none.
    """

    stock: float
    pieces: tuple[float, ...]
    offcut: float
    count: int
    slants: tuple[float, ...] = ()
    kerf: float = 0.0
    names: tuple[str, ...] = ()


@house_style()
def cut_board_figures(patterns: Sequence[CutPattern], title: str, what: str, words: Words) -> list[Figure]:
    """The patterns of a cutting plan, drawn to one scale, twelve to a sheet.

    `patterns`: in the order they are to be cut; `title`: of the job; `what`: what is cut (`pickets`);
    `words`: how lengths are written.
    """
    longest = max((p.stock for p in patterns), default=1.0)
    sheets = [patterns[k : k + ROWS] for k in range(0, len(patterns), ROWS)]
    return [
        _drawing(sheet, k * ROWS, longest, title, f"{what}: {_which(k, len(sheets))}", words)
        for k, sheet in enumerate(sheets)
    ]


def _which(k: int, of: int) -> str:
    part = f", sheet {k + 1} of {of}" if of > 1 else ""
    return f"cut from the left, lengths as the tape reads{part}"


def _drawing(
    patterns: Sequence[CutPattern], before: int, longest: float, title: str, line: str, words: Words
) -> Figure:
    told = ". ".join(f"Pattern {before + k + 1}: {_told(p, words)}" for k, p in enumerate(patterns))
    drawing, height = titled_drawing(_PITCH * len(patterns) + MARGIN, title, line, told, ONE_LINE)
    bars = WIDTH - 2 * MARGIN - _NUMBER - _COUNT
    axes = drawing.add_axes(
        ((MARGIN + _NUMBER) / WIDTH, MARGIN / height, bars / WIDTH, _PITCH * len(patterns) / height)
    )
    bare(axes)
    axes.set_xlim(0, longest)
    axes.set_ylim(-len(patterns), 0)
    labels = [
        label
        for k, pattern in enumerate(patterns)
        for label in _draw_bar(axes, pattern, -k - _BAR / _PITCH / 2 - 0.1, before + k + 1, words, longest)
    ]
    place_labels(drawing, axes, labels)
    return drawing


def _told(pattern: CutPattern, words: Words) -> str:
    pieces = ", ".join(words.length(p) for p in pattern.pieces)
    return f"{_count_text(pattern, words)} into {pieces}, leaving {words.length(pattern.offcut)}"


def _count_text(pattern: CutPattern, words: Words) -> str:
    boards = "board" if pattern.count == 1 else "boards"
    return f"{pattern.count} {boards} of {words.sold_length(pattern.stock)}"


def _draw_bar(
    axes: Axes, pattern: CutPattern, y: float, number: int, words: Words, longest: float
) -> Iterator[Label]:
    """Draw one pattern about the height `y`; yields its labels."""
    half = _BAR / _PITCH / 2
    x = 0.0
    edges = []
    slants = pattern.slants or (0.0,) * len(pattern.pieces)
    for piece, slant in zip(pattern.pieces, slants, strict=True):
        edges.append((x, x + piece))
        _box(axes, x, x + piece, y, half, style.WHITE, slant=slant)
        x += piece
        if x + slant < pattern.stock - SAME_LENGTH and pattern.kerf > 0:
            _box(axes, x, min(x + pattern.kerf, pattern.stock - slant), y, half, style.BLACK, slant=slant)
            x += pattern.kerf
    if pattern.offcut > SAME_LENGTH:
        left, right = pattern.stock - pattern.offcut, pattern.stock
        _box(axes, left, right, y, half, style.LIGHT_GREY, Hatch.OFFCUT, slants[-1], square=True)
    yield Label(text=f"{number}", at=((0.0, y),), spots=(Spot(right=-8, side="right"),), rank=0, bold=True)
    yield Label(
        text=_count_text(pattern, words),
        at=((longest, y),),
        spots=(Spot(right=10, side="left"),),
        rank=0,
        bold=True,
        boxed=False,
    )
    yield from _piece_labels(axes, pattern, edges, y, half, words)
    yield from _offcut_label(axes, pattern, y, half, words)


def _box(
    axes: Axes,
    left: float,
    right: float,
    y: float,
    half: float,
    face: str,
    hatch: str = "",
    slant: float = 0.0,
    square: bool = False,
) -> None:
    """What is between two cuts; `slant`: how much farther (in) they come out at the upper edge, the right one
    not where it is the `square` end of the board."""
    looks: dict[str, Any] = {"fc": face, "ec": style.BLACK, "lw": 0.9, "hatch": hatch or None}
    if slant:
        last = right if square else right + slant
        upper = min(left + slant, last)
        corners = [(left, y - half), (right, y - half), (last, y + half), (upper, y + half)]
        axes.add_patch(Polygon(corners, **looks))
    else:
        axes.add_patch(Rectangle((left, y - half), right - left, 2 * half, **looks))


def _points(axes: Axes, inches: float) -> float:
    """Points of paper that a length along the bars takes."""
    low, high = axes.get_xlim()
    return float(inches * axes.get_window_extent().width / (high - low))


def _piece_labels(
    axes: Axes,
    pattern: CutPattern,
    edges: Sequence[tuple[float, float]],
    y: float,
    half: float,
    words: Words,
) -> Iterator[Label]:
    """Each piece's length in it, with its name where there is room; else all of them listed under the bar."""
    texts = [words.length(p) for p in pattern.pieces]
    names = pattern.names or ("",) * len(texts)
    fits = [
        _points(axes, b - a) >= text_size(t, style.WORD_SIZE)[0] + 4
        for (a, b), t in zip(edges, texts, strict=True)
    ]
    for (a, b), text, name, roomy in zip(edges, texts, names, fits, strict=True):
        if roomy:
            middle = ((a + b) / 2, y)
            named = f"{text}\n{name}" if name else text
            room = _points(axes, b - a) - 4
            if name and text_size(named, style.SMALL_SIZE)[0] <= room:
                yield Label(
                    text=named, at=(middle,), spots=(Spot(),), rank=1, size=style.SMALL_SIZE, boxed=False
                )
            else:
                yield Label(text=text, at=(middle,), spots=(Spot(),), rank=1, boxed=False)
    if not all(fits):
        listed = "pieces: " + ", ".join(f"{len(list(same))} × {text}" for text, same in groupby(texts))
        room = _points(axes, axes.get_xlim()[1])
        yield Label(
            text=fitted(listed, room, style.SMALL_SIZE),
            at=((0.0, y - half),),
            spots=(Spot(up=-2, side="left", base="top"),),
            rank=1,
            size=style.SMALL_SIZE,
            boxed=False,
        )


def _offcut_label(axes: Axes, pattern: CutPattern, y: float, half: float, words: Words) -> Iterator[Label]:
    """What is left: in the hatched end where it fits, else under it."""
    if pattern.offcut <= SAME_LENGTH:
        return
    text = f"offcut {words.length(pattern.offcut)}"
    middle = pattern.stock - pattern.offcut / 2
    if text_size(text, style.SMALL_SIZE)[0] <= _points(axes, pattern.offcut) - 8:
        yield Label(text=text, at=((middle, y),), spots=(Spot(),), rank=1, size=style.SMALL_SIZE)
        return
    yield Label(
        text=text,
        at=((pattern.stock, y - half),),
        spots=(
            Spot(up=-2, side="right", base="top"),
            Spot(right=40, up=-2, side="right", base="top"),
            Spot(right=10, up=-2, side="left", base="top"),
        ),
        rank=2,
        size=style.SMALL_SIZE,
        boxed=False,
    )
