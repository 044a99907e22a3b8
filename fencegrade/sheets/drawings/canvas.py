"""The sheet a drawing stands on: its scale, its heading and the stations along its foot.

  heading
  second line: what it is, and how much heights are drawn larger than lengths
+--------------------------------------------+   pads: room for words about the fence
|   __  __  __                               |
|  |  ||  ||  |          scale               |
+--------------------------------------------+
   0 ft    8 ft    16 ft
"""

import math
from collections.abc import Iterator

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from msgspec import Struct

from fencegrade.sheets.drawings import style
from fencegrade.sheets.drawings.labels import Label, fitted, text_size, under
from fencegrade.units import MM_PER_INCH, UnitSystem, fixed_text
from fencegrade.units.tolerances import ROUNDING, WHOLE
from fencegrade.units.words import Words

WIDTH = 10.0
"""Inches of paper; fits Letter and A4 laid sideways."""
MARGIN = 0.3
LARGER = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""How many times larger heights may be drawn than lengths."""
_SIDE, _TOP, _FOOT = 0.45, 0.85, 0.95
"""Room for words inside the axes: at each side, over what is drawn and under it, inches of paper."""
ONE_LINE = 34.0
"""Points under a heading for a second line of one line alone."""

STATION_LINE = 0.27
"""Inches of paper from the foot of the axes up to the line of stations."""
SOIL_FOOT = 0.36
"""Inches of paper from the foot of the axes up to where the soil is cut off."""
MOST_STATIONS_APART = 0.85
"""Inches of paper wanted between stations that are written out."""

_STEPS = {
    UnitSystem.IMPERIAL: tuple(12.0 * feet for feet in (0.5, 1, 2, 4, 8, 16, 32, 64, 128, 256)),
    UnitSystem.METRIC: tuple(m * 1000 / MM_PER_INCH for m in (0.2, 0.5, 1, 2, 5, 10, 20, 50, 100)),
}


class Drawing(Figure):
    """A figure with words for those who cannot see it."""

    title: str = ""
    description: str = ""


class Scale(Struct, frozen=True, kw_only=True):
    """How a stretch of fence lies on paper.

    `left`, `right`, `low`, `high`: what the axes show, inches of fence; `larger`: how many times larger
    heights are drawn than lengths; `width`, `height`: the axes, inches of paper.
    """

    left: float
    right: float
    low: float
    high: float
    larger: float
    width: float
    height: float

    @property
    def paper(self) -> float:
        """Inches of paper to an inch along the fence."""
        return self.width / (self.right - self.left)

    @property
    def upward(self) -> float:
        """Inches of paper to an inch of height."""
        return self.height / (self.high - self.low)

    def up(self, paper: float) -> float:
        """The elevation (in) that lies `paper` inches of paper above the foot of the axes."""
        return self.low + paper / self.upward

    @property
    def words(self) -> str:
        """The vertical exaggeration as words."""
        if self.larger == 1:
            return "heights and lengths drawn to one scale"
        return f"heights drawn {self.larger:g} × the lengths"


def fit_scale(extent: tuple[float, float, float, float], room: float) -> Scale:
    """The largest scale that fits a sheet.

    `extent`: first and last station, lowest and highest elevation to show (in); `room`: inches of paper
    for the axes' height. Where even equal scales are too high for the sheet, the drawing gets narrower.
    """
    start, end, low, high = extent
    width = WIDTH - 2 * MARGIN
    along = (width - 2 * _SIDE) / (end - start)
    free = room - _TOP - _FOOT
    rise = max(high - low, 1.0)
    fitting = [k for k in LARGER if rise * along * k <= free + ROUNDING]
    larger = max(fitting, default=1.0)
    along = along if fitting else free / rise
    upward = along * larger
    middle, half = (start + end) / 2, width / along / 2
    return Scale(
        left=middle - half,
        right=middle + half,
        low=low - _FOOT / upward,
        high=low + rise + _TOP / upward,
        larger=larger,
        width=width,
        height=rise * upward + _TOP + _FOOT,
    )


def new_drawing(height: float, title: str, description: str) -> Drawing:
    """An empty sheet, `height` inches of paper high, with its words."""
    drawing = Drawing(figsize=(WIDTH, height), dpi=style.POINTS)
    drawing.title, drawing.description = title, description
    return drawing


def titled_drawing(
    body: float, heading: str, line: str, description: str, foot: float | None = None
) -> tuple[Drawing, float]:
    """A sheet with its heading, cut short if it must be, over `body` inches of paper; and its height (in).

    `foot`: inches under the heading where the second line is one line alone; by its own height if absent.
    """
    room = (WIDTH - 2 * MARGIN) * style.POINTS
    first = fitted(heading, room, style.TITLE_SIZE, bold=True, lines=2)
    second = fitted(line, room, style.SUBTITLE_SIZE, lines=2 if foot is None else 1)
    under = text_size(second, style.SUBTITLE_SIZE)[1] + 14 if foot is None else foot
    height = (text_size(first, style.TITLE_SIZE, bold=True)[1] + under) / style.POINTS + body
    drawing = new_drawing(height, f"{heading}: {line}", description)
    write_heading(drawing, first, second)
    return drawing, height


def headed_drawing(scale: Scale, heading: str, line: str, description: str) -> tuple[Drawing, Axes]:
    """A sheet with its heading and bare axes at `scale` beneath it."""
    drawing, height = titled_drawing(scale.height + MARGIN, heading, line, description)
    axes = drawing.add_axes((MARGIN / WIDTH, MARGIN / 2 / height, scale.width / WIDTH, scale.height / height))
    bare(axes)
    axes.set_xlim(scale.left, scale.right)
    axes.set_ylim(scale.low, scale.high)
    return drawing, axes


def write_heading(drawing: Drawing, first: str, second: str) -> None:
    """Two texts, already fitted, at the top left of a sheet."""
    high = drawing.get_figheight() * style.POINTS
    left = MARGIN / WIDTH
    drop = text_size(first, style.TITLE_SIZE, bold=True)[1] + 11
    write_text(drawing, left, 1 - 7.0 / high, first, style.TITLE_SIZE, bold=True)
    write_text(drawing, left, 1 - drop / high, second, style.SUBTITLE_SIZE)


def write_text(drawing: Drawing, x: float, y: float, text: str, size: float, *, bold: bool = False) -> None:
    """A text (points high) whose upper left corner lies at shares of the sheet's width and height."""
    weight = "bold" if bold else "normal"
    drawing.text(x, y, text, ha="left", va="top", fontsize=size, fontweight=weight, parse_math=False)


def bare(axes: Axes) -> None:
    """Take the frame and ticks off, so that only what is drawn shows."""
    axes.set_axis_off()
    axes.set_xticks([])
    axes.set_yticks([])
    axes.patch.set_visible(False)


def station_text(inches: float, system: UnitSystem) -> str:
    """A whole station of the scale, in feet or metres."""
    if system is UnitSystem.IMPERIAL:
        return f"{round(inches / 12, 3):g} ft"
    return f"{fixed_text(inches * MM_PER_INCH / 1000, 1)} m"


def end_text(inches: float, system: UnitSystem, mark: float) -> str:
    """The station of an end: in whole feet or tenths of a metre if it is that, else to the tape's mark."""
    whole = 12.0 if system is UnitSystem.IMPERIAL else 100 / MM_PER_INCH
    if abs(inches - whole * round(inches / whole)) < min(mark / 2, 1e-3):
        return station_text(inches, system)
    return Words(system=system, mark=mark).station(inches)


def stations_between(start: float, end: float, paper: float, system: UnitSystem) -> list[float]:
    """Round stations (in) with room to be written where an inch of fence takes `paper` inches of paper."""
    step = next((s for s in _STEPS[system] if s * paper >= MOST_STATIONS_APART), _STEPS[system][-1])
    return [k * step for k in range(math.ceil(start / step - WHOLE), math.floor(end / step + WHOLE) + 1)]


def draw_stations(
    axes: Axes, start: float, end: float, scale: Scale, system: UnitSystem, mark: float
) -> Iterator[Label]:
    """Draw the line of stations along the foot of the axes; yields its labels, the two ends first.

    `start`, `end`: ends of what is drawn (in); `mark`: tape mark (in) the ends are written to.
    """
    foot = scale.up(STATION_LINE)
    tick = 0.05 / scale.upward
    round_ones = stations_between(start, end, scale.paper, system)
    axes.plot([start, end], [foot, foot], color=style.BLACK, lw=1.0, clip_on=False, zorder=5)
    for x in {start, end, *round_ones}:
        axes.plot([x, x], [foot - tick, foot + tick], color=style.BLACK, lw=1.0, clip_on=False, zorder=5)
    for x in (start, end):
        text = end_text(x, system, mark)
        yield Label(text=text, at=((x, foot),), spots=under(5), rank=0, bold=True, boxed=False)
    for x in round_ones:
        yield Label(text=station_text(x, system), at=((x, foot),), spots=under(5), rank=4, boxed=False)
