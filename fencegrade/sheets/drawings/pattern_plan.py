"""The three ways pickets stand on the rails, seen from above, so that nobody has to trust a name.

side by side     [====][====][====]
                 ------------------ rail

board on board       [====]  [====]      front boards, over the spaces
                 [====]  [====]  [====]  back boards, on the rail
                 -----------------------

shadowbox        [====]  [====]  [====]
                 ----------------------- rail between the two faces
                     [====]  [====]
"""

from collections.abc import Iterator

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from msgspec import Struct

from fencegrade.fence.pickets.patterns import DEFINITIONS, lay_pattern
from fencegrade.job.choices import Fit, Pattern
from fencegrade.sheets.drawings import style
from fencegrade.sheets.drawings.canvas import (
    MARGIN,
    WIDTH,
    Drawing,
    bare,
    new_drawing,
    write_heading,
    write_text,
)
from fencegrade.sheets.drawings.labels import Label, Spot, fitted, over, place_labels, text_size, under
from fencegrade.sheets.drawings.style import house_style
from fencegrade.units.tolerances import WHOLE
from fencegrade.units.words import Words

_EXAMPLE_SPACE = {Pattern.SIDE_BY_SIDE: 0.05, Pattern.BOARD_ON_BOARD: 0.6, Pattern.SHADOWBOX: 0.6}
"""Share of a picket's width drawn as the space between pickets of one face, in patterns not chosen."""
_ACROSS = 7.5
"""Widths of a picket that a drawing is wide."""
_THICK = 0.14
_RAIL = 0.26
_ROW = 1.7
"""Inches of paper: thickness of a board and of a rail as drawn, and room for one pattern."""
_BELOW = 0.7
"""Inches of paper under the middle of the rail."""
_WORDS = ("picket", "spacing", "overlap")
"""What is dimensioned, in words."""
Row = tuple[float, list[float]]
"""Where a row of pickets lies (inches of paper up from the rail's middle), and their left edges (in)."""


class Laid(Struct, frozen=True, kw_only=True):
    """What a job's pattern comes to as it is laid out.

    `width` of a picket and `space` between neighbours of one row where it is commonest (in); `spaces`,
    `overlap`: all of them in words.
    """

    width: float
    space: float
    spaces: str
    overlap: str


@house_style()
def pattern_figure(laid: Laid, words: Words, title: str, chosen: Pattern | None) -> Figure:
    """The three patterns from above, to one scale along the fence.

    `laid`: the job's own pickets; `words`: how lengths are written; `title`: of the job; `chosen`: the job's
    pattern, the only one drawn with its own spaces and figures.
    """
    height = _ROW * len(Pattern) + 0.85
    meanings = " ".join(DEFINITIONS.values())
    line = "patterns seen from above, the outside at the top; thickness not to scale"
    drawing = new_drawing(height, f"{title}: {line}", meanings)
    room = (WIDTH - 2 * MARGIN) * style.POINTS
    write_heading(drawing, fitted(title, room, style.TITLE_SIZE, bold=True), line)
    for k, pattern in enumerate(Pattern):
        foot = (_ROW * (len(Pattern) - 1 - k) + 0.1) / height
        ours = pattern is chosen
        width, gap = laid.width, laid.space if ours else _EXAMPLE_SPACE[pattern] * laid.width
        told = (f"picket {words.fine(width)}", f"spacing {laid.spaces}", f"overlap {laid.overlap}")
        rows = _rows(pattern, width, gap)
        axes = drawing.add_axes((MARGIN / WIDTH, foot, 0.8, _ROW / height))
        bare(axes)
        axes.set_xlim(-0.1 * width, (_ACROSS + 0.1) * width)
        axes.set_ylim(-_BELOW, _ROW - _BELOW)
        labels = list(_draw_pattern(axes, pattern, rows, (width, gap), told if ours else _WORDS))
        name = f"{pattern}, this job" if ours else str(pattern)
        _write_name(drawing, name, _meaning(pattern), foot + _ROW / height)
        place_labels(drawing, axes, labels)
    return drawing


def _rows(pattern: Pattern, width: float, space: float) -> list[Row]:
    pitch = width + space
    count = max(2, int((_ACROSS * width + space) / pitch + WHOLE))
    facing = lay_pattern(pattern, 0.0, count * pitch - space, width, space, Fit.EVEN_GAPS)
    on_rail = _RAIL / 2 + _THICK / 2
    second = {Pattern.BOARD_ON_BOARD: on_rail + _THICK, Pattern.SHADOWBOX: -on_rail}
    rows = [(on_rail, facing.first.left.tolist())]
    if len(facing.second):
        rows.append((second[pattern], facing.second.left.tolist()))
    return rows


def _meaning(pattern: Pattern) -> str:
    """What a pattern is, without its name."""
    return DEFINITIONS[pattern].split(": ", 1)[1]


def _draw_pattern(
    axes: Axes, pattern: Pattern, rows: list[Row], sizes: tuple[float, float], told: tuple[str, str, str]
) -> Iterator[Label]:
    width, space = sizes
    length = rows[0][1][-1] + width
    axes.add_patch(
        Rectangle((0, -_RAIL / 2), length, _RAIL, fc=style.LIGHT_GREY, ec=style.BLACK, lw=0.8, hatch="///")
    )
    yield Label(text="rail", at=((length, 0.0),), spots=(Spot(right=4, side="left"),), rank=1)
    for y, lefts in rows:
        for left in lefts:
            axes.add_patch(
                Rectangle((left, y - _THICK / 2), width, _THICK, fc=style.WHITE, ec=style.BLACK, lw=1.4)
            )
    yield from _sizes(axes, pattern, rows, width, space, told)


def _sizes(
    axes: Axes, pattern: Pattern, rows: list[Row], width: float, space: float, told: tuple[str, str, str]
) -> Iterator[Label]:
    """Dimension a picket, a space and an overlap, above the highest row, with what is told of each."""
    y = max(row[0] for row in rows) + _THICK / 2 + 0.12
    back = rows[0][1]
    yield _dimension(axes, back[0], back[0] + width, y, told[0])
    if space > 0:
        k = min(2, len(back) - 1)
        yield _dimension(axes, back[k - 1] + width, back[k], y, told[1])
    lap = (width - space) / 2
    if pattern is not Pattern.SIDE_BY_SIDE and lap > 0:
        low = min(row[0] for row in rows) - _THICK / 2 - 0.12
        if pattern is Pattern.BOARD_ON_BOARD:
            low = -_RAIL / 2 - 0.12
        left = back[-2]
        yield _dimension(axes, left, left + lap, low, told[2], above=False)


def _dimension(axes: Axes, a: float, b: float, y: float, text: str, above: bool = True) -> Label:
    for x in (a, b):
        axes.plot([x, x], [y - 0.06, y + 0.06], color=style.BLACK, lw=0.9)
    axes.plot([a, b], [y, y], color=style.BLACK, lw=0.9)
    spots = over(5, 2, shifts=(0.0, 30.0, -30.0)) if above else under(5, 2, shifts=(0.0, 30.0, -30.0))
    return Label(text=text, at=(((a + b) / 2, y),), spots=spots, rank=1)


def _write_name(drawing: Drawing, name: str, words: str, y: float) -> None:
    """A pattern's name in bold, and what it means after it."""
    left = MARGIN * style.POINTS
    after = left + text_size(f"{name}:", style.SUBTITLE_SIZE, bold=True)[0] + 5
    for x, text in ((left, f"{name}:"), (after, words)):
        share = x / style.POINTS / WIDTH
        write_text(drawing, share, y, text, style.SUBTITLE_SIZE, bold=text is not words)
