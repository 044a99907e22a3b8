"""Words on a drawing, placed by their measured size: moved to a free spot, or the less important ones left out."""

import warnings
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, product
from typing import Literal

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.text import Annotation, Text
from matplotlib.transforms import Bbox

from fencegrade.sheets import style

Sideways = Literal["left", "center", "right"]
Upright = Literal["bottom", "center", "top"]

EDGE = 5.0
"""Points kept free along the edge of the canvas."""
AIR = 1.5
"""Points kept free about every text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place a text may stand: points right and up from its anchor, and which of its own edges stands there."""

    right: float = 0.0
    up: float = 0.0
    side: Sideways = "center"
    base: Upright = "center"


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A text with its anchors (x, y in the axes' data) and the spots it may take about each, best first.

    `rank`: the lower, the sooner it is placed; `leader`: a thin line is drawn from the anchor to the text;
    `boxed`: the text stands on a white ground.
    """

    text: str
    at: tuple[tuple[float, float], ...]
    spots: tuple[Spot, ...]
    rank: int = 5
    size: float = style.WORD_SIZE
    bold: bool = False
    color: str = style.BLACK
    leader: bool = False
    boxed: bool = True


def over(gap: float = 3.0, rows: int = 1, step: float = 11.0, shifts: Sequence[float] = (0.0,)) -> tuple[Spot, ...]:
    """Spots above an anchor: `gap` points up, then `rows` further up, each tried at the sideways `shifts`."""
    return tuple(
        Spot(right=shift, up=gap + row * step, base="bottom") for row in range(rows) for shift in shifts
    )


def under(gap: float = 3.0, rows: int = 1, step: float = 11.0, shifts: Sequence[float] = (0.0,)) -> tuple[Spot, ...]:
    """Spots below an anchor, as `over`."""
    return tuple(
        Spot(right=shift, up=-gap - row * step, base="top") for row in range(rows) for shift in shifts
    )


def beside(gap: float = 4.0, ups: Sequence[float] = (0.0,)) -> tuple[Spot, ...]:
    """Spots right of an anchor, then left of it, each tried at the heights `ups`."""
    return tuple(
        Spot(right=sign * gap, up=up, side=side)
        for up in ups
        for sign, side in ((1, "left"), (-1, "right"))
    )


def place_labels(figure: Figure, axes: Axes, labels: Iterable[Label]) -> list[Label]:
    """Place labels on a drawing, none over another text and none over the edge of the canvas.

    `figure`, `axes`: the drawing, its limits already set; `labels`: in any order. Texts already on the
    figure stay clear. Result: the labels that found no free spot and were left out.
    """
    taken = [box for _, box in text_boxes(figure)]
    left_out = []
    for label in sorted(labels, key=lambda one: one.rank):
        width, height = text_size(label.text, label.size, label.bold)
        for anchor, spot in product(label.at, label.spots):
            box = _box_at(figure, axes, anchor, spot, (width, height))
            if _free(figure, box, taken):
                _write(axes, label, anchor, spot)
                taken.append(box)
                break
        else:
            left_out.append(label)
    return left_out


def _box_at(figure: Figure, axes: Axes, anchor: tuple[float, float], spot: Spot, size: tuple[float, float]) -> Bbox:
    points = figure.dpi / style.POINTS
    width, height = size
    x, y = axes.transData.transform(anchor)
    left = x + points * (spot.right - width * {"left": 0.0, "center": 0.5, "right": 1.0}[spot.side])
    low = y + points * (spot.up - height * {"bottom": 0.0, "center": 0.5, "top": 1.0}[spot.base])
    return Bbox.from_bounds(left, low, width * points, height * points)


def _free(figure: Figure, box: Bbox, taken: Sequence[Bbox]) -> bool:
    edge = EDGE * figure.dpi / style.POINTS
    canvas = figure.bbox
    inside = (
        box.x0 >= canvas.x0 + edge
        and box.x1 <= canvas.x1 - edge
        and box.y0 >= canvas.y0 + edge
        and box.y1 <= canvas.y1 - edge
    )
    roomy = box.padded(AIR * figure.dpi / style.POINTS)
    return inside and not any(_overlap(roomy, other) for other in taken)


def _overlap(a: Bbox, b: Bbox) -> bool:
    return a.x0 < b.x1 and b.x0 < a.x1 and a.y0 < b.y1 and b.y0 < a.y1


def _write(axes: Axes, label: Label, anchor: tuple[float, float], spot: Spot) -> None:
    line = {"arrowstyle": "-", "linewidth": 0.7, "color": label.color, "shrinkA": 0, "shrinkB": 0}
    axes.annotate(
        label.text,
        anchor,
        xytext=(spot.right, spot.up),
        textcoords="offset points",
        ha=spot.side,
        va=spot.base,
        fontsize=label.size,
        fontweight="bold" if label.bold else "normal",
        color=label.color,
        arrowprops=line if label.leader else None,
        bbox={"facecolor": style.WHITE, "edgecolor": "none", "pad": 0.8} if label.boxed else None,
        annotation_clip=False,
        parse_math=False,
        zorder=20 if label.boxed else 21,
    )


@lru_cache(maxsize=1)
def _ruler() -> tuple[Figure, RendererAgg]:
    figure = Figure(figsize=(1, 1), dpi=style.POINTS)
    return figure, FigureCanvasAgg(figure).get_renderer()


def text_size(text: str, size: float, bold: bool = False) -> tuple[float, float]:
    """Width and height of a text in points. `size` in points; call it within the house style."""
    figure, renderer = _ruler()
    weight = "bold" if bold else "normal"
    one = Text(0, 0, text, fontsize=size, fontweight=weight, fontfamily=[style.FONT], parse_math=False)
    one.set_figure(figure)
    with _quiet_glyphs():
        box = one.get_window_extent(renderer)
    return float(box.width), float(box.height)


def fitted(text: str, room: float, size: float, bold: bool = False, lines: int = 1) -> str:
    """The text broken into at most `lines` lines of `room` points, the last cut short with an ellipsis.

    Breaks come at spaces where there are any; a word longer than a line is cut within.
    """
    rest = text
    done: list[str] = []
    while rest and len(done) < lines:
        line = _longest_start(rest, room, size, bold)
        if len(line) < len(rest) and len(done) == lines - 1:
            line = _longest_start(rest, room - text_size("…", size, bold)[0], size, bold)
            return "\n".join([*done, line.rstrip() + "…"])
        done.append(line.rstrip())
        rest = rest[len(line) :].lstrip()
    return "\n".join(done)


def _longest_start(text: str, room: float, size: float, bold: bool) -> str:
    """The longest start of the text that fits in `room`, ended at a space if it has one; never empty."""
    if text_size(text, size, bold)[0] <= room:
        return text
    low, high = 1, len(text)
    while high - low > 1:
        middle = (low + high) // 2
        if text_size(text[:middle], size, bold)[0] <= room:
            low = middle
        else:
            high = middle
    space = text.rfind(" ", 0, low + 1)
    return text[:space] if space > low // 2 else text[:low]


def text_boxes(figure: Figure) -> list[tuple[str, Bbox]]:
    """Every text that shows on a figure with its box in pixels of the figure's own resolution."""
    renderer = FigureCanvasAgg(figure).get_renderer()
    return list(_boxes(figure, renderer))


def _boxes(figure: Figure, renderer: RendererAgg) -> Iterator[tuple[str, Bbox]]:
    with _quiet_glyphs():
        for text in figure.findobj(Text):
            assert isinstance(text, Text)
            if not (text.get_visible() and text.get_text().strip()):
                continue
            if isinstance(text, Annotation):
                text.update_positions(renderer)
            yield text.get_text(), Text.get_window_extent(text, renderer)


def overlapping(figure: Figure) -> list[tuple[str, str]]:
    """Texts of a figure that lie over one another, or over the edge: then paired with `canvas`."""
    boxes = text_boxes(figure)
    pairs = [(a, b) for (a, box), (b, other) in combinations(boxes, 2) if _overlap(box, other)]
    canvas = figure.bbox
    pairs += [
        (text, "canvas")
        for text, box in boxes
        if box.x0 < canvas.x0 or box.y0 < canvas.y0 or box.x1 > canvas.x1 or box.y1 > canvas.y1
    ]
    return pairs


def _quiet_glyphs() -> warnings.catch_warnings[None]:
    """A title in a script the font lacks is no reason for a warning: the SVG carries the text itself."""
    quiet = warnings.catch_warnings(action="ignore", category=UserWarning)
    return quiet
