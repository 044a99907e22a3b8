"""A picture as data, in points: one list of shapes and texts that paper, page and PNG all show alike.

Places are points from the top left corner, downward; a text stands on its baseline.
"""

import importlib.util
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from pathlib import Path

import numpy as np
from msgspec import Struct
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from fencegrade.sheets.unbroken import unbroken
from fencegrade.units.arrays import Floats

BLACK, MIDDLE, PALE, WHITE = 0.0, 0.55, 0.9, 1.0
"""Greys, 0 to 1."""
REGULAR, BOLD = "fencegrade-regular", "fencegrade-bold"
"""Names of the two faces; they come with matplotlib, whose import is not needed for that."""

_FILES = {REGULAR: "DejaVuSans.ttf", BOLD: "DejaVuSans-Bold.ttf"}
_RISE, _FALL = 0.76, 0.24
"""Height of letters over and under the baseline, shares of the type size."""

Point = tuple[float, float]


class Text(Struct, frozen=True, kw_only=True):
    """A line of text: place of its anchor on the baseline; `anchor` 0 for its left end, 1 for its right."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    anchor: float = 0.0

    @property
    def wide(self) -> float:
        """Its width in points."""
        return text_width(self.text, self.size, self.bold)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """What it covers: left, top, right, bottom."""
        left = self.x - self.wide * self.anchor
        return left, self.y - _RISE * self.size, left + self.wide, self.y + _FALL * self.size


class Shape(Struct, frozen=True, kw_only=True):
    """A line or surface through points: width of its line (0 for none), its grey, its filling and dashes.

    `more`: further outlines of the same look. `accent`: the one colour of screens instead of its filling's
    grey, or of its line's where it has no filling; paper shows the grey.
    """

    points: tuple[Point, ...]
    width: float = 0.6
    grey: float = BLACK
    fill: float | None = None
    closed: bool = False
    dashes: tuple[float, ...] = ()
    accent: bool = False
    more: tuple[tuple[Point, ...], ...] = ()

    @property
    def outlines(self) -> tuple[tuple[Point, ...], ...]:
        """All of its outlines."""
        return (self.points, *self.more)


Item = Text | Shape


class Picture(Struct, frozen=True, kw_only=True):
    """A picture: its size in points, what is on it, and its words for those who cannot see it."""

    width: float
    height: float
    items: tuple[Item, ...]
    title: str = ""
    description: str = ""

    @property
    def texts(self) -> list[Text]:
        """The texts on it."""
        return [item for item in self.items if isinstance(item, Text)]


@dataclass(slots=True, kw_only=True)
class Sketch:
    """A picture being made: shapes and texts in the order they are laid over one another."""

    items: list[Item] = field(default_factory=list)

    def text(
        self, x: float, y: float, text: str, size: float, bold: bool = False, anchor: float = 0.0
    ) -> None:
        """A line of text."""
        self.items.append(
            Text(x=_place(x), y=_place(y), text=plain(text), size=size, bold=bold, anchor=anchor)
        )

    def line(
        self,
        points: Iterable[Point],
        width: float = 0.6,
        grey: float = BLACK,
        dashes: tuple[float, ...] = (),
        accent: bool = False,
    ) -> None:
        """A line through points."""
        self.items.append(
            Shape(points=_rounded(points), width=width, grey=grey, dashes=dashes, accent=accent)
        )

    def surfaces(
        self,
        outlines: Sequence[Floats],
        fill: float | None = WHITE,
        width: float = 0.4,
        grey: float = BLACK,
        accent: bool = False,
    ) -> None:
        """Surfaces of one look, (corners, 2) points each; nothing where there is none."""
        if len(outlines):
            first, *more = (_rounded(map(tuple, np.asarray(one).tolist())) for one in outlines)
            self.items.append(
                Shape(
                    points=first,
                    more=tuple(more),
                    width=width,
                    grey=grey,
                    fill=fill,
                    closed=True,
                    accent=accent,
                )
            )

    def head(self, left: float, top: float, width: float, lines: Iterable[tuple[str, float, bool]]) -> float:
        """Texts of their size, bold or not, under one another, two lines each at most; where they end."""
        y = top
        for text, size, bold in lines:
            for one in wrapped(text, width, size, bold)[:2]:
                y += size
                self.text(left, y, one, size, bold)
                y += 0.3 * size
        return y


def _rounded(points: Iterable[Point]) -> tuple[Point, ...]:
    """To a hundredth of a point, so that a last bit that machines work out differently is never drawn."""
    return tuple((_place(x), _place(y)) for x, y in points)


def _place(value: float) -> float:
    return round(round(float(value), 6), 2) + 0.0


@cache
def font_files() -> dict[str, Path]:
    """Where the two faces lie. Errors: ModuleNotFoundError without matplotlib, which brings them."""
    found = importlib.util.find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        raise ModuleNotFoundError("matplotlib, which brings the fonts, is not installed")
    folder = Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"
    return {name: folder / file for name, file in _FILES.items()}


@cache
def known_fonts() -> None:
    """Make the faces known to reportlab, which measures and embeds them."""
    for name, file in font_files().items():
        pdfmetrics.registerFont(TTFont(name, str(file)))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width (points) of a line of text."""
    return size * _unit_width(text, bold)


@lru_cache(maxsize=60_000)
def _unit_width(text: str, bold: bool) -> float:
    """Width of a line of text over its type size."""
    known_fonts()
    return float(pdfmetrics.stringWidth(text, BOLD if bold else REGULAR, 1.0))


def plain(text: str) -> str:
    """The text with a question mark for every character that is not for reading."""
    return text if text.isprintable() else "".join(c if c.isprintable() else "?" for c in text)


def wrapped(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than `width` points; words wider than that are divided."""
    return list(_wrapped(text, width, size, bold))


@lru_cache(maxsize=20_000)
def _wrapped(text: str, width: float, size: float, bold: bool) -> tuple[str, ...]:
    told = unbroken(" ".join(plain(text).split()))
    words = [word.replace("\N{NO-BREAK SPACE}", " ") for word in told.split(" ")]
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
