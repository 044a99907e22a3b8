"""The table of top styles, one row each: its name, the line of words that tells it, and how it is built.

Adding a style is one row here and one file beside it, named as the row, with a function `choose`. Nothing is
imported, so that the job file's keys and the command line read the same table.
"""

from collections.abc import Iterable
from enum import Flag, StrEnum, auto
from typing import Literal

StyleName = Literal["level", "sloped", "stepped", "racked", "contour"]
"""The names of the table for a type checker, which then refuses any other word."""


class Build(Flag):
    """How a fence under a top is built."""

    PLAIN = 0
    LEVEL_RAILS = auto()
    BY_BAY = auto()
    MEETS = auto()
    ONE_LINE = auto()


class TopStyle(StrEnum):
    """The line the finished tops follow.

    `words`: what it is; `level_rails`: rails run level, not along the ground's slope; `by_bay`: pickets start
    afresh at each post; `meets`: runs that join have their tops chosen together, so that they meet;
    `one_line`: it is one straight line by its kind.
    """

    words: str
    level_rails: bool
    by_bay: bool
    meets: bool
    one_line: bool

    def __new__(cls, name: str, words: str = "", build: Build = Build.PLAIN) -> "TopStyle":
        """A row of the table."""
        style = str.__new__(cls, name)
        style._value_ = name
        style.words = words
        style.level_rails = Build.LEVEL_RAILS in build
        style.by_bay = Build.BY_BAY in build
        style.meets = Build.MEETS in build
        style.one_line = Build.ONE_LINE in build
        return style

    LEVEL = "level", "one horizontal line a run", Build.LEVEL_RAILS | Build.MEETS | Build.ONE_LINE
    SLOPED = "sloped", "one straight line a run, pickets plumb", Build.MEETS | Build.ONE_LINE
    STEPPED = "stepped", "level within a bay, changing only at posts", Build.LEVEL_RAILS | Build.BY_BAY
    RACKED = "racked", "straight within a bay, bending at posts, rails parallel to it", Build.MEETS
    CONTOUR = "contour", "follows the ground, smoothed, pickets near one length", Build.PLAIN


def names_of_styles() -> str:
    """All styles in a sentence: `level, sloped or stepped`."""
    *most, last = (str(style) for style in TopStyle)
    return f"{', '.join(most)} or {last}"


def style_words(styles: Iterable[TopStyle]) -> str:
    """The styles of several runs, each named once: `level`, `level and racked`."""
    *most, last = dict.fromkeys(str(style) for style in styles)
    return f"{', '.join(most)} and {last}" if most else last


USUAL = TopStyle.LEVEL
"""Taken where a job names none."""
