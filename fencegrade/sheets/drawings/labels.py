"""Words on a drawing, placed by their measured size: moved to a free spot, or left out if they are minor."""

import warnings
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import product
from typing import Any, Literal, cast

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.text import Annotation, Text
from matplotlib.transforms import Bbox
from msgspec import Struct

from fencegrade.sheets.drawings import style
from fencegrade.units.arrays import Floats

Sideways = Literal["left", "center", "right"]
Upright = Literal["bottom", "center", "top"]

EDGE = 5.0
"""Points kept free along the edge of the canvas."""
AIR = 2.0
"""Points kept free about every text."""


class Spot(Struct, frozen=True, kw_only=True):
    """A place a text may stand: points right and up from its anchor, and which of its edges stands there."""

    right: float = 0.0
    up: float = 0.0
    side: Sideways = "center"
    base: Upright = "center"


class Label(Struct, frozen=True, kw_only=True):
    """A text with its anchors (x, y in the axes' data) and the spots it may take about each, best first.

    `rank`: the lower, the sooner it is placed; `leader`: a thin line is drawn from the anchor to the text;
    `boxed`: the text stands on a white ground; `minor`: it is left out rather than cover a line.
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
    minor: bool = False


def over(
    gap: float = 3.0, rows: int = 1, step: float = 11.0, shifts: Sequence[float] = (0.0,)
) -> tuple[Spot, ...]:
    """Spots above an anchor: `gap` points up, then `rows` further up, each tried at the sideways `shifts`."""
    return tuple(
        Spot(right=shift, up=gap + row * step, base="bottom") for row in range(rows) for shift in shifts
    )


def under(
    gap: float = 3.0, rows: int = 1, step: float = 11.0, shifts: Sequence[float] = (0.0,)
) -> tuple[Spot, ...]:
    """Spots below an anchor, as `over`, but straight down is tried before far aside."""
    places = sorted(product(range(rows), shifts), key=lambda at: abs(at[1]) + 0.5 * step * at[0])
    return tuple(Spot(right=shift, up=-gap - row * step, base="top") for row, shift in places)


def place_labels(
    figure: Figure, axes: Axes, labels: Iterable[Label], lines: Iterable[Floats] = ()
) -> list[Label]:
    """Place labels on a drawing, none over another text and none over the edge of the canvas.

    `figure`, `axes`: the drawing, its limits already set; `labels`: in any order; `lines`: drawn lines,
    (n, 2) each in the axes' data, that a label covers only where it has no other spot. Texts already on
    the figure stay clear. Result: the labels that found no free spot and were left out.
    """
    sheet = _Sheet(
        figure=figure,
        axes=axes,
        taken=[box for _, box in text_boxes(figure)],
        drawn=[_dense(axes.transData.transform(line)) for line in lines],
        leaders=[],
    )
    return [label for label in sorted(labels, key=lambda one: one.rank) if not sheet.place(label)]


class _Sheet(Struct, frozen=True, kw_only=True):
    """What stands on a drawing so far, in pixels: boxes of text, points of lines, of leaders among them."""

    figure: Figure
    axes: Axes
    taken: list[Bbox]
    drawn: list[Floats]
    leaders: list[Floats]

    def place(self, label: Label) -> bool:
        """Write a label on its first free spot that covers no line, else on its first free spot."""
        size = text_size(label.text, label.size, label.bold)
        spare = None
        for anchor, spot in product(label.at, label.spots):
            box = self._box(anchor, spot, size)
            if not self._free(box):
                continue
            leader = self._leader(anchor, box) if label.leader else np.empty((0, 2))
            if self._covers_nothing(box, leader):
                self._write(label, anchor, spot, box, leader)
                return True
            spare = spare or (anchor, spot, box, leader)
        if label.minor:
            return False
        if spare:
            self._write(label, *spare)
        return spare is not None

    @property
    def _point(self) -> float:
        """Pixels in a point."""
        return float(self.figure.dpi) / style.POINTS

    def _box(self, anchor: tuple[float, float], spot: Spot, size: tuple[float, float]) -> Bbox:
        width, height = size
        x, y = self.axes.transData.transform(anchor)
        left = x + self._point * (spot.right - width * {"left": 0.0, "center": 0.5, "right": 1.0}[spot.side])
        low = y + self._point * (spot.up - height * {"bottom": 0.0, "center": 0.5, "top": 1.0}[spot.base])
        return Bbox.from_bounds(left, low, width * self._point, height * self._point)

    def _free(self, box: Bbox) -> bool:
        edge, canvas = EDGE * self._point, self.figure.bbox
        inside = (
            box.x0 >= canvas.x0 + edge
            and box.x1 <= canvas.x1 - edge
            and box.y0 >= canvas.y0 + edge
            and box.y1 <= canvas.y1 - edge
        )
        roomy = box.padded(AIR * self._point)
        return bool(inside) and not any(_overlap(roomy, other) for other in self.taken)

    def _leader(self, anchor: tuple[float, float], box: Bbox) -> Floats:
        """Points of a line from the anchor to the middle of a label."""
        start = self.axes.transData.transform(anchor)
        return _dense(np.array([start, [(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2]]))

    def _covers_nothing(self, box: Bbox, leader: Floats) -> bool:
        if any(_inside(box, points) for points in self.drawn):
            return False
        crossed = len(leader) > 0 and any(_cross(leader, other) for other in self.leaders)
        return not crossed and not any(_inside(other, leader) for other in self.taken)

    def _write(
        self, label: Label, anchor: tuple[float, float], spot: Spot, box: Bbox, leader: Floats
    ) -> None:
        self.taken.append(box)
        self.drawn.append(leader)
        if len(leader):
            self.leaders.append(leader)
        line = {"arrowstyle": "-", "linewidth": 0.7, "color": label.color, "shrinkA": 0, "shrinkB": 0}
        self.axes.annotate(
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


def _dense(points: Floats, apart: float = 2.0) -> Floats:
    """A line's corner points with points between them no more than `apart` pixels from one another."""
    if len(points) < 2:
        return points
    lengths = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    steps = np.linspace(0.0, along[-1], max(2, int(along[-1] / apart) + 1))
    return np.stack([np.interp(steps, along, points[:, 0]), np.interp(steps, along, points[:, 1])], axis=-1)


def _inside(box: Bbox, points: Floats) -> bool:
    if not len(points):
        return False
    low, high = box.get_points()
    return bool(((points > low) & (points < high)).all(axis=1).any())


def _cross(one: Floats, other: Floats) -> bool:
    """Whether two straight lines of points cross."""

    def sides(line: Floats, points: Floats) -> float:
        along, off = line[-1] - line[0], points - line[0]
        first, last = along[0] * off[:, 1] - along[1] * off[:, 0]
        return float(first * last)

    return sides(one, other[[0, -1]]) < 0 and sides(other, one[[0, -1]]) < 0


def _overlap(a: Bbox, b: Bbox) -> bool:
    return bool(a.x0 < b.x1 and b.x0 < a.x1 and a.y0 < b.y1 and b.y0 < a.y1)


def _renderer(figure: Figure) -> RendererAgg:
    canvas: Any = FigureCanvasAgg(figure)
    return cast(RendererAgg, canvas.get_renderer())


@lru_cache(maxsize=1)
def _ruler() -> tuple[Figure, RendererAgg]:
    figure = Figure(figsize=(1, 1), dpi=style.POINTS)
    return figure, _renderer(figure)


@lru_cache(maxsize=4096)
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
    with style.house_style():
        renderer = _renderer(figure)
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


def _quiet_glyphs() -> "warnings.catch_warnings[None]":
    """A title in a script the font lacks is no reason for a warning: the SVG carries the text itself."""
    return warnings.catch_warnings(action="ignore", category=UserWarning)
