"""Lines of a screen, broken between words so that none passes the window."""

import textwrap
from collections.abc import Iterable, Iterator

WIDTH = 100
"""Columns of a screen."""

_KEPT = "\u00a0%"
"""The sign of a share, with a space at which no line is broken."""


def wrapped(text: str, *, width: int = WIDTH, hang: int = 4) -> list[str]:
    """One line as one or several; later ones begin `hang` columns further in. A length or a share is never
    broken.
    """
    inner = text.lstrip(" ").replace(" %", _KEPT)
    indent = len(text) - len(inner)
    lines = textwrap.wrap(
        inner,
        width=width,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace(_KEPT, " %") for line in lines]


def indented(lines: Iterable[str]) -> Iterator[str]:
    """Lines further in, each broken where it must be."""
    for line in lines:
        yield from wrapped(f"  {line}")


def section(title: str, lines: Iterable[str]) -> Iterator[str]:
    """A heading and its lines, with an empty line before; nothing where there are none."""
    return paragraph(title, (text for line in lines for text in wrapped(line, width=WIDTH - 2)))


def paragraph(title: str, lines: Iterable[str]) -> Iterator[str]:
    """As `section`, of lines that are broken already or may not be."""
    told = list(lines)
    if told:
        yield ""
        yield title
        yield from (f"  {line}" for line in told)


def taken_lines(assumed: Iterable[tuple[str, str]]) -> Iterator[str]:
    """What was not given, each with what was taken for it."""
    return paragraph("Assumed, since it was not given", (f"{part} = {taken}" for part, taken in assumed))
