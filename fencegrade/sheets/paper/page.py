"""Pages of paper: what stands on them as data, then as one PDF with embedded fonts and text that is text.

Places are points from the top left corner of the page, downward; a text stands on its baseline.

+--------------------------------+  top
| job                        run |  on every page
| heading                        |
|  ...                           |  <- `Paper.y`, where the next thing goes
| tag                page 3 of 9 |
+--------------------------------+
"""

import importlib.util
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from fencegrade.units import UnitSystem

POINTS = 72.0
"""Points in an inch of paper."""
SIZES = {UnitSystem.IMPERIAL: (612.0, 792.0), UnitSystem.METRIC: (595.28, 841.89)}
"""Letter and A4 upright, points: ANSI/ASME Y14.1 size A and ISO 216."""
LEFT, RIGHT, TOP, FOOT = 46.0, 36.0, 34.0, 34.0
"""Margins; more on the left, for holes or a clip."""

BODY, SMALL, HEADING, SECOND = 13.0, 10.5, 21.0, 15.0
"""Type sizes, points."""
LINE = 1.24
"""Height of a line over its type size."""
BLACK, MIDDLE, PALE, WHITE = 0.0, 0.55, 0.9, 1.0
"""Greys, 0 to 1."""

_REGULAR, _BOLD = "fencegrade-regular", "fencegrade-bold"
_FILES = {_REGULAR: "DejaVuSans.ttf", _BOLD: "DejaVuSans-Bold.ttf"}
_RISE, _FALL = 0.76, 0.24
"""Height of letters over and under the baseline, shares of the type size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A line of text: place of its anchor on the baseline; `anchor` 0 for its left end, 1 for its right."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    anchor: float = 0.0

    @property
    def box(self) -> tuple[float, float, float, float]:
        """What it covers: left, top, right, bottom."""
        wide = text_width(self.text, self.size, self.bold)
        left = self.x - wide * self.anchor
        return left, self.y - _RISE * self.size, left + wide, self.y + _FALL * self.size


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A line or surface through points: width of its line (0 for none), its grey, its filling and dashes."""

    points: tuple[tuple[float, float], ...]
    width: float = 0.6
    grey: float = BLACK
    fill: float | None = None
    closed: bool = False
    dashes: tuple[float, ...] = ()


Item = Text | Shape


@dataclass(slots=True, kw_only=True)
class Page:
    """One page: its heading, which stands in the PDF's outline too, and what is on it."""

    heading: str
    items: list[Item] = field(default_factory=list)


@cache
def _fonts() -> None:
    """Make the fonts known; they come with matplotlib, whose import is not needed for that."""
    found = importlib.util.find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        raise ModuleNotFoundError("matplotlib, which brings the fonts, is not installed")
    folder = Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"
    for name, file in _FILES.items():
        pdfmetrics.registerFont(TTFont(name, str(folder / file)))


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width (points) of a line of text."""
    return size * _unit_width(text, bold)


@lru_cache(maxsize=60_000)
def _unit_width(text: str, bold: bool) -> float:
    """Width of a line of text over its type size."""
    _fonts()
    return float(pdfmetrics.stringWidth(text, _BOLD if bold else _REGULAR, 1.0))


def plain(text: str) -> str:
    """The text with a question mark for every character that is not for reading."""
    return text if text.isprintable() else "".join(c if c.isprintable() else "?" for c in text)


def wrapped(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than `width` points; words wider than that are divided."""
    return list(_wrapped(text, width, size, bold))


@lru_cache(maxsize=20_000)
def _wrapped(text: str, width: float, size: float, bold: bool) -> tuple[str, ...]:
    words = plain(text).split()
    whole = " ".join(words)
    if text_width(whole, size, bold) <= width:
        return (whole,)
    lines: list[str] = []
    line = ""
    for word in words:
        longer = f"{line} {word}" if line else word
        if text_width(longer, size, bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        *parts, line = _divided(word, width, size, bold)
        lines += parts
    return (*lines, line)


def _divided(word: str, width: float, size: float, bold: bool) -> list[str]:
    parts = [""]
    if text_width(word, size, bold) <= width:
        return [word]
    for letter in word:
        if parts[-1] and text_width(parts[-1] + letter, size, bold) > width:
            parts.append("")
        parts[-1] += letter
    return parts


def fitted(text: str, width: float, size: float, bold: bool = False) -> str:
    """The text on one line no wider than `width` points, its end left out if it must be."""
    text = plain(text)
    if text_width(text, size, bold) <= width:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (
            (middle, high)
            if text_width(f"{text[:middle].rstrip()}…", size, bold) <= width
            else (low, middle - 1)
        )
    return f"{text[:low].rstrip()}…"


@dataclass(slots=True, kw_only=True)
class Paper:
    """A pad of pages being filled, top to bottom.

    `system`: Letter for imperial, A4 for metric; `title`: the job, `tag`: what stands at the foot of every
    page; `y`: where the next thing goes; `place`: the run, or whatever the pages now belong to.
    """

    system: UnitSystem
    title: str
    tag: str = ""
    pages: list[Page] = field(default_factory=list)
    y: float = 0.0
    place: str = ""

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of a page."""
        return SIZES[self.system]

    @property
    def left(self) -> float:
        """Where lines begin."""
        return LEFT

    @property
    def right(self) -> float:
        """Where lines end."""
        return self.size[0] - RIGHT

    @property
    def width(self) -> float:
        """Width of a line."""
        return self.right - self.left

    @property
    def bottom(self) -> float:
        """Where a page is full."""
        return self.size[1] - FOOT - 26

    @property
    def room(self) -> float:
        """Height that is left on the page."""
        return self.bottom - self.y

    def new_page(self, heading: str) -> None:
        """Begin a page with its heading."""
        self.pages.append(Page(heading=plain(heading)))
        self._head()
        for line in wrapped(heading, self.width, HEADING, bold=True)[:3]:
            self.y += HEADING
            self.text(self.left, self.y, line, HEADING, bold=True)
            self.y += 0.2 * HEADING
        self.y += 7

    def continue_page(self) -> None:
        """Go on with the same heading on the next page."""
        heading = self.pages[-1].heading.removesuffix(", continued")
        self.new_page(f"{heading}, continued")

    def ensure(self, height: float) -> bool:
        """Go to the next page unless `height` points are left on this one; whether that was so."""
        if self.room >= height:
            return False
        self.continue_page()
        return True

    def _head(self) -> None:
        place = fitted(self.place, self.width * 0.42, SMALL)
        taken = text_width(place, SMALL) + 14
        title = fitted(self.title, self.width - taken, SMALL, bold=True)
        self.y = TOP + SMALL
        self.text(self.left, self.y, title, SMALL, bold=True)
        self.text(self.right, self.y, place, SMALL, anchor=1.0)
        self.y += 5
        self.line(self.left, self.y, self.right, self.y, width=1.0)
        self.y += 6

    def add(self, item: Item) -> None:
        """Put something on the page."""
        self.pages[-1].items.append(item)

    def text(
        self, x: float, y: float, text: str, size: float = BODY, bold: bool = False, anchor: float = 0.0
    ) -> None:
        """A line of text anywhere."""
        self.add(Text(x=x, y=y, text=plain(text), size=size, bold=bold, anchor=anchor))

    def line(
        self,
        x: float,
        y: float,
        x2: float,
        y2: float,
        width: float = 0.6,
        grey: float = BLACK,
        dashes: tuple[float, ...] = (),
    ) -> None:
        """A straight line anywhere."""
        self.add(Shape(points=((x, y), (x2, y2)), width=width, grey=grey, dashes=dashes))

    def write(
        self, text: str, size: float = BODY, bold: bool = False, after: float = 4.0, indent: float = 0.0
    ) -> None:
        """A paragraph at the place where the next thing goes."""
        for line in wrapped(text, self.width - indent, size, bold):
            self.ensure(LINE * size)
            self.text(self.left + indent, self.y + 0.95 * size, line, size, bold)
            self.y += LINE * size
        self.y += after

    def second_heading(self, text: str, with_next: float = 60.0) -> None:
        """A heading within a page, kept with at least `with_next` points of what follows."""
        self.ensure(LINE * SECOND + 10 + with_next)
        self.y += 8
        self.write(text, SECOND, bold=True, after=3)

    def boxed(self, text: str, size: float = BODY) -> None:
        """A paragraph in a frame, for what must not be missed."""
        lines = wrapped(text, self.width - 20, size, bold=True)
        high = LINE * size * len(lines) + 12
        self.ensure(high + 6)
        self.frame(self.left, self.y, self.width, high, width=1.6)
        for k, line in enumerate(lines):
            self.text(self.left + 10, self.y + 6 + size * (0.95 + LINE * k), line, size, bold=True)
        self.y += high + 8

    def frame(
        self, x: float, y: float, wide: float, high: float, width: float = 0.8, fill: float | None = None
    ) -> None:
        """A rectangle from its top left corner."""
        corners = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
        self.add(Shape(points=corners, width=width, fill=fill, closed=True))

    def box(self, x: float, y: float, size: float, ticked: bool = False) -> None:
        """A box to tick; its top left corner."""
        self.frame(x, y, size, size, width=1.2)
        if ticked:
            tick = ((x + 0.15 * size, y + 0.5 * size), (x + 0.42 * size, y + 0.8 * size), (x + size, y - 1))
            self.add(Shape(points=tick, width=2.0))

    def pdf(self, subject: str) -> bytes:
        """The pages as PDF, the same bytes for the same pages; `subject` tells what they are."""
        _fonts()
        buffer = io.BytesIO()
        canvas = Canvas(
            buffer,
            pagesize=self.size,
            invariant=1,
            pageCompression=1,
            initialFontName=_REGULAR,  # type: ignore[arg-type]  # the stubs say a number
            lang="en",
        )
        canvas.setTitle(plain(self.title))
        canvas.setSubject(subject)
        canvas.setAuthor("fencegrade")
        canvas.setCreator("fencegrade")
        for number, page in enumerate(self.pages, start=1):
            canvas.bookmarkPage(f"page-{number}")
            if not page.heading.endswith(", continued"):
                canvas.addOutlineEntry(page.heading, f"page-{number}")
            _Pen(canvas=canvas, high=self.size[1]).draw([*page.items, *self._foot(number)])
            canvas.showPage()
        canvas.save()
        return buffer.getvalue()

    def _foot(self, number: int) -> Iterator[Item]:
        y = self.size[1] - FOOT
        count = f"page {number} of {len(self.pages)}"
        yield Shape(points=((self.left, y - 14), (self.right, y - 14)), width=0.6)
        yield Text(x=self.right, y=y, text=count, size=SMALL, anchor=1.0)
        if self.tag:
            tag = fitted(self.tag, self.width - text_width(count, SMALL) - 20, SMALL, bold=True)
            yield Text(x=self.left, y=y, text=tag, size=SMALL, bold=True)


@dataclass(slots=True, kw_only=True)
class _Pen:
    """Draws one page; shapes go straight into the page's content, for there are thousands of them."""

    canvas: Canvas
    high: float
    state: dict[str, str] = field(default_factory=dict)

    def draw(self, items: Sequence[Item]) -> None:
        for item in items:
            if isinstance(item, Text):
                self._text(item)
            else:
                self._shape(item)

    def _set(self, operator: str, value: str) -> Iterator[str]:
        """The operator that sets a part of the graphics state, where it is not so already."""
        if self.state.get(operator) != value:
            self.state[operator] = value
            yield f"{value} {operator}"

    def _text(self, text: Text) -> None:
        for code in self._set("g", f"{BLACK:g}"):
            self.canvas.addLiteral(code)
        self.canvas.setFont(_BOLD if text.bold else _REGULAR, text.size)
        self.canvas.drawString(_place(text.box[0]), _place(self.high - text.y), text.text)

    def _shape(self, shape: Shape) -> None:
        code = [*self._set("w", f"{shape.width:g}"), *self._set("G", f"{shape.grey:g}")]
        code += self._set("d", f"[{' '.join(f'{d:g}' for d in shape.dashes)}] 0")
        if shape.fill is not None:
            code += self._set("g", f"{shape.fill:g}")
        places = [f"{_place(x):.2f} {_place(self.high - y):.2f}" for x, y in shape.points]
        code.append(f"{places[0]} m " + " ".join(f"{place} l" for place in places[1:]))
        close = "h " if shape.closed else ""
        code.append(close + _PAINT[shape.width > 0, shape.fill is not None])
        self.canvas.addLiteral(" ".join(code))


def _place(points: float) -> float:
    """A place (points) without the last bits, which differ by processor: halves are rounded one way."""
    return round(points, 6)


_PAINT = {(True, True): "B", (True, False): "S", (False, True): "f", (False, False): "n"}
"""Operators that end a path (ISO 32000-1, table 60): is its line drawn, is it filled."""
